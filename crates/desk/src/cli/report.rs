//! The comparison as a text table.

use crate::cautions;
use crate::show;
use crate::units::Units;
use obliquity_planning::{
    Beside, Better, ExpectedClass, MEASURES, Measure, MeasureId, Outcome, PassPlan, Scenario, Unit,
    compare_sentence, wording::Form,
};
use std::fmt::Write;

/// A row: name, one text for each strategy.
type TableRow = (String, Vec<String>);

/// Rows are figures, columns are strategies; then the sentence, what is missed, and the cautions.
pub fn table(scenario: &Scenario, outcomes: &[Outcome], units: Units) -> String {
    let mut text = format!("{}\n\n", scenario.name);
    let mut rows: Vec<TableRow> = vec![(String::new(), outcomes.iter().map(|o| o.name.clone()).collect())];
    rows.extend(settings(outcomes, units));
    for measure in MEASURES {
        rows.extend(figure(scenario, outcomes, measure, units));
    }
    rows.push(("Meets the requirement".to_owned(), outcomes.iter().map(|o| meets(o).to_owned()).collect()));
    align(&mut text, &rows);
    let _ = write!(text, "\n{}\n", compare_sentence(scenario, outcomes, units.gsd_unit()));
    shortfalls(&mut text, outcomes, units);
    standards(&mut text, scenario, outcomes);
    cautions(&mut text, outcomes, units);
    text
}

/// What the standards would call the accuracy that is expected, where it was worked out.
fn standards(text: &mut String, scenario: &Scenario, outcomes: &[Outcome]) {
    for outcome in outcomes {
        if let Some(class) = ExpectedClass::of(outcome, &scenario.site) {
            let _ = write!(text, "\n{}, expected accuracy: {}.\n", outcome.name, class.sentence());
        }
    }
}

fn settings(outcomes: &[Outcome], units: Units) -> Vec<TableRow> {
    let of_passes = |name: &str, read: &dyn Fn(&PassPlan) -> String| {
        let cell = |outcome: &Outcome| {
            if !outcome.feasible() {
                return "–".to_owned();
            }
            let mut texts: Vec<String> = outcome.plans().map(read).collect();
            texts.dedup();
            texts.join(", ")
        };
        (name.to_owned(), outcomes.iter().map(cell).collect::<Vec<_>>())
    };
    vec![
        ("Aircraft".to_owned(), outcomes.iter().map(|outcome| outcome.aircraft.clone()).collect()),
        of_passes("Height", &|plan| units.text(Unit::Metres, plan.layout.height_m)),
        of_passes("Nominal GSD", &|plan| units.gsd(plan.layout.vertical_gsd_m)),
        of_passes("Speed", &|plan| units.speed(plan.speed.speed_mps)),
        of_passes("Speed bound by", &|plan| plan.speed.bound_text(|m| units.length(m))),
    ]
}

/// The rows of a measure, with how sure it is and what stands beside it; none where no strategy has the figure.
fn figure(scenario: &Scenario, outcomes: &[Outcome], measure: &Measure, units: Units) -> Vec<TableRow> {
    let value = |outcome: &Outcome| {
        let required = measure.required_of(scenario, outcome.strategy);
        measure.read(outcome).map(|value| match measure.unit {
            Unit::Hours if measure.id == MeasureId::ProcessingHours => {
                show::machine_hours(value, &scenario.rates.standing())
            }
            Unit::Hours => show::rough_hours(value),
            unit => show::figure(units, unit, value, required),
        })
    };
    let band =
        |outcome: &Outcome| measure.band_of(outcome).map(|band| show::span(measure.unit, band.p10, band.p90));
    let Some(own) = row(named(scenario, measure, units), outcomes, value) else { return Vec::new() };
    let band = row("  10–90 % of draws, estimated".to_owned(), outcomes, band);
    [own].into_iter().chain(band).chain(beside(outcomes, measure, units)).collect()
}

/// A measure's name with what is asked of it.
fn named(scenario: &Scenario, measure: &Measure, units: Units) -> String {
    let form = Form::of_in(measure.unit, units.gsd_unit());
    let sign = if measure.better == Better::More { "≥" } else { "≤" };
    let asked =
        measure.required_of_all(scenario).map(|required| format!(" ({sign} {})", form.limit(required)));
    let rests_on = match measure.id {
        MeasureId::ProcessingHours => format!(", {}", scenario.rates.standing().told()),
        MeasureId::JobContribution if !scenario.job.currency.is_empty() => {
            format!(", {}", scenario.job.currency.trim())
        }
        _ => String::new(),
    };
    format!("{}{}{rests_on}", measure.name, asked.unwrap_or_default())
}

