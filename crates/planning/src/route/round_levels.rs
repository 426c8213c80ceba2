//! The ways to one place round all that stands in the way at a level: what a way round is in the end, whatever was tried
//! before.

use super::airspace::{Airspace, CLIMB_COST, LEVEL_M, ROOM_KEPT, grown_m};
use super::bounded::{GONE_ON_M, WayBound};
use super::level_paths::MOST_ROUND;
use crate::geometry::detour::{Block, Homeward, LooseRing, NearlyShortest, clear_of};
use crate::geometry::growth::GrowingRing;
use crate::ground::{Obstacle, SiteOutline};
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};
use rustc_hash::FxHashMap;
use std::ops::RangeInclusive;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Most corners of all that stands, grown: with more of them it takes longer to find the ways than they save.
const MOST_CORNERS: usize = 400;

/// Ways pass corners a little outside; room for that on the whole way: a centimetre for each radian that it turns.
const PASSED_M: f64 = 1.0;

/// What hangs higher is grown the more the nearer it is to the level: between these shares of the clearance it is looked at as
/// one.
const GROWN_RATIOS: [f64; 5] = [0.15, 0.3, 0.5, 0.7, 0.85];

/// Memory that a corner takes at a level, about: what is known of the ways from there, alone and in spans, and the trees of ways.
const BYTES_A_CORNER: usize = 600;

/// The same of a corner of what hangs, which lies elsewhere at every level, for each size of spans.
const BYTES_A_LOOSE_CORNER: usize = 300;

/// With less of it a place may be inside something and no nearer than that, and corners nearly lie on each other.
const LEAST_CLEARANCE_M: f64 = 0.1;

/// A place is nearer than the clearance where it is so by more than rounding.
const ROUNDING_M: f64 = 1e-9;

/// The ways to one place, level by level: between two heights at which something begins or ends to be in the way it is the
/// same that is gone round.
#[derive(Debug)]
pub(crate) struct RoundLevels {
    to: DVec2,
    /// Of each obstacle with the clearance round it.
    blocks: Vec<Block>,
    /// Those heights, ascending.
    changes_z_m: Vec<f64>,
    /// Below the first of them, between them, and above the last; found when they are asked for.
    levels: Vec<OnceLock<RoundLevel>>,
    /// How often ways bend at any of 2, of 4, of 8 and so on that follow each other, from a multiple of that on; where that is
    /// plain, and found when it is asked for.
    spans: Vec<Vec<OnceLock<Option<NearlyShortest>>>>,
    /// The ways round some obstacles with the whole clearance, by their indices: the same at many levels.
    homeward: Mutex<FxHashMap<Vec<usize>, Arc<Homeward>>>,
}

/// What is gone round between two heights.
#[derive(Debug)]
struct RoundLevel {
    /// Indices of the obstacles with the whole clearance round them.
    whole: Vec<usize>,
    /// Of those that hang so little higher that less is kept from them; with how much at least and at most.
    hanging: Vec<(usize, [f64; 2])>,
    /// By how much a way turns at a corner at most.
    corner_rad: f64,
    /// What may be gone round at this level or above it; found when it is asked for.
    widest: OnceLock<WidestRound>,
    /// How often ways bend, where that is plain; found when it is asked for.
    ways: OnceLock<Option<NearlyShortest>>,
}

/// All that may be gone round at a level and those above it, with the whole clearance.
#[derive(Debug)]
struct WidestRound {
    /// Indices of the obstacles.
    obstacles: Vec<usize>,
    ways: Arc<Homeward>,
}

/// The ways round from one place, seen from above, at a level and those above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RoundFrom {
    from: DVec2,
    /// None of them is longer.
    longest_m: f64,
    /// Whether all of them are straight.
    are_straight: bool,
}

/// How ways at some levels bend at most.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct RoundBends {
    bends: usize,
    turned_rad: f64,
}

