//! Rates fitted to processed jobs.

use super::pairs::neighbour_pairs;
use super::work::{CountedWork, processing_hours};
use crate::base::{LEAST_VALUES, RobustCentre, limits, robust_centre};
use crate::scenario::{CalibratedBy, ProcessingStage, RateCalibration, StageRates};
use thiserror::Error;

/// Images that each is taken to be matched with where pairs are not known. Common practice, no source.
pub const USUAL_NEIGHBOURS: u32 = 20;

/// A job as it was processed.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcessedJob {
    /// What it is called.
    pub name: String,
    /// Images.
    pub images: u32,
    /// Pixels of all of them, in 10^9.
    pub gigapixels: f64,
    /// Pairs that were matched, where it is known.
    pub image_pairs: Option<u64>,
    /// Cells of its products, in 10^9: area over the square of the GSD.
    pub giga_cells: f64,
    /// Hours of each stage, in the order of [`ProcessingStage::ALL`], where they are known.
    pub stage_h: [Option<f64>; 7],
    /// Hours of all stages, where it is known.
    pub total_h: Option<f64>,
}

impl ProcessedJob {
    /// What the stages had to do; pairs that are not logged are taken as those of [`USUAL_NEIGHBOURS`].
    fn work(&self) -> CountedWork {
        CountedWork {
            images: self.images,
            gigapixels: self.gigapixels,
            image_pairs: self.image_pairs.unwrap_or(neighbour_pairs(self.images, USUAL_NEIGHBOURS)),
            surface_gigapoints: self.giga_cells,
            orthomosaic_gigapixels: self.giga_cells,
        }
    }

    /// Hours that it took over those that rates reckon for it: of all stages, or of those that are known.
    ///
    /// # Units
    /// - returns: 1 as reckoned; nothing where rates reckon none
    pub fn hours_ratio(&self, rates: &StageRates) -> Option<f64> {
        let reckoned = processing_hours(&self.work(), rates);
        let of_stages = || {
            let known = ProcessingStage::ALL.into_iter().zip(self.stage_h);
            let known = known.filter_map(|(stage, hours)| Some((hours?, reckoned.of(stage))));
            known.fold((0.0, 0.0), |(took, all), (hours, own)| (took + hours, all + own))
        };
        let (took_h, reckoned_h) =
            self.whole_h().map_or_else(of_stages, |whole_h| (whole_h, reckoned.total_h()));
        Some(took_h / reckoned_h).filter(|ratio| ratio.is_finite() && *ratio > 0.0)
    }

    /// Hours of all stages: as they are logged, or added up where each is.
    fn whole_h(&self) -> Option<f64> {
        self.total_h.or_else(|| self.stage_h.iter().copied().sum())
    }
}

/// A factor on hours, fitted to jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedFactor {
    /// The factor.
    pub factor: f64,
    /// It is this many times as large or small at the ends of its interval, which holds in 95 of 100 logs; 1 or more.
    pub within: f64,
    /// The same for the next single job.
    pub next_within: f64,
    /// Jobs that it is fitted to.
    pub jobs: usize,
    /// Places in the log of those that do not count, far from all others.
    pub left_out: Vec<usize>,
}

/// Rates fitted to jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedRates {
    /// What to reckon with: fitted where jobs tell, as assumed elsewhere.
    pub rates: StageRates,
    /// For each stage, in the order of [`ProcessingStage::ALL`], the rate as fitted; nothing where too few jobs tell it.
    pub stages: [Option<FittedFactor>; 7],
    /// Total hours over those reckoned: with the assumed rates where no stage is fitted, and then all rates are multiplied by it;
    /// else with [`FittedRates::rates`], as a check. Nothing where too few totals are known.
    pub whole: Option<FittedFactor>,
    /// Jobs in the log.
    pub jobs: usize,
}

impl FittedRates {
    /// Whether stage times are known well enough to tell stages apart.
    pub fn tells_stages(&self) -> bool {
        self.stages.iter().any(Option::is_some)
    }

    /// What is kept of it beside rates that are put into a scenario, which may be rounded.
    pub fn record(&self, set: StageRates) -> RateCalibration {
        let (jobs, within_factor) = self.sureness();
        let by = if self.tells_stages() { CalibratedBy::StageHours } else { CalibratedBy::TotalHours };
        // written to three decimals, upward: an interval is not told narrower than it is
        let within_factor = limits::WITHIN_FACTOR.nearest((1000.0 * within_factor).ceil() / 1000.0);
        RateCalibration { jobs: jobs as u32, within_factor, by, stages: set }
    }

