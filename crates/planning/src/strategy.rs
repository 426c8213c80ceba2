use crate::Id;
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
    /// Flown in this order.
    pub passes: Vec<Pass>,
    /// What the flight controller said once the values were keyed in. No figure is made from it.
    #[serde(default)]
    pub reported: Option<Reported>,
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
}

/// Where the aircraft goes. Orbits, facades, undersides and corridors will stand beside strips.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Pattern {
    /// Parallel lines over an area, flown to and fro.
    Strips {
        /// Which way they run.
        direction: StripDirection,
        /// How many there are and where.
        #[serde(default)]
        counting: CountingRule,
    },
}

/// Which way strips run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StripDirection {
    /// The direction that needs the fewest strips (across the boundary's least width), turned clockwise.
    Automatic {
        /// 0 for the direction itself, 90 for the crossing one.
        turned_deg: f64,
    },
    /// Set by the user.
    FromNorth {
        /// Clockwise from north.
        deg: f64,
    },
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

/// Which way a tilted axis points. Aiming at a target will stand beside these.
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
}

/// What a height is above. Take-off and the ground below will stand beside it when terrain grids do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Above {
    /// The reference plane: the mean ground inside the boundary.
    #[default]
    MeanGround,
}
