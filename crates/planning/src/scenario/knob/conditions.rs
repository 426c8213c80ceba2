//! What may be set of the conditions.

use crate::base::Unit;
use crate::base::limits::Range;
use crate::scenario::knob::{Access, Knob, KnobGroup, KnobId, Scope, row};
use crate::scenario::{HeightRule, LightLevel};

/// How strong the wind is.
pub const WIND: KnobGroup = KnobGroup {
    name: "Wind",
    note: "",
    knobs: &[row!(
        Conditions,
        "conditions.",
        wind.speed_mps,
        "Wind",
        "Wind speed",
        "Steady wind at flying height, which is more than at the ground",
        MetresPerSecond,
        1,
        WIND_MPS
    )],
};

/// Where the wind comes from, and the air.
pub const AIR: KnobGroup = KnobGroup {
    name: "Air",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.wind.from_deg",
            "Comes from",
            "Wind direction",
            "Where the wind comes from, clockwise from north; the dial below can be dragged too",
            Degrees,
            0,
            DIRECTION_DEG,
            |c| c.wind.from_deg,
            |c, value| c.wind.from_deg = Some(value)
        ),
        row!(
            Conditions,
            "conditions.",
            temperature_c,
            "Air temperature",
            "Air temperature",
            "Where the aircraft flies; cold batteries hold less, warm air carries less",
            Celsius,
            0,
            TEMPERATURE_C
        ),
        row!(
            Conditions,
            "conditions.",
            altitude_m,
            "Altitude",
            "Altitude of the site",
            "Above sea level; thin air takes more power",
            Metres,
            0,
            ALTITUDE_M
        ),
    ],
};

/// What the crew does on site.
pub const CREW: KnobGroup = KnobGroup {
    name: "On site",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.",
            set_up_min,
            "Set-up",
            "Set-up",
            "From arriving to the first take-off",
            Minutes,
            0,
            CREW_TIME_MIN
        ),
        row!(
            Conditions,
            "conditions.",
            pack_up_min,
            "Pack-up",
            "Pack-up",
            "From the last landing to leaving",
            Minutes,
            0,
            CREW_TIME_MIN
        ),
        row!(
            Conditions,
            "conditions.",
            control_points as u32,
            "Control points",
            "Control points",
            "Ground control points to place and measure",
            Count,
            0,
            CONTROL_POINTS
        ),
        row!(
            Conditions,
            "conditions.",
            per_control_point_min,
            "Each control point",
            "Each control point",
            "Time to place and measure one",
            Minutes,
            1,
            CREW_TIME_MIN
        ),
        row!(
            Conditions,
            "conditions.",
            move_min,
            "Each move",
            "Each move to another take-off point",
            "Time to move crew and gear from one take-off point to another; only strategies with several move",
            Minutes,
            0,
            CREW_TIME_MIN
        ),
    ],
};

/// How well control points are measured.
pub const SURVEY: KnobGroup = KnobGroup {
    name: "Survey of control points",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.",
            survey.horizontal_m,
            "Horizontal, 1σ",
            "Horizontal error of control points",
            "How well a control point's place is measured, of east and of north each, one sigma: 1 cm with a corrected \
             receiver on a pole is common practice",
            SizeMetres,
            1,
            SURVEY_M
        ),
        row!(
            Conditions,
            "conditions.",
            survey.vertical_m,
            "Vertical, 1σ",
            "Vertical error of control points",
            "How well a control point's height is measured, one sigma: 2 cm with a corrected receiver on a pole is common \
             practice, less by levelling",
            SizeMetres,
            1,
            SURVEY_M
        ),
    ],
};

/// What plans keep to.
pub const PLAN_LIMITS: KnobGroup = KnobGroup {
    name: "Limits",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.",
            height_ceiling_m,
            "Height ceiling",
            "Height ceiling",
            "A pass that is set by GSD goes no higher than this above the mean ground",
            Metres,
            0,
            CEILING_M
        ),
        row!(
            Conditions,
            "conditions.",
            pilot_distance_m,
            "Pilot to aircraft",
            "Distance from the pilot",
            "Beyond this distance, a caution reminds of line of sight",
            Metres,
            0,
            PILOT_DISTANCE_M
        ),
        row!(
            Conditions,
            "conditions.",
            clearance_m,
            "Clearance",
            "Clearance on the way",
            "Kept from structures and ground on the way to a pass and between passes",
            Metres,
            1,
            CLEARANCE_M
        ),
        row!(
            Conditions,
            "conditions.",
            blur_px,
            "Motion blur",
            "Motion blur",
            "Largest blur in an image; with the exposure time it limits the speed",
            Pixels,
            2,
            BLUR_PX
        ),
        row!(
            Conditions,
            "conditions.",
            card_gb,
            "Card space",
            "Card space",
            "Free, in gigabytes (10⁹ bytes)",
            Gigabytes,
            0,
            CARD_GB
        ),
    ],
};

