use crate::base::digest::Digest;
use crate::base::{Id, limits};
use crate::geometry::polygon::{HULL_EASE_M, eased_m, hull_m};
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::structures::{check_structure, check_structures};
use crate::scenario::pattern::{
    About, Leads, Looks, Margin, Naming, Near, Overlaps, Pattern, Settings, Told,
};
use serde::{Deserialize, Serialize};

/// Rows in front of the walls of a structure, the camera looking at the wall.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Facade {
    /// The structure.
    pub structure: Id,
    /// Others that stand with it, too near to fly between: the rows then go round the hull of all of them
    /// (as the outline tells them).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Id>,
    /// Which walls: sides of the footprint or the hull, counter-clockwise from 0, in the order of the rows; all when
    /// absent.
    #[serde(default)]
    pub walls: Option<Vec<u32>>,
    /// Kept from every structure, corners and neighbours included.
    pub clearance_m: f64,
    /// Least height of the lowest row above the ground.
    pub lowest_m: f64,
}

impl Facade {
    /// The structures whose walls they are, the first one first.
    pub fn structures(&self) -> Vec<Id> {
        [&[self.structure], self.others.as_slice()].concat()
    }
}

pub(super) const ABOUT: About = About {
    name: "facade",
    title: "Facade",
    explanation: "Rows in front of walls, looking at them",
    leads: Leads::StandOff,
    lines: ["rows", "row spacing"],
    runs: None,
    margin: Some(Margin { beyond: "beyond the walls' corners", cycled: None }),
    overlaps: Overlaps::Both,
    looks: Looks::AtWall,
    near: Near::Walls,
    begins: None,
    table: None,
    numbers: &[
        number!("strategies[].passes[].pattern.Facade.clearance_m", "Clearance",
            "Kept from every structure, corners and neighbours included.",
            Metres, 1, CLEARANCE_M,
            Pattern::Facade(Facade { clearance_m: value, .. }) => value),
        number!("strategies[].passes[].pattern.Facade.lowest_m", "Lowest row", "Least height of the lowest row above the ground.",
            Metres, 1, CLEARANCE_M,
            Pattern::Facade(Facade { lowest_m: value, .. }) => value),
    ],
    choices: &[],
};

impl Settings for Facade {
    fn structures(&self) -> Vec<Id> {
        Facade::structures(self)
    }

    /// Round fewer structures it has other walls: then it takes all.
    fn at(&self, left: &[Id]) -> Option<Pattern> {
        let (first, rest) = left.split_first()?;
        Some(Pattern::Facade(Facade {
            structure: *first,
            others: rest.to_vec(),
            walls: None,
            ..self.clone()
        }))
    }

    fn title(&self, naming: &Naming<'_>) -> String {
        match &self.walls {
            None if self.others.is_empty() => format!(", all walls of {}", naming.subject),
            None => format!(" round {}", naming.subject),
            Some(walls) => {
                let walls =
                    if walls.len() == 1 { "1 wall".to_owned() } else { format!("{} walls", walls.len()) };
                format!(", {walls} of {}", naming.subject)
            }
        }
    }

    fn told(&self, subject: &str) -> Vec<Told> {
        let label = if self.others.is_empty() { "in front of" } else { "round" };
        let clearance = Told::metres("clearance kept", self.clearance_m).note("from every structure");
        vec![Told::text(label, subject), clearance]
    }

    fn check(&self, check: &mut Checker, site: &Site, path: &str) {
        check_structure(check, site, &format!("{path}.structure"), self.structure);
        check_structures(check, site, &format!("{path}.others"), &self.others, &[self.structure]);
        check_walls(check, site, path, &self.structures(), self.walls.as_deref());
        check.number(format!("{path}.clearance_m"), self.clearance_m, limits::CLEARANCE_M);
        check.number(format!("{path}.lowest_m"), self.lowest_m, limits::CLEARANCE_M);
    }

    fn digest(&self, digest: &mut Digest) {
        let Facade { structure, others, walls, clearance_m, lowest_m } = self;
        digest.whole(u64::from(structure.0)).ids(others).whole(u64::from(walls.is_some()));
        let walls: Vec<f64> = walls.iter().flatten().map(|wall| f64::from(*wall)).collect();
        digest.numbers(&walls).numbers(&[*clearance_m, *lowest_m]);
    }
}

/// Sides of what the walls are those of: the footprint, or the ring round several structures; nothing where one is missing.
fn sides_of(site: &Site, ids: &[Id]) -> Option<usize> {
    let ring = |id: &Id| site.structures.iter().find(|s| s.id == *id).map(|s| s.footprint_m.as_slice());
    match ids.iter().map(ring).collect::<Option<Vec<_>>>()?.as_slice() {
        [one] => Some(one.len()),
        several => {
            Some(eased_m(&hull_m(several.iter().flat_map(|ring| ring.iter().copied())), HULL_EASE_M).len())
        }
    }
}

fn check_walls(check: &mut Checker, site: &Site, path: &str, ids: &[Id], walls: Option<&[u32]>) {
    let Some(walls) = walls else { return };
    let path = format!("{path}.walls");
    if walls.is_empty() {
        let message =
            "the walls must be at least one, but there are none; leave them out to take all".to_owned();
        check.fault(path.as_str(), message);
    }
    let Some(sides) = sides_of(site, ids) else { return };
    for (index, wall) in walls.iter().enumerate() {
        if *wall as usize >= sides {
            let message = format!(
                "a wall must be a side of the footprint or the hull, 0 to {}, but it is {wall}; take one of these",
                sides.saturating_sub(1)
            );
            check.fault(format!("{path}[{index}]"), message);
        } else if walls[..index].contains(wall) {
            let message = format!("each wall must be named once, but {wall} comes again; leave one out");
            check.fault(format!("{path}[{index}]"), message);
        }
    }
}
