//! Units that people read and type: metric or US customary. Whatever is computed stays SI, and files stay metric.

use crate::base::exact::{ACRE_M2, FOOT_M, HECTARE_M2, INCH_M, MPH_MPS, POUND_KG};
use crate::base::unit::{GsdUnit, Unit};
use serde::{Deserialize, Serialize};

/// The units that a screen or a printed page is in. Files, the command line and all computing stay metric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Units {
    /// Metres, hectares, metres per second.
    #[default]
    Metric,
    /// Feet, acres, miles per hour, pounds, degrees Fahrenheit. GSD stays in centimetres, as most requirements state it.
    UsCustomary,
    /// The same with GSD in inches.
    UsInches,
}

/// How a stored number is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The stored number that one of the shown unit makes: 0.3048 for feet.
    pub stored_per_shown: f64,
    /// The stored number that reads 0: -17.8 °C for degrees Fahrenheit, 0 for nearly all.
    pub stored_at_zero: f64,
    /// The unit's sign; empty for a count.
    pub sign: &'static str,
}

impl Units {
    /// All, in the order of menus.
    pub const ALL: [Units; 3] = [Units::Metric, Units::UsCustomary, Units::UsInches];

    /// Name in menus.
    pub fn name(self) -> &'static str {
        match self {
            Units::Metric => "Metric (m, ha, m/s)",
            Units::UsCustomary | Units::UsInches => "US customary (ft, acres, mph)",
        }
    }

    /// Whether they are US customary ones.
    pub fn is_us(self) -> bool {
        self != Units::Metric
    }

    /// What GSD is in.
    pub fn gsd_unit(self) -> GsdUnit {
        if self == Units::UsInches { GsdUnit::Inches } else { GsdUnit::Centimetres }
    }

    /// The other system; US customary ones have GSD in the unit given.
    #[must_use]
    pub fn other(self, gsd: GsdUnit) -> Units {
        match (self, gsd) {
            (Units::Metric, GsdUnit::Centimetres) => Units::UsCustomary,
            (Units::Metric, GsdUnit::Inches) => Units::UsInches,
            (Units::UsCustomary | Units::UsInches, _) => Units::Metric,
        }
    }

    /// The same with GSD in the other unit; metric units have one.
    #[must_use]
    pub fn with_other_gsd(self) -> Units {
        match self {
            Units::Metric => Units::Metric,
            Units::UsCustomary => Units::UsInches,
            Units::UsInches => Units::UsCustomary,
        }
    }

    /// Most decimals of a number that has so many in metric units.
    ///
    /// # Units
    /// - `metric`, returns: counts of decimals
    pub fn decimals(self, unit: Unit, metric: usize) -> usize {
        let inches = match unit {
            Unit::GsdCentimetres | Unit::GsdMetres => self == Units::UsInches,
            Unit::SizeMetres => self.is_us(),
            _ => false,
        };
        metric + usize::from(inches)
    }

    /// How a unit's stored number is shown.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{Unit, Units};
    /// assert_eq!(Units::UsCustomary.scale(Unit::Metres).sign, "ft");
    /// ```
    pub fn scale(self, unit: Unit) -> Scale {
        let us = self.is_us();
        let (stored_per_shown, sign) = match unit {
            Unit::Metres if us => (FOOT_M, "ft"),
            Unit::Metres => (1.0, "m"),
            Unit::SizeMetres if us => (INCH_M, "in"),
            Unit::SquareMetres if us => (ACRE_M2, "acres"),
            Unit::SquareMetres => (HECTARE_M2, "ha"),
            Unit::GsdMetres if self == Units::UsInches => (INCH_M, "in"),
            Unit::SizeMetres | Unit::GsdMetres => (0.01, "cm"),
            Unit::GsdCentimetres if self == Units::UsInches => (100.0 * INCH_M, "in"),
            Unit::GsdCentimetres => (1.0, "cm"),
            Unit::Millimetres => (1.0, "mm"),
            Unit::Micrometres => (1.0, "µm"),
            Unit::Pixels => (1.0, "px"),
            Unit::Gigapixels => (1.0, "Gpx"),
            Unit::MetresPerSecond if us => (MPH_MPS, "mph"),
            Unit::VerticalMetresPerSecond if us => (FOOT_M, "ft/s"),
            Unit::MetresPerSecond | Unit::VerticalMetresPerSecond => (1.0, "m/s"),
            Unit::MetresPerSecondSquared if us => (FOOT_M, "ft/s²"),
            Unit::MetresPerSecondSquared => (1.0, "m/s²"),
            Unit::Degrees => (1.0, "°"),
            Unit::DegreesPerSecond => (1.0, "°/s"),
            Unit::Share => (0.01, "%"),
            Unit::Count | Unit::Coefficient | Unit::FNumber | Unit::Money => (1.0, ""),
            Unit::MoneyPerHectare if us => (HECTARE_M2 / ACRE_M2, "/acre"),
            Unit::MoneyPerHectare => (1.0, "/ha"),
            Unit::ExposureValue => (1.0, "EV"),
            Unit::Seconds => (60.0, "min"),
            Unit::ReadoutSeconds => (0.001, "ms"),
            Unit::BriefSeconds | Unit::ExposureSeconds => (1.0, "s"),
            Unit::Minutes => (1.0, "min"),
            Unit::Hours => (1.0, "h"),
            Unit::Kilograms if us => (POUND_KG, "lb"),
            Unit::Kilograms => (1.0, "kg"),
            Unit::Celsius if us => (1.0 / 1.8, "°F"),
            Unit::Celsius => (1.0, "°C"),
            Unit::Megabytes => (1.0, "MB"),
            Unit::Gigabytes => (1.0, "GB"),
            Unit::WattHours => (1.0, "Wh"),
            Unit::BatterySets => (1.0, "sets"),
        };
        let stored_at_zero = if us && unit == Unit::Celsius { -32.0 / 1.8 } else { 0.0 };
        Scale { stored_per_shown, stored_at_zero, sign }
    }

    /// A stored number as it is shown, without its sign.
    ///
    /// # Units
    /// - `stored`: `unit` as it is stored
    /// - returns: the shown one, whose sign [`Units::suffix`] gives
    ///
    /// # References
    /// Sizes of units by definition: NIST SP 811 (2008), app. B.8 and B.9.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{Unit, Units};
    /// assert_eq!(Units::UsCustomary.shown(Unit::Metres, 3.048), 10.0);
    /// assert!((Units::UsCustomary.shown(Unit::Celsius, 20.0) - 68.0).abs() < 1e-9);
    /// assert_eq!(Units::Metric.shown(Unit::Seconds, 90.0), 1.5);
    /// ```
    pub fn shown(self, unit: Unit, stored: f64) -> f64 {
        if unit == Unit::ExposureSeconds {
            return stored.recip();
        }
        let scale = self.scale(unit);
        (stored - scale.stored_at_zero) / scale.stored_per_shown
    }

    /// The stored number of one that is shown.
    ///
    /// # Units
    /// - `shown`: the shown unit, whose sign [`Units::suffix`] gives
    /// - returns: `unit` as it is stored
    ///
    /// # References
    /// As [`Units::shown`].
    pub fn stored(self, unit: Unit, shown: f64) -> f64 {
        if unit == Unit::ExposureSeconds {
            return shown.recip();
        }
        let scale = self.scale(unit);
        shown * scale.stored_per_shown + scale.stored_at_zero
    }

    /// What stands before a number.
    pub fn prefix(self, unit: Unit) -> &'static str {
        match unit {
            Unit::ExposureSeconds => "1/",
            Unit::FNumber => "f/",
            _ => "",
        }
    }

    /// What stands behind a number: its sign with the space before it, if it has one.
    pub fn suffix(self, unit: Unit) -> String {
        match self.scale(unit).sign {
            "" => String::new(),
            "°" => "°".to_owned(),
            sign => format!(" {sign}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::base::units::*;

    // Source: NIST SP 811 (2008), app. B.8: 1 ft = 0.3048 m, 1 mi/h = 0.44704 m/s, both exact; 1 acre = 4046.873 m²
    // (survey foot), of which the international acre, 4046.8564 m², is 4 millionths short.
    #[test]
    fn factors_are_those_of_the_nist() {
        let of = |unit| Units::UsCustomary.scale(unit).stored_per_shown;
        assert_eq!(of(Unit::Metres), 0.3048);
        assert!((of(Unit::MetresPerSecond) - 0.44704).abs() < 1e-12, "rounding of three operations");
        assert!((of(Unit::SquareMetres) - 4046.873).abs() < 0.02, "the survey foot differs by 2e-6");
    }

    const SEVERAL: [Unit; 9] = [
        Unit::Metres,
        Unit::SquareMetres,
        Unit::MetresPerSecond,
        Unit::Share,
        Unit::Degrees,
        Unit::GsdCentimetres,
        Unit::SizeMetres,
        Unit::Kilograms,
        Unit::Celsius,
    ];

    #[test]
    fn what_is_shown_and_typed_again_is_what_was_stored() {
        for units in Units::ALL {
            for unit in SEVERAL {
                let back = units.stored(unit, units.shown(unit, 12.34));
                assert!((back - 12.34).abs() < 1e-12, "rounding of a division and a product");
            }
        }
    }
}
