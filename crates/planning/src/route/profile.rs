//! Terrain following: the line that an aircraft can fly above the ground along a strip.

use super::airspace::{Airspace, lies_far, within};
use super::{Leg, LegKind, Stop};
use crate::base::choice::{WHOLE, up};
use crate::base::number::whole_of_few;
use crate::scenario::{Airframe, Terrain};
use glam::{DVec2, DVec3};

/// Distance between the places at which the ground is followed.
const STEP_M: f64 = 5.0;

/// Corners that lie this near to the line between their neighbours are none.
const STRAIGHT_M: f64 = 1e-6;

/// How the ground is followed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Follow {
    above_m: f64,
    /// Steepest climb, rise per metre.
    up_ratio: f64,
    /// Steepest descent, fall per metre.
    down_ratio: f64,
}

impl Follow {
    /// At a height above the ground, as steep as the airframe climbs and descends at the speed of the pass.
    pub(super) fn new(above_m: f64, airframe: &Airframe, speed_mps: f64) -> Self {
        let speed_mps = speed_mps.max(0.1);
        Follow {
            above_m,
            up_ratio: airframe.climb_mps / speed_mps,
            down_ratio: airframe.descent_mps / speed_mps,
        }
    }
}

/// Heights along a straight line over the ground, and the ground below it, which is looked up once.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Profile {
    from_m: DVec2,
    direction: DVec2,
    step_m: f64,
    z_m: Vec<f64>,
    /// Ground below each of them.
    ground_z_m: Vec<f64>,
    /// Where the ground's slope changes.
    breaks: Vec<Break>,
}

/// A place of a line at which the ground's slope changes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Break {
    /// The profile's place before it.
    place: usize,
    /// The share of the step on from there.
    share: f64,
    ground_z_m: f64,
}

impl Break {
    /// The value there of a line through values one step apart, two or more.
    fn on(&self, values: &[f64]) -> f64 {
        let (value, next) = (values[self.place], values[self.place + 1]);
        value + (next - value) * self.share
    }
}

/// A leg along a profile, and its least and greatest height above the ground right below.
pub(super) struct FollowedLeg {
    pub(super) leg: Leg,
    pub(super) above_m: (f64, f64),
}

impl Profile {
    /// The lowest line that is nowhere below the height above the ground, nor nearer to the top of a structure than the
    /// clearance, nor steeper than the airframe can.
    pub(super) fn new(airspace: &Airspace<'_>, from_m: DVec2, to_m: DVec2, follow: &Follow) -> Self {
        let length_m = from_m.distance(to_m);
        let steps = up(length_m / STEP_M).max(1.0);
        let (step_m, direction) = (length_m / steps, (to_m - from_m).normalize_or_zero());
        let ground_z_m = airspace.site.terrain.heights_m(from_m, to_m, steps as usize);
        let breaks = ground_breaks(&airspace.site.terrain, from_m, to_m, steps);
        let mut z_m: Vec<f64> = ground_z_m.iter().map(|z| z + follow.above_m).collect();
        over_structures(&mut z_m, airspace, from_m, to_m);
        raise_over_crests(&mut z_m, &breaks, follow.above_m);
        let (up, down) = (follow.up_ratio * step_m, follow.down_ratio * step_m);
        for k in 1..z_m.len() {
            z_m[k] = z_m[k].max(z_m[k - 1] - down);
        }
        for k in (1..z_m.len()).rev() {
            z_m[k - 1] = z_m[k - 1].max(z_m[k] - up);
        }
        Profile { from_m, direction, step_m, z_m, ground_z_m, breaks }
    }

    pub(super) fn z_at(&self, along_m: f64) -> f64 {
        let last = self.z_m.len() - 1;
        between(&self.z_m, (along_m / self.step_m.max(f64::MIN_POSITIVE)).clamp(0.0, last as f64))
    }

    /// One movement from the line's start over a level distance; the stops' distances are level ones as well.
    pub(super) fn leg(
        &self,
        terrain: &Terrain,
        reach_m: f64,
        speed_mps: f64,
        stops: Vec<Stop>,
    ) -> FollowedLeg {
        let mut corners: Vec<(f64, DVec3)> = Vec::with_capacity(self.z_m.len() + 1);
        let knots = (0..self.z_m.len()).map(|k| (k as f64 * self.step_m, self.z_m[k]));
        let knots = knots.take_while(|(along_m, _)| *along_m == 0.0 || *along_m < reach_m - 1e-9);
        for (along_m, z_m) in knots.chain([(reach_m, self.z_at(reach_m))]) {
            let here = (along_m, (self.from_m + self.direction * along_m).extend(z_m));
            while let [.., before, last] = corners.as_slice()
                && on_line(*before, *last, here)
            {
                corners.pop();
            }
            corners.push(here);
        }
        let above_m = self.above_ground_m(terrain, &corners);
        let stops = along_path(&corners, stops);
        let ends = (corners[0].1, corners[corners.len() - 1].1);
        let via_m = corners[1..corners.len() - 1].iter().map(|c| c.1).collect();
        let leg = Leg { via_m, stops, ..Leg::straight(LegKind::Strip, ends.0, ends.1, speed_mps) };
        FollowedLeg { leg, above_m }
    }

