//! How long processing takes for each unit of work.

use crate::base::wording;
use serde::{Deserialize, Serialize};

/// How long processing takes for each unit of work.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Rates {
    /// Whether the user says that the rates were fitted to logged jobs. Where `calibration` is given, that decides.
    pub fitted: bool,
    /// The logbook that the rates were fitted to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration: Option<RateCalibration>,
    /// Of the machine by itself.
    pub stages: StageRates,
    /// Of somebody at the workstation.
    pub attended: AttendedRates,
}

/// What is kept of a fit of rates to processed jobs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RateCalibration {
    /// Jobs that it rests on.
    pub jobs: u32,
    /// Hours are this many times as many or as few at the ends of their interval of 95 %; 1 or more.
    pub within_factor: f64,
    /// What of the jobs was known.
    pub by: CalibratedBy,
    /// The rates as they were fitted. Others in their place were changed since.
    pub stages: StageRates,
}

/// What of processed jobs their rates were fitted to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CalibratedBy {
    /// Total hours: one factor on all rates.
    TotalHours,
    /// Hours of stages.
    StageHours,
}

impl CalibratedBy {
    /// In words.
    pub fn told(self) -> &'static str {
        match self {
            CalibratedBy::TotalHours => "one factor on all stages",
            CalibratedBy::StageHours => "stage by stage",
        }
    }
}

impl RateCalibration {
    /// "14 jobs, ±18 %".
    pub fn rests_on(&self) -> String {
        format!("{} jobs, {}", wording::count(f64::from(self.jobs)), wording::off_by(self.within_factor))
    }
}

/// What hours of processing rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RateStanding {
    /// Assumed rates: orders of magnitude.
    NotCalibrated,
    /// The user says that the rates are fitted; to what is not kept.
    SaidToBe,
    /// Fitted to these jobs.
    Calibrated(RateCalibration),
    /// Fitted to these jobs, and then changed by hand.
    ChangedSince(RateCalibration),
}

impl RateStanding {
    /// Whether hours are more than an order of magnitude.
    pub fn is_calibrated(&self) -> bool {
        matches!(self, RateStanding::SaidToBe | RateStanding::Calibrated(_))
    }

    /// The same as [`RateStanding::told`] where there is little room: "calibrated ±18 %".
    pub fn brief(&self) -> String {
        match self {
            RateStanding::Calibrated(own) => format!("calibrated {}", wording::off_by(own.within_factor)),
            RateStanding::ChangedSince(_) => "changed by hand".to_owned(),
            RateStanding::NotCalibrated | RateStanding::SaidToBe => self.told(),
        }
    }

    /// As it stands behind hours: "calibrated on 14 jobs, ±18 %".
    pub fn told(&self) -> String {
        match self {
            RateStanding::NotCalibrated => "not calibrated".to_owned(),
            RateStanding::SaidToBe => "calibrated".to_owned(),
            RateStanding::Calibrated(own) => format!("calibrated on {}", own.rests_on()),
            RateStanding::ChangedSince(_) => "not calibrated: changed by hand".to_owned(),
        }
    }
}

impl Rates {
    /// What hours reckoned with these rates rest on.
    pub fn standing(&self) -> RateStanding {
        match self.calibration {
            Some(own) if own.stages == self.stages => RateStanding::Calibrated(own),
            Some(own) => RateStanding::ChangedSince(own),
            None if self.fitted => RateStanding::SaidToBe,
            None => RateStanding::NotCalibrated,
        }
    }
}

/// A stage of processing, in the order in which they are done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ProcessingStage {
    /// Finding features, image by image.
    Features,
    /// Matching features, pair by pair.
    Matching,
    /// Adjusting all images together.
    Adjustment,
    /// Depth maps and dense points.
    Dense,
    /// A surface of the points.
    Surface,
    /// The orthomosaic.
    Orthomosaic,
    /// The surface's texture.
    Texture,
}

impl ProcessingStage {
    /// All of them.
    pub const ALL: [ProcessingStage; 7] = [
        ProcessingStage::Features,
        ProcessingStage::Matching,
        ProcessingStage::Adjustment,
        ProcessingStage::Dense,
        ProcessingStage::Surface,
        ProcessingStage::Orthomosaic,
        ProcessingStage::Texture,
    ];

