use crate::base::Id;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// An aircraft and what it flies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strategy {
    /// Stays the same through renaming, reordering and undo.
    pub id: Id,
    /// For people.
    pub name: String,
    /// Which aircraft of the scenario's equipment.
    pub aircraft: Id,
    /// What is flown; `order` says in which order.
    pub passes: Vec<Pass>,
    /// In which order the passes are flown.
    #[serde(default)]
    pub order: FlyingOrder,
    /// What the flight controller said once the values were keyed in. No figure is made from it.
    #[serde(default)]
    pub reported: Option<Reported>,
}

/// In which order passes are flown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum FlyingOrder {
    /// In the one that takes the least time (up to eight passes; more are flown as listed).
    #[default]
    Quickest,
    /// As they are listed.
    AsListed,
}

/// What a flight controller reports for a strategy that was keyed into it, to hold against what is predicted here.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reported {
    /// Take-off to landing of all sorties, in minutes.
    #[serde(default)]
    pub flight_time_min: Option<f64>,
    /// Images taken.
    #[serde(default)]
    pub image_count: Option<u32>,
}

/// One pattern flown once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pass {
    /// Unique in the whole scenario.
    pub id: Id,
    /// Where the aircraft goes.
    pub pattern: Pattern,
    /// Where the camera looks; more than one: a cycle through them within each air base.
    pub attitudes: Vec<Attitude>,
    /// How far from the subject, and what leads.
    pub distance: Distance,
    /// Forward overlap, 0 to below 1, on the vertical-equivalent footprint.
    pub forward_overlap: f64,
    /// Sidelap, 0 to below 1, on the vertical-equivalent footprint.
    pub sidelap: f64,
    /// The user's own speed limit.
    #[serde(default)]
    pub speed_mps: Option<f64>,
    /// How far the pass reaches beyond the boundary; when absent the larger of one air base and a quarter of the swath.
    /// A cycled pass reaches as far as its tilted images need and has no margin of its own.
    #[serde(default)]
    pub margin_m: Option<f64>,
    /// Time for which the aircraft stops at each place to expose; absent, it exposes while moving.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hover_s: Option<f64>,
}

/// Where the aircraft goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Pattern {
    /// Parallel lines over an area, flown to and fro.
    Strips {
        /// Which way they run.
        #[serde(default)]
        direction: StripDirection,
        /// How many there are and where.
        #[serde(default)]
        counting: CountingRule,
        /// At which corner they are begun.
        #[serde(default, skip_serializing_if = "BeginAt::is_nearest")]
        begin: BeginAt,
    },
    /// Parallel lines along a line with corners: a road, a river, a row of masts.
    Corridor {
        /// The middle of what is to be captured.
        line_m: Vec<DVec2>,
        /// How wide it is; the strips are spread over this width.
        width_m: f64,
        /// How many strips there are and where.
        #[serde(default)]
        counting: CountingRule,
    },
    /// Closed rings about a structure or a place, the camera looking inward.
    Orbit {
        /// What is in the middle.
        around: OrbitCentre,
        /// How far from the middle.
        #[serde(default)]
        radius: OrbitRadius,
        /// How many rings, and where.
        rings: Rings,
        /// What the camera is tilted to, above the ground in the middle.
        target_height_m: f64,
    },
    /// Rows in front of the walls of a structure, the camera looking at the wall.
    Facade {
        /// The structure.
        structure: Id,
        /// Others that stand with it, too near to fly between: the rows then go round the hull of all of them
        /// (as the outline tells them).
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        others: Vec<Id>,
        /// Which walls: sides of the footprint or the hull, counter-clockwise from 0, in the order of the rows; all when
        /// absent.
        #[serde(default)]
        walls: Option<Vec<u32>>,
        /// Kept from every structure, corners and neighbours included.
        clearance_m: f64,
        /// Least height of the lowest row above the ground.
        lowest_m: f64,
    },
    /// Strips below a deck, the camera looking up.
    Underside {
        /// The deck.
        structure: Id,
        /// Pieces of equal length, each flown to its end before the next.
        sections: u32,
        /// Kept from the soffit.
        soffit_clearance_m: f64,
        /// Kept from the ground.
        ground_clearance_m: f64,
    },
}

