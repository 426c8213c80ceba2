//! What the standard deviations of the camera come from.

use crate::base::{Cancelled, Watch};
use crate::network::image_point::ImagePoint;
use crate::network::{Calibration, INTERIOR_LEN, ImageBlock, InteriorFreedom, InteriorTerm, Network};
use rayon::prelude::*;

/// What the standard deviation of the focal length comes from: what image points alone would tell of it, what is left of that once all
/// else gives way, and what is known of it before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FocalShares {
    /// Image points of all that is carried, each as many as it stands for.
    pub image_points: f64,
    /// Root mean square of their distances from the principal point, in focal lengths.
    pub distance: f64,
    /// Standard deviation if the other terms of the camera were known and nothing of this one; poses and points are open.
    pub of_known_camera_px: f64,
    /// The same with the other terms open; nothing where the block then tells nothing of it.
    pub of_open_camera_px: Option<f64>,
    /// What is known of it before.
    pub prior_px: f64,
}

/// A prior that holds nothing, pixels.
const NO_PRIOR_PX: f64 = 1e9;

/// Information that is rounding, as a share of what is known before.
const NO_INFORMATION: f64 = 1e-9;

impl FocalShares {
    /// Nothing where the calibration holds the focal length.
    pub(super) fn new(
        block: &ImageBlock,
        (network, calibration): (&Network, &Calibration),
        freedom: &InteriorFreedom,
        watch: &dyn Watch,
    ) -> Result<Option<FocalShares>, Cancelled> {
        let prior_px = freedom.prior_sigma[InteriorTerm::Focal as usize];
        let Some((prior_px, sigma_px)) = prior_px.zip(calibration.sigma(InteriorTerm::Focal)) else {
            return Ok(None);
        };
        let (image_points, moment) = image_points(block, network, watch)?;
        let mut alone = [None; INTERIOR_LEN];
        alone[InteriorTerm::Focal as usize] = Some(NO_PRIOR_PX);
        let alone = Calibration::new(network, &InteriorFreedom { prior_sigma: alone });
        // the inverse of a block of the inverse: what is known before adds to what the rest leaves
        let information = sigma_px.powi(-2) - prior_px.powi(-2);
        let tells = information > NO_INFORMATION * prior_px.powi(-2);
        Ok(alone.sigma(InteriorTerm::Focal).map(|of_known_camera_px| FocalShares {
            image_points,
            distance: (moment / image_points).sqrt(),
            of_known_camera_px,
            of_open_camera_px: tells.then(|| information.recip().sqrt()),
            prior_px,
        }))
    }
}

/// Image points that are carried, by what they stand for, and the sum of the squares of their distances from the principal point, in
/// focal lengths.
fn image_points(block: &ImageBlock, network: &Network, watch: &dyn Watch) -> Result<(f64, f64), Cancelled> {
    let carried = &network.carried;
    let of = |number: &u32| {
        watch.step(0, 1)?;
        let point = &block.points[*number as usize];
        let own = point.images.iter().filter(|image| carried.images.binary_search(image).is_ok());
        let square = |image: &u32| {
            let camera = &block.images[*image as usize];
            let ray = ImagePoint::of(camera, &block.lens, point.position_m)?;
            let by_focal = ray.by_interior.map(|row| row[InteriorTerm::Focal as usize]);
            Some(by_focal.iter().map(|by| by * by).sum::<f64>())
        };
        let squares: Vec<f64> = own.filter_map(square).collect();
        Ok((point.stands_for * squares.len() as f64, point.stands_for * squares.iter().sum::<f64>()))
    };
    let sums = carried.points.par_iter().map(of).collect::<Result<Vec<(f64, f64)>, Cancelled>>()?;
    Ok(sums.iter().fold((0.0, 0.0), |sum, of| (sum.0 + of.0, sum.1 + of.1)))
}
