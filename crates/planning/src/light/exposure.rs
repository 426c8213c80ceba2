use super::figures::LightClock;
use super::{NoLight, SunPosition};
use crate::scenario::{Camera, LightLevel, Sky};
use thiserror::Error;

/// Calibration constant of incident light: ISO 2720 (from memory).
const INCIDENT_CONSTANT: f64 = 250.0;

/// Light at the end of civil twilight under a clear sky, in lux (from memory).
const TWILIGHT_END_LX: f64 = 3.4;

/// Exposure value at ISO 100 of a camera's settings: log₂(N² / t · 100 / S).
///
/// # Units
/// - `f_number`: N, no unit; `exposure_s`: t, seconds; `iso`: S, arithmetic speed
/// - returns: EV at ISO 100, steps of two
///
/// # References
/// Definition of the exposure value (from memory).
///
/// # Examples
/// ```
/// use obliquity_planning::light::ev100_of_settings;
/// // f/16, 1/100 s, ISO 100: full sun
/// assert!((ev100_of_settings(16.0, 1.0 / 100.0, 100.0) - 14.643856).abs() < 1e-6);
/// ```
pub fn ev100_of_settings(f_number: f64, exposure_s: f64, iso: f64) -> f64 {
    (f_number * f_number / exposure_s * 100.0 / iso).log2()
}

/// Exposure value at ISO 100 of light that falls on the subject: log₂(E · 100 / 250).
///
/// # Units
/// - `illuminance_lx`: E, lux, above 0
/// - returns: EV at ISO 100, steps of two
///
/// # References
/// Calibration constant 250: ISO 2720 (from memory).
///
/// # Examples
/// ```
/// use obliquity_planning::light::ev100_of_illuminance;
/// assert_eq!(ev100_of_illuminance(2.5), 0.0);
/// assert!((ev100_of_illuminance(100_000.0) - 15.287712).abs() < 1e-6);
/// ```
pub fn ev100_of_illuminance(illuminance_lx: f64) -> f64 {
    (illuminance_lx * 100.0 / INCIDENT_CONSTANT).log2()
}

/// Exposure time that an exposure value asks for: N² · 100 / (S · 2^EV).
///
/// # Units
/// - `ev100`: exposure value at ISO 100; `f_number`: no unit; `iso`: arithmetic speed
/// - returns: seconds
///
/// # References
/// Derived: [`ev100_of_settings`] solved for the time.
///
/// # Examples
/// ```
/// use obliquity_planning::light::exposure_time_s;
/// // EV 15 at f/4 and ISO 100: 16 / 32768 s
/// assert_eq!(exposure_time_s(15.0, 4.0, 100.0), 1.0 / 2048.0);
/// ```
pub fn exposure_time_s(ev100: f64, f_number: f64, iso: f64) -> f64 {
    f_number * f_number * 100.0 / (iso * ev100.exp2())
}

impl Camera {
    /// Exposure time in a light: what aperture and ISO ask for, no shorter than the shutter can do; without them the
    /// camera's own.
    ///
    /// # Units
    /// - `ev100`: exposure value at ISO 100
    /// - returns: seconds
    ///
    /// # References
    /// As [`exposure_time_s`].
    pub fn exposure_s_in(&self, ev100: f64) -> f64 {
        self.metering.map_or(self.exposure_s, |metering| {
            exposure_time_s(ev100, metering.f_number, metering.iso).max(metering.shortest_s)
        })
    }
}

/// Diameter of the disc to which diffraction spreads a point: 2.44 λ N (Airy's disc).
///
/// # Units
/// - `wavelength_m`: λ, metres; `f_number`: N, no unit
/// - returns: metres on the sensor
///
/// # References
/// First dark ring of Airy's pattern (from memory).
///
/// # Examples
/// ```
/// use obliquity_planning::light::diffraction_disc_m;
/// // green light at f/5.6, on pixels of 2.4123 µm
/// assert!((diffraction_disc_m(550e-9, 5.6) / 2.4122807e-6 - 3.1154).abs() < 1e-4);
/// ```
pub fn diffraction_disc_m(wavelength_m: f64, f_number: f64) -> f64 {
    2.44 * wavelength_m * f_number
}

/// Distance from half of which everything is sharp when the lens is focused on it: f² / (N c) + f.
///
/// # Units
/// - `focal_length_m`: f, metres; `f_number`: N, no unit; `circle_m`: c, metres, largest circle on the sensor that counts
///   as a point
/// - returns: metres
///
/// # References
/// Thin lens (from memory).
///
/// # Examples
/// ```
/// use obliquity_planning::light::hyperfocal_m;
/// assert!((hyperfocal_m(8.8e-3, 5.6, 5e-6) - 2.774514).abs() < 1e-6);
/// ```
pub fn hyperfocal_m(focal_length_m: f64, f_number: f64, circle_m: f64) -> f64 {
    focal_length_m * focal_length_m / (f_number * circle_m) + focal_length_m
}