impl Pattern {
    /// Which of the patterns it is.
    pub fn kind(&self) -> PatternKind {
        match self {
            Pattern::Strips { .. } => PatternKind::Strips,
            Pattern::Corridor { .. } => PatternKind::Corridor,
            Pattern::Orbit { .. } => PatternKind::Orbit,
            Pattern::Facade { .. } => PatternKind::Facade,
            Pattern::Underside { .. } => PatternKind::Underside,
        }
    }

    /// The structures that it is flown at, the first one first.
    pub fn structures(&self) -> Vec<Id> {
        match self {
            Pattern::Strips { .. } | Pattern::Corridor { .. } => Vec::new(),
            Pattern::Orbit { around, .. } => around.structures(),
            Pattern::Facade { structure, others, .. } => [&[*structure], others.as_slice()].concat(),
            Pattern::Underside { structure, .. } => vec![*structure],
        }
    }

    /// The pattern flown at those of its structures that are there; nothing where none is left of them. Round fewer
    /// structures it has other walls: then it takes all.
    #[must_use]
    pub fn at_those(&self, there: impl Fn(Id) -> bool) -> Option<Pattern> {
        let all = self.structures();
        let left: Vec<Id> = all.iter().copied().filter(|id| there(*id)).collect();
        if left.len() == all.len() {
            return Some(self.clone());
        }
        let mut pattern = self.clone();
        match &mut pattern {
            Pattern::Orbit { around, .. } if !left.is_empty() => *around = OrbitCentre::about(&left),
            Pattern::Facade { structure, others, walls, .. } => {
                let (first, rest) = left.split_first()?;
                (*structure, *others, *walls) = (*first, rest.to_vec(), None);
            }
            _ => return None,
        }
        Some(pattern)
    }
}

/// A pattern without its settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PatternKind {
    /// [`Pattern::Strips`].
    Strips,
    /// [`Pattern::Corridor`].
    Corridor,
    /// [`Pattern::Orbit`].
    Orbit,
    /// [`Pattern::Facade`].
    Facade,
    /// [`Pattern::Underside`].
    Underside,
}

impl PatternKind {
    /// All of them.
    pub const ALL: [PatternKind; 5] = [
        PatternKind::Strips,
        PatternKind::Corridor,
        PatternKind::Orbit,
        PatternKind::Facade,
        PatternKind::Underside,
    ];

    /// Name in files and sentences.
    pub fn name(self) -> &'static str {
        match self {
            PatternKind::Strips => "strips",
            PatternKind::Corridor => "corridor",
            PatternKind::Orbit => "orbit",
            PatternKind::Facade => "facade",
            PatternKind::Underside => "underside",
        }
    }

    /// Whether it flies above its subject at a height; the others keep a stand-off.
    pub fn flies_over(self) -> bool {
        matches!(self, PatternKind::Strips | PatternKind::Corridor)
    }
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
    pub fn heights_m(&self) -> Vec<f64> {
        match self {
            Rings::At { heights_m } => heights_m.clone(),
            Rings::Evenly { count, lowest_m, step_m } => {
                (0..*count).map(|k| lowest_m + f64::from(k) * step_m).collect()
            }
        }
    }
}

/// Which way strips run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StripDirection {
    /// The direction that needs the fewest strips (across the boundary's least width), turned clockwise.
    Automatic {
        /// 0 for the direction itself, 90 for the crossing one.
        #[serde(default)]
        turned_deg: f64,
    },
    /// Set by the user.
    FromNorth {
        /// Clockwise from north.
        deg: f64,
    },
}

impl Default for StripDirection {
    fn default() -> Self {
        StripDirection::Automatic { turned_deg: 0.0 }
    }
}

