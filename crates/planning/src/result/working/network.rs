//! What the adjustment of the images tells.

use crate::base::SurfaceClass;
use crate::network::{CalibrationFigures, ErrorSpread, NetworkFigures, Precision};
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

const SIGMA: &str = "σ = σ₀ √q: least squares adjustment; q is the cofactor in the inverse of the normal equations, which hold \
                     all images, tie points, positions, control points and what is known of the camera before";

const BENT: &str = "the adjustment with the calibration held fixed, differentiated by the radial distortion";

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

/// Standard deviation of the focal length.
pub(crate) fn focal(stages: &Finished<'_>) -> Option<Working> {
    let (network, camera) = adjusted(stages)?;
    let result = Term::new("σ_f", "standard deviation of the focal length", camera.focal_sigma_px?, "px");
    Some(sigma(network, result, "cofactor of the focal length", ""))
}

/// Standard deviation of the dome.
pub(crate) fn doming(stages: &Finished<'_>) -> Option<Working> {
    let (network, camera) = adjusted(stages)?;
    let result = Term::new("σ_d", "standard deviation of the dome", MM * camera.doming_m?, "mm");
    Some(sigma(network, result, "cofactor of the middle's mean height less the edge's", "mm²/px²"))
}

/// The dome that a wrong pixel leaves.
pub(crate) fn dome_per_pixel(stages: &Finished<'_>) -> Option<Working> {
    let (_, camera) = adjusted(stages)?;
    let dome_mm = MM * camera.dome_per_px_m?.abs();
    let formula = Formula {
        result: Term::new("d", "dome of a calibration wrong by a pixel", dome_mm, "mm"),
        expression: Expression::symbol("b") * Expression::symbol("e"),
        terms: vec![
            Term::new("b", "dome for a radial distortion that is off in the corner", dome_mm, "mm/px")
                .from(Origin::Adjusted),
            Term::new("e", "error in the corner of the frame", 1.0, "px").from(Origin::Practice),
        ],
        source: BENT,
    };
    Some(Working::new([Step::Formula(formula)]))
}

fn adjusted<'a>(stages: &Finished<'a>) -> Option<(&'a NetworkFigures, &'a CalibrationFigures)> {
    let network = stages.network?;
    Some((network, network.calibration.as_ref()?))
}

/// What the adjustment rests on, then σ₀ √q.
fn sigma(network: &NetworkFigures, result: Term, name: &'static str, unit: &'static str) -> Working {
    let count = |name: &str, count: usize| Term::new("", name, count as f64, "").from(Origin::Adjusted);
    let (held, sigma_px) = (&network.held, network.terms.image_sigma_px);
    let unknowns = [
        count("six of every image that is carried", 6 * held.images),
        count("three of every tie point and control point", 3 * held.points),
    ];
    let all = (6 * held.images + 3 * held.points) as f64;
    let size = Budget {
        result: Term::new("u", "unknowns besides the camera's", all, ""),
        parts: unknowns.to_vec(),
        source: "collinearity equations, linearised at the planned poses",
    };
    let q = (result.value / sigma_px).powi(2);
    let formula = Formula {
        result,
        expression: Expression::symbol("σ₀") * Expression::symbol("q").root(),
        terms: vec![
            Term::new("σ₀", "noise of an image coordinate", sigma_px, "px").from(Origin::Input(IMAGE_NOISE)),
            Term::new("q", name, q, unit).from(Origin::Adjusted),
        ],
        source: SIGMA,
    };
    Working::new([Step::Budget(size), Step::Formula(formula)])
}

const IMAGE_NOISE: KnobId = KnobId("equipment.aircraft[].camera.image_noise_px");
