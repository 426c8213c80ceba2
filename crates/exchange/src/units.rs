//! Units that people read and type: metric or US customary. Everything inside and in files stays SI.

use obliquity_planning::wording::Form;
use obliquity_planning::{GsdUnit, Unit};
use serde::{Deserialize, Serialize};

pub use obliquity_planning::wording::{count, short};

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

/// What a number measures; decides its unit on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Heights and distances; stored in metres.
    Length,
    /// Areas of land; stored in square metres.
    Area,
    /// Speed over ground; stored in metres per second.
    Speed,
    /// Vertical speed; stored in metres per second.
    VerticalSpeed,
    /// Acceleration; stored in metres per second squared.
    Acceleration,
    /// A share, stored as a fraction and shown in per cent.
    Share,
    /// An angle, stored in degrees.
    Angle,
    /// Ground sample distance; stored in centimetres.
    Gsd,
    /// The size of a part that is bought by it, a rotor; stored in centimetres.
    Size,
    /// Mass; stored in kilograms.
    Mass,
    /// Temperature; stored in degrees Celsius.
    Temperature,
    /// Anything that has one unit everywhere, which is given: `"px"`, `"min"`, or none for a count.
    Fixed(&'static str),
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

/// Pound, avoirdupois, exact (NIST SP 811, 2008, app. B.8).
pub(crate) const POUND_KG: f64 = 0.453_592_37;

/// An inch, exact, in the centimetres that sizes are stored in.
const INCH_CM: f64 = 2.54;

pub(crate) use obliquity_planning::rules::{FOOT_M, KNOT_MPS};

/// Mile of 5280 international feet in an hour, exact (NIST SP 811, 2008, app. B.8).
pub(crate) const MPH_MPS: f64 = 5280.0 * FOOT_M / 3600.0;

/// Acre of 43,560 square international feet. The survey foot, withdrawn at the end of 2022, differs by 4 millionths.
pub(crate) const ACRE_M2: f64 = 43_560.0 * FOOT_M * FOOT_M;

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

    /// How GSD, in metres, is written.
    pub fn gsd_form(self) -> Form {
        Form::of_in(Unit::GsdMetres, self.gsd_unit())
    }

    /// GSD, in metres, with its unit.
    pub fn gsd(self, gsd_m: f64) -> String {
        self.gsd_form().alone(gsd_m)
    }

    /// Most decimals of a number that has so many in metric units.
    pub fn decimals(self, quantity: Quantity, metric: usize) -> usize {
        let inches = match quantity {
            Quantity::Gsd => self == Units::UsInches,
            Quantity::Size => self.is_us(),
            _ => false,
        };
        metric + usize::from(inches)
    }

    /// How a quantity's stored number is shown.
    ///
    /// # Examples
    /// ```
    /// use obliquity_exchange::{Quantity, Units};
    /// assert_eq!(Units::UsCustomary.scale(Quantity::Length).sign, "ft");
    /// ```
    pub fn scale(self, quantity: Quantity) -> Scale {
        let us = self.is_us();
        let (stored_per_shown, sign) = match quantity {
            Quantity::Length if us => (FOOT_M, "ft"),
            Quantity::Length => (1.0, "m"),
            Quantity::Area if us => (ACRE_M2, "acres"),
            Quantity::Area => (10_000.0, "ha"),
            Quantity::Speed if us => (MPH_MPS, "mph"),
            Quantity::VerticalSpeed if us => (FOOT_M, "ft/s"),
            Quantity::Speed | Quantity::VerticalSpeed => (1.0, "m/s"),
            Quantity::Acceleration if us => (FOOT_M, "ft/s²"),
            Quantity::Acceleration => (1.0, "m/s²"),
            Quantity::Share => (0.01, "%"),
            Quantity::Angle => (1.0, "°"),
            Quantity::Gsd if self == Units::UsInches => (INCH_CM, "in"),
            Quantity::Size if us => (INCH_CM, "in"),
            Quantity::Gsd | Quantity::Size => (1.0, "cm"),
            Quantity::Mass if us => (POUND_KG, "lb"),
            Quantity::Mass => (1.0, "kg"),
            Quantity::Temperature if us => (1.0 / 1.8, "°F"),
            Quantity::Temperature => (1.0, "°C"),
            Quantity::Fixed(sign) => (1.0, sign),
        };
        let stored_at_zero = if us && quantity == Quantity::Temperature { -32.0 / 1.8 } else { 0.0 };
        Scale { stored_per_shown, stored_at_zero, sign }
    }

    /// A stored number as it is shown, without its sign.
    pub fn shown(self, quantity: Quantity, stored: f64) -> f64 {
        let scale = self.scale(quantity);
        (stored - scale.stored_at_zero) / scale.stored_per_shown
    }

    /// The stored number of one that is shown.
    pub fn stored(self, quantity: Quantity, shown: f64) -> f64 {
        let scale = self.scale(quantity);
        shown * scale.stored_per_shown + scale.stored_at_zero
    }

    /// What stands behind a number: its sign with the space before it, if it has one.
    pub fn suffix(self, quantity: Quantity) -> String {
        match self.scale(quantity).sign {
            "" => String::new(),
            "°" => "°".to_owned(),
            sign => format!(" {sign}"),
        }
    }

    /// A stored number with its sign, with about three figures: "73 m", "240 ft", "22 ha", "54.4 acres".
    pub fn text(self, quantity: Quantity, stored: f64) -> String {
        format!("{}{}", short(self.shown(quantity, stored)), self.suffix(quantity))
    }

    /// A length in whole metres or feet.
    pub fn length(self, length_m: f64) -> String {
        format!("{}{}", count(self.shown(Quantity::Length, length_m)), self.suffix(Quantity::Length))
    }

    /// An area of land.
    pub fn area(self, area_m2: f64) -> String {
        self.text(Quantity::Area, area_m2)
    }

    /// A speed over ground.
    pub fn speed(self, speed_mps: f64) -> String {
        self.text(Quantity::Speed, speed_mps)
    }

    /// The least and the greatest of a row of stored numbers with one sign: "70–75 m"; one number where they are shown
    /// alike, and a dash for none.
    pub fn span(self, quantity: Quantity, stored: impl IntoIterator<Item = f64>) -> String {
        let bounds =
            stored.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |b, v| (b.0.min(v), b.1.max(v)));
        if !bounds.0.is_finite() {
            return "–".to_owned();
        }
        let [low, high] = [bounds.0, bounds.1].map(|value| short(self.shown(quantity, value)));
        let suffix = self.suffix(quantity);
        if low == high { format!("{low}{suffix}") } else { format!("{low}–{high}{suffix}") }
    }
}

