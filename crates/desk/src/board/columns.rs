use super::before::Before;
use super::model::{Against, BoardSubject, Column, Direction, Rank, Sentence, Slider, Verdict};
use crate::document::Holding;
use crate::figures::{Freshness, Known};
use crate::rose::Roses;
use crate::settings::{Reading, Role, readings};
use crate::show;
use crate::strategies::{Lead, direction_of, lead_of};
use crate::units::{Unit, Units};
use obliquity_planning::{
    Conditions, Hold, Judgement, KnobId, Outcome, Scenario, compare, in_words, wording,
};
use std::borrow::Cow;

/// The board's sentence, from the last outcomes with coverage.
pub(super) fn sentence(scenario: &Scenario, subjects: &[BoardSubject<'_>], units: Units) -> Sentence {
    if subjects.is_empty() {
        return alone("There is no strategy to compare yet", Freshness::Fresh);
    }
    let known = || subjects.iter().filter_map(|subject| subject.known);
    // Of what could not be flown before and can now, coverage is not known: nothing is said of it yet.
    let told = |known: Known<'_>| match (known.views, known.quick) {
        (Some(views), Ok(quick)) if !views.feasible() && quick.feasible() => Some(quick.clone()),
        (views, _) => views.cloned(),
    };
    let outcomes: Vec<Outcome> = known().filter_map(told).collect();
    let failed = known().filter(|known| known.failure.is_some() || known.quick.is_err()).count();
    let asks_accuracy = scenario.requirement.accuracy.is_asked();
    let is_fresh = |known: &Known<'_>| match known.quick {
        Ok(_) if asks_accuracy && known.whole.is_none_or(|whole| whole.is_ok()) => {
            known.freshness.max(known.whole_freshness) == Freshness::Fresh
        }
        Ok(_) => known.freshness == Freshness::Fresh,
        Err(_) => known.quick_freshness == Freshness::Fresh,
    };
    let fresh = known().filter(is_fresh).count();
    if failed == subjects.len() {
        return alone("None of the strategies could be worked out", Freshness::Fresh);
    }
    if outcomes.is_empty() || outcomes.len() + failed < subjects.len() {
        return alone("Working out what the surfaces get", Freshness::Pending);
    }
    let freshness = if fresh == subjects.len() { Freshness::Fresh } else { Freshness::Stale };
    let comparison = compare(scenario, &outcomes, units.gsd_unit());
    let text = comparison.sentence();
    Sentence { text, lead: comparison.lead, rest: comparison.rest, freshness }
}

/// A sentence that says one thing only.
fn alone(text: &str, freshness: Freshness) -> Sentence {
    Sentence { text: text.to_owned(), lead: text.to_owned(), rest: String::new(), freshness }
}

/// Who leads what is held equal, and who cannot follow.
pub(super) fn hold_note(
    holding: &Holding,
    conditions: &Conditions,
    subjects: &[BoardSubject<'_>],
    units: Units,
) -> String {
    let capped = |subject: &BoardSubject<'_>| {
        let outcome = subject.known.and_then(|known| known.quick.ok());
        outcome.is_some_and(|outcome| outcome.plans().any(|plan| plan.layout.capped))
    };
    let cannot = |subject: &&BoardSubject<'_>| match holding.hold {
        Hold::Gsd => capped(subject),
        Hold::Height | Hold::TimeOnSite | Hold::Requirement => {
            holding.out_of_reach.contains(&subject.strategy.id)
        }
    };
    let names: Vec<&str> = subjects.iter().filter(cannot).map(|subject| subject.name.as_str()).collect();
    match (names.as_slice(), holding.hold) {
        ([], Hold::Gsd) => "Move one GSD and the others follow.".to_owned(),
        ([], Hold::Height) => "Move one height and the others follow.".to_owned(),
        ([], Hold::TimeOnSite) => "Within 90 s. The others find their heights when you let go.".to_owned(),
        ([], Hold::Requirement) => {
            "Each at its own setting of least time on site that meets it. An edit ends this.".to_owned()
        }
        (_, Hold::Requirement) => {
            let lacking = |subject: &BoardSubject<'_>| {
                let outcome = subject.known.and_then(|known| known.surest().ok());
                let lines = outcome.into_iter().flat_map(Outcome::missed);
                let lines: Vec<String> = lines.filter_map(|line| line.brief(units.gsd_unit())).collect();
                match lines.as_slice() {
                    [] => format!("{} with nothing to spare", subject.name),
                    lines => format!("{} ({})", subject.name, lines.join("; ")),
                }
            };
            let nearest: Vec<String> = subjects.iter().filter(cannot).map(lacking).collect();
            format!("Out of reach, as near as it gets: {}.", nearest.join(", "))
        }
        (names, Hold::Gsd) => format!("Out of reach, at the height ceiling: {}.", names.join(", ")),
        (names, Hold::Height) => format!("Out of reach, as near as it gets: {}.", names.join(", ")),
        (_, Hold::TimeOnSite) => {
            let on_site = |subject: &BoardSubject<'_>| {
                let timing = subject.known.and_then(|known| known.quick.ok()?.timing.as_ref());
                let time = timing.map(|timing| wording::minutes(timing.time.time_on_site_s()));
                time.map_or_else(|| subject.name.clone(), |time| format!("{} {time}", subject.name))
            };
            let nearest: Vec<String> = subjects.iter().filter(cannot).map(on_site).collect();
            format!(
                "Equal within 90 s. Out of reach at all heights up to the ceiling of {}, as near as it gets: {}.",
                units.length(conditions.height_ceiling_m),
                nearest.join(", ")
            )
        }
    }
}

