//! The evaluation as the program calls it: one store for the window and its worker.

use crate::worker::{BandsJob, Failure, Job};
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{
    Bands, Depth, Evaluator, Held, Hold, Id, NoWatch, Outcome, Scenario, Stopped, Store, Watch,
};
use std::sync::Arc;

/// Results of stages are kept up to this size.
const STORE_BYTES: usize = 512 << 20;

/// Works out strategies.
#[derive(Debug, Clone)]
pub struct Engine {
    store: Arc<Store>,
}

impl Default for Engine {
    fn default() -> Self {
        Engine { store: Arc::new(Store::new(STORE_BYTES)) }
    }
}

impl Engine {
    /// Works out one strategy to a depth.
    ///
    /// # Errors
    /// [`Failure`] when the watch cancels or the scenario cannot be evaluated.
    pub fn evaluate(
        &self,
        scenario: &Scenario,
        strategy: Id,
        depth: Depth,
        watch: &dyn Watch,
    ) -> Result<Outcome, Failure> {
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.evaluate(scenario, strategy, depth).map_err(failure)
    }

    /// Works out one strategy without coverage: fast enough for a frame.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn quick(&self, scenario: &Scenario, strategy: Id) -> Result<Outcome, Failure> {
        self.evaluate(scenario, strategy, Depth::Quick, &NoWatch)
    }

    /// Finds the distances with which every strategy equals the lead in what is held; fast enough for a frame, except
    /// for time on site.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn hold_equal(&self, scenario: &Scenario, lead: Id, hold: Hold) -> Result<Held, Failure> {
        let evaluator = Evaluator { store: &self.store, watch: &NoWatch };
        evaluator.hold_equal(scenario, lead, hold).map_err(failure)
    }

    /// How sure the time and energy of a strategy are; nothing for one that cannot be flown.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn bands(
        &self,
        scenario: &Scenario,
        strategy: Id,
        watch: &dyn Watch,
    ) -> Result<Option<Bands>, Failure> {
        let evaluator = Evaluator { store: &self.store, watch };
        let outcome = evaluator.evaluate(scenario, strategy, Depth::Quick).map_err(failure)?;
        if !outcome.feasible() {
            return Ok(None);
        }
        evaluator.bands(scenario, &outcome).map(Some).map_err(failure)
    }

    /// What the worker is to run first: bands.
    pub fn bands_job(&self) -> Box<BandsJob> {
        let engine = self.clone();
        Box::new(move |scenario, strategy, watch| engine.bands(scenario, strategy, watch))
    }

    /// Tries other directions for the strips of a strategy in the wind; takes a few quick evaluations.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn wind_advice(&self, scenario: &Scenario, strategy: Id) -> Result<WindAdvice, Failure> {
        let evaluator = Evaluator { store: &self.store, watch: &NoWatch };
        evaluator.wind_advice(scenario, strategy).map_err(failure)
    }

    /// What the worker is to run: everything, coverage included.
    pub fn job(&self) -> Box<Job> {
        let engine = self.clone();
        Box::new(move |scenario, strategy, watch| engine.evaluate(scenario, strategy, Depth::Views, watch))
    }
}

fn failure(stopped: Stopped) -> Failure {
    match stopped {
        Stopped::Cancelled(_) => Failure::Cancelled,
        Stopped::Refused(error) => Failure::Refused(error.to_string()),
    }
}
