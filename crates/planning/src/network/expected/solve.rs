//! What the adjustment of a block would tell of the camera, and of the ground as a whole.

use super::counted::Counted;
use super::terms::NetworkTerms;
use super::thinned::ChosenPoints;
use crate::base::{Cancelled, SurfaceClass, Watch};
use crate::ground::Sample;
use crate::network::{
    Calibration, DatumDefects, Functionals, ImageBlock, InteriorFreedom, InteriorTerm, Network, NetworkError,
    NetworkPart, PointFunctional,
};
use glam::{DVec2, DVec3};

/// What the adjustment would tell of the camera, and what that means for the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationFigures {
    /// Standard deviation of the focal length, in pixels; nothing where the calibration holds it.
    pub focal_sigma_px: Option<f64>,
    /// The same of the principal point, to the right and down.
    pub centre_sigma_px: Option<[f64; 2]>,
    /// The same of k1, by what it does in the corner of the frame.
    pub k1_sigma_px: Option<f64>,
    /// The two terms that are most alike to the block, with their correlation, −1 to 1.
    pub strongest: Option<(InteriorTerm, InteriorTerm, f64)>,
    /// Standard deviation of the mean height of the ground less that of its edge; nothing where something leaves it open.
    pub doming_m: Option<f64>,
    /// The dome that a fixed calibration leaves that is wrong by a pixel in the corner of the frame, above 0 for a hill.
    pub dome_per_px_m: Option<f64>,
    /// Standard deviation of the mean height of all ground.
    pub level_m: Option<f64>,
    /// The same if the calibration were known.
    pub level_of_fixed_m: Option<f64>,
}

/// What a term of the camera, as far as the block determines it, does on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraEffect {
    /// Name of the term.
    pub name: &'static str,
    /// What it moves on the ground.
    pub moves: &'static str,
    /// Its standard deviation in pixels; nothing of all terms together.
    pub sigma_px: Option<f64>,
    /// How far that moves it, in metres.
    pub ground_m: f64,
}

impl CalibrationFigures {
    /// Standard deviation of the mean height of all ground that is due to the camera alone: what of its variance is not there
    /// with a known camera.
    ///
    /// # Units
    /// - returns: metres
    ///
    /// # References
    /// Derived: variances of independent causes add up.
    pub fn level_of_camera_m(&self) -> Option<f64> {
        let (open_m, fixed_m) = self.level_m.zip(self.level_of_fixed_m)?;
        Some((open_m * open_m - fixed_m * fixed_m).max(0.0).sqrt())
    }

    /// What the terms that the block leaves open do on the ground, term by term, and together as a dome.
    ///
    /// A focal length that is off lifts or lowers all ground; a principal point or a distortion moves points by as many pixels
    /// on the ground.
    ///
    /// # Units
    /// - `gsd_m`: metres on the ground of a pixel
    ///
    /// # References
    /// Derived from the project's definition of calibration strength.
    pub fn on_the_ground(&self, gsd_m: f64) -> Vec<CameraEffect> {
        let in_pixels = |name, moves, sigma_px: Option<f64>| {
            sigma_px.map(|px| CameraEffect { name, moves, sigma_px: Some(px), ground_m: px * gsd_m })
        };
        let focal = self.focal_sigma_px.zip(self.level_of_camera_m());
        let focal = focal.map(|(px, ground_m)| CameraEffect {
            name: "focal length",
            moves: "heights as a whole",
            sigma_px: Some(px),
            ground_m,
        });
        let centre_px = self.centre_sigma_px.map(|[right_px, down_px]| right_px.max(down_px));
        let centre = in_pixels("principal point", "a point below the camera", centre_px);
        let corner = in_pixels("radial distortion", "a point in the corner of the frame", self.k1_sigma_px);
        let dome = self.doming_m.map(|ground_m| CameraEffect {
            name: "all of it: a dome",
            moves: "the ground's middle against its edge",
            sigma_px: None,
            ground_m,
        });
        [focal, centre, corner, dome].into_iter().flatten().collect()
    }
}

/// How much of the block the adjustment holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeldBlock {
    /// Movements of each part that nothing holds; parts by their smallest image.
    pub defects: Vec<DatumDefects>,
    /// Images that carry it.
    pub images: usize,
    /// Tie points and control points that do.
    pub points: usize,
    /// Image points of these in those.
    pub rays: usize,
    /// Unknowns that stay open though no movement of a whole part explains it.
    pub hinges: usize,
}

/// A block that is solved.
pub(super) struct Solved {
    pub(super) block: ImageBlock,
    pub(super) network: Network,
    pub(super) calibration: Calibration,
}

impl Solved {
    /// Solves a block; nothing where no image is tied.
    pub(super) fn new(
        counted: &Counted,
        chosen: &ChosenPoints,
        terms: &NetworkTerms,
        watch: &dyn Watch,
    ) -> Result<Option<Self>, Cancelled> {
        let block = ImageBlock {
            images: counted.cameras.clone(),
            lens: terms.lens,
            points: chosen.points.clone(),
            image_sigma_px: terms.image_sigma_px,
            positioning: terms.positioning.clone(),
        };
        let network = match Network::new(&block, watch) {
            Ok(network) => network,
            Err(NetworkError::NothingTied) => return Ok(None),
            Err(NetworkError::Cancelled(cancelled)) => return Err(cancelled),
        };
        let calibration = Calibration::new(&network, &terms.freedom);
        Ok(Some(Solved { block, network, calibration }))
    }

