//! What a log of flown jobs tells, in words and as JSON.

use super::calibration::written;
use obliquity_planning::wording::listed;
use obliquity_planning::{
    FittedCorrection, FittedFlights, FlownCorrections, LEAST_VALUES, LoggedFigure, LoggedFlight,
    TimeCorrection, median,
};
use serde_json::{Value, json};
use std::fmt::Write;

/// Decimals that factors are written with.
const DECIMALS: usize = 3;

/// A factor: "1.080", "0.934".
pub fn factor_text(factor: f64) -> String {
    format!("{factor:.DECIMALS$}")
}

/// The ends of its interval: "0.910 to 0.958".
pub fn interval_text(fitted: &FittedCorrection) -> String {
    let [low, high] = fitted.interval;
    format!("{} to {}", factor_text(low), factor_text(high))
}

/// What is fitted, each with its name: speed and turns, or one factor on time; endurance where it is told.
pub fn correction_rows(fitted: &FittedFlights) -> Vec<(&'static str, &FittedCorrection)> {
    let time = match &fitted.time {
        TimeCorrection::Apart { speed, turns } => vec![("speed", speed), ("time for turns", turns)],
        TimeCorrection::Together { time, .. } => vec![("flight time", time)],
    };
    time.into_iter().chain(fitted.endurance.as_ref().map(|own| ("endurance", own))).collect()
}

/// What is not told, and why, in sentences.
pub fn not_told(fitted: &FittedFlights) -> Vec<String> {
    let apart = match &fitted.time {
        TimeCorrection::Together { why, moved, .. } => Some(format!(
            "Speed and time for turns cannot be told apart: {why}. One factor on all of the flight time is told instead. Climbs and ways \
             to and fro are not moved by what is set, so that speed and turns together are set to {}.",
            factor_text(moved.value)
        )),
        TimeCorrection::Apart { .. } => None,
    };
    let endurance = fitted.endurance.is_none().then(|| {
        format!(
            "Endurance is not told: that takes at least {LEAST_VALUES} flights with planned_battery_sets and battery_sets, but there \
             are {}; log more of them.",
            fitted.with_sets
        )
    });
    apart.into_iter().chain(endurance).collect()
}

/// Jobs that are far from all others and not counted, in a sentence; nothing where there are none.
pub fn left_out_text(flights: &[LoggedFlight], fitted: &FittedFlights) -> Option<String> {
    let left_out = fitted.left_out();
    let names: Vec<&str> = left_out.iter().map(|at| flights[*at].name.as_str()).collect();
    (!names.is_empty()).then(|| format!("Far from the others and not counted: {}.", listed(&names)))
}

/// The corrections as they stand in a scenario's file.
fn corrections_ron(own: &FlownCorrections) -> String {
    format!(
        "    corrections: (speed_ratio: {}, turn_ratio: {}, endurance_ratio: {}),\n",
        written(own.speed_ratio),
        written(own.turn_ratio),
        written(own.endurance_ratio)
    )
}

/// The middle of what came over what was planned; nothing where no flight tells it.
fn middle(flights: &[LoggedFlight], of: LoggedFigure) -> Option<(f64, usize)> {
    let ratios: Vec<f64> = flights.iter().filter_map(|flight| flight.ratio(of)).collect();
    median(&ratios).map(|middle| (middle, ratios.len()))
}

/// Corrections with how sure they are, the flights that do not count, and what to set in a scenario.
pub fn flown_text(flights: &[LoggedFlight], fitted: &FittedFlights) -> String {
    let mut text = format!(
        "Corrections from {} flights, 1 as planned; intervals hold in 95 of 100 such logs.\n\n",
        fitted.flights
    );
    let _ = writeln!(text, "{:<16} {:>8}  {:<18} flights", "", "factor", "95 %");
    for (name, own) in correction_rows(fitted) {
        let _ = writeln!(
            text,
            "{name:<16} {:>8}  {:<18} {}",
            factor_text(own.value),
            interval_text(own),
            own.flights
        );
    }
    for sentence in not_told(fitted) {
        let _ = write!(text, "\n{sentence}\n");
    }
    if let Some(sentence) = left_out_text(flights, fitted) {
        let _ = write!(text, "\n{sentence}\n");
    }
    text += "\nWhat came over what was planned, the middle of all:\n";
    for of in LoggedFigure::ALL {
        if let Some((ratio, count)) = middle(flights, of) {
            let _ = writeln!(text, "{:<16} {:>8}  {count} flights", of.name(), factor_text(ratio));
        }
    }
    let set = fitted.corrections(FlownCorrections::default());
    let _ = write!(
        text,
        "\nTo reckon with them, take them over on the screen Logs, or set this in the airframe of the aircraft; nothing has been \
         written:\n\n{}",
        corrections_ron(&set)
    );
    text
}

/// The same as one object.
///
/// # Units
/// - factors on what is planned
pub fn flown_json(flights: &[LoggedFlight], fitted: &FittedFlights) -> Value {
    let names = |places: &[usize]| places.iter().map(|at| flights[*at].name.clone()).collect::<Vec<_>>();
    let factor = |own: &FittedCorrection| {
        json!({
            "value": own.value,
            "low": own.interval[0],
            "high": own.interval[1],
            "flights": own.flights,
            "left_out": names(&own.left_out),
        })
    };
    let (speed, turns, time, why) = match &fitted.time {
        TimeCorrection::Apart { speed, turns } => (Some(speed), Some(turns), None, None),
        TimeCorrection::Together { time, why, .. } => (None, None, Some(time), Some(why.to_string())),
    };
    let set = fitted.corrections(FlownCorrections::default());
    let off = |flight: &LoggedFlight| {
        let ratio = |of| flight.ratio(of);
        json!({
            "job": flight.name,
            "flight_time": ratio(LoggedFigure::Time),
            "images": ratio(LoggedFigure::Images),
            "battery_sets": ratio(LoggedFigure::Sets),
        })
    };
    json!({
        "flights": fitted.flights,
        "confidence": 0.95,
        "speed": speed.map(factor),
        "time_for_turns": turns.map(factor),
        "flight_time": time.map(factor),
        "not_apart": why,
        "endurance": fitted.endurance.as_ref().map(factor),
        "actual_over_planned": flights.iter().map(off).collect::<Vec<_>>(),
        "corrections": {
            "speed_ratio": set.speed_ratio,
            "turn_ratio": set.turn_ratio,
            "endurance_ratio": set.endurance_ratio,
        },
    })
}
