use crate::sample;
use obliquity_exchange::comparison_json;
use obliquity_planning::{Depth, Evaluator, Id, NoWatch, Pattern, SiteOutline, Store, Underside};
use serde_json::{Value, json};

fn keys(value: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
    keys.sort_unstable();
    keys
}

fn sorted<const N: usize>(mut keys: [&str; N]) -> Vec<&str> {
    keys.sort_unstable();
    keys.to_vec()
}

const QUICK: [&str; 21] = [
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
    "route_length_m",
    "farthest_m",
    "image_count",
    "skipped_exposures",
    "storage_gb",
    "passes",
    "load",
    "cautions",
    "meets",
    "shortfalls",
];

/// What is known from the draws of a flight on, where no battery's capacity is.
const DRAWN: [&str; 6] = [
    "time_on_site_band_s",
    "flight_time_band_s",
    "sorties_band",
    "energy_band_sets",
    "draws_out_of_reach",
    "spread_causes",
];

#[test]
fn what_is_not_worked_out_has_no_key() {
    let scenario = sample::scenario();
    let mut outcomes = sample::quick_outcomes(&scenario);
    for outcome in &mut outcomes {
        outcome.judgements.clear();
    }
    let report = comparison_json(&scenario, &outcomes);
    assert_eq!(keys(&report), ["requirement", "scenario", "strategies", "wind"]);
    let strategy = &report["strategies"][1];
    assert_eq!(keys(strategy), sorted(QUICK));
    assert_eq!(keys(&strategy["load"]), ["attended_h", "calibration", "fitted", "gigapixels"]);
}

#[test]
fn every_key_that_can_be_filled_is_there_in_its_unit() {
    let scenario = sample::scenario();
    let outcomes = sample::sampled_outcomes(&scenario);
    let report = comparison_json(&scenario, &outcomes);
    assert_eq!(report["scenario"], json!(scenario.name));
    assert_eq!(report["requirement"]["gsd_cm"]["wall"], json!(4.0));
    for (strategy, outcome) in report["strategies"].as_array().unwrap().iter().zip(&outcomes) {
        let expected: Vec<&str> =
            QUICK.into_iter().chain(DRAWN).chain(["gsd_cm", "coverage", "views_median"]).collect();
        let known: Vec<&str> =
            expected.into_iter().filter(|key| *key != "meets" || !outcome.is_pending()).collect();
        assert_eq!(keys(strategy), {
            let mut known = known;
            known.sort_unstable();
            known
        });
        for key in ["gsd_cm", "coverage", "views_median"] {
            assert_eq!(keys(&strategy[key]), sorted(["ground", "roof", "wall", "underside"]));
            assert_eq!(strategy[key]["underside"], Value::Null, "the yard has no deck");
        }
        assert_eq!(keys(&strategy["gsd_cm"]["ground"]), ["p5", "p50", "p95", "unseen"]);
        let classes = &outcome.views.as_ref().unwrap().classes;
        let ground = classes.ground.as_ref().unwrap();
        assert_eq!(strategy["gsd_cm"]["ground"]["p95"], json!(ground.gsd.unwrap().p95_m * 100.0));
        assert_eq!(strategy["coverage"]["ground"], json!(ground.covered_ratio));
        assert_eq!(
            keys(&strategy["passes"][0]),
            sorted([
                "pattern",
                "image_count",
                "flight_time_s",
                "speed_mps",
                "speed_bound_by",
                "speed_bound_text",
                "air_base_m",
                "strip_spacing_m",
                "strips",
                "begin_corner",
                "above_ground_m"
            ])
        );
        assert_eq!(
            strategy["passes"][0]["image_count"],
            json!(outcome.passes[0].laid().unwrap().stations.poses.len() as u32)
        );
        assert_eq!(strategy["time_on_site_s"], json!(outcome.timing.as_ref().unwrap().time.time_on_site_s()));
    }
}

