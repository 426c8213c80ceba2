//! Block planning of textbooks and course notes, each under the counting rule that it uses.

use crate::layout::{camera_g, flat_site, plan, rectangle, strips_pass};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use obliquity_planning::CountingRule::{EdgeToEdge, FootprintCover, HalfSpacingInside};
use obliquity_planning::{
    CameraModel, CountingRule, StripDirection, exposure_count, motion, strip_count, strip_row,
};

/// A square film format as pixels of 10 um.
fn film(side_mm: f64, focal_length_mm: f64) -> CameraModel {
    let side_px = (side_mm * 100.0).round() as u32;
    CameraModel::pinhole(side_px, side_px, focal_length_mm * 100.0)
}

/// Side of the ground square at a map scale 1 : `scale`, from the height that gives this scale.
fn ground_side_m(camera: &CameraModel, scale: f64, focal_length_mm: f64) -> f64 {
    camera.vertical_footprint_m(scale * focal_length_mm * 1e-3).x
}

/// Source: Wolf, Dewitt & Wilkinson, *Elements of Photogrammetry with Applications in GIS*, 4th ed. 2014, ch. 18,
/// flight-plan example (the problem was read, the answer recomputed; 6 strips of 20 photographs are from memory).
/// In feet: 10 mi x 6.5 mi, 1 : 12 000, 9 in format, 6 in lens, 60 and 30 per cent.
#[test]
fn project_plan_matches_wolf_2014() {
    let (length_ft, width_ft) = (10.0 * 5280.0, 6.5 * 5280.0);
    // Film in thousandths of an inch: the model only needs the ratio of format to focal length.
    let camera = CameraModel::pinhole(9000, 9000, 6000.0);
    let height_ft = 6000.0;
    let side_ft = camera.vertical_footprint_m(height_ft).x;
    assert_relative_eq!(side_ft, 9000.0, max_relative = 1e-12);
    let (spacing_ft, base_ft) = (0.7 * side_ft, 0.4 * side_ft);
    let rule = CountingRule::SidelapBeyondEdge;
    assert_eq!(strip_count(rule, width_ft, spacing_ft, side_ft), 6);
    let row = strip_row(rule, width_ft, spacing_ft, side_ft);
    assert_relative_eq!(row.spacing_m, 6188.571, max_relative = 1e-6); // printed to a thousandth of a foot
    assert_relative_eq!(1.0 - row.spacing_m / side_ft, 0.312381, max_relative = 1e-6);
    // Two more photographs at each end of a strip.
    assert_eq!(exposure_count(length_ft, base_ft, 1 + 2 + 2), 20);
}

/// Source: open national course notes "Modern Surveying Techniques", module 3, lecture 21, example 1 (quoted: 19 s,
/// 1055.45 m, 44 + 2 + 2 = 48, 48 x 20 = 960). 45 km x 36 km, 1 : 12 000, lens 21 cm, 23 cm square, 60/30, 200 km/h.
#[test]
fn lecture_example_matches_its_course_notes() {
    let side_m = ground_side_m(&film(230.0, 210.0), 12_000.0, 210.0);
    assert_abs_diff_eq!(side_m, 2760.0, epsilon = 1e-9);
    let lines = strip_row(EdgeToEdge, 36_000.0, 0.7 * side_m, side_m);
    assert_eq!(lines.offsets_m.len(), 20);
    assert_abs_diff_eq!(lines.spacing_m, 1894.737, epsilon = 1e-3);
    // The interval is cut to whole seconds, which shortens the base.
    let speed_mps = 200.0 / 3.6;
    let interval_s = (0.4 * side_m / speed_mps).floor();
    assert_abs_diff_eq!(interval_s, 19.0, epsilon = 0.0);
    let base_m = interval_s * speed_mps;
    assert_abs_diff_eq!(base_m, 1055.45, epsilon = 0.2); // printed from a speed rounded to 55.55 m/s
    assert_eq!(exposure_count(45_000.0, base_m, 1 + 2 + 2), 48);
    assert_eq!(exposure_count(45_000.0, base_m, 1 + 2 + 2) as usize * lines.offsets_m.len(), 960);
}

