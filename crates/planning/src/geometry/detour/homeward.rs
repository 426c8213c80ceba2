//! The shortest ways round some convex rings from anywhere to one place: found out once, asked again and again.

use crate::geometry::detour::Block;
use crate::geometry::detour::level::Bend;
use crate::geometry::detour::search::clear_of;
use glam::DVec2;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Where ways round some blocks lead on to a goal.
///
/// # References
/// Dijkstra, *Numerische Mathematik* 1, 1959 (from memory): the tree of the shortest ways over the places that see each other.
#[derive(Debug)]
pub(crate) struct Homeward {
    /// The goal, then those places beside the blocks' corners from which a way leads to it, the nearest by that way first.
    places: Vec<HomeBend>,
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
                let Some(step) = open.pop() else { return Homeward { places } };
                if sees(&step) {
                    break step;
                }
            };
            known[step.from] = true;
            reached = places.len();
            places.push(HomeBend { bend: bends[step.from], left_m: step.left_m, next: step.next });
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

    /// The length of the shortest way to the goal from one of the places beside the blocks' corners.
    pub(super) fn left_m(&self, from: DVec2) -> Option<f64> {
        self.places.iter().find(|place| place.bend.at_m == from).map(|place| place.left_m)
    }

    /// The length of the shortest way from a place, and the place that it leads to first.
    fn first(&self, from: DVec2, blocks: &[&Block], most_m: f64) -> Option<(f64, usize)> {
        self.steps_from(from, blocks, most_m).next(most_m).map(|step| (step.left_m, step.from))
    }

    /// The steps from a place that a shortest way, no longer than that, may lead by first.
    fn steps_from<'a>(&'a self, from: DVec2, blocks: &'a [&'a Block], most_m: f64) -> FirstSteps<'a> {
        let mut open = BinaryHeap::with_capacity(self.places.len());
        // by places that are farther off along their ways none can be short enough
        let near = self.places.iter().enumerate().take_while(|(_, place)| place.left_m <= most_m);
        for (k, place) in near {
            let way = place.bend.at_m - from;
            let left_m = place.left_m + way.length();
            if left_m <= most_m && place.bend.passes(way) {
                open.push(StepBack { left_m, from: k, next: k });
            }
        }
        FirstSteps { places: &self.places, blocks, at_m: from, open, before: None }
    }
}

/// Steps from a place that is none of those known.
struct FirstSteps<'a> {
    places: &'a [HomeBend],
    blocks: &'a [&'a Block],
    at_m: DVec2,
    /// Not yet looked along.
    open: BinaryHeap<StepBack>,
    /// What stood before the place that was looked at last: most often it stands before the next as well.
    before: Option<&'a Block>,
}

impl FirstSteps<'_> {
    /// Of the steps left to places that can be seen the one by which the way is shortest, if it is no longer than that.
    fn next(&mut self, most_m: f64) -> Option<StepBack> {
        while self.open.peek().is_some_and(|step| step.left_m <= most_m) {
            let step = self.open.pop()?;
            let at_m = self.places[step.from].bend.at_m;
            let enters = |block: &&Block| block.is_entered(self.at_m, at_m);
            self.before = self.before.filter(enters).or_else(|| self.blocks.iter().copied().find(enters));
            if self.before.is_none() {
                return Some(step);
            }
        }
        None
    }
}

/// The ways of a [`Homeward`] that are hardly longer than the shortest: how often they bend.
#[derive(Debug)]
pub(crate) struct NearlyShortest {
    homeward: Homeward,
    /// They are longer by that at most.
    spare_m: f64,
    /// Of each place how often ways bend from there on, there included, each with the length of the shortest that do.
    bends: Vec<Vec<(usize, f64)>>,
}

/// Few ways round what stands are longer than so many times the straight line.
const LIKELY_RATIO: f64 = 1.25;

/// Ways that bend more often are not told.
pub(super) const MOST_BENDS: usize = 64;

impl NearlyShortest {
    /// Of the ways round some blocks to a goal. `spare_m` is above 0, so that ways that are equal but for rounding are among
    /// them.
    ///
    /// # References
    /// Derived: what is left of such a way from any of its places is no longer than the shortest by more than the same, so that
    /// few steps are among them; the shortest ways that bend once more than others are made of those by one step.
    pub(crate) fn new(goal: DVec2, blocks: &[&Block], spare_m: f64) -> Self {
        let homeward = Homeward::new(goal, blocks);
        let places = &homeward.places;
        let mut steps: Vec<(usize, usize, f64)> = Vec::with_capacity(2 * places.len());
        for (from, here) in places.iter().enumerate().skip(1) {
            let most_m = here.left_m + spare_m;
            let near = places.iter().enumerate().take_while(|(_, next)| next.left_m <= most_m);
            for (to, next) in near.filter(|(to, _)| *to != from) {
                let way = next.bend.at_m - here.bend.at_m;
                let leads =
                    next.left_m + way.length() <= most_m && here.bend.passes(way) && next.bend.passes(way);
                if leads && clear_of(blocks, here.bend.at_m, next.bend.at_m) {
                    steps.push((from, to, way.length()));
                }
            }
        }
        let mut bends = vec![Vec::new(); places.len()];
        let mut least_m = vec![f64::INFINITY; places.len()];
        least_m[0] = 0.0;
        for count in 1..=MOST_BENDS {
            let mut with_one_more_m = vec![f64::INFINITY; places.len()];
            for (from, to, step_m) in &steps {
                let left_m = least_m[*to] + step_m;
                if left_m <= places[*from].left_m + spare_m {
                    with_one_more_m[*from] = with_one_more_m[*from].min(left_m);
                }
            }
            least_m = with_one_more_m;
            let there = least_m.iter().enumerate().filter(|(_, left_m)| left_m.is_finite());
            let before = bends.iter().map(Vec::len).sum::<usize>();
            there.for_each(|(place, left_m)| bends[place].push((count, *left_m)));
            if before == bends.iter().map(Vec::len).sum::<usize>() {
                break;
            }
        }
        bends[0].push((0, 0.0));
        NearlyShortest { homeward, spare_m, bends }
    }

