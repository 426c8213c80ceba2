use crate::base::{ByClass, Id, SurfaceClass};
use crate::flight::{Bands, Flight, Timing};
use crate::ground::SiteModel;
use crate::light::{ExposureFigures, LightFigures, NoExposure, NoLight};
use crate::load::LoadFigures;
use crate::money::JobFigures;
use crate::network::NetworkFigures;
use crate::result::{Caution, Judgement};
use crate::route::{PassPlan, PlanError};
use crate::scenario::PatternKind;
use crate::view::{ClassFigures, GsdSpread, ViewFigures};
use std::sync::Arc;

/// How much is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Depth {
    /// Route, count, nominal GSD, time and load without pairs: follows a slider.
    Quick,
    /// Adds how sure time and energy are, from draws of the flight, and cautions for which the route is walked.
    Spread,
    /// Adds samples, sight, coverage, GSD spread, rose and pairs.
    Views,
    /// Adds a preview of the next, from fewer tie points: its figures lie near those of the whole, accuracy is not judged by them.
    Preview,
    /// Adds what the images would tell if they were adjusted together: which hang together, how well the camera and every
    /// sample come out.
    Network,
}

/// Everything predicted for one strategy: made once, from the results of finished stages, and never changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The strategy.
    pub strategy: Id,
    /// Its name.
    pub name: String,
    /// Its aircraft's name.
    pub aircraft: String,
    /// How much was worked out.
    pub depth: Depth,
    /// Why it cannot be flown as set; empty when it can.
    pub reasons: Vec<String>,
    /// Whether the figures rest on assumed buildings.
    pub assumed: bool,
    /// As they are listed.
    pub passes: Vec<PassOutcome>,
    /// The clock and the batteries; nothing where it cannot be flown.
    pub timing: Option<Timing>,
    /// The light while it is flown, or why nothing is said about it.
    pub light: Result<LightFigures, NoLight>,
    /// The exposure time that the light asks for and the blur limit used, or why the camera's own stands.
    pub exposure: Result<ExposureFigures, NoExposure>,
    /// What the surfaces get; from [`Depth::Views`] on, and nothing where it cannot be flown.
    pub views: Option<Arc<ViewFigures>>,
    /// The site as sampled, that `views` refers to.
    pub site: Option<Arc<SiteModel>>,
    /// What the images would tell if they were adjusted together; from [`Depth::Preview`] on, and nothing where it cannot be flown.
    pub network: Option<Arc<NetworkFigures>>,
    /// What processing has to do; nothing where it cannot be flown.
    pub load: Option<LoadFigures>,
    /// What the job leaves; from [`Depth::Views`] on, where a price is given, and nothing where it cannot be flown.
    pub job: Option<JobFigures>,
    /// What to mind; each thing is looked at from [`Caution::depth`] on.
    pub cautions: Vec<Caution>,
    /// The requirement, line by line.
    pub judgements: Vec<Judgement>,
}

/// One pass of an outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct PassOutcome {
    /// The pass.
    pub pass: Id,
    /// The pattern flown.
    pub pattern: PatternKind,
    /// What was laid out, or why nothing is: then it has no figure at all.
    pub plan: Result<Arc<PassPlan>, PlanError>,
    /// Strips, links and turns of this pass; nothing where the strategy cannot be flown.
    pub flight_time_s: Option<f64>,
}

/// The finished stages of a strategy, as measures and verdicts read them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Finished<'a> {
    /// As they are listed.
    pub(crate) passes: &'a [PassOutcome],
    pub(crate) timing: Option<&'a Timing>,
    pub(crate) views: Option<&'a ViewFigures>,
    pub(crate) network: Option<&'a NetworkFigures>,
    pub(crate) load: Option<&'a LoadFigures>,
    pub(crate) job: Option<&'a JobFigures>,
}

impl<'a> Finished<'a> {
    /// What a class of surface gets; nothing where the site has none, or its views are not worked out.
    pub(crate) fn class(&self, class: SurfaceClass) -> Option<&'a ClassFigures> {
        self.views?.classes[class].as_ref()
    }
}

impl PassOutcome {
    /// What was laid out.
    pub fn laid(&self) -> Option<&PassPlan> {
        self.plan.as_deref().ok()
    }
}

impl Outcome {
    /// Its stages, as measures read them.
    pub(crate) fn finished(&self) -> Finished<'_> {
        Finished {
            passes: &self.passes,
            timing: self.timing.as_ref(),
            views: self.views.as_deref(),
            network: self.network.as_deref(),
            load: self.load.as_ref(),
            job: self.job.as_ref(),
        }
    }

    /// Whether the strategy can be flown as set.
    pub fn feasible(&self) -> bool {
        self.timing.is_some()
    }

    /// The clock; nothing where the strategy cannot be flown.
    pub fn flight(&self) -> Option<&Flight> {
        self.timing.as_ref().map(|timing| &*timing.flight)
    }

    /// How sure time and energy are; from [`Depth::Spread`] on, and nothing where the strategy cannot be flown.
    pub fn bands(&self) -> Option<&Bands> {
        self.timing.as_ref()?.bands.as_deref()
    }

    /// The passes that are laid out.
    pub fn plans(&self) -> impl Iterator<Item = &PassPlan> {
        self.passes.iter().filter_map(PassOutcome::laid)
    }

    /// Whether the strategy is known to meet the whole requirement; nothing until coverage is worked out, and nothing where
    /// something is asked that the site does not model and nothing else is missed.
    pub fn meets(&self) -> Option<bool> {
        if !self.misses_nothing() {
            return Some(false);
        }
        let met = |line: &Judgement| matches!(line, Judgement::Met { .. });
        self.judgements.iter().all(met).then_some(true)
    }

    /// Whether it can be flown and nothing of the requirement is known to be missed.
    pub fn misses_nothing(&self) -> bool {
        self.feasible() && self.missed().next().is_none()
    }

    /// Whether it may still come out as missing something: nothing is missed so far and coverage is not worked out.
    pub fn is_pending(&self) -> bool {
        let unknown = |line: &Judgement| matches!(line, Judgement::Unknown { .. });
        self.misses_nothing() && self.judgements.iter().any(unknown)
    }

    /// The lines of the requirement that are missed.
    pub fn missed(&self) -> impl Iterator<Item = &Judgement> {
        self.judgements.iter().filter(|line| matches!(line, Judgement::Missed { .. }))
    }

    /// Spread of the best GSD on a class; nothing where the site has none or none is seen.
    pub fn gsd(&self, class: SurfaceClass) -> Option<GsdSpread> {
        self.views.as_ref()?.classes[class].as_ref()?.gsd
    }

    /// Coverage of each class that the site has.
    ///
    /// # Units
    /// - returns: shares of the class's area, 0 to 1
    pub fn coverage(&self) -> ByClass<Option<f64>> {
        ByClass::from_fn(|class| {
            self.views.as_ref().and_then(|v| v.classes[class].as_ref()).map(|c| c.covered_ratio)
        })
    }
}
