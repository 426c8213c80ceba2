//! Every number of a pass: one row each, shown where the pass has it.

use crate::units::Unit;
use obliquity_planning::limits::{self, Range};
use obliquity_planning::{
    Distance, OrbitCentre, OrbitRadius, Pass, Pattern, PatternKind, Rings, StripDirection,
};

/// One number of a pass.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// On the screen, beside the row.
    pub name: &'static str,
    /// What it is.
    pub hint: &'static str,
    /// What it measures.
    pub unit: Unit,
    /// Most decimals shown.
    pub decimals: usize,
    /// Values allowed.
    pub range: Range,
    /// Whether the pass has such a number at all.
    pub applies: fn(&Pass) -> bool,
    /// Reads it; nothing where it applies but is left to the program.
    pub get: fn(&Pass) -> Option<f64>,
    /// Sets it; nothing leaves it to the program, where that can be.
    pub set: fn(&mut Pass, Option<f64>),
    /// For what can be left to the program: what it then is, in words.
    pub left_out: Option<&'static str>,
}

/// Rows under one heading.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// The heading.
    pub name: &'static str,
    /// The rows.
    pub fields: &'static [Field],
}

/// A number that stands in a pattern or a distance: the same path reads and writes it.
macro_rules! inside {
    ($name:literal, $hint:literal, $unit:expr, $decimals:literal, $range:ident, $at:ident, $shape:pat => $value:ident) => {
        Field {
            name: $name,
            hint: $hint,
            unit: $unit,
            decimals: $decimals,
            range: limits::$range,
            applies: |pass| if let $shape = &pass.$at { $value.read().is_finite() } else { false },
            get: |pass| if let $shape = &pass.$at { Some($value.read()) } else { None },
            set: |pass, value| {
                if let ($shape, Some(value)) = (&mut pass.$at, value) {
                    $value.keep(value);
                }
            },
            left_out: None,
        }
    };
}

/// A number as its place keeps it.
trait Kept {
    fn read(&self) -> f64;
    fn keep(&mut self, value: f64);
}

impl Kept for f64 {
    fn read(&self) -> f64 {
        *self
    }

    fn keep(&mut self, value: f64) {
        *self = value;
    }
}

impl Kept for u32 {
    fn read(&self) -> f64 {
        f64::from(*self)
    }

    fn keep(&mut self, value: f64) {
        *self = value.round() as u32;
    }
}

fn always(_: &Pass) -> bool {
    true
}

/// A cycled pass reaches as far as its tilted images need; rings and undersides have no ends.
fn has_margin(pass: &Pass) -> bool {
    match pass.pattern.kind() {
        PatternKind::Strips => pass.attitudes.len() == 1,
        PatternKind::Corridor | PatternKind::Facade => true,
        PatternKind::Orbit | PatternKind::Underside => false,
    }
}

