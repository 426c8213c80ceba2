//! How often ways round some convex rings bend that are hardly longer than the shortest, where it is only known between which
//! bounds some of the rings lie.

use crate::geometry::detour::level::Bend;
use crate::geometry::detour::search::clear_of;
use crate::geometry::detour::{Block, Homeward};
use crate::geometry::polygon::nearest_on;
use glam::DVec2;
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;

/// Ways that bend more often are not told.
const MOST_BENDS: usize = 64;

/// Room for rounding of lengths.
const ROUNDING_M: f64 = 1e-6;

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
    /// What is left of a way from there, at least and at most.
    left_m: (f64, f64),
    /// Of a place beside a ring that is known.
    bend: Option<Bend>,
    /// Of one beside a loose ring: which one, and the place that a way along it comes to next.
    along: Option<(usize, usize)>,
}

/// The ways to a goal that are hardly longer than the shortest round all of some rings, or of one of several sets of rings, however
/// far the loose ones of them are grown: how often they bend.
#[derive(Debug)]
pub(crate) struct NearlyShortest {
    /// Where each of the places is about, in their order: few are looked at closely.
    about: Vec<AboutPlace>,
    /// The one from whose middle the least is left first.
    places: Vec<PlaceLeft>,
    most_bends: usize,
}

/// Where a place is, or the middle of where it may be.
#[derive(Debug)]
struct AboutPlace {
    at_m: DVec2,
    /// No way by the place is shorter than to there and so much on.
    on_m: f64,
}

/// A place beside a ring, and what is left from there.
#[derive(Debug, Clone)]
struct PlaceLeft {
    /// It lies somewhere between these.
    between_m: [DVec2; 2],
    /// Of a place beside a ring that is known.
    bend: Option<Bend>,
    /// No way from there is shorter.
    shortest_m: f64,
    /// By how often ways bend from there on, there included and once at least: how long those are at least that bend so often or
    /// more often.
    least_m: Vec<f64>,
}

impl PlaceLeft {
    /// Those of some places from which something is left, the goal apart.
    fn of_each(places: &[LoosePlace], left: Vec<Vec<f64>>) -> Vec<Self> {
        let of = |(place, mut least_m): (&LoosePlace, Vec<f64>)| {
            let mut shortest_m = f64::INFINITY;
            for left_m in least_m.iter_mut().rev() {
                shortest_m = left_m.min(shortest_m);
                *left_m = shortest_m;
            }
            PlaceLeft { between_m: place.between_m, bend: place.bend, shortest_m, least_m }
        };
        let mut left: Vec<PlaceLeft> = places.iter().zip(left).map(of).collect();
        left.retain(|place| place.shortest_m.is_finite());
        left
    }

    /// What tells it from other places.
    fn key(&self) -> ([[u64; 2]; 2], Option<[u64; 6]>) {
        (self.between_m.map(|at_m| at_m.to_array().map(f64::to_bits)), self.bend.as_ref().map(Bend::bits))
    }

    /// Lets ways from here be as short as from the same place otherwise.
    fn widen(&mut self, other: &PlaceLeft) {
        self.shortest_m = self.shortest_m.min(other.shortest_m);
        let more = self.least_m.len().max(other.least_m.len());
        self.least_m.resize(more, f64::INFINITY);
        self.least_m
            .iter_mut()
            .zip(&other.least_m)
            .for_each(|(least_m, other_m)| *least_m = least_m.min(*other_m));
    }

    fn about(&self) -> AboutPlace {
        let [a, b] = self.between_m;
        AboutPlace { at_m: a.midpoint(b), on_m: self.shortest_m - a.distance(b) / 2.0 - ROUNDING_M }
    }
}

impl NearlyShortest {
    /// Nothing where it is not plain how often they bend. The known rings come with the ways round them to the goal. `spare_m`, by
    /// which they are longer at most, is above 0, so that ways that are equal but for rounding are among them.
    ///
    /// # References
    /// Derived: what is left of such a way from any place beside a ring is hardly longer than the shortest from there round all
    /// rings grown most; and no shorter than its steps, of which those from and to loose rings are no shorter than the way to
    /// where the ring's corner may be. Along a convex ring a way goes on the way that it came. So it is made of steps that are
    /// not too long from any of its places on, and the shortest ways that bend once more than others are those by one more step.
    pub(crate) fn new(
        goal: DVec2,
        (fixed, among_fixed): (&[&Block], &Homeward),
        loose: &[LooseRing],
        spare_m: f64,
    ) -> Option<Self> {
        let places = loose_places(goal, (fixed, among_fixed), loose, spare_m)?;
        let steps = steps(&places, fixed);
        let mut left: Vec<Vec<f64>> = vec![Vec::new(); places.len()];
        let mut left_m = vec![f64::INFINITY; places.len()];
        left_m[0] = 0.0;
        for bends in 1..=MOST_BENDS {
            let mut with_one_more_m = vec![f64::INFINITY; places.len()];
            for (from, to, step_m) in &steps {
                let longer_m = left_m[*to] + step_m;
                if longer_m <= places[*from].left_m.1 {
                    with_one_more_m[*from] = with_one_more_m[*from].min(longer_m);
                }
            }
            if with_one_more_m.iter().all(|left_m| left_m.is_infinite()) {
                break;
            }
            let there = left.iter_mut().zip(&with_one_more_m).filter(|(_, left_m)| left_m.is_finite());
            for (least_m, left_m) in there {
                least_m.resize(bends - 1, f64::INFINITY);
                least_m.push(*left_m);
            }
            left_m = with_one_more_m;
        }
        let most_bends = left.iter().map(Vec::len).fold(0, usize::max);
        Some(NearlyShortest::over(PlaceLeft::of_each(&places, left), most_bends))
    }

