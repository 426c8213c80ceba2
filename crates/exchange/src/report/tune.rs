//! What a search found, in words, as JSON and as CSV.

use super::{number, place};
use crate::cells::quoted;
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Free, Looked, Miss, TuneAsk, TuneResult, Tuned};
use obliquity_planning::wording::{Form, count, listed, within};
use obliquity_planning::{
    Id, MEASURES, MeasureId, Scenario, SurfaceClass, Unit, Units, measure, swept_measures,
};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// An input that is searched, as it stands within a sentence: "tilt", "tilt of 4 of 5 passes".
pub fn free_name(scenario: &Scenario, strategy: Id, dial: &Dial) -> String {
    let row = dial.knob();
    let all = Dial::of_strategy(scenario, row.id, strategy).map_or(0, |all| all.places().len());
    let own = dial.places().len();
    if own < all { format!("{} of {own} of {all} passes", within(row.whole)) } else { within(row.whole) }
}

/// A setting: "GSD 1.9 cm, tilt 33°".
///
/// # Units
/// - `values`: of what is free, in its order, each in its knob's unit
pub fn setting_text(scenario: &Scenario, ask: &TuneAsk, values: &[f64], units: Units) -> String {
    let one = |(free, value): (&Free, &f64)| {
        let name = free_name(scenario, ask.strategy, &free.dial);
        format!("{name} {}", knob_text(free.knob().unit, *value, units))
    };
    ask.free.iter().zip(values).map(one).collect::<Vec<_>>().join(", ")
}

/// The value of an input; a GSD in centimetres with its tenths, in which it is keyed in.
fn knob_text(unit: Unit, value: f64, units: Units) -> String {
    let text = units.text(unit, value);
    let tenths = unit == Unit::GsdCentimetres && !text.contains('.');
    if tenths { text.replacen(' ', ".0 ", 1) } else { text }
}

/// What binds: "walls 80 % bind, with what is to spare"; empty where nothing is known to.
pub fn binds_text(scenario: &Scenario, tuned: &Tuned, units: Units) -> String {
    let one = |of: &MeasureId| {
        let row = measure(*of);
        let limit = row.required_of(scenario, tuned.ask.strategy).map_or(String::new(), |required| {
            format!(" {}", Form::of_in(row.unit, units.gsd_unit()).limit(required))
        });
        format!("{}{limit}", line_name(*of))
    };
    let names: Vec<String> = tuned.binds.iter().map(one).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let several = match tuned.binds.as_slice() {
        [] => return String::new(),
        [MeasureId::Coverage(class)] => *class != SurfaceClass::Ground,
        [one] => *one == MeasureId::Sorties || *one == MeasureId::ImageCount,
        _ => true,
    };
    let verb = if several { "bind" } else { "binds" };
    let narrowed = |of: &MeasureId| {
        let required = measure(*of).required_of(scenario, tuned.ask.strategy);
        required.is_some_and(|required| tuned.ask.to_spare.asked(*of, required) != required)
    };
    let spare = if tuned.binds.iter().any(narrowed) { ", with what is to spare" } else { "" };
    format!("{} {verb}{spare}", listed(&names))
}

/// A line of the requirement as the subject of a sentence.
fn line_name(of: MeasureId) -> String {
    match of {
        MeasureId::Coverage(class) => class.plural().to_owned(),
        MeasureId::GsdP95(class) => format!("{} GSD", class.name()),
        _ => within(measure(of).name),
    }
}

