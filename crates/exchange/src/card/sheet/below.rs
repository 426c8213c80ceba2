//! What stands below the passes: sorties with room to write, what to take along, the time, the cautions.

use super::super::model::{Card, CardReport, CardSortie};
use super::super::{CAUTIONS, LEAVING, REPORTED, STAY, text};
use super::flow::{Run, flow, right_aligned};
use super::head::{Setting, Sizes};
use super::table::listed;
use super::{Area, Block, InkTone};
use obliquity_planning::{Caution, Severity};

/// Columns of the sorties: their names, and what share of the width they take. The last three are to be written in.
const SORTIE: [(&str, f32); 9] = [
    ("sortie", 0.095),
    ("battery", 0.105),
    ("pass", 0.125),
    ("time", 0.145),
    ("images", 0.105),
    ("left", 0.085),
    ("time", 0.12),
    ("images", 0.11),
    ("left", 0.11),
];

/// The first column that is to be written in.
const WRITTEN: usize = 6;

fn title(sizes: Sizes, wide: f32, name: &str) -> Block {
    flow(&[Run::strong(1.15 * sizes.small, name)], wide)
}

/// What the controller reports, against what is predicted: a row for each sortie, and all of it.
pub(super) fn reports(card: &Card, sorties: &[CardSortie], sizes: Sizes, wide: f32) -> Block {
    let mut block = title(sizes, wide, REPORTED);
    if !sorties.is_empty() {
        block.append(sortie_heading(sizes, wide), 1.0);
    }
    for sortie in sorties {
        block.append(sortie_row(sortie, sizes, wide), 1.0);
    }
    match sizes.setting {
        Setting::Close if card.reports.iter().all(|report| report.reported.is_none()) => {
            let each = wide / card.reports.len().max(1) as f32;
            let top = block.height + 1.0;
            for (at, report) in card.reports.iter().enumerate() {
                block.put(report_row(report, sizes, each), [at as f32 * each, top]);
            }
        }
        _ => card.reports.iter().for_each(|report| block.append(report_row(report, sizes, wide), 1.0)),
    }
    block
}

/// Names of the columns: predicted, and to be written in.
fn sortie_heading(sizes: Sizes, wide: f32) -> Block {
    let mut block = Block::default();
    let muted = |text: &str| flow(&[Run::muted(sizes.fine, text)], wide);
    let written: f32 = SORTIE[..WRITTEN].iter().map(|(_, share)| share * wide).sum();
    block.put(muted("predicted: battery left at landing"), [0.0, 0.0]);
    block.put(muted("as reported"), [written + 1.0, 0.0]);
    let top = block.height;
    let mut left = 0.0;
    for (name, share) in SORTIE {
        block.put(muted(name), [left, top]);
        left += share * wide;
    }
    block
}

/// How high a box is that is written in by hand.
fn box_height(sizes: Sizes) -> f32 {
    (1.55 * sizes.small).max(11.5)
}

/// Further sorties, without what is said once.
pub(super) fn more_sorties(sorties: &[CardSortie], sizes: Sizes, wide: f32) -> Block {
    let half = wide / 2.0 - sizes.gap;
    let (first, second) = sorties.split_at(sorties.len().div_ceil(2));
    let column = |sorties: &[CardSortie]| {
        let mut column = Block::default();
        for sortie in sorties {
            column.append(sortie_row(sortie, sizes, half), 1.0);
        }
        column
    };
    let mut block = Block::default();
    for (sorties, left) in [(first, 0.0), (second, wide - half)].into_iter().filter(|(s, _)| !s.is_empty()) {
        let mut column_of = sortie_heading(sizes, half);
        column_of.append(column(sorties), 1.0);
        block.put(column_of, [left, 0.0]);
    }
    block
}

fn sortie_row(sortie: &CardSortie, sizes: Sizes, wide: f32) -> Block {
    let passes: Vec<String> = sortie.passes.iter().map(usize::to_string).collect();
    // "3 T2": from take-off 2
    let from = sortie.take_off.map_or_else(String::new, |take_off| format!(" T{take_off}"));
    let texts = [
        format!("{}{from}", sortie.number),
        sortie.battery.to_string(),
        passes.join(", "),
        sortie.time.clone(),
        sortie.images.to_string(),
        sortie.left.clone(),
    ];
    let mut block = Block::default();
    let mut left = 0.0;
    for (at, (_, share)) in SORTIE.iter().enumerate() {
        let width = share * wide;
        if let Some(text) = texts.get(at) {
            let run = if at == 0 {
                Run::strong(sizes.small, text.as_str())
            } else {
                Run::plain(sizes.small, text.as_str())
            };
            let run = if at == 0 { run.tells(LEAVING, &sortie.figure()) } else { run };
            block.put(flow(&[run], width - 2.0), [left, 1.0]);
        } else {
            let area = Area { left: left + 1.0, top: 0.0, width: width - 3.0, height: box_height(sizes) };
            block.rect(area, None, Some((InkTone::Muted, 0.5)));
        }
        left += width;
    }
    block.height = block.height.max(box_height(sizes));
    if let Some(wait) = &sortie.wait {
        let text = format!("before it: {wait} waiting for the charger");
        block.append(flow(&[Run::muted(sizes.fine, text)], wide), 0.0);
    }
    block
}

