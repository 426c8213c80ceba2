//! What processing has to do, counted from the geometry.

use crate::camera::CAMERA;
use crate::layout::camera_g;
use approx::assert_abs_diff_eq;
use glam::DVec3;
use obliquity_planning::{
    Cancelled, NoWatch, Pose, StageRates, Stations, Subject, image_pairs, processing_hours,
};
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

/// Derived: hours are rates times counts, one term a stage.
#[test]
fn hours_are_rates_times_counts() {
    let rates = StageRates {
        features_h_per_gigapixel: 0.5,
        matching_h_per_thousand_pairs: 0.25,
        adjustment_h_per_thousand_images: 2.0,
        dense_h_per_gigapixel: 1.5,
    };
    let hours = processing_hours(1000, 8.0, 4000, &rates);
    assert_abs_diff_eq!(hours.features_h, 4.0, epsilon = 1e-12);
    assert_abs_diff_eq!(hours.matching_h, 1.0, epsilon = 1e-12);
    assert_abs_diff_eq!(hours.adjustment_h, 2.0, epsilon = 1e-12);
    assert_abs_diff_eq!(hours.dense_h, 12.0, epsilon = 1e-12);
    assert_abs_diff_eq!(hours.total_h(), 19.0, epsilon = 1e-12);
}