    /// What holds of ways that are of one kind or of another.
    ///
    /// # References
    /// Derived: of each place the lesser of both lengths is kept, and so the greater of both counts of bends is told.
    pub(crate) fn of_either(one: &Self, other: &Self) -> Self {
        let mut by_place: FxHashMap<_, usize> = FxHashMap::default();
        let mut places: Vec<PlaceLeft> = Vec::with_capacity(one.places.len().max(other.places.len()));
        for place in one.places.iter().chain(&other.places) {
            match by_place.entry(place.key()) {
                Entry::Occupied(known) => places[*known.get()].widen(place),
                Entry::Vacant(new) => {
                    new.insert(places.len());
                    places.push(place.clone());
                }
            }
        }
        NearlyShortest::over(places, one.most_bends.max(other.most_bends))
    }

    fn over(places: Vec<PlaceLeft>, most_bends: usize) -> Self {
        let mut places: Vec<_> = places.into_iter().map(|place| (place.about(), place)).collect();
        places.sort_by(|(a, _), (b, _)| a.on_m.total_cmp(&b.on_m));
        let (about, places) = places.into_iter().unzip();
        NearlyShortest { about, places, most_bends }
    }

    /// How often they bend at most, wherever they begin; nothing where it is not told.
    pub(crate) fn most_bends(&self) -> Option<usize> {
        (self.most_bends < MOST_BENDS).then_some(self.most_bends)
    }

    /// Memory that it takes, about.
    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        let bends: usize = self.places.iter().map(|place| place.least_m.capacity()).sum();
        self.places.capacity() * (size_of::<AboutPlace>() + size_of::<PlaceLeft>()) + bends * size_of::<f64>()
    }

    /// How often those bend at most that begin at a place and are no longer than that, or what is told of others where it is more;
    /// nothing where it is not told.
    ///
    /// # References
    /// Derived: such a way is as long as its first step, which is straight, and what is left of it from there.
    pub(crate) fn most_bends_from(&self, from: DVec2, most_m: f64, of_others: usize) -> Option<usize> {
        let mut most_bends = of_others;
        if self.most_bends <= of_others {
            return Some(of_others);
        }
        for (about, place) in self.about.iter().zip(&self.places) {
            let room_m = most_m - about.on_m;
            if room_m < 0.0 {
                break;
            }
            if about.at_m.distance_squared(from) > room_m * room_m {
                continue;
            }
            let PlaceLeft { between_m: [a, b], bend, shortest_m, least_m } = place;
            let there_m = bend.map_or_else(|| nearest_on(*a, *b, from), |bend| bend.at_m).distance(from);
            if there_m + shortest_m > most_m {
                continue;
            }
            // from there on it is not told how often
            if least_m.get(MOST_BENDS - 1).is_some_and(|left_m| there_m + left_m <= most_m) {
                return None;
            }
            let Some(more) = least_m.get(most_bends..) else { continue };
            let by = more.partition_point(|left_m| there_m + left_m <= most_m);
            if by > 0 && bend.is_none_or(|bend| bend.passes(bend.at_m - from)) {
                most_bends += by;
            }
        }
        Some(most_bends)
    }
}

