//! One input at the places where it is turned together.

use crate::base::{Id, Unit};
use crate::scenario::knob::{Access, At, EditError, Knob, KnobId, Scope, knob};
use crate::scenario::{Pass, Scenario};

/// One input, and the places where it is set together: every pass of a strategy, the aircraft of all, the scenario.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Dial {
    knob: KnobId,
    at: Vec<At>,
}

impl Dial {
    /// An input at some places; nothing without a place.
    pub fn at(knob: KnobId, at: Vec<At>) -> Option<Dial> {
        (!at.is_empty()).then_some(Dial { knob, at })
    }

    /// An input wherever a strategy has it; nothing where none has.
    pub fn everywhere(scenario: &Scenario, id: KnobId) -> Option<Dial> {
        let flown = |id: Id| scenario.strategies.iter().any(|strategy| strategy.aircraft == id);
        let matters = |at: &At| !matches!(at, At::Aircraft(id) if !flown(*id));
        Dial::at(id, knob(id).places(scenario).into_iter().filter(matters).collect())
    }

    /// An input wherever one strategy has it: on its passes, on itself, on its aircraft, which others may fly too; nothing
    /// where it has none, or where it belongs to all strategies.
    pub fn of_strategy(scenario: &Scenario, id: KnobId, strategy: Id) -> Option<Dial> {
        let all = Dial::everywhere(scenario, id)?;
        let own = |at: &At| *at != At::Scenario && moves(scenario, *at, strategy);
        Dial::at(id, all.at.into_iter().filter(own).collect())
    }

    /// Of its places, those that have a say in one strategy; nothing where none has.
    pub fn on(&self, scenario: &Scenario, strategy: Id) -> Option<Dial> {
        let own = self.at.iter().copied().filter(|at| moves(scenario, *at, strategy));
        Dial::at(self.knob, own.collect())
    }

    /// Its places where it stands at the same value, one dial for each value, in the order of the places.
    pub fn by_value(&self, scenario: &Scenario) -> Vec<Dial> {
        let row = self.knob();
        let mut groups: Vec<(Option<f64>, Vec<At>)> = Vec::new();
        for at in &self.at {
            let value = row.get(scenario, *at);
            match groups.iter_mut().find(|(known, _)| *known == value) {
                Some((_, places)) => places.push(*at),
                None => groups.push((value, vec![*at])),
            }
        }
        groups.into_iter().map(|(_, at)| Dial { knob: self.knob, at }).collect()
    }

    /// The input.
    pub fn knob(&self) -> Knob {
        knob(self.knob)
    }

    /// Where it is set.
    pub fn places(&self) -> &[At] {
        &self.at
    }

    /// Its value, where it is the same at all places.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn value(&self, scenario: &Scenario) -> Option<f64> {
        let row = self.knob();
        let mut values = self.at.iter().map(|at| row.get(scenario, *at));
        let first = values.next()??;
        values.all(|value| value == Some(first)).then_some(first)
    }

    /// The least and the greatest value that it may have at all places.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn bounds(&self, scenario: &Scenario) -> (f64, f64) {
        let row = self.knob();
        let inner = |(low, high): (f64, f64), (least, most): (f64, f64)| (low.max(least), high.min(most));
        let bounds = self.at.iter().map(|at| bounds_at(&row, scenario, *at));
        bounds.fold((row.range.least, row.range.most), inner)
    }

    /// Sets it at all places.
    ///
    /// # Units
    /// - `value`: the knob's own, [`Knob::unit`] as it is stored
    ///
    /// # Errors
    /// As [`Knob::set`]; places before the one refused are then set.
    pub fn set(&self, scenario: &mut Scenario, value: f64) -> Result<(), EditError> {
        let row = self.knob();
        self.at.iter().try_for_each(|at| row.set(scenario, *at, Some(value)))
    }

    /// Whether turning it can change what is predicted of a strategy.
    pub fn moves(&self, scenario: &Scenario, strategy: Id) -> bool {
        self.at.iter().any(|at| moves(scenario, *at, strategy))
    }
}

impl Knob {
    /// The steps in which it is keyed in: a metre, a tenth of a centimetre, a hundredth of a share, a degree; otherwise
    /// its last decimal shown.
    ///
    /// # Units
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    ///
    /// # References
    /// Common practice, no source: what flight controllers take.
    pub fn key_step(&self) -> f64 {
        match self.unit {
            Unit::Metres | Unit::Degrees => 1.0,
            Unit::GsdCentimetres => 0.1,
            Unit::Share => 0.01,
            _ => 0.1_f64.powi(i32::try_from(self.decimals).unwrap_or(0)),
        }
    }

    /// So many of its steps, as the number that is typed: 70 hundredths are 0.7 and no sum of hundredths.
    ///
    /// # Units
    /// - `steps`: a count of [`Knob::key_step`]
    /// - returns: the knob's own, [`Knob::unit`] as it is stored
    pub fn keyed(&self, steps: f64) -> f64 {
        let step = self.key_step();
        if step < 1.0 { steps / (1.0 / step).round() } else { steps * step }
    }
}

/// Whether what stands at a place has a say in what is predicted of a strategy.
fn moves(scenario: &Scenario, at: At, strategy: Id) -> bool {
    let Some(strategy) = scenario.strategy(strategy) else { return false };
    match at {
        At::Pass(id) | At::Attitude(id, _) => strategy.passes.iter().any(|pass: &Pass| pass.id == id),
        At::Strategy(id) => strategy.id == id,
        At::Aircraft(id) => strategy.aircraft == id,
        At::Structure(_) | At::Scenario => true,
    }
}

fn bounds_at(row: &Knob, scenario: &Scenario, at: At) -> (f64, f64) {
    let narrowed = |part: Option<(f64, f64)>| part.unwrap_or((row.range.least, row.range.most));
    narrowed(match (&row.scope, at) {
        (Scope::Pass(access), At::Pass(id)) => scenario.pass(id).map(|pass| on(access, pass, row)),
        (Scope::Attitude(access), At::Attitude(id, k)) => {
            scenario.pass(id).and_then(|pass| pass.attitudes.get(k)).map(|part| on(access, part, row))
        }
        (Scope::Strategy(access), At::Strategy(id)) => scenario.strategy(id).map(|s| on(access, s, row)),
        (Scope::Aircraft(access), At::Aircraft(id)) => {
            scenario.equipment.aircraft(id).map(|aircraft| on(access, aircraft, row))
        }
        (Scope::Conditions(access), At::Scenario) => Some(on(access, &scenario.conditions, row)),
        (Scope::Requirement(access), At::Scenario) => Some(on(access, &scenario.requirement, row)),
        (Scope::Rates(access), At::Scenario) => Some(on(access, &scenario.rates, row)),
        (Scope::Job(access), At::Scenario) => Some(on(access, &scenario.job, row)),
        (Scope::Site(access), At::Scenario) => Some(on(access, &scenario.site, row)),
        (Scope::Structure(access), At::Structure(id)) => {
            let standing = scenario.site.structures.iter().find(|structure| structure.id == id);
            standing.map(|structure| on(access, structure, row))
        }
        _ => None,
    })
}

fn on<T>(access: &Access<T>, part: &T, row: &Knob) -> (f64, f64) {
    (access.narrowed)(part, row.range)
}
