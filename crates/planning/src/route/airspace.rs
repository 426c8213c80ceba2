//! Ways through the air: over or round what stands, above the ground, outside the keep-outs.

use super::level_paths::{Grown, LevelPath, LevelPaths, MOST_ROUND, WholeBlocks};
use super::sections::names_entered;
use crate::base::choice::EQUAL_RATIO;
use crate::geometry::growth::CUT_RATIO;
use crate::geometry::polygon::{distance_m, nearest_on, sides};
use crate::ground::{Obstacle, SiteOutline};
use crate::route::{Leg, LegKind};
use crate::scenario::Terrain;
use glam::{DVec2, DVec3, FloatExt};
use std::cell::OnceCell;

/// A metre of climb costs as much as this many metres on the level. Common practice, no source.
pub(super) const CLIMB_COST: f64 = 3.0;

/// Ends keep this share of the room they have: a way from a place near a wall may be as near as that place.
pub(super) const ROOM_KEPT: f64 = 0.999;

/// Distance between the places beside a deck that are tried for the way out from below it.
const BESIDE_STEP_M: f64 = 5.0;

/// Levels that differ by less are one.
pub(super) const LEVEL_M: f64 = 1e-7;

/// Lower than this above the ground is on the ground.
const ON_GROUND_M: f64 = 0.5;

/// Most tries of a way round solids: one for each, and as many for rising over the ground.
const MOST_STEPS: usize = 3 * MOST_ROUND;

/// What can be flown through, and how far from things.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Airspace<'a> {
    pub(crate) site: &'a SiteOutline,
    /// Kept from structures and ground.
    pub(crate) clearance_m: f64,
}