/// The places at which such ways may bend, the goal first; nothing where they are not plain.
fn loose_places(
    goal: DVec2,
    (fixed, among_fixed): (&[&Block], &Homeward),
    loose: &[LooseRing],
    spare_m: f64,
) -> Option<Vec<LoosePlace>> {
    let among_all = (!loose.is_empty()).then(|| {
        let all: Vec<&Block> = fixed.iter().copied().chain(loose.iter().map(|ring| &ring.most)).collect();
        Homeward::new(goal, &all)
    });
    let homeward = among_all.as_ref().unwrap_or(among_fixed);
    let mut places = vec![LoosePlace {
        between_m: [goal; 2],
        left_m: (0.0, 0.0),
        bend: Some(Bend::anywhere(goal)),
        along: None,
    }];
    for bend in fixed.iter().flat_map(|block| &block.bends) {
        // what no way leads from round less is never come to
        let Some(least_m) = among_fixed.left_m(bend.at_m) else { continue };
        places.push(LoosePlace {
            between_m: [bend.at_m; 2],
            left_m: (least_m, homeward.left_m(bend.at_m)? + spare_m),
            bend: Some(*bend),
            along: None,
        });
    }
    for (index, ring) in loose.iter().enumerate() {
        // round it either way
        for back in [1, ring.least_m.len() - 1] {
            let first = places.len();
            for (k, [most_m, least_m]) in ring.places().enumerate() {
                if !clear_of(fixed, most_m, least_m) {
                    return None;
                }
                places.push(LoosePlace {
                    between_m: [most_m, least_m],
                    left_m: (
                        apart_m([most_m, least_m], [goal; 2]),
                        homeward.left_m(most_m)? + most_m.distance(least_m) + spare_m,
                    ),
                    bend: None,
                    along: Some((index, first + (k + back) % ring.least_m.len())),
                });
            }
        }
    }
    Some(places)
}

/// The steps from place to place that may be taken, with the least length of each.
fn steps(places: &[LoosePlace], fixed: &[&Block]) -> Vec<(usize, usize, f64)> {
    let mut steps = Vec::new();
    for (from, here) in places.iter().enumerate().skip(1) {
        for (to, there) in places.iter().enumerate().filter(|(to, _)| *to != from) {
            let known = here.bend.zip(there.bend);
            let step_m = known.map_or_else(
                || apart_m(here.between_m, there.between_m),
                |(bend, next)| bend.at_m.distance(next.at_m),
            );
            if step_m + there.left_m.0 > here.left_m.1 {
                continue;
            }
            let is_known = || {
                known.is_none_or(|(bend, next)| {
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
    if a == b && c == d {
        return a.distance(c);
    }
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
        let (mut told, mut along, mut all_bends, mut fewer) = (0, 0, 0, 0);
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
            let most = loose.most.clone();
            let widest: Vec<&Block> = fixed.iter().copied().chain([&most]).collect();
            let homeward = Homeward::new(goal, &widest);
            let Some(nearly) =
                NearlyShortest::new(goal, (&fixed, &Homeward::new(goal, &fixed)), &[loose], 1.0)
            else {
                continue;
            };
            told += 1;
            let Some(anywhere) = nearly.most_bends() else { continue };
            all_bends += anywhere;
            for from in [(); 30].map(|()| drawn.place()) {
                if long.room_m(from, most_m) < most_m {
                    continue;
                }
                let between = grown(least_m.max(1e-3) + (most_m - least_m.max(1e-3)) * drawn.next());
                let all: Vec<&Block> = fixed.iter().copied().chain([&between]).collect();
                let Some(way) = found_one_by_one((from, goal), &all) else { continue };
                assert!(way.len() - 2 <= anywhere, "{seed}: {way:?} {nearly:?}");
                let longest_m = homeward.length_m(from, &widest).expect("round all of them") + 1.0;
                let bends = nearly.most_bends_from(from, longest_m, 0).expect("told of all");
                assert!(way.len() - 2 <= bends, "{seed}: {way:?} {bends}");
                assert_eq!(nearly.most_bends_from(from, longest_m, bends + 2), Some(bends + 2));
                fewer += u32::from(2 * bends < anywhere);
                let is_beside = |at: &DVec2| between.bends.iter().any(|bend| bend.at_m == *at);
                along += u32::from(way.iter().any(is_beside));
            }
        }
        assert!(told > 10 && along > 60 && all_bends < 25 * told, "{told} {along} {all_bends}");
        assert!(fewer > 30, "{fewer}");
    }

    /// Derived: round generated convex rings a way that was found by going round what the ways before it enter, one by one, is
    /// among those told for all rings: no shorter than the shortest, hardly longer, bending no more often; and it is there when
    /// those are.
    #[test]
    fn ways_found_one_by_one_are_among_the_nearly_shortest() {
        let (mut bent, mut alike, mut more, mut shut, mut untold) = (0, 0, 0, 0, 0);
        for seed in 0..80 {
            let mut drawn = Lots(f64::from(seed) * 0.013 + 0.2);
            let blocks = drawn.blocks(1 + seed % 9);
            let blocks: Vec<&Block> = blocks.iter().collect();
            let goal = drawn.place();
            let homeward = Homeward::new(goal, &blocks);
            let nearly = NearlyShortest::new(goal, (&blocks, &Homeward::new(goal, &blocks)), &[], 1.0)
                .expect("none of them is loose");
            for from in [(); 40].map(|()| drawn.place()) {
                let way = found_one_by_one((from, goal), &blocks);
                let told = homeward
                    .length_m(from, &blocks)
                    .and_then(|length_m| Some((length_m, nearly.most_bends_from(from, length_m + 1.0, 0)?)));
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
        assert!(shut > 20 && 2 * untold < bent, "{shut} {untold} {bent}");
    }
}
