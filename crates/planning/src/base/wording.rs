//! Figures as words: how many decimals a number has alone, and beside the limit that it is held against. A sentence that
//! speaks of lengths or speeds is made for every system of units ([`InUnits`]).

use crate::base::exact::{INCH_M, KNOT_MPS};
use crate::base::unit::{GsdUnit, Unit};
use crate::base::units::{Scale, Units};
use std::cmp::Ordering;

/// Values that differ from a limit by less than this share of it are at the limit: the last bits of a sum.
const ROUNDING: f64 = 1e-7;

/// No number needs more decimals to be told from a limit that it does not equal.
const MOST_DECIMALS: usize = 12;

/// On which side of a limit a value stands.
///
/// # Units
/// - `value`, `limit`: any, the same
pub fn side(value: f64, limit: f64) -> Ordering {
    if (value - limit).abs() <= ROUNDING * limit.abs() { Ordering::Equal } else { value.total_cmp(&limit) }
}

/// How numbers of a unit are written: all that is said of a figure is written by this.
#[derive(Debug, Clone, Copy)]
pub struct Form {
    /// The stored number that makes one of the shown unit.
    pub stored_per_shown: f64,
    /// The unit's sign; empty for a count.
    pub sign: &'static str,
    /// Decimals where nothing asks for more, by the number shown.
    usual: fn(f64) -> usize,
    /// A limit keeps as many of the decimals that it is set with.
    kept: usize,
    /// What is all of something, where that is known: a number just below it is not written as it.
    all: Option<f64>,
}

/// A value and the limit that it is held against: the same decimals, and enough to show on which side it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// The value, with its unit.
    pub value: String,
    /// The limit, with its unit.
    pub limit: String,
}

impl Form {
    /// A form of any unit, with the decimals that it usually has by the number shown.
    ///
    /// # Units
    /// - `stored_per_shown`: the stored number that makes one of the shown unit
    /// - `usual`: decimals of a number as it is shown
    pub const fn new(stored_per_shown: f64, sign: &'static str, usual: fn(f64) -> usize) -> Form {
        Form { stored_per_shown, sign, usual, kept: 3, all: None }
    }

    /// The form of a measure's unit where GSD may be asked for in inches: three decimals below one, so that a tenth of a
    /// millimetre is seen.
    pub fn of_in(unit: Unit, gsd: GsdUnit) -> Form {
        match (unit, gsd) {
            (Unit::GsdMetres, GsdUnit::Inches) => {
                Form::new(INCH_M, "in", |shown| if shown.abs() < 1.0 { 3 } else { 2 })
            }
            _ => Form::of(unit),
        }
    }

    /// A stored number as it is shown, without its unit's sign.
    ///
    /// # Units
    /// - `stored`: as it is stored
    pub fn shown(&self, stored: f64) -> f64 {
        stored / self.stored_per_shown
    }

    /// A figure and its limit.
    ///
    /// # Units
    /// - `value`, `limit`: as they are stored
    pub fn held(&self, value: f64, limit: f64) -> Held {
        let decimals = self.decimals(&[value], Some(limit));
        Held { value: self.text(value, decimals), limit: self.text(limit, decimals) }
    }

    /// A figure beside the limit that it is held against, where there is one.
    ///
    /// # Units
    /// - `value`, `limit`: as they are stored
    pub fn against(&self, value: f64, limit: Option<f64>) -> String {
        self.text(value, self.decimals(&[value], limit))
    }

    /// The form of a measure's unit: GSD in centimetres, shares in per cent, times in minutes.
    pub fn of(unit: Unit) -> Form {
        let fine = |shown: f64| if shown.abs() < 10.0 { 2 } else { 1 };
        let tenths = |shown: f64| usize::from(shown.abs() < 9.95);
        // amounts that are small and not whole
        let hundredths = |shown: f64| if shown.abs() < 99.995 && shown.fract() != 0.0 { 2 } else { 0 };
        let Scale { stored_per_shown, sign, .. } = Units::Metric.scale(unit);
        let form = |usual| Form::new(stored_per_shown, sign, usual);
        match unit {
            Unit::GsdMetres | Unit::GsdCentimetres => form(fine),
            Unit::Share => Form { all: Some(100.0), ..form(|_| 0) },
            Unit::Metres | Unit::Millimetres => Form { kept: 1, ..form(|_| 0) },
            Unit::MetresPerSecond | Unit::BatterySets => form(|_| 1),
            Unit::Seconds | Unit::Hours | Unit::Gigabytes => form(tenths),
            Unit::Money | Unit::MoneyPerHectare => form(hundredths),
            _ => form(|_| 0),
        }
    }

