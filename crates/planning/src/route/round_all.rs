//! The ways round all that stands to one place: no way round some of it is longer, and each bends only so often.

use super::airspace::Airspace;
use crate::geometry::detour::{Block, Homeward};
use crate::geometry::polygon::{gap_m, sides};
use glam::DVec2;

/// Most corners of all that stands, grown: with more of them it takes longer to find the ways than they save.
const MOST_CORNERS: usize = 400;

/// Ways pass corners a little outside; room for that on the whole way: a centimetre for each radian that it turns.
const PASSED_M: f64 = 1.0;

/// Of what a bend more costs, what is left of it when ways pass corners a little outside, or a ring is grown by a hair less.
const SPARE_RATIO: f64 = 0.95;

/// At a lesser clearance a centimetre outside weighs too much.
const LEAST_CLEARANCE_M: f64 = 0.5;

/// So often a way may bend at a solid and still be straight from the first bend to the last.
const FREE_BENDS: usize = 2;

/// The ways to one place round all that stands, with the clearance round it.
#[derive(Debug)]
pub(crate) struct RoundAll {
    to: DVec2,
    homeward: Homeward,
    /// Of each obstacle.
    blocks: Vec<Block>,
    bending: Vec<Bending>,
}

/// What bounds the ways round some of what stands from one place to another, seen from above.
#[derive(Debug)]
pub(crate) struct RoundFrom {
    /// None of them is longer.
    pub(super) longest_m: f64,
    /// The obstacles that they may go round, each grown whole.
    pub(super) reached: Vec<(usize, Bending)>,
}

/// How often a shortest way bends at a solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bending {
    /// That often, however short it is.
    pub(super) free: usize,
    /// By how much each bend more makes it longer than the straight line, at least.
    pub(super) spare_m: f64,
}

impl RoundAll {
    /// Nothing among keep-outs, where too much stands, or at next to no clearance.
    pub(crate) fn new(airspace: &Airspace<'_>, to: DVec2) -> Option<Self> {
        let site = airspace.site;
        let corners: usize = site.obstacles.iter().map(|obstacle| obstacle.growth().corners()).sum();
        let is_open = site.fences.is_empty() && airspace.clearance_m >= LEAST_CLEARANCE_M;
        if !is_open || corners > MOST_CORNERS {
            return None;
        }
        let grown = |k: usize| Block::new(&airspace.grown_whole(k));
        let blocks: Vec<Block> = (0..site.obstacles.len()).map(grown).collect();
        let homeward = Homeward::new(to, &blocks.iter().collect::<Vec<_>>());
        let bending = (0..blocks.len()).map(|k| Bending::of(k, &blocks)).collect();
        Some(RoundAll { to, homeward, blocks, bending })
    }

    /// Memory that it takes at most, about.
    pub(crate) fn most_bytes() -> usize {
        MOST_CORNERS * 160
    }

    /// What bounds the ways round some of what stands from a place outside all rings; nothing where there is no way round all
    /// of it. `airspace` is the one that it was made with.
    pub(crate) fn from(&self, airspace: &Airspace<'_>, from: DVec2) -> Option<RoundFrom> {
        let blocks: Vec<&Block> = self.blocks.iter().collect();
        let longest_m = self.homeward.length_m(from, &blocks, f64::INFINITY)? + PASSED_M;
        let (ends, clearance_m) = ((from, self.to), airspace.clearance_m);
        let is_near = |k: &usize| {
            let growth = airspace.site.obstacles[*k].growth();
            !growth.out_of_reach(ends, clearance_m, longest_m) && self.is_reached(*k, from, longest_m)
        };
        let reached = (0..blocks.len()).filter(is_near).map(|k| (k, self.bending[k]));
        Some(RoundFrom { longest_m, reached: reached.collect() })
    }

    /// Whether a way from a place, no longer than that, may come to an obstacle with the clearance round it.
    fn is_reached(&self, obstacle: usize, from: DVec2, most_m: f64) -> bool {
        let by_way_of = |side| by_way_of_m(side, (from, self.to));
        sides(self.blocks[obstacle].ring_m()).any(|side| by_way_of(side) <= most_m)
    }
}

