use crate::base::digest::Digest;
use crate::base::{Id, limits};
use crate::geometry::polygon::centroid_m;
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::structures::{check_structure, check_structures};
use crate::scenario::pattern::{
    About, Choice, Leads, Looks, Naming, Near, Overlaps, Pattern, Settings, Told, ToldValue,
};
use serde::{Deserialize, Serialize};

/// Closed rings about a structure or a place, the camera looking inward.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Orbit {
    /// What is in the middle.
    pub around: OrbitCentre,
    /// How far from the middle.
    #[serde(default)]
    pub radius: OrbitRadius,
    /// How many rings, and where.
    pub rings: Rings,
    /// What the camera is tilted to, above the ground in the middle.
    pub target_height_m: f64,
}

/// What an orbit goes round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum OrbitCentre {
    /// The circle about a structure's footprint: its centroid, out to the farthest corner.
    Structure(Id),
    /// The circle about the hull of several structures.
    Structures(Vec<Id>),
    /// A place.
    Point {
        /// East.
        x_m: f64,
        /// North.
        y_m: f64,
    },
}

impl OrbitCentre {
    /// The structures in the middle; none about a place.
    pub fn structures(&self) -> Vec<Id> {
        match self {
            OrbitCentre::Structure(id) => vec![*id],
            OrbitCentre::Structures(ids) => ids.clone(),
            OrbitCentre::Point { .. } => Vec::new(),
        }
    }

    /// About one structure, or about several.
    pub fn about(structures: &[Id]) -> Self {
        match structures {
            [one] => OrbitCentre::Structure(*one),
            several => OrbitCentre::Structures(several.to_vec()),
        }
    }
}

/// How far from its middle an orbit is flown.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum OrbitRadius {
    /// The structure's circle and the pass's stand-off beyond it; about a place, the stand-off alone.
    #[default]
    StandOff,
    /// Set; the stand-off follows from it.
    Set {
        /// Metres from the middle.
        m: f64,
    },
}

/// The rings of an orbit; heights are above the ground in the middle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Rings {
    /// Each by its height, in flying order.
    At {
        /// Heights of the rings.
        heights_m: Vec<f64>,
    },
    /// Evenly spaced, from the lowest up.
    Evenly {
        /// How many.
        count: u32,
        /// Height of the lowest.
        lowest_m: f64,
        /// From ring to ring.
        step_m: f64,
    },
}

impl Rings {
    /// Heights of the rings in flying order, in metres above the ground in the middle.
    ///
    /// # Units
    /// - returns: metres above the ground in the middle
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::Rings;
    /// let rings = Rings::Evenly { count: 3, lowest_m: 20.0, step_m: 15.0 };
    /// assert_eq!(rings.heights_m(), [20.0, 35.0, 50.0]);
    /// ```
    pub fn heights_m(&self) -> Vec<f64> {
        match self {
            Rings::At { heights_m } => heights_m.clone(),
            Rings::Evenly { count, lowest_m, step_m } => {
                (0..*count).map(|k| lowest_m + f64::from(k) * step_m).collect()
            }
        }
    }
}

