//! Units that may stand behind a number.

use obliquity_planning::exact::{ACRE_M2, FOOT_M, INCH_M, KNOT_MPS, MPH_MPS, POUND_KG};
use obliquity_planning::{Unit, Units};

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dimension {
    Length,
    Area,
    Speed,
    Acceleration,
    Share,
    Angle,
    Turning,
    Time,
    Mass,
    Energy,
    Data,
    Temperature,
    Pixels,
    /// Something with one unit of its own, or with none.
    Own,
}

impl Dimension {
    /// In sentences: "a length".
    pub(super) fn name(self) -> &'static str {
        match self {
            Dimension::Length => "a length",
            Dimension::Area => "an area",
            Dimension::Speed => "a speed",
            Dimension::Acceleration => "an acceleration",
            Dimension::Share => "a share",
            Dimension::Angle => "an angle",
            Dimension::Turning => "a rate of turning",
            Dimension::Time => "a time",
            Dimension::Mass => "a mass",
            Dimension::Energy => "an energy",
            Dimension::Data => "an amount of data",
            Dimension::Temperature => "a temperature",
            Dimension::Pixels => "a number of pixels",
            Dimension::Own => "a plain number",
        }
    }
}

/// A unit: base units = number × factor + offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sign {
    pub(super) dimension: Dimension,
    text: &'static str,
    factor: f64,
    offset: f64,
}

const fn sign(dimension: Dimension, text: &'static str, factor: f64) -> Sign {
    Sign { dimension, text, factor, offset: 0.0 }
}

/// Every unit that is read, with its base: metres, square metres, metres per second, fractions, degrees, seconds,
/// kilograms, watt-hours, gigabytes, degrees Celsius, pixels. The first of its dimension and size is the one that
/// sentences name.
const SIGNS: [Sign; 78] = [
    sign(Dimension::Length, "m", 1.0),
    sign(Dimension::Length, "km", 1000.0),
    sign(Dimension::Length, "cm", 0.01),
    sign(Dimension::Length, "mm", 0.001),
    sign(Dimension::Length, "µm", 1e-6),
    sign(Dimension::Length, "μm", 1e-6),
    sign(Dimension::Length, "um", 1e-6),
    sign(Dimension::Length, "ft", FOOT_M),
    sign(Dimension::Length, "feet", FOOT_M),
    sign(Dimension::Length, "foot", FOOT_M),
    sign(Dimension::Length, "'", FOOT_M),
    sign(Dimension::Length, "’", FOOT_M),
    sign(Dimension::Length, "′", FOOT_M),
    sign(Dimension::Length, "in", INCH_M),
    sign(Dimension::Length, "inch", INCH_M),
    sign(Dimension::Length, "inches", INCH_M),
    sign(Dimension::Length, "\"", INCH_M),
    sign(Dimension::Length, "″", INCH_M),
    sign(Dimension::Length, "yd", 3.0 * FOOT_M),
    sign(Dimension::Length, "mi", 5280.0 * FOOT_M),
    sign(Dimension::Length, "m/px", 1.0),
    sign(Dimension::Length, "cm/px", 0.01),
    sign(Dimension::Length, "mm/px", 0.001),
    sign(Dimension::Length, "in/px", INCH_M),
    sign(Dimension::Area, "ha", 10_000.0),
    sign(Dimension::Area, "m²", 1.0),
    sign(Dimension::Area, "m2", 1.0),
    sign(Dimension::Area, "km²", 1e6),
    sign(Dimension::Area, "km2", 1e6),
    sign(Dimension::Area, "acres", ACRE_M2),
    sign(Dimension::Area, "acre", ACRE_M2),
    sign(Dimension::Area, "ac", ACRE_M2),
    sign(Dimension::Speed, "m/s", 1.0),
    sign(Dimension::Speed, "km/h", 1.0 / 3.6),
    sign(Dimension::Speed, "kph", 1.0 / 3.6),
    sign(Dimension::Speed, "mph", MPH_MPS),
    sign(Dimension::Speed, "kn", KNOT_MPS),
    sign(Dimension::Speed, "kt", KNOT_MPS),
    sign(Dimension::Speed, "ft/s", FOOT_M),
    sign(Dimension::Speed, "ft/min", FOOT_M / 60.0),
    sign(Dimension::Acceleration, "m/s²", 1.0),
    sign(Dimension::Acceleration, "m/s2", 1.0),
    sign(Dimension::Acceleration, "ft/s²", FOOT_M),
    sign(Dimension::Acceleration, "ft/s2", FOOT_M),
    sign(Dimension::Share, "%", 0.01),
    sign(Dimension::Angle, "°", 1.0),
    sign(Dimension::Angle, "deg", 1.0),
    sign(Dimension::Angle, "gon", 0.9),
    sign(Dimension::Angle, "rad", 180.0 / std::f64::consts::PI),
    sign(Dimension::Turning, "°/s", 1.0),
    sign(Dimension::Turning, "deg/s", 1.0),
    sign(Dimension::Time, "s", 1.0),
    sign(Dimension::Time, "sec", 1.0),
    sign(Dimension::Time, "ms", 0.001),
    sign(Dimension::Time, "µs", 1e-6),
    sign(Dimension::Time, "μs", 1e-6),
    sign(Dimension::Time, "us", 1e-6),
    sign(Dimension::Time, "min", 60.0),
    sign(Dimension::Time, "mins", 60.0),
    sign(Dimension::Time, "h", 3600.0),
    sign(Dimension::Time, "hr", 3600.0),
    sign(Dimension::Time, "hours", 3600.0),
    sign(Dimension::Mass, "kg", 1.0),
    sign(Dimension::Mass, "g", 0.001),
    sign(Dimension::Mass, "lb", POUND_KG),
    sign(Dimension::Mass, "lbs", POUND_KG),
    sign(Dimension::Mass, "oz", POUND_KG / 16.0),
    sign(Dimension::Energy, "Wh", 1.0),
    sign(Dimension::Energy, "kWh", 1000.0),
    sign(Dimension::Data, "GB", 1.0),
    sign(Dimension::Data, "MB", 0.001),
    sign(Dimension::Data, "TB", 1000.0),
    Sign { dimension: Dimension::Temperature, text: "°C", factor: 1.0, offset: 0.0 },
    Sign { dimension: Dimension::Temperature, text: "°F", factor: 1.0 / 1.8, offset: -32.0 / 1.8 },
    Sign { dimension: Dimension::Temperature, text: "C", factor: 1.0, offset: 0.0 },
    Sign { dimension: Dimension::Temperature, text: "F", factor: 1.0 / 1.8, offset: -32.0 / 1.8 },
    Sign { dimension: Dimension::Temperature, text: "K", factor: 1.0, offset: -273.15 },
    sign(Dimension::Pixels, "px", 1.0),
];

