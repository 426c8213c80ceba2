//! Images, and the room for them.

use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::layout;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term, Working};
use crate::scenario::KnobId;

/// Exposures taken, pass by pass.
pub(crate) fn images(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let plans = stages.passes.iter().enumerate().filter_map(|(k, pass)| Some((k, pass.laid()?)));
    let parts = plans.map(|(k, plan)| {
        Term::new("", format!("pass {}", k + 1), plan.stations.poses.len() as f64, "").from(Origin::Step)
    });
    let result = Term::new("n", "images", f64::from(load.image_count), "");
    let source = "exposures along the strips, rows and rings as they are laid out; those whose frame shows nothing of the \
                  site are skipped";
    let sum = Step::Budget(Budget { result, parts: parts.collect(), source });
    let passes = stages.passes.iter().enumerate().flat_map(|(k, pass)| layout::exposures(k, pass));
    Some(Working::new(passes.chain([sum])))
}

/// Card space.
pub(crate) fn storage(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let formula = Formula {
        result: Term::new("S", "card space", load.storage_gb, "GB"),
        expression: Expression::symbol("n") * Expression::symbol("s") / Expression::number(1000.0),
        terms: vec![
            Term::new("n", "images", f64::from(load.image_count), "")
                .from(Origin::Measure(MeasureId::ImageCount)),
            Term::new("s", "size of an image file", load.image_mb, "MB")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.image_mb"))),
        ],
        source: "10^9 bytes in a gigabyte, 10^6 in a megabyte (SI)",
    };
    Some(Working::new([Step::Formula(formula)]))
}
