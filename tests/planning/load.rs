//! What processing has to do, counted from the geometry.

use crate::camera::CAMERA;
use crate::layout::camera_g;
use approx::assert_abs_diff_eq;
use geo::{Area, BooleanOps};
use glam::DVec3;
use obliquity_planning::{
    AttendedRates, Cancelled, CountedWork, NoWatch, Pose, PosedCamera, ProcessingStage, StageRates, Stations,
    Subject, attended_hours, dense_adjustment_operations, exhaustive_pairs, footprint_m, image_pairs,
    neighbour_pairs, processing_hours, surface_cells,
};
use proptest::prelude::*;
use std::f64::consts::PI;

/// Five strips 60 m apart of thirteen exposures 20 m apart, 100 m above the ground.
fn block(tilt_deg: f64) -> Stations {
    let pose = |strip: u32, shot: u32| Pose {
        position_m: DVec3::new(f64::from(strip) * 60.0, f64::from(shot) * 20.0, 100.0),
        heading_rad: if strip.is_multiple_of(2) { 0.0 } else { PI },
        tilt_rad: tilt_deg.to_radians(),
        roll_rad: 0.0,
    };
    let poses = (0..5).flat_map(|strip| (0..13).map(move |shot| pose(strip, shot))).collect();
    Stations { camera: CAMERA, poses }
}

/// Pairs on the ground at 0 m.
fn pairs(passes: &[&Stations]) -> Result<u64, Cancelled> {
    let on_ground: Vec<_> = passes.iter().map(|stations| (*stations, Subject::Ground)).collect();
    image_pairs(&on_ground, 0.0, &NoWatch)
}

/// Derived: intersections of axis-aligned rectangles of 150 m x 100 m, counted one by one: 401 of 2080 pairs share at
/// least a quarter.
#[test]
fn overlapping_pairs_of_a_grid_are_counted() {
    assert_eq!(pairs(&[&block(0.0)]), Ok(401));
}

/// Derived: two passes over the same places pair as one pass of both would, and looking apart by more than 60 degrees
/// leaves no pair.
#[test]
fn pairs_span_passes_but_not_opposed_axes() {
    let nadir = block(0.0);
    let twice = Stations { poses: [nadir.poses.clone(), nadir.poses.clone()].concat(), ..nadir.clone() };
    let apart = pairs(&[&nadir, &nadir]);
    assert_eq!(apart, pairs(&[&twice]));
    assert_eq!(apart, Ok(4 * 401 + 65)); // each pair four times, and each image with its double
    let slanted = block(45.0);
    let one_way = |flip: usize| Stations {
        camera: CAMERA,
        poses: slanted
            .poses
            .iter()
            .enumerate()
            .filter(|(k, _)| k / 13 % 2 == flip)
            .map(|(_, p)| *p)
            .collect(),
    };
    let (ahead, back) = (one_way(0), one_way(1));
    let within: u64 = [&ahead, &back].map(|s| pairs(&[s]).expect("not cancelled")).iter().sum();
    assert_eq!(pairs(&[&ahead, &back]), Ok(within)); // their axes are 90 degrees apart
}

/// A row of level images 10 m in front of a wall and 3 m apart: 15 m by 10 m of wall each.
fn row(inward_rad: f64, from_m: DVec3, height_m: f64) -> Stations {
    let along = DVec3::new(inward_rad.cos(), -inward_rad.sin(), 0.0);
    let pose = |k: u32| Pose {
        position_m: from_m + along * (3.0 * f64::from(k)) + DVec3::Z * height_m,
        heading_rad: inward_rad,
        tilt_rad: PI / 2.0,
        roll_rad: 0.0,
    };
    Stations { camera: CAMERA, poses: (0..10).map(pose).collect() }
}