pub(super) const ABOUT: About = About {
    name: "orbit",
    title: "Orbit",
    explanation: "Closed rings about structures or a place, looking inward",
    leads: Leads::StandOff,
    lines: ["rings", "ring spacing"],
    runs: None,
    margin: None,
    overlaps: Overlaps::Forward,
    looks: Looks::ByItself { note: "The tilt of every ring follows from its height and the target height." },
    near: Near::Walls,
    begins: Some(about_the_middle),
    table: None,
    numbers: &[
        number!("strategies[].passes[].pattern.Orbit.around.Point.x_m", "Middle, east", "Place of the middle, east of the site's origin.",
            Metres, 1, COORDINATE_M,
            Pattern::Orbit(Orbit { around: OrbitCentre::Point { x_m: value, .. }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.around.Point.y_m", "Middle, north", "Place of the middle, north of the site's origin.",
            Metres, 1, COORDINATE_M,
            Pattern::Orbit(Orbit { around: OrbitCentre::Point { y_m: value, .. }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.radius.Set.m", "Radius", "From the middle to the ring; the stand-off follows from it.",
            Metres, 1, ORBIT_RADIUS_M,
            Pattern::Orbit(Orbit { radius: OrbitRadius::Set { m: value }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.rings.Evenly.count", "Rings", "How many, one above the other.",
            Count, 0, RINGS,
            Pattern::Orbit(Orbit { rings: Rings::Evenly { count: value, .. }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.rings.Evenly.lowest_m", "Lowest ring", "Its height above the ground in the middle.",
            Metres, 1, RING_HEIGHT_M,
            Pattern::Orbit(Orbit { rings: Rings::Evenly { lowest_m: value, .. }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.rings.Evenly.step_m", "Step between rings", "From ring to ring, upward.",
            Metres, 1, RING_STEP_M,
            Pattern::Orbit(Orbit { rings: Rings::Evenly { step_m: value, .. }, .. }) => value),
        number!("strategies[].passes[].pattern.Orbit.target_height_m", "Target height",
            "What the camera looks at, above the ground in the middle; the tilt of every ring follows from it.",
            Metres, 1, TARGET_HEIGHT_M,
            Pattern::Orbit(Orbit { target_height_m: value, .. }) => value),
    ],
    choices: &[RADIUS, RINGS],
};

const RADIUS: Choice = Choice {
    name: "Radius is",
    explanation: "What sets how far from the middle",
    what: "Radius",
    options: &[
        ("by the stand-off", "The structure's circle and the pass's stand-off beyond it"),
        ("set", "Metres from the middle; the stand-off follows"),
    ],
    get: |pattern| match pattern {
        Pattern::Orbit(orbit) => Some(usize::from(matches!(orbit.radius, OrbitRadius::Set { .. }))),
        _ => None,
    },
    set: |pattern, place, present| {
        if let Pattern::Orbit(orbit) = pattern {
            let m = (10.0 * present.radius_m.unwrap_or(40.0)).round() / 10.0;
            orbit.radius = match place {
                0 => OrbitRadius::StandOff,
                _ => OrbitRadius::Set { m: limits::ORBIT_RADIUS_M.nearest(m) },
            };
        }
    },
};

const RINGS: Choice = Choice {
    name: "Ring heights",
    explanation: "How the rings' heights are given",
    what: "Rings",
    options: &[("evenly spaced", "From the lowest up, one step apart"), ("each set", "In flying order")],
    get: |pattern| match pattern {
        Pattern::Orbit(orbit) => Some(usize::from(matches!(orbit.rings, Rings::At { .. }))),
        _ => None,
    },
    set: |pattern, place, _| {
        if let Pattern::Orbit(orbit) = pattern {
            orbit.rings = ringed(&orbit.rings, place);
        }
    },
};

/// Height and what is looked at are common practice, no source.
fn about_the_middle(site: &Site) -> Pattern {
    let middle = centroid_m(&site.boundary_m);
    Pattern::Orbit(Orbit {
        around: OrbitCentre::Point { x_m: middle.x.round(), y_m: middle.y.round() },
        radius: OrbitRadius::StandOff,
        rings: Rings::Evenly { count: 1, lowest_m: 40.0, step_m: 10.0 },
        target_height_m: 0.0,
    })
}

/// Rings evenly spaced, or each by its height.
fn ringed(rings: &Rings, place: usize) -> Rings {
    let heights_m = rings.heights_m();
    if place == 1 {
        return Rings::At { heights_m };
    }
    let lowest_m = heights_m.iter().copied().fold(f64::INFINITY, f64::min);
    let highest_m = heights_m.iter().copied().fold(0.0, f64::max);
    let count = heights_m.len().max(1);
    let step_m = if count > 1 { (highest_m - lowest_m) / (count - 1) as f64 } else { 10.0 };
    Rings::Evenly {
        count: count as u32,
        lowest_m: limits::RING_HEIGHT_M.nearest(lowest_m),
        step_m: limits::RING_STEP_M.nearest(step_m),
    }
}

impl Settings for Orbit {
    fn structures(&self) -> Vec<Id> {
        self.around.structures()
    }

    fn at(&self, left: &[Id]) -> Option<Pattern> {
        let around = OrbitCentre::about(left);
        (!left.is_empty()).then(|| Pattern::Orbit(Orbit { around, ..self.clone() }))
    }

    fn has_places(&self) -> bool {
        matches!(self.around, OrbitCentre::Point { .. })
    }

    fn title(&self, naming: &Naming<'_>) -> String {
        let around = if self.structures().is_empty() { "a place" } else { naming.subject };
        format!(" about {around}")
    }

    fn told(&self, subject: &str) -> Vec<Told> {
        let around = if subject.is_empty() { "a place" } else { subject };
        let heights = ToldValue::ListMetres(self.rings.heights_m());
        let heights = Told { label: "ring heights", value: heights, note: None };
        vec![Told::text("around", around), heights.note("above the ground in the middle")]
    }

    fn aimed(&self, length: &dyn Fn(f64) -> String) -> Option<String> {
        Some(format!("looks inward at {}", length(self.target_height_m)))
    }

    fn check(&self, check: &mut Checker, site: &Site, path: &str) {
        check_centre(check, site, &format!("{path}.around"), &self.around);
        if let OrbitRadius::Set { m } = self.radius {
            check.number(format!("{path}.radius.m"), m, limits::ORBIT_RADIUS_M);
        }
        check_rings(check, &format!("{path}.rings"), &self.rings);
        check.number(format!("{path}.target_height_m"), self.target_height_m, limits::TARGET_HEIGHT_M);
    }

    fn digest(&self, digest: &mut Digest) {
        let Orbit { around, radius, rings, target_height_m } = self;
        match around {
            OrbitCentre::Structure(id) => digest.whole(0).whole(u64::from(id.0)),
            OrbitCentre::Point { x_m, y_m } => digest.whole(1).numbers(&[*x_m, *y_m]),
            OrbitCentre::Structures(ids) => digest.whole(2).ids(ids),
        };
        let set = match radius {
            OrbitRadius::StandOff => None,
            OrbitRadius::Set { m } => Some(*m),
        };
        digest.optional(set).numbers(&rings.heights_m()).number(*target_height_m);
    }
}

fn check_centre(check: &mut Checker, site: &Site, path: &str, around: &OrbitCentre) {
    match around {
        OrbitCentre::Structure(id) => check_structure(check, site, path, *id),
        OrbitCentre::Structures(ids) => {
            if ids.is_empty() {
                let message = "an orbit must go round at least one structure, but it names none; name one or give a place";
                check.fault(path, message.to_owned());
            }
            check_structures(check, site, path, ids, &[]);
        }
        OrbitCentre::Point { x_m, y_m } => {
            check.number(format!("{path}.x_m"), *x_m, limits::COORDINATE_M);
            check.number(format!("{path}.y_m"), *y_m, limits::COORDINATE_M);
        }
    }
}

fn check_rings(check: &mut Checker, path: &str, rings: &Rings) {
    match rings {
        Rings::At { heights_m } => {
            let path = format!("{path}.heights_m");
            if heights_m.is_empty() {
                let message =
                    "an orbit must have at least one ring, but it has none; add a height".to_owned();
                check.fault(path.as_str(), message);
            }
            check.at_most(path.as_str(), "rings in an orbit", heights_m.len(), limits::RINGS.most as usize);
            for (index, height_m) in heights_m.iter().enumerate() {
                check.number(format!("{path}[{index}]"), *height_m, limits::RING_HEIGHT_M);
            }
        }
        Rings::Evenly { count, lowest_m, step_m } => {
            check.number(format!("{path}.count"), f64::from(*count), limits::RINGS);
            check.number(format!("{path}.lowest_m"), *lowest_m, limits::RING_HEIGHT_M);
            check.number(format!("{path}.step_m"), *step_m, limits::RING_STEP_M);
        }
    }
}
