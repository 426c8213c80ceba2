//! Which way strips are flown quickest in the wind.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, scenario};
use obliquity_planning::wind::Wind;
use obliquity_planning::wind_advice::{TurnedStrips, WORTH_RATIO, WhyStripsStay, WindAdvice};
use obliquity_planning::*;

const NADIR: u32 = 10;

/// A square field, strips of the nadir block set from north.
fn field(wind_mps: f64, from_deg: f64, strips_deg: f64) -> Scenario {
    let mut site = level_site(&[(-200.0, -200.0), (200.0, -200.0), (200.0, 200.0), (-200.0, 200.0)]);
    site.take_off_m = glam::DVec2::ZERO;
    let mut scenario = scenario(site, 60.0);
    scenario.conditions.wind = Wind { speed_mps: wind_mps, from_deg: Some(from_deg) };
    let direction = StripDirection::FromNorth { deg: strips_deg };
    scenario.strategies[0].passes[0].pattern =
        Pattern::Strips(Strips { direction, counting: CountingRule::default(), begin: BeginAt::default() });
    scenario
}

fn advice(scenario: &Scenario, strategy: u32) -> WindAdvice {
    let store = Store::new(0);
    Evaluator { store: &store, watch: &NoWatch }.wind_advice(scenario, Id(strategy)).unwrap()
}

fn turn(scenario: &Scenario, strategy: u32) -> TurnedStrips {
    match advice(scenario, strategy) {
        WindAdvice::Turn(turned) => *turned,
        WindAdvice::Stay(reason) => panic!("{reason:?}"),
    }
}

fn flying_s(scenario: &Scenario, strategy: u32) -> f64 {
    let time = outcome(scenario, strategy, Depth::Quick).timing.as_ref().unwrap().time;
    time.flight_s + time.swaps_s + time.waits_s
}

/// Derived: at an airspeed v in a wind w, to and fro along the wind takes 2 v / (v² − w²) a metre, across it only
/// 2 / √(v² − w²); on a square the strips are as many and as long both ways.
#[test]
fn strips_along_the_wind_are_turned_across_it() {
    for from_deg in [0.0, 180.0, 270.0] {
        let along = field(6.0, from_deg, from_deg);
        let turned = turn(&along, NADIR);
        let across = (from_deg + 90.0_f64).to_radians();
        let off = (turned.direction_rad - across).sin().abs();
        assert!(off < 1e-9, "rounding of angles: {} for wind from {from_deg}", turned.direction_rad);
        assert!(turned.saved_s().unwrap() >= WORTH_RATIO * turned.present_s.unwrap());
    }
}

/// Derived: what is told of the strips as they stand and turned is what two evaluations give, no direction that is tried
/// by hand is quicker, and once turned there is nothing to gain.
#[test]
fn the_time_told_is_the_time_flown() {
    let present = field(5.0, 40.0, 25.0);
    let turned = turn(&present, NADIR);
    assert_eq!(turned.present_s, Some(flying_s(&present, NADIR)));
    let mut followed = present.clone();
    followed.strategies[0].passes = turned.passes.clone();
    assert_eq!(turned.turned_s, flying_s(&followed, NADIR));
    assert_eq!(
        turned.turned_images,
        outcome(&followed, NADIR, Depth::Quick).load.as_ref().unwrap().image_count
    );
    for step in (-11..=11).filter(|step| *step != 0) {
        let by_hand = field(5.0, 40.0, 25.0 + 15.0 * f64::from(step));
        assert!(turned.turned_s <= flying_s(&by_hand, NADIR), "turned by {}", 15 * step);
    }
    let WindAdvice::Stay(WhyStripsStay::NothingToGain { saved_s }) = advice(&followed, NADIR) else {
        panic!("turned strips are turned again");
    };
    assert!(saved_s < WORTH_RATIO * turned.turned_s);
}

/// Derived: crossed strips stay crossed: both passes are turned alike.
#[test]
fn all_strips_turn_together() {
    let mut site = level_site(&[(0.0, 0.0), (700.0, 0.0), (700.0, 90.0), (0.0, 90.0)]);
    site.take_off_m = glam::DVec2::new(350.0, 45.0);
    let mut scenario = scenario(site, 60.0);
    let strip = |deg: f64| {
        Pattern::Strips(Strips {
            direction: StripDirection::FromNorth { deg },
            counting: CountingRule::default(),
            begin: BeginAt::default(),
        })
    };
    scenario.conditions.wind = Wind { speed_mps: 3.0, from_deg: Some(45.0) };
    let crossed = scenario.strategies.iter().position(|s| s.id == Id(20)).unwrap();
    for (pass, deg) in scenario.strategies[crossed].passes.iter_mut().zip([45.0, 135.0]) {
        pass.pattern = strip(deg);
    }
    let turned = turn(&scenario, 20);
    let deg = |pass: &Pass| match pass.pattern {
        Pattern::Strips(Strips { direction: StripDirection::FromNorth { deg }, .. }) => deg,
        _ => panic!("a pass changed its pattern"),
    };
    let apart = (deg(&turned.passes[1]) - deg(&turned.passes[0])).rem_euclid(180.0);
    assert_eq!(apart, 90.0);
    assert_eq!(deg(&turned.passes[0]), (45.0 + turned.turned_deg + 180.0).rem_euclid(360.0) - 180.0);
}

/// Derived: without wind nothing is advised, and a strategy without strips has nothing to turn.
#[test]
fn nothing_is_advised_without_wind_or_strips() {
    assert_eq!(advice(&field(0.0, 0.0, 0.0), NADIR), WindAdvice::Stay(WhyStripsStay::NoWind));
    let mut orbit = field(4.0, 0.0, 0.0);
    let pass = &mut orbit.strategies[0].passes[0];
    pass.pattern = Pattern::Orbit(Orbit {
        around: OrbitCentre::Point { x_m: 0.0, y_m: 0.0 },
        radius: OrbitRadius::Set { m: 60.0 },
        rings: Rings::At { heights_m: vec![40.0] },
        target_height_m: 0.0,
    });
    assert_eq!(advice(&orbit, NADIR), WindAdvice::Stay(WhyStripsStay::NoStrips));
}

/// Derived: wind as fast as the aircraft's airspeed lets no direction be flown.
#[test]
fn a_gale_is_told() {
    assert_eq!(advice(&field(15.0, 10.0, 0.0), NADIR), WindAdvice::Stay(WhyStripsStay::NotFlyable));
}
