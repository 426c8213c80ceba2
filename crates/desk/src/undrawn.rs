//! The site of a new scenario before anyone has drawn its boundary: a square to reckon with, which is no site.

use glam::DVec2;
use obliquity_planning::Site;

/// Its side. Whatever is drawn has corners of whole millimetres, which these are not: no boundary that is drawn is this one.
const SIDE_M: f64 = 200.000_5;

/// The square that stands for a boundary until one is drawn.
///
/// # Units
/// - returns: metres, anticlockwise from the origin
pub fn placeholder_m() -> Vec<DVec2> {
    [(0.0, 0.0), (SIDE_M, 0.0), (SIDE_M, SIDE_M), (0.0, SIDE_M)].map(DVec2::from).to_vec()
}

/// Whether a site still waits for its boundary.
pub fn is_undrawn(site: &Site) -> bool {
    site.boundary_m == placeholder_m()
}
