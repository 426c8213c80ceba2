use super::sketch::CardSketch;
use super::words::Said;
use obliquity_planning::{Caution, Id, MeasureId};

/// The set-up card as data: finished texts, to be laid out as anyone likes.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// The strategy.
    pub id: Id,
    /// The number that stands beside the strategy's colour wherever it is shown; nothing where it has none.
    pub number: Option<usize>,
    /// Its name.
    pub strategy: String,
    /// The scenario's name.
    pub scenario: String,
    /// The site's name.
    pub site: String,
    /// The aircraft's name.
    pub aircraft: String,
    /// Why the strategy cannot be flown as set; empty when it can.
    pub reasons: Vec<String>,
    /// In the order in which they are flown, numbered so; those that cannot be flown last.
    pub passes: Vec<CardPass>,
    /// What is keyed in once: return height, take-off and first point, exposure. Like all that follows, empty where the
    /// strategy cannot be flown.
    pub set_once: Vec<CardFigure>,
    /// Every take-off point, where sorties start at others than the site's own.
    pub take_offs: Vec<CardFigure>,
    /// Arrival, light and wind.
    pub day: Vec<CardFigure>,
    /// Batteries and card space against what is on hand.
    pub on_hand: Vec<CardFigure>,
    /// The flying between two battery changes.
    pub sorties: Vec<CardSortie>,
    /// Farthest distance, tallest structure and clearance.
    pub surroundings: Vec<CardFigure>,
    /// What the time on site is made of, and the sum last.
    pub time: Vec<CardFigure>,
    /// What the controller reports against what is predicted here.
    pub reports: Vec<CardReport>,
    /// What to mind, the gravest first.
    pub cautions: Vec<Caution>,
    /// Site and route from above.
    pub sketch: CardSketch,
    /// Who decides.
    pub closing: String,
}

/// The values of one pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardPass {
    /// As it is flown, from 1.
    pub number: usize,
    /// Its pattern.
    pub pattern: &'static str,
    /// Where it stands in the list of passes, if that is elsewhere.
    pub listed: Option<CardFigure>,
    /// Which one, of how many, and its pattern.
    pub title: String,
    /// Why it is left out, where it cannot be flown: it then has no figures.
    pub refused: Option<String>,
    /// Heights or stand-off, what it goes round or along, clearances, speed and overlaps.
    pub to_key_in: Vec<CardFigure>,
    /// Tilt, gimbal pitch and heading of every attitude.
    pub cameras: Vec<CardFigure>,
    /// What follows from them: base, spacing, directions, margin, counts.
    pub follows: Vec<CardFigure>,
}

/// One figure of the card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardFigure {
    /// What it is.
    pub label: String,
    /// The figure with its unit.
    pub value: String,
    /// The same in the other way of saying it: feet beside metres, gimbal pitch beside tilt.
    pub also: Option<String>,
    /// What to know about it.
    pub note: Option<String>,
    /// How it stands to what is on hand or allowed.
    pub fit: CardFit,
    /// Where it stands in the table of passes; nothing for what stands below its row.
    pub key: Option<CardKey>,
    /// In whose working it is told how it comes about; nothing where that is said nowhere.
    pub figure: Option<MeasureId>,
}

/// How a figure is written in the table of passes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardKey {
    /// Its column.
    pub column: CardColumn,
    /// What is written large, as it is keyed in; nothing where another figure of the column is.
    pub large: Option<String>,
    /// What is written small below.
    pub small: String,
}

/// What is keyed in for a pass: the columns of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CardColumn {
    /// How high.
    Height,
    /// The gimbal's pitch.
    Gimbal,
    /// How fast.
    Speed,
    /// How often the camera fires.
    Interval,
    /// Forward overlap and sidelap.
    Overlaps,
    /// Which way the lines run.
    Course,
    /// Where the nose points.
    Heading,
}

impl CardColumn {
    /// All of them, from left to right.
    pub const ALL: [CardColumn; 7] = [
        CardColumn::Height,
        CardColumn::Gimbal,
        CardColumn::Speed,
        CardColumn::Interval,
        CardColumn::Overlaps,
        CardColumn::Course,
        CardColumn::Heading,
    ];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            CardColumn::Height => "Height",
            CardColumn::Gimbal => "Gimbal pitch",
            CardColumn::Speed => "Speed",
            CardColumn::Interval => "Shot interval",
            CardColumn::Overlaps => "Overlaps; flown",
            CardColumn::Course => "Course angle",
            CardColumn::Heading => "Heading mode",
        }
    }
}