/// What stands beside a measure: what is in its unit on one line, the rest each on its own; counts that are 0 of all are left
/// out.
fn beside(outcomes: &[Outcome], measure: &Measure, units: Units) -> Vec<TableRow> {
    let form = units.gsd_form();
    let (alike, others): (Vec<&Beside>, Vec<&Beside>) =
        measure.beside.iter().partition(|beside| beside.unit == Unit::GsdMetres);
    let together = |outcome: &Outcome| {
        let values: Option<Vec<f64>> = alike.iter().map(|beside| beside.read(outcome)).collect();
        let texts: Vec<String> =
            values?.into_iter().map(|gsd_m| form.number(gsd_m, form.decimals(&[gsd_m], None))).collect();
        Some(format!("{} {}", texts.join(" / "), form.sign))
    };
    let names: Vec<&str> = alike.iter().map(|beside| beside.name).collect();
    let name = names.join(" / ").replacen(" percentile /", " /", names.len());
    let first = if alike.is_empty() { None } else { row(format!("  {name}"), outcomes, together) };
    let counted = |beside: &&Beside| {
        beside.unit != Unit::Count || outcomes.iter().any(|outcome| beside.read(outcome) > Some(0.0))
    };
    let rest = others.into_iter().filter(counted).filter_map(|beside| {
        let text = |outcome: &Outcome| Some(show::figure(units, beside.unit, beside.read(outcome)?, None));
        row(format!("  {}", beside.name), outcomes, text)
    });
    first.into_iter().chain(rest).collect()
}

/// A row with a dash where a strategy has no figure; none where none has.
fn row(name: String, outcomes: &[Outcome], text: impl Fn(&Outcome) -> Option<String>) -> Option<TableRow> {
    let texts: Vec<Option<String>> = outcomes.iter().map(text).collect();
    let dash = |text: Option<String>| text.unwrap_or_else(|| "–".to_owned());
    texts.iter().any(Option::is_some).then(|| (name, texts.into_iter().map(dash).collect()))
}

fn meets(outcome: &Outcome) -> &'static str {
    match (outcome.feasible(), outcome.meets()) {
        (false, _) => "cannot be flown",
        (true, Some(true)) => "yes",
        (true, Some(false)) => "no",
        (true, None) if outcome.is_pending() => "not known",
        (true, None) => "not judged",
    }
}

/// Names to the left, figures to the right of their columns.
fn align(text: &mut String, rows: &[TableRow]) {
    let width = |text: &String| text.chars().count();
    let names = rows.iter().map(|(name, _)| width(name)).max().unwrap_or(0);
    let columns = rows.first().map_or(0, |(_, cells)| cells.len());
    let widest = |column: usize| rows.iter().map(|(_, cells)| width(&cells[column])).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(widest).collect();
    for (name, cells) in rows {
        let _ = write!(text, "{name:names$}");
        for (cell, width) in cells.iter().zip(&widths) {
            let _ = write!(text, "  {cell:>width$}");
        }
        text.push('\n');
    }
}

fn shortfalls(text: &mut String, outcomes: &[Outcome], units: Units) {
    let missing = |outcome: &&Outcome| !outcome.feasible() || outcome.missed().next().is_some();
    for outcome in outcomes.iter().filter(missing) {
        let _ = write!(text, "\n{}\n", outcome.name);
        for reason in &outcome.reasons {
            let _ = writeln!(text, "  cannot be flown: {reason}");
        }
        for shortfall in outcome.shortfalls(units.gsd_unit()) {
            let _ = writeln!(text, "  {shortfall}");
        }
    }
}

/// Each caution once, with the strategies it is about, the gravest first.
fn cautions(text: &mut String, outcomes: &[Outcome], units: Units) {
    let all = outcomes.iter().map(cautions::of_outcome);
    let rows = cautions::by_kind(cautions::grouped(all, outcomes.len(), units));
    if !rows.is_empty() {
        text.push_str("\nCautions (local rules and the remote pilot decide)\n");
    }
    for row in rows {
        let word = cautions::word(row.severity).to_lowercase();
        let whom = match row.strategies.as_slice() {
            [] => String::new(),
            names => format!(" ({})", names.join(", ")),
        };
        let also = row.also().map_or_else(String::new, |also| format!("; {also}"));
        let _ = writeln!(text, "  {word:5}  {}{whom}{also} [{}]", row.text, cautions::source(row.source));
    }
}
