//! Every input as data: what sliders, forms, checks, sweeps and undo labels need to know of it.

mod aircraft;
mod conditions;
mod pass;
mod requirement;
mod site;
mod strategy;

pub use aircraft::{AIRFRAME, CAMERA, ENERGY, EXPOSURE, GIMBAL, POSITIONING};
pub use conditions::{AIR, CHARGING, CREW, LIGHT, PLAN_LIMITS, SETS, SPREAD};
pub use pass::{ATTITUDE, DISTANCE, OVERLAP};
pub use requirement::{DELIVERS, STAGES, VIEWS};
pub use site::{GROUND, PLACE, STANDING, TYPICAL};
pub use strategy::REPORT;

use crate::base::limits::Range;
use crate::base::{Id, Unit};
use crate::scenario::{
    Aircraft, Attitude, Conditions, Pass, Rates, Requirement, Scenario, Site, Strategy, Structure,
};
use std::sync::Arc;
use thiserror::Error;

/// Names an input: by where it stands in a scenario file, with `[]` for whichever of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct KnobId(pub &'static str);

impl KnobId {
    /// Height of a pass, where the height leads.
    pub const HEIGHT: KnobId = KnobId("strategies[].passes[].distance.Height.m");
    /// GSD of a pass, where the GSD leads.
    pub const GSD: KnobId = KnobId("strategies[].passes[].distance.Gsd.cm");
    /// Stand-off of a pass, where the stand-off leads.
    pub const STAND_OFF: KnobId = KnobId("strategies[].passes[].distance.StandOff.m");
    /// Forward overlap of a pass.
    pub const FORWARD_OVERLAP: KnobId = KnobId("strategies[].passes[].forward_overlap");
    /// Sidelap of a pass.
    pub const SIDELAP: KnobId = KnobId("strategies[].passes[].sidelap");
    /// Tilt of all tilted attitudes of a pass.
    pub const TILT: KnobId = KnobId("strategies[].passes[].attitudes");
    /// The user's speed limit on a pass.
    pub const SPEED: KnobId = KnobId("strategies[].passes[].speed_mps");
    /// Margin of a pass.
    pub const MARGIN: KnobId = KnobId("strategies[].passes[].margin_m");
}

/// One input.
#[derive(Debug, Clone, Copy)]
pub struct Knob {
    /// Which one.
    pub id: KnobId,
    /// Name beside its number, under the heading of its group.
    pub name: &'static str,
    /// The whole name, where it stands by itself: what an edit of it is called.
    pub whole: &'static str,
    /// What it does, in a sentence or two.
    pub explanation: &'static str,
    /// What its value is in.
    pub unit: Unit,
    /// Most decimals shown, in metric units.
    pub decimals: usize,
    /// Values allowed.
    pub range: Range,
    /// For what may be left out: what then holds, in a word or two.
    pub left_out: Option<&'static str>,
    /// Where it stands, and how it is read and set there.
    pub reach: Reach,
}

/// Inputs under one heading.
#[derive(Debug, Clone, Copy)]
pub struct KnobGroup {
    /// The heading.
    pub name: &'static str,
    /// What to know of all of them; empty where there is nothing.
    pub note: &'static str,
    /// The inputs, in the order in which they are shown.
    pub knobs: &'static [Knob],
}

/// The part of a scenario that an input belongs to.
#[derive(Debug, Clone, Copy)]
pub enum Reach {
    /// A pass.
    Pass(Access<Pass>),
    /// One of a pass's attitudes.
    Attitude(Access<Attitude>),
    /// A strategy.
    Strategy(Access<Strategy>),
    /// An aircraft.
    Aircraft(Access<Aircraft>),
    /// The conditions.
    Conditions(Access<Conditions>),
    /// The requirement.
    Requirement(Access<Requirement>),
    /// The processing rates.
    Rates(Access<Rates>),
    /// The site.
    Site(Access<Site>),
    /// A structure on it.
    Structure(Access<Structure>),
}

