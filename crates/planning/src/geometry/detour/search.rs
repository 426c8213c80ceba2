//! The shortest way over places that see each other.

use crate::geometry::detour::level::{Bend, Level};
use crate::geometry::detour::tangents::{BlockSet, Tangents};
use crate::geometry::detour::{Block, KeptFences};
use crate::geometry::polygon::length_inside_convex;
use glam::DVec2;
use std::cell::Cell;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Less than this inside a convex ring is touching it.
const TOUCH_M: f64 = 1e-6;

/// Well above that, a tenth of it included.
const LONG_M: f64 = 1e-3;

/// What a search comes to.
pub(super) enum Found {
    Way(Vec<DVec2>),
    /// There may be one, but it is too long.
    TooLong,
    /// The places do not hang together.
    Closed,
}

/// Whether a segment enters none of some blocks.
pub(crate) fn clear_of(blocks: &[&Block], a: DVec2, b: DVec2) -> bool {
    !blocks.iter().any(|block| block.is_entered(a, b))
}

impl Block {
    /// Whether a segment enters it.
    pub(super) fn is_entered(&self, a: DVec2, b: DVec2) -> bool {
        self.ring.may_meet(a, b)
            && (self.is_surely_entered(a, b) || length_inside_convex(&self.ring.corners_m, a, b) >= TOUCH_M)
    }

    /// Whether a segment passes the middle of the ring's box well inside the ring: the quick answer for most that enter it.
    ///
    /// # References
    /// Derived: from the place nearest to the middle on it stays inside for as long as that is off the sides, or to its farther
    /// end.
    fn is_surely_entered(&self, a: DVec2, b: DVec2) -> bool {
        let (way, to_middle) = (b - a, self.ring.middle_m - a);
        let (along, across, way_m2) = (way.dot(to_middle), way.perp_dot(to_middle), way.length_squared());
        let is_long = self.inner_m > LONG_M && way_m2 > LONG_M * LONG_M;
        is_long && along > 0.0 && along < way_m2 && across * across < self.inner_m * self.inner_m * way_m2
    }
}

/// The start.
const FROM: usize = 0;

/// The goal.
const TO: usize = 1;

/// A search at one level: places are the ends, then those of this search alone, then the level's bends.
pub(super) struct Search<'a> {
    kept: &'a KeptFences,
    level: &'a Level,
    blocks: &'a [&'a Block],
    /// Those of the blocks of which nothing is known.
    unknown: Vec<&'a Block>,
    own: Vec<Bend>,
    known: Option<KnownSteps<'a>>,
    /// The block that stood before the place that was looked at last: most often it stands before the next as well.
    before: Cell<Option<&'a Block>>,
}

/// What is known of the steps between some of a search's own places.
struct KnownSteps<'a> {
    tangents: &'a Tangents,
    /// The blocks gone round that are known.
    round: BlockSet,
    /// Of each block that may be known: its first place, where it is gone round.
    firsts: Vec<Option<usize>>,
    /// Of each place the block that it lies beside and which of its places it is, where that is known.
    beside: Vec<Option<(usize, usize)>>,
    /// Those of which it is not, the start apart.
    others: Vec<usize>,
}

impl<'a> KnownSteps<'a> {
    /// Of places that are two ends and those beside some blocks, one block after the other.
    fn new(tangents: &'a Tangents, blocks: &[&Block]) -> Self {
        let places = 2 + blocks.iter().map(|block| block.bends.len()).sum::<usize>();
        let mut known = KnownSteps {
            tangents,
            round: 0,
            firsts: vec![None; tangents.count()],
            beside: Vec::with_capacity(places),
            others: vec![TO],
        };
        known.beside.extend([None, None]);
        for block in blocks {
            let first = known.beside.len();
            let places = first..first + block.bends.len();
            if let Some(index) = block.tangents {
                known.firsts[index] = Some(first);
                known.round |= 1 << index;
                known.beside.extend(places.map(|place| Some((index, place - first))));
            } else {
                known.others.extend(places.clone());
                known.beside.extend(places.map(|_| None));
            }
        }
        known
    }

