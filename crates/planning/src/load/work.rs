//! What the stages of processing have to do, and the hours that it takes.

use crate::base::{ByClass, SurfaceClass};
use crate::scenario::{AttendedRates, ProcessingStage, StageRates};
use crate::view::{ClassFigures, ViewFigures};

/// Unknowns of an image in an adjustment: where it was taken from, and which way it looked.
pub(super) const UNKNOWNS_AN_IMAGE: f64 = 6.0;

/// What a class of surface comes to in cells of its GSD.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceWork {
    /// The class's area.
    pub area_m2: f64,
    /// Share of it without any counted view.
    pub unseen_ratio: f64,
    /// Median of its GSD.
    pub gsd_m: f64,
}

impl SurfaceWork {
    /// Of all classes that anything is seen of.
    pub(super) fn of(views: &ViewFigures) -> ByClass<Option<Self>> {
        let of_class = |class: &ClassFigures| {
            let gsd_m = class.gsd?.p50_m;
            Some(SurfaceWork { area_m2: class.area_m2, unseen_ratio: class.unseen_ratio, gsd_m })
        };
        ByClass::from_fn(|class| views.classes[class].as_ref().and_then(of_class))
    }

    /// Cells of what is seen, in 10^9.
    ///
    /// # Units
    /// - returns: 10^9 cells
    ///
    /// # References
    /// Derived: area over the square of the GSD.
    pub fn giga_cells(&self) -> f64 {
        surface_cells(self.area_m2 * (1.0 - self.unseen_ratio), self.gsd_m) / 1e9
    }
}

/// Classes that an orthomosaic shows: what is seen from straight above.
pub(crate) const FROM_ABOVE: [SurfaceClass; 2] = [SurfaceClass::Ground, SurfaceClass::Roof];

/// Cells of all classes.
pub(super) fn surface_gigapoints(surfaces: &ByClass<Option<SurfaceWork>>) -> f64 {
    giga_cells(surfaces, &SurfaceClass::ALL)
}

/// Cells of what is seen from above.
pub(super) fn orthomosaic_gigapixels(surfaces: &ByClass<Option<SurfaceWork>>) -> f64 {
    giga_cells(surfaces, &FROM_ABOVE)
}

fn giga_cells(surfaces: &ByClass<Option<SurfaceWork>>, classes: &[SurfaceClass]) -> f64 {
    classes.iter().filter_map(|class| surfaces[*class]).map(|work| work.giga_cells()).sum()
}

/// Cells of a surface, each as large as a pixel on it: points of a dense cloud, pixels of an orthomosaic, texels of a texture.
///
/// # Units
/// - `area_m2`: square metres along the surface; `gsd_m`: metres, > 0
/// - returns: cells
///
/// # References
/// Derived: area over the square of the GSD. That products have a point or a pixel in each is common practice, no source.
///
/// # Examples
/// ```
/// // a hectare at 2 cm: 25 million
/// let cells = obliquity_planning::surface_cells(10_000.0, 0.02);
/// assert!((cells - 25e6).abs() < 1e-6);
/// ```
pub fn surface_cells(area_m2: f64, gsd_m: f64) -> f64 {
    area_m2 / (gsd_m * gsd_m)
}

/// What the stages of processing have to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountedWork {
    /// Images.
    pub images: u32,
    /// Pixels of all images, in 10^9.
    pub gigapixels: f64,
    /// Pairs of images that are matched.
    pub image_pairs: u64,
    /// Cells of all surfaces that are seen, in 10^9: points of the surface, and texels of its texture.
    pub surface_gigapoints: f64,
    /// Cells of what is seen from above, in 10^9. Areas lie as the surfaces do: on slopes of 25° a tenth more than a plan has.
    pub orthomosaic_gigapixels: f64,
}

impl CountedWork {
    /// What a stage has to do.
    ///
    /// # Units
    /// - returns: in the unit that the stage's rate is for: 10^9 pixels or points, a thousand pairs, a thousand images
    ///
    /// # References
    /// Pixels for features and depth maps, pairs for matching, cells for products: common practice, no source. Images for the
    /// adjustment: that of sparse blocks; see [`dense_adjustment_operations`] for where that ends.
    pub fn amount(&self, stage: ProcessingStage) -> f64 {
        match stage {
            ProcessingStage::Features | ProcessingStage::Dense => self.gigapixels,
            ProcessingStage::Matching => self.image_pairs as f64 / 1000.0,
            ProcessingStage::Adjustment => f64::from(self.images) / 1000.0,
            ProcessingStage::Surface | ProcessingStage::Texture => self.surface_gigapoints,
            ProcessingStage::Orthomosaic => self.orthomosaic_gigapixels,
        }
    }

    /// Images that an image is matched with, on average: each pair has two.
    ///
    /// # Units
    /// - returns: a mean count; 0 without images
    ///
    /// # References
    /// Derived: 2 q / n.
    pub fn neighbours(&self) -> f64 {
        2.0 * self.image_pairs as f64 / f64::from(self.images.max(1))
    }
}

/// What the machine's hours are made of; the terms add up to them.
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
    /// The surface of its points.
    pub surface_h: f64,
    /// The orthomosaic.
    pub orthomosaic_h: f64,
    /// The surface's texture.
    pub texture_h: f64,
}

