//! What stands on a page of a lesson. While a figure is hidden it is not among what the page is made from.

use obliquity_exchange::chart::{Chart, StepShown, step_chart};
use obliquity_exchange::{
    figure_text, guess_field, off_text, question_text, settings_text, tolerance_text, working_lines,
};
use obliquity_planning::lesson::{
    Guess, GuessOff, Lesson, LessonRun, LessonStep, StepFigures, StepStage, knob_called,
};
use obliquity_planning::wording::within;
use obliquity_planning::{Id, Units};

/// That a lesson's command-line relatives show everything.
pub(super) const REVEALS: &str = "Until every step is revealed all other screens are shut. The commands compare, export and picture \
                           show everything that is asked here: guesses are for learning, not for marks.";

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub enum LessonSheet {
    /// Before the first step.
    Title(TitleSheet),
    /// A step.
    Step(Box<StepSheet>),
    /// After the last one.
    End(EndSheet),
}

/// The page before the first step.
#[derive(Debug, Clone, PartialEq)]
pub struct TitleSheet {
    /// The lesson's name.
    pub name: String,
    /// What it teaches.
    pub note: String,
    /// How many steps.
    pub steps: String,
    /// Whose run it is.
    pub learner: String,
}

/// A step's page.
#[derive(Debug, Clone, PartialEq)]
pub struct StepSheet {
    /// "Step 2 of 5".
    pub place: String,
    /// What is said before the guess.
    pub text: String,
    /// What is set otherwise than before.
    pub settings: Option<String>,
    /// The question.
    pub question: String,
    /// Within what a guess is near.
    pub near: String,
    /// What the guess is typed in.
    pub sign: String,
    /// The guesses.
    pub guesses: Vec<GuessLine>,
    /// The answer, or what stands in its place.
    pub answer: AnswerSheet,
    /// Told figures, guesses, and the figure where it is revealed.
    pub chart: Chart,
}

/// A guess.
#[derive(Debug, Clone, PartialEq)]
pub struct GuessLine {
    /// Whose, or "guess".
    pub who: String,
    /// What was guessed.
    pub text: String,
    /// How far it is off, once that may be told.
    pub off: Option<String>,
    /// Whether it is near, once that may be told.
    pub is_near: Option<bool>,
}

/// What stands where the answer will be.
#[derive(Debug, Clone, PartialEq)]
pub enum AnswerSheet {
    /// Nothing of it may be seen.
    Hidden(Hidden),
    /// It is revealed and still being worked out.
    ComingUp,
    /// It cannot be worked out, and why.
    Refused(String),
    /// The figure and its working.
    Shown(Box<ShownAnswer>),
}

/// In place of an answer that is hidden: how far the step is, and nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hidden {
    /// Whether guesses are taken or locked.
    pub stage: StepStage,
}

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownAnswer {
    /// The figure.
    pub figure: String,
    /// What is said of it.
    pub after: String,
    /// Where the step's input stands, and how it is moved; nothing where it has none.
    pub moves: Option<String>,
    /// What was said before the guess.
    pub asked: String,
    /// What the working is of.
    pub heading: String,
    /// How it comes about.
    pub working: Vec<WorkingLine>,
}

/// A line of a working.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkingLine {
    /// What it says.
    pub text: String,
    /// Whether it begins a part.
    pub is_heading: bool,
}

/// The page after the last step.
#[derive(Debug, Clone, PartialEq)]
pub struct EndSheet {
    /// How many guesses were near.
    pub summary: String,
    /// One for each step.
    pub rows: Vec<EndRow>,
}

/// A step on the last page.
#[derive(Debug, Clone, PartialEq)]
pub struct EndRow {
    /// Which one.
    pub place: String,
    /// What was guessed and how far off that was; nothing of the figure while it is hidden.
    pub text: String,
}

/// What a step's page is made from.
pub(crate) struct GivenStep<'a> {
    pub(crate) lesson: &'a Lesson,
    pub(crate) run: &'a LessonRun,
    pub(crate) step: usize,
    pub(crate) units: Units,
    /// Figures that are told with the question.
    pub(crate) told: Vec<(Id, f64)>,
    /// What it comes to: asked for only once the step is revealed.
    pub(crate) figures: &'a dyn Fn() -> Option<Result<StepFigures, String>>,
    /// The same where its input was moved to: asked for only then.
    pub(crate) moved: &'a dyn Fn() -> Option<Moved>,
    /// Why a line of a working is not shown yet; asked of revealed steps alone.
    pub(crate) held_back: &'a dyn Fn(&str) -> Option<String>,
}