/// Derived: images 3, 6, 9 m apart along a wall share 12, 9, 6 of 15 m, and 12 m apart a fifth, too little: of ten in a
/// row 9 + 8 + 7 pairs. A row 4 m higher shares 6 of 10 m of height: with 0, 3 and 6 m aside 0.6, 0.48 and 0.36 of the
/// area, and 9 m aside 0.24, too little: 10 + 2 × (9 + 8) pairs more. On the ground such images show nothing sensible.
#[test]
fn rows_in_front_of_a_wall_pair_on_the_wall() {
    let wall = Subject::Wall { stand_off_m: 10.0, turned_rad: 0.0 };
    let north = row(0.0, DVec3::ZERO, 5.0);
    assert_eq!(image_pairs(&[(&north, wall)], 0.0, &NoWatch), Ok(24));
    let higher = row(0.0, DVec3::ZERO, 9.0);
    assert_eq!(image_pairs(&[(&north, wall), (&higher, wall)], 0.0, &NoWatch), Ok(24 + 24 + 44));
    // the same wall turned by 30° in the plan, and turned cameras that still face it
    let turned = row(PI / 6.0, DVec3::new(7.0, -3.0, 0.0), 5.0);
    assert_eq!(image_pairs(&[(&turned, wall)], 0.0, &NoWatch), Ok(24));
    // a wall round the corner, and the ground, are other surfaces
    let east = row(PI / 2.0, DVec3::ZERO, 5.0);
    assert_eq!(image_pairs(&[(&north, wall), (&east, wall)], 0.0, &NoWatch), Ok(48));
}

/// Derived: walls that meet at 20° pair round the corner: two images 1 m apart that look at the corner from both sides.
#[test]
fn images_pair_round_a_blunt_corner() {
    let wall = Subject::Wall { stand_off_m: 10.0, turned_rad: 0.0 };
    let one = |inward_rad: f64, x: f64| {
        let mut row = row(inward_rad, DVec3::new(x, 0.0, 0.0), 5.0);
        row.poses.truncate(1);
        row
    };
    let (left, right) = (one(0.0, -0.5), one(-20.0_f64.to_radians(), 0.5));
    assert_eq!(image_pairs(&[(&left, wall), (&right, wall)], 0.0, &NoWatch), Ok(1));
}

/// Derived: 10 m below a soffit the frames of a camera that looks straight up are those of one that looks down from 10 m:
/// 15 m across the track and 10 m along it, 2 m apart: 8, 6, 4 of 10 m shared, and 2, too little.
#[test]
fn strips_below_a_deck_pair_on_its_underside() {
    let pose = |k: u32| Pose {
        position_m: DVec3::new(0.0, 2.0 * f64::from(k), 20.0),
        heading_rad: 0.0,
        tilt_rad: PI,
        roll_rad: 0.0,
    };
    let strip = Stations { camera: CAMERA, poses: (0..6).map(pose).collect() };
    let soffit = Subject::Soffit { stand_off_m: 10.0 };
    assert_eq!(image_pairs(&[(&strip, soffit)], 0.0, &NoWatch), Ok(5 + 4 + 3));
}

/// Derived: 325 images of 19.961856 megapixels are 6.4876 gigapixels.
#[test]
fn gigapixels_are_images_times_pixels() {
    let gigapixels = 325.0 * camera_g().megapixels() / 1000.0;
    assert_abs_diff_eq!(gigapixels, 6.4876, epsilon = 1e-3);
}

/// Derived: a point for every 2.74123 cm over 4 ha, printed to hundredths of a million.
#[test]
fn points_are_the_area_over_the_gsd_squared() {
    assert_abs_diff_eq!(surface_cells(40_000.0, 0.0274123) / 1e6, 53.23, epsilon = 0.005);
}

/// Derived: two out of n, and 20 of each of n; at 1000 images the one is 24.975 times the other.
#[test]
fn pairs_of_all_and_of_twenty_neighbours() {
    let images = [65, 325, 500, 1000, 2000, 5000];
    assert_eq!(images.map(exhaustive_pairs), [2080, 52650, 124_750, 499_500, 1_999_000, 12_497_500]);
    assert_eq!(images.map(|n| neighbour_pairs(n, 20)), [1300, 6500, 10_000, 20_000, 40_000, 100_000]);
    assert_abs_diff_eq!(exhaustive_pairs(1000) as f64 / neighbour_pairs(1000, 20) as f64, 24.975);
    assert_eq!((exhaustive_pairs(0), exhaustive_pairs(1), neighbour_pairs(10, 20)), (0, 0, 45));
}

/// Strips 60 m apart of exposures 20 m apart, as many as asked for.
fn larger_block(strips: u32, exposures: u32) -> Stations {
    let pose = |strip: u32, shot: u32| Pose {
        position_m: DVec3::new(f64::from(strip) * 60.0, f64::from(shot) * 20.0, 100.0),
        heading_rad: if strip.is_multiple_of(2) { 0.0 } else { PI },
        tilt_rad: 0.0,
        roll_rad: 0.0,
    };
    let poses = (0..strips).flat_map(|strip| (0..exposures).map(move |shot| pose(strip, shot))).collect();
    Stations { camera: CAMERA, poses }
}

