//! Every input as data: what sliders, forms, checks, sweeps and undo labels need to know of it.

mod aircraft;
mod conditions;
mod dial;
mod job;
mod on_site;
mod pass;
mod requirement;
mod site;
mod strategy;

pub use aircraft::{
    AIRFRAME, CALIBRATION, CAMERA, CORRECTIONS, DISTORTION, ENERGY, EXPOSURE, GIMBAL, IMAGE_NOISE,
    POSITIONING,
};
pub use conditions::{AIR, CHARGING, CREW, HEIGHT_LIMIT, LIGHT, PLAN_LIMITS, SETS, SPREAD, SURVEY, WIND};
pub use dial::Dial;
pub use job::JOB;
pub use on_site::{AIRCRAFT_ON_SITE, STRATEGY_ON_SITE};
pub use pass::{ATTITUDE, DISTANCE, OVERLAP, SPEED};
pub use requirement::{ACCURACY, ATTENDED, DELIVERS, STAGES, VIEWS};
pub use site::{EARTH, GROUND, PLACE, STANDING, TYPICAL};
pub use strategy::REPORT;

use crate::base::limits::Range;
use crate::base::{Id, SurfaceClass, Unit};
use crate::scenario::{
    Aircraft, Attitude, Conditions, Job, Pass, PatternKind, Rates, Requirement, Scenario, Setting, Site,
    Strategy, Structure,
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
    /// Tilt of one attitude of a pass.
    pub const ATTITUDE_TILT: KnobId = KnobId("strategies[].passes[].attitudes[].tilt_deg");
    /// Where one attitude of a pass is turned to, from what its heading is measured from.
    pub const ATTITUDE_OFFSET: KnobId = KnobId("strategies[].passes[].attitudes[].aim.*.deg");
    /// The user's speed limit on a pass.
    pub const SPEED: KnobId = KnobId("strategies[].passes[].speed_mps");
    /// Distance between samples.
    pub const SAMPLE_SPACING: KnobId = KnobId("site.sample_spacing_m");
    /// Side of a pixel.
    pub const PIXEL_PITCH: KnobId = KnobId("equipment.aircraft[].camera.sensor.PixelPitch.um");
    /// Long side of a sensor.
    pub const SENSOR_WIDTH: KnobId = KnobId("equipment.aircraft[].camera.sensor.Size.width_mm");
    /// Endurance of a battery set in hover, where it is known.
    pub const HOVER_ENDURANCE: KnobId = KnobId("equipment.aircraft[].airframe.energy.hover_min");
    /// Endurance of a battery set at the fastest airspeed, where it is known.
    pub const FASTEST_ENDURANCE: KnobId = KnobId("equipment.aircraft[].airframe.energy.top_speed_min");
    /// What the draws of the bands start from.
    pub const SEED: KnobId = KnobId("conditions.spread.seed");
    /// Margin of a pass.
    pub const MARGIN: KnobId = KnobId("strategies[].passes[].margin_m");

    /// Least share that must be covered of a class.
    pub const fn coverage(class: SurfaceClass) -> KnobId {
        KnobId(match class {
            SurfaceClass::Ground => "requirement.coverage.ground",
            SurfaceClass::Roof => "requirement.coverage.roof",
            SurfaceClass::Wall => "requirement.coverage.wall",
            SurfaceClass::Underside => "requirement.coverage.underside",
        })
    }

    /// Coarsest GSD allowed on a class.
    pub const fn gsd_on(class: SurfaceClass) -> KnobId {
        KnobId(match class {
            SurfaceClass::Ground => "requirement.gsd_cm.ground",
            SurfaceClass::Roof => "requirement.gsd_cm.roof",
            SurfaceClass::Wall => "requirement.gsd_cm.wall",
            SurfaceClass::Underside => "requirement.gsd_cm.underside",
        })
    }
}

impl KnobId {
    /// Where faults tell it: without the names of what is chosen between.
    pub fn field(self) -> String {
        let chosen = |part: &&str| part.starts_with(|letter: char| letter.is_ascii_uppercase());
        self.0.split('.').filter(|part| !chosen(part)).collect::<Vec<_>>().join(".")
    }
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
    pub scope: Scope,
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
pub enum Scope {
    /// A pass.
    Pass(Access<Pass>),
    /// The pattern of a pass.
    Pattern(&'static Setting),
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
    /// The job's money.
    Job(Access<Job>),
    /// The site.
    Site(Access<Site>),
    /// A structure on it.
    Structure(Access<Structure>),
}

impl Scope {
    /// The parts, those that are turned most often first.
    pub const PARTS: [&'static str; 10] = [
        "pass",
        "pattern",
        "attitude",
        "strategy",
        "conditions",
        "aircraft",
        "requirement",
        "processing rates",
        "job",
        "site",
    ];

