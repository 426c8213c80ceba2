//! How many digits a working shows: so many that whoever works with what is shown comes to what is shown.

use crate::base::wording::trimmed;
use crate::result::working::digits::{FEWEST, decimals};
use crate::result::working::expression::Expression;
use crate::result::working::terms::{
    Budget, CountedShare, Formula, Origin, Reached, Step, StepLine, StepTable, Term, Together, Working,
};

/// Figures beyond which a number is not known.
const MOST: usize = 12;

impl Working {
    /// Steps, each shown with so many digits that what is shown comes to what is shown.
    pub(crate) fn new(steps: impl IntoIterator<Item = Step>) -> Self {
        let mut steps: Vec<Step> = steps.into_iter().collect();
        settle(&mut steps);
        Working { steps }
    }
}

impl Term {
    /// The value that is read.
    fn read(&self) -> f64 {
        self.shown().parse().unwrap_or(f64::NAN)
    }

    /// Whether a value is read as this one once it is rounded as this one is.
    fn is_read_of(&self, value: f64) -> bool {
        // Of a whole number as many decimals as of one that is just beside it.
        let decimals = if self.value == 0.0 { 1 } else { decimals(self.value, self.figures) };
        trimmed(value, decimals) == self.shown()
    }
}

/// Gives every step the fewest figures with which it comes to what it shows; a value that is taken from an earlier step is shown
/// there with as many.
fn settle(steps: &mut [Step]) {
    for k in (0..steps.len()).rev() {
        let (before, step) = steps.split_at_mut(k);
        settle_one(&mut step[0], FEWEST);
        for term in step[0].terms().into_iter().filter(|term| term.origin == Origin::Step) {
            if let Some(given) =
                before.iter_mut().rev().map(Step::result_mut).find(|given| is_one(given, term))
            {
                given.figures = given.figures.max(term.figures);
            }
        }
    }
    for k in 0..steps.len() {
        let (before, step) = steps.split_at_mut(k);
        let figures: Vec<(usize, usize)> = step[0]
            .terms()
            .into_iter()
            .enumerate()
            .filter(|(_, term)| term.origin == Origin::Step)
            .filter_map(|(at, term)| {
                let given = before.iter().rev().map(Step::result).find(|given| is_one(given, term))?;
                Some((at, given.figures))
            })
            .collect();
        let mut terms = step[0].terms_mut();
        for (at, figures) in figures {
            terms[at].figures = figures;
        }
        if !holds(&step[0]) {
            settle_one(&mut step[0], FEWEST);
        }
    }
}

/// Whether a term is what an earlier step gives.
fn is_one(given: &Term, term: &Term) -> bool {
    given.unit == term.unit && (given.value - term.value).abs() <= 1e-9 * term.value.abs()
}

/// Tries more and more figures for what goes into a step; of what is worked out on the way to its result as many or fewer.
fn settle_one(step: &mut Step, fewest: usize) {
    for between in FEWEST..=MOST {
        match step {
            Step::Table(table) => table.lines.iter_mut().for_each(|line| line.gives.figures = between),
            Step::Share(share) => share.whole.figures = between,
            Step::Formula(_) | Step::Budget(_) | Step::Reached(_) => {}
        }
        for figures in fewest.max(between)..=MOST {
            step.terms_mut().into_iter().for_each(|term| term.figures = figures);
            if holds(step) {
                return;
            }
        }
    }
}

/// Whether what is shown of a step comes to what it shows.
fn holds(step: &Step) -> bool {
    match step {
        Step::Formula(Formula { result, expression, terms, .. }) => {
            worked(expression, terms, &[]).is_some_and(|value| result.is_read_of(value))
        }
        Step::Budget(Budget { result, parts, .. }) => result.is_read_of(parts.iter().map(Term::read).sum()),
        Step::Table(table) => table_holds(table),
        Step::Share(CountedShare { result, whole, counted, rest, .. }) => {
            let all: f64 = [counted].into_iter().chain(rest).map(Term::read).sum();
            whole.is_read_of(all) && result.is_read_of(100.0 * counted.read() / whole.read())
        }
        Step::Reached(Reached { whole, share, below, up_to, .. }) => {
            let asked = share.read() / 100.0 * whole.read();
            below.read() < asked && asked <= up_to.read()
        }
    }
}

fn table_holds(table: &StepTable) -> bool {
    let StepTable { result, expression, shared, lines, together, .. } = table;
    let line_holds = |line: &StepLine| {
        line.own.is_empty()
            || worked(expression, shared, &line.own).is_some_and(|value| line.gives.is_read_of(value))
    };
    let gives = lines.iter().map(|line| line.gives.read());
    let all = match together {
        Together::Sum => gives.sum(),
        Together::Greatest => gives.fold(f64::NEG_INFINITY, f64::max),
    };
    result.is_read_of(all) && lines.iter().all(line_holds)
}

/// What an expression comes to with values as they are read.
fn worked(expression: &Expression, terms: &[Term], own: &[Term]) -> Option<f64> {
    let of = |symbol: &str| terms.iter().chain(own).find(|term| term.symbol == symbol).map(Term::read);
    expression.value(&of)
}

#[cfg(test)]
mod tests {
    use crate::result::working::settle::*;

    // Derived: 3 × 0.3333 = 0.9999, which is not 1; with five figures 0.99999 is read as 1 with four. 12.345 × 8 = 98.76, but
    // 12.35 × 8 = 98.8.
    #[test]
    fn so_many_digits_are_shown_that_what_is_shown_comes_out() {
        let third = || Term::new("", "a third", 1.0 / 3.0, "");
        let parts = vec![third(), third(), third()];
        let near_one = Term::new("x", "nearly one", 1.0 - 1e-12, "");
        let mut steps = [Step::Budget(Budget { result: near_one, parts, source: "" })];
        settle(&mut steps);
        assert!(holds(&steps[0]));
        let terms = vec![Term::new("a", "", 12.345, ""), Term::new("b", "", 8.0, "")];
        let expression = Expression::symbol("a") * Expression::symbol("b");
        let result = Term::new("c", "", 98.76, "");
        let mut steps = [Step::Formula(Formula { result, expression, terms, source: "" })];
        settle(&mut steps);
        assert_eq!(steps[0].terms()[0].shown(), "12.345");
    }
}
