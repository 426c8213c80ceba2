//! What the board shows: plain values and finished texts.

use super::before::Before;
use crate::cautions::CautionRow;
use crate::document::Holding;
use crate::figures::{Figures, Freshness, Known};
use crate::rose::Rose;
use crate::settings::Setting;
use crate::strategies::{Lead, Offer};
use crate::units::Units;
use obliquity_planning::{Aircraft, Hold, Id, MeasureId, Scenario, Strategy, SurfaceClass};
use std::ops::RangeInclusive;

/// Everything on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// On top.
    pub sentence: Sentence,
    /// One for each strategy, in the scenario's order.
    pub columns: Vec<Column>,
    /// Across the columns.
    pub bands: Vec<BoardBand>,
    /// At the foot, the gravest first.
    pub cautions: Vec<CautionRow>,
    /// Whether the cautions are all of those of the scenario as it stands.
    pub cautions_freshness: Freshness,
    /// The strategy that the others show their difference from.
    pub reference: Option<Id>,
    /// What is held equal.
    pub hold: Option<Hold>,
    /// Who leads what is held, and who cannot follow.
    pub hold_note: String,
    /// What is fair to hold equal where nothing is held and the aircraft differ.
    pub proposed: Option<Hold>,
    /// The aircraft to choose from.
    pub fleet: Vec<(Id, String)>,
    /// Those of the user's library, by their names.
    pub library: Vec<String>,
    /// The templates that are laid on the site, each with why it does not fit where it does not.
    pub offers: Vec<Offer>,
    /// The surfaces whose view angles are shown: those that the site has.
    pub rose_classes: Vec<SurfaceClass>,
    /// What the fullest colour of all roses stands for: views from 10° × 10° of directions.
    pub rose_full: f64,
}

/// One sentence for the whole board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    /// The sentence.
    pub text: String,
    /// Its beginning: which strategy wins and what it takes, or that there is none.
    pub lead: String,
    /// The rest: what the others miss.
    pub rest: String,
    /// Whether it belongs to the scenario as it stands.
    pub freshness: Freshness,
}

/// Head and settings of one strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The strategy.
    pub strategy: Id,
    /// Its name; with a number where two have the same.
    pub name: String,
    /// Which colour it has.
    pub slot: usize,
    /// Its name in the scenario.
    pub given_name: String,
    /// Its aircraft.
    pub aircraft_id: Id,
    /// Its aircraft's name.
    pub aircraft: String,
    /// The reference strategy's aircraft, where that is another one.
    pub aircraft_differs: Option<String>,
    /// Whether height or GSD leads.
    pub lead: Lead,
    /// Which way its strips run.
    pub direction: Direction,
    /// How it ranks among those that meet the requirement.
    pub rank: Rank,
    /// Whether it meets the requirement.
    pub verdict: Verdict,
    /// The same in words.
    pub verdict_text: String,
    /// What it misses most, or why it cannot be flown or worked out.
    pub worst: Option<String>,
    /// All that it misses.
    pub shortfalls: Vec<String>,
    /// Its settings in one line: "2.0 cm · 80/70 % · 30°".
    pub brief: String,
    /// Its sliders.
    pub sliders: Vec<Slider>,
    /// What follows from the settings at once: GSD, speed and what bounds it.
    pub follows: String,
    /// The same in one short line, without what the settings say: "73.2 m · 5.92 m/s".
    pub follows_brief: String,
    /// Whether that belongs to the settings as they stand.
    pub follows_freshness: Freshness,
    /// Whether verdict and coverage belong to the scenario as it stands.
    pub freshness: Freshness,
    /// From which directions its surfaces are seen, as far as that is known.
    pub roses: Vec<Rose>,
    /// What is different against the reference strategy and what causes it; nothing of the reference itself, where there is
    /// none, and before both are known.
    pub against: Option<Against>,
}

/// A strategy against the reference strategy, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Against {
    /// The reference strategy.
    pub reference: String,
    /// In sentences.
    pub sentences: Vec<String>,
    /// Whether it belongs to the scenario as it stands.
    pub freshness: Freshness,
}

