use crate::geometry::{PosedCamera, polygon};
use glam::DVec2;

/// Rays farther than this from the vertical are cut: what lies beyond is too slanted to use.
const CUT_RAD: f64 = 75.0 * std::f64::consts::PI / 180.0;

/// Pieces of each side of a frame that reaches beyond the cut, or whose lens bends it.
const PIECES: usize = 8;

/// The outline of a frame on a level plane, rays cut at 75° from the vertical.
///
/// A frame wholly within the cut is the quadrilateral of its corners; one that reaches beyond follows the circle that
/// the cut draws on the plane, and one that is bent by its lens follows that. Nothing for a camera that is not above the
/// plane.
///
/// # Units
/// - `plane_z_m`: height of the plane, metres in the local frame
/// - returns: metres, east and north
///
/// # Shape
/// - returns: open ring, in the frame's order (first the top left corner); convex where the lens bends nothing
///
/// # Accuracy
/// The circle, and a bent side, is followed with eight pieces a side.
///
/// # References
/// Derived: the rays through the frame's corners, met with the plane; the cut is common practice, no source.
///
/// # Examples
/// ```
/// use glam::DVec3;
/// use obliquity_planning::{CameraModel, Pose, PosedCamera, footprint_m, polygon};
/// let model = CameraModel::pinhole(5472, 3648, 3648.0);
/// let position_m = DVec3::new(0.0, 0.0, 100.0);
/// let pose = Pose { position_m, heading_rad: 0.0, tilt_rad: 45_f64.to_radians(), roll_rad: 0.0 };
/// let ring = footprint_m(&PosedCamera::new(model, &pose), 0.0).expect("above the plane");
/// // the far edge lies 300 m ahead, the near one a third of the height
/// assert!((ring[0].y - 300.0).abs() < 1e-9 && (ring[2].y - 100.0 / 3.0).abs() < 1e-9);
/// assert!((polygon::area_m2(&ring) - 75424.7233).abs() < 1e-3);
/// ```
pub fn footprint_m(camera: &PosedCamera, plane_z_m: f64) -> Option<Vec<DVec2>> {
    let height = camera.centre_m.z - plane_z_m;
    if height <= 0.0 {
        return None;
    }
    let corners = camera.model.corners();
    let cast = |at: DVec2| cast_m(camera, camera.model.without_distortion(at), height);
    let hits = corners.map(cast);
    if camera.model.lens.is_none() && hits.iter().all(|(_, cut)| !cut) {
        return Some(hits.iter().map(|(hit, _)| *hit).collect());
    }
    let along_sides = polygon::sides(&corners)
        .flat_map(|(a, b)| (0..PIECES).map(move |k| a.lerp(b, k as f64 / PIECES as f64)));
    Some(along_sides.map(|at| cast(at).0).collect())
}

/// Where a ray meets the plane, and whether it was cut.
fn cast_m(camera: &PosedCamera, at_unit_depth: DVec2, height_m: f64) -> (DVec2, bool) {
    let ray = camera.ray(at_unit_depth);
    let level = DVec2::new(ray.x, ray.y);
    let cut = level.length() > -ray.z * CUT_RAD.tan();
    let reach = if cut {
        level.normalize_or_zero() * (height_m * CUT_RAD.tan())
    } else {
        level * (height_m / -ray.z)
    };
    (DVec2::new(camera.centre_m.x, camera.centre_m.y) + reach, cut)
}

/// Length of the chord through a point inside a convex ring, along a direction.
///
/// # References
/// Derived: a line cut by the half-planes of the sides.
pub(crate) fn chord_m(ring: &[DVec2], through: DVec2, direction: DVec2) -> f64 {
    let along = direction.normalize_or_zero();
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let ccw = polygon::signed_area_m2(ring) > 0.0;
    for (a, b) in polygon::sides(ring) {
        let outward = if ccw { -(b - a).perp() } else { (b - a).perp() };
        let (rate, room) = (outward.dot(along), outward.dot(a - through));
        if rate > 0.0 {
            high = high.min(room / rate);
        } else if rate < 0.0 {
            low = low.max(room / rate);
        }
    }
    (high - low).max(0.0)
}

#[cfg(test)]
mod tests {
    use crate::geometry::footprint::*;
    use crate::geometry::{CameraModel, Pose};
    use approx::assert_relative_eq;
    use glam::DVec3;

    fn looking(tilt_deg: f64) -> PosedCamera {
        let model = CameraModel::pinhole(5472, 3648, 3648.0);
        let position_m = DVec3::new(0.0, 0.0, 100.0);
        let tilt_rad = tilt_deg.to_radians();
        PosedCamera::new(model, &Pose { position_m, heading_rad: 0.0, tilt_rad, roll_rad: 0.0 })
    }

    /// Derived: level ground, level camera: 150 m by 100 m.
    #[test]
    fn a_level_frame_is_a_rectangle() {
        let ring = footprint_m(&looking(0.0), 0.0).expect("above the plane");
        assert_relative_eq!(polygon::signed_area_m2(&ring).abs(), 15000.0, epsilon = 1e-6);
        assert_relative_eq!(chord_m(&ring, DVec2::ZERO, DVec2::X), 150.0, epsilon = 1e-9);
        assert_relative_eq!(chord_m(&ring, DVec2::ZERO, DVec2::Y), 100.0, epsilon = 1e-9);
    }

    /// Derived: a level look is cut at H tan 75° and stays finite.
    #[test]
    fn the_horizon_is_cut() {
        let ring = footprint_m(&looking(80.0), 0.0).expect("above the plane");
        let reach = ring.iter().map(|p| p.length()).fold(0.0, f64::max);
        assert_relative_eq!(reach, 100.0 * CUT_RAD.tan(), epsilon = 1e-9);
    }

    #[test]
    fn below_the_plane_there_is_none() {
        assert_eq!(footprint_m(&looking(0.0), 100.0), None);
    }
}