/// All numbers of a pass.
pub const GROUPS: [Group; 3] = [
    Group {
        name: "Pattern",
        fields: &[
            inside!("Turned by", "Clockwise from the direction that needs the fewest strips; 90° is across it.", Unit::Degrees, 0, DIRECTION_DEG, pattern,
                Pattern::Strips { direction: StripDirection::Automatic { turned_deg: value }, .. } => value),
            inside!("Direction", "Which way the strips run, clockwise from north.", Unit::Degrees, 1, DIRECTION_DEG, pattern,
                Pattern::Strips { direction: StripDirection::FromNorth { deg: value }, .. } => value),
            inside!("Corridor width", "The strips are spread over this width, half of it on each side of the line.", Unit::Metres, 1, CORRIDOR_WIDTH_M, pattern,
                Pattern::Corridor { width_m: value, .. } => value),
            inside!("Middle, east", "Place of the middle, east of the site's origin.", Unit::Metres, 1, COORDINATE_M, pattern,
                Pattern::Orbit { around: OrbitCentre::Point { x_m: value, .. }, .. } => value),
            inside!("Middle, north", "Place of the middle, north of the site's origin.", Unit::Metres, 1, COORDINATE_M, pattern,
                Pattern::Orbit { around: OrbitCentre::Point { y_m: value, .. }, .. } => value),
            inside!("Radius", "From the middle to the ring; the stand-off follows from it.", Unit::Metres, 1, ORBIT_RADIUS_M, pattern,
                Pattern::Orbit { radius: OrbitRadius::Set { m: value }, .. } => value),
            inside!("Rings", "How many, one above the other.", Unit::Count, 0, RINGS, pattern,
                Pattern::Orbit { rings: Rings::Evenly { count: value, .. }, .. } => value),
            inside!("Lowest ring", "Its height above the ground in the middle.", Unit::Metres, 1, RING_HEIGHT_M, pattern,
                Pattern::Orbit { rings: Rings::Evenly { lowest_m: value, .. }, .. } => value),
            inside!("Step between rings", "From ring to ring, upward.", Unit::Metres, 1, RING_STEP_M, pattern,
                Pattern::Orbit { rings: Rings::Evenly { step_m: value, .. }, .. } => value),
            inside!("Target height", "What the camera looks at, above the ground in the middle; the tilt of every ring follows from it.", Unit::Metres, 1, TARGET_HEIGHT_M, pattern,
                Pattern::Orbit { target_height_m: value, .. } => value),
            inside!("Clearance", "Kept from every structure, corners and neighbours included.", Unit::Metres, 1, CLEARANCE_M, pattern,
                Pattern::Facade { clearance_m: value, .. } => value),
            inside!("Lowest row", "Least height of the lowest row above the ground.", Unit::Metres, 1, CLEARANCE_M, pattern,
                Pattern::Facade { lowest_m: value, .. } => value),
            inside!("Sections", "Pieces of equal length along the deck, each flown to its end before the next.", Unit::Count, 0, SECTIONS, pattern,
                Pattern::Underside { sections: value, .. } => value),
            inside!("Soffit clearance", "Kept from the underside of the deck.", Unit::Metres, 1, CLEARANCE_M, pattern,
                Pattern::Underside { soffit_clearance_m: value, .. } => value),
            inside!("Ground clearance", "Kept from the ground below the deck.", Unit::Metres, 1, CLEARANCE_M, pattern,
                Pattern::Underside { ground_clearance_m: value, .. } => value),
        ],
    },
    Group {
        name: "Distance and speed",
        fields: &[
            inside!("Height", "Above what is chosen below; the GSD follows from the camera.", Unit::Metres, 1, HEIGHT_M, distance,
                Distance::Height { m: value, .. } => value),
            inside!("GSD", "Of a camera that faces its surface; height or stand-off follows from it, up to the height ceiling.", Unit::GsdCentimetres, 2, GSD_CM, distance,
                Distance::Gsd { cm: value, .. } => value),
            inside!("Stand-off", "From the wall, from the structure's circle or from the soffit.", Unit::Metres, 1, STAND_OFF_M, distance,
                Distance::StandOff { m: value } => value),
            Field {
                name: "Speed limit",
                hint: "Your own; aircraft, shot interval and motion blur have theirs, and the least counts.",
                unit: Unit::MetresPerSecond,
                decimals: 1,
                range: limits::SPEED_MPS,
                applies: always,
                get: |pass| pass.speed_mps,
                set: |pass, value| pass.speed_mps = value,
                left_out: Some("automatic"),
            },
            Field {
                name: "Stop to expose",
                hint: "Time for which the aircraft stands still at each exposure: no motion blur, but a stop and a start for each. \
                       Off, it exposes while moving.",
                unit: Unit::BriefSeconds,
                decimals: 1,
                range: limits::HOVER_S,
                applies: always,
                get: |pass| pass.hover_s,
                set: |pass, value| pass.hover_s = value,
                left_out: Some("exposes while moving"),
            },
        ],
    },
    Group {
        name: "Overlap and margin",
        fields: &[
            Field {
                name: "Forward overlap",
                hint: "Share of a nadir image that the next one along the track shows again.",
                unit: Unit::Share,
                decimals: 0,
                range: limits::FORWARD_OVERLAP,
                applies: always,
                get: |pass| Some(pass.forward_overlap),
                set: |pass, value| pass.forward_overlap = value.unwrap_or(pass.forward_overlap),
                left_out: None,
            },
            Field {
                name: "Sidelap",
                hint: "Share of a nadir image that the neighbouring strip or row shows again.",
                unit: Unit::Share,
                decimals: 0,
                range: limits::SIDELAP,
                applies: |pass| pass.pattern.kind() != PatternKind::Orbit,
                get: |pass| Some(pass.sidelap),
                set: |pass, value| pass.sidelap = value.unwrap_or(pass.sidelap),
                left_out: None,
            },
            Field {
                name: "Margin",
                hint: "How far the pass reaches beyond the boundary, or beyond the ends of a corridor's line or a wall. By \
                       itself one air base; over a boundary at least a quarter of the swath.",
                unit: Unit::Metres,
                decimals: 1,
                range: limits::MARGIN_M,
                applies: has_margin,
                get: |pass| pass.margin_m,
                set: |pass, value| pass.margin_m = value,
                left_out: Some("automatic"),
            },
        ],
    },
];
