//! How long moving takes: straight legs, turns, gimbal cycles, blur.

use crate::base::choice::{EQUAL_RATIO, up};
use std::f64::consts::{PI, TAU};

/// Standard acceleration of free fall, in m/s² (ISO 80000-3).
pub const STANDARD_GRAVITY_MPS2: f64 = 9.80665;

/// Yaw rate at corners and on rings. Common practice, no source.
pub(crate) const YAW_RADPS: f64 = PI / 3.0;

/// Time to come to rest and settle at a corner, on top of the yaw. Common practice, no source.
pub(crate) const CORNER_S: f64 = 1.0;

/// Corners flatter than this are no corners.
const STRAIGHT_RAD: f64 = 1e-6;

/// Time of turning on the spot by an angle: none for what is straight on.
///
/// # References
/// Common practice, no source.
pub(crate) fn corner_time_s(angle_rad: f64) -> f64 {
    if angle_rad < STRAIGHT_RAD { 0.0 } else { angle_rad / YAW_RADPS + CORNER_S }
}

/// The angle that [`corner_time_s`] makes a time of.
pub(crate) fn turned_rad(time_s: f64) -> f64 {
    (time_s - CORNER_S).max(0.0) * YAW_RADPS
}

/// No less than the time of so many turns on the spot that come to an angle together.
pub(crate) fn corners_time_s(count: usize, turned_rad: f64) -> f64 {
    turned_rad / YAW_RADPS + count as f64 * CORNER_S
}

/// A leg with constant acceleration, constant speed and constant braking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trapezoid {
    length_m: f64,
    /// Speed at its start, at most reached on it, and at its end.
    speeds_mps: [f64; 3],
    acceleration_mps2: f64,
}

impl Trapezoid {
    /// Describes a leg from rest to rest.
    ///
    /// # Units
    /// - `length_m` ≥ 0, `speed_mps` > 0 (the limit, not reached on a short leg), `acceleration_mps2` > 0
    pub fn new(length_m: f64, speed_mps: f64, acceleration_mps2: f64) -> Self {
        Trapezoid::between(length_m, speed_mps, acceleration_mps2, [0.0, 0.0])
    }

    /// Describes a leg that is begun and ended at some speed.
    ///
    /// # Units
    /// - `ends_mps`: speed at its start and at its end; neither above `speed_mps`, and the one must be reachable from the
    ///   other within the length
    ///
    /// # References
    /// Kinematics of constant acceleration: the peak of two ramps that meet, v² = a d + (v₁² + v₂²)/2.
    pub fn between(length_m: f64, speed_mps: f64, acceleration_mps2: f64, ends_mps: [f64; 2]) -> Self {
        let [first, last] = ends_mps;
        let meeting = length_m * acceleration_mps2 + f64::midpoint(first * first, last * last);
        let peak_mps = speed_mps.min(meeting.sqrt()).max(first).max(last);
        Trapezoid { length_m, speeds_mps: [first, peak_mps, last], acceleration_mps2 }
    }

    /// Its length.
    pub(crate) fn length_m(&self) -> f64 {
        self.length_m
    }

    /// The greatest speed reached.
    ///
    /// # Units
    /// - returns: metres a second
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::motion::Trapezoid;
    /// // 6 m with 2.5 m/s²: braking begins half-way, at √15 m/s, before the 5 m/s are reached
    /// assert!((Trapezoid::new(6.0, 5.0, 2.5).peak_mps() - 15_f64.sqrt()).abs() < 1e-12);
    /// ```
    pub fn peak_mps(&self) -> f64 {
        self.speeds_mps[1]
    }

    /// Time spent speeding up, at the peak, and braking.
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # References
    /// Kinematics of constant acceleration.
    pub fn phases_s(&self) -> [f64; 3] {
        let [first, peak, last] = self.speeds_mps;
        if peak == 0.0 {
            return [0.0; 3];
        }
        let [up_m, down_m] = self.ramps_m();
        let a = self.acceleration_mps2;
        [(peak - first) / a, (self.length_m - up_m - down_m).max(0.0) / peak, (peak - last) / a]
    }

