//! The camera model: vertical footprints, look vectors and projection.

use approx::assert_abs_diff_eq;
use glam::{DVec2, DVec3};
use obliquity_planning::{CameraModel, Pose, PosedCamera};

/// The camera of all cases: 5472 x 3648 pixels of 2.41228070 um behind 8.8 mm, so f = 3648 pixels.
pub(crate) const CAMERA: CameraModel = CameraModel::pinhole(5472, 3648, 3648.0);

/// A camera by yaw (clockwise from north), pitch (above the horizon) and roll, in degrees.
pub(crate) fn posed(yaw_deg: f64, pitch_deg: f64, roll_deg: f64, position_m: DVec3) -> PosedCamera {
    PosedCamera::new(CAMERA, &pose(yaw_deg, pitch_deg, roll_deg, position_m))
}

fn pose(yaw_deg: f64, pitch_deg: f64, roll_deg: f64, position_m: DVec3) -> Pose {
    Pose {
        position_m,
        heading_rad: yaw_deg.to_radians(),
        tilt_rad: (pitch_deg + 90.0).to_radians(),
        roll_rad: roll_deg.to_radians(),
    }
}

/// Derived: pixel pitch x height / focal length, and sensor side x height / focal length.
#[test]
fn vertical_gsd_and_footprint_scale_with_height() {
    let cases = [
        (30.0, 0.8223684, 45.0, 30.0),
        (60.0, 1.6447368, 90.0, 60.0),
        (100.0, 2.7412281, 150.0, 100.0),
        (120.0, 3.2894737, 180.0, 120.0),
    ];
    for (height_m, gsd_cm, across_m, along_m) in cases {
        // The GSD is given to seven decimals of a centimetre.
        assert_abs_diff_eq!(CAMERA.vertical_gsd_m(height_m) * 100.0, gsd_cm, epsilon = 1e-7);
        let footprint_m = CAMERA.vertical_footprint_m(height_m);
        assert_abs_diff_eq!(footprint_m.x, across_m, epsilon = 1e-9);
        assert_abs_diff_eq!(footprint_m.y, along_m, epsilon = 1e-9);
    }
}

/// Derived: azimuth and elevation of the axis, worked out by hand and printed to nine decimals.
#[test]
fn axis_follows_heading_and_tilt() {
    const HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;
    let cases = [
        (0.0, -90.0, [0.0, 0.0, -1.0]),
        (90.0, -90.0, [0.0, 0.0, -1.0]),
        (0.0, -45.0, [0.0, HALF, -HALF]),
        (90.0, -45.0, [HALF, 0.0, -HALF]),
        (180.0, -45.0, [0.0, -HALF, -HALF]),
        (270.0, -45.0, [-HALF, 0.0, -HALF]),
        (45.0, -60.0, [0.353553391, 0.353553391, -0.866025404]),
        (30.0, -45.0, [0.353553391, 0.612372436, -HALF]),
        (200.0, -20.0, [-0.321393805, -0.883022222, -0.342020143]),
        (0.0, 0.0, [0.0, 1.0, 0.0]),
        (0.0, 20.0, [0.0, 0.939692621, 0.342020143]),
    ];
    for (yaw_deg, pitch_deg, expected) in cases {
        let axis = pose(yaw_deg, pitch_deg, 0.0, DVec3::ZERO).axis();
        // Half a unit of the ninth decimal.
        assert!(axis.abs_diff_eq(DVec3::from(expected), 5.1e-10), "{yaw_deg} {pitch_deg}: {axis}");
    }
}

/// Derived: a positive roll turns the camera clockwise seen from behind, so its right side dips and its axis stays.
#[test]
fn positive_roll_dips_the_right_side() {
    let (yaw_deg, pitch_deg, roll_deg) = (30.0_f64, -45.0_f64, 5.0_f64);
    let rolled = pose(yaw_deg, pitch_deg, roll_deg, DVec3::ZERO);
    let (right, up) = rolled.right_up();
    // sin 5 deg x cos 45 deg below the horizon: the up vector leans 45 degrees back.
    let dip = roll_deg.to_radians().sin() * pitch_deg.to_radians().cos();
    assert_abs_diff_eq!(right.z, -dip, epsilon = 1e-12);
    assert!(
        right.cross(up).abs_diff_eq(-rolled.axis(), 1e-12),
        "right, up and back make a right-handed frame"
    );
    assert!(rolled.axis().abs_diff_eq(pose(yaw_deg, pitch_deg, 0.0, DVec3::ZERO).axis(), 1e-15));
}