/// A height limit of one's own.
pub const HEIGHT_LIMIT: KnobGroup = KnobGroup {
    name: "Height rule",
    note: "",
    knobs: &[row!(
        Conditions,
        "conditions.height_rule.Custom.limit_m",
        "Height limit",
        "Height limit",
        "Above the ground; a pass that goes higher is cautioned",
        Metres,
        0,
        CEILING_M,
        |c| if let HeightRule::Custom { limit_m } = c.height_rule { Some(limit_m) } else { None },
        |c, limit_m| c.height_rule = HeightRule::Custom { limit_m }
    )],
};

/// Batteries on hand.
pub const SETS: KnobGroup = KnobGroup {
    name: "Batteries",
    note: "",
    knobs: &[row!(
        Conditions,
        "conditions.",
        battery_sets as u32,
        "Battery sets",
        "Battery sets",
        "Charged and on hand at the first take-off",
        Count,
        0,
        BATTERY_SETS
    )],
};

/// How sets are charged on site.
pub const CHARGING: KnobGroup = KnobGroup {
    name: "Charging",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.charging.charge_min",
            "Charge time",
            "Charge time",
            "For one set that was flown down to the reserve",
            Minutes,
            0,
            CHARGE_MIN,
            |c| Some(c.charging?.charge_min),
            |c, value| if let Some(charging) = &mut c.charging {
                charging.charge_min = value;
            }
        ),
        row!(
            Conditions,
            "conditions.charging.at_once",
            "Sets at once",
            "Sets charged at once",
            "How many sets the chargers and the supply can charge at the same time",
            Count,
            0,
            CHARGED_AT_ONCE,
            |c| Some(f64::from(c.charging?.at_once)),
            |c, value| if let Some(charging) = &mut c.charging {
                charging.at_once = value.round() as u32;
            }
        ),
    ],
};

/// How much light there is to expose by.
pub const LIGHT: KnobGroup = KnobGroup {
    name: "Light",
    note: "",
    knobs: &[row!(
        Conditions,
        "conditions.light.Metered.ev100",
        "Exposure value",
        "Exposure value",
        "At ISO 100, as a light meter or a camera shows it: about 15 in full sun",
        ExposureValue,
        1,
        EV100,
        |c| if let Some(LightLevel::Metered { ev100 }) = c.light { Some(ev100) } else { None },
        |c, ev100| c.light = Some(LightLevel::Metered { ev100 })
    )],
};

/// Seeds that can be typed; a file may hold larger ones.
const SEEDS: Range = Range { what: "seed", least: 0.0, most: 999_999.0, mend: "give a whole number" };

/// How far things may come out otherwise.
pub const SPREAD: KnobGroup = KnobGroup {
    name: "Spread",
    note: "",
    knobs: &[
        row!(
            Conditions,
            "conditions.",
            spread.wind_mps,
            "Wind speed",
            "Spread of wind speed",
            "Standard deviation of the wind's speed about the one given",
            MetresPerSecond,
            1,
            WIND_MPS
        ),
        row!(
            Conditions,
            "conditions.",
            spread.wind_deg,
            "Wind direction",
            "Spread of wind direction",
            "Standard deviation of where the wind comes from; where its direction is unknown, draws come from all round",
            Degrees,
            0,
            SPREAD_DEG
        ),
        row!(
            Conditions,
            "conditions.",
            spread.speed_ratio,
            "Speed held",
            "Spread of speed",
            "Standard deviation of the speed that is held on a leg, as a share of it",
            Share,
            1,
            SPREAD_RATIO
        ),
        row!(
            Conditions,
            "conditions.",
            spread.turn_ratio,
            "Turns",
            "Spread of turns",
            "Standard deviation of the time for turns, as a share of it",
            Share,
            1,
            SPREAD_RATIO
        ),
        row!(
            Conditions,
            "conditions.",
            spread.battery_ratio,
            "Battery",
            "Spread of batteries",
            "Standard deviation of what a battery set holds, as a share of it",
            Share,
            1,
            SPREAD_RATIO
        ),
        row!(
            Conditions,
            "conditions.",
            spread.swap_ratio,
            "Battery change",
            "Spread of battery changes",
            "Standard deviation of the time for a battery change, as a share of it",
            Share,
            1,
            SPREAD_RATIO
        ),
        row!(
            Conditions,
            "conditions.",
            spread.crew_ratio,
            "Set-up, pack-up",
            "Spread of set-up and pack-up",
            "Standard deviation of the time for set-up, pack-up, control points and moves, as a share of it",
            Share,
            1,
            SPREAD_RATIO
        ),
        Knob {
            id: KnobId::SEED,
            name: "Seed",
            whole: "Seed of the spread",
            explanation: "What the draws start from: equal seeds give equal bands",
            unit: Unit::Count,
            decimals: 0,
            range: SEEDS,
            left_out: None,
            scope: Scope::Conditions(Access {
                get: |c| Some(c.spread.seed as f64),
                set: |c, value| c.spread.seed = value.map_or(c.spread.seed, |value| value.round() as u64),
                applies: |_| true,
                begins_at: |_| 1.0,
                narrowed: |_, range| (range.least, range.most),
            }),
        },
    ],
};