    /// Name in files and tables.
    pub fn name(self) -> &'static str {
        match self {
            ProcessingStage::Features => "features",
            ProcessingStage::Matching => "matching",
            ProcessingStage::Adjustment => "adjustment",
            ProcessingStage::Dense => "dense",
            ProcessingStage::Surface => "surface",
            ProcessingStage::Orthomosaic => "orthomosaic",
            ProcessingStage::Texture => "texture",
        }
    }

    /// What its rate is called in a scenario file.
    pub fn rate_key(self) -> &'static str {
        match self {
            ProcessingStage::Features => "features_h_per_gigapixel",
            ProcessingStage::Matching => "matching_h_per_thousand_pairs",
            ProcessingStage::Adjustment => "adjustment_h_per_thousand_images",
            ProcessingStage::Dense => "dense_h_per_gigapixel",
            ProcessingStage::Surface => "surface_h_per_gigapoint",
            ProcessingStage::Orthomosaic => "orthomosaic_h_per_gigapixel",
            ProcessingStage::Texture => "texture_h_per_gigapixel",
        }
    }

    /// What its rate is for.
    pub fn work_unit(self) -> &'static str {
        match self {
            ProcessingStage::Features | ProcessingStage::Dense => "gigapixel",
            ProcessingStage::Matching => "thousand pairs",
            ProcessingStage::Adjustment => "thousand images",
            ProcessingStage::Surface => "10^9 points",
            ProcessingStage::Orthomosaic => "10^9 pixels of it",
            ProcessingStage::Texture => "10^9 texels",
        }
    }
}

/// Hours for each unit of counted work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct StageRates {
    /// Finding image features: hours for each gigapixel.
    pub features_h_per_gigapixel: f64,
    /// Matching: hours for a thousand overlapping pairs.
    pub matching_h_per_thousand_pairs: f64,
    /// Bundle adjustment: hours for a thousand images.
    pub adjustment_h_per_thousand_images: f64,
    /// Dense reconstruction: hours for each gigapixel.
    pub dense_h_per_gigapixel: f64,
    /// A surface: hours for 10^9 points.
    pub surface_h_per_gigapoint: f64,
    /// An orthomosaic: hours for 10^9 of its pixels.
    pub orthomosaic_h_per_gigapixel: f64,
    /// A texture: hours for 10^9 texels.
    pub texture_h_per_gigapixel: f64,
}

impl StageRates {
    /// Hours for each unit of a stage's work.
    ///
    /// # Units
    /// - returns: hours for what [`ProcessingStage::work_unit`] says
    pub fn of(&self, stage: ProcessingStage) -> f64 {
        match stage {
            ProcessingStage::Features => self.features_h_per_gigapixel,
            ProcessingStage::Matching => self.matching_h_per_thousand_pairs,
            ProcessingStage::Adjustment => self.adjustment_h_per_thousand_images,
            ProcessingStage::Dense => self.dense_h_per_gigapixel,
            ProcessingStage::Surface => self.surface_h_per_gigapoint,
            ProcessingStage::Orthomosaic => self.orthomosaic_h_per_gigapixel,
            ProcessingStage::Texture => self.texture_h_per_gigapixel,
        }
    }

    /// The same with another rate of a stage.
    ///
    /// # Units
    /// - `rate`: hours for what [`ProcessingStage::work_unit`] says
    #[must_use]
    pub fn with(mut self, stage: ProcessingStage, rate: f64) -> Self {
        *match stage {
            ProcessingStage::Features => &mut self.features_h_per_gigapixel,
            ProcessingStage::Matching => &mut self.matching_h_per_thousand_pairs,
            ProcessingStage::Adjustment => &mut self.adjustment_h_per_thousand_images,
            ProcessingStage::Dense => &mut self.dense_h_per_gigapixel,
            ProcessingStage::Surface => &mut self.surface_h_per_gigapoint,
            ProcessingStage::Orthomosaic => &mut self.orthomosaic_h_per_gigapixel,
            ProcessingStage::Texture => &mut self.texture_h_per_gigapixel,
        } = rate;
        self
    }
}

impl Default for StageRates {
    /// Assumed orders of magnitude for one workstation, not fitted to any job.
    fn default() -> Self {
        StageRates {
            features_h_per_gigapixel: 0.01,
            matching_h_per_thousand_pairs: 0.01,
            adjustment_h_per_thousand_images: 0.05,
            dense_h_per_gigapixel: 0.12,
            surface_h_per_gigapoint: 2.0,
            orthomosaic_h_per_gigapixel: 0.5,
            texture_h_per_gigapixel: 1.0,
        }
    }
}

/// Hours of somebody at the workstation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AttendedRates {
    /// Hours for a job: setting up, checking, handing over.
    pub job_h: f64,
    /// Minutes for each control point: marking it in its images.
    pub control_point_min: f64,
    /// Hours to look through a thousand images.
    pub thousand_images_h: f64,
}

impl Default for AttendedRates {
    /// Common practice, no source.
    fn default() -> Self {
        AttendedRates { job_h: 1.0, control_point_min: 5.0, thousand_images_h: 0.2 }
    }
}