impl RoundLevels {
    /// Nothing among keep-outs, where too much stands, or where the place itself is nearer to something than the clearance.
    pub(crate) fn new(airspace: &Airspace<'_>, to: DVec2) -> Option<Self> {
        let (site, clearance_m) = (airspace.site, airspace.clearance_m);
        let corners: usize = site.obstacles.iter().map(|obstacle| obstacle.growth().corners()).sum();
        if !site.fences.is_empty() || corners > MOST_CORNERS || !airspace.is_clear(to) {
            return None;
        }
        let parts = GROWN_RATIOS.iter().map(|ratio| (1.0 - ratio * ratio).sqrt() * clearance_m);
        // of what is hardly grown it is not told how ways bend: levels up to there would tell nothing
        let parts = parts.filter(|below_m| grown_m(ROOM_KEPT * clearance_m, *below_m) >= LEAST_CLEARANCE_M);
        let below_m: Vec<f64> = [clearance_m, 0.0].into_iter().chain(parts).collect();
        let changes = |solid: &Obstacle| {
            let (bottom_z_m, over_z_m) = (solid.bottom_z_m, airspace.passed_over_z_m(solid));
            below_m.iter().map(move |below_m| bottom_z_m - below_m).chain([over_z_m])
        };
        let changes = site.obstacles.iter().flat_map(changes);
        let mut changes_z_m: Vec<f64> = changes.filter(|z_m| z_m.is_finite()).collect();
        changes_z_m.sort_by(f64::total_cmp);
        changes_z_m.dedup();
        let blocks = (0..site.obstacles.len()).map(|k| Block::new(&airspace.grown_whole(k))).collect();
        let count = changes_z_m.len() + 1;
        let levels = (0..count).map(|_| OnceLock::new()).collect();
        let spans = (1..=count.ilog2()).map(|log2| (0..count >> log2).map(|_| OnceLock::new()).collect());
        let (spans, homeward) = (spans.collect(), Mutex::default());
        Some(RoundLevels { to, blocks, changes_z_m, levels, spans, homeward })
    }

    /// Memory that they take at most, about.
    pub(crate) fn most_bytes(site: &SiteOutline) -> usize {
        let corners = |solid: &Obstacle| solid.growth().corners();
        let hanging = || site.obstacles.iter().filter(|solid| solid.bottom_z_m.is_finite());
        let all: usize = site.obstacles.iter().map(corners).sum();
        let loose: usize = hanging().map(corners).sum();
        if all > MOST_CORNERS {
            return 0;
        }
        let levels = 1 + site.obstacles.len() + hanging().count() * (GROWN_RATIOS.len() + 2);
        let sizes = 2 + levels.ilog2() as usize;
        levels * (BYTES_A_CORNER * all + BYTES_A_LOOSE_CORNER * loose * sizes)
    }

    /// The level that a height belongs to.
    pub(crate) fn level_at(&self, z_m: f64) -> usize {
        self.changes_z_m.partition_point(|change_z_m| *change_z_m <= z_m)
    }

    /// The ways at a level and above it from a place that [`Airspace::is_clear`]; nothing where there are none. `airspace` is the
    /// one that they were made with.
    ///
    /// # References
    /// Derived: a way that is taken at a level is a shortest one round some of what stands in the way at it, and none of those
    /// is longer than the shortest round all of that, and more; but for how far outside corners are passed.
    pub(crate) fn from(&self, airspace: &Airspace<'_>, from: DVec2, level: usize) -> Option<RoundFrom> {
        let widest = self.level(airspace, level).widest.get_or_init(|| self.widest(airspace, level));
        let blocks: Vec<&Block> = widest.obstacles.iter().map(|k| &self.blocks[*k]).collect();
        let are_straight = clear_of(&blocks, from, self.to);
        let straight_m = || Some(from.distance(self.to));
        let length_m = if are_straight { straight_m() } else { widest.ways.length_m(from, &blocks) };
        length_m.map(|length_m| RoundFrom { from, longest_m: length_m + PASSED_M, are_straight })
    }

    /// How ways at some levels bend at most: those of which it is known what bounds them, or any; nothing where that is not plain.
    /// `airspace` is the one that they were made with.
    ///
    /// # References
    /// Derived: a way that is taken at a level enters nothing there, so it is the shortest round all that stands in the way at
    /// it: what it was found to go round is a part of that, and a shortest way round more is none the shorter. But for how
    /// far outside corners are passed: so it is among those that are hardly longer than the shortest.
    fn bends_at(
        &self,
        airspace: &Airspace<'_>,
        levels: RangeInclusive<usize>,
        round: Option<RoundFrom>,
    ) -> Option<RoundBends> {
        let mut most = RoundBends::default();
        if round.is_some_and(|round| round.are_straight) {
            return Some(most);
        }
        for (first, log2) in spans(levels.clone()) {
            let ways = self.ways_in(airspace, first, log2)?;
            most.bends = match round {
                Some(RoundFrom { from, longest_m, .. }) => {
                    ways.most_bends_from(from, longest_m, most.bends)?
                }
                None => ways.most_bends()?.max(most.bends),
            };
        }
        let corners_rad = levels.map(|level| self.level(airspace, level).corner_rad);
        most.turned_rad = most.bends as f64 * corners_rad.fold(0.0, f64::max);
        Some(most)
    }