    /// Time from its start to its end; from rest to rest d/v + v/a, or 2√(d/a) where the speed limit is not reached.
    ///
    /// # Units
    /// - returns: seconds
    ///
    /// # References
    /// Kinematics of constant acceleration.
    pub fn duration_s(&self) -> f64 {
        let [first, peak, last] = self.speeds_mps;
        if first == 0.0 && last == 0.0 && peak > 0.0 {
            return self.length_m / peak + peak / self.acceleration_mps2;
        }
        self.phases_s().iter().sum()
    }

    /// Time at which a distance from the start has been covered.
    ///
    /// # Units
    /// - `along_m`: metres, 0 to the leg's length
    /// - returns: seconds since its start
    ///
    /// # References
    /// Kinematics of constant acceleration.
    pub fn time_at_s(&self, along_m: f64) -> f64 {
        let ([first, peak, last], a) = (self.speeds_mps, self.acceleration_mps2);
        if peak == 0.0 {
            return 0.0;
        }
        let [up_m, down_m] = self.ramps_m();
        if along_m <= up_m {
            ((first * first + 2.0 * a * along_m.max(0.0)).sqrt() - first) / a
        } else if along_m <= self.length_m - down_m {
            (peak - first) / a + (along_m - up_m) / peak
        } else {
            let left_m = (self.length_m - along_m).max(0.0);
            self.duration_s() - ((last * last + 2.0 * a * left_m).sqrt() - last) / a
        }
    }

    /// Distance covered, and speed, at a time from the start.
    ///
    /// # Units
    /// - `time_s`: seconds, 0 to the duration; held there outside
    /// - returns: metres from the start, metres a second
    ///
    /// # References
    /// Kinematics of constant acceleration.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::motion::Trapezoid;
    /// // 2 m/s² for 3 s: 9 m, at 6 m/s
    /// assert_eq!(Trapezoid::new(100.0, 10.0, 2.0).at_time(3.0), (9.0, 6.0));
    /// ```
    pub fn at_time(&self, time_s: f64) -> (f64, f64) {
        let ([first, peak, last], a) = (self.speeds_mps, self.acceleration_mps2);
        let [up_s, steady_s, down_s] = self.phases_s();
        let time_s = time_s.clamp(0.0, up_s + steady_s + down_s);
        if time_s <= up_s {
            return (first * time_s + a * time_s * time_s / 2.0, first + a * time_s);
        }
        if time_s <= up_s + steady_s {
            return (self.ramps_m()[0] + peak * (time_s - up_s), peak);
        }
        let left_s = up_s + steady_s + down_s - time_s;
        (self.length_m - (last * left_s + a * left_s * left_s / 2.0), last + a * left_s)
    }

    /// Distance covered while speeding up, and while braking.
    fn ramps_m(&self) -> [f64; 2] {
        let [first, peak, last] = self.speeds_mps;
        let over = |end: f64| (peak * peak - end * end) / (2.0 * self.acceleration_mps2);
        [over(first), over(last)]
    }
}

/// Time of a straight leg from rest to rest; see [`Trapezoid`].
///
/// # Units
/// - `length_m`: metres; `speed_mps`: metres a second, the limit; `acceleration_mps2`: metres a second squared
/// - returns: seconds
///
/// # References
/// Kinematics of constant acceleration.
///
/// # Examples
/// ```
/// // 100 m at 10 m/s with 2 m/s²: 10 s at full speed, and 5 s lost to starting and stopping.
/// assert_eq!(obliquity_planning::motion::trapezoid_time_s(100.0, 10.0, 2.0), 15.0);
/// ```
pub fn trapezoid_time_s(length_m: f64, speed_mps: f64, acceleration_mps2: f64) -> f64 {
    Trapezoid::new(length_m, speed_mps, acceleration_mps2).duration_s()
}

