//! What a strategy's network rests on besides its images.

use crate::geometry::Brown;
use crate::ground::TILE_LEN;
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
/// sample is taken with the share that leaves the image that counts least of its class, of those that see it, so many of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thinning {
    /// Tie points that an image keeps, if it sees as many samples, in blocks of [`Thinning::LARGE`] images and more; in smaller
    /// ones it keeps more, as many times as these are smaller, up to eight times.
    pub points_an_image: f64,
    /// Pairs of rays, over all tiles, through which the errors of the images are carried to samples. Of each tile as many samples
    /// have them as keep to that, at least one; its others take them from the one that has about as many images.
    pub ray_pairs: f64,
    /// Images that carry the adjustment, about: of larger blocks every second, third … of those that look one way does, and
    /// stands for as many.
    pub most_images: u32,
}

impl Thinning {
    /// Images of a block that is thinned in full.
    pub const LARGE: f64 = 2000.0;

    /// Samples of each tile for which the errors of the images are carried through, of so many pairs of rays for one of each.
    pub(super) fn samples_of(&self, pairs: f64) -> usize {
        ((self.ray_pairs / pairs.max(1.0)) as usize).clamp(1, TILE_LEN)
    }

    /// How many images each that carries stands for, in a block of so many.
    pub(super) fn step_of(&self, images: usize) -> usize {
        images.div_ceil((self.most_images as usize).max(1)).max(1)
    }

    /// Tie points that an image of a block of so many keeps.
    pub(super) fn points_of(&self, images: usize) -> f64 {
        self.points_an_image * (Self::LARGE / (images as f64).max(1.0)).clamp(1.0, 8.0)
    }

    /// What a first look is worked out with: see [`crate::Depth::Preview`].
    pub const PREVIEW: Thinning = Thinning { points_an_image: 12.0, ray_pairs: 3e6, most_images: 1000 };

    /// What the figures are worked out with.
    pub const USUAL: Thinning = Thinning { points_an_image: 20.0, ray_pairs: 1.2e7, most_images: u32::MAX };
}
