use crate::result::MeasureId;
use crate::result::working::expression::Expression;
use crate::scenario::KnobId;

/// How a figure comes about, step by step.
#[derive(Debug, Clone, PartialEq)]
pub struct Working {
    /// What it is made of first; the last step gives the figure.
    pub steps: Vec<Step>,
}

/// One step of a working.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// A formula.
    Formula(Formula),
    /// Parts that add up.
    Budget(Budget),
    /// Counted area by area.
    Share(CountedShare),
}

/// A formula with the values that go into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// What it gives.
    pub result: Term,
    /// Its right side.
    pub expression: Expression,
    /// The symbols in it.
    pub terms: Vec<Term>,
    /// Where it is from.
    pub source: &'static str,
}

/// Parts that add up to the result.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Their sum.
    pub result: Term,
    /// All of them; those that are 0 too.
    pub parts: Vec<Term>,
    /// Where it is from.
    pub source: &'static str,
}

/// A share that is counted, sample by sample: what counts, and why the rest does not.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedShare {
    /// The figure.
    pub result: Term,
    /// All that is counted.
    pub whole: Term,
    /// What counts.
    pub counted: Term,
    /// What does not, by reason; with what counts it is the whole.
    pub rest: Vec<Term>,
    /// Where it is from.
    pub source: &'static str,
}

/// A value with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// In formulas.
    pub symbol: &'static str,
    /// What it is.
    pub name: String,
    /// In its unit.
    pub value: f64,
    /// The unit's sign; empty for a count.
    pub unit: &'static str,
    /// Where it is from.
    pub origin: Origin,
}

/// Where a term is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// What is set.
    Input(KnobId),
    /// Another figure.
    Measure(MeasureId),
    /// What is laid out, flown or counted.
    Counted,
    /// A step of the same working.
    Step,
}

impl Term {
    pub(crate) fn new(symbol: &'static str, name: impl Into<String>, value: f64, unit: &'static str) -> Self {
        Term { symbol, name: name.into(), value, unit, origin: Origin::Counted }
    }

    pub(crate) fn from(self, origin: Origin) -> Self {
        Term { origin, ..self }
    }

    /// The value as it is shown: whole numbers whole, others with at least four figures and a decimal.
    pub fn shown(&self) -> String {
        if self.value.fract() == 0.0 {
            return format!("{:.0}", self.value + 0.0);
        }
        let places = self.value.abs().log10().floor().clamp(-MOST_DECIMALS, MOST_DECIMALS);
        let decimals = (FIGURES - 1.0 - places).clamp(1.0, MOST_DECIMALS) as usize;
        format!("{:.decimals$}", self.value)
    }

    /// The value as it is shown, with its unit.
    pub fn text(&self) -> String {
        format!("{} {}", self.shown(), self.unit).trim_end().to_owned()
    }
}

/// Figures of a number that is not whole.
const FIGURES: f64 = 4.0;

/// Decimals of a very small number.
const MOST_DECIMALS: f64 = 9.0;

impl Step {
    /// What it gives.
    pub fn result(&self) -> &Term {
        match self {
            Step::Formula(formula) => &formula.result,
            Step::Budget(budget) => &budget.result,
            Step::Share(share) => &share.result,
        }
    }

    /// Where it is from.
    pub fn source(&self) -> &'static str {
        match self {
            Step::Formula(formula) => formula.source,
            Step::Budget(budget) => budget.source,
            Step::Share(share) => share.source,
        }
    }
}

impl Working {
    /// What it gives.
    pub fn result(&self) -> Option<&Term> {
        self.steps.last().map(Step::result)
    }
}

#[cfg(test)]
mod tests {
    use crate::result::working::terms::*;

    // Derived: four figures, by hand.
    #[test]
    fn numbers_show_at_least_four_figures() {
        let shown = |value: f64| Term::new("x", "", value, "").shown();
        assert_eq!(shown(360.0), "360");
        assert_eq!(shown(1234.56), "1234.6");
        assert_eq!(shown(73.25), "73.25");
        assert_eq!(shown(0.012343), "0.01234");
        assert_eq!(shown(0.0), "0");
        assert_eq!(shown(-0.0), "0");
    }
}