/// Time to fly `stations` evenly spaced stations, stopping at each for `dwell_s`.
///
/// # Units
/// - `spacing_m`, `speed_mps`, `acceleration_mps2`, `dwell_s`: metres and seconds
/// - returns: seconds
///
/// # References
/// Derived: the hops by [`trapezoid_time_s`], and the stops.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::stop_and_go_time_s;
/// // 25 hops of 20 m, too short for the 10 m/s, 2√(20 / 2) s each; 26 stops of 1 s
/// let time_s = stop_and_go_time_s(26, 20.0, 10.0, 2.0, 1.0);
/// assert!((time_s - (25.0 * 2.0 * 10_f64.sqrt() + 26.0)).abs() < 1e-9);
/// assert!((time_s - 184.113883).abs() < 1e-6);
/// ```
pub fn stop_and_go_time_s(
    stations: u32,
    spacing_m: f64,
    speed_mps: f64,
    acceleration_mps2: f64,
    dwell_s: f64,
) -> f64 {
    let hops = f64::from(stations.saturating_sub(1));
    hops * trapezoid_time_s(spacing_m, speed_mps, acceleration_mps2) + f64::from(stations) * dwell_s
}

/// Time to go through a gimbal's attitudes while standing still: every slew, and a settle and a shot at each attitude.
///
/// # Units
/// - `slews_rad`: radians between each attitude and the next, one fewer than the attitudes
/// - `slew_rate_radps`: radians a second; `settle_s`, `shot_s`: seconds at each attitude
/// - returns: seconds
///
/// # References
/// Derived: a sum of times.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::standing_cycle_time_s;
/// // five attitudes, 90° apart at 60°/s, 0.5 s to settle and 0.3 s a shot: 4 × 1.5 s + 5 × 0.8 s
/// let (turn, rate) = (90_f64.to_radians(), 60_f64.to_radians());
/// assert!((standing_cycle_time_s(&[turn; 4], rate, 0.5, 0.3) - 10.0).abs() < 1e-9);
/// ```
pub fn standing_cycle_time_s(slews_rad: &[f64], slew_rate_radps: f64, settle_s: f64, shot_s: f64) -> f64 {
    let slewing: f64 = slews_rad.iter().map(|angle| angle / slew_rate_radps).sum();
    slewing + (slews_rad.len() + 1) as f64 * (settle_s + shot_s)
}

/// Radius of a level turn flown with a sideways acceleration: v²/a.
///
/// # Units
/// - `speed_mps`: metres a second; `lateral_acceleration_mps2`: metres a second squared
/// - returns: metres
///
/// # References
/// Derived: the acceleration of uniform motion in a circle.
///
/// # Examples
/// ```
/// assert_eq!(obliquity_planning::motion::turn_radius_m(10.0, 5.0), 20.0);
/// ```
pub fn turn_radius_m(speed_mps: f64, lateral_acceleration_mps2: f64) -> f64 {
    speed_mps * speed_mps / lateral_acceleration_mps2
}

/// Radius of a coordinated level turn at a bank angle: v²/(g tan φ).
///
/// # Units
/// - `speed_mps`: metres a second; `bank_rad`: radians from level
/// - returns: metres
///
/// # References
/// Derived: lift carries the weight and pulls sideways by g tan φ.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::banked_turn_radius_m;
/// // 225 / (9.80665 tan 30°)
/// assert!((banked_turn_radius_m(15.0, 30_f64.to_radians()) - 39.739507).abs() < 1e-6);
/// ```
pub fn banked_turn_radius_m(speed_mps: f64, bank_rad: f64) -> f64 {
    turn_radius_m(speed_mps, STANDARD_GRAVITY_MPS2 * bank_rad.tan())
}

/// Motion blur in pixels: speed × exposure time ÷ GSD.
///
/// # Units
/// - `speed_mps`: metres a second over the surface; `exposure_s`: seconds; `gsd_m`: metres per pixel
/// - returns: pixels
///
/// # References
/// Derived: the way during the exposure over what a pixel shows.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::blur_px;
/// // 10 m/s for 1/500 s are 2 cm
/// assert!((blur_px(10.0, 1.0 / 500.0, 0.01) - 2.0).abs() < 1e-12);
/// ```
pub fn blur_px(speed_mps: f64, exposure_s: f64, gsd_m: f64) -> f64 {
    speed_mps * exposure_s / gsd_m
}

