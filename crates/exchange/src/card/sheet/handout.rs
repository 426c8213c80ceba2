//! A lesson on paper: of every step a page with the question and room for the guess, and one with working and answer.

use super::super::sketch::CardSketch;
use super::flow::{LEAST_TYPE, Run, flow};
use super::head::{Setting, Sizes};
use super::{Area, Block, CardSheet, InkTone, MARGIN, PaperSize, SheetPage, picture};
use glam::DVec2;
use obliquity_planning::Scenario;

/// A lesson for those who sit in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Handout {
    /// Its name.
    pub title: String,
    /// The site from above, without anything that is flown.
    pub sketch: CardSketch,
    /// Its steps.
    pub steps: Vec<HandoutStep>,
}

/// A step on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct HandoutStep {
    /// What is said before the guess.
    pub text: String,
    /// What is set otherwise than before.
    pub settings: Option<String>,
    /// The question.
    pub question: String,
    /// Within what a guess is near.
    pub near: String,
    /// What the guess is written in.
    pub sign: String,
    /// The figure.
    pub figure: String,
    /// What is said of it.
    pub after: String,
    /// How it comes about, line by line; headings stand flush.
    pub working: Vec<String>,
}

/// Which pages are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HandoutPages {
    /// Questions alone: what is handed out before.
    Questions,
    /// Every question followed by its answer.
    WithAnswers,
}

/// Type of a working and columns that it is set in: the first in which all of it is one page is taken.
const SETTINGS: [(f32, usize); 10] = [
    (13.0, 1),
    (12.0, 1),
    (11.0, 1),
    (10.0, 1),
    (9.0, 1),
    (9.0, 2),
    (8.0, 2),
    (7.0, 2),
    (7.0, 3),
    (LEAST_TYPE, 3),
];

/// The same where it takes several pages.
const SEVERAL: (f32, usize) = (8.0, 2);

/// Between two columns.
const GUTTER: f32 = 14.0;

impl CardSketch {
    /// A site from above, with nothing that is flown.
    pub fn of_site(scenario: &Scenario) -> Self {
        let site = &scenario.site;
        CardSketch {
            boundary_m: site.boundary_m.clone(),
            structures_m: site.structures.iter().map(|own| own.footprint_m.clone()).collect(),
            keep_outs_m: site.keep_outs.iter().map(|keep_out| keep_out.outline_m.clone()).collect(),
            take_offs_m: vec![(1, DVec2::new(site.take_off_m.x, site.take_off_m.y))],
            ..CardSketch::default()
        }
    }
}

impl Handout {
    /// Lays it out on paper.
    pub fn sheet(&self, paper: PaperSize, pages: HandoutPages) -> CardSheet {
        let (width, height) = paper.size_pt();
        let room = [width - 2.0 * MARGIN, height - 2.0 * MARGIN];
        let mut all = Vec::new();
        for (k, step) in self.steps.iter().enumerate() {
            all.extend(self.question(k, step, room));
            if pages == HandoutPages::WithAnswers {
                all.extend(self.answer(k, step, room));
            }
        }
        let paged = |block: Block| {
            let mut page = SheetPage::default();
            page.add(block, [MARGIN, MARGIN]);
            page
        };
        CardSheet { paper, title: self.title.clone(), pages: all.into_iter().map(paged).collect() }
    }

    fn head(&self, k: usize, what: &str, size: f32, wide: f32) -> Block {
        let text = format!("{} · step {} of {} · {what}", self.title, k + 1, self.steps.len());
        let mut block = flow(&[Run::muted(0.8 * size, text)], wide);
        let under = block.height + 2.0;
        block.line([0.0, under], [wide, under], InkTone::Rule, 0.5);
        block.height = under + 4.0;
        block
    }

    fn question(&self, k: usize, step: &HandoutStep, [wide, high]: [f32; 2]) -> Vec<Block> {
        let size = 13.0;
        let mut block = self.head(k, "question", size, wide);
        block.append(flow(&[Run::plain(size, &step.text)], wide), 10.0);
        if let Some(settings) = &step.settings {
            block.append(flow(&[Run::muted(0.85 * size, settings)], wide), 8.0);
        }
        block.append(flow(&[Run::strong(1.3 * size, &step.question)], wide), 12.0);
        let writing = 96.0;
        let sizes = Sizes::at((1.2, Setting::Open));
        let most = picture::most_height(&self.sketch, wide);
        let picture_high = (high - block.height - writing - 30.0).min(most).max(80.0);
        block.append(picture::picture(&self.sketch, sizes, wide, picture_high), 14.0);
        block.append(blank(&format!("Guess ({})", step.near), &step.sign, size, wide), 26.0);
        block.append(blank("Name or initials", "", size, wide), 18.0);
        vec![block]
    }

    fn answer(&self, k: usize, step: &HandoutStep, room: [f32; 2]) -> Vec<Block> {
        let laid = |setting| self.answer_at(k, step, setting, room);
        let one = SETTINGS.into_iter().map(laid).find(|pages| pages.len() == 1);
        one.unwrap_or_else(|| laid(SEVERAL))
    }

    fn answer_at(
        &self,
        k: usize,
        step: &HandoutStep,
        (size, columns): (f32, usize),
        [wide, high]: [f32; 2],
    ) -> Vec<Block> {
        let mut page = self.head(k, "answer and working", 13.0, wide);
        page.append(flow(&[Run::strong(14.0, &step.question)], wide), 8.0);
        page.append(flow(&[Run::strong(26.0, &step.figure)], wide), 6.0);
        page.append(flow(&[Run::plain(12.0, &step.after)], wide), 8.0);
        page.append(flow(&[Run::muted(9.6, "Working, to be recomputed by hand")], wide), 12.0);
        let column_wide = (wide - GUTTER * (columns - 1) as f32) / columns as f32;
        let mut pages = Vec::new();
        let (mut top, mut column) = (page.height + 4.0, 0);
        let mut at = top;
        for line in &step.working {
            let indent = if line.starts_with(' ') { size } else { 0.0 };
            let run = Run::plain(size, line.trim());
            let run = if indent == 0.0 { Run::strong(size, run.text) } else { run };
            let laid = flow(&[run], column_wide - indent);
            if at + laid.height > high && at > top {
                column += 1;
                at = top;
                if column == columns {
                    let next = self.head(k, "working, continued", 13.0, wide);
                    top = next.height + 4.0;
                    pages.push(std::mem::replace(&mut page, next));
                    (column, at) = (0, top);
                }
            }
            let height = laid.height;
            page.put(laid, [column as f32 * (column_wide + GUTTER) + indent, at]);
            at += height + 0.25 * size;
        }
        pages.push(page);
        pages
    }
}

/// A line to write on, with its name before it.
fn blank(name: &str, sign: &str, size: f32, wide: f32) -> Block {
    let mut block = flow(&[Run::plain(size, name)], wide / 2.0);
    let line = block.height;
    let (from, to) = (wide * 0.5, wide * 0.8);
    block.line([from, line], [to, line], InkTone::Ink, 0.8);
    if !sign.is_empty() {
        block.put(flow(&[Run::plain(size, sign)], 100.0), [to + 6.0, 0.0]);
    }
    block.say(
        Area { left: from, top: 0.0, width: to - from, height: line },
        format!("{name}: to be filled in"),
        None,
    );
    block
}
