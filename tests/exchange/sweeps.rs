//! What a sweep gives is what the comparison of a file with that setting gives.

use crate::sample;
use obliquity_exchange::chart::{
    Palette, Span, SweepOf, UnderKind, nudge_charts, nudge_text, svg, sweep_chart,
};
use obliquity_exchange::{Units, comparison_json, parse_scenario, sweep_csv, sweep_json, write_scenario};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    Cap, NudgeSide, SweepPoint, Tried, meeting_ranges, sweep_values, usual_range,
};
use obliquity_planning::*;
use serde_json::Value;
use std::sync::Arc;

fn small() -> Scenario {
    let mut scenario = sample::with_every_pattern();
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(6.0);
    scenario
}

/// Sweeps of every input that a pass or the conditions have, two values each.
fn sweeps(scenario: &Scenario) -> Vec<(Dial, Vec<SweepPoint>)> {
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let of_note = |key: &str| key.starts_with("strategies[].passes[].") || key.starts_with("conditions.");
    let dials = knobs().filter(|row| of_note(row.id.0)).filter_map(|row| Dial::everywhere(scenario, row.id));
    let swept = dials.filter_map(|dial| {
        let (from, to) = usual_range(scenario, &dial);
        let values = sweep_values(scenario, &dial, (from, to), 4).ok()?;
        let point = |value: &f64| evaluator.sweep_point(scenario, &dial, *value, Depth::Views).ok();
        let points = values[1..values.len() - 1].iter().filter_map(point).collect();
        Some((dial, points))
    });
    swept.collect()
}

/// Derived: 50 pairs of an input and a value: set in a file that is written and read, its comparison has, under every key that
/// the sweep has, the very text that the sweep has.
#[test]
fn a_sweep_says_what_the_comparison_of_a_file_with_that_setting_says() {
    let scenario = small();
    let mut pairs = 0;
    for (dial, points) in sweeps(&scenario) {
        let json = sweep_json(&scenario, &dial, &points);
        for (point, told) in points.iter().zip(json["points"].as_array().expect("a list")) {
            let mut set = scenario.clone();
            dial.set(&mut set, point.value).expect("within range");
            let written = write_scenario(&set);
            let Ok(read) = parse_scenario(&written, "swept.ron") else {
                assert!(told["refused"].is_string(), "{} {}", dial.knob().id.0, point.value);
                continue;
            };
            let store = Store::new(1 << 30);
            let outcomes = Evaluator { store: &store, watch: &NoWatch }.evaluate_all(&read, Depth::Views);
            let compared = comparison_json(&read, &outcomes.expect("evaluated"));
            let rows = told["strategies"].as_array().expect("a list").iter();
            for (own, other) in rows.zip(compared["strategies"].as_array().expect("a list")) {
                let mut leaves = 0;
                same(own, other, &mut leaves, &format!("{} {}", dial.knob().id.0, point.value));
                assert!(leaves > 3, "{own}");
            }
            pairs += 1;
        }
    }
    assert!(pairs >= 50, "{pairs}");
}

/// Every key of the one is in the other, with the same text.
fn same(own: &Value, other: &Value, leaves: &mut u32, at: &str) {
    let Value::Object(keys) = own else {
        assert_eq!(own.to_string(), other.to_string(), "{at}");
        *leaves += 1;
        return;
    };
    for (key, value) in keys.iter().filter(|(key, _)| *key != "capped_by") {
        // What a strategy without figures lacks altogether is null there.
        same(value, if other.is_null() { other } else { &other[key] }, leaves, &format!("{at} {key}"));
    }
}

/// Derived: the CSV has the JSON's numbers, row by row.
#[test]
fn the_table_has_the_numbers_of_the_object() {
    let scenario = small();
    let dial = Dial::everywhere(&scenario, KnobId::FORWARD_OVERLAP).expect("passes have one");
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let point = |value: f64| evaluator.sweep_point(&scenario, &dial, value, Depth::Quick).expect("evaluated");
    let points: Vec<SweepPoint> = [0.6, 0.75].map(point).into();
    let text = sweep_csv(&scenario, &dial, &points);
    assert!(!text.contains('"'), "no field here needs quotes");
    let mut lines = text.lines().map(|line| line.split(',').collect::<Vec<&str>>());
    let heads = lines.next().expect("a head");
    let place = |key: &str| heads.iter().position(|head| *head == key).expect("a column");
    let rows: Vec<Vec<&str>> = lines.collect();
    assert_eq!(rows.len(), 2 * scenario.strategies.len());
    let tried =
        points.iter().flat_map(|point| point.tried.iter().flatten().map(|tried| (point.value, tried)));
    for (row, (value, tried)) in rows.iter().zip(tried) {
        assert_eq!(row[0].parse::<f64>().ok(), Some(value));
        for key in ["time_on_site_s", "image_count", "coverage.wall"] {
            let id = MEASURES.iter().find(|row| row.key == key).expect("a figure").id;
            assert_eq!(row[place(key)].parse::<f64>().ok(), tried.figure(id), "{key}");
        }
    }
}

