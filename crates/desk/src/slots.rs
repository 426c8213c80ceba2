//! Which colour a strategy has: a slot that it keeps through renaming, reordering, removal of others and undo.

use obliquity_planning::{Id, Scenario};
use std::collections::BTreeMap;

/// Slots that no two strategies share while there are no more than these.
const SLOTS: usize = crate::strategies::MOST_STRATEGIES;

/// The slots given so far in a session. A scenario that is opened gets them in the order of its identifiers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Slots {
    given: BTreeMap<Id, usize>,
}

impl Slots {
    /// The slots of a scenario that nobody has worked on yet.
    pub fn of(scenario: &Scenario) -> Self {
        let mut slots = Slots::default();
        slots.follow(scenario);
        slots
    }

    /// Gives a slot to every strategy that has none: the one that is used the least, strategies that are gone counted
    /// only after those that are there.
    pub fn follow(&mut self, scenario: &Scenario) {
        let mut ids: Vec<Id> = scenario.strategies.iter().map(|strategy| strategy.id).collect();
        ids.sort_unstable();
        for id in ids {
            if self.given.contains_key(&id) {
                continue;
            }
            let used = |slot: &usize| {
                let holders = || self.given.iter().filter(|(_, given)| *given == slot);
                (holders().filter(|(id, _)| scenario.strategy(**id).is_some()).count(), holders().count())
            };
            let slot = (0..SLOTS).min_by_key(used).unwrap_or(0);
            self.given.insert(id, slot);
        }
    }

    /// The slot of a strategy; 0 for one that was never followed.
    pub fn slot(&self, id: Id) -> usize {
        self.given.get(&id).copied().unwrap_or(0)
    }
}
