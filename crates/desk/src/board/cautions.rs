use super::model::{CautionRow, Subject};

/// The cautions of all strategies: each text once, with whom it is about, the gravest first.
pub(super) fn cautions(subjects: &[Subject<'_>]) -> Vec<CautionRow> {
    let mut rows: Vec<CautionRow> = Vec::new();
    for subject in subjects {
        let Some(Ok(outcome)) = subject.known.map(|known| known.quick) else { continue };
        for caution in &outcome.cautions {
            match rows.iter_mut().find(|row| row.text == caution.text) {
                Some(row) => {
                    row.severity = row.severity.max(caution.severity);
                    if row.strategies.last() != Some(&subject.name) {
                        row.strategies.push(subject.name.clone());
                    }
                }
                None => rows.push(CautionRow {
                    severity: caution.severity,
                    text: caution.text.clone(),
                    strategies: vec![subject.name.clone()],
                }),
            }
        }
    }
    for row in &mut rows {
        if row.strategies.len() == subjects.len() {
            row.strategies.clear();
        }
    }
    rows.sort_by_key(|row| std::cmp::Reverse(row.severity));
    rows
}
