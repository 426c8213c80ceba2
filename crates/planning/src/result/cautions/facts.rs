//! What cautions are drawn from.

use crate::flight::Flight;
use crate::ground::SiteOutline;
use crate::result::Outcome;
use crate::result::cautions::lookout::Lookout;
use crate::route::{Leg, PassPlan};
use crate::scenario::{Aircraft, Conditions, Strategy};

/// What cautions are drawn from: an outcome that lacks nothing but them and its judgements.
pub(crate) struct Facts<'a> {
    pub(crate) outcome: &'a Outcome,
    pub(crate) strategy: &'a Strategy,
    pub(crate) flight: &'a Flight,
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) site: &'a SiteOutline,
    pub(crate) conditions: &'a Conditions,
    pub(crate) lookout: &'a Lookout,
}

impl Facts<'_> {
    pub(super) fn flight(&self) -> &Flight {
        self.flight
    }

    pub(super) fn plans(&self) -> impl Iterator<Item = &PassPlan> {
        self.outcome.plans()
    }

    /// What the passes do not know: the ways to them, between them and back.
    pub(super) fn ways(&self) -> impl Iterator<Item = &Leg> {
        self.flight().legs.iter().filter(|flown| flown.pass.is_none()).map(|flown| &flown.leg)
    }
}