    /// Least and greatest height of a line through corners, each with its level distance, above the ground right below:
    /// both are straight between the profile's places, the ground's breaks and the line's end.
    fn above_ground_m(&self, terrain: &Terrain, corners: &[(f64, DVec3)]) -> (f64, f64) {
        let (end_m, end) = corners[corners.len() - 1];
        let end_above_m = end.z - terrain.height_m(end.truncate());
        let line_z_m = self.line_z_m(corners);
        let along_m = |at: &Break| (at.place as f64 + at.share) * self.step_m;
        // the last piece may end between places
        let z_at = |at: &Break| {
            if at.place + 1 < line_z_m.len() { at.on(&line_z_m) } else { on_piece_z(corners, along_m(at)) }
        };
        let at_places = line_z_m.iter().zip(&self.ground_z_m).map(|(z, ground_z)| z - ground_z);
        let whole = self.z_m.len() == line_z_m.len();
        let before_end = self.breaks.iter().filter(|at| whole || along_m(at) < end_m);
        let at_breaks = before_end.map(|at| z_at(at) - at.ground_z_m);
        let wider = |range: (f64, f64), above_m: f64| (range.0.min(above_m), range.1.max(above_m));
        at_places.chain(at_breaks).fold((end_above_m, end_above_m), wider)
    }

    /// Heights of a line through corners at those of the profile's places that it reaches.
    fn line_z_m(&self, corners: &[(f64, DVec3)]) -> Vec<f64> {
        let mut line_z_m = Vec::with_capacity(self.z_m.len());
        for pair in corners.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let slope = (to.1.z - from.1.z) / (to.0 - from.0).max(f64::MIN_POSITIVE);
            for k in line_z_m.len()..self.z_m.len() {
                let along_m = k as f64 * self.step_m;
                if along_m > to.0 {
                    break;
                }
                line_z_m.push(from.1.z + slope * (along_m - from.0));
            }
        }
        line_z_m
    }
}

/// The value at a place of a line through values one step apart.
fn between(values: &[f64], place: f64) -> f64 {
    let last = values.len() - 1;
    let k = whole_of_few(place).min(last.saturating_sub(1));
    values[k] + (values[(k + 1).min(last)] - values[k]) * (place - k as f64)
}

/// Height at a level distance on the last piece between corners.
fn on_piece_z(corners: &[(f64, DVec3)], along_m: f64) -> f64 {
    let (a, b) = (corners[corners.len() - 2], corners[corners.len() - 1]);
    let share = (along_m - a.0) / (b.0 - a.0).max(f64::MIN_POSITIVE);
    a.1.z + (b.1.z - a.1.z) * share
}

/// Where the ground's slope may change along a line of so many steps.
fn ground_breaks(terrain: &Terrain, from_m: DVec2, to_m: DVec2, steps: f64) -> Vec<Break> {
    let (mut breaks, last) = (Vec::with_capacity(4 * steps as usize), steps as usize - 1);
    terrain.each_height(from_m, to_m, |share, ground_z_m| {
        let place = whole_of_few(share * steps).min(last);
        breaks.push(Break { place, share: share * steps - place as f64, ground_z_m });
    });
    breaks
}

fn on_line(a: (f64, DVec3), b: (f64, DVec3), c: (f64, DVec3)) -> bool {
    let (way_m, so_far_m) = (c.0 - a.0, b.0 - a.0);
    ((c.1.z - a.1.z) * so_far_m - (b.1.z - a.1.z) * way_m).abs() < STRAIGHT_M * way_m
}

/// Level distances turned into distances along the line flown.
fn along_path(corners: &[(f64, DVec3)], stops: Vec<Stop>) -> Vec<Stop> {
    let mut passed_m = 0.0;
    let mut piece = 0;
    stops
        .into_iter()
        .map(|stop| {
            while piece + 2 < corners.len() && corners[piece + 1].0 < stop.along_m {
                passed_m += corners[piece].1.distance(corners[piece + 1].1);
                piece += 1;
            }
            let (a, b) = (corners[piece], corners[piece + 1]);
            let level_m = (b.0 - a.0).max(f64::MIN_POSITIVE);
            let share = (stop.along_m - a.0) / level_m;
            Stop { along_m: passed_m + share * a.1.distance(b.1), ..stop }
        })
        .collect()
}

/// Raises a line over ground that stands up between the places at which it was followed.
fn raise_over_crests(z_m: &mut [f64], breaks: &[Break], above_m: f64) {
    for at in breaks {
        let short_m = at.ground_z_m + above_m - at.on(z_m);
        if short_m > 0.0 {
            z_m[at.place] += short_m;
            z_m[at.place + 1] += short_m;
        }
    }
}

