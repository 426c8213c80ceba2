//! The power that a rotary-wing aircraft draws: momentum theory, and the curve over airspeed.

use crate::flight::atmosphere::Air;
use crate::geometry::motion::STANDARD_GRAVITY_MPS2;
use crate::scenario::Airframe;
use std::f64::consts::PI;

/// Rotors as one actuator disc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Mass carried.
    pub mass_kg: f64,
    /// Area swept by all rotors.
    pub area_m2: f64,
    /// Density of the air.
    pub density_kgpm3: f64,
}

impl Disc {
    /// Area swept by so many rotors.
    ///
    /// # Units
    /// - `diameter_m`: metres, of one rotor
    /// - returns: square metres
    ///
    /// # References
    /// Derived: so many circles.
    pub fn area_m2(rotors: u32, diameter_m: f64) -> f64 {
        f64::from(rotors) * PI * diameter_m * diameter_m / 4.0
    }

    fn thrust_n(&self) -> f64 {
        self.mass_kg * STANDARD_GRAVITY_MPS2
    }

    /// Velocity of the air through the disc in hover.
    ///
    /// # Units
    /// - returns: metres a second
    ///
    /// # References
    /// Leishman, *Principles of Helicopter Aerodynamics*, ch. 2 (from memory): √(T / 2ρA).
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::power::Disc;
    /// // 1.4 kg on four rotors of 24 cm at sea level
    /// let disc = Disc { mass_kg: 1.4, area_m2: Disc::area_m2(4, 0.24), density_kgpm3: 1.225 };
    /// assert!((disc.hover_induced_mps() - 5.564871).abs() < 1e-5);
    /// ```
    pub fn hover_induced_mps(&self) -> f64 {
        (self.thrust_n() / (2.0 * self.density_kgpm3 * self.area_m2)).sqrt()
    }

    /// Ideal power in hover: T^1.5 / √(2ρA).
    ///
    /// # Units
    /// - returns: watts
    ///
    /// # References
    /// Leishman, *Principles of Helicopter Aerodynamics*, ch. 2 (from memory).
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::power::Disc;
    /// let disc = Disc { mass_kg: 1.4, area_m2: Disc::area_m2(4, 0.24), density_kgpm3: 1.225 };
    /// assert!((disc.hover_ideal_w() - 76.401845).abs() < 1e-4);
    /// // a fifth more mass: 1.2^1.5 times the power
    /// let laden = Disc { mass_kg: 1.2 * 1.4, ..disc };
    /// assert!((laden.hover_ideal_w() / disc.hover_ideal_w() - 1.314534).abs() < 1e-6);
    /// ```
    pub fn hover_ideal_w(&self) -> f64 {
        self.thrust_n() * self.hover_induced_mps()
    }

    /// Velocity of the air through a level disc in forward flight: √(−V²/2 + √(V⁴/4 + v⁴)), v that of hover.
    ///
    /// # Units
    /// - `airspeed_mps`, returns: metres a second
    ///
    /// # References
    /// Glauert's hypothesis for the level disc (from memory).
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::power::Disc;
    /// let disc = Disc { mass_kg: 1.4, area_m2: Disc::area_m2(4, 0.24), density_kgpm3: 1.225 };
    /// assert!((disc.forward_induced_mps(5.0) - 4.571151).abs() < 1e-5);
    /// ```
    pub fn forward_induced_mps(&self, airspeed_mps: f64) -> f64 {
        let hover_mps = self.hover_induced_mps();
        hover_mps * induced_ratio(airspeed_mps, hover_mps)
    }
}

/// Induced velocity, and with it induced power, in level flight over that in hover: √(√(1 + r²) − r), r = V² / 2v².
///
/// # References
/// As [`Disc::forward_induced_mps`], over the velocity in hover.
fn induced_ratio(airspeed_mps: f64, hover_induced_mps: f64) -> f64 {
    let ratio = airspeed_mps * airspeed_mps / (2.0 * hover_induced_mps * hover_induced_mps);
    ((1.0 + ratio * ratio).sqrt() - ratio).max(0.0).sqrt()
}

/// A rotary wing's power in level flight.
///
/// # References
/// Zeng, Xu & Zhang, *IEEE Trans. Wireless Commun.* 18(4), 2019, Eq. (12).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotaryWing {
    /// Blade profile power in hover.
    pub profile_w: f64,
    /// Induced power in hover.
    pub induced_w: f64,
    /// Speed of the blade tips.
    pub tip_mps: f64,
    /// Induced velocity in hover.
    pub hover_induced_mps: f64,
    /// Parasite power over the cube of the airspeed: ½ d₀ ρ s A.
    pub parasite_w_per_mps3: f64,
}

