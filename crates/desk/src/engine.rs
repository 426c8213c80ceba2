//! The evaluation as the program calls it: one store for the window and its worker.

use crate::lane::QuickJob;
use crate::worker::{Failure, Job};
use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{
    Depth, Evaluator, Held, Hold, Id, NoWatch, Outcome, Scenario, Stopped, Store, Watch,
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

    /// Finds the distances with which every strategy equals the lead in what is held: at once, except for time on site.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn hold_equal(
        &self,
        scenario: &Scenario,
        lead: Id,
        hold: Hold,
        watch: &dyn Watch,
    ) -> Result<Held, Failure> {
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.hold_equal(scenario, lead, hold).map_err(failure)
    }

    /// Tries other directions for the strips of a strategy in the wind; takes a few quick evaluations.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn wind_advice(
        &self,
        scenario: &Scenario,
        strategy: Id,
        watch: &dyn Watch,
    ) -> Result<WindAdvice, Failure> {
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.wind_advice(scenario, strategy).map_err(failure)
    }

    /// Begins the passes of strips of a strategy at other corners; takes some quick evaluations and two with coverage.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn corner_advice(
        &self,
        scenario: &Scenario,
        strategy: Id,
        watch: &dyn Watch,
    ) -> Result<CornerAdvice, Failure> {
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.corner_advice(scenario, strategy, Depth::Views).map_err(failure)
    }

    /// What the lane is to run: everything but coverage.
    pub fn quick_job(&self) -> Box<QuickJob> {
        let engine = self.clone();
        Box::new(move |scenario, strategy| engine.quick(scenario, strategy).map_err(|why| why.to_string()))
    }

    /// What the worker is to run.
    pub fn job(&self) -> Box<Job> {
        let engine = self.clone();
        Box::new(move |scenario, strategy, depth, watch| engine.evaluate(scenario, strategy, depth, watch))
    }
}

fn failure(stopped: Stopped) -> Failure {
    match stopped {
        Stopped::Cancelled(_) => Failure::Cancelled,
        Stopped::Refused(error) => Failure::Refused(error.to_string()),
    }
}