    /// The name of the part within a sentence, as [`Scope::PARTS`]; a structure's is the site's.
    pub fn part(&self) -> &'static str {
        let place = match self {
            Scope::Pass(_) => 0,
            Scope::Pattern(_) => 1,
            Scope::Attitude(_) => 2,
            Scope::Strategy(_) => 3,
            Scope::Conditions(_) => 4,
            Scope::Aircraft(_) => 5,
            Scope::Requirement(_) => 6,
            Scope::Rates(_) => 7,
            Scope::Job(_) => 8,
            Scope::Site(_) | Scope::Structure(_) => 9,
        };
        Scope::PARTS[place]
    }
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
    #[error(
        "{what} must be set on something of the scenario that has it, but it was not found there; choose one that has"
    )]
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
    fn access(scope: &Scope) -> Option<&Access<Self>>;
}

macro_rules! parts {
    ($($part:ident)*) => {
        $(impl Part for $part {
            fn access(scope: &Scope) -> Option<&Access<Self>> {
                if let Scope::$part(access) = scope { Some(access) } else { None }
            }
        })*
    };
}
parts!(Pass Attitude Strategy Aircraft Conditions Requirement Rates Job Site Structure);

/// The inputs of a pass, those of its pattern and its attitudes apart.
pub const OF_PASS: &[&KnobGroup] = &[&DISTANCE, &SPEED, &OVERLAP];
/// The inputs of a strategy.
pub const OF_STRATEGY: &[&KnobGroup] = &[&REPORT, &STRATEGY_ON_SITE];
/// The inputs of an aircraft, in the order of a data sheet.
pub const OF_AIRCRAFT: &[&KnobGroup] = &[
    &CAMERA,
    &EXPOSURE,
    &DISTORTION,
    &CALIBRATION,
    &IMAGE_NOISE,
    &GIMBAL,
    &AIRFRAME,
    &ENERGY,
    &CORRECTIONS,
    &POSITIONING,
    &AIRCRAFT_ON_SITE,
];
/// The inputs of the conditions.
pub const OF_CONDITIONS: &[&KnobGroup] =
    &[&WIND, &AIR, &HEIGHT_LIMIT, &CREW, &SURVEY, &PLAN_LIMITS, &SETS, &CHARGING, &LIGHT, &SPREAD];
/// The inputs of the requirement.
pub const OF_REQUIREMENT: &[&KnobGroup] = &[&DELIVERS, &ACCURACY, &VIEWS];
/// The inputs of the processing rates.
pub const OF_RATES: &[&KnobGroup] = &[&STAGES, &ATTENDED];
/// The inputs of the job's money.
pub const OF_JOB: &[&KnobGroup] = &[&JOB];
/// The inputs of the site.
pub const OF_SITE: &[&KnobGroup] = &[&EARTH, &PLACE, &GROUND, &TYPICAL];

/// Every group of inputs, in the order of a scenario's parts.
pub fn groups() -> impl Iterator<Item = &'static KnobGroup> {
    let before = [OF_SITE, &[&STANDING], OF_AIRCRAFT, OF_STRATEGY, OF_PASS, &[&ATTITUDE]];
    before.into_iter().chain([OF_CONDITIONS, OF_REQUIREMENT, OF_RATES, OF_JOB]).flatten().copied()
}

/// Every input: those of the groups, then those of every pattern.
pub fn knobs() -> impl Iterator<Item = Knob> {
    let patterns = PatternKind::ALL.into_iter().flat_map(|kind| kind.about().numbers);
    groups().flat_map(|group| group.knobs).copied().chain(patterns.map(Knob::of_pattern))
}

/// The input with this identifier.
///
/// # Panics
/// Where the identifier is none of a table's.
pub fn knob(id: KnobId) -> Knob {
    knobs().find(|row| row.id == id).unwrap_or_else(|| unreachable!("{id:?} has no row"))
}

impl Knob {
    /// A pattern's setting as an input.
    pub const fn of_pattern(setting: &'static Setting) -> Knob {
        Knob {
            id: KnobId(setting.key),
            name: setting.name,
            whole: setting.name,
            explanation: setting.explanation,
            unit: setting.unit,
            decimals: setting.decimals,
            range: setting.range,
            left_out: None,
            scope: Scope::Pattern(setting),
        }
    }

