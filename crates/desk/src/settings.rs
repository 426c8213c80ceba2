//! What the board's sliders set: a figure of a strategy, the same on all the passes that play one role.

use obliquity_planning::{Attitude, Distance, Pass, Strategy};
use std::ops::RangeInclusive;

/// Passes of one role.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Every pass: the strategy's passes all play the same role.
    All,
    /// Passes that only look straight down.
    Nadir,
    /// Passes with a tilted attitude.
    Oblique,
}

/// A figure that a slider sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Setting {
    /// Height of every pass, in metres.
    Height,
    /// GSD that every pass is led by, in centimetres.
    Gsd,
    /// Tilt of every tilted attitude, in degrees.
    Tilt,
    /// Forward overlap, 0 to below 1.
    ForwardOverlap(Role),
    /// Sidelap, 0 to below 1.
    Sidelap(Role),
}

/// A setting as a strategy has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Which one.
    pub setting: Setting,
    /// Its value on the first pass concerned, in the setting's unit.
    pub value: f64,
    /// The least and the greatest value on the passes concerned, where they differ.
    pub spread: Option<(f64, f64)>,
}

impl Role {
    fn has(self, pass: &Pass) -> bool {
        match self {
            Role::All => true,
            Role::Nadir => !is_oblique(pass),
            Role::Oblique => is_oblique(pass),
        }
    }
}

fn is_tilted(attitude: &Attitude) -> bool {
    attitude.tilt_deg.abs() > 0.0
}

fn is_oblique(pass: &Pass) -> bool {
    pass.attitudes.iter().any(is_tilted)
}

impl Setting {
    /// Name on the screen, beside the slider.
    pub fn name(self) -> &'static str {
        match self {
            Setting::Height => "Height",
            Setting::Gsd => "GSD",
            Setting::Tilt => "Tilt",
            Setting::ForwardOverlap(Role::All) => "Forward overlap",
            Setting::ForwardOverlap(Role::Nadir) => "Forward, nadir",
            Setting::ForwardOverlap(Role::Oblique) => "Forward, oblique",
            Setting::Sidelap(Role::All) => "Sidelap",
            Setting::Sidelap(Role::Nadir) => "Sidelap, nadir",
            Setting::Sidelap(Role::Oblique) => "Sidelap, oblique",
        }
    }

    /// The whole name, for whoever does not see where the slider stands: "Height of Crossed strips".
    pub fn name_of(self, strategy: &str) -> String {
        let passes = match self {
            Setting::ForwardOverlap(Role::Nadir) | Setting::Sidelap(Role::Nadir) => "the nadir passes of ",
            Setting::ForwardOverlap(Role::Oblique) | Setting::Sidelap(Role::Oblique) => "the oblique passes of ",
            _ => "",
        };
        let what = match self {
            Setting::ForwardOverlap(_) => "Forward overlap",
            Setting::Sidelap(_) => "Sidelap",
            other => other.name(),
        };
        format!("{what} of {passes}{strategy}")
    }

    /// What a number on the screen is multiplied by to get the setting's own: 0.01 for per cent.
    pub fn per_shown(self) -> f64 {
        match self {
            Setting::ForwardOverlap(_) | Setting::Sidelap(_) => 0.01,
            Setting::Height | Setting::Gsd | Setting::Tilt => 1.0,
        }
    }

    /// Unit on the screen.
    pub fn unit(self) -> &'static str {
        match self {
            Setting::Height => " m",
            Setting::Gsd => " cm",
            Setting::Tilt => "°",
            Setting::ForwardOverlap(_) | Setting::Sidelap(_) => " %",
        }
    }

    /// Where a slider goes, in the unit on the screen. A tilt stays above 0, so that a pass keeps its role.
    pub fn shown_range(self) -> RangeInclusive<f64> {
        match self {
            Setting::Height => 15.0..=150.0,
            Setting::Gsd => 0.5..=6.0,
            Setting::Tilt => 5.0..=80.0,
            Setting::ForwardOverlap(_) | Setting::Sidelap(_) => 20.0..=95.0,
        }
    }

    /// The step of a slider, in the unit on the screen.
    pub fn shown_step(self) -> f64 {
        match self {
            Setting::Gsd => 0.05,
            Setting::Height | Setting::Tilt | Setting::ForwardOverlap(_) | Setting::Sidelap(_) => 1.0,
        }
    }

    /// Gives all passes concerned the value.
    pub fn apply(self, strategy: &mut Strategy, value: f64) {
        for pass in &mut strategy.passes {
            match self {
                Setting::Height => pass.distance = Distance::Height { m: value, above: above(pass.distance) },
                Setting::Gsd => pass.distance = Distance::Gsd { cm: value, above: above(pass.distance) },
                Setting::Tilt => pass.attitudes.iter_mut().filter(|a| is_tilted(a)).for_each(|a| a.tilt_deg = value),
                Setting::ForwardOverlap(role) if role.has(pass) => pass.forward_overlap = value,
                Setting::Sidelap(role) if role.has(pass) => pass.sidelap = value,
                Setting::ForwardOverlap(_) | Setting::Sidelap(_) => {}
            }
        }
    }

    fn values(self, strategy: &Strategy) -> Vec<f64> {
        let passes = strategy.passes.iter();
        match self {
            Setting::Height => passes.filter_map(|pass| height_m(pass.distance)).collect(),
            Setting::Gsd => passes.filter_map(|pass| gsd_cm(pass.distance)).collect(),
            Setting::Tilt => {
                passes.flat_map(|pass| &pass.attitudes).filter(|a| is_tilted(a)).map(|a| a.tilt_deg).collect()
            }
            Setting::ForwardOverlap(role) => passes.filter(|p| role.has(p)).map(|p| p.forward_overlap).collect(),
            Setting::Sidelap(role) => passes.filter(|p| role.has(p)).map(|p| p.sidelap).collect(),
        }
    }
}

/// The settings that a strategy offers, in the order they stand in. Which ones does not depend on their values, apart
/// from what leads the distance, so that a slider never disappears under the pointer.
pub fn readings(strategy: &Strategy) -> Vec<Reading> {
    let oblique = strategy.passes.iter().filter(|pass| is_oblique(pass)).count();
    let roles: &[Role] =
        if oblique > 0 && oblique < strategy.passes.len() { &[Role::Nadir, Role::Oblique] } else { &[Role::All] };
    let leading = match strategy.passes.first().map(|pass| pass.distance) {
        Some(Distance::Gsd { .. }) => Setting::Gsd,
        Some(Distance::Height { .. }) | None => Setting::Height,
    };
    let overlaps = roles.iter().flat_map(|&role| [Setting::ForwardOverlap(role), Setting::Sidelap(role)]);
    [leading, Setting::Tilt].into_iter().chain(overlaps).filter_map(|setting| read(setting, strategy)).collect()
}

fn read(setting: Setting, strategy: &Strategy) -> Option<Reading> {
    let values = setting.values(strategy);
    let value = *values.first()?;
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let spread = (greatest - least > 1e-9).then_some((least, greatest));
    Some(Reading { setting, value, spread })
}

fn above(distance: Distance) -> obliquity_planning::Above {
    match distance {
        Distance::Height { above, .. } | Distance::Gsd { above, .. } => above,
    }
}

fn height_m(distance: Distance) -> Option<f64> {
    match distance {
        Distance::Height { m, .. } => Some(m),
        Distance::Gsd { .. } => None,
    }
}

fn gsd_cm(distance: Distance) -> Option<f64> {
    match distance {
        Distance::Gsd { cm, .. } => Some(cm),
        Distance::Height { .. } => None,
    }
}