impl Airspace<'_> {
    /// A way from place to place, level but for upright climbs and descents: corners with both ends included.
    ///
    /// It keeps the clearance from structures and from the ground, less only where an end itself is nearer. Nothing when
    /// there is none.
    pub(crate) fn way(&self, from: DVec3, to: DVec3) -> Option<Vec<DVec3>> {
        self.way_by(from, to, &mut LevelPaths::default())
    }

    /// As [`Airspace::way`], with what was found out about other ways through this airspace.
    pub(crate) fn way_by(&self, from: DVec3, to: DVec3, paths: &mut LevelPaths) -> Option<Vec<DVec3>> {
        debug_assert!(paths.keeps(self.clearance_m), "paths of another clearance");
        if self.site.solid_at(from).or(self.site.solid_at(to)).is_some() {
            return None;
        }
        if self.is_upright_and_free(from, to) {
            return Some(vec![from, to]);
        }
        if let Some(way) = self.way_below(from, to, paths) {
            return Some(way);
        }
        let (from_open, to_open) = (self.out_from_below(from, paths)?, self.out_from_below(to, paths)?);
        let (a, b) = (from_open.last().copied().unwrap_or(from), to_open.last().copied().unwrap_or(to));
        let level = self.level_way(a, b, paths)?;
        let mut way = vec![from];
        way.extend(from_open);
        way.extend(level);
        way.extend(to_open.into_iter().rev().chain([to]));
        way.dedup();
        Some(way)
    }

    /// What is to be found out about many ways to a place or from it. Among keep-outs each way is found by itself.
    pub(crate) fn paths_about(&self, at_m: DVec2) -> LevelPaths {
        if !self.site.fences.is_empty() {
            return LevelPaths::default();
        }
        LevelPaths::about(at_m, self.clearance_m, WholeBlocks::new(self.whole_m()))
    }

    /// What is to be found out about ways from anywhere to anywhere, sharing with others what these know of what stands.
    pub(crate) fn paths_among(&self, others: &LevelPaths) -> LevelPaths {
        debug_assert!(others.keeps(self.clearance_m), "paths of another clearance");
        LevelPaths::among(others.whole_blocks())
    }

    /// By how much an obstacle is grown whose clearance is kept whole.
    fn whole_m(&self) -> f64 {
        grown_m(ROOM_KEPT * self.clearance_m, 0.0)
    }

    /// Whether two places outside everything lie right above each other in the open: then nothing is nearer to the line
    /// between them than to one of them.
    fn is_upright_and_free(&self, from: DVec3, to: DVec3) -> bool {
        let (at, lower, upper) = (from.truncate(), from.z.min(to.z), from.z.max(to.z));
        at == to.truncate()
            && lower < upper
            && upper >= self.site.terrain.height_m(at) + ON_GROUND_M
            && self.covering(from.with_z(lower)).is_none()
            && self.site.fences.entered(at, at).is_none()
    }

    /// What stands between two places, for a sentence: keep-outs and structures on the straight line, by name.
    pub(crate) fn in_the_way(&self, from: DVec3, to: DVec3) -> String {
        let line = (from.truncate(), to.truncate());
        let mut found: Vec<String> = names_entered(self.site, &[line]).into_iter().collect();
        let level = [from, to].map(|end| end.with_z(from.z.max(to.z)));
        found.extend(self.too_near(&level, self.clearance_m).map(|name| format!("\"{name}\"")));
        if found.is_empty() { "keep-outs, structures and ground".to_owned() } else { found.join(" and ") }
    }

    /// The level way between places of one height of which one lies below something.
    fn way_below(&self, from: DVec3, to: DVec3, paths: &mut LevelPaths) -> Option<Vec<DVec3>> {
        if !one_level(from.z, to.z) || (self.covering(from).is_none() && self.covering(to).is_none()) {
            return None;
        }
        self.going_round((from, to), from.z, f64::INFINITY, paths)
            .filter(|way| way.iter().all(|p| one_level(p.z, from.z)))
    }

    /// Climb, level, descend, between places that have nothing above them.
    fn level_way(&self, from: DVec3, to: DVec3, paths: &mut LevelPaths) -> Option<Vec<DVec3>> {
        let (ends, lowest_z) = ((from, to), from.z.max(to.z));
        let mut path = self.path_round(&[], ends, f64::INFINITY, paths)?;
        let path_z = self.raised_over_ground(&mut path, ends, lowest_z);
        let is_over_all = lowest_z >= self.site.highest_z_m + self.clearance_m;
        if is_over_all || self.top_of_entered(&mut path, ends, path_z).is_none() {
            return Some(at_level(from, to, path.corners(), path_z));
        }
        let over = self.going_over(path, ends, path_z);
        let round = self.going_round(ends, lowest_z, cost_m(over.iter().copied()), paths);
        [round, Some(over)].into_iter().flatten().min_by(|p, q| {
            let [p, q] = [p, q].map(|way| cost_m(way.iter().copied()));
            p.total_cmp(&q)
        })
    }

    /// Round whatever stands in the way at that level; nothing, too, where that costs more than another way.
    fn going_round(
        &self,
        (from, to): (DVec3, DVec3),
        lowest_z: f64,
        other_m: f64,
        paths: &mut LevelPaths,
    ) -> Option<Vec<DVec3>> {
        let (mut known, mut round) = (Vec::new(), Vec::new());
        let mut z = lowest_z;
        for _ in 0..MOST_STEPS {
            let mut path = self.path_round(&round, (from, to), other_m + 1.0, paths)?;
            let raised_z = self.raised_over_ground(&mut path, (from, to), z);
            // more in the way makes the way longer or higher, but for the room left at corners
            if cost_m(corners_at_level(from, to, path.corners(), raised_z)) > other_m + 1.0 {
                return None;
            }
            // higher up what is gone round is wider or narrower
            if raised_z > z && !known.is_empty() {
                z = raised_z;
                round = known.iter().filter_map(|k| self.grown(*k, z, (from, to))).collect();
                continue;
            }
            z = raised_z;
            match self.first_in_the_way(&mut path, (from, to), z, &known) {
                None => return Some(at_level(from, to, path.corners(), z)),
                Some(_) if known.len() >= MOST_ROUND => return None,
                Some(new) => {
                    known.push(new.obstacle);
                    round.push(new);
                }
            }
        }
        None
    }

    /// Over whatever stands in the way of a path at a level.
    fn going_over(&self, mut path: LevelPath<'_>, ends: (DVec3, DVec3), path_z: f64) -> Vec<DVec3> {
        let mut z = path_z;
        while let Some(blocked_z) = self.top_of_entered(&mut path, ends, z) {
            z = blocked_z;
        }
        at_level(ends.0, ends.1, path.corners(), z)
    }

    /// From which level on a path at a level passes over whatever it enters; nothing where it enters nothing.
    fn top_of_entered(&self, path: &mut LevelPath<'_>, ends: (DVec3, DVec3), z: f64) -> Option<f64> {
        let top_z = |entered: Grown| self.site.obstacles[entered.obstacle].top_z_m + self.clearance_m;
        self.entered(path, ends, z, &[]).map(top_z).reduce(f64::max)
    }

    /// The path on the level round keep-outs and grown obstacles, unless it is longer than that.
    fn path_round<'k>(
        &self,
        round: &[Grown],
        (from, to): (DVec3, DVec3),
        most_m: f64,
        paths: &'k mut LevelPaths,
    ) -> Option<LevelPath<'k>> {
        let ends = (from.truncate(), to.truncate());
        let rings = (self.site.obstacles.len(), |grown: &Grown| self.ring_of(*grown));
        let fences = &self.site.fences;
        paths.path(ends, round, most_m, rings, |blocks, tangents| fences.way(ends, blocks, tangents, most_m))
    }

    /// The first obstacle that a path at a level enters, of those not known.
    fn first_in_the_way(
        &self,
        path: &mut LevelPath<'_>,
        ends: (DVec3, DVec3),
        z: f64,
        known: &[usize],
    ) -> Option<Grown> {
        self.entered(path, ends, z, known).next()
    }

    /// The obstacles that a path at a level enters, of those not known, grown to what is to be gone round for them.
    fn entered<'k>(
        &'k self,
        path: &'k mut LevelPath<'_>,
        ends: (DVec3, DVec3),
        z: f64,
        known: &'k [usize],
    ) -> impl Iterator<Item = Grown> + 'k {
        let obstacles = &self.site.obstacles;
        let is_near = |k: &usize, a: DVec2, b: DVec2| !self.far(&obstacles[*k], &[a, b]);
        let near = path.near(|a, b| (0..obstacles.len()).filter(|k| is_near(k, a, b)).collect()).to_vec();
        let in_reach = move |k: &usize| z < obstacles[*k].top_z_m + self.clearance_m && !known.contains(k);
        let grown = near.into_iter().filter(in_reach).filter_map(move |k| self.grown(k, z, ends));
        grown.filter(move |grown| {
            let ring = OnceCell::new();
            let ring = || ring.get_or_init(|| self.ring_of(*grown));
            path.enters(*grown, grown.by_m == self.whole_m(), |a, b| within(ring(), a, b).is_some())
        })
    }

    /// What a way goes round for an obstacle that no end of it is near to.
    pub(super) fn grown_whole(&self, obstacle: usize) -> Vec<DVec2> {
        self.ring_of(Grown { obstacle, by_m: self.whole_m() })
    }

    fn ring_of(&self, grown: Grown) -> Vec<DVec2> {
        self.site.obstacles[grown.obstacle].growth().by(grown.by_m)
    }

    /// What a way at a level goes round: an obstacle with the clearance round it, less where an end is nearer. Nothing where
    /// the level is above or below it, clearances included.
    fn grown(&self, k: usize, z: f64, (from, to): (DVec3, DVec3)) -> Option<Grown> {
        let obstacle = &self.site.obstacles[k];
        if !self.blocks(obstacle, z, from, to) {
            return None;
        }
        let below_m = (obstacle.bottom_z_m - z).max(0.0);
        let kept_m = ROOM_KEPT * self.room_at_ends_m(obstacle, below_m, from, to);
        Some(Grown { obstacle: k, by_m: grown_m(kept_m, below_m) })
    }

    /// From which level on ways pass over an obstacle.
    pub(super) fn passed_over_z_m(&self, obstacle: &Obstacle) -> f64 {
        obstacle.top_z_m + self.clearance_m - 1e-9
    }

    /// Whether a level is among an obstacle's heights, clearances included; below it, less where an end is nearer.
    fn blocks(&self, obstacle: &Obstacle, z: f64, from: DVec3, to: DVec3) -> bool {
        if z >= self.passed_over_z_m(obstacle) {
            return false;
        }
        let below_m = obstacle.bottom_z_m - z;
        below_m <= 0.0
            || below_m < self.clearance_m
                && below_m < ROOM_KEPT * self.room_at_ends_m(obstacle, below_m, from, to)
    }

    /// The clearance, less where an end of a way is nearer; for a level below an obstacle, how far an end is below it
    /// counts as well.
    fn room_at_ends_m(&self, obstacle: &Obstacle, below_m: f64, from: DVec3, to: DVec3) -> f64 {
        let room_m = |end: DVec3| {
            let aside_m = obstacle.growth().room_m(end.truncate(), self.clearance_m);
            let down_m = if below_m > 0.0 { (obstacle.bottom_z_m - end.z).max(0.0) } else { 0.0 };
            aside_m.hypot(down_m)
        };
        self.clearance_m.min(room_m(from)).min(room_m(to))
    }

    /// Whether a place, seen from above, is nearer to an obstacle than the clearance.
    fn beside(&self, obstacle: &Obstacle, at: DVec3) -> bool {
        distance_m(&obstacle.ring_m, at.truncate()) < self.clearance_m * ROOM_KEPT
    }

    /// Whether a path is so far from an obstacle that the clearance cannot matter: the quick answer for most.
    pub(super) fn far(&self, obstacle: &Obstacle, path: &[DVec2]) -> bool {
        path.windows(2).all(|pair| {
            obstacle.growth().surely_clear_of((pair[0], pair[1]), self.clearance_m)
                || lies_far(&obstacle.ring_m, self.clearance_m, pair[0], pair[1])
        })
    }

    /// The level raised so that a path keeps the clearance from the ground, less where an end is lower; places on the
    /// ground ask for the whole of it.
    fn raised_over_ground(&self, path: &mut LevelPath<'_>, (from, to): (DVec3, DVec3), z: f64) -> f64 {
        let terrain = &self.site.terrain;
        let room = |at: DVec3| {
            let above = at.z - terrain.height_m(at.truncate());
            if above < ON_GROUND_M { self.clearance_m } else { above }
        };
        let keep_m = self.clearance_m.min(room(from)).min(room(to));
        if z >= terrain.ceiling_m() + keep_m {
            return z;
        }
        // What is raised by rounding alone is not raised.
        let raised_z = z + LEVEL_M;
        let highest = |a: DVec2, b: DVec2, matters_m: f64| highest_ground_over_m(terrain, &[a, b], matters_m);
        let floor_z = path.highest_ground_m(raised_z - keep_m, highest) + keep_m;
        if floor_z > raised_z { floor_z } else { z }
    }

    /// From a place below something, the places to go through until nothing is above; none when nothing is.
    fn out_from_below(&self, at: DVec3, paths: &mut LevelPaths) -> Option<Vec<DVec3>> {
        let mut way: Vec<DVec3> = Vec::new();
        let mut here = at;
        for _ in 0..4 {
            let Some(cover) = self.covering(here) else { return Some(way) };
            let out = self.nearest_way_out(here, cover, paths)?;
            here = *out.last()?;
            way.extend(out);
        }
        self.covering(here).is_none().then_some(way)
    }

    pub(super) fn covering(&self, at: DVec3) -> Option<&Obstacle> {
        self.site.obstacles.iter().find(|o| o.bottom_z_m >= at.z && self.beside(o, at))
    }

    /// The nearest way from below an obstacle to the open, level: to a place beside it that has the clearance from
    /// everything else and from the ground, or as much as there is at the start.
    fn nearest_way_out(&self, at: DVec3, cover: &Obstacle, paths: &mut LevelPaths) -> Option<Vec<DVec3>> {
        let outline = cover.growth().by(self.clearance_m);
        let start = at.truncate();
        let feet = sides(&outline).map(|(a, b)| nearest_on(a, b, start));
        let mut places: Vec<DVec2> = feet.chain(sides(&outline).flat_map(|(a, b)| along(a, b))).collect();
        places.sort_by(|p, q| p.distance(start).total_cmp(&q.distance(start)));
        // Of places as far away but for rounding the one nearest to the take-off point comes first.
        let far = EQUAL_RATIO * self.site.size_m;
        for alike in places.chunk_by_mut(|p, q| q.distance(start) - p.distance(start) <= far) {
            let home = self.site.take_off_m;
            alike.sort_by(|p, q| p.distance(home).total_cmp(&q.distance(home)));
        }
        let room = |p: DVec2| at.z - self.site.terrain.height_m(p);
        let keep_m = self.clearance_m.min(room(start)) - 1e-9;
        let others: Vec<(&Obstacle, f64)> = self
            .site
            .obstacles
            .iter()
            .filter(|other| !std::ptr::eq(*other, cover) && self.blocks(other, at.z, at, at))
            .map(|other| {
                (other, self.clearance_m.min(other.growth().room_m(start, self.clearance_m)) * ROOM_KEPT)
            })
            .collect();
        let free = |place: &DVec2| {
            room(*place) >= keep_m
                && others.iter().all(|(other, keep_m)| other.growth().room_m(*place, *keep_m) >= *keep_m)
        };
        places.into_iter().filter(free).find_map(|place| {
            let way = self.going_round((at, place.extend(at.z)), at.z, f64::INFINITY, paths)?;
            // Below something there is no climbing.
            way.iter().all(|p| one_level(p.z, at.z)).then(|| way[1..].to_vec())
        })
    }

    /// Name of the first structure that a line comes nearer to than a clearance.
    pub(crate) fn too_near(&self, corners: &[DVec3], clearance_m: f64) -> Option<&str> {
        let near = |obstacle: &&Obstacle| {
            corners.windows(2).any(|pair| enters(obstacle, clearance_m, pair[0], pair[1]))
        };
        let found = self.site.obstacles.iter().find(near)?;
        Some(&self.site.structures[found.structure].name)
    }

    /// Least height of a line above the ground.
    pub(crate) fn least_above_ground_m(&self, corners: &[DVec3]) -> f64 {
        let terrain = &self.site.terrain;
        let mut least_m = f64::INFINITY;
        for pair in corners.windows(2) {
            terrain.each_height(pair[0].truncate(), pair[1].truncate(), |share, ground_z| {
                least_m = least_m.min(pair[0].z.lerp(pair[1].z, share) - ground_z);
            });
        }
        least_m
    }

    /// Whether a line enters a keep-out.
    pub(crate) fn keep_out_on(&self, corners: &[DVec3]) -> bool {
        let enters =
            |pair: &[DVec3]| self.site.fences.entered(pair[0].truncate(), pair[1].truncate()).is_some();
        corners.windows(2).any(enters)
    }
}

