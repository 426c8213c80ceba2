//! What standards of positional accuracy ask for, and what check points can show.
//!
//! All of it is arithmetic for expectations: whether a product meets a class is certified by a licensed surveyor, from
//! check points that were surveyed, never by a prediction.

use puruspe::invgammp;

/// Share of errors that the NSSDA's statistic covers.
const NSSDA_LEVEL: f64 = 0.95;

/// Horizontal accuracy at 95 % by the NSSDA, from the root mean square errors of the two axes.
///
/// Equal axes: 1.7308 `RMSE_r`, `RMSE_r` = √2 `RMSE_x`. Unequal ones: 2.4477 times their mean, an approximation that the
/// standard allows where the smaller is 0.6 to 1.0 of the larger.
///
/// # Units
/// - `rmse_x_m`, `rmse_y_m`: metres; returns metres
///
/// # References
/// FGDC-STD-007.3-1998, National Standard for Spatial Data Accuracy, app. 3-A (factors from memory, recomputed).
///
/// # Examples
/// ```
/// use obliquity_planning::standards::nssda_horizontal_m;
/// assert!((nssda_horizontal_m(0.10, 0.08) - 0.220293).abs() < 1e-4);
/// ```
pub fn nssda_horizontal_m(rmse_x_m: f64, rmse_y_m: f64) -> f64 {
    NSSDA_AXIS_FACTOR * f64::midpoint(rmse_x_m, rmse_y_m)
}

/// Radius that holds 95 % of errors of two equal, independent normal axes, in standard deviations; as the NSSDA prints it.
pub const NSSDA_AXIS_FACTOR: f64 = 2.4477;

/// The same in root mean square errors of the radius.
pub const NSSDA_RADIAL_FACTOR: f64 = 1.7308;

/// Half the interval that holds 95 % of normal errors of height, in standard deviations.
pub const NSSDA_VERTICAL_FACTOR: f64 = 1.96;

/// Vertical accuracy at 95 % by the NSSDA.
///
/// # Units
/// - `rmse_z_m`: metres; returns metres
///
/// # References
/// FGDC-STD-007.3-1998, app. 3-A: 1.9600 `RMSE_z`.
pub fn nssda_vertical_m(rmse_z_m: f64) -> f64 {
    NSSDA_VERTICAL_FACTOR * rmse_z_m
}

/// Fewest check points of the NSSDA: one of them may lie outside at 95 %.
pub const NSSDA_LEAST_POINTS: u32 = (1.0 / (1.0 - NSSDA_LEVEL) + 0.5) as u32;

/// Editions of the ASPRS Positional Accuracy Standards for Digital Geospatial Data.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AsprsEdition {
    /// Edition 1, version 1.0, November 2014.
    First,
    /// Edition 2, 2023: no 95 % measures, more check points, their own error counted, three-dimensional accuracy.
    Second,
}

/// Classes of edition 1's tables, in centimetres of `RMSE_x` = `RMSE_y`.
pub const ASPRS_CLASSES_CM: [f64; 13] =
    [0.63, 1.25, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 60.0, 100.0];

/// Classes of heights that edition 1's tables name, in centimetres of `RMSE_z` (from memory).
pub const ASPRS_VERTICAL_CLASSES_CM: [f64; 10] = [1.0, 2.5, 5.0, 10.0, 15.0, 20.0, 33.3, 66.7, 100.0, 333.3];

/// What a horizontal class of the ASPRS standard's edition 1 allows; its number is `RMSE_x` = `RMSE_y`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AsprsHorizontal {
    /// Root mean square error of the radius.
    pub rmse_r_cm: f64,
    /// Greatest mismatch at a seamline of an orthomosaic.
    pub seamline_cm: f64,
    /// Accuracy at 95 %.
    pub at_95_cm: f64,
}