/// The flying between two battery changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardSortie {
    /// From 1.
    pub number: usize,
    /// Number of the battery set, from 1.
    pub battery: u32,
    /// Numbers of the passes that are flown on it, as the card numbers them.
    pub passes: Vec<usize>,
    /// From take-off to landing.
    pub time: String,
    /// Images taken on it.
    pub images: u32,
    /// What is left in the battery at landing.
    pub left: String,
    /// Waiting for a charger before it; nothing where there is none.
    pub wait: Option<String>,
    /// Number of the take-off point that it starts at, where there are several.
    pub take_off: Option<u32>,
    /// Moving there before it; nothing where it starts where the one before landed.
    pub moving: Option<String>,
}

impl CardSortie {
    /// All of it on one line.
    pub fn figure(&self) -> CardFigure {
        let passes: Vec<String> = self.passes.iter().map(usize::to_string).collect();
        let from = self.take_off.map_or_else(String::new, |take_off| format!("from take-off {take_off}, "));
        let before = self.before();
        let before = if before.is_empty() { before } else { format!(", after {before}") };
        let note = format!(
            "{from}battery {}, lands with {} of it, {} images, pass {}{before}",
            self.battery,
            self.left,
            self.images,
            passes.join(", ")
        );
        CardFigure::new(format!("sortie {}", self.number), self.time.clone())
            .note(note)
            .of(MeasureId::Sorties)
    }
}

impl CardSortie {
    /// What the crew does before it besides changing batteries: "moving 10 min and waiting 5 min for the charger".
    pub(super) fn before(&self) -> String {
        let moving = self.moving.as_ref().map(|moving| format!("moving {moving}"));
        let waiting = self.wait.as_ref().map(|wait| format!("waiting {wait} for the charger"));
        moving.into_iter().chain(waiting).collect::<Vec<_>>().join(" and ")
    }
}

/// How a figure stands to what is on hand or allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CardFit {
    /// Nothing is held against it.
    #[default]
    Open,
    /// There is enough.
    Enough,
    /// There is not.
    Short,
}

/// A figure that the flight controller gives too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardReport {
    /// What it is.
    pub label: &'static str,
    /// As predicted here.
    pub predicted: String,
    /// As the controller reports it; nothing until it is written down.
    pub reported: Option<String>,
    /// The difference, of the prediction.
    pub difference: Option<String>,
}

impl CardFigure {
    pub(super) fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        let (label, value) = (label.into(), value.into());
        CardFigure { label, value, also: None, note: None, fit: CardFit::Open, key: None, figure: None }
    }

    /// The same in the table of passes: its value large, the rest of it small.
    pub(super) fn column(self, column: CardColumn) -> Self {
        let small: Vec<&str> = self.also.iter().chain(&self.note).map(String::as_str).collect();
        let (large, small) = (self.value.clone(), small.join("; "));
        self.keyed(column, Some(large), small)
    }

    /// The same in the table of passes, in words of its own.
    pub(super) fn keyed(self, column: CardColumn, large: Option<String>, small: impl Into<String>) -> Self {
        CardFigure { key: Some(CardKey { column, large, small: small.into() }), ..self }
    }

    /// A figure in both systems of units.
    pub(super) fn said(label: &str, said: Said) -> Self {
        CardFigure::new(label, said.value).also(said.also)
    }

    pub(super) fn also(self, also: impl Into<String>) -> Self {
        CardFigure { also: Some(also.into()), ..self }
    }

    pub(super) fn note(self, note: impl Into<String>) -> Self {
        CardFigure { note: Some(note.into()), ..self }
    }

    pub(super) fn fits(self, fit: CardFit) -> Self {
        CardFigure { fit, ..self }
    }

    /// The same, told in the working of a figure.
    pub(super) fn of(self, figure: MeasureId) -> Self {
        CardFigure { figure: Some(figure), ..self }
    }

    /// Value, other value and note on one line.
    pub fn sentence(&self) -> String {
        let also = self.also.as_ref().map_or_else(String::new, |also| format!(" ({also})"));
        let note = self.note.as_ref().map_or_else(String::new, |note| format!(", {note}"));
        format!("{}{also}{note}", self.value)
    }
}
