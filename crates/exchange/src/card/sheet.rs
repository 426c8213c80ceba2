//! The card laid out on paper: what is printed, and what the screen shows. Places are points (1/72 inch) from the upper left
//! corner of a page; whoever draws it chooses the colours.

mod below;
mod compose;
mod flow;
mod handout;
mod head;
mod letters;
mod pdf;
mod picture;
mod table;

pub use handout::{Handout, HandoutPages, HandoutStep};
pub use pdf::PdfError;

use super::Card;
use crate::Units;
use obliquity_planning::MeasureId;
use serde::{Deserialize, Serialize};

/// The size of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PaperSize {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl PaperSize {
    /// Both.
    pub const ALL: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];

    /// What is printed on where nothing else was chosen: Letter with US customary units, A4 with metric ones.
    pub fn usual(units: Units) -> PaperSize {
        if units.is_us() { PaperSize::Letter } else { PaperSize::A4 }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "Letter",
        }
    }

    /// Width and height.
    ///
    /// # Units
    /// - returns: points of 1/72 inch
    pub fn size_pt(self) -> (f32, f32) {
        match self {
            // 25.4 mm are 72 points.
            PaperSize::A4 => (210.0 * 72.0 / 25.4, 297.0 * 72.0 / 25.4),
            PaperSize::Letter => (8.5 * 72.0, 11.0 * 72.0),
        }
    }
}

/// Blank on all four sides of a page: what common printers cannot reach, and a clip's breadth.
pub(super) const MARGIN: f32 = 26.0;

/// A rectangle of a page, in points.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Area {
    /// From the page's left edge.
    pub left: f32,
    /// From the page's upper edge.
    pub top: f32,
    /// To the right.
    pub width: f32,
    /// Downwards.
    pub height: f32,
}

impl Area {
    /// Its right edge.
    pub fn right(&self) -> f32 {
        self.left + self.width
    }

    /// Its lower edge.
    pub fn bottom(&self) -> f32 {
        self.top + self.height
    }

    /// Whether two of them have more than an edge in common.
    fn meets(&self, other: &Area) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// Whether another one lies in this one.
    fn holds(&self, other: &Area) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }

    fn moved(self, by: [f32; 2]) -> Area {
        Area { left: self.left + by[0], top: self.top + by[1], ..self }
    }
}

/// What something is drawn in; paper is white.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InkTone {
    /// What is read first.
    Ink,
    /// What is read second.
    Muted,
    /// Lines that divide.
    Rule,
    /// Behind what is set apart.
    Shade,
    /// What is missing or forbidden.
    Bad,
    /// What calls for a check.
    Warn,
    /// The strategy's own colour.
    Strategy,
    /// The paper.
    Paper,
}

/// How heavy letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// What stands out.
    Strong,
}

/// A line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct TextMark {
    /// Its box: as wide as its letters, as high as its line.
    pub area: Area,
    /// Where its letters stand, below the page's upper edge.
    pub baseline: f32,
    /// Size of its type.
    pub size: f32,
    /// How heavy it is.
    pub weight: Weight,
    /// What it is drawn in.
    pub tone: InkTone,
    /// The text.
    pub text: String,
}

/// A line or an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct PathMark {
    /// Its corners.
    pub points: Vec<[f32; 2]>,
    /// Whether the last corner is joined to the first.
    pub end: PathEnd,
    /// What it is filled with.
    pub fill: Option<InkTone>,
    /// What its line is drawn in, and how wide.
    pub stroke: Option<(InkTone, f32)>,
    /// Lengths of its dashes and of the gaps between them.
    pub dash: Option<f32>,
}

/// How a path ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PathEnd {
    /// It is a line.
    Open,
    /// It is an outline.
    Closed,
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetMark {
    /// A line of text.
    Text(TextMark),
    /// A line or an outline.
    Path(PathMark),
}

/// What a part of the page says, for those who do not see it, and in full for those who point at it.
#[derive(Debug, Clone, PartialEq)]
pub struct Saying {
    /// Where it begins.
    pub area: Area,
    /// All of it.
    pub text: String,
    /// In whose working it is told how it comes about.
    pub figure: Option<MeasureId>,
}