    /// How often such ways bend at most, wherever they begin; nothing where it is not told.
    pub(crate) fn most_bends(&self) -> Option<usize> {
        let bends = self.bends.iter().flatten().map(|(count, _)| *count).fold(0, usize::max);
        (bends < MOST_BENDS).then_some(bends)
    }

    /// The length of the shortest way to the goal from a place, and how often those bend at most that are hardly longer;
    /// nothing where there is none, or it is not told. `blocks` are those that it was made with.
    pub(crate) fn from(&self, from: DVec2, blocks: &[&Block]) -> Option<(f64, usize)> {
        // where a way is no longer than most are, few places are looked at
        let likely_m = LIKELY_RATIO * from.distance(self.homeward.places[0].bend.at_m) + self.spare_m;
        let (length_m, most_bends) =
            self.within(likely_m, from, blocks).or_else(|| self.within(f64::INFINITY, from, blocks))?;
        (most_bends < MOST_BENDS).then_some((length_m, most_bends))
    }

    /// The same of ways that are no longer than that, also where it is not told how often they bend; nothing where some that
    /// are hardly longer than the shortest may be.
    fn within(&self, most_m: f64, from: DVec2, blocks: &[&Block]) -> Option<(f64, usize)> {
        let mut steps = self.homeward.steps_from(from, blocks, most_m);
        let first = steps.next(most_m)?;
        let nearly_m = first.left_m + self.spare_m;
        if nearly_m > most_m {
            return None;
        }
        let (mut step, mut most_bends) = (Some(first), 0);
        while let Some(StepBack { left_m, from: place, .. }) = step {
            let to_there_m = left_m - self.homeward.places[place].left_m;
            let of_place = self.bends[place].iter().filter(|(_, left_m)| to_there_m + left_m <= nearly_m);
            most_bends = of_place.map(|(count, _)| *count).fold(most_bends, usize::max);
            step = steps.next(nearly_m);
        }
        Some((first.left_m, most_bends))
    }
}

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
            let rings = (0..=seed % 7).map(|_| {
                let (middle, size) = (drawn.place(), 15.0 + 50.0 * drawn.next());
                hull_m([(); 7].map(|()| middle + (drawn.place() / 300.0 - 0.5) * size))
            });
            let blocks: Vec<Block> = rings.map(|ring| Block::new(&ring)).collect();
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
    /// Derived: round generated convex rings a way that was found by going round what the ways before it enter, one by one, is
    /// among those told for all rings: no shorter than the shortest, hardly longer, bending no more often; and it is there when
    /// those are.
    #[test]
    fn ways_found_one_by_one_are_among_the_nearly_shortest() {
        let (mut bent, mut alike, mut more, mut shut, mut untold) = (0, 0, 0, 0, 0);
        for seed in 0..80 {
            let mut drawn = Lots(f64::from(seed) * 0.013 + 0.2);
            let rings = (0..=seed % 9).map(|_| {
                let (middle, size) = (drawn.place(), 15.0 + 50.0 * drawn.next());
                hull_m([(); 7].map(|()| middle + (drawn.place() / 300.0 - 0.5) * size))
            });
            let blocks: Vec<Block> = rings.map(|ring| Block::new(&ring)).collect();
            let blocks: Vec<&Block> = blocks.iter().collect();
            let goal = drawn.place();
            let nearly = NearlyShortest::new(goal, &blocks, 1.0);
            for from in [(); 40].map(|()| drawn.place()) {
                let way = found_one_by_one((from, goal), &blocks);
                let told = nearly.from(from, &blocks);
                assert!(told.is_none() || way.is_some(), "{seed}: {from} {goal}");
                shut += u32::from(way.is_none());
                // among corners that nearly touch it is not told
                untold += u32::from(way.is_some() && told.is_none());
                let Some((way, (length_m, bends))) = way.zip(told) else { continue };
                let way_m: f64 = way.windows(2).map(|leg| leg[0].distance(leg[1])).sum();
                let told = format!("{seed}: {way:?} {way_m} {length_m} {bends}");
                // rounding of sums
                assert!(
                    way_m > length_m - 1e-9 && way_m <= length_m + 1.0 && way.len() - 2 <= bends,
                    "{told}"
                );
                bent += u32::from(way.len() > 2);
                alike += u32::from(way.len() > 2 && way.len() - 2 == bends);
                more += u32::from(way.len() - 2 < bends);
            }
        }
        assert!(bent > 400 && 2 * alike > bent && more > 20, "{bent} {alike} {more}");
        assert!(shut > 20 && 10 * untold < bent, "{shut} {untold}");
    }
}
