//! The air that an aircraft flies in: the International Standard Atmosphere and what the day makes of it.

use crate::geometry::motion::STANDARD_GRAVITY_MPS2;

/// Specific gas constant of dry air, in J/(kg K) (ISO 2533).
const GAS_CONSTANT: f64 = 287.05287;
/// Temperature at sea level, in kelvin (ISO 2533).
const SEA_LEVEL_K: f64 = 288.15;
/// Pressure at sea level, in pascals (ISO 2533).
const SEA_LEVEL_PA: f64 = 101325.0;
/// Fall of temperature with geopotential height up to 11 km, in K/m (ISO 2533).
const LAPSE_K_PER_M: f64 = 0.0065;
/// Nominal radius of the earth, in metres (ISO 2533).
const EARTH_M: f64 = 6_356_766.0;
/// 0 °C in kelvin.
const ZERO_CELSIUS_K: f64 = 273.15;

/// Temperature and pressure of air, taken as dry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Kelvin.
    pub temperature_k: f64,
    /// Pascals.
    pub pressure_pa: f64,
}

impl Air {
    /// Air of the standard atmosphere at a geopotential height up to 11 km.
    ///
    /// # Units
    /// - `geopotential_m`: metres above sea level
    ///
    /// # References
    /// ISO 2533:1975.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::atmosphere::Air;
    /// let air = Air::standard(1000.0);
    /// assert!((air.temperature_k - 281.65).abs() < 1e-9);
    /// assert!((air.pressure_pa - 89874.6).abs() < 0.05);
    /// assert!((air.density_kgpm3() - 1.1116425).abs() < 1e-6);
    /// ```
    pub fn standard(geopotential_m: f64) -> Self {
        let temperature_k = SEA_LEVEL_K - LAPSE_K_PER_M * geopotential_m;
        let exponent = STANDARD_GRAVITY_MPS2 / (GAS_CONSTANT * LAPSE_K_PER_M);
        Air { temperature_k, pressure_pa: SEA_LEVEL_PA * (temperature_k / SEA_LEVEL_K).powf(exponent) }
    }

    /// The standard pressure of an altitude above sea level, at the temperature of the day.
    ///
    /// # Units
    /// - `altitude_m`: metres above sea level
    /// - `temperature_c`: degrees Celsius where the aircraft flies
    ///
    /// # References
    /// ISO 2533:1975 for the pressure; that the day changes the temperature alone is common practice, no source.
    pub fn on_the_day(altitude_m: f64, temperature_c: f64) -> Self {
        let standard = Air::standard(geopotential_m(altitude_m));
        Air { temperature_k: temperature_c + ZERO_CELSIUS_K, ..standard }
    }

    /// Density, in kg/m³.
    ///
    /// # Units
    /// - returns: kilograms per cubic metre
    ///
    /// # References
    /// Equation of state of a perfect gas, with the constant of ISO 2533:1975.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::atmosphere::Air;
    /// // 35 °C at the standard pressure of 1000 m
    /// let hot = Air { temperature_k: 308.15, ..Air::standard(1000.0) };
    /// assert!((hot.density_kgpm3() - 1.0160445).abs() < 1e-6);
    /// ```
    pub fn density_kgpm3(&self) -> f64 {
        self.pressure_pa / (GAS_CONSTANT * self.temperature_k)
    }
}

/// Geopotential height of an altitude above sea level, both in metres: r z / (r + z).
///
/// # Units
/// - `altitude_m`, returns: metres
///
/// # References
/// ISO 2533:1975.
///
/// # Examples
/// ```
/// use obliquity_planning::atmosphere::{Air, geopotential_m};
/// // US Standard Atmosphere 1976: 268.659 K at a geometric height of 3000 m
/// assert!((Air::standard(geopotential_m(3000.0)).temperature_k - 268.659).abs() < 5e-4);
/// ```
pub fn geopotential_m(altitude_m: f64) -> f64 {
    EARTH_M * altitude_m / (EARTH_M + altitude_m)
}
