//! The passes as rows of one table, in the order in which they are flown.

use super::super::model::{Card, CardColumn, CardFigure, CardPass};
use super::flow::{Run, fitted, flow, spoken, unbroken};
use super::head::{Setting, Sizes};
use super::{Block, InkTone};

/// Shares of the width: number and name, then the columns.
const SHARES: [f32; 8] = [0.105, 0.205, 0.09, 0.155, 0.095, 0.155, 0.09, 0.105];

/// The columns of a table of a width.
struct CardColumns {
    left: [f32; 8],
    width: [f32; 8],
}

impl CardColumns {
    fn new(sizes: Sizes, wide: f32) -> Self {
        let mut left = [0.0; 8];
        for at in 1..8 {
            left[at] = left[at - 1] + SHARES[at - 1] * wide;
        }
        CardColumns { left, width: SHARES.map(|share| share * wide - 0.8 * sizes.gap) }
    }
}

/// Names of the columns.
pub(super) fn heading(sizes: Sizes, wide: f32) -> Block {
    let columns = CardColumns::new(sizes, wide);
    let mut block = Block::default();
    let names = std::iter::once("Pass").chain(CardColumn::ALL.map(CardColumn::title));
    for (at, name) in names.enumerate() {
        block.put(flow(&[Run::muted(sizes.small, name)], columns.width[at]), [columns.left[at], 0.0]);
    }
    let below = block.height + 1.0;
    block.line([0.0, below], [wide, below], InkTone::Ink, 0.8);
    block.height = below + 2.0;
    block
}

/// One pass: its row, and below it what else is to be known; what is `shared` stands elsewhere.
pub(super) fn row(pass: &CardPass, shared: &Shared<'_>, sizes: Sizes, wide: f32) -> Block {
    let columns = CardColumns::new(sizes, wide);
    let mut block = Block::default();
    let number = Run::strong(sizes.large, pass.number.to_string()).in_tone(InkTone::Strategy);
    let pattern = unbroken(Run::strong(sizes.value, pass.pattern), columns.width[0]);
    let name = flow(&[number.says(pass.title.as_str()), pattern], columns.width[0]);
    block.put(name, [0.0, 0.0]);
    if let Some(listed) = &pass.listed {
        let run = Run::muted(sizes.small, format!("{} {}", listed.label, listed.value));
        let run = run.tells(&pass.title, listed);
        let top = block.height;
        block.put(flow(&[run], columns.width[0]), [0.0, top]);
    }
    if let Some(reason) = &pass.refused {
        let text = format!("Left out: {reason}");
        let run = Run::strong(sizes.value, text.as_str()).in_tone(InkTone::Bad).says(text.as_str());
        block.put(flow(&[run], wide - columns.left[1]), [columns.left[1], 0.0]);
    }
    let figures = || pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows);
    for (at, column) in CardColumn::ALL.into_iter().enumerate() {
        let of: Vec<&CardFigure> =
            figures().filter(|figure| figure.key.as_ref().is_some_and(|key| key.column == column)).collect();
        block.put(cell(&pass.title, &of, sizes, columns.width[at + 1]), [columns.left[at + 1], 0.0]);
    }
    let below = figures().filter(|figure| figure.key.is_none() && !shared.figures.contains(figure));
    block.append(listed(&pass.title, below, &shared.notes, sizes, wide), 1.5);
    block.height += 2.0;
    block.line([0.0, block.height], [wide, block.height], InkTone::Rule, 0.5);
    block.height += 3.0;
    block
}

/// What is keyed in, large, and what is to be known of it, small.
fn cell(of: &str, figures: &[&CardFigure], sizes: Sizes, wide: f32) -> Block {
    let keys = || figures.iter().filter_map(|figure| Some((*figure, figure.key.as_ref()?)));
    let large: Vec<&str> = keys().filter_map(|(_, key)| key.large.as_deref()).collect();
    let mut block = Block::default();
    if large.is_empty() {
        return block;
    }
    let run = Run::strong(sizes.large, large.join(" / "));
    block.append(fitted(&run, wide, 1.05 * sizes.value), 0.0);
    let heard = block.marks.first().and_then(|mark| match mark {
        super::SheetMark::Text(text) => Some(text.area),
        super::SheetMark::Path(_) => None,
    });
    for figure in figures {
        if let Some(area) = heard {
            block.say(area, spoken(of, figure), figure.figure);
        }
    }
    let small = keys().map(|(_, key)| key.small.as_str()).filter(|small| !small.is_empty());
    match sizes.setting {
        Setting::Open => {
            small.for_each(|small| block.append(flow(&[Run::plain(sizes.small, small)], wide), 0.0));
        }
        Setting::Close => {
            let all = small.collect::<Vec<_>>().join(" · ");
            block.append(flow(&[Run::plain(sizes.small, all)], wide), 0.0);
        }
    }
    block
}

