use crate::base::wording::{Held, counted, held, listed, minutes, plural, side, trimmed};
use crate::result::likely::time_and_batteries;
use crate::result::outcome::Finished;
use crate::result::{Better, Judgement, MEASURES, Measure, MeasureId, Outcome, measure};
use crate::scenario::{Scenario, ViewRules};
use crate::view::Shortage;
use std::cmp::Ordering;

/// A missed line in brief: "walls 0.3 %, 80 % needed".
fn brief(line: &Judgement) -> Option<String> {
    let Judgement::Missed { of, value, required, .. } = line else { return None };
    let Held { value, limit } = held(measure(*of).unit, *value, *required);
    Some(match of {
        MeasureId::Coverage(class) => format!("{} {value}, {limit} needed", plural(*class)),
        MeasureId::GsdP95(class) => format!("{} GSD {value}, {limit} needed", class.name()),
        MeasureId::TimeOnSite => format!("time on site {value}, {limit} allowed"),
        MeasureId::Sorties => format!("batteries {value}, {limit} on hand"),
        _ => format!("images {value}, {limit} allowed"),
    })
}

/// Holds what can be flown against the requirement and the batteries on hand, line by line: surfaces first, then time, images
/// and batteries.
pub(crate) fn judge(stages: &Finished<'_>, scenario: &Scenario) -> Vec<Judgement> {
    let mut lines: Vec<Judgement> =
        MEASURES.iter().filter_map(|row| judgement(row, stages, scenario)).collect();
    lines.sort_by_key(|line| match line.of() {
        MeasureId::Coverage(class) => (0, class as u8, 0),
        MeasureId::GsdP95(class) => (0, class as u8, 1),
        MeasureId::TimeOnSite => (1, 0, 0),
        MeasureId::ImageCount => (1, 0, 1),
        _ => (2, 0, 0),
    });
    lines
}

/// A figure against what is asked of it; nothing where nothing is asked, or where what is asked of its class is told by that
/// of another figure.
fn judgement(row: &Measure, stages: &Finished<'_>, scenario: &Scenario) -> Option<Judgement> {
    let (of, required) = (row.id, (row.required)(scenario)?);
    let Some(value) = row.of(stages) else {
        let MeasureId::Coverage(_) = of else { return None };
        let known = stages.views.is_some();
        return Some(if known { Judgement::NotJudged { of } } else { Judgement::Unknown { of } });
    };
    let fails = match row.better {
        Better::More => Ordering::Less,
        Better::Less => Ordering::Greater,
    };
    if side(value, required) != fails {
        return Some(Judgement::Met { of, value, required });
    }
    let why = why(row, held(row.unit, value, required), stages, &scenario.requirement.views);
    Some(Judgement::Missed { of, value, required, why })
}

/// The whole sentence of a missed line.
fn why(row: &Measure, told: Held, stages: &Finished<'_>, rules: &ViewRules) -> String {
    let Held { value, limit } = told;
    match row.id {
        MeasureId::Coverage(class) => {
            let rest = stages.class(class).map(|figures| why_uncovered(&figures.shortage, rules));
            let rest = rest.unwrap_or_default();
            format!("{}: {value} of the area is covered, {limit} needed; {rest}", plural(class))
        }
        MeasureId::GsdP95(class) => format!(
            "{}: 95 % of what is seen is at {value} or finer, {limit} needed; fly lower or look more squarely at it",
            plural(class)
        ),
        MeasureId::TimeOnSite => {
            let timing = stages.timing;
            let (flight_s, sorties) =
                timing.map_or((0.0, 0), |timing| (timing.time.flight_s, timing.flight.sorties.len()));
            format!(
                "time on site: {value}, {limit} allowed; {} of it is flight, in {}",
                minutes(flight_s),
                counted(sorties as u64, "sortie", "sorties")
            )
        }
        MeasureId::Sorties => {
            let sorties = stages.timing.map_or(0, |timing| timing.flight.sorties.len());
            format!(
                "batteries: {} needed, {limit} on hand and none charged on site; bring more, charge on site, or split the \
                 job",
                counted(sorties as u64, "battery set", "battery sets")
            )
        }
        _ => format!("{}: {value}, {limit} allowed", row.label),
    }
}

