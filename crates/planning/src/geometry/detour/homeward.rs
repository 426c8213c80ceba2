//! The shortest ways round some convex rings from anywhere to one place: found out once, asked again and again.

use crate::geometry::detour::level::Bend;
use crate::geometry::detour::search::clear_of;
use crate::geometry::detour::{Block, SURELY_RATIO};
use glam::DVec2;
use std::cell::Cell;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::sync::atomic::{self, AtomicUsize};

/// Where ways round some blocks lead on to a goal.
///
/// # References
/// Dijkstra, *Numerische Mathematik* 1, 1959 (from memory): the tree of the shortest ways over the places that see each other.
#[derive(Debug)]
pub(crate) struct Homeward {
    /// The goal, then those places beside the blocks' corners from which a way leads to it, the nearest by that way first.
    places: Vec<HomeBend>,
    /// Of each of them; by column, so that the lengths of ways over all of them are found many at once.
    easts_m: Vec<f64>,
    norths_m: Vec<f64>,
    /// Lengths of the ways from there to the goal.
    lefts_m: Vec<f64>,
    /// Those that ways were last found to lead to first: most often one of them does so from a place nearby, too.
    last_firsts: [AtomicUsize; 4],
    /// Which of them is the next to be replaced.
    turn: AtomicUsize,
}

#[derive(Debug, Clone, Copy)]
struct HomeBend {
    bend: Bend,
    /// Length of the way from here to the goal.
    left_m: f64,
    /// Where it leads on: an index into the places.
    next: usize,
}

/// A step back from a place that the goal is reached from, if that can be seen.
#[derive(Debug, Clone, Copy, PartialEq)]
struct StepBack {
    left_m: f64,
    /// Index into what is stepped back to.
    from: usize,
    /// Index into the places.
    next: usize,
}

impl Eq for StepBack {}

impl Ord for StepBack {
    /// The least one is greatest: a heap gives the greatest first.
    fn cmp(&self, other: &Self) -> Ordering {
        other.left_m.total_cmp(&self.left_m).then(other.from.cmp(&self.from)).then(other.next.cmp(&self.next))
    }
}

impl PartialOrd for StepBack {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Homeward {
    /// Of the ways round some blocks to a goal.
    pub(crate) fn new(goal: DVec2, blocks: &[&Block]) -> Self {
        let bends: Vec<Bend> = blocks.iter().flat_map(|block| block.bends.iter().copied()).collect();
        let mut places = vec![HomeBend { bend: Bend::anywhere(goal), left_m: 0.0, next: 0 }];
        let (mut known, mut open) = (vec![false; bends.len()], BinaryHeap::with_capacity(bends.len()));
        let mut reached = 0;
        loop {
            let HomeBend { bend: here, left_m, .. } = places[reached];
            for (from, bend) in bends.iter().enumerate().filter(|(from, _)| !known[*from]) {
                let way = here.at_m - bend.at_m;
                if bend.passes(way) && here.passes(way) {
                    open.push(StepBack { left_m: left_m + way.length(), from, next: reached });
                }
            }
            let sees = |step: &StepBack| {
                !known[step.from] && clear_of(blocks, bends[step.from].at_m, places[step.next].bend.at_m)
            };
            let step = loop {
                let Some(step) = open.pop() else { return Homeward::over(places) };
                if sees(&step) {
                    break step;
                }
            };
            known[step.from] = true;
            reached = places.len();
            places.push(HomeBend { bend: bends[step.from], left_m: step.left_m, next: step.next });
        }
    }

    fn over(places: Vec<HomeBend>) -> Self {
        let column = |of: fn(&HomeBend) -> f64| places.iter().map(of).collect();
        Homeward {
            easts_m: column(|place| place.bend.at_m.x),
            norths_m: column(|place| place.bend.at_m.y),
            lefts_m: column(|place| place.left_m),
            last_firsts: Default::default(),
            turn: AtomicUsize::new(0),
            places,
        }
    }

