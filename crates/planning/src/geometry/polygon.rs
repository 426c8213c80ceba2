//! Small polygon work on open rings of metres in the plane.

use geo::ConvexHull;
use glam::DVec2;
use std::f64::consts::TAU;

/// How far a corner of the ring round several structures may lie from their hull. Common practice, no source.
pub const HULL_EASE_M: f64 = 3.0;

/// Area enclosed by an open ring, positive when it runs counter-clockwise.
///
/// # Units
/// - `ring`: metres
/// - returns: square metres
///
/// # References
/// The shoelace formula (from memory).
pub fn signed_area_m2(ring: &[DVec2]) -> f64 {
    // From a corner of its own, so that a small ring far from the origin keeps its digits.
    let Some(&anchor) = ring.first() else { return 0.0 };
    sides(ring).map(|(a, b)| (a - anchor).perp_dot(b - anchor)).sum::<f64>() / 2.0
}

/// Area enclosed by an open ring, whatever its winding.
///
/// # Units
/// - `ring`: metres
/// - returns: square metres
///
/// # References
/// As [`signed_area_m2`].
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::area_m2;
/// let ring = [(0., 0.), (200., 0.), (260., 90.), (180., 170.), (40., 120.)].map(DVec2::from);
/// assert_eq!(area_m2(&ring), 30400.0);
/// ```
pub fn area_m2(ring: &[DVec2]) -> f64 {
    signed_area_m2(ring).abs()
}

/// Centre of the area enclosed by an open ring; the mean corner where the area vanishes.
///
/// # Units
/// - `ring`, returns: metres
///
/// # References
/// First moments of the area over the area, as the shoelace formula adds them up (from memory).
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::centroid_m;
/// // an L: 400 m² at (10, 10) less 100 m² at (15, 15)
/// let ell = [(0., 0.), (20., 0.), (20., 10.), (10., 10.), (10., 20.), (0., 20.)].map(DVec2::from);
/// assert!((centroid_m(&ell).x - (4000.0 - 1500.0) / 300.0).abs() < 1e-12);
/// ```
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

/// The circle that an orbit is measured from: the centroid of a ring, out to its farthest corner.
///
/// # Units
/// - `ring`: metres
/// - returns: metres, the middle and the radius
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::circle_m;
/// let square = [(0., 0.), (6., 0.), (6., 8.), (0., 8.)].map(DVec2::from);
/// assert_eq!(circle_m(&square), (DVec2::new(3.0, 4.0), 5.0));
/// ```
pub fn circle_m(ring: &[DVec2]) -> (DVec2, f64) {
    let centre = centroid_m(ring);
    (centre, ring.iter().map(|p| p.distance(centre)).fold(0.0, f64::max))
}

/// The sides of an open ring, the closing one included.
pub(crate) fn sides(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + Clone + '_ {
    let next = ring.iter().skip(1).chain(ring.first());
    ring.iter().copied().zip(next.copied())
}

/// Whether a point lies inside an open ring (even–odd rule; on the outline either answer).
///
/// # Units
/// - `ring`, `p`: metres
///
/// # References
/// The even–odd rule (from memory).
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
///
/// # References
/// The orientation test (from memory).
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
///
/// # Units
/// - `a`, `b`: metres
pub fn rings_meet(a: &[DVec2], b: &[DVec2]) -> bool {
    let Some((&a0, &b0)) = a.first().zip(b.first()) else { return false };
    if contains(b, a0) || contains(a, b0) {
        return true;
    }
    sides(a).any(|(p, q)| sides(b).any(|(r, s)| segments_meet(p, q, r, s)))
}

