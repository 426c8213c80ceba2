//! The comparison as JSON: the keys of `obliquity compare --json`.

mod block;
mod calibration;
mod charts;
mod csv;
mod cut;
mod flown;
mod lesson;
mod money_working;
mod purchase;
mod sweep;
mod tune;
mod working;

pub use calibration::{calibrated, calibrated_text, calibration_json, calibration_text, rates_to_set};
pub use charts::{VALUES_TABLE, charts_csv};
pub use csv::comparison_csv;
pub use cut::cut_csv;
pub use flown::{
    correction_rows, factor_text, flown_json, flown_text, interval_text, left_out_text, not_told,
};
pub use lesson::{handout, revealed_text, working_lines};
pub use money_working::{MoneyStep, MoneyTerm, purchase_working};
pub use purchase::{
    NOT_ADVICE, SEED as SPREAD_SEED, break_even_text, foremost_text, freed_text, mix_text, not_flown_text,
    payback_text, purchase_json, purchase_sentence, purchase_text, turned_text,
};
pub use sweep::{sweep_csv, sweep_json};
pub use tune::{
    binds_text, free_name, looked_brief, looked_text, misses_text, setting_text, tune_csv, tune_json,
};
pub use working::{LineRow, StepRow, TermRow, working_signs, working_steps, working_text};

use crate::units::compass_name;
use block::{block_json, standards_json};
use obliquity_planning::{
    Band, ByClass, Cause, Caution, CautionSource, ClassFigures, Depth, ExpectedClass, GsdUnit, Id, KnownOf,
    LoadFigures, MEASURES, Measure, Outcome, Overlaps, PassOutcome, ProcessingStage, RateStanding,
    RoutePoint, Scenario, Stretch, SurfaceClass, Timing, USUAL_NEIGHBOURS, Unit, ViewFigures,
    dense_adjustment_operations, exhaustive_pairs, neighbour_pairs,
};
use serde_json::{Map, Value, json};

/// The comparison of a scenario's outcomes as one JSON object.
///
/// A figure that is not known, because the evaluation did not go that deep, has no key; a surface class that the site
/// has none of is null, and so is every figure of a strategy that cannot be flown. `meets` is null where nothing is missed
/// and something is asked of surfaces that the site does not model.
///
/// # Units
/// - centimetres for GSD, seconds, metres, metres per second, gigabytes; shares from 0 to 1
pub fn comparison_json(scenario: &Scenario, outcomes: &[Outcome]) -> Value {
    let wind = scenario.conditions.wind;
    json!({
        "scenario": scenario.name,
        "wind": { "speed_mps": wind.speed_mps, "from_deg": wind.from_deg },
        "requirement": serde_json::to_value(&scenario.requirement).unwrap_or(Value::Null),
        "strategies": outcomes.iter().map(|outcome| strategy_json(scenario, outcome)).collect::<Vec<_>>(),
    })
}

fn strategy_json(scenario: &Scenario, outcome: &Outcome) -> Value {
    let mut keys = Map::new();
    let mut put = |key: &str, value: Value| drop(keys.insert(key.to_owned(), value));
    put("name", json!(outcome.name));
    put("aircraft", json!(outcome.aircraft));
    put("feasible", json!(outcome.feasible()));
    put("reasons", json!(outcome.reasons));
    let timing = outcome.timing.as_ref();
    put("wind_from_deg", json!(timing.and_then(|timing| timing.flight.wind.from_deg)));
    put("time_budget_s", json!(timing.map(budget_json)));
    if let Some(bands) = outcome.bands() {
        put("draws_out_of_reach", json!(bands.out_of_reach));
        put("spread_causes", bands.causes.iter().map(cause_json).collect());
    }
    put("take_offs", json!(timing.map(take_offs_json)));
    put("passes", outcome.passes.iter().map(|pass| pass_json(pass, timing)).collect());
    if let Some(views) = &outcome.views {
        // A class that the site has none of has no percentiles either.
        put("gsd_cm", by_class(views, |_| json!({})));
        put("views_median", by_class(views, |class| json!(class.views_median)));
    } else if timing.is_none() {
        put("views_median", Value::Null);
    }
    if outcome.depth >= Depth::Network {
        put("block", json!(outcome.network.as_deref().map(block_json)));
        put(
            "standards",
            json!(ExpectedClass::of(outcome, &scenario.site).map(|class| standards_json(&class))),
        );
    }
    if let Some(load) = &outcome.load {
        put("load", load_json(load));
    }
    put("cautions", outcome.cautions.iter().map(|caution| caution_json(caution, outcome)).collect());
    if !outcome.is_pending() {
        put("meets", json!(outcome.meets()));
    }
    put("shortfalls", json!(outcome.shortfalls(GsdUnit::Centimetres)));
    for measure in MEASURES {
        put_measure(&mut keys, measure, outcome);
    }
    in_order(keys)
}

