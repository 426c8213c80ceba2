//! What the computer has to do.

use crate::load::{LoadFigures, PassPairs};
use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term, Working};
use crate::scenario::KnobId;

const RATES: &str =
    "counted work times the stage rates; only ratios mean something until the rates are calibrated";

const PAIRS: &str = "counted on the footprints, image by image: those that share at least a quarter of the smaller and whose axes \
                     lie within 60°; common practice, no source";

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
    Some(Working::new([Step::Formula(formula)]))
}

fn images(load: &LoadFigures) -> Term {
    Term::new("n", "images", f64::from(load.image_count), "").from(Origin::Measure(MeasureId::ImageCount))
}

/// Pairs of images, by the passes that the two are of.
pub(crate) fn pairs(stages: &Finished<'_>) -> Option<Working> {
    let load = stages.load?;
    let flown: Vec<usize> = (0..stages.passes.len()).filter(|k| stages.passes[*k].laid().is_some()).collect();
    let number = |place: usize| flown.get(place).map_or(0, |k| k + 1);
    let part = |of: &PassPairs| {
        let (first, second) = (number(of.first), number(of.second));
        let name = if first == second {
            format!("within pass {first}")
        } else {
            format!("between pass {first} and pass {second}")
        };
        Term::new("", name, of.pairs as f64, "")
    };
    let result = Term::new("q", "image pairs", load.image_pairs? as f64, "");
    let parts = load.pairs_by_pass.iter().map(part).collect();
    Some(Working::new([Step::Budget(Budget { result, parts, source: PAIRS })]))
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
    Some(Working::new(formulas.chain([sum])))
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
