//! Outlines at one coarseness, and the corners at which ways round them bend.

use crate::geometry::detour::lines::{Line, Lines};
use crate::geometry::detour::slim::{SlimSide, slim};
use crate::geometry::detour::{PASSED_M, Ring, TOUCHED_M};
use glam::DVec2;
use std::f64::consts::PI;
use std::sync::OnceLock;

/// Corners that turn by more are passed at two places instead of one far out: by 120°.
const SHARP_COSINE: f64 = 0.5;

/// Farther ones are not looked for once there are so many that a way may go on to: where there are more, it goes by way of
/// nearer ones.
const MOST_SEEN: usize = 256;

/// Of a way's length, what counts for nothing beside it.
const HAIR_RATIO: f64 = 1e-9;

/// Outlines as lines that no way crosses, and the places just outside their corners.
#[derive(Debug)]
pub(super) struct Level {
    /// What ways keep from, the outlines' own corners that were left out included.
    pub(super) lines: Lines,
    pub(super) bends: Vec<Bend>,
    /// Whether the outlines have lost no corner.
    pub(super) whole: bool,
    /// For each bend those that are seen from it, found when it is first asked for.
    seen: Vec<OnceLock<Vec<u32>>>,
}

/// A place at which a way may bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bend {
    pub(super) at_m: DVec2,
    /// Directions in which what is gone round runs from here; none where a way may bend any way.
    along: Option<[DVec2; 2]>,
}

impl Level {
    /// The outlines of rings with corners left out as far as a tolerance lets.
    pub(super) fn new(rings: &[Ring], tolerance_m: f64, near_m: DVec2) -> Self {
        let slimmed: Vec<Vec<SlimSide>> =
            rings.iter().map(|ring| slim(&ring.corners_m, tolerance_m, near_m)).collect();
        let line = |ring: usize, side: &SlimSide| Line {
            from_m: side.from_m,
            to_m: side.to_m,
            room_m: side.room_m + TOUCHED_M,
            ring,
        };
        let of_ring =
            slimmed.iter().enumerate().flat_map(|(k, sides)| sides.iter().map(move |side| line(k, side)));
        let lines = Lines::new(of_ring.collect());
        let open = |bend: &Bend| {
            lines.clear(bend.at_m, bend.at_m) && !rings.iter().any(|ring| ring.holds(bend.at_m))
        };
        let bends: Vec<Bend> = slimmed.iter().flat_map(|sides| bends_about(sides)).filter(open).collect();
        let left: usize = slimmed.iter().map(Vec::len).sum();
        let whole = left == rings.iter().map(|ring| ring.corners_m.len()).sum::<usize>();
        let seen = bends.iter().map(|_| OnceLock::new()).collect();
        Level { lines, bends, whole, seen }
    }

    /// The bends that a way may go on to from a bend: of those past which it goes along what is gone round, the nearest that
    /// are seen.
    pub(super) fn seen_from(&self, bend: usize) -> &[u32] {
        self.seen[bend].get_or_init(|| {
            let here = self.bends[bend];
            let leads = |there: &Bend| {
                let way = there.at_m - here.at_m;
                way != DVec2::ZERO && here.passes(way) && there.passes(way)
            };
            let off = |k: u32| self.bends[k as usize].at_m.distance_squared(here.at_m);
            let all = 0..self.bends.len() as u32;
            let mut next: Vec<u32> = all.filter(|k| leads(&self.bends[*k as usize])).collect();
            if next.len() > MOST_SEEN {
                next.select_nth_unstable_by(MOST_SEEN, |p, q| off(*p).total_cmp(&off(*q)).then(p.cmp(q)));
                next.truncate(MOST_SEEN);
                next.sort_unstable();
            }
            next.retain(|k| self.lines.clear(here.at_m, self.bends[*k as usize].at_m));
            next
        })
    }

