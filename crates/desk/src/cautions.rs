//! Cautions of several strategies, put together.

use crate::figures::Freshness;
use obliquity_planning::{Caution, CautionSource, Id, Outcome, Severity, Units};

/// One caution and the strategies that it is about.
#[derive(Debug, Clone, PartialEq)]
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
    /// How bad it is, to be held against other strategies.
    pub gauge: Option<ToldGauge>,
    /// Whether all that it says belongs to the scenario as it stands.
    pub freshness: Freshness,
    /// What it says of other strategies, the worst first, where rows of one kind stand together: it is no worse there.
    pub further: Vec<Further>,
}

/// The figure of a caution as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldGauge {
    /// Greater is worse.
    pub worse: f64,
    /// In a few words.
    pub text: String,
}

fn told_gauge(caution: &Caution, units: Units) -> Option<ToldGauge> {
    let gauge = caution.gauge.as_ref()?;
    Some(ToldGauge { worse: gauge.worse, text: gauge.text.in_units(units).to_owned() })
}

/// What a caution says of another strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct Further {
    /// The strategy's name.
    pub strategy: String,
    /// The whole sentence.
    pub text: String,
    /// Its figure by itself.
    pub gauge: Option<ToldGauge>,
}

impl Further {
    /// Its figure, or the whole sentence where it has none.
    fn figure(&self) -> &str {
        self.gauge.as_ref().map_or(&self.text, |gauge| &gauge.text)
    }
}

impl CautionRow {
    /// The other strategies with their own figures: "also, less: Crosshatch 61 / 55 %"; "also" where it is no less with one
    /// of them.
    pub fn also(&self) -> Option<String> {
        if self.further.is_empty() {
            return None;
        }
        let of = |further: &Further| format!("{} {}", further.strategy, further.figure());
        let others: Vec<String> = self.further.iter().map(of).collect();
        let own = self.gauge.as_ref().map(|gauge| gauge.worse);
        let less = |other: &Further| own > other.gauge.as_ref().map(|gauge| gauge.worse);
        let lead = if self.further.iter().all(less) { "also, less" } else { "also" };
        Some(format!("{lead}: {}", others.join("; ")))
    }

    fn worse(&self) -> f64 {
        self.gauge.as_ref().map_or(f64::NEG_INFINITY, |gauge| gauge.worse)
    }
}

/// The cautions of one strategy, each with whether it belongs to the scenario as it stands.
pub type CautionsOf<'a> = (&'a str, Id, Vec<(&'a Caution, Freshness)>);

/// The cautions of an outcome of the scenario as it stands.
pub fn of_outcome(outcome: &Outcome) -> CautionsOf<'_> {
    let all = outcome.cautions.iter().map(|caution| (caution, Freshness::Fresh));
    (outcome.name.as_str(), outcome.strategy, all.collect())
}

/// Each text once, with whom it is about, the gravest first.
///
/// `all` is how many strategies are compared, those without figures included.
pub fn grouped<'a>(
    outcomes: impl Iterator<Item = CautionsOf<'a>>,
    all: usize,
    units: Units,
) -> Vec<CautionRow> {
    let mut rows: Vec<CautionRow> = Vec::new();
    for (name, strategy, cautions) in outcomes {
        for (caution, freshness) in cautions {
            let place_of = (!caution.places.is_empty()).then_some(strategy);
            match rows.iter_mut().find(|row| row.text == caution.text.in_units(units)) {
                Some(row) => {
                    row.severity = row.severity.max(caution.severity);
                    row.freshness = row.freshness.max(freshness);
                    row.place_of = row.place_of.or(place_of);
                    // What reads alike may differ beyond the digits shown.
                    if caution.gauge.as_ref().is_some_and(|gauge| gauge.worse > row.worse()) {
                        row.gauge = told_gauge(caution, units);
                    }
                    if row.strategies.last().is_none_or(|last| last != name) {
                        row.strategies.push(name.to_owned());
                    }
                }
                None => rows.push(CautionRow {
                    id: caution.id,
                    severity: caution.severity,
                    text: caution.text.in_units(units).to_owned(),
                    source: caution.source,
                    strategies: vec![name.to_owned()],
                    place_of,
                    gauge: told_gauge(caution, units),
                    freshness,
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

/// Rows of one kind and severity as one: the worst strategy leads, and what is said of the others stands beside it.
pub fn by_kind(rows: Vec<CautionRow>) -> Vec<CautionRow> {
    let mut kinds: Vec<CautionRow> = Vec::new();
    let mut rows: Vec<(usize, CautionRow)> = rows.into_iter().enumerate().collect();
    let place = |rows: &[(usize, CautionRow)], row: &CautionRow| {
        rows.iter().find(|(_, other)| (other.id, other.severity) == (row.id, row.severity)).map(|(k, _)| *k)
    };
    // Kinds stay where their first row is; within a kind the worst comes first.
    let keys: Vec<usize> = rows.iter().map(|(k, row)| place(&rows, row).unwrap_or(*k)).collect();
    rows.sort_by(|a, b| keys[a.0].cmp(&keys[b.0]).then(b.1.worse().total_cmp(&a.1.worse())));
    for (_, row) in rows {
        match kinds.last_mut().filter(|kind| (kind.id, kind.severity) == (row.id, row.severity)) {
            Some(kind) => {
                kind.place_of = kind.place_of.or(row.place_of);
                kind.freshness = kind.freshness.max(row.freshness);
                let CautionRow { text, gauge, strategies, .. } = row;
                kind.further.extend(strategies.into_iter().map(|strategy| Further {
                    strategy,
                    text: text.clone(),
                    gauge: gauge.clone(),
                }));
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
        Severity::Reminder => "Note",
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
