use super::model::{Column, Sentence, Slider, Subject, Verdict};
use crate::figures::{Freshness, Known};
use crate::settings::{Reading, readings};
use crate::show;
use crate::units::{Quantity, Units};
use obliquity_planning::{Judgement, KnobId, Outcome, Scenario, compare_sentence};

/// The board's sentence, from the last outcomes with coverage.
pub(super) fn sentence(scenario: &Scenario, subjects: &[Subject<'_>]) -> Sentence {
    if subjects.is_empty() {
        let text = "There is no strategy to compare yet".to_owned();
        return Sentence { text, freshness: Freshness::Fresh };
    }
    let known = || subjects.iter().filter_map(|subject| subject.known);
    let outcomes: Vec<Outcome> = known().filter_map(|known| known.views).cloned().collect();
    let failed = known().filter(|known| known.failure.is_some() || known.quick.is_err()).count();
    let fresh = known().filter(|known| known.freshness == Freshness::Fresh || known.quick.is_err()).count();
    if failed == subjects.len() {
        let text = "None of the strategies could be worked out".to_owned();
        return Sentence { text, freshness: Freshness::Fresh };
    }
    if outcomes.is_empty() || outcomes.len() + failed < subjects.len() {
        let text = "Working out what the surfaces get".to_owned();
        return Sentence { text, freshness: Freshness::Pending };
    }
    let freshness = if fresh == subjects.len() { Freshness::Fresh } else { Freshness::Stale };
    Sentence { text: compare_sentence(scenario, &outcomes), freshness }
}

/// Head and settings of one strategy.
pub(super) fn column(scenario: &Scenario, subject: &Subject<'_>, units: Units) -> Column {
    let (verdict, verdict_text, shortfalls) = verdict(subject.known);
    let aircraft = scenario.equipment.aircraft(subject.strategy.aircraft);
    Column {
        strategy: subject.strategy.id,
        name: subject.name.clone(),
        aircraft: aircraft.map_or_else(|| "unknown aircraft".to_owned(), |aircraft| aircraft.name.clone()),
        verdict,
        verdict_text,
        worst: shortfalls.first().cloned(),
        shortfalls,
        sliders: readings(scenario, subject.strategy)
            .iter()
            .map(|reading| slider(reading, &subject.name, units))
            .collect(),
        follows: follows(subject.known, units),
        freshness: subject.known.map_or(Freshness::Pending, |known| known.freshness),
    }
}

fn slider(reading: &Reading, strategy: &str, units: Units) -> Slider {
    let setting = reading.setting;
    let shown = |value: f64| {
        let shown = value / setting.per_shown(units);
        (shown * 1e6).round() / 1e6
    };
    let range = setting.slider_range(units);
    let value = shown(reading.value);
    let gimbal = match setting.knob {
        KnobId::Tilt => format!(" Gimbal pitch {}°.", show::short(value - 90.0).replace('-', "−")),
        _ => String::new(),
    };
    let spread = reading.spread.map_or_else(String::new, |(least, greatest)| {
        let (least, greatest) = (show::short(shown(least)), show::short(shown(greatest)));
        format!(
            " The passes differ, {least} to {greatest}{}; moving this sets all of them.",
            setting.unit(units)
        )
    });
    Slider {
        setting,
        name: setting.name(),
        spoken: setting.name_of(strategy),
        units,
        shown: value,
        range: range.start().min(value)..=range.end().max(value),
        hint: format!("{}{gimbal}{spread}", setting.explanation()),
    }
}

/// Verdict, its words, and the shortfalls with the worst one first.
fn verdict(known: Option<Known<'_>>) -> (Verdict, String, Vec<String>) {
    let Some(known) = known else { return (Verdict::Unknown, "not worked out yet".to_owned(), Vec::new()) };
    if let Some(why) = known.quick.err().or(known.failure) {
        return (Verdict::Failed, "could not be worked out".to_owned(), vec![why.to_owned()]);
    }
    let Some(outcome) = known.views.or(known.quick.ok()) else {
        return (Verdict::Unknown, "not worked out yet".to_owned(), Vec::new());
    };
    if !outcome.feasible() {
        return (Verdict::Infeasible, "cannot be flown as set".to_owned(), outcome.reasons.clone());
    }
    let shortfalls = worst_first(&outcome.judgements);
    match outcome.meets() {
        Some(true) => (Verdict::Meets, "meets the requirement".to_owned(), shortfalls),
        Some(false) => {
            let count = u32::try_from(shortfalls.len()).unwrap_or(u32::MAX);
            (Verdict::Misses, format!("misses {}", show::counted(count, "line", "lines")), shortfalls)
        }
        None => (Verdict::Unknown, "coverage is being worked out".to_owned(), shortfalls),
    }
}

/// The sentences of what is missed, the one that lacks the greatest share of what was required first.
fn worst_first(judgements: &[Judgement]) -> Vec<String> {
    let mut missed: Vec<(f64, &str)> =
        judgements.iter().filter_map(|judgement| Some((judgement.lack(), judgement.shortfall()?))).collect();
    missed.sort_by(|a, b| b.0.total_cmp(&a.0));
    missed.into_iter().map(|(_, why)| why.to_owned()).collect()
}

/// Nominal GSD, height, speed and what bounds the speed, of the present settings.
fn follows(known: Option<Known<'_>>, units: Units) -> String {
    let Some(Ok(outcome)) = known.map(|known| known.quick) else { return String::new() };
    let layouts = || outcome.passes.iter().map(|pass| &pass.plan.layout);
    let gsd = units.span(Quantity::Fixed("cm"), layouts().map(|layout| 100.0 * layout.vertical_gsd_m));
    let height = units.span(Quantity::Length, layouts().map(|layout| layout.height_m));
    let speed = units.span(Quantity::Speed, outcome.passes.iter().map(|pass| pass.plan.speed.speed_mps));
    let capped = if layouts().any(|layout| layout.capped) { " (at the ceiling)" } else { "" };
    let mut bounds: Vec<&str> = outcome.passes.iter().map(|pass| pass.plan.speed.bound_by.name()).collect();
    bounds.dedup();
    format!("{gsd} at {height}{capped}; {speed} ({})", bounds.join(", "))
}