/// Convex hull of some places: an open ring, counter-clockwise, beginning at the southernmost corner (of several the
/// westernmost), so that the same places give the same ring in whatever order they come.
///
/// # Units
/// - `places`, returns: metres
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::hull_m;
/// // the inner place and the middle of a side are left out
/// let places = [(8., 8.), (0., 8.), (3., 4.), (0., 0.), (8., 0.), (4., 0.)].map(DVec2::from);
/// assert_eq!(hull_m(places), [(0., 0.), (8., 0.), (8., 8.), (0., 8.)].map(DVec2::from));
/// ```
pub fn hull_m(places: impl IntoIterator<Item = DVec2>) -> Vec<DVec2> {
    let points: geo::MultiPoint = places.into_iter().map(|p| geo::Point::new(p.x, p.y)).collect();
    let mut ring: Vec<DVec2> =
        points.convex_hull().exterior().coords().map(|c| DVec2::new(c.x, c.y)).collect();
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    if signed_area_m2(&ring) < 0.0 {
        ring.reverse();
    }
    let southern =
        |a: &usize, b: &usize| ring[*a].y.total_cmp(&ring[*b].y).then(ring[*a].x.total_cmp(&ring[*b].x));
    let first = (0..ring.len()).min_by(southern).unwrap_or(0);
    ring.rotate_left(first);
    ring
}

/// A convex ring with fewer sides around a convex ring: short sides left out and their neighbours lengthened until they
/// meet, as long as no corner comes to lie farther from the ring than `most_out_m`.
///
/// # Units
/// - `ring`, `most_out_m`, returns: metres
///
/// # Shape
/// - `ring`: open, counter-clockwise, convex
/// - returns: open, counter-clockwise, convex; every side lies on one of `ring`'s
///
/// # References
/// Derived: the corner is where the neighbours' lines meet.
pub fn eased_m(ring: &[DVec2], most_out_m: f64) -> Vec<DVec2> {
    let mut eased = ring.to_vec();
    loop {
        let count = eased.len();
        if count < 4 {
            return eased;
        }
        let without = |k: usize| {
            let (a, b) = (eased[(k + count - 1) % count], eased[k]);
            let (c, d) = (eased[(k + 1) % count], eased[(k + 2) % count]);
            let turn = (b - a).perp_dot(d - c);
            let corner = b + (b - a) * ((c - b).perp_dot(d - c) / turn);
            let out_m = distance_m(ring, corner);
            (turn > 1e-9 && out_m <= most_out_m).then_some((out_m, k, corner))
        };
        let Some((_, k, corner)) = (0..count).filter_map(without).min_by(|a, b| a.0.total_cmp(&b.0)) else {
            return eased;
        };
        eased[k] = corner;
        eased.remove((k + 1) % count);
    }
}

/// Least distance between the areas of two open rings; 0 where they meet.
///
/// # Units
/// - `a`, `b`, returns: metres
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::gap_m;
/// let square = |x: f64, y: f64| [(x, y), (x + 1., y), (x + 1., y + 1.), (x, y + 1.)].map(DVec2::from);
/// // from corner to corner 3 m east and 4 m north
/// assert_eq!(gap_m(&square(0.0, 0.0), &square(4.0, 5.0)), 5.0);
/// ```
pub fn gap_m(a: &[DVec2], b: &[DVec2]) -> f64 {
    if rings_meet(a, b) {
        return 0.0;
    }
    let to = |ring: &[DVec2], corners: &[DVec2]| {
        corners.iter().map(|at| distance_m(ring, *at)).fold(f64::INFINITY, f64::min)
    };
    to(a, b).min(to(b, a))
}

/// A side of a ring's convex hull, and how wide the ring is across it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sweep {
    /// One end of the side.
    pub from_m: DVec2,
    /// The other.
    pub to_m: DVec2,
    /// Width of the ring across the side.
    pub width_m: f64,
}

/// The directions among which that of the fewest sweep lines is: those of the sides of the convex hull.
///
/// For a convex region the best sweep runs parallel to a side, the one with the least width; a concave one is judged by its
/// hull.
///
/// # Units
/// - `ring`, returns: metres
///
/// # References
/// Huang, "Optimal line-sweep-based decompositions for coverage algorithms", ICRA 2001; Toussaint, "Solving geometric
/// problems with the rotating calipers", 1983 (both from memory).
///
/// # Examples
/// ```
/// use glam::DVec2;
/// use obliquity_planning::polygon::sweeps;
/// let ring = [(0., 0.), (200., 0.), (260., 90.), (180., 170.), (40., 120.)].map(DVec2::from);
/// let least = sweeps(&ring).into_iter().min_by(|a, b| a.width_m.total_cmp(&b.width_m)).expect("sides");
/// // along the side from (180, 170) to (40, 120), across the least width
/// assert_eq!(least.from_m, DVec2::new(180.0, 170.0));
/// assert!((least.width_m - 166.822853).abs() < 1e-6);
/// ```
pub fn sweeps(ring: &[DVec2]) -> Vec<Sweep> {
    let hull = hull_m(ring.iter().copied());
    let sweep = |(from_m, to_m): (DVec2, DVec2)| {
        let along = (to_m - from_m).try_normalize()?;
        let across = || hull.iter().map(|p| along.perp_dot(*p - from_m));
        let (low, high) =
            (across().fold(f64::INFINITY, f64::min), across().fold(f64::NEG_INFINITY, f64::max));
        Some(Sweep { from_m, to_m, width_m: high - low })
    };
    sides(&hull).filter_map(sweep).collect()
}

