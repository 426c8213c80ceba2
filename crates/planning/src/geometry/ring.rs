//! What sampling asks of open rings beyond [`crate::geometry::polygon`]: winding, convexity, clipping.

use crate::geometry::polygon::{sides, signed_area_m2};
use geo::{Coord, LineString, Polygon};
use glam::DVec2;

/// The ring, turned round where it runs clockwise.
pub(crate) fn counter_clockwise(ring: &[DVec2]) -> Vec<DVec2> {
    let mut ring = ring.to_vec();
    if signed_area_m2(&ring) < 0.0 {
        ring.reverse();
    }
    ring
}

/// Sine of the turn at `at`, positive to the left.
pub(crate) fn turn(before: DVec2, at: DVec2, after: DVec2) -> f64 {
    let (inward, outward) = (at - before, after - at);
    let scale = inward.length() * outward.length();
    if scale > 0.0 { inward.perp_dot(outward) / scale } else { 0.0 }
}

/// Whether no corner of a simple counter-clockwise ring turns right, up to rounding.
pub(crate) fn is_convex(ring: &[DVec2]) -> bool {
    corners(ring).all(|(before, at, after)| turn(before, at, after) >= -1e-9)
}

/// The ring less the corners at which it goes straight on.
pub(crate) fn without_straight_corners(ring: &[DVec2]) -> Vec<DVec2> {
    corners(ring)
        .filter(|&(before, at, after)| turn(before, at, after).abs() > 1e-9)
        .map(|(_, at, _)| at)
        .collect()
}

fn corners(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2, DVec2)> {
    let n = ring.len();
    (0..n).map(move |k| (ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]))
}

/// The part of a ring where `height`, linear over the plane, is at least 0.
///
/// A concave ring may come out with edges that run back on themselves: area, centroid and inside test still hold.
///
/// # References
/// Sutherland & Hodgman, *Reentrant polygon clipping*, 1974 (from memory).
pub(crate) fn clip(ring: &[DVec2], height: impl Fn(DVec2) -> f64) -> Vec<DVec2> {
    let mut kept = Vec::with_capacity(ring.len() + 2);
    for (from, to) in sides(ring) {
        let (a, b) = (height(from), height(to));
        if a >= 0.0 {
            kept.push(from);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            kept.push(from + (to - from) * (a / (a - b)));
        }
    }
    kept
}

/// Least and greatest coordinates of points; nothing without any.
pub(crate) fn bounds(points: impl IntoIterator<Item = DVec2>) -> Option<(DVec2, DVec2)> {
    points.into_iter().fold(None, |found, p| {
        Some(found.map_or((p, p), |(low, high): (DVec2, DVec2)| (low.min(p), high.max(p))))
    })
}

/// The same ring in the words of the polygon crate.
pub(crate) fn to_geo(ring: &[DVec2]) -> Polygon<f64> {
    let line: LineString<f64> = ring.iter().map(|p| Coord { x: p.x, y: p.y }).collect();
    Polygon::new(line, Vec::new())
}

#[cfg(test)]
mod tests {
    use crate::geometry::ring::*;

    fn l_shape() -> Vec<DVec2> {
        [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (2.0, 2.0), (2.0, 4.0), (0.0, 4.0)].map(DVec2::from).to_vec()
    }

    /// Derived: an L turns right once; a square never does, either way round.
    #[test]
    fn convexity_and_winding() {
        assert!(!is_convex(&l_shape()));
        let clockwise: Vec<_> = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)].map(DVec2::from).to_vec();
        assert!(is_convex(&counter_clockwise(&clockwise)));
    }

    /// Derived: the L left of x = 3 loses a 1 m × 2 m strip.
    #[test]
    fn clipping_takes_a_strip_off() {
        let left = clip(&l_shape(), |p| 3.0 - p.x);
        assert!((signed_area_m2(&left) - 10.0).abs() < 1e-12); // rounding only
    }
}
