//! How often ways round some convex rings bend, where it is only known between which bounds some of the rings lie.

use crate::geometry::detour::homeward::MOST_BENDS;
use crate::geometry::detour::level::Bend;
use crate::geometry::detour::search::clear_of;
use crate::geometry::detour::{Block, Homeward};
use crate::geometry::polygon::nearest_on;
use glam::DVec2;

/// A convex ring that is grown by something between a least and a most: beside each of its corners ways bend somewhere
/// between two places.
#[derive(Debug)]
pub(crate) struct LooseRing {
    most: Block,
    /// Of each place beside the ring grown most, where it lies when that is grown least.
    least_m: Vec<DVec2>,
}

impl LooseRing {
    /// By the rings that it is between, each grown by so much of a way of growing that moves every corner straight on: the
    /// one grown most, one of the others, and by which share of the way from the most to that one it is grown least.
    pub(crate) fn new(most: Block, other: &Block, share: f64) -> Self {
        debug_assert_eq!(most.bends.len(), other.bends.len(), "both have the angles of the ring that grows");
        let places = most.bends.iter().zip(&other.bends);
        let least_m = places.map(|(most, other)| most.at_m.lerp(other.at_m, share)).collect();
        LooseRing { most, least_m }
    }

    fn places(&self) -> impl Iterator<Item = [DVec2; 2]> + '_ {
        self.most.bends.iter().zip(&self.least_m).map(|(most, least_m)| [most.at_m, *least_m])
    }
}

/// A place at which a way may bend, on its way to the goal.
struct LoosePlace {
    /// It lies somewhere between these.
    between_m: [DVec2; 2],
    /// What is left of a way from there at most.
    most_left_m: f64,
    /// Of a place beside a ring that is known.
    bend: Option<Bend>,
    /// Of one beside a loose ring: which one, and the place that a way along it comes to next.
    along: Option<(usize, usize)>,
}

/// How often a way to a goal bends that is hardly longer than the shortest round all of some rings; wherever it begins, and
/// however far the loose ones are grown. Nothing where that is not plain.
///
/// # References
/// Derived: what is left of such a way from any place beside a ring is hardly longer than the shortest from there round all
/// rings grown most; and no shorter than its steps, of which those from and to loose rings are no shorter than the way to
/// where the ring's corner may be. Along a convex ring a way goes on the way that it came. So it bends no more often than
/// some row of steps that is not too long from any of its places on.
pub(crate) fn most_bends(goal: DVec2, fixed: &[&Block], loose: &[LooseRing], spare_m: f64) -> Option<usize> {
    let all: Vec<&Block> = fixed.iter().copied().chain(loose.iter().map(|ring| &ring.most)).collect();
    let homeward = Homeward::new(goal, &all);
    let mut places = vec![LoosePlace {
        between_m: [goal; 2],
        most_left_m: 0.0,
        bend: Some(Bend::anywhere(goal)),
        along: None,
    }];
    for bend in fixed.iter().flat_map(|block| &block.bends) {
        match homeward.left_m(bend.at_m) {
            Some(left_m) => places.push(LoosePlace {
                between_m: [bend.at_m; 2],
                most_left_m: left_m + spare_m,
                bend: Some(*bend),
                along: None,
            }),
            // what lies inside another ring is never come to
            None if fixed.iter().any(|block| block.ring.holds(bend.at_m)) => {}
            None => return None,
        }
    }
    for (index, ring) in loose.iter().enumerate() {
        // round it either way
        for back in [1, ring.least_m.len() - 1] {
            let first = places.len();
            for (k, [most_m, least_m]) in ring.places().enumerate() {
                places.push(LoosePlace {
                    between_m: [most_m, least_m],
                    most_left_m: homeward.left_m(most_m)? + most_m.distance(least_m) + spare_m,
                    bend: None,
                    along: Some((index, first + (k + back) % ring.least_m.len())),
                });
            }
        }
    }
    let steps = steps(&places, fixed);
    let mut left_m = vec![f64::INFINITY; places.len()];
    left_m[0] = 0.0;
    for bends in 0..MOST_BENDS {
        let mut with_one_more_m = vec![f64::INFINITY; places.len()];
        for (from, to, step_m) in &steps {
            let longer_m = left_m[*to] + step_m;
            if longer_m <= places[*from].most_left_m {
                with_one_more_m[*from] = with_one_more_m[*from].min(longer_m);
            }
        }
        if with_one_more_m.iter().all(|left_m| left_m.is_infinite()) {
            return Some(bends);
        }
        left_m = with_one_more_m;
    }
    None
}

