//! A working as plain texts. Everything is metric, as the scenario file has it.

use obliquity_planning::{
    Budget, CountedShare, Formula, Id, Measure, Origin, Outcome, Reached, Step, StepLine, StepTable, Term,
    Together, knob, measure,
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
    /// The lines that the formula is worked out for, one by one; none where it is worked out once.
    pub lines: Vec<LineRow>,
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
    pub origin: Origin,
    /// The pass that it is of; nothing where it is of none, or of several.
    pub pass: Option<Id>,
    /// Where it is from, in words.
    pub from: String,
}

/// One line of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct LineRow {
    /// What it is about.
    pub name: String,
    /// The terms of its own, one after the other: `l = 308.45 m`; none where what it gives is counted.
    pub own: Vec<String>,
    /// What it gives: `n = 23`.
    pub gives: String,
}

/// The steps of a figure's working in an outcome.
///
/// # Errors
/// Why there are none, as a sentence.
pub fn working_steps(figure: &Measure, outcome: &Outcome) -> Result<Vec<StepRow>, String> {
    if !outcome.feasible() {
        return Err(format!("Cannot be flown as set: {}.", outcome.reasons.join("; ")));
    }
    let working = figure.read(outcome).and_then(|_| figure.working(outcome));
    let working = working.ok_or("This strategy has no such figure.")?;
    Ok(working.steps.iter().map(StepRow::new).collect())
}

/// What the signs in formulas mean that are not everyone's; nothing where there are none.
pub fn working_signs(steps: &[StepRow]) -> Option<&'static str> {
    const UP: &str =
        "up(…): rounded up to a whole number; what is above one by less than a millionth is that number.";
    steps.iter().any(|step| step.formula.contains("up(")).then_some(UP)
}

/// A working as text for a terminal.
pub fn working_text(figure: &Measure, steps: &[StepRow]) -> String {
    let mut text = format!("{}\n{}\n", figure.name, figure.explanation);
    for step in steps {
        let _ = write!(text, "\n{}: {}\n", step.heading, step.formula);
        for term in &step.terms {
            let _ = writeln!(text, "  {}  {} ({})", equation(term.symbol, &term.value), term.name, term.from);
        }
        for line in &step.lines {
            let own = if line.own.is_empty() { "counted".to_owned() } else { line.own.join(", ") };
            let _ = writeln!(text, "  {}: {own}; {}", line.name, line.gives);
        }
        let _ = writeln!(text, "  {}\n  from: {}", step.result, step.source);
    }
    if let Some(signs) = working_signs(steps) {
        let _ = write!(text, "\n{signs}\n");
    }
    text
}

impl StepRow {
    fn new(step: &Step) -> Self {
        let result = step.result();
        let (formula, terms, lines): (String, Vec<&Term>, &[StepLine]) = match step {
            Step::Formula(Formula { expression, terms, .. }) => {
                (equation(result.symbol, &expression.text()), terms.iter().collect(), &[])
            }
            Step::Budget(Budget { parts, .. }) => {
                ("the sum of its parts".to_owned(), parts.iter().collect(), &[])
            }
            Step::Table(table) => (table_formula(table), table.shared.iter().collect(), &table.lines),
            Step::Share(CountedShare { whole, counted, rest, .. }) => {
                let formula = format!("{} = {} of {}", result.symbol, counted.symbol, whole.symbol);
                (formula, [whole, counted].into_iter().chain(rest).collect(), &[])
            }
            Step::Reached(Reached { whole, share, below, up_to, .. }) => (
                format!("{} < {} of {} ≤ {}", below.symbol, share.symbol, whole.symbol, up_to.symbol),
                vec![whole, share, below, up_to],
                &[],
            ),
        };
        StepRow {
            heading: capital(&result.name),
            formula,
            terms: terms.into_iter().map(TermRow::new).collect(),
            lines: lines.iter().map(LineRow::new).collect(),
            result: told(result),
            source: step.source(),
        }
    }
}

/// The formula of a table's lines, and what becomes of all of them.
fn table_formula(table: &StepTable) -> String {
    let all = match table.together {
        Together::Sum => "line by line, added up",
        Together::Greatest => "the greatest of all lines",
    };
    let plain = table.lines.iter().find(|line| !line.own.is_empty());
    match plain {
        Some(line) => format!("{}, {all}", equation(line.gives.symbol, &table.expression.text())),
        None => all.to_owned(),
    }
}

/// A symbol and what it is; the latter alone where there is none.
fn equation(symbol: &str, value: &str) -> String {
    if symbol.is_empty() { value.to_owned() } else { format!("{symbol} = {value}") }
}

/// What a step gives, by its symbol, or by its name where it has none.
fn told(result: &Term) -> String {
    let symbol = if result.symbol.is_empty() { result.name.as_str() } else { result.symbol };
    equation(symbol, &result.text())
}

impl TermRow {
    fn new(term: &Term) -> Self {
        let from = match term.origin {
            Origin::Input(id) => format!("set: {} ({})", knob(id).whole, knob(id).scope.part()),
            Origin::Measure(id) => format!("figure: {}", measure(id).name),
            Origin::Laid => "laid out: see the plan".to_owned(),
            Origin::Flown => "flown: see the timeline".to_owned(),
            Origin::Sampled => "counted on samples: see 3D".to_owned(),
            Origin::Adjusted => "from the adjustment: see Block".to_owned(),
            Origin::Practice => "the same for everyone".to_owned(),
            Origin::Step => "from above".to_owned(),
        };
        let (symbol, name) = (term.symbol, term.name.clone());
        TermRow { symbol, name, value: term.text(), origin: term.origin, pass: term.pass, from }
    }
}

impl LineRow {
    fn new(line: &StepLine) -> Self {
        let own = line.own.iter().map(|term| equation(term.symbol, &term.text())).collect();
        let gives = equation(line.gives.symbol, &line.gives.text());
        LineRow { name: line.name.clone(), own, gives }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