impl RotaryWing {
    /// Power in level flight at an airspeed.
    ///
    /// # Units
    /// - `airspeed_mps`: metres a second through the air
    /// - returns: watts
    ///
    /// # References
    /// Zeng, Xu & Zhang, *IEEE Trans. Wireless Commun.* 18(4), 2019, Eq. (12): blade profile, induced and parasite power.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::power::RotaryWing;
    /// // the example of the reference: a craft of 20 N, ½ d₀ ρ s A = ½ · 0.6 · 1.225 · 0.05 · 0.503
    /// let wing = RotaryWing {
    ///     profile_w: 79.856280,
    ///     induced_w: 88.627938,
    ///     tip_mps: 120.0,
    ///     hover_induced_mps: 4.03,
    ///     parasite_w_per_mps3: 0.5 * 0.6 * 1.225 * 0.05 * 0.503,
    /// };
    /// assert!((wing.level_w(0.0) - 168.484218).abs() < 1e-6);
    /// assert!((wing.level_w(10.0) - 126.029069).abs() < 1e-4);
    /// ```
    pub fn level_w(&self, airspeed_mps: f64) -> f64 {
        let square = airspeed_mps * airspeed_mps;
        let profile = self.profile_w * (1.0 + 3.0 * square / (self.tip_mps * self.tip_mps));
        let induced = self.induced_w * induced_ratio(airspeed_mps, self.hover_induced_mps);
        profile + induced + self.parasite_w_per_mps3 * square * airspeed_mps
    }

    /// A craft of the common shape: the reference's example, scaled by disc, density and, for its drag, mass.
    ///
    /// # References
    /// Zeng, Xu & Zhang, as [`RotaryWing`], for the example; how it is scaled is derived: powers by momentum theory and
    /// density, drag area by mass to the power of 2/3.
    pub fn of_common_shape(disc: &Disc) -> Self {
        let induced_w = (1.0 + INDUCED_EXCESS) * disc.hover_ideal_w();
        // Profile power goes with density; at sea level it stands to the induced power as in the example.
        let standard = Disc { density_kgpm3: STANDARD_DENSITY_KGPM3, ..*disc };
        let profile_w = PROFILE_TO_INDUCED
            * (1.0 + INDUCED_EXCESS)
            * standard.hover_ideal_w()
            * (disc.density_kgpm3 / STANDARD_DENSITY_KGPM3);
        // Craft of one shape have a drag area that grows as their surface does.
        let drag_area_m2 = DRAG_AREA_M2 * (disc.mass_kg / EXAMPLE_KG).powf(2.0 / 3.0);
        RotaryWing {
            profile_w,
            induced_w,
            tip_mps: TIP_MPS,
            hover_induced_mps: disc.hover_induced_mps(),
            parasite_w_per_mps3: 0.5 * disc.density_kgpm3 * drag_area_m2,
        }
    }
}

/// Density at sea level in the standard atmosphere (ISO 2533).
pub(crate) const STANDARD_DENSITY_KGPM3: f64 = 1.225;

// The example of the reference: 20 N of weight, blade tips at 120 m/s, a drag area of d₀ s A = 0.6 · 0.05 · 0.503 m²,
// induced power 10 % above the ideal, and 79.86 W of profile power beside 88.63 W of induced power in hover.
const TIP_MPS: f64 = 120.0;
const EXAMPLE_KG: f64 = 20.0 / STANDARD_GRAVITY_MPS2;
const DRAG_AREA_M2: f64 = 0.6 * 0.05 * 0.503;
const INDUCED_EXCESS: f64 = 0.1;
const PROFILE_TO_INDUCED: f64 = 79.856280 / 88.627938;

/// Power over airspeed of an aircraft in the air of the day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerCurve {
    shape: Shape,
    /// What a full battery set gives on that day.
    capacity_j: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// The same at every speed.
    Level { power_w: f64 },
    /// The common shape times what makes it go through the endurances known.
    Bent { wing: RotaryWing, weight_n: f64, knots: [Knot; 3] },
}

/// An airspeed at which the power is known, over that of the common shape.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Knot {
    airspeed_mps: f64,
    ratio: f64,
}

/// What a battery set holds where nothing is said: only shares of it are shown then.
const NOMINAL_WH: f64 = 100.0;
pub(crate) const JOULES_PER_WH: f64 = 3600.0;
/// The temperature from which a cold battery is reckoned.
const WARM_C: f64 = 20.0;

