//! Small polygon work on open rings of metres in the plane.

use geo::ConvexHull;
use glam::DVec2;

/// Area enclosed by an open ring, positive when it runs counter-clockwise.
///
/// # Units
/// - returns: square metres
pub fn signed_area_m2(ring: &[DVec2]) -> f64 {
    // From a corner of its own, so that a small ring far from the origin keeps its digits.
    let Some(&anchor) = ring.first() else { return 0.0 };
    sides(ring).map(|(a, b)| (a - anchor).perp_dot(b - anchor)).sum::<f64>() / 2.0
}

/// Area enclosed by an open ring, whatever its winding.
///
/// # Units
/// - returns: square metres
pub fn area_m2(ring: &[DVec2]) -> f64 {
    signed_area_m2(ring).abs()
}

/// Centre of the area enclosed by an open ring; the mean corner where the area vanishes.
pub fn centroid_m(ring: &[DVec2]) -> DVec2 {
    let anchor = ring.first().copied().unwrap_or_default();
    let (mut twice_area, mut moment) = (0.0, DVec2::ZERO);
    for (a, b) in sides(ring) {
        let (a, b) = (a - anchor, b - anchor);
        let cross = a.perp_dot(b);
        twice_area += cross;
        moment += (a + b) * cross;
    }
    if twice_area.abs() < 1e-12 {
        return ring.iter().sum::<DVec2>() / ring.len().max(1) as f64;
    }
    anchor + moment / (3.0 * twice_area)
}

/// The sides of an open ring, the closing one included.
pub(crate) fn sides(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    let next = ring.iter().skip(1).chain(ring.first());
    ring.iter().copied().zip(next.copied())
}

/// Whether a point lies inside an open ring (even–odd rule; on the outline either answer).
pub fn contains(ring: &[DVec2], p: DVec2) -> bool {
    let mut inside = false;
    for (a, b) in sides(ring) {
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            inside = !inside;
        }
    }
    inside
}

/// Whether two segments share a point; touching counts.
pub(crate) fn segments_meet(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (abc, abd) = (side(a, b, c), side(a, b, d));
    let (cda, cdb) = (side(c, d, a), side(c, d, b));
    if abc == 0.0 && abd == 0.0 {
        let (low, high) = (a.min(b), a.max(b));
        let (low2, high2) = (c.min(d), c.max(d));
        return low.cmple(high2).all() && low2.cmple(high).all();
    }
    abc * abd <= 0.0 && cda * cdb <= 0.0
}

/// Whether the areas of two open rings share a point.
pub fn rings_meet(a: &[DVec2], b: &[DVec2]) -> bool {
    let Some((&a0, &b0)) = a.first().zip(b.first()) else { return false };
    if contains(b, a0) || contains(a, b0) {
        return true;
    }
    sides(a).any(|(p, q)| sides(b).any(|(r, s)| segments_meet(p, q, r, s)))
}

/// Azimuth of the sweep lines that need the least width across them, and that width.
///
/// For a convex region the best sweep runs parallel to an edge; a concave one is judged by its hull.
///
/// # Units
/// - returns: (azimuth clockwise from north in radians, 0 to below π; width in metres)
///
/// # References
/// Huang, "Optimal line-sweep-based decompositions for coverage algorithms", ICRA 2001; Toussaint, "Solving geometric
/// problems with the rotating calipers", 1983 (both from memory).
pub fn least_width(ring: &[DVec2]) -> (f64, f64) {
    let points: geo::MultiPoint = ring.iter().map(|p| geo::Point::new(p.x, p.y)).collect();
    let hull: Vec<DVec2> = points.convex_hull().exterior().coords().map(|c| DVec2::new(c.x, c.y)).collect();
    let mut best = (0.0, f64::INFINITY);
    for edge in hull.windows(2) {
        let along = (edge[1] - edge[0]).normalize_or_zero();
        if along == DVec2::ZERO {
            continue;
        }
        let across: Vec<f64> = hull.iter().map(|p| along.perp_dot(*p)).collect();
        let width = across.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - across.iter().copied().fold(f64::INFINITY, f64::min);
        let azimuth = along.x.atan2(along.y).rem_euclid(std::f64::consts::PI);
        // Equal widths (a square) go to the smaller azimuth, whatever corner the ring starts at.
        let clearly_less = width < best.1 - 1e-9;
        if clearly_less || (width < best.1 + 1e-9 && azimuth < best.0) {
            best = (azimuth, width.min(best.1));
        }
    }
    best
}

