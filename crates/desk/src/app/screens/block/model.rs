//! What is told of a block, as plain values.

use super::graph::TieGraph;
use obliquity_exchange::Slots;
use obliquity_exchange::chart::Chart;
use obliquity_planning::wording::{count, listed};
use obliquity_planning::{
    Bridge, Depth, ErrorSpread, ExpectedClass, Id, NOT_CERTIFIED, NetworkFigures, Outcome, Precision,
    Scenario, Severity, SurfaceClass, Units, rows_that_tie,
};
use std::sync::Arc;

/// What the screen is made of.
pub(super) struct GivenBlock<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) strategy: Id,
    /// The last that is known; it may be of earlier settings.
    pub(super) outcome: Option<&'a Outcome>,
    pub(super) progress: BlockProgress,
    pub(super) graph: Option<Arc<TieGraph>>,
    /// Whether it is of earlier settings.
    pub(super) is_earlier: bool,
    /// What is known of the other strategies.
    pub(super) others: Vec<(Id, Arc<Outcome>)>,
    pub(super) charts: Vec<Chart>,
    pub(super) control: ControlShown,
    pub(super) units: Units,
}

/// What the screen shows.
#[derive(Debug)]
pub(super) struct BlockSheet {
    pub(super) name: String,
    pub(super) slot: usize,
    pub(super) progress: BlockProgress,
    /// What stands here, where it is not the whole of the block as it is set.
    pub(super) stands: &'static str,
    /// What is to be known first.
    pub(super) told: Vec<BlockLine>,
    /// The strategy, where rows can be added that tie its parts.
    pub(super) rows_for: Option<Id>,
    /// How accurate points are expected to be: across and in height.
    pub(super) expected: Vec<ExpectedRow>,
    /// What that leaves open where the images fall into parts.
    pub(super) in_parts: Option<String>,
    /// What stands behind that, in a sentence.
    pub(super) expected_by: String,
    /// The same of the other strategies.
    pub(super) others: Vec<OtherRow>,
    /// One for each class that is covered.
    pub(super) precision: Vec<PrecisionRow>,
    /// What all of it rests on.
    pub(super) rests_on: String,
    pub(super) charts: Vec<Chart>,
    /// What numbers of control points come to.
    pub(super) control: ControlShown,
    pub(super) graph: Option<Arc<TieGraph>>,
}

/// What is shown of numbers of control points.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct ControlShown {
    pub(super) state: ControlState,
    /// What is known so far, in a sentence and as a diagram.
    pub(super) known: Option<(String, Box<Chart>)>,
}

/// How far numbers of control points are.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) enum ControlState {
    /// Nobody has asked, or someone has stopped it.
    #[default]
    Unasked,
    /// They are being tried.
    Runs {
        /// How far it is, 0 to 10.
        tenths: u64,
    },
    /// They could not be tried, and why.
    Failed(String),
    /// There is a first look at all of them, and no more is done unasked.
    Preview,
    /// All are known in full.
    Whole,
}

/// An error that is expected, in words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ExpectedRow {
    pub(super) name: &'static str,
    pub(super) rmse: String,
    pub(super) at_95: String,
    /// By the standard; a dash beyond its coarsest.
    pub(super) class: String,
}

/// What is expected of another strategy.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OtherRow {
    pub(super) strategy: Id,
    pub(super) slot: usize,
    pub(super) name: String,
    pub(super) horizontal: String,
    pub(super) vertical: String,
}

/// How far the block is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum BlockProgress {
    /// It is being worked out.
    Runs {
        /// How far it is, 0 to 10.
        tenths: u64,
    },
    /// It was stopped.
    Stopped,
    /// It is there.
    Known,
    /// There is none, and why.
    Failed(String),
}

/// A sentence.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BlockLine {
    /// Of a caution, how grave; nothing of what is only told.
    pub(super) severity: Option<Severity>,
    pub(super) text: String,
}

/// How precise points on a class of surface come out, in words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PrecisionRow {
    pub(super) name: String,
    pub(super) horizontal: String,
    pub(super) vertical: String,
    pub(super) normal: String,
}

