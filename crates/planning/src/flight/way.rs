//! Ways between the take-off point and the route, and from pass to pass, prepared to be flown many times.

use super::craft::{AT_REST, Cost, Craft};
use super::line::OneMovement;
use crate::geometry::motion::{corner_time_s, corners_time_s, trapezoid_time_s};
use crate::route::{Leg, LegKind, WayBound};
use crate::scenario::Airframe;
use glam::DVec3;
use std::f64::consts::PI;

/// Legs flown from rest to rest, one after the other.
#[derive(Debug)]
pub(super) struct Way {
    pub(super) legs: Vec<WayLeg>,
    most: Most,
}

#[derive(Debug)]
pub(super) struct WayLeg {
    pub(super) leg: Leg,
    pub(super) stretch: OneMovement,
    /// Azimuths of the nose where it begins and where it ends.
    pub(super) noses_rad: [Option<f64>; 2],
}

/// What bounds a way's cost from above without flying it.
#[derive(Debug, Default)]
pub(super) struct Most {
    level_m: f64,
    /// How many legs that is in.
    level_legs: usize,
    /// Upright, at the speeds planned.
    upright_s: f64,
    /// Speeding up and braking on upright legs, at the speeds planned.
    ramps_s: f64,
    /// Turning, first into the way from any direction.
    turning_s: f64,
    gain_m: f64,
}

impl Way {
    pub(super) fn new(legs: impl Iterator<Item = Leg>, airframe: &Airframe) -> Self {
        let prepare = |leg: Leg| {
            let (stretch, noses_rad) = (OneMovement::of(&leg), leg.noses_rad());
            WayLeg { leg, stretch, noses_rad }
        };
        let legs: Vec<WayLeg> = legs.map(prepare).collect();
        let mut most = Most::default();
        for WayLeg { leg, stretch, .. } in &legs {
            most.gain_m += stretch.gain_m;
            if matches!(leg.kind, LegKind::Climb | LegKind::Descent) {
                most.upright_s += stretch.length_m / leg.speed_mps;
                most.ramps_s += leg.speed_mps / airframe.acceleration_mps2;
            } else {
                most.level_m += stretch.length_m;
                most.level_legs += 1;
                most.turning_s += corner_time_s(PI);
            }
        }
        Way { legs, most }
    }

    /// What it takes when it is begun with the nose at an azimuth, and where the nose points after it.
    pub(super) fn flown(&self, craft: &Craft, mut nose_rad: Option<f64>) -> (Cost, Option<f64>) {
        let mut total = Cost::default();
        for way in &self.legs {
            total += craft.turning(nose_rad, way.noses_rad[0]) + craft.moving(&way.stretch, AT_REST).1;
            nose_rad = way.noses_rad[1].or(nose_rad);
        }
        (total, nose_rad)
    }

    /// Where its legs begin and end, one after the other; none where there is nowhere to go.
    pub(super) fn corners_m(&self) -> impl DoubleEndedIterator<Item = DVec3> {
        let first = self.legs.first().map(|way| way.leg.from_m);
        first.into_iter().chain(self.legs.iter().map(|way| way.leg.to_m))
    }

    /// What bounds its cost.
    pub(super) fn most(&self) -> &Most {
        &self.most
    }
}

impl Most {
    /// Of a way that has not been looked for, from one place to another.
    pub(super) fn of_bound(bound: &WayBound, from: DVec3, to: DVec3, airframe: &Airframe) -> Self {
        let [up_m, down_m] = [from, to].map(|end| bound.top_z_m - end.z);
        Most {
            level_m: bound.level_m,
            level_legs: bound.level_legs,
            upright_s: up_m / airframe.climb_mps + down_m / airframe.descent_mps,
            ramps_s: (airframe.climb_mps + airframe.descent_mps) / airframe.acceleration_mps2,
            turning_s: corners_time_s(bound.level_legs, PI + bound.turned_rad),
            gain_m: up_m,
        }
    }

