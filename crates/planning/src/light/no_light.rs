//! Why nothing is said about the light.

use crate::scenario::ClockError;
use thiserror::Error;

/// Why nothing is said about the light.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoLight {
    /// The scenario does not say when it is flown.
    #[error("the light needs a date, an arrival time and a time zone; set them in the conditions")]
    NoMission,
    /// The site is nowhere.
    #[error(
        "the light needs the site's place on the earth, but the site has no latitude and longitude; give it an \
         origin: Place on earth, on the screen Site"
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