impl Sign {
    /// The unit that a field shows.
    pub(super) fn of_field(unit: Unit, units: Units) -> Sign {
        let shown = units.scale(unit).sign;
        SIGNS.into_iter().find(|sign| sign.text == shown).unwrap_or(sign(Dimension::Own, shown, 1.0))
    }

    /// Whether a number with the other unit can be converted into this one.
    pub(super) fn is_alike(&self, other: Sign) -> bool {
        self.dimension == other.dimension && (self.dimension != Dimension::Own || self.text == other.text)
    }

    /// Units that fit a field with this one, as sentences name them.
    pub(super) fn alike(&self) -> Vec<&'static str> {
        let named = |sign: &Sign| {
            let first = |other: &&Sign| other.dimension == sign.dimension && other.factor == sign.factor;
            SIGNS.iter().find(first).is_some_and(|first| first.text == sign.text)
        };
        let alike = SIGNS.iter().filter(|sign| self.is_alike(**sign) && named(sign)).map(|sign| sign.text);
        let own = (self.dimension == Dimension::Own && !self.text.is_empty()).then_some(self.text);
        alike.chain(own).collect()
    }

    /// A number with this unit, in base units.
    pub(super) fn base(&self, number: f64) -> f64 {
        number * self.factor + self.offset
    }

    /// How many base units one of what a field stores is.
    pub(super) fn base_per_stored(unit: Unit) -> f64 {
        Sign::of_field(unit, Units::Metric).factor / Units::Metric.scale(unit).stored_per_shown
    }

    /// The longest unit that a text begins with, and its length there; `own` is one too.
    pub(super) fn at_start(text: &str, own: &Sign) -> Option<(Sign, usize)> {
        let length = |sign: &Sign| {
            let mut rest = text.chars();
            for expected in sign.text.chars() {
                let came = rest.next()?;
                let same = came == expected || came.to_lowercase().eq(expected.to_lowercase());
                same.then_some(())?;
            }
            let rest = rest.as_str();
            // A word that only begins like a unit is none.
            let ends = !rest.starts_with(|c: char| c.is_alphabetic() || matches!(c, '/' | '²' | '%' | '°'));
            (ends && !sign.text.is_empty()).then_some(text.len() - rest.len())
        };
        let found = SIGNS.iter().chain([own]).filter_map(|sign| Some((*sign, length(sign)?)));
        // Of units spelled alike but for capitals, the one that is spelled as the text is.
        let exact = |sign: &Sign| text.starts_with(sign.text);
        found.max_by_key(|(sign, length)| (*length, exact(sign)))
    }
}
