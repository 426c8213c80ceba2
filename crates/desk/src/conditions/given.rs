//! What the inputs are drawn from, and what takes their changes.

use crate::amendment::Subject;
use crate::units::Units;
use obliquity_planning::{Conditions, Site};

/// Takes changed conditions under the name of the edit.
pub(super) type Put<'a> = dyn FnMut(Subject, Conditions) + 'a;

/// What inputs are drawn from.
#[derive(Clone, Copy)]
pub(super) struct ConditionsForm<'a> {
    pub(super) conditions: &'a Conditions,
    pub(super) site: &'a Site,
    pub(super) units: Units,
}
