//! Text that runs on from line to line.

use super::super::model::CardFigure;
use super::letters::{ASCENT, LEADING, width};
use super::{Area, Block, InkTone, SheetMark, TextMark, Weight};
use obliquity_planning::MeasureId;

/// In smaller type nothing is read at arm's length.
pub(super) const LEAST_TYPE: f32 = 6.0;

/// "Set once, take-off: 52.1°, …".
pub(super) fn spoken(of: &str, figure: &CardFigure) -> String {
    format!("{of}, {}: {}", figure.label, figure.sentence())
}

/// A stretch of text in one kind of type.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub(super) text: String,
    pub(super) size: f32,
    pub(super) weight: Weight,
    pub(super) tone: InkTone,
    /// What is said where it begins.
    pub(super) says: Option<String>,
    /// In whose working that is told.
    pub(super) figure: Option<MeasureId>,
}

impl Run {
    pub(super) fn new(size: f32, weight: Weight, tone: InkTone, text: impl Into<String>) -> Self {
        Run { text: text.into(), size, weight, tone, says: None, figure: None }
    }

    pub(super) fn plain(size: f32, text: impl Into<String>) -> Self {
        Run::new(size, Weight::Regular, InkTone::Ink, text)
    }

    pub(super) fn muted(size: f32, text: impl Into<String>) -> Self {
        Run::new(size, Weight::Regular, InkTone::Muted, text)
    }

    pub(super) fn strong(size: f32, text: impl Into<String>) -> Self {
        Run::new(size, Weight::Strong, InkTone::Ink, text)
    }

    pub(super) fn in_tone(self, tone: InkTone) -> Self {
        Run { tone, ..self }
    }

    pub(super) fn says(self, text: impl Into<String>) -> Self {
        Run { says: Some(text.into()), ..self }
    }

    /// Says all of a figure of the card.
    pub(super) fn tells(self, of: &str, figure: &CardFigure) -> Self {
        Run { figure: figure.figure, ..self.says(spoken(of, figure)) }
    }

    fn width(&self, text: &str) -> f32 {
        width(self.weight, self.size, text)
    }
}

/// Part of a line in one kind of type.
struct Piece {
    run: usize,
    left: f32,
    text: String,
}

/// Words of a text that stay together: a number keeps its unit.
fn words(text: &str) -> Vec<String> {
    const UNITS: [&str; 15] =
        ["%", "m", "cm", "km", "min", "h", "s", "ha", "m/s", "GB", "ft", "in", "acres", "mph", "EV"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let unit = word.trim_end_matches([',', ';', '.', ':', ')']);
        match words.last_mut() {
            Some(last) if UNITS.contains(&unit) && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push('\u{a0}');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// A word in parts that are no wider than a line.
fn parts(run: &Run, word: &str, wide: f32) -> Vec<String> {
    if run.width(word) <= wide {
        return vec![word.to_owned()];
    }
    let mut parts = vec![String::new()];
    for letter in word.chars() {
        let last = parts.len() - 1;
        let longer = format!("{}{letter}", parts[last]);
        if parts[last].is_empty() || run.width(&longer) <= wide {
            parts[last] = longer;
        } else {
            parts.push(letter.to_string());
        }
    }
    parts
}

/// Lays runs out one after the other, a space between them, in lines no wider than `wide`.
pub(super) fn flow(runs: &[Run], wide: f32) -> Block {
    let mut lines: Vec<Vec<Piece>> = vec![Vec::new()];
    let mut right = 0.0;
    for (index, run) in runs.iter().enumerate() {
        let space = run.width(" ");
        for word in words(&run.text).iter().flat_map(|word| parts(run, word, wide)) {
            let word_width = run.width(&word);
            if right > 0.0 && right + space + word_width > wide {
                lines.push(Vec::new());
                right = 0.0;
            }
            let left = if right > 0.0 { right + space } else { 0.0 };
            let line = lines.len() - 1;
            match lines[line].last_mut() {
                Some(piece) if piece.run == index => {
                    piece.text.push(' ');
                    piece.text.push_str(&word);
                }
                _ => lines[line].push(Piece { run: index, left, text: word.clone() }),
            }
            right = left + word_width;
        }
    }
    lines.retain(|line| !line.is_empty());
    set(runs, lines)
}

/// Puts pieces on their lines, one below the other.
fn set(runs: &[Run], lines: Vec<Vec<Piece>>) -> Block {
    let mut block = Block::default();
    let mut said = vec![false; runs.len()];
    for line in lines {
        let largest = line.iter().map(|piece| runs[piece.run].size).fold(0.0, f32::max);
        let (top, baseline) = (block.height, block.height + ASCENT * largest);
        for Piece { run: index, left, text } in line {
            let run = &runs[index];
            let (width, height) = (run.width(&text), LEADING * run.size);
            let area = Area { left, top: baseline - ASCENT * run.size, width, height };
            if let Some(says) = run.says.as_ref().filter(|_| !said[index]) {
                block.say(area, says.clone(), run.figure);
            }
            said[index] = true;
            let Run { size, weight, tone, .. } = *run;
            block.marks.push(SheetMark::Text(TextMark { area, baseline, size, weight, tone, text }));
        }
        block.height = top + LEADING * largest;
    }
    block
}

/// A text that is made smaller until it stands on one line, but no smaller than `least`; then it runs on.
pub(super) fn fitted(run: &Run, wide: f32, least: f32) -> Block {
    let full = run.width(&run.text.replace(' ', "\u{a0}"));
    let size = if full > wide { (run.size * wide / full * 0.999).max(least) } else { run.size };
    flow(&[Run { size, ..run.clone() }], wide)
}

/// A word, smaller where its line would break it.
pub(super) fn unbroken(run: Run, wide: f32) -> Run {
    let full = run.width(&run.text);
    let size = if full > wide { (run.size * wide / full * 0.999).max(LEAST_TYPE) } else { run.size };
    Run { size, ..run }
}

/// A text that ends at the right edge of `wide`, on one line.
pub(super) fn right_aligned(run: &Run, wide: f32) -> Block {
    let text = Run { text: run.text.replace(' ', "\u{a0}"), ..run.clone() };
    let mut moved = Block::default();
    let left = (wide - text.width(&text.text)).max(0.0);
    moved.put(flow(&[text], wide), [left, 0.0]);
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: no line is wider than it may be, no letter is lost, a number keeps its unit, and a word that is too long is
    /// broken.
    #[test]
    fn text_runs_on_within_its_width() {
        let text = "keeps 10.5 m from Verylongnameofastructurewithoutanyspaceinit and 3 min more";
        for wide in [30.0, 60.0, 90.0, 400.0] {
            let block = flow(&[Run::plain(8.0, text), Run::strong(8.0, "at 12 %.")], wide);
            let mut read = String::new();
            for mark in &block.marks {
                let SheetMark::Text(line) = mark else { panic!("only text") };
                assert!(line.area.right() <= wide + 1e-3, "{} in {wide}", line.text);
                assert!(!line.text.ends_with("10.5") && !line.text.ends_with(" 3"), "{}", line.text);
                read.push_str(&line.text);
            }
            let plain = |text: &str| text.replace([' ', '\u{a0}'], "");
            assert_eq!(plain(&read), plain(&format!("{text}at 12 %.")));
        }
    }
}
