//! Brown's distortion against a general library.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::network_blocks::CAMERA;
use glam::{DVec2, DVec3};
use obliquity_planning::{Brown, ImagePoint, Pose, PosedCamera};

/// Cross-check: `OpenCV` 5.0 projectPoints with k1 −0.05, k2 0.02, p1 0.0008, p2 −0.0005, k3 −0.003, from 100 m up,
/// straight down and tilted by 45° to the north.
#[test]
fn distorted_points_agree_with_opencv() {
    let points = [
        (0.0, 0.0, 0.0),
        (30.0, 20.0, 5.0),
        (-40.0, 25.0, 0.0),
        (10.0, 60.0, 12.0),
        (0.0, 100.0, 0.0),
        (-60.0, 120.0, 20.0),
    ];
    let straight_down = [
        (2735.5, 1823.5),
        (3878.6562, 1061.6411),
        (1290.7312, 921.4225),
        (3140.5284, -610.5049),
        (2733.676, -1695.3608),
        (133.3966, -3362.2388),
    ];
    let tilted = [
        (2733.676, 5359.8712),
        (4051.213, 4152.8227),
        (1118.2224, 3968.0098),
        (3083.3058, 2512.4137),
        (2735.5, 1823.5),
        (1202.7981, 1101.8086),
    ];
    let lens = Brown { k1: -0.05, k2: 0.02, k3: -0.003, p1: 0.0008, p2: -0.0005 };
    for (tilt_deg, expected) in [(0.0_f64, straight_down), (45.0, tilted)] {
        let position_m = DVec3::new(0.0, 0.0, 100.0);
        let pose = Pose { position_m, heading_rad: 0.0, tilt_rad: tilt_deg.to_radians(), roll_rad: 0.0 };
        let camera = PosedCamera::new(CAMERA, &pose);
        for (point, at_px) in points.into_iter().zip(expected) {
            let found_px = ImagePoint::of(&camera, &lens, point.into()).unwrap().at_px;
            let off_px = (found_px - DVec2::from(at_px)).length();
            assert!(off_px < 1e-3, "{found_px} for {at_px:?}"); // the reference is printed to four decimals
        }
    }
}
