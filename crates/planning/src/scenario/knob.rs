use crate::base::limits::{self, Range};
use crate::base::{Id, Unit};
use crate::scenario::{Aim, Attitude, Distance, Pass, Scenario};
use thiserror::Error;

/// Names an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum KnobId {
    /// Height of a pass, where the height leads.
    Height,
    /// GSD of a pass, where the GSD leads.
    Gsd,
    /// Stand-off of a pass, where the stand-off leads.
    StandOff,
    /// Forward overlap of a pass.
    ForwardOverlap,
    /// Sidelap of a pass.
    Sidelap,
    /// Tilt of a pass's tilted attitudes.
    Tilt,
    /// The user's speed limit on a pass.
    Speed,
    /// Margin of a pass.
    Margin,
}

/// One input: everything that sliders, sweeps, solvers and undo labels need to know of it.
#[derive(Debug, Clone, Copy)]
pub struct Knob {
    /// Which one.
    pub id: KnobId,
    /// Name on screens.
    pub name: &'static str,
    /// What it does, in a sentence or two.
    pub explanation: &'static str,
    /// What its value is in.
    pub unit: Unit,
    /// Values allowed.
    pub range: Range,
    /// Reads it from the pass with this identifier; nothing where it does not apply or is not set.
    pub get: fn(&Scenario, Id) -> Option<f64>,
    /// Sets it on the pass with this identifier.
    pub set: fn(&mut Scenario, Id, f64) -> Result<(), EditError>,
}

/// An edit that cannot be done.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EditError {
    /// The value is out of range.
    #[error("{what} must be at least {least} and at most {most}, but it is {got}; {mend}")]
    OutOfRange {
        /// What the value is.
        what: &'static str,
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        most: f64,
        /// What came.
        got: f64,
        /// What to do.
        mend: &'static str,
    },
    /// No such pass.
    #[error("pass {0} is not in the scenario; choose one that is")]
    NoSuchPass(Id),
    /// The input has no meaning on this pass.
    #[error("{0} does not apply to this pass; edit what leads it instead")]
    DoesNotApply(&'static str),
}

/// The input with this identifier.
///
/// # Panics
/// Never: every identifier has its row (a test reads them all).
pub fn knob(id: KnobId) -> &'static Knob {
    KNOBS.iter().find(|row| row.id == id).unwrap_or_else(|| unreachable!("{id:?} has no row"))
}