impl Against {
    /// All of it on one line.
    pub fn text(&self) -> String {
        self.sentences.join(" ")
    }
}

impl Column {
    /// Whether it steps back behind those that pass.
    pub fn is_muted(&self) -> bool {
        matches!(self.verdict, Verdict::Misses | Verdict::Infeasible | Verdict::Failed)
    }
}

/// Which way strips run.
#[derive(Debug, Clone, PartialEq)]
pub struct Direction {
    /// Clockwise from north, of the first pass, where the user has set it.
    pub set_deg: Option<f64>,
    /// The same of the present route.
    pub present_deg: Option<f64>,
    /// What the reference strategy has, where that is something else.
    pub differs: Option<String>,
}

/// How a strategy ranks among those that meet the requirement, as far as it is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rank {
    /// The least time on site of them.
    Quickest,
    /// The only one that misses nothing.
    OnlyOne,
    /// Not the least, or not known, or alone.
    Other,
}

/// Whether a strategy meets the requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// All of it.
    Meets,
    /// Not all of it.
    Misses,
    /// Nothing is missed, but something is asked of surfaces that the site does not model.
    NotJudged,
    /// It cannot be flown as set.
    Infeasible,
    /// Not known yet.
    Unknown,
    /// It could not be worked out.
    Failed,
}

/// One slider.
#[derive(Debug, Clone, PartialEq)]
pub struct Slider {
    /// What it sets.
    pub setting: Setting,
    /// What the passes that it sets are called.
    pub passes: String,
    /// Name beside it.
    pub name: String,
    /// Whole name.
    pub spoken: String,
    /// The units on the screen.
    pub units: Units,
    /// Where it stands, in the unit on the screen.
    pub shown: f64,
    /// Where it stood before it was touched, while it is being dragged.
    pub before: Option<f64>,
    /// Where it goes.
    pub range: RangeInclusive<f64>,
    /// What to know when pointing at it.
    pub hint: String,
    /// What the reference strategy has, where that is something else.
    pub differs: Option<String>,
}

/// One band across the columns.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardBand {
    /// In the margin.
    pub title: &'static str,
    /// What it tells and how that is worked out.
    pub hint: &'static str,
    /// From top to bottom; those that are shown only when the band is opened come last.
    pub rows: Vec<Row>,
    /// Whether the view angles stand under its rows.
    pub view_angles: ViewAngles,
}

/// Whether view angles stand in a band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ViewAngles {
    /// Under its rows.
    Shown,
    /// Not in this one.
    None,
}

impl BoardBand {
    /// The rows that are shown, opened or not.
    pub fn shown(&self, opened: Fold) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(move |row| row.place == Place::Always || opened == Fold::Open)
    }

    /// The rows that only an opened band shows.
    pub fn further(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|row| row.place == Place::Opened)
    }
}

/// When a row is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Whether its band is opened or not.
    Always,
    /// Once its band is opened.
    Opened,
}

/// Whether something is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fold {
    /// It is.
    Open,
    /// It is not.
    Closed,
}

/// One row of a band: the same figure of every strategy on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which figure.
    pub measure: MeasureId,
    /// When it is shown.
    pub place: Place,
    /// In the margin, with the requirement.
    pub label: String,
    /// What the figure is.
    pub hint: String,
    /// One for each column.
    pub cells: Vec<Cell>,
}

/// One figure of one strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What is drawn; shares of the row's scale.
    pub bar: Bar,
    /// Where the requirement stands on the row's scale.
    pub limit: Option<Limit>,
    /// How far the figure may come out otherwise, on the row's scale.
    pub whisker: Option<Whisker>,
    /// The figure.
    pub text: String,
    /// Where it stood before the setting that is being dragged was touched, on the row's scale; nothing where it stands there
    /// still.
    pub before: Option<f64>,
    /// What is told beside it when it is pointed at: how sure it is, its spread, what was skipped.
    pub note: Option<String>,
    /// Why it says little, where it does: "on the 4 % seen".
    pub doubt: Option<String>,
    /// How far it is from the reference strategy's; nothing where it is the same.
    pub difference: Option<Difference>,
    /// Whether it reaches the requirement.
    pub standing: Standing,
    /// Whether it belongs to the scenario as it stands.
    pub freshness: Freshness,
    /// Whether it is only looked at first.
    pub look: CellLook,
    /// What a click asks for.
    pub opens: CellOpens,
    /// The whole of it in words.
    pub spoken: String,
}