    /// The decimals that some values have beside each other and beside a limit.
    ///
    /// # Units
    /// - `values`, `limit`: as they are stored
    /// - returns: a count of decimals
    pub fn decimals(&self, values: &[f64], limit: Option<f64>) -> usize {
        let shown = |stored: f64| stored / self.stored_per_shown;
        let all = || values.iter().copied().chain(limit);
        let usual = all().map(|stored| (self.usual)(shown(stored))).max().unwrap_or(0);
        let Some(limit) = limit.map(shown) else { return usual };
        let exact = |decimals: usize| (rounded(limit, decimals) - limit).abs() <= ROUNDING * limit.abs();
        let least = (usual..self.kept).find(|decimals| exact(*decimals)).unwrap_or(usual.max(self.kept));
        let honest = |decimals: usize| {
            values.iter().map(|value| shown(*value)).all(|value| {
                let seen = rounded(value, decimals).total_cmp(&rounded(limit, decimals));
                seen == side(value, limit)
            })
        };
        // Values at the limit but for the last bits need no more than the limit.
        (least..=MOST_DECIMALS).find(|decimals| honest(*decimals)).unwrap_or(least)
    }

    /// A number without its unit. What is nearly none or nearly all has as many more decimals as tell it from that.
    ///
    /// # Units
    /// - `stored`: as it is stored; `decimals`: a count
    pub fn number(&self, stored: f64, decimals: usize) -> String {
        let shown = stored / self.stored_per_shown;
        let hides = |decimals: usize| {
            let Some(all) = self.all else { return false };
            let seen = rounded(shown, decimals);
            (seen == 0.0 && shown != 0.0) || (seen == all && side(shown, all) != Ordering::Equal)
        };
        let decimals = (decimals..=MOST_DECIMALS).find(|more| !hides(*more)).unwrap_or(decimals);
        let text = format!("{:.decimals$}", rounded(shown, decimals) + 0.0);
        let apart = self.sign.is_empty() || self.sign.starts_with('/');
        if decimals == 0 && apart { thousands(rounded(shown, 0) + 0.0) } else { text }
    }

    /// A figure by itself, with its unit.
    ///
    /// # Units
    /// - `stored`: as it is stored
    pub fn alone(&self, stored: f64) -> String {
        self.text(stored, self.decimals(&[stored], None))
    }

    /// A limit by itself, with the decimals that it is set with and no needless ones.
    ///
    /// # Units
    /// - `stored`: as it is stored
    pub fn limit(&self, stored: f64) -> String {
        let number = self.number(stored, self.decimals(&[], Some(stored)));
        format!("{} {}", without_zeros(&number), self.sign).trim_end().to_owned()
    }

    /// A figure rounded down, without needless zeros: what is keyed in never breaks the limit that it comes from.
    ///
    /// # Units
    /// - `stored`: as it is stored
    pub fn down(&self, stored: f64) -> String {
        let shown = stored / self.stored_per_shown;
        let decimals = (self.usual)(shown);
        let steps = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
        // What lies a rounding error below a step is that step.
        let below = (shown * steps + 1e-9).floor() / steps;
        format!("{} {}", without_zeros(&format!("{below:.decimals$}")), self.sign)
    }

    /// A number with its unit.
    ///
    /// # Units
    /// - `stored`: as it is stored; `decimals`: a count
    pub fn text(&self, stored: f64, decimals: usize) -> String {
        format!("{} {}", self.number(stored, decimals), self.sign).trim_end().to_owned()
    }
}

/// A number as it reads with so many decimals.
fn rounded(value: f64, decimals: usize) -> f64 {
    plainly_rounded(value, decimals).unwrap_or_else(|| format!("{value:.decimals$}").parse().unwrap_or(value))
}

