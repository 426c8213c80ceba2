//! The evaluation as the program calls it: one store for the window and its jobs.

use crate::long;
use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::cross_section::{CrossSection, Cut, NoCut};
use obliquity_planning::knob::Dial;
use obliquity_planning::lesson::{Lesson, StepFigures};
use obliquity_planning::money::Portfolio;
use obliquity_planning::purchase::{Flights, FlightsOf, Purchase};
use obliquity_planning::what_if::{ControlTrial, Nudged, SweepPoint, TuneAsk, TuneNews, Tuned};
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{
    Depth, Evaluator, HeldEqual, Hold, Id, NoWatch, Outcome, Scenario, Stopped, Store, Watch,
};
use std::sync::{Arc, LazyLock};

/// Results of stages are kept up to this size.
const STORE_BYTES: usize = 512 << 20;

/// The same, for what tries many settings.
const ASIDE_BYTES: usize = 192 << 20;

/// Threads of their own for the adjustment of blocks: what a frame asks of the shared ones would wait behind it for seconds.
static ADJUSTERS: LazyLock<Option<rayon::ThreadPool>> = LazyLock::new(|| {
    let threads = rayon::ThreadPoolBuilder::new().thread_name(|number| format!("adjusting {number}"));
    threads.build().ok()
});

/// Does work on those threads; on the shared ones where the system gives no more.
fn apart<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    match &*ADJUSTERS {
        Some(threads) => threads.install(work),
        None => work(),
    }
}

/// Why a strategy was not worked out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Failure {
    /// It was no longer wanted.
    #[error("cancelled")]
    Cancelled,
    /// The scenario cannot be evaluated; the sentence for people.
    #[error("{0}")]
    Refused(String),
}

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
    /// An engine with a store of its own, for what tries so many settings that nothing else would be left in a shared one.
    pub fn aside() -> Self {
        Engine { store: Arc::new(Store::new(ASIDE_BYTES)) }
    }

    /// All strategies with an input at one value.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn sweep_point(
        &self,
        scenario: &Scenario,
        (dial, value): (&Dial, f64),
        depth: Depth,
        watch: &dyn Watch,
    ) -> Result<SweepPoint, Failure> {
        long::begins("a point of a sweep");
        let evaluator = Evaluator { store: &self.store, watch };
        let point = || evaluator.sweep_point(scenario, dial, value, depth);
        if depth > Depth::Views { apart(point) } else { point() }.map_err(failure)
    }

    /// All strategies with an input at each of some values, side by side.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn sweep(
        &self,
        scenario: &Scenario,
        (dial, values): (&Dial, &[f64]),
        depth: Depth,
        watch: &dyn Watch,
    ) -> Result<Vec<SweepPoint>, Failure> {
        long::begins("a sweep");
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.sweep(scenario, dial, values, depth).map_err(failure)
    }

    /// All strategies with an input at each of some values, with coverage from fewer samples.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn first_look(
        &self,
        scenario: &Scenario,
        (dial, values): (&Dial, &[f64]),
        watch: &dyn Watch,
    ) -> Result<Vec<SweepPoint>, Failure> {
        long::begins("a first look at a sweep");
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.first_look(scenario, dial, values).map_err(failure)
    }

    /// Searches the settings of a strategy; `told` hears of each that stands before all until then, and how far it is.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn tune(
        &self,
        scenario: &Scenario,
        ask: &TuneAsk,
        told: &dyn Fn(TuneNews<'_>),
        watch: &dyn Watch,
    ) -> Result<Tuned, Failure> {
        long::begins("a search");
        Evaluator { store: &self.store, watch }.tune(scenario, ask, told).map_err(failure)
    }

    /// What is expected of a strategy with each of some numbers of control points.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn control_trials(
        &self,
        scenario: &Scenario,
        strategy: Id,
        (counts, depth): (&[u32], Depth),
        watch: &dyn Watch,
    ) -> Result<Vec<ControlTrial>, Failure> {
        long::begins("numbers of control points");
        let evaluator = Evaluator { store: &self.store, watch };
        apart(|| evaluator.control_trials(scenario, strategy, (counts, depth))).map_err(failure)
    }

    /// How every aircraft of a portfolio flies its jobs, and the fleets held against each other.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn purchase(
        &self,
        portfolio: &Portfolio,
        scenarios: &[Scenario],
        watch: &dyn Watch,
    ) -> Result<Purchase, Failure> {
        long::begins("a purchase");
        Evaluator { store: &self.store, watch }.purchase(portfolio, scenarios).map_err(failure)
    }

    /// What a step of a lesson asks, with its input moved to `moved`, if that is given.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn lesson_step(
        &self,
        lesson: &Lesson,
        step: usize,
        moved: Option<f64>,
        watch: &dyn Watch,
    ) -> Result<StepFigures, Failure> {
        long::begins("a step of a lesson");
        Evaluator { store: &self.store, watch }.lesson_step(lesson, step, moved).map_err(failure)
    }

    /// How every aircraft of a portfolio flies each kind of job: the part of [`Engine::purchase`] that takes long. What is known from
    /// earlier is not flown anew.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn flights(
        &self,
        of: &FlightsOf,
        scenarios: &[Scenario],
        earlier: Option<&Flights>,
        watch: &dyn Watch,
    ) -> Result<Flights, Failure> {
        long::begins("flights of a portfolio");
        Evaluator { store: &self.store, watch }.flights_after(of, scenarios, earlier).map_err(failure)
    }

    /// Every input of a strategy alone, a step lower and a step higher.
    ///
    /// # Errors
    /// As [`Engine::evaluate`].
    pub fn nudges(
        &self,
        scenario: &Scenario,
        strategy: Id,
        depth: Depth,
        watch: &dyn Watch,
    ) -> Result<Vec<Nudged>, Failure> {
        long::begins("what matters");
        Evaluator { store: &self.store, watch }.nudges(scenario, strategy, depth).map_err(failure)
    }

    /// Cuts through the site along a strip of a pass or a line.
    ///
    /// # Errors
    /// As [`Engine::evaluate`]; within, why there is nothing to cut.
    pub fn cross_section(
        &self,
        scenario: &Scenario,
        which: (Id, Id),
        cut: Cut,
        watch: &dyn Watch,
    ) -> Result<Result<CrossSection, NoCut>, Failure> {
        long::begins("a cut");
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.cross_section(scenario, which, cut).map_err(failure)
    }

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
        if depth > Depth::Quick {
            long::begins(match depth {
                Depth::Quick | Depth::Spread => "bands",
                Depth::Views => "coverage",
                Depth::Preview | Depth::Network => "a block",
            });
        }
        let evaluator = Evaluator { store: &self.store, watch };
        if depth > Depth::Views {
            return apart(|| evaluator.evaluate(scenario, strategy, depth)).map_err(failure);
        }
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
    ) -> Result<HeldEqual, Failure> {
        long::begins("what is held equal");
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
        long::begins("advice on the wind");
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
        long::begins("advice on corners");
        let evaluator = Evaluator { store: &self.store, watch };
        evaluator.corner_advice(scenario, strategy, Depth::Views).map_err(failure)
    }
}

pub(crate) fn failure(stopped: Stopped) -> Failure {
    match stopped {
        Stopped::Cancelled(_) => Failure::Cancelled,
        Stopped::Refused(error) => Failure::Refused(error.to_string()),
    }
}
