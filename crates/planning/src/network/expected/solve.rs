//! What the adjustment of a block would tell of the camera, and of the ground as a whole.

use super::counted::Counted;
use super::shares::FocalShares;
use super::terms::NetworkTerms;
use super::thinned::ChosenPoints;
use super::tied::Tied;
use crate::base::{Cancelled, SurfaceClass, Watch};
use crate::ground::Sample;
use crate::network::{
    Calibration, DatumDefects, Functionals, ImageBlock, InteriorFreedom, InteriorTerm, Network, NetworkError,
    NetworkPart, PointFunctional,
};
use crate::view::ViewLimits;
use glam::{DVec2, DVec3};

/// What the adjustment would tell of the camera, and what that means for the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationFigures {
    /// Standard deviation of the focal length, in pixels; nothing where the calibration holds it.
    pub focal_sigma_px: Option<f64>,
    /// What that comes from.
    pub focal_shares: Option<FocalShares>,
    /// The focal length, in pixels.
    pub focal_px: f64,
    /// Half the diagonal of the frame, in focal lengths.
    pub half_diagonal: f64,
    /// The same of the principal point, to the right and down.
    pub centre_sigma_px: Option<[f64; 2]>,
    /// The same of k1, by what it does in the corner of the frame.
    pub k1_sigma_px: Option<f64>,
    /// The two terms that are most alike to the block, with their correlation, −1 to 1.
    pub strongest: Option<(InteriorTerm, InteriorTerm, f64)>,
    /// Standard deviation of the mean height of the ground less that of its edge; nothing where something leaves it open.
    pub doming_m: Option<f64>,
    /// The same if the calibration were known.
    pub doming_of_fixed_m: Option<f64>,
    /// The dome that a fixed calibration leaves that is wrong by a pixel in the corner of the frame, above 0 for a hill.
    pub dome_per_px_m: Option<f64>,
    /// How far the mean height of all ground comes out wrong if a fixed calibration's focal length is a pixel too short, above 0
    /// for too high.
    pub level_per_focal_px_m: Option<f64>,
    /// The dome that the same leaves, above 0 for a hill.
    pub dome_per_focal_px_m: Option<f64>,
    /// How far the mean height of all ground comes out wrong if a fixed calibration is wrong by a pixel in the corner of the
    /// frame, above 0 for too high.
    pub level_per_px_m: Option<f64>,
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

impl CalibrationFigures {
    /// What a calibration that is held fixed does to the ground if it is wrong by so much, term by term.
    ///
    /// The block gives way to the wrong term as least squares do, to the first order: positions, control points and crossing rays
    /// decide how much of it ends in the ground. It holds whatever the camera's own calibration is, and says what taking an earlier
    /// job's for granted costs if it is off by its own standard deviations.
    ///
    /// # Units
    /// - `focal_px`: error of the focal length, pixels, ≥ 0
    /// - `corner_px`: error of the radial distortion by what it does in the corner of the frame, pixels, ≥ 0
    /// - returns: metres, without sign
    ///
    /// # References
    /// Derived: the response of the normal equations to image points that are off by what the wrong term moves them. Level images
    /// whose positions are held: height over focal length for each pixel of the focal length.
    pub fn of_wrong_calibration(&self, focal_px: f64, corner_px: f64) -> Vec<CameraEffect> {
        let effect = |name, moves, error_px: f64, per_px_m: Option<f64>| {
            per_px_m.map(|per_px_m| CameraEffect {
                name,
                moves,
                sigma_px: Some(error_px),
                ground_m: error_px * per_px_m.abs(),
            })
        };
        let (level, dome) = ("heights as a whole", "the ground's middle against its edge");
        [
            effect("wrong focal length", level, focal_px, self.level_per_focal_px_m),
            effect("wrong focal length", dome, focal_px, self.dome_per_focal_px_m),
            effect("wrong radial distortion", level, corner_px, self.level_per_px_m),
            effect("wrong radial distortion", dome, corner_px, self.dome_per_px_m),
        ]
        .into_iter()
        .flatten()
        .collect()
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
    /// Of these points those that are control points.
    pub control: usize,
    /// Image points of these in those.
    pub rays: usize,
    /// Unknowns that stay open though no movement of a whole part explains it.
    pub hinges: usize,
}

/// What is adjusted.
pub(super) fn block_of(counted: &Counted, chosen: &ChosenPoints, terms: &NetworkTerms) -> ImageBlock {
    ImageBlock {
        images: counted.cameras.clone(),
        lens: terms.lens,
        points: chosen.points.clone(),
        image_sigma_px: terms.image_sigma_px,
        positioning: terms.positioning.as_ref().map(|own| own.of_several(chosen.step)),
    }
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
        let block = block_of(counted, chosen, terms);
        let network = match Network::new(&block, watch) {
            Ok(network) => network,
            Err(NetworkError::NothingTied) => return Ok(None),
            Err(NetworkError::Cancelled(cancelled)) => return Err(cancelled),
        };
        let calibration = Calibration::new(&network, &terms.freedom);
        Ok(Some(Solved { block, network, calibration }))
    }

