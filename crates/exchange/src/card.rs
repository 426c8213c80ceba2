//! The set-up card: the values to key into any flight controller, and what to check before, as data and as plain text.

mod cameras;
mod given;
mod make;
mod model;
mod once;
mod pass;
pub mod sheet;
mod sketch;
mod text;
mod words;

use crate::Units;
pub use model::{Card, CardColumn, CardFigure, CardFit, CardKey, CardPass, CardReport, CardSortie};
use obliquity_planning::{Outcome, Scenario};
pub use sheet::{CardSheet, PaperSize};
pub use sketch::CardSketch;

/// Headings of the card's parts, the same on paper, on the screen and in the text.
pub(crate) const ONCE: &str = "Set once";
pub(crate) const DAY: &str = "The day";
pub(crate) const LEAVING: &str = "Before you leave";
pub(crate) const STAY: &str = "Time on site";
pub(crate) const REPORTED: &str = "What the controller reports";
pub(crate) const CAUTIONS: &str = "Cautions";

/// What the text of a card begins with.
pub(crate) const HEADING: &str = "Set-up card: ";

/// The set-up card of one strategy as plain text, in metric units first.
///
/// `outcome` must be of a strategy of `scenario`; any depth will do.
pub fn set_up_card(scenario: &Scenario, outcome: &Outcome) -> String {
    Card::new(scenario, outcome, Units::Metric).to_text()
}

impl Card {
    /// The card as plain text, its lines at most 140 characters long.
    pub fn to_text(&self) -> String {
        text::text(self)
    }
}