/// What processing is made of: its stages, and the work that they are reckoned from. The figures themselves are put beside.
fn load_json(load: &LoadFigures) -> Value {
    let mut keys = Map::new();
    keys.insert("fitted".to_owned(), json!(load.standing.is_calibrated()));
    keys.insert("calibration".to_owned(), standing_json(&load.standing));
    if let Some(hours) = load.hours {
        let of = |stage: &ProcessingStage| (stage.name().to_owned(), json!(hours.of(*stage)));
        keys.insert("stage_hours".to_owned(), Value::Object(ProcessingStage::ALL.iter().map(of).collect()));
    }
    if let Some(work) = load.work {
        let counted = json!({
            "pairs_of_all": exhaustive_pairs(work.images),
            (format!("pairs_of_{USUAL_NEIGHBOURS}_neighbours")): neighbour_pairs(work.images, USUAL_NEIGHBOURS),
            "neighbours_mean": work.neighbours(),
            "surface_gigapoints": work.surface_gigapoints,
            "orthomosaic_gigapixels": work.orthomosaic_gigapixels,
            "dense_adjustment_operations": dense_adjustment_operations(work.images),
        });
        keys.insert("work".to_owned(), counted);
    }
    Value::Object(keys)
}

/// What hours rest on; `jobs` and what follows only of rates that were fitted to a logbook.
fn standing_json(standing: &RateStanding) -> Value {
    let mut keys = Map::new();
    keys.insert("told".to_owned(), json!(standing.told()));
    if let RateStanding::Calibrated(own) | RateStanding::ChangedSince(own) = standing {
        keys.insert("jobs".to_owned(), json!(own.jobs));
        keys.insert("within_factor".to_owned(), json!(own.within_factor));
        keys.insert("by".to_owned(), json!(own.by.told()));
        let is_changed = matches!(standing, RateStanding::ChangedSince(_));
        keys.insert("changed_since".to_owned(), json!(is_changed));
    }
    Value::Object(keys)
}

/// A figure with what stands beside it and how sure it is, each where its key leads.
fn put_measure(keys: &mut Map<String, Value>, measure: &Measure, outcome: &Outcome) {
    let of_all = measure.known_of == KnownOf::All;
    let known = outcome.depth >= measure.depth;
    if !outcome.feasible() {
        if of_all && (known || measure.depth <= Depth::Views) {
            let first = |key: &'static str| key.split('.').next().unwrap_or(key).to_owned();
            let all = measure.beside.iter().map(|beside| beside.key).chain([measure.key]);
            all.for_each(|key| drop(keys.insert(first(key), Value::Null)));
        }
        return;
    }
    let value = measure.read(outcome);
    if known && (of_all || value.is_some()) {
        place(keys, measure.key, number(measure.unit, value));
        for beside in measure.beside {
            place(keys, beside.key, number(beside.unit, beside.read(outcome)));
        }
    }
    if let Some(band) = measure.band_of(outcome) {
        place(keys, &measure.band_key(), band_json(band));
    }
}

/// Puts a value where its key leads; nothing under a null: that is of a class that the site has none of.
fn place(keys: &mut Map<String, Value>, key: &str, value: Value) {
    let Some((first, rest)) = key.split_once('.') else {
        keys.insert(key.to_owned(), value);
        return;
    };
    if let Value::Object(inner) = keys.entry(first).or_insert_with(|| json!({})) {
        place(inner, rest, value);
    }
}

/// A figure in the unit that its key names: GSD in centimetres, counts without decimals.
fn number(unit: Unit, value: Option<f64>) -> Value {
    let Some(value) = value else { return Value::Null };
    match unit {
        Unit::GsdMetres => json!(value * 100.0),
        Unit::Count => json!(value as u64),
        _ => json!(value),
    }
}

/// The order that keys stand in, whatever they are put in by; other figures stand after the last of these before the passes.
const ORDER: &[&str] = &[
    "name",
    "aircraft",
    "feasible",
    "reasons",
    "flight_time_s",
    "time_on_site_s",
    "sorties",
    "wind_from_deg",
    "time_budget_s",
    "take_offs",
    "energy_sets",
    "energy_wh",
    "time_on_site_band_s",
    "flight_time_band_s",
    "sorties_band",
    "energy_band_sets",
    "energy_band_wh",
    "draws_out_of_reach",
    "spread_causes",
    "route_length_m",
    "image_count",
    "skipped_exposures",
    "storage_gb",
    "passes",
    "gsd_cm",
    "coverage",
    "views_median",
    "precision_mm",
    "horizontal",
    "vertical",
    "calibration",
    "focal_sigma_px",
    "doming_mm",
    "dome_per_px_mm",
    "block",
    "load",
    "gigapixels",
    "image_pairs",
    "hours",
    "stage_hours",
    "attended_h",
    "memory_gb",
    "disk_gb",
    "work",
    "fitted",
    "cautions",
    "meets",
    "shortfalls",
    "p5",
    "p50",
    "p95",
    "unseen",
];

