//! Lessons: figures asked one after the other, guessed before they are revealed.
//!
//! A lesson holds a scenario and steps; none of its figures stands in it. What a learner does is a [`LessonRun`].

mod asked;
mod figures;
mod inputs;
mod off;
mod run;
mod step;
mod whole;

pub use asked::{Asked, AskedOf, measure_called};
pub use figures::StepFigures;
pub use inputs::{StepKnob, StepSetting, knob_called};
pub use off::{GuessOff, Tolerance};
pub use run::{Guess, LessonRun, NotNow, StepRun, StepStage};
pub use step::LessonStep;
pub use whole::{Lesson, MOST_STEPS, MOST_TEXT};
