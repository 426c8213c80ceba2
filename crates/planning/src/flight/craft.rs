//! An aircraft on the day: how long a stretch takes, and what it draws from the battery.

use super::line::{OneMovement, Piece};
use crate::flight::atmosphere::Air;
use crate::flight::power::PowerCurve;
use crate::geometry::motion::{Trapezoid, corner_time_s};
use crate::scenario::wind::held_mps;
use crate::scenario::{Airframe, Conditions};
use glam::DVec2;
use std::f64::consts::{PI, TAU};

/// What the clock and the battery need to know of aircraft and weather.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Craft {
    /// Velocity of the air over ground.
    pub(super) air_mps: DVec2,
    pub(super) power: PowerCurve,
    pub(super) fastest_mps: f64,
    pub(super) acceleration_mps2: f64,
    /// What a battery set gives before the reserve is touched.
    pub(super) usable_j: f64,
    /// How the speed on a leg comes out; 1 as planned.
    pub(super) speed_ratio: f64,
    /// How the time for turns comes out; 1 as planned.
    pub(super) turn_ratio: f64,
    /// Power while standing over a place: the wind blows past.
    standing_w: f64,
    /// More than level flight draws at any airspeed up to the fastest.
    most_w: f64,
    /// Over ground along any level direction, at least.
    pub(super) against_mps: f64,
}

/// Time taken and energy drawn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Cost {
    pub(super) time_s: f64,
    pub(super) energy_j: f64,
}

/// Speeds at which a leg is begun and ended.
pub(super) const AT_REST: [f64; 2] = [0.0, 0.0];

impl std::ops::Add for Cost {
    type Output = Cost;
    fn add(self, other: Cost) -> Cost {
        Cost { time_s: self.time_s + other.time_s, energy_j: self.energy_j + other.energy_j }
    }
}

impl std::ops::AddAssign for Cost {
    fn add_assign(&mut self, other: Cost) {
        *self = *self + other;
    }
}

impl Cost {
    pub(super) fn times(self, share: f64) -> Cost {
        Cost { time_s: self.time_s * share, energy_j: self.energy_j * share }
    }
}

impl Craft {
    /// The aircraft in the air of the day, as planned with what earlier flights have corrected, in some wind.
    pub(super) fn new(airframe: &Airframe, conditions: &Conditions, air_mps: DVec2) -> Self {
        let air = Air::on_the_day(conditions.altitude_m, conditions.temperature_c);
        let power = PowerCurve::new(airframe, &air, conditions.temperature_c);
        let fastest_mps = airframe.fastest_mps();
        let corrections = airframe.flown_corrections();
        Craft {
            air_mps,
            power,
            fastest_mps,
            acceleration_mps2: airframe.acceleration_mps2,
            usable_j: power.capacity_j() * (1.0 - airframe.reserve),
            speed_ratio: 1.0,
            turn_ratio: 1.0,
            standing_w: 0.0,
            most_w: power.most_w(fastest_mps),
            against_mps: fastest_mps,
        }
        .in_air(air_mps)
        .with_speed(corrections.speed_ratio)
        .with_turns(corrections.turn_ratio)
    }

    /// The same aircraft in another wind.
    pub(super) fn in_air(self, air_mps: DVec2) -> Self {
        let wind_mps = air_mps.length();
        let against_mps = (self.fastest_mps - wind_mps).max(SLOWEST_MPS);
        Craft { air_mps, standing_w: self.power.level_w(wind_mps), against_mps, ..self }
    }

    /// The same aircraft with a battery that holds so many times as much.
    pub(super) fn with_battery(self, ratio: f64) -> Self {
        Craft { usable_j: self.usable_j * ratio, ..self }
    }

    /// The same aircraft when its speeds come out so many times as planned.
    pub(super) fn with_speed(self, ratio: f64) -> Self {
        let fastest_mps = self.fastest_mps * ratio;
        let most_w = self.power.most_w(fastest_mps);
        Craft { speed_ratio: self.speed_ratio * ratio, fastest_mps, most_w, ..self }.in_air(self.air_mps)
    }