    /// How often ways bend at any of so many levels, a power of 2, from a multiple of that on; nothing where it is not plain.
    fn ways_in(&self, airspace: &Airspace<'_>, first: usize, log2: u32) -> Option<&NearlyShortest> {
        let Some(half) = log2.checked_sub(1) else {
            let level = self.level(airspace, first);
            return level.ways.get_or_init(|| self.ways(airspace, level)).as_ref();
        };
        let find = || {
            let lower = self.ways_in(airspace, first, half)?;
            Some(NearlyShortest::of_either(lower, self.ways_in(airspace, first + (1 << half), half)?))
        };
        self.spans[half as usize][first >> log2].get_or_init(find).as_ref()
    }

    fn level(&self, airspace: &Airspace<'_>, level: usize) -> &RoundLevel {
        self.levels[level].get_or_init(|| {
            let from_z_m = level.checked_sub(1).map_or(f64::NEG_INFINITY, |below| self.changes_z_m[below]);
            let to_z_m = self.changes_z_m.get(level).copied().unwrap_or(f64::INFINITY);
            let (mut whole, mut hanging) = (Vec::new(), Vec::new());
            for (k, solid) in airspace.site.obstacles.iter().enumerate() {
                let grown_m =
                    |z_m: f64| grown_m(ROOM_KEPT * airspace.clearance_m, (solid.bottom_z_m - z_m).max(0.0));
                if from_z_m >= airspace.passed_over_z_m(solid) {
                    continue;
                }
                if from_z_m >= solid.bottom_z_m {
                    whole.push(k);
                } else if grown_m(to_z_m) > 0.0 {
                    hanging.push((k, [from_z_m, to_z_m].map(grown_m)));
                }
            }
            let all = whole.iter().chain(hanging.iter().map(|(k, _)| k));
            let corner_rad = all.map(|k| self.blocks[*k].sharpest_rad()).fold(0.0, f64::max);
            RoundLevel { whole, hanging, corner_rad, widest: OnceLock::new(), ways: OnceLock::new() }
        })
    }

    /// Some obstacles with the whole clearance round them, and the ways round them; their indices come in order.
    fn gone_round(&self, obstacles: &[usize]) -> (Vec<&Block>, Arc<Homeward>) {
        let blocks: Vec<&Block> = obstacles.iter().map(|k| &self.blocks[*k]).collect();
        let mut known = self.homeward.lock().unwrap_or_else(PoisonError::into_inner);
        let ways = if let Some(ways) = known.get(obstacles) {
            Arc::clone(ways)
        } else {
            let found = Arc::new(Homeward::new(self.to, &blocks));
            known.insert(obstacles.to_vec(), Arc::clone(&found));
            found
        };
        (blocks, ways)
    }

    fn widest(&self, airspace: &Airspace<'_>, level: usize) -> WidestRound {
        let Airspace { site, clearance_m } = airspace;
        let from_z_m = level.checked_sub(1).map_or(f64::NEG_INFINITY, |below| self.changes_z_m[below]);
        let to_z_m = self.changes_z_m.get(level).copied().unwrap_or(f64::INFINITY);
        // no way is higher than its ends and the clearance above the ground
        let top_z_m = match &site.terrain {
            Terrain::Plane { .. } => f64::INFINITY,
            grid @ Terrain::Grid(_) => to_z_m.max(grid.ceiling_m() + clearance_m + LEVEL_M),
        };
        let may_count = |solid: &Obstacle| {
            from_z_m < airspace.passed_over_z_m(solid) && solid.bottom_z_m - clearance_m < top_z_m
        };
        let obstacles: Vec<usize> =
            (0..self.blocks.len()).filter(|k| may_count(&site.obstacles[*k])).collect();
        WidestRound { ways: self.gone_round(&obstacles).1, obstacles }
    }

