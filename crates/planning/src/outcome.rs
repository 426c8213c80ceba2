use crate::light::{ExposureFigures, LightFigures, NoExposure, NoLight};
use crate::{
    ByClass, Caution, Flight, GsdSpread, Id, Judgement, PassPlan, SiteModel, SurfaceClass, ViewFigures,
};
use std::sync::Arc;

/// How much is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Depth {
    /// Route, count, nominal GSD, time and load without pairs: follows a slider.
    Quick,
    /// Adds samples, sight, coverage, GSD spread, rose and pairs.
    Views,
}

/// Everything predicted for one strategy.
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
    /// Why it cannot be flown as set; empty when it can. Figures are given all the same.
    pub reasons: Vec<String>,
    /// Whether the figures rest on assumed buildings.
    pub assumed: bool,
    /// In flying order.
    pub passes: Vec<PassOutcome>,
    /// The clock.
    pub flight: Arc<Flight>,
    /// What the time on site is made of.
    pub time: TimeTerms,
    /// Images taken.
    pub image_count: u32,
    /// Exposures not taken because they would show nothing of the site.
    pub skipped_exposures: u32,
    /// Card space, in gigabytes (10^9 bytes).
    pub storage_gb: f64,
    /// What processing has to do.
    pub load: LoadFigures,
    /// What the surfaces get; from [`Depth::Views`] on.
    pub views: Option<Arc<ViewFigures>>,
    /// The site as sampled, that `views` refers to.
    pub site: Option<Arc<SiteModel>>,
    /// The light while it is flown, or why nothing is said about it.
    pub light: Result<LightFigures, NoLight>,
    /// The exposure time that the light asks for and the blur limit used, or why the camera's own stands.
    pub exposure: Result<ExposureFigures, NoExposure>,
    /// What to mind.
    pub cautions: Vec<Caution>,
    /// The requirement, line by line.
    pub judgements: Vec<Judgement>,
}

/// One pass of an outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct PassOutcome {
    /// The plan.
    pub plan: Arc<PassPlan>,
    /// Images taken on it.
    pub image_count: u32,
    /// Strips, links and turns of this pass.
    pub flight_time_s: f64,
}

/// What the time on site is made of; the terms add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TimeTerms {
    /// Before the first take-off.
    pub set_up_s: f64,
    /// Take-off to landing of all sorties.
    pub flight_s: f64,
    /// Battery changes.
    pub swaps_s: f64,
    /// Waiting for chargers.
    pub waits_s: f64,
    /// Control points.
    pub control_s: f64,
    /// After the last landing.
    pub pack_up_s: f64,
}

impl TimeTerms {
    /// The time on site: the sum of the terms.
    pub fn time_on_site_s(&self) -> f64 {
        self.set_up_s + self.flight_s + self.swaps_s + self.waits_s + self.control_s + self.pack_up_s
    }
}

/// What processing has to do, counted before it is timed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadFigures {
    /// Pixels of all images, in 10^9.
    pub gigapixels: f64,
    /// Pairs of images that overlap enough to be matched; from [`Depth::Views`] on.
    pub image_pairs: Option<u64>,
    /// Hours from the stage rates; needs the pairs.
    pub hours: Option<HourTerms>,
    /// Whether the rates were fitted to logged jobs.
    pub fitted: bool,
}

/// What the processing hours are made of; the terms add up to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourTerms {
    /// Finding features.
    pub features_h: f64,
    /// Matching pairs.
    pub matching_h: f64,
    /// Bundle adjustment.
    pub adjustment_h: f64,
    /// Dense reconstruction.
    pub dense_h: f64,
}

impl HourTerms {
    /// The sum of the terms.
    pub fn total_h(&self) -> f64 {
        self.features_h + self.matching_h + self.adjustment_h + self.dense_h
    }
}

impl Outcome {
    /// Whether the strategy can be flown as set.
    pub fn feasible(&self) -> bool {
        self.reasons.is_empty()
    }

    /// Whether the strategy is known to meet the whole requirement; nothing until coverage is worked out.
    pub fn meets(&self) -> Option<bool> {
        if !self.feasible() {
            return Some(false);
        }
        let missed = self.judgements.iter().any(|j| matches!(j, Judgement::Missed { .. }));
        let unknown = self.judgements.iter().any(|j| matches!(j, Judgement::Unknown { .. }));
        match (missed, unknown) {
            (true, _) => Some(false),
            (false, true) => None,
            (false, false) => Some(true),
        }
    }

    /// What the strategy misses, one sentence each.
    pub fn shortfalls(&self) -> Vec<&str> {
        self.judgements.iter().filter_map(Judgement::shortfall).collect()
    }

    /// Spread of the best GSD on a class; nothing where the site has none or none is seen.
    pub fn gsd(&self, class: SurfaceClass) -> Option<GsdSpread> {
        self.views.as_ref()?.classes[class].as_ref()?.gsd
    }

    /// Coverage of each class that the site has.
    pub fn coverage(&self) -> ByClass<Option<f64>> {
        ByClass::from_fn(|class| {
            self.views.as_ref().and_then(|v| v.classes[class].as_ref()).map(|c| c.covered_ratio)
        })
    }
}
