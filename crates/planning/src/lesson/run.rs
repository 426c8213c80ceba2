//! What is done with a lesson: guesses, locks and reveals, step by step.

use serde::{Deserialize, Serialize};

/// One guess.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Guess {
    /// Whose, by name or initials; empty for the one whose run it is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub who: String,
    /// As the figure is stored.
    pub value: f64,
}

/// How far a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StepStage {
    /// Guesses are taken.
    #[default]
    Open,
    /// They stand and are not changed any more; the figure is hidden.
    Locked,
    /// The figure is shown.
    Revealed,
}

/// What was done at one step.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepRun {
    /// How far it is.
    #[serde(default)]
    pub stage: StepStage,
    /// The guesses, in the order in which they were made; one a name.
    #[serde(default)]
    pub guesses: Vec<Guess>,
    /// Where the step's input was moved to, in its own unit; nothing where it stands as asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved: Option<f64>,
}

/// What is done with a lesson.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LessonRun {
    /// Whose it is, by name or initials.
    #[serde(default)]
    pub learner: String,
    /// One for each step of the lesson.
    pub steps: Vec<StepRun>,
}

/// Why something cannot be done at a step now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotNow {
    /// There is no such step.
    #[error("the lesson has no such step")]
    NoStep,
    /// A locked guess does not change.
    #[error("the guesses are locked")]
    Locked,
    /// Something must be guessed first.
    #[error("nothing is guessed yet; type a guess and press Enter")]
    NoGuess,
    /// Guesses must be locked first.
    #[error("the guesses are not locked yet; lock them first")]
    NotLocked,
    /// The input moves once the figure is revealed.
    #[error("the input is moved once the figure is revealed")]
    NotRevealed,
}

impl LessonRun {
    /// Nothing guessed yet, of so many steps.
    pub fn new(steps: usize) -> Self {
        LessonRun { learner: String::new(), steps: vec![StepRun::default(); steps] }
    }

    fn at(&mut self, step: usize) -> Result<&mut StepRun, NotNow> {
        self.steps.get_mut(step).ok_or(NotNow::NoStep)
    }

    /// Takes a guess; one of the same name takes the place of the one before.
    ///
    /// # Errors
    /// [`NotNow::Locked`] once guesses are.
    pub fn guess(&mut self, step: usize, guess: Guess) -> Result<(), NotNow> {
        let own = self.at(step)?;
        if own.stage != StepStage::Open {
            return Err(NotNow::Locked);
        }
        match own.guesses.iter_mut().find(|known| known.who == guess.who) {
            Some(known) => *known = guess,
            None => own.guesses.push(guess),
        }
        Ok(())
    }

    /// Takes the last guess back.
    ///
    /// # Errors
    /// [`NotNow`] once guesses are locked, or where there is none.
    pub fn take_back(&mut self, step: usize) -> Result<(), NotNow> {
        let own = self.at(step)?;
        if own.stage != StepStage::Open {
            return Err(NotNow::Locked);
        }
        own.guesses.pop().map(drop).ok_or(NotNow::NoGuess)
    }

    /// Locks the guesses.
    ///
    /// # Errors
    /// [`NotNow`] where nothing is guessed, or they are locked already.
    pub fn lock(&mut self, step: usize) -> Result<(), NotNow> {
        let own = self.at(step)?;
        match own.stage {
            StepStage::Open if own.guesses.is_empty() => Err(NotNow::NoGuess),
            StepStage::Open => {
                own.stage = StepStage::Locked;
                Ok(())
            }
            StepStage::Locked | StepStage::Revealed => Err(NotNow::Locked),
        }
    }

    /// Reveals the figure.
    ///
    /// # Errors
    /// [`NotNow::NotLocked`] before the guesses are locked.
    pub fn reveal(&mut self, step: usize) -> Result<(), NotNow> {
        let own = self.at(step)?;
        if own.stage == StepStage::Open {
            return Err(NotNow::NotLocked);
        }
        own.stage = StepStage::Revealed;
        Ok(())
    }

    /// Moves the step's input; nothing puts it back to where it is asked.
    ///
    /// # Units
    /// - `value`: the input's own
    ///
    /// # Errors
    /// [`NotNow::NotRevealed`] before the figure is revealed.
    pub fn move_to(&mut self, step: usize, value: Option<f64>) -> Result<(), NotNow> {
        let own = self.at(step)?;
        if own.stage != StepStage::Revealed {
            return Err(NotNow::NotRevealed);
        }
        own.moved = value;
        Ok(())
    }

    /// Ends the lesson: every figure may be shown, guessed or not.
    pub fn reveal_all(&mut self) {
        self.steps.iter_mut().for_each(|step| step.stage = StepStage::Revealed);
    }

    /// How far a step is; nothing is shown of one that is not there.
    pub fn stage(&self, step: usize) -> StepStage {
        self.steps.get(step).map_or(StepStage::Open, |own| own.stage)
    }

    /// Whether the figure of a step is hidden.
    pub fn is_hidden(&self, step: usize) -> bool {
        self.stage(step) != StepStage::Revealed
    }

    /// The first step whose figure is hidden; nothing once all are revealed.
    pub fn first_hidden(&self) -> Option<usize> {
        (0..self.steps.len()).find(|step| self.is_hidden(*step))
    }

    /// Whether something was guessed.
    pub fn is_begun(&self) -> bool {
        self.steps.iter().any(|step| !step.guesses.is_empty())
    }

    /// The same for a lesson of so many steps.
    #[must_use]
    pub fn fitted(mut self, steps: usize) -> Self {
        self.steps.resize(steps, StepRun::default());
        self
    }
}

#[cfg(test)]
mod tests {
    use crate::lesson::*;

    fn guess(who: &str, value: f64) -> Guess {
        Guess { who: who.to_owned(), value }
    }

    /// Derived: the order of a lesson: guess, lock, reveal, move; nothing out of turn.
    #[test]
    fn a_guess_locks_before_its_figure_is_revealed() {
        let mut run = LessonRun::new(2);
        assert_eq!(run.lock(0), Err(NotNow::NoGuess));
        assert_eq!(run.reveal(0), Err(NotNow::NotLocked));
        assert_eq!(run.take_back(0), Err(NotNow::NoGuess));
        run.guess(0, guess("", 0.4)).expect("in turn");
        run.guess(0, guess("AB", 0.5)).expect("in turn");
        run.guess(0, guess("", 0.6)).expect("in turn");
        assert_eq!(run.steps[0].guesses, [guess("", 0.6), guess("AB", 0.5)], "one a name");
        run.take_back(0).expect("in turn");
        assert_eq!(run.move_to(0, Some(20.0)), Err(NotNow::NotRevealed));
        run.lock(0).expect("in turn");
        assert_eq!(run.guess(0, guess("", 0.7)), Err(NotNow::Locked));
        assert_eq!(run.take_back(0), Err(NotNow::Locked));
        assert_eq!(run.lock(0), Err(NotNow::Locked));
        assert!(run.is_hidden(0));
        run.reveal(0).expect("in turn");
        assert_eq!(run.guess(0, guess("", 0.7)), Err(NotNow::Locked), "nor after it is seen");
        run.move_to(0, Some(20.0)).expect("in turn");
        assert_eq!((run.first_hidden(), run.stage(1)), (Some(1), StepStage::Open));
        assert_eq!(run.lock(2), Err(NotNow::NoStep));
        run.reveal_all();
        assert_eq!(run.first_hidden(), None);
        assert_eq!(run.steps[0].guesses, [guess("", 0.6)]);
    }
}
