//! What is missed, in words.

use crate::base::wording::{Form, counted, minutes, trimmed};
use crate::base::{GsdUnit, Unit};
use crate::result::{Judgement, MeasureId, Outcome, Reason, measure};
use crate::scenario::{AccuracyLevel, ViewRules};
use crate::view::Shortage;

/// What ties parts of a block to each other, or holds each in its place.
const MEND: &str = "add a pass that sees what neighbouring parts see, from between them, or lay out three control points or more \
                    in the images of each";

impl Outcome {
    /// What the strategy misses, one sentence each.
    pub fn shortfalls(&self, gsd: GsdUnit) -> Vec<String> {
        self.judgements.iter().filter_map(|line| line.shortfall(gsd)).collect()
    }
}

impl Judgement {
    /// The sentence of a missed line: the figure, the requirement and why.
    pub fn shortfall(&self, gsd: GsdUnit) -> Option<String> {
        let Judgement::Missed { of, value, required, why } = self else { return None };
        let told = Form::of_in(measure(*of).unit, gsd).held(*value, *required);
        let (value, limit) = (told.value, told.limit);
        Some(match (of, why) {
            (MeasureId::Coverage(class), Reason::Uncovered(shortage, rules)) => {
                let rest = why_uncovered(shortage, rules);
                format!("{}: {value} of the area is covered, {limit} needed; {rest}", class.plural())
            }
            (MeasureId::Coverage(class), Reason::InParts { parts, together }) => format!(
                "{}: the part of the block that covers most covers {value} of the area, {limit} needed; all {parts} parts \
                 together cover {}, but no tie holds them together: {MEND}",
                class.plural(),
                Form::of_in(measure(*of).unit, gsd).held(*together, *required).value
            ),
            (MeasureId::GsdP95(class), _) => format!(
                "{}: 95 % of what is seen is at {value} or finer, {limit} needed; fly lower or look more squarely at it",
                class.plural()
            ),
            (_, Reason::TooLong { flight_s, sorties }) => format!(
                "time on site: {value}, {limit} allowed; {} of it is flight, in {}",
                minutes(*flight_s),
                counted(*sorties, "sortie", "sorties")
            ),
            (_, Reason::TooFewBatteries) => format!(
                "batteries: {value} {} needed, {limit} on hand and none charged on site; bring more, charge on site, or \
                 split the job",
                if value == "1" { "battery set" } else { "battery sets" }
            ),
            (of, Reason::NotHeld) => format!(
                "{}: not determined, {limit} RMSE needed; neither satellites nor control points hold the block in the site's \
                 frame: place control points, or give the aircraft its positioning",
                accuracy_of(*of)
            ),
            (of, Reason::TooUncertain { level, asked_m }) => format!(
                "{}: {value} RMSE expected, {limit} needed{}; control points, oblique images or a calibrated camera make it \
                 better",
                accuracy_of(*of),
                asked_at(*level, *asked_m)
            ),
            (_, Reason::TooMany | Reason::TooCoarse | Reason::Uncovered(..) | Reason::InParts { .. }) => {
                format!("images: {value}, {limit} allowed")
            }
        })
    }

    /// A missed line in brief: "walls 0.3 %, 80 % needed".
    pub fn brief(&self, gsd: GsdUnit) -> Option<String> {
        let Judgement::Missed { of, value, required, why } = self else { return None };
        let told = Form::of_in(measure(*of).unit, gsd).held(*value, *required);
        let (value, limit) = (told.value, told.limit);
        Some(match of {
            MeasureId::Coverage(class) => format!("{} {value}, {limit} needed", class.plural()),
            MeasureId::GsdP95(class) => format!("{} GSD {value}, {limit} needed", class.name()),
            MeasureId::AccuracyHorizontal | MeasureId::AccuracyVertical if *why == Reason::NotHeld => {
                format!("{} not determined, {limit} needed", accuracy_of(*of))
            }
            MeasureId::AccuracyHorizontal | MeasureId::AccuracyVertical => {
                format!("{} {value} RMSE, {limit} needed", accuracy_of(*of))
            }
            MeasureId::TimeOnSite => format!("time on site {value}, {limit} allowed"),
            MeasureId::Sorties => format!("batteries {value}, {limit} on hand"),
            _ => format!("images {value}, {limit} allowed"),
        })
    }
}

fn accuracy_of(of: MeasureId) -> &'static str {
    if of == MeasureId::AccuracyHorizontal { "horizontal accuracy" } else { "vertical accuracy" }
}

/// The limit as it was asked, where that is another number than the root mean square error.
fn asked_at(level: AccuracyLevel, asked_m: f64) -> String {
    if level == AccuracyLevel::Rmse {
        return String::new();
    }
    format!(" ({} {})", Form::of(Unit::Millimetres).limit(1000.0 * asked_m), level.words())
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