/// Figures one after the other, each with its name; those whose note is told elsewhere go without.
pub(super) fn listed<'a>(
    of: &str,
    figures: impl Iterator<Item = &'a CardFigure>,
    told: &[(&str, &str)],
    sizes: Sizes,
    wide: f32,
) -> Block {
    flow(&ended(list(of, figures, told, sizes)), wide)
}

/// Without the mark that stands between two figures behind the last one.
fn ended(mut runs: Vec<Run>) -> Vec<Run> {
    if let Some(last) = runs.last_mut() {
        last.text = last.text.trim_end_matches(['·', ' ']).to_owned();
    }
    runs
}

fn list<'a>(
    of: &str,
    figures: impl Iterator<Item = &'a CardFigure>,
    told: &[(&str, &str)],
    sizes: Sizes,
) -> Vec<Run> {
    let runs = figures.flat_map(|figure| {
        let note = figure.note.as_ref().filter(|_| !told.iter().any(|(label, _)| *label == figure.label));
        let also = figure.also.as_ref().map_or_else(String::new, |also| format!("({also})"));
        let (value, rest) = match (also.is_empty(), note) {
            (true, None) => (figure.value.clone(), String::new()),
            (true, Some(note)) => (format!("{},", figure.value), note.clone()),
            (false, None) => (figure.value.clone(), also),
            (false, Some(note)) => (figure.value.clone(), format!("{also}, {note}")),
        };
        let name = Run::muted(sizes.small, figure.label.as_str()).tells(of, figure);
        let value = Run::strong(sizes.small, value).in_tone(super::head::tone(figure.fit));
        [name, value, Run::plain(sizes.small, format!("{rest} ·"))]
    });
    runs.collect()
}

/// What is the same for all passes, and so is said once.
pub(super) struct Shared<'a> {
    /// Figures of all of them.
    figures: Vec<&'a CardFigure>,
    /// Names of figures that differ, with what all of them say to it.
    notes: Vec<(&'a str, &'a str)>,
}

/// Figures of a pass that stand below its row.
fn below(pass: &CardPass) -> impl Iterator<Item = &CardFigure> {
    let figures = pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows);
    figures.filter(|figure| figure.key.is_none())
}

impl<'a> Shared<'a> {
    pub(super) fn new(card: &'a Card) -> Self {
        let passes = card.passes.as_slice();
        let mut shared = Shared { figures: Vec::new(), notes: Vec::new() };
        let [first, others @ ..] = passes else { return shared };
        if others.is_empty() {
            return shared;
        }
        let in_all =
            |figure: &&CardFigure| others.iter().all(|pass| below(pass).any(|other| other == *figure));
        shared.figures = below(first).filter(in_all).collect();
        for figure in passes.iter().flat_map(below).filter(|figure| !shared.figures.contains(figure)) {
            let Some(note) = figure.note.as_deref() else { continue };
            let known = shared.notes.iter().any(|(label, _)| *label == figure.label);
            let alike = || passes.iter().flat_map(below).filter(|other| other.label == figure.label);
            if !known && alike().count() > 1 && alike().all(|other| other.note == figure.note) {
                shared.notes.push((figure.label.as_str(), note));
            }
        }
        shared
    }

    /// What is said once; nothing where nothing is the same.
    pub(super) fn block(&self, sizes: Sizes, wide: f32) -> Option<Block> {
        if self.figures.is_empty() && self.notes.is_empty() {
            return None;
        }
        let mut runs = vec![Run::strong(sizes.small, "For all passes:")];
        runs.extend(list("All passes", self.figures.iter().copied(), &[], sizes));
        let notes = self.notes.iter().flat_map(|(label, note)| {
            [Run::muted(sizes.small, *label), Run::plain(sizes.small, format!("{note} ·"))]
        });
        runs.extend(notes);
        Some(flow(&ended(runs), wide))
    }
}