/// Steps of a number that has so many decimals.
const STEPS: [f64; MOST_DECIMALS + 1] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12];

/// The same without writing it, where it is surely on one side of a half.
///
/// # References
/// Derived: of fewer than 1e9 steps a product is wrong by less than 1e-6; what is read is the number nearest to a quotient of
/// two whole ones, as a division gives it.
fn plainly_rounded(value: f64, decimals: usize) -> Option<f64> {
    let steps = STEPS.get(decimals)?;
    let shown = value * steps;
    let whole = shown.round();
    (shown.abs() < 1e9 && (shown - whole).abs() < 0.5 - 1e-6).then(|| whole / steps)
}

/// A figure by itself.
///
/// # Units
/// - `value`: `unit` as it is stored
///
/// # Examples
/// ```
/// use obliquity_planning::{Unit, wording};
/// assert_eq!(wording::alone(Unit::GsdMetres, 0.015), "1.50 cm");
/// assert_eq!(wording::alone(Unit::Share, 0.9), "90 %");
/// // nearly all is not written as all
/// assert_eq!(wording::alone(Unit::Share, 0.9996), "99.96 %");
/// ```
pub fn alone(unit: Unit, value: f64) -> String {
    Form::of(unit).alone(value)
}

/// A limit by itself, with the decimals that it is set with and no needless ones.
///
/// # Units
/// - `value`: `unit` as it is stored
pub fn limit(unit: Unit, value: f64) -> String {
    Form::of(unit).limit(value)
}

/// A figure beside the limit that it is held against, where there is one.
///
/// # Units
/// - `value`, `limit`: `unit` as they are stored
pub fn against(unit: Unit, value: f64, limit: Option<f64>) -> String {
    Form::of(unit).against(value, limit)
}

/// A figure and its limit.
///
/// # Units
/// - `value`, `limit`: `unit` as they are stored
///
/// # Examples
/// ```
/// use obliquity_planning::{Unit, wording};
/// // with the usual two decimals both would read 1.50 cm
/// let held = wording::held(Unit::GsdMetres, 0.015002, 0.015);
/// assert_eq!((held.value.as_str(), held.limit.as_str()), ("1.5002 cm", "1.5000 cm"));
/// ```
pub fn held(unit: Unit, value: f64, limit: f64) -> Held {
    Form::of(unit).held(value, limit)
}

/// A sentence for people in each system of units. Dereferenced it is the metric one, which files hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InUnits([String; Units::ALL.len()]);

impl InUnits {
    /// Makes the sentence in each system of units.
    pub fn of(say: impl Fn(Units) -> String) -> InUnits {
        InUnits(Units::ALL.map(say))
    }

    /// The sentence in one of them.
    pub fn in_units(&self, units: Units) -> &str {
        let [metric, us, inches] = &self.0;
        match units {
            Units::Metric => metric,
            Units::UsCustomary => us,
            Units::UsInches => inches,
        }
    }
}

impl std::ops::Deref for InUnits {
    type Target = str;

    fn deref(&self) -> &str {
        self.in_units(Units::Metric)
    }
}

impl std::fmt::Display for InUnits {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self)
    }
}

impl From<String> for InUnits {
    fn from(text: String) -> InUnits {
        InUnits::of(|_| text.clone())
    }
}

impl From<&str> for InUnits {
    fn from(text: &str) -> InUnits {
        InUnits::of(|_| text.to_owned())
    }
}

fn without_zeros(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}

/// A number with at most `decimals` decimals, trailing zeros dropped.
///
/// # Units
/// - `value`: any, as it is to be read; `decimals`: a count
pub fn trimmed(value: f64, decimals: usize) -> String {
    without_zeros(&format!("{:.decimals$}", rounded(value, decimals) + 0.0)).to_owned()
}

/// A whole number with its thousands apart: 12 345.
///
/// # Units
/// - `value`: a count
pub fn count(value: f64) -> String {
    let text = thousands(value.abs());
    if value <= -0.5 { format!("-{text}") } else { text }
}

