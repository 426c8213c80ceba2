//! What numbers are in.

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