/// What a moved input comes to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Moved {
    /// This.
    Figure(f64),
    /// It would tell of a step that is not revealed.
    Tells(usize),
    /// It is being worked out.
    ComingUp,
    /// It cannot be flown, or not be worked out: why.
    Refused(String),
}

impl StepSheet {
    pub(crate) fn new(given: &GivenStep<'_>) -> Option<Self> {
        let GivenStep { lesson, run, step, units, .. } = *given;
        let of = lesson.steps.get(step)?;
        let own = run.steps.get(step)?;
        let stage = run.stage(step);
        let known = if run.is_hidden(step) { None } else { (given.figures)() };
        let figure = known.as_ref().and_then(|known| known.as_ref().ok()?.figure);
        let answer = match (&known, figure) {
            _ if run.is_hidden(step) => AnswerSheet::Hidden(Hidden { stage }),
            (None, _) => AnswerSheet::ComingUp,
            (Some(Err(why)), _) => AnswerSheet::Refused(why.clone()),
            (Some(Ok(figures)), None) => AnswerSheet::Refused(no_figure(figures)),
            (Some(Ok(figures)), Some(figure)) => {
                AnswerSheet::Shown(Box::new(given.shown(of, figures, figure)))
            }
        };
        // It has its bar from the reveal on, so that nothing jumps once it is moved.
        let moved = figure.and_then(|figure| match own.moved {
            None => Some((moved_text(of, lesson.asked_at(step)?, units)?, Some(figure))),
            Some(value) => {
                let known = (given.moved)().and_then(|moved| match moved {
                    Moved::Figure(moved) => Some(moved),
                    Moved::Tells(_) | Moved::ComingUp | Moved::Refused(_) => None,
                });
                Some((moved_text(of, value, units)?, known))
            }
        });
        let moved = moved.as_ref().map(|(words, value)| (words.as_str(), *value));
        let shown =
            StepShown { lesson, step: of, guesses: &own.guesses, told: &given.told, figure, moved, units };
        let sign = units.suffix(obliquity_exchange::asked_unit(of)).trim().to_owned();
        Some(StepSheet {
            place: format!("Step {} of {}", step + 1, lesson.steps.len()),
            text: of.text.clone(),
            settings: settings_text(lesson, of, units),
            question: question_text(lesson, of, units),
            near: tolerance_text(of.tolerance, of, units),
            sign,
            guesses: own.guesses.iter().map(|guess| guess_line(of, guess, figure, units)).collect(),
            answer,
            chart: step_chart(&shown),
        })
    }
}

impl GivenStep<'_> {
    fn shown(&self, of: &LessonStep, figures: &StepFigures, figure: f64) -> ShownAnswer {
        let GivenStep { lesson, run, step, units, .. } = *self;
        let lines = working_lines(of, lesson, figures).into_iter();
        let mut working: Vec<WorkingLine> =
            lines.map(|text| WorkingLine { is_heading: !text.starts_with(' '), text }).collect();
        for line in &mut working {
            if let Some(why) = (self.held_back)(&line.text) {
                line.text = why;
            }
        }
        let moves = of.moves.as_ref().and_then(|moves| {
            let name = within(knob_called(&moves.knob)?.whole);
            let unit = knob_called(&moves.knob)?.unit;
            let at = run.steps[step].moved.map(|value| units.text(unit, value));
            Some(match (at, run.steps[step].moved.and_then(|_| (self.moved)())) {
                (Some(at), Some(Moved::Figure(value))) => {
                    format!("Left and right move {name}; at {at}: {}.", figure_text(of, value, units))
                }
                (Some(at), Some(Moved::Tells(later))) => {
                    format!(
                        "Left and right move {name}; at {at}: hidden until step {} is revealed, which asks about this.",
                        later + 1
                    )
                }
                (Some(at), Some(Moved::Refused(why))) => format!("Left and right move {name}, now {at}. {why}"),
                (Some(at), _) => format!("Left and right move {name}; at {at}: being worked out."),
                (None, _) => format!("Left and right move {name}."),
            })
        });
        let at = lesson.asked_at(step).and_then(|value| moved_text(of, value, units));
        let heading = match at.filter(|_| run.steps[step].moved.is_some()) {
            Some(at) => format!("Working of what was asked, {at} (up and down to read on)"),
            None => "Working (up and down to read on)".to_owned(),
        };
        ShownAnswer {
            figure: figure_text(of, figure, units),
            after: of.after.clone(),
            moves,
            asked: of.text.clone(),
            heading,
            working,
        }
    }
}

