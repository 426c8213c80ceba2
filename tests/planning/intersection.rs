//! Multi-ray intersection against covariances by NumPy.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::network_blocks::CAMERA;
use glam::DVec3;
use obliquity_planning::{Brown, ImagePoint, Pose, PoseSigma, PosedCamera, intersection_covariance_m2};

const IMAGE_SIGMA_PX: f64 = 0.5;

/// Places are metres, `heading_deg` and `tilt_deg` from nadir.
fn camera(at: (f64, f64, f64), heading_deg: f64, tilt_deg: f64) -> PosedCamera {
    let (heading_rad, tilt_rad) = (heading_deg.to_radians(), tilt_deg.to_radians());
    PosedCamera::new(CAMERA, &Pose { position_m: at.into(), heading_rad, tilt_rad, roll_rad: 0.0 })
}

fn sigmas_mm(cameras: &[PosedCamera], point_m: DVec3, poses: &PoseSigma) -> DVec3 {
    let m2 = intersection_covariance_m2(cameras, &Brown::NONE, point_m, IMAGE_SIGMA_PX, poses).unwrap();
    1000.0 * DVec3::new(m2.x_axis.x.sqrt(), m2.y_axis.y.sqrt(), m2.z_axis.z.sqrt())
}

fn check(cameras: &[PosedCamera], point_m: DVec3, expected: [f64; 3]) {
    let found = sigmas_mm(cameras, point_m, &PoseSigma::default());
    // the reference is printed to seven decimals
    assert!((found - DVec3::from(expected)).abs().max_element() < 1e-6, "{found} for {expected:?}");
}

fn level(across: &[f64], along: &[f64]) -> Vec<PosedCamera> {
    across.iter().flat_map(|&x| along.iter().map(move |&y| camera((x, y, 100.0), 0.0, 0.0))).collect()
}

fn four_oblique() -> [PosedCamera; 4] {
    [(0.0, -100.0), (-100.0, 0.0), (0.0, 100.0), (100.0, 0.0)]
        .map(|(x, y)| (x, y, 100.0))
        .map(|at: (f64, f64, f64)| camera(at, f64::atan2(-at.0, -at.1).to_degrees(), 45.0))
}

/// Derived: σz = (Z/B)(Z/f) σ √2, exactly, for any base of the normal case; and NumPy's values of it, given with the
/// project's check values.
#[test]
fn the_normal_case_is_exact() {
    let rows =
        [(10.0, 193.8340957), (20.0, 96.9170479), (30.0, 64.6113652), (40.0, 48.4585239), (60.0, 32.3056826)];
    for (base_m, sigma_z_mm) in rows {
        let pair = level(&[-base_m / 2.0, base_m / 2.0], &[0.0]);
        check(&pair, DVec3::ZERO, [9.6917048, 9.6917048, sigma_z_mm]);
        let law_mm = 1000.0 * (100.0 / base_m) * (100.0 / 3648.0) * IMAGE_SIGMA_PX * 2_f64.sqrt();
        let found_mm = sigmas_mm(&pair, DVec3::ZERO, &PoseSigma::default()).z;
        assert!((found_mm / law_mm - 1.0).abs() < 1e-12); // rounding
    }
}

/// Cross-check: covariances by NumPy, given with the project's check values.
#[test]
fn intersections_agree_with_numpy() {
    let sides = [-45.0, 0.0, 45.0];
    check(&level(&sides, &[-20.0, 0.0, 20.0]), DVec3::ZERO, [4.5687135, 4.5687135, 11.3627559]);
    let along = [-40.0, -20.0, 0.0, 20.0, 40.0];
    check(&level(&sides, &along), DVec3::ZERO, [3.5389102, 3.5389102, 7.6322101]);
    let four = four_oblique();
    let with_nadir: Vec<PosedCamera> = level(&[0.0], &[0.0]).into_iter().chain(four).collect();
    check(&with_nadir, DVec3::ZERO, [8.6685243, 8.6685243, 13.7061404]);
    check(&four, DVec3::ZERO, [11.1910167, 11.1910167, 13.7061404]);
    check(&[four[0], four[2]], DVec3::ZERO, [13.7061404, 19.3834096, 19.3834096]);
}

/// Cross-check: covariances by NumPy, given with the project's check values.
#[test]
fn intersections_round_about_agree_with_numpy() {
    let orbit: Vec<PosedCamera> = (0..12)
        .map(|k| {
            let (sin, cos) = (30.0 * f64::from(k)).to_radians().sin_cos();
            camera((60.0 * sin, 60.0 * cos, 60.0), 180.0 + 30.0 * f64::from(k), 45.0)
        })
        .collect();
    check(&orbit, DVec3::ZERO, [3.8766819, 3.8766819, 4.7479463]);
    let wall: Vec<PosedCamera> = [-6.0, 0.0, 6.0]
        .into_iter()
        .flat_map(|x| [4.0, 8.0, 12.0].map(|z| camera((x, -30.0, z), 0.0, 90.0)))
        .collect();
    check(&wall, DVec3::new(0.0, 0.0, 8.0), [1.3706140, 6.9836166, 1.3706140]);
    let below: Vec<PosedCamera> =
        [-4.0, 4.0].into_iter().flat_map(|x| [-6.0, -3.0].map(|y| camera((x, y, 2.0), 0.0, 150.0))).collect();
    check(&below, DVec3::new(0.0, 0.0, 10.0), [0.6227131, 0.8158514, 1.2236357]);
}

