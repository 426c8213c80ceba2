//! What a straight way home has to clear.

use crate::flight::Flight;
use crate::geometry::polygon::{hull_m, rings_meet};
use crate::ground::SiteOutline;
use glam::DVec2;

/// How high a controller's automatic return must be set, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnHeight {
    /// To be set, above the take-off point.
    pub m: f64,
    /// Top of the tallest thing on the way, above the take-off point.
    pub tallest_m: f64,
    /// Name of the structure that it is; nothing where it is the ground.
    pub tallest: Option<String>,
    /// Names of the keep-outs that a straight way home may lead over: a controller does not know them.
    pub keep_outs: Vec<String>,
}

/// The least height at which a straight way home from anywhere on the route keeps `clearance_m` above all that lies between
/// the route and the take-off point: the ground, and what stands.
///
/// All that lies in the convex hull of the route and the take-off point counts, so that a thing beside every way home may
/// be counted, and none on one is left out.
///
/// # Units
/// - `clearance_m`: metres
/// - heights returned: metres above the ground at the take-off point
///
/// # References
/// Derived: a straight way from a place of the hull to another one stays inside it.
pub fn return_height(flight: &Flight, site: &SiteOutline, clearance_m: f64) -> ReturnHeight {
    let corners = flight.legs.iter().flat_map(|flown| flown.leg.corners_m());
    let places: Vec<DVec2> =
        corners.map(glam::DVec3::truncate).chain(std::iter::once(site.take_off_m)).collect();
    let ring = hull_m(places);
    let ground_z_m = site.terrain.range_m(&ring).1.max(site.take_off_z_m);
    let on_way = site.obstacles.iter().filter(|solid| rings_meet(&ring, &solid.ring_m));
    let highest = on_way.max_by(|a, b| a.top_z_m.total_cmp(&b.top_z_m));
    let highest = highest.filter(|solid| solid.top_z_m > ground_z_m);
    let top_z_m = highest.map_or(ground_z_m, |solid| solid.top_z_m);
    let tallest_m = top_z_m - site.take_off_z_m;
    let keep_outs = site.keep_outs.iter().filter(|keep_out| rings_meet(&ring, &keep_out.outline_m));
    ReturnHeight {
        m: tallest_m + clearance_m,
        tallest_m,
        tallest: highest.map(|solid| site.structures[solid.structure].name.clone()),
        keep_outs: keep_outs.map(|keep_out| keep_out.name.clone()).collect(),
    }
}
