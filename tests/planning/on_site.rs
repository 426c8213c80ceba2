//! What a strategy or its aircraft has otherwise than the scenario: crew times, control points, battery sets.

use crate::generate::{Dice, scenario};
use obliquity_planning::*;
use std::sync::Arc;

const SEEDS: u64 = 12;

/// Numbers that differ from the usual ones, some of them left out.
fn drawn(dice: &mut Dice) -> OnSite {
    OnSite {
        set_up_min: dice.chance(0.6).then(|| dice.within(1.0, 60.0)),
        pack_up_min: dice.chance(0.6).then(|| dice.within(1.0, 60.0)),
        control_points: dice.chance(0.6).then(|| dice.whole(0, 20)),
        per_control_point_min: dice.chance(0.6).then(|| dice.within(1.0, 20.0)),
        battery_sets: dice.chance(0.6).then(|| dice.whole(1, 12)),
    }
}

fn told(scenario: &Scenario, id: Id) -> Outcome {
    let store = Store::new(1 << 28);
    Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, id, Depth::Spread).expect("a site")
}

/// What is told of the clock and of what is asked.
fn compared(outcome: &Outcome) -> (Option<TimeTerms>, Vec<Judgement>, Vec<Caution>) {
    // Where the numbers stand is told by another test; here they are what counts.
    let time =
        outcome.timing.as_ref().map(|timing| TimeTerms { inputs: CrewInputs::default(), ..timing.time });
    (time, outcome.judgements.clone(), outcome.cautions.clone())
}

/// `own`, and what it leaves out from `usual`.
fn over(own: OnSite, usual: OnSite) -> OnSite {
    OnSite {
        set_up_min: own.set_up_min.or(usual.set_up_min),
        pack_up_min: own.pack_up_min.or(usual.pack_up_min),
        control_points: own.control_points.or(usual.control_points),
        per_control_point_min: own.per_control_point_min.or(usual.per_control_point_min),
        battery_sets: own.battery_sets.or(usual.battery_sets),
    }
}

/// Derived: it makes no difference whether a number stands in the scenario or only in a strategy, nearest first; and no other
/// strategy is told otherwise.
#[test]
fn the_nearest_number_holds_and_only_where_it_stands() {
    for seed in 0..SEEDS {
        let mut dice = Dice::new(900 + seed);
        let before = scenario(seed);
        let (aircraft, own) = (drawn(&mut dice), drawn(&mut dice));
        let mut scenario = before.clone();
        let flown = scenario.strategies[0].aircraft;
        let fleet = &mut Arc::make_mut(&mut scenario.equipment).aircraft;
        fleet.iter_mut().find(|one| one.id == flown).expect("it flies").on_site = aircraft;
        scenario.strategies[0].on_site = own;
        assert!(scenario.faults().is_empty(), "{:?}", scenario.faults());
        for strategy in &scenario.strategies {
            let mut expected = before.clone();
            let none = OnSite::default();
            let of_aircraft = if strategy.aircraft == flown { aircraft } else { none };
            let here = over(if strategy.id == scenario.strategies[0].id { own } else { none }, of_aircraft);
            let usual = &mut expected.conditions;
            usual.set_up_min = here.set_up_min.unwrap_or(usual.set_up_min);
            usual.pack_up_min = here.pack_up_min.unwrap_or(usual.pack_up_min);
            usual.control_points = here.control_points.unwrap_or(usual.control_points);
            usual.per_control_point_min = here.per_control_point_min.unwrap_or(usual.per_control_point_min);
            usual.battery_sets = here.battery_sets.unwrap_or(usual.battery_sets);
            let [got, expected] = [&scenario, &expected].map(|of| compared(&told(of, strategy.id)));
            assert_eq!(got, expected, "seed {seed}, {}", strategy.name);
        }
    }
}

/// Derived: a working names the input that really holds, so that a change of it changes the figure.
#[test]
fn workings_name_the_input_that_holds() {
    let flies = |scenario: &Scenario| told(scenario, scenario.strategies[0].id).timing.is_some();
    let mut scenario = (0..SEEDS).map(scenario).find(flies).expect("most are flown");
    let id = scenario.strategies[0].id;
    let inputs = |scenario: &Scenario| told(scenario, id).timing.expect("it is flown").time.inputs;
    assert_eq!(inputs(&scenario).set_up, KnobId("conditions.set_up_min"));
    let flown = scenario.strategies[0].aircraft;
    let fleet = &mut Arc::make_mut(&mut scenario.equipment).aircraft;
    let of_aircraft = &mut fleet.iter_mut().find(|one| one.id == flown).expect("it flies").on_site;
    *of_aircraft = OnSite { set_up_min: Some(20.0), control_points: Some(3), ..OnSite::default() };
    scenario.strategies[0].on_site.set_up_min = Some(25.0);
    let found = inputs(&scenario);
    assert_eq!(found.set_up, KnobId("strategies[].on_site.set_up_min"));
    assert_eq!(found.control_points, KnobId("equipment.aircraft[].on_site.control_points"));
    assert_eq!(found.pack_up, KnobId("conditions.pack_up_min"));
    for knob in [found.set_up, found.control_points, found.pack_up, found.per_control_point].map(knob) {
        assert!(!knob.places(&scenario).is_empty(), "{:?} has a place", knob.id);
    }
}
