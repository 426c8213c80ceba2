//! Whether a strategy's passes of strips are best begun at other corners: asked for, told, and done.

use crate::form::{self, Enabled};
use crate::show;
use crate::theme;
use crate::wind_advice::saving;
use egui::Ui;
use obliquity_planning::corner_advice::{Begun, CornerAdvice, OtherCorners, WhyCornersStay};
use obliquity_planning::wind_advice::WORTH_RATIO;
use obliquity_planning::{ByClass, SurfaceClass};

/// What is known of the corners of a strategy's passes.
#[derive(Debug, Clone, Copy)]
pub struct Corners<'a> {
    /// The strategy's name.
    pub strategy: &'a str,
    /// How far it is for the scenario as it stands.
    pub state: State<'a>,
}

/// How far the advice is.
#[derive(Debug, Clone, Copy)]
pub enum State<'a> {
    /// It was not asked for.
    Unasked,
    /// Other corners are being tried.
    Trying,
    /// What was found, or why nothing was.
    Found(Result<&'a CornerAdvice, &'a str>),
}

/// What the user asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CornersAsk {
    /// Try other corners.
    Try,
    /// Begin as advised.
    Begin,
}

/// Draws what is known, and the way to ask for it.
pub fn ui(ui: &mut Ui, corners: &Corners<'_>, asks: &mut Vec<CornersAsk>) {
    match corners.state {
        State::Unasked => {
            let hint = "Begin each pass of strips at its other corners, and all of them where they are quickest, and take the \
                        best: what it saves, and what it does to coverage";
            let name = format!("Try other corners for {}", corners.strategy);
            if form::small(ui, "Try other corners", &name, hint, Enabled::Yes) {
                asks.push(CornersAsk::Try);
            }
        }
        State::Trying => form::muted(ui, "Other corners are being tried …"),
        State::Found(Err(why)) => {
            form::colored(ui, &format!("No other corner could be tried: {why}"), theme::of(ui).bad);
        }
        State::Found(Ok(CornerAdvice::Stay(reason))) => {
            form::muted(ui, &stay_text(corners.strategy, *reason));
        }
        State::Found(Ok(CornerAdvice::Begin(other))) => {
            form::colored(ui, &begin_text(corners.strategy, other), theme::of(ui).ink);
            let name = format!("Begin {} at the other corners", corners.strategy);
            let hint = "The corners are kept with the passes; undo brings them back";
            if form::small(ui, "Begin there", &name, hint, Enabled::Yes) {
                asks.push(CornersAsk::Begin);
            }
        }
    }
}

/// What other corners save, and what they do to coverage, in words.
pub fn begin_text(strategy: &str, other: &OtherCorners) -> String {
    let begun = listed(other.begun.iter().map(begun_text));
    let images = |present: u32| match i64::from(other.other_images) - i64::from(present) {
        0 => "as many images".to_owned(),
        more if more > 0 => format!("{} images more", show::count(more as f64)),
        fewer => format!("{} images fewer", show::count(-fewer as f64)),
    };
    let quicker = match (other.saved_s(), other.present_s.zip(other.present_images)) {
        (Some(saved_s), Some((present_s, present_images))) => format!(
            "With {begun}, {strategy} saves {}: {} instead of {} from take-off to the last landing, {}.",
            saving(saved_s),
            show::duration_s(other.other_s),
            show::duration_s(present_s),
            images(present_images),
        ),
        _ => format!(
            "{strategy} cannot be flown as it stands, but with {begun} it can: {} from take-off to the last landing, {} \
             images.",
            show::duration_s(other.other_s),
            show::count(f64::from(other.other_images)),
        ),
    };
    match &other.coverage {
        None => quicker,
        Some(coverage) => format!("{quicker} {}", coverage_text(coverage)),
    }
}

fn begun_text(begun: &Begun) -> String {
    let corner = show::compass_name(begun.corner_rad.to_degrees());
    format!("pass {} begun at its {corner} corner", begun.pass + 1)
}

/// What becomes of coverage, class by class, to a tenth of a per cent.
fn coverage_text([present, other]: &[ByClass<Option<f64>>; 2]) -> String {
    let tenths = |share: f64| format!("{:.1} %", 100.0 * share);
    let changed = |class: SurfaceClass| {
        let (from, to) = (tenths(present[class]?), tenths(other[class]?));
        (from != to).then(|| format!("{}: {from}, then {to}", class_name(class)))
    };
    let changes: Vec<String> = SurfaceClass::ALL.into_iter().filter_map(changed).collect();
    if changes.is_empty() {
        return "Coverage stays as it is.".to_owned();
    }
    format!("Coverage changes. {}.", changes.join("; "))
}

fn class_name(class: SurfaceClass) -> &'static str {
    match class {
        SurfaceClass::Ground => "Ground",
        SurfaceClass::Roof => "Roofs",
        SurfaceClass::Wall => "Walls",
        SurfaceClass::Underside => "Undersides",
    }
}

/// One, two and three.
fn listed(items: impl Iterator<Item = String>) -> String {
    let items: Vec<String> = items.collect();
    match items.as_slice() {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => items.concat(),
    }
}

/// Why the passes stay where they are begun, in words.
pub fn stay_text(strategy: &str, reason: WhyCornersStay) -> String {
    match reason {
        WhyCornersStay::NoStrips => {
            format!("{strategy} has no strips over an area that could be begun elsewhere.")
        }
        WhyCornersStay::NothingToGain { saved_s } if saved_s < 0.5 => {
            format!("The passes of {strategy} are begun best where they are: no other corners are quicker.")
        }
        WhyCornersStay::NothingToGain { saved_s } => format!(
            "The passes of {strategy} are begun well where they are: the best of the other corners saves {}, less than {:.0} %.",
            saving(saved_s),
            100.0 * WORTH_RATIO,
        ),
        WhyCornersStay::NotFlyable => {
            format!("{strategy} cannot be flown as it stands, nor from any other corners.")
        }
    }
}