    /// The places that a way may step to from one beside a block, those of which nothing is known apart: no known block that
    /// is gone round stands in between.
    fn from(&self, (block, bend): (usize, usize)) -> impl Iterator<Item = usize> {
        let steps = self.tangents.steps_from(block, bend).iter().filter(|step| step.enters & self.round == 0);
        steps.filter_map(|step| Some(self.firsts[step.block]? + step.bend))
    }
}

/// A step to a place that may be taken, if it can be seen.
#[derive(Debug, Clone, Copy, PartialEq)]
struct NextPlace {
    /// Length of the way with this step, straight on from there.
    least_m: f64,
    so_far_m: f64,
    to: usize,
    from: usize,
    /// Whether it is known that it can be seen.
    is_free: bool,
}

impl Eq for NextPlace {}

impl Ord for NextPlace {
    /// The least one is greatest: a heap gives the greatest first. Equal ones go by their places.
    fn cmp(&self, other: &Self) -> Ordering {
        let by_length = other.least_m.total_cmp(&self.least_m);
        by_length.then(other.to.cmp(&self.to)).then(other.from.cmp(&self.from))
    }
}

impl PartialOrd for NextPlace {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<'a> Search<'a> {
    pub(super) fn new(
        kept: &'a KeptFences,
        level: &'a Level,
        (blocks, tangents): (&'a [&'a Block], Option<&'a Tangents>),
        (from, to): (DVec2, DVec2),
    ) -> Self {
        let mut own = Vec::with_capacity(2 + blocks.iter().map(|block| block.bends.len()).sum::<usize>());
        own.extend([from, to].map(Bend::anywhere));
        let is_fenced = !kept.rings.is_empty();
        if is_fenced {
            let is_held = |bend: &Bend| kept.rings.iter().any(|ring| ring.holds(bend.at_m));
            let open = |bend: &Bend| level.lines.clear(bend.at_m, bend.at_m) && !is_held(bend);
            let about_blocks = blocks.iter().flat_map(|block| block.bends.iter().copied());
            let beside = [from, to].into_iter().flat_map(|end| level.ways_out(end)).chain(about_blocks);
            own.extend(beside.filter(open));
        } else {
            for block in blocks {
                own.extend_from_slice(&block.bends);
            }
        }
        // among outlines some places beside blocks are left out, and others come in between
        let tangents = tangents.filter(|_| !is_fenced);
        let known = tangents.map(|tangents| KnownSteps::new(tangents, blocks));
        let unknown = blocks.iter().copied().filter(|block| tangents.is_none() || block.tangents.is_none());
        Search { kept, level, blocks, unknown: unknown.collect(), own, known, before: Cell::new(None) }
    }

    /// A* with steps that are looked at only when they are to be taken.
    ///
    /// # References
    /// Hart, Nilsson & Raphael, *IEEE Transactions on Systems Science and Cybernetics* 4(2), 1968 (from memory).
    pub(super) fn shortest(&self, most_m: f64) -> Found {
        let goal = self.own[TO].at_m;
        let count = self.own.len() + self.level.bends.len();
        let mut came_from = vec![usize::MAX; count];
        // the shortest way to each place by a step that is known to be free, straight on from there
        let mut surely_m = vec![f64::INFINITY; count];
        surely_m[TO] = most_m;
        let (mut open, mut left_out) = (BinaryHeap::with_capacity(count), false);
        let start = NextPlace { least_m: 0.0, so_far_m: 0.0, to: FROM, from: FROM, is_free: true };
        open.push(start);
        while let Some(step) = open.pop() {
            if came_from[step.to] != usize::MAX || !(step.is_free || self.sees(step.from, step.to)) {
                continue;
            }
            came_from[step.to] = step.from;
            if step.to == TO {
                return Found::Way(self.back(&came_from));
            }
            let here = self.place(step.to).at_m;
            let is_open = |place: usize| came_from[place] == usize::MAX;
            let (mut surely_goal_m, is_known) = (surely_m[TO], self.known_beside(step.to).is_some());
            self.each_next(step.to, is_open, |next| {
                let at = self.place(next).at_m;
                let so_far_m = step.so_far_m + here.distance(at);
                let least_m = so_far_m + at.distance(goal);
                if least_m > most_m {
                    left_out = true;
                    return;
                }
                // what is longer than a way that is known is never taken
                if least_m > surely_goal_m || least_m > surely_m[next] {
                    return;
                }
                let is_cheap = next == TO || is_known && self.known_beside(next).is_some();
                if is_cheap && !self.sees(step.to, next) {
                    return;
                }
                if is_cheap {
                    surely_m[next] = least_m;
                    surely_goal_m = surely_m[TO];
                }
                open.push(NextPlace { least_m, so_far_m, to: next, from: step.to, is_free: is_cheap });
            });
        }
        if left_out { Found::TooLong } else { Found::Closed }
    }

