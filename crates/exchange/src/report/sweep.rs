//! What a sweep gives, as JSON and as CSV: the figures under the keys that the comparison has them under, and equal to them.

use super::{number, place};
use crate::cells::quoted;
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{SweepPoint, Tried};
use obliquity_planning::{MEASURES, Scenario, swept_measures};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// How the first line of a sweep's table goes on after the input's name.
pub(super) const SWEEP_HEADING: &str = ",name,feasible,meets,capped_by,";

/// A sweep as one JSON object: the input, and under `points` every value with all strategies at it.
///
/// # Units
/// - `value`: as the file holds the input; figures as in [`crate::comparison_json`]
pub fn sweep_json(scenario: &Scenario, dial: &Dial, points: &[SweepPoint]) -> Value {
    let row = dial.knob();
    let points: Vec<Value> = points.iter().map(|point| point_json(scenario, point)).collect();
    json!({ "scenario": scenario.name, "knob": row.id.0, "name": row.whole, "points": points })
}

fn point_json(scenario: &Scenario, point: &SweepPoint) -> Value {
    match &point.tried {
        Ok(tried) => {
            let strategies: Vec<Value> =
                tried.iter().map(|tried| tried_json(name(scenario, tried), tried)).collect();
            json!({ "value": point.value, "strategies": strategies })
        }
        Err(fault) => {
            json!({ "value": point.value, "refused": format!("{}: {}", fault.path, fault.message) })
        }
    }
}

fn tried_json(name: &str, tried: &Tried) -> Value {
    let mut keys = Map::new();
    keys.insert("name".to_owned(), json!(name));
    keys.insert("feasible".to_owned(), json!(tried.is_flown()));
    keys.insert("reasons".to_owned(), json!(tried.reasons));
    for measure in MEASURES.iter().filter(|measure| tried.depth >= measure.depth) {
        place(&mut keys, measure.key, number(measure.unit, tried.figure(measure.id)));
    }
    keys.insert("capped_by".to_owned(), tried.caps.iter().map(|cap| json!(cap.name())).collect());
    keys.insert("meets".to_owned(), json!(tried.meets));
    Value::Object(keys)
}

/// A sweep as CSV (RFC 4180, lines ended by a line feed): one row for each value and strategy, one column a figure. Fields
/// are empty where a figure is not known.
///
/// # Units
/// - as [`sweep_json`]
pub fn sweep_csv(scenario: &Scenario, dial: &Dial, points: &[SweepPoint]) -> String {
    let heads: Vec<&str> = swept_measures().map(|measure| measure.key).collect();
    let mut text = format!("{}{SWEEP_HEADING}{}\n", quoted(dial.knob().id.0), heads.join(","));
    for point in points {
        for tried in point.tried.iter().flatten() {
            let field = |value: Value| if value.is_null() { String::new() } else { value.to_string() };
            let figures = swept_measures().map(|row| field(number(row.unit, tried.figure(row.id))));
            let figures: Vec<String> = figures.collect();
            let caps: Vec<&str> = tried.caps.iter().map(|cap| cap.name()).collect();
            let (value, name) = (field(json!(point.value)), quoted(name(scenario, tried)));
            let (caps, meets) = (quoted(&caps.join("; ")), field(json!(tried.meets)));
            let _ =
                writeln!(text, "{value},{name},{},{meets},{caps},{}", tried.is_flown(), figures.join(","));
        }
    }
    text
}

fn name<'a>(scenario: &'a Scenario, tried: &Tried) -> &'a str {
    scenario.strategy(tried.strategy).map_or("", |strategy| &strategy.name)
}