impl HourTerms {
    /// Hours of a stage.
    ///
    /// # Units
    /// - returns: hours
    pub fn of(&self, stage: ProcessingStage) -> f64 {
        match stage {
            ProcessingStage::Features => self.features_h,
            ProcessingStage::Matching => self.matching_h,
            ProcessingStage::Adjustment => self.adjustment_h,
            ProcessingStage::Dense => self.dense_h,
            ProcessingStage::Surface => self.surface_h,
            ProcessingStage::Orthomosaic => self.orthomosaic_h,
            ProcessingStage::Texture => self.texture_h,
        }
    }

    /// The sum of the terms.
    ///
    /// # Units
    /// - returns: hours
    pub fn total_h(&self) -> f64 {
        ProcessingStage::ALL.iter().map(|stage| self.of(*stage)).sum()
    }
}

/// Hours of the machine by itself, from counted work and stage rates.
///
/// # Units
/// - `rates`: hours for each unit of work
/// - returns: hours
///
/// # References
/// Derived: counted work times its rate. That the work grows so is common practice, no source.
///
/// # Examples
/// ```
/// use obliquity_planning::{CountedWork, StageRates, processing_hours};
/// let rates = StageRates {
///     features_h_per_gigapixel: 0.1,
///     matching_h_per_thousand_pairs: 0.05,
///     adjustment_h_per_thousand_images: 0.5,
///     dense_h_per_gigapixel: 0.4,
///     surface_h_per_gigapoint: 2.0,
///     orthomosaic_h_per_gigapixel: 1.0,
///     texture_h_per_gigapixel: 0.0,
/// };
/// let work = CountedWork {
///     images: 500,
///     gigapixels: 10.0,
///     image_pairs: 4000,
///     surface_gigapoints: 0.1,
///     orthomosaic_gigapixels: 0.05,
/// };
/// // 1.0 + 0.2 + 0.25 + 4.0 + 0.2 + 0.05
/// assert!((processing_hours(&work, &rates).total_h() - 5.7).abs() < 1e-12);
/// ```
pub fn processing_hours(work: &CountedWork, rates: &StageRates) -> HourTerms {
    let hours = |stage| work.amount(stage) * rates.of(stage);
    HourTerms {
        features_h: hours(ProcessingStage::Features),
        matching_h: hours(ProcessingStage::Matching),
        adjustment_h: hours(ProcessingStage::Adjustment),
        dense_h: hours(ProcessingStage::Dense),
        surface_h: hours(ProcessingStage::Surface),
        orthomosaic_h: hours(ProcessingStage::Orthomosaic),
        texture_h: hours(ProcessingStage::Texture),
    }
}

/// Operations of one step of an adjustment that solves for all images at once, without minding which of them are tied: the most
/// that an adjustment takes, with a system that is dense.
///
/// (6 n)³ / 3 for the Cholesky factor of the reduced camera system.
///
/// # Units
/// - `images`: a count
/// - returns: floating-point operations, multiplications and additions
///
/// # References
/// "Cubic computational complexity": Byröd & Åström 2009, Bundle Adjustment using Conjugate Gradients with Multiscale
/// Preconditioning, BMVC. The factor 1/3 from memory: Golub & Van Loan, Matrix Computations.
///
/// # Examples
/// ```
/// use obliquity_planning::dense_adjustment_operations;
/// assert_eq!(dense_adjustment_operations(200) / dense_adjustment_operations(100), 8.0);
/// ```
pub fn dense_adjustment_operations(images: u32) -> f64 {
    (UNKNOWNS_AN_IMAGE * f64::from(images)).powi(3) / 3.0
}

/// What the hours of somebody at the workstation are made of; the terms add up to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AttendedTerms {
    /// For the job: setting up, checking, handing over.
    pub job_h: f64,
    /// Marking control points in images.
    pub control_h: f64,
    /// Looking through images.
    pub images_h: f64,
    /// Control points.
    pub control_points: u32,
    /// What it is worked out by.
    pub rates: AttendedRates,
}

impl AttendedTerms {
    /// The sum of the terms.
    ///
    /// # Units
    /// - returns: hours
    pub fn total_h(&self) -> f64 {
        self.job_h + self.control_h + self.images_h
    }
}

/// Hours of somebody at the workstation.
///
/// # Units
/// - `images`, `control_points`: counts
/// - returns: hours
///
/// # References
/// Common practice, no source: so much for a job, for each control point, and for a thousand images.
///
/// # Examples
/// ```
/// use obliquity_planning::{AttendedRates, attended_hours};
/// let rates = AttendedRates { job_h: 1.0, control_point_min: 6.0, thousand_images_h: 0.5 };
/// assert!((attended_hours(2000, 5, &rates).total_h() - 2.5).abs() < 1e-12);
/// ```
pub fn attended_hours(images: u32, control_points: u32, rates: &AttendedRates) -> AttendedTerms {
    AttendedTerms {
        job_h: rates.job_h,
        control_h: f64::from(control_points) * rates.control_point_min / 60.0,
        images_h: f64::from(images) / 1000.0 * rates.thousand_images_h,
        control_points,
        rates: *rates,
    }
}
