//! What may differ from the scenario's crew and batteries with one aircraft, or in one strategy.

use crate::scenario::knob::{KnobGroup, row};

macro_rules! on_site {
    ($part:ident, $path:literal, $left_out:literal) => {
        &[
            on_site!(
                $part,
                $path,
                set_up_min,
                "Set-up",
                "From arriving to the first take-off",
                Minutes,
                0,
                CREW_TIME_MIN,
                $left_out,
                15.0,
                f64
            ),
            on_site!(
                $part,
                $path,
                pack_up_min,
                "Pack-up",
                "From the last landing to leaving",
                Minutes,
                0,
                CREW_TIME_MIN,
                $left_out,
                10.0,
                f64
            ),
            on_site!(
                $part,
                $path,
                control_points,
                "Control points",
                "Ground control points to place and measure; how many a receiver needs is yours to judge",
                Count,
                0,
                CONTROL_POINTS,
                $left_out,
                0.0,
                u32
            ),
            on_site!(
                $part,
                $path,
                per_control_point_min,
                "Each control point",
                "Time to place and measure one",
                Minutes,
                1,
                CREW_TIME_MIN,
                $left_out,
                5.0,
                f64
            ),
            on_site!(
                $part,
                $path,
                battery_sets,
                "Battery sets",
                "Charged and on hand at the first take-off",
                Count,
                0,
                BATTERY_SETS,
                $left_out,
                4.0,
                u32
            ),
        ]
    };
    ($part:ident, $path:literal, $field:ident, $name:literal, $explanation:literal, $unit:ident, $decimals:literal,
     $range:ident, $left_out:literal, $begins_at:literal, $kept:ident) => {
        row!(
            $part,
            concat!($path, stringify!($field)),
            $name,
            $name,
            $explanation,
            $unit,
            $decimals,
            $range,
            |part| part.on_site.$field.map(f64::from),
            |part, value| part.on_site.$field = value.map(|value| on_site!(value as $kept)),
            $left_out,
            |_| true,
            |_| $begins_at
        )
    };
    ($value:ident as f64) => {
        $value
    };
    ($value:ident as u32) => {
        $value.round() as u32
    };
}

/// Of an aircraft.
pub const AIRCRAFT_ON_SITE: KnobGroup = KnobGroup {
    name: "Crew and batteries",
    note: "",
    knobs: on_site!(Aircraft, "equipment.aircraft[].on_site.", "as the scenario"),
};

/// Of a strategy.
pub const STRATEGY_ON_SITE: KnobGroup = KnobGroup {
    name: "Only in this strategy",
    note: "What is not ticked is as its aircraft has it, or else as the scenario has it.",
    knobs: on_site!(Strategy, "strategies[].on_site.", "as usual"),
};