    fn ways(&self, airspace: &Airspace<'_>, level: &RoundLevel) -> Option<NearlyShortest> {
        if level.hanging.iter().any(|(_, [_, most_m])| *most_m < LEAST_CLEARANCE_M) {
            return None;
        }
        let loose = |(k, [least_m, most_m]): &(usize, [f64; 2])| {
            let growth = airspace.site.obstacles[*k].growth();
            let grown = |by_m: f64| Block::new(&growth.by(by_m));
            LooseRing::new(grown(*most_m), &grown(most_m / 2.0), 2.0 * (most_m - least_m) / most_m)
        };
        let loose: Vec<LooseRing> = level.hanging.iter().map(loose).collect();
        let (whole, ways) = self.gone_round(&level.whole);
        NearlyShortest::new(self.to, (&whole, &ways), &loose, PASSED_M)
    }
}

/// Some levels in spans of powers of 2, each from a multiple of that on, as few as there are: the first level of each and which
/// power.
fn spans(levels: RangeInclusive<usize>) -> impl Iterator<Item = (usize, u32)> {
    let (mut first, end) = (*levels.start(), levels.end() + 1);
    std::iter::from_fn(move || {
        let left = end.checked_sub(first).filter(|left| *left > 0)?;
        let span = (first, first.trailing_zeros().min(left.ilog2()));
        first += 1 << span.1;
        Some(span)
    })
}

impl Airspace<'_> {
    /// Bounds on the way between two places that are free and open: on one that goes round, and on one that goes over.
    /// `round` has what is known of the ways round from the one to the other at the level of `levels` that the higher of them is
    /// at and above.
    ///
    /// # References
    /// Derived: no way is tried that costs more than the one over everything. A way round is level no higher than the clearance
    /// above the highest ground in its reach, and takes the ways of the levels up to there. One over is straight; it is taken
    /// where it costs no more than some that was tried round, or where more stands in reach than is gone round: each solid in
    /// reach is met once and passed over once, and after either the level rises once.
    pub(crate) fn bounds_by_levels(
        &self,
        levels: &RoundLevels,
        (from, to): (DVec3, DVec3),
        round: Option<RoundFrom>,
    ) -> Option<[WayBound; 2]> {
        let (line, lowest_z_m) = ((from.truncate(), to.truncate()), from.z.max(to.z));
        let (straight_m, ends_z_m) = (line.0.distance(line.1), from.z + to.z);
        let below_all_z_m =
            self.ground_over_m(line).max(self.site.highest_z_m).max(lowest_z_m - self.clearance_m);
        let over_all_z_m = below_all_z_m + self.clearance_m + LEVEL_M;
        let over_all_m = straight_m + CLIMB_COST * (2.0 * over_all_z_m - ends_z_m);
        let longest_m = round.map_or(f64::INFINITY, |round| round.longest_m).min(over_all_m + GONE_ON_M);
        let ground_z_m = highest_in_reach_m(&self.site.terrain, line, longest_m);
        let top_z_m = lowest_z_m.max(ground_z_m + self.clearance_m) + LEVEL_M;
        let all = levels.level_at(lowest_z_m)..=levels.level_at(top_z_m);
        let RoundBends { bends, turned_rad } = levels.bends_at(self, all, round)?;
        let tried_m = longest_m + CLIMB_COST * (2.0 * top_z_m - ends_z_m);
        let as_dear_z_m = f64::midpoint((tried_m - straight_m) / CLIMB_COST, ends_z_m) + LEVEL_M;
        let in_reach = |solid: &&Obstacle| {
            lowest_z_m < self.passed_over_z_m(solid) && self.reaches(solid, line, longest_m)
        };
        let is_gone_round = || self.site.obstacles.iter().filter(in_reach).count() < MOST_ROUND;
        let over_z_m = if as_dear_z_m < over_all_z_m && is_gone_round() { as_dear_z_m } else { over_all_z_m };
        let over_z_m = over_z_m.max(lowest_z_m);
        let as_dear_m = straight_m + 2.0 * CLIMB_COST * (over_z_m - lowest_z_m);
        let level_m = longest_m.min(as_dear_m.max(straight_m + LEVEL_M));
        let over =
            WayBound { level_m: straight_m + LEVEL_M, top_z_m: over_z_m, level_legs: 1, turned_rad: 0.0 };
        Some([WayBound { level_m, top_z_m, level_legs: bends + 1, turned_rad }, over])
    }

    /// A bound on the ways to a place from all clear ones no farther off than that, seen from above, and between two heights;
    /// nothing where the ground is no grid, or it is not plain.
    ///
    /// # References
    /// Derived: none of those that [`Airspace::bounds_by_levels`] gives for one of them is wider.
    pub(crate) fn bound_from_all(
        &self,
        levels: &RoundLevels,
        to: DVec3,
        farthest_m: f64,
        (low_z_m, high_z_m): (f64, f64),
    ) -> Option<WayBound> {
        let ground_z_m = match &self.site.terrain {
            Terrain::Plane { .. } => return None,
            grid @ Terrain::Grid(_) => grid.ceiling_m(),
        };
        // places between corners may be lower or higher by rounding
        let (least_z_m, most_z_m) = ((low_z_m - LEVEL_M).max(to.z), (high_z_m + LEVEL_M).max(to.z));
        let round_z_m = most_z_m.max(ground_z_m + self.clearance_m) + LEVEL_M;
        let over_z_m = round_z_m.max(self.site.highest_z_m + self.clearance_m + LEVEL_M);
        let all = levels.level_at(least_z_m)..=levels.level_at(round_z_m);
        let RoundBends { bends, turned_rad } = levels.bends_at(self, all, None)?;
        let level_m = farthest_m + 2.0 * CLIMB_COST * (over_z_m - least_z_m) + LEVEL_M;
        Some(WayBound { level_m, top_z_m: over_z_m, level_legs: bends + 1, turned_rad })
    }

    /// Whether some way between two places, no longer than that, comes to an obstacle with the clearance round it.
    fn reaches(&self, obstacle: &Obstacle, ends: (DVec2, DVec2), most_m: f64) -> bool {
        !obstacle.growth().out_of_reach(ends, self.clearance_m, most_m)
    }

    /// Whether a place, seen from above, is nowhere nearer to something than the clearance, and that is enough to say so.
    pub(crate) fn is_clear(&self, at: DVec2) -> bool {
        let is_clear_of = |growth: &GrowingRing| {
            growth.surely_off(at, self.clearance_m)
                || growth.room_m(at, self.clearance_m) >= self.clearance_m - ROUNDING_M
        };
        self.clearance_m >= LEAST_CLEARANCE_M && self.site.obstacles.iter().all(|o| is_clear_of(o.growth()))
    }
}