/// Derived: at 2 cm a level 9.1 mm camera of 2.5 µm pixels flies at 0.02 × 3640 = 72.8 m.
#[test]
fn a_nadir_block_led_by_its_gsd_sees_the_ground_near_that_gsd() {
    let scenario = sample::scenario();
    let report = comparison_json(&scenario, &sample::sampled_outcomes(&scenario));
    let p50 = report["strategies"][0]["gsd_cm"]["ground"]["p50"].as_f64().unwrap();
    // The yard slopes by 1 %: up to 1 m about the mean, 1.4 % of the height, and the best view looks nearly down.
    assert!((p50 - 2.0).abs() < 0.04, "{p50}");
}

/// Derived: the bands' keys come with the bands and say what they do; the causes are the six sources, the widest first.
#[test]
fn bands_have_their_keys_where_they_are_known() {
    let scenario = sample::scenario();
    let mut outcomes = sample::quick_outcomes(&scenario);
    let (store, id) = (Store::new(0), outcomes[0].strategy);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    outcomes[0] = evaluator.evaluate(&scenario, id, Depth::Spread).unwrap();
    let report = comparison_json(&scenario, &outcomes);
    let bands = outcomes[0].bands().unwrap();
    let [first, second] = [0, 1].map(|k| &report["strategies"][k]);
    assert_eq!(second.get("time_on_site_band_s"), None, "nothing is known of the others");
    let band = &first["time_on_site_band_s"];
    assert_eq!(keys(band), ["p10", "p50", "p90"]);
    assert_eq!(band["p90"], json!(bands.time_on_site_s.p90));
    assert!(first["flight_time_band_s"]["p10"].as_f64() < first["flight_time_band_s"]["p90"].as_f64());
    assert_eq!(first.get("energy_band_wh"), None, "no capacity is known");
    let causes = first["spread_causes"].as_array().unwrap();
    let widths: Vec<f64> = causes
        .iter()
        .map(|cause| {
            let end = |q: &str| cause["time_on_site_band_s"][q].as_f64().unwrap();
            end("p90") - end("p10")
        })
        .collect();
    assert_eq!(widths.len(), 6);
    assert!(widths.windows(2).all(|pair| pair[0] >= pair[1]), "{widths:?}");
}

/// Derived: whole seconds that add up to the total, which is the time on site rounded.
#[test]
fn the_time_budget_adds_up_in_the_file() {
    let scenario = sample::scenario();
    let report = comparison_json(&scenario, &sample::quick_outcomes(&scenario));
    for strategy in report["strategies"].as_array().unwrap() {
        let budget = strategy["time_budget_s"].as_object().unwrap();
        let seconds = |key: &str| budget[key].as_u64().unwrap();
        let parts: u64 = budget.keys().filter(|key| *key != "total").map(|key| seconds(key)).sum();
        assert_eq!(budget.len(), 12);
        assert_eq!(parts, seconds("total"));
        let time_s = strategy["time_on_site_s"].as_f64().unwrap();
        assert!((seconds("total") as f64 - time_s).abs() <= 0.5);
    }
}

/// Derived: the pattern's name stands in the report; where one pass cannot be flown, none has images.
#[test]
fn passes_are_named_by_their_pattern() {
    let mut scenario = sample::with_every_pattern();
    let report = comparison_json(&scenario, &sample::quick_outcomes(&scenario));
    let passes = report["strategies"][0]["passes"].as_array().unwrap();
    let names: Vec<&str> = passes.iter().map(|pass| pass["pattern"].as_str().unwrap()).collect();
    assert_eq!(names, ["strips", "corridor", "orbit", "orbit", "facade", "underside"]);
    assert!(passes.iter().all(|pass| pass["image_count"].as_u64().unwrap() > 0), "{passes:?}");
    if let Pattern::Underside(Underside { structure, .. }) = &mut scenario.strategies[0].passes[5].pattern {
        *structure = Id(1);
    }
    let report = comparison_json(&scenario, &sample::quick_outcomes(&scenario));
    let passes = report["strategies"][0]["passes"].as_array().unwrap();
    assert!(
        passes.iter().all(|pass| pass["image_count"].is_null() && pass["speed_mps"].is_null()),
        "{passes:?}"
    );
    let reasons = report["strategies"][0]["reasons"].as_array().unwrap();
    assert_eq!(reasons.len(), 1);
    assert!(reasons[0].as_str().unwrap().starts_with("pass 6: \"Shed\" stands on the ground"), "{reasons:?}");
}