    /// More than the way draws, whichever way the nose points before it: against the wind all along, at the greatest power.
    ///
    /// A movement from rest to rest takes no longer than its length at full speed and one ramp, and the longer the lower its
    /// speed limit. What it takes grows ever less with its length, so that of so many legs equal ones take longest.
    pub(super) fn drawn_j(&self, craft: &Craft, level_mps: f64) -> f64 {
        let Most { level_m, level_legs, upright_s, ramps_s, turning_s, gain_m } = *self;
        let against_mps = craft.against_mps.min(level_mps * craft.speed_ratio);
        let legs = level_legs.max(1) as f64;
        let time_s = legs * trapezoid_time_s(level_m / legs, against_mps, craft.acceleration_mps2)
            + upright_s / craft.speed_ratio
            + ramps_s * craft.speed_ratio
            + turning_s * craft.turn_ratio;
        craft.most_j(time_s) + craft.power.lift_j(gain_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::bounds_on_ways::bounds;
    use crate::route::generated::{Lots, SIDE_M, site};
    use crate::route::{Airspace, legs_along};
    use crate::scenario::{Conditions, Energy, Gnss};
    use glam::DVec2;

    fn airframe(energy: Option<Energy>) -> Airframe {
        Airframe {
            top_speed_mps: 11.0,
            climb_mps: 4.0,
            descent_mps: 3.0,
            acceleration_mps2: 2.0,
            endurance_min: 25.0,
            reserve: 0.2,
            swap_min: 3.0,
            gnss: Some(Gnss {
                random_horizontal_m: 0.01,
                random_vertical_m: 0.02,
                constant_horizontal_m: 0.015,
                constant_vertical_m: 0.03,
            }),
            top_airspeed_mps: Some(15.0),
            lateral_mps2: None,
            energy,
            corrections: None,
        }
    }

    fn energy() -> Energy {
        Energy {
            battery_wh: 180.0,
            endurance_at_mps: 8.0,
            hover_min: None,
            top_speed_min: None,
            mass_kg: 3.0,
            rotors: 4,
            rotor_diameter_m: 0.4,
            health: 0.95,
            cold_loss_per_c: 0.01,
        }
    }

    /// Derived: on generated sites no way draws more than what bounds it, whether it has been looked for or not; in still air
    /// and in wind, at speeds and turns that come out otherwise, and whichever way the nose points before.
    #[test]
    fn no_way_draws_more_than_its_bounds() {
        let (mut flown, mut turned, mut by_levels) = (0, 0, 0);
        let conditions = Conditions::default();
        for seed in 0..12 {
            let site = site(seed, 5.0, 0);
            let airspace = Airspace { site: &site, clearance_m: 8.0 };
            let airframe = airframe((seed % 2 == 0).then(energy));
            let mut drawn = Lots(seed + 100);
            for k in 0..40 {
                let air_mps = if k % 2 == 0 { DVec2::ZERO } else { drawn.place(9.0) - 4.5 };
                let (speed, turns) = (0.8 + 0.4 * drawn.next(), 0.7 + 0.6 * drawn.next());
                let craft = Craft::new(&airframe, &conditions, air_mps).with_speed(speed).with_turns(turns);
                let [from, to] = [40.0 * drawn.next(), 0.0].map(|above_m| {
                    let at = drawn.place(SIDE_M);
                    at.extend(site.terrain.height_m(at) + above_m)
                });
                let Some(bounds) = bounds(&airspace, from, to) else { continue };
                let way = airspace.way(from, to).expect("what is bounded is there");
                let way = Way::new(legs_along(&way, LegKind::Transit, &airframe), &airframe);
                let unseen = |bound: &WayBound| Most::of_bound(bound, from, to, &airframe);
                let most_j = |most: &Most| most.drawn_j(&craft, airframe.top_speed_mps);
                let (cost, _) = way.flown(&craft, Some(drawn.next() * 6.0));
                for most in [&unseen(&bounds.widest), &unseen(&bounds.near), way.most()] {
                    assert!(cost.energy_j <= most_j(most), "{seed} {k}: {} {most:?}", cost.energy_j);
                }
                for either in bounds.by_levels {
                    let most_j = either.iter().map(|bound| most_j(&unseen(bound))).fold(0.0, f64::max);
                    assert!(cost.energy_j <= most_j, "{seed} {k}: {} {most_j} {either:?}", cost.energy_j);
                    by_levels += 1;
                }
                flown += 1;
                turned += u32::from(way.legs.len() > 4);
            }
        }
        assert!(flown > 250 && turned > 25 && by_levels > 100, "{flown} {turned} {by_levels}");
    }
}
