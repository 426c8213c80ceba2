//! Every strategy at its own best.

use super::grid::{Free, SearchOf};
use super::quiet::Quiet;
use super::tune::{Looked, ToSpare, TuneAsk, TuneResult, Tuned};
use crate::base::Id;
use crate::evaluate::{EvaluateError, Evaluator, Stopped};
use crate::result::MeasureId;
use crate::scenario::Scenario;

/// What every strategy comes to where each is set as well as it can be.
#[derive(Debug, Clone, PartialEq)]
pub struct EachAtBest {
    /// The scenario, each strategy at its best or, where nothing meets, at what comes nearest.
    pub scenario: Scenario,
    /// What was found, in the scenario's order; nothing of a strategy that has nothing to set.
    pub tuned: Vec<Option<Tuned>>,
}

impl EachAtBest {
    /// The strategies of which no setting meets the requirement.
    pub fn out_of_reach(&self) -> Vec<Id> {
        let fails = self.scenario.strategies.iter().zip(&self.tuned).filter(|(_, tuned)| {
            tuned.as_ref().is_some_and(|tuned| !matches!(tuned.found, TuneResult::Best(_)))
        });
        fails.map(|(strategy, _)| strategy.id).collect()
    }
}

impl Evaluator<'_> {
    /// Sets every strategy to its own best, searching what [`Free::usual`] says.
    ///
    /// `told` hears of every setting that is better than all before, and of which strategy it is.
    ///
    /// # Errors
    /// As [`Evaluator::tune`].
    pub fn each_at_best(
        &self,
        scenario: &Scenario,
        objective: MeasureId,
        to_spare: ToSpare,
        told: &dyn Fn(Id, &Looked),
    ) -> Result<EachAtBest, Stopped> {
        let mut best = EachAtBest { scenario: scenario.clone(), tuned: Vec::new() };
        let total = scenario.strategies.len() as u64;
        for (done, strategy) in (0..).zip(&scenario.strategies) {
            let watch = Quiet { watch: self.watch, done, total };
            let evaluator = Evaluator { store: self.store, watch: &watch };
            let usual = Free::usual(scenario, strategy.id).into_iter();
            let free: Vec<Free> =
                usual.filter(|(_, search)| *search == SearchOf::Free).map(|(free, _)| free).collect();
            if free.is_empty() {
                best.tuned.push(None);
                continue;
            }
            let ask = TuneAsk { strategy: strategy.id, free, objective, to_spare };
            let tuned = evaluator.tune(scenario, &ask, &|looked| told(strategy.id, looked))?;
            if let TuneResult::Best(looked) | TuneResult::Nearest(looked) = &tuned.found {
                let set = ask.set(&mut best.scenario, &looked.values);
                set.map_err(|error| Stopped::Refused(EvaluateError::Setting(error)))?;
            }
            best.tuned.push(Some(tuned));
        }
        Ok(best)
    }
}