/// How an input is read and set on its part.
pub struct Access<T: 'static> {
    /// Reads it; nothing where it is left out, or where the part has no such number.
    pub get: fn(&T) -> Option<f64>,
    /// Sets it; nothing leaves it out, where that can be. Where the part has no such number nothing happens.
    pub set: fn(&mut T, Option<f64>),
    /// Whether the part has such a number at all, set or left out.
    pub applies: fn(&T) -> bool,
    /// What it is when it is first given, where it may be left out.
    pub begins_at: fn(&T) -> f64,
    /// What other numbers of the part leave of its range: the least and the greatest value.
    pub narrowed: fn(&T, Range) -> (f64, f64),
}

impl<T> Clone for Access<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Access<T> {}

impl<T> std::fmt::Debug for Access<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Access").finish_non_exhaustive()
    }
}

/// Where an input is read or set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum At {
    /// On a pass.
    Pass(Id),
    /// On an attitude of a pass, by its place among them.
    Attitude(Id, usize),
    /// On a strategy.
    Strategy(Id),
    /// On an aircraft.
    Aircraft(Id),
    /// On a structure.
    Structure(Id),
    /// On the scenario, which has one.
    Scenario,
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
    /// The input's part is not in the scenario.
    #[error("{what} must be set on something of the scenario that has it, but it was not found there; choose one that has")]
    NotThere {
        /// What was to be set.
        what: &'static str,
    },
    /// The input has no meaning there.
    #[error("{0} does not apply to this pass; edit what leads it instead")]
    DoesNotApply(&'static str),
}

/// A part of a scenario that has inputs.
pub trait Part: Clone + 'static {
    /// How an input of such a part is read and set; nothing where it belongs to another kind of part.
    fn access(reach: &Reach) -> Option<&Access<Self>>;
}

macro_rules! parts {
    ($($part:ident)*) => {
        $(impl Part for $part {
            fn access(reach: &Reach) -> Option<&Access<Self>> {
                if let Reach::$part(access) = reach { Some(access) } else { None }
            }
        })*
    };
}
parts!(Pass Attitude Strategy Aircraft Conditions Requirement Rates Site Structure);

/// Every group of inputs, in the order of a scenario's parts.
pub const GROUPS: &[&KnobGroup] = &[
    &DISTANCE, &OVERLAP, &ATTITUDE, &REPORT, &CAMERA, &EXPOSURE, &GIMBAL, &AIRFRAME, &ENERGY, &POSITIONING, &AIR, &CREW,
    &PLAN_LIMITS, &SETS, &CHARGING, &LIGHT, &SPREAD, &DELIVERS, &VIEWS, &STAGES, &PLACE, &GROUND, &TYPICAL, &STANDING,
];

/// Every input.
pub fn knobs() -> impl Iterator<Item = &'static Knob> {
    GROUPS.iter().flat_map(|group| group.knobs)
}

/// The input with this identifier.
///
/// # Panics
/// Where the identifier is none of a table's.
pub fn knob(id: KnobId) -> &'static Knob {
    knobs().find(|row| row.id == id).unwrap_or_else(|| unreachable!("{id:?} has no row"))
}

impl Knob {
    /// The value there; nothing where it is left out, does not apply, or is not in the scenario.
    pub fn get(&self, scenario: &Scenario, at: At) -> Option<f64> {
        match (&self.reach, at) {
            (Reach::Pass(access), At::Pass(id)) => (access.get)(scenario.pass(id)?),
            (Reach::Attitude(access), At::Attitude(id, k)) => {
                (access.get)(scenario.pass(id)?.attitudes.get(k)?)
            }
            (Reach::Strategy(access), At::Strategy(id)) => (access.get)(scenario.strategy(id)?),
            (Reach::Aircraft(access), At::Aircraft(id)) => (access.get)(scenario.equipment.aircraft(id)?),
            (Reach::Conditions(access), At::Scenario) => (access.get)(&scenario.conditions),
            (Reach::Requirement(access), At::Scenario) => (access.get)(&scenario.requirement),
            (Reach::Rates(access), At::Scenario) => (access.get)(&scenario.rates),
            (Reach::Site(access), At::Scenario) => (access.get)(&scenario.site),
            (Reach::Structure(access), At::Structure(id)) => {
                (access.get)(scenario.site.structures.iter().find(|structure| structure.id == id)?)
            }
            _ => None,
        }
    }

