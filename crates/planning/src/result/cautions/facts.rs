//! What cautions are drawn from.

use crate::flight::{Flight, Home, Timing};
use crate::ground::SiteOutline;
use crate::light::{ExposureFigures, LightFigures, NoExposure, NoLight};
use crate::load::LoadFigures;
use crate::network::NetworkFigures;
use crate::result::cautions::place::Walk;
use crate::route::{Leg, PassPlan};
use crate::scenario::{Aircraft, Conditions, Strategy};
use std::cell::OnceCell;
use std::sync::Arc;

/// What cautions are drawn from: the stages of a strategy that can be flown.
pub(crate) struct Facts<'a> {
    pub(crate) strategy: &'a Strategy,
    pub(crate) plans: &'a [Arc<PassPlan>],
    pub(crate) timing: &'a Timing,
    pub(crate) light: &'a Result<LightFigures, NoLight>,
    pub(crate) exposure: &'a Result<ExposureFigures, NoExposure>,
    pub(crate) load: &'a LoadFigures,
    /// What the images would tell if they were adjusted together, once that is worked out.
    pub(crate) network: Option<&'a NetworkFigures>,
    /// Control points that are placed on the site and enter the adjustment; check points do not.
    pub(crate) control: usize,
    /// Rays that differ by more do not match, in degrees.
    pub(crate) max_link_deg: f64,
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) site: &'a SiteOutline,
    pub(crate) conditions: &'a Conditions,
    /// Where sorties may start.
    pub(crate) homes: &'a [Home],
    /// Laid out for the first caution that asks for it.
    pub(crate) walk: OnceCell<Walk>,
}

impl<'a> Facts<'a> {
    pub(super) fn flight(&self) -> &Flight {
        &self.timing.flight
    }

    /// The route as places some metres apart.
    pub(super) fn walk(&self) -> &Walk {
        self.walk.get_or_init(|| Walk::new(self.flight()))
    }

    pub(super) fn light(&self) -> Option<&'a LightFigures> {
        self.light.as_ref().ok()
    }

    /// The take-off point of a sortie.
    pub(super) fn home_of(&self, sortie: u32) -> &Home {
        &self.homes[self.flight().sorties[sortie as usize].home as usize]
    }

    /// Where the pilot stands, in sentences.
    pub(super) fn pilots_place(&self) -> &'static str {
        let elsewhere = self.flight().sorties.iter().any(|sortie| sortie.home > 0);
        if elsewhere { "the sortie's take-off point" } else { "the take-off point" }
    }

    /// What to do with take-off points from which the pilot sees too little: one that was added is not advised once more.
    pub(super) fn take_off_advice(&self) -> &'static str {
        if self.homes.len() > 1 { "move one of the take-off points" } else { "add a take-off point" }
    }

    pub(super) fn plans(&self) -> impl Iterator<Item = &PassPlan> {
        self.plans.iter().map(|plan| &**plan)
    }

    /// What the passes do not know: the ways to them, between them and back.
    pub(super) fn ways(&self) -> impl Iterator<Item = &Leg> {
        self.flight().legs.iter().filter(|flown| flown.pass.is_none()).map(|flown| &*flown.leg)
    }
}