/// Estimated light on level ground for a sun's elevation h; nothing with the sun more than 6° below the horizon.
///
/// Clear: 128000 e^(−0.21 / sin h) sin h + 800 + 15500 √sin h; overcast: 300 + 21000 sin h. Between the horizon and 6°
/// below it the logarithm falls evenly to 3.4 lx.
///
/// # Units
/// - `elevation_rad`: h, radians above the horizon
/// - returns: lux
///
/// # Accuracy
/// An estimate: haze, thin cloud and shade change the light by a factor of two and more. A metered value is better.
///
/// # References
/// Clear and overcast sky of the lighting engineers' daylight availability formulas (from memory); the part below the
/// horizon is our own interpolation.
///
/// # Examples
/// ```
/// use obliquity_planning::Sky;
/// use obliquity_planning::light::daylight_lx;
/// // sin 30° is a half: 300 + 21000 / 2
/// let overcast_lx = daylight_lx(Sky::Overcast, 30_f64.to_radians()).expect("the sun is up");
/// assert!((overcast_lx - 10_800.0).abs() < 1e-6);
/// assert_eq!(daylight_lx(Sky::Clear, -7_f64.to_radians()), None);
/// ```
pub fn daylight_lx(sky: Sky, elevation_rad: f64) -> Option<f64> {
    let sine = elevation_rad.sin().max(0.0);
    let sun_up_lx = match sky {
        Sky::Clear if sine > 0.0 => 128_000.0 * (-0.21 / sine).exp() * sine + 800.0 + 15_500.0 * sine.sqrt(),
        Sky::Clear => 800.0,
        Sky::Overcast => 300.0 + 21_000.0 * sine,
    };
    let below = -elevation_rad.to_degrees() / 6.0;
    match below {
        _ if below <= 0.0 => Some(sun_up_lx),
        _ if below <= 1.0 => Some(sun_up_lx * (TWILIGHT_END_LX / sun_up_lx).powf(below)),
        _ => None,
    }
}

/// Where a light level comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LightSource {
    /// The user metered it.
    Metered,
    /// Estimated from the sun's height.
    Estimated {
        /// The sky.
        sky: Sky,
        /// The sun at the first take-off.
        sun: SunPosition,
    },
}

/// What sets the exposure time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExposureBound {
    /// The light, through aperture and ISO.
    Light,
    /// The shutter's shortest time: images come out too bright unless aperture or ISO change.
    ShortestTime,
}

/// The exposure time that the blur limit used, and how it came about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExposureFigures {
    /// Exposure value at ISO 100 that was exposed for.
    pub ev100: f64,
    /// Where it comes from.
    pub source: LightSource,
    /// Aperture.
    pub f_number: f64,
    /// Arithmetic speed.
    pub iso: f64,
    /// The exposure time.
    pub exposure_s: f64,
    /// What sets it.
    pub bound_by: ExposureBound,
    /// The least exposure value from the first take-off to the last landing: below `ev100` where the sun sinks or
    /// rises from below; nothing once it is too dark for an estimate.
    pub darkest_ev100: Option<f64>,
}

/// Why the camera's own exposure time stands.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoExposure {
    /// Nobody said how light it is.
    #[error("no light level is set, so the camera's own exposure time stands")]
    NoLevel,
    /// The camera's settings are not known.
    #[error("the camera's aperture and ISO are not set, so its own exposure time stands")]
    NoSettings,
    /// The sun's height is not known.
    #[error("the camera's own exposure time stands: {0}")]
    NoSun(#[from] NoLight),
    /// The sun is too far down.
    #[error(
        "the sun is more than 6° below the horizon, too dark to estimate an exposure, so the camera's own exposure time stands; meter the light"
    )]
    TooDark,
}

/// The exposure at the first take-off.
pub(crate) fn exposure_figures(
    camera: &Camera,
    level: Option<LightLevel>,
    clock: &Result<LightClock, NoLight>,
) -> Result<ExposureFigures, NoExposure> {
    let level = level.ok_or(NoExposure::NoLevel)?;
    let metering = camera.metering.ok_or(NoExposure::NoSettings)?;
    let (ev100, source) = match level {
        LightLevel::Metered { ev100 } => (ev100, LightSource::Metered),
        LightLevel::BySun { sky } => {
            let clock = clock.as_ref().map_err(Clone::clone)?;
            let sun = clock.day.sun(clock.take_off_s)?;
            let ev100 = ev100_by_sun(sky, &sun).ok_or(NoExposure::TooDark)?;
            (ev100, LightSource::Estimated { sky, sun })
        }
    };
    let exposure_s = camera.exposure_s_in(ev100);
    let shortest = exposure_time_s(ev100, metering.f_number, metering.iso) < metering.shortest_s;
    Ok(ExposureFigures {
        ev100,
        source,
        f_number: metering.f_number,
        iso: metering.iso,
        exposure_s,
        bound_by: if shortest { ExposureBound::ShortestTime } else { ExposureBound::Light },
        darkest_ev100: Some(ev100),
    })
}

fn ev100_by_sun(sky: Sky, sun: &SunPosition) -> Option<f64> {
    daylight_lx(sky, sun.elevation_rad).map(ev100_of_illuminance)
}

impl ExposureFigures {
    /// Looks at the light of later moments too.
    #[must_use]
    pub(crate) fn darkened_by(self, later: &[SunPosition]) -> ExposureFigures {
        let LightSource::Estimated { sky, .. } = self.source else { return self };
        let at = |darkest: f64, sun: &SunPosition| Some(darkest.min(ev100_by_sun(sky, sun)?));
        ExposureFigures { darkest_ev100: later.iter().try_fold(self.ev100, at), ..self }
    }
}
