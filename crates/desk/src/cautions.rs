//! Cautions of several strategies, put together.

use obliquity_planning::{Caution, Severity};

/// One caution and the strategies that it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionRow {
    /// How grave it is.
    pub severity: Severity,
    /// What to mind.
    pub text: String,
    /// Names of strategies; empty when it is about all of them.
    pub strategies: Vec<String>,
}

/// Each text once, with whom it is about, the gravest first.
///
/// `all` is how many strategies are compared, those without figures included.
pub fn grouped<'a>(outcomes: impl Iterator<Item = (&'a str, &'a [Caution])>, all: usize) -> Vec<CautionRow> {
    let mut rows: Vec<CautionRow> = Vec::new();
    for (name, cautions) in outcomes {
        for caution in cautions {
            match rows.iter_mut().find(|row| row.text == caution.text) {
                Some(row) => {
                    row.severity = row.severity.max(caution.severity);
                    if row.strategies.last().is_none_or(|last| last != name) {
                        row.strategies.push(name.to_owned());
                    }
                }
                None => rows.push(CautionRow {
                    severity: caution.severity,
                    text: caution.text.clone(),
                    strategies: vec![name.to_owned()],
                }),
            }
        }
    }
    for row in &mut rows {
        if row.strategies.len() == all {
            row.strategies.clear();
        }
    }
    rows.sort_by_key(|row| std::cmp::Reverse(row.severity));
    rows
}

/// How grave a caution is, in a word.
pub fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Limit => "Limit",
        Severity::Check => "Check",
        Severity::Reminder => "Mind",
    }
}
