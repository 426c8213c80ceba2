//! A working as plain texts. Everything is metric, as the scenario file has it.

use crate::figures::{Freshness, Known};
use obliquity_exchange::{StepRow, working_steps};
use obliquity_planning::{Depth, Measure, MeasureId, Outcome};

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
}

impl WorkingSheet {
    /// The working of a figure of a strategy, as far as it is known.
    pub(super) fn new(figure: &Measure, known: Option<Known<'_>>) -> Self {
        let (outcome, freshness) = match known {
            Some(known) => read_from(figure, known),
            None => (Err("There is no strategy to show.".to_owned()), Freshness::Fresh),
        };
        let steps = outcome.and_then(|outcome| working_steps(figure, outcome));
        WorkingSheet { figure: figure.id, explanation: figure.explanation, steps, freshness }
    }
}

/// The outcome that a figure is read from, as the board does.
fn read_from<'a>(figure: &Measure, known: Known<'a>) -> (Result<&'a Outcome, String>, Freshness) {
    if figure.depth >= Depth::Views {
        let pending = || known.failure.unwrap_or("It is being worked out.").to_owned();
        return (known.views.ok_or_else(pending), known.freshness);
    }
    (known.surest().map_err(str::to_owned), known.quick_freshness)
}
