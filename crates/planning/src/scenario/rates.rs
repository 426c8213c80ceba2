//! How long processing takes for each unit of work.

use serde::{Deserialize, Serialize};

/// How long processing takes for each unit of work.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Rates {
    /// Whether the rates were fitted to logged jobs; until then every hour shown says so.
    pub fitted: bool,
    /// Of the machine by itself.
    pub stages: StageRates,
    /// Of somebody at the workstation.
    pub attended: AttendedRates,
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
