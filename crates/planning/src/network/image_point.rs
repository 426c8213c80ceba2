//! Where a point is imaged, and how that moves with everything that an adjustment may change.

use super::interior::{INTERIOR_LEN, InteriorTerm};
use crate::geometry::{Brown, PosedCamera};
use glam::{DMat2, DVec2, DVec3};

/// Where a point is imaged, with its derivatives; rows of u and of v.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ImagePoint {
    /// Pixels, (0, 0) at the centre of the first.
    pub at_px: DVec2,
    /// Pixels for each metre that the point moves; the camera's own moves are the opposite.
    pub by_point: [DVec3; 2],
    /// Pixels for each radian that the camera turns about east, north and up.
    pub by_turn: [DVec3; 2],
    /// Pixels for each unit of the interior orientation, in the order of [`InteriorTerm::ALL`].
    pub by_interior: [[f64; INTERIOR_LEN]; 2],
}

impl ImagePoint {
    /// Images a point; nothing if it is not in front of the camera.
    ///
    /// # Units
    /// - `point_m`: metres in the local frame
    /// - returns: pixels, and pixels for each metre, radian and unit of a coefficient
    ///
    /// # References
    /// Collinearity equations, e.g. Wolf, Dewitt & Wilkinson, *Elements of Photogrammetry*, app. D, with Brown's
    /// distortion (from memory); derivatives derived.
    pub fn of(camera: &PosedCamera, lens: &Brown, point_m: DVec3) -> Option<Self> {
        let (d, ideal, slope) = seen(camera, lens, point_m)?;
        let focal_px = camera.model.focal_length_px;
        let distorted = lens.distorted(ideal);
        let turned = [camera.right, camera.down].map(|axis| axis.cross(d));
        let ahead = camera.forward.cross(d);
        Some(ImagePoint {
            at_px: camera.model.principal_point_px() + focal_px * distorted,
            by_point: by_point(camera, ideal, &slope),
            by_turn: through(&slope, [0, 1].map(|k| turned[k] - ideal[k] * ahead)),
            by_interior: by_interior(focal_px, distorted, ideal),
        })
    }

    /// Of that the pixels for each metre that the point moves alone.
    pub(super) fn by_point_of(camera: &PosedCamera, lens: &Brown, point_m: DVec3) -> Option<[DVec3; 2]> {
        let (_, ideal, slope) = seen(camera, lens, point_m)?;
        Some(by_point(camera, ideal, &slope))
    }
}

/// From the camera to a point, where a pinhole of unit focal length images it, and the pixels for what moves that; nothing
/// behind the camera.
fn seen(camera: &PosedCamera, lens: &Brown, point_m: DVec3) -> Option<(DVec3, DVec2, DMat2)> {
    let d = point_m - camera.centre_m;
    let depth_m = d.dot(camera.forward);
    if depth_m <= 0.0 {
        return None;
    }
    let ideal = DVec2::new(d.dot(camera.right), d.dot(camera.down)) / depth_m;
    Some((d, ideal, lens.slope(ideal) * (camera.model.focal_length_px / depth_m)))
}

fn by_point(camera: &PosedCamera, ideal: DVec2, slope: &DMat2) -> [DVec3; 2] {
    let axes = [camera.right, camera.down];
    through(slope, [0, 1].map(|k| axes[k] - ideal[k] * camera.forward))
}

fn through(slope: &DMat2, of: [DVec3; 2]) -> [DVec3; 2] {
    [0, 1].map(|row| slope.x_axis[row] * of[0] + slope.y_axis[row] * of[1])
}