/// At which corner strips over an area are begun, as seen from the one nearest to the take-off point: so it keeps its
/// meaning when the site is edited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum BeginAt {
    /// That corner.
    #[default]
    NearestCorner,
    /// The other end of the same strip.
    OtherEnd,
    /// The same end of the outermost strip on the other side.
    OtherSide,
    /// The other end of the strip on the other side.
    OppositeCorner,
}

impl BeginAt {
    /// All of them, the nearest corner first.
    pub const ALL: [BeginAt; 4] =
        [BeginAt::NearestCorner, BeginAt::OtherEnd, BeginAt::OtherSide, BeginAt::OppositeCorner];

    /// Whether it is the nearest corner.
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks for it")]
    fn is_nearest(&self) -> bool {
        *self == BeginAt::NearestCorner
    }
}

/// How many strips a width needs, where they lie, and how many exposures a strip gets.
///
/// Handbooks differ; each rule is named for what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum CountingRule {
    /// n = ceil(width / spacing), spread evenly, the outer ones half a spacing inside.
    #[default]
    HalfSpacingInside,
    /// n = ceil(width / spacing), centred with the spacing kept as set.
    CentredAtSpacing,
    /// As few as still cover the width with their footprints: n = ceil((width − swath) / spacing) + 1.
    FootprintCover,
    /// The outer strips on the edges: n = ceil(width / spacing) + 1, spread evenly.
    EdgeToEdge,
    /// The outer footprints reach beyond the edge by as much as neighbouring strips overlap.
    SidelapBeyondEdge,
    /// n = ceil(width / spacing) + 2, centred with the spacing kept as set.
    SpareStripEachSide,
}

/// Where the camera looks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attitude {
    /// From nadir: 0 straight down, 90 level, 180 straight up.
    pub tilt_deg: f64,
    /// Which way the tilted axis points.
    pub aim: Aim,
}

/// Which way a tilted axis points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Aim {
    /// Relative to the flight: return strips look the other way.
    FromTrack {
        /// Clockwise from the direction of flight.
        deg: f64,
    },
    /// Relative to the pass's strip direction, held on return strips.
    FromStrips {
        /// Clockwise from the strip direction.
        deg: f64,
    },
    /// Held on all strips.
    FromNorth {
        /// Clockwise from north.
        deg: f64,
    },
    /// Toward the wall of a facade pass or the middle of an orbit; elsewhere there is no subject, and it is the track.
    AtSubject {
        /// Clockwise from the direction to the subject.
        deg: f64,
    },
}

impl Aim {
    /// The angle that it sets.
    pub fn deg(self) -> f64 {
        match self {
            Aim::FromTrack { deg }
            | Aim::FromStrips { deg }
            | Aim::FromNorth { deg }
            | Aim::AtSubject { deg } => deg,
        }
    }
}

/// How far from the subject, and which of height and GSD leads when the aircraft is swapped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Distance {
    /// The height leads.
    Height {
        /// Metres above what `above` says.
        m: f64,
        /// What the height is above.
        #[serde(default)]
        above: Above,
    },
    /// The GSD leads: height = GSD × focal length in pixels, whatever the tilt, capped at the height ceiling.
    Gsd {
        /// Centimetres per pixel.
        cm: f64,
        /// What the resulting height is above.
        #[serde(default)]
        above: Above,
    },
    /// The stand-off leads: orbits, facades and undersides. With a GSD they take stand-off = GSD × focal length in
    /// pixels, capped at the height ceiling.
    StandOff {
        /// Metres from the surface.
        m: f64,
    },
}

impl Distance {
    /// What the height is above; the mean ground where there is none.
    pub fn above(self) -> Above {
        match self {
            Distance::Height { above, .. } | Distance::Gsd { above, .. } => above,
            Distance::StandOff { .. } => Above::MeanGround,
        }
    }
}

/// What a height is above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Above {
    /// The reference plane: the mean ground inside the boundary.
    #[default]
    MeanGround,
    /// The ground at the take-off point.
    TakeOff,
    /// The ground below, followed along each strip: never lower, and higher where the aircraft cannot climb or descend
    /// as fast as the ground does, or where a structure stands.
    Ground,
}