/// Source: class handout "Flight Planning for Aerial Photography" (author not shown; read up to the four lines and
/// 20 s, the seven photographs follow its stated rule). 4 km x 4 km, 1 : 10 000, 152.4 mm, 230 mm, 60/30, 160 km/h.
#[test]
fn class_example_matches_its_handout() {
    let side_m = ground_side_m(&film(230.0, 152.4), 10_000.0, 152.4);
    assert_abs_diff_eq!(side_m, 2300.0, epsilon = 0.1);
    let lines = strip_row(EdgeToEdge, 4000.0, 0.7 * side_m, side_m);
    assert_eq!(lines.offsets_m.len(), 4);
    assert_abs_diff_eq!(lines.spacing_m, 1333.3, epsilon = 0.1);
    let speed_mps = 160.0 / 3.6;
    let interval_s = (0.4 * side_m / speed_mps / 2.0).floor() * 2.0; // even seconds
    assert_abs_diff_eq!(interval_s, 20.0, epsilon = 0.0);
    assert_abs_diff_eq!(interval_s * speed_mps, 888.9, epsilon = 0.1);
    // "Add one photo to each end and round the number up."
    assert_eq!(exposure_count(4000.0, interval_s * speed_mps, 2), 7);
}

/// Source: a set of study cards (problem and results 7 and 20 were read): 20 km x 35 km, 1 : 25 000, 23 cm, 152 mm,
/// 60/30, with two spare lines and four spare photographs.
#[test]
fn spare_lines_match_the_study_cards() {
    let side_m = ground_side_m(&film(230.0, 152.0), 25_000.0, 152.0);
    assert_abs_diff_eq!(side_m, 5750.0, epsilon = 1e-9);
    assert_eq!(strip_count(CountingRule::SpareStripEachSide, 20_000.0, 0.7 * side_m, side_m), 7);
    assert_eq!(exposure_count(35_000.0, 0.4 * side_m, 4), 20);
}

/// Derived: overlap times footprint, by hand: 100 m along and 150 m across at 100 m.
#[test]
fn base_and_spacing_follow_the_overlaps() {
    let site = flat_site(rectangle(500.0, 300.0), vec![]);
    for (forward, side, base_m, spacing_m) in [(0.8, 0.7, 20.0, 45.0), (0.75, 0.6, 25.0, 60.0)] {
        let mut pass = strips_pass(StripDirection::FromNorth { deg: 90.0 }, HalfSpacingInside);
        (pass.forward_overlap, pass.sidelap) = (forward, side);
        let layout = plan(&pass, &camera_g(), &site).layout;
        assert_abs_diff_eq!(layout.air_base_m, base_m, epsilon = 1e-9);
        assert_abs_diff_eq!(layout.strip_spacing_m, spacing_m, epsilon = 1e-9);
    }
}

/// Derived: three rules by hand on 500 m (along) x 300 m at 100 m: outer strips half a spacing inside; footprints
/// just covering; strips on both edges.
#[test]
fn counts_differ_by_rule() {
    let site = flat_site(rectangle(500.0, 300.0), vec![]);
    let cases = [
        (HalfSpacingInside, 0.7, 182),
        (FootprintCover, 0.7, 105),
        (EdgeToEdge, 0.7, 208),
        (HalfSpacingInside, 0.6, 130),
        (FootprintCover, 0.6, 84),
        (EdgeToEdge, 0.6, 156),
    ];
    for (rule, sidelap, images) in cases {
        let mut pass = strips_pass(StripDirection::FromNorth { deg: 90.0 }, rule);
        pass.sidelap = sidelap;
        let plan = plan(&pass, &camera_g(), &site);
        assert_eq!(plan.stations.poses.len(), images, "{rule:?} at a sidelap of {sidelap}");
        assert_eq!(plan.skipped, 0);
    }
}

/// Derived: speed at which exposures one base apart keep the shot interval.
#[test]
fn shot_interval_limits_the_speed() {
    for (base_m, interval_s, speed_mps) in [(20.0, 2.0, 10.0), (20.0, 0.7, 28.571429), (6.0, 2.0, 3.0)] {
        assert_abs_diff_eq!(motion::interval_speed_mps(base_m, interval_s), speed_mps, epsilon = 1e-6);
    }
}
