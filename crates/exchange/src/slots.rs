//! Which colour a strategy has: one that it keeps through renaming, reordering, removal of others, undo, saving and reopening.

use obliquity_planning::{Colour, Id, Scenario};
use std::collections::BTreeMap;

/// Places in the list of colours that no two strategies share while there are no more than these.
const SLOTS: usize = Colour::COUNT as usize;

/// The colours of a scenario's strategies: those that it names, and for the others, in the order of their identifiers, the one
/// that is used the least.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Slots {
    given: BTreeMap<Id, usize>,
}

impl Slots {
    /// The colours of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        let strategies = || scenario.strategies.iter();
        let named = strategies().filter_map(|strategy| Some((strategy.id, strategy.colour?.slot())));
        let mut given: BTreeMap<Id, usize> = named.collect();
        let mut others: Vec<Id> = strategies().map(|strategy| strategy.id).collect();
        others.retain(|id| !given.contains_key(id));
        others.sort_unstable();
        for id in others {
            let used = |slot: &usize| given.values().filter(|given| *given == slot).count();
            let slot = (0..SLOTS).min_by_key(used).unwrap_or(0);
            given.insert(id, slot);
        }
        Slots { given }
    }

    /// The place of a strategy's colour in the list of colours; 0 for one that is not in the scenario.
    pub fn slot(&self, id: Id) -> usize {
        self.given.get(&id).copied().unwrap_or(0)
    }

    /// Names the colour of every strategy of a scenario whose list has changed: those that were there keep theirs.
    pub fn keep(&self, scenario: &mut Scenario) {
        for strategy in &mut scenario.strategies {
            strategy.colour = self.given.get(&strategy.id).map(|&slot| Colour::of_slot(slot));
        }
        let all = Slots::of(scenario);
        for strategy in &mut scenario.strategies {
            strategy.colour = Some(Colour::of_slot(all.slot(strategy.id)));
        }
    }
}
