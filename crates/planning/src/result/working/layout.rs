//! How a pass is laid out: the footprint of an image, base and spacing, strips, and the exposures line by line.

use crate::base::choice::up;
use crate::geometry::CameraModel;
use crate::result::PassOutcome;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term};
use crate::route::{LayoutTerms, Leg, PassPlan};
use crate::scenario::{CountingRule, KnobId};

const FOOTPRINT: &str = "pinhole camera that faces its surface: pixels over focal length, times the distance";
const OVERLAP: &str = "what an image does not share with the next one";
const RULES: &str = "the counting rule of the pass, as its setting says; textbooks differ";
const LINES: &str = "exposures at both ends of what is exposed on a line and, evenly, at most a base apart between them; those \
                     whose frame shows nothing of the site are skipped";

/// The steps from the camera to the exposures of a pass; none where it is not laid out.
pub(crate) fn exposures(k: usize, pass: &PassOutcome) -> Vec<Step> {
    let Some(plan) = pass.laid() else { return Vec::new() };
    let (layout, camera) = (&plan.layout, &plan.stations.camera);
    let along = side(k, camera, layout, ("L", "along the track"), layout.extent_along_m);
    let across = side(k, camera, layout, ("S", "across the track"), layout.extent_across_m);
    let base = along.is_some().then(|| {
        step_of(
            k,
            ("B", "air base"),
            layout.air_base_m,
            ("p", "forward overlap", KnobId::FORWARD_OVERLAP),
            "L",
            layout.extent_along_m,
        )
    });
    let spacing = across.is_some().then(|| {
        step_of(
            k,
            ("D", "spacing of strips"),
            layout.strip_spacing_m,
            ("q", "sidelap", KnobId::SIDELAP),
            "S",
            layout.extent_across_m,
        )
    });
    let strips = spacing.is_some().then(|| strips(k, layout)).flatten();
    let shared = [along, across, base.flatten(), spacing.flatten(), strips];
    shared.into_iter().flatten().chain([lines(k, plan)]).collect()
}

