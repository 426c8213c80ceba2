//! What is wrong with a scenario, and how it is gathered.

use crate::base::Id;
use crate::base::limits::{self, Range};
use std::collections::BTreeMap;

/// Something in a scenario that must be mended before it can be evaluated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The field, as the scenario file nests them: `strategies[1].passes[0].forward_overlap`.
    pub path: String,
    /// What was required, what came, and the mend.
    pub message: String,
}

/// Collects faults.
#[derive(Default)]
pub(crate) struct Checker {
    pub(crate) faults: Vec<Fault>,
}

impl Checker {
    pub(crate) fn fault(&mut self, path: impl Into<String>, message: impl Into<String>) {
        self.faults.push(Fault { path: path.into(), message: message.into() });
    }

    /// A number must lie in its range.
    pub(crate) fn number(&mut self, path: impl Into<String>, value: f64, range: Range) {
        if range.holds(value) {
            return;
        }
        let Range { what, least, most, mend } = range;
        let (least, most, value) = (shown(least), shown(most), shown(value));
        self.fault(
            path,
            format!("{what} must be at least {least} and at most {most}, but it is {value}; {mend}"),
        );
    }

    /// A list must not be longer than the program is made for.
    pub(crate) fn at_most(&mut self, path: impl Into<String>, what: &str, count: usize, most: usize) {
        if count > most {
            self.fault(
                path,
                format!("there must be at most {most} {what}, but there are {count}; leave some out"),
            );
        }
    }

    /// A name must be readable on one line.
    pub(crate) fn name(&mut self, path: impl Into<String>, what: &str, name: &str) {
        let most = limits::NAME_CHARS;
        let count = name.chars().count();
        if name.trim().is_empty() {
            self.fault(path, format!("the {what} must have a name, but it is blank; write one"));
        } else if count > most {
            self.fault(
                path,
                format!(
                    "the {what}'s name must have at most {most} characters, but it has {count}; shorten it"
                ),
            );
        } else if name.chars().any(char::is_control) {
            self.fault(path, format!("the {what}'s name must be one line of text, but it holds control characters; take them out"));
        }
    }

    /// No two things of a kind may share an identifier.
    pub(crate) fn unique(&mut self, what: &str, ids: impl IntoIterator<Item = (String, Id)>) {
        let mut seen: BTreeMap<Id, String> = BTreeMap::new();
        for (path, id) in ids {
            if let Some(first) = seen.get(&id) {
                let message = format!(
                    "every {what} must have its own id, but {id} is also that of {first}; give another number"
                );
                self.fault(format!("{path}.id"), message);
            } else {
                seen.insert(id, path);
            }
        }
    }
}

/// A number as messages show it: shortest exact digits, with an exponent where there would be many zeros.
pub(in crate::scenario) fn shown(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && size.is_finite() && !(1e-5..1e12).contains(&size) {
        format!("{value:e}")
    } else {
        format!("{value}")
    }
}
