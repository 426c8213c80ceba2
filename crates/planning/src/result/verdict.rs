use crate::base::wording::{listed, plural, side};
use crate::base::{GsdUnit, SurfaceClass};
use crate::flight::Bands;
use crate::result::likely::time_and_batteries;
use crate::result::{Cost, Judgement, MeasureId, Outcome, Reason};
use crate::scenario::{Conditions, Requirement, Scenario, ViewRules};
use crate::view::ClassFigures;
use std::cmp::Ordering;

/// Holds an outcome against the requirement and the batteries on hand, line by line: surfaces first, then time, images and
/// batteries. Nothing is judged of what cannot be flown.
pub(crate) fn judge(outcome: &Outcome, requirement: &Requirement, conditions: &Conditions) -> Vec<Judgement> {
    let Some(cost) = &outcome.cost else { return Vec::new() };
    let mut lines = Vec::new();
    for class in SurfaceClass::ALL {
        let Some(required) = requirement.coverage[class] else { continue };
        let Some(views) = &outcome.views else {
            lines.push(Judgement::Unknown { of: MeasureId::Coverage(class) });
            continue;
        };
        let Some(figures) = &views.classes[class] else {
            lines.push(Judgement::NotJudged { of: MeasureId::Coverage(class) });
            continue;
        };
        lines.push(judge_coverage(class, figures, required, &requirement.views));
        lines.extend(judge_gsd(class, figures, requirement.gsd_cm[class] / 100.0));
    }
    lines.extend(requirement.time_on_site_min.map(|most_min| judge_time(cost, most_min * 60.0)));
    lines.extend(requirement.images.map(|most| judge_images(cost, most)));
    // Sets that are charged on site fly again; waiting for them is part of the time.
    if conditions.charging.is_none() {
        lines.push(judge_batteries(cost, conditions.battery_sets));
    }
    lines
}

fn judge_coverage(
    class: SurfaceClass,
    figures: &ClassFigures,
    required: f64,
    rules: &ViewRules,
) -> Judgement {
    let (of, value) = (MeasureId::Coverage(class), figures.covered_ratio);
    if side(value, required) != Ordering::Less {
        return Judgement::Met { of, value, required };
    }
    Judgement::Missed { of, value, required, why: Reason::Uncovered(figures.shortage, *rules) }
}

fn judge_gsd(class: SurfaceClass, figures: &ClassFigures, required: f64) -> Option<Judgement> {
    let (of, value) = (MeasureId::GsdP95(class), figures.gsd?.p95_m);
    if side(value, required) != Ordering::Greater {
        return Some(Judgement::Met { of, value, required });
    }
    Some(Judgement::Missed { of, value, required, why: Reason::TooCoarse })
}

fn judge_time(cost: &Cost, required: f64) -> Judgement {
    let (of, value) = (MeasureId::TimeOnSite, cost.time.time_on_site_s());
    if side(value, required) != Ordering::Greater {
        return Judgement::Met { of, value, required };
    }
    let (flight_s, sorties) = (cost.time.flight_s, cost.flight.sorties.len() as u64);
    Judgement::Missed { of, value, required, why: Reason::TooLong { flight_s, sorties } }
}

fn judge_images(cost: &Cost, most: u32) -> Judgement {
    let (of, value, required) = (MeasureId::ImageCount, f64::from(cost.image_count), f64::from(most));
    if value <= required {
        return Judgement::Met { of, value, required };
    }
    Judgement::Missed { of, value, required, why: Reason::TooMany }
}

fn judge_batteries(cost: &Cost, on_hand: u32) -> Judgement {
    let sorties = cost.flight.sorties.len();
    let (of, value, required) = (MeasureId::Sorties, sorties as f64, f64::from(on_hand));
    if value <= required {
        return Judgement::Met { of, value, required };
    }
    Judgement::Missed { of, value, required, why: Reason::TooFewBatteries }
}

