//! Where a straight line may be flown.

use super::SAME_PLACE_M;
use super::refusal::{PlanError, SHOWS_NOTHING};
use crate::base::wording::named;
use crate::geometry::polygon::{contains, merged, sides, without};
use crate::ground::SiteOutline;
use glam::DVec2;

/// Sections shorter than this are not flown.
pub(super) const LEAST_M: f64 = 0.5;

/// Ground that is higher by less lies at the level.
const LEVEL_M: f64 = 1e-9;

/// Parts of a segment over which the ground is higher than a level, in metres from its start.
pub(super) fn ground_above(site: &SiteOutline, (a, b): (DVec2, DVec2), level_z_m: f64) -> Vec<(f64, f64)> {
    let length_m = a.distance(b);
    let breaks = site.terrain.breaks(a, b);
    let knots: Vec<(f64, f64)> = breaks
        .into_iter()
        .map(|share| (share * length_m, site.terrain.height_m(a.lerp(b, share)) - level_z_m))
        .collect();
    let above = |pair: &[(f64, f64)]| {
        let [(from_m, first), (to_m, last)] = [pair[0], pair[1]];
        // where the ground crosses the level
        let at_m = from_m + (to_m - from_m) * first / (first - last);
        match (first > LEVEL_M, last > LEVEL_M) {
            (true, true) => Some((from_m, to_m)),
            (true, false) => Some((from_m, at_m)),
            (false, true) => Some((at_m, to_m)),
            (false, false) => None,
        }
    };
    merged(knots.windows(2).filter_map(above).collect())
}

/// Parts of a segment outside the keep-outs.
pub(super) fn open_sections(site: &SiteOutline, (a, b): (DVec2, DVec2)) -> Vec<(f64, f64)> {
    without(&[(0.0, a.distance(b))], &merged(in_keep_outs(site, a, b)))
}

/// How far a segment can be flown from its start before it enters a keep-out, in metres.
pub(super) fn open_m(site: &SiteOutline, (a, b): (DVec2, DVec2)) -> f64 {
    in_keep_outs(site, a, b).into_iter().map(|shut| shut.0).fold(a.distance(b), f64::min)
}

/// Why a pass has nothing to fly on: all lines that it would follow lie in keep-outs, where they enter any.
pub(super) fn all_shut(site: &SiteOutline, lines: impl Iterator<Item = (DVec2, DVec2)>) -> PlanError {
    let lines: Vec<_> = lines.collect();
    match names_entered(site, &lines) {
        Some(names) => PlanError::because(format!(
            "all of it lies in {names}; make it smaller, or change where the pass runs"
        )),
        None => PlanError::because(SHOWS_NOTHING),
    }
}

/// Names of the keep-outs that lines enter.
pub(super) fn names_entered(site: &SiteOutline, lines: &[(DVec2, DVec2)]) -> Option<String> {
    let mut entered: Vec<usize> = lines.iter().flat_map(|(a, b)| site.fences.all_entered(*a, *b)).collect();
    entered.sort_unstable();
    entered.dedup();
    let quoted: Vec<String> = entered.iter().map(|k| format!("\"{}\"", site.keep_outs[*k].name)).collect();
    let what = if quoted.len() == 1 { "the keep-out" } else { "the keep-outs" };
    (!quoted.is_empty()).then(|| format!("{what} {}", named(&quoted)))
}

/// Parts of a segment inside keep-outs.
pub(super) fn in_keep_outs(site: &SiteOutline, a: DVec2, b: DVec2) -> Vec<(f64, f64)> {
    site.fences.met(a, b).flat_map(|ring| inside(ring, a, b)).collect()
}

/// Parts of a segment inside a ring, convex or not, in metres from its start; along a side is inside.
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
    let beside = way.perp().normalize_or_zero() * SAME_PLACE_M;
    let inside = |at: DVec2| contains(ring, at - beside) || contains(ring, at + beside);
    let pairs = cuts.windows(2).filter(|p| inside(a + way * f64::midpoint(p[0], p[1])));
    merged(pairs.map(|p| (p[0] * length_m, p[1] * length_m)).collect())
}
