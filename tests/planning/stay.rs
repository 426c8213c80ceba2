//! The clock of the whole stay, where the aircraft is by it, and the time budget.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, scenario};
use approx::assert_abs_diff_eq;
use obliquity_planning::*;

/// Strategies that need several batteries, one of them charged in between, one with stops.
fn outcomes() -> Vec<Outcome> {
    let mut scenario = scenario(level_site(&[(0.0, 0.0), (420.0, 0.0), (420.0, 300.0), (0.0, 300.0)]), 60.0);
    let mut stops = scenario.strategies[0].clone();
    stops.id = Id(90);
    stops.passes[0].hover_s = Some(1.0);
    scenario.strategies.push(stops);
    scenario.conditions.control_points = 5;
    scenario.conditions.battery_sets = 2;
    scenario.conditions.charging = Some(Charging { supply: Supply::Generator, charge_min: 60.0, at_once: 1 });
    let aircraft = &mut std::sync::Arc::make_mut(&mut scenario.equipment).aircraft[0];
    aircraft.airframe.endurance_min = 12.0;
    aircraft.airframe.lateral_mps2 = Some(2.5);
    scenario.strategies.iter().map(|strategy| outcome(&scenario, strategy.id.0, Depth::Quick)).collect()
}

/// Derived: the stay is the time on site without a gap, and every sortie is in it as long as it lasts. Sums of some
/// hundreds of terms of up to 1e4 s keep 1e-6 s.
#[test]
fn the_stay_is_the_time_on_site() {
    let outcomes = outcomes();
    for outcome in &outcomes {
        let stay = outcome.timing.as_ref().unwrap().stay();
        assert_abs_diff_eq!(
            stay.end_s(),
            outcome.timing.as_ref().unwrap().time.time_on_site_s(),
            epsilon = 1e-6
        );
        assert_eq!(stay.spans[0].from_s, 0.0);
        for pair in stay.spans.windows(2) {
            assert_eq!(pair[0].to_s, pair[1].from_s);
        }
        assert!(matches!(stay.spans[0].doing, Doing::SetUp));
        assert!(matches!(stay.spans[1].doing, Doing::ControlPoints));
        assert!(matches!(stay.spans.last().unwrap().doing, Doing::PackUp));
        let of = |wanted: fn(&Doing) -> bool| -> f64 {
            stay.spans.iter().filter(|span| wanted(&span.doing)).map(|span| span.to_s - span.from_s).sum()
        };
        let swaps_s = of(|doing| matches!(doing, Doing::Swap { .. }));
        assert_abs_diff_eq!(swaps_s, outcome.timing.as_ref().unwrap().time.swaps_s, epsilon = 1e-6);
        let waits_s = of(|doing| matches!(doing, Doing::Wait { .. }));
        assert_abs_diff_eq!(waits_s, outcome.timing.as_ref().unwrap().time.waits_s, epsilon = 1e-6);
    }
    assert!(
        outcomes.iter().any(|outcome| outcome.timing.as_ref().unwrap().time.waits_s > 0.0),
        "someone waits"
    );
}

/// Derived: at the time of its exposure the aircraft is at its station, in whatever way the leg is flown. Times go back
/// and forth between two clocks of up to 1e4 s, at 10 m/s: 1e-5 m.
#[test]
fn every_exposure_finds_the_aircraft_at_its_station() {
    for outcome in outcomes() {
        let stay = outcome.timing.as_ref().unwrap().stay();
        let mut met = 0;
        for flown in &outcome.flight().unwrap().legs {
            let Some(pass) = outcome.passes.iter().position(|p| Some(p.pass) == flown.pass) else {
                continue;
            };
            for stop in &flown.leg.stops {
                let flying_s = outcome.flight().unwrap().station_time_s[pass][stop.station as usize];
                let site_s = stay.site_s(flown.sortie, flying_s).unwrap();
                let moment = outcome.timing.as_ref().unwrap().moment(&stay, site_s).unwrap();
                let station_m =
                    outcome.passes[pass].laid().unwrap().stations.poses[stop.station as usize].position_m;
                assert!(moment.at_m.distance(station_m) < 1e-5, "{}: {moment:?} {station_m}", outcome.name);
                met += 1;
            }
        }
        assert_eq!(met, outcome.load.as_ref().unwrap().image_count);
    }
}

/// Derived: a place never jumps: in a tenth of a second the aircraft goes no farther than the greatest speed on the route
/// takes it, and what the clock says of the speed is how far it goes (a tenth of a second at 2 m/s² changes it by 0.2).
#[test]
fn the_aircraft_moves_as_fast_as_is_said() {
    const STEP_S: f64 = 0.1;
    for outcome in outcomes() {
        let stay = outcome.timing.as_ref().unwrap().stay();
        let fastest = outcome.flight().unwrap().legs.iter().map(|flown| flown.peak_mps).fold(0.0, f64::max);
        let steps = (stay.end_s() / STEP_S) as u32;
        let at = |k: u32| outcome.timing.as_ref().unwrap().moment(&stay, f64::from(k) * STEP_S).unwrap();
        for k in (0..steps).step_by(7) {
            let (a, b) = (at(k), at(k + 1));
            let moved_m = a.at_m.distance(b.at_m);
            assert!(moved_m <= fastest * STEP_S + 1e-6, "{a:?} {b:?}");
            if a.leg == b.leg && a.movement == Some(Movement::Moving) && b.movement == a.movement {
                assert!(moved_m <= a.speed_mps.max(b.speed_mps) * STEP_S + 0.02, "{a:?} {b:?}");
            }
        }
    }
}

