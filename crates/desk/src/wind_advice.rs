//! Whether a strategy's strips are best turned in the wind: asked for, told, and done.

use crate::form::{self, Enabled};
use crate::show;
use crate::theme;
use egui::Ui;
use obliquity_planning::wind_advice::{TurnedStrips, WORTH_RATIO, WhyStripsStay, WindAdvice};

/// What is known of the direction of a strategy's strips.
#[derive(Debug, Clone, Copy)]
pub struct Advice<'a> {
    /// The strategy's name.
    pub strategy: &'a str,
    /// Whether the wind blows.
    pub wind: Wind,
    /// What was found for the scenario as it stands; nothing before it was asked for.
    pub found: Option<Result<&'a WindAdvice, &'a str>>,
    /// Whether it has been asked for and is not found yet.
    pub trying: bool,
}

/// Whether the wind blows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wind {
    /// It does.
    Blows,
    /// It does, from nobody knows where.
    DirectionUnknown,
    /// It does not.
    Still,
}

impl Wind {
    /// Of the conditions.
    pub fn of(wind: obliquity_planning::wind::Wind) -> Self {
        match (wind.blows(), wind.from_deg) {
            (false, _) => Wind::Still,
            (true, None) => Wind::DirectionUnknown,
            (true, Some(_)) => Wind::Blows,
        }
    }
}

/// What the user asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AdviceAsk {
    /// Try other directions.
    Try,
    /// Turn the strips as advised.
    Turn,
}

/// Draws what is known, and the way to ask for it.
pub fn ui(ui: &mut Ui, advice: &Advice<'_>, asks: &mut Vec<AdviceAsk>) {
    let idle = match advice.wind {
        Wind::Blows => None,
        Wind::DirectionUnknown => Some(WhyStripsStay::DirectionUnknown),
        Wind::Still => Some(WhyStripsStay::NoWind),
    };
    if let Some(reason) = idle {
        form::muted(ui, &stay_text(advice.strategy, reason));
        return;
    }
    match advice.found {
        None if advice.trying => form::muted(ui, "Trying strip directions …"),
        None => {
            let hint =
                "Fly the strips turned by every 15°, and along and across the wind, and take the quickest";
            let name = format!("Try strip directions for {}", advice.strategy);
            if form::small(ui, "Try strip directions", &name, hint, Enabled::Yes) {
                asks.push(AdviceAsk::Try);
            }
        }
        Some(Err(why)) => {
            form::colored(ui, &format!("No direction could be tried: {why}"), theme::of(ui).bad);
        }
        Some(Ok(WindAdvice::Stay(reason))) => form::muted(ui, &stay_text(advice.strategy, *reason)),
        Some(Ok(WindAdvice::Turn(turned))) => {
            form::colored(ui, &turn_text(advice.strategy, turned), theme::of(ui).ink);
            let name = format!("Turn the strips of {}", advice.strategy);
            let text = format!("Turn the strips by {}", angle(turned.turned_deg));
            let hint = "All strips passes are turned alike; undo brings them back";
            if form::small(ui, &text, &name, hint, Enabled::Yes) {
                asks.push(AdviceAsk::Turn);
            }
        }
    }
}

/// Seconds alone below a minute.
pub(crate) fn saving(saved_s: f64) -> String {
    if saved_s < 59.5 { format!("{saved_s:.0} s") } else { show::duration_s(saved_s) }
}

fn angle(deg: f64) -> String {
    format!("{deg:.0}°").replace('-', "−")
}

/// What turning the strips saves, in words.
pub fn turn_text(strategy: &str, turned: &TurnedStrips) -> String {
    let direction = turned.direction_rad.to_degrees();
    let along = format!("{} from north", angle(direction));
    let images = |present: u32| match i64::from(turned.turned_images) - i64::from(present) {
        0 => "as many images".to_owned(),
        more if more > 0 => format!("{} images more", show::count(more as f64)),
        fewer => format!("{} images fewer", show::count(-fewer as f64)),
    };
    match (turned.saved_s(), turned.present_s.zip(turned.present_images)) {
        (Some(saved_s), Some((present_s, present_images))) => format!(
            "With its strips along {along}, {strategy} saves {}: {} instead of {} from take-off to the last landing, {}.",
            saving(saved_s),
            show::duration_s(turned.turned_s),
            show::duration_s(present_s),
            images(present_images),
        ),
        _ => format!(
            "{strategy} cannot be flown as it stands, but with its strips along {along} it can: {} from take-off to the last \
             landing, {} images.",
            show::duration_s(turned.turned_s),
            show::count(f64::from(turned.turned_images)),
        ),
    }
}

/// Why strips are left as they are, in words.
pub fn stay_text(strategy: &str, reason: WhyStripsStay) -> String {
    match reason {
        WhyStripsStay::NoWind => "No wind: direction makes no difference.".to_owned(),
        WhyStripsStay::DirectionUnknown => {
            "Wind direction unknown: set it to have strip directions tried.".to_owned()
        }
        WhyStripsStay::NoStrips => format!("{strategy} has no strips over an area that could be turned."),
        WhyStripsStay::NothingToGain { saved_s } if saved_s < 0.5 => {
            format!(
                "The strips of {strategy} lie best as they are: no other direction is quicker in this wind."
            )
        }
        WhyStripsStay::NothingToGain { saved_s } => format!(
            "The strips of {strategy} lie well as they are: the best of the others saves {}, less than {:.0} %.",
            saving(saved_s),
            100.0 * WORTH_RATIO,
        ),
        WhyStripsStay::NotFlyable => {
            format!("{strategy} cannot be flown as it stands, nor with its strips turned any other way.")
        }
    }
}
