//! Every input stands where its key says, is checked there, and is set and read by the same row.

use crate::sample;
use obliquity_planning::*;
use serde_json::Value;
use std::sync::Arc;

/// Scenarios with every pattern, with everything given that may be left out.
fn scenarios() -> [Scenario; 2] {
    let mut all = [sample::scenario(), sample::with_every_pattern()];
    all.iter_mut().for_each(give_all);
    all
}

fn give_all(scenario: &mut Scenario) {
    let conditions = &mut scenario.conditions;
    conditions.charging = Some(Charging::usual(Supply::Mains));
    conditions.light = Some(LightLevel::Metered { ev100: 13.0 });
    conditions.height_rule = HeightRule::Custom { limit_m: 90.0 };
    conditions.wind.from_deg = Some(200.0);
    scenario.job.price = Some(1400.0);
    let site = Arc::make_mut(&mut scenario.site);
    site.origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 9.5 });
    let typical = TypicalBuilding { width_m: 10.0, depth_m: 12.0, height_m: 8.0, spacing_m: 30.0 };
    site.typical_building = Some(typical);
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.camera.metering = Some(Metering { f_number: 4.0, iso: 200.0, shortest_s: 0.0005 });
        aircraft.camera.shutter = Shutter::Rolling { readout_s: 0.02 };
        aircraft.camera.distortion = Brown { k1: -0.02, k2: 0.01, k3: 0.001, p1: 0.0002, p2: -0.0003 };
        aircraft.camera.calibration = CameraCalibration::usual_earlier_job();
        aircraft.airframe.corrections = Some(FlownCorrections::default());
        aircraft.airframe.energy = aircraft.airframe.energy.or(Some(Energy {
            battery_wh: 65.0,
            endurance_at_mps: 8.0,
            hover_min: None,
            top_speed_min: None,
            mass_kg: 1.1,
            rotors: 4,
            rotor_diameter_m: 0.24,
            health: 0.95,
            cold_loss_per_c: 0.008,
        }));
    }
    // The ways of giving a direction, a middle and a radius that no example has, and stations.
    let mut more = Vec::new();
    for pass in scenario.strategies.iter().flat_map(|strategy| &strategy.passes) {
        let mut other = pass.clone();
        match &mut other.pattern {
            Pattern::Strips(strips) => strips.direction = StripDirection::FromNorth { deg: 20.0 },
            Pattern::Orbit(orbit) => {
                orbit.around = OrbitCentre::Point { x_m: 10.0, y_m: 20.0 };
                orbit.radius = OrbitRadius::Set { m: 60.0 };
                orbit.rings = Rings::Evenly { count: 3, lowest_m: 10.0, step_m: 12.0 };
            }
            Pattern::Underside(_) => {
                let begins = PatternKind::Listed.about().begins.expect("stations need nothing on the site");
                other.pattern = begins(&scenario.site);
            }
            _ => continue,
        }
        more.push(other);
    }
    let Some(first) = scenario.strategies.first_mut() else { return };
    for (k, mut pass) in more.into_iter().enumerate() {
        pass.id = Id(900_000 + k as u32);
        first.passes.push(pass);
    }
}

/// The way to a key in a scenario's file, for one of its places.
fn way(file: &Value, key: &str, scenario: &Scenario, at: At) -> String {
    let mut lists = indices(scenario, at).into_iter();
    key.split('.').fold(String::new(), |way, part| {
        let (name, list) = part.split_once('[').unwrap_or((part, ""));
        // Whichever of several is chosen.
        let chosen =
            || file.pointer(&way).and_then(Value::as_object).and_then(|all| all.keys().next().cloned());
        let name = if name == "*" { chosen().unwrap_or_default() } else { name.to_owned() };
        match list.trim_end_matches(']') {
            "" if list.is_empty() => format!("{way}/{name}"),
            "" => format!("{way}/{name}/{}", lists.next().expect("a list that the place is in")),
            fixed => format!("{way}/{name}/{fixed}"),
        }
    })
}