/// Derived: every caution says how grave it is, where it comes from and where it holds, in the frame's metres.
#[test]
fn cautions_have_severity_source_and_place() {
    let mut scenario = sample::scenario();
    scenario.conditions.pilot_distance_m = 60.0;
    let outcomes = sample::quick_outcomes(&scenario);
    let report = comparison_json(&scenario, &outcomes);
    let cautions = report["strategies"][0]["cautions"].as_array().unwrap();
    assert_eq!(cautions.len(), outcomes[0].cautions.len());
    for (told, caution) in cautions.iter().zip(&outcomes[0].cautions) {
        assert_eq!(keys(told), sorted(["id", "severity", "text", "source", "place"]));
        assert!(["limit", "check", "reminder"].contains(&told["severity"].as_str().unwrap()), "{told}");
        let kind = told["source"]["kind"].as_str().unwrap();
        assert!(["rule", "common practice", "plan"].contains(&kind), "{told}");
        assert_eq!(told["source"]["citation"].is_string(), kind == "rule", "{told}");
        assert_eq!(told["place"].as_array().unwrap().len(), caution.places.len());
    }
    let far = cautions.iter().find(|caution| caution["id"] == "pilot-distance").unwrap();
    let place = &far["place"][0];
    assert_eq!(keys(place), ["from", "pass", "to"]);
    assert_eq!(keys(&place["from"]), sorted(["x_m", "y_m", "z_m", "flown_m", "time_s", "sortie"]));
    assert_eq!(place["pass"], json!(1), "the only pass");
    let at = |end: &str, key: &str| place[end][key].as_f64().unwrap();
    let away_m = |end: &str| {
        (at(end, "x_m") - scenario.site.take_off_m.x).hypot(at(end, "y_m") - scenario.site.take_off_m.y)
    };
    assert!(away_m("from") > 60.0 && away_m("to") > 60.0, "{place}");
    assert!(at("from", "flown_m") < at("to", "flown_m") && at("from", "time_s") < at("to", "time_s"));
}

/// Derived: nothing is missed, and roofs and walls that are asked for are not modelled: neither true nor false.
#[test]
fn what_is_not_judged_is_null() {
    let mut scenario = sample::scenario();
    let mut site = (*scenario.site).clone();
    site.structures.clear();
    scenario.site = site.into();
    scenario.requirement.gsd_cm.ground = 20.0;
    scenario.requirement.coverage.ground = Some(0.01);
    scenario.requirement.time_on_site_min = None;
    scenario.requirement.images = None;
    assert!(scenario.requirement.coverage.wall.is_some());
    let outcomes = sample::sampled_outcomes(&scenario);
    let report = comparison_json(&scenario, &outcomes);
    for (strategy, outcome) in report["strategies"].as_array().unwrap().iter().zip(&outcomes) {
        assert_eq!(strategy["meets"], if outcome.feasible() { Value::Null } else { json!(false) });
        assert!(strategy.get("meets").is_some(), "it has its key");
    }
}

/// Derived: the wind as it is given, and each strategy's direction: the one given, or one of sixteen, 22.5° apart.
#[test]
fn the_wind_is_told_with_the_direction_flown_in() {
    let mut scenario = sample::scenario();
    let unknown = comparison_json(&scenario, &sample::quick_outcomes(&scenario));
    assert_eq!(unknown["wind"], json!({ "speed_mps": 4.0, "from_deg": null }));
    let strips_deg = SiteOutline::new(&scenario.site).unwrap().best_strips_rad.to_degrees();
    let from_deg = unknown["strategies"][0]["wind_from_deg"].as_f64().unwrap();
    let steps = (from_deg - strips_deg) / 22.5;
    assert!((steps - steps.round()).abs() < 1e-9, "{from_deg} {strips_deg}");
    scenario.conditions.wind.from_deg = Some(200.0);
    let known = comparison_json(&scenario, &sample::quick_outcomes(&scenario));
    assert_eq!(known["wind"], json!({ "speed_mps": 4.0, "from_deg": 200.0 }));
    assert_eq!(known["strategies"][0]["wind_from_deg"], json!(200.0));
}