/// What horizontal class X of edition 1 allows.
///
/// # Units
/// - `class_cm`: centimetres; returns centimetres
///
/// # References
/// ASPRS Positional Accuracy Standards, ed. 1, v1.0, 2014, tables 7.1 and B: √2 X, 2 X, 2.4477 X.
pub fn asprs_horizontal(class_cm: f64) -> AsprsHorizontal {
    AsprsHorizontal {
        rmse_r_cm: std::f64::consts::SQRT_2 * class_cm,
        seamline_cm: 2.0 * class_cm,
        at_95_cm: NSSDA_AXIS_FACTOR * class_cm,
    }
}

/// Accuracy of heights that class X of edition 1 allows: (open ground at 95 %, under plants at the 95th percentile).
///
/// # Units
/// - `class_cm`: centimetres of `RMSE_z`; returns centimetres
///
/// # References
/// ASPRS ed. 1, 2014: NVA 1.96 X, VVA 3.00 X (from memory; some tables print 2.94 X).
pub fn asprs_vertical_cm(class_cm: f64) -> (f64, f64) {
    (NSSDA_VERTICAL_FACTOR * class_cm, 3.0 * class_cm)
}

/// The finest class of edition 1's tables that a root mean square error meets; nothing above the last.
///
/// # Units
/// - `rmse_cm`: centimetres, of one axis; returns centimetres
pub fn asprs_class_cm(rmse_cm: f64) -> Option<f64> {
    ASPRS_CLASSES_CM.into_iter().find(|class_cm| rmse_cm <= *class_cm)
}

/// What a map of some class asks of what it is made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AsprsProduct {
    /// An orthomosaic or a plan alone.
    Planimetric,
    /// One with heights.
    WithHeights,
}

/// Root mean square errors that edition 1 asks of a stage, horizontal of one axis and vertical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AsprsStage {
    /// Of each horizontal axis.
    pub horizontal_cm: f64,
    /// Of heights.
    pub vertical_cm: f64,
}

/// What edition 1 asks of the aerotriangulation behind a map.
///
/// # Units
/// - `map`: the map's own root mean square errors; centimetres throughout. For a product without heights its vertical
///   one is the horizontal class.
///
/// # References
/// ASPRS ed. 1, 2014, sections 7.7 and 7.8: half of the map's, heights of a product without them as the map's class.
pub fn asprs_triangulation(map: AsprsStage, product: AsprsProduct) -> AsprsStage {
    let vertical_cm = match product {
        AsprsProduct::Planimetric => map.horizontal_cm,
        AsprsProduct::WithHeights => map.vertical_cm / 2.0,
    };
    AsprsStage { horizontal_cm: map.horizontal_cm / 2.0, vertical_cm }
}

/// What edition 1 asks of the control points behind a map: half of what it asks of the aerotriangulation.
///
/// # Units
/// - `map`: as for [`asprs_triangulation`]
///
/// # References
/// ASPRS ed. 1, 2014: a quarter of the map's; heights of a product without them half of its class.
pub fn asprs_control(map: AsprsStage, product: AsprsProduct) -> AsprsStage {
    let of = asprs_triangulation(map, product);
    AsprsStage { horizontal_cm: of.horizontal_cm / 2.0, vertical_cm: of.vertical_cm / 2.0 }
}

/// Check points that a project needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckPoints {
    /// For horizontal accuracy.
    pub horizontal: u32,
    /// For heights on open ground.
    pub open_ground: u32,
    /// For heights under plants; edition 2 has no number of its own by area, and no pass or fail for them.
    pub under_plants: u32,
}

/// How many check points a project of some area needs.
///
/// Edition 1 has numbers up to 2,500 km²; beyond, the last are returned.
///
/// # Units
/// - `area_km2`: square kilometres
///
/// # References
/// ASPRS ed. 1, 2014, table C.1, and ed. 2, 2023, table C.1 (from memory; their ends were read in secondary texts).
pub fn check_points(edition: AsprsEdition, area_km2: f64) -> CheckPoints {
    match edition {
        AsprsEdition::First => {
            let step = (((area_km2 - 500.0) / 250.0).ceil().clamp(0.0, 8.0)) as usize;
            let horizontal = 20 + 5 * step as u32;
            let open_ground = [20, 20, 25, 30, 35, 40, 45, 50, 55][step];
            CheckPoints { horizontal, open_ground, under_plants: 5 * (step as u32 + 1) }
        }
        AsprsEdition::Second => {
            let thousands = (area_km2 / 1000.0).ceil().clamp(1.0, 10.0) as u32;
            let each = (20 + 10 * thousands).min(120);
            CheckPoints { horizontal: each, open_ground: each, under_plants: 0 }
        }
    }
}