/// Which of the lists on the way to a place it is in.
fn indices(scenario: &Scenario, at: At) -> Vec<usize> {
    let pass = |id: Id| {
        let strategies = scenario.strategies.iter().enumerate();
        let found = strategies
            .filter_map(|(s, strategy)| Some((s, strategy.passes.iter().position(|p| p.id == id)?)));
        found.map(|(s, p)| vec![s, p]).next().unwrap()
    };
    match at {
        At::Pass(id) => pass(id),
        At::Attitude(id, k) => [pass(id), vec![k]].concat(),
        At::Strategy(id) => vec![scenario.strategies.iter().position(|strategy| strategy.id == id).unwrap()],
        At::Aircraft(id) => vec![scenario.equipment.aircraft.iter().position(|one| one.id == id).unwrap()],
        At::Structure(id) => vec![scenario.site.structures.iter().position(|one| one.id == id).unwrap()],
        At::Scenario => Vec::new(),
    }
}

/// Derived: set by its row, a number stands in the file where the row's key says, and is read back by the row.
#[test]
fn every_input_stands_where_its_key_says() {
    let mut seen: Vec<KnobId> = Vec::new();
    for scenario in scenarios() {
        for (knob, at) in
            knobs().flat_map(|knob| knob.places(&scenario).into_iter().map(move |at| (knob, at)))
        {
            let mut changed = scenario.clone();
            // Other numbers may narrow the range here.
            let set = [0.6, 0.2, 0.02].into_iter().find_map(|share| {
                let value = knob.range.least + share * (knob.range.most - knob.range.least);
                let whole = matches!(knob.unit, Unit::Count | Unit::Pixels);
                let value = if whole { value.round() } else { value };
                knob.set(&mut changed, at, Some(value)).is_ok().then_some(value)
            });
            let Some(value) = set else { continue };
            let near = |found: f64| (found - value).abs() <= 1e-9 * value.abs();
            let read = knob.get(&changed, at).unwrap();
            assert!(near(read), "{}: {value} is read as {read}", knob.id.0);
            // The tilt of a pass is that of its attitudes.
            if knob.id != KnobId::TILT {
                let file = serde_json::to_value(&changed).unwrap();
                let found = file.pointer(&way(&file, knob.id.0, &changed, at)).and_then(Value::as_f64);
                assert!(found.is_some_and(near), "{}: {value} stands as {found:?}", knob.id.0);
            }
            seen.push(knob.id);
        }
    }
    seen.sort_unstable();
    seen.dedup();
    let missing: Vec<&str> =
        knobs().map(|knob| knob.id).filter(|id| !seen.contains(id)).map(|id| id.0).collect();
    assert!(missing.is_empty(), "{} of {} are in no example: {missing:?}", missing.len(), knobs().count());
}

/// A file may hold a larger seed than is typed, and a tilt stands on attitudes, which are inputs of their own.
const ELSEWHERE: [KnobId; 2] = [KnobId::SEED, KnobId::TILT];

/// Derived: what is refused when it is set is a fault of a file that holds it, told at its place.
#[test]
fn what_may_not_be_set_is_a_fault_in_a_file() {
    for scenario in scenarios() {
        let file = serde_json::to_value(&scenario).unwrap();
        for (knob, at) in
            knobs().flat_map(|knob| knob.places(&scenario).into_iter().map(move |at| (knob, at)))
        {
            let mut changed = scenario.clone();
            let above = (knob.range.most + 1.0).round();
            let refused = knob.set(&mut changed, at, Some(above));
            assert!(matches!(refused, Err(EditError::OutOfRange { .. })), "{}: {refused:?}", knob.id.0);
            assert_eq!(changed, scenario, "{}: what is refused changes nothing", knob.id.0);
            let mut file = file.clone();
            let place = file.pointer_mut(&way(&file.clone(), knob.id.0, &scenario, at));
            let Some(place) = place.filter(|_| !ELSEWHERE.contains(&knob.id)) else { continue };
            *place = if place.is_u64() { Value::from(above as u64) } else { Value::from(above) };
            let Ok(read) = serde_json::from_value::<Scenario>(file) else { continue };
            let field = knob.id.field();
            let end = field.rsplit('.').next().unwrap().trim_end_matches("[0]").trim_end_matches("[1]");
            let told = read.faults().iter().any(|fault| fault.path.ends_with(end));
            assert!(told, "{}: {above} is no fault: {:?}", knob.id.0, read.faults());
        }
    }
}

#[test]
fn no_two_inputs_have_one_key() {
    let mut keys: Vec<&str> = knobs().map(|knob| knob.id.0).collect();
    let all = keys.len();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), all);
    for knob in knobs() {
        assert!(
            !knob.name.is_empty() && !knob.whole.is_empty() && knob.explanation.len() > 10,
            "{}",
            knob.id.0
        );
        assert_eq!(obliquity_planning::knob(knob.id).name, knob.name);
    }
}