/// Slope of a law between two sizes on logarithmic scales.
fn exponent([small, large]: [f64; 2], [from, to]: [f64; 2]) -> f64 {
    (to / from).ln() / (large / small).ln()
}

/// Source: Jiang & Jiang 2018, Remote Sensing 10(8), 1246: with selected pairs the cost of features and matching is linear in
/// the images; without, matching is quadratic. Blocks of 1,000 and 4,000 images with the same overlaps; their edges, where
/// images have fewer partners, are what is left of 1.0.
#[test]
fn matching_grows_with_the_images_where_pairs_are_selected_and_with_their_square_where_not() {
    let sizes = [larger_block(20, 50), larger_block(40, 100)];
    let images = sizes.each_ref().map(|block| block.poses.len() as u32);
    let rates = StageRates { matching_h_per_thousand_pairs: 1.0, ..StageRates::default() };
    let hours = |work: CountedWork| processing_hours(&work, &rates);
    let of = |pairs: [u64; 2]| {
        let both = [0, 1].map(|k| hours(CountedWork { image_pairs: pairs[k], ..work_of(images[k]) }));
        exponent(images.map(f64::from), both.map(|terms| terms.matching_h))
    };
    let selected = sizes.each_ref().map(|block| pairs(&[block]).expect("not cancelled"));
    assert_abs_diff_eq!(of(selected), 1.0, epsilon = 0.03);
    assert_abs_diff_eq!(of(images.map(|n| neighbour_pairs(n, 20))), 1.0, epsilon = 1e-12);
    assert_abs_diff_eq!(of(images.map(exhaustive_pairs)), 2.0, epsilon = 1e-3); // n (n − 1), not n²
    let features = images.map(|n| hours(work_of(n)).features_h);
    assert_abs_diff_eq!(exponent(images.map(f64::from), features), 1.0, epsilon = 1e-12);
}

/// So many images of 20 megapixels, and nothing else.
fn work_of(images: u32) -> CountedWork {
    CountedWork {
        images,
        gigapixels: f64::from(images) * 0.02,
        image_pairs: 0,
        surface_gigapoints: 0.0,
        orthomosaic_gigapixels: 0.0,
    }
}

/// Source: Byröd & Åström 2009, Bundle Adjustment using Conjugate Gradients with Multiscale Preconditioning, BMVC: the
/// complexity of a direct solver is cubic, so twice the images are eight times the work.
#[test]
fn a_dense_adjustment_is_cubic() {
    for images in [50, 325, 4000] {
        let ratio = dense_adjustment_operations(2 * images) / dense_adjustment_operations(images);
        assert_abs_diff_eq!(ratio, 8.0, epsilon = 1e-12);
    }
}

/// Source: Jiang et al. 2025, arXiv 2505.22089: matching dominates the time of finding out how images lie; held here for a few
/// hundred to a few thousand images by the rates that are assumed, pairs selected by overlap or 20 neighbours.
#[test]
fn matching_takes_longer_than_the_adjustment_by_the_rates_that_are_assumed() {
    for (strips, exposures) in [(10, 30), (20, 50), (40, 75)] {
        let block = larger_block(strips, exposures);
        let images = block.poses.len() as u32;
        for image_pairs in [pairs(&[&block]).expect("not cancelled"), neighbour_pairs(images, 20)] {
            let work = CountedWork { image_pairs, ..work_of(images) };
            let hours = processing_hours(&work, &StageRates::default());
            assert!(hours.matching_h >= hours.adjustment_h, "{images}: {hours:?}");
        }
    }
}