/// One page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetPage {
    /// In the order in which they are drawn.
    pub marks: Vec<SheetMark>,
    /// In reading order.
    pub said: Vec<Saying>,
}

/// A card on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct CardSheet {
    /// The size of its pages.
    pub paper: PaperSize,
    /// What it is of.
    pub title: String,
    /// Its pages.
    pub pages: Vec<SheetPage>,
}

impl CardSheet {
    /// Lays a card out: on one page if that can be read, else on as many as it takes. Nothing is left out.
    pub fn new(card: &Card, paper: PaperSize) -> Self {
        let title = format!("{}{}", super::HEADING, card.strategy);
        CardSheet { paper, title, pages: compose::pages(card, paper) }
    }

    /// All lines of text, page by page.
    pub fn texts(&self) -> impl Iterator<Item = &TextMark> {
        self.pages.iter().flat_map(SheetPage::texts)
    }
}

impl SheetPage {
    /// Its lines of text.
    pub fn texts(&self) -> impl Iterator<Item = &TextMark> {
        self.marks.iter().filter_map(|mark| match mark {
            SheetMark::Text(text) => Some(text),
            SheetMark::Path(_) => None,
        })
    }

    fn add(&mut self, block: Block, at: [f32; 2]) {
        let Block { marks, said, .. } = block;
        self.marks.extend(marks.into_iter().map(|mark| mark.moved(at)));
        self.said.extend(said.into_iter().map(|s| Saying { area: s.area.moved(at), ..s }));
    }
}

impl SheetMark {
    fn moved(self, by: [f32; 2]) -> SheetMark {
        match self {
            SheetMark::Text(text) => SheetMark::Text(TextMark {
                area: text.area.moved(by),
                baseline: text.baseline + by[1],
                ..text
            }),
            SheetMark::Path(mut path) => {
                for point in &mut path.points {
                    *point = [point[0] + by[0], point[1] + by[1]];
                }
                SheetMark::Path(path)
            }
        }
    }
}

/// Something laid out by itself, from its own upper left corner.
#[derive(Debug, Clone, Default)]
struct Block {
    height: f32,
    marks: Vec<SheetMark>,
    said: Vec<Saying>,
}

impl Block {
    /// Takes another one in at a place of this one, which reaches at least to its lower edge.
    fn put(&mut self, other: Block, at: [f32; 2]) {
        self.height = self.height.max(at[1] + other.height);
        self.marks.extend(other.marks.into_iter().map(|mark| mark.moved(at)));
        self.said.extend(other.said.into_iter().map(|s| Saying { area: s.area.moved(at), ..s }));
    }

    /// Takes another one in below.
    fn append(&mut self, other: Block, gap: f32) {
        self.put(other, [0.0, self.height + gap]);
    }

    /// Where the letters of its first text stand, below its upper edge.
    fn first_baseline(&self) -> f32 {
        let baseline = |mark: &SheetMark| match mark {
            SheetMark::Text(text) => Some(text.baseline),
            SheetMark::Path(_) => None,
        };
        self.marks.iter().find_map(baseline).unwrap_or(0.0)
    }

    fn line(&mut self, from: [f32; 2], to: [f32; 2], tone: InkTone, width: f32) {
        self.marks.push(SheetMark::Path(PathMark {
            points: vec![from, to],
            end: PathEnd::Open,
            fill: None,
            stroke: Some((tone, width)),
            dash: None,
        }));
    }

    fn rect(&mut self, area: Area, fill: Option<InkTone>, stroke: Option<(InkTone, f32)>) {
        let (left, top, right, bottom) = (area.left, area.top, area.right(), area.bottom());
        let points = vec![[left, top], [right, top], [right, bottom], [left, bottom]];
        self.marks.push(SheetMark::Path(PathMark { points, end: PathEnd::Closed, fill, stroke, dash: None }));
    }

    fn say(&mut self, area: Area, text: String, figure: Option<MeasureId>) {
        self.said.push(Saying { area, text, figure });
    }
}