/// All of one figure: predicted, and a box for what the controller says.
fn report_row(report: &CardReport, sizes: Sizes, wide: f32) -> Block {
    let written: f32 = SORTIE[..WRITTEN].iter().map(|(_, share)| share * wide).sum();
    let label = format!("all {}", report.label);
    let runs = [Run::muted(sizes.small, label), Run::strong(sizes.small, report.predicted.as_str())];
    let mut block = Block::default();
    block.put(flow(&runs, written), [0.0, 1.0]);
    let area = Area { left: written + 1.0, top: 0.0, width: wide - written - 3.0, height: box_height(sizes) };
    block.rect(area, None, Some((InkTone::Ink, 0.6)));
    if let Some(reported) = &report.reported {
        let difference = report.difference.as_ref().map_or_else(String::new, |text| format!(", {text}"));
        let text = Run::plain(sizes.fine, format!("{reported}{difference}"));
        block.put(right_aligned(&text, area.width - 4.0), [area.left, 1.0]);
    }
    block.height = block.height.max(area.height);
    block
}

/// What to take along, what lies around, and the time on site.
pub(super) fn lists(card: &Card, sizes: Sizes, wide: f32) -> Block {
    let mut block = title(sizes, wide, LEAVING);
    let figures = card.on_hand.iter().chain(&card.surroundings);
    match sizes.setting {
        Setting::Open => figures.for_each(|figure| {
            block.append(listed(LEAVING, std::iter::once(figure), &[], sizes, wide), 0.5);
        }),
        Setting::Close => block.append(listed(LEAVING, figures, &[], sizes, wide), 0.5),
    }
    block.append(title(sizes, wide, STAY), 0.5 * sizes.gap);
    block.append(listed(STAY, card.time.iter(), &[], sizes, wide), 0.5);
    block
}

/// One caution: how grave, what, and where it comes from.
fn caution(caution: &Caution, sizes: Sizes, wide: f32) -> Block {
    let (word, tone) = match caution.severity {
        Severity::Limit => ("Limit", InkTone::Bad),
        Severity::Check => ("Check", InkTone::Warn),
        Severity::Reminder => ("Note", InkTone::Muted),
    };
    let source = text::source(caution);
    let runs = [
        Run::strong(sizes.small, word).in_tone(tone).says(format!("{word}: {} [{source}]", caution.text)),
        Run::plain(sizes.small, &*caution.text),
        Run::muted(sizes.small, format!("[{source}]")),
    ];
    flow(&runs, wide)
}

/// As many cautions as find room, read down the left column and then down the right one; and how many that are.
pub(super) fn cautions(all: &[Caution], sizes: Sizes, wide: f32, room: f32) -> (Block, usize) {
    let mut taken = all.len();
    loop {
        let block = two_columns(&all[..taken], sizes, wide);
        if taken <= 1 || block.height <= room {
            return (block, taken);
        }
        taken -= 1;
    }
}

/// The shortest of all ways to break a list in two columns.
fn two_columns(all: &[Caution], sizes: Sizes, wide: f32) -> Block {
    const APART: f32 = 1.5;
    let half = wide / 2.0 - sizes.gap;
    let blocks: Vec<Block> = all.iter().map(|one| caution(one, sizes, half)).collect();
    let heights = |blocks: &[Block]| -> f32 { blocks.iter().map(|block| block.height + APART).sum() };
    let higher = |at: usize| heights(&blocks[..at]).max(heights(&blocks[at..]));
    let at = (0..=blocks.len()).min_by(|a, b| higher(*a).total_cmp(&higher(*b))).unwrap_or(0);
    let mut block = title(sizes, wide, CAUTIONS);
    let top = block.height;
    let mut places = [[0.0, top], [wide - half, top]];
    for (index, one) in blocks.into_iter().enumerate() {
        let place = &mut places[usize::from(index >= at)];
        let height = one.height;
        block.put(one, *place);
        place[1] += height + APART;
    }
    block
}

/// Who decides.
pub(super) fn closing(card: &Card, sizes: Sizes, wide: f32) -> Block {
    let mut block = Block::default();
    block.line([0.0, 0.0], [wide, 0.0], InkTone::Rule, 0.5);
    let run = Run::strong(sizes.small, card.closing.as_str()).says(card.closing.as_str());
    block.put(flow(&[run], wide), [0.0, 2.0]);
    block
}
