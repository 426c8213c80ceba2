//! The head of every page, and what is keyed in once.

use super::super::model::{Card, CardFigure, CardFit};
use super::super::{DAY, ONCE};
use super::flow::{LEAST_TYPE, Run, fitted, flow, right_aligned};
use super::letters::{ASCENT, LEADING, width};
use super::{Area, Block, InkTone, Weight};

/// Sizes of type at a scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sizes {
    /// What is keyed in.
    pub(super) large: f32,
    /// What is read at a glance.
    pub(super) value: f32,
    /// Everything else.
    pub(super) small: f32,
    /// What stands beside something else.
    pub(super) fine: f32,
    /// Between parts.
    pub(super) gap: f32,
    /// How what belongs together is set.
    pub(super) setting: Setting,
}

/// How what belongs together is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Setting {
    /// Each of it on a line of its own.
    Open,
    /// Running on, where the page is full.
    Close,
}

impl Sizes {
    pub(super) fn at((scale, setting): (f32, Setting)) -> Self {
        let small = (7.2 * scale).max(LEAST_TYPE);
        let fine = (0.9 * small).max(LEAST_TYPE);
        Sizes { large: 14.0 * scale, value: 10.0 * scale, small, fine, gap: 6.5 * scale, setting }
    }
}

/// What is short of what there is stands out.
pub(super) fn tone(fit: CardFit) -> InkTone {
    match fit {
        CardFit::Short => InkTone::Bad,
        CardFit::Open | CardFit::Enough => InkTone::Ink,
    }
}

/// Strategy, scenario, site and aircraft, and which page of how many it is.
pub(super) fn head(card: &Card, sizes: Sizes, wide: f32, [page, of]: [usize; 2]) -> Block {
    const PAGE: f32 = 74.0;
    let mut block = Block::default();
    block.rect(Area { left: 0.0, top: 0.0, width: wide, height: 4.0 }, Some(InkTone::Strategy), None);
    block.height = 4.0;
    let kind = super::super::HEADING.trim_end_matches(": ");
    let title = Run::strong(1.25 * sizes.large, card.strategy.as_str()).says(card.strategy.as_str());
    let number = Run::muted(sizes.small, format!("page {page} of {of}"));
    let top = block.height + 3.0;
    let mark = card.number.map(|number| mark(number, title.size)).unwrap_or_default();
    let room = if mark.height > 0.0 { mark.height + sizes.gap } else { 0.0 };
    block.put(mark, [0.0, top]);
    block.put(fitted(&title, wide - PAGE - room, sizes.value), [room, top]);
    block.put(right_aligned(&Run::muted(sizes.small, kind), PAGE), [wide - PAGE, top]);
    block.put(right_aligned(&number, PAGE), [wide - PAGE, top + 1.3 * sizes.small]);
    let about = format!("{} · site {} · aircraft {}", card.scenario, card.site, card.aircraft);
    block.append(flow(&[Run::muted(1.1 * sizes.small, about.as_str()).says(about.as_str())], wide), 0.0);
    for reason in &card.reasons {
        let text = format!("Cannot be flown as set: {reason}");
        let run = Run::strong(sizes.value, text.as_str()).in_tone(InkTone::Bad).says(text.as_str());
        block.append(flow(&[run], wide), 2.0);
    }
    block
}

/// The strategy's number in its colour, as high as a line of type of a size.
fn mark(number: usize, size: f32) -> Block {
    let side = LEADING * size;
    let text = Run::strong(0.75 * size, number.to_string()).in_tone(InkTone::Paper);
    let left = (side - width(text.weight, text.size, &text.text)) / 2.0;
    let mut block = Block::default();
    block.rect(Area { left: 0.0, top: 0.0, width: side, height: side }, Some(InkTone::Strategy), None);
    block.put(flow(&[text], side), [left, (side - LEADING * 0.75 * size) / 2.0]);
    block.height = side;
    block
}

/// So many take-off points stand side by side.
const ABREAST: usize = 3;

/// What is keyed in once, the day, and the take-off points where there are several, as tiles in rows.
pub(super) fn tiles(card: &Card, sizes: Sizes, wide: f32) -> Block {
    let once = card.set_once.iter().map(|figure| (ONCE, figure));
    let day = card.day.iter().map(|figure| (DAY, figure));
    let mut block = Block::default();
    block.append(row(&once.collect::<Vec<_>>(), sizes, wide), 0.0);
    block.append(row(&day.collect::<Vec<_>>(), sizes, wide), 0.5 * sizes.gap);
    for abreast in card.take_offs.chunks(ABREAST) {
        let tiles: Vec<(&str, &CardFigure)> = abreast.iter().map(|figure| (ONCE, figure)).collect();
        block.append(row(&tiles, sizes, wide), 0.5 * sizes.gap);
    }
    block
}