    /// Jobs that what is told of hours rests on, and within which factor: that of all hours where totals are known, else of the
    /// stage that is least sure.
    ///
    /// # Units
    /// - returns: a count of jobs, and a factor of 1 or more
    pub fn sureness(&self) -> (usize, f64) {
        let least_sure = self.stages.iter().flatten().max_by(|a, b| a.within.total_cmp(&b.within));
        self.whole.as_ref().or(least_sure).map_or((0, f64::INFINITY), |of| (of.jobs, of.within))
    }
}

/// Why no rates can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum FitError {
    /// Too few jobs tell their hours.
    #[error(
        "at least {least} jobs with their total hours, or with the hours of one and the same stage, are needed, but the most that \
         tell either are {most}; log more of them"
    )]
    TooFew {
        /// Needed.
        least: usize,
        /// There are.
        most: usize,
    },
}

/// Fits rates to processed jobs.
///
/// Where at least six jobs tell the hours of a stage, its rate is the middle of hours over counted work, in logarithms:
/// machines are off by factors. Where no stage is told so often, one factor on all assumed rates is fitted to total hours.
///
/// # Units
/// - `assumed`: what holds where jobs do not tell
/// - returns: hours for each unit of counted work
///
/// # Errors
/// [`FitError::TooFew`] where neither totals nor a stage are told of six jobs.
///
/// # References
/// Derived; the middle is that of [`robust_centre`]. That errors are factors is common practice, no source.
pub fn fit_rates(jobs: &[ProcessedJob], assumed: &StageRates) -> Result<FittedRates, FitError> {
    let mut rates = *assumed;
    let stages = ProcessingStage::ALL.map(|stage| {
        let fitted = fitted(&told_of(jobs, stage))?;
        rates = rates.with(stage, fitted.factor);
        Some(fitted)
    });
    let whole = fitted(&totals(jobs, &rates));
    let of_stages = stages.iter().any(Option::is_some);
    if let Some(whole) = whole.as_ref().filter(|_| !of_stages) {
        rates = ProcessingStage::ALL
            .into_iter()
            .fold(*assumed, |rates, stage| rates.with(stage, assumed.of(stage) * whole.factor));
    } else if !of_stages {
        let told = ProcessingStage::ALL.map(|stage| told_of(jobs, stage).len());
        let most = told.into_iter().chain([totals(jobs, assumed).len()]).max().unwrap_or(0);
        return Err(FitError::TooFew { least: LEAST_VALUES, most });
    }
    Ok(FittedRates { rates, stages, whole, jobs: jobs.len() })
}

/// Hours of a stage over its counted work, of the jobs that tell both.
fn told_of(jobs: &[ProcessedJob], stage: ProcessingStage) -> Vec<(usize, f64)> {
    let of = |job: &ProcessedJob| {
        if stage == ProcessingStage::Matching && job.image_pairs.is_none() {
            return None;
        }
        let place = ProcessingStage::ALL.iter().position(|other| *other == stage)?;
        Some(job.stage_h[place]? / job.work().amount(stage))
    };
    told(jobs, of)
}

/// Total hours over those reckoned.
fn totals(jobs: &[ProcessedJob], rates: &StageRates) -> Vec<(usize, f64)> {
    told(jobs, |job| Some(job.whole_h()? / processing_hours(&job.work(), rates).total_h()))
}

/// What jobs tell that is a positive number, with their places.
fn told(jobs: &[ProcessedJob], of: impl Fn(&ProcessedJob) -> Option<f64>) -> Vec<(usize, f64)> {
    let ratios = jobs.iter().enumerate().filter_map(|(at, job)| Some((at, of(job)?)));
    ratios.filter(|(_, ratio)| ratio.is_finite() && *ratio > 0.0).collect()
}

fn fitted(ratios: &[(usize, f64)]) -> Option<FittedFactor> {
    let logs: Vec<f64> = ratios.iter().map(|(_, ratio)| ratio.ln()).collect();
    let RobustCentre { centre, half_width, next_half_width, left_out } = robust_centre(&logs)?;
    Some(FittedFactor {
        factor: centre.exp(),
        within: half_width.exp(),
        next_within: next_half_width.exp(),
        jobs: ratios.len(),
        left_out: left_out.into_iter().map(|k| ratios[k].0).collect(),
    })
}