    pub(super) fn held(&self) -> HeldBlock {
        HeldBlock {
            defects: self.network.parts.iter().map(|part| part.defects).collect(),
            images: self.network.carried.images.len(),
            points: self.network.carried.points.len(),
            rays: self.network.carried.observations,
            hinges: self.network.hinges(),
        }
    }

    /// What it tells of the camera and of the ground.
    pub(super) fn camera(
        &self,
        chosen: &ChosenPoints,
        watch: &dyn Watch,
    ) -> Result<CalibrationFigures, Cancelled> {
        let ground = self.ground(chosen);
        let of = [dome(&ground), mean(&ground, 1.0)];
        let asked = Functionals::new(&self.network, &of, watch)?;
        let fixed = Calibration::new(&self.network, &InteriorFreedom::FIXED);
        let corner = self.pixel_in_corner();
        let sigma = |term| self.calibration.sigma(term);
        let has_ground = !ground.is_empty();
        let known = |of: Option<f64>| of.filter(|_| has_ground);
        Ok(CalibrationFigures {
            focal_sigma_px: sigma(InteriorTerm::Focal),
            centre_sigma_px: sigma(InteriorTerm::CentreX)
                .zip(sigma(InteriorTerm::CentreY))
                .map(|(x, y)| [x, y]),
            k1_sigma_px: sigma(InteriorTerm::K1).map(|k1| k1 / corner),
            strongest: self.calibration.strongest_correlation(),
            doming_m: known(asked.sigma_m(0, &self.calibration)),
            dome_per_px_m: known(asked.bias_m(0, InteriorTerm::K1, corner, &self.network, &fixed)),
            level_m: known(asked.sigma_m(1, &self.calibration)),
            level_of_fixed_m: known(asked.sigma_m(1, &fixed)),
        })
    }

    /// The k1 that moves the corner of the frame by a pixel.
    fn pixel_in_corner(&self) -> f64 {
        let model = self.block.images[0].model;
        1.0 / (model.focal_length_px * model.half_extent().length().powi(3))
    }

    /// Tie points on the ground, each sample once; those of the part that has most of it.
    fn ground(&self, chosen: &ChosenPoints) -> Vec<(u32, Sample)> {
        let numbered = self.network.carried.points.iter();
        let on_ground = numbered.filter_map(|number| Some((*number, chosen.samples[*number as usize]?)));
        let on_ground: Vec<(u32, Sample)> =
            on_ground.filter(|(_, sample)| sample.class == SurfaceClass::Ground).collect();
        let of_part = |part: &NetworkPart| {
            let is_of = |number: u32| {
                let mut images = self.block.points[number as usize].images.iter();
                images.any(|image| part.images.binary_search(image).is_ok())
            };
            on_ground.iter().filter(|(number, _)| is_of(*number)).copied().collect::<Vec<_>>()
        };
        let area_m2 = |points: &[(u32, Sample)]| points.iter().map(|(_, sample)| sample.area_m2).sum::<f64>();
        let parts = self.network.parts.iter().rev().map(of_part);
        let mut found = parts.max_by(|a, b| area_m2(a).total_cmp(&area_m2(b))).unwrap_or_default();
        found.dedup_by_key(|(_, sample)| sample.number);
        found
    }
}

/// Share of the ground at the middle, and of that at the edge, between which a dome is measured.
const DOME_SHARE: f64 = 0.1;

/// Mean height of the tenth of the ground's area nearest to its centroid less that of the farthest tenth.
fn dome(ground: &[(u32, Sample)]) -> PointFunctional {
    let area_m2: f64 = ground.iter().map(|(_, sample)| sample.area_m2).sum();
    let weighed: DVec2 = ground.iter().map(|(_, sample)| sample.area_m2 * sample.position_m.truncate()).sum();
    let centroid = weighed / area_m2.max(f64::MIN_POSITIVE);
    let mut by_distance = ground.to_vec();
    let distance = |sample: &Sample| sample.position_m.truncate().distance_squared(centroid);
    by_distance.sort_by(|a, b| distance(&a.1).total_cmp(&distance(&b.1)).then(a.0.cmp(&b.0)));
    let tenth = |points: &mut dyn Iterator<Item = &(u32, Sample)>| {
        let mut sum_m2 = 0.0;
        let mut found = Vec::new();
        for point in points {
            if sum_m2 >= DOME_SHARE * area_m2 {
                break;
            }
            sum_m2 += point.1.area_m2;
            found.push(*point);
        }
        found
    };
    let middle = mean(&tenth(&mut by_distance.iter()), 1.0);
    let edge = mean(&tenth(&mut by_distance.iter().rev()), -1.0);
    PointFunctional { terms: [middle.terms, edge.terms].concat() }
}

/// Mean height of some ground, times a factor.
fn mean(ground: &[(u32, Sample)], factor: f64) -> PointFunctional {
    let area_m2: f64 = ground.iter().map(|(_, sample)| sample.area_m2).sum();
    let weigh =
        |(number, sample): &(u32, Sample)| (*number, DVec3::new(0.0, 0.0, factor * sample.area_m2 / area_m2));
    PointFunctional { terms: ground.iter().map(weigh).collect() }
}