/// From the middle of the ground to its farthest corner.
///
/// # Units
/// - returns: metres
pub(super) fn reach_m(outcome: &Outcome) -> f64 {
    outcome.site.as_ref().map_or(1.0, |site| 0.5 * site.extent_m.0.distance(site.extent_m.1))
}

impl BlockSheet {
    /// Nothing where the strategy is gone.
    pub(super) fn new(given: GivenBlock<'_>) -> Option<Self> {
        let GivenBlock { scenario, strategy, outcome, progress, graph, control, units, .. } = given;
        let own = scenario.strategy(strategy)?;
        let class = outcome.and_then(|outcome| ExpectedClass::of(outcome, &scenario.site));
        let stands = match outcome {
            _ if given.is_earlier => "What stands here is of earlier settings.",
            Some(outcome) if outcome.depth == Depth::Preview => {
                "What stands here is a preview, from fewer tie points."
            }
            _ => "",
        };
        let network = outcome.and_then(|outcome| Some((outcome, outcome.network.as_deref()?)));
        Some(BlockSheet {
            name: own.name.clone(),
            slot: Slots::of(scenario).slot(strategy),
            progress,
            stands: if network.is_some() { stands } else { "" },
            expected: network
                .zip(class)
                .and_then(|((_, network), class)| expected(network, &class, units))
                .unwrap_or_default(),
            in_parts: network.filter(|(_, network)| network.parts.len() > 1).map(|(_, network)| {
                let parts = network.parts.len();
                format!("Within each of the {parts} parts; how far these lie from each other is not in these figures.")
            }),
            expected_by: class.as_ref().map(expected_by).unwrap_or_default(),
            others: given.others.iter().filter_map(|(id, of)| other(scenario, (*id, of), units)).collect(),
            rows_for: network
                .is_some_and(|(_, network)| network.parts.len() > 1 && !rows_that_tie(own, Id(0)).is_empty())
                .then_some(strategy),
            told: network.map(|(outcome, network)| told(outcome, network, units)).unwrap_or_default(),
            precision: network.map(|(_, network)| precision(network, units)).unwrap_or_default(),
            rests_on: network.map(|(_, network)| rests_on(network, units)).unwrap_or_default(),
            charts: given.charts,
            control,
            graph,
        })
    }
}

fn expected(network: &NetworkFigures, class: &ExpectedClass, units: Units) -> Option<Vec<ExpectedRow>> {
    let overall = network.overall?;
    let row = |name, rmse_m: f64, at_95_m: f64, class_cm: Option<f64>| ExpectedRow {
        name,
        rmse: units.error(rmse_m),
        at_95: units.error(at_95_m),
        class: class_cm.map_or_else(|| "none".to_owned(), |cm| format!("{cm} cm")),
    };
    let (across, up) = (overall.horizontal.rms_m, overall.vertical.rms_m);
    Some(vec![
        row("horizontal", across, class.horizontal_at_95_m, class.horizontal_cm),
        row("vertical", up, class.vertical_at_95_m, class.vertical_cm),
    ])
}

/// The standards that rows are told by, and what would show it.
fn expected_by(class: &ExpectedClass) -> String {
    format!(
        "Class: ASPRS Positional Accuracy Standards, edition 1 (2014). At 95 %: NSSDA. Edition 2 (2023) asks for {} check points \
         at this area to show it; {} are placed. {}{}: it says nothing of blunders, of a datum set wrongly, or of what the site \
         has that is not modelled.",
        class.check_points,
        class.placed,
        NOT_CERTIFIED[..1].to_uppercase(),
        &NOT_CERTIFIED[1..]
    )
}

/// What is expected of another strategy, marked where it is a preview; nothing where its block determines nothing.
fn other(scenario: &Scenario, (strategy, outcome): (Id, &Outcome), units: Units) -> Option<OtherRow> {
    let network = outcome.network.as_deref()?;
    let overall = network.overall?;
    let look = if network.is_preview() { "≈ " } else { "" };
    let text = |metres: f64| format!("{look}{}", units.error(metres));
    Some(OtherRow {
        strategy,
        slot: Slots::of(scenario).slot(strategy),
        name: scenario.strategy(strategy)?.name.clone(),
        horizontal: text(overall.horizontal.rms_m),
        vertical: text(overall.vertical.rms_m),
    })
}

