use crate::base::GsdUnit;
use crate::base::wording::{listed, side};
use crate::base::{ByClass, SurfaceClass};
use crate::flight::Timing;
use crate::network::NetworkFigures;
use crate::result::likely::time_and_batteries;
use crate::result::outcome::Finished;
use crate::result::{Better, Judgement, MEASURES, Measure, MeasureId, Outcome, Reason};
use crate::scenario::{Conditions, Requirement, Scenario};
use std::cmp::Ordering;

/// Holds what can be flown against the requirement and the batteries on hand, line by line: surfaces first, then time, images
/// and batteries.
pub(crate) fn judge(
    stages: &Finished<'_>,
    requirement: &Requirement,
    conditions: &Conditions,
) -> Vec<Judgement> {
    let mut lines: Vec<Judgement> =
        MEASURES.iter().filter_map(|row| judgement(row, stages, requirement, conditions)).collect();
    lines.sort_by_key(|line| match line.of() {
        MeasureId::Coverage(class) => (0, class as u8, 0),
        MeasureId::GsdP95(class) => (0, class as u8, 1),
        MeasureId::AccuracyHorizontal => (0, u8::MAX, 0),
        MeasureId::AccuracyVertical => (0, u8::MAX, 1),
        MeasureId::TimeOnSite => (1, 0, 0),
        MeasureId::ImageCount => (1, 0, 1),
        _ => (2, 0, 0),
    });
    lines
}

/// A figure against what is asked of it; nothing where nothing is asked, or where the figure is of a surface and not known:
/// that is told by the coverage of the surface.
fn judgement(
    row: &Measure,
    stages: &Finished<'_>,
    requirement: &Requirement,
    conditions: &Conditions,
) -> Option<Judgement> {
    let (of, required) = (row.id, (row.required)(requirement, conditions)?);
    let Some(value) = judged(row, stages, requirement) else { return unjudged(of, stages, required) };
    let fails = match row.better {
        Better::More => Ordering::Less,
        Better::Less => Ordering::Greater,
    };
    if side(value, required) != fails {
        return Some(Judgement::Met { of, value, required });
    }
    let why = match in_parts(row, stages, required) {
        Some(in_parts) => in_parts,
        None => reason(of, stages, requirement)?,
    };
    Some(Judgement::Missed { of, value, required, why })
}

/// What is said of a line whose figure is not known.
fn unjudged(of: MeasureId, stages: &Finished<'_>, required: f64) -> Option<Judgement> {
    let (is_accuracy, is_coverage) = (is_accuracy(of), matches!(of, MeasureId::Coverage(_)));
    if !is_accuracy && !is_coverage {
        return None;
    }
    if stages.views.is_none() || (is_accuracy && stages.network.is_some_and(NetworkFigures::is_preview)) {
        return Some(Judgement::Unknown { of });
    }
    if is_accuracy && stages.network.is_some() {
        return Some(Judgement::Missed { of, value: f64::INFINITY, required, why: Reason::NotHeld });
    }
    Some(Judgement::NotJudged { of })
}

/// Whether a line is of what the adjustment of the block tells.
fn is_accuracy(of: MeasureId) -> bool {
    matches!(of, MeasureId::AccuracyHorizontal | MeasureId::AccuracyVertical)
}

/// A figure as it is held against what is asked: coverage by the part of the block that covers most of what is asked, once
/// parts are known.
fn judged(row: &Measure, stages: &Finished<'_>, requirement: &Requirement) -> Option<f64> {
    let is_preview = stages.network.is_some_and(NetworkFigures::is_preview);
    let value = row.of(stages).filter(|_| !(is_preview && is_accuracy(row.id)))?;
    let (MeasureId::Coverage(class), Some(network)) = (row.id, stages.network) else { return Some(value) };
    let area_m2 = ByClass::from_fn(|class| {
        let asked = requirement.coverage[class].and_then(|_| stages.class(class));
        asked.map_or(0.0, |figures| figures.area_m2)
    });
    let part = network.foremost_part(&area_m2);
    part.and_then(|part| part.covered_ratio[class]).or(Some(value))
}

/// Whether what is missed would be met if the parts of the block hung together.
fn in_parts(row: &Measure, stages: &Finished<'_>, required: f64) -> Option<Reason> {
    let (MeasureId::Coverage(_), Some(network), Some(together)) = (row.id, stages.network, row.of(stages))
    else {
        return None;
    };
    let parts = network.parts.len();
    (parts > 1 && side(together, required) != Ordering::Less).then_some(Reason::InParts { parts, together })
}

