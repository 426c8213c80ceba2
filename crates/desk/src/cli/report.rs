//! The comparison as a text table.

use crate::cautions;
use crate::show;
use obliquity_planning::{
    GsdSpread, MEASURES, Measure, MeasureId, Outcome, PassPlan, Scenario, Unit, compare_sentence, wording,
};
use std::fmt::Write;

/// A row: name, one text for each strategy.
type Row = (String, Vec<String>);

/// Rows are figures, columns are strategies; then the sentence, what is missed, and the cautions.
pub fn table(scenario: &Scenario, outcomes: &[Outcome]) -> String {
    let mut text = format!("{}\n\n", scenario.name);
    let mut rows: Vec<Row> = vec![(String::new(), outcomes.iter().map(|o| o.name.clone()).collect())];
    rows.extend(settings(outcomes));
    for measure in MEASURES {
        rows.extend(figure(scenario, outcomes, measure).unwrap_or_default());
        if measure.id == MeasureId::TimeOnSite {
            rows.push(likely(outcomes));
        }
    }
    rows.push(("Meets the requirement".to_owned(), outcomes.iter().map(|o| meets(o).to_owned()).collect()));
    align(&mut text, &rows);
    let _ = write!(text, "\n{}\n", compare_sentence(scenario, outcomes));
    shortfalls(&mut text, outcomes);
    cautions(&mut text, outcomes);
    text
}

/// Between what the time on site lies in eight of ten draws.
fn likely(outcomes: &[Outcome]) -> Row {
    let cell = |outcome: &Outcome| {
        outcome.bands().map_or_else(
            || "–".to_owned(),
            |bands| show::span(Unit::Seconds, bands.time_on_site_s.p10, bands.time_on_site_s.p90),
        )
    };
    ("  10–90 % of draws, estimated".to_owned(), outcomes.iter().map(cell).collect())
}

fn settings(outcomes: &[Outcome]) -> Vec<Row> {
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
        of_passes("Height", &|plan| format!("{} m", show::short(plan.layout.height_m))),
        of_passes("Nominal GSD", &|plan| format!("{} cm", show::gsd_cm(plan.layout.vertical_gsd_m))),
        of_passes("Speed", &|plan| format!("{} m/s", show::short(plan.speed.speed_mps))),
        of_passes("Speed bound by", &|plan| plan.speed.bound_text(|m| format!("{m:.0} m"))),
    ]
}

/// The rows of a measure; none where no strategy has the figure. A GSD has its spread and the share unseen beside it.
fn figure(scenario: &Scenario, outcomes: &[Outcome], measure: &Measure) -> Option<Vec<Row>> {
    let values: Vec<Option<f64>> = outcomes.iter().map(measure.read).collect();
    if values.iter().all(Option::is_none) {
        return None;
    }
    let against = required(scenario, measure.id);
    let cell = |value: &Option<f64>| {
        value.map_or_else(|| "–".to_owned(), |value| value_text(measure.unit, value, against))
    };
    let mut name = measure.name.to_owned();
    if let Some(required) = against {
        let sign = if measure.better == obliquity_planning::Better::More { "≥" } else { "≤" };
        let _ = write!(name, " ({sign} {})", wording::limit(measure.unit, required));
    }
    if measure.id == MeasureId::ProcessingHours && !scenario.rates.fitted {
        name.push_str(", not calibrated");
    }
    let mut rows = vec![(name, values.iter().map(cell).collect())];
    if let MeasureId::GsdP95(class) = measure.id {
        let classes =
            |outcome: &Outcome| outcome.views.as_ref().and_then(|views| views.classes[class].clone());
        let spread = |outcome: &Outcome| {
            let gsd = classes(outcome).and_then(|figures| figures.gsd);
            gsd.map_or_else(
                || "–".to_owned(),
                |GsdSpread { p5_m, p50_m, .. }| {
                    format!("{} / {} cm", show::gsd_cm(p5_m), show::gsd_cm(p50_m))
                },
            )
        };
        let unseen = |outcome: &Outcome| {
            classes(outcome)
                .map_or_else(|| "–".to_owned(), |figures| show::percent(figures.unseen_ratio, None))
        };
        rows.push(("  5th / 50th percentile".to_owned(), outcomes.iter().map(spread).collect()));
        rows.push(("  without a counted view".to_owned(), outcomes.iter().map(unseen).collect()));
    }
    Some(rows)
}

/// What the requirement or what is on hand asks of a figure, in the figure's unit.
fn required(scenario: &Scenario, id: MeasureId) -> Option<f64> {
    let (requirement, conditions) = (&scenario.requirement, &scenario.conditions);
    match id {
        MeasureId::Sorties if conditions.charging.is_none() => Some(f64::from(conditions.battery_sets)),
        MeasureId::Coverage(class) => requirement.coverage[class],
        // It is judged where coverage is asked for.
        MeasureId::GsdP95(class) => requirement.coverage[class].and(Some(requirement.gsd_cm[class] / 100.0)),
        MeasureId::TimeOnSite => requirement.time_on_site_min.map(|min| 60.0 * min),
        MeasureId::ImageCount => requirement.images.map(f64::from),
        _ => None,
    }
}

fn value_text(unit: Unit, value: f64, against: Option<f64>) -> String {
    match unit {
        Unit::Seconds | Unit::GsdMetres | Unit::Share | Unit::Count => wording::against(unit, value, against),
        Unit::Centimetres
        | Unit::Hours
        | Unit::Metres
        | Unit::MetresPerSecond
        | Unit::Degrees
        | Unit::Gigabytes
        | Unit::WattHours
        | Unit::BatterySets
        | Unit::Gigapixels => {
            format!("{} {}", show::short(value), unit.symbol())
        }
    }
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
fn align(text: &mut String, rows: &[Row]) {
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

fn shortfalls(text: &mut String, outcomes: &[Outcome]) {
    let missing = |outcome: &&Outcome| !outcome.feasible() || !outcome.shortfalls().is_empty();
    for outcome in outcomes.iter().filter(missing) {
        let _ = write!(text, "\n{}\n", outcome.name);
        for reason in &outcome.reasons {
            let _ = writeln!(text, "  cannot be flown: {reason}");
        }
        for shortfall in outcome.shortfalls() {
            let _ = writeln!(text, "  {shortfall}");
        }
    }
}

/// Each caution once, with the strategies it is about, the gravest first.
fn cautions(text: &mut String, outcomes: &[Outcome]) {
    let named =
        outcomes.iter().map(|outcome| (outcome.name.as_str(), outcome.strategy, outcome.cautions.as_slice()));
    let rows = cautions::by_kind(cautions::grouped(named, outcomes.len()));
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
