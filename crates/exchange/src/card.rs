//! The set-up card: the values to key into any flight controller, and what to check before, as data and as plain text.

mod model;
mod pass;
mod text;
mod words;

pub use model::{Card, CardFigure, CardFit, CardPass, CardReport};
use obliquity_planning::{Outcome, Scenario};

/// The set-up card of one strategy as plain text.
///
/// `outcome` must be of a strategy of `scenario`; any depth will do.
pub fn set_up_card(scenario: &Scenario, outcome: &Outcome) -> String {
    Card::new(scenario, outcome).to_text()
}

impl Card {
    /// The card as plain text, its lines at most 140 characters long.
    pub fn to_text(&self) -> String {
        text::text(self)
    }
}