/// Heads and settings of all strategies.
pub(super) fn columns(
    (scenario, before): (&Scenario, Option<&Before>),
    subjects: &[BoardSubject<'_>],
    units: Units,
) -> Vec<Column> {
    let reference = scenario.reference.and_then(|id| subjects.iter().find(|s| s.strategy.id == id));
    let ranked = ranked(subjects);
    let column = |(place, subject): (usize, &BoardSubject<'_>)| {
        let against = reference.filter(|reference| reference.strategy.id != subject.strategy.id);
        let rank = ranked.filter(|(first, _)| *first == place).map_or(Rank::Other, |(_, rank)| rank);
        column((scenario, before), subject, against, rank, units)
    };
    subjects.iter().enumerate().map(column).collect()
}

/// Which of those that miss nothing is the quickest, and whether it is the only one; nothing while a strategy's verdict is
/// not known.
fn ranked(subjects: &[BoardSubject<'_>]) -> Option<(usize, Rank)> {
    let mut best: Option<(f64, usize)> = None;
    let mut passing = 0;
    for (place, subject) in subjects.iter().enumerate() {
        let known = subject.known?;
        if known.failure.is_some() || known.quick.is_err() {
            continue;
        }
        let outcome = known.views?;
        let Some(timing) =
            outcome.timing.as_ref().filter(|_| outcome.misses_nothing() && !outcome.is_pending())
        else {
            continue;
        };
        passing += 1;
        let time_s = timing.time.time_on_site_s();
        if best.is_none_or(|(least_s, _)| time_s < least_s) {
            best = Some((time_s, place));
        }
    }
    let rank = if passing == 1 { Rank::OnlyOne } else { Rank::Quickest };
    best.map(|(_, place)| (place, rank))
}

/// Head and settings of one strategy.
fn column(
    (scenario, before): (&Scenario, Option<&Before>),
    subject: &BoardSubject<'_>,
    against: Option<&BoardSubject<'_>>,
    rank: Rank,
    units: Units,
) -> Column {
    let (verdict, verdict_text, shortfalls) = verdict(subject.known, units);
    let strategy = subject.strategy;
    let name_of = |id| {
        let aircraft = scenario.equipment.aircraft(id);
        aircraft.map_or_else(|| "unknown aircraft".to_owned(), |aircraft| aircraft.name.clone())
    };
    let others = against.map(|other| (other, readings(scenario, other.strategy)));
    let settings = readings(scenario, strategy);
    let differs = |reading: &Reading| {
        let (other, readings) = others.as_ref()?;
        let text = |value: f64| setting_text(reading, value, units);
        let same_knob = |known: &&Reading| known.setting.knob == reading.setting.knob;
        let same_role = |known: &&Reading| same_knob(known) && known.setting.role == reading.setting.role;
        // Passes of one role are held against all passes where the reference strategy does not tell roles apart.
        let for_all = |known: &&Reading| same_knob(known) && known.setting.role == Role::All;
        match readings.iter().find(same_role).or_else(|| readings.iter().find(for_all)) {
            Some(known) if text(known.value) == text(reading.value) => None,
            Some(known) => Some(format!("{} in {}", text(known.value), other.name)),
            None => Some(format!("{} does not have it", other.name)),
        }
    };
    Column {
        strategy: strategy.id,
        slot: subject.slot,
        name: subject.name.clone(),
        given_name: strategy.name.clone(),
        aircraft_id: strategy.aircraft,
        aircraft: name_of(strategy.aircraft),
        aircraft_differs: against
            .filter(|other| other.strategy.aircraft != strategy.aircraft)
            .map(|other| name_of(other.strategy.aircraft)),
        lead: lead_of(strategy),
        direction: direction(subject, against),
        rank,
        verdict,
        verdict_text,
        worst: shortfalls.first().cloned(),
        shortfalls,
        brief: brief(&settings, units),
        roses: subject.known.map(|known| Roses::new(Some(known)).classes).unwrap_or_default(),
        sliders: settings
            .iter()
            .map(|reading| slider((scenario, before), subject, reading, differs(reading), units))
            .collect(),
        follows: follows(subject.known, units),
        follows_brief: follows_brief(subject.known, lead_of(strategy), units),
        follows_freshness: subject.known.map_or(Freshness::Pending, |known| known.quick_freshness),
        freshness: subject.known.map_or(Freshness::Pending, |known| known.freshness),
        against: against.and_then(|other| against_in_words(other, subject, units)),
    }
}

/// What is different against the reference strategy, once coverage of both is known.
fn against_in_words(
    reference: &BoardSubject<'_>,
    subject: &BoardSubject<'_>,
    units: Units,
) -> Option<Against> {
    let (other, own) = (reference.known?, subject.known?);
    let (from, to) = (named(other.views?, &reference.name), named(own.views?, &subject.name));
    let fresh = other.freshness == Freshness::Fresh && own.freshness == Freshness::Fresh;
    let sentences = in_words(&from, &to, units.gsd_unit());
    let freshness = if fresh { Freshness::Fresh } else { Freshness::Stale };
    Some(Against { reference: reference.name.clone(), sentences, freshness })
}

/// An outcome under the name of its column, where that is another one.
fn named<'a>(outcome: &'a Outcome, name: &str) -> Cow<'a, Outcome> {
    if outcome.name == name {
        return Cow::Borrowed(outcome);
    }
    Cow::Owned(Outcome { name: name.to_owned(), ..outcome.clone() })
}

