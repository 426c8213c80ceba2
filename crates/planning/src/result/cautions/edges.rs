//! Edges that the route comes near to or crosses: those of keep-outs, and the site's own.

use crate::base::wording::{InUnits, named};
use crate::geometry::polygon::{bounds, distance_m, merged, nearest_on, sides};
use crate::result::caution::{Caution, CautionSource, Stretch, check};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::place::longest_first;
use crate::scenario::KeepOut;
use glam::DVec2;

/// Beyond the boundary by less than this is on it. Common practice, no source: positions on the day are no better.
const LEAST_BEYOND_M: f64 = 1.0;

/// Keep-outs to which the route comes nearer than the clearance: it goes round them along their outline.
pub(super) fn near_keep_outs(facts: &Facts<'_>) -> Option<Caution> {
    let clearance_m = facts.conditions.clearance_m;
    let mut nearest_m = f64::INFINITY;
    let mut names: Vec<String> = Vec::new();
    let mut places: Vec<Stretch> = Vec::new();
    for keep_out in &facts.site.keep_outs {
        let (found_m, found) = near_one(facts, keep_out, clearance_m);
        if !found.is_empty() {
            nearest_m = nearest_m.min(found_m);
            names.push(format!("\"{}\"", keep_out.name));
            places.extend(found);
        }
    }
    (!places.is_empty()).then(|| {
        let text = InUnits::of(|units| {
            let told = units.held_lengths(nearest_m, clearance_m);
            format!(
                "passes {} from keep-out {}, clearance {}: outlines are followed, draw them with a margin",
                told.value,
                named(&names),
                told.limit
            )
        });
        let nearest = InUnits::of(|units| units.held_lengths(nearest_m, clearance_m).value);
        let caution = check("near-keep-out", text, CautionSource::Plan).placed(longest_first(places));
        caution.gauged(-nearest_m, nearest)
    })
}

/// How near the route comes to a keep-out, and where it is nearer than the clearance.
fn near_one(facts: &Facts<'_>, keep_out: &KeepOut, clearance_m: f64) -> (f64, Vec<Stretch>) {
    let ring = &keep_out.outline_m;
    let (low, high) = bounds(ring);
    let margin = DVec2::splat(clearance_m);
    let (low, high) = (low - margin, high + margin);
    let mut nearest_m = f64::INFINITY;
    let mut places = Vec::new();
    for (k, flown) in facts.flight().legs.iter().enumerate() {
        let mut passed_m = 0.0;
        let mut shares_m: Vec<(f64, f64)> = Vec::new();
        for (a, b) in flown.leg.pieces_m() {
            let (from_m, to_m) = (a.truncate(), b.truncate());
            let is_far = low.cmpgt(from_m.max(to_m)).any() || high.cmplt(from_m.min(to_m)).any();
            if let Some((apart_m, begins, ends)) =
                (!is_far).then(|| nearest(ring, [from_m, to_m], clearance_m)).flatten()
            {
                nearest_m = nearest_m.min(apart_m);
                let piece_m = a.distance(b);
                shares_m.push((passed_m + begins * piece_m, passed_m + ends * piece_m));
            }
            passed_m += a.distance(b);
        }
        places.extend(
            merged(shares_m).into_iter().map(|share_m| facts.walk().part_of(facts.flight(), k, share_m)),
        );
    }
    (nearest_m, places)
}

/// How near a straight piece comes to a ring's area, and the share of it that is nearer than `clearance_m`; nothing where none
/// is.
///
/// # References
/// Derived: two segments that do not cross are nearest to each other at an end of one of them.
fn nearest(ring: &[DVec2], [a, b]: [DVec2; 2], clearance_m: f64) -> Option<(f64, f64, f64)> {
    // Four places to each clearance: the ends of what is told are within a quarter of it.
    const MOST: f64 = 400.0;
    let steps = (4.0 * a.distance(b) / clearance_m.max(f64::MIN_POSITIVE)).ceil().clamp(1.0, MOST);
    let way = b - a;
    let share_of =
        |at: DVec2| ((at - a).dot(way) / way.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    let corners = ring.iter().map(|corner| share_of(nearest_on(a, b, *corner)));
    let crossed = sides(ring).filter_map(|(c, d)| crossing(way, d - c, c - a));
    let mut found: Option<(f64, f64, f64)> = None;
    let mut look = |share: f64| {
        let apart_m = distance_m(ring, a + way * share);
        if apart_m < clearance_m {
            let (nearest_m, begins, ends) = found.unwrap_or((apart_m, share, share));
            found = Some((nearest_m.min(apart_m), begins.min(share), ends.max(share)));
        }
        found
    };
    // It is nearest at one of these.
    corners.chain(crossed).chain([0.0, 1.0]).map(&mut look).last().flatten()?;
    (1..steps as u32).map(|k| look(f64::from(k) / steps)).last().unwrap_or(found)
}

/// The share of a way at which it crosses a side; nothing where it does not.
fn crossing(way: DVec2, side: DVec2, to_side: DVec2) -> Option<f64> {
    let across = way.perp_dot(side);
    let (along, on) = (to_side.perp_dot(side) / across, to_side.perp_dot(way) / across);
    let within = |share: f64| (0.0..=1.0).contains(&share);
    (across != 0.0 && within(along) && within(on)).then_some(along)
}

/// What the route does beyond the boundary: how far it goes there, and where.
pub(super) fn beyond_boundary(facts: &Facts<'_>) -> Option<(f64, Vec<Stretch>)> {
    let (walk, ring) = (facts.walk(), &facts.site.boundary_m);
    let mut farthest_m: f64 = 0.0;
    let runs = walk.runs(|point| {
        let off_m = distance_m(ring, point.position_m.truncate());
        farthest_m = farthest_m.max(off_m);
        off_m > LEAST_BEYOND_M
    });
    (!runs.is_empty()).then(|| (farthest_m, walk.longest_first(&runs)))
}