    /// Sets it there; nothing leaves it out.
    ///
    /// # Errors
    /// [`EditError`] where the value is out of range, or where there is no such number to set. The scenario is then as it was.
    pub fn set(&self, scenario: &mut Scenario, at: At, value: Option<f64>) -> Result<(), EditError> {
        let gone = EditError::NotThere { what: self.range.what };
        match (&self.reach, at) {
            (Reach::Pass(access), At::Pass(id)) => self.put(access, scenario.pass_mut(id).ok_or(gone)?, value),
            (Reach::Attitude(access), At::Attitude(id, k)) => {
                let pass = scenario.pass_mut(id).ok_or(gone.clone())?;
                self.put(access, pass.attitudes.get_mut(k).ok_or(gone)?, value)
            }
            (Reach::Strategy(access), At::Strategy(id)) => {
                let strategy = scenario.strategies.iter_mut().find(|strategy| strategy.id == id);
                self.put(access, strategy.ok_or(gone)?, value)
            }
            (Reach::Aircraft(access), At::Aircraft(id)) => {
                let fleet = &mut Arc::make_mut(&mut scenario.equipment).aircraft;
                self.put(access, fleet.iter_mut().find(|aircraft| aircraft.id == id).ok_or(gone)?, value)
            }
            (Reach::Conditions(access), At::Scenario) => self.put(access, &mut scenario.conditions, value),
            (Reach::Requirement(access), At::Scenario) => self.put(access, &mut scenario.requirement, value),
            (Reach::Rates(access), At::Scenario) => self.put(access, &mut scenario.rates, value),
            (Reach::Site(access), At::Scenario) => {
                self.put(access, Arc::make_mut(&mut scenario.site), value)
            }
            (Reach::Structure(access), At::Structure(id)) => {
                let standing = &mut Arc::make_mut(&mut scenario.site).structures;
                self.put(access, standing.iter_mut().find(|structure| structure.id == id).ok_or(gone)?, value)
            }
            _ => Err(gone),
        }
    }

    /// Sets it on a part.
    ///
    /// # Errors
    /// As [`Knob::set`].
    pub fn put<T>(&self, access: &Access<T>, part: &mut T, value: Option<f64>) -> Result<(), EditError> {
        let what = self.range.what;
        if !(access.applies)(part) || (value.is_none() && self.left_out.is_none()) {
            return Err(EditError::DoesNotApply(what));
        }
        if let Some(got) = value {
            let (least, most) = (access.narrowed)(part, self.range);
            if !(got.is_finite() && (least..=most).contains(&got)) {
                return Err(EditError::OutOfRange { what, least, most, got, mend: self.range.mend });
            }
        }
        (access.set)(part, value);
        Ok(())
    }