/// Every input of a pass.
pub const KNOBS: &[Knob] = &[
    Knob {
        id: KnobId::Height,
        name: "Height",
        explanation: "Above what the pass says: the mean ground inside the boundary, unless set otherwise. Higher is quicker and coarser.",
        unit: Unit::Metres,
        range: limits::HEIGHT_M,
        get: |scenario, pass| match pass_of(scenario, pass)?.distance {
            Distance::Height { m, .. } => Some(m),
            Distance::Gsd { .. } | Distance::StandOff { .. } => None,
        },
        set: |scenario, pass, value| {
            let value = checked(&limits::HEIGHT_M, value)?;
            match &mut pass_mut(scenario, pass)?.distance {
                Distance::Height { m, .. } => *m = value,
                Distance::Gsd { .. } | Distance::StandOff { .. } => {
                    return Err(EditError::DoesNotApply("height"));
                }
            }
            Ok(())
        },
    },
    Knob {
        id: KnobId::Gsd,
        name: "GSD",
        explanation: "Ground sample distance of a nadir camera; the height follows from it, up to the height ceiling.",
        unit: Unit::GsdCentimetres,
        range: limits::GSD_CM,
        get: |scenario, pass| match pass_of(scenario, pass)?.distance {
            Distance::Gsd { cm, .. } => Some(cm),
            Distance::Height { .. } | Distance::StandOff { .. } => None,
        },
        set: |scenario, pass, value| {
            let value = checked(&limits::GSD_CM, value)?;
            match &mut pass_mut(scenario, pass)?.distance {
                Distance::Gsd { cm, .. } => *cm = value,
                Distance::Height { .. } | Distance::StandOff { .. } => {
                    return Err(EditError::DoesNotApply("GSD"));
                }
            }
            Ok(())
        },
    },
    Knob {
        id: KnobId::StandOff,
        name: "Stand-off",
        explanation: "Distance from the wall, from the structure's circle or from the soffit, where it leads.",
        unit: Unit::Metres,
        range: limits::STAND_OFF_M,
        get: |scenario, pass| match pass_of(scenario, pass)?.distance {
            Distance::StandOff { m } => Some(m),
            Distance::Height { .. } | Distance::Gsd { .. } => None,
        },
        set: |scenario, pass, value| {
            let value = checked(&limits::STAND_OFF_M, value)?;
            match &mut pass_mut(scenario, pass)?.distance {
                Distance::StandOff { m } => *m = value,
                Distance::Height { .. } | Distance::Gsd { .. } => {
                    return Err(EditError::DoesNotApply("stand-off"));
                }
            }
            Ok(())
        },
    },
    Knob {
        id: KnobId::ForwardOverlap,
        name: "Forward overlap",
        explanation: "Share of a nadir image that the next one along the strip shows again.",
        unit: Unit::Share,
        range: limits::FORWARD_OVERLAP,
        get: |scenario, pass| Some(pass_of(scenario, pass)?.forward_overlap),
        set: |scenario, pass, value| {
            pass_mut(scenario, pass)?.forward_overlap = checked(&limits::FORWARD_OVERLAP, value)?;
            Ok(())
        },
    },
    Knob {
        id: KnobId::Sidelap,
        name: "Sidelap",
        explanation: "Share of a nadir image that the neighbouring strip shows again.",
        unit: Unit::Share,
        range: limits::SIDELAP,
        get: |scenario, pass| Some(pass_of(scenario, pass)?.sidelap),
        set: |scenario, pass, value| {
            pass_mut(scenario, pass)?.sidelap = checked(&limits::SIDELAP, value)?;
            Ok(())
        },
    },
    Knob {
        id: KnobId::Tilt,
        name: "Tilt",
        explanation: "Angle of the camera from straight down; 45° sees walls well, 20° to 35° helps the geometry.",
        unit: Unit::Degrees,
        range: limits::TILT_DEG,
        get: |scenario, pass| tilted(pass_of(scenario, pass)?).next().map(|attitude| attitude.tilt_deg),
        set: |scenario, pass, value| {
            let value = checked(&limits::TILT_DEG, value)?;
            let pass = pass_mut(scenario, pass)?;
            let mut any = false;
            let own = !pass.pattern.about().looks.is_own_tilt();
            for attitude in pass.attitudes.iter_mut().filter(|attitude| own && is_tilted(attitude)) {
                attitude.tilt_deg = value;
                any = true;
            }
            if any { Ok(()) } else { Err(EditError::DoesNotApply("tilt")) }
        },
    },
    Knob {
        id: KnobId::Speed,
        name: "Speed limit",
        explanation: "Your own limit; aircraft, shot interval and motion blur have theirs.",
        unit: Unit::MetresPerSecond,
        range: limits::SPEED_MPS,
        get: |scenario, pass| pass_of(scenario, pass)?.speed_mps,
        set: |scenario, pass, value| {
            pass_mut(scenario, pass)?.speed_mps = Some(checked(&limits::SPEED_MPS, value)?);
            Ok(())
        },
    },
    Knob {
        id: KnobId::Margin,
        name: "Margin",
        explanation: "How far the pass reaches beyond the boundary; automatic is the larger of one air base and a quarter \
                      of the swath.",
        unit: Unit::Metres,
        range: limits::MARGIN_M,
        get: |scenario, pass| pass_of(scenario, pass)?.margin_m,
        set: |scenario, pass, value| {
            pass_mut(scenario, pass)?.margin_m = Some(checked(&limits::MARGIN_M, value)?);
            Ok(())
        },
    },
];

/// The attitudes that a tilt slider moves. One that points somewhere keeps being tilted when its tilt passes through 0;
/// one that never had an aim but the track stays straight down.
fn tilted(pass: &Pass) -> impl Iterator<Item = &Attitude> {
    // An orbit's tilt follows from its rings and its target.
    let own = !pass.pattern.about().looks.is_own_tilt();
    pass.attitudes.iter().filter(move |attitude| own && is_tilted(attitude))
}

fn is_tilted(attitude: &Attitude) -> bool {
    let straight_ahead = attitude.aim == Aim::FromTrack { deg: 0.0 };
    attitude.tilt_deg != 0.0 || !straight_ahead
}

fn pass_of(scenario: &Scenario, id: Id) -> Option<&Pass> {
    scenario.strategies.iter().flat_map(|s| &s.passes).find(|pass| pass.id == id)
}

fn pass_mut(scenario: &mut Scenario, id: Id) -> Result<&mut Pass, EditError> {
    scenario.pass_mut(id).ok_or(EditError::NoSuchPass(id))
}

fn checked(range: &Range, value: f64) -> Result<f64, EditError> {
    let Range { what, least, most, mend } = *range;
    if range.holds(value) {
        Ok(value)
    } else {
        Err(EditError::OutOfRange { what, least, most, got: value, mend })
    }
}

#[cfg(test)]
mod tests {
    use crate::scenario::knob::*;

    #[test]
    fn every_identifier_has_one_row() {
        for (k, row) in KNOBS.iter().enumerate() {
            assert_eq!(KNOBS.iter().position(|other| other.id == row.id), Some(k));
            assert_eq!(knob(row.id).name, row.name);
        }
    }
}
