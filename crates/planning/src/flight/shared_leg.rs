//! A leg of a flight, which most share with the plan of their pass.

use crate::route::{Leg, PassPlan};
use std::fmt::{Debug, Formatter, Result};
use std::ops::Deref;
use std::sync::Arc;

/// A leg as it is flown: one of a pass, held where it was planned, or one of its own.
#[derive(Clone)]
pub struct SharedLeg(Holder);

#[derive(Clone)]
enum Holder {
    /// By its index.
    Planned(Arc<PassPlan>, u32),
    Own(Box<Leg>),
}

impl SharedLeg {
    /// The leg of a plan with an index.
    pub(super) fn of_plan(plan: &Arc<PassPlan>, index: usize) -> Self {
        SharedLeg(Holder::Planned(Arc::clone(plan), index as u32))
    }

    /// The leg, where no plan holds it.
    pub(super) fn own(&self) -> Option<&Leg> {
        match &self.0 {
            Holder::Planned(..) => None,
            Holder::Own(leg) => Some(leg),
        }
    }
}

impl From<Leg> for SharedLeg {
    fn from(leg: Leg) -> Self {
        SharedLeg(Holder::Own(Box::new(leg)))
    }
}

impl Deref for SharedLeg {
    type Target = Leg;

    fn deref(&self) -> &Leg {
        match &self.0 {
            Holder::Planned(plan, index) => &plan.legs[*index as usize],
            Holder::Own(leg) => leg,
        }
    }
}

impl PartialEq for SharedLeg {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

impl Debug for SharedLeg {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        Debug::fmt(&**self, f)
    }
}
