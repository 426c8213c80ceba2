//! What is typed while drawing: lengths, offsets, bearings.

use crate::units::{Unit, Units};
use glam::DVec2;
use obliquity_exchange::{EntryField, EntryKind};

/// What was typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Typing {
    /// `12.5`: a length, or a height.
    Length(f64),
    /// `20e 5n`: so far east and north.
    Offset(DVec2),
    /// `12.5 at 90`: so far in a direction, clockwise from north.
    Polar {
        /// How far.
        length_m: f64,
        /// Which way.
        bearing_deg: f64,
    },
    /// `10 x 6`: two sides.
    Sides(f64, f64),
    /// `15 turn`: degrees clockwise.
    Turn(f64),
}

/// Anything longer is no drawing.
const MOST_M: f64 = 40_000.0;

/// What can be typed, for people.
pub(super) const FORMS: &str = "12.5, 20e 5n, 12.5 at 90, 10 x 6 or 15 turn";

impl Typing {
    /// Reads what was typed.
    ///
    /// # Errors
    /// What was required and what came, for people.
    pub fn read(text: &str, units: Units) -> Result<Typing, String> {
        let pieces = pieces(text);
        let length = |text: &str| number(text, Unit::Metres, MOST_M, units);
        let degrees = |text: &str| number(text, Unit::Degrees, 360.0, units);
        let marked: Vec<(&str, &str)> = pieces.iter().map(|(t, m)| (t.as_str(), m.as_str())).collect();
        match marked.as_slice() {
            [(only, "")] => Ok(Typing::Length(length(only)?)),
            [(turn, "turn")] => Ok(Typing::Turn(degrees(turn)?)),
            [(far, "at"), (way, "" | "turn")] => {
                Ok(Typing::Polar { length_m: length(far)?, bearing_deg: degrees(way)? })
            }
            [(one, "x"), (other, "")] => Ok(Typing::Sides(length(one)?, length(other)?)),
            [_] | [_, _] => {
                let mut offset = DVec2::ZERO;
                for (text, way) in marked {
                    offset += compass(way).ok_or_else(|| odd(text))? * length(text)?;
                }
                Ok(Typing::Offset(offset))
            }
            _ => Err(odd(text)),
        }
    }
}

fn odd(text: &str) -> String {
    format!("{text:?} is no length or offset; type as in {FORMS}")
}

fn compass(letter: &str) -> Option<DVec2> {
    match letter {
        "e" => Some(DVec2::X),
        "w" => Some(DVec2::NEG_X),
        "n" => Some(DVec2::Y),
        "s" => Some(DVec2::NEG_Y),
        _ => None,
    }
}

/// Numbers with what stands behind each: a compass letter, `at`, `x`, `turn` or nothing.
fn pieces(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut number = String::new();
    for word in words(text) {
        let mark = match word.as_str() {
            "e" | "east" => "e",
            "n" | "north" => "n",
            "w" | "west" => "w",
            "s" | "south" => "s",
            "at" | "@" => "at",
            "x" | "by" | "×" => "x",
            "t" | "turn" | "°" => "turn",
            _ => {
                number.push_str(&word);
                number.push(' ');
                continue;
            }
        };
        found.push((std::mem::take(&mut number).trim().to_owned(), mark.to_owned()));
    }
    if !number.trim().is_empty() {
        found.push((number.trim().to_owned(), String::new()));
    }
    found
}

/// Runs of letters and runs of anything else, without the spaces.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut before = None;
    for letter in text.to_lowercase().chars() {
        let kind = (!letter.is_whitespace()).then(|| letter.is_alphabetic() || "°×@".contains(letter));
        match (kind, words.last_mut()) {
            (Some(_), Some(word)) if kind == before => word.push(letter),
            (Some(_), _) => words.push(letter.to_string()),
            (None, _) => {}
        }
        before = kind;
    }
    words
}

fn number(text: &str, unit: Unit, most: f64, units: Units) -> Result<f64, String> {
    let field = EntryField { unit, units, range: -most..=most, decimals: 3, kind: EntryKind::Any };
    field.read(text).map_err(|misread| misread.reason)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand; 10 ft are 3.048 m.
    #[test]
    fn what_is_typed_is_read() {
        let read = |text| Typing::read(text, Units::Metric);
        assert_eq!(read("12.5"), Ok(Typing::Length(12.5)));
        assert_eq!(read("-3"), Ok(Typing::Length(-3.0)));
        assert_eq!(read("20e 5n"), Ok(Typing::Offset(DVec2::new(20.0, 5.0))));
        assert_eq!(read("20 West 5s"), Ok(Typing::Offset(DVec2::new(-20.0, -5.0))));
        assert_eq!(read("7n"), Ok(Typing::Offset(DVec2::new(0.0, 7.0))));
        assert_eq!(read("12.5 at 90"), Ok(Typing::Polar { length_m: 12.5, bearing_deg: 90.0 }));
        assert_eq!(read("10x6"), Ok(Typing::Sides(10.0, 6.0)));
        assert_eq!(read("15t"), Ok(Typing::Turn(15.0)));
        let Ok(Typing::Length(feet)) = read("10 ft") else { panic!("feet") };
        assert!((feet - 3.048).abs() < 1e-9);
        let Ok(Typing::Length(feet)) = Typing::read("10", Units::UsCustomary) else { panic!("feet") };
        assert!((feet - 3.048).abs() < 1e-9);
    }

    #[test]
    fn nonsense_is_refused_with_a_reason() {
        for text in ["", "x", "e", "5 q", "1 2 3 e", "10 at", "1e 2n 3e", "5 at 3 at 2", "99999999"] {
            let read = Typing::read(text, Units::Metric);
            assert!(read.as_ref().is_err_and(|why| why.len() > 10), "{text}: {read:?}");
        }
    }
}