    /// The value there; nothing where it is left out, does not apply, or is not in the scenario.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn get(&self, scenario: &Scenario, at: At) -> Option<f64> {
        match (&self.scope, at) {
            (Scope::Pass(access), At::Pass(id)) => (access.get)(scenario.pass(id)?),
            (Scope::Pattern(setting), At::Pass(id)) => (setting.get)(&scenario.pass(id)?.pattern),
            (Scope::Attitude(access), At::Attitude(id, k)) => {
                (access.get)(scenario.pass(id)?.attitudes.get(k)?)
            }
            (Scope::Strategy(access), At::Strategy(id)) => (access.get)(scenario.strategy(id)?),
            (Scope::Aircraft(access), At::Aircraft(id)) => (access.get)(scenario.equipment.aircraft(id)?),
            (Scope::Conditions(access), At::Scenario) => (access.get)(&scenario.conditions),
            (Scope::Requirement(access), At::Scenario) => (access.get)(&scenario.requirement),
            (Scope::Rates(access), At::Scenario) => (access.get)(&scenario.rates),
            (Scope::Job(access), At::Scenario) => (access.get)(&scenario.job),
            (Scope::Site(access), At::Scenario) => (access.get)(&scenario.site),
            (Scope::Structure(access), At::Structure(id)) => {
                (access.get)(scenario.site.structures.iter().find(|structure| structure.id == id)?)
            }
            _ => None,
        }
    }

    /// Sets it there; nothing leaves it out.
    ///
    /// # Units
    /// - `value`: the knob's own, [`Knob::unit`] as it is stored
    ///
    /// # Errors
    /// [`EditError`] where the value is out of range, or where there is no such number to set. The scenario is then as it was.
    pub fn set(&self, scenario: &mut Scenario, at: At, value: Option<f64>) -> Result<(), EditError> {
        let gone = EditError::NotThere { what: self.range.what };
        match (&self.scope, at) {
            (Scope::Pass(_), At::Pass(id)) => self.put(scenario.pass_mut(id).ok_or(gone)?, value),
            (Scope::Pattern(setting), At::Pass(id)) => {
                let pattern = &mut scenario.pass_mut(id).ok_or(gone)?.pattern;
                let applies = (setting.get)(pattern).is_some();
                let value = value.filter(|_| applies).ok_or(EditError::DoesNotApply(self.range.what))?;
                self.within((self.range.least, self.range.most), value)?;
                (setting.set)(pattern, value);
                Ok(())
            }
            (Scope::Attitude(_), At::Attitude(id, k)) => {
                let pass = scenario.pass_mut(id).ok_or(gone.clone())?;
                self.put(pass.attitudes.get_mut(k).ok_or(gone)?, value)
            }
            (Scope::Strategy(_), At::Strategy(id)) => {
                let strategy = scenario.strategies.iter_mut().find(|strategy| strategy.id == id);
                self.put(strategy.ok_or(gone)?, value)
            }
            (Scope::Aircraft(_), At::Aircraft(id)) => {
                let fleet = &mut Arc::make_mut(&mut scenario.equipment).aircraft;
                self.put(fleet.iter_mut().find(|aircraft| aircraft.id == id).ok_or(gone)?, value)
            }
            (Scope::Conditions(_), At::Scenario) => self.put(&mut scenario.conditions, value),
            (Scope::Requirement(_), At::Scenario) => self.put(&mut scenario.requirement, value),
            (Scope::Rates(_), At::Scenario) => self.put(&mut scenario.rates, value),
            (Scope::Job(_), At::Scenario) => self.put(&mut scenario.job, value),
            (Scope::Site(_), At::Scenario) => self.put(Arc::make_mut(&mut scenario.site), value),
            (Scope::Structure(_), At::Structure(id)) => {
                let standing = &mut Arc::make_mut(&mut scenario.site).structures;
                self.put(standing.iter_mut().find(|structure| structure.id == id).ok_or(gone)?, value)
            }
            _ => Err(gone),
        }
    }

    /// The value on a part; nothing where it is left out, or where such a part has none.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn read<T: Part>(&self, part: &T) -> Option<f64> {
        (T::access(&self.scope)?.get)(part)
    }

    /// Whether a part has such a number, set or left out.
    pub fn applies<T: Part>(&self, part: &T) -> bool {
        T::access(&self.scope).is_some_and(|access| (access.applies)(part))
    }

    /// The least and the greatest value that it may have on a part.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn bounds<T: Part>(&self, part: &T) -> (f64, f64) {
        T::access(&self.scope)
            .map_or((self.range.least, self.range.most), |access| (access.narrowed)(part, self.range))
    }

    /// What it is when it is first given, where it may be left out; within its bounds.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn begins_at<T: Part>(&self, part: &T) -> f64 {
        let (least, most) = self.bounds(part);
        T::access(&self.scope).map_or(least, |access| (access.begins_at)(part)).clamp(least, most)
    }

    /// Sets it on a part; nothing leaves it out.
    ///
    /// # Units
    /// - `value`: the knob's own, [`Knob::unit`] as it is stored
    ///
    /// # Errors
    /// As [`Knob::set`].
    pub fn put<T: Part>(&self, part: &mut T, value: Option<f64>) -> Result<(), EditError> {
        let what = self.range.what;
        let there = self.applies(part) || self.read(part).is_some();
        let access = T::access(&self.scope).filter(|_| there && (value.is_some() || self.left_out.is_some()));
        let access = access.ok_or(EditError::DoesNotApply(what))?;
        if let Some(value) = value {
            self.within((access.narrowed)(part, self.range), value)?;
        }
        (access.set)(part, value);
        Ok(())
    }

    fn within(&self, (least, most): (f64, f64), got: f64) -> Result<(), EditError> {
        if got.is_finite() && (least..=most).contains(&got) {
            return Ok(());
        }
        Err(EditError::OutOfRange { what: self.range.what, least, most, got, mend: self.range.mend })
    }

    /// Everywhere in a scenario that has it, set or left out.
    pub fn places(&self, scenario: &Scenario) -> Vec<At> {
        let passes = || scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
        let one = |applies: bool| if applies { vec![At::Scenario] } else { Vec::new() };
        match &self.scope {
            Scope::Pass(a) => {
                passes().filter(|pass| (a.applies)(pass)).map(|pass| At::Pass(pass.id)).collect()
            }
            Scope::Pattern(setting) => {
                let all = passes().filter(|pass| (setting.get)(&pass.pattern).is_some());
                all.map(|pass| At::Pass(pass.id)).collect()
            }
            Scope::Attitude(a) => passes()
                .flat_map(|pass| {
                    pass.attitudes.iter().enumerate().map(move |(k, attitude)| (pass.id, k, attitude))
                })
                .filter(|(_, _, attitude)| (a.applies)(attitude))
                .map(|(id, k, _)| At::Attitude(id, k))
                .collect(),
            Scope::Strategy(a) => {
                let all = scenario.strategies.iter().filter(|strategy| (a.applies)(strategy));
                all.map(|strategy| At::Strategy(strategy.id)).collect()
            }
            Scope::Aircraft(a) => {
                let all = scenario.equipment.aircraft.iter().filter(|aircraft| (a.applies)(aircraft));
                all.map(|aircraft| At::Aircraft(aircraft.id)).collect()
            }
            Scope::Conditions(a) => one((a.applies)(&scenario.conditions)),
            Scope::Requirement(a) => one((a.applies)(&scenario.requirement)),
            Scope::Rates(a) => one((a.applies)(&scenario.rates)),
            Scope::Job(a) => one((a.applies)(&scenario.job)),
            Scope::Site(a) => one((a.applies)(&scenario.site)),
            Scope::Structure(a) => {
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
        row!(@row $part, $key, $name, $whole, $explanation, $unit, $decimals, $range, $get,
            |part, value| {
                if let Some(value) = value {
                    let set: fn(&mut crate::scenario::$part, f64) = $set;
                    set(part, value);
                }
            },
            None,
            |part| {
                let get: fn(&crate::scenario::$part) -> Option<f64> = $get;
                get(part).is_some()
            },
            |_| crate::base::limits::$range.least)
    };
    // A number that may be left out: what then holds, where it applies, and what it begins at.
    ($part:ident, $key:expr, $name:literal, $whole:literal, $explanation:literal, $unit:ident, $decimals:literal,
     $range:ident, $get:expr, $set:expr, $left_out:literal, $applies:expr, $begins_at:expr) => {
        row!(@row $part, $key, $name, $whole, $explanation, $unit, $decimals, $range, $get, $set, Some($left_out), $applies,
            $begins_at)
    };
    (@row $part:ident, $key:expr, $name:literal, $whole:literal, $explanation:literal, $unit:ident, $decimals:literal,
     $range:ident, $get:expr, $set:expr, $left_out:expr, $applies:expr, $begins_at:expr) => {
        crate::scenario::knob::Knob {
            id: crate::scenario::knob::KnobId($key),
            name: $name,
            whole: $whole,
            explanation: $explanation,
            unit: crate::base::Unit::$unit,
            decimals: $decimals,
            range: crate::base::limits::$range,
            left_out: $left_out,
            scope: crate::scenario::knob::Scope::$part(crate::scenario::knob::Access {
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