/// Derived: the line of a chart goes through every point, the rows below the axis are the ranges that meet, and as a picture
/// each is there by its name.
#[test]
fn a_chart_shows_the_points_and_what_meets() {
    let scenario = sample::scenario();
    let dial = Dial::everywhere(&scenario, KnobId::SIDELAP).expect("strips have one");
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let values = sweep_values(&scenario, &dial, (0.5, 0.8), 4).expect("within range");
    let point = |value: f64| evaluator.sweep_point(&scenario, &dial, value, Depth::Views).expect("evaluated");
    let points: Vec<SweepPoint> = values.into_iter().map(point).collect();
    let sweep = SweepOf { scenario: &scenario, dial: &dial, points: &points, units: Units::Metric };
    let chart = sweep_chart(&sweep, MeasureId::TimeOnSite);
    for (place, series) in chart.series.iter().enumerate() {
        for point in &points {
            let tried: &Tried = &point.tried.as_ref().expect("sound")[place];
            let at = [100.0 * point.value, tried.figure(MeasureId::TimeOnSite).expect("flown") / 60.0];
            let is_at = |on: &[f64; 2]| (on[0] - at[0]).abs() < 1e-9 && (on[1] - at[1]).abs() < 1e-9;
            assert!(series.points.iter().any(is_at), "{}: {at:?}", series.name);
        }
        let ranges = meeting_ranges(&points, place);
        assert_eq!(chart.under[place].across.len(), ranges.len());
    }
    let palette = Palette {
        surface: [255; 3],
        rule: [200; 3],
        ink: [0; 3],
        muted: [90; 3],
        accent: [0, 0, 200],
        good: [0, 120, 0],
        bad: [180, 0, 0],
        strategies: [[1; 3], [2; 3], [3; 3], [4; 3], [5; 3], [6; 3], [7; 3], [8; 3]],
    };
    let picture = svg(std::slice::from_ref(&chart), (800, 500), &palette).expect("written to memory");
    for series in &chart.series {
        assert!(picture.contains(&format!("<title>{}</title>", series.name)), "{}", series.name);
    }
}

/// Derived: a limit has a row of its own below the axis for each strategy that it holds on part of the range, there and only
/// there, named with both; a limit that holds of one is not said of the others.
#[test]
fn capped_stretches_say_whose_they_are() {
    let scenario = sample::scenario();
    let dial = Dial::everywhere(&scenario, KnobId::SPEED).expect("passes have one");
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let values = sweep_values(&scenario, &dial, (1.0, 14.0), 14).expect("within range");
    let point = |value: f64| evaluator.sweep_point(&scenario, &dial, value, Depth::Quick).expect("evaluated");
    let points: Vec<SweepPoint> = values.into_iter().map(point).collect();
    let sweep = SweepOf { scenario: &scenario, dial: &dial, points: &points, units: Units::Metric };
    let chart = sweep_chart(&sweep, MeasureId::TimeOnSite);
    let capped: Vec<_> = chart.under.iter().filter(|row| row.kind == UnderKind::Capped).collect();
    assert!(!capped.is_empty());
    for (place, strategy) in scenario.strategies.iter().enumerate() {
        for cap in Cap::ALL {
            let held = |point: &&SweepPoint| point.tried.as_ref().expect("sound")[place].caps.contains(&cap);
            let count = points.iter().filter(held).count();
            let named = format!("{} is capped by {} ", strategy.name, cap.name());
            let row = capped.iter().find(|row| row.name.starts_with(&named));
            assert_eq!(row.is_some(), (1..points.len()).contains(&count), "{named}");
            for point in &points {
                let within = |span: &Span| span.across[0] <= point.value && point.value <= span.across[1];
                let is_told = row.is_some_and(|row| row.across.iter().any(within));
                assert_eq!(is_told, row.is_some() && held(&point), "{named} {}", point.value);
            }
        }
    }
}

/// Derived: of every input that changes the figure, both diagrams have a bar for each side, from the present figure to the one
/// that comes, told with both values, the change and the result; the farthest reaching stand on top.
#[test]
fn what_matters_is_told_with_both_values() {
    let scenario = sample::scenario();
    let strategy = scenario.strategies[1].id;
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let now = evaluator.evaluate(&scenario, strategy, Depth::Quick).expect("evaluated");
    let now = Tried::of(&now).figure(MeasureId::TimeOnSite).expect("flown");
    let nudged = evaluator.nudges(&scenario, strategy, Depth::Quick).expect("evaluated");
    let charts = nudge_charts(&nudged, MeasureId::TimeOnSite, now, Units::Metric);
    let row = obliquity_planning::measure(MeasureId::TimeOnSite);
    let mut bars = 0;
    for one in &nudged {
        let chart = &charts[usize::from(one.side == NudgeSide::Befalls)];
        for (value, tried) in [&one.lower, &one.higher].into_iter().flatten() {
            let figure = tried.figure(MeasureId::TimeOnSite).expect("flown");
            let told = nudge_text(one, *value, tried, (row, now), Units::Metric);
            let bar = chart.bars.iter().find(|bar| bar.name == told);
            assert_eq!(bar.is_some(), figure != now, "{told}");
            let Some(bar) = bar else { continue };
            bars += 1;
            assert_eq!(bar.across, [now / 60.0, figure / 60.0]);
            assert!(chart.spoken.contains(&told), "{told}");
            let sign = if figure > now { ": +" } else { ": −" };
            assert!(told.contains(sign) || told.contains(": ±"), "{told}");
        }
    }
    assert_eq!(bars, charts.iter().map(|chart| chart.bars.len()).sum::<usize>());
    assert!(bars > 10, "{bars}");
    for chart in &charts {
        let reach = |name: &str| {
            let one = nudged.iter().find(|one| one.dial.knob().whole == name).expect("nudged");
            one.reach(MeasureId::TimeOnSite, now).expect("known")
        };
        let reaches: Vec<f64> = chart.up.names.iter().map(|(_, name)| reach(name)).collect();
        assert!(reaches.is_sorted(), "{reaches:?}");
    }
}
