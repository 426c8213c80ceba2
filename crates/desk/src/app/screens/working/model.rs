//! A working as plain texts. Everything is metric, as the scenario file has it.

use crate::figures::{Freshness, Known};
use obliquity_planning::{
    Budget, CountedShare, Depth, Formula, Measure, MeasureId, Origin, Outcome, Step, Term, knob, measure,
};

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

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StepRow {
    /// What it gives.
    pub(super) heading: String,
    /// The formula, or what is done: `t_changes = (n − 1) × t_change`.
    pub(super) formula: String,
    /// What goes into it.
    pub(super) terms: Vec<TermRow>,
    /// What it comes to.
    pub(super) result: String,
    /// Where it is from.
    pub(super) source: &'static str,
}

/// One term.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TermRow {
    /// In the formula; empty in sums.
    pub(super) symbol: &'static str,
    /// What it is.
    pub(super) name: String,
    /// With its unit.
    pub(super) value: String,
    /// Where it is from.
    pub(super) origin: String,
}

impl WorkingSheet {
    /// The working of a figure of a strategy, as far as it is known.
    pub(super) fn new(figure: &Measure, known: Option<Known<'_>>) -> Self {
        let (outcome, freshness) = match known {
            Some(known) => read_from(figure, known),
            None => (Err("There is no strategy to show.".to_owned()), Freshness::Fresh),
        };
        let steps = outcome.and_then(|outcome| steps(figure, outcome));
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

fn steps(figure: &Measure, outcome: &Outcome) -> Result<Vec<StepRow>, String> {
    if !outcome.feasible() {
        return Err(format!("Cannot be flown as set: {}.", outcome.reasons.join("; ")));
    }
    if figure.read(outcome).is_none() {
        return Err("This strategy has no such figure.".to_owned());
    }
    let working = figure.working(outcome);
    let working = working.ok_or("Its steps are not told yet; what it is stands above.")?;
    Ok(working.steps.iter().map(StepRow::new).collect())
}

impl StepRow {
    fn new(step: &Step) -> Self {
        let result = step.result();
        let (formula, terms): (String, Vec<TermRow>) = match step {
            Step::Formula(Formula { expression, terms, .. }) => {
                let formula = format!("{} = {}", result.symbol, expression.text());
                (formula, terms.iter().map(TermRow::new).collect())
            }
            Step::Budget(Budget { parts, .. }) => {
                ("the sum of its parts".to_owned(), parts.iter().map(TermRow::new).collect())
            }
            Step::Share(CountedShare { whole, counted, rest, .. }) => {
                let all = [whole, counted].into_iter().chain(rest);
                (
                    format!("counted on {} of {}", counted.text(), whole.text()),
                    all.map(TermRow::new).collect(),
                )
            }
        };
        let told = format!("{} = {}", result.symbol, result.text());
        StepRow { heading: capital(&result.name), formula, terms, result: told, source: step.source() }
    }
}

impl TermRow {
    fn new(term: &Term) -> Self {
        let origin = match term.origin {
            Origin::Input(id) => format!("set: {} ({})", knob(id).whole, id.field()),
            Origin::Measure(id) => format!("figure: {}", measure(id).name),
            Origin::Counted => "laid out and counted".to_owned(),
            Origin::Step => "from above".to_owned(),
        };
        TermRow { symbol: term.symbol, name: term.name.clone(), value: term.text(), origin }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