/// A number with three figures or so, and no needless zeros: what nothing is held against.
///
/// # Units
/// - `value`: any, as it is to be read
///
/// # Examples
/// ```
/// use obliquity_planning::wording::short;
/// assert_eq!(short(3.14159), "3.14");
/// assert_eq!(short(54.4), "54.4");
/// assert_eq!(short(239.6), "240");
/// ```
pub fn short(value: f64) -> String {
    match value.abs() {
        size if size >= 100.0 => count(value),
        size if size >= 10.0 => trimmed(value, 1),
        _ => trimmed(value, 2),
    }
}

/// Some names in a sentence: two at most, then how many more.
pub(crate) fn named(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [one, other] => format!("{one} and {other}"),
        [one, other, rest @ ..] => format!("{one}, {other} and {} more", rest.len()),
    }
}

/// A speed: "9 m/s (17 kn)", a knot being 1852 m an hour, exact.
pub(crate) fn speed(speed_mps: f64) -> String {
    format!("{} m/s ({:.0} kn)", trimmed(speed_mps, 1), speed_mps / KNOT_MPS)
}

/// A count with its thousands apart: "133 204". The space is as wide as any: rows of text may be broken at narrower ones, and
/// half a number is another number.
///
/// # Units
/// - `count`: a count
pub fn thousands(count: f64) -> String {
    let digits = format!("{count:.0}");
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (k, digit) in digits.chars().enumerate() {
        let left = digits.len() - k;
        // no gap behind a sign
        let begun = text.ends_with(|before: char| before.is_ascii_digit());
        if begun && left.is_multiple_of(3) && digit.is_ascii_digit() {
            text.push('\u{a0}');
        }
        text.push(digit);
    }
    text
}

/// Minutes.
///
/// # Units
/// - `seconds`: seconds
pub fn minutes(seconds: f64) -> String {
    alone(Unit::Seconds, seconds)
}

/// A share by itself.
pub(crate) fn percent(share: f64) -> String {
    alone(Unit::Share, share)
}

/// A name as it stands within a sentence: its first letter small, unless it is all capitals.
///
/// # Examples
/// ```
/// use obliquity_planning::wording::within;
/// assert_eq!(within("Time on site"), "time on site");
/// assert_eq!(within("GSD of walls"), "GSD of walls");
/// ```
pub fn within(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|letter| letter.to_lowercase().to_string()).unwrap_or_default();
    let capitals = letters.clone().next().is_some_and(char::is_uppercase);
    if capitals { name.to_owned() } else { first + letters.as_str() }
}

/// How far off something may be that is known to a factor: "±18 %", "within a factor of 2.4".
///
/// # Units
/// - `within`: a factor, 1 or more
///
/// # Examples
/// ```
/// use obliquity_planning::wording::off_by;
/// assert_eq!(off_by(1.172), "±18 %");
/// assert_eq!(off_by(2.44), "within a factor of 2.5");
/// ```
pub fn off_by(within: f64) -> String {
    // a factor that was written down is not rounded up for the last of its bits
    let percent = 100.0 * (within - 1.0) - 1e-9;
    match percent {
        _ if percent > 100.0 => format!("within a factor of {:.1}", (10.0 * within - 1e-9).ceil() / 10.0),
        _ if percent < 1.0 => "±1 % or less".to_owned(),
        _ => format!("±{:.0} %", percent.ceil()),
    }
}

/// Some nouns as a list: "roofs and walls".
pub fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// "1 battery", "3 batteries".
pub(crate) fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

impl Units {
    /// How GSD, in metres, is written.
    pub fn gsd_form(self) -> Form {
        Form::of_in(Unit::GsdMetres, self.gsd_unit())
    }

    /// How an error of a place, in millimetres, is written beside others: in inches where lengths are in feet.
    pub fn error_form(self) -> Form {
        if self.is_us() { Form::new(1000.0 * INCH_M, "in", |_| 2) } else { Form::of(Unit::Millimetres) }
    }

    /// GSD, in metres, with its unit.
    ///
    /// # Units
    /// - `gsd_m`: metres per pixel
    pub fn gsd(self, gsd_m: f64) -> String {
        self.gsd_form().alone(gsd_m)
    }

