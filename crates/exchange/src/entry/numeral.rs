//! Digits with their marks.

use super::sign::Sign;

/// A number as it is written: what it may mean, two numbers where a comma may be either mark.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Numeral {
    pub(super) readings: Vec<f64>,
}

/// Goes through a text, number by number.
pub(super) struct Cursor<'a> {
    rest: &'a str,
}

/// What sets thousands apart besides points and commas: spaces of any width, apostrophes.
fn is_gap(c: char) -> bool {
    (c.is_whitespace() && c != '\n') || matches!(c, '\'' | '’')
}

impl<'a> Cursor<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Cursor { rest: text.trim() }
    }

    pub(super) fn is_done(&self) -> bool {
        self.rest.is_empty()
    }

    /// A number, with a sign before it where that may stand, and perhaps a fraction.
    pub(super) fn numeral(&mut self, signed: SignBefore) -> Option<Numeral> {
        let negative = signed == SignBefore::Allowed && self.minus();
        let above = self.digits()?;
        let below = self.below()?;
        let readings = above.iter().flat_map(|above| below.iter().map(move |below| above / below));
        let readings = readings.map(|value| if negative { -value } else { value }).collect();
        Some(Numeral { readings })
    }

    fn minus(&mut self) -> bool {
        let before = self.rest.trim_start();
        let rest = before.trim_start_matches(['-', '−', '–', '+']);
        // One sign, not several.
        let Some(sign) = before.chars().next().filter(|c| before.len() - rest.len() == c.len_utf8()) else {
            return false;
        };
        self.rest = rest.trim_start();
        sign != '+'
    }

    /// What stands below the line of a fraction: 1 where there is none, nothing where it is no number above 0.
    fn below(&mut self) -> Option<Vec<f64>> {
        let Some(rest) = self.rest.trim_start().strip_prefix('/') else { return Some(vec![1.0]) };
        self.rest = rest.trim_start();
        self.digits().filter(|below| below.iter().all(|value| *value > 0.0))
    }

    /// Digits with their marks; takes them, and the spaces behind them.
    fn digits(&mut self) -> Option<Vec<f64>> {
        let mut groups = vec![String::new()];
        let mut marks = Vec::new();
        let mut end = 0;
        for (at, c) in self.rest.char_indices() {
            let behind = &self.rest[at + c.len_utf8()..];
            if c.is_ascii_digit() {
                groups.last_mut()?.push(c);
            } else if is_gap(c) && begins_group(behind) && !groups.last()?.is_empty() {
                marks.push(' ');
                groups.push(String::new());
            } else if matches!(c, '.' | ',') && behind.starts_with(|c: char| c.is_ascii_digit()) {
                marks.push(c);
                groups.push(String::new());
            } else {
                // A point at the end of a number is a full stop.
                end = if c == '.' && at == end && at > 0 { at + 1 } else { at };
                break;
            }
            end = at + c.len_utf8();
        }
        let readings = meanings(&groups, &marks)?;
        self.rest = &self.rest[end..];
        let readings = self.powers_of_ten(readings)?;
        self.rest = self.rest.trim_start();
        Some(readings)
    }

    /// `e-3` right behind the digits.
    fn powers_of_ten(&mut self, readings: Vec<f64>) -> Option<Vec<f64>> {
        let Some(power) = self.rest.strip_prefix(['e', 'E']) else { return Some(readings) };
        let sign = usize::from(power.starts_with(['-', '+']));
        let digits = power[sign..].bytes().take_while(u8::is_ascii_digit).count();
        if digits == 0 {
            return Some(readings);
        }
        let power_of_ten = &power[..sign + digits];
        self.rest = &power[sign + digits..];
        // The digits once more with their power, so that they are rounded once.
        readings.iter().map(|value| format!("{value}e{power_of_ten}").parse().ok()).collect()
    }

    /// The unit behind a number; nothing where there is none.
    ///
    /// # Errors
    /// What stands there instead.
    pub(super) fn sign(&mut self, own: &Sign) -> Result<Option<Sign>, &'a str> {
        if self.rest.is_empty() || self.rest.starts_with(|c: char| c.is_ascii_digit()) {
            return Ok(None);
        }
        let (sign, length) = Sign::at_start(self.rest, own).ok_or(self.rest)?;
        self.rest = self.rest[length..].trim_start();
        Ok(Some(sign))
    }
}

/// Whether a sign may stand before a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SignBefore {
    Allowed,
    Refused,
}

/// Whether a text begins with exactly three digits.
fn begins_group(text: &str) -> bool {
    text.bytes().take_while(u8::is_ascii_digit).count() == 3
}

/// What groups of digits with marks between them mean; nothing where they are no number.
fn meanings(groups: &[String], marks: &[char]) -> Option<Vec<f64>> {
    if groups.iter().all(String::is_empty) {
        return None;
    }
    let whole = |groups: &[String]| is_grouped(groups).then(|| groups.concat());
    let decimal = |groups: &[String], part: &str| format!("{}.{part}", groups.concat()).parse::<f64>().ok();
    let Some((&last, before)) = marks.split_last() else {
        return Some(vec![groups[0].parse().ok()?]);
    };
    let (part, front) = groups.split_last()?;
    // All marks alike set thousands apart, but a single one only where it can.
    if before.iter().all(|mark| *mark == last) {
        return match (before.is_empty(), last) {
            (_, ' ') | (false, _) => Some(vec![whole(groups)?.parse().ok()?]),
            (true, ',') if is_grouped(groups) => {
                Some(vec![groups.concat().parse().ok()?, decimal(front, part)?])
            }
            (true, _) => Some(vec![decimal(front, part)?]),
        };
    }
    // Else the last is the decimal mark, and those before it set thousands apart.
    let apart = before[0];
    let sound = last != ' ' && before.iter().all(|mark| *mark == apart) && is_grouped(front);
    sound.then(|| decimal(front, part)).flatten().map(|value| vec![value])
}

/// Whether groups can be thousands: one to three digits that do not begin with 0, then three each.
fn is_grouped(groups: &[String]) -> bool {
    let Some((first, rest)) = groups.split_first() else { return false };
    (1..=3).contains(&first.len()) && !first.starts_with('0') && rest.iter().all(|group| group.len() == 3)
}
