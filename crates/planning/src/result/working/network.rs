//! What the adjustment of the images tells.

use crate::base::SurfaceClass;
use crate::network::{CalibrationFigures, ErrorSpread, InteriorFreedom, NetworkFigures, Precision};
use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{
    Budget, Formula, Origin, Reached, Step, StepLine, StepTable, Term, Together, Working,
};
use crate::scenario::KnobId;

/// Millimetres of metres.
const MM: f64 = 1000.0;

/// Which errors of a precision.
type Of = fn(&Precision) -> &ErrorSpread;

const SQUARES: &str = "standard deviations of samples from the covariance of the images' adjustment, cross-covariances of the \
                       images included; by area, since check points lie anywhere";

const ROOT: &str =
    "expected root mean square error: the mean of variances over the surface (law of error propagation)";

const REACHED: &str = "standard deviations of samples from the covariance of the images' adjustment, sorted, by area: the first \
                       one up to which 95 % of what is determined comes";

const KNOWN: &str = "least squares: an error of the focal length moves an image point by its distance from the principal point, in \
                     focal lengths; with all else known, weights add up";

const GIVES_WAY: &str = "least squares: of what image points tell, poses and tie points that are unknown too take their part, since they \
                         move image points alike; positions and control points hold them";

const CAMERA_GIVES_WAY: &str = "least squares: the camera's other terms take their part too, as far as what is known of them before \
                                lets them";

const BEFORE: &str =
    "least squares: what the block tells and what is known before are independent, so their weights add up";

const ONLY_BEFORE: &str = "least squares: the block tells nothing of it, so it is as well known as before";

const BY_TERM: &str = "law of error propagation, to the first order; the response of the adjustment with the calibration held fixed";

const COMPENSATED: &str = "law of error propagation with the covariance of all terms of the camera: errors that are determined together \
                           compensate each other or add up";

const INDEPENDENT: &str = "variances of independent causes add up";

const BENT: &str = "the adjustment with the calibration held fixed, differentiated by the radial distortion: k1 moves an image point by \
                    f k1 r³";

/// Root mean square error over all that is determined, class by class.
pub(crate) fn rmse(stages: &Finished<'_>, of: Of, name: &'static str) -> Option<Working> {
    let network = stages.network?;
    let overall = of(network.overall.as_ref()?);
    let classes: Vec<(SurfaceClass, &ErrorSpread)> = SurfaceClass::ALL
        .into_iter()
        .filter_map(|class| Some((class, of(network.precision[class].as_ref()?))))
        .collect();
    let line = |(class, own): &(SurfaceClass, &ErrorSpread)| StepLine {
        name: class.plural().to_owned(),
        own: vec![
            Term::new("A", "area covered and determined", own.area_m2, "m²").from(Origin::Sampled),
            Term::new("s", "RMSE", own.rms_m, "m").from(Origin::Adjusted),
        ],
        gives: Term::new("a", class.plural(), own.area_m2 * own.rms_m.powi(2), "m⁴"),
    };
    let lines: Vec<StepLine> = classes.iter().map(line).collect();
    let sum: f64 = lines.iter().map(|line| line.gives.value).sum();
    let squares = StepTable {
        result: Term::new("S", "squares of errors over the area", sum, "m⁴"),
        expression: Expression::symbol("A") * Expression::symbol("s") * Expression::symbol("s"),
        shared: Vec::new(),
        lines,
        together: Together::Sum,
        source: SQUARES,
    };
    let parts = classes
        .iter()
        .map(|(class, own)| Term::new("", class.plural(), own.area_m2, "m²").from(Origin::Sampled));
    let area_m2: f64 = classes.iter().map(|(_, own)| own.area_m2).sum();
    let whole = Budget {
        result: Term::new("A_all", "area covered and determined", area_m2, "m²"),
        parts: parts.collect(),
        source: "areas that samples stand for",
    };
    let root = Formula {
        result: Term::new("RMSE", name, MM * overall.rms_m, "mm"),
        expression: Expression::number(MM) * (Expression::symbol("S") / Expression::symbol("A_all")).root(),
        terms: vec![
            Term::new("S", "squares of errors over the area", sum, "m⁴").from(Origin::Step),
            Term::new("A_all", "area covered and determined", area_m2, "m²").from(Origin::Step),
        ],
        source: ROOT,
    };
    Some(Working::new([Step::Table(squares), Step::Budget(whole), Step::Formula(root)]))
}

/// What 95 % of the area is as precise as.
pub(crate) fn reached(stages: &Finished<'_>, of: Of, name: &'static str) -> Option<Working> {
    let spread = of(stages.network?.overall.as_ref()?);
    let result = Term::new("σ_95", name, MM * spread.p95_m, "mm");
    let told = result.text();
    let area = |symbol, name: String, m2: f64| Term::new(symbol, name, m2, "m²").from(Origin::Sampled);
    Some(Working::new([Step::Reached(Reached {
        whole: area("A", "area covered and determined".to_owned(), spread.area_m2),
        share: Term::new("q", "share that is asked for", 95.0, "%").from(Origin::Practice),
        below: area("A_below", format!("with less than {told}"), spread.finer_m2),
        up_to: area("A_up", format!("with {told} or less"), spread.as_fine_m2),
        result,
        source: REACHED,
    })]))
}