/// An azimuth as one of the eight winds.
pub fn compass_name(azimuth_deg: f64) -> &'static str {
    const WINDS: [&str; 8] =
        ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
    WINDS[((azimuth_deg.rem_euclid(360.0) / 45.0).round() as usize) % WINDS.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: NIST SP 811 (2008), app. B.8: 1 ft = 0.3048 m, 1 mi/h = 0.44704 m/s, both exact; 1 acre = 4046.873 m²
    // (survey foot), of which the international acre, 4046.8564 m², is 4 millionths short.
    #[test]
    fn factors_are_those_of_the_nist() {
        let of = |quantity| Units::UsCustomary.scale(quantity).stored_per_shown;
        assert_eq!(of(Quantity::Length), 0.3048);
        assert!((of(Quantity::Speed) - 0.44704).abs() < 1e-12, "rounding of three operations");
        assert!((of(Quantity::Area) - 4046.873).abs() < 0.02, "the survey foot differs by 2e-6");
    }

    // Derived: 73.2 / 0.3048 = 240.2; 220000 / 4046.856 = 54.36; 10 / 0.44704 = 22.37.
    #[test]
    fn texts_are_in_the_units_asked_for() {
        let (metric, us) = (Units::Metric, Units::UsCustomary);
        assert_eq!((metric.length(73.2), us.length(73.2)), ("73 m".to_owned(), "240 ft".to_owned()));
        assert_eq!(
            (metric.area(220_000.0), us.area(220_000.0)),
            ("22 ha".to_owned(), "54.4 acres".to_owned())
        );
        assert_eq!((metric.speed(10.0), us.speed(10.0)), ("10 m/s".to_owned(), "22.4 mph".to_owned()));
        assert_eq!(us.text(Quantity::Share, 0.25), "25 %");
        assert_eq!(us.text(Quantity::Angle, 45.0), "45°");
        assert_eq!(us.text(Quantity::Fixed("cm"), 2.0), "2 cm");
        assert_eq!(us.text(Quantity::Fixed(""), 4.0), "4");
        assert_eq!(us.span(Quantity::Length, [60.96, 91.44]), "200–300 ft");
        assert_eq!(us.span(Quantity::Length, []), "–");
    }

    const ALL_KINDS: [Quantity; 9] = [
        Quantity::Length,
        Quantity::Area,
        Quantity::Speed,
        Quantity::Share,
        Quantity::Angle,
        Quantity::Gsd,
        Quantity::Size,
        Quantity::Mass,
        Quantity::Temperature,
    ];

    // Source: NIST SP 811 (2008), app. B.8 and B.9: 1 in = 2.54 cm, 1 lb = 0.453 592 37 kg, t/°C = (t/°F − 32) / 1.8, all
    // exact.
    #[test]
    fn inches_pounds_and_fahrenheit_are_those_of_the_nist() {
        let (us, inches) = (Units::UsCustomary, Units::UsInches);
        assert_eq!(inches.text(Quantity::Gsd, 2.54), "1 in");
        assert_eq!(
            (us.text(Quantity::Gsd, 2.54), us.text(Quantity::Size, 38.1)),
            ("2.54 cm".into(), "15 in".into())
        );
        assert_eq!(us.text(Quantity::Mass, 24.95), "55 lb");
        let celsius = [-40.0, 0.0, 15.0, 37.0].map(|c| us.text(Quantity::Temperature, c));
        assert_eq!(celsius, ["-40 °F", "32 °F", "59 °F", "98.6 °F"]);
        assert_eq!(
            [inches.gsd(0.015), us.gsd(0.015), inches.gsd(0.0254)],
            ["0.591 in", "1.50 cm", "1.00 in"]
        );
    }

    #[test]
    fn what_is_shown_and_typed_again_is_what_was_stored() {
        for units in Units::ALL {
            for quantity in ALL_KINDS {
                let back = units.stored(quantity, units.shown(quantity, 12.34));
                assert!((back - 12.34).abs() < 1e-12, "rounding of a division and a product");
            }
        }
    }
}
