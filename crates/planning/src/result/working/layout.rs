//! How a pass is laid out: from the GSD to the height, the footprint of an image, base and spacing, strips, and the exposures
//! line by line.

use crate::base::choice::up;
use crate::geometry::CameraModel;
use crate::result::PassOutcome;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{Formula, Origin, Step, StepLine, StepTable, Term, Together};
use crate::route::{LayoutTerms, Leg, PassPlan};
use crate::scenario::{CountingRule, Distance, KnobId};

const PINHOLE: &str =
    "pinhole camera that faces its surface: side of a pixel over focal length, times the distance";
const FOOTPRINT: &str = "pinhole camera that faces its surface: pixels over focal length, times the distance";
const OVERLAP: &str = "what an image does not share with the next one";
const MARGIN: &str =
    "as large as is usual: one air base, or a quarter of the footprint across where that is more";
const REGION: &str =
    "the boundary between the outermost strips' edges, and how far beyond it images are taken";
const RULES: &str = "the counting rule of the pass, as its setting says; textbooks differ";
const LINES: &str = "exposures at both ends of what is exposed on a line and, evenly, at most a base apart between them; a \
                     strip that is broken by what must not be flown over is exposed in several lines; exposures whose frame \
                     shows nothing of the site are skipped";

fn s(symbol: &'static str) -> Expression {
    Expression::symbol(symbol)
}

/// The steps from the camera to the exposures of a pass; none where it is not laid out.
pub(crate) fn exposures(k: usize, pass: &PassOutcome) -> Vec<Step> {
    let Some(plan) = pass.laid() else { return Vec::new() };
    let (layout, camera) = (&plan.layout, &plan.stations.camera);
    let along = side(k, camera, layout, ("L", "along the track"), layout.extent_along_m);
    let across = side(k, camera, layout, ("S", "across the track"), layout.extent_across_m);
    let forward = ("p", "forward overlap", KnobId::FORWARD_OVERLAP);
    let base = step_of(k, ("B", "air base", layout.air_base_m), forward, ("L", layout.extent_along_m));
    let beside = ("q", "sidelap", KnobId::SIDELAP);
    let apart = ("D", "spacing of strips", layout.strip_spacing_m);
    let spacing = step_of(k, apart, beside, ("S", layout.extent_across_m));
    let base = base.filter(|_| along.is_some());
    let spacing = spacing.filter(|_| across.is_some());
    let strips = if spacing.is_some() { strips(k, layout) } else { Vec::new() };
    let shared = [height(k, camera, layout), along, across, base, spacing];
    let steps = shared.into_iter().flatten().chain(strips).chain([lines(k, plan)]);
    steps.map(|step| step.of_pass(plan.pass)).collect()
}

/// The nominal GSD of a pass, and before it the height where that follows from the GSD that is asked for.
pub(crate) fn nominal_gsd(k: usize, plan: &PassPlan) -> Vec<Step> {
    let (layout, camera) = (&plan.layout, &plan.stations.camera);
    let name = format!("nominal GSD of pass {}", k + 1);
    let gsd = Step::Formula(Formula {
        result: Term::new("GSD", name, 100.0 * layout.vertical_gsd_m, "cm"),
        expression: Expression::number(100.0) * s("H") / s("f"),
        terms: vec![distance(camera, layout), focal_length(camera)],
        source: PINHOLE,
    });
    height(k, camera, layout).into_iter().chain([gsd]).map(|step| step.of_pass(plan.pass)).collect()
}

fn focal_length(camera: &CameraModel) -> Term {
    Term::new("f", "focal length over pixel pitch", camera.focal_length_px, "px")
        .from(Origin::Input(KnobId("equipment.aircraft[].camera.focal_length_mm")))
}

fn distance_m(layout: &LayoutTerms) -> f64 {
    layout.stand_off_m.unwrap_or(layout.height_m)
}

/// Whether the distance follows from the GSD that is asked for.
fn led_by_gsd_cm(camera: &CameraModel, layout: &LayoutTerms) -> Option<f64> {
    let Distance::Gsd { cm, .. } = layout.asked else { return None };
    let led_m = cm / 100.0 * camera.focal_length_px;
    ((led_m - distance_m(layout)).abs() <= 1e-9 * led_m).then_some(cm)
}