/// Standard deviation of the focal length: what image points alone would tell, what is left once all else gives way, and what is known
/// before.
pub(crate) fn focal(stages: &Finished<'_>) -> Option<Working> {
    let (network, camera) = adjusted(stages)?;
    let shares = camera.focal_shares?;
    let result = Term::new("σ_f", "standard deviation of the focal length", camera.focal_sigma_px?, "px");
    let prior = Term::new("σ_b", "known of the focal length before", shares.prior_px, "px");
    let prior = prior.from(if network.terms.freedom == InteriorFreedom::ALL {
        Origin::Practice
    } else {
        Origin::Input(FOCAL_PRIOR)
    });
    let Some(open_px) = shares.of_open_camera_px else {
        let only = Formula {
            result,
            expression: Expression::symbol("σ_b"),
            terms: vec![prior],
            source: ONLY_BEFORE,
        };
        return Some(Working::new([Step::Formula(only)]));
    };
    let noise_px = network.terms.image_sigma_px;
    let known_px = noise_px / (shares.distance * shares.image_points.sqrt());
    let known = |px| Term::new("σ_k", "if all else were known", px, "px");
    let alone = |px| Term::new("σ_a", "with poses and tie points unknown", px, "px");
    let open = |px| Term::new("σ_o", "with the whole camera unknown", px, "px");
    let of_points = Formula {
        result: known(known_px),
        expression: Expression::symbol("σ₀") / (Expression::symbol("r") * Expression::symbol("n").root()),
        terms: vec![
            Term::new("σ₀", "noise of an image coordinate", noise_px, "px").from(Origin::Input(IMAGE_NOISE)),
            Term::new(
                "r",
                "distance of image points from the principal point, root mean square, in focal lengths",
                shares.distance,
                "",
            )
            .from(Origin::Adjusted),
            Term::new("n", "image points, each as many as it stands for", shares.image_points, "")
                .from(Origin::Adjusted),
        ],
        source: KNOWN,
    };
    let with_poses = left(
        known(known_px),
        alone(shares.of_known_camera_px),
        ("p", "share of that left by poses and tie points"),
        GIVES_WAY,
    );
    let with_camera = left(
        alone(shares.of_known_camera_px),
        open(open_px),
        ("c", "share of that left by the camera's other terms"),
        CAMERA_GIVES_WAY,
    );
    let weight = |symbol| Expression::number(1.0) / (Expression::symbol(symbol) * Expression::symbol(symbol));
    let with_prior = Formula {
        result,
        expression: Expression::number(1.0) / (weight("σ_o") + weight("σ_b")).root(),
        terms: vec![open(open_px).from(Origin::Step), prior],
        source: BEFORE,
    };
    Some(Working::new([Step::Formula(of_points), with_poses, with_camera, Step::Formula(with_prior)]))
}

/// A standard deviation that grows as something else is unknown too, which leaves a share of what was told.
fn left(
    whole: Term,
    result: Term,
    (symbol, name): (&'static str, &'static str),
    source: &'static str,
) -> Step {
    let share = (whole.value / result.value).powi(2);
    let expression = Expression::symbol(whole.symbol) / Expression::symbol(symbol).root();
    let share = Term::new(symbol, name, share, "").from(Origin::Adjusted);
    Step::Formula(Formula { result, expression, terms: vec![whole.from(Origin::Step), share], source })
}

/// Standard deviation of the dome: what is left with a known camera, and what the camera's terms do to it.
pub(crate) fn doming(stages: &Finished<'_>) -> Option<Working> {
    let (_, camera) = adjusted(stages)?;
    let (dome_m, fixed_m) = (camera.doming_m?, camera.doming_of_fixed_m?);
    let camera_mm = MM * (dome_m * dome_m - fixed_m * fixed_m).max(0.0).sqrt();
    let mut steps = Vec::new();
    let mut of_camera = Term::new("d_c", "part of the camera", camera_mm, "mm").from(Origin::Adjusted);
    if let Some((shares, both_mm)) = by_terms(camera).filter(|(_, both_mm)| *both_mm > 0.0) {
        let [focal, radial] = shares.map(|(formula, _)| formula);
        let of_step = |formula: &Formula| formula.result.clone().from(Origin::Step);
        let square = |symbol| Expression::symbol(symbol) * Expression::symbol(symbol);
        of_camera = of_camera.from(Origin::Step);
        let together = Formula {
            result: Term::new("d_c", "part of the camera", camera_mm, "mm"),
            expression: Expression::symbol("e") * (square("d_f") + square("d_k")).root(),
            terms: vec![
                Term::new(
                    "e",
                    "all terms of the camera together, to these two as if alone",
                    camera_mm / both_mm,
                    "",
                )
                .from(Origin::Adjusted),
                of_step(&focal),
                of_step(&radial),
            ],
            source: COMPENSATED,
        };
        steps.extend([focal, radial, together].map(Step::Formula));
    }
    let square = |symbol| Expression::symbol(symbol) * Expression::symbol(symbol);
    steps.push(Step::Formula(Formula {
        result: Term::new("σ_d", "standard deviation of the dome", MM * dome_m, "mm"),
        expression: (square("d_0") + square("d_c")).root(),
        terms: vec![
            Term::new("d_0", "with a known camera, by the noise of images and positions", MM * fixed_m, "mm")
                .from(Origin::Adjusted),
            of_camera,
        ],
        source: INDEPENDENT,
    }));
    Some(Working::new(steps))
}