/// Where the line y = `level` runs inside an open ring: sorted, disjoint intervals of x.
pub(crate) fn slice(ring: &[DVec2], level: f64) -> Vec<(f64, f64)> {
    let mut crossings: Vec<f64> = sides(ring)
        .filter(|(a, b)| (a.y > level) != (b.y > level))
        .map(|(a, b)| a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// Joins intervals that touch or overlap; the result is sorted.
pub(crate) fn merged(mut intervals: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    intervals.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::with_capacity(intervals.len());
    for (low, high) in intervals {
        match joined.last_mut() {
            Some(last) if low <= last.1 => last.1 = last.1.max(high),
            _ => joined.push((low, high)),
        }
    }
    joined
}

/// What is left of `kept` after `cut`; both sorted and disjoint.
pub(crate) fn without(kept: &[(f64, f64)], cut: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut left = Vec::new();
    for &(mut low, high) in kept {
        for &(from, to) in cut {
            if to <= low || from >= high {
                continue;
            }
            if from > low {
                left.push((low, from));
            }
            low = low.max(to);
        }
        if low < high {
            left.push((low, high));
        }
    }
    left
}

/// Whether all of a ring lies on one side of a segment's line, or before its start, or after its end.
fn lies_beside(ring: &[DVec2], start: DVec2, way: DVec2) -> bool {
    let reach = way.length_squared();
    let (mut left, mut right, mut before, mut after) = (true, true, true, true);
    for &corner in ring {
        let (across, along) = (way.perp_dot(corner - start), way.dot(corner - start));
        left &= across > 0.0;
        right &= across < 0.0;
        before &= along < 0.0;
        after &= along > reach;
    }
    left || right || before || after
}

/// Whether an open ring turns left at every corner, or goes straight on.
pub(crate) fn is_convex(ring: &[DVec2]) -> bool {
    let n = ring.len();
    (0..n).all(|k| (ring[(k + 1) % n] - ring[k]).perp_dot(ring[(k + 2) % n] - ring[(k + 1) % n]) >= 0.0)
}

/// As [`length_inside`], for a convex counter-clockwise ring; along a side is outside.
pub(crate) fn length_inside_convex(ring: &[DVec2], a: DVec2, b: DVec2) -> f64 {
    let way = b - a;
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for (c, d) in sides(ring) {
        let side = d - c;
        // how far left of the side the segment starts, and how fast it goes further left
        let (inside, rate) = (side.perp_dot(a - c), side.perp_dot(way));
        if inside <= 0.0 && rate <= 0.0 {
            return 0.0;
        }
        if rate > 0.0 {
            low = low.max(-inside / rate);
        } else if rate < 0.0 {
            high = high.min(-inside / rate);
        }
        if low >= high {
            return 0.0;
        }
    }
    (high - low) * way.length()
}

/// The part of the segment from `a` to `b` that lies inside an open ring, in metres.
pub(crate) fn length_inside(ring: &[DVec2], a: DVec2, b: DVec2) -> f64 {
    let way = b - a;
    if lies_beside(ring, a, way) {
        return 0.0;
    }
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
    cuts.windows(2)
        .filter(|pair| contains(ring, a + way * f64::midpoint(pair[0], pair[1])))
        .map(|pair| (pair[1] - pair[0]) * way.length())
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn ring(points: &[(f64, f64)]) -> Vec<DVec2> {
        points.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
    }

    /// Derived: both ways of measuring agree on a convex ring, and a side itself is outside.
    #[test]
    fn convex_rings_are_measured_alike() {
        let square = ring(&[(0., 0.), (10., 0.), (10., 10.), (0., 10.)]);
        assert!(is_convex(&square) && !is_convex(&ell()));
        let places = |k: u32| DVec2::new(f64::from(k * 7 % 23) - 6.3, f64::from(k * 11 % 19) - 4.7);
        for (a, b) in (0..200).map(|k| (places(k), places(k * 3 + 5))) {
            let (convex, any) = (length_inside_convex(&square, a, b), length_inside(&square, a, b));
            assert_relative_eq!(convex, any, epsilon = 1e-9); // rounding
        }
        for (a, b) in [((-5., 10.), (15., 10.)), ((0., 20.), (0., -20.)), ((10., 2.), (10., 9.))] {
            assert_eq!(length_inside_convex(&square, a.into(), b.into()), 0.0);
        }
    }

    /// Derived: an L of a 20 m square with a 10 m square cut out of its north-east.
    fn ell() -> Vec<DVec2> {
        ring(&[(0., 0.), (20., 0.), (20., 10.), (10., 10.), (10., 20.), (0., 20.)])
    }

    #[test]
    fn area_and_centroid_of_an_ell() {
        assert_relative_eq!(signed_area_m2(&ell()), 300.0);
        // 400 m² at (10, 10) less 100 m² at (15, 15).
        assert_relative_eq!(centroid_m(&ell()).x, (4000.0 - 1500.0) / 300.0);
    }

    #[test]
    fn slices_of_a_u_are_two() {
        let u =
            ring(&[(0., 0.), (30., 0.), (30., 20.), (20., 20.), (20., 5.), (10., 5.), (10., 20.), (0., 20.)]);
        assert_eq!(slice(&u, 10.0), vec![(0.0, 10.0), (20.0, 30.0)]);
        assert_eq!(slice(&u, 2.0), vec![(0.0, 30.0)]);
    }

    #[test]
    fn cutting_intervals() {
        assert_eq!(without(&[(0., 10.)], &[(2., 3.), (8., 12.)]), vec![(0., 2.), (3., 8.)]);
        assert_eq!(without(&[(0., 10.)], &[(-1., 11.)]), vec![]);
        assert_eq!(merged(vec![(5., 6.), (0., 2.), (1., 3.)]), vec![(0., 3.), (5., 6.)]);
    }

    #[test]
    fn length_inside_counts_only_the_inside() {
        assert_relative_eq!(
            length_inside(&ell(), DVec2::new(-5., 15.), DVec2::new(25., 15.)),
            10.0,
            epsilon = 1e-9
        );
        assert_eq!(length_inside(&ell(), DVec2::new(12., 12.), DVec2::new(19., 19.)), 0.0);
    }

    #[test]
    fn rings_meet_when_one_holds_the_other() {
        let inner = ring(&[(2., 2.), (3., 2.), (3., 3.)]);
        assert!(rings_meet(&ell(), &inner) && rings_meet(&inner, &ell()));
        assert!(!rings_meet(&ell(), &ring(&[(12., 12.), (19., 12.), (19., 19.)])));
    }
}
