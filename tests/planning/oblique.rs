//! What a tilted camera gets of level ground and of walls.

use crate::camera::{CAMERA, posed};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use glam::{DVec2, DVec3};
use obliquity_planning::PosedCamera;

const HEIGHT_M: f64 = 100.0;

fn tilted(tilt_deg: f64) -> PosedCamera {
    posed(0.0, tilt_deg - 90.0, 0.0, DVec3::new(0.0, 0.0, HEIGHT_M))
}

/// Where the ray through a place of the frame, given as shares of its half sides (x right, y down), meets the ground.
fn ground_m(camera: &PosedCamera, share: DVec2) -> DVec3 {
    let ray = camera.ray(CAMERA.half_extent() * share);
    assert!(ray.z < 0.0, "the ray goes down");
    camera.centre_m + ray * (camera.centre_m.z / -ray.z)
}

struct Line {
    from_nadir_m: f64,
    across_cm: f64,
    along_cm: f64,
    half_width_m: f64,
}

const fn line(from_nadir_m: f64, across_cm: f64, along_cm: f64, half_width_m: f64) -> Line {
    Line { from_nadir_m, across_cm, along_cm, half_width_m }
}

/// Cross-check: closed form and ray casting with Shapely, which agree to 1e-9; near, centre and far line of the frame.
/// The GSD of a surface point is the geometric mean of the two directions' GSDs.
#[test]
fn ground_seen_by_a_tilted_camera_agrees_with_ray_casting() {
    let at_20 = [
        line(-11.5086, 2.4680, 2.2220, 67.5248),
        line(36.3970, 2.9172, 3.1044, 79.8133),
        line(105.6179, 3.5661, 4.6393, 97.5695),
    ];
    let at_45 = [
        line(33.3333, 2.5845, 2.4366, 70.7107),
        line(100.0, 3.8767, 5.4825, 106.0660),
        line(300.0, 7.7534, 21.9298, 212.1320),
    ];
    let tolerance = 1.01e-4; // the values are given to four decimals
    for (tilt_deg, lines) in [(20.0, at_20), (45.0, at_45)] {
        let camera = tilted(tilt_deg);
        for (down, expected) in [1.0, 0.0, -1.0].into_iter().zip(lines) {
            let point = ground_m(&camera, DVec2::new(0.0, down));
            assert_abs_diff_eq!(point.y, expected.from_nadir_m, epsilon = tolerance);
            let side = ground_m(&camera, DVec2::new(1.0, down));
            assert_abs_diff_eq!(side.x, expected.half_width_m, epsilon = tolerance);
            let gsd_cm = camera.gsd_m(point, DVec3::Z).expect("facing") * 100.0;
            assert_abs_diff_eq!(gsd_cm, (expected.across_cm * expected.along_cm).sqrt(), epsilon = tolerance);
        }
    }
}

/// Cross-check: as above at 60 degrees, where the far line nearly reaches the horizon.
#[test]
fn ground_near_the_horizon_agrees_with_ray_casting() {
    let camera = tilted(60.0);
    let distances_m = [1.0, 0.0, -1.0].map(|down| ground_m(&camera, DVec2::new(0.0, down)).y);
    for (distance_m, expected_m) in distances_m.into_iter().zip([66.0254, 173.2051, 1666.0254]) {
        assert_abs_diff_eq!(distance_m, expected_m, epsilon = 1e-3);
    }
    let far = ground_m(&camera, DVec2::new(0.0, -1.0));
    let gsd_cm = camera.gsd_m(far, DVec3::Z).expect("facing") * 100.0;
    // The two directions' GSDs are given to four decimals: 40.9216 and 610.8861 cm.
    assert_relative_eq!(gsd_cm, (40.9216_f64 * 610.8861).sqrt(), max_relative = 2e-6);
}

