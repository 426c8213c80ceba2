//! Where passes of strips begin, and what is advised about it.

use crate::generate::scenario;
use crate::scene::{level_site, outcome};
use obliquity_planning::corner_advice::{CornerAdvice, OtherCorners, WhyCornersStay};
use obliquity_planning::wind_advice::WORTH_RATIO;
use obliquity_planning::*;

fn advice(scenario: &Scenario, strategy: Id, depth: Depth) -> CornerAdvice {
    let store = Store::new(64 << 20);
    Evaluator { store: &store, watch: &NoWatch }
        .corner_advice(scenario, strategy, depth)
        .expect("can be worked out")
}

fn flying_s(outcome: &Outcome) -> f64 {
    let time = outcome.timing.as_ref().expect("can be flown").time;
    time.flight_s + time.swaps_s + time.waits_s
}

/// The strategy with the passes that are advised.
fn taken(scenario: &Scenario, strategy: Id, other: &OtherCorners) -> Scenario {
    let mut taken = scenario.clone();
    taken
        .strategies
        .iter_mut()
        .find(|s| s.id == strategy)
        .expect("it is there")
        .passes
        .clone_from(&other.passes);
    taken
}

/// Derived: what is advised is what comes of it, in time, images and coverage, it is worth its while, and where it was taken
/// nothing as good is left. Of the strategies drawn some are advised otherwise and some are not.
#[test]
fn what_is_advised_comes_true() {
    let (mut advised, mut stay) = (0, 0);
    for seed in 0..12 {
        let drawn = scenario(seed);
        for strategy in drawn.strategies.iter().map(|strategy| strategy.id) {
            let present = outcome(&drawn, strategy.0, Depth::Views);
            match advice(&drawn, strategy, Depth::Views) {
                CornerAdvice::Begin(other) => {
                    let then = outcome(&taken(&drawn, strategy, &other), strategy.0, Depth::Views);
                    assert_eq!(other.other_s, flying_s(&then));
                    assert_eq!(Some(other.other_images), then.load.as_ref().map(|load| load.image_count));
                    assert_eq!(other.coverage, Some([present.coverage(), then.coverage()]));
                    assert!(!other.begun.is_empty());
                    for begun in &other.begun {
                        assert_eq!(
                            then.passes[begun.pass].laid().and_then(|plan| plan.layout.corner_rad),
                            Some(begun.corner_rad)
                        );
                    }
                    if let Some(saved_s) = other.saved_s() {
                        assert!(saved_s >= WORTH_RATIO * flying_s(&present), "{saved_s}");
                    }
                    advised += 1;
                }
                CornerAdvice::Stay(WhyCornersStay::NothingToGain { saved_s }) => {
                    assert!(present.feasible() && saved_s < WORTH_RATIO * flying_s(&present));
                    stay += 1;
                }
                CornerAdvice::Stay(_) => stay += 1,
            }
        }
    }
    assert!(advised > 3 && stay > 3, "{advised} {stay}");
}

/// Derived: one pass over a field begun at the corner at which the aircraft stands; from any other corner the way there and
/// back is no shorter.
#[test]
fn nothing_is_advised_where_nothing_is_gained() {
    let site = level_site(&[(0.0, 0.0), (600.0, 0.0), (600.0, 200.0), (0.0, 200.0)]);
    let scenario = crate::scene::scenario(site, 80.0);
    let CornerAdvice::Stay(WhyCornersStay::NothingToGain { saved_s }) =
        advice(&scenario, Id(10), Depth::Quick)
    else {
        panic!("from the corner at which the aircraft stands the nearest corner is the best")
    };
    assert!(saved_s < 1.0, "{saved_s}");
}

/// Derived: rings have no corners.
#[test]
fn without_strips_there_is_no_corner() {
    let site = level_site(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]);
    let mut scenario = crate::scene::scenario(site, 80.0);
    let mut orbit = scenario.clone();
    let around = OrbitCentre::Point { x_m: 150.0, y_m: 100.0 };
    orbit.strategies[0].passes[0].pattern = Pattern::Orbit(Orbit {
        around,
        radius: OrbitRadius::StandOff,
        rings: Rings::Evenly { count: 1, lowest_m: 30.0, step_m: 10.0 },
        target_height_m: 0.0,
    });
    orbit.strategies[0].passes[0].distance = Distance::StandOff { m: 60.0 };
    assert_eq!(advice(&orbit, Id(10), Depth::Quick), CornerAdvice::Stay(WhyCornersStay::NoStrips));
    // An aircraft whose battery lasts for nothing flies from no corner.
    let mut aircraft = scenario.equipment.aircraft.clone();
    aircraft[0].airframe.endurance_min = 1.0;
    scenario.equipment = Equipment { aircraft }.into();
    assert_eq!(advice(&scenario, Id(10), Depth::Quick), CornerAdvice::Stay(WhyCornersStay::NotFlyable));
}

/// Derived: each pass of strips that has another corner has other plans kept for it; the plan of every other pass stays.
#[test]
fn another_corner_redoes_one_pass() {
    for seed in 0..12 {
        let drawn = scenario(seed);
        let store = Store::new(64 << 20);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for place in 0..drawn.strategies.len() {
            let id = drawn.strategies[place].id;
            let before = evaluator.evaluate(&drawn, id, Depth::Quick).expect("can be worked out");
            let mut other = drawn.clone();
            let last = other.strategies[place].passes.len() - 1;
            let Pattern::Strips(Strips { begin, .. }) = &mut other.strategies[place].passes[last].pattern
            else {
                continue;
            };
            *begin = BeginAt::OppositeCorner;
            let after = evaluator.evaluate(&other, id, Depth::Quick).expect("can be worked out");
            assert_ne!(before.passes[last].plan, after.passes[last].plan, "seed {seed}, {id}");
            for pass in 0..last {
                assert_eq!(before.passes[pass].plan, after.passes[pass].plan, "seed {seed}, {id}");
            }
        }
    }
}