/// Greatest speed that keeps motion blur within a limit.
///
/// # Units
/// - `blur_px`: pixels; `gsd_m`: metres per pixel; `exposure_s`: seconds
/// - returns: metres a second over the surface
///
/// # References
/// Derived: [`blur_px`] solved for the speed.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::blur_speed_mps;
/// assert!((blur_speed_mps(0.5, 0.005, 1.0 / 800.0) - 2.0).abs() < 1e-12);
/// ```
pub fn blur_speed_mps(blur_px: f64, gsd_m: f64, exposure_s: f64) -> f64 {
    blur_px * gsd_m / exposure_s
}

/// Blur near the image centre from a camera that turns while exposing: rate × time × focal length in pixels.
///
/// # Units
/// - `rate_radps`: radians a second; `exposure_s`: seconds; `focal_length_px`: pixels
/// - returns: pixels
///
/// # References
/// Derived: an angle near the axis, in focal lengths.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::angular_blur_px;
/// assert!((angular_blur_px(10_f64.to_radians(), 1.0 / 500.0, 3648.0) - 1.273392).abs() < 1e-6);
/// ```
pub fn angular_blur_px(rate_radps: f64, exposure_s: f64, focal_length_px: f64) -> f64 {
    rate_radps * exposure_s * focal_length_px
}

/// Shift between the first and last line of an image read line by line: speed × read-out time.
///
/// # Units
/// - `speed_mps`: metres a second; `readout_s`: seconds from the first line to the last
/// - returns: metres on the ground
///
/// # References
/// Derived: the way during the read-out.
///
/// # Examples
/// ```
/// use obliquity_planning::motion::rolling_shutter_shift_m;
/// assert!((rolling_shutter_shift_m(8.0, 1.0 / 30.0) - 0.266667).abs() < 1e-6);
/// ```
pub fn rolling_shutter_shift_m(speed_mps: f64, readout_s: f64) -> f64 {
    speed_mps * readout_s
}

/// Greatest speed at which exposures one air base apart respect the shot interval.
///
/// # Units
/// - `air_base_m`: metres between exposures; `interval_s`: least seconds between them
/// - returns: metres a second over ground
///
/// # References
/// Derived: one base an interval.
///
/// # Examples
/// ```
/// assert_eq!(obliquity_planning::motion::interval_speed_mps(20.0, 2.0), 10.0);
/// ```
pub fn interval_speed_mps(air_base_m: f64, interval_s: f64) -> f64 {
    air_base_m / interval_s
}

/// A place on the level with a direction of flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// East.
    pub x_m: f64,
    /// North.
    pub y_m: f64,
    /// Counter-clockwise from east.
    pub angle_rad: f64,
}

/// The shortest path between two courses that never turns tighter than a radius and never goes back: three parts, each
/// an arc or straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurningPath {
    from: Course,
    radius_m: f64,
    /// Each part's sense and its length over the radius.
    parts: [(Sense, f64); 3],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sense {
    Left,
    Straight,
    Right,
}

/// Arcs are drawn with a corner for each of these at least.
const ARC_STEP_RAD: f64 = PI / 18.0;

/// Chords lie no farther than this from their arcs: what the chords keep clear of, the arcs do.
const ARC_OFF_M: f64 = 0.005;