/// No less than the ground below any way between two places that is no longer than that: no place of it is farther than half
/// of that from the middle between them.
fn highest_in_reach_m(terrain: &Terrain, (from, to): (DVec2, DVec2), most_m: f64) -> f64 {
    match terrain {
        Terrain::Plane { slope_east, slope_north, .. } => {
            let slope = DVec2::new(*slope_east, *slope_north).length();
            terrain.height_m(from.midpoint(to)) + slope * most_m / 2.0
        }
        Terrain::Grid(_) => terrain.ceiling_m(),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::route::generated::{Lots, SIDE_M, site};

    /// The bounds on a way.
    #[derive(Debug)]
    pub(crate) struct Bounds {
        pub(crate) widest: WayBound,
        pub(crate) near: WayBound,
        /// By levels, where they tell: the widest first.
        pub(crate) by_levels: Vec<[WayBound; 2]>,
    }

    /// The bounds on a way, where there are any.
    pub(crate) fn bounds(airspace: &Airspace<'_>, from: DVec3, to: DVec3) -> Option<Bounds> {
        let plain = airspace.is_free(from) && airspace.is_free(to) && airspace.is_open(from, to);
        let by_levels = || {
            let at = from.truncate();
            let levels = RoundLevels::new(airspace, to.truncate()).filter(|_| airspace.is_clear(at));
            let Some(levels) = levels else { return Vec::new() };
            let ends = (from, to);
            let anywhere = airspace.bounds_by_levels(&levels, ends, None);
            let level = levels.level_at(from.z.max(to.z));
            let round = levels.from(airspace, at, level);
            let by_levels = round.and_then(|round| airspace.bounds_by_levels(&levels, ends, Some(round)));
            anywhere.into_iter().chain(by_levels).collect()
        };
        let bends = airspace.bends();
        plain.then(|| Bounds {
            widest: airspace.widest_bound(from, to, &bends),
            near: airspace.way_bound(from, to, &bends),
            by_levels: by_levels(),
        })
    }

    fn turned_rad(level: &[(DVec2, DVec2)]) -> f64 {
        level.windows(2).map(|pair| (pair[0].1 - pair[0].0).angle_to(pair[1].1 - pair[1].0).abs()).sum()
    }

    /// Derived: on generated sites a way that is bounded is there when it is looked for, and exceeds none of its bounds; what is
    /// found without looking is no tighter.
    #[test]
    fn no_way_exceeds_its_bounds() {
        let (mut bounded, mut round, mut over, mut tight) = (0, 0, 0, 0);
        let (mut told_by_levels, mut fewer, mut exact) = (0, 0, 0);
        for seed in 0..24 {
            let site = site(seed, f64::from(seed % 3) * 4.0, seed as usize % 4 / 3);
            let mut drawn = Lots(seed);
            for k in 0..60 {
                let clearance_m = [2.0, 6.0, 12.0][k % 3];
                let airspace = Airspace { site: &site, clearance_m };
                let [from, to] = [drawn.place(SIDE_M), drawn.place(SIDE_M)].map(|at| {
                    at.extend(
                        site.terrain.height_m(at)
                            + if drawn.next() < 0.3 { 0.0 } else { 45.0 * drawn.next() },
                    )
                });
                let Some(bounds) = bounds(&airspace, from, to) else { continue };
                let Bounds { widest, near, by_levels } = &bounds;
                let way = airspace.way(from, to).expect("what is bounded is there");
                let told = format!("{seed} {k}: {bounds:?} {way:?}");
                let pairs = way.windows(2).map(|pair| (pair[0].truncate(), pair[1].truncate()));
                let level: Vec<_> = pairs.filter(|(a, b)| a != b).collect();
                let level_m: f64 = level.iter().map(|(a, b)| a.distance(*b)).sum();
                for bound in std::iter::once(near).chain(by_levels.iter().flatten()) {
                    assert!(bound.level_m <= widest.level_m && bound.top_z_m <= widest.top_z_m, "{told}");
                    assert!(bound.level_legs <= widest.level_legs, "{told}");
                    assert!(bound.turned_rad <= widest.turned_rad, "{told}");
                }
                let is_held = |bound: &WayBound| {
                    level_m <= bound.level_m
                        && level.len() <= bound.level_legs
                        && turned_rad(&level) <= bound.turned_rad + 1e-9 // rounding of angles
                        && way.iter().all(|p| p.z <= bound.top_z_m)
                };
                assert!(is_held(near), "{told}");
                assert!(by_levels.iter().all(|either| either.iter().any(is_held)), "{told}");
                bounded += 1;
                round += u32::from(level.len() > 2);
                over += u32::from(way.iter().any(|p| p.z > from.z.max(to.z) + 1.0));
                tight += u32::from(near.level_legs == 1);
                if let Some([round, _]) = by_levels.last() {
                    told_by_levels += 1;
                    fewer += u32::from(2 * round.level_legs < near.level_legs);
                    exact += u32::from(round.level_legs == level.len());
                }
            }
        }
        assert!(bounded > 900 && round > 60 && over > 60, "{bounded} {round} {over}");
        assert!(tight > 200, "{tight}");
        assert!(told_by_levels > 300 && fewer > 100 && exact > 100, "{told_by_levels} {fewer} {exact}");
    }

    /// Derived: on generated sites no way to a place from clear ones, of whatever height and wherever they lie, exceeds what is
    /// told of all of them.
    #[test]
    fn no_way_exceeds_what_bounds_all() {
        let (mut bounded, mut bent, mut higher) = (0, 0, 0);
        for seed in 0..30 {
            let site = site(seed, f64::from(seed % 4) * 3.0, 0);
            let mut drawn = Lots(seed + 300);
            let airspace = Airspace { site: &site, clearance_m: [2.0, 6.0, 12.0][seed as usize % 3] };
            let mut place = |above_m: f64| {
                let at = drawn.place(SIDE_M);
                at.extend(site.terrain.height_m(at) + above_m * drawn.next())
            };
            let to = place(0.0);
            let Some(levels) = RoundLevels::new(&airspace, to.truncate()).filter(|_| airspace.is_free(to))
            else {
                continue;
            };
            let mut places = [(); 30].map(|()| place(40.0)).to_vec();
            places.retain(|from| airspace.is_clear(from.truncate()));
            let far_m = |from: &DVec3| from.truncate().distance(to.truncate());
            let heights_z = places
                .iter()
                .map(|from| from.z)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high): (f64, f64), z| {
                    (low.min(z), high.max(z))
                });
            let farthest_m = places.iter().map(far_m).fold(0.0, f64::max);
            let Some(bound) = airspace.bound_from_all(&levels, to, farthest_m, heights_z) else { continue };
            for from in places {
                let way = airspace.way(from, to).expect("what is clear is reached");
                let pairs = way.windows(2).map(|pair| (pair[0].truncate(), pair[1].truncate()));
                let level: Vec<_> = pairs.filter(|(a, b)| a != b).collect();
                let level_m: f64 = level.iter().map(|(a, b)| a.distance(*b)).sum();
                let top_z_m = way.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
                let told = format!("{seed}: {bound:?} {way:?}");
                assert!(level_m <= bound.level_m && top_z_m <= bound.top_z_m, "{told}");
                assert!(level.len() <= bound.level_legs, "{told}");
                assert!(turned_rad(&level) <= bound.turned_rad + 1e-9, "{told}"); // rounding of angles
                bounded += 1;
                bent += u32::from(level.len() > 2);
                higher += u32::from(top_z_m > from.z.max(to.z) + 1.0);
            }
        }
        assert!(bounded > 200 && bent > 30 && higher > 60, "{bounded} {bent} {higher}");
    }

    /// Derived: spans hold every level once, in order, each from a multiple of its size on; at any levels ways bend as often as at
    /// the one of them at which they bend most, from anywhere, at small clearances as well; and what is found out of how they bend
    /// takes no more memory than is told, nor far less.
    #[test]
    fn levels_together_tell_what_each_of_them_does() {
        let (mut told, mut bent, mut told_of_small) = (0, 0, 0);
        for seed in 0..10 {
            let site = site(seed, 5.0, 0);
            let airspace =
                Airspace { site: &site, clearance_m: [2.0, 6.0, 12.0, 0.4, 0.68][seed as usize % 5] };
            let mut drawn = Lots(seed + 300);
            let Some(levels) = RoundLevels::new(&airspace, drawn.place(SIDE_M)) else { continue };
            let count = levels.levels.len();
            for _ in 0..60 {
                let from = drawn.place(SIDE_M);
                let [first, last] = [(); 2].map(|()| (drawn.next() * count as f64) as usize);
                let range = first.min(last)..=first.max(last);
                let few = 2 * count.ilog2() as usize + 1;
                assert!(spans(range.clone()).count() <= few, "{seed}: {range:?}");
                let in_spans: Vec<usize> = spans(range.clone())
                    .flat_map(|(first, log2)| {
                        assert_eq!(first % (1 << log2), 0);
                        first..first + (1 << log2)
                    })
                    .collect();
                assert_eq!(in_spans, range.clone().collect::<Vec<_>>());
                let longest_m = from.distance(levels.to) * (1.0 + 0.3 * drawn.next());
                let round = RoundFrom { from, longest_m, are_straight: false };
                let each = |round: Option<RoundFrom>| {
                    range.clone().map(|level| levels.bends_at(&airspace, level..=level, round)).collect()
                };
                for round in [Some(round), None] {
                    let each: Option<Vec<RoundBends>> = each(round);
                    let together = levels.bends_at(&airspace, range.clone(), round);
                    let turned_rad = together.map_or(f64::INFINITY, |bends| bends.turned_rad);
                    assert!(each.iter().flatten().all(|bends| bends.turned_rad <= turned_rad), "{seed}");
                    let most = each.map(|each| each.iter().map(|bends| bends.bends).fold(0, usize::max));
                    assert_eq!(together.map(|bends| bends.bends), most, "{seed}: {range:?} {round:?}");
                    told += u32::from(most.is_some());
                    told_of_small += u32::from(most.is_some() && airspace.clearance_m < 1.0);
                    bent += u32::from(most.is_some_and(|bends| bends > 3));
                }
            }
            let alone = levels.levels.iter().filter_map(|level| level.get()?.ways.get()?.as_ref());
            let together = levels.spans.iter().flatten().filter_map(|span| span.get()?.as_ref());
            let bytes: usize = alone.chain(together).map(NearlyShortest::bytes).sum();
            let trees = levels.homeward.lock().unwrap_or_else(PoisonError::into_inner);
            let bytes = bytes + trees.values().map(|ways| ways.bytes()).sum::<usize>();
            let most_bytes = RoundLevels::most_bytes(&site);
            assert!(bytes < most_bytes && most_bytes < 6 * bytes, "{seed}: {bytes} {most_bytes}");
        }
        assert!(told > 300 && bent > 100 && told_of_small > 200, "{told} {bent} {told_of_small}");
    }
}
