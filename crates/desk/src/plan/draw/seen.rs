//! What is drawn on, and how closely.

use super::outlines::Outlines;
use super::snap::{Closed, Rail, Reach};
use crate::target::Target;
use crate::units::Units;

/// Whether the pointer snaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Snapping {
    /// It does.
    #[default]
    On,
    /// It is where it is.
    Off,
}

/// What is drawn on, and how closely it is looked at.
#[derive(Debug, Clone, Copy)]
pub struct DrawView<'a> {
    /// What there is.
    pub outlines: &'a Outlines,
    /// What is nearer than this is meant.
    pub reach_m: f64,
    /// Right angles are taken for meant from this near: over a picture they pull less than what is drawn.
    pub angle_reach_m: f64,
    /// Whether the pointer snaps.
    pub snapping: Snapping,
    /// The units that are typed.
    pub units: Units,
}

impl DrawView<'_> {
    /// From how near something is meant.
    pub(super) fn reach(&self) -> Reach {
        Reach { drawn_m: self.reach_m, angle_m: self.angle_reach_m }
    }
}

/// Everything that is snapped to but one of them.
pub(super) fn rails(outlines: &Outlines, but: Option<Target>) -> Vec<Rail> {
    let others = outlines.targets().into_iter().filter(|target| Some(*target) != but);
    others
        .filter_map(|target| {
            let corners_m = outlines.corners_m(target)?;
            let closed = if target.is_closed() { Closed::Yes } else { Closed::No };
            Some(Rail { name: outlines.name(target), corners_m, closed })
        })
        .collect()
}