    /// Everywhere in a scenario that has it, set or left out.
    pub fn places(&self, scenario: &Scenario) -> Vec<At> {
        let passes = || scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
        let one = |applies: bool| if applies { vec![At::Scenario] } else { Vec::new() };
        match &self.reach {
            Reach::Pass(a) => passes().filter(|pass| (a.applies)(pass)).map(|pass| At::Pass(pass.id)).collect(),
            Reach::Attitude(a) => passes()
                .flat_map(|pass| pass.attitudes.iter().enumerate().map(move |(k, attitude)| (pass.id, k, attitude)))
                .filter(|(_, _, attitude)| (a.applies)(attitude))
                .map(|(id, k, _)| At::Attitude(id, k))
                .collect(),
            Reach::Strategy(a) => {
                let all = scenario.strategies.iter().filter(|strategy| (a.applies)(strategy));
                all.map(|strategy| At::Strategy(strategy.id)).collect()
            }
            Reach::Aircraft(a) => {
                let all = scenario.equipment.aircraft.iter().filter(|aircraft| (a.applies)(aircraft));
                all.map(|aircraft| At::Aircraft(aircraft.id)).collect()
            }
            Reach::Conditions(a) => one((a.applies)(&scenario.conditions)),
            Reach::Requirement(a) => one((a.applies)(&scenario.requirement)),
            Reach::Rates(a) => one((a.applies)(&scenario.rates)),
            Reach::Site(a) => one((a.applies)(&scenario.site)),
            Reach::Structure(a) => {
                let all = scenario.site.structures.iter().filter(|structure| (a.applies)(structure));
                all.map(|structure| At::Structure(structure.id)).collect()
            }
        }
    }
}

/// A row of the table: an input that stands in a field of its part.
macro_rules! row {
    // A number that must be given.
    ($part:ident, $before:literal, $($at:ident).+, $name:literal, $whole:literal, $explanation:literal, $unit:ident,
     $decimals:literal, $range:ident) => {
        row!($part, concat!($before, stringify!($($at).+)), $name, $whole, $explanation, $unit, $decimals, $range,
            |part| Some(part.$($at).+), |part, value| part.$($at).+ = value)
    };
    // A count: the type that the scenario keeps stands behind the field.
    ($part:ident, $before:literal, $($at:ident).+ as u32, $name:literal, $whole:literal, $explanation:literal, $unit:ident,
     $decimals:literal, $range:ident) => {
        row!($part, concat!($before, stringify!($($at).+)), $name, $whole, $explanation, $unit, $decimals, $range,
            |part| Some(f64::from(part.$($at).+)), |part, value| part.$($at).+ = value.round() as u32)
    };
    // A number with ways of its own: the part has it where it can be read.
    ($part:ident, $key:expr, $name:literal, $whole:literal, $explanation:literal, $unit:ident, $decimals:literal,
     $range:ident, $get:expr, $set:expr) => {
        crate::scenario::knob::Knob {
            id: crate::scenario::knob::KnobId($key),
            name: $name,
            whole: $whole,
            explanation: $explanation,
            unit: crate::base::Unit::$unit,
            decimals: $decimals,
            range: crate::base::limits::$range,
            left_out: None,
            reach: crate::scenario::knob::Reach::$part(crate::scenario::knob::Access {
                get: $get,
                set: |part, value| {
                    if let Some(value) = value {
                        let set: fn(&mut crate::scenario::$part, f64) = $set;
                        set(part, value);
                    }
                },
                applies: |part| {
                    let get: fn(&crate::scenario::$part) -> Option<f64> = $get;
                    get(part).is_some()
                },
                begins_at: |_| crate::base::limits::$range.least,
                narrowed: |_, range| (range.least, range.most),
            }),
        }
    };
    // A number that may be left out: what then holds, where it applies, and what it begins at.
    ($part:ident, $key:expr, $name:literal, $whole:literal, $explanation:literal, $unit:ident, $decimals:literal,
     $range:ident, $get:expr, $set:expr, $left_out:literal, $applies:expr, $begins_at:expr) => {
        crate::scenario::knob::Knob {
            id: crate::scenario::knob::KnobId($key),
            name: $name,
            whole: $whole,
            explanation: $explanation,
            unit: crate::base::Unit::$unit,
            decimals: $decimals,
            range: crate::base::limits::$range,
            left_out: Some($left_out),
            reach: crate::scenario::knob::Reach::$part(crate::scenario::knob::Access {
                get: $get,
                set: $set,
                applies: $applies,
                begins_at: $begins_at,
                narrowed: |_, range| (range.least, range.most),
            }),
        }
    };
}
use row;
