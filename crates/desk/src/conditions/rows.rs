//! Every number of the conditions: one row each.

use crate::units::Unit;
use obliquity_planning::limits::{self, Range};
use obliquity_planning::{Charging, Conditions};

/// One number of the conditions.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// On the screen, beside the number.
    pub name: &'static str,
    /// The whole name, and what an edit of it is called.
    pub spoken: &'static str,
    /// What it is.
    pub hint: &'static str,
    /// What it measures.
    pub unit: Unit,
    /// Most decimals shown.
    pub decimals: usize,
    /// Values allowed.
    pub range: Range,
    /// Reads it; nothing where there is none.
    pub get: fn(&Conditions) -> Option<f64>,
    /// Sets it.
    pub set: fn(&mut Conditions, f64),
}

macro_rules! row {
    ($name:literal, $spoken:literal, $hint:literal, $unit:expr, $decimals:literal, $range:ident, $($at:ident).+) => {
        row!($name, $spoken, $hint, $unit, $decimals, $range,
            |c| Some(c.$($at).+), |c, value| c.$($at).+ = value)
    };
    // Counts: the type that the scenario keeps stands behind the path.
    ($name:literal, $spoken:literal, $hint:literal, $unit:expr, $decimals:literal, $range:ident, $($at:ident).+ as u32) => {
        row!($name, $spoken, $hint, $unit, $decimals, $range,
            |c| Some(f64::from(c.$($at).+)), |c, value| c.$($at).+ = value.round() as u32)
    };
    ($name:literal, $spoken:literal, $hint:literal, $unit:expr, $decimals:literal, $range:ident, $get:expr, $set:expr) => {
        Row {
            name: $name,
            spoken: $spoken,
            hint: $hint,
            unit: $unit,
            decimals: $decimals,
            range: limits::$range,
            get: $get,
            set: $set,
        }
    };
}

const MINUTES: Unit = Unit::Minutes;
const COUNT: Unit = Unit::Count;

/// Wind and air.
pub(super) const AIR: [Row; 4] = [
    row!(
        "Wind",
        "Wind speed",
        "Steady wind at flying height, which is more than at the ground",
        Unit::MetresPerSecond,
        1,
        WIND_MPS,
        wind.speed_mps
    ),
    row!(
        "Comes from",
        "Wind direction",
        "Where the wind comes from, clockwise from north; the dial below can be dragged too",
        Unit::Degrees,
        0,
        DIRECTION_DEG,
        |c| c.wind.from_deg,
        |c, value| c.wind.from_deg = Some(value)
    ),
    row!(
        "Air temperature",
        "Air temperature",
        "Where the aircraft flies; cold batteries hold less, warm air carries less",
        Unit::Celsius,
        0,
        TEMPERATURE_C,
        temperature_c
    ),
    row!(
        "Altitude",
        "Altitude of the site",
        "Above sea level; thin air takes more power",
        Unit::Metres,
        0,
        ALTITUDE_M,
        altitude_m
    ),
];

/// What the crew does on site.
pub(super) const CREW: [Row; 4] = [
    row!("Set-up", "Set-up", "From arriving to the first take-off", MINUTES, 0, CREW_TIME_MIN, set_up_min),
    row!("Pack-up", "Pack-up", "From the last landing to leaving", MINUTES, 0, CREW_TIME_MIN, pack_up_min),
    row!(
        "Control points",
        "Control points",
        "Ground control points to place and measure",
        COUNT,
        0,
        CONTROL_POINTS,
        control_points as u32
    ),
    row!(
        "Each control point",
        "Each control point",
        "Time to place and measure one",
        MINUTES,
        1,
        CREW_TIME_MIN,
        per_control_point_min
    ),
];