    pub(super) fn held(&self) -> HeldBlock {
        let carried = self.network.carried.points.iter().map(|number| &self.block.points[*number as usize]);
        HeldBlock {
            defects: self.network.parts.iter().map(|part| part.defects).collect(),
            images: self.network.carried.images.len(),
            points: self.network.carried.points.len(),
            control: carried.filter(|point| point.control_sigma_m.is_some()).count(),
            rays: self.network.carried.observations,
            hinges: self.network.hinges(),
        }
    }

    /// What it tells of the camera and of the ground.
    pub(super) fn camera(
        &self,
        (tied, limits): (&Tied, &ViewLimits),
        chosen: &ChosenPoints,
        freedom: &InteriorFreedom,
        watch: &dyn Watch,
    ) -> Result<CalibrationFigures, Cancelled> {
        let model = self.block.images[0].model;
        let (ground, part) = self.ground(chosen);
        watch.step(0, 1)?;
        let of = [dome(&ground, &tied.ground_of(part, limits)), mean(&ground, 1.0)];
        let asked = Functionals::new(&self.network, &of, watch)?;
        let fixed = Calibration::new(&self.network, &InteriorFreedom::FIXED);
        let corner = self.pixel_in_corner();
        let sigma = |term| self.calibration.sigma(term);
        let bias = |of, term, by| asked.bias_m(of, term, by, &self.network, &fixed);
        let has_ground = !ground.is_empty();
        let known = |of: Option<f64>| of.filter(|_| has_ground);
        Ok(CalibrationFigures {
            focal_sigma_px: sigma(InteriorTerm::Focal),
            focal_shares: FocalShares::new(&self.block, (&self.network, &self.calibration), freedom, watch)?,
            focal_px: model.focal_length_px,
            half_diagonal: model.half_extent().length(),
            centre_sigma_px: sigma(InteriorTerm::CentreX)
                .zip(sigma(InteriorTerm::CentreY))
                .map(|(x, y)| [x, y]),
            k1_sigma_px: sigma(InteriorTerm::K1).map(|k1| k1 / corner),
            strongest: self.calibration.strongest_correlation(),
            doming_m: known(asked.sigma_m(0, &self.calibration)),
            doming_of_fixed_m: known(asked.sigma_m(0, &fixed)),
            dome_per_px_m: known(bias(0, InteriorTerm::K1, corner)),
            level_per_focal_px_m: known(bias(1, InteriorTerm::Focal, 1.0)),
            dome_per_focal_px_m: known(bias(0, InteriorTerm::Focal, 1.0)),
            level_per_px_m: known(bias(1, InteriorTerm::K1, corner)),
            level_m: known(asked.sigma_m(1, &self.calibration)),
            level_of_fixed_m: known(asked.sigma_m(1, &fixed)),
        })
    }

