//! Units that people read and type: metric or US customary. Everything inside and in files stays SI.

use serde::{Deserialize, Serialize};

/// The units that a screen or a printed page is in. Files, the command line and all computing stay metric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Units {
    /// Metres, hectares, metres per second.
    #[default]
    Metric,
    /// Feet, acres, miles per hour. GSD stays in centimetres, as requirements state it.
    UsCustomary,
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
    /// Anything that has one unit everywhere, which is given: `"cm"`, `"min"`, or none for a count.
    Fixed(&'static str),
}

/// How a stored number is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The stored number that one of the shown unit makes: 0.3048 for feet.
    pub stored_per_shown: f64,
    /// The unit's sign; empty for a count.
    pub sign: &'static str,
}

/// International foot, exact (NIST SP 811, 2008, app. B.8).
const FOOT_M: f64 = 0.3048;

/// Mile of 5280 international feet in an hour, exact (NIST SP 811, 2008, app. B.8).
const MPH_MPS: f64 = 5280.0 * FOOT_M / 3600.0;

/// Acre of 43,560 square international feet. The survey foot, withdrawn at the end of 2022, differs by 4 millionths.
const ACRE_M2: f64 = 43_560.0 * FOOT_M * FOOT_M;

/// Every sign that may be typed behind a number, and what one of it is in the stored unit.
const TYPED: [(Quantity, &str, f64); 19] = [
    (Quantity::Length, "m", 1.0),
    (Quantity::Length, "km", 1000.0),
    (Quantity::Length, "ft", FOOT_M),
    (Quantity::Length, "'", FOOT_M),
    (Quantity::Area, "ha", 10_000.0),
    (Quantity::Area, "m²", 1.0),
    (Quantity::Area, "m2", 1.0),
    (Quantity::Area, "acres", ACRE_M2),
    (Quantity::Area, "acre", ACRE_M2),
    (Quantity::Area, "ac", ACRE_M2),
    (Quantity::Speed, "m/s", 1.0),
    (Quantity::Speed, "km/h", 1.0 / 3.6),
    (Quantity::Speed, "mph", MPH_MPS),
    (Quantity::VerticalSpeed, "m/s", 1.0),
    (Quantity::VerticalSpeed, "ft/s", FOOT_M),
    (Quantity::VerticalSpeed, "ft/min", FOOT_M / 60.0),
    (Quantity::Acceleration, "m/s²", 1.0),
    (Quantity::Acceleration, "ft/s²", FOOT_M),
    (Quantity::Share, "%", 0.01),
];

impl Units {
    /// Both, in the order of menus.
    pub const ALL: [Units; 2] = [Units::Metric, Units::UsCustomary];

    /// Name in menus.
    pub fn name(self) -> &'static str {
        match self {
            Units::Metric => "Metric (m, ha, m/s)",
            Units::UsCustomary => "US customary (ft, acres, mph)",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Units {
        match self {
            Units::Metric => Units::UsCustomary,
            Units::UsCustomary => Units::Metric,
        }
    }

    /// How a quantity's stored number is shown.
    ///
    /// # Examples
    /// ```
    /// use obliquity_exchange::{Quantity, Units};
    /// assert_eq!(Units::UsCustomary.scale(Quantity::Length).sign, "ft");
    /// ```
    pub fn scale(self, quantity: Quantity) -> Scale {
        let us = self == Units::UsCustomary;
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
            Quantity::Fixed(sign) => (1.0, sign),
        };
        Scale { stored_per_shown, sign }
    }

    /// A stored number as it is shown, without its sign.
    pub fn shown(self, quantity: Quantity, stored: f64) -> f64 {
        stored / self.scale(quantity).stored_per_shown
    }

    /// The stored number of one that is shown.
    pub fn stored(self, quantity: Quantity, shown: f64) -> f64 {
        shown * self.scale(quantity).stored_per_shown
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

    /// Reads what was typed: a number in the unit shown, or with another sign of the same quantity behind it
    /// ("240 ft" where metres are shown). Returns the stored number.
    ///
    /// # Errors
    /// For people: what was required and what came.
    pub fn parse(self, quantity: Quantity, text: &str) -> Result<f64, String> {
        let plain = text.trim().replace(',', "").replace('−', "-");
        let end = plain.find(|c: char| !matches!(c, '0'..='9' | '.' | '-' | '+')).unwrap_or(plain.len());
        let (number, sign) = (plain[..end].trim(), plain[end..].trim());
        let Scale { stored_per_shown, sign: usual } = self.scale(quantity);
        let wrong =
            || format!("a number in {usual} was required, but it is {text:?}; write for instance 12 {usual}");
        let value: f64 = number.parse().map_err(|_| wrong())?;
        if sign.is_empty() || sign.eq_ignore_ascii_case(usual) {
            return Ok(value * stored_per_shown);
        }
        let typed = TYPED.iter().find(|(of, known, _)| *of == quantity && sign.eq_ignore_ascii_case(known));
        typed.map(|(_, _, stored)| value * stored).ok_or_else(wrong)
    }
}

/// Thousands are set apart: 12,345.
pub fn count(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if value <= -0.5 { format!("-{text}") } else { text }
}

/// A number with three figures or so, and no needless zeros after the point.
pub fn short(value: f64) -> String {
    let text = match value.abs() {
        v if v >= 100.0 => return count(value),
        v if v >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    };
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
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

    // Derived: by the factors above.
    #[test]
    fn typed_numbers_are_in_the_unit_shown_or_say_theirs() {
        let near = |got: Result<f64, String>, stored: f64| (got.unwrap_or(f64::NAN) - stored).abs() < 1e-9;
        assert!(near(Units::UsCustomary.parse(Quantity::Length, "240"), 73.152));
        assert!(near(Units::Metric.parse(Quantity::Length, "240 ft"), 73.152));
        assert!(near(Units::UsCustomary.parse(Quantity::Length, "1,000 FT"), 304.8));
        assert!(near(Units::UsCustomary.parse(Quantity::Length, "80m"), 80.0));
        assert!(near(Units::Metric.parse(Quantity::Speed, "36 km/h"), 10.0));
        assert!(near(Units::Metric.parse(Quantity::Share, "80"), 0.8));
        assert!(near(Units::Metric.parse(Quantity::Angle, "−30°"), -30.0));
        for bad in ["", "ft", "twelve", "12 kg", "12 acres", "1 2 m"] {
            let told = Units::Metric.parse(Quantity::Length, bad).expect_err(bad);
            assert!(told.contains("in m was required"), "{told}");
        }
    }

    #[test]
    fn what_is_shown_and_typed_again_is_what_was_stored() {
        for units in Units::ALL {
            for quantity in
                [Quantity::Length, Quantity::Area, Quantity::Speed, Quantity::Share, Quantity::Angle]
            {
                let back = units.stored(quantity, units.shown(quantity, 12.34));
                assert!((back - 12.34).abs() < 1e-12, "rounding of a division and a product");
            }
        }
    }
}