    /// The shortest way to the goal from a place, as corners with both ends included; nothing where there is none or it is
    /// longer than `most_m`. `blocks` are those that it was made with.
    pub(crate) fn way(&self, from: DVec2, blocks: &[&Block], most_m: f64) -> Option<Vec<DVec2>> {
        let (_, mut at) = self.first(from, blocks, most_m)?;
        let mut way = vec![from, self.places[at].bend.at_m];
        while at != 0 {
            at = self.places[at].next;
            way.push(self.places[at].bend.at_m);
        }
        Some(way)
    }

    /// The length of the shortest way to the goal from a place; nothing where there is none. `blocks` are those that it was made
    /// with.
    pub(crate) fn length_m(&self, from: DVec2, blocks: &[&Block]) -> Option<f64> {
        // where a way is no longer than most are, few places are looked at
        let likely_m = LIKELY_RATIO * from.distance(self.places[0].bend.at_m);
        let first = self.first(from, blocks, likely_m).or_else(|| self.first(from, blocks, f64::INFINITY));
        first.map(|(length_m, _)| length_m)
    }

    /// Memory that it takes, about.
    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        self.places.capacity() * (size_of::<HomeBend>() + 3 * size_of::<f64>())
    }

    /// The length of the shortest way to the goal from one of the places beside the blocks' corners.
    pub(super) fn left_m(&self, from: DVec2) -> Option<f64> {
        self.places.iter().find(|place| place.bend.at_m == from).map(|place| place.left_m)
    }

    /// The length of the shortest way from a place, and the place that it leads to first.
    fn first(&self, from: DVec2, blocks: &[&Block], most_m: f64) -> Option<(f64, usize)> {
        let lengths_m = self.lengths_m(from);
        // what stood before the place that was looked at last: most often it stands before the next as well
        let before = Cell::new(None::<&Block>);
        let sees = |k: usize| {
            let enters = |block: &&Block| block.is_entered(from, self.places[k].bend.at_m);
            before.set(before.get().filter(enters).or_else(|| blocks.iter().copied().find(enters)));
            before.get().is_none()
        };
        let first_within = |most_m: f64| {
            let within = (0..lengths_m.len()).filter(|k| lengths_m[*k] <= most_m);
            let mut open: Vec<usize> = within.filter(|k| self.goes_by(from, *k)).collect();
            open.sort_unstable_by(|a, b| lengths_m[*a].total_cmp(&lengths_m[*b]).then(a.cmp(b)));
            open.into_iter().find(|k| sees(*k))
        };
        // the shortest way is no longer than one by a place that is seen; by a hair it may be, and is looked for anew
        let mut lasts = self.last_firsts.each_ref().map(|last| last.load(atomic::Ordering::Relaxed));
        lasts.sort_unstable_by(|a, b| lengths_m[*a].total_cmp(&lengths_m[*b]));
        let seen = lasts.into_iter().find(|k| lengths_m[*k] <= most_m && sees(*k));
        let soon = seen.and_then(|k| first_within(most_m.min(lengths_m[k] * SURELY_RATIO)));
        let first = soon.or_else(|| first_within(most_m))?;
        if !lasts.contains(&first) {
            let turn = self.turn.fetch_add(1, atomic::Ordering::Relaxed);
            self.last_firsts[turn % self.last_firsts.len()].store(first, atomic::Ordering::Relaxed);
        }
        Some((lengths_m[first], first))
    }

    /// Of a way from a place straight to each of the places and on from there.
    fn lengths_m(&self, from: DVec2) -> Vec<f64> {
        let places = self.easts_m.iter().zip(&self.norths_m).zip(&self.lefts_m);
        places
            .map(|((east_m, north_m), left_m)| {
                let (x, y) = (east_m - from.x, north_m - from.y);
                left_m + (x * x + y * y).sqrt()
            })
            .collect()
    }

