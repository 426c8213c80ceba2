//! Every strategy at its own best.

use super::quiet::Quiet;
use super::tune::{ToSpare, TuneAsk, TuneNews, TuneResult, Tuned};
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
    /// Sets every strategy to its own best, searching what [`super::Free::usual`] says.
    ///
    /// `told` hears what each search tells while it goes on, and of which strategy it is.
    ///
    /// # Errors
    /// As [`Evaluator::tune`].
    pub fn each_at_best(
        &self,
        scenario: &Scenario,
        objective: MeasureId,
        to_spare: ToSpare,
        told: &dyn Fn(Id, TuneNews<'_>),
    ) -> Result<EachAtBest, Stopped> {
        let mut best = EachAtBest { scenario: scenario.clone(), tuned: Vec::new() };
        let total = scenario.strategies.len() as u64;
        for (done, strategy) in (0..).zip(&scenario.strategies) {
            let watch = Quiet { watch: self.watch, done, total };
            let evaluator = Evaluator { store: self.store, watch: &watch };
            let Some(ask) = TuneAsk::usual(scenario, strategy.id, objective, to_spare) else {
                best.tuned.push(None);
                continue;
            };
            let tuned = evaluator.tune(scenario, &ask, &|news| told(strategy.id, news))?;
            if let Some(looked) = tuned.foremost() {
                let set = ask.set(&mut best.scenario, &looked.values);
                set.map_err(|error| Stopped::Refused(EvaluateError::Setting(error)))?;
            }
            best.tuned.push(Some(tuned));
        }
        Ok(best)
    }
}
