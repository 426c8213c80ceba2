//! Time, sorties and batteries of random scenarios.

use crate::generate::{self, Dice};
use obliquity_planning::*;
use std::sync::Arc;

/// Scenarios looked at.
const SEEDS: u64 = 120;

/// A random scenario whose batteries last for a few strips only; some passes stop to expose.
fn with_small_batteries(seed: u64) -> Scenario {
    let (mut scenario, mut dice) = (generate::scenario(seed), Dice::new(seed + 1_000_000));
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.airframe.endurance_min = dice.within(4.0, 12.0);
    }
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        pass.hover_s = dice.chance(0.15).then(|| dice.within(0.5, 3.0));
    }
    scenario
}

/// Every strategy that can be laid out, with what it is evaluated by.
fn each(scenario: &Scenario, mut look: impl FnMut(&Outcome, &Evaluator<'_>)) {
    let store = Store::new(1 << 24);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for strategy in &scenario.strategies {
        if let Ok(outcome) = evaluator.evaluate(scenario, strategy.id, Depth::Quick) {
            look(&outcome, &evaluator);
        }
    }
}

/// Derived: a strategy whose batteries are too small is refused with a reason; of all others no sortie draws more than the
/// battery gives above its reserve, but for the rounding of sums of some hundred terms.
#[test]
fn no_sortie_ends_below_its_reserve() {
    let (mut flown, mut refused) = (0, 0);
    for seed in 0..SEEDS {
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
