use serde::{Deserialize, Serialize};

/// When the crew arrives at the site, by the site's own clock: the set-up begins then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mission {
    /// The site's date.
    pub date: LocalDate,
    /// The site's clock. A time that a change of the clocks skips is taken as many minutes later; of one that comes
    /// twice, the first is taken.
    pub arrival: LocalClock,
    /// What the site's clock shows.
    pub zone: SiteZone,
}

/// A day of the Gregorian calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LocalDate {
    /// Year.
    pub year: i16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
}

/// A time of day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LocalClock {
    /// Hour, 0 to 23.
    pub hour: u8,
    /// Minute, 0 to 59.
    pub minute: u8,
}

/// What the site's clock shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum SiteZone {
    /// A zone of the IANA time zone database, summer time included.
    Named {
        /// Region and city.
        name: String,
    },
    /// A fixed difference from UTC.
    Offset {
        /// Minutes ahead of UTC, below 0 west of Greenwich.
        minutes: i32,
    },
}

/// How much light there is to expose by.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum LightLevel {
    /// As metered.
    Metered {
        /// Exposure value at ISO 100.
        ev100: f64,
    },
    /// Estimated from the sun's height at the first take-off; needs the mission and the site's place on the earth.
    BySun {
        /// What the sky is like.
        sky: Sky,
    },
}

/// What the sky is like, for estimating the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sky {
    /// Without clouds.
    Clear,
    /// Wholly covered.
    Overcast,
}
