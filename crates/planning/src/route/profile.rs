//! Terrain following: the line that an aircraft can fly above the ground along a strip.

use super::airspace::{Airspace, within};
use super::{Leg, LegKind, Stop};
use crate::base::choice::{WHOLE, up};
use crate::geometry::polygon::grown;
use crate::scenario::Airframe;
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

/// Heights along a straight line over the ground.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Profile {
    from_m: DVec2,
    direction: DVec2,
    step_m: f64,
    z_m: Vec<f64>,
}

impl Profile {
    /// The lowest line that is nowhere below the height above the ground, nor nearer to the top of a structure than the
    /// clearance, nor steeper than the airframe can.
    pub(super) fn new(airspace: &Airspace<'_>, from_m: DVec2, to_m: DVec2, follow: &Follow) -> Self {
        let length_m = from_m.distance(to_m);
        let steps = up(length_m / STEP_M).max(1.0);
        let (step_m, direction) = (length_m / steps, (to_m - from_m).normalize_or_zero());
        let at = |k: usize| from_m + direction * (k as f64 * step_m);
        let mut z_m: Vec<f64> =
            (0..=steps as usize).map(|k| airspace.site.terrain.height_m(at(k)) + follow.above_m).collect();
        over_structures(&mut z_m, airspace, from_m, to_m);
        raise_over_crests(&mut z_m, airspace, (from_m, to_m), follow.above_m);
        let (up, down) = (follow.up_ratio * step_m, follow.down_ratio * step_m);
        for k in 1..z_m.len() {
            z_m[k] = z_m[k].max(z_m[k - 1] - down);
        }
        for k in (1..z_m.len()).rev() {
            z_m[k - 1] = z_m[k - 1].max(z_m[k] - up);
        }
        Profile { from_m, direction, step_m, z_m }
    }

    pub(super) fn z_at(&self, along_m: f64) -> f64 {
        let last = self.z_m.len() - 1;
        let place = (along_m / self.step_m.max(f64::MIN_POSITIVE)).clamp(0.0, last as f64);
        let k = (place.floor() as usize).min(last.saturating_sub(1));
        let next = (k + 1).min(last);
        self.z_m[k] + (self.z_m[next] - self.z_m[k]) * (place - k as f64)
    }

    fn at_m(&self, along_m: f64) -> DVec3 {
        (self.from_m + self.direction * along_m).extend(self.z_at(along_m))
    }

    /// One movement from the line's start over a level distance; the stops' distances are level ones as well.
    pub(super) fn leg(&self, reach_m: f64, speed_mps: f64, stops: Vec<Stop>) -> Leg {
        let mut knots: Vec<f64> =
            (1..self.z_m.len()).map(|k| k as f64 * self.step_m).take_while(|s| *s < reach_m - 1e-9).collect();
        knots.insert(0, 0.0);
        knots.push(reach_m);
        let mut corners: Vec<(f64, DVec3)> = Vec::with_capacity(knots.len());
        for along_m in knots {
            let here = (along_m, self.at_m(along_m));
            while corners.len() >= 2 && on_line(corners[corners.len() - 2], corners[corners.len() - 1], here)
            {
                corners.pop();
            }
            corners.push(here);
        }
        let stops = along_path(&corners, stops);
        let ends = (corners[0].1, corners[corners.len() - 1].1);
        let via_m = corners[1..corners.len() - 1].iter().map(|c| c.1).collect();
        Leg { via_m, stops, ..Leg::straight(LegKind::Strip, ends.0, ends.1, speed_mps) }
    }
}

fn on_line(a: (f64, DVec3), b: (f64, DVec3), c: (f64, DVec3)) -> bool {
    let share = (b.0 - a.0) / (c.0 - a.0).max(f64::MIN_POSITIVE);
    (a.1.z + (c.1.z - a.1.z) * share - b.1.z).abs() < STRAIGHT_M
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
fn raise_over_crests(z_m: &mut [f64], airspace: &Airspace<'_>, (from_m, to_m): (DVec2, DVec2), above_m: f64) {
    let terrain = &airspace.site.terrain;
    let last = z_m.len() - 1;
    terrain.each_break(from_m, to_m, |share| {
        let place = share * last as f64;
        let k = (place.floor() as usize).min(last.saturating_sub(1));
        let next = (k + 1).min(last);
        let flown_z = z_m[k] + (z_m[next] - z_m[k]) * (place - k as f64);
        let short_m = terrain.height_m(from_m.lerp(to_m, share)) + above_m - flown_z;
        if short_m > 0.0 {
            z_m[k] += short_m;
            z_m[next] += short_m * f64::from(u8::from(next > k));
        }
    });
}

/// Raises a line over the structures below it.
fn over_structures(z_m: &mut [f64], airspace: &Airspace<'_>, from_m: DVec2, to_m: DVec2) {
    let steps = (z_m.len() - 1) as f64;
    for obstacle in &airspace.site.obstacles {
        let ring = grown(&obstacle.ring_m, airspace.clearance_m);
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
