//! A scenario and the questions about it, and what is wrong with them.

use crate::base::Id;
use crate::lesson::inputs::{StepSetting, dial, knob_called};
use crate::lesson::step::LessonStep;
use crate::scenario::faults::Checker;
use crate::scenario::{EditError, Fault, Scenario};

/// Most steps of a lesson.
pub const MOST_STEPS: usize = 40;

/// Most values that an input may be moved to.
const MOST_VALUES: u32 = 41;

/// Most characters of a step's text, so that it stands on one page in large type.
pub const MOST_TEXT: usize = 420;

/// A scenario and what is asked about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// For people.
    pub name: String,
    /// What it teaches, said before the first question.
    pub note: String,
    /// What everything is asked about.
    pub scenario: Scenario,
    /// The questions, in their order.
    pub steps: Vec<LessonStep>,
}

impl Lesson {
    /// All that decides its figures: the same of two lessons whose texts alone are unlike.
    #[must_use]
    pub fn without_texts(&self) -> Lesson {
        let mut bare = self.clone();
        (bare.name, bare.note) = (String::new(), String::new());
        (bare.scenario.name, bare.scenario.note) = (String::new(), String::new());
        for step in &mut bare.steps {
            (step.text, step.after) = (String::new(), String::new());
        }
        bare
    }

    /// The scenario as a step has it; with its input moved to `moved`, if that is given.
    ///
    /// # Units
    /// - `moved`: the own unit of the input that the step lets be moved
    ///
    /// # Errors
    /// [`EditError`] where the step sets what is not there or out of range.
    pub fn scenario_of(&self, step: usize, moved: Option<f64>) -> Result<Scenario, EditError> {
        let mut scenario = self.scenario.clone();
        let Some(of) = self.steps.get(step) else { return Ok(scenario) };
        for setting in &of.settings {
            setting.put(&mut scenario)?;
        }
        if let (Some(knob), Some(value)) = (&of.moves, moved) {
            let (knob, strategy) = (knob.knob.clone(), knob.strategy);
            StepSetting { knob, strategy, value }.put(&mut scenario)?;
        }
        Ok(scenario)
    }

    /// Where the input of a step stands as it is asked; nothing where it has none, or where its places differ.
    ///
    /// # Units
    /// - returns: the input's own
    pub fn asked_at(&self, step: usize) -> Option<f64> {
        let of = self.steps.get(step)?.moves.as_ref()?;
        let scenario = self.scenario_of(step, None).ok()?;
        dial(&scenario, &of.knob, of.strategy)?.value(&scenario)
    }

    /// The later step, not revealed yet, whose question moving this step's input would answer.
    ///
    /// # Units
    /// - `moved`: the input's own
    pub fn answers(
        &self,
        step: usize,
        moved: Option<f64>,
        is_hidden: impl Fn(usize) -> bool,
    ) -> Option<usize> {
        let own = self.steps.get(step)?;
        let seen = own.strategies();
        let scenario = self.scenario_of(step, moved).ok()?;
        let asks = |later: &usize| {
            let Some(other) = self.steps.get(*later).filter(|_| *later != step && is_hidden(*later)) else {
                return false;
            };
            other.asked.measure == own.asked.measure
                && self.scenario_of(*later, None).is_ok_and(|asked| {
                    let parts = other.asked.of.strategies();
                    let known = |id: &Id| {
                        other.told.contains(id) || (seen.contains(id) && is_alike(&scenario, &asked, *id))
                    };
                    parts.iter().all(known)
                })
        };
        (0..self.steps.len()).find(asks)
    }

    /// The step, not revealed yet, of whose figure this step's input would tell at `moved`: where it answers that, or lies beyond where
    /// that is asked. Figures on both sides of one that is hidden would bound it.
    ///
    /// # Units
    /// - `moved`: the input's own
    pub fn tells(&self, step: usize, moved: f64, is_hidden: impl Fn(usize) -> bool) -> Option<usize> {
        let exactly = self.answers(step, Some(moved), &is_hidden);
        let beyond = || {
            let own = self.steps.get(step)?;
            let (moves, from) = (own.moves.as_ref()?, self.asked_at(step));
            (0..self.steps.len()).find(|later| {
                let asks_alike = self.steps[*later].asked.measure == own.asked.measure;
                if *later == step || !is_hidden(*later) || !asks_alike {
                    return false;
                }
                let asked_at = || {
                    let scenario = self.scenario_of(*later, None).ok()?;
                    dial(&scenario, &moves.knob, moves.strategy)?.value(&scenario)
                };
                asked_at().is_some_and(|at| {
                    // where its places differ it stands on either side
                    let is_between = from.is_none_or(|from| (at - from) * (moved - at) > 0.0);
                    is_between && self.answers(step, Some(at), |other| other == *later).is_some()
                })
            })
        };
        exactly.or_else(beyond)
    }

    /// Everything that is wrong with it.
    pub fn faults(&self) -> Vec<Fault> {
        let mut check = Checker::default();
        check.name("name", "lesson", &self.name);
        for fault in self.scenario.faults() {
            check.fault(format!("scenario.{}", fault.path), fault.message);
        }
        if self.steps.is_empty() {
            check.fault("steps", "a lesson must ask something, but it has no step; add one");
        }
        check.at_most("steps", "steps", self.steps.len(), MOST_STEPS);
        for (k, step) in self.steps.iter().enumerate() {
            self.check_step(&mut check, k, step);
        }
        check.faults
    }

