//! What the computer has to do.

use crate::load::LoadFigures;
use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term, Working};
use crate::scenario::KnobId;

const RATES: &str =
    "counted work times the stage rates; only ratios mean something until the rates are calibrated";

/// Pixels of all images.
pub(crate) fn gigapixels(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let formula = Formula {
        result: Term::new("G", "pixels", load.gigapixels, "Gpx"),
        expression: Expression::symbol("n") * Expression::symbol("m") / Expression::number(1000.0),
        terms: vec![
            images(load),
            Term::new("m", "pixels of an image", load.megapixels, "Mpx")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.width_px"))),
        ],
        source: "10^9 pixels in a gigapixel, 10^6 in a megapixel",
    };
    Some(Working { steps: vec![Step::Formula(formula)] })
}

fn images(load: &LoadFigures) -> Term {
    Term::new("n", "images", f64::from(load.image_count), "").from(Origin::Measure(MeasureId::ImageCount))
}

/// Hours of all stages of processing.
pub(crate) fn hours(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let (hours, rates, pairs) = (load.hours?, load.rates, load.image_pairs?);
    let gigapixels =
        || Term::new("G", "pixels", load.gigapixels, "Gpx").from(Origin::Measure(MeasureId::Gigapixels));
    let pairs = Term::new("q", "image pairs", pairs as f64, "").from(Origin::Measure(MeasureId::ImagePairs));
    let each = [
        (
            "t_features",
            "finding features",
            hours.features_h,
            gigapixels(),
            RateOf {
                value: rates.features_h_per_gigapixel,
                key: KnobId("rates.stages.features_h_per_gigapixel"),
                unit: "h/Gpx",
                of: 1.0,
            },
        ),
        (
            "t_matching",
            "matching pairs",
            hours.matching_h,
            pairs,
            RateOf {
                value: rates.matching_h_per_thousand_pairs,
                key: KnobId("rates.stages.matching_h_per_thousand_pairs"),
                unit: "h/1000",
                of: 1000.0,
            },
        ),
        (
            "t_adjustment",
            "bundle adjustment",
            hours.adjustment_h,
            images(load),
            RateOf {
                value: rates.adjustment_h_per_thousand_images,
                key: KnobId("rates.stages.adjustment_h_per_thousand_images"),
                unit: "h/1000",
                of: 1000.0,
            },
        ),
        (
            "t_dense",
            "dense reconstruction",
            hours.dense_h,
            gigapixels(),
            RateOf {
                value: rates.dense_h_per_gigapixel,
                key: KnobId("rates.stages.dense_h_per_gigapixel"),
                unit: "h/Gpx",
                of: 1.0,
            },
        ),
    ];
    let parts =
        each.iter().map(|(symbol, name, value, ..)| Term::new(symbol, *name, *value, "h").from(Origin::Step));
    let result = Term::new("t", "processing", hours.total_h(), "h");
    let sum = Step::Budget(Budget { result, parts: parts.collect(), source: RATES });
    let formulas = each
        .into_iter()
        .map(|(symbol, name, value, work, rate)| rated(Term::new(symbol, name, value, "h"), work, &rate));
    Some(Working { steps: formulas.chain([sum]).collect() })
}

/// Hours for so many pieces of work.
struct RateOf {
    value: f64,
    key: KnobId,
    unit: &'static str,
    of: f64,
}

/// Work times its rate.
fn rated(result: Term, work: Term, rate: &RateOf) -> Step {
    let amount = Expression::symbol(work.symbol);
    let amount = if rate.of > 1.0 { amount / Expression::number(rate.of) } else { amount };
    let rated = Term::new("r", "rate", rate.value, rate.unit).from(Origin::Input(rate.key));
    let expression = amount * Expression::symbol("r");
    Step::Formula(Formula { result, expression, terms: vec![work, rated], source: RATES })
}