/// How much smaller a value may be set, so that notes beside it have room.
const SMALLER: f32 = 0.87;

/// Width of a tile's name and value on one line each.
fn least_width(figure: &CardFigure, sizes: Sizes) -> f32 {
    let name = width(Weight::Regular, sizes.small, &figure.label);
    let value = SMALLER * width(Weight::Strong, value_size(sizes), &figure.value);
    let both = match sizes.setting {
        Setting::Open => name.max(value),
        Setting::Close => name + sizes.small + value,
    };
    both + 1.5 * sizes.gap
}

fn value_size(sizes: Sizes) -> f32 {
    1.15 * sizes.value
}

/// Tiles side by side, as low as they can stand.
fn row(figures: &[(&str, &CardFigure)], sizes: Sizes, wide: f32) -> Block {
    let least: Vec<f32> = figures.iter().map(|(_, figure)| least_width(figure, sizes)).collect();
    let all: f32 = least.iter().sum();
    if all >= wide {
        let shrunk: Vec<f32> = least.iter().map(|least| wide / all * least).collect();
        return tiles_of(figures, &shrunk, sizes);
    }
    let letters: Vec<f32> = figures.iter().map(|(_, figure)| letters(figure)).collect();
    let [even, shared] = [even(&least, &letters, wide), shared(&least, &letters, wide)];
    let [even, shared] = [even, shared].map(|widths| tiles_of(figures, &widths, sizes));
    if shared.height < even.height { shared } else { even }
}

fn tiles_of(figures: &[(&str, &CardFigure)], widths: &[f32], sizes: Sizes) -> Block {
    let mut block = Block::default();
    let mut left = 0.0;
    for ((of, figure), width) in figures.iter().zip(widths) {
        block.put(tile(of, figure, sizes, width - sizes.gap), [left, 0.0]);
        left += width;
    }
    block
}

/// Every tile has the width that its value needs, and of what is left the more the longer its note is.
fn shared(least: &[f32], letters: &[f32], wide: f32) -> Vec<f32> {
    let (spare, all) = (wide - least.iter().sum::<f32>(), letters.iter().sum::<f32>());
    least.iter().zip(letters).map(|(least, letters)| least + spare * letters / all).collect()
}

/// Every tile has the width that its value needs; those with longer notes are as wide as gives all of these as many lines.
fn even(least: &[f32], letters: &[f32], wide: f32) -> Vec<f32> {
    // Some stay wider than their notes need; what they leave is shared by fewer.
    let mut per_letter = wide / letters.iter().sum::<f32>();
    for _ in least {
        let is_wide = |at: &usize| per_letter * letters[*at] < least[*at];
        let (fixed, others): (Vec<usize>, Vec<usize>) = (0..least.len()).partition(is_wide);
        let left = wide - fixed.iter().map(|&at| least[at]).sum::<f32>();
        per_letter = left / others.iter().map(|&at| letters[at]).sum::<f32>().max(1.0);
    }
    least.iter().zip(letters).map(|(least, letters)| least.max(per_letter * letters)).collect()
}

/// So many letters stand below a tile's value.
fn letters(figure: &CardFigure) -> f32 {
    let count = |text: &Option<String>| text.as_ref().map_or(0, |text| text.chars().count());
    (count(&figure.note) + count(&figure.also)).max(1) as f32
}

/// Name, figure and note, one below the other; set close, the figure stands beside its name where there is room.
fn tile(of: &str, figure: &CardFigure, sizes: Sizes, wide: f32) -> Block {
    let name = Run::muted(sizes.small, figure.label.as_str());
    let name_wide = width(name.weight, name.size, &name.text) + 0.5 * sizes.small;
    let value = Run::strong(value_size(sizes), figure.value.as_str()).in_tone(tone(figure.fit));
    let value = value.tells(of, figure);
    let value_wide = width(value.weight, SMALLER * value.size, &value.text);
    let beside = sizes.setting == Setting::Close && name_wide + value_wide <= wide;
    let mut block = Block::default();
    if beside {
        let value = fitted(&value, wide - name_wide, sizes.small);
        let level = value.first_baseline() - ASCENT * name.size;
        block.put(flow(&[name], wide), [0.0, level]);
        block.put(value, [name_wide, 0.0]);
    } else {
        block.append(flow(&[name], wide), 0.0);
        block.append(fitted(&value, wide, sizes.small), 0.0);
    }
    let also = figure.also.as_ref().map(|also| Run::plain(sizes.small, format!("({also})")));
    let note = figure.note.as_ref().map(|note| Run::muted(sizes.small, note.as_str()));
    let rest: Vec<Run> = also.into_iter().chain(note).collect();
    block.append(flow(&rest, wide), 0.0);
    block
}
