//! Time, sorties and batteries of random scenarios.

use crate::generate::{self, Dice};
use obliquity_planning::wind::Wind;
use obliquity_planning::*;
use std::sync::Arc;

/// How many scenarios are looked at: a few, or as many as `OBLIQUITY_SEEDS` says.
#[expect(clippy::disallowed_methods, reason = "a long run is asked for from outside")]
fn seeds(few: u64) -> u64 {
    std::env::var("OBLIQUITY_SEEDS").ok().and_then(|many| many.parse().ok()).unwrap_or(few)
}

/// A random scenario whose batteries last for a few strips only; some passes stop to expose.
fn with_small_batteries(seed: u64) -> Scenario {
    let (mut scenario, mut dice) = (generate::scenario(seed), Dice::new(seed + 1_000_000));
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.airframe.endurance_min = dice.within(4.0, 12.0);
    }
    with_power_curves(&mut scenario, &mut dice);
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        pass.hover_s = dice.chance(0.15).then(|| dice.within(0.5, 3.0));
    }
    scenario
}

/// Half of the aircraft draw what a power curve says.
fn with_power_curves(scenario: &mut Scenario, dice: &mut Dice) {
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        let top_speed_mps = aircraft.airframe.top_speed_mps;
        aircraft.airframe.top_airspeed_mps = dice.chance(0.5).then(|| top_speed_mps + dice.within(0.0, 6.0));
        aircraft.airframe.energy = dice.chance(0.5).then(|| Energy {
            battery_wh: dice.within(50.0, 300.0),
            endurance_at_mps: dice.within(0.0, top_speed_mps),
            hover_min: None,
            top_speed_min: None,
            mass_kg: dice.within(0.9, 6.0),
            rotors: 4,
            rotor_diameter_m: dice.within(0.2, 0.5),
            health: 1.0,
            cold_loss_per_c: 0.01,
        });
    }
}