/// By how much an outline is grown at a level so far below it that so much room is kept.
pub(super) fn grown_m(kept_m: f64, below_m: f64) -> f64 {
    (kept_m * kept_m - below_m * below_m).max(0.0).sqrt()
}

/// Upright to a level, along a path at it, upright down.
fn at_level(from: DVec3, to: DVec3, path: &[DVec2], z: f64) -> Vec<DVec3> {
    let mut way = Vec::with_capacity(path.len() + 2);
    way.extend(corners_at_level(from, to, path, z));
    way.dedup();
    way
}

/// The same corner by corner, those of an end that is at the level twice.
fn corners_at_level(from: DVec3, to: DVec3, path: &[DVec2], z: f64) -> impl Iterator<Item = DVec3> {
    let raised = |end: DVec3| if one_level(end.z, z) { end } else { end.with_z(z) };
    let between = path.get(1..path.len() - 1).unwrap_or_default().iter().map(move |at| at.extend(z));
    [from, raised(from)].into_iter().chain(between).chain([raised(to), to])
}

fn one_level(a: f64, b: f64) -> bool {
    (a - b).abs() <= LEVEL_M
}

/// What a way costs, by its corners: its level length, and its climbs and descents as so much more of that.
fn cost_m(mut corners: impl Iterator<Item = DVec3>) -> f64 {
    let Some(mut here) = corners.next() else { return 0.0 };
    let mut cost_m = 0.0;
    for next in corners {
        let way = next - std::mem::replace(&mut here, next);
        cost_m += way.truncate().length() + CLIMB_COST * way.z.abs();
    }
    cost_m
}

