//! Works formulas out from their text, as a reader with a pocket calculator does: nothing here knows how they were made.

use obliquity_exchange::StepRow;
use std::collections::BTreeMap;

/// Values by their symbols.
pub(crate) type Values = BTreeMap<String, f64>;

/// What a step comes to by its text alone, and how far that may be from what it shows: half of the last place of four figures,
/// or of one decimal.
pub(crate) struct Worked {
    pub(crate) value: f64,
    pub(crate) shown: f64,
}

impl Worked {
    fn new(value: f64, result: &str) -> Self {
        Worked { value, shown: number(value_of(result)) }
    }

    /// Whether the one is the other as it is shown.
    pub(crate) fn agrees(&self) -> bool {
        let places = self.shown.abs().max(1e-12).log10().floor();
        let half = 0.5 * 10_f64.powf((places - 3.0).min(-1.0));
        // A last bit for what lies in the middle of two last places.
        (self.value - self.shown).abs() <= half * (1.0 + 1e-6)
    }
}

/// Behind the equals sign; all of it where there is none.
pub(crate) fn value_of(text: &str) -> &str {
    text.rsplit_once(" = ").map_or(text, |(_, value)| value)
}

/// The number at the beginning of a text.
pub(crate) fn number(text: &str) -> f64 {
    let first = text.split(' ').next().unwrap();
    first.parse().unwrap_or_else(|_| panic!("{text:?} begins with no number"))
}

/// The terms of a step by their symbols, as they are shown.
pub(crate) fn values(step: &StepRow) -> Values {
    step.terms.iter().map(|term| (term.symbol.to_owned(), number(&term.value))).collect()
}

/// Works a step out from what it shows.
pub(crate) fn worked(step: &StepRow) -> Vec<Worked> {
    worked_with(step, &values(step))
}

/// Works a step out with these values for its terms.
pub(crate) fn worked_with(step: &StepRow, values: &Values) -> Vec<Worked> {
    let parts = |from: usize| step.terms[from..].iter().map(|term| number(&term.value)).sum::<f64>();
    let text = step.formula.as_str();
    if text == "the sum of its parts" {
        return vec![Worked::new(parts(0), &step.result)];
    }
    if let Some((symbols, whole)) = text.split_once(" of ").filter(|(left, _)| !left.contains("st")) {
        if let Some((below, share)) = symbols.split_once(" < ") {
            return vec![reached(values, (below, share, whole), &step.result)];
        }
        let counted = symbols.rsplit(' ').next().unwrap();
        let all = Worked { value: parts(1), shown: values[whole] };
        return vec![all, Worked::new(100.0 * values[counted] / values[whole], &step.result)];
    }
    let lines: Vec<Worked> = step
        .lines
        .iter()
        .filter(|line| !line.own.is_empty())
        .map(|line| {
            let own = line.own.iter().map(|term| term.split_once(" = ").unwrap());
            let mut values = values.clone();
            values.extend(own.map(|(symbol, value)| (symbol.to_owned(), number(value))));
            let formula = text.rsplit_once(", ").map_or(text, |(formula, _)| formula);
            let formula = formula.strip_suffix(", line by line").unwrap_or(formula);
            Worked::new(calculated(value_of(formula), &values), &line.gives)
        })
        .collect();
    let gives = step.lines.iter().map(|line| number(value_of(&line.gives)));
    let all = match text {
        _ if step.lines.is_empty() => calculated(value_of(text), values),
        _ if text.ends_with("line by line, added up") => gives.sum(),
        _ if text.ends_with("the greatest of all lines") => gives.fold(f64::NEG_INFINITY, f64::max),
        _ => panic!("{text}: what becomes of the lines is not said"),
    };
    lines.into_iter().chain([Worked::new(all, &step.result)]).collect()
}

/// A share of an area is reached between two areas; what is told is not computed but lies there.
fn reached(values: &Values, (below, share, rest): (&str, &str, &str), result: &str) -> Worked {
    let (whole, up_to) = rest.split_once(" ≤ ").unwrap();
    let asked = values[share] / 100.0 * values[whole];
    let lies = values[below] < asked && asked <= values[up_to];
    let shown = number(value_of(result));
    Worked { value: if lies { shown } else { f64::NAN }, shown }
}

/// The value of the right side of a formula.
pub(crate) fn calculated(text: &str, values: &Values) -> f64 {
    for (words, pick) in [("least of ", f64::min as fn(f64, f64) -> f64), ("greatest of ", f64::max)] {
        if let Some(all) = text.strip_prefix(words) {
            return all.split(", ").map(|one| calculated(one, values)).reduce(pick).unwrap();
        }
    }
    let mut reader = Reader { left: text, values };
    let value = reader.sum();
    assert_eq!(reader.left, "", "{text}");
    value
}

struct Reader<'a> {
    left: &'a str,
    values: &'a Values,
}

impl Reader<'_> {
    fn takes(&mut self, sign: &str) -> bool {
        let rest = self.left.strip_prefix(sign);
        self.left = rest.unwrap_or(self.left);
        rest.is_some()
    }

    fn sum(&mut self) -> f64 {
        let mut value = self.product();
        loop {
            if self.takes(" + ") {
                value += self.product();
            } else if self.takes(" − ") {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.one();
        loop {
            if self.takes(" × ") {
                value *= self.one();
            } else if self.takes(" / ") {
                value /= self.one();
            } else {
                return value;
            }
        }
    }

    fn one(&mut self) -> f64 {
        for (sign, then) in [
            ("up(", (|value: f64| (value - 1e-6).ceil()) as fn(f64) -> f64),
            ("√(", f64::sqrt),
            ("(", |value| value),
        ] {
            if self.takes(sign) {
                let value = self.sum();
                assert!(self.takes(")"), "{}", self.left);
                return then(value);
            }
        }
        let ends = |letter: char| " ()".contains(letter);
        let (word, rest) = self.left.split_at(self.left.find(ends).unwrap_or(self.left.len()));
        self.left = rest;
        let named = || *self.values.get(word).unwrap_or_else(|| panic!("{word:?} has no value"));
        word.parse().unwrap_or_else(|_| named())
    }
}

// Derived: the usual order of operations, by hand.
#[test]
fn formulas_are_read_as_they_are_written() {
    let values: Values = [("a", 7.0), ("b", 5.0), ("t_x", 2.0)].map(|(k, v)| (k.to_owned(), v)).into();
    for (text, value) in [
        ("a − (b − t_x)", 4.0),
        ("12 / (3 × t_x)", 2.0),
        ("a − b − t_x", 0.0),
        ("least of a, b / t_x", 2.5),
        ("up(a / t_x) + 1", 5.0),
        ("√(a + t_x)", 3.0),
    ] {
        assert_eq!(calculated(text, &values), value, "{text}");
    }
}
