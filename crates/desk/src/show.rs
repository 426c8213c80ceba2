//! Numbers as people read them: the one place where metres, seconds and shares become texts.

use obliquity_planning::wording::{self, Form};
use obliquity_planning::{RateStanding, Unit, Units};

pub use obliquity_exchange::{compass_name, count, short};

/// A word with a capital letter, as rows begin with it.
pub fn begun(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A number of things with its noun, in the plural where that is due.
pub fn counted(value: u32, one: &str, many: &str) -> String {
    format!("{} {}", count(f64::from(value)), if value == 1 { one } else { many })
}

/// Seconds as hours and minutes: 48 min, 2 h, 1 h 05 min; below ten minutes with seconds.
pub fn duration_s(value_s: f64) -> String {
    if value_s < 599.5 {
        let whole = value_s.round();
        return format!("{:.0} min {:02.0} s", (whole / 60.0).floor(), whole % 60.0);
    }
    let minutes = (value_s / 60.0).round();
    let hours = (minutes / 60.0).floor();
    let rest = minutes - 60.0 * hours;
    match (hours < 1.0, rest < 1.0) {
        (true, _) => format!("{minutes:.0} min"),
        (false, true) => format!("{hours:.0} h"),
        (false, false) => format!("{hours:.0} h {rest:02.0} min"),
    }
}

/// A share as per cent, with as many decimals (at most two) as it takes to stand on the right side of what it is held
/// against.
pub fn percent(share: f64, against: Option<f64>) -> String {
    wording::against(Unit::Share, share, against)
}

/// A figure with its unit, beside what it is held against where there is something.
pub fn figure(units: Units, unit: Unit, value: f64, against: Option<f64>) -> String {
    match unit {
        Unit::Seconds | Unit::GsdMetres | Unit::Share | Unit::Count => {
            Form::of_in(unit, units.gsd_unit()).against(value, against)
        }
        _ => units.text(unit, value),
    }
}

/// Hours that are an order of magnitude: no decimals but where there would be nothing else.
pub fn rough_hours(hours: f64) -> String {
    format!("about {}", Form::of(Unit::Hours).text(hours, usize::from(hours < 1.0)))
}

/// Hours of the machine as they are shown, so that differences are those of what is read: to two figures where their rates were
/// fitted to jobs, else to one.
pub fn machine_h(hours: f64, standing: &RateStanding) -> f64 {
    let unit = 10_f64.powi(-machine_decimals(hours, standing));
    (hours / unit).round() * unit
}

/// The same in words: "about 30 h".
pub fn machine_hours(hours: f64, standing: &RateStanding) -> String {
    let rounded = machine_h(hours, standing);
    let decimals = machine_decimals(rounded, standing).clamp(0, 2) as usize;
    format!("about {}", Form::of(Unit::Hours).text(rounded, decimals))
}

/// The last decimal place that hours are told to, negative before the point.
fn machine_decimals(hours: f64, standing: &RateStanding) -> i32 {
    let figures = if standing.is_calibrated() { 2 } else { 1 };
    if hours > 0.0 { (figures - 1 - hours.log10().floor() as i32).min(2) } else { 0 }
}

/// How much a length is more (+) or less (−), in the units asked for; nothing where it would be shown as 0.
pub fn difference_of_lengths(units: Units, delta_m: f64) -> Option<String> {
    signed(delta_m, &units.length(delta_m.abs()))
}

/// The same as a form writes it.
pub fn difference_as(form: Form, delta: f64) -> Option<String> {
    signed(delta, &form.alone(delta.abs()))
}

fn signed(delta: f64, text: &str) -> Option<String> {
    let is_nothing = !text.bytes().any(|digit| (b'1'..=b'9').contains(&digit));
    (!is_nothing).then(|| format!("{}{text}", if delta < 0.0 { '−' } else { '+' }))
}

/// How much a figure is more (+) or less (−), in the words of its row; nothing where it would be shown as 0.
pub fn difference(unit: Unit, delta: f64) -> Option<String> {
    let size = delta.abs();
    let text = match unit {
        Unit::Seconds | Unit::GsdMetres => wording::alone(unit, size),
        Unit::Share => format!("{} points", short((1000.0 * size).round() / 10.0)),
        Unit::Count => count(size),
        Unit::Hours => format!("{} h", short(size)),
        Unit::Gigapixels => short(size),
        _ => Units::Metric.text(unit, size),
    };
    signed(delta, &text)
}

/// The same in the units asked for.
pub fn difference_in(units: Units, unit: Unit, delta: f64) -> Option<String> {
    match unit {
        Unit::Share | Unit::Count => difference(unit, delta),
        _ => signed(delta, &units.text(unit, delta.abs())),
    }
}

/// Two values of a figure: "53–60 min", "3–4"; one where both read the same.
pub fn span(unit: Unit, low: f64, high: f64) -> String {
    let form = Form::of(unit);
    let decimals = form.decimals(&[low, high], None);
    let text = |value: f64| match unit {
        Unit::Seconds => form.text(value, decimals),
        Unit::WattHours => format!("{} Wh", count(value)),
        Unit::BatterySets => format!("{value:.1} sets"),
        Unit::Count => count(value),
        _ => Units::Metric.text(unit, value),
    };
    let (low, high) = (text(low), text(high));
    if low == high {
        return low;
    }
    let parts = |text: &str| text.split_once(' ').map(|(number, unit)| (number.to_owned(), unit.to_owned()));
    match (parts(&low), parts(&high)) {
        (Some((from, a)), Some((_, b))) if a == b => format!("{from}–{high}"),
        (None, None) => format!("{low}–{high}"),
        _ => format!("{low} – {high}"),
    }
}

/// Keeps numbers and their units on one line: puts a space that does not break between them.
pub fn unbroken(text: &str) -> String {
    const UNITS: [&str; 15] =
        ["%", "m", "cm", "km", "min", "h", "s", "ha", "m/s", "GB", "ft", "in", "acres", "mph", "ft/s"];
    let mut words = text.split(' ').peekable();
    let mut kept = String::with_capacity(text.len() + 8);
    while let Some(word) = words.next() {
        kept.push_str(word);
        if let Some(next) = words.peek() {
            let unit = next.trim_end_matches([',', ';', '.', ':', ')']);
            let number = word.ends_with(|c: char| c.is_ascii_digit());
            kept.push(if number && UNITS.contains(&unit) { '\u{a0}' } else { ' ' });
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn thousands_are_set_apart() {
        assert_eq!(count(999.4), "999");
        assert_eq!(count(1292.0), "1\u{a0}292");
        assert_eq!(count(1234567.0), "1\u{a0}234\u{a0}567");
        assert_eq!(counted(1, "battery", "batteries"), "1 battery");
    }

    // Derived: by hand: one figure until rates are fitted, then two.
    #[test]
    fn hours_have_as_many_figures_as_they_are_worth() {
        let one =
            [0.0, 0.034, 0.96, 3.36, 26.4, 480.0].map(|h| machine_hours(h, &RateStanding::NotCalibrated));
        assert_eq!(one, ["about 0 h", "about 0.03 h", "about 1 h", "about 3 h", "about 30 h", "about 500 h"]);
        let two = [0.034, 0.96, 3.36, 26.4, 484.0].map(|h| machine_hours(h, &RateStanding::SaidToBe));
        assert_eq!(two, ["about 0.03 h", "about 0.96 h", "about 3.4 h", "about 26 h", "about 480 h"]);
    }

    // Derived: by the eight winds, each 45° wide.
    #[test]
    fn winds_are_named() {
        let named = [0.0, 22.0, 90.0, 200.0, 350.0, -90.0].map(compass_name);
        assert_eq!(named, ["north", "north", "east", "south", "north", "west"]);
    }

    // Derived: by hand.
    #[test]
    fn durations_read_as_people_say_them() {
        assert_eq!(duration_s(65.0), "1 min 05 s");
        assert_eq!(duration_s(599.6), "10 min");
        assert_eq!(duration_s(3599.0), "1 h");
        assert_eq!(duration_s(3.0 * 3600.0 + 7.0 * 60.0), "3 h 07 min");
    }

    // Derived: 79.96 % is short of 80 %, so that it must not be shown as 80 %.
    #[test]
    fn rounding_never_changes_sides() {
        assert_eq!(percent(0.7996, Some(0.8)), "79.96 %");
        assert_eq!(percent(0.797, Some(0.8)), "79.7 %");
        assert_eq!(percent(0.41, Some(0.8)), "41 %");
        assert_eq!(percent(0.996, None), "99.6 %");
        assert_eq!(percent(1.0, Some(0.98)), "100 %");
        assert_eq!(percent(0.0, None), "0 %");
    }

    // Derived: by hand.
    #[test]
    fn differences_have_a_sign_and_a_unit() {
        let text = |unit, delta| difference(unit, delta).unwrap_or_default();
        assert_eq!(text(Unit::Seconds, 1440.0), "+24 min");
        assert_eq!(text(Unit::Seconds, -42.0), "−0.7 min");
        assert_eq!(text(Unit::Count, -541.0), "−541");
        assert_eq!(text(Unit::Share, 0.03), "+3 points");
        assert_eq!(text(Unit::Share, -0.0012), "−0.1 points");
        assert_eq!(text(Unit::GsdMetres, 0.0012), "+0.12 cm");
        assert_eq!(difference(Unit::Share, 0.0004), None, "it would be 0.0 points");
        assert_eq!(difference(Unit::Count, 0.0), None);
    }

    // Derived: by hand.
    #[test]
    fn spans_name_their_unit_once() {
        assert_eq!(span(Unit::Seconds, 3180.0, 3540.0), "53–59 min");
        assert_eq!(span(Unit::Seconds, 3180.0, 4000.0), "53–67 min");
        assert_eq!(span(Unit::Seconds, 65.0, 700.0), "1.1–11.7 min");
        assert_eq!(span(Unit::Count, 3.0, 4.0), "3–4");
        assert_eq!(span(Unit::Count, 3.0, 3.0), "3");
        assert_eq!(span(Unit::WattHours, 1234.0, 1400.4), "1\u{a0}234–1\u{a0}400 Wh");
    }

    // Derived: by hand.
    #[test]
    fn units_stay_with_their_numbers() {
        assert_eq!(unbroken("walls: 0 % of the area"), "walls: 0\u{a0}% of the area");
        assert_eq!(unbroken("174 min, 120 min allowed; all"), "174\u{a0}min, 120\u{a0}min allowed; all");
        assert_eq!(unbroken("in 7 sorties  twice"), "in 7 sorties  twice");
    }

    // Derived: by hand.
    #[test]
    fn short_numbers_have_no_needless_zeros() {
        assert_eq!(short(2.0), "2");
        assert_eq!(short(12.5), "12.5");
        assert_eq!(short(4321.0), "4\u{a0}321");
    }
}