/// Height or stand-off, with where it is from.
fn distance(camera: &CameraModel, layout: &LayoutTerms) -> Term {
    let name = if layout.stand_off_m.is_some() { "stand-off" } else { "height" };
    let m = distance_m(layout);
    let origin = match layout.asked {
        _ if layout.capped => Origin::Input(KnobId("conditions.height_ceiling_m")),
        Distance::Gsd { .. } if led_by_gsd_cm(camera, layout).is_some() => Origin::Step,
        Distance::Height { m: asked_m, .. } if asked_m == m => Origin::Input(KnobId::HEIGHT),
        Distance::StandOff { m: asked_m } if asked_m == m => Origin::Input(KnobId::STAND_OFF),
        _ => Origin::Laid,
    };
    Term::new("H", name, m, "m").from(origin)
}

/// Height or stand-off where the GSD leads.
fn height(k: usize, camera: &CameraModel, layout: &LayoutTerms) -> Option<Step> {
    let cm = led_by_gsd_cm(camera, layout).filter(|_| !layout.capped)?;
    let name = if layout.stand_off_m.is_some() { "stand-off" } else { "height" };
    let asked = Term::new("GSD", "GSD that leads", cm, "cm").from(Origin::Input(KnobId::GSD));
    Some(Step::Formula(Formula {
        result: Term::new("H", format!("{name}, pass {}", k + 1), distance_m(layout), "m"),
        expression: s("GSD") / Expression::number(100.0) * s("f"),
        terms: vec![asked, focal_length(camera)],
        source: PINHOLE,
    }))
}

