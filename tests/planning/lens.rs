//! A lens that bends: where frames end, and what they see.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use glam::{DVec2, DVec3};
use obliquity_planning::{
    Brown, CameraModel, NoWatch, Pose, PosedCamera, SamplePoint, SiteModel, Stations, SurfaceClass, Terrain,
    footprint_m, framed, polygon,
};
use proptest::prelude::*;

const PINHOLE: CameraModel = CameraModel::pinhole(6000, 4000, 5000.0);

fn bent(lens: Brown) -> CameraModel {
    CameraModel { lens, ..PINHOLE }
}

fn looking(tilt_deg: f64, heading_deg: f64) -> Pose {
    Pose {
        position_m: DVec3::new(3.0, -2.0, 80.0),
        heading_rad: heading_deg.to_radians(),
        tilt_rad: tilt_deg.to_radians(),
        roll_rad: 0.0,
    }
}

/// Lenses that do not fold these frames: their corner lies at 0.72 focal lengths.
fn lenses() -> impl Strategy<Value = Brown> {
    (-0.25..0.25, -0.1..0.1, -0.05..0.05, -0.004..0.004, -0.004..0.004)
        .prop_map(|(k1, k2, k3, p1, p2)| Brown { k1, k2, k3, p1, p2 })
        .prop_filter("folded", |lens| bent(*lens).corners().iter().all(|at| lens.undistorted(*at).is_some()))
}

/// How far an image point lies from the nearest side of the frame's lines, in pixels.
fn off_edge_px(model: &CameraModel, at_px: DVec2) -> f64 {
    let (width, height) = (f64::from(model.width_px), f64::from(model.height_px));
    let sides = [at_px.x + 0.5, width - 0.5 - at_px.x, at_px.y + 0.5, height - 0.5 - at_px.y];
    sides.into_iter().map(f64::abs).fold(f64::INFINITY, f64::min)
}

proptest! {
    /// Derived: what lies on the outline of a frame on the ground is imaged on the frame's edge.
    #[test]
    fn a_bent_footprint_ends_where_the_frame_does(lens in lenses(), tilt_deg in 0.0..30.0, heading_deg in 0.0..360.0) {
        let camera = PosedCamera::new(bent(lens), &looking(tilt_deg, heading_deg));
        for at in footprint_m(&camera, 0.0).unwrap() {
            let at_px = camera.project(at.extend(0.0)).unwrap();
            prop_assert!(off_edge_px(&camera.model, at_px) < 1e-4, "{at_px}: rounding of the lens undone, in 5000 px");
        }
    }

    /// Derived: a barrel (k1 below 0) sees more of the ground than a pinhole, a pincushion less; the more the more it bends.
    #[test]
    fn a_barrel_sees_more_and_a_pincushion_less(k1 in 0.01..0.2_f64, tilt_deg in 0.0..30.0) {
        let area_m2 = |k1: f64| -> f64 {
            let camera = PosedCamera::new(bent(Brown { k1, ..Brown::NONE }), &looking(tilt_deg, 20.0));
            polygon::area_m2(&footprint_m(&camera, 0.0).unwrap())
        };
        let areas: [f64; 5] = [-k1, -k1 / 2.0, 0.0, k1 / 2.0, k1].map(area_m2);
        prop_assert!(areas.windows(2).all(|pair| pair[0] > pair[1]), "{areas:?}");
    }

    /// Derived: which samples are in a frame is decided as the lens images them. A sample within 0.01 px of the edge may be
    /// decided otherwise: lanes are in single precision.
    #[test]
    fn a_bent_frame_holds_what_the_lens_images_in_it(
        lens in lenses(),
        places in prop::collection::vec((-160.0..160.0, -160.0..160.0), 200),
        tilt_deg in 0.0..60.0,
        heading_deg in 0.0..360.0,
    ) {
        let (model, pose) = (bent(lens), looking(tilt_deg, heading_deg));
        let camera = PosedCamera::new(model, &pose);
        let farthest = model.corners().map(|at| model.without_distortion(at).length()).into_iter().fold(0.0, f64::max);
        for (x, y) in places {
            let point = SamplePoint {
                class: SurfaceClass::Ground,
                position_m: DVec3::new(x, y, 0.0),
                normal: DVec3::Z,
                area_m2: 1.0,
            };
            let site = SiteModel::from_points(&[point], Vec::new(), Terrain::default());
            let stations = Stations { camera: model, poses: vec![pose] };
            let seen = framed(&site, &stations, &NoWatch).unwrap().framed == [1];
            let d = point.position_m - camera.centre_m;
            let ideal = DVec2::new(d.dot(camera.right), d.dot(camera.down)) / d.dot(camera.forward);
            let at_px = camera.project(point.position_m);
            let near = |at_px: &DVec2| off_edge_px(&model, *at_px) < 0.01;
            // beyond the farthest corner a lens may fold back into the frame: nothing there is imaged
            let holds = at_px.is_some_and(|at_px| model.contains(at_px) && ideal.length() <= farthest);
            prop_assert!(seen == holds || at_px.as_ref().is_some_and(near), "{x} {y}: {seen}, {at_px:?}");
        }
    }

    /// Derived: coefficients of zero change no bit.
    #[test]
    fn a_lens_of_zeros_is_none(x in -100.0..100.0, y in -100.0..100.0, tilt_deg in 0.0..80.0) {
        let pose = looking(tilt_deg, 10.0);
        let (none, zeros) = (PosedCamera::new(PINHOLE, &pose), PosedCamera::new(bent(Brown::default()), &pose));
        let point_m = DVec3::new(x, y, 0.0);
        prop_assert_eq!(none.project(point_m), zeros.project(point_m));
        prop_assert_eq!(footprint_m(&none, 0.0), footprint_m(&zeros, 0.0));
    }
}
