//! What the images' own geometry asks for: headings that are held, and what keeps a model from bending.

use crate::base::wording::{InUnits, trimmed};
use crate::network::{NetworkFigures, NetworkTerms};
use crate::result::caution::{Caution, CautionSource, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::scenario::{Aim, Pass, Pattern, Runs};

/// A camera tilted by less looks straight down.
pub(super) const NADIR_DEG: f64 = 5.0;

/// A block whose images are all tilted by no more determines its camera badly.
const GENTLE_DEG: f64 = 15.0;

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

/// Straight-down images at one height, or two strips along a line, with no control points: the model may bend. Once the
/// adjustment of the images is worked out it tells by how much, and of images that are tilted too little as well.
///
/// Only control points that are placed on the site count: those that the crew has time for stand nowhere yet.
pub(super) fn bending(facts: &Facts<'_>) -> Option<Caution> {
    if facts.network.map_or(facts.control, |network| network.held.control) > 0 {
        return None;
    }
    let what = bends(facts)?;
    if let Some(told) = facts.network.and_then(|network| dome_told(facts, what, network)) {
        return Some(told);
    }
    let text = format!(
        "{what} and {}: the model may bend, by far more than the GSD, and nothing shows it; {}, add an oblique pass, or log \
         positions to centimetres",
        without_control(facts),
        place_control(facts),
    );
    Some(check("bending", text, CautionSource::Practice).gauged(0.0, what))
}

/// That nothing on the ground holds the model, and why.
fn without_control(facts: &Facts<'_>) -> &'static str {
    match (facts.control, facts.conditions.control_points) {
        (0, 0) => "no control points",
        (0, _) => "no control points on the plan, though there is time on site for some",
        _ => "no control points in sight of two images",
    }
}

/// What to do about that.
fn place_control(facts: &Facts<'_>) -> &'static str {
    match (facts.control, facts.conditions.control_points) {
        (0, 0) => "lay out control points",
        (0, _) => "place them on the plan",
        _ => "move control points to where images see them",
    }
}

/// What of the passes lets a model bend.
fn bends(facts: &Facts<'_>) -> Option<&'static str> {
    let passes = &facts.strategy.passes;
    let within = |most_deg: f64| {
        passes.iter().all(|pass| {
            let level = pass.attitudes.iter().all(|look| look.tilt_deg.abs() <= most_deg);
            level && matches!(pass.pattern, Pattern::Strips(_))
        })
    };
    let narrow = passes
        .iter()
        .zip(facts.plans())
        .all(|(pass, plan)| pass.pattern.about().runs == Some(Runs::AlongLine) && plan.layout.strips <= 2);
    if within(NADIR_DEG) {
        Some("nadir images alone")
    } else if narrow {
        Some("one or two strips along a line")
    } else if facts.network.is_some() && within(GENTLE_DEG) {
        // Gentle tilts let decentring stand in for radial distortion: James and others 2020, ESPL 45, 2251-71.
        Some("images tilted by no more than 15° alone")
    } else {
        None
    }
}

/// The same with the dome that the adjustment tells of: graver where it is larger than a pixel on the ground.
fn dome_told(facts: &Facts<'_>, what: &'static str, network: &NetworkFigures) -> Option<Caution> {
    let camera = network.calibration.as_ref()?;
    let (doming_m, per_px_m) = (camera.doming_m?, camera.dome_per_px_m?.abs());
    let gsd_m = facts.plans().map(|plan| plan.layout.vertical_gsd_m).fold(0.0, f64::max);
    let text = InUnits::of(|units| {
        format!(
            "{what} and {}: the ground may come out domed by {} (one sigma, {}), and by {} more for every pixel \
             that a fixed calibration is wrong by in the corner of the frame, and nothing shows it; {} or add \
             an oblique pass",
            without_control(facts),
            units.error(doming_m),
            prior_told(&network.terms),
            units.error(per_px_m),
            place_control(facts),
        )
    });
    let told = InUnits::of(|units| units.error(doming_m));
    let made = if doming_m > gsd_m { check } else { reminder };
    Some(made("bending", text, CautionSource::Plan).gauged(doming_m, told))
}

/// What is known of the camera before, in sentences that rest on it.
pub(super) fn prior_told(terms: &NetworkTerms) -> String {
    match terms.freedom.prior_sigma[0] {
        Some(focal_px) => format!(
            "the camera calibrated with the block, its focal length known to {} px before",
            trimmed(focal_px, 1)
        ),
        None => "the calibration held fixed".to_owned(),
    }
}
