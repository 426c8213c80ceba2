//! What a straight way home has to clear.

use crate::flight::Flight;
use crate::geometry::polygon::{hull_m, rings_meet};
use crate::ground::SiteOutline;
use glam::DVec2;

/// How high a controller's automatic return must be set, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnHeight {
    /// To be set, above the take-off point; of several the greatest.
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
/// be counted, and none on one is left out. Every sortie returns to the take-off point that it starts at.
///
/// # Units
/// - `clearance_m`: metres
/// - heights returned: metres above the ground at the take-off point
///
/// # References
/// Derived: a straight way from a place of the hull to another one stays inside it.
pub fn return_height(flight: &Flight, site: &SiteOutline, clearance_m: f64) -> ReturnHeight {
    let mut homes: Vec<u32> = flight.sorties.iter().map(|sortie| sortie.home).collect();
    homes.sort_unstable();
    homes.dedup();
    let mut all = homes.into_iter().map(|home| from_home(flight, site, clearance_m, home));
    let Some(first) = all.next() else { return from_home(flight, site, clearance_m, 0) };
    all.fold(first, |highest, next| {
        let mut keep_outs = [&*highest.keep_outs, &*next.keep_outs].concat();
        keep_outs.sort_by_key(|name| site.keep_outs.iter().position(|keep_out| keep_out.name == *name));
        keep_outs.dedup();
        ReturnHeight { keep_outs, ..if next.m > highest.m { next } else { highest } }
    })
}

/// For the sorties that start at one of the take-off points.
fn from_home(flight: &Flight, site: &SiteOutline, clearance_m: f64, home: u32) -> ReturnHeight {
    let home_m = flight.take_offs_m[home as usize];
    let own = flight.legs.iter().filter(|flown| flight.sorties[flown.sortie as usize].home == home);
    let corners = own.flat_map(|flown| flown.leg.corners_m());
    let places: Vec<DVec2> = corners.chain([home_m]).map(glam::DVec3::truncate).collect();
    let ring = hull_m(places);
    let ground_z_m = site.terrain.range_m(&ring).1.max(home_m.z);
    let on_way = site.obstacles.iter().filter(|solid| rings_meet(&ring, &solid.ring_m));
    let highest = on_way.max_by(|a, b| a.top_z_m.total_cmp(&b.top_z_m));
    let highest = highest.filter(|solid| solid.top_z_m > ground_z_m);
    let top_z_m = highest.map_or(ground_z_m, |solid| solid.top_z_m);
    let tallest_m = top_z_m - home_m.z;
    let keep_outs = site.keep_outs.iter().filter(|keep_out| rings_meet(&ring, &keep_out.outline_m));
    ReturnHeight {
        m: tallest_m + clearance_m,
        tallest_m,
        tallest: highest.map(|solid| site.structures[solid.structure].name.clone()),
        keep_outs: keep_outs.map(|keep_out| keep_out.name.clone()).collect(),
    }
}