/// What a setting misses: "walls 76 %, 81 % asked".
pub fn misses_text(misses: &[Miss], units: Units) -> String {
    let one = |miss: &Miss| {
        let told = Form::of_in(measure(miss.of).unit, units.gsd_unit()).held(miss.value, miss.asked);
        format!("{} {}, {} asked", line_name(miss.of), told.value, told.limit)
    };
    misses.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// How much was looked at in brief: "all 961 settings", "1,207 of 29,791 settings".
pub fn looked_brief(tuned: &Tuned) -> String {
    let looked = count(tuned.looked.len() as f64);
    if tuned.looked.len() == tuned.listed {
        return format!("all {looked} settings");
    }
    format!("{looked} of {} settings", count(tuned.listed as f64))
}

/// How much was looked at: "all 961 settings, 23 of them with coverage", or of how many every so-manieth value came first.
pub fn looked_text(scenario: &Scenario, tuned: &Tuned) -> String {
    let adjusted = match tuned.adjusted() {
        0 => String::new(),
        many => format!(", {} with their block adjusted", count(many as f64)),
    };
    let seen =
        format!("{}, {} of them with coverage{adjusted}", looked_brief(tuned), count(tuned.seen() as f64));
    if tuned.looked.len() == tuned.listed {
        return seen;
    }
    let strided = tuned.ask.free.iter().zip(&tuned.strides).filter(|(_, stride)| **stride > 1);
    let names: Vec<String> = strided
        .map(|(free, stride)| {
            format!("every {} {}", ordinal(*stride), free_name(scenario, tuned.ask.strategy, &free.dial))
        })
        .collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    format!("{seen}: {} first, then all about the best", listed(&names))
}

fn ordinal(number: usize) -> String {
    match number {
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        more => format!("{more}th"),
    }
}

/// Searches as one JSON object: under `strategies` what was found for each, and how much was looked at.
///
/// # Units
/// - values as the file holds the inputs; figures as in [`crate::comparison_json`]
pub fn tune_json(scenario: &Scenario, objective: MeasureId, tuned: &[(Id, Option<Tuned>)]) -> Value {
    let strategies: Vec<Value> =
        tuned.iter().map(|(id, tuned)| one_json(scenario, *id, tuned.as_ref())).collect();
    json!({ "scenario": scenario.name, "objective": measure(objective).key, "strategies": strategies })
}

fn one_json(scenario: &Scenario, id: Id, tuned: Option<&Tuned>) -> Value {
    let mut keys = Map::new();
    let mut put = |key: &str, value: Value| drop(keys.insert(key.to_owned(), value));
    put("name", json!(scenario.strategy(id).map_or("", |strategy| &strategy.name)));
    let Some(tuned) = tuned else {
        put("found", json!("nothing to set"));
        return Value::Object(keys);
    };
    put("found", json!(found_name(tuned)));
    if let TuneResult::Nothing(reasons) = &tuned.found {
        put("reasons", json!(reasons));
    }
    if let Some(looked) = tuned.foremost() {
        put("setting", set_json(scenario, &tuned.ask, looked));
        put("misses", looked.misses.iter().map(miss_json).collect());
        let mut figures = Map::new();
        for row in MEASURES.iter().filter(|row| looked.tried.depth >= row.depth) {
            place(&mut figures, row.key, number(row.unit, looked.tried.figure(row.id)));
        }
        put("figures", Value::Object(figures));
    }
    put("binds", tuned.binds.iter().map(|of| json!(measure(*of).key)).collect());
    put("settings_listed", json!(tuned.listed));
    put("settings_looked_at", json!(tuned.looked.len()));
    put("settings_with_coverage", json!(tuned.seen()));
    put("settings_with_accuracy", json!(tuned.adjusted()));
    put("strides", json!(tuned.strides));
    Value::Object(keys)
}

/// What came out, in a word.
fn found_name(tuned: &Tuned) -> &'static str {
    match tuned.found {
        TuneResult::Best(_) => "best",
        TuneResult::Nearest(_) => "nearest",
        TuneResult::Nothing(_) => "cannot be flown",
    }
}

fn set_json(scenario: &Scenario, ask: &TuneAsk, looked: &Looked) -> Value {
    let one = |(free, value): (&Free, &f64)| {
        let name = free_name(scenario, ask.strategy, &free.dial);
        json!({ "knob": free.knob().id.0, "name": name, "value": value })
    };
    ask.free.iter().zip(&looked.values).map(one).collect()
}

fn miss_json(miss: &Miss) -> Value {
    let row = measure(miss.of);
    let one = |value: f64| number(row.unit, Some(value));
    json!({ "measure": row.key, "value": one(miss.value), "asked": one(miss.asked) })
}

/// Searches as CSV (RFC 4180, lines ended by a line feed): a row for each setting looked at, one column a figure. Fields are
/// empty where a figure is not known.
///
/// # Units
/// - as [`tune_json`]
pub fn tune_csv(scenario: &Scenario, tuned: &[(Id, Option<Tuned>)]) -> String {
    let heads: Vec<&str> = swept_measures().map(|measure| measure.key).collect();
    let mut text = format!("name,setting,found,meets,{}\n", heads.join(","));
    let searched = tuned.iter().filter_map(|(id, tuned)| Some((scenario.strategy(*id)?, tuned.as_ref()?)));
    for (strategy, tuned) in searched {
        for looked in &tuned.looked {
            let field = |value: Value| if value.is_null() { String::new() } else { value.to_string() };
            let figures = swept_measures().map(|row| field(number(row.unit, looked.tried.figure(row.id))));
            let figures: Vec<String> = figures.collect();
            let is_found = tuned.foremost().is_some_and(|found| found.values == looked.values);
            let found = if is_found { found_name(tuned) } else { "" };
            let setting = quoted(&setting_text(scenario, &tuned.ask, &looked.values, Units::Metric));
            let (name, meets) = (quoted(&strategy.name), field(json!(looked.tried.meets)));
            let _ = writeln!(text, "{name},{setting},{found},{meets},{}", figures.join(","));
        }
    }
    text
}