    /// The k1 that moves the corner of the frame by a pixel.
    fn pixel_in_corner(&self) -> f64 {
        let model = self.block.images[0].model;
        1.0 / (model.focal_length_px * model.half_extent().length().powi(3))
    }

    /// Tie points that cover ground, each sample once; those of the part that has most of it, with an image of that part.
    fn ground(&self, chosen: &ChosenPoints) -> (Vec<(u32, Sample)>, Option<u32>) {
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
        let parts = self.network.parts.iter().rev().map(|part| (of_part(part), part.images.first().copied()));
        let (mut found, image) =
            parts.max_by(|a, b| area_m2(&a.0).total_cmp(&area_m2(&b.0))).unwrap_or_default();
        found.dedup_by_key(|(_, sample)| sample.number);
        (found, image)
    }
}

/// Share of the ground at the middle, and of that at the edge, between which a dome is measured.
const DOME_SHARE: f64 = 0.1;

/// Mean height of the tenth of the ground nearest to its centroid less that of the farthest tenth: of the tie points among
/// these, or of the nearest and the farthest one.
///
/// Where the tenths end is told by all ground that images of the part cover, of which there is much more than tie points: of
/// four corners about as far away a few points more or less would choose one. What is not covered is left out of both: one
/// point that two rays hardly fix would outweigh all others.
fn dome(ground: &[(u32, Sample)], all: &[Sample]) -> PointFunctional {
    let area_m2: f64 = all.iter().map(|sample| sample.area_m2).sum();
    let weighed: DVec2 = all.iter().map(|sample| sample.area_m2 * sample.position_m.truncate()).sum();
    let centroid = weighed / area_m2.max(f64::MIN_POSITIVE);
    let away_m = |sample: &Sample| sample.position_m.truncate().distance(centroid);
    let mut by_distance: Vec<(f64, f64)> =
        all.iter().map(|sample| (away_m(sample), sample.area_m2)).collect();
    by_distance.sort_by(|a, b| a.0.total_cmp(&b.0));
    let tenth_m = |by_distance: &[(f64, f64)]| {
        let mut left_m2 = DOME_SHARE * area_m2;
        let end = by_distance.iter().find(|(_, own_m2)| {
            left_m2 -= own_m2;
            left_m2 <= 0.0
        });
        end.map(|(away_m, _)| *away_m)
    };
    let near_m = tenth_m(&by_distance);
    by_distance.reverse();
    let far_m = tenth_m(&by_distance);
    let of = |keeps: &dyn Fn(f64) -> bool, else_one: Option<&(u32, Sample)>, factor: f64| {
        let kept: Vec<(u32, Sample)> =
            ground.iter().filter(|(_, sample)| keeps(away_m(sample))).copied().collect();
        let kept = if kept.is_empty() { else_one.copied().into_iter().collect() } else { kept };
        mean(&kept, factor).terms
    };
    let order = |a: &&(u32, Sample), b: &&(u32, Sample)| away_m(&a.1).total_cmp(&away_m(&b.1));
    let middle =
        of(&|away_m| near_m.is_some_and(|near_m| away_m <= near_m), ground.iter().min_by(order), 1.0);
    let edge = of(&|away_m| far_m.is_some_and(|far_m| away_m >= far_m), ground.iter().max_by(order), -1.0);
    PointFunctional { terms: [middle, edge].concat() }
}

/// Mean height of some ground, times a factor.
fn mean(ground: &[(u32, Sample)], factor: f64) -> PointFunctional {
    let area_m2: f64 = ground.iter().map(|(_, sample)| sample.area_m2).sum();
    let weigh =
        |(number, sample): &(u32, Sample)| (*number, DVec3::new(0.0, 0.0, factor * sample.area_m2 / area_m2));
    PointFunctional { terms: ground.iter().map(weigh).collect() }
}