/// What plans keep to.
pub(super) const LIMITS: [Row; 5] = [
    row!(
        "Height ceiling",
        "Height ceiling",
        "Where the GSD leads, no pass goes higher than this above the mean ground",
        Unit::Metres,
        0,
        CEILING_M,
        height_ceiling_m
    ),
    row!(
        "Pilot to aircraft",
        "Distance from the pilot",
        "Beyond this distance, a caution reminds of line of sight",
        Unit::Metres,
        0,
        PILOT_DISTANCE_M,
        pilot_distance_m
    ),
    row!(
        "Clearance",
        "Clearance on the way",
        "Kept from structures and ground on the way to a pass and between passes",
        Unit::Metres,
        1,
        CLEARANCE_M,
        clearance_m
    ),
    row!(
        "Motion blur",
        "Motion blur",
        "Largest blur in an image; with the exposure time it limits the speed",
        Unit::Pixels,
        2,
        BLUR_PX,
        blur_px
    ),
    row!("Card space", "Card space", "Free, in gigabytes (10⁹ bytes)", Unit::Gigabytes, 0, CARD_GB, card_gb),
];

/// Battery sets on hand.
pub(super) const SETS: Row = row!(
    "Battery sets",
    "Battery sets",
    "Charged and on hand at the first take-off",
    COUNT,
    0,
    BATTERY_SETS,
    battery_sets as u32
);

fn charging(conditions: &Conditions) -> Option<&Charging> {
    conditions.charging.as_ref()
}

/// How sets are charged on site.
pub(super) const CHARGING: [Row; 2] = [
    row!(
        "Charge time",
        "Charge time",
        "For one set that was flown down to the reserve",
        MINUTES,
        0,
        CHARGE_MIN,
        |c| Some(charging(c)?.charge_min),
        |c, value| {
            if let Some(charging) = &mut c.charging {
                charging.charge_min = value;
            }
        }
    ),
    row!(
        "Sets at once",
        "Sets charged at once",
        "How many sets the chargers and the supply can charge at the same time",
        COUNT,
        0,
        CHARGED_AT_ONCE,
        |c| Some(f64::from(charging(c)?.at_once)),
        |c, value| {
            if let Some(charging) = &mut c.charging {
                charging.at_once = value.round() as u32;
            }
        }
    ),
];

/// Seeds that can be typed; a file may hold larger ones.
const SEEDS: Range = Range { what: "seed", least: 0.0, most: 999_999.0, mend: "give a whole number" };

/// How far things may come out otherwise.
pub(super) const SPREAD: [Row; 8] = [
    row!(
        "Wind speed",
        "Spread of wind speed",
        "Standard deviation of the wind's speed about the one given",
        Unit::MetresPerSecond,
        1,
        WIND_MPS,
        spread.wind_mps
    ),
    row!(
        "Wind direction",
        "Spread of wind direction",
        "Standard deviation of where the wind comes from; where its direction is unknown, draws come from all round",
        Unit::Degrees,
        0,
        SPREAD_DEG,
        spread.wind_deg
    ),
    row!(
        "Speed held",
        "Spread of speed",
        "Standard deviation of the speed that is held on a leg, as a share of it",
        Unit::Share,
        1,
        SPREAD_RATIO,
        spread.speed_ratio
    ),
    row!(
        "Turns",
        "Spread of turns",
        "Standard deviation of the time for turns, as a share of it",
        Unit::Share,
        1,
        SPREAD_RATIO,
        spread.turn_ratio
    ),
    row!(
        "Battery",
        "Spread of batteries",
        "Standard deviation of what a battery set holds, as a share of it",
        Unit::Share,
        1,
        SPREAD_RATIO,
        spread.battery_ratio
    ),
    row!(
        "Battery change",
        "Spread of battery changes",
        "Standard deviation of the time for a battery change, as a share of it",
        Unit::Share,
        1,
        SPREAD_RATIO,
        spread.swap_ratio
    ),
    row!(
        "Set-up, pack-up",
        "Spread of set-up and pack-up",
        "Standard deviation of the time for set-up, pack-up and control points, as a share of it",
        Unit::Share,
        1,
        SPREAD_RATIO,
        spread.crew_ratio
    ),
    Row {
        name: "Seed",
        spoken: "Seed of the spread",
        hint: "What the draws start from: equal seeds give equal bands",
        unit: COUNT,
        decimals: 0,
        range: SEEDS,
        get: |c| Some(c.spread.seed as f64),
        set: |c, value| c.spread.seed = value.round() as u64,
    },
];
