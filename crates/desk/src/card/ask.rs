//! What the screen of the card shows, and what is asked for on it.

use obliquity_exchange::{Card, CardSheet, PaperSize};
use obliquity_planning::{Id, MeasureId, Reported};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct CardView<'a> {
    /// The card of the strategy in focus; nothing where it could not be worked out.
    pub card: Option<&'a Card>,
    /// Whether there can be one.
    pub making: CardMaking,
    /// Its pages, once they are laid out.
    pub sheet: Option<&'a CardSheet>,
    /// What it is printed on.
    pub paper: PaperSize,
    /// What is written down of the controller's report.
    pub reported: Reported,
    /// Its colour.
    pub slot: usize,
}

/// Whether a strategy has a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CardMaking {
    /// It has one, or will in a moment.
    Possible,
    /// It cannot be worked out.
    Impossible,
}

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CardAsk {
    /// Write down what the controller reports.
    Report(Id, Reported),
    /// Show how a figure comes about.
    Figure(MeasureId),
    /// Print on another paper.
    Paper(PaperSize),
    /// Save the pages as a PDF.
    SavePdf,
    /// Open the pages in the system's viewer.
    Print,
    /// Put the text on the clipboard.
    Copy,
    /// Save the text to a file.
    SaveText,
    /// Save the picture to a file.
    SavePicture,
    /// Write route and stations into a folder.
    Export,
}
