//! One question of a lesson.

use crate::base::Id;
use crate::lesson::asked::{Asked, AskedOf, measure_called};
use crate::lesson::inputs::{StepKnob, StepSetting};
use crate::lesson::off::Tolerance;
use crate::result::{Depth, Measure, Outcome};
use serde::{Deserialize, Serialize};

/// One question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LessonStep {
    /// What is said before the guess.
    pub text: String,
    /// The figure that is guessed.
    pub asked: Asked,
    /// What is set otherwise than in the scenario while this is asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub settings: Vec<StepSetting>,
    /// Strategies whose same figure is told with the question.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub told: Vec<Id>,
    /// The input that may be moved once the figure is revealed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moves: Option<StepKnob>,
    /// How far off a guess may be and still count as near.
    pub tolerance: Tolerance,
    /// What is said after the figure is revealed.
    #[serde(default)]
    pub after: String,
}

impl LessonStep {
    /// The figure that is asked, as its row has it; nothing where the key is of none.
    pub fn measure(&self) -> Option<&'static Measure> {
        measure_called(&self.asked.measure)
    }

    /// How deep its strategies are to be evaluated.
    pub fn depth(&self) -> Depth {
        self.measure().map_or(Depth::Quick, |row| row.depth)
    }

    /// What it asks, from outcomes that are deep enough; nothing where one of them has no such figure.
    ///
    /// # Units
    /// - returns: the measure's own as it is stored; of a ratio none
    pub fn figure(&self, outcomes: &[Outcome]) -> Option<f64> {
        let row = self.measure()?;
        let read = |id: Id| row.read(outcomes.iter().find(|outcome| outcome.strategy == id)?);
        match self.asked.of {
            AskedOf::Strategy(id) => read(id),
            AskedOf::Difference { of, less } => Some(read(of)? - read(less)?),
            AskedOf::Ratio { of, over } => Some(read(of)? / read(over)?).filter(|ratio| ratio.is_finite()),
        }
    }

    /// The strategies that are evaluated for it, each once.
    pub fn strategies(&self) -> Vec<Id> {
        let mut all = self.asked.of.strategies();
        all.extend(&self.told);
        let mut once = Vec::new();
        for id in all {
            if !once.contains(&id) {
                once.push(id);
            }
        }
        once
    }
}