/// Cross-check: ray casting, area by Shapely.
#[test]
fn footprint_corners_and_areas_agree_with_shapely() {
    let corners =
        [DVec2::new(-1.0, 1.0), DVec2::new(1.0, 1.0), DVec2::new(1.0, -1.0), DVec2::new(-1.0, -1.0)];
    let footprint = |tilt_deg| corners.map(|corner| ground_m(&tilted(tilt_deg), corner).truncate());
    let expected_m = [[-70.7107, 33.3333], [70.7107, 33.3333], [212.1320, 300.0], [-212.1320, 300.0]];
    for (corner, expected) in footprint(45.0).into_iter().zip(expected_m) {
        assert!(corner.abs_diff_eq(DVec2::from(expected), 1e-4), "{corner} for {expected:?}");
    }
    for (tilt_deg, area_m2) in [(20.0, 19336.9237), (45.0, 75424.7233), (60.0, 1920000.0)] {
        let ring = footprint(tilt_deg);
        let twice: f64 = (0..4).map(|i| ring[i].perp_dot(ring[(i + 1) % 4])).sum();
        assert_relative_eq!(twice / 2.0, area_m2, max_relative = 1e-8); // four decimals of about 2e4
    }
}

/// Derived: the horizon enters the frame when tilt + half the field reaches 90 degrees: at 63.434949 degrees here.
#[test]
fn horizon_enters_the_frame_at_the_closed_form_tilt() {
    let top = DVec2::new(0.0, -CAMERA.half_extent().y);
    assert!(tilted(63.434949 - 1e-6).ray(top).z < 0.0);
    assert!(tilted(63.434949 + 1e-6).ray(top).z > 0.0);
}

/// Derived: on the axis, across = GSD0 / cos t and along = GSD0 / cos^2 t, so the mean grows with cos^-1.5 t.
#[test]
fn gsd_on_the_axis_follows_the_closed_form() {
    for tilt_deg in [0.0, 20.0, 30.0, 45.0, 60.0, 75.0] {
        let camera = tilted(tilt_deg);
        let gsd_m = camera.gsd_m(ground_m(&camera, DVec2::ZERO), DVec3::Z).expect("facing");
        let expected_m = CAMERA.vertical_gsd_m(HEIGHT_M) / tilt_deg.to_radians().cos().powf(1.5);
        assert_relative_eq!(gsd_m, expected_m, max_relative = 1e-12);
    }
}

/// Derived: general identity on the axis, (pixel / f) x range / sqrt(cos incidence), computed to seven decimals.
#[test]
fn wall_gsd_follows_the_closed_form() {
    struct Case {
        distance_m: f64,
        tilt_deg: f64,
        horizontal_cm: f64,
        vertical_cm: f64,
        incidence_deg: f64,
        below_m: f64,
    }
    let case = |distance_m, tilt_deg, horizontal_cm, vertical_cm, incidence_deg, below_m| Case {
        distance_m,
        tilt_deg,
        horizontal_cm,
        vertical_cm,
        incidence_deg,
        below_m,
    };
    let cases = [
        case(50.0, 45.0, 1.9383410, 2.7412281, 45.0, 50.0),
        case(50.0, 60.0, 1.5826488, 1.8274854, 30.0, 28.867513),
        case(30.0, 90.0, 0.8223684, 0.8223684, 0.0, 0.0),
        case(40.0, 70.0, 1.1668616, 1.2417482, 20.0, 14.558809),
    ];
    for case in cases {
        let camera = tilted(case.tilt_deg);
        let axis = camera.forward;
        let point = camera.centre_m + axis * (case.distance_m / axis.y);
        assert_abs_diff_eq!(camera.centre_m.z - point.z, case.below_m, epsilon = 1e-6);
        let normal = DVec3::NEG_Y;
        assert_abs_diff_eq!((-axis).dot(normal).acos().to_degrees(), case.incidence_deg, epsilon = 1e-6);
        let gsd_cm = camera.gsd_m(point, normal).expect("facing") * 100.0;
        assert_abs_diff_eq!(gsd_cm, (case.horizontal_cm * case.vertical_cm).sqrt(), epsilon = 1e-6);
    }
}

/// Derived: sqrt of 1.9383410 x 2.7412281, printed on its own.
#[test]
fn wall_gsd_at_45_degrees_is_the_side_of_a_pixels_area() {
    let camera = tilted(45.0);
    let gsd_m = camera.gsd_m(DVec3::new(0.0, 50.0, 50.0), DVec3::NEG_Y).expect("facing");
    assert_abs_diff_eq!(gsd_m * 100.0, 2.3050889, epsilon = 1e-6);
}
