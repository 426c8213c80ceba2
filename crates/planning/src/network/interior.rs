//! The interior orientation, and which of it an adjustment may change.

use crate::geometry::Brown;
use crate::scenario::{Camera, CameraCalibration};

/// Terms of the interior orientation.
pub const INTERIOR_LEN: usize = 8;

/// A term of the interior orientation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InteriorTerm {
    /// Focal length, in pixels.
    Focal,
    /// Principal point to the right, in pixels.
    CentreX,
    /// Principal point down, in pixels.
    CentreY,
    /// Radial distortion of the third degree.
    K1,
    /// Radial distortion of the fifth degree.
    K2,
    /// Radial distortion of the seventh degree.
    K3,
    /// Decentring distortion, downward.
    P1,
    /// Decentring distortion, to the right.
    P2,
}

impl InteriorTerm {
    /// All of them, in the order in which they stand everywhere.
    pub const ALL: [InteriorTerm; INTERIOR_LEN] = [
        InteriorTerm::Focal,
        InteriorTerm::CentreX,
        InteriorTerm::CentreY,
        InteriorTerm::K1,
        InteriorTerm::K2,
        InteriorTerm::K3,
        InteriorTerm::P1,
        InteriorTerm::P2,
    ];

    /// Its name in sentences.
    pub fn name(self) -> &'static str {
        match self {
            InteriorTerm::Focal => "focal length",
            InteriorTerm::CentreX => "principal point to the right",
            InteriorTerm::CentreY => "principal point down",
            InteriorTerm::K1 => "radial distortion k1",
            InteriorTerm::K2 => "radial distortion k2",
            InteriorTerm::K3 => "radial distortion k3",
            InteriorTerm::P1 => "decentring p1",
            InteriorTerm::P2 => "decentring p2",
        }
    }
}

/// Which terms of the interior orientation are estimated with the block, and what is known of them before.
///
/// A term that is not free is held as it is. A free one has a prior: how far from its value it may well be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InteriorFreedom {
    /// Prior standard deviation of each free term, in its own unit, in the order of [`InteriorTerm::ALL`].
    pub prior_sigma: [Option<f64>; INTERIOR_LEN],
}

/// Priors of a camera of which nothing is known but its data sheet: focal length and centre to 50 px.
const UNKNOWN: [f64; INTERIOR_LEN] = [50.0, 50.0, 50.0, 0.1, 0.1, 0.1, 0.01, 0.01];

impl InteriorFreedom {
    /// Nothing is estimated: the calibration is held.
    pub const FIXED: InteriorFreedom = InteriorFreedom { prior_sigma: [None; INTERIOR_LEN] };

    /// Focal length and k1, of which next to nothing is known.
    pub const FOCAL_AND_K1: InteriorFreedom = InteriorFreedom {
        prior_sigma: [Some(UNKNOWN[0]), None, None, Some(UNKNOWN[3]), None, None, None, None],
    };

    /// All eight terms, of which next to nothing is known.
    pub const ALL: InteriorFreedom = InteriorFreedom {
        prior_sigma: [
            Some(UNKNOWN[0]),
            Some(UNKNOWN[1]),
            Some(UNKNOWN[2]),
            Some(UNKNOWN[3]),
            Some(UNKNOWN[4]),
            Some(UNKNOWN[5]),
            Some(UNKNOWN[6]),
            Some(UNKNOWN[7]),
        ],
    };

    /// What a camera's calibration leaves to the adjustment.
    ///
    /// An earlier job's σ in the corner of the frame is of all five coefficients of the distortion together: each has the
    /// prior that moves an image point there by 1/√5 of it.
    ///
    /// # References
    /// Derived: five independent, equal shares of a variance.
    pub fn of_camera(camera: &Camera) -> Self {
        match camera.calibration {
            CameraCalibration::Fixed => InteriorFreedom::FIXED,
            CameraCalibration::Uncalibrated => InteriorFreedom::ALL,
            CameraCalibration::EarlierJob { focal_sigma_px, centre_sigma_px, corner_sigma_px } => {
                let [k1, k2, k3, p1, p2] = lens_sigmas(camera, corner_sigma_px).map(Some);
                let (focal, centre) = (Some(focal_sigma_px), Some(centre_sigma_px));
                InteriorFreedom { prior_sigma: [focal, centre, centre, k1, k2, k3, p1, p2] }
            }
        }
    }
}

/// Priors of k1 to p2 that together move an image point in the corner of the frame so far.
fn lens_sigmas(camera: &Camera, corner_sigma_px: f64) -> [f64; 5] {
    let model = camera.model();
    let moved = Brown::by_coefficients(model.half_extent());
    let each_px = corner_sigma_px / (moved.len() as f64).sqrt();
    moved.map(|by| each_px / (model.focal_length_px * by.length()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Sensor, Shutter};

    fn camera(calibration: CameraCalibration) -> Camera {
        Camera {
            width_px: 6000,
            height_px: 4000,
            sensor: Sensor::PixelPitch { um: 3.0 },
            focal_length_mm: 15.0,
            shortest_interval_s: 1.0,
            exposure_s: 0.001,
            metering: None,
            image_mb: 10.0,
            shutter: Shutter::Mechanical,
            distortion: Brown::NONE,
            calibration,
            image_noise_px: 0.5,
        }
    }

    /// Derived: each coefficient at one σ moves the corner so far; the variances of all five add up to that of the corner.
    #[test]
    fn an_earlier_calibration_is_as_good_in_the_corner_as_it_says() {
        let camera = camera(CameraCalibration::EarlierJob {
            focal_sigma_px: 2.0,
            centre_sigma_px: 1.5,
            corner_sigma_px: 0.8,
        });
        let prior = InteriorFreedom::of_camera(&camera).prior_sigma.map(|sigma| sigma.unwrap_or(f64::NAN));
        let (focal_px, corner) = (camera.model().focal_length_px, camera.model().half_extent());
        let [k1, k2, k3, p1, p2] = [3, 4, 5, 6, 7].map(|term| prior[term]);
        let moves_px = |lens: Brown| (lens.distorted(corner) - corner).length() * focal_px;
        let each = [
            Brown { k1, ..Brown::NONE },
            Brown { k2, ..Brown::NONE },
            Brown { k3, ..Brown::NONE },
            Brown { p1, ..Brown::NONE },
            Brown { p2, ..Brown::NONE },
        ];
        let all = each.into_iter().map(|lens| moves_px(lens).powi(2)).sum::<f64>().sqrt();
        assert!((all - 0.8).abs() < 1e-9, "{all}: rounding of a sum");
        assert_eq!(prior[..3], [2.0, 1.5, 1.5]);
    }

    #[test]
    fn a_calibration_is_held_or_next_to_nothing_is_known() {
        let of = |calibration| InteriorFreedom::of_camera(&camera(calibration));
        assert_eq!(of(CameraCalibration::Fixed), InteriorFreedom::FIXED);
        assert_eq!(of(CameraCalibration::Uncalibrated), InteriorFreedom::ALL);
    }
}