    /// A stored number with its sign, with about three figures: "73 m", "240 ft", "22 ha", "54.4 acres".
    ///
    /// # Units
    /// - `stored`: `unit` as it is stored
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{Unit, Units};
    /// assert_eq!(Units::Metric.text(Unit::Metres, 73.2), "73.2 m");
    /// assert_eq!(Units::UsCustomary.text(Unit::Metres, 73.2), "240 ft");
    /// ```
    pub fn text(self, unit: Unit, stored: f64) -> String {
        format!("{}{}", short(self.shown(unit, stored)), self.suffix(unit))
    }

    /// A length in whole metres or feet.
    ///
    /// # Units
    /// - `length_m`: metres
    pub fn length(self, length_m: f64) -> String {
        format!("{}{}", count(self.shown(Unit::Metres, length_m)), self.suffix(Unit::Metres))
    }

    /// A length that a law states, in the law's own units as well where those are others: "394 ft (120 m)".
    ///
    /// # Units
    /// - `length_m`: metres
    pub fn legal_length(self, length_m: f64, law: Units) -> String {
        let own = self.length(length_m);
        if self.is_us() == law.is_us() { own } else { format!("{own} ({})", law.length(length_m)) }
    }

    /// A length and its limit.
    ///
    /// # Units
    /// - `value_m`, `limit_m`: metres
    pub fn held_lengths(self, value_m: f64, limit_m: f64) -> Held {
        let Scale { stored_per_shown, sign, .. } = self.scale(Unit::Metres);
        let form = Form { stored_per_shown, sign, ..Form::of(Unit::Metres) };
        let form = if self.is_us() { Form { kept: 0, ..form } } else { form };
        form.held(value_m, limit_m)
    }

    /// A speed and its limit.
    ///
    /// # Units
    /// - `value_mps`, `limit_mps`: metres a second
    pub fn held_speeds(self, value_mps: f64, limit_mps: f64) -> Held {
        let Scale { stored_per_shown, sign, .. } = self.scale(Unit::MetresPerSecond);
        let form = Form { stored_per_shown, sign, ..Form::of(Unit::MetresPerSecond) };
        form.held(value_mps, limit_mps)
    }

    /// An error or a standard deviation of a place: in millimetres below 10 cm and in metres above, or in inches and feet.
    ///
    /// # Units
    /// - `error_m`: metres
    ///
    /// # References
    /// Derived: shares of the units.
    pub fn error(self, error_m: f64) -> String {
        let inches = error_m / 0.0254;
        match (self.is_us(), error_m < 0.1) {
            (false, true) if error_m < 0.002 => format!("{:.1} mm", 1000.0 * error_m),
            (false, true) => format!("{:.0} mm", 1000.0 * error_m),
            (false, false) => format!("{error_m:.1} m"),
            (true, _) if inches < 12.0 => format!("{inches:.1} in"),
            (true, _) => format!("{:.1} ft", inches / 12.0),
        }
    }

    /// An area of land.
    ///
    /// # Units
    /// - `area_m2`: square metres
    pub fn area(self, area_m2: f64) -> String {
        self.text(Unit::SquareMetres, area_m2)
    }

    /// A speed over ground.
    ///
    /// # Units
    /// - `speed_mps`: metres a second
    pub fn speed(self, speed_mps: f64) -> String {
        self.text(Unit::MetresPerSecond, speed_mps)
    }

    /// The least and the greatest of a row of stored numbers with one sign: "70–75 m"; one number where they are shown
    /// alike, and a dash for none.
    ///
    /// # Units
    /// - `stored`: `unit` as they are stored
    pub fn span(self, unit: Unit, stored: impl IntoIterator<Item = f64>) -> String {
        let bounds =
            stored.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |b, v| (b.0.min(v), b.1.max(v)));
        if !bounds.0.is_finite() {
            return "–".to_owned();
        }
        let [low, high] = [bounds.0, bounds.1].map(|value| short(self.shown(unit, value)));
        let suffix = self.suffix(unit);
        if low == high { format!("{low}{suffix}") } else { format!("{low}–{high}{suffix}") }
    }
}

