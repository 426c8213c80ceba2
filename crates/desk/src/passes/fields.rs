//! Every number of a pass: one row each, shown where the pass has it.

use crate::units::Unit;
use obliquity_planning::limits::{self, Range};
use obliquity_planning::{Distance, Overlaps, Pass};

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

/// A number that stands in a distance: the same path reads and writes it.
macro_rules! inside {
    ($name:literal, $hint:literal, $unit:expr, $decimals:literal, $range:ident, $shape:pat => $value:ident) => {
        Field {
            name: $name,
            hint: $hint,
            unit: $unit,
            decimals: $decimals,
            range: limits::$range,
            applies: |pass| matches!(&pass.distance, $shape if $value.is_finite()),
            get: |pass| if let $shape = &pass.distance { Some(*$value) } else { None },
            set: |pass, value| {
                if let ($shape, Some(value)) = (&mut pass.distance, value) {
                    *$value = value;
                }
            },
            left_out: None,
        }
    };
}

fn always(_: &Pass) -> bool {
    true
}

/// A cycled pass reaches as far as its tilted images need; rings and undersides have no ends.
fn has_margin(pass: &Pass) -> bool {
    let margin = pass.pattern.about().margin;
    margin.is_some_and(|margin| margin.cycled.is_none() || pass.attitudes.len() == 1)
}

/// The numbers of a pass that are not its pattern's.
pub const GROUPS: [Group; 2] = [
    Group {
        name: "Distance and speed",
        fields: &[
            inside!("Height", "Above what is chosen below; the GSD follows from the camera.", Unit::Metres, 1, HEIGHT_M,
                Distance::Height { m: value, .. } => value),
            inside!("GSD", "Of a camera that faces its surface; height or stand-off follows from it, up to the height ceiling.", Unit::GsdCentimetres, 2, GSD_CM,
                Distance::Gsd { cm: value, .. } => value),
            inside!("Stand-off", "From the wall, from the structure's circle or from the soffit.", Unit::Metres, 1, STAND_OFF_M,
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
                applies: |pass| pass.pattern.about().overlaps != Overlaps::Neither,
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
                applies: |pass| pass.pattern.about().overlaps == Overlaps::Both,
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