/// Highest ground below a path.
pub(crate) fn highest_ground_m(terrain: &Terrain, path: &[DVec2]) -> f64 {
    let mut highest_m = path.first().map_or(f64::NEG_INFINITY, |at| terrain.height_m(*at));
    for pair in path.windows(2) {
        terrain.each_height(pair[0], pair[1], |_, ground_z| highest_m = highest_m.max(ground_z));
    }
    highest_m
}

/// The same where it is higher than something; else some height no greater than that.
///
/// Stretches of the path whose blocks of the grid have no higher node are not walked; of the others the one with the highest
/// comes first, so that few have to be.
fn highest_ground_over_m(terrain: &Terrain, path: &[DVec2], matters_m: f64) -> f64 {
    let Terrain::Grid(grid) = terrain else { return highest_ground_m(terrain, path) };
    let longest_m = STRETCH_STEPS * grid.spacing_m().min_element();
    // a height between nodes may be above theirs by rounding
    let level_m = |highest_m: f64| matters_m.max(highest_m) - LEVEL_M;
    let mut stretches: Vec<(f64, [DVec2; 2])> = Vec::new();
    for pair in path.windows(2) {
        let parts = (pair[0].distance(pair[1]) / longest_m).ceil().max(1.0);
        let at = |k: u32| pair[0].lerp(pair[1], f64::from(k) / parts);
        for stretch in (0..parts as u32).map(|k| [at(k), at(k + 1)]) {
            let top_m = grid.top_near_m(stretch[0].min(stretch[1]), stretch[0].max(stretch[1]));
            if top_m > level_m(f64::NEG_INFINITY) {
                stretches.push((top_m, stretch));
            }
        }
    }
    stretches.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
    let mut highest_m = f64::NEG_INFINITY;
    for (top_m, stretch) in stretches {
        if top_m <= level_m(highest_m) {
            break;
        }
        let [low, high] = [stretch[0].min(stretch[1]), stretch[0].max(stretch[1])];
        if grid.highest_in_m(low, high) > level_m(highest_m) {
            highest_m = highest_m.max(highest_ground_m(terrain, &stretch));
        }
    }
    highest_m
}