#[cfg(test)]
mod tests {
    use crate::base::wording::*;

    // Derived: 73.2 / 0.3048 = 240.2; the limits of 14 CFR 107.51 and EU 2019/947 are 400 ft and 120 m.
    #[test]
    fn lengths_of_laws_stand_in_their_own_units_too() {
        let (metric, us) = (Units::Metric, Units::UsCustomary);
        assert_eq!(metric.legal_length(121.92, us), "122 m (400 ft)");
        assert_eq!(us.legal_length(121.92, us), "400 ft");
        assert_eq!(us.legal_length(120.0, metric), "394 ft (120 m)");
        let told = InUnits::of(|units| units.length(73.2));
        assert_eq!((told.in_units(metric), told.in_units(us), &*told), ("73 m", "240 ft", "73 m"));
    }

    #[test]
    fn thousands_stand_apart() {
        assert_eq!(
            [7.0, 999.0, 1000.0, 133_204.2, 2e6].map(thousands),
            ["7", "999", "1\u{a0}000", "133\u{a0}204", "2\u{a0}000\u{a0}000"]
        );
    }

    /// Derived: a number that is rounded without being written reads as it is written, to the last bit: below 0, near halves,
    /// with all decimals, and large; most are.
    #[test]
    fn what_is_rounded_plainly_reads_as_it_is_written() {
        let mut plain = 0;
        for k in 0..40_000_u32 {
            let part = f64::from(k.wrapping_mul(2_654_435_761)) / f64::from(u32::MAX) - 0.5;
            let halves = (part * 4000.0).round() / 2.0 + [0.0, 1e-9, -1e-6, 1e-4][k as usize / 7 % 4];
            let decimals = k as usize % (MOST_DECIMALS + 1);
            let value = [halves, part * 3.0, part * 1e6, halves / STEPS[decimals]][k as usize / 13 % 4];
            let written: f64 = format!("{value:.decimals$}").parse().expect("a number");
            if let Some(found) = plainly_rounded(value, decimals) {
                assert_eq!(found.to_bits(), written.to_bits(), "{value} {decimals}");
                plain += 1;
            }
        }
        assert!(plain > 20_000, "{plain}");
        assert_eq!([f64::NAN, f64::INFINITY, 1e12, 0.5].map(|value| plainly_rounded(value, 0)), [None; 4]);
    }

    // Derived: by the rule: the limit's own decimals, and so many more that the value stands on its side of it.
    #[test]
    fn near_misses_are_told_apart() {
        let shown = |unit, value, limit| {
            let held = held(unit, value, limit);
            (held.value, held.limit)
        };
        let both = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(shown(Unit::Share, 0.41, 0.80), both("41 %", "80 %"));
        assert_eq!(shown(Unit::Share, 0.0031, 0.80), both("0.3 %", "80 %"));
        assert_eq!(shown(Unit::Share, 0.0004, 0.80), both("0.04 %", "80 %"));
        assert_eq!(shown(Unit::Share, 0.0, 0.80), both("0 %", "80 %"));
        assert_eq!(shown(Unit::Share, 0.7996, 0.80), both("79.96 %", "80.00 %"));
        assert_eq!(shown(Unit::Share, 0.0057, 0.015), both("0.6 %", "1.5 %"));
        assert_eq!(shown(Unit::GsdMetres, 0.0315, 0.03), both("3.15 cm", "3.00 cm"));
        assert_eq!(shown(Unit::GsdMetres, 0.0251, 0.025), both("2.51 cm", "2.50 cm"));
        assert_eq!(shown(Unit::GsdMetres, 0.02004, 0.02), both("2.004 cm", "2.000 cm"));
        assert_eq!(shown(Unit::GsdMetres, 0.02 + 1e-12, 0.02), both("2.00 cm", "2.00 cm"));
        assert_eq!(shown(Unit::Seconds, 3378.0, 3360.0), both("56.3 min", "56.0 min"));
        assert_eq!(shown(Unit::Seconds, 7080.0, 3330.0), both("118.0 min", "55.5 min"));
        assert_eq!(shown(Unit::Count, 1292.0, 1000.0), both("1\u{a0}292", "1\u{a0}000"));
        assert_eq!(against(Unit::Share, 0.99998, Some(0.98)), "99.998 %", "not quite all");
        assert_eq!(against(Unit::Share, 1.0, Some(0.98)), "100 %");
        assert_eq!(limit(Unit::Share, 0.015), "1.5 %");
        assert_eq!(limit(Unit::GsdMetres, 0.03), "3 cm");
        assert_eq!(trimmed(2.50, 2), "2.5");
    }

