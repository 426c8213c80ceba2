//! How high a pass flies above the ground.

use super::{GroundTerms, Leg, LegKind};
use crate::geometry::Pose;
use crate::scenario::Terrain;
use glam::{DVec2, DVec3, FloatExt};
use std::ops::Range;

/// Distance along a leg between the places whose closest ground is looked for.
const STEP_M: f64 = 5.0;

impl GroundTerms {
    /// Those of a pass; nothing for one without exposures.
    pub(super) fn new(legs: &[Leg], known: &KnownHeights, poses: &[Pose], terrain: &Terrain) -> Option<Self> {
        let (least_m, greatest_m) = known.of_shots_m(poses, terrain)?;
        let (mut lowest_m, mut highest_m) = (f64::INFINITY, known.links_m.unwrap_or(0.0).max(0.0));
        let (mut strips, mut below) = (known.strips_m.iter().peekable(), LineBelow::default());
        let is_strip = |leg: &Leg| leg.kind == LegKind::Strip;
        for (index, leg) in legs.iter().enumerate().filter(|(_, leg)| is_strip(leg)) {
            let (low_m, high_m) = match strips.next_if(|(of, _)| *of == index) {
                Some((_, above_m)) => *above_m,
                None => below.above_m(leg, terrain),
            };
            (lowest_m, highest_m) = (lowest_m.min(low_m), highest_m.max(high_m));
        }
        let mut links = known.links.iter().peekable();
        let between = legs.iter().enumerate().filter(|(index, leg)| {
            let is_known = links.next_if(|of| *of == index).is_some();
            !is_known && !is_strip(leg)
        });
        let highest_m = highest_above_ground_m(between.map(|(_, leg)| leg), terrain, highest_m);
        Some(GroundTerms { least_m, greatest_m, lowest_m, highest_m })
    }

    /// Whether the height above the ground changes by more than half a metre.
    pub fn varies(&self) -> bool {
        self.greatest_m - self.least_m > 0.5
    }
}

/// Heights above the ground that are known from laying a pass, each the least and the greatest.
#[derive(Default)]
pub(super) struct KnownHeights {
    /// Of some strips by their index, ascending.
    pub(super) strips_m: Vec<(usize, (f64, f64))>,
    /// Links by their index, ascending, and the greatest of all of them.
    links: Vec<usize>,
    links_m: Option<f64>,
    /// How many exposures it is known of.
    shots: usize,
    shots_m: Option<(f64, f64)>,
}

impl KnownHeights {
    /// Notes those of so many exposures.
    pub(super) fn note_shots(&mut self, shots: usize, (least_m, greatest_m): (f64, f64)) {
        self.shots += shots;
        let (low_m, high_m) = self.shots_m.unwrap_or((least_m, greatest_m));
        self.shots_m = Some((low_m.min(least_m), high_m.max(greatest_m)));
    }

    /// Notes the greatest of some links.
    pub(super) fn note_links(&mut self, links: Range<usize>, highest_m: f64) {
        self.links.extend(links);
        self.links_m = Some(self.links_m.map_or(highest_m, |m| m.max(highest_m)));
    }

    /// Of all exposures of a pass, looked up where some are not known; nothing without any.
    fn of_shots_m(&self, poses: &[Pose], terrain: &Terrain) -> Option<(f64, f64)> {
        if self.shots == poses.len() {
            return self.shots_m;
        }
        let above = |p: DVec3| p.z - terrain.height_m(p.truncate());
        let heights = poses.iter().map(|pose| above(pose.position_m));
        heights.map(|m| (m, m)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
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
        let (_, (least_z, greatest_z)) =
            known.unwrap_or_else(|| ([from, to], terrain.range_between_m(from, to)));
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
