//! The small scene of `tests/reference/small`, whose figures come from general-purpose libraries alone.

use glam::{DVec2, DVec3};
use obliquity_planning::{CameraModel, Pose, PosedCamera, SurfaceClass};

/// As `small/camera.json` says.
pub(crate) const CAMERA: CameraModel = CameraModel::pinhole(1344, 896, 915.0);

const STATIONS: &str = include_str!("../reference/small/stations.csv");
const SAMPLES: &str = include_str!("../reference/small/samples.csv");
const PROJECTIONS: &str = include_str!("../reference/small/projections.csv");

/// One sample of the scene.
pub(crate) struct Sample {
    pub(crate) class: SurfaceClass,
    pub(crate) point_m: DVec3,
    pub(crate) normal: DVec3,
}

/// The fields of each row below the header.
pub(crate) fn rows(csv: &str) -> impl Iterator<Item = Vec<&str>> {
    csv.lines().skip(1).map(|line| line.split(',').collect())
}

pub(crate) fn number(field: &str) -> f64 {
    field.parse().expect("a number")
}

pub(crate) fn index(field: &str) -> usize {
    field.parse().expect("a whole number")
}

fn vector(fields: &[&str]) -> DVec3 {
    DVec3::new(number(fields[0]), number(fields[1]), number(fields[2]))
}

/// The poses of `small/stations.csv`, in its order.
pub(crate) fn poses() -> Vec<Pose> {
    rows(STATIONS)
        .map(|row| Pose {
            position_m: vector(&row[3..6]),
            heading_rad: number(row[6]).to_radians(),
            tilt_rad: number(row[7]).to_radians(),
            roll_rad: number(row[8]).to_radians(),
        })
        .collect()
}

/// The samples of `small/samples.csv`, in its order.
pub(crate) fn samples() -> Vec<Sample> {
    let class = |name| SurfaceClass::ALL.into_iter().find(|class| class.name() == name);
    rows(SAMPLES)
        .map(|row| Sample {
            class: class(row[1]).expect("a surface class"),
            point_m: vector(&row[3..6]),
            normal: vector(&row[6..9]),
        })
        .collect()
}

/// Cross-check: OpenCV 5.0.0 projectPoints (opencv-python-headless 5.0.0.93), 600 pairs with tilt, pan and roll.
#[test]
fn projections_agree_with_opencv() {
    let (poses, samples) = (poses(), samples());
    let tolerance_px = 1e-5; // stored to six decimals; the normal vectors and angles add less than one unit
    let mut pairs = 0;
    for row in rows(PROJECTIONS) {
        let (sample, station) = (index(row[0]), index(row[1]));
        let camera = PosedCamera::new(CAMERA, &poses[station]);
        let uv = camera.project(samples[sample].point_m).expect("in front of the camera");
        let expected = DVec2::new(number(row[2]), number(row[3]));
        assert!(
            uv.abs_diff_eq(expected, tolerance_px),
            "sample {sample}, station {station}: {uv}, {expected}"
        );
        assert!(CAMERA.contains(uv));
        pairs += 1;
    }
    assert_eq!(pairs, 600);
}

/// Cross-check: the Jacobian that OpenCV 5.0.0 projectPoints returns, carried into the surface's tangent plane.
#[test]
fn surface_gsd_agrees_with_opencv() {
    let (poses, samples) = (poses(), samples());
    for row in rows(PROJECTIONS) {
        let (sample, station) = (index(row[0]), index(row[1]));
        let Sample { point_m, normal, .. } = samples[sample];
        let gsd_m = PosedCamera::new(CAMERA, &poses[station]).gsd_m(point_m, normal).expect("facing");
        // The stored value has nine decimals of a centimetre, the normals twelve.
        let expected_cm = number(row[4]);
        assert!(
            (gsd_m * 100.0 - expected_cm).abs() <= 2e-9 * expected_cm.max(1.0),
            "sample {sample}, station {station}: {} cm, {expected_cm} cm",
            gsd_m * 100.0
        );
    }
}