/// Root mean square error of a product by edition 2: that of its fit to the check points, and theirs.
///
/// # Units
/// - both in one unit, which is returned
///
/// # References
/// ASPRS ed. 2, 2023: the error of the check points' survey is counted (rule read in a summary of the edition).
pub fn with_survey(fit_rmse: f64, survey_rmse: f64) -> f64 {
    fit_rmse.hypot(survey_rmse)
}

/// Horizontal root mean square error of two axes.
///
/// # Units
/// - all in one unit, which is returned
///
/// # References
/// ASPRS ed. 2, 2023 (from memory): √(`RMSE_x`² + `RMSE_y`²).
pub fn horizontal_rmse(rmse_x: f64, rmse_y: f64) -> f64 {
    rmse_x.hypot(rmse_y)
}

/// Three-dimensional root mean square error.
///
/// # Units
/// - all in one unit, which is returned
///
/// # References
/// ASPRS ed. 2, 2023 (from memory): √(`RMSE_x`² + `RMSE_y`² + `RMSE_z`²).
pub fn spatial_rmse(rmse_x: f64, rmse_y: f64, rmse_z: f64) -> f64 {
    horizontal_rmse(rmse_x, rmse_y).hypot(rmse_z)
}

/// Errors of check points beyond this many times the target are looked at as blunders.
pub const BLUNDER_FACTOR: f64 = 3.0;

/// Share of the target that the mean error should stay below.
pub const BIAS_SHARE: f64 = 0.25;

/// Band in which the true standard deviation lies, as multiples of the one found from n errors of unknown mean.
///
/// √((n − 1) / χ²), χ² at the two ends of the band with n − 1 degrees of freedom.
///
/// # Units
/// - `points`: errors, 2 or more
/// - `level`: share of cases in which the band holds the true value, 0 to 1, ends excluded
/// - returns: lower and upper end, no unit; nothing outside those ranges
///
/// # References
/// Textbook interval for a variance of normal errors.
///
/// # Examples
/// ```
/// use obliquity_planning::standards::sigma_band;
/// let (low, high) = sigma_band(20, 0.95).expect("points enough");
/// assert!((low - 0.7605).abs() < 1e-4 && (high - 1.4606).abs() < 1e-4);
/// ```
pub fn sigma_band(points: u32, level: f64) -> Option<(f64, f64)> {
    if points < 2 || !(level > 0.0 && level < 1.0) {
        return None;
    }
    let freedom = f64::from(points - 1);
    let multiple = |share: f64| (freedom / (2.0 * invgammp(share, freedom / 2.0))).sqrt();
    Some((multiple(f64::midpoint(1.0, level)), multiple(f64::midpoint(0.0, 1.0 - level))))
}

/// Radius that holds a share of the errors of two equal, independent normal axes, in their standard deviation.
///
/// √(−2 ln (1 − share)): 2.4477 for 95 %, 2.1460 for 90 % (CE90), 1.1774 for 50 % (CEP).
///
/// # Units
/// - `share`: 0 to 1, the end excluded
/// - returns: standard deviations of one axis
///
/// # References
/// Rayleigh distribution; textbook.
///
/// # Examples
/// ```
/// use obliquity_planning::standards::circular_radius;
/// assert!((circular_radius(0.5) - 1.177410).abs() < 1e-6);
/// // CE90 in root mean square errors of the radius
/// assert!((circular_radius(0.9) / 2_f64.sqrt() - 1.517427).abs() < 1e-6);
/// ```
pub fn circular_radius(share: f64) -> f64 {
    (-2.0 * (1.0 - share).ln()).sqrt()
}
