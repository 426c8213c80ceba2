//! Ways between the take-off point and the route, and from pass to pass, prepared to be flown many times.

use super::craft::{AT_REST, Cost, Craft};
use super::line::OneMovement;
use crate::geometry::motion::corner_time_s;
use crate::route::{Leg, LegKind};
use crate::scenario::Airframe;
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
struct Most {
    level_m: f64,
    /// Upright, at the speeds planned.
    upright_s: f64,
    /// Speeding up and braking, at the speeds planned.
    ramps_s: f64,
    /// Turning, first into the way from any direction.
    turning_s: f64,
    gain_m: f64,
}

impl Way {
    pub(super) fn new(legs: Vec<Leg>, airframe: &Airframe) -> Self {
        let prepare = |leg: Leg| {
            let (stretch, noses_rad) = (OneMovement::of(&leg), leg.noses_rad());
            WayLeg { leg, stretch, noses_rad }
        };
        let legs: Vec<WayLeg> = legs.into_iter().map(prepare).collect();
        let mut most = Most::default();
        for WayLeg { leg, stretch, .. } in &legs {
            most.ramps_s += leg.speed_mps / airframe.acceleration_mps2;
            most.gain_m += stretch.gain_m;
            if matches!(leg.kind, LegKind::Climb | LegKind::Descent) {
                most.upright_s += stretch.length_m / leg.speed_mps;
            } else {
                most.level_m += stretch.length_m;
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

    /// More than it draws, whichever way the nose points before it: against the wind all along, at the greatest power.
    ///
    /// A movement from rest to rest takes no longer than its length at full speed and one ramp.
    pub(super) fn most_j(&self, craft: &Craft, level_mps: f64) -> f64 {
        let Most { level_m, upright_s, ramps_s, turning_s, gain_m } = self.most;
        let against_mps = craft.against_mps.min(level_mps * craft.speed_ratio);
        let time_s = level_m / against_mps
            + upright_s / craft.speed_ratio
            + ramps_s * craft.speed_ratio
            + turning_s * craft.turn_ratio;
        craft.most_j(time_s) + craft.power.lift_j(gain_m)
    }
}
