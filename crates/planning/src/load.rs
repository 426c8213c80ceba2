//! What the images come to: card space, pixels, pairs, and what processing has to do with them.

mod fit;
mod pairs;
mod room;
mod work;

pub use fit::{FitError, FittedFactor, FittedRates, ProcessedJob, USUAL_NEIGHBOURS, fit_rates};
pub(crate) use pairs::pairs_by_pass;
pub use pairs::{PassPairs, exhaustive_pairs, image_pairs, neighbour_pairs};
pub(crate) use room::bytes;
pub use room::{DiskTerms, MemoryTerms};
pub(crate) use work::FROM_ABOVE;
pub use work::{
    AttendedTerms, CountedWork, HourTerms, SurfaceWork, attended_hours, dense_adjustment_operations,
    processing_hours, surface_cells,
};

use crate::base::ByClass;
use crate::route::PassPlan;
use crate::scenario::{Camera, RateStanding, Rates, StageRates};
use crate::view::ViewFigures;
use pairs::total_pairs;
use std::sync::Arc;

/// What processing has to do, counted before it is timed.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadFigures {
    /// Images taken.
    pub image_count: u32,
    /// Exposures not taken because they would show nothing of the site.
    pub skipped_exposures: u32,
    /// Card space, in gigabytes (10^9 bytes).
    pub storage_gb: f64,
    /// Size of an image file, in megabytes (10^6 bytes).
    pub image_mb: f64,
    /// Pixels of an image, in 10^6.
    pub megapixels: f64,
    /// Pixels of all images, in 10^9.
    pub gigapixels: f64,
    /// Pairs of images that overlap enough to be matched; from the depth of views on.
    pub image_pairs: Option<u64>,
    /// The same by the passes that the two images are of; empty before that.
    pub pairs_by_pass: Arc<[PassPairs]>,
    /// What each class of surface comes to in cells of its GSD; nothing where the site has none or nothing of it is seen.
    pub surfaces: ByClass<Option<SurfaceWork>>,
    /// What the stages have to do; needs pairs and views.
    pub work: Option<CountedWork>,
    /// Hours of the machine by itself, from the stage rates; needs the same.
    pub hours: Option<HourTerms>,
    /// Memory at the most demanding stage; needs the same.
    pub memory: Option<MemoryTerms>,
    /// Room on disk for all of it; needs the same.
    pub disk: Option<DiskTerms>,
    /// Hours of somebody at the workstation.
    pub attended: AttendedTerms,
    /// Hours for each unit of counted work.
    pub rates: StageRates,
    /// What they rest on.
    pub standing: RateStanding,
}

/// What is known of the images of a strategy besides how many they are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LoadTerms<'a> {
    pub(crate) camera: &'a Camera,
    pub(crate) pairs_by_pass: Option<&'a Arc<[PassPairs]>>,
    pub(crate) views: Option<&'a ViewFigures>,
    pub(crate) control_points: u32,
    pub(crate) rates: &'a Rates,
}

impl LoadFigures {
    /// What the images of some plans come to; with their pairs and views, where these are worked out, the hours too.
    pub(crate) fn new(plans: &[Arc<PassPlan>], terms: LoadTerms<'_>) -> Self {
        let LoadTerms { camera, pairs_by_pass, views, control_points, rates } = terms;
        let image_count: u32 = plans.iter().map(|plan| plan.stations.poses.len() as u32).sum();
        let gigapixels = f64::from(image_count) * camera.megapixels() / 1000.0;
        let storage_gb = f64::from(image_count) * camera.image_mb / 1000.0;
        let image_pairs = pairs_by_pass.map(|pairs| total_pairs(pairs));
        let surfaces = views.map_or_else(ByClass::default, SurfaceWork::of);
        let work = image_pairs.zip(views).map(|(image_pairs, _)| CountedWork {
            images: image_count,
            gigapixels,
            image_pairs,
            surface_gigapoints: work::surface_gigapoints(&surfaces),
            orthomosaic_gigapixels: work::orthomosaic_gigapixels(&surfaces),
        });
        LoadFigures {
            image_count,
            skipped_exposures: plans.iter().map(|plan| plan.skipped).sum(),
            storage_gb,
            image_mb: camera.image_mb,
            megapixels: camera.megapixels(),
            gigapixels,
            image_pairs,
            pairs_by_pass: pairs_by_pass.map(Arc::clone).unwrap_or_default(),
            surfaces,
            work,
            hours: work.map(|work| processing_hours(&work, &rates.stages)),
            memory: work.map(|work| MemoryTerms::new(&work, camera.megapixels())),
            disk: work.map(|work| DiskTerms::new(&work, storage_gb)),
            attended: attended_hours(image_count, control_points, &rates.attended),
            rates: rates.stages,
            standing: rates.standing(),
        }
    }
}