/// What focal length and radial distortion, each alone, do to the dome, and the root of both squares; nothing where the calibration
/// holds one.
fn by_terms(camera: &CalibrationFigures) -> Option<([(Formula, f64); 2], f64)> {
    let of = |result: Term, (by, by_name, by_mm): (&'static str, &'static str, f64), sigma: Term, origin| {
        let value = result.value;
        let formula = Formula {
            result,
            expression: Expression::symbol(by) * Expression::symbol(sigma.symbol),
            terms: vec![Term::new(by, by_name, by_mm, "mm/px").from(origin), sigma],
            source: BY_TERM,
        };
        (formula, value)
    };
    let (focal_px, k1_px) = (camera.focal_sigma_px?, camera.k1_sigma_px?);
    let by_mm = |by_m: f64| Some(MM * by_m.abs()).filter(|by_mm| *by_mm > NO_DOME_MM).unwrap_or(0.0);
    let (by_focal, by_k1) = (by_mm(camera.dome_per_focal_px_m?), MM * camera.dome_per_px_m?.abs());
    let focal = of(
        Term::new("d_f", "dome by the focal length alone", by_focal * focal_px, "mm"),
        ("b_f", "dome for each pixel of the focal length", by_focal),
        Term::new("σ_f", "standard deviation of the focal length", focal_px, "px")
            .from(Origin::Measure(MeasureId::FocalSigma)),
        Origin::Adjusted,
    );
    let radial = of(
        Term::new("d_k", "dome by k1 alone", by_k1 * k1_px, "mm"),
        ("b_k", "dome for each pixel that k1 moves the corner of the frame", by_k1),
        Term::new("σ_k1", "standard deviation of k1, in the corner of the frame", k1_px, "px")
            .from(Origin::Adjusted),
        Origin::Measure(MeasureId::DomePerPixel),
    );
    let both_mm = focal.1.hypot(radial.1);
    Some(([focal, radial], both_mm))
}

/// The dome that a wrong pixel leaves.
pub(crate) fn dome_per_pixel(stages: &Finished<'_>) -> Option<Working> {
    let (_, camera) = adjusted(stages)?;
    let dome_mm = MM * camera.dome_per_px_m?.abs();
    let (focal_px, corner) = (camera.focal_px, camera.half_diagonal);
    let symbol = Expression::symbol;
    let k1 = 1.0 / (focal_px * corner.powi(3));
    let in_corner = Formula {
        result: Term::new("k1", "radial distortion that moves the corner of the frame so far", k1, ""),
        expression: symbol("w") / (symbol("f") * symbol("r") * symbol("r") * symbol("r")),
        terms: vec![
            Term::new("w", "error in the corner of the frame", 1.0, "px").from(Origin::Practice),
            Term::new("f", "focal length over pixel pitch", focal_px, "px").from(Origin::Input(FOCAL_LENGTH)),
            Term::new("r", "half the frame's diagonal, in focal lengths", corner, "").from(Origin::Adjusted),
        ],
        source: BENT,
    };
    let formula = Formula {
        result: Term::new("d", "dome of a calibration wrong by a pixel", dome_mm, "mm"),
        expression: symbol("b") * symbol("k1"),
        terms: vec![
            Term::new("b", "dome for each unit of k1 that the calibration is wrong by", dome_mm / k1, "mm")
                .from(Origin::Adjusted),
            Term::new("k1", "radial distortion that moves the corner of the frame so far", k1, "")
                .from(Origin::Step),
        ],
        source: BENT,
    };
    Some(Working::new([Step::Formula(in_corner), Step::Formula(formula)]))
}

fn adjusted<'a>(stages: &Finished<'a>) -> Option<(&'a NetworkFigures, &'a CalibrationFigures)> {
    let network = stages.network?;
    Some((network, network.calibration.as_ref()?))
}

/// A dome for a pixel that is rounding.
const NO_DOME_MM: f64 = 1e-6;

const IMAGE_NOISE: KnobId = KnobId("equipment.aircraft[].camera.image_noise_px");
const FOCAL_LENGTH: KnobId = KnobId("equipment.aircraft[].camera.focal_length_mm");
const FOCAL_PRIOR: KnobId = KnobId("equipment.aircraft[].camera.calibration.EarlierJob.focal_sigma_px");
