//! Standards of positional accuracy against what they print.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use obliquity_planning::standards::{
    ASPRS_CLASSES_CM, AsprsEdition, AsprsProduct, AsprsStage, BIAS_SHARE, BLUNDER_FACTOR, CheckPoints,
    NSSDA_AXIS_FACTOR, NSSDA_LEAST_POINTS, NSSDA_RADIAL_FACTOR, NSSDA_VERTICAL_FACTOR, asprs_class_cm,
    asprs_control, asprs_horizontal, asprs_triangulation, asprs_vertical_cm, check_points, circular_radius,
    horizontal_rmse, nssda_horizontal_m, nssda_vertical_m, sigma_band, spatial_rmse, with_survey,
};

/// Memory: FGDC-STD-007.3-1998, app. 3-A: 1.7308, 2.4477, 1.9600; the exact values are √(−2 ln 0.05), that over √2, and
/// the normal quantile of 97.5 %.
#[test]
fn factors_match_nssda_1998() {
    let tolerance = 5e-5; // printed to four decimals
    assert!((circular_radius(0.95) - 2.4477468307).abs() < 1e-9); // ten digits are given
    assert!((NSSDA_AXIS_FACTOR - circular_radius(0.95)).abs() < tolerance);
    assert!((NSSDA_RADIAL_FACTOR - circular_radius(0.95) / 2_f64.sqrt()).abs() < tolerance);
    assert!((NSSDA_VERTICAL_FACTOR - 1.9599639845).abs() < tolerance);
}

/// Source: USGS lidar vertical accuracy report, Barataria 2013: `RMSEz` 0.0574002119585 m, accuracy 0.112504415439 m.
#[test]
fn vertical_accuracy_matches_usgs_2013() {
    assert!((nssda_vertical_m(0.0574002119585) - 0.112504415439).abs() < 1e-11); // twelve decimals are printed
}

/// Memory: NSSDA app. 3-A, unequal axes: 2.4477 · 0.5 · (0.10 + 0.08); 20 check points or more.
#[test]
fn unequal_axes_and_points_match_nssda_1998() {
    assert!((nssda_horizontal_m(0.10, 0.08) - 0.220293).abs() < 1e-6); // printed to six decimals
    assert_eq!(NSSDA_LEAST_POINTS, 20);
}

/// Source: ASPRS Positional Accuracy Standards, ed. 1, 2014, table 7.1/B: the formulas and the first row were read in an
/// open course page, the other rows follow from them.
#[test]
fn horizontal_classes_match_asprs_2014() {
    let rows = [
        (0.9, 1.3, 1.5),
        (1.8, 2.5, 3.1),
        (3.5, 5.0, 6.1),
        (7.1, 10.0, 12.2),
        (10.6, 15.0, 18.4),
        (14.1, 20.0, 24.5),
        (17.7, 25.0, 30.6),
        (21.2, 30.0, 36.7),
        (28.3, 40.0, 49.0),
        (35.4, 50.0, 61.2),
        (42.4, 60.0, 73.4),
        (84.9, 120.0, 146.9),
        (141.4, 200.0, 244.8),
    ];
    for (class_cm, row) in ASPRS_CLASSES_CM.into_iter().zip(rows) {
        let made = asprs_horizontal(class_cm);
        let tolerance = 0.05 + 1e-9; // printed to one decimal
        assert!((made.rmse_r_cm - row.0).abs() <= tolerance, "{class_cm}: {made:?}");
        assert!((made.seamline_cm - row.1).abs() <= tolerance, "{class_cm}: {made:?}");
        assert!((made.at_95_cm - row.2).abs() <= tolerance, "{class_cm}: {made:?}");
    }
    assert_eq!(asprs_class_cm(2.5), Some(2.5));
    assert_eq!(asprs_class_cm(2.51), Some(5.0));
    assert_eq!(asprs_class_cm(100.1), None);
}

/// Memory: ASPRS ed. 1, 2014: heights of class 10 cm, 19.6 cm on open ground and 3.00 X under plants.
#[test]
fn vertical_classes_match_asprs_2014() {
    let (open, under_plants) = asprs_vertical_cm(10.0);
    assert!((open - 19.6).abs() < 0.05 && (under_plants - 30.0).abs() < 0.05); // printed to one decimal
}