/// A value as it stands beside its slider.
fn setting_text(reading: &Reading, value: f64, units: Units) -> String {
    let setting = reading.setting;
    format!("{}{}", show::short(value / setting.per_shown(units)), setting.unit(units))
}

/// The settings in one line: what leads, the overlaps of each role, the tilt.
fn brief(settings: &[Reading], units: Units) -> String {
    let of = |knob: KnobId| settings.iter().filter(move |reading| reading.setting.knob == knob);
    let mut parts: Vec<String> = [KnobId::HEIGHT, KnobId::STAND_OFF, KnobId::GSD]
        .into_iter()
        .flat_map(of)
        .map(|reading| brief_value(reading, units))
        .collect();
    let mut pairs: Vec<String> = of(KnobId::FORWARD_OVERLAP)
        .zip(of(KnobId::SIDELAP))
        .map(|(forward, side)| format!("{}/{}", brief_number(forward, units), brief_number(side, units)))
        .collect();
    pairs.dedup();
    if !pairs.is_empty() {
        parts.push(format!("{} %", pairs.join(", ")));
    }
    parts.extend(of(KnobId::TILT).map(|reading| brief_value(reading, units)));
    parts.join(" · ")
}

fn brief_value(reading: &Reading, units: Units) -> String {
    format!("{}{}", brief_number(reading, units), reading.setting.unit(units))
}

/// A setting's number, both ends where the passes differ; a GSD with one decimal at least.
fn brief_number(reading: &Reading, units: Units) -> String {
    let shown = |value: f64| {
        let text = show::short(value / reading.setting.per_shown(units));
        let whole = !text.contains('.') && reading.setting.knob == KnobId::GSD;
        if whole { format!("{text}.0") } else { text }
    };
    match reading.spread {
        Some((least, most)) => format!("{}–{}", shown(least), shown(most)),
        None => shown(reading.value),
    }
}

fn direction(subject: &BoardSubject<'_>, against: Option<&BoardSubject<'_>>) -> Direction {
    let present = |subject: &BoardSubject<'_>| {
        let outcome = subject.known?.quick.ok()?;
        Some(outcome.passes.first()?.laid()?.layout.direction_rad?.to_degrees().rem_euclid(360.0))
    };
    let text = |set: Option<f64>| set.map_or_else(|| "automatic".to_owned(), |deg| format!("{deg:.0}°"));
    let set_deg = direction_of(subject.strategy);
    let other = against.map(|other| (other, direction_of(other.strategy)));
    Direction {
        set_deg,
        present_deg: present(subject),
        differs: other
            .filter(|(_, deg)| *deg != set_deg)
            .map(|(other, deg)| format!("{} in {}", text(deg), other.name)),
    }
}

