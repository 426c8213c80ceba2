//! What a cut gives, as CSV.

use obliquity_planning::Above;
use obliquity_planning::cross_section::CrossSection;
use std::fmt::Write;

/// A cut as CSV (RFC 4180, lines ended by a line feed): one row for each place and way of flying.
///
/// # Units
/// - distances and heights in metres, heights above the mean ground inside the boundary; GSD in centimetres; overlaps from 0 to 1,
///   empty for patterns without
pub fn cut_csv(section: &CrossSection) -> String {
    let mut text = "heights,along_m,surface_m,above_surface_m,gsd_cm,forward_overlap,sidelap\n".to_owned();
    for one in &section.flown {
        let heights = match one.above {
            Above::MeanGround => "above_mean_ground",
            Above::TakeOff => "above_take_off",
            Above::Ground => "above_ground",
        };
        for below in &one.below {
            let (along_m, surface_m, above_m) = (below.along_m, below.surface_m, below.above_m);
            let overlaps =
                below.overlaps.map_or(",".to_owned(), |(along, across)| format!("{along},{across}"));
            let gsd_cm = below.gsd_m * 100.0;
            let _ = writeln!(text, "{heights},{along_m},{surface_m},{above_m},{gsd_cm},{overlaps}");
        }
    }
    text
}
