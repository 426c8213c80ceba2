//! A working as plain texts. Everything is metric, as the scenario file has it.

use obliquity_planning::{
    Budget, CountedShare, Formula, Measure, Origin, Outcome, Step, Term, knob, measure,
};
use std::fmt::Write;

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepRow {
    /// What it gives.
    pub heading: String,
    /// The formula, or what is done: `t_changes = (n − 1) × t_change`.
    pub formula: String,
    /// What goes into it.
    pub terms: Vec<TermRow>,
    /// What it comes to.
    pub result: String,
    /// Where it is from.
    pub source: &'static str,
}

/// One term.
#[derive(Debug, Clone, PartialEq)]
pub struct TermRow {
    /// In the formula; empty in sums.
    pub symbol: &'static str,
    /// What it is.
    pub name: String,
    /// With its unit.
    pub value: String,
    /// Where it is from.
    pub origin: String,
}

/// The steps of a figure's working in an outcome.
///
/// # Errors
/// Why there are none, as a sentence.
pub fn working_steps(figure: &Measure, outcome: &Outcome) -> Result<Vec<StepRow>, String> {
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

/// A working as text for a terminal.
pub fn working_text(figure: &Measure, steps: &[StepRow]) -> String {
    let mut text = format!("{}\n{}\n", figure.name, figure.explanation);
    for step in steps {
        let _ = write!(text, "\n{}: {}\n", step.heading, step.formula);
        for term in &step.terms {
            let symbol = if term.symbol.is_empty() { String::new() } else { format!("{} = ", term.symbol) };
            let _ = writeln!(text, "  {symbol}{}  {} ({})", term.value, term.name, term.origin);
        }
        let _ = writeln!(text, "  {}\n  from: {}", step.result, step.source);
    }
    text
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
