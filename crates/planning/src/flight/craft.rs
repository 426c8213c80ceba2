//! An aircraft on the day: how long a leg takes, and what it draws from the battery.

use crate::atmosphere::Air;
use crate::motion::{Trapezoid, corner_time_s};
use crate::power::PowerCurve;
use crate::wind::held_mps;
use crate::{Airframe, Conditions, Leg};
use glam::{DVec2, DVec3};

/// What the clock and the battery need to know of aircraft and weather.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Craft {
    /// Velocity of the air over ground.
    pub(super) air_mps: DVec2,
    pub(super) power: PowerCurve,
    pub(super) fastest_mps: f64,
    pub(super) acceleration_mps2: f64,
    pub(super) lateral_mps2: Option<f64>,
    /// Share of the capacity that is left at landing.
    pub(super) reserve: f64,
    /// How the speed on a leg comes out; 1 as planned.
    pub(super) speed_ratio: f64,
    /// How the time for turns comes out; 1 as planned.
    pub(super) turn_ratio: f64,
    /// Power while standing over a place: the wind blows past.
    pub(super) standing_w: f64,
    /// Greatest power of level flight up to the fastest airspeed.
    pub(super) greatest_w: f64,
}

/// How a leg is flown.
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

impl Cost {
    pub(super) fn times(self, share: f64) -> Cost {
        Cost { time_s: self.time_s * share, energy_j: self.energy_j * share }
    }
}

impl std::ops::AddAssign for Cost {
    fn add_assign(&mut self, other: Cost) {
        *self = *self + other;
    }
}

impl Craft {
    /// The aircraft in the conditions of the day, as planned.
    pub(crate) fn new(airframe: &Airframe, conditions: &Conditions) -> Self {
        let air = Air::on_the_day(conditions.altitude_m, conditions.temperature_c);
        let power = PowerCurve::new(airframe, &air, conditions.temperature_c);
        Craft {
            air_mps: conditions.wind.velocity_mps(),
            power,
            fastest_mps: airframe.fastest_mps(),
            acceleration_mps2: airframe.acceleration_mps2,
            lateral_mps2: airframe.lateral_mps2,
            reserve: airframe.reserve,
            speed_ratio: 1.0,
            turn_ratio: 1.0,
            standing_w: power.level_w(conditions.wind.speed_mps),
            greatest_w: power.level_w(0.0).max(power.level_w(airframe.fastest_mps())),
        }
    }

    /// Whether it makes headway whichever way it flies.
    pub(crate) fn holds_the_wind(&self) -> bool {
        self.air_mps.length() < self.fastest_mps
    }

    /// The same aircraft in still air.
    pub(super) fn in_still_air(self) -> Self {
        Craft { air_mps: DVec2::ZERO, standing_w: self.power.level_w(0.0), ..self }
    }

    /// What a battery set gives before the reserve is touched.
    pub(crate) fn usable_j(&self) -> f64 {
        self.power.capacity_j() * (1.0 - self.reserve)
    }

    /// Fastest over ground along a level direction; without end along none.
    pub(super) fn most_along_mps(&self, way: DVec2) -> f64 {
        let Some(along) = way.try_normalize() else { return f64::INFINITY };
        held_mps(self.air_mps, self.fastest_mps, along).map_or(SLOWEST_MPS, |mps| mps.max(SLOWEST_MPS))
    }

    /// Power of flying level at a velocity over ground.
    pub(super) fn power_along_w(&self, ground_mps: DVec2) -> f64 {
        self.power.level_w((ground_mps - self.air_mps).length())
    }

    /// Speed over ground on a leg, the wind allowing.
    pub(super) fn ground_mps(&self, leg: &Leg) -> f64 {
        let wanted = leg.speed_mps * self.speed_ratio;
        leg.pieces_m().fold(wanted, |least, (a, b)| least.min(self.most_along_mps((b - a).truncate())))
    }

    /// Moving along a leg, begun and ended at given speeds.
    pub(super) fn moving(&self, leg: &Leg, ends_mps: [f64; 2]) -> (Trapezoid, Cost) {
        let ground_mps = self.ground_mps(leg);
        let motion = Trapezoid::between(leg.length_m(), ground_mps, self.acceleration_mps2, ends_mps);
        let (cruise_w, gain_m) = self.cruise(leg, motion.peak_mps());
        (motion, self.cost(&motion, cruise_w, gain_m))
    }

    /// A movement's time, and what it draws: at the power of full speed, halfway between that and standing while speeding up
    /// and braking, and the weight lifted.
    pub(super) fn cost(&self, motion: &Trapezoid, cruise_w: f64, gain_m: f64) -> Cost {
        let [up_s, steady_s, down_s] = motion.phases_s();
        let ramp_w = f64::midpoint(cruise_w, self.standing_w);
        let energy_j = (up_s + down_s) * ramp_w + steady_s * cruise_w + self.power.lift_j(gain_m);
        Cost { time_s: motion.duration_s(), energy_j }
    }

    /// Mean power at full speed over a leg's pieces, and the metres climbed on it.
    fn cruise(&self, leg: &Leg, ground_mps: f64) -> (f64, f64) {
        let (mut drawn, mut length_m, mut gain_m) = (0.0, 0.0, 0.0);
        for (a, b) in leg.pieces_m() {
            let piece_m = a.distance(b);
            if piece_m == 0.0 {
                continue;
            }
            let over_ground = (b - a).truncate() / piece_m * ground_mps;
            drawn += piece_m * self.power_along_w(over_ground);
            length_m += piece_m;
            gain_m += (b.z - a.z).max(0.0);
        }
        let mean_w = if length_m > 0.0 { drawn / length_m } else { self.standing_w };
        (mean_w, gain_m)
    }

    /// Turning on the spot before a leg.
    pub(super) fn corner(&self, track: Option<DVec2>, leg: &Leg) -> Cost {
        let Some((before, after)) = track.zip(start_track(leg)) else { return Cost::default() };
        self.turned(before.angle_to(after).abs())
    }

    /// Turning on the spot by an angle.
    pub(super) fn turned(&self, angle_rad: f64) -> Cost {
        self.standing(corner_time_s(angle_rad) * self.turn_ratio)
    }

    /// Standing over a place.
    pub(super) fn standing(&self, time_s: f64) -> Cost {
        Cost { time_s, energy_j: time_s * self.standing_w }
    }
}

/// Progress that is still made against any wind that the aircraft holds; the pass is refused beyond.
const SLOWEST_MPS: f64 = 0.1;

/// Horizontal direction in which a leg begins, if it has one.
pub(super) fn start_track(leg: &Leg) -> Option<DVec2> {
    leg.pieces_m().find_map(|(a, b)| level(b - a))
}

/// Horizontal direction in which a leg ends, if it has one.
pub(super) fn end_track(leg: &Leg) -> Option<DVec2> {
    if leg.via_m.is_empty() {
        return level(leg.to_m - leg.from_m);
    }
    leg.pieces_m().filter_map(|(a, b)| level(b - a)).last()
}

fn level(way: DVec3) -> Option<DVec2> {
    let level = way.truncate();
    (level != DVec2::ZERO).then_some(level)
}
