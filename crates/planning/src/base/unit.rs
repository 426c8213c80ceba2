//! What numbers are in.

use serde::{Deserialize, Serialize};

/// What a number is in: how it is stored, and so what it measures. How it is shown is for [`Units`](crate::base::Units).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Lengths, in metres.
    Metres,
    /// The size of a part that is bought by it, or of an error: in metres, shown in centimetres or inches.
    SizeMetres,
    /// Areas of land, in square metres.
    SquareMetres,
    /// GSD in metres on the surface per pixel: what figures have.
    GsdMetres,
    /// GSD in centimetres per pixel: what scenarios hold.
    GsdCentimetres,
    /// Millimetres.
    Millimetres,
    /// Micrometres.
    Micrometres,
    /// Pixels.
    Pixels,
    /// 10^9 pixels.
    Gigapixels,
    /// Speeds over ground or through the air, in metres per second.
    MetresPerSecond,
    /// Climb and descent, in metres per second.
    VerticalMetresPerSecond,
    /// Metres per second squared.
    MetresPerSecondSquared,
    /// Degrees.
    Degrees,
    /// Degrees per second.
    DegreesPerSecond,
    /// A share, 0 to 1.
    Share,
    /// A number of things.
    Count,
    /// A coefficient without a unit.
    Coefficient,
    /// The focal length over the diameter of an aperture.
    FNumber,
    /// An exposure value.
    ExposureValue,
    /// Lengths of stay and flight, in seconds, shown in minutes.
    Seconds,
    /// What takes seconds, in seconds.
    BriefSeconds,
    /// What takes parts of a second, in seconds, shown in milliseconds.
    ReadoutSeconds,
    /// Exposure times, in seconds, shown as the part of a second that they are: 1/1600 s.
    ExposureSeconds,
    /// Minutes.
    Minutes,
    /// Hours.
    Hours,
    /// Kilograms.
    Kilograms,
    /// Degrees Celsius.
    Celsius,
    /// 10^6 bytes.
    Megabytes,
    /// 10^9 bytes.
    Gigabytes,
    /// Watt-hours.
    WattHours,
    /// Full battery sets, parts of one included.
    BatterySets,
    /// Amounts in whatever currency the user has.
    Money,
    /// Such amounts for each hectare, shown for each acre where land is in acres.
    MoneyPerHectare,
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