/// Raises a line over the structures below it.
fn over_structures(z_m: &mut [f64], airspace: &Airspace<'_>, from_m: DVec2, to_m: DVec2) {
    let steps = (z_m.len() - 1) as f64;
    for obstacle in &airspace.site.obstacles {
        if lies_far(&obstacle.ring_m, airspace.clearance_m, from_m, to_m) {
            continue;
        }
        let ring = obstacle.growth().by(airspace.clearance_m);
        let Some((low, high)) = within(&ring, from_m, to_m) else { continue };
        // A node on the edge itself is raised.
        let (first, last) =
            ((low * steps - WHOLE).floor().max(0.0) as usize, (high * steps + WHOLE).ceil() as usize);
        let floor_z = obstacle.top_z_m + airspace.clearance_m;
        for z in z_m.iter_mut().take(last + 1).skip(first) {
            *z = z.max(floor_z);
        }
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use super::*;
    use crate::base::Id;
    use crate::geometry::TerrainGrid;
    use crate::ground::SiteOutline;
    use crate::route::ground::above_ground_m;
    use crate::scenario::{Site, Structure, StructureKind};
    use proptest::prelude::*;
    use std::sync::Arc;

    /// Waves of so many metres with a block on them.
    fn site(waves_m: f64) -> SiteOutline {
        let (columns, rows) = (31, 27);
        let node = |k: usize| {
            let (x, y) = ((k % columns) as f64, (k / columns) as f64);
            waves_m * ((x * 0.5).sin() * (y * 0.4).cos() + 0.6 * (x * 0.17 + y * 0.11).sin())
        };
        let heights: Vec<f64> = (0..columns * rows).map(node).collect();
        let spacing_m = DVec2::new(5.3, 6.1);
        let grid = TerrainGrid::from_heights_m(DVec2::ZERO, spacing_m, (columns, rows), &heights).unwrap();
        let ring = |x: f64, y: f64, half: f64| {
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                .map(|c| DVec2::new(x, y) + DVec2::from(c) * half)
                .to_vec()
        };
        SiteOutline::new(&Site {
            name: String::new(),
            origin: None,
            boundary_m: ring(80.0, 80.0, 70.0),
            take_off_m: DVec2::ZERO,
            terrain: Terrain::Grid(Arc::new(grid)),
            structures: vec![Structure {
                id: Id(1),
                name: String::new(),
                footprint_m: ring(60.0, 70.0, 12.0),
                kind: StructureKind::Extrusion { height_m: 25.0 },
            }],
            typical_building: None,
            keep_outs: Vec::new(),
            control_points: Vec::new(),
            sample_spacing_m: None,
        })
        .unwrap()
    }

    proptest! {
        /// Derived: the heights found while a leg is laid are those of every piece of it, walked anew, and of 3000 places
        /// along it none is lower, none higher, and some is as near to both as places so dense come.
        #[test]
        fn heights_of_a_leg_are_those_of_a_walk_along_it(
            from in (-20.0..180.0_f64, -20.0..180.0_f64), to in (-20.0..180.0_f64, -20.0..180.0_f64),
            waves_m in 0.1..9.0_f64, height_m in 20.0..60.0_f64, share in 0.05..1.0_f64,
        ) {
            let (site, from_m, to_m) = (site(waves_m), DVec2::from(from), DVec2::from(to));
            let airspace = Airspace { site: &site, clearance_m: 6.0 };
            let follow = Follow { above_m: height_m, up_ratio: 0.4, down_ratio: 0.3 };
            let profile = Profile::new(&airspace, from_m, to_m, &follow);
            let reach_m = from_m.distance(to_m) * share;
            let FollowedLeg { leg, above_m } = profile.leg(&site.terrain, reach_m, 8.0, Vec::new());
            let walked_m = above_ground_m(&leg, &site.terrain);
            // rounding
            prop_assert!((above_m.0 - walked_m.0).abs() < 1e-9, "{above_m:?} {walked_m:?}");
            prop_assert!((above_m.1 - walked_m.1).abs() < 1e-9, "{above_m:?} {walked_m:?}");
            let (mut least_m, mut greatest_m) = (f64::INFINITY, f64::NEG_INFINITY);
            for k in 0..=3000 {
                let along_m = reach_m * f64::from(k) / 3000.0;
                let place = from_m + (to_m - from_m).normalize_or_zero() * along_m;
                let above_m = profile.z_at(along_m) - site.terrain.height_m(place);
                (least_m, greatest_m) = (least_m.min(above_m), greatest_m.max(above_m));
            }
            // corners that lie on their neighbours' line to a micrometre are left out
            prop_assert!(above_m.0 <= least_m + 1e-5 && above_m.1 >= greatest_m - 1e-5);
            // half the distance of two places, on slopes of ground and line of at most 3 in all
            prop_assert!(above_m.0 >= least_m - 0.15 && above_m.1 <= greatest_m + 0.15);
        }
    }
}
