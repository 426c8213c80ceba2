//! The light of a mission: where the sun stands, when it rises and sets by the site's clock, what lies in shade, and
//! what exposure the light allows. No clock is read: the date and the time come in as values.
//!
//! Instants are seconds of UTC since 1970-01-01T00:00, leap seconds left out (`utc_s`).

mod day;
mod exposure;
mod figures;
mod shade;
mod sun;

pub use crate::zone::{ClockError, LocalTime, Zone};
pub use day::{Course, DayLight, LightPeriod, PeriodSpan, TwilightRule, Window, WindowBasis};
pub use exposure::{
    ExposureBound, ExposureFigures, LightSource, NoExposure, daylight_lx, diffraction_disc_m,
    ev100_of_illuminance, ev100_of_settings, exposure_time_s, hyperfocal_m,
};
pub use figures::{LightFigures, LightShares};
pub use shade::{
    CastShade, Shade, ShadeCause, Shadow, StructureShade, WallShade, shadow_length_m, structure_shades,
};
pub use sun::{Air, Observer, SunPosition};

pub(crate) use exposure::exposure_figures;
pub(crate) use figures::{LightClock, light_figures};

use thiserror::Error;

/// Why nothing is said about the light.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoLight {
    /// The scenario does not say when it is flown.
    #[error("the light needs a date, an arrival time and a time zone; set them in the conditions")]
    NoMission,
    /// The site is nowhere.
    #[error(
        "the light needs the site's place on the earth, but the site has no latitude and longitude; give it an origin"
    )]
    NoOrigin,
    /// The mission names a zone, a date or a time that is none.
    #[error(transparent)]
    Clock(#[from] ClockError),
    /// The strategy cannot be flown, so there is no time at which it is.
    #[error("the light is that of the flight, but the strategy cannot be flown as set; mend that first")]
    NotFlown,
    /// The sun's position cannot be worked out there and then.
    #[error("the sun's position cannot be worked out: {what}; check the site's origin and the date")]
    NoSun {
        /// What is wrong.
        what: String,
    },
}
