//! Numbers as people write them: read into the stored unit of a field, and written so that they read back.
//!
//! A comma or a point is the decimal mark; spaces of any width and apostrophes set thousands apart; `1/1250` is a fraction; a
//! unit behind the number is converted. What can mean two numbers is not guessed: both readings are given.

mod numeral;
mod sign;

use numeral::{Cursor, Numeral, SignBefore};
use obliquity_planning::wording::count;
use obliquity_planning::{Unit, Units};
use sign::{Dimension, Sign};
use std::ops::RangeInclusive;

/// What a field holds, and so what may be typed into it.
#[derive(Debug, Clone, PartialEq)]
pub struct EntryField {
    /// What it measures.
    pub unit: Unit,
    /// The units that it is shown in.
    pub units: Units,
    /// Values allowed, as stored.
    pub range: RangeInclusive<f64>,
    /// Most decimals shown.
    pub decimals: usize,
    /// What kind of number it is.
    pub kind: EntryKind,
}

/// What kind of number a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryKind {
    /// Any.
    Any,
    /// Whole ones alone.
    Whole,
}

/// Why what was typed was not taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Misread {
    /// For people: what was required, what came, the mend.
    pub reason: String,
    /// What it may mean, as stored, where it may mean more than one number.
    pub readings: Vec<f64>,
}

impl EntryField {
    /// Reads what was typed; gives the number as it is stored.
    ///
    /// # Errors
    /// [`Misread`] where it is no number, has a unit of another kind, lies out of range, or may mean two numbers: one
    /// comma with exactly three digits behind it may set thousands apart or be the decimal mark.
    pub fn read(&self, text: &str) -> Result<f64, Misread> {
        let found =
            if self.unit == Unit::ExposureSeconds { self.exposure(text)? } else { self.stored(text)? };
        match found.as_slice() {
            [only] => self.allowed(*only, text),
            several => Err(self.ambiguous(text, several)),
        }
    }

    /// A stored number as the field shows it, with its unit: "73 m", "1/1600 s".
    pub fn text(&self, stored: f64) -> String {
        let before = self.units.prefix(self.unit);
        format!("{before}{}{}", self.number(stored), self.units.suffix(self.unit))
    }

    /// A stored number as the field shows it, without its unit.
    pub fn number(&self, stored: f64) -> String {
        let shown = self.units.shown(self.unit, stored);
        // The number behind 1/ is read digit by digit, as on a camera.
        if self.unit == Unit::ExposureSeconds { format!("{shown:.0}") } else { written(shown, self.decimals) }
    }

    /// The least and the greatest value, in words.
    pub fn limits(&self) -> String {
        format!("from {} to {}", self.text(*self.range.start()), self.text(*self.range.end()))
    }

    /// Every number that a text may mean, as stored.
    fn stored(&self, text: &str) -> Result<Vec<f64>, Misread> {
        let own = Sign::of_field(self.unit, self.units);
        let terms = self.terms(text)?;
        let alone = terms.len() == 1;
        let mut sums = vec![0.0];
        for (numeral, sign) in terms {
            let value = |number: f64| match sign {
                Some(sign) if sign == own => Ok(self.units.stored(self.unit, number)),
                Some(sign) => Ok(sign.base(number) / Sign::base_per_stored(self.unit)),
                None if alone => Ok(self.units.stored(self.unit, number)),
                None => Err(self.no_number(text)),
            };
            let values: Vec<f64> = numeral.readings.into_iter().map(value).collect::<Result<_, _>>()?;
            sums = sums.iter().flat_map(|sum| values.iter().map(move |value| sum + value)).collect();
        }
        Ok(sums)
    }

    /// An exposure time: the number below the line, alone or behind `1/`, or the time itself with its unit.
    fn exposure(&self, text: &str) -> Result<Vec<f64>, Misread> {
        let plain = EntryField { unit: Unit::BriefSeconds, ..self.clone() };
        let below = text.trim_start().strip_prefix('1').and_then(|rest| rest.trim_start().strip_prefix('/'));
        let recip = |found: Vec<f64>| found.into_iter().map(f64::recip).collect();
        if let Some(below) = below {
            return plain.stored(below).map(recip);
        }
        let is_time = plain.terms(text)?.iter().any(|(_, sign)| sign.is_some());
        let found = plain.stored(text)?;
        Ok(if is_time { found } else { recip(found) })
    }