    /// From a place that is nearer to lines than their room, the places straight out from them.
    pub(super) fn ways_out(&self, at_m: DVec2) -> impl Iterator<Item = Bend> {
        self.lines.near(at_m, at_m).filter_map(move |line| {
            let along = (line.to_m - line.from_m).try_normalize()?;
            let foot = line.from_m + along * along.dot(at_m - line.from_m);
            let out = foot - along.perp() * (line.room_m + PASSED_M - TOUCHED_M);
            Some(Bend::anywhere(out))
        })
    }
}

impl Bend {
    /// A place at which a way may bend any way.
    pub(super) fn anywhere(at_m: DVec2) -> Self {
        Bend { at_m, along: None }
    }

    /// Places just outside the corners of a counter-clockwise ring.
    pub(super) fn about(ring: &[DVec2]) -> Vec<Self> {
        let sides = crate::geometry::polygon::sides(ring);
        let sides: Vec<SlimSide> =
            sides.map(|(from_m, to_m)| SlimSide { from_m, to_m, room_m: 0.0 }).collect();
        bends_about(&sides)
    }

    /// What tells it from other bends.
    pub(super) fn bits(&self) -> [u64; 6] {
        let [before, after] = self.along.unwrap_or([DVec2::NAN; 2]);
        [self.at_m.x, self.at_m.y, before.x, before.y, after.x, after.y].map(f64::to_bits)
    }

    /// By how much a way that follows what is gone round turns here at most.
    pub(super) fn turns_rad(&self) -> f64 {
        self.along.map_or(PI, |[before, after]| (-before).angle_to(after).abs())
    }

    /// Whether a way in a direction goes past here along what is gone round: it lies all on one side, but for a hair.
    pub(super) fn passes(&self, way: DVec2) -> bool {
        let Some([before, after]) = self.along else { return true };
        let (p, q) = (way.perp_dot(before), way.perp_dot(after));
        if (p >= 0.0) == (q >= 0.0) {
            return true;
        }
        // on both sides; by how much is looked up only where it may be a hair
        let less = p.abs().min(q.abs());
        less <= 2.0 * HAIR_RATIO * (way.x.abs() + way.y.abs()) && less <= HAIR_RATIO * way.length()
    }
}

/// Places just outside the corners of a counter-clockwise outline that turn left.
fn bends_about(sides: &[SlimSide]) -> Vec<Bend> {
    let n = sides.len();
    (0..n).flat_map(|k| bends_at(&sides[k], &sides[(k + 1) % n])).collect()
}

/// One place outside a corner, or two where it is sharp.
fn bends_at(before: &SlimSide, after: &SlimSide) -> Vec<Bend> {
    let corner = after.from_m;
    let ways = [before, after].map(|side| (side.to_m - side.from_m).normalize_or_zero());
    // a spike turns right round: left as well as right
    let back = ways[0].dot(ways[1]) < 0.0 && ways[0].perp_dot(ways[1]).abs() < 1e-9;
    if ways[0].perp_dot(ways[1]) <= 0.0 && !back {
        return Vec::new();
    }
    let middle = if ways[0].dot(ways[1]) > 0.0 { -(ways[0] + ways[1]).perp() } else { ways[0] - ways[1] };
    let (middle, off_m) = (middle.normalize_or_zero(), before.room_m.max(after.room_m) + PASSED_M);
    let outward = ways.map(|way| -way.perp());
    let cosine = middle.dot(outward[0]);
    if cosine >= SHARP_COSINE {
        let at_m = corner + middle * (off_m / cosine);
        return vec![Bend { at_m, along: Some([-ways[0], ways[1]]) }];
    }
    let [first, second] = outward.map(|outward| {
        let toward = (outward + middle).normalize_or_zero();
        corner + toward * (off_m / toward.dot(outward).max(0.1))
    });
    let across = (second - first).normalize_or_zero();
    vec![
        Bend { at_m: first, along: Some([-ways[0], across]) },
        Bend { at_m: second, along: Some([-across, ways[1]]) },
    ]
}