/// The greatest part of the uncovered area, and why it is not covered.
fn why_uncovered(shortage: &Shortage, rules: &ViewRules) -> String {
    let slanted = trimmed(rules.max_incidence_deg, 1);
    let reasons = [
        (shortage.outside_frames, "is in no image's frame, or is seen from behind only".to_owned()),
        (shortage.hidden, "is hidden in every image that points at it".to_owned()),
        (shortage.too_slanted, format!("is seen only beyond {slanted}° from its normal")),
        (shortage.too_coarse, "is seen only at more than twice the GSD required".to_owned()),
        (shortage.too_few, format!("has fewer than {} usable views", rules.min_views)),
        (
            shortage.not_linked,
            format!(
                "has views that do not work together: no {} of them linked within {}° and {}° apart",
                rules.min_views,
                trimmed(rules.max_link_deg, 1),
                trimmed(rules.min_intersection_deg, 1)
            ),
        ),
    ];
    let rest: f64 = reasons.iter().map(|reason| reason.0).sum();
    let [first, ..] = &reasons;
    let greatest = reasons.iter().fold(first, |best, reason| if reason.0 > best.0 { reason } else { best });
    let part = if greatest.0 > 0.5 * rest { "most of the rest" } else { "the largest part of the rest" };
    format!("{part} {}", greatest.1)
}

/// One sentence for the whole board: which strategy is the quickest that meets the requirement, as far as it is judged, and
/// what the others miss. Where its band crosses the time allowed or a whole battery it says what one draw in ten comes to.
pub fn compare_sentence(scenario: &Scenario, outcomes: &[Outcome]) -> String {
    if outcomes.is_empty() {
        return "No strategy yet: add one to see what it costs and what it delivers.".to_owned();
    }
    if outcomes.iter().any(Outcome::is_pending) {
        return "Working out which strategies meet the requirement.".to_owned();
    }
    let (passing, failing): (Vec<_>, Vec<_>) = outcomes.iter().partition(|o| o.misses_nothing());
    let assumed = if outcomes.iter().any(|o| o.assumed) { " (with assumed buildings)" } else { "" };
    let timed = passing.iter().filter_map(|outcome| Some((outcome, outcome.timing.as_ref()?)));
    let quickest = timed.min_by(|a, b| a.1.time.time_on_site_s().total_cmp(&b.1.time.time_on_site_s()));
    let Some((best, timing)) = quickest else {
        return format!("No strategy meets the requirement{assumed}: {}.", misses(scenario, &failing));
    };
    let among = match (passing.len(), outcomes.len()) {
        (1, 1) => Among::Alone,
        (1, _) => Among::OnlyOne,
        _ => Among::Several,
    };
    let lead = lead(best, among, assumed);
    let most_s = scenario.requirement.time_on_site_min.map(|most_min| most_min * 60.0);
    let takes = time_and_batteries(timing, most_s);
    let rest = if failing.is_empty() { String::new() } else { format!("; {}", misses(scenario, &failing)) };
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
fn misses(scenario: &Scenario, failing: &[&Outcome]) -> String {
    let parts: Vec<String> = failing.iter().take(NAMED).map(|outcome| miss(scenario, outcome)).collect();
    let named = parts.join("; ");
    match failing.len().saturating_sub(NAMED) {
        0 => named,
        1 => format!("{named}; and 1 more fails"),
        more => format!("{named}; and {more} more fail"),
    }
}

fn miss(scenario: &Scenario, outcome: &Outcome) -> String {
    let name = scenario.strategy(outcome.strategy).map_or(&outcome.name, |strategy| &strategy.name);
    if let Some(reason) = outcome.reasons.first() {
        return format!("{name} cannot be flown ({reason})");
    }
    let worst = outcome.worst_miss().and_then(brief).unwrap_or_default();
    let others = outcome.shortfalls().len().saturating_sub(1);
    let more = if others > 0 { format!(", and {others} more") } else { String::new() };
    format!("{name} misses {worst}{more}")
}

impl Outcome {
    /// The missed line that is farthest from what was required, for its size.
    pub fn worst_miss(&self) -> Option<&Judgement> {
        self.judgements
            .iter()
            .filter(|line| matches!(line, Judgement::Missed { .. }))
            .max_by(|a, b| a.lack().total_cmp(&b.lack()))
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
