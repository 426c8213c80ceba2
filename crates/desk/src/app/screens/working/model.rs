//! A working as plain texts. Everything is metric, as the scenario file has it.

use crate::board::Against;
use crate::figures::{Freshness, Known};
use crate::screen::Screen;
use obliquity_exchange::{StepRow, TermRow, working_steps};
use obliquity_planning::{Depth, Id, Measure, MeasureId, Origin, Outcome, Scope, knob, measure};

/// What the screen shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct WorkingSheet {
    /// Which figure.
    pub(super) figure: MeasureId,
    /// What it is.
    pub(super) explanation: &'static str,
    /// The steps of its working; or why there are none.
    pub(super) steps: Result<Vec<StepRow>, String>,
    /// Whether it belongs to the scenario as it stands.
    pub(super) freshness: Freshness,
    /// The screen that was shown before, by its name.
    pub(super) before: Option<&'static str>,
    /// What is different against the reference strategy, where there is one.
    pub(super) against: Option<Against>,
}

/// Where the value of a term is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Goal {
    /// Another figure.
    Figure(MeasureId),
    /// A screen.
    Screen(Screen),
    /// A pass.
    Pass(Id),
}

impl WorkingSheet {
    /// The working of a figure of a strategy, as far as it is known.
    pub(super) fn new(
        figure: &Measure,
        known: Option<Known<'_>>,
        before: Option<&'static str>,
        against: Option<Against>,
    ) -> Self {
        let (outcome, freshness) = match known {
            Some(known) => read_from(figure, known),
            None => (Err("There is no strategy to show.".to_owned()), Freshness::Fresh),
        };
        let steps = outcome.and_then(|outcome| working_steps(figure, outcome));
        WorkingSheet { figure: figure.id, explanation: figure.explanation, steps, freshness, before, against }
    }

    /// The figure with what it comes to: the last step's result.
    pub(super) fn told(&self) -> String {
        let name = measure(self.figure).name;
        let last = self.steps.as_ref().ok().and_then(|steps| steps.last());
        let value = last.and_then(|step| step.result.rsplit_once(" = "));
        value.map_or_else(|| name.to_owned(), |(_, value)| format!("{name}: {value}"))
    }
}

/// The outcome that a figure is read from, as the board does.
fn read_from<'a>(figure: &Measure, known: Known<'a>) -> (Result<&'a Outcome, String>, Freshness) {
    if figure.depth >= Depth::Views {
        let why = known.failure.or(known.block.and_then(Result::err).filter(|_| figure.depth > Depth::Views));
        let (outcome, freshness) = known.read_from(figure);
        return (outcome.ok_or_else(|| why.unwrap_or("It is being worked out.").to_owned()), freshness);
    }
    (known.surest().map_err(str::to_owned), known.quick_freshness)
}

/// Where a click on what is said of a term's origin leads; nowhere from what stands above, or is the same for everyone.
pub(super) fn goal(term: &TermRow) -> Option<Goal> {
    Some(match term.origin {
        Origin::Measure(figure) => Goal::Figure(figure),
        Origin::Laid => Goal::Screen(Screen::PLAN),
        Origin::Flown => Goal::Screen(Screen::TIMELINE),
        Origin::Sampled => Goal::Screen(Screen::SPACE),
        Origin::Adjusted => Goal::Screen(Screen::BLOCK),
        Origin::Practice | Origin::Step => return None,
        Origin::Input(id) => match (knob(id).scope, term.pass) {
            (Scope::Pass(_) | Scope::Pattern(_) | Scope::Attitude(_), Some(pass)) => Goal::Pass(pass),
            (Scope::Pass(_) | Scope::Pattern(_) | Scope::Attitude(_), None) => Goal::Screen(Screen::PASSES),
            (Scope::Aircraft(_), _) => Goal::Screen(Screen::EQUIPMENT),
            (Scope::Strategy(_) | Scope::Conditions(_), _) => Goal::Screen(Screen::CONDITIONS),
            (Scope::Requirement(_) | Scope::Rates(_) | Scope::Job(_), _) => Goal::Screen(Screen::REQUIREMENT),
            (Scope::Site(_) | Scope::Structure(_), _) => Goal::Screen(Screen::SITE),
        },
    })
}