/// Derived: images weigh by what a pixel of theirs is on the point. Of level images straight above, each at its own distance, the
/// place's variance is one over the sum of one over the squares of their pixels on the ground, and is that of the nearest alone
/// where the others are far.
#[test]
fn every_image_weighs_by_its_own_pixel_on_the_surface() {
    let heights_m = [20.0, 50.0, 80.0, 100.0];
    let above: Vec<PosedCamera> = heights_m.iter().map(|z| camera((0.0, 0.0, *z), 0.0, 0.0)).collect();
    // two more that fix the height and nothing else but for a little: level with the point, looking past each other
    let beside = [camera((1e4, 0.0, 0.0), 270.0, 90.0), camera((0.0, 1e4, 0.0), 180.0, 90.0)];
    let all: Vec<PosedCamera> = above.into_iter().chain(beside).collect();
    let focal_px = all[0].model.focal_length_px;
    let information = |z: f64| (focal_px / (z * IMAGE_SIGMA_PX)).powi(2);
    let expected_m = heights_m.into_iter().chain([1e4]).map(information).sum::<f64>().powf(-0.5);
    let found_mm = sigmas_mm(&all, DVec3::ZERO, &PoseSigma::default());
    assert!((found_mm.x / (1000.0 * expected_m) - 1.0).abs() < 1e-6, "{found_mm} for {expected_m} m");
    assert!((found_mm.y / (1000.0 * expected_m) - 1.0).abs() < 1e-6);
    let nearest_mm = 1000.0 * information(20.0).powf(-0.5);
    assert!(found_mm.x < nearest_mm && found_mm.x > 0.85 * nearest_mm);
}

/// Derived: parallel rays and single ones fix no point; poses that are off make it worse.
#[test]
fn what_does_not_intersect_is_nothing() {
    let of = |cameras: &[PosedCamera]| {
        let exact = PoseSigma::default();
        intersection_covariance_m2(cameras, &Brown::NONE, DVec3::ZERO, IMAGE_SIGMA_PX, &exact)
    };
    let one = camera((0.0, 0.0, 100.0), 0.0, 0.0);
    assert_eq!(of(&[]), None);
    assert_eq!(of(&[one]), None);
    assert_eq!(of(&[one, camera((0.0, 0.0, 80.0), 30.0, 0.0)]), None);
    let pair = level(&[-10.0, 10.0], &[0.0]);
    let turned = PoseSigma { position_m: DVec3::ZERO, turn_rad: DVec3::splat(1e-4) };
    let placed = PoseSigma { position_m: DVec3::splat(0.02), turn_rad: DVec3::ZERO };
    let exact = sigmas_mm(&pair, DVec3::ZERO, &PoseSigma::default());
    assert!(sigmas_mm(&pair, DVec3::ZERO, &turned).cmpgt(exact).all());
    // 20 mm in each of two independent positions: height by √2 · 5 · 20 mm · (Z/B)/5, that is 20 mm √2 Z/B
    let found_mm = sigmas_mm(&pair, DVec3::ZERO, &placed).z;
    let law_mm = exact.z.hypot(20.0 * 2_f64.sqrt() * 100.0 / 20.0);
    assert!((found_mm / law_mm - 1.0).abs() < 0.01, "{found_mm} for {law_mm}"); // heights of the stations: second order
}

/// Where two rays of images with radial distortion meet, if it is left out: height of the intersection by least squares.
fn height_mm(point_m: DVec3) -> f64 {
    let lens = Brown { k1: crate::network_blocks::PIXEL_IN_CORNER, ..Brown::NONE };
    let pair = level(&[-10.0, 10.0], &[0.0]);
    let seen: Vec<_> = pair.iter().map(|of| ImagePoint::of(of, &lens, point_m).unwrap().at_px).collect();
    let mut at = point_m;
    for _ in 0..10 {
        let (mut normal, mut pull) = (glam::DMat3::ZERO, DVec3::ZERO);
        for (camera, seen) in pair.iter().zip(&seen) {
            let ray = ImagePoint::of(camera, &Brown::NONE, at).unwrap();
            let off = *seen - ray.at_px;
            for (row, off) in ray.by_point.into_iter().zip([off.x, off.y]) {
                normal += glam::DMat3::from_cols(row * row.x, row * row.y, row * row.z);
                pull += row * off;
            }
        }
        at += normal.inverse() * pull;
    }
    1000.0 * (at.z - point_m.z)
}

/// Derived: an unmodelled k r³ lifts a stereo pair's heights by Z k (3 x² + y² + b²/4); and exact intersections by NumPy,
/// given with the project's check values.
#[test]
fn a_pair_follows_the_closed_form_of_radial_distortion() {
    let k = crate::network_blocks::PIXEL_IN_CORNER;
    for (x, y, exact_mm) in
        [(0.0, 0.0, 0.374290), (50.0, 0.0, 28.438074), (0.0, 40.0, 6.362553), (70.0, 50.0, 64.710550)]
    {
        let found_mm = height_mm(DVec3::new(x, y, 0.0));
        let law_mm = 1e5 * k * (3.0 * (x / 100.0).powi(2) + (y / 100.0).powi(2) + 0.01);
        assert!((found_mm / exact_mm - 1.0).abs() < 1e-3, "{found_mm} for {exact_mm}"); // as given
        assert!((found_mm / law_mm - 1.0).abs() < 1e-3, "{found_mm} for {law_mm}"); // the law is of the first order
    }
}