impl TurningPath {
    /// The shortest of the six words LSL, RSR, LSR, RSL, LRL, RLR.
    ///
    /// # Units
    /// - `radius_m`: metres, > 0
    ///
    /// # References
    /// Dubins, *American Journal of Mathematics* 79, 1957 (from memory).
    pub fn shortest(from: Course, to: Course, radius_m: f64) -> Self {
        use Sense::{Left, Right, Straight};
        let (dx, dy) = (to.x_m - from.x_m, to.y_m - from.y_m);
        let d = dx.hypot(dy) / radius_m;
        let line = dy.atan2(dx);
        let a = (from.angle_rad - line).rem_euclid(TAU);
        let b = (to.angle_rad - line).rem_euclid(TAU);
        let (a_right, b_right) = (TAU - a, TAU - b);
        let words = [
            (Some(straight_word(d, a, b)), [Left, Straight, Left]),
            (Some(straight_word(d, a_right, b_right)), [Right, Straight, Right]),
            (crossing_word(d, a, b), [Left, Straight, Right]),
            (crossing_word(d, a_right, b_right), [Right, Straight, Left]),
            (curved_word(d, a, b), [Left, Right, Left]),
            (curved_word(d, a_right, b_right), [Right, Left, Right]),
        ];
        let total = |lengths: &[f64; 3]| lengths.iter().sum::<f64>();
        let mut best = (straight_word(d, a, b), words[0].1);
        for (lengths, senses) in words {
            if let Some(lengths) = lengths.filter(|lengths| total(lengths) < total(&best.0) - EQUAL_RATIO) {
                best = (lengths, senses);
            }
        }
        let parts = std::array::from_fn(|k| (best.1[k], best.0[k]));
        TurningPath { from, radius_m, parts }
    }

    /// Its length.
    ///
    /// # Units
    /// - returns: metres
    pub fn length_m(&self) -> f64 {
        self.parts.iter().map(|part| part.1).sum::<f64>() * self.radius_m
    }

    /// Places along it, both ends included, one at least every 10° of an arc and no chord farther than 5 mm from it.
    ///
    /// # Units
    /// - returns: metres east and north
    pub fn places_m(&self) -> Vec<[f64; 2]> {
        let mut at = self.from;
        let mut places = vec![[at.x_m, at.y_m]];
        // a chord over an angle lies r (1 − cos of half of it) from its arc
        let step_rad = ARC_STEP_RAD.min(2.0 * (1.0 - ARC_OFF_M / self.radius_m).max(0.0).acos());
        for (sense, length) in self.parts {
            let steps = if sense == Sense::Straight { 1.0 } else { up(length / step_rad) };
            for _ in 0..steps as u32 {
                at = self.moved(at, sense, length / steps);
                places.push([at.x_m, at.y_m]);
            }
        }
        places
    }

    fn moved(&self, at: Course, sense: Sense, length: f64) -> Course {
        let turned = match sense {
            Sense::Left => length,
            Sense::Straight => 0.0,
            Sense::Right => -length,
        };
        // The chord of an arc lies halfway between the courses at its ends.
        let chord = if turned == 0.0 { length } else { 2.0 * (length / 2.0).sin() } * self.radius_m;
        let (sin, cos) = (at.angle_rad + turned / 2.0).sin_cos();
        Course { x_m: at.x_m + chord * cos, y_m: at.y_m + chord * sin, angle_rad: at.angle_rad + turned }
    }
}

/// Length of [`TurningPath::shortest`].
///
/// # Units
/// - `radius_m`: metres, > 0
/// - returns: metres
///
/// # References
/// As [`TurningPath::shortest`].
///
/// # Examples
/// ```
/// use obliquity_planning::motion::{Course, shortest_turning_path_m};
/// use std::f64::consts::{FRAC_PI_2, PI};
/// // to the next strip 60 m to the right and back: two quarters of 20 m radius and 20 m straight
/// let north = Course { x_m: 0.0, y_m: 0.0, angle_rad: FRAC_PI_2 };
/// let back = Course { x_m: 60.0, y_m: 0.0, angle_rad: -FRAC_PI_2 };
/// assert!((shortest_turning_path_m(north, back, 20.0) - (20.0 * PI + 20.0)).abs() < 1e-9);
/// ```
pub fn shortest_turning_path_m(from: Course, to: Course, radius_m: f64) -> f64 {
    TurningPath::shortest(from, to, radius_m).length_m()
}

/// LSL for unit radius; RSR is its mirror image.
fn straight_word(d: f64, a: f64, b: f64) -> [f64; 3] {
    let (x, y) = (d + a.sin() - b.sin(), b.cos() - a.cos());
    let heading = y.atan2(x);
    [turn(heading - a), x.hypot(y), turn(b - heading)]
}