/// One side of an image's footprint, where the image lies along or across the track.
fn side(
    k: usize,
    camera: &CameraModel,
    layout: &LayoutTerms,
    (symbol, name): (&'static str, &str),
    extent_m: f64,
) -> Option<Step> {
    let distance_m = layout.stand_off_m.unwrap_or(layout.height_m);
    let pixels = [camera.width_px, camera.height_px].map(f64::from);
    let of = |px: f64| px * distance_m / camera.focal_length_px;
    let px = pixels.into_iter().find(|px| (of(*px) - extent_m).abs() <= 1e-9 * extent_m)?;
    let key = if px == pixels[0] { "width_px" } else { "height_px" };
    let input = match key {
        "width_px" => KnobId("equipment.aircraft[].camera.width_px"),
        _ => KnobId("equipment.aircraft[].camera.height_px"),
    };
    let reach = if layout.stand_off_m.is_some() { "stand-off" } else { "height" };
    Some(Step::Formula(Formula {
        result: Term::new(symbol, format!("footprint {name}, pass {}", k + 1), extent_m, "m"),
        expression: Expression::symbol("N") * Expression::symbol("H") / Expression::symbol("f"),
        terms: vec![
            Term::new("N", format!("pixels {name}"), px, "px").from(Origin::Input(input)),
            Term::new("H", reach, distance_m, "m"),
            Term::new("f", "focal length", camera.focal_length_px, "px")
                .from(Origin::Input(KnobId("equipment.aircraft[].camera.focal_length_mm"))),
        ],
        source: FOOTPRINT,
    }))
}

/// Base or spacing: the footprint less its overlap; nothing where the pass does not go by one.
fn step_of(
    k: usize,
    (symbol, name): (&'static str, &str),
    step_m: f64,
    (overlap, told, input): (&'static str, &str, KnobId),
    extent: &'static str,
    extent_m: f64,
) -> Option<Step> {
    // Of an overlap that was typed, what was typed.
    let ratio = ((1.0 - step_m / extent_m) * 1e9).round() / 1e9;
    let agrees = ((1.0 - ratio) * extent_m - step_m).abs() <= 1e-9 * step_m;
    (agrees && step_m > 0.0).then(|| {
        Step::Formula(Formula {
            result: Term::new(symbol, format!("{name}, pass {}", k + 1), step_m, "m"),
            expression: (Expression::number(1.0) - Expression::symbol(overlap)) * Expression::symbol(extent),
            terms: vec![
                Term::new(overlap, told, ratio, "").from(Origin::Input(input)),
                Term::new(extent, "footprint", extent_m, "m").from(Origin::Step),
            ],
            source: OVERLAP,
        })
    })
}

/// How many strips the width takes, by the rule; nothing where some of them miss the region.
fn strips(k: usize, layout: &LayoutTerms) -> Option<Step> {
    let (rule, width_m) = (layout.counting?, layout.region_width_m?);
    let (w, d, s) = (Expression::symbol("W"), Expression::symbol("D"), Expression::symbol("S"));
    let number = Expression::number;
    let expression = match rule {
        CountingRule::HalfSpacingInside | CountingRule::CentredAtSpacing => (w / d).rounded_up(),
        CountingRule::FootprintCover => ((w - s) / d).rounded_up() + number(1.0),
        CountingRule::EdgeToEdge => (w / d).rounded_up() + number(1.0),
        CountingRule::SidelapBeyondEdge => {
            ((w - number(2.0) * (d - s / number(2.0))) / Expression::symbol("D")).rounded_up() + number(1.0)
        }
        CountingRule::SpareStripEachSide => (w / d).rounded_up() + number(2.0),
    };
    let uses_swath = expression.text().contains('S');
    let spacing = Term::new("D", "spacing of strips", layout.strip_spacing_m, "m").from(Origin::Step);
    let swath = Term::new("S", "footprint across the track", layout.extent_across_m, "m").from(Origin::Step);
    let width = Term::new("W", "width of the region across the strips, its margins included", width_m, "m");
    let terms: Vec<Term> = [width, spacing].into_iter().chain(uses_swath.then_some(swath)).collect();
    let of = |symbol: &str| Some(terms.iter().find(|term| term.symbol == symbol)?.value);
    let counted = expression.value(&of)?.max(1.0);
    let result = Term::new("n", format!("strips, pass {}", k + 1), f64::from(layout.strips), "");
    (counted == f64::from(layout.strips)).then_some(Step::Formula(Formula {
        result,
        expression,
        terms,
        source: RULES,
    }))
}

/// The exposures of every line, and all together.
fn lines(k: usize, plan: &PassPlan) -> Step {
    let exposed = plan.legs.iter().filter(|leg| !leg.stops.is_empty());
    let parts = exposed.enumerate().map(|(line, leg)| {
        let name = format!("line {}{}", line + 1, rebuilt(leg, plan.layout.air_base_m));
        Term::new("", name, leg.stops.len() as f64, "")
    });
    let skipped = match plan.skipped {
        0 => String::new(),
        skipped => format!(", {skipped} skipped besides"),
    };
    let name = format!("images of pass {}{skipped}", k + 1);
    let result = Term::new("", name, plan.stations.poses.len() as f64, "");
    Step::Budget(Budget { result, parts: parts.collect(), source: LINES })
}

/// From what a line's exposures are counted, where they are counted from its length and the base alone.
fn rebuilt(leg: &Leg, air_base_m: f64) -> String {
    let Some((first, last)) = leg.stops.first().zip(leg.stops.last()) else { return String::new() };
    let exposed_m = last.along_m - first.along_m;
    let told = format!(": {exposed_m:.2} m exposed");
    let counted = up(exposed_m / air_base_m) + 1.0;
    if air_base_m > 0.0 && counted == leg.stops.len() as f64 {
        return format!("{told}, over {air_base_m:.2} m rounded up, and 1");
    }
    told
}