/// Derived: a battery starts full and is at landing what the sortie left.
#[test]
fn the_charge_runs_from_full_to_what_is_left() {
    for outcome in outcomes() {
        let stay = outcome.timing.as_ref().unwrap().stay();
        for (number, sortie) in (0..).zip(&outcome.flight().unwrap().sorties) {
            let line = outcome.timing.as_ref().unwrap().charge_along(&stay, number);
            let left = sortie.left_ratio(outcome.flight().unwrap().capacity_j);
            assert_eq!(line[0].1, 1.0);
            assert_abs_diff_eq!(line.last().unwrap().1, left, epsilon = 1e-9);
            assert!(line.windows(2).all(|pair| pair[1].1 <= pair[0].1 && pair[1].0 >= pair[0].0));
            let span = stay.span_at(line[0].0).unwrap();
            assert_abs_diff_eq!(line.last().unwrap().0, span.to_s, epsilon = 1e-6);
            let just_before = outcome.timing.as_ref().unwrap().moment(&stay, span.to_s - 1e-6).unwrap();
            assert_abs_diff_eq!(just_before.left_ratio.unwrap(), left, epsilon = 1e-6);
            assert_eq!(just_before.battery, Some(sortie.battery));
        }
    }
}

/// Derived: a sortie takes the route up where its first leg of a pass begins, and the aircraft is there then.
#[test]
fn every_later_sortie_resumes_on_its_route() {
    for outcome in outcomes() {
        let (stay, resumes) =
            (outcome.timing.as_ref().unwrap().stay(), outcome.timing.as_ref().unwrap().resumes());
        assert_eq!(resumes.len(), outcome.flight().unwrap().sorties.len() - 1);
        for resume in resumes {
            let moment = outcome.timing.as_ref().unwrap().moment(&stay, resume.site_s + 1e-6).unwrap();
            assert!(moment.at_m.distance(resume.at_m) < 1e-3, "{resume:?} {moment:?}");
        }
    }
}

/// Derived: whole seconds of the parts add up to the whole seconds of the time on site, those flown to the flight time, and
/// none is a second or more off.
#[test]
fn the_time_budget_adds_up_to_the_second() {
    for outcome in outcomes() {
        let budget = outcome.timing.as_ref().unwrap().time_budget();
        let sum = |wanted: fn(TimePart) -> bool| -> u64 {
            budget.parts_s.iter().filter(|(part, _)| wanted(*part)).map(|(_, seconds)| seconds).sum()
        };
        assert_eq!(sum(|_| true), budget.total_s);
        assert_eq!(sum(TimePart::is_flown), budget.flight_s);
        assert_eq!(budget.total_s, outcome.timing.as_ref().unwrap().time.time_on_site_s().round() as u64);
        let strips_s = budget.of(TimePart::Strips) as f64;
        assert!((strips_s - outcome.flight().unwrap().terms.strips_s).abs() < 1.0);
    }
}

/// Derived: a battery set of 28 min gives no watt-hours, only shares of itself; with its capacity known both are one.
#[test]
fn energy_is_in_watt_hours_where_the_capacity_is_known() {
    let mut scenario = scenario(level_site(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]), 60.0);
    let outcome_of = |scenario: &Scenario| outcome(scenario, 10, Depth::Quick);
    let shares = outcome_of(&scenario);
    assert_eq!(shares.flight().unwrap().energy_wh(), None);
    let minutes = shares.flight().unwrap().energy_sets() * 28.0;
    assert_abs_diff_eq!(minutes * 60.0, shares.timing.as_ref().unwrap().time.flight_s, epsilon = 1e-6); // one power at every speed
    let aircraft = &mut std::sync::Arc::make_mut(&mut scenario.equipment).aircraft[0];
    aircraft.airframe.energy = Some(Energy {
        battery_wh: 80.0,
        endurance_at_mps: 8.0,
        hover_min: None,
        top_speed_min: None,
        mass_kg: 1.4,
        rotors: 4,
        rotor_diameter_m: 0.24,
        health: 1.0,
        cold_loss_per_c: 0.0,
    });
    let known = outcome_of(&scenario);
    let wh = known.flight().unwrap().energy_wh().unwrap();
    assert_abs_diff_eq!(wh, known.flight().unwrap().energy_sets() * 80.0, epsilon = 1e-9);
    assert_eq!(measure(MeasureId::Energy).read(&known), Some(wh));
}