    /// Whether a way from a place goes by one of the places along what is gone round.
    fn goes_by(&self, from: DVec2, place: usize) -> bool {
        let bend = &self.places[place].bend;
        bend.passes(bend.at_m - from)
    }
}

/// Few ways round what stands are longer than so many times the straight line.
const LIKELY_RATIO: f64 = 1.25;

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::geometry::detour::Fences;
    use crate::geometry::polygon::hull_m;

    /// Numbers from 0 to 1 one after the other by a rule that has no pattern to the eye.
    pub(in crate::geometry::detour) struct Lots(pub(in crate::geometry::detour) f64);

    impl Lots {
        pub(in crate::geometry::detour) fn next(&mut self) -> f64 {
            self.0 = (self.0 * 997.0 + 0.618_033_989).fract();
            self.0
        }

        pub(in crate::geometry::detour) fn place(&mut self) -> DVec2 {
            DVec2::new(self.next(), self.next()) * 300.0
        }

        /// A convex ring about seven places in a square somewhere; how large that is follows from a number from 0 to 1.
        pub(in crate::geometry::detour) fn ring(&mut self, size_m: impl Fn(f64) -> f64) -> Vec<DVec2> {
            let (middle, size_m) = (self.place(), size_m(self.next()));
            hull_m([(); 7].map(|()| middle + (self.place() / 300.0 - 0.5) * size_m))
        }

        /// So many of them, apart, touching and across each other.
        pub(in crate::geometry::detour) fn blocks(&mut self, count: u32) -> Vec<Block> {
            (0..count).map(|_| Block::new(&self.ring(|share| 15.0 + 50.0 * share))).collect()
        }
    }

    /// A way found by going round what the ways before it enter, one by one, of some blocks.
    pub(in crate::geometry::detour) fn found_one_by_one(
        ends: (DVec2, DVec2),
        blocks: &[&Block],
    ) -> Option<Vec<DVec2>> {
        let fences = Fences::new(std::iter::empty(), DVec2::ZERO);
        let mut round: Vec<&Block> = Vec::new();
        loop {
            let way = fences.way(ends, &round, None, f64::INFINITY)?;
            let enters = |block: &&&Block| way.windows(2).any(|leg| block.is_entered(leg[0], leg[1]));
            let is_known = |block: &&&Block| round.iter().any(|known| std::ptr::eq(*known, **block));
            match blocks.iter().filter(|block| !is_known(block)).find(enters) {
                Some(block) => round.push(block),
                None => return Some(way),
            }
        }
    }

    /// Derived: round generated convex rings, apart, touching and across each other, the way found in the tree is the one that
    /// a search of its own finds, corner by corner, and there is none where that finds none or a longer one than asked for.
    #[test]
    fn ways_home_are_those_that_are_searched_for() {
        let fences = Fences::new(std::iter::empty(), DVec2::ZERO);
        let (mut bent, mut shut, mut long) = (0, 0, 0);
        for seed in 0..60 {
            let mut drawn = Lots(f64::from(seed) * 0.017 + 0.1);
            let blocks = drawn.blocks(1 + seed % 7);
            let blocks: Vec<&Block> = blocks.iter().collect();
            let goal = drawn.place();
            let homeward = Homeward::new(goal, &blocks);
            for from in [(); 40].map(|()| drawn.place()) {
                let most_m = from.distance(goal) * if drawn.next() < 0.3 { 1.02 } else { 3.0 };
                let searched = fences.way((from, goal), &blocks, None, most_m);
                let found = homeward.way(from, &blocks, most_m);
                assert_eq!(found, searched, "{seed}: {from} {goal}");
                bent += u32::from(found.is_some_and(|way| way.len() > 2));
                let any = homeward.way(from, &blocks, f64::INFINITY).is_some();
                shut += u32::from(!any);
                long += u32::from(any && searched.is_none());
            }
        }
        assert!(bent > 300 && shut > 20 && long > 15, "{bent} {shut} {long}");
    }
}
