use crate::base::Id;
use crate::result::MeasureId;
use crate::result::working::digits;
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
    /// One formula for many lines.
    Table(StepTable),
    /// Counted area by area.
    Share(CountedShare),
    /// The value that a share of an area reaches.
    Reached(Reached),
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

/// One formula that is worked out line by line, and what the lines come to together.
#[derive(Debug, Clone, PartialEq)]
pub struct StepTable {
    /// All lines together.
    pub result: Term,
    /// The right side of the formula.
    pub expression: Expression,
    /// The symbols that are the same in every line.
    pub shared: Vec<Term>,
    /// The lines.
    pub lines: Vec<StepLine>,
    /// How they come together.
    pub together: Together,
    /// Where it is from.
    pub source: &'static str,
}

/// One line.
#[derive(Debug, Clone, PartialEq)]
pub struct StepLine {
    /// What it is about.
    pub name: String,
    /// The symbols of its own; none where the formula does not hold and what it gives is counted.
    pub own: Vec<Term>,
    /// What it gives.
    pub gives: Term,
}

/// How the lines of a table come together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Together {
    /// Added up.
    Sum,
    /// The greatest of them.
    Greatest,
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

/// The least value up to which a share of an area comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Reached {
    /// The value.
    pub result: Term,
    /// The area.
    pub whole: Term,
    /// The share of it that is asked for.
    pub share: Term,
    /// The area below the value: less than the share.
    pub below: Term,
    /// The area up to the value, itself included: the share or more.
    pub up_to: Term,
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
    /// The pass that it is of; nothing where it is of none, or of several.
    pub pass: Option<Id>,
    /// So many figures are shown of it, where it is not whole.
    pub figures: usize,
}

/// Where a term is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// What is set.
    Input(KnobId),
    /// Another figure.
    Measure(MeasureId),
    /// What is laid out on the site.
    Laid,
    /// What is flown.
    Flown,
    /// What is counted on the samples of surfaces.
    Sampled,
    /// What the adjustment of the block tells.
    Adjusted,
    /// A number that is used by everyone.
    Practice,
    /// A step of the same working.
    Step,
}

impl Term {
    /// Something that is laid out; [`Term::from`] says otherwise.
    pub(crate) fn new(symbol: &'static str, name: impl Into<String>, value: f64, unit: &'static str) -> Self {
        Term {
            symbol,
            name: name.into(),
            value,
            unit,
            origin: Origin::Laid,
            pass: None,
            figures: digits::FEWEST,
        }
    }

    pub(crate) fn from(self, origin: Origin) -> Self {
        Term { origin, ..self }
    }

    /// The value as it is shown: whole numbers whole, others with so many figures and a decimal at least, zeros at the end
    /// left out.
    pub fn shown(&self) -> String {
        digits::shown(self.value, self.figures)
    }

    /// The value as it is shown, with its unit.
    pub fn text(&self) -> String {
        format!("{} {}", self.shown(), self.unit).trim_end().to_owned()
    }
}

impl Step {
    /// What it gives.
    pub fn result(&self) -> &Term {
        match self {
            Step::Formula(Formula { result, .. })
            | Step::Budget(Budget { result, .. })
            | Step::Table(StepTable { result, .. })
            | Step::Share(CountedShare { result, .. })
            | Step::Reached(Reached { result, .. }) => result,
        }
    }

    pub(crate) fn result_mut(&mut self) -> &mut Term {
        match self {
            Step::Formula(Formula { result, .. })
            | Step::Budget(Budget { result, .. })
            | Step::Table(StepTable { result, .. })
            | Step::Share(CountedShare { result, .. })
            | Step::Reached(Reached { result, .. }) => result,
        }
    }

    /// What goes into it, but for what the lines of a table give.
    pub fn terms(&self) -> Vec<&Term> {
        match self {
            Step::Formula(Formula { terms, .. }) => terms.iter().collect(),
            Step::Budget(Budget { parts, .. }) => parts.iter().collect(),
            Step::Table(StepTable { shared, lines, .. }) => {
                shared.iter().chain(lines.iter().flat_map(|line| &line.own)).collect()
            }
            Step::Share(CountedShare { counted, rest, .. }) => [counted].into_iter().chain(rest).collect(),
            Step::Reached(Reached { whole, share, below, up_to, .. }) => vec![whole, share, below, up_to],
        }
    }

    pub(crate) fn terms_mut(&mut self) -> Vec<&mut Term> {
        match self {
            Step::Formula(Formula { terms, .. }) => terms.iter_mut().collect(),
            Step::Budget(Budget { parts, .. }) => parts.iter_mut().collect(),
            Step::Table(StepTable { shared, lines, .. }) => {
                shared.iter_mut().chain(lines.iter_mut().flat_map(|line| &mut line.own)).collect()
            }
            Step::Share(CountedShare { counted, rest, .. }) => [counted].into_iter().chain(rest).collect(),
            Step::Reached(Reached { whole, share, below, up_to, .. }) => vec![whole, share, below, up_to],
        }
    }

    /// The same with all that goes into it of a pass.
    pub(crate) fn of_pass(mut self, pass: Id) -> Self {
        self.terms_mut().into_iter().for_each(|term| term.pass = Some(pass));
        self
    }

    /// Where it is from.
    pub fn source(&self) -> &'static str {
        match self {
            Step::Formula(formula) => formula.source,
            Step::Budget(budget) => budget.source,
            Step::Table(table) => table.source,
            Step::Share(share) => share.source,
            Step::Reached(reached) => reached.source,
        }
    }
}

impl Working {
    /// What it gives.
    pub fn result(&self) -> Option<&Term> {
        self.steps.last().map(Step::result)
    }
}