    /// The numbers of a text with their units: one, or several as in "1 h 30 min".
    fn terms(&self, text: &str) -> Result<Vec<(Numeral, Option<Sign>)>, Misread> {
        let own = Sign::of_field(self.unit, self.units);
        let mut cursor = Cursor::new(text);
        let mut terms: Vec<(Numeral, Option<Sign>)> = Vec::new();
        loop {
            let before = if terms.is_empty() { SignBefore::Allowed } else { SignBefore::Refused };
            let numeral = cursor.numeral(before).ok_or_else(|| self.no_number(text))?;
            let sign = cursor.sign(&own).map_err(|came| unknown(&own, came))?;
            if let Some(other) = sign.filter(|sign| !own.is_alike(*sign)) {
                return Err(self.another(&own, text, other.dimension));
            }
            terms.push((numeral, sign));
            if cursor.is_done() {
                return Ok(terms);
            }
        }
    }

    fn allowed(&self, stored: f64, text: &str) -> Result<f64, Misread> {
        let refuse = |reason: String| Err(Misread { reason, readings: Vec::new() });
        if !stored.is_finite() {
            return Err(self.no_number(text));
        }
        let (least, most) = (*self.range.start(), *self.range.end());
        let nearest = if stored < least { least } else { most };
        if !self.range.contains(&stored) {
            // A limit is rounded where it is shown; what reads like it is it.
            if self.text(stored) == self.text(nearest) {
                return Ok(nearest);
            }
            return refuse(format!("it must be {}, but {} is not", self.limits(), text.trim()));
        }
        let whole = self.units.shown(self.unit, stored);
        if self.kind == EntryKind::Whole && (whole - whole.round()).abs() > 1e-9 {
            let [below, above] = [whole.floor(), whole.ceil()].map(count);
            return refuse(format!(
                "a whole number was required, but it is {}; write {below} or {above}",
                text.trim()
            ));
        }
        Ok(stored)
    }

    fn no_number(&self, text: &str) -> Misread {
        let unit = self.units.scale(self.unit).sign;
        let required = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
        let came = if text.trim().is_empty() { "nothing".to_owned() } else { format!("{:?}", text.trim()) };
        let reason = format!("a number{required} was required, but it is {came}; {}", self.example());
        Misread { reason, readings: Vec::new() }
    }

    fn example(&self) -> String {
        let middle = (self.range.start() + self.range.end()) / 2.0;
        let example = self.units.stored(self.unit, 12.0).clamp(*self.range.start(), *self.range.end());
        format!("write for instance {}", self.text(if example.is_finite() { example } else { middle }))
    }

    fn another(&self, own: &Sign, text: &str, came: Dimension) -> Misread {
        let required = own.dimension.name();
        let reason =
            format!("{required} was required, but {} is {}; {}", text.trim(), came.name(), self.example());
        Misread { reason, readings: Vec::new() }
    }

    fn ambiguous(&self, text: &str, readings: &[f64]) -> Misread {
        let exact = EntryField { decimals: 6, ..self.clone() };
        let texts: Vec<String> = readings.iter().map(|stored| exact.text(*stored)).collect();
        let reason = format!(
            "{} may be {}: choose, or write it without the comma or with a point",
            text.trim(),
            texts.join(" or ")
        );
        Misread { reason, readings: readings.to_vec() }
    }
}

fn unknown(own: &Sign, came: &str) -> Misread {
    let known = own.alike();
    let mend = match known.as_slice() {
        [] => "leave it out".to_owned(),
        known => format!("write one of {}", known.join(", ")),
    };
    let reason = format!("{came:?} behind the number is no unit that fits here; {mend}");
    Misread { reason, readings: Vec::new() }
}

/// A number with at most so many decimals, thousands set apart, with a minus sign.
pub fn written(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let part = part.trim_end_matches('0');
    let whole = count(whole.parse().unwrap_or_default());
    let text = if part.is_empty() { whole } else { format!("{whole}.{part}") };
    if value < 0.0 && text != "0" { format!("−{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn numbers_are_written_as_they_are_typed() {
        assert_eq!(written(10720.0, 0), "10\u{a0}720");
        assert_eq!(written(9.15, 2), "9.15");
        assert_eq!(written(13.0, 2), "13");
        assert_eq!(written(-55.0, 0), "−55");
        assert_eq!(written(-0.001, 2), "0");
    }
}