    fn place(&self, k: usize) -> &Bend {
        self.own.get(k).unwrap_or_else(|| &self.level.bends[k - self.own.len()])
    }

    /// Of the places that a way may go on to from a place, those that are open.
    fn each_next(&self, here: usize, is_open: impl Fn(usize) -> bool, mut visit: impl FnMut(usize)) {
        let own = self.own.len();
        let place = *self.place(here);
        let passes = |there: &Bend| {
            let way = there.at_m - place.at_m;
            place.passes(way) && there.passes(way)
        };
        if let Some((known, beside)) = self.known_beside(here) {
            known.from(beside).filter(|k| is_open(*k)).for_each(&mut visit);
            let others = known.others.iter().copied();
            return others.filter(|k| is_open(*k) && passes(&self.own[*k])).for_each(visit);
        }
        (1..own).filter(|k| is_open(*k) && passes(&self.own[*k])).for_each(&mut visit);
        if here >= own {
            let seen = self.level.seen_from(here - own).iter().map(|k| own + *k as usize);
            return seen.filter(|k| is_open(*k)).for_each(visit);
        }
        let bends = self.level.bends.iter().enumerate().map(|(k, bend)| (own + k, bend));
        bends.filter(|(k, bend)| is_open(*k) && passes(bend)).for_each(|(k, _)| visit(k));
    }

    /// What is known of the steps from one of the places, where something is, and which of the known ones it is.
    fn known_beside(&self, place: usize) -> Option<(&KnownSteps<'a>, (usize, usize))> {
        let known = self.known.as_ref()?;
        Some((known, (*known.beside.get(place)?)?))
    }

    /// Whether nothing stands between two places; bends of the level are known to see each other, the blocks apart.
    fn sees(&self, from: usize, to: usize) -> bool {
        let [a, b] = [from, to].map(|k| self.place(k).at_m);
        if self.known_beside(from).is_some() && self.known_beside(to).is_some() {
            // between two places that are known no known block stands
            return !self.unknown.iter().any(|block| block.is_entered(a, b));
        }
        let enters = |block: &&Block| block.is_entered(a, b);
        let before = self.before.get().filter(enters);
        let before = before.or_else(|| self.blocks.iter().copied().find(enters));
        if before.is_some() {
            self.before.set(before);
            return false;
        }
        if from >= self.own.len() && to >= self.own.len() {
            return true;
        }
        // Ends may lie nearer to an outline than ways pass it.
        if from.min(to) <= TO { !self.kept.hides(a, b) } else { self.level.lines.clear(a, b) }
    }

    fn back(&self, came_from: &[usize]) -> Vec<DVec2> {
        let mut way = vec![self.own[TO].at_m];
        let mut at = TO;
        while at != FROM {
            at = came_from[at];
            way.push(self.place(at).at_m);
        }
        way.reverse();
        way
    }
}

#[cfg(test)]
mod tests {
    use crate::geometry::detour::Fences;
    use crate::geometry::detour::lines::LOOKED;
    use crate::geometry::detour::search::*;
    use approx::assert_relative_eq;
    use std::f64::consts::TAU;

