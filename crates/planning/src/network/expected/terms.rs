//! What a strategy's network rests on besides its images.

use crate::geometry::Brown;
use crate::network::{InteriorFreedom, Positioning};
use glam::DVec3;

/// Independent matches that a whole frame is worth.
///
/// Matching finds thousands of points in an image, but neighbours err alike. No source is known; the reference blocks that
/// the adjustment is checked against have 40 to 80.
pub const POINTS_A_FRAME: f64 = 100.0;

/// What a strategy's network rests on besides its images.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkTerms {
    /// What the lens does.
    pub lens: Brown,
    /// What of the calibration is estimated, and what is known of it before.
    pub freedom: InteriorFreedom,
    /// Standard deviation of an image coordinate, in pixels.
    pub image_sigma_px: f64,
    /// Satellite positioning of the images; nothing where there is none.
    pub positioning: Option<Positioning>,
    /// Points on the ground that are surveyed apart.
    pub control: Vec<ControlPlace>,
    /// How much of all that could be worked out is.
    pub thinning: Thinning,
}

/// A control point: where it is, and how well that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlPlace {
    /// Metres in the local frame.
    pub position_m: DVec3,
    /// Standard deviation of each coordinate.
    pub sigma_m: DVec3,
}

/// How much is worked out of what could be: the figures hardly depend on it, the time does.
///
/// Every sample with two views or more could be a tie point. Some of them are, each standing for as many as it takes: a
/// sample is taken with the share that leaves the image with the fewest samples, of those that see it, so many of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thinning {
    /// Tie points that an image keeps, if it sees as many samples, in blocks of [`Thinning::LARGE`] images and more; in smaller
    /// ones it keeps more, as many times as these are smaller, up to eight times.
    pub points_an_image: f64,
    /// Samples of a tile for which the errors of the images are carried through; its others take them from the one that has about as many images. On sites
    /// of few tiles there are more, up to eight times as many, so that there are [`Thinning::SAMPLES`] in all.
    pub samples_a_tile: u32,
}

impl Thinning {
    /// Images of a block that is thinned in full.
    pub const LARGE: f64 = 2000.0;

    /// Samples for which the errors of the images are carried through on sites of few tiles.
    pub const SAMPLES: usize = 4000;

    /// Samples of each of so many tiles for which the errors of the images are carried through.
    pub(super) fn samples_of(&self, tiles: usize) -> usize {
        self.samples_a_tile as usize * Self::SAMPLES.div_ceil(tiles.max(1)).clamp(1, 8)
    }

    /// Tie points that an image of a block of so many keeps.
    pub(super) fn points_of(&self, images: usize) -> f64 {
        self.points_an_image * (Self::LARGE / (images as f64).max(1.0)).clamp(1.0, 8.0)
    }

    /// What the figures are worked out with.
    pub const USUAL: Thinning = Thinning { points_an_image: 20.0, samples_a_tile: 1 };
}
