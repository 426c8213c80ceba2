use crate::polygon::{is_convex, length_inside, length_inside_convex, signed_area_m2};
use glam::DVec2;

/// Less than this inside a ring is touching it, not entering it.
const TOUCH_M: f64 = 1e-6;

/// How far outside its corners a ring is passed.
const CORNER_CLEARANCE_M: f64 = 0.01;

/// The shortest way from one place to another that enters no ring, as corner points with both ends included.
///
/// Nothing when there is none: an end lies inside a ring, or rings close it in.
pub(crate) fn way_round(from: DVec2, to: DVec2, rings: &[&[DVec2]]) -> Option<Vec<DVec2>> {
    let rings: Vec<Ring<'_>> =
        rings.iter().map(|ring| Ring { corners: ring, convex: is_convex(ring) }).collect();
    if clear(from, to, &rings) {
        return Some(vec![from, to]);
    }
    let mut nodes = vec![from, to];
    nodes.extend(rings.iter().flat_map(|ring| outer_corners(ring.corners)));
    shortest(&nodes, &rings)
}

/// A ring, and whether the quick way of measuring will do for it.
#[derive(Clone, Copy)]
struct Ring<'a> {
    corners: &'a [DVec2],
    convex: bool,
}

fn clear(a: DVec2, b: DVec2, rings: &[Ring<'_>]) -> bool {
    rings.iter().all(|ring| {
        let measure = if ring.convex { length_inside_convex } else { length_inside };
        measure(ring.corners, a, b) < TOUCH_M
    })
}

/// The corners of a ring, moved a little outward.
fn outer_corners(ring: &[DVec2]) -> Vec<DVec2> {
    let outward = if signed_area_m2(ring) > 0.0 { -1.0 } else { 1.0 };
    let n = ring.len();
    (0..n)
        .map(|k| {
            let (before, at, after) = (ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]);
            let arriving = (at - before).normalize_or_zero();
            let leaving = (after - at).normalize_or_zero();
            at + (arriving + leaving).perp().normalize_or_zero() * (outward * CORNER_CLEARANCE_M)
        })
        .collect()
}

/// Dijkstra over places that see each other; node 0 is the start and node 1 the goal.
fn shortest(nodes: &[DVec2], rings: &[Ring<'_>]) -> Option<Vec<DVec2>> {
    let mut best = vec![(f64::INFINITY, 0); nodes.len()];
    let mut open: Vec<usize> = (0..nodes.len()).collect();
    best[0].0 = 0.0;
    while let Some(slot) = (0..open.len()).min_by(|&p, &q| best[open[p]].0.total_cmp(&best[open[q]].0)) {
        let here = open.swap_remove(slot);
        let so_far = best[here].0;
        if here == 1 || so_far.is_infinite() {
            break;
        }
        for &next in &open {
            let length = so_far + nodes[here].distance(nodes[next]);
            // straight on from there, and still longer than a way that is known
            let hopeless = length + nodes[next].distance(nodes[1]) > best[1].0 + TOUCH_M;
            if length < best[next].0 && !hopeless && clear(nodes[here], nodes[next], rings) {
                best[next] = (length, here);
            }
        }
    }
    if best[1].0.is_infinite() {
        return None;
    }
    let mut way = vec![nodes[1]];
    let mut at = 1;
    while at != 0 {
        at = best[at].1;
        way.push(nodes[at]);
    }
    way.reverse();
    Some(way)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn block(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<DVec2> {
        vec![DVec2::new(x0, y0), DVec2::new(x1, y0), DVec2::new(x1, y1), DVec2::new(x0, y1)]
    }

    fn length(way: &[DVec2]) -> f64 {
        way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
    }

    /// Derived: from (-30, 0) over the corners (±10, 10) to (30, 0): two legs of √(20² + 10²) and one of 20.
    #[test]
    fn the_shorter_side_is_taken() {
        let way = way_round(DVec2::new(-30., 0.), DVec2::new(30., 0.), &[&block(-10., -40., 10., 10.)])
            .expect("there is a way");
        assert_eq!(way.len(), 4);
        // Corners are passed 1 cm outside.
        assert_relative_eq!(length(&way), 2.0 * 500.0_f64.sqrt() + 20.0, epsilon = 0.05);
    }

    #[test]
    fn touching_a_side_is_no_detour() {
        let way = way_round(DVec2::new(-30., 10.), DVec2::new(30., 10.), &[&block(-10., -40., 10., 10.)]);
        assert_eq!(way.map(|w| w.len()), Some(2));
    }

    #[test]
    fn there_is_no_way_into_a_keep_out() {
        assert_eq!(way_round(DVec2::ZERO, DVec2::new(90., 0.), &[&block(-10., -10., 10., 10.)]), None);
    }
}