/// Why a figure misses what is asked of it.
fn reason(of: MeasureId, stages: &Finished<'_>, requirement: &Requirement) -> Option<Reason> {
    let Requirement { views: rules, accuracy, .. } = requirement;
    let level = accuracy.level;
    Some(match of {
        MeasureId::Coverage(class) => Reason::Uncovered(stages.class(class)?.shortage, *rules),
        MeasureId::GsdP95(_) => Reason::TooCoarse,
        MeasureId::AccuracyHorizontal => Reason::TooUncertain { level, asked_m: accuracy.horizontal_m? },
        MeasureId::AccuracyVertical => Reason::TooUncertain { level, asked_m: accuracy.vertical_m? },
        MeasureId::TimeOnSite => {
            let Timing { time, flight, .. } = stages.timing?;
            Reason::TooLong { flight_s: time.flight_s, sorties: flight.sorties.len() as u64 }
        }
        MeasureId::Sorties => Reason::TooFewBatteries,
        _ => Reason::TooMany,
    })
}

/// What is said of all strategies together, in two parts: the one to fly, and what the others miss.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// Which strategy is the quickest that meets the requirement, as far as it is judged, and what it takes; or that there is
    /// none.
    pub lead: String,
    /// What the others miss; empty where there is nothing to say.
    pub rest: String,
    /// Between the two.
    joint: &'static str,
}

impl Comparison {
    fn of(lead: String) -> Self {
        Comparison { lead, rest: String::new(), joint: "" }
    }

    /// Both parts as one sentence.
    pub fn sentence(&self) -> String {
        format!("{}{}{}.", self.lead, self.joint, self.rest)
    }
}

/// One sentence for the whole board: see [`compare`].
pub fn compare_sentence(scenario: &Scenario, outcomes: &[Outcome], gsd: GsdUnit) -> String {
    compare(scenario, outcomes, gsd).sentence()
}

/// Which strategy is the quickest that meets the requirement, as far as it is judged, and what the others miss. Where its
/// band crosses the time allowed or a whole battery it says what one draw in ten comes to.
pub fn compare(scenario: &Scenario, outcomes: &[Outcome], gsd: GsdUnit) -> Comparison {
    if outcomes.is_empty() {
        return Comparison::of(
            "No strategy yet: add one to see what it costs and what it delivers".to_owned(),
        );
    }
    if outcomes.iter().any(Outcome::is_pending) {
        return Comparison::of("Working out which strategies meet the requirement".to_owned());
    }
    let (passing, failing): (Vec<_>, Vec<_>) = outcomes.iter().partition(|o| o.misses_nothing());
    let assumed = if outcomes.iter().any(|o| o.assumed) { " (with assumed buildings)" } else { "" };
    let timed = passing.iter().filter_map(|outcome| Some((outcome, outcome.timing.as_ref()?)));
    let quickest = timed.min_by(|a, b| a.1.time.time_on_site_s().total_cmp(&b.1.time.time_on_site_s()));
    let Some((best, timing)) = quickest else {
        let lead = format!("No strategy meets the requirement{assumed}");
        return Comparison { lead, rest: misses(scenario, &failing, gsd), joint: ": " };
    };
    let among = match (passing.len(), outcomes.len()) {
        (1, 1) => Among::Alone,
        (1, _) => Among::OnlyOne,
        _ => Among::Several,
    };
    let most_s = scenario.requirement.time_on_site_min.map(|most_min| most_min * 60.0);
    let takes = time_and_batteries(timing, most_s);
    let lead = format!("{} {}: {takes}", best.name, lead(best, among, assumed));
    if failing.is_empty() {
        return Comparison::of(lead);
    }
    Comparison { lead, rest: misses(scenario, &failing, gsd), joint: "; " }
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
    /// and walls are not modelled"; or that accuracy is asked and was not worked out.
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
            lines.into_iter().filter_map(of_class).map(SurfaceClass::plural).collect()
        };
        let (unjudged, judged) = (names(unjudged), names(judged));
        let not_adjusted = |line: &Judgement| matches!(line, Judgement::NotJudged { of } if is_accuracy(*of));
        let accuracy = self.judgements.iter().any(not_adjusted).then_some("accuracy is not worked out");
        if unjudged.is_empty() {
            return accuracy.map(str::to_owned);
        }
        let only =
            if judged.is_empty() { "no surface".to_owned() } else { format!("{} only", listed(&judged)) };
        let are = if unjudged == ["ground"] { "is" } else { "are" };
        let surfaces = format!("{only}; {} {are} not modelled", listed(&unjudged));
        Some(accuracy.map_or(surfaces.clone(), |accuracy| format!("{surfaces}; {accuracy}")))
    }
}
