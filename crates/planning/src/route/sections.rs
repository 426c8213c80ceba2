//! Where a straight line may be flown.

use super::airspace::grown;
use crate::polygon::{contains, merged, sides, without};
use crate::{Obstacle, SiteOutline};
use glam::DVec2;

/// Sections shorter than this are not flown.
const LEAST_M: f64 = 0.5;

/// Parts of a segment outside the keep-outs and farther than a clearance from every structure that reaches within it of
/// the level: from and to in metres from the segment's start.
pub(super) fn free_sections(
    site: &SiteOutline,
    (a, b): (DVec2, DVec2),
    level_z_m: f64,
    clearance_m: f64,
) -> Vec<(f64, f64)> {
    // A stand-off equal to the clearance keeps it.
    let kept_m = clearance_m * 0.999;
    let near = |o: &&Obstacle| level_z_m > o.bottom_z_m - kept_m && level_z_m < o.top_z_m + kept_m;
    let grown_rings = site.obstacles.iter().filter(near).map(|o| grown(&o.ring_m, kept_m));
    let mut shut: Vec<(f64, f64)> = grown_rings.flat_map(|ring| inside(&ring, a, b)).collect();
    shut.extend(outside_keep_outs(site, a, b));
    let free = without(&[(0.0, a.distance(b))], &merged(shut));
    free.into_iter().filter(|section| section.1 - section.0 >= LEAST_M).collect()
}

/// Parts of a segment outside the keep-outs.
pub(super) fn open_sections(site: &SiteOutline, (a, b): (DVec2, DVec2)) -> Vec<(f64, f64)> {
    without(&[(0.0, a.distance(b))], &merged(outside_keep_outs(site, a, b)))
}

fn outside_keep_outs(site: &SiteOutline, a: DVec2, b: DVec2) -> Vec<(f64, f64)> {
    site.keep_outs.iter().flat_map(|keep_out| inside(&keep_out.outline_m, a, b)).collect()
}

/// Parts of a segment inside a ring, convex or not, in metres from its start.
pub(super) fn inside(ring: &[DVec2], a: DVec2, b: DVec2) -> Vec<(f64, f64)> {
    let way = b - a;
    let length_m = way.length();
    let mut cuts = vec![0.0, 1.0];
    for (c, d) in sides(ring) {
        let side = d - c;
        let denominator = way.perp_dot(side);
        if denominator != 0.0 {
            let t = (c - a).perp_dot(side) / denominator;
            let s = (c - a).perp_dot(way) / denominator;
            if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s) {
                cuts.push(t);
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    let pairs = cuts.windows(2).filter(|p| contains(ring, a + way * f64::midpoint(p[0], p[1])));
    merged(pairs.map(|p| (p[0] * length_m, p[1] * length_m)).collect())
}