/// Derived: at tilt 0 and 180 the heading is the limit as the tilt approaches it, so "up" in the image still points
/// along the heading (and against it when looking straight up).
#[test]
fn straight_down_and_up_keep_their_heading() {
    for heading_deg in [0.0_f64, 73.0, 200.0] {
        let (sin_h, cos_h) = heading_deg.to_radians().sin_cos();
        let ahead = DVec3::new(sin_h, cos_h, 0.0);
        let (_, up_of_nadir) = pose(heading_deg, -90.0, 0.0, DVec3::ZERO).right_up();
        let (_, up_of_zenith) = pose(heading_deg, 90.0, 0.0, DVec3::ZERO).right_up();
        assert!(up_of_nadir.abs_diff_eq(ahead, 1e-15));
        assert!(up_of_zenith.abs_diff_eq(-ahead, 1e-15));
    }
}

const POINTS_M: [[f64; 3]; 6] = [
    [0.0, 0.0, 0.0],
    [30.0, 20.0, 5.0],
    [-40.0, 25.0, 0.0],
    [10.0, 60.0, 12.0],
    [0.0, 100.0, 0.0],
    [-60.0, 120.0, 20.0],
];

fn assert_projects(camera: &PosedCamera, expected_px: [[f64; 2]; 6]) {
    let tolerance_px = 1e-3; // wider than the reference's four decimals; a pixel-centre mix-up would cost 0.5
    for (point, expected) in POINTS_M.into_iter().zip(expected_px) {
        let uv = camera.project(DVec3::from(point)).expect("the point is in front");
        assert!(uv.abs_diff_eq(DVec2::from(expected), tolerance_px), "{point:?}: {uv} for {expected:?}");
    }
}

/// Cross-check: OpenCV 5.0.0 projectPoints, no distortion; yaw 0, pitch -90, roll 0, camera 100 m up.
#[test]
fn nadir_projection_agrees_with_opencv() {
    let expected_px = [
        [2735.5, 1823.5],
        [3887.5, 1055.5],
        [1276.3, 911.5],
        [3150.0455, -663.7727],
        [2735.5, -1824.5],
        [-0.5, -3648.5],
    ];
    assert_projects(&posed(0.0, -90.0, 0.0, DVec3::new(0.0, 0.0, 100.0)), expected_px);
}

/// Cross-check: OpenCV 5.0.0 projectPoints, no distortion; yaw 0, pitch -45, roll 0, camera 100 m up.
#[test]
fn oblique_projection_agrees_with_opencv() {
    let expected_px = [
        [2735.5, 5471.5],
        [4081.3394, 4202.6304],
        [1084.6037, 4012.3],
        [3084.0845, 2513.6622],
        [2735.5, 1823.5],
        [1187.7847, 1093.9],
    ];
    assert_projects(&posed(0.0, -45.0, 0.0, DVec3::new(0.0, 0.0, 100.0)), expected_px);
}

/// Derived: the frame is half-open, so that neighbouring frames share no point.
#[test]
fn frame_is_half_open() {
    assert!(CAMERA.contains(DVec2::new(-0.5, -0.5)));
    assert!(!CAMERA.contains(DVec2::new(-0.5 - 1e-9, 0.0)));
    assert!(CAMERA.contains(DVec2::new(5471.5 - 1e-9, 3647.5 - 1e-9)));
    assert!(!CAMERA.contains(DVec2::new(5471.5, 0.0)));
    assert!(!CAMERA.contains(DVec2::new(0.0, 3647.5)));
}

/// Derived: what lies behind a pinhole has no image.
#[test]
fn a_point_behind_the_camera_has_no_image() {
    let level = posed(0.0, 0.0, 0.0, DVec3::ZERO);
    assert!(level.project(DVec3::new(0.0, 1e-9, 0.0)).is_some());
    assert!(level.project(DVec3::new(0.0, -1e-9, -5.0)).is_none());
    assert!(level.project(DVec3::new(0.0, -1.0, 0.0)).is_none());
}
