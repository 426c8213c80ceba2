//! Outlines with fewer corners.

use crate::geometry::detour::lines::from_line_m;
use glam::DVec2;

/// Distances that differ by less are equal: which corner is kept is decided by what moves and turns with the site.
const EQUAL_M: f64 = 1e-6;

/// A side of a slim outline: it runs straight past corners that lie no farther from it than its room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SlimSide {
    pub(super) from_m: DVec2,
    pub(super) to_m: DVec2,
    pub(super) room_m: f64,
}

/// The sides of a ring with as many corners left out as a tolerance lets: all corners of the ring lie within the room of
/// the sides.
///
/// Begun at the corner nearest to a place and the one farthest from that, so that it does not matter where the ring is
/// begun, how it runs, or where the site lies.
///
/// # References
/// Douglas & Peucker, *Cartographica* 10(2), 1973 (from memory).
pub(super) fn slim(ring: &[DVec2], tolerance_m: f64, near_m: DVec2) -> Vec<SlimSide> {
    let all: Vec<usize> = (0..ring.len()).collect();
    let first = best(&all, |k| -ring[k].distance(near_m), |_| 0.0);
    let second = best(&all, |k| ring[k].distance(ring[first]), |k| ring[k].distance(near_m));
    let mut slimmer = Slimmer { ring, tolerance_m, near_m, sides: Vec::new() };
    let turned = |from: usize, to: usize| (to + ring.len() - from) % ring.len();
    slimmer.run(first, turned(first, second));
    slimmer.run(second, ring.len() - turned(first, second));
    slimmer.sides
}

struct Slimmer<'a> {
    ring: &'a [DVec2],
    tolerance_m: f64,
    near_m: DVec2,
    sides: Vec<SlimSide>,
}

impl Slimmer<'_> {
    /// From a corner over some steps: one side if that will do, else two runs parted at the corner farthest from it.
    fn run(&mut self, from: usize, steps: usize) {
        let mut open = vec![(from, steps)];
        while let Some((from, steps)) = open.pop() {
            let at = |step: usize| self.ring[(from + step) % self.ring.len()];
            let line = (at(0), at(steps));
            let between: Vec<usize> = (1..steps).collect();
            let off_m = |step: usize| from_line_m(at(step), line);
            let farthest = best(&between, off_m, |step| at(step).distance(self.near_m));
            let room_m = if between.is_empty() { 0.0 } else { off_m(farthest) };
            if room_m <= self.tolerance_m && (self.tolerance_m > 0.0 || between.is_empty()) {
                self.sides.push(SlimSide { from_m: line.0, to_m: line.1, room_m });
            } else {
                open.push(((from + farthest) % self.ring.len(), steps - farthest));
                open.push((from, farthest));
            }
        }
    }
}

/// The one of which a figure is greatest, and of equal ones that of which another one is least.
fn best(of: &[usize], figure: impl Fn(usize) -> f64, then: impl Fn(usize) -> f64) -> usize {
    let greatest = of.iter().map(|k| figure(*k)).fold(f64::NEG_INFINITY, f64::max);
    let equal = of.iter().copied().filter(|k| figure(*k) >= greatest - EQUAL_M);
    equal.min_by(|p, q| then(*p).total_cmp(&then(*q))).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use crate::geometry::detour::slim::*;
    use crate::geometry::polygon::sides;
    use std::f64::consts::TAU;

    fn round(corners: u32, first: u32) -> Vec<DVec2> {
        let angle = |k: u32| TAU * f64::from((k + first) % corners) / f64::from(corners);
        (0..corners).map(|k| DVec2::from_angle(angle(k)) * 50.0).collect()
    }

    /// Derived: chords of a circle of 50 m with a rise of at most half a metre turn by at most 2 acos(1 − 0.5/50) = 16.2°:
    /// at least 23 of them, and halving gives 32; every corner left out lies within the room of its side.
    #[test]
    fn a_circle_of_many_corners_gets_few() {
        let slim = slim(&round(1000, 0), 0.5, DVec2::new(-70.0, 13.0));
        assert!((23..=32).contains(&slim.len()), "{}", slim.len());
        let within = |p: &DVec2| slim.iter().any(|s| from_line_m(*p, (s.from_m, s.to_m)) <= s.room_m + 1e-9);
        assert!(round(1000, 0).iter().all(within));
        assert!(slim.iter().all(|side| side.room_m <= 0.5));
    }

    /// Derived: the same outline, begun at another corner, run the other way or moved, is slimmed to the same corners.
    #[test]
    fn where_a_ring_begins_does_not_matter() {
        let near = DVec2::new(-70.0, 13.0);
        let corners = |ring: &[DVec2], near: DVec2, moved: DVec2| -> Vec<DVec2> {
            slim(ring, 0.5, near).iter().map(|s| s.from_m - moved).collect()
        };
        let plain = corners(&round(121, 0), near, DVec2::ZERO);
        let far = DVec2::new(7000.0, -3000.0);
        let moved: Vec<DVec2> = round(121, 17).iter().rev().map(|p| *p + far).collect();
        let again = corners(&moved, near + far, far);
        assert_eq!(plain.len(), again.len());
        // Reason: rounding of coordinates of some kilometres.
        assert!(plain.iter().all(|p| again.iter().any(|q| p.distance(*q) < 1e-9)));
    }

    /// Derived: without a tolerance every side stays.
    #[test]
    fn nothing_is_left_out_without_a_tolerance() {
        let ring = round(24, 3);
        let slim = slim(&ring, 0.0, DVec2::ZERO);
        assert_eq!(slim.len(), 24);
        let is_side = |s: &SlimSide| sides(&ring).any(|(a, b)| (a, b) == (s.from_m, s.to_m));
        assert!(slim.iter().all(|side| side.room_m == 0.0 && is_side(side)));
    }
}