    // Derived: 500.3 / 0.3048 = 1641.4; 500 / 0.3048 = 1640.4.
    #[test]
    fn lengths_beside_a_limit_show_their_side_in_both_units() {
        let told = |held: Held| (held.value, held.limit);
        let (metric, us) = (Units::Metric, Units::UsCustomary);
        assert_eq!(told(metric.held_lengths(500.1, 500.0)), ("500.1 m".into(), "500.0 m".into()));
        assert_eq!(told(us.held_lengths(500.1, 500.0)), ("1641 ft".into(), "1640 ft".into()));
        assert_eq!(told(metric.held_speeds(44.76, 44.7567)), ("44.760 m/s".into(), "44.757 m/s".into()));
        assert_eq!(told(us.held_speeds(44.76, 44.7567)), ("100.125 mph".into(), "100.118 mph".into()));
    }

    /// Derived: whatever is written is read back on the side of the limit on which the value stands.
    #[test]
    fn what_is_written_never_changes_sides() {
        let number = |text: &str| text.replace(',', "").split(' ').next().and_then(|n| n.parse::<f64>().ok());
        for unit in
            [Unit::Share, Unit::GsdMetres, Unit::Seconds, Unit::Metres, Unit::MetresPerSecond, Unit::Count]
        {
            for k in 0..4000_u32 {
                let limit = f64::from(k % 37 + 1) * if k % 2 == 0 { 0.5 } else { 0.013 };
                let off =
                    10_f64.powi(-i32::try_from(k % 7).unwrap_or(0)) * if k % 3 == 0 { -0.73 } else { 1.31 };
                let value = limit * (1.0 + 0.4 * off);
                let told = held(unit, value, limit);
                let read = number(&told.value).zip(number(&told.limit));
                let seen = read.map(|(value, limit)| value.total_cmp(&limit));
                assert_eq!(seen, Some(side(value, limit)), "{unit:?}: {value} of {limit} as {told:?}");
            }
        }
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
        assert_eq!(us.text(Unit::Share, 0.25), "25 %");
        assert_eq!(us.text(Unit::Degrees, 45.0), "45°");
        assert_eq!(us.text(Unit::GsdCentimetres, 2.0), "2 cm");
        assert_eq!(us.text(Unit::Count, 4.0), "4");
        assert_eq!(us.span(Unit::Metres, [60.96, 91.44]), "200–300 ft");
        assert_eq!(us.span(Unit::Metres, []), "–");
    }

    // Source: NIST SP 811 (2008), app. B.8 and B.9: 1 in = 2.54 cm, 1 lb = 0.453 592 37 kg, t/°C = (t/°F − 32) / 1.8, all
    // exact.
    #[test]
    fn inches_pounds_and_fahrenheit_are_those_of_the_nist() {
        let (us, inches) = (Units::UsCustomary, Units::UsInches);
        assert_eq!(inches.text(Unit::GsdCentimetres, 2.54), "1 in");
        assert_eq!(
            (us.text(Unit::GsdCentimetres, 2.54), us.text(Unit::SizeMetres, 0.381)),
            ("2.54 cm".into(), "15 in".into())
        );
        assert_eq!(us.text(Unit::Kilograms, 24.95), "55 lb");
        let celsius = [-40.0, 0.0, 15.0, 37.0].map(|c| us.text(Unit::Celsius, c));
        assert_eq!(celsius, ["-40 °F", "32 °F", "59 °F", "98.6 °F"]);
        assert_eq!(
            [inches.gsd(0.015), us.gsd(0.015), inches.gsd(0.0254)],
            ["0.591 in", "1.50 cm", "1.00 in"]
        );
    }
}
