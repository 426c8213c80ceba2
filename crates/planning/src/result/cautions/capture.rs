//! What the images' own geometry asks for: headings that are held, and what keeps a model from bending.

use crate::result::caution::{Caution, CautionSource, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::scenario::{Aim, Pass, Pattern, Runs};

/// A camera tilted by less looks straight down.
const NADIR_DEG: f64 = 5.0;

/// Oblique images that look one way on all strips: the aircraft must not turn round with the track.
pub(super) fn held_heading(facts: &Facts<'_>) -> Option<Caution> {
    let held = |pass: &&Pass| {
        let there_and_back = pass.pattern.kind().flies_over();
        let one_way = |aim: Aim| matches!(aim, Aim::FromStrips { .. } | Aim::FromNorth { .. });
        let oblique = |tilt_deg: f64| tilt_deg.abs() > NADIR_DEG;
        there_and_back && pass.attitudes.iter().any(|look| oblique(look.tilt_deg) && one_way(look.aim))
    };
    let passes: Vec<_> = facts.strategy.passes.iter().filter(held).map(|pass| pass.id).collect();
    if passes.is_empty() {
        return None;
    }
    let text = "the camera looks the same way on all strips: many controllers turn the aircraft round on return strips and \
                cannot hold a heading there, so that every other strip would look the other way; check that yours can";
    let walk = facts.walk();
    let places = walk.longest_first(&walk.runs(|point| point.pass.is_some_and(|id| passes.contains(&id))));
    Some(reminder("heading-held", text.to_owned(), CautionSource::Practice).placed(places))
}

/// Straight-down images at one height, or two strips along a line, with no control points: the model may bend.
pub(super) fn bending(facts: &Facts<'_>) -> Option<Caution> {
    if facts.conditions.control_points > 0 {
        return None;
    }
    let passes = &facts.strategy.passes;
    let is_nadir = |pass: &Pass| {
        let level = pass.attitudes.iter().all(|look| look.tilt_deg.abs() <= NADIR_DEG);
        level && matches!(pass.pattern, Pattern::Strips(_))
    };
    let narrow = passes
        .iter()
        .zip(facts.plans())
        .all(|(pass, plan)| pass.pattern.about().runs == Some(Runs::AlongLine) && plan.layout.strips <= 2);
    let what = if passes.iter().all(is_nadir) {
        "nadir images alone"
    } else if narrow {
        "one or two strips along a line"
    } else {
        return None;
    };
    let text = format!(
        "{what} and no control points: the model may bend, by far more than the GSD, and nothing shows it; lay out control \
         points, add an oblique pass, or log positions to centimetres"
    );
    Some(check("bending", text, CautionSource::Practice).gauged(0.0, what))
}
