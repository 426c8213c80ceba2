use crate::Units;
use obliquity_planning::{Flight, Outcome, Scenario, SiteOutline};

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

/// The take-off points that sorties start at, as indices; nothing where that is the site's own alone.
pub(super) fn several_take_offs(flight: &Flight) -> Option<Vec<u32>> {
    let mut used: Vec<u32> = flight.sorties.iter().map(|sortie| sortie.home).collect();
    used.sort_unstable();
    used.dedup();
    used.iter().any(|home| *home > 0).then_some(used)
}

/// What heights are above, in sentences.
pub(super) fn take_off_word(flight: Option<&Flight>) -> &'static str {
    let several = flight.and_then(several_take_offs);
    if several.is_some() { "take-off 1" } else { "the take-off point" }
}