    fn block(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<DVec2> {
        vec![DVec2::new(x0, y0), DVec2::new(x1, y0), DVec2::new(x1, y1), DVec2::new(x0, y1)]
    }

    fn way(from: (f64, f64), to: (f64, f64), outlines: &[Vec<DVec2>]) -> Option<Vec<DVec2>> {
        let fences = Fences::new(outlines.iter().map(Vec::as_slice), DVec2::new(-300.0, -200.0));
        fences.way((from.into(), to.into()), &[], None, f64::INFINITY)
    }

    fn length(way: &[DVec2]) -> f64 {
        way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
    }

    /// Derived: from (-30, 0) over the corners (±10, 10) to (30, 0): two legs of √(20² + 10²) and one of 20.
    #[test]
    fn the_shorter_side_is_taken() {
        let way = way((-30., 0.), (30., 0.), &[block(-10., -40., 10., 10.)]).expect("there is a way");
        assert_eq!(way.len(), 4);
        // Corners are passed 1 cm outside.
        assert_relative_eq!(length(&way), 2.0 * 500.0_f64.sqrt() + 20.0, epsilon = 0.05);
    }

    #[test]
    fn touching_a_side_is_no_detour() {
        let way = way((-30., 10.), (30., 10.), &[block(-10., -40., 10., 10.)]);
        assert_eq!(way.map(|w| w.len()), Some(2));
    }

    #[test]
    fn there_is_no_way_into_a_keep_out() {
        assert_eq!(way((0., 0.), (90., 0.), &[block(-10., -10., 10., 10.)]), None);
    }

    /// Places one after the other by a rule that has no pattern to the eye.
    fn scattered(k: u32) -> DVec2 {
        let part = |step: f64| (f64::from(k) * step).fract();
        DVec2::new(part(0.754_877_666) * 400.0 - 200.0, part(0.569_840_291) * 400.0 - 200.0)
    }

    /// Stars of few and of many corners that touch, overlap and hold each other.
    fn stars(seed: u32, count: u32) -> Vec<Vec<DVec2>> {
        let star = |k: u32| {
            let (middle, corners) = (scattered(seed * 31 + k), 5 + (seed + 7 * k) % 12);
            let radius = |c: u32| 12.0 + 40.0 * (f64::from((k + 1) * (c + 3)) * 0.618_033_989).fract();
            let angle = |c: u32| TAU * f64::from(c) / f64::from(corners);
            (0..corners).map(|c| middle + DVec2::from_angle(angle(c)) * radius(c)).collect()
        };
        (0..count).map(star).collect()
    }

    /// How deep a segment comes into an outline, found out by looking at many places on it.
    fn deepest_m(outlines: &[Vec<DVec2>], a: DVec2, b: DVec2) -> f64 {
        let deep = |at: DVec2| {
            let holding = outlines.iter().filter(|ring| crate::geometry::polygon::contains(ring, at));
            let sides = holding.map(|ring| crate::geometry::polygon::sides(ring));
            let off = sides.map(|sides| {
                sides.map(|side| super::super::lines::from_line_m(at, side)).fold(f64::INFINITY, f64::min)
            });
            off.fold(0.0, f64::max)
        };
        let steps = (a.distance(b) / 0.5).ceil().max(1.0) as u32;
        (0..=steps).map(|k| deep(a.lerp(b, f64::from(k) / f64::from(steps)))).fold(0.0, f64::max)
    }

    /// The length of the shortest way over corners moved out by some centimetres, by trying every pair: an upper bound.
    fn plain_length_m(outlines: &[Vec<DVec2>], ends: [DVec2; 2]) -> f64 {
        let out = |ring: &Vec<DVec2>, k: usize| {
            let n = ring.len();
            let (before, at, after) = (ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]);
            let middle = (at - before).normalize() - (after - at).normalize();
            at + middle.normalize_or_zero() * 0.05
        };
        let mut places = ends.to_vec();
        places.extend(outlines.iter().flat_map(|ring| (0..ring.len()).map(|k| out(ring, k))));
        let mut least = vec![f64::INFINITY; places.len()];
        let mut done = vec![false; places.len()];
        least[0] = 0.0;
        loop {
            let here = (0..places.len()).filter(|k| !done[*k]).min_by(|p, q| least[*p].total_cmp(&least[*q]));
            let Some(here) = here.filter(|k| least[*k].is_finite()) else { return least[1] };
            done[here] = true;
            for next in 0..places.len() {
                let length = least[here] + places[here].distance(places[next]);
                if length < least[next] && deepest_m(outlines, places[here], places[next]) < 0.004 {
                    least[next] = length;
                }
            }
        }
    }

