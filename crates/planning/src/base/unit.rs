//! What numbers are in.

use serde::{Deserialize, Serialize};

/// An international foot, exact (NIST SP 811, 2008, app. B.8).
pub const FOOT_M: f64 = 0.3048;

/// An international knot, exact: 1852 m an hour.
pub const KNOT_MPS: f64 = 1852.0 / 3600.0;

/// A statute mile, exact: 5280 ft.
pub const STATUTE_MILE_M: f64 = 5280.0 * FOOT_M;

/// What a number is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Seconds.
    Seconds,
    /// Hours.
    Hours,
    /// Metres.
    Metres,
    /// Centimetres.
    Centimetres,
    /// Metres on the surface per pixel.
    GsdMetres,
    /// Metres per second.
    MetresPerSecond,
    /// Degrees.
    Degrees,
    /// A share, 0 to 1.
    Share,
    /// A number of things.
    Count,
    /// 10^9 bytes.
    Gigabytes,
    /// 10^9 pixels.
    Gigapixels,
    /// Watt-hours.
    WattHours,
    /// Full battery sets, parts of one included.
    BatterySets,
}

/// What GSD is read and typed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum GsdUnit {
    /// As most requirements state it.
    #[default]
    Centimetres,
    /// As some do.
    Inches,
}

impl GsdUnit {
    /// Name in menus.
    pub fn name(self) -> &'static str {
        match self {
            GsdUnit::Centimetres => "cm",
            GsdUnit::Inches => "inches",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> GsdUnit {
        match self {
            GsdUnit::Centimetres => GsdUnit::Inches,
            GsdUnit::Inches => GsdUnit::Centimetres,
        }
    }
}

impl Unit {
    /// Its sign behind a number; empty for counts.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Seconds => "s",
            Unit::Hours => "h",
            Unit::Centimetres => "cm",
            Unit::Metres | Unit::GsdMetres => "m",
            Unit::MetresPerSecond => "m/s",
            Unit::Degrees => "°",
            Unit::Share | Unit::Count => "",
            Unit::Gigabytes => "GB",
            Unit::Gigapixels => "Gpx",
            Unit::WattHours => "Wh",
            Unit::BatterySets => "sets",
        }
    }
}