fn slider(
    (scenario, before): (&Scenario, Option<&Before>),
    subject: &BoardSubject<'_>,
    reading: &Reading,
    differs: Option<String>,
    units: Units,
) -> Slider {
    let setting = reading.setting;
    let shown = |value: f64| {
        let shown = value / setting.per_shown(units);
        (shown * 1e6).round() / 1e6
    };
    let range = setting.slider_range(units);
    let value = shown(reading.value);
    let before = before.and_then(|before| before.setting(subject.strategy.id, setting)).map(shown);
    let gimbal = match setting.knob {
        KnobId::TILT => format!(" Gimbal pitch {}°.", show::short(value - 90.0).replace('-', "−")),
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
        passes: setting.passes_name(scenario, subject.strategy),
        name: setting.name(scenario, subject.strategy),
        spoken: setting.name_of(scenario, subject.strategy, &subject.name),
        units,
        shown: value,
        before: before.filter(|before| (before - value).abs() > 1e-6),
        range: range.start().min(value)..=range.end().max(value),
        hint: format!("{}{gimbal}{spread}", setting.explanation()),
        differs,
    }
}

/// Verdict, its words, and the shortfalls with the worst one first.
fn verdict(known: Option<Known<'_>>, units: Units) -> (Verdict, String, Vec<String>) {
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
    let shortfalls = worst_first(outcome, units);
    match outcome.meets() {
        Some(true) => {
            let assumed = if outcome.assumed { ", buildings assumed" } else { "" };
            (Verdict::Meets, format!("meets the requirement{assumed}"), shortfalls)
        }
        Some(false) => {
            let count = u32::try_from(shortfalls.len()).unwrap_or(u32::MAX);
            (
                Verdict::Misses,
                format!("misses {}", show::counted(count, "requirement", "requirements")),
                shortfalls,
            )
        }
        None if outcome.is_pending() => {
            let what = if outcome.views.is_some() { "accuracy" } else { "coverage" };
            (Verdict::Unknown, format!("{what} is being worked out"), shortfalls)
        }
        None => (Verdict::NotJudged, outcome.not_judged().unwrap_or_default(), shortfalls),
    }
}

/// The sentences of what is missed, the one that lacks the greatest share of what was required first.
fn worst_first(outcome: &Outcome, units: Units) -> Vec<String> {
    let mut missed: Vec<&Judgement> = outcome.missed().collect();
    missed.sort_by(|a, b| b.lack().total_cmp(&a.lack()));
    missed.into_iter().filter_map(|line| line.shortfall(units.gsd_unit())).collect()
}

/// Nominal GSD, height, speed and what bounds the speed, of the present settings.
fn follows(known: Option<Known<'_>>, units: Units) -> String {
    let Some(Ok(outcome)) = known.map(|known| known.quick) else { return String::new() };
    if !outcome.feasible() {
        return "no figures: cannot be flown as set".to_owned();
    }
    let layouts = || outcome.plans().map(|plan| &plan.layout);
    let gsd = units.span(Unit::GsdCentimetres, layouts().map(|layout| 100.0 * layout.vertical_gsd_m));
    let height = units.span(Unit::Metres, layouts().map(|layout| layout.height_m));
    let speed = units.span(Unit::MetresPerSecond, outcome.plans().map(|plan| plan.speed.speed_mps));
    let capped = if layouts().any(|layout| layout.capped) { " (at the ceiling)" } else { "" };
    let length = |m: f64| units.length(m);
    let mut bounds: Vec<String> = outcome.plans().map(|plan| plan.speed.bound_text(length)).collect();
    bounds.dedup();
    format!("{gsd} at {height}{capped}; {speed} ({})", bounds.join(", "))
}

/// The same without what the settings say, and without what bounds the speed.
fn follows_brief(known: Option<Known<'_>>, lead: Lead, units: Units) -> String {
    let Some(Ok(outcome)) = known.map(|known| known.quick) else { return String::new() };
    if !outcome.feasible() {
        return "cannot be flown as set".to_owned();
    }
    let layouts = || outcome.plans().map(|plan| &plan.layout);
    let distance = match lead {
        Lead::Height => {
            units.span(Unit::GsdCentimetres, layouts().map(|layout| 100.0 * layout.vertical_gsd_m))
        }
        Lead::Gsd => units.span(Unit::Metres, layouts().map(|layout| layout.height_m)),
    };
    let speed = units.span(Unit::MetresPerSecond, outcome.plans().map(|plan| plan.speed.speed_mps));
    let capped = if layouts().any(|layout| layout.capped) { " (ceiling)" } else { "" };
    format!("{distance}{capped} · {speed}")
}