/// The keys in their order; those of figures also inside.
fn in_order(keys: Map<String, Value>) -> Value {
    let place = |key: &str| ORDER.iter().position(|known| *known == key);
    let rank = |key: &str| place(key).map_or((place("passes"), 0), |place| (Some(place), 1));
    let inside = |key: &str| {
        ["gsd_cm", "load", "precision_mm", "horizontal", "vertical", "calibration"].contains(&key)
            || SurfaceClass::ALL.iter().any(|c| c.name() == key)
    };
    let mut entries: Vec<(String, Value)> = keys.into_iter().collect();
    entries.sort_by_key(|(key, _)| rank(key));
    let sorted = entries.into_iter().map(|(key, value)| match value {
        Value::Object(inner) if inside(&key) => (key, in_order(inner)),
        value => (key, value),
    });
    Value::Object(sorted.collect())
}

/// `place` lists stretches of the route, the longest first; it is empty where the caution is about no place.
fn caution_json(caution: &Caution, outcome: &Outcome) -> Value {
    let source = match caution.source {
        CautionSource::Rule(citation) => json!({ "kind": "rule", "citation": citation }),
        CautionSource::Practice => json!({ "kind": "common practice", "citation": null }),
        CautionSource::Plan => json!({ "kind": "plan", "citation": null }),
    };
    let number = |id: Id| outcome.passes.iter().position(|pass| pass.pass == id).map(|index| index + 1);
    let stretch = |stretch: &Stretch| {
        json!({
            "pass": stretch.pass.and_then(number),
            "from": place_json(&stretch.from),
            "to": place_json(&stretch.to),
        })
    };
    json!({
        "id": caution.id,
        "severity": caution.severity.name(),
        "text": &*caution.text,
        "source": source,
        "place": caution.places.iter().map(stretch).collect::<Vec<_>>(),
    })
}

/// Metres of the local frame, the way flown since the first take-off, and the flying clock.
fn place_json(point: &RoutePoint) -> Value {
    let at = point.position_m;
    json!({
        "x_m": at.x,
        "y_m": at.y,
        "z_m": at.z,
        "flown_m": point.flown_m,
        "time_s": point.time_s,
        "sortie": point.sortie + 1,
    })
}

/// The parts in whole seconds, which add up to the total.
fn budget_json(timing: &Timing) -> Value {
    let budget = timing.time_budget();
    let mut keys = Map::new();
    for (part, seconds) in budget.parts_s {
        keys.insert(part.key().to_owned(), json!(seconds));
    }
    keys.insert("total".to_owned(), json!(budget.total_s));
    Value::Object(keys)
}

/// Where sorties start, the site's own take-off point first, and which do.
fn take_offs_json(timing: &Timing) -> Value {
    let flight = &timing.flight;
    let starting = |home: usize| {
        let own = (1..).zip(&flight.sorties).filter(|(_, sortie)| sortie.home as usize == home);
        own.map(|(number, _): (u32, _)| number).collect::<Vec<_>>()
    };
    let places = flight.take_offs_m.iter().enumerate();
    places
        .map(|(home, at)| json!({ "x_m": at.x, "y_m": at.y, "z_m": at.z, "sorties": starting(home) }))
        .collect()
}

fn band_json(band: Band) -> Value {
    json!({ "p10": band.p10, "p50": band.p50, "p90": band.p90 })
}

fn cause_json(cause: &Cause) -> Value {
    json!({ "source": cause.source.name(), "time_on_site_band_s": band_json(cause.time_on_site_s) })
}

/// The figures of a pass; null, as those of its strategy, where that cannot be flown.
fn pass_json(pass: &PassOutcome, timing: Option<&Timing>) -> Value {
    let plan = pass.laid().filter(|_| timing.is_some());
    json!({
        "pattern": pass.pattern.name(),
        "image_count": plan.map(|plan| plan.stations.poses.len()),
        "flight_time_s": pass.flight_time_s,
        "speed_mps": plan.map(|plan| plan.speed.speed_mps),
        "speed_bound_by": plan.map(|plan| plan.speed.bound_by.name()),
        "speed_bound_text": plan.map(|plan| plan.speed.bound_text(|m| format!("{m:.0} m"))),
        "air_base_m": plan.map(|plan| plan.layout.air_base_m),
        "strip_spacing_m": plan
            .filter(|plan| plan.pattern.about().overlaps != Overlaps::Neither)
            .map(|plan| plan.layout.strip_spacing_m),
        "strips": plan.map(|plan| plan.layout.strips),
        "begin_corner": plan
            .and_then(|plan| plan.layout.corner_rad)
            .map(|azimuth_rad| compass_name(azimuth_rad.to_degrees())),
        "above_ground_m": plan.and_then(|plan| plan.ground).map(|ground| json!({
            "least": ground.least_m,
            "greatest": ground.greatest_m,
        })),
    })
}

fn by_class(views: &ViewFigures, value: impl Fn(&ClassFigures) -> Value) -> Value {
    let classes: &ByClass<Option<ClassFigures>> = &views.classes;
    let entry =
        |class: SurfaceClass| (class.name().to_owned(), classes[class].as_ref().map_or(Value::Null, &value));
    Value::Object(SurfaceClass::ALL.into_iter().map(entry).collect())
}
