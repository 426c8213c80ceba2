//! Ways round what nothing flies through, on the level.

mod homeward;
mod level;
mod lines;
mod nearly_shortest;
mod search;
mod slim;
mod tangents;

pub(crate) use self::homeward::Homeward;
use self::level::Level;
use self::lines::{Line, Lines};
pub(crate) use self::nearly_shortest::{LooseRing, NearlyShortest};
pub(crate) use self::search::clear_of;
use self::search::{Found, Search};
pub(crate) use self::tangents::Tangents;
use crate::geometry::polygon::{contains, merged, sides, signed_area_m2, without};
use glam::DVec2;
use std::sync::{Arc, OnceLock};

/// Less deep inside an outline is touching it, not entering it.
const TOUCHED_M: f64 = 0.005;

/// How far outside an outline it is passed.
const PASSED_M: f64 = 0.01;

/// Outlines may be passed farther outside so that ways round them have fewer corners: by the first of these distances that
/// leaves few enough, each corner being a stop and a turn. Where that leaves no way the finer ones are tried as well.
const TOLERANCES_M: [f64; 5] = [0.5, 1.0, 2.0, 4.0, 8.0];

/// Of the way from the middle of a convex ring's box to the nearest side, so much is well inside.
const INNER_RATIO: f64 = 0.9;

/// Room for rounding in lengths and their squares.
const SURELY_RATIO: f64 = 1.0 + 1e-9;

/// Corners that are few enough.
const FEW_BENDS: usize = 256;

/// Outlines that nothing flies into, made ready for asking again and again.
///
/// What is found out is kept and shared by all copies.
#[derive(Clone)]
pub(crate) struct Fences(Arc<KeptFences>);

struct KeptFences {
    rings: Vec<Ring>,
    /// Of all outlines.
    sides: Lines,
    /// What decides between corners that are alike.
    near_m: DVec2,
    /// The coarser ones that are used, the coarsest first.
    levels: OnceLock<Vec<Level>>,
    /// With all corners; asked for where the others leave no way.
    finest: OnceLock<Level>,
}

/// A counter-clockwise outline.
#[derive(Debug, Clone, PartialEq)]
struct Ring {
    corners_m: Vec<DVec2>,
    low_m: DVec2,
    high_m: DVec2,
    /// Of its box.
    middle_m: DVec2,
    /// Of the circle about its box.
    radius_m: f64,
}

impl Ring {
    fn new(outline_m: &[DVec2]) -> Self {
        let mut corners_m = outline_m.to_vec();
        if signed_area_m2(&corners_m) < 0.0 {
            corners_m.reverse();
        }
        let low_m = corners_m.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let high_m = corners_m.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        let (middle_m, radius_m) = (low_m.midpoint(high_m), low_m.distance(high_m) / 2.0);
        Ring { corners_m, low_m, high_m, middle_m, radius_m }
    }

    fn holds(&self, at: DVec2) -> bool {
        at.cmpge(self.low_m).all() && at.cmple(self.high_m).all() && contains(&self.corners_m, at)
    }

    /// Whether a segment may meet the ring: the box about it the one about the ring, its line the circle about that.
    fn may_meet(&self, a: DVec2, b: DVec2) -> bool {
        let meets_box = a.max(b).cmpge(self.low_m).all() && a.min(b).cmple(self.high_m).all();
        let (way, to_middle) = (b - a, self.middle_m - a);
        let across = way.perp_dot(to_middle);
        meets_box && across * across <= self.radius_m * self.radius_m * way.length_squared() * SURELY_RATIO
    }
}

/// A convex ring that a way goes round for once, made ready for it.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    ring: Ring,
    /// Of a circle about the middle of the ring's box, well inside the ring.
    inner_m: f64,
    bends: Vec<level::Bend>,
    /// Its index, where it is one of those of [`Tangents`].
    tangents: Option<usize>,
}

impl Block {
    /// Of a convex counter-clockwise ring.
    pub(crate) fn new(ring_m: &[DVec2]) -> Self {
        let ring = Ring::new(ring_m);
        let bends = level::Bend::about(&ring.corners_m);
        Block { inner_m: INNER_RATIO * inside_m(&ring), bends, ring, tangents: None }
    }

    /// By how much a way along it turns at a corner at most.
    pub(crate) fn sharpest_rad(&self) -> f64 {
        self.bends.iter().map(level::Bend::turns_rad).fold(0.0, f64::max)
    }
}

/// How far the middle of a convex counter-clockwise ring's box is from all of its sides; 0 outside.
fn inside_m(ring: &Ring) -> f64 {
    let left_m = |(a, b): (DVec2, DVec2)| (b - a).normalize_or_zero().perp_dot(ring.middle_m - a);
    let sides = sides(&ring.corners_m).filter(|(a, b)| a != b);
    sides.map(left_m).fold(f64::INFINITY, f64::min).max(0.0)
}

