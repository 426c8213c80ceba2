//! What is kept from earlier evaluations never changes a figure: every number and every text of a scenario is changed in
//! turn, and what a store gives that has seen all scenarios before is held against what one gives that has seen none.

use crate::sample;
use obliquity_planning::{
    Accuracy, AccuracyLevel, Brown, CameraCalibration, Charging, ControlPoint, Depth, Energy, Evaluator,
    FlownCorrections, LocalClock, LocalDate, Mission, NoWatch, Outcome, PointRole, Scenario, SiteZone, Store,
    Supply,
};
use serde_json::Value;
use std::sync::Arc;

/// Names that other parts of a scenario are found by: changed alone they only break it.
const REFERENCES: [&str; 7] = ["id", "aircraft", "structure", "structures", "others", "reference", "around"];

/// The ways to every number and every text of a value.
fn leaves(value: &Value, way: &str, found: &mut Vec<String>) {
    match value {
        Value::Array(parts) => {
            parts.iter().enumerate().for_each(|(k, part)| leaves(part, &format!("{way}/{k}"), found));
        }
        Value::Object(parts) => {
            for (name, part) in
                parts.iter().filter(|(name, part)| !REFERENCES.contains(&name.as_str()) || part.is_object())
            {
                leaves(part, &format!("{way}/{name}"), found);
            }
        }
        Value::Number(_) | Value::String(_) | Value::Bool(_) => found.push(way.to_owned()),
        Value::Null => {}
    }
}

/// A leaf a little larger, a little smaller, or another text.
fn changed(leaf: &Value, larger: bool) -> Option<Value> {
    Some(match leaf {
        Value::Number(number) if number.is_f64() => {
            let (value, step) = (number.as_f64()?, if larger { 1.0 } else { -1.0 });
            Value::from(value + step * (0.02 * value.abs()).max(0.003))
        }
        Value::Number(number) => {
            let value = number.as_i64()?;
            Value::from(if larger { value + 1 } else { value - 1 })
        }
        Value::String(text) => Value::from(format!("{text} b")),
        Value::Bool(held) => Value::from(!held),
        _ => return None,
    })
}

fn evaluated(store: &Store, scenario: &Scenario) -> Vec<Outcome> {
    let evaluator = Evaluator { store, watch: &NoWatch };
    evaluator.evaluate_all(scenario, Depth::Views).expect("a sound scenario")
}

/// Scenarios with every pattern and every kind of field, small enough to be evaluated some hundred times.
fn scenarios() -> [Scenario; 2] {
    [sample::scenario(), sample::with_every_pattern()].map(|mut scenario| {
        let site = Arc::make_mut(&mut scenario.site);
        site.sample_spacing_m = Some(6.0);
        let places = [(20.0, 20.0), (180.0, 20.0), (180.0, 130.0), (20.0, 130.0), (100.0, 75.0)];
        let point = |(k, at): (usize, (f64, f64))| {
            let role = if k == 4 { PointRole::Check } else { PointRole::Control };
            ControlPoint { name: format!("{}", k + 1), at_m: at.into(), role }
        };
        site.control_points = places.into_iter().enumerate().map(point).collect();
        scenario.requirement.accuracy =
            Accuracy { level: AccuracyLevel::At95, horizontal_m: Some(0.05), vertical_m: Some(0.08) };
        scenario.conditions.mission = Some(Mission {
            date: LocalDate { year: 2026, month: 5, day: 4 },
            arrival: LocalClock { hour: 8, minute: 30 },
            zone: SiteZone::Offset { minutes: 60 },
        });
        scenario.conditions.charging =
            Some(Charging { supply: Supply::Generator, charge_min: 45.0, at_once: 1 });
        let aircraft = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0];
        aircraft.camera.distortion = Brown { k1: -0.02, k2: 0.01, k3: 0.004, p1: 0.0002, p2: -0.0003 };
        aircraft.camera.calibration = CameraCalibration::usual_earlier_job();
        let airframe = &mut aircraft.airframe;
        (airframe.top_airspeed_mps, airframe.lateral_mps2) = (Some(14.0), Some(4.0));
        airframe.corrections =
            Some(FlownCorrections { speed_ratio: 0.95, turn_ratio: 1.2, endurance_ratio: 0.9 });
        airframe.energy = Some(Energy {
            battery_wh: 80.0,
            endurance_at_mps: 5.0,
            hover_min: Some(24.0),
            top_speed_min: Some(20.0),
            mass_kg: 1.2,
            rotors: 4,
            rotor_diameter_m: 0.24,
            health: 0.95,
            cold_loss_per_c: 0.01,
        });
        scenario
    })
}

/// Derived: a field that a stage's digest forgets leaves the store's old result where a fresh one gives another.
#[test]
fn whatever_is_changed_a_full_store_gives_what_an_empty_one_gives() {
    let (mut tried, mut told) = (0, 0);
    for scenario in scenarios() {
        let shared = Store::new(256 << 20);
        let first = evaluated(&shared, &scenario);
        let whole = serde_json::to_value(&scenario).unwrap();
        let mut ways = Vec::new();
        leaves(&whole, "", &mut ways);
        for way in ways {
            let variant = [true, false].into_iter().find_map(|larger| {
                let mut other = whole.clone();
                let leaf = other.pointer_mut(&way)?;
                *leaf = changed(leaf, larger)?;
                let other: Scenario = serde_json::from_value(other).ok()?;
                other.faults().is_empty().then_some(other)
            });
            let Some(variant) = variant else { continue };
            let (kept, fresh) = (evaluated(&shared, &variant), evaluated(&Store::new(256 << 20), &variant));
            assert_eq!(kept, fresh, "{way}");
            tried += 1;
            told += usize::from(fresh != first);
        }
    }
    assert!(tried > 200 && told > 150, "{tried} changes, {told} of them with another outcome");
}