/// One sentence for the whole board: which strategy is the quickest that meets the requirement, as far as it is judged, and
/// what the others miss. Where its band crosses the time allowed or a whole battery it says what one draw in ten comes to.
///
/// `bands` has one entry for each outcome, or none at all.
pub fn compare_sentence(
    scenario: &Scenario,
    outcomes: &[Outcome],
    bands: &[Option<&Bands>],
    gsd: GsdUnit,
) -> String {
    if outcomes.is_empty() {
        return "No strategy yet: add one to see what it costs and what it delivers.".to_owned();
    }
    if outcomes.iter().any(Outcome::is_pending) {
        return "Working out which strategies meet the requirement.".to_owned();
    }
    let (passing, failing): (Vec<_>, Vec<_>) = outcomes.iter().partition(|o| o.misses_nothing());
    let assumed = if outcomes.iter().any(|o| o.assumed) { " (with assumed buildings)" } else { "" };
    let costs = passing.iter().filter_map(|outcome| Some((outcome, outcome.cost.as_ref()?)));
    let quickest = costs.min_by(|a, b| a.1.time.time_on_site_s().total_cmp(&b.1.time.time_on_site_s()));
    let Some((best, cost)) = quickest else {
        return format!("No strategy meets the requirement{assumed}: {}.", misses(scenario, &failing, gsd));
    };
    let among = match (passing.len(), outcomes.len()) {
        (1, 1) => Among::Alone,
        (1, _) => Among::OnlyOne,
        _ => Among::Several,
    };
    let lead = lead(best, among, assumed);
    let place = outcomes.iter().position(|outcome| outcome.strategy == best.strategy);
    let bands = place.and_then(|place| *bands.get(place)?);
    let most_s = scenario.requirement.time_on_site_min.map(|most_min| most_min * 60.0);
    let takes = time_and_batteries(cost, bands, most_s);
    let rest =
        if failing.is_empty() { String::new() } else { format!("; {}", misses(scenario, &failing, gsd)) };
    format!("{} {lead}: {takes}{rest}.", best.name)
}

/// Among what the quickest of those that miss nothing was found.
#[derive(Clone, Copy)]
enum Among {
    /// There is no other strategy.
    Alone,
    /// All others miss something.
    OnlyOne,
    /// Others miss nothing either.
    Several,
}

/// What is said of the quickest of those that miss nothing.
fn lead(best: &Outcome, among: Among, assumed: &str) -> String {
    let Some(note) = best.not_judged() else {
        let words = match among {
            Among::Alone => "meets the requirement",
            Among::OnlyOne => "is the only one that meets the requirement",
            Among::Several => "is the quickest that meets the requirement",
        };
        return format!("{words}{assumed}");
    };
    let words = match among {
        Among::Alone => "misses nothing as far as judged",
        Among::OnlyOne => "is the only one that misses nothing as far as judged",
        Among::Several => "is the quickest as far as judged",
    };
    format!("{words}{assumed} ({note})")
}

/// A sentence says of this many strategies why they fail; it counts the rest.
const NAMED: usize = 3;

/// What each failing strategy misses most.
fn misses(scenario: &Scenario, failing: &[&Outcome], gsd: GsdUnit) -> String {
    let parts: Vec<String> = failing.iter().take(NAMED).map(|outcome| miss(scenario, outcome, gsd)).collect();
    let named = parts.join("; ");
    match failing.len().saturating_sub(NAMED) {
        0 => named,
        1 => format!("{named}; and 1 more fails"),
        more => format!("{named}; and {more} more fail"),
    }
}

fn miss(scenario: &Scenario, outcome: &Outcome, gsd: GsdUnit) -> String {
    let name = scenario.strategy(outcome.strategy).map_or(&outcome.name, |strategy| &strategy.name);
    if let Some(reason) = outcome.reasons.first() {
        return format!("{name} cannot be flown ({reason})");
    }
    let worst = outcome.worst_miss().and_then(|line| line.brief(gsd)).unwrap_or_default();
    let others = outcome.missed().count().saturating_sub(1);
    let more = if others > 0 { format!(", and {others} more") } else { String::new() };
    format!("{name} misses {worst}{more}")
}

impl Outcome {
    /// The missed line that is farthest from what was required, for its size.
    pub fn worst_miss(&self) -> Option<&Judgement> {
        self.missed().max_by(|a, b| a.lack().total_cmp(&b.lack()))
    }
    /// What is judged and what is not, where something is asked of surfaces that the site does not model: "ground only; roofs
    /// and walls are not modelled".
    pub fn not_judged(&self) -> Option<String> {
        let of_class = |line: &Judgement| match line.of() {
            MeasureId::Coverage(class) => Some(class),
            _ => None,
        };
        let (unjudged, judged): (Vec<&Judgement>, Vec<&Judgement>) = self
            .judgements
            .iter()
            .filter(|line| of_class(line).is_some())
            .partition(|line| matches!(line, Judgement::NotJudged { .. }));
        let names = |lines: Vec<&Judgement>| -> Vec<&str> {
            lines.into_iter().filter_map(of_class).map(plural).collect()
        };
        let (unjudged, judged) = (names(unjudged), names(judged));
        if unjudged.is_empty() {
            return None;
        }
        let only =
            if judged.is_empty() { "no surface".to_owned() } else { format!("{} only", listed(&judged)) };
        let are = if unjudged == ["ground"] { "is" } else { "are" };
        Some(format!("{only}; {} {are} not modelled", listed(&unjudged)))
    }
}