/// Why a step has no figure, in a sentence.
pub(crate) fn no_figure(figures: &StepFigures) -> String {
    let why = figures.outcomes.iter().flat_map(|own| own.reasons.iter()).next();
    why.map_or_else(|| "There is no such figure.".to_owned(), |why| format!("Cannot be flown as set: {why}."))
}

/// Where a step's input was moved to, in words.
fn moved_text(of: &LessonStep, value: f64, units: Units) -> Option<String> {
    let knob = knob_called(&of.moves.as_ref()?.knob)?;
    Some(format!("{} {}", within(knob.whole), units.text(knob.unit, value)))
}

fn guess_line(of: &LessonStep, guess: &Guess, figure: Option<f64>, units: Units) -> GuessLine {
    let unit = of.measure().map(|row| row.unit);
    let off = figure.zip(unit).map(|(figure, unit)| GuessOff::of(&of.asked, unit, guess.value, figure));
    GuessLine {
        who: if guess.who.is_empty() { "Guess".to_owned() } else { guess.who.clone() },
        text: figure_text(of, guess.value, units),
        off: off.map(|off| off_text(off, of, units)),
        is_near: off.map(|off| off.is_within(of.tolerance)),
    }
}

impl TitleSheet {
    pub(crate) fn new(lesson: &Lesson, run: &LessonRun) -> Self {
        let count = lesson.steps.len();
        TitleSheet {
            name: lesson.name.clone(),
            note: lesson.note.clone(),
            steps: format!("{count} {}. {REVEALS}", if count == 1 { "step" } else { "steps" }),
            learner: run.learner.clone(),
        }
    }
}

impl EndSheet {
    /// The last page; `figure` gives what a revealed step comes to.
    pub(crate) fn new(
        lesson: &Lesson,
        run: &LessonRun,
        units: Units,
        figure: impl Fn(usize) -> Option<f64>,
    ) -> Self {
        let (mut near, mut all) = (0, 0);
        let mut rows = Vec::new();
        for (k, (of, own)) in lesson.steps.iter().zip(&run.steps).enumerate() {
            let known = if run.is_hidden(k) { None } else { figure(k) };
            let lines: Vec<GuessLine> =
                own.guesses.iter().map(|guess| guess_line(of, guess, known, units)).collect();
            near += lines.iter().filter(|line| line.is_near == Some(true)).count();
            all += lines.iter().filter(|line| line.is_near.is_some()).count();
            let guessed: Vec<String> = lines
                .iter()
                .map(|line| {
                    let off = line.off.as_ref().map_or_else(String::new, |off| format!(", {off}"));
                    format!("{} {}{off}", line.who, line.text)
                })
                .collect();
            let is = match known {
                _ if run.is_hidden(k) => "hidden".to_owned(),
                Some(value) => figure_text(of, value, units),
                None => "being worked out".to_owned(),
            };
            let guessed = if guessed.is_empty() { "nothing guessed".to_owned() } else { guessed.join("; ") };
            rows.push(EndRow { place: format!("Step {}", k + 1), text: format!("{is}. {guessed}.") });
        }
        let summary = match run.first_hidden() {
            Some(step) => format!("Step {} is not revealed yet. Page Up leads back.", step + 1),
            None if near == 1 => format!("1 of {all} guesses was near."),
            None => format!("{near} of {all} guesses were near."),
        };
        EndSheet { summary, rows }
    }
}

/// What was typed as a guess: a name before the number, if there is one.
///
/// # Errors
/// What was required, what came and the mend.
pub(crate) fn typed_guess(of: &LessonStep, typed: &str, units: Units) -> Result<Guess, String> {
    let typed = typed.trim();
    let is_number = |letter: char| letter.is_ascii_digit() || "+-−.,".contains(letter);
    let at = typed.find(is_number).unwrap_or(typed.len());
    let (who, number) = typed.split_at(at);
    if number.is_empty() {
        return Err(format!(
            "a number was required, but it is \"{typed}\"; type one, a name before it if you like"
        ));
    }
    let value = guess_field(of, units).read(number).map_err(|misread| misread.reason)?;
    let who: String = who.trim().chars().take(24).collect();
    Ok(Guess { who, value })
}
