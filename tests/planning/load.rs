//! What processing has to do, counted from the geometry.

use crate::camera::CAMERA;
use crate::layout::camera_g;
use approx::assert_abs_diff_eq;
use glam::DVec3;
use obliquity_planning::{NoWatch, Pose, StageRates, Stations, image_pairs, processing_hours};
use std::f64::consts::PI;

/// Five strips 60 m apart of thirteen exposures 20 m apart, 100 m above the ground.
fn block(tilt_deg: f64) -> Stations {
    let pose = |strip: u32, shot: u32| Pose {
        position_m: DVec3::new(f64::from(strip) * 60.0, f64::from(shot) * 20.0, 100.0),
        heading_rad: if strip % 2 == 0 { 0.0 } else { PI },
        tilt_rad: tilt_deg.to_radians(),
        roll_rad: 0.0,
    };
    let poses = (0..5).flat_map(|strip| (0..13).map(move |shot| pose(strip, shot))).collect();
    Stations { camera: CAMERA, poses }
}

/// Derived: intersections of axis-aligned rectangles of 150 m x 100 m, counted one by one: 401 of 2080 pairs share at
/// least a quarter.
#[test]
fn overlapping_pairs_of_a_grid_are_counted() {
    assert_eq!(image_pairs(&[&block(0.0)], 0.0, &NoWatch), Ok(401));
}

/// Derived: two passes over the same places pair as one pass of both would, and looking apart by more than 60 degrees
/// leaves no pair.
#[test]
fn pairs_span_passes_but_not_opposed_axes() {
    let nadir = block(0.0);
    let twice = Stations { poses: [nadir.poses.clone(), nadir.poses.clone()].concat(), ..nadir.clone() };
    let apart = image_pairs(&[&nadir, &nadir], 0.0, &NoWatch);
    assert_eq!(apart, image_pairs(&[&twice], 0.0, &NoWatch));
    assert_eq!(apart, Ok(4 * 401 + 65)); // each pair four times, and each image with its double
    let slanted = block(45.0);
    let one_way = |flip: usize| Stations {
        camera: CAMERA,
        poses: slanted.poses.iter().enumerate().filter(|(k, _)| k / 13 % 2 == flip).map(|(_, p)| *p).collect(),
    };
    let (ahead, back) = (one_way(0), one_way(1));
    let within: u64 = [&ahead, &back].map(|s| image_pairs(&[s], 0.0, &NoWatch).expect("not cancelled")).iter().sum();
    assert_eq!(image_pairs(&[&ahead, &back], 0.0, &NoWatch), Ok(within)); // their axes are 90 degrees apart
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
