//! How high a pass flies above the ground.

use super::{GroundTerms, Leg, LegKind};
use crate::geometry::Pose;
use crate::scenario::Terrain;
use glam::{DVec2, DVec3, FloatExt};

/// Distance along a leg between the places whose closest ground is looked for.
const STEP_M: f64 = 5.0;

impl GroundTerms {
    /// Those of a pass; nothing for one without exposures. `known` has the least and greatest height of some strips by their
    /// index, ascending.
    pub(super) fn new(
        legs: &[Leg],
        known: &[(usize, (f64, f64))],
        poses: &[Pose],
        terrain: &Terrain,
    ) -> Option<Self> {
        let above = |p: DVec3| p.z - terrain.height_m(p.truncate());
        let heights = poses.iter().map(|pose| above(pose.position_m));
        let (least_m, greatest_m) = heights.map(|m| (m, m)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        let (mut lowest_m, mut highest_m) = (f64::INFINITY, 0.0_f64);
        let (mut known, mut below) = (known.iter().peekable(), LineBelow::default());
        let is_strip = |leg: &Leg| leg.kind == LegKind::Strip;
        for (index, leg) in legs.iter().enumerate().filter(|(_, leg)| is_strip(leg)) {
            let (low_m, high_m) = match known.next_if(|(of, _)| *of == index) {
                Some((_, above_m)) => *above_m,
                None => below.above_m(leg, terrain),
            };
            (lowest_m, highest_m) = (lowest_m.min(low_m), highest_m.max(high_m));
        }
        let between = legs.iter().filter(|leg| !is_strip(leg));
        let highest_m = highest_above_ground_m(between, terrain, highest_m);
        Some(GroundTerms { least_m, greatest_m, lowest_m, highest_m })
    }

    /// Whether the height above the ground changes by more than half a metre.
    pub fn varies(&self) -> bool {
        self.greatest_m - self.least_m > 0.5
    }
}

/// The ground below the level line looked at last: rows before a wall lie over each other.
/// By its ends, with least and greatest height of the ground.
#[derive(Default)]
struct LineBelow(Option<([DVec2; 2], (f64, f64))>);

impl LineBelow {
    /// As [`above_ground_m`].
    fn above_m(&mut self, leg: &Leg, terrain: &Terrain) -> (f64, f64) {
        let (from, to) = (leg.from_m.truncate(), leg.to_m.truncate());
        if !leg.via_m.is_empty() || leg.from_m.z != leg.to_m.z || from == to {
            return above_ground_m(leg, terrain);
        }
        let known = self.0.filter(|(ends, _)| *ends == [from, to] || *ends == [to, from]);
        let (_, (least_z, greatest_z)) = known.unwrap_or_else(|| {
            let mut range = (f64::INFINITY, f64::NEG_INFINITY);
            terrain.each_height(from, to, |_, ground_z| {
                range = (range.0.min(ground_z), range.1.max(ground_z));
            });
            ([from, to], range)
        });
        self.0 = Some(([from, to], (least_z, greatest_z)));
        (leg.from_m.z - greatest_z, leg.from_m.z - least_z)
    }
}

/// Least and greatest height of a leg above the ground right below, wherever its slope may change.
pub(crate) fn above_ground_m(leg: &Leg, terrain: &Terrain) -> (f64, f64) {
    let mut range = (f64::INFINITY, f64::NEG_INFINITY);
    for (a, b) in leg.pieces_m() {
        terrain.each_height(a.truncate(), b.truncate(), |share, ground_z| {
            let above_m = a.z.lerp(b.z, share) - ground_z;
            range = (range.0.min(above_m), range.1.max(above_m));
        });
    }
    range
}

/// Greatest height of legs above the ground right below, or a height that none of them exceeds.
///
/// A leg that is no higher than that even above the lowest ground there is need not be walked.
pub(crate) fn highest_above_ground_m<'a>(
    legs: impl Iterator<Item = &'a Leg>,
    terrain: &Terrain,
    known_m: f64,
) -> f64 {
    let floor_m = terrain.floor_m() - ROUNDING_M;
    legs.fold(known_m, |highest_m, leg| {
        let top_m = leg.corners_m().map(|at| at.z).fold(f64::NEG_INFINITY, f64::max);
        if top_m - floor_m <= highest_m { highest_m } else { above_ground_m(leg, terrain).1.max(highest_m) }
    })
}

/// The ground between nodes may be lower than the lowest of them by less than this.
const ROUNDING_M: f64 = 1e-9;

/// Greatest distance of legs from the closest point of the ground.
///
/// # Accuracy
/// The distance changes by no more than the way flown, and is looked at every 5 m: at most 2.5 m too small between
/// these places, and as a rule far less.
pub(crate) fn farthest_from_ground_m<'a>(legs: impl Iterator<Item = &'a Leg>, terrain: &Terrain) -> f64 {
    let place = |at: DVec3| (at.z - terrain.height_m(at.truncate()), at);
    let pieces = legs.flat_map(Leg::pieces_m).flat_map(|(a, b)| {
        let steps = (a.distance(b) / STEP_M).ceil().max(1.0) as u32;
        (0..=steps).map(move |k| a.lerp(b, f64::from(k) / f64::from(steps)))
    });
    if let Terrain::Plane { .. } = terrain {
        // the farther above it, the farther from it
        let highest = pieces.map(place).max_by(|a, b| a.0.total_cmp(&b.0));
        return highest.map_or(0.0, |(_, at)| terrain.closest_m(at, 0.0));
    }
    // The ground right below is never nearer than the closest: the highest first, until none can be farther.
    let mut places: Vec<(f64, DVec3)> = pieces.map(place).collect();
    places.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
    let mut farthest_m = 0.0;
    for (above_m, at) in places {
        if above_m <= farthest_m {
            break;
        }
        farthest_m = terrain.closest_m(at, farthest_m).max(farthest_m);
    }
    farthest_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::generated::{Lots, SIDE_M, site};

    /// Derived: leaving out legs that cannot be the highest leaves the greatest height what it is when all are walked.
    #[test]
    fn the_highest_of_all_legs_is_found_without_walking_all() {
        for seed in 0..40 {
            let (site, mut drawn) = (site(seed, f64::from(seed % 4) * 3.0, 0), Lots(seed));
            let mut place = || drawn.place(SIDE_M).extend(60.0 * drawn.next() - 5.0);
            let leg = |_| Leg::straight(LegKind::Link, place(), place(), 5.0);
            let legs: Vec<Leg> = (0..12).map(leg).collect();
            let heights = legs.iter().map(|leg| above_ground_m(leg, &site.terrain).1);
            let walked_m = heights.fold(f64::NEG_INFINITY, f64::max);
            let found_m = |known_m: f64| highest_above_ground_m(legs.iter(), &site.terrain, known_m);
            assert_eq!(found_m(f64::NEG_INFINITY), walked_m);
            assert_eq!(found_m(walked_m - 0.5), walked_m);
            assert_eq!(found_m(walked_m + 0.5), walked_m + 0.5);
        }
    }
}