/// One side of an image's footprint, where the image lies along or across the track.
fn side(
    k: usize,
    camera: &CameraModel,
    layout: &LayoutTerms,
    (symbol, name): (&'static str, &str),
    extent_m: f64,
) -> Option<Step> {
    let of = |px: f64| px * distance_m(layout) / camera.focal_length_px;
    let sides = [
        (camera.width_px, KnobId("equipment.aircraft[].camera.width_px")),
        (camera.height_px, KnobId("equipment.aircraft[].camera.height_px")),
    ];
    let sides = sides.map(|(px, input)| (f64::from(px), input));
    let (px, input) = sides.into_iter().find(|(px, _)| (of(*px) - extent_m).abs() <= 1e-9 * extent_m)?;
    Some(Step::Formula(Formula {
        result: Term::new(symbol, format!("footprint {name}, pass {}", k + 1), extent_m, "m"),
        expression: s("N") * s("H") / s("f"),
        terms: vec![
            Term::new("N", format!("pixels {name}"), px, "px").from(Origin::Input(input)),
            distance(camera, layout),
            focal_length(camera),
        ],
        source: FOOTPRINT,
    }))
}

/// Base or spacing: the footprint less its overlap; nothing where the pass does not go by one.
fn step_of(
    k: usize,
    (symbol, name, step_m): (&'static str, &str, f64),
    (overlap, told, input): (&'static str, &str, KnobId),
    (extent, extent_m): (&'static str, f64),
) -> Option<Step> {
    // Of an overlap that was typed, what was typed.
    let ratio = ((1.0 - step_m / extent_m) * 1e9).round() / 1e9;
    let agrees = ((1.0 - ratio) * extent_m - step_m).abs() <= 1e-9 * step_m;
    (agrees && step_m > 0.0).then(|| {
        Step::Formula(Formula {
            result: Term::new(symbol, format!("{name}, pass {}", k + 1), step_m, "m"),
            expression: (Expression::number(1.0) - s(overlap)) * s(extent),
            terms: vec![
                Term::new(overlap, told, ratio, "").from(Origin::Input(input)),
                Term::new(extent, "footprint", extent_m, "m").from(Origin::Step),
            ],
            source: OVERLAP,
        })
    })
}

/// How wide the region is across the strips, and how many strips that takes by the rule.
fn strips(k: usize, layout: &LayoutTerms) -> Vec<Step> {
    let Some((rule, width_m)) = layout.counting.zip(layout.region_width_m) else { return Vec::new() };
    let region = region(k, layout, width_m);
    let (w, d, swath) = (s("W"), s("D"), s("S"));
    let number = Expression::number;
    let expression = match rule {
        CountingRule::HalfSpacingInside | CountingRule::CentredAtSpacing => (w / d).rounded_up(),
        CountingRule::FootprintCover => ((w - swath) / d).rounded_up() + number(1.0),
        CountingRule::EdgeToEdge => (w / d).rounded_up() + number(1.0),
        CountingRule::SidelapBeyondEdge => {
            ((w - number(2.0) * (d - swath / number(2.0))) / s("D")).rounded_up() + number(1.0)
        }
        CountingRule::SpareStripEachSide => (w / d).rounded_up() + number(2.0),
    };
    let uses_swath = expression.text().contains('S');
    let spacing = Term::new("D", "spacing of strips", layout.strip_spacing_m, "m").from(Origin::Step);
    let swath = Term::new("S", "footprint across the track", layout.extent_across_m, "m").from(Origin::Step);
    let width = Term::new("W", "width of the region across the strips", width_m, "m");
    let width = if region.is_empty() { width } else { width.from(Origin::Step) };
    let terms: Vec<Term> = [width, spacing].into_iter().chain(uses_swath.then_some(swath)).collect();
    let of = |symbol: &str| Some(terms.iter().find(|term| term.symbol == symbol)?.value);
    let Some(counted) = expression.value(&of).filter(|counted| *counted >= 1.0) else { return region };
    let left_out = counted - f64::from(layout.strips);
    let name = match left_out {
        0.0 => format!("strips, pass {}", k + 1),
        _ => format!("strips, pass {}; {left_out} of them lie over what must not be flown over", k + 1),
    };
    let result = Term::new("n", name, counted, "");
    let counted = Step::Formula(Formula { result, expression, terms, source: RULES });
    region.into_iter().chain([counted]).collect()
}

/// The width of the region: the boundary's, the margins, and what tilted images need.
fn region(k: usize, layout: &LayoutTerms, width_m: f64) -> Vec<Step> {
    let Some(boundary_m) = layout.boundary_width_m else { return Vec::new() };
    let margin_m = layout.margin_m.unwrap_or(0.0);
    let further_m = width_m - boundary_m - 2.0 * margin_m;
    let usual_m = layout.air_base_m.max(layout.extent_across_m / 4.0);
    let usual = margin_m > 0.0 && (margin_m - usual_m).abs() <= 1e-9 * usual_m;
    let margin = usual.then(|| {
        let quarter = s("S") / Expression::number(4.0);
        Step::Formula(Formula {
            result: Term::new("m", format!("margin, pass {}", k + 1), margin_m, "m"),
            expression: Expression::Greatest(vec![s("B"), quarter]),
            terms: vec![
                Term::new("B", "air base", layout.air_base_m, "m").from(Origin::Step),
                Term::new("S", "footprint across the track", layout.extent_across_m, "m").from(Origin::Step),
            ],
            source: MARGIN,
        })
    });
    let mut terms = vec![Term::new("b", "width of the boundary across the strips", boundary_m, "m")];
    let mut expression = s("b");
    if margin_m > 0.0 {
        let origin = if usual { Origin::Step } else { Origin::Input(KnobId::MARGIN) };
        terms.push(Term::new("m", "margin on either side", margin_m, "m").from(origin));
        expression = expression + Expression::number(2.0) * s("m");
    }
    // But for the rounding of sums.
    if further_m.abs() > 1e-9 * width_m {
        terms.push(Term::new("x", "what tilted images and the margin round corners add", further_m, "m"));
        expression = expression + s("x");
    }
    let result =
        Term::new("W", format!("width of the region across the strips, pass {}", k + 1), width_m, "m");
    let width = Step::Formula(Formula { result, expression, terms, source: REGION });
    margin.into_iter().chain([width]).collect()
}

/// The exposures of every line, and all together.
fn lines(k: usize, plan: &PassPlan) -> Step {
    let base_m = plan.layout.air_base_m;
    let exposed = plan.legs.iter().filter(|leg| !leg.stops.is_empty());
    let lines: Vec<StepLine> = exposed
        .enumerate()
        .map(|(line, leg)| StepLine {
            name: format!("line {}", line + 1),
            own: exposed_m(leg, base_m).map(|m| Term::new("l", "exposed", m, "m")).into_iter().collect(),
            gives: Term::new("n", "exposures", leg.stops.len() as f64, ""),
        })
        .collect();
    let skipped = match plan.skipped {
        0 => String::new(),
        skipped => format!(", {skipped} skipped besides"),
    };
    let name = format!("images of pass {}{skipped}", k + 1);
    let result = Term::new("", name, plan.stations.poses.len() as f64, "");
    let formula = lines.iter().any(|line| !line.own.is_empty());
    let base = formula.then(|| Term::new("B", "air base", base_m, "m").from(Origin::Step));
    let expression = (s("l") / s("B")).rounded_up() + Expression::number(1.0);
    let shared = base.into_iter().collect();
    Step::Table(StepTable { result, expression, shared, lines, together: Together::Sum, source: LINES })
}

/// Length on which a line exposes, where its exposures are counted from that and the base alone.
fn exposed_m(leg: &Leg, air_base_m: f64) -> Option<f64> {
    let (first, last) = leg.stops.first().zip(leg.stops.last())?;
    let exposed_m = last.along_m - first.along_m;
    (air_base_m > 0.0 && up(exposed_m / air_base_m) + 1.0 == leg.stops.len() as f64).then_some(exposed_m)
}