/// LSR for unit radius; RSL is its mirror image.
fn crossing_word(d: f64, a: f64, b: f64) -> Option<[f64; 3]> {
    let (x, y) = (d + a.sin() + b.sin(), -a.cos() - b.cos());
    let square = x * x + y * y - 4.0;
    (square >= 0.0).then(|| {
        let straight = square.sqrt();
        let heading = y.atan2(x) - (-2.0_f64).atan2(straight);
        [turn(heading - a), straight, turn(heading - b)]
    })
}

/// LRL for unit radius; RLR is its mirror image. The middle circle touches both outer ones, on either side.
fn curved_word(d: f64, a: f64, b: f64) -> Option<[f64; 3]> {
    let (x, y) = (d + a.sin() - b.sin(), b.cos() - a.cos());
    let span = x.hypot(y);
    (span <= 4.0).then(|| {
        let corner = (span / 4.0).acos();
        let through = |to_middle: f64| {
            let (middle_x, middle_y) = (2.0 * to_middle.cos(), 2.0 * to_middle.sin());
            let onward = (y - middle_y).atan2(x - middle_x);
            let (start_arc, end_arc) = (to_middle + PI / 2.0 - a, b - onward - 1.5 * PI);
            [turn(start_arc), turn(to_middle + PI - onward), turn(end_arc)]
        };
        let toward = y.atan2(x);
        let (near, far) = (through(toward + corner), through(toward - corner));
        if near.iter().sum::<f64>() <= far.iter().sum::<f64>() + EQUAL_RATIO { near } else { far }
    })
}

/// An angle turned through, 0 to below a full turn; what is a full turn by rounding alone is none.
fn turn(angle: f64) -> f64 {
    let wrapped = angle.rem_euclid(TAU);
    if TAU - wrapped < 1e-9 { 0.0 } else { wrapped }
}

#[cfg(test)]
mod tests {
    use crate::geometry::motion::*;
    use approx::assert_relative_eq;

    /// Derived: the clock along a leg starts at 0, ends at its duration, is symmetrical and matches the closed forms.
    #[test]
    fn the_clock_along_a_leg() {
        let leg = Trapezoid::new(100.0, 10.0, 2.0);
        assert_relative_eq!(leg.time_at_s(0.0), 0.0);
        assert_relative_eq!(leg.time_at_s(25.0), 5.0);
        assert_relative_eq!(leg.time_at_s(50.0), 7.5);
        assert_relative_eq!(leg.time_at_s(100.0), leg.duration_s());
        let short = Trapezoid::new(8.0, 10.0, 2.0);
        assert_relative_eq!(short.peak_mps(), 4.0);
        assert_relative_eq!(short.time_at_s(4.0), 2.0);
        assert_relative_eq!(short.duration_s(), 4.0);
    }

    /// Derived: a half circle of 60 m about (60, 0): every chord's middle lies within 5 mm of it, and so do its ends.
    #[test]
    fn chords_lie_near_their_arcs() {
        let course = |x_m: f64, angle_rad: f64| Course { x_m, y_m: 0.0, angle_rad };
        let places = TurningPath::shortest(course(0.0, PI / 2.0), course(120.0, -PI / 2.0), 60.0).places_m();
        let off_m = |x: f64, y: f64| ((x - 60.0).hypot(y) - 60.0).abs();
        for pair in places.windows(2) {
            let middle = [0, 1].map(|k| f64::midpoint(pair[0][k], pair[1][k]));
            assert!(off_m(middle[0], middle[1]) <= 0.005 + 1e-9 && off_m(pair[0][0], pair[0][1]) < 1e-9);
        }
        assert!(places.len() > 100);
    }

    #[test]
    fn no_way_takes_no_time() {
        assert_eq!(Trapezoid::new(0.0, 10.0, 2.0).duration_s(), 0.0);
        assert_eq!(Trapezoid::new(0.0, 10.0, 2.0).time_at_s(0.0), 0.0);
    }
}