impl PowerCurve {
    /// The curve of an airframe in the air that it flies in.
    ///
    /// # Units
    /// - `temperature_c`: degrees Celsius of the air, for the battery
    ///
    /// # References
    /// Derived: the common shape, drawn through the endurances known; the loss in the cold falls in a straight line from
    /// 20 °C (common practice, no source).
    pub fn new(airframe: &Airframe, air: &Air, temperature_c: f64) -> Self {
        let lasts_ratio = airframe.flown_corrections().endurance_ratio;
        let Some(energy) = &airframe.energy else {
            let new_j = NOMINAL_WH * JOULES_PER_WH;
            let power_w = new_j / (airframe.endurance_min * 60.0);
            return PowerCurve { shape: Shape::Level { power_w }, capacity_j: new_j * lasts_ratio };
        };
        let new_j = energy.battery_wh * JOULES_PER_WH;
        let disc = |density_kgpm3: f64| Disc {
            mass_kg: energy.mass_kg,
            area_m2: Disc::area_m2(energy.rotors, energy.rotor_diameter_m),
            density_kgpm3,
        };
        let standard = RotaryWing::of_common_shape(&disc(STANDARD_DENSITY_KGPM3));
        let knot = |airspeed_mps: f64, minutes: f64| Knot {
            airspeed_mps,
            ratio: new_j / (minutes * 60.0) / standard.level_w(airspeed_mps),
        };
        let main = knot(energy.endurance_at_mps, airframe.endurance_min);
        let fastest_mps = airframe.fastest_mps();
        let mut knots = [
            energy.hover_min.map_or(Knot { airspeed_mps: 0.0, ..main }, |min| knot(0.0, min)),
            main,
            energy
                .top_speed_min
                .map_or(Knot { airspeed_mps: fastest_mps, ..main }, |min| knot(fastest_mps, min)),
        ];
        knots.sort_by(|a, b| a.airspeed_mps.total_cmp(&b.airspeed_mps));
        let wing = RotaryWing::of_common_shape(&disc(air.density_kgpm3()));
        let cold = energy.cold_loss_per_c * (WARM_C - temperature_c).max(0.0);
        PowerCurve {
            shape: Shape::Bent { wing, weight_n: energy.mass_kg * STANDARD_GRAVITY_MPS2, knots },
            capacity_j: new_j * energy.health * (1.0 - cold).max(0.0) * lasts_ratio,
        }
    }

    /// Power in level flight at an airspeed.
    ///
    /// # Units
    /// - `airspeed_mps`: metres a second through the air
    /// - returns: watts
    ///
    /// # References
    /// [`RotaryWing::level_w`] times what lies between the known endurances in a straight line (derived).
    pub fn level_w(&self, airspeed_mps: f64) -> f64 {
        match &self.shape {
            Shape::Level { power_w } => *power_w,
            Shape::Bent { wing, knots, .. } => wing.level_w(airspeed_mps) * ratio_at(knots, airspeed_mps),
        }
    }

    /// More than level flight draws at any airspeed up to one: the common shape falls, then rises.
    pub(crate) fn most_w(&self, airspeed_mps: f64) -> f64 {
        match &self.shape {
            Shape::Level { power_w } => *power_w,
            Shape::Bent { wing, knots, .. } => {
                let ratio = knots.iter().fold(0.0, |most: f64, knot| most.max(knot.ratio));
                ratio * wing.level_w(0.0).max(wing.level_w(airspeed_mps))
            }
        }
    }

    /// Energy on top of level flight for so many metres climbed: the weight lifted. Descents give nothing back.
    ///
    /// # Units
    /// - `gain_m`: metres
    /// - returns: joules
    ///
    /// # References
    /// Derived: weight × height; that no descent gives anything back is common practice, no source.
    pub fn lift_j(&self, gain_m: f64) -> f64 {
        match &self.shape {
            Shape::Level { .. } => 0.0,
            Shape::Bent { weight_n, .. } => weight_n * gain_m.max(0.0),
        }
    }

    /// What a full battery set gives on that day, in joules.
    ///
    /// # Units
    /// - returns: joules
    pub fn capacity_j(&self) -> f64 {
        self.capacity_j
    }
}

/// Between the knots in a straight line, beyond them as at the last.
fn ratio_at(knots: &[Knot; 3], airspeed_mps: f64) -> f64 {
    let after = knots.iter().position(|knot| knot.airspeed_mps > airspeed_mps);
    match after {
        Some(0) => knots[0].ratio,
        None => knots[2].ratio,
        Some(k) => {
            let (a, b) = (knots[k - 1], knots[k]);
            let share = (airspeed_mps - a.airspeed_mps) / (b.airspeed_mps - a.airspeed_mps);
            a.ratio + (b.ratio - a.ratio) * share
        }
    }
}