    fn check_step(&self, check: &mut Checker, k: usize, step: &LessonStep) {
        let at = |field: &str| format!("steps[{k}].{field}");
        for (field, text) in [("text", &step.text), ("after", &step.after)] {
            let count = text.chars().count();
            if count > MOST_TEXT {
                let told = format!(
                    "a text of a step must have at most {MOST_TEXT} characters, to be read from the back of a room, but it has \
                     {count}; shorten it, or make two steps of it"
                );
                check.fault(at(field), told);
            }
        }
        if step.text.trim().is_empty() {
            check.fault(at("text"), "a step must say what it is about, but its text is blank; write it");
        }
        let Some(row) = step.measure() else {
            let told = format!(
                "no figure has the key \"{}\"; write one of `compare --json`, as coverage.wall or time_on_site_s",
                step.asked.measure
            );
            check.fault(at("asked.measure"), told);
            return;
        };
        self.check_strategies(check, &at("asked.of"), &step.asked.of.strategies());
        self.check_strategies(check, &at("told"), &step.told);
        if let [one, other] = step.asked.of.strategies()[..]
            && one == other
        {
            check.fault(at("asked.of"), "two strategies must be asked about, but both are one; name another");
        }
        if step.asked.of.strategies().iter().all(|id| step.told.contains(id)) {
            let told = "what is told must leave something to guess, but it tells all that is asked; take a strategy out";
            check.fault(at("told"), told);
        }
        if let Some(told) = step.tolerance.refusal(&step.asked, row.unit) {
            check.fault(at("tolerance"), told);
        }
        self.check_inputs(check, k, step);
        self.check_secret(check, k);
    }

    fn check_strategies(&self, check: &mut Checker, at: &str, ids: &[Id]) {
        for id in ids.iter().filter(|id| self.scenario.strategy(**id).is_none()) {
            let names: Vec<String> = self
                .scenario
                .strategies
                .iter()
                .map(|strategy| format!("{} ({})", strategy.id, strategy.name))
                .collect();
            check.fault(
                at,
                format!("no strategy of the scenario has the id {id}; write one of {}", names.join(", ")),
            );
        }
    }

    fn check_inputs(&self, check: &mut Checker, k: usize, step: &LessonStep) {
        for (s, setting) in step.settings.iter().enumerate() {
            let at = format!("steps[{k}].settings[{s}]");
            if self.check_knob(check, &at, &setting.knob, setting.strategy)
                && let Err(error) = setting.put(&mut self.scenario.clone())
            {
                check.fault(format!("{at}.value"), error.to_string());
            }
        }
        let Some(moves) = &step.moves else { return };
        let at = format!("steps[{k}].moves");
        if !self.check_knob(check, &at, &moves.knob, moves.strategy) {
            return;
        }
        if !(2..=MOST_VALUES).contains(&moves.values) {
            let told = format!(
                "an input must have at least 2 and at most {MOST_VALUES} values to be moved to, but it has {}; write as many",
                moves.values
            );
            check.fault(format!("{at}.values"), told);
            return;
        }
        for (field, value) in [("from", moves.from), ("to", moves.to)] {
            let (knob, strategy) = (moves.knob.clone(), moves.strategy);
            if let Err(error) = (StepSetting { knob, strategy, value }).put(&mut self.scenario.clone()) {
                check.fault(format!("{at}.{field}"), error.to_string());
            }
        }
    }

    fn check_knob(&self, check: &mut Checker, at: &str, key: &str, strategy: Option<Id>) -> bool {
        if knob_called(key).is_none() {
            let told = format!(
                "no input is called \"{key}\"; write where it stands in a scenario file, as strategies[].passes[].sidelap"
            );
            check.fault(format!("{at}.knob"), told);
            return false;
        }
        if dial(&self.scenario, key, strategy).is_none() {
            let told = format!(
                "\"{key}\" must be an input of the strategy that is named, but that has none; name another, or leave it out"
            );
            check.fault(format!("{at}.knob"), told);
            return false;
        }
        true
    }

    /// No step may show what a later one asks.
    fn check_secret(&self, check: &mut Checker, k: usize) {
        if let Some(later) = self.answers(k, None, |other| other > k) {
            let told = format!(
                "a step must not show what a later one asks, but revealing step {} answers step {}; put them the other way \
                 round, or set something otherwise",
                k + 1,
                later + 1
            );
            check.fault(format!("steps[{k}].asked"), told);
        }
    }
}

/// Whether one strategy is flown alike in two scenarios, whatever the others do.
fn is_alike(one: &Scenario, other: &Scenario, strategy: Id) -> bool {
    let alone = |scenario: &Scenario| {
        let mut alone = scenario.clone();
        alone.strategies.retain(|own| own.id == strategy);
        (alone.reference, alone.name, alone.note) = (None, String::new(), String::new());
        alone
    };
    alone(one) == alone(other)
}
