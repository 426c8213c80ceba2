use crate::base::Id;
use crate::flight::{Bands, Flight, TimeTerms};
use std::sync::Arc;

/// What a strategy takes on the clock and from the batteries.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// The passes, as they are listed.
    pub passes: Vec<Id>,
    /// The clock.
    pub flight: Arc<Flight>,
    /// What the time on site is made of.
    pub time: TimeTerms,
    /// How sure time and energy are; where the evaluation went deep enough to draw them.
    pub bands: Option<Arc<Bands>>,
}

impl Timing {
    /// Whether sorties may start from more than one place.
    pub fn has_several_take_offs(&self) -> bool {
        self.flight.take_offs_m.len() > 1
    }

    /// Drawn from batteries in full sets, in eight of ten draws, where that is known.
    pub fn energy_sets_band(&self) -> Option<crate::flight::Band> {
        Some(self.bands.as_ref()?.energy_sets(self.flight.capacity_j))
    }

    /// Drawn from batteries in watt-hours, in eight of ten draws; nothing where it is not known what a set holds.
    pub fn energy_wh_band(&self) -> Option<crate::flight::Band> {
        self.flight.energy_wh().and(self.bands.as_ref()).map(|bands| bands.energy_wh())
    }
}