/// The steps from place to place that may be taken, with the least length of each.
fn steps(places: &[LoosePlace], fixed: &[&Block]) -> Vec<(usize, usize, f64)> {
    let goal = places[0].between_m[0];
    let mut steps = Vec::new();
    for (from, here) in places.iter().enumerate().skip(1) {
        for (to, there) in places.iter().enumerate().filter(|(to, _)| *to != from) {
            let step_m = apart_m(here.between_m, there.between_m);
            if step_m + apart_m(there.between_m, [goal; 2]) > here.most_left_m {
                continue;
            }
            let is_known = || {
                here.bend.zip(there.bend).is_none_or(|(bend, next)| {
                    let way = next.at_m - bend.at_m;
                    bend.passes(way) && next.passes(way) && clear_of(fixed, bend.at_m, next.at_m)
                })
            };
            let goes_on =
                || here.along.zip(there.along).is_none_or(|(ring, other)| ring.0 != other.0 || ring.1 == to);
            let may_be_taken = is_known() && goes_on();
            if may_be_taken {
                steps.push((from, to, step_m));
            }
        }
    }
    steps
}

/// The least distance of two places, each somewhere on a line.
fn apart_m([a, b]: [DVec2; 2], [c, d]: [DVec2; 2]) -> f64 {
    let ends = [nearest_on(a, b, c).distance(c), nearest_on(a, b, d).distance(d)];
    let others = [nearest_on(c, d, a).distance(a), nearest_on(c, d, b).distance(b)];
    let crosses = (b - a).perp_dot(c - a) * (b - a).perp_dot(d - a) < 0.0
        && (d - c).perp_dot(a - c) * (d - c).perp_dot(b - c) < 0.0;
    if crosses { 0.0 } else { ends.into_iter().chain(others).fold(f64::INFINITY, f64::min) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::detour::homeward::tests::{Lots, found_one_by_one};
    use crate::geometry::growth::GrowingRing;

    fn rectangle(middle: DVec2, half: DVec2, turn: DVec2) -> GrowingRing {
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        GrowingRing::of(&corners.map(|corner| middle + turn.rotate(DVec2::from(corner) * half)))
    }

    /// Derived: round generated rings, one of them long and grown by anything between its bounds, no way that is found by going
    /// round what the ways before it enter, one by one, bends more often than is told for all of them.
    #[test]
    fn no_way_bends_more_often_than_is_told() {
        let (mut told, mut along, mut most) = (0, 0, 0);
        for seed in 0..60 {
            let mut drawn = Lots(f64::from(seed) * 0.011 + 0.3);
            let turn = DVec2::from_angle(drawn.next() * 6.3);
            let long = rectangle(DVec2::splat(150.0), DVec2::new(60.0 + 40.0 * drawn.next(), 8.0), turn);
            let rings = (0..4 + seed % 6).map(|_| {
                let half = DVec2::splat(6.0) + drawn.place() / 25.0;
                Block::new(&rectangle(drawn.place(), half, DVec2::from_angle(drawn.next() * 6.3)).by(8.0))
            });
            let fixed: Vec<Block> = rings.collect();
            let fixed: Vec<&Block> = fixed.iter().collect();
            let (goal, most_m) = (drawn.place(), 4.0 + 5.0 * drawn.next());
            let least_m = most_m * [0.0, 0.5, 0.9][seed as usize % 3];
            let grown = |by_m: f64| Block::new(&long.by(by_m));
            let share = 2.0 * (most_m - least_m) / most_m;
            let loose = LooseRing::new(grown(most_m), &grown(most_m / 2.0), share);
            let Some(bends) = most_bends(goal, &fixed, &[loose], 1.0) else { continue };
            told += 1;
            most += bends;
            for from in [(); 30].map(|()| drawn.place()) {
                if long.room_m(from, most_m) < most_m {
                    continue;
                }
                let between = grown(least_m.max(1e-3) + (most_m - least_m.max(1e-3)) * drawn.next());
                let all: Vec<&Block> = fixed.iter().copied().chain([&between]).collect();
                let Some(way) = found_one_by_one((from, goal), &all) else { continue };
                assert!(way.len() - 2 <= bends, "{seed}: {way:?} {bends}");
                let is_beside = |at: &DVec2| between.bends.iter().any(|bend| bend.at_m == *at);
                along += u32::from(way.iter().any(is_beside));
            }
        }
        assert!(told > 10 && along > 60 && most < 25 * told, "{told} {along} {most}");
    }
}
