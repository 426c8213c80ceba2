use crate::Units;
use obliquity_planning::{Outcome, Scenario, SiteOutline};

/// What a card is written from.
#[derive(Clone, Copy)]
pub(super) struct CardOf<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) outcome: &'a Outcome,
    pub(super) units: Units,
    /// Indices of the passes, as they stand on the card.
    pub(super) order: &'a [usize],
    /// What stands on the site; nothing where it cannot be told.
    pub(super) outline: Option<&'a SiteOutline>,
}