    /// Derived: ways among outlines that touch, overlap and hold each other enter none by a centimetre, and are no longer than
    /// the shortest way that trying every pair of corners finds, the room that is left at corners apart.
    #[test]
    fn ways_are_short_and_enter_nothing() {
        let mut ways = 0;
        for seed in 0..8 {
            let outlines = stars(seed, 6);
            let fences = Fences::new(outlines.iter().map(Vec::as_slice), DVec2::new(-300.0, -200.0));
            for k in 0..4 {
                let ends = [scattered(1000 + seed * 8 + k), scattered(1500 + seed * 8 + k)];
                let inside =
                    |at: &DVec2| outlines.iter().any(|ring| crate::geometry::polygon::contains(ring, *at));
                let found = fences.way((ends[0], ends[1]), &[], None, f64::INFINITY);
                if ends.iter().any(inside) {
                    assert_eq!(found, None);
                    continue;
                }
                let plain_m = plain_length_m(&outlines, ends);
                let Some(found) = found else {
                    assert!(plain_m.is_infinite(), "seed {seed}: {ends:?} {plain_m}");
                    continue;
                };
                let deepest = found.windows(2).map(|pair| deepest_m(&outlines, pair[0], pair[1]));
                assert!(deepest.fold(0.0, f64::max) < 0.01, "seed {seed}: {found:?}");
                // Reason: outlines are passed up to half a metre farther outside, at each corner.
                let most_m = plain_m + 1.0 * found.len() as f64;
                assert!(length(&found) <= most_m, "seed {seed}: {} {plain_m} {found:?}", length(&found));
                ways += u32::from(found.len() > 2);
            }
        }
        assert!(ways > 10, "{ways}");
    }

    /// A wall wound about its beginning.
    fn spiral(corners: u32) -> Vec<DVec2> {
        let at = |k: u32, aside: f64| {
            let angle = 2.5 * TAU * f64::from(k) / f64::from(corners);
            DVec2::from_angle(angle) * (20.0 + 6.0 * angle + aside)
        };
        (0..=corners).map(|k| at(k, 4.0)).chain((0..=corners).rev().map(|k| at(k, -4.0))).collect()
    }

    /// Derived: the way out of a spiral of two and a half turns follows them; run the other way, begun elsewhere or moved, it
    /// is as long.
    #[test]
    fn the_way_out_of_a_spiral() {
        let (from, to) = (DVec2::new(-5.0, 3.0), DVec2::new(300.0, 40.0));
        let length_of = |ring: &[DVec2], moved: DVec2| {
            let fences = Fences::new([ring].into_iter(), DVec2::new(-300.0, -200.0) + moved);
            let way =
                fences.way((from + moved, to + moved), &[], None, f64::INFINITY).expect("there is a way");
            let deepest = way.windows(2).map(|pair| deepest_m(&[ring.to_vec()], pair[0], pair[1]));
            assert!(deepest.fold(0.0, f64::max) < 0.01);
            length(&way)
        };
        let ring = spiral(120);
        let plain = length_of(&ring, DVec2::ZERO);
        assert!((500.0..1200.0).contains(&plain), "{plain}");
        let moved = DVec2::new(9000.0, -4000.0);
        let mut other: Vec<DVec2> = ring.iter().map(|p| *p + moved).collect();
        other.reverse();
        other.rotate_left(37);
        assert_relative_eq!(length_of(&other, moved), plain, epsilon = 1e-6);
    }

