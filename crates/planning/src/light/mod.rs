//! The light of a mission: where the sun stands, when it rises and sets by the site's clock, what lies in shade, and
//! what exposure the light allows. No clock is read: the date and the time come in as values.
//!
//! Instants are seconds of UTC since 1970-01-01T00:00, leap seconds left out (`utc_s`).

mod day;
mod exposure;
mod figures;
mod no_light;
mod shade;
mod sun;

pub use crate::scenario::zone::{ClockError, LocalTime, Zone};
pub use day::{DayLight, LightPeriod, PeriodSpan, SunCourse, TwilightRule, Window, WindowBasis};
pub use exposure::{
    ExposureBound, ExposureFigures, LightSource, NoExposure, daylight_lx, diffraction_disc_m,
    ev100_of_illuminance, ev100_of_settings, exposure_time_s, hyperfocal_m,
};
pub use figures::{LightFigures, LightShares};
pub use no_light::NoLight;
pub use shade::{
    CastShade, Shade, ShadeCause, Shadow, StructureShade, WallShade, shadow_length_m, structure_shades,
};
pub use sun::{Observer, SkyAir, SunPosition};

pub(crate) use exposure::exposure_figures;
pub(crate) use figures::{LightClock, light_figures};
