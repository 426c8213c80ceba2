//! The figures of a step: the outcomes that it takes, and what comes of them.

use crate::evaluate::{EvaluateError, Evaluator, Stopped};
use crate::lesson::whole::Lesson;
use crate::result::Outcome;

/// What a step comes to.
#[derive(Debug, Clone)]
pub struct StepFigures {
    /// Which one.
    pub step: usize,
    /// Where its input was moved to; nothing where it stands as asked.
    pub moved: Option<f64>,
    /// Of every strategy that it takes, each once.
    pub outcomes: Vec<Outcome>,
    /// What is asked, as it is stored; nothing where a strategy has no such figure.
    pub figure: Option<f64>,
}

impl Evaluator<'_> {
    /// Works out what a step of a lesson asks.
    ///
    /// # Units
    /// - `moved`: the own unit of the input that the step lets be moved
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`], and where the step cannot be set so.
    pub fn lesson_step(
        &self,
        lesson: &Lesson,
        step: usize,
        moved: Option<f64>,
    ) -> Result<StepFigures, Stopped> {
        let scenario = lesson.scenario_of(step, moved).map_err(EvaluateError::from)?;
        let Some(of) = lesson.steps.get(step) else {
            return Ok(StepFigures { step, moved, outcomes: Vec::new(), figure: None });
        };
        let one = |id| self.evaluate(&scenario, id, of.depth());
        let outcomes: Vec<Outcome> = of.strategies().into_iter().map(one).collect::<Result<_, _>>()?;
        let figure = of.figure(&outcomes);
        Ok(StepFigures { step, moved, outcomes, figure })
    }
}
