//! What hidden figures look like in texts, so that no text shows one.

use super::told::{asked_unit, figure_text};
use obliquity_planning::lesson::{LessonStep, StepFigures};
use obliquity_planning::wording::Form;
use obliquity_planning::{Unit, Units};

/// Digits from which on a number in a text is no coincidence.
const DIGITS: usize = 3;

/// The figures of a step that is hidden, and those that it is worked out from.
#[derive(Debug, Clone)]
pub struct Secret {
    values: Vec<f64>,
    /// The figure as pages write it.
    exactly: Vec<String>,
}

impl Secret {
    /// What a step hides: what it asks, and each strategy's figure that this is made of.
    pub fn of(step: &LessonStep, figures: &StepFigures) -> Secret {
        let parts = step.measure().into_iter().flat_map(|row| {
            let asked = step.asked.of.strategies();
            let own = figures.outcomes.iter().filter(move |outcome| asked.contains(&outcome.strategy));
            own.filter_map(|outcome| row.read(outcome)).map(|value| (row.unit, value))
        });
        let all: Vec<_> = parts.chain(figures.figure.map(|figure| (asked_unit(step), figure))).collect();
        let mut values = Vec::new();
        for (unit, value) in &all {
            values.push(*value);
            values.extend(Units::ALL.map(|units| units.shown(*unit, *value)));
        }
        let exactly = figures.figure.into_iter().flat_map(|figure| {
            let pages = Units::ALL.map(|units| figure_text(step, figure, units));
            // other screens write shares without decimals; what has no sign would be any number
            let share = (asked_unit(step) == Unit::Share).then(|| Form::of(Unit::Share).alone(figure));
            pages.into_iter().chain(share)
        });
        Secret { values, exactly: exactly.collect() }
    }

    /// Whether a text shows it: as it is written on pages, or a number of three digits or more that it rounds to.
    pub fn is_in(&self, text: &str) -> bool {
        let is_exact = |form: &String| {
            text.match_indices(form.as_str()).any(|(at, found)| {
                let is_part =
                    |letter: Option<char>| letter.is_some_and(|own| own.is_ascii_digit() || own == '.');
                // A full stop after it may end the sentence, or lead on to decimals.
                let after = text[at + found.len()..].strip_prefix('.').unwrap_or(&text[at + found.len()..]);
                let is_longer = after.starts_with(|own: char| own.is_ascii_digit());
                !is_part(text[..at].chars().next_back()) && !is_longer
            })
        };
        self.exactly.iter().any(is_exact) || numbers(text).any(|number| self.shows(&number))
    }

    /// Whether a number is one of the figures, rounded as it is.
    fn shows(&self, number: &str) -> bool {
        // Zeros at the end of a whole number tell nothing: 100 stands everywhere.
        let own = if number.contains('.') { number } else { number.trim_end_matches('0') };
        let digits = own.trim_start_matches(['0', '.']).chars().filter(char::is_ascii_digit).count();
        let decimals = number.split_once('.').map_or(0, |(_, after)| after.len());
        let Ok(shown) = number.parse::<f64>() else { return false };
        let half = 0.5 * 0.1_f64.powi(i32::try_from(decimals).unwrap_or(i32::MAX)) * (1.0 + 1e-9);
        digits >= DIGITS && self.values.iter().any(|value| (value.abs() - shown).abs() <= half)
    }
}

/// The numbers of a text, thousands joined.
fn numbers(text: &str) -> impl Iterator<Item = String> {
    let joined: String = text.chars().filter(|letter| !matches!(letter, '\u{a0}' | '\u{202f}')).collect();
    let parts: Vec<String> = joined
        .split(|letter: char| !letter.is_ascii_digit() && letter != '.')
        .map(|part| part.trim_matches('.').to_owned())
        .filter(|part| !part.is_empty())
        .collect();
    parts.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: by the rules above.
    #[test]
    fn a_figure_is_found_however_it_is_rounded() {
        let secret = Secret { values: vec![0.51131, 51.131, 1064.83], exactly: vec!["51 %".to_owned()] };
        for text in ["0.511", "51.1 of 100", "covers 51 %", "1\u{a0}065 s", "t = 1064.83 s", "0.5113"] {
            assert!(secret.is_in(text), "{text}");
        }
        let count = Secret { values: vec![84.0], exactly: vec!["84".to_owned()] };
        assert!(count.is_in("n = 84") && count.is_in("in all 84."));
        for text in ["84.5 m²", "184", "841", "8.4"] {
            assert!(!count.is_in(text), "{text}");
        }
        for text in ["51 images", "0.51", "151 %", "51.2", "1\u{a0}066", "0.5112", "5113", "100 %"] {
            assert!(!secret.is_in(text), "{text}");
        }
    }
}