/// How much a figure has been worked out from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellLook {
    /// All that there is.
    Whole,
    /// Fewer tie points: a preview.
    First,
}

/// What a click on a figure asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellOpens {
    /// How it comes about.
    Working,
    /// The adjustment of a block of so many images that nobody has asked for it.
    Block,
    /// Where the price of the job is entered.
    Price,
}

/// How far a figure is from the reference strategy's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The number with its sign, in the row's unit: "+24".
    pub number: String,
    /// The same with its unit and what that means: "+24 min, worse".
    pub text: String,
    /// Which way it points.
    pub sense: Sense,
    /// What that means.
    pub worth: Worth,
}

/// Which way a difference points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// It is more than the reference strategy's.
    More,
    /// It is less.
    Less,
}

/// What a difference means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worth {
    /// It is better than the reference strategy's.
    Better,
    /// It is worse.
    Worse,
}

/// What is drawn in a cell: shares of the row's scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bar {
    /// Nothing.
    None,
    /// From zero.
    Length(f64),
    /// From the 5th to the 95th percentile, with the median.
    Spread {
        /// 5th percentile.
        low: f64,
        /// Median.
        middle: f64,
        /// 95th percentile.
        high: f64,
    },
}

impl Bar {
    /// Whether its end, which is judged, is somewhere else than a place on the row's scale.
    pub(super) fn is_elsewhere(self, at: f64) -> bool {
        /// Less cannot be seen on a bar.
        const SEEN: f64 = 0.002;
        match self {
            Bar::None => true,
            Bar::Length(end) | Bar::Spread { high: end, .. } => (end - at).abs() > SEEN,
        }
    }
}

/// The middle eight of ten draws: an estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Whisker {
    /// Share of the row's scale at which one draw in ten is below.
    pub low: f64,
    /// Share of the row's scale at which one draw in ten is above.
    pub high: f64,
    /// Whether it belongs to the scenario as it stands.
    pub freshness: Freshness,
}

/// Where a requirement stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Share of the row's scale.
    pub at: f64,
    /// On which side of it a figure fails.
    pub fails: Fails,
}

/// A side of a requirement line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fails {
    /// Below it.
    Left,
    /// Above it.
    Right,
}

/// How a figure stands to its requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Nothing is required, or nothing is known.
    Open,
    /// Reached.
    Met,
    /// Not reached.
    Missed,
}

/// A strategy with its column's name and what is known of it.
pub(super) struct BoardSubject<'a> {
    pub(super) strategy: &'a Strategy,
    pub(super) name: String,
    pub(super) known: Option<Known<'a>>,
    pub(super) slot: usize,
    /// How many images its block has, where that is not adjusted in full unless someone asks for it.
    pub(super) unasked: Option<u32>,
}

/// What a board is made from.
#[derive(Debug, Clone, Copy)]
pub struct GivenBoard<'a> {
    /// The scenario as it stands.
    pub scenario: &'a Scenario,
    /// What is known of it so far.
    pub figures: &'a Figures,
    /// What is held equal.
    pub holding: Option<&'a Holding>,
    /// The templates that are laid on the site.
    pub offers: &'a [Offer],
    /// The user's library of aircraft.
    pub library: &'a [Aircraft],
    /// The units that its reader prefers.
    pub units: Units,
    /// What was known before the setting that is being dragged was touched; nothing while none is.
    pub before: Option<&'a Before>,
    /// The strategies whose block is not adjusted in full unless someone asks for it.
    pub unasked: &'a [Id],
}