impl Fences {
    /// Fences along some outlines, seen from a place: the take-off point.
    pub(crate) fn new<'o>(outlines_m: impl Iterator<Item = &'o [DVec2]>, near_m: DVec2) -> Self {
        let rings: Vec<Ring> = outlines_m.map(Ring::new).collect();
        let of_ring = |(ring, of): (usize, &Ring)| {
            let line = |(from_m, to_m)| Line { from_m, to_m, room_m: TOUCHED_M, ring };
            sides(&of.corners_m).map(line).collect::<Vec<_>>()
        };
        let sides = rings.iter().enumerate().flat_map(of_ring).collect();
        Fences(Arc::new(KeptFences {
            rings,
            sides: Lines::new(sides),
            near_m,
            levels: OnceLock::new(),
            finest: OnceLock::new(),
        }))
    }

    /// Whether there are none.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.rings.is_empty()
    }

    /// Memory that they take once all is found out, about.
    pub(crate) fn bytes(&self) -> usize {
        let corners: usize = self.0.rings.iter().map(|ring| ring.corners_m.len()).sum();
        corners * (size_of::<Line>() * 4 + size_of::<level::Bend>() * 2)
    }

    /// No way round them, blocks apart, has more corners.
    pub(crate) fn most_bends(&self) -> usize {
        // two at a corner, and one beside every side that either end is near to
        4 * self.0.rings.iter().map(|ring| ring.corners_m.len()).sum::<usize>()
    }

    /// The first outline that a segment enters.
    pub(crate) fn entered(&self, a: DVec2, b: DVec2) -> Option<usize> {
        if self.0.rings.is_empty() { None } else { self.0.entered(a, b) }
    }

    /// All outlines that a segment enters.
    pub(crate) fn all_entered(&self, a: DVec2, b: DVec2) -> Vec<usize> {
        self.0.all_entered(a, b).collect()
    }

    /// The outlines that a segment may meet, counter-clockwise.
    pub(crate) fn met(&self, a: DVec2, b: DVec2) -> impl Iterator<Item = &[DVec2]> {
        self.0.rings.iter().filter(move |ring| ring.may_meet(a, b)).map(|ring| ring.corners_m.as_slice())
    }

    /// The shortest way from one place to another that enters no outline and none of some blocks, as corners with both ends
    /// included. Outlines of many corners are passed a little outside.
    ///
    /// Nothing when there is none, an end lies inside, or it is longer than `most_m`. With what is known of some of the blocks
    /// it is found the sooner.
    pub(crate) fn way(
        &self,
        (from, to): (DVec2, DVec2),
        blocks: &[&Block],
        tangents: Option<&Tangents>,
        most_m: f64,
    ) -> Option<Vec<DVec2>> {
        let straight = self.entered(from, to).is_none() && search::clear_of(blocks, from, to);
        if straight {
            return (from.distance(to) <= most_m).then(|| vec![from, to]);
        }
        if [from, to].into_iter().any(|end| self.entered(end, end).is_some()) {
            return None;
        }
        let found =
            |level: &Level| Search::new(&self.0, level, (blocks, tangents), (from, to)).shortest(most_m);
        let mut levels =
            self.0.levels().iter().map(found).chain(std::iter::once_with(|| self.0.finest(found)));
        match levels.find(|found| !matches!(found, Found::Closed)) {
            Some(Found::Way(way)) => Some(way),
            _ => None,
        }
    }
}

impl PartialEq for Fences {
    fn eq(&self, other: &Self) -> bool {
        self.0.rings == other.0.rings && self.0.near_m == other.0.near_m
    }
}

impl std::fmt::Debug for Fences {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Fences").field("rings", &self.0.rings.len()).finish_non_exhaustive()
    }
}

impl KeptFences {
    /// What is farther from an outline's sides than touching is all inside it or all outside.
    fn all_entered(&self, a: DVec2, b: DVec2) -> impl Iterator<Item = usize> {
        let near = self.sides.near(a, b).filter_map(|line| Some((line.ring, line.share_near(a, b)?)));
        let touching: Vec<(usize, (f64, f64))> = near.collect();
        let enters = move |(k, ring): &(usize, &Ring)| {
            let own = touching.iter().filter(|(of, _)| of == k).map(|(_, share)| *share);
            let gaps = without(&[(0.0, 1.0)], &merged(own.collect()));
            gaps.iter().any(|gap| ring.holds(a.lerp(b, f64::midpoint(gap.0, gap.1))))
        };
        let met = self.rings.iter().enumerate().filter(move |(_, ring)| ring.may_meet(a, b));
        met.filter(enters).map(|(k, _)| k)
    }

    fn entered(&self, a: DVec2, b: DVec2) -> Option<usize> {
        self.all_entered(a, b).next()
    }

    /// Whether a segment that ends outside is hidden by an outline: comes as near to it as touching, its ends apart.
    ///
    /// As [`KeptFences::entered`], but grazing a corner counts and the first side found decides.
    fn hides(&self, a: DVec2, b: DVec2) -> bool {
        if self.rings.is_empty() {
            return false;
        }
        let mut touching = Vec::new();
        for share in self.sides.near(a, b).filter_map(|line| line.share_near(a, b)) {
            if share.0 > 0.0 && share.1 < 1.0 {
                return true;
            }
            touching.push(share);
        }
        !touching.is_empty() && self.entered(a, b).is_some()
    }

    fn levels(&self) -> &[Level] {
        self.levels.get_or_init(|| {
            let mut levels = vec![self.level(TOLERANCES_M[0])];
            let mut coarsest = None;
            for tolerance_m in &TOLERANCES_M[1..] {
                if coarsest.as_ref().unwrap_or(&levels[0]).bends.len() <= FEW_BENDS {
                    break;
                }
                coarsest = Some(self.level(*tolerance_m));
            }
            levels.splice(0..0, coarsest);
            levels
        })
    }

    fn level(&self, tolerance_m: f64) -> Level {
        Level::new(&self.rings, tolerance_m, self.near_m)
    }

    /// What is found with all corners, where the levels have not found it.
    fn finest(&self, find: impl Fn(&Level) -> Found) -> Found {
        if self.levels().iter().any(|level| level.whole) {
            return Found::Closed;
        }
        find(self.finest.get_or_init(|| self.level(0.0)))
    }
}