/// Where the line y = `level` runs inside an open ring: sorted, disjoint intervals of x.
pub(crate) fn slice(ring: &[DVec2], level: f64) -> Vec<(f64, f64)> {
    cut(sides(ring), level)
}

/// As [`slice`], by those sides of a ring that the line may cross.
fn cut(sides: impl Iterator<Item = (DVec2, DVec2)>, level: f64) -> Vec<(f64, f64)> {
    let mut crossings: Vec<f64> = sides
        .filter(|(a, b)| (a.y > level) != (b.y > level))
        .map(|(a, b)| a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// As [`slice`]; where a corner lies as near to the line as rounding may move it, what is inside just beside the line, on
/// either side: an inner side that runs along the line neither comes nor goes by the last bit.
pub(crate) fn slice_beside(ring: &[DVec2], level: f64, near_m: f64) -> Vec<(f64, f64)> {
    cut_beside(sides(ring), level, near_m)
}

fn cut_beside(
    sides: impl Iterator<Item = (DVec2, DVec2)> + Clone,
    level: f64,
    near_m: f64,
) -> Vec<(f64, f64)> {
    if sides.clone().all(|(a, b)| (a.y - level).abs().min((b.y - level).abs()) > near_m) {
        return cut(sides, level);
    }
    merged([level - near_m, level + near_m].iter().flat_map(|beside| cut(sides.clone(), *beside)).collect())
}

/// For each of some ascending levels what [`slice_beside`] gives of some rings together. Each side is looked at only for the
/// levels that it reaches.
pub(crate) fn slices_beside(rings: &[Vec<DVec2>], levels: &[f64], near_m: f64) -> Vec<Vec<(f64, f64)>> {
    let mut reached: Vec<Vec<(usize, (DVec2, DVec2))>> = vec![Vec::new(); levels.len()];
    for (k, ring) in rings.iter().enumerate() {
        for (a, b) in sides(ring) {
            let (low, high) = (a.y.min(b.y) - near_m, a.y.max(b.y) + near_m);
            let first = levels.partition_point(|level| *level < low);
            let count = levels[first..].partition_point(|level| *level <= high);
            reached[first..first + count].iter_mut().for_each(|level| level.push((k, (a, b))));
        }
    }
    let slices = levels.iter().zip(&reached).map(|(level, sides)| {
        let of_rings = sides.chunk_by(|p, q| p.0 == q.0);
        let cuts = of_rings.flat_map(|ring| cut_beside(ring.iter().map(|(_, side)| *side), *level, near_m));
        merged(cuts.collect())
    });
    slices.collect()
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

/// Whether a place lies deeper than so many metres inside a convex counter-clockwise ring.
///
/// # References
/// Derived: it lies so far behind the lines of all sides; the first that it does not decides.
pub(crate) fn lies_inside_convex(ring: &[DVec2], at: DVec2, deep_m: f64) -> bool {
    !sides(ring).any(|(a, b)| (b - a).perp_dot(at - a) <= deep_m * a.distance(b))
}

/// The part of the segment from `a` to `b` that lies inside a convex counter-clockwise ring, in metres; along a side is
/// outside.
///
/// # References
/// Cyrus & Beck's clipping of a line by half-planes (from memory).
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

/// Distance of a place from a ring's area; 0 inside.
pub(crate) fn distance_m(ring: &[DVec2], at: DVec2) -> f64 {
    if contains(ring, at) {
        return 0.0;
    }
    // One root: that of the least square is the least of the roots.
    sides(ring).map(|(a, b)| nearest_on(a, b, at).distance_squared(at)).fold(f64::INFINITY, f64::min).sqrt()
}

/// The place of a segment that is nearest to another place.
///
/// # References
/// Derived: the foot of the perpendicular, held on the segment.
pub(crate) fn nearest_on(a: DVec2, b: DVec2, at: DVec2) -> DVec2 {
    let along = b - a;
    let share = ((at - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    a + along * share
}

/// Least and greatest coordinates of a ring.
pub(crate) fn bounds(ring: &[DVec2]) -> (DVec2, DVec2) {
    ring.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(*p), high.max(*p)))
}

/// Azimuth of a level direction.
pub(crate) fn azimuth_rad(direction: DVec2) -> f64 {
    direction.x.atan2(direction.y).rem_euclid(TAU)
}

#[cfg(test)]
mod tests {
    use crate::geometry::polygon::*;
    use approx::assert_relative_eq;

    fn ring(points: &[(f64, f64)]) -> Vec<DVec2> {
        points.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
    }

    /// Derived: by the share of places on a segment that lie inside, and a side itself is outside.
    #[test]
    fn lengths_inside_a_convex_ring() {
        let square = ring(&[(0., 0.), (10., 0.), (10., 10.), (0., 10.)]);
        let places = |k: u32| DVec2::new(f64::from(k * 7 % 23) - 6.3, f64::from(k * 11 % 19) - 4.7);
        for (a, b) in (0..200).map(|k| (places(k), places(k * 3 + 5))) {
            let inside = (0..1000).filter(|k| contains(&square, a.lerp(b, (f64::from(*k) + 0.5) / 1000.0)));
            let length_m = inside.count() as f64 / 1000.0 * a.distance(b);
            // half a step at either end, up to 0.04 m each
            assert_relative_eq!(length_inside_convex(&square, a, b), length_m, epsilon = 0.04);
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

    /// Derived: along the inner side of the L the longer of the two slices beside it counts, whatever the last bit.
    #[test]
    fn along_an_inner_side_the_longer_slice_counts() {
        for level in [10.0 - 1e-12, 10.0, 10.0 + 1e-12] {
            let cut = slice_beside(&ell(), level, 1e-6);
            assert_eq!(cut.len(), 1);
            assert_relative_eq!(cut[0].1 - cut[0].0, 20.0, epsilon = 1e-9);
        }
        assert_eq!(slice_beside(&ell(), 10.1, 1e-6), vec![(0.0, 10.0)]);
    }

    /// Derived: each level by itself, over rings that overlap and levels on corners.
    #[test]
    fn many_slices_are_those_of_each_level() {
        let moved = |by: f64| ell().iter().map(|p| *p + DVec2::new(by, 0.7 * by)).collect::<Vec<_>>();
        let rings = [ell(), moved(7.0), moved(31.0)];
        let levels: Vec<f64> = (-4..100).map(|k| f64::from(k) * 0.5).collect();
        let all = slices_beside(&rings, &levels, 1e-6);
        for (level, slices) in levels.iter().zip(all) {
            let each = rings.iter().flat_map(|ring| slice_beside(ring, *level, 1e-6));
            assert_eq!(slices, merged(each.collect()), "{level}");
        }
    }

    #[test]
    fn cutting_intervals() {
        assert_eq!(without(&[(0., 10.)], &[(2., 3.), (8., 12.)]), vec![(0., 2.), (3., 8.)]);
        assert_eq!(without(&[(0., 10.)], &[(-1., 11.)]), vec![]);
        assert_eq!(merged(vec![(5., 6.), (0., 2.), (1., 3.)]), vec![(0., 3.), (5., 6.)]);
    }

    #[test]
    fn rings_meet_when_one_holds_the_other() {
        let inner = ring(&[(2., 2.), (3., 2.), (3., 3.)]);
        assert!(rings_meet(&ell(), &inner) && rings_meet(&inner, &ell()));
        assert!(!rings_meet(&ell(), &ring(&[(12., 12.), (19., 12.), (19., 19.)])));
    }
}