/// Source: ASPRS ed. 1, 2014, as quoted in an open university lesson (GEOG 892): aerotriangulation half, control a
/// quarter of the map's; products without heights: its class and half of it.
#[test]
fn triangulation_and_control_match_asprs_2014() {
    let map = AsprsStage { horizontal_cm: 8.0, vertical_cm: 4.0 };
    let stage = |horizontal_cm, vertical_cm| AsprsStage { horizontal_cm, vertical_cm };
    assert_eq!(asprs_triangulation(map, AsprsProduct::Planimetric), stage(4.0, 8.0));
    assert_eq!(asprs_triangulation(map, AsprsProduct::WithHeights), stage(4.0, 2.0));
    assert_eq!(asprs_control(map, AsprsProduct::Planimetric), stage(2.0, 4.0));
    assert_eq!(asprs_control(map, AsprsProduct::WithHeights), stage(2.0, 1.0));
}

/// Memory: ASPRS ed. 1, 2014, table C.1.
#[test]
fn check_points_match_asprs_2014() {
    let rows = [
        (500.0, 20, 20, 5),
        (501.0, 25, 20, 10),
        (750.0, 25, 20, 10),
        (1000.0, 30, 25, 15),
        (1250.0, 35, 30, 20),
        (1500.0, 40, 35, 25),
        (1750.0, 45, 40, 30),
        (2000.0, 50, 45, 35),
        (2250.0, 55, 50, 40),
        (2251.0, 60, 55, 45),
        (2500.0, 60, 55, 45),
    ];
    for (area_km2, horizontal, open_ground, under_plants) in rows {
        let expected = CheckPoints { horizontal, open_ground, under_plants };
        assert_eq!(check_points(AsprsEdition::First, area_km2), expected, "{area_km2} km²");
    }
    assert_eq!(check_points(AsprsEdition::First, 0.2).horizontal, 20);
}

/// Memory: ASPRS ed. 2, 2023, table C.1; the ends, 30 and 120, were read in a summary of the edition.
#[test]
fn check_points_match_asprs_2023() {
    let rows =
        [(0.2, 30), (1000.0, 30), (1001.0, 40), (2000.0, 40), (5000.0, 70), (9001.0, 120), (20000.0, 120)];
    for (area_km2, each) in rows {
        assert_eq!(check_points(AsprsEdition::Second, area_km2).horizontal, each, "{area_km2} km²");
    }
}

/// Source: ASPRS ed. 2, 2023, as a summary of the edition tells it: the survey's error is counted; the figures 1.00, 2.0
/// and 2.24 cm from a secondary text.
#[test]
fn survey_error_matches_asprs_2023() {
    assert!((with_survey(1.0, 2.0) - 2.24).abs() < 0.005); // printed to two decimals
}

/// Memory: ASPRS ed. 2, 2023: `RMSE_H` and `RMSE_3D` of 5, 5 and 7 cm; blunders above 3 T, mean errors below a quarter of T.
#[test]
fn spatial_errors_match_asprs_2023() {
    assert!((horizontal_rmse(5.0, 5.0) - 7.071068).abs() < 1e-6); // printed to six decimals
    assert!((spatial_rmse(5.0, 5.0, 7.0) - 9.949874).abs() < 1e-6); // printed to six decimals
    assert_eq!((BLUNDER_FACTOR, BIAS_SHARE), (3.0, 0.25));
}

/// Cross-check: chi-square band of a standard deviation by SciPy, given with the project's check values; those of 20 and
/// 100 were also read in print.
#[test]
fn bands_of_a_deviation_agree_with_scipy() {
    for (points, low, high) in [(20, 0.7605, 1.4606), (30, 0.7964, 1.3443), (100, 0.8780, 1.1617)] {
        let band = sigma_band(points, 0.95).unwrap();
        let tolerance = 1e-4; // printed to four decimals
        assert!((band.0 - low).abs() < tolerance && (band.1 - high).abs() < tolerance, "{points}: {band:?}");
    }
    assert_eq!(sigma_band(1, 0.95), None);
    assert_eq!(sigma_band(20, 1.0), None);
}

/// Derived: quantiles of the Rayleigh distribution.
#[test]
fn circles_hold_their_share() {
    assert!((circular_radius(0.9) / 2_f64.sqrt() - 1.517427).abs() < 1e-6); // printed to six decimals
    assert!((circular_radius(0.5) - 1.177410).abs() < 1e-6); // printed to six decimals
}
