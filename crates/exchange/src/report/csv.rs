//! The comparison as CSV: one row a strategy, one column a figure, named as in the JSON.

use super::number;
use crate::cells::quoted;
use obliquity_planning::{Band, Depth, MEASURES, Measure, Outcome};
use serde_json::Value;
use std::fmt::Write;

/// Columns before the figures.
const NAMES: &str = "name,aircraft,feasible";

/// The comparison of outcomes as CSV (RFC 4180, lines ended by a line feed).
///
/// A column is named by the way to its figure in [`crate::comparison_json`]; every figure has one (those of the block's adjustment
/// where that was worked out), and a field is empty where it is not known or the strategy cannot be flown.
///
/// # Units
/// - as the names of the columns say: seconds, metres, centimetres for GSD, gigabytes; shares from 0 to 1
pub fn comparison_csv(outcomes: &[Outcome]) -> String {
    let deepest = outcomes.iter().map(|outcome| outcome.depth).max();
    let shown = || MEASURES.iter().filter(move |row| row.depth <= Depth::Views || Some(row.depth) <= deepest);
    let heads: Vec<String> = shown().flat_map(columns).collect();
    let mut text = format!("{NAMES},{}\n", heads.join(","));
    for outcome in outcomes {
        let fields: Vec<String> = shown().flat_map(|measure| fields(measure, outcome)).collect();
        let (name, aircraft) = (quoted(&outcome.name), quoted(&outcome.aircraft));
        let _ = writeln!(text, "{name},{aircraft},{},{}", outcome.feasible(), fields.join(","));
    }
    text
}

/// The columns of a measure: itself, what stands beside it, and how sure it is where that is drawn.
fn columns(measure: &Measure) -> Vec<String> {
    let beside = measure.beside.iter().map(|beside| beside.key.to_owned());
    let key = measure.band_key();
    let band = measure.band.iter().flat_map(|_| ["p10", "p50", "p90"].map(|part| format!("{key}.{part}")));
    [measure.key.to_owned()].into_iter().chain(beside).chain(band).collect()
}

fn fields(measure: &Measure, outcome: &Outcome) -> Vec<String> {
    let field = |value: Value| if value.is_null() { String::new() } else { value.to_string() };
    let own = field(number(measure.unit, measure.read(outcome)));
    let beside = measure.beside.iter().map(|beside| field(number(beside.unit, beside.read(outcome))));
    let parts = measure.band_of(outcome).map(|Band { p10, p50, p90 }| [p10, p50, p90]);
    let band = measure.band.iter().flat_map(|_| match parts {
        Some(parts) => parts.map(|part| field(part.into())),
        None => [const { String::new() }; 3],
    });
    [own].into_iter().chain(beside).chain(band).collect()
}
