use crate::wording::{apart, counted, minutes, percent, plural, trimmed};
use crate::{ClassFigures, MeasureId, Outcome, Requirement, Scenario, Shortage, SurfaceClass, ViewRules};

/// One line of the requirement, held against an outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum Judgement {
    /// Reached or bettered.
    Met {
        /// Which figure.
        of: MeasureId,
        /// The figure, in the measure's unit.
        value: f64,
        /// What was required.
        required: f64,
    },
    /// Not reached.
    Missed {
        /// Which figure.
        of: MeasureId,
        /// The figure, in the measure's unit.
        value: f64,
        /// What was required.
        required: f64,
        /// The whole sentence: the figure, the requirement and why.
        why: String,
    },
    /// Not worked out yet.
    Unknown {
        /// Which figure.
        of: MeasureId,
    },
}

/// Figures that differ from the requirement by less than this share of it meet it: the last bits of a sum.
const ROUNDING: f64 = 1e-6;

impl Judgement {
    /// Which figure it is about.
    pub fn of(&self) -> MeasureId {
        match self {
            Judgement::Met { of, .. } | Judgement::Missed { of, .. } | Judgement::Unknown { of } => *of,
        }
    }

    /// The sentence of a missed line.
    pub fn shortfall(&self) -> Option<&str> {
        match self {
            Judgement::Missed { why, .. } => Some(why),
            Judgement::Met { .. } | Judgement::Unknown { .. } => None,
        }
    }

    /// How far a missed line is from what was required, as a share of it; 0 for the others.
    pub fn lack(&self) -> f64 {
        match self {
            Judgement::Missed { value, required, .. } => ((value - required) / required).abs(),
            Judgement::Met { .. } | Judgement::Unknown { .. } => 0.0,
        }
    }

    /// A missed line in brief: "the walls (1 of 80 %)".
    fn brief(&self) -> Option<String> {
        let Judgement::Missed { of, value, required, .. } = self else { return None };
        Some(match of {
            MeasureId::Coverage(class) => {
                let (shown, asked) = (percent(*value, *required), percent(*required, *value));
                format!("the {} ({shown} of {asked} %)", plural(*class))
            }
            MeasureId::GsdP95(class) => {
                let (shown, asked) = (value * 100.0, required * 100.0);
                format!("the {} GSD ({} of {} cm)", class.name(), apart(shown, asked), trimmed(asked, 2))
            }
            MeasureId::TimeOnSite => format!("the time ({:.0} of {})", value / 60.0, minutes(*required)),
            _ => format!("the image count ({value:.0} of {required:.0})"),
        })
    }
}

/// Holds an outcome against the requirement, line by line: surfaces first, then time and images.
pub(crate) fn judge(outcome: &Outcome, requirement: &Requirement) -> Vec<Judgement> {
    let mut lines = Vec::new();
    for class in SurfaceClass::ALL {
        let Some(required) = requirement.coverage[class] else { continue };
        let Some(views) = &outcome.views else {
            lines.push(Judgement::Unknown { of: MeasureId::Coverage(class) });
            continue;
        };
        if let Some(figures) = &views.classes[class] {
            lines.push(judge_coverage(class, figures, required, &requirement.views));
            lines.extend(judge_gsd(class, figures, requirement.gsd_cm[class] / 100.0));
        }
    }
    lines.extend(requirement.time_on_site_min.map(|most_min| judge_time(outcome, most_min * 60.0)));
    lines.extend(requirement.images.map(|most| judge_images(outcome, most)));
    lines
}

fn judge_coverage(
    class: SurfaceClass,
    figures: &ClassFigures,
    required: f64,
    rules: &ViewRules,
) -> Judgement {
    let (of, value) = (MeasureId::Coverage(class), figures.covered_ratio);
    if value >= required - ROUNDING {
        return Judgement::Met { of, value, required };
    }
    let why = format!(
        "{}: {} % of the area is covered, {} % required; {}",
        plural(class),
        percent(value, required),
        percent(required, value),
        why_uncovered(&figures.shortage, rules)
    );
    Judgement::Missed { of, value, required, why }
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

fn judge_gsd(class: SurfaceClass, figures: &ClassFigures, required: f64) -> Option<Judgement> {
    let (of, value) = (MeasureId::GsdP95(class), figures.gsd?.p95_m);
    if value <= required * (1.0 + ROUNDING) {
        return Some(Judgement::Met { of, value, required });
    }
    let (shown, asked) = (value * 100.0, required * 100.0);
    let why = format!(
        "{}: 95 % of what is seen is at {} cm or finer, {} cm required; fly lower or look more squarely at it",
        plural(class),
        apart(shown, asked),
        trimmed(asked, 2)
    );
    Some(Judgement::Missed { of, value, required, why })
}

fn judge_time(outcome: &Outcome, required: f64) -> Judgement {
    let (of, value) = (MeasureId::TimeOnSite, outcome.time.time_on_site_s());
    if value <= required * (1.0 + ROUNDING) {
        return Judgement::Met { of, value, required };
    }
    let why = format!(
        "time on site: {}, {} allowed; {} of it is flight, in {}",
        minutes(value),
        minutes(required),
        minutes(outcome.time.flight_s),
        counted(outcome.flight.sorties.len() as u64, "sortie", "sorties")
    );
    Judgement::Missed { of, value, required, why }
}

fn judge_images(outcome: &Outcome, most: u32) -> Judgement {
    let (of, value, required) = (MeasureId::ImageCount, f64::from(outcome.image_count), f64::from(most));
    if value <= required {
        return Judgement::Met { of, value, required };
    }
    Judgement::Missed { of, value, required, why: format!("images: {value:.0}, {required:.0} allowed") }
}

/// One sentence for the whole board: which strategy is the quickest that meets the job, and what the others miss.
pub fn compare_sentence(scenario: &Scenario, outcomes: &[Outcome]) -> String {
    if outcomes.is_empty() {
        return "No strategy yet: add one to see what it costs and what it delivers.".to_owned();
    }
    if outcomes.iter().any(|outcome| outcome.meets().is_none()) {
        return "Working out which strategies meet the job.".to_owned();
    }
    let (meeting, failing): (Vec<_>, Vec<_>) = outcomes.iter().partition(|o| o.meets() == Some(true));
    let assumed = if outcomes.iter().any(|o| o.assumed) { " (with assumed buildings)" } else { "" };
    let quickest = meeting.iter().min_by(|a, b| a.time.time_on_site_s().total_cmp(&b.time.time_on_site_s()));
    let Some(best) = quickest else {
        return format!("No strategy meets the job{assumed}: {}.", misses(scenario, &failing));
    };
    let lead = match (meeting.len(), outcomes.len()) {
        (1, 1) => "meets the job",
        (1, _) => "is the only one that meets the job",
        _ => "is the quickest that meets the job",
    };
    let on_site = minutes(best.time.time_on_site_s());
    let batteries = counted(best.flight.sorties.len() as u64, "battery", "batteries");
    let rest = if failing.is_empty() { String::new() } else { format!("; {}", misses(scenario, &failing)) };
    format!("{} {lead}{assumed}: {on_site} on site, {batteries}{rest}.", best.name)
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
    let worst = outcome.worst_miss().and_then(Judgement::brief).unwrap_or_default();
    let others = outcome.shortfalls().len().saturating_sub(1);
    let more = if others > 0 { format!(" and {others} more") } else { String::new() };
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
}