    /// Derived: what is said at once to be entered is so by far more than touching, as the length inside says.
    #[test]
    fn what_is_surely_entered_is_entered() {
        use crate::geometry::detour::homeward::tests::Lots;
        let (mut surely, mut entered) = (0, 0);
        for seed in 0..40 {
            let mut drawn = Lots(f64::from(seed) * 0.023 + 0.05);
            let sliver =
                drawn.ring(|_| 60.0).iter().map(|at| DVec2::new(at.x, 150.0 + at.y * 1e-5)).collect();
            let line = vec![DVec2::new(100.0, 100.0), DVec2::new(200.0, 180.0)];
            let mut clockwise = drawn.ring(|_| 60.0);
            clockwise.reverse();
            let odd: [Vec<DVec2>; 3] = [sliver, line, clockwise];
            let odd = odd.map(|ring| Block::new(&ring));
            for block in drawn.blocks(8).into_iter().chain(odd) {
                for k in 0..60 {
                    let a = drawn.place();
                    // some are short, some begin or end inside
                    let reach_m = [1e-4, 0.01, 2.0, 40.0, 300.0][k % 5];
                    let near = block.ring.middle_m + (drawn.place() / 300.0 - 0.5) * 60.0;
                    let (a, b) =
                        if k % 2 == 0 { (near, near + (a / 300.0 - 0.5) * reach_m) } else { (a, near) };
                    let inside_m = length_inside_convex(&block.ring.corners_m, a, b);
                    if block.is_surely_entered(a, b) {
                        assert!(inside_m >= 10.0 * TOUCH_M, "{seed}: {a} {b} {inside_m} {block:?}");
                        surely += 1;
                    }
                    entered += u32::from(inside_m >= TOUCH_M);
                }
            }
        }
        assert!(surely > 1000 && entered > surely, "{surely} {entered}");
    }

    /// Derived: ways past convex rings, as structures are, with and without outlines.
    #[test]
    fn ways_round_blocks_and_outlines() {
        let fences = Fences::new([block(-10., -40., 10., 10.)].iter().map(Vec::as_slice), DVec2::ZERO);
        let tower = block(-6., 12., 6., 60.);
        let ends = (DVec2::new(-30., 0.), DVec2::new(30., 0.));
        let between = fences.way(ends, &[&Block::new(&tower)], None, f64::INFINITY).expect("between them");
        assert_relative_eq!(length(&between), 2.0 * 500.0_f64.sqrt() + 20.0, epsilon = 0.05);
        let closing = block(-6., 9., 6., 60.);
        let closing = Block::new(&closing);
        let round = fences.way(ends, &[&closing], None, f64::INFINITY).expect("round both");
        assert!(round.iter().any(|p| p.y < -40.0 || p.y > 60.0), "{round:?}");
        assert_eq!(fences.way(ends, &[&closing], None, 100.0), None, "too long");
    }

    /// Boxes and lines looked at while many ways are found among outlines of so many corners.
    fn looked_at(outlines: &[Vec<DVec2>]) -> u64 {
        LOOKED.with(|count| count.set(0));
        let fences = Fences::new(outlines.iter().map(Vec::as_slice), DVec2::new(-300.0, -200.0));
        let mut found = 0;
        for k in 0..300 {
            let ends = (scattered(k) * 1.5, scattered(k + 5000) * 1.5);
            found += u32::from(fences.way(ends, &[], None, f64::INFINITY).is_some());
        }
        assert!(found > 50, "{found}");
        LOOKED.with(std::cell::Cell::get)
    }

    /// A circle whose radius waves by a few metres, a wave every five corners.
    fn jagged(corners: u32, middle: DVec2, radius: f64) -> Vec<DVec2> {
        let at = |k: u32| {
            let wave = 1.0 + 0.06 * (TAU * f64::from(k) / 5.0).sin();
            middle + DVec2::from_angle(TAU * f64::from(k) / f64::from(corners)) * radius * wave
        };
        (0..corners).map(at).collect()
    }

    /// Derived: looking at every pair of corners for each way would take 100 times as much for ten times the corners, and
    /// testing each pair against each side 1,000 times as much.
    #[test]
    fn the_work_grows_about_as_corners_do() {
        let jagged_of = |corners: u32| looked_at(&[jagged(corners, DVec2::ZERO, 100.0)]);
        let spiral_of = |corners: u32| looked_at(&[spiral(corners)]);
        let many = |count: u32| {
            let middle = |k: u32| scattered(k * 3 + 1);
            let radius = 60.0 / f64::from(count).sqrt();
            looked_at(&(0..count).map(|k| jagged(20, middle(k), radius)).collect::<Vec<_>>())
        };
        for (name, counts) in [
            ("jagged", [100, 1000].map(&jagged_of)),
            ("spiral", [50, 500].map(&spiral_of)),
            ("many", [10, 100].map(&many)),
        ] {
            assert!(counts[1] < 40 * counts[0], "{name}: {counts:?}");
        }
    }
}
