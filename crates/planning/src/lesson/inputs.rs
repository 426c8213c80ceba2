//! Inputs that a step sets, or lets be moved.

use crate::base::Id;
use crate::scenario::knob::Dial;
use crate::scenario::{EditError, Knob, Scenario, knobs};
use serde::{Deserialize, Serialize};

/// An input at a value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepSetting {
    /// Which input, by where it stands in the file: `strategies[].passes[].sidelap`.
    pub knob: String,
    /// The strategy that it is set on; everywhere if it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strategy: Option<Id>,
    /// Its value, in the input's own unit.
    pub value: f64,
}

/// An input that may be moved, and the values that it may be moved to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepKnob {
    /// Which input, by where it stands in the file.
    pub knob: String,
    /// The strategy that it is moved on; everywhere if it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strategy: Option<Id>,
    /// The first value, in the input's own unit.
    pub from: f64,
    /// The last one.
    pub to: f64,
    /// How many there are, both included.
    pub values: u32,
}

impl StepKnob {
    /// All values, from the first to the last.
    ///
    /// # Units
    /// - returns: the input's own
    pub fn all(&self) -> Vec<f64> {
        let steps = f64::from(self.values.max(2) - 1);
        let at = |k: u32| {
            let value = self.from + (self.to - self.from) * f64::from(k) / steps;
            // A hundredth that was divided is the hundredth that is typed.
            (value * 1e9).round() / 1e9
        };
        (0..self.values).map(at).collect()
    }
}

/// The input of a key; nothing where there is none.
pub fn knob_called(key: &str) -> Option<Knob> {
    knobs().find(|row| row.id.0 == key)
}

/// An input on a strategy, or everywhere.
pub(super) fn dial(scenario: &Scenario, key: &str, strategy: Option<Id>) -> Option<Dial> {
    let id = knob_called(key)?.id;
    match strategy {
        Some(strategy) => Dial::of_strategy(scenario, id, strategy),
        None => Dial::everywhere(scenario, id),
    }
}

impl StepSetting {
    pub(super) fn put(&self, scenario: &mut Scenario) -> Result<(), EditError> {
        match dial(scenario, &self.knob, self.strategy) {
            Some(dial) => dial.set(scenario, self.value),
            None => Err(EditError::NotThere { what: "what a step sets" }),
        }
    }
}