fn by_interior(focal_px: f64, distorted: DVec2, ideal: DVec2) -> [[f64; INTERIOR_LEN]; 2] {
    let bent = Brown::by_coefficients(ideal);
    [0, 1].map(|row| {
        InteriorTerm::ALL.map(|term| match term {
            InteriorTerm::Focal => distorted[row],
            InteriorTerm::CentreX => [1.0, 0.0][row],
            InteriorTerm::CentreY => [0.0, 1.0][row],
            InteriorTerm::K1 => focal_px * bent[0][row],
            InteriorTerm::K2 => focal_px * bent[1][row],
            InteriorTerm::K3 => focal_px * bent[2][row],
            InteriorTerm::P1 => focal_px * bent[3][row],
            InteriorTerm::P2 => focal_px * bent[4][row],
        })
    })
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

    use super::*;
    use crate::geometry::{CameraModel, Pose};
    use rand_distr::{Distribution, StandardUniform};
    use rand_pcg::Pcg64Mcg;

    const LENS: Brown = Brown { k1: -0.05, k2: 0.02, k3: -0.003, p1: 0.0008, p2: -0.0005 };
    const MODEL: CameraModel = CameraModel::pinhole(5472, 3648, 3648.0);

    fn drawn(rng: &mut Pcg64Mcg, from: f64, to: f64) -> f64 {
        let share: f64 = StandardUniform.sample(rng);
        from + (to - from) * share
    }

    fn camera(rng: &mut Pcg64Mcg) -> PosedCamera {
        let position_m =
            DVec3::new(drawn(rng, -50.0, 50.0), drawn(rng, -50.0, 50.0), drawn(rng, 80.0, 120.0));
        let (heading_rad, tilt_rad) = (drawn(rng, 0.0, 6.0), drawn(rng, 0.0, 0.9));
        PosedCamera::new(MODEL, &Pose { position_m, heading_rad, tilt_rad, roll_rad: drawn(rng, -0.3, 0.3) })
    }

    fn turned(camera: &PosedCamera, about: DVec3) -> PosedCamera {
        let turn = glam::DQuat::from_scaled_axis(about);
        let [right, down, forward] = [camera.right, camera.down, camera.forward].map(|axis| turn * axis);
        PosedCamera { right, down, forward, ..*camera }
    }

    /// Interior terms moved by a step: focal length, centre and the lens.
    fn bent(camera: &PosedCamera, term: InteriorTerm, step: f64, point_m: DVec3) -> DVec2 {
        let (mut lens, mut camera, mut shift) = (LENS, *camera, DVec2::ZERO);
        match term {
            InteriorTerm::Focal => camera.model.focal_length_px += step,
            InteriorTerm::CentreX => shift.x = step,
            InteriorTerm::CentreY => shift.y = step,
            InteriorTerm::K1 => lens.k1 += step,
            InteriorTerm::K2 => lens.k2 += step,
            InteriorTerm::K3 => lens.k3 += step,
            InteriorTerm::P1 => lens.p1 += step,
            InteriorTerm::P2 => lens.p2 += step,
        }
        at(&camera, &lens, point_m) + shift
    }

    fn at(camera: &PosedCamera, lens: &Brown, point_m: DVec3) -> DVec2 {
        ImagePoint::of(camera, lens, point_m).unwrap().at_px
    }

    fn close(analytic: DVec2, numeric: DVec2, scale: f64) {
        // central differences of double precision leave about 1e-8 of the largest of them
        assert!((analytic - numeric).length() < 2e-7 * scale, "{analytic} {numeric}");
    }

    /// Derived: derivatives against central differences, 200 seeded poses and points.
    #[test]
    fn derivatives_are_the_differences() {
        let mut rng = Pcg64Mcg::new(11);
        for _ in 0..200 {
            let camera = camera(&mut rng);
            let ray = camera.ray(DVec2::new(drawn(&mut rng, -0.7, 0.7), drawn(&mut rng, -0.5, 0.5)));
            let point_m = camera.centre_m + ray * drawn(&mut rng, 40.0, 150.0);
            let image = ImagePoint::of(&camera, &LENS, point_m).unwrap();
            for axis in DVec3::AXES {
                let step = 1e-3;
                let moved = (at(&camera, &LENS, point_m + axis * step)
                    - at(&camera, &LENS, point_m - axis * step))
                    / (2.0 * step);
                close(DVec2::new(image.by_point[0].dot(axis), image.by_point[1].dot(axis)), moved, 100.0);
                let step = 1e-5;
                let swung = (at(&turned(&camera, axis * step), &LENS, point_m)
                    - at(&turned(&camera, -axis * step), &LENS, point_m))
                    / (2.0 * step);
                close(DVec2::new(image.by_turn[0].dot(axis), image.by_turn[1].dot(axis)), swung, 8000.0);
            }
            for (k, term) in InteriorTerm::ALL.into_iter().enumerate() {
                let step = 1e-4;
                let of = |step| bent(&camera, term, step, point_m);
                let bent = (of(step) - of(-step)) / (2.0 * step);
                close(DVec2::new(image.by_interior[0][k], image.by_interior[1][k]), bent, 4000.0);
            }
        }
    }

    /// Derived: without a lens it is the pinhole.
    #[test]
    fn without_distortion_it_is_the_pinhole() {
        let mut rng = Pcg64Mcg::new(12);
        for _ in 0..50 {
            let camera = camera(&mut rng);
            let point_m = camera.centre_m + camera.ray(DVec2::new(0.3, -0.2)) * 70.0;
            let pinhole = camera.project(point_m).unwrap();
            assert!((at(&camera, &Brown::NONE, point_m) - pinhole).length() < 1e-9); // a few roundings of 5000 px
        }
        let camera = camera(&mut rng);
        assert!(ImagePoint::of(&camera, &LENS, camera.centre_m - camera.forward).is_none());
    }
}