/// Every strategy of a scenario, with what it is evaluated by.
fn each(scenario: &Scenario, mut look: impl FnMut(&Outcome, &Evaluator<'_>)) {
    let store = Store::new(1 << 24);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for outcome in evaluator.evaluate_all(scenario, Depth::Quick).expect("a sound scenario") {
        look(&outcome, &evaluator);
    }
}

/// Derived: a strategy whose batteries are too small is refused with a reason; of all others no sortie draws more than the
/// battery gives above its reserve, but for the rounding of sums of some hundred terms.
#[test]
fn no_sortie_ends_below_its_reserve() {
    let (mut flown, mut refused) = (0, 0);
    for seed in 0..seeds(100) {
        each(&with_small_batteries(seed), |outcome, _| {
            let over = |sortie: &Sortie| sortie.energy_j > sortie.usable_j * (1.0 + 1e-12);
            match outcome.flight() {
                Some(flight) => {
                    flown += flight.sorties.len();
                    assert!(!flight.sorties.iter().any(over), "seed {seed}: {}", outcome.name);
                }
                None => refused += 1,
            }
        });
    }
    assert!(flown > 1000 && refused > 0, "{flown} sorties, {refused} strategies refused");
}

/// Derived: nor does a sortie of any draw.
#[test]
fn no_draw_ends_below_its_reserve() {
    for seed in 0..seeds(20) {
        let scenario = with_small_batteries(seed);
        each(&scenario, |outcome, evaluator| {
            if let Some(bands) = drawn(&scenario, outcome, evaluator) {
                let fullest = bands.fullest_ratio;
                assert!((0.1..=1.0 + 1e-12).contains(&fullest), "seed {seed}: {}: {fullest}", outcome.name);
            }
        });
    }
}

/// How sure time and energy of a strategy are; nothing where it cannot be flown.
fn drawn(scenario: &Scenario, outcome: &Outcome, evaluator: &Evaluator<'_>) -> Option<Arc<Bands>> {
    let drawn = evaluator.evaluate(scenario, outcome.strategy, Depth::Spread).expect("not cancelled");
    drawn.timing.and_then(|timing| timing.bands)
}

/// The figures of a prediction outside its band, by their names.
fn outside(scenario: &Scenario, outcome: &Outcome, evaluator: &Evaluator<'_>) -> Vec<&'static str> {
    let Some(Timing { flight, time, .. }) = &outcome.timing else { return Vec::new() };
    let bands = drawn(scenario, outcome, evaluator).expect("can be flown");
    let figures = [
        ("on site", bands.time_on_site_s, time.time_on_site_s()),
        ("flight", bands.flight_s, time.flight_s),
        ("sorties", bands.sorties, flight.sorties.len() as f64),
        ("energy", bands.energy_j, flight.energy_j()),
    ];
    let is_outside = |(_, band, planned): &(_, Band, f64)| *planned < band.p10 || *planned > band.p90;
    figures.into_iter().filter(is_outside).map(|(what, ..)| what).collect()
}

/// Derived: a prediction lies inside its own band, or the band is wrong; with the wind's direction unknown, known, and without
/// any wind. Two things may put a flight or its energy just outside, in one of a hundred strategies: sorties that happen to end
/// nearly empty, so that almost every draw breaks strips off earlier and flies a way home more; and a wind in which the
/// aircraft happens to draw least, so that more and less of it draw more. Without them it lies inside again.
#[test]
fn predictions_lie_within_their_bands() {
    let (mut flown, mut packed) = (0, Vec::new());
    for seed in 0..seeds(60) {
        let (mut scenario, mut dice) = (generate::scenario(seed), Dice::new(seed + 2_000_000));
        with_power_curves(&mut scenario, &mut dice);
        if seed % 6 == 5 {
            scenario.conditions.wind = Wind::STILL;
        } else if seed % 3 == 1 {
            let (speed_mps, from_deg) = (dice.within(0.0, 7.0), dice.within(0.0, 360.0));
            scenario.conditions.wind = Wind { speed_mps, from_deg: Some(from_deg) };
        }
        each(&scenario, |outcome, evaluator| {
            flown += u64::from(outcome.feasible());
            let outside = outside(&scenario, outcome, evaluator);
            let told = format!("seed {seed}, {}: {outside:?}", outcome.name);
            assert!(!outside.contains(&"on site") && !outside.contains(&"sorties"), "{told}");
            if !outside.is_empty() {
                assert_eq!(outside_without_both(&scenario, outcome), Vec::<&str>::new(), "{told}");
                packed.push(told);
            }
        });
    }
    assert!(flown > 100 && packed.len() as u64 * 100 <= flown, "{} of {flown}: {packed:?}", packed.len());
}

/// As [`outside`], with one battery for everything and the wind that the prediction is flown in.
fn outside_without_both(scenario: &Scenario, outcome: &Outcome) -> Vec<&'static str> {
    let mut scenario = scenario.clone();
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.airframe.endurance_min *= 1000.0;
        if let Some(energy) = &mut aircraft.airframe.energy {
            energy.battery_wh *= 1000.0;
        }
    }
    let conditions = &mut scenario.conditions;
    conditions.wind = outcome.flight().map_or(Wind::STILL, |flight| flight.wind);
    (conditions.spread.wind_mps, conditions.spread.wind_deg) = (0.0, 0.0);
    let store = Store::new(1 << 24);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let alone = evaluator.evaluate(&scenario, outcome.strategy, Depth::Quick).expect("a sound scenario");
    outside(&scenario, &alone, &evaluator)
}

/// Derived: one battery set more is flown no later: each sortie finds its set charged at least as early.
#[test]
fn more_battery_sets_never_make_a_longer_stay() {
    let mut shorter = 0;
    for seed in 0..seeds(40) {
        let (mut scenario, mut dice) = (with_small_batteries(seed), Dice::new(seed + 3_000_000));
        scenario.conditions.charging = dice.chance(0.8).then(|| Charging {
            supply: Supply::Generator,
            charge_min: dice.within(10.0, 90.0),
            at_once: dice.whole(1, 3),
        });
        let mut before: Vec<Option<f64>> = Vec::new();
        for battery_sets in 1..8 {
            scenario.conditions.battery_sets = battery_sets;
            let mut now = Vec::new();
            each(&scenario, |outcome, _| {
                now.push(outcome.timing.as_ref().map(|timing| timing.time.time_on_site_s()));
            });
            for (less, more) in before.iter().zip(&now) {
                if let (Some(less_s), Some(more_s)) = (less, more) {
                    // the last bits of sums of some hundred terms
                    assert!(
                        *more_s <= less_s * (1.0 + 1e-12),
                        "seed {seed}, {battery_sets} sets: {less_s} {more_s}"
                    );
                    shorter += u32::from(*more_s < less_s - 1.0);
                }
            }
            before = now;
        }
    }
    assert!(shorter > 10, "{shorter}");
}