fn told(outcome: &Outcome, network: &NetworkFigures, units: Units) -> Vec<BlockLine> {
    let plain = |text: String| BlockLine { severity: None, text };
    let images: usize = network.parts.iter().map(|part| part.images.len()).sum();
    let mut lines = Vec::new();
    match network.parts.len() {
        1 => lines.push(plain(format!("All {} images that see enough hang together.", count(images as f64)))),
        // Its caution comes with the whole.
        parts if network.is_preview() => {
            lines.push(plain(format!("The images fall into {parts} parts that no tie holds together.")));
        }
        _ => {}
    }
    let own = outcome
        .cautions
        .iter()
        .filter(|caution| caution.depth() == Depth::Network || caution.id == "bending");
    lines.extend(own.map(|caution| BlockLine {
        severity: Some(caution.severity),
        text: caution.text.in_units(units).to_owned(),
    }));
    if !network.loose_images.is_empty() {
        let told = match network.loose_images.len() {
            1 => "1 image hangs together with too few others to cover anything.".to_owned(),
            many => format!("{many} images hang together with too few others to cover anything."),
        };
        lines.push(plain(told));
    }
    lines.extend(network.bridge.as_ref().map(|bridge| plain(bridge_told(network, bridge, units))));
    if let Some(camera) = &network.calibration
        && let Some((one, other, correlation)) = camera.strongest
    {
        let told = format!(
            "Hardest to tell apart are {} and {} (correlation {}{:.2}).",
            one.name(),
            other.name(),
            if correlation < 0.0 { "−" } else { "" },
            correlation.abs()
        );
        lines.push(plain(told));
    }
    lines
}

fn image_told(network: &NetworkFigures, image: u32) -> String {
    let (pass, index) = network.station_of(image);
    format!("image {} of pass {}", index + 1, pass + 1)
}

fn bridge_told(network: &NetworkFigures, bridge: &Bridge, units: Units) -> String {
    let area = units.area(bridge.parted_m2());
    match *bridge {
        Bridge::Image { image, .. } => format!(
            "The weakest bridge is {}: without it {area} of surface would lie apart.",
            image_told(network, image)
        ),
        Bridge::Pair { images: (one, other), .. } => format!(
            "The weakest bridge is the pair of {} and {}: without it {area} of surface would lie apart.",
            image_told(network, one),
            image_told(network, other)
        ),
    }
}

fn precision(network: &NetworkFigures, units: Units) -> Vec<PrecisionRow> {
    let row = |name: String, of: &Precision| {
        let text =
            |spread: &ErrorSpread| format!("{} ({})", units.error(spread.p95_m), units.error(spread.p50_m));
        PrecisionRow {
            name,
            horizontal: text(&of.horizontal),
            vertical: text(&of.vertical),
            normal: text(&of.normal),
        }
    };
    let classes = SurfaceClass::ALL.into_iter();
    let rows =
        classes.filter_map(|class| Some(row(class.plural().to_owned(), network.precision[class].as_ref()?)));
    rows.chain(network.overall.as_ref().map(|of| row("all".to_owned(), of))).collect()
}

/// Positioning, control points, image noise and calibration, in a sentence.
fn rests_on(network: &NetworkFigures, units: Units) -> String {
    let terms = &network.terms;
    let positions = match &terms.positioning {
        None => "images without positions".to_owned(),
        Some(positioning) => {
            let (random, constant) = (positioning.random_sigma_m, positioning.constant_sigma_m);
            format!(
                "positions of images known to {} across and {} in height, and {} and {} that all share",
                units.error(random.x),
                units.error(random.z),
                units.error(constant.x),
                units.error(constant.z)
            )
        }
    };
    let control = match terms.control.len() {
        0 => "no control point on the plan".to_owned(),
        1 => "1 control point on the plan".to_owned(),
        many => format!("{many} control points on the plan"),
    };
    let calibration = match terms.freedom.prior_sigma[0] {
        Some(focal_px) => format!("a focal length known to {focal_px:.1} px before"),
        None => "a calibration that is held fixed".to_owned(),
    };
    let all =
        [positions, control, format!("image points measured to {:.2} px", terms.image_sigma_px), calibration];
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    format!("Predicted, one standard deviation, from {}.", listed(&all))
}
