//! Cautions of several strategies, put together.

use obliquity_planning::{Caution, CautionSource, Id, Severity};

/// One caution and the strategies that it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionRow {
    /// The caution's stable name.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What to mind.
    pub text: String,
    /// Where it comes from.
    pub source: CautionSource,
    /// Names of strategies; empty when it is about all of them.
    pub strategies: Vec<String>,
    /// The first strategy for which it has a place on the route.
    pub place_of: Option<Id>,
    /// What it says of other strategies, with their names, where rows of one kind stand together.
    pub further: Vec<(String, String)>,
}

/// Each text once, with whom it is about, the gravest first.
///
/// `all` is how many strategies are compared, those without figures included.
pub fn grouped<'a>(
    outcomes: impl Iterator<Item = (&'a str, Id, &'a [Caution])>,
    all: usize,
) -> Vec<CautionRow> {
    let mut rows: Vec<CautionRow> = Vec::new();
    for (name, strategy, cautions) in outcomes {
        for caution in cautions {
            let place_of = (!caution.places.is_empty()).then_some(strategy);
            match rows.iter_mut().find(|row| row.text == caution.text) {
                Some(row) => {
                    row.severity = row.severity.max(caution.severity);
                    row.place_of = row.place_of.or(place_of);
                    if row.strategies.last().is_none_or(|last| last != name) {
                        row.strategies.push(name.to_owned());
                    }
                }
                None => rows.push(CautionRow {
                    id: caution.id,
                    severity: caution.severity,
                    text: caution.text.clone(),
                    source: caution.source,
                    strategies: vec![name.to_owned()],
                    place_of,
                    further: Vec::new(),
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

/// Rows of one kind and severity as one, with what is said of further strategies beside it.
pub fn by_kind(rows: Vec<CautionRow>) -> Vec<CautionRow> {
    let mut kinds: Vec<CautionRow> = Vec::new();
    for row in rows {
        match kinds.iter_mut().find(|kind| (kind.id, kind.severity) == (row.id, row.severity)) {
            Some(kind) => {
                kind.place_of = kind.place_of.or(row.place_of);
                kind.further.extend(row.strategies.into_iter().map(|name| (name, row.text.clone())));
            }
            None => kinds.push(row),
        }
    }
    kinds
}

/// How grave a caution is, in a word.
pub fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Limit => "Limit",
        Severity::Check => "Check",
        Severity::Reminder => "Mind",
    }
}

/// Where a caution comes from, in a few words: "rule: 14 CFR 107.51", "common practice".
pub fn source(source: CautionSource) -> String {
    match source {
        CautionSource::Rule(citation) => format!("rule: {citation}"),
        CautionSource::Practice | CautionSource::Plan => source.text().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sources_are_told_apart() {
        assert_eq!(source(CautionSource::Rule("14 CFR 107.51")), "rule: 14 CFR 107.51");
        assert_eq!(source(CautionSource::Practice), "common practice");
        assert_eq!(source(CautionSource::Plan), "this plan's own figures");
    }
}
