//! The comparison as JSON: the keys of `obliquity compare --json`.

use crate::units::compass_name;
use obliquity_planning::{
    Band, ByClass, Cause, Caution, CautionSource, ClassFigures, Id, LoadFigures, Outcome, PassOutcome,
    RoutePoint, Scenario, Stretch, SurfaceClass, Timing, ViewFigures,
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
        "strategies": outcomes.iter().map(strategy_json).collect::<Vec<_>>(),
    })
}

fn strategy_json(outcome: &Outcome) -> Value {
    let mut keys = Map::new();
    let mut put = |key: &str, value: Value| drop(keys.insert(key.to_owned(), value));
    put("name", json!(outcome.name));
    put("aircraft", json!(outcome.aircraft));
    put("feasible", json!(outcome.feasible()));
    put("reasons", json!(outcome.reasons));
    let (timing, load) = (outcome.timing.as_ref(), outcome.load.as_ref());
    put("flight_time_s", json!(timing.map(|timing| timing.time.flight_s)));
    put("time_on_site_s", json!(timing.map(|timing| timing.time.time_on_site_s())));
    put("sorties", json!(timing.map(|timing| timing.flight.sorties.len())));
    put("wind_from_deg", json!(timing.and_then(|timing| timing.flight.wind.from_deg)));
    put("time_budget_s", json!(timing.map(budget_json)));
    put("energy_sets", json!(timing.map(|timing| timing.flight.energy_sets())));
    if let Some(wh) = timing.and_then(|timing| timing.flight.energy_wh()) {
        put("energy_wh", json!(wh));
    }
    if let Some((timing, bands)) = timing.and_then(|timing| Some((timing, timing.bands.as_ref()?))) {
        put("time_on_site_band_s", band_json(bands.time_on_site_s));
        put("flight_time_band_s", band_json(bands.flight_s));
        put("sorties_band", band_json(bands.sorties));
        put("energy_band_sets", band_json(bands.energy_sets(timing.flight.capacity_j)));
        if let Some(band) = timing.energy_wh_band() {
            put("energy_band_wh", band_json(band));
        }
        put("draws_out_of_reach", json!(bands.out_of_reach));
        put("spread_causes", bands.causes.iter().map(cause_json).collect());
    }
    put("route_length_m", json!(timing.map(|timing| timing.flight.route_length_m)));
    put("image_count", json!(load.map(|load| load.image_count)));
    put("skipped_exposures", json!(load.map(|load| load.skipped_exposures)));
    put("storage_gb", json!(load.map(|load| load.storage_gb)));
    put("passes", outcome.passes.iter().map(|pass| pass_json(pass, timing)).collect());
    if let Some(views) = &outcome.views {
        put("gsd_cm", by_class(views, gsd_json));
        put("coverage", by_class(views, |class| json!(class.covered_ratio)));
        put("views_median", by_class(views, |class| json!(class.views_median)));
    } else if timing.is_none() {
        for key in ["gsd_cm", "coverage", "views_median"] {
            put(key, Value::Null);
        }
    }
    put("load", json!(load.map(load_json)));
    put("cautions", outcome.cautions.iter().map(|caution| caution_json(caution, outcome)).collect());
    if !outcome.is_pending() {
        put("meets", json!(outcome.meets()));
    }
    put("shortfalls", json!(outcome.shortfalls()));
    Value::Object(keys)
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
        "text": caution.text,
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
        "strip_spacing_m": plan.map(|plan| plan.layout.strip_spacing_m),
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

/// Percentiles are null where nothing of the class is seen.
fn gsd_json(class: &ClassFigures) -> Value {
    let cm = |m: Option<f64>| json!(m.map(|m| m * 100.0));
    json!({
        "p5": cm(class.gsd.map(|gsd| gsd.p5_m)),
        "p50": cm(class.gsd.map(|gsd| gsd.p50_m)),
        "p95": cm(class.gsd.map(|gsd| gsd.p95_m)),
        "unseen": class.unseen_ratio,
    })
}

fn load_json(load: &LoadFigures) -> Value {
    let mut keys = Map::new();
    keys.insert("gigapixels".to_owned(), json!(load.gigapixels));
    if let Some(pairs) = load.image_pairs {
        keys.insert("image_pairs".to_owned(), json!(pairs));
    }
    if let Some(hours) = load.hours {
        keys.insert("hours".to_owned(), json!(hours.total_h()));
    }
    keys.insert("fitted".to_owned(), json!(load.fitted));
    Value::Object(keys)
}
