//! What surfaces get.

use crate::base::SurfaceClass;
use crate::result::PassOutcome;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{CountedShare, Formula, Origin, Step, Term, Working};
use crate::scenario::KnobId;
use crate::view::{ClassFigures, Shortage};

const SAMPLES: &str =
    "counted on samples of the surface, each standing for its area; the rules are those of the requirement";

const BEST: &str = "the best counted view of every sample, by area; 95 % of the area with a counted view is as fine as the \
                    figure or finer";

const PINHOLE: &str =
    "pinhole camera that faces its surface: side of a pixel over focal length, times the distance";

/// The share covered, and why the rest is not.
pub(crate) fn coverage(stages: &Finished<'_>, class: SurfaceClass) -> Option<Working> {
    let ClassFigures { area_m2, covered_ratio, shortage, .. } = stages.class(class)?;
    let Shortage { outside_frames, hidden, too_slanted, too_coarse, too_few, not_linked } = shortage;
    let area = |name: &str, ratio: f64| Term::new("", name, ratio * area_m2, "m²");
    let share = CountedShare {
        result: Term::new("c", "covered", 100.0 * covered_ratio, "%"),
        whole: Term::new("A", "area", *area_m2, "m²"),
        counted: Term::new("A_c", "covered", covered_ratio * area_m2, "m²"),
        rest: vec![
            area("in no image's frame, or seen from behind only", *outside_frames),
            area("hidden in every image that points at it", *hidden),
            area("seen too slantingly", *too_slanted),
            area("seen too coarsely", *too_coarse),
            area("in too few counted views", *too_few),
            area("in views that do not work together", *not_linked),
        ],
        source: SAMPLES,
    };
    Some(Working { steps: vec![Step::Share(share)] })
}

/// The nominal GSD of every pass, and what comes of it on the surface.
pub(crate) fn gsd(stages: &Finished<'_>, class: SurfaceClass) -> Option<Working> {
    let ClassFigures { area_m2, gsd, unseen_ratio, .. } = stages.class(class)?;
    let share = CountedShare {
        result: Term::new("GSD_95", "GSD, 95th percentile", 100.0 * gsd.as_ref()?.p95_m, "cm"),
        whole: Term::new("A", "area", *area_m2, "m²"),
        counted: Term::new("A_v", "with a counted view", (1.0 - unseen_ratio) * area_m2, "m²"),
        rest: vec![Term::new("", "without a counted view", unseen_ratio * area_m2, "m²")],
        source: BEST,
    };
    let nominal = stages.passes.iter().enumerate().filter_map(|(k, pass)| nominal(k, pass));
    Some(Working { steps: nominal.chain([Step::Share(share)]).collect() })
}

/// GSD of a camera that faces its surface from where a pass flies.
fn nominal(k: usize, pass: &PassOutcome) -> Option<Step> {
    let plan = pass.laid()?;
    let layout = &plan.layout;
    let distance = match layout.stand_off_m {
        Some(stand_off_m) => Term::new("H", "stand-off", stand_off_m, "m"),
        None => Term::new("H", "height", layout.height_m, "m"),
    };
    let camera = plan.stations.camera;
    Some(Step::Formula(Formula {
        result: Term::new(
            "GSD",
            format!("nominal GSD of pass {}", k + 1),
            100.0 * layout.vertical_gsd_m,
            "cm",
        ),
        expression: Expression::number(100.0) * Expression::symbol("H") / Expression::symbol("f"),
        terms: vec![
            distance,
            Term::new("f", "focal length", camera.focal_length_px, "px")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.focal_length_mm"))),
        ],
        source: PINHOLE,
    }))
}