impl Bending {
    /// At a ring grown whole.
    ///
    /// # References
    /// Derived: the shortest way comes to a convex ring that others are well apart from once: between leaving it and coming
    /// back it would be no longer on the ring itself, clear of the others. There it runs from corner to corner, so that each
    /// run of three and more is longer than the straight line between its ends; and the whole way is longer than the straight
    /// one by no less than all its runs together.
    fn of(k: usize, blocks: &[Block]) -> Self {
        let ring = blocks[k].ring_m();
        let others = || blocks.iter().enumerate().filter(|(other, _)| *other != k);
        if others().any(|(_, other)| !are_apart(ring, other.ring_m())) {
            return Bending::anyhow(ring.len());
        }
        let n = ring.len();
        let mut spare_m = f64::INFINITY;
        for first in 0..n {
            let mut along_m = 0.0;
            for bends in 2..=n {
                let [before, here] = [first + bends - 2, first + bends - 1].map(|corner| ring[corner % n]);
                along_m += before.distance(here);
                if bends > FREE_BENDS {
                    let longer_m = along_m - ring[first].distance(here);
                    spare_m = spare_m.min(longer_m / (bends - FREE_BENDS) as f64);
                }
            }
        }
        Bending { free: FREE_BENDS.min(n), spare_m: spare_m * SPARE_RATIO }
    }

    /// At a ring of so many corners of which nothing else is known.
    pub(super) fn anyhow(corners: usize) -> Self {
        Bending { free: corners, spare_m: f64::INFINITY }
    }
}

/// Whether going by way of one of two rings is longer, on the way along the other, than passing corners outside can save.
///
/// # References
/// Derived: a line about a convex ring of diameter D and a place at a distance h from it is longer than that about the ring
/// alone by 0.9 h² / D at least; passing corners a centimetre outside saves 0.15 m at most on one turn about it.
fn are_apart(a: &[DVec2], b: &[DVec2]) -> bool {
    let across_m = |ring: &[DVec2]| {
        let far_m = |from: &DVec2| ring.iter().map(|to| from.distance(*to)).fold(0.0, f64::max);
        ring.iter().map(far_m).fold(0.0, f64::max)
    };
    let least_m = |across_m: f64| (across_m / 5.0).sqrt();
    gap_m(a, b) > least_m(across_m(a).max(across_m(b)))
}

/// Length of the shortest way between two places by way of a segment.
///
/// # References
/// Derived: by way of the line it is straight to the mirror image of an end that lies on the same side of it; how long it is
/// changes along the line as a convex function does.
fn by_way_of_m((a, b): (DVec2, DVec2), (from, to): (DVec2, DVec2)) -> f64 {
    let side = b - a;
    let (off, other_off) = (side.perp_dot(from - a).abs(), side.perp_dot(to - a).abs());
    let at = |place: DVec2| place.distance(from) + place.distance(to);
    let (along, other_along) = (side.dot(from - a), side.dot(to - a));
    let reach = off + other_off;
    let share = if reach > 0.0 { (along * other_off + other_along * off) / reach } else { along };
    let square = side.length_squared();
    if square == 0.0 { at(a) } else { at(a + side * (share / square).clamp(0.0, 1.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::generated::Lots;

    /// Derived: of 400 places along a segment none is reached by a shorter way, and one is by a way that is hardly longer.
    #[test]
    fn the_shortest_way_by_way_of_a_segment() {
        let mut drawn = Lots(3);
        for k in 0..500 {
            let [a, b, from, to] = [(); 4].map(|()| drawn.place(100.0));
            let found_m = by_way_of_m((a, b), (from, to));
            let by_m = |share: i32| {
                let at = a.lerp(b, f64::from(share) / 400.0);
                from.distance(at) + at.distance(to)
            };
            let least_m = (0..=400).map(by_m).fold(f64::INFINITY, f64::min);
            // two places are 0.35 m apart at most, so that one is within 0.18 m of the best
            assert!(found_m <= least_m + 1e-9 && found_m > least_m - 0.36, "{k}: {found_m} {least_m}");
        }
    }

    /// Derived: the octagon about a square of 10 m with 10 m round it has cuts of 20 m tan 22.5° and sides that are 10 m longer,
    /// at 45° to each other: one of each is what three bends run along. A square that is hardly off it leaves no such bound.
    #[test]
    fn a_third_bend_costs_what_two_sides_are_longer_than_straight() {
        let square = |x: f64| -> Vec<DVec2> {
            [(x, 0.0), (x + 10.0, 0.0), (x + 10.0, 10.0), (x, 10.0)].map(DVec2::from).to_vec()
        };
        let grown = |x: f64| Block::new(&crate::geometry::growth::GrowingRing::of(&square(x)).by(10.0));
        let alone = Bending::of(0, &[grown(0.0), grown(60.0)]);
        let cut_m = 20.0 * (std::f64::consts::PI / 8.0).tan();
        let side_m = 10.0 + cut_m;
        let straight_m = (cut_m * cut_m + side_m * side_m + cut_m * side_m * 2.0_f64.sqrt()).sqrt();
        assert_eq!(alone.free, 2);
        let expected_m = SPARE_RATIO * (cut_m + side_m - straight_m);
        assert!((alone.spare_m - expected_m).abs() < 1e-9, "{alone:?} {expected_m}"); // rounding
        assert_eq!(Bending::of(0, &[grown(0.0), grown(31.0)]), Bending::anyhow(8));
    }
}