/// Derived: hours are rates times counts, one term a stage.
#[test]
fn hours_are_rates_times_counts() {
    let rates = StageRates {
        features_h_per_gigapixel: 0.5,
        matching_h_per_thousand_pairs: 0.25,
        adjustment_h_per_thousand_images: 2.0,
        dense_h_per_gigapixel: 1.5,
        surface_h_per_gigapoint: 10.0,
        orthomosaic_h_per_gigapixel: 4.0,
        texture_h_per_gigapixel: 20.0,
    };
    let work = CountedWork {
        images: 1000,
        gigapixels: 8.0,
        image_pairs: 4000,
        surface_gigapoints: 0.1,
        orthomosaic_gigapixels: 0.05,
    };
    let hours = processing_hours(&work, &rates);
    let each = ProcessingStage::ALL.map(|stage| hours.of(stage));
    for (stage_h, by_hand) in each.into_iter().zip([4.0, 1.0, 2.0, 12.0, 1.0, 0.2, 2.0]) {
        assert_abs_diff_eq!(stage_h, by_hand, epsilon = 1e-12);
    }
    assert_abs_diff_eq!(hours.total_h(), 22.2, epsilon = 1e-12);
    for (place, stage) in ProcessingStage::ALL.into_iter().enumerate() {
        let turned = rates.with(stage, 0.0);
        assert_eq!(turned.of(stage), 0.0);
        let kept = ProcessingStage::ALL.into_iter().filter(|other| *other != stage);
        kept.for_each(|other| assert_eq!(turned.of(other), rates.of(other)));
        assert_abs_diff_eq!(processing_hours(&work, &turned).total_h(), 22.2 - each[place], epsilon = 1e-12);
    }
}

/// Derived: 2 h, 4 points of 6 minutes, and 1500 images at 0.4 h a thousand.
#[test]
fn attended_hours_are_apart() {
    let rates = AttendedRates { job_h: 2.0, control_point_min: 6.0, thousand_images_h: 0.4 };
    assert_abs_diff_eq!(attended_hours(1500, 4, &rates).total_h(), 3.0, epsilon = 1e-12);
}

/// A footprint on the ground for general polygon clipping.
fn polygon(camera: &PosedCamera) -> geo::Polygon {
    let ring = footprint_m(camera, 0.0).expect("above the ground");
    geo::Polygon::new(ring.iter().map(|p| (p.x, p.y)).collect(), Vec::new())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Cross-check: every pair of images of a small block is clipped by the geo crate 0.33 (`BooleanOps`), and those are counted
    /// that share a quarter of the smaller and look within 60° of each other. What lies within a millionth of either limit may
    /// fall on both sides.
    #[test]
    fn pairs_agree_with_brute_force_by_geo(
        (strips, exposures) in (1u32..5, 1u32..8),
        (spacing_m, base_m) in (10.0..120.0, 8.0..90.0),
        (turned, wobble, seed) in (0.0..std::f64::consts::TAU, 0.0..0.25, any::<u64>()),
        tilts in proptest::collection::vec(0.0..55.0_f64, 1..4),
    ) {
        let mut state = seed;
        let mut next = || {
            // a small generator of its own: splitmix64
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = (state ^ (state >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64 - 0.5
        };
        let across = DVec3::new(f64::cos(turned), -f64::sin(turned), 0.0);
        let along = DVec3::new(f64::sin(turned), f64::cos(turned), 0.0);
        let mut poses = Vec::new();
        for (strip, shot) in (0..strips).flat_map(|s| (0..exposures).map(move |e| (s, e))) {
            let at = across * (f64::from(strip) * spacing_m) + along * (f64::from(shot) * base_m);
            let tilt_deg = tilts[(strip + shot) as usize % tilts.len()];
            poses.push(Pose {
                position_m: at + DVec3::Z * (100.0 + 20.0 * next()),
                heading_rad: turned + PI * f64::from(strip % 2) + wobble * next(),
                tilt_rad: (tilt_deg + 4.0 * next()).abs().to_radians(),
                roll_rad: wobble * next(),
            });
        }
        let block = Stations { camera: CAMERA, poses };
        let cameras: Vec<PosedCamera> =
            block.poses.iter().map(|pose| PosedCamera::new(block.camera, pose)).collect();
        let rings: Vec<geo::Polygon> = cameras.iter().map(polygon).collect();
        let (mut surely, mut perhaps) = (0, 0);
        for (i, j) in (0..rings.len()).flat_map(|i| (0..i).map(move |j| (i, j))) {
            let smaller = rings[i].unsigned_area().min(rings[j].unsigned_area());
            let shared = rings[i].intersection(&rings[j]).unsigned_area() / smaller;
            let cosine = cameras[i].forward.dot(cameras[j].forward);
            surely += u64::from(shared > 0.25 + 1e-6 && cosine > 0.5 + 1e-6);
            perhaps += u64::from(shared > 0.25 - 1e-6 && cosine > 0.5 - 1e-6);
        }
        let counted = pairs(&[&block]).expect("not cancelled");
        prop_assert!((surely..=perhaps).contains(&counted), "{counted}, {surely} to {perhaps}");
    }
}