    /// The same aircraft when the time for turns comes out so many times as planned.
    pub(super) fn with_turns(self, ratio: f64) -> Self {
        Craft { turn_ratio: self.turn_ratio * ratio, ..self }
    }

    /// How long a battery set lasts over a place before the reserve is touched.
    pub(super) fn hovers_s(&self) -> f64 {
        self.usable_j / self.standing_w
    }

    /// Fastest over ground along a level direction; without end along none.
    fn most_along_mps(&self, along: DVec2) -> f64 {
        if along == DVec2::ZERO {
            return f64::INFINITY;
        }
        held_mps(self.air_mps, self.fastest_mps, along).map_or(SLOWEST_MPS, |mps| mps.max(SLOWEST_MPS))
    }

    /// Speed over ground on a stretch, the wind allowing.
    pub(super) fn ground_mps(&self, stretch: &OneMovement) -> f64 {
        let wanted = stretch.speed_mps * self.speed_ratio;
        if wanted <= self.against_mps {
            return wanted;
        }
        stretch.pieces().fold(wanted, |least, piece| least.min(self.most_along_mps(piece.along)))
    }

    /// Moving along a stretch, begun and ended at given speeds.
    pub(super) fn moving(&self, stretch: &OneMovement, ends_mps: [f64; 2]) -> (Trapezoid, Cost) {
        let ground_mps = self.ground_mps(stretch);
        let motion = Trapezoid::between(stretch.length_m, ground_mps, self.acceleration_mps2, ends_mps);
        let cruise_w = self.cruise_w(stretch, motion.peak_mps());
        (motion, self.drawn(&motion, cruise_w, stretch.gain_m))
    }

    /// A movement's time, and what it draws: at the power of full speed, halfway between that and standing while speeding up
    /// and braking, and the weight lifted.
    ///
    /// # References
    /// Derived: power × time; that ramps draw the mean of both powers is our own simplification.
    fn drawn(&self, motion: &Trapezoid, cruise_w: f64, gain_m: f64) -> Cost {
        let [up_s, steady_s, down_s] = motion.phases_s();
        let ramp_w = f64::midpoint(cruise_w, self.standing_w);
        let energy_j = (up_s + down_s) * ramp_w + steady_s * cruise_w + self.power.lift_j(gain_m);
        Cost { time_s: motion.duration_s(), energy_j }
    }

    /// Mean power at a speed over ground over a stretch's pieces.
    ///
    /// # References
    /// Derived: the power at the airspeed that the wind leaves, by length.
    fn cruise_w(&self, stretch: &OneMovement, ground_mps: f64) -> f64 {
        let power_w = |piece: &Piece| {
            let over_ground_mps = piece.along * (piece.level_ratio() * ground_mps);
            self.power.level_w((over_ground_mps - self.air_mps).length())
        };
        if stretch.is_one_piece() {
            return stretch.pieces().map(power_w).next().unwrap_or(self.standing_w);
        }
        let (drawn, length_m) = stretch.pieces().fold((0.0, 0.0), |(drawn, length_m), piece| {
            (drawn + piece.length_m * power_w(piece), length_m + piece.length_m)
        });
        drawn / length_m
    }

    /// Turning on the spot from one azimuth of the nose to another; nothing where either is open.
    pub(super) fn turning(&self, from_rad: Option<f64>, to_rad: Option<f64>) -> Cost {
        let Some((from_rad, to_rad)) = from_rad.zip(to_rad) else { return Cost::default() };
        let apart = (to_rad - from_rad).rem_euclid(TAU);
        let angle_rad = if apart > PI { TAU - apart } else { apart };
        self.standing(corner_time_s(angle_rad) * self.turn_ratio)
    }

    /// Standing over a place.
    pub(super) fn standing(&self, time_s: f64) -> Cost {
        Cost { time_s, energy_j: time_s * self.standing_w }
    }

    /// More than is drawn in a time, lifts left out.
    pub(super) fn most_j(&self, time_s: f64) -> f64 {
        time_s * self.most_w
    }
}

/// Progress that is still made against any wind that the aircraft holds; the pass is refused beyond.
const SLOWEST_MPS: f64 = 0.1;
