//! How well rays of known cameras fix a point.

use super::image_point::ImagePoint;
use crate::geometry::{Brown, PosedCamera};
use glam::{DMat2, DMat3, DVec2, DVec3};

/// How well the pose of every camera is known, each independent of the others.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseSigma {
    /// Standard deviation of the position: east, north, up.
    pub position_m: DVec3,
    /// Standard deviation of turns about east, north and up.
    pub turn_rad: DVec3,
}

/// Least determinant of a normal matrix in cubes of its mean diagonal: below, the rays are parallel but for rounding.
const LEAST_DETERMINED: f64 = 1e-12;

/// Covariance of a point that rays of several cameras intersect in, in m².
///
/// The inverse of Σ Bᵀ (σ² I + J Σ Jᵀ)⁻¹ B over the cameras, B by the point and J by the pose. Poses are taken as
/// independent of each other: what they have in common, as a block's do, is the network's business. Cameras that the
/// point is behind count for nothing. Nothing is returned where less than two rays remain or all of them are parallel.
///
/// # Units
/// - `point_m`: metres in the local frame
/// - `image_sigma_px`: standard deviation of an image coordinate, pixels, > 0
/// - returns: square metres
///
/// # References
/// Least-squares intersection; in the normal case of two photos σz = (Z/B)(Z/f) σ √2, e.g. Kraus, *Photogrammetry*
/// vol. 1 (from memory).
///
/// # Examples
/// ```
/// use glam::DVec3;
/// use obliquity_planning::{Brown, CameraModel, Pose, PoseSigma, PosedCamera, intersection_covariance_m2};
/// let model = CameraModel::pinhole(5472, 3648, 3648.0);
/// let at = |x| Pose { position_m: DVec3::new(x, 0.0, 100.0), heading_rad: 0.0, tilt_rad: 0.0, roll_rad: 0.0 };
/// let pair = [-10.0, 10.0].map(|x| PosedCamera::new(model, &at(x)));
/// let m2 = intersection_covariance_m2(&pair, &Brown::NONE, DVec3::ZERO, 0.5, &PoseSigma::default()).expect("a base");
/// // (100 / 20) (100 / 3648) 0.5 √2
/// assert!((m2.z_axis.z.sqrt() - 5.0 * 100.0 / 3648.0 * 0.5 * 2_f64.sqrt()).abs() < 1e-12);
/// ```
pub fn intersection_covariance_m2(
    cameras: &[PosedCamera],
    lens: &Brown,
    point_m: DVec3,
    image_sigma_px: f64,
    pose: &PoseSigma,
) -> Option<DMat3> {
    let rays: Vec<ImagePoint> =
        cameras.iter().filter_map(|camera| ImagePoint::of(camera, lens, point_m)).collect();
    let mut normal = DMat3::ZERO;
    for ray in &rays {
        let weight = weight(ray, image_sigma_px, pose);
        let [u, v] = ray.by_point;
        normal += outer(u, weight.x_axis.x * u + weight.x_axis.y * v);
        normal += outer(v, weight.y_axis.x * u + weight.y_axis.y * v);
    }
    inverse_if_determined(&normal).filter(|_| rays.len() >= 2)
}

/// The inverse of a normal matrix of a point, or nothing where some direction is not determined.
pub(super) fn inverse_if_determined(normal: &DMat3) -> Option<DMat3> {
    let scale = (normal.x_axis.x + normal.y_axis.y + normal.z_axis.z) / 3.0;
    let determined = scale > 0.0 && normal.determinant() > LEAST_DETERMINED * scale.powi(3);
    determined.then(|| normal.inverse())
}

/// a bᵀ.
pub(super) fn outer(a: DVec3, b: DVec3) -> DMat3 {
    DMat3::from_cols(a * b.x, a * b.y, a * b.z)
}

fn weight(ray: &ImagePoint, image_sigma_px: f64, pose: &PoseSigma) -> DMat2 {
    let by_pose = |row: usize| [ray.by_point[row] * pose.position_m, ray.by_turn[row] * pose.turn_rad];
    let (u, v) = (by_pose(0), by_pose(1));
    let dot = |a: [DVec3; 2], b: [DVec3; 2]| a[0].dot(b[0]) + a[1].dot(b[1]);
    let noise = image_sigma_px * image_sigma_px;
    let across = dot(u, v);
    DMat2::from_cols(DVec2::new(noise + dot(u, u), across), DVec2::new(across, noise + dot(v, v))).inverse()
}