/// Steps of the grid that are walked or left out together.
const STRETCH_STEPS: f64 = 8.0;

/// Legs along a way: upright ones at the vertical speeds, the others at the level one.
pub(crate) fn legs_along(
    way: &[DVec3],
    kind: LegKind,
    airframe: &crate::scenario::Airframe,
) -> impl ExactSizeIterator<Item = Leg> {
    way.windows(2).map(move |pair| {
        let rise = pair[1].z - pair[0].z;
        let (kind, speed_mps) = if pair[0].truncate() != pair[1].truncate() {
            (kind, airframe.top_speed_mps)
        } else if rise > 0.0 {
            (LegKind::Climb, airframe.climb_mps)
        } else {
            (LegKind::Descent, airframe.descent_mps)
        };
        Leg::straight(kind, pair[0], pair[1], speed_mps)
    })
}

/// Places along a side.
fn along(a: DVec2, b: DVec2) -> impl Iterator<Item = DVec2> {
    let steps = (a.distance(b) / BESIDE_STEP_M).ceil().max(1.0) as u32;
    (0..steps).map(move |k| a.lerp(b, f64::from(k) / f64::from(steps)))
}

/// Whether a convex ring, grown by a clearance, lies all on one side of a segment, before its start or after its end.
pub(super) fn lies_far(ring: &[DVec2], clearance_m: f64, a: DVec2, b: DVec2) -> bool {
    let (way, room_m) = (b - a, CUT_RATIO * clearance_m.max(0.0));
    let length = way.length();
    let (room, reach) = (room_m * length, length * length);
    let (mut left, mut right, mut before, mut after) = (true, true, true, true);
    for &corner in ring {
        let (across, along) = (way.perp_dot(corner - a), way.dot(corner - a));
        left &= across > room;
        right &= across < -room;
        before &= along < -room;
        after &= along > reach + room;
    }
    length > 0.0 && (left || right || before || after)
}

