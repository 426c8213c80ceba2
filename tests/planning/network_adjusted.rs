//! Covariances against adjustments that were really done, with drawn errors, by a general library.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::network_blocks::CAMERA;
use glam::DVec3;
use obliquity_planning::{
    Brown, Calibration, Functionals, ImageBlock, InteriorFreedom, InteriorTerm, Network, NoWatch,
    PointFunctional, Pose, PosedCamera, Positioning, TiePoint,
};

/// Rows of numbers under a line of names.
fn rows(text: &str) -> Vec<Vec<f64>> {
    let row = |line: &str| line.split(',').map(|word| word.parse().unwrap()).collect();
    text.lines().skip(1).map(row).collect()
}

/// The block, and the spread of each point's coordinates.
fn block() -> (ImageBlock, Vec<[f64; 3]>) {
    let images = rows(include_str!("../reference/network/images.csv")).into_iter().map(|row| {
        let position_m = DVec3::new(row[0], row[1], row[2]);
        let (heading_rad, tilt_rad) = (row[3].to_radians(), row[4].to_radians());
        PosedCamera::new(CAMERA, &Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 })
    });
    let points = rows(include_str!("../reference/network/points.csv"));
    let rays = rows(include_str!("../reference/network/rays.csv"));
    let tie = |(number, row): (usize, &Vec<f64>)| TiePoint {
        position_m: DVec3::new(row[0], row[1], row[2]),
        images: rays.iter().filter(|ray| ray[1] as usize == number).map(|ray| ray[0] as u32).collect(),
        stands_for: 1.0,
        control_sigma_m: None,
    };
    let block = ImageBlock {
        images: images.collect(),
        lens: Brown { k1: -0.05, k2: 0.02, k3: -0.003, p1: 0.0008, p2: -0.0005 },
        points: points.iter().enumerate().map(tie).collect(),
        image_sigma_px: 0.5,
        positioning: Some(Positioning {
            random_sigma_m: DVec3::new(0.02, 0.02, 0.04),
            constant_sigma_m: DVec3::new(0.015, 0.015, 0.03),
            set_ups: Vec::new(),
        }),
    };
    (block, points.iter().map(|row| [row[3], row[4], row[5]]).collect())
}

/// Cross-check: SciPy 1.17 `least_squares`, 600 adjustments of one small block with drawn errors
/// (`tests/reference/adjust_block.py`). A standard deviation from n draws is off by 1/√(2 (n − 1)) of itself, 2.9 % here:
/// single ones may differ by 4.5 times that, their mean square by less, though not by the root of their number, since
/// neighbours move together.
#[test]
fn covariances_agree_with_adjustments_by_scipy() {
    let (block, spread) = block();
    let shared = &rows(include_str!("../reference/network/shared.csv"))[0];
    let one = 1.0 / (2.0 * (shared[3] - 1.0)).sqrt();
    let network = Network::new(&block, &NoWatch).unwrap();
    assert_eq!(network.carried.points.len(), block.points.len());
    let dome = [0, 4, 20, 24].map(|corner| (corner, DVec3::new(0.0, 0.0, -0.25)));
    let dome = PointFunctional { terms: [(12, DVec3::Z)].into_iter().chain(dome).collect() };
    let coordinates = (0..block.points.len() as u32).flat_map(PointFunctional::coordinates);
    let of: Vec<PointFunctional> = coordinates.chain([dome]).collect();
    let calibration = Calibration::new(&network, &InteriorFreedom::FOCAL_AND_K1);
    let asked = Functionals::new(&network, &of, &NoWatch).unwrap();
    let mut squares = Vec::new();
    for (k, found) in spread.iter().flatten().enumerate() {
        let ratio = found / asked.sigma_m(k, &calibration).unwrap();
        assert!((ratio - 1.0).abs() < 4.5 * one, "coordinate {k}: {ratio}");
        squares.push(ratio * ratio);
    }
    let mean = squares.iter().sum::<f64>() / squares.len() as f64;
    assert!((mean.sqrt() - 1.0).abs() < 2.5 * one, "all of them: {}", mean.sqrt());
    let rest = [
        (shared[0], calibration.sigma(InteriorTerm::Focal)),
        (shared[1], calibration.sigma(InteriorTerm::K1)),
        (shared[2], asked.sigma_m(of.len() - 1, &calibration)),
    ];
    for (found, expected) in rest {
        let ratio = found / expected.unwrap();
        assert!((ratio - 1.0).abs() < 4.5 * one, "{found} for {expected:?}");
    }
}