/// The share of a segment, from and to, that lies inside a convex counter-clockwise ring.
pub(crate) fn within(convex: &[DVec2], a: DVec2, b: DVec2) -> Option<(f64, f64)> {
    let way = b - a;
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for (p, q) in sides(convex) {
        let outward = -(q - p).perp().normalize_or_zero();
        // How far outside the side the segment's start is, and how fast it leaves.
        let (out, rate) = ((a - p).dot(outward), way.dot(outward));
        if rate == 0.0 {
            if out >= 0.0 {
                return None;
            }
        } else if rate < 0.0 {
            low = low.max(out / -rate);
        } else {
            high = high.min(-out / rate);
        }
    }
    (high - low > 1e-9 / way.length().max(1e-3)).then_some((low, high))
}

/// Whether a segment comes into a solid with a clearance round it.
fn enters(obstacle: &Obstacle, clearance_m: f64, a: DVec3, b: DVec3) -> bool {
    let (bottom, top) = (obstacle.bottom_z_m - clearance_m, obstacle.top_z_m + clearance_m);
    if a.z.max(b.z) <= bottom || a.z.min(b.z) >= top {
        return false;
    }
    if lies_far(&obstacle.ring_m, clearance_m, a.truncate(), b.truncate()) {
        return false;
    }
    let ring = obstacle.growth().by(clearance_m);
    if a.truncate() == b.truncate() {
        return crate::geometry::polygon::contains(&ring, a.truncate());
    }
    within(&ring, a.truncate(), b.truncate()).is_some_and(|(low, high)| {
        let (z, w) = (a.lerp(b, low).z, a.lerp(b, high).z);
        z.max(w) > bottom && z.min(w) < top
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::growth::GrowingRing;

    fn square() -> Vec<DVec2> {
        [(0., 0.), (10., 0.), (10., 10.), (0., 10.)].map(DVec2::from).to_vec()
    }

    /// Derived: the offsets of the sides are exact, and corners lie at least the clearance outside.
    #[test]
    fn a_grown_square() {
        let ring = GrowingRing::of(&square()).by(2.0);
        assert_eq!(ring.len(), 8);
        let reach = ring.iter().map(|p| p.x).fold(0.0, f64::max);
        assert!((reach - 12.0).abs() < 1e-9);
        let corner = ring.iter().map(|p| distance_m(&square(), *p)).fold(f64::INFINITY, f64::min);
        assert!(corner >= 2.0 - 1e-9);
        assert!(ring.iter().all(|p| distance_m(&square(), *p) < 2.0 * 1.1));
    }

    /// Derived: what is grown by nothing is as it was, so that a line through a solid is told without a clearance, too.
    #[test]
    fn a_line_through_a_solid_is_told_without_a_clearance() {
        assert_eq!(GrowingRing::of(&square()).by(0.0), square());
        let site = canopy();
        let airspace = Airspace { site: &site, clearance_m: 0.0 };
        let line = |z: f64| [DVec3::new(-80.0, 0.0, z), DVec3::new(80.0, 0.0, z)];
        assert_eq!(airspace.too_near(&line(4.0), 0.0), Some("Solid 2"));
        assert_eq!(airspace.too_near(&line(9.0), 0.0), Some("Solid 1"));
        assert_eq!(airspace.too_near(&line(10.5), 0.0), None);
    }

    /// Derived: a ring grown by the room of a place passes through that place.
    #[test]
    fn room_is_where_the_grown_ring_passes() {
        for at in [DVec2::new(13., 4.), DVec2::new(12., 13.), DVec2::new(-3., -1.)] {
            let growth = GrowingRing::of(&square());
            let room = growth.room_m(at, f64::INFINITY);
            assert!(!crate::geometry::polygon::contains(&growth.by(room * 0.999), at));
            assert!(crate::geometry::polygon::contains(&growth.by(room * 1.001), at));
            assert!(growth.room_m(at, room / 2.0) >= room / 2.0);
        }
        assert_eq!(GrowingRing::of(&square()).room_m(DVec2::new(5., 5.), f64::INFINITY), 0.0);
    }

    /// A canopy of 60 m by 20 m, its soffit 8 m up, on one pillar.
    fn canopy() -> SiteOutline {
        use crate::base::Id;
        use crate::scenario::{Site, Structure, StructureKind};
        let ring = |x: f64, y: f64| [(-x, -y), (x, -y), (x, y), (-x, y)].map(DVec2::from).to_vec();
        let solid = |id: u32, footprint_m: Vec<DVec2>, height_m: f64| Structure {
            id: Id(id),
            name: format!("Solid {id}"),
            footprint_m,
            kind: StructureKind::Extrusion { height_m },
        };
        let site = Site {
            name: "Test".to_owned(),
            origin: None,
            boundary_m: ring(100.0, 100.0),
            take_off_m: DVec2::new(0.0, -90.0),
            terrain: Terrain::default(),
            structures: vec![solid(1, ring(30.0, 10.0), 10.0), solid(2, ring(1.0, 1.0), 8.0)],
            typical_building: None,
            keep_outs: Vec::new(),
            control_points: Vec::new(),
            sample_spacing_m: None,
        };
        let mut outline = SiteOutline::new(&site).expect("sound");
        outline.structures[0].soffit_z_m = Some(8.0);
        outline.obstacles[0].bottom_z_m = 8.0;
        outline
    }

    /// Derived: from the ground far off to a place below a canopy and back the way leaves the canopy on the level, climbs
    /// outside it and meets neither it nor its pillar; so does the way from there to a place above the canopy.
    #[test]
    fn ways_to_and_from_below_a_canopy() {
        let site = canopy();
        let airspace = Airspace { site: &site, clearance_m: 10.0 };
        let below = DVec3::new(5.0, 2.0, 4.0);
        let places =
            [DVec3::new(0.0, -90.0, 0.0), DVec3::new(-20.0, -5.0, 30.0), DVec3::new(0.0, 90.0, 12.0)];
        for place in places {
            for (from, to) in [(place, below), (below, place)] {
                let way = airspace.way(from, to).expect("there is a way");
                assert_eq!((way[0], way[way.len() - 1]), (from, to));
                assert_eq!(airspace.too_near(&way, 0.9), None, "{way:?}");
                let upright =
                    |pair: &[DVec3]| pair[0].z == pair[1].z || pair[0].truncate() == pair[1].truncate();
                assert!(way.windows(2).all(upright), "{way:?}");
            }
        }
        // Below it from one side of the pillar to the other nothing has to come out.
        let way = airspace.way(DVec3::new(-12.0, 0.0, 4.0), DVec3::new(12.0, 0.0, 4.0)).expect("round");
        assert!(way.iter().all(|p| p.z == 4.0 && p.y.abs() < 14.0), "{way:?}");
        // The soffit is 4 m above.
        assert_eq!(airspace.too_near(&way, 3.9), None);
    }

    #[test]
    fn a_segment_is_cut_by_a_convex_ring() {
        let cut = within(&square(), DVec2::new(-10., 5.), DVec2::new(30., 5.));
        assert_eq!(cut, Some((0.25, 0.5)));
        assert_eq!(within(&square(), DVec2::new(-10., 10.), DVec2::new(30., 10.)), None);
    }

    proptest::proptest! {
        /// Derived: what is surely clear of a ring with a clearance round it is not cut by that ring, wherever it runs.
        #[test]
        fn what_is_surely_clear_is_not_cut(
            a in (-60.0..60.0_f64, -60.0..60.0_f64), b in (-60.0..60.0_f64, -60.0..60.0_f64), clearance_m in 0.0..25.0_f64,
        ) {
            let (growth, a, b) = (GrowingRing::of(&square()), DVec2::from(a), DVec2::from(b));
            let cut = within(&growth.by(clearance_m), a, b).is_some();
            proptest::prop_assert!(!(cut && growth.surely_clear_of((a, b), clearance_m)));
            // A place within the clearance of the middle is not said to be clear.
            proptest::prop_assert!(!growth.surely_clear_of((DVec2::splat(5.0), b), clearance_m));
        }
    }

    proptest::proptest! {
        /// Derived: where a path's ground is higher than what matters, leaving out low stretches finds the same height as
        /// walking all of it; else one that is no higher.
        #[test]
        fn low_stretches_are_left_out_and_no_other(
            from in (-30.0..190.0_f64, -30.0..190.0_f64), by in (-30.0..190.0_f64, -30.0..190.0_f64),
            to in (-30.0..190.0_f64, -30.0..190.0_f64), matters_m in -12.0..12.0_f64,
        ) {
            let heights: Vec<f64> = (0..31 * 27)
                .map(|k| (f64::from(k % 31), f64::from(k / 31)))
                .map(|(x, y)| 9.0 * ((x * 0.7).sin() * (y * 0.5).cos()) + (x * 1.9 + y).sin())
                .collect();
            let spacing_m = DVec2::new(5.3, 6.1);
            let grid = crate::geometry::TerrainGrid::from_heights_m(DVec2::ZERO, spacing_m, (31, 27), &heights);
            let terrain = Terrain::Grid(std::sync::Arc::new(grid.expect("within the limits")));
            let path = [from, by, to].map(DVec2::from);
            let (all_m, over_m) =
                (highest_ground_m(&terrain, &path), highest_ground_over_m(&terrain, &path, matters_m));
            if all_m > matters_m {
                proptest::prop_assert!((all_m - over_m).abs() < 1e-9, "{} {}", all_m, over_m); // rounding
            } else {
                proptest::prop_assert!(over_m <= matters_m + 1e-9, "{} {}", over_m, matters_m);
            }
        }
    }
}
