//! What the board's sliders set: a knob of a strategy, the same on all the passes that play one role.

use crate::units::{Unit, Units};
use obliquity_exchange::{EntryField, EntryKind};
use obliquity_planning::{At, EditError, Id, Knob, KnobId, Pass, Scenario, Strategy, knob, wording};
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

/// What a slider sets: one knob on the passes of one role.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Setting {
    /// The input.
    pub knob: KnobId,
    /// On which passes.
    pub role: Role,
}

/// A setting as a strategy has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Which one.
    pub setting: Setting,
    /// Its value on the first pass concerned, in the knob's unit.
    pub value: f64,
    /// The least and the greatest value on the passes concerned, where they differ.
    pub spread: Option<(f64, f64)>,
}

impl Setting {
    /// A knob on every pass that it applies to.
    pub fn everywhere(knob: KnobId) -> Self {
        Setting { knob, role: Role::All }
    }

    fn row(self) -> Knob {
        knob(self.knob)
    }

    /// What the setting does, in a sentence or two.
    pub fn explanation(self) -> &'static str {
        self.row().explanation
    }

    /// Name on the screen where the passes are named apart.
    pub fn plain_name(self) -> &'static str {
        self.row().name
    }

    /// The same in one short word, where there is little room.
    pub fn brief_name(self) -> &'static str {
        match self.knob {
            KnobId::FORWARD_OVERLAP => "Forward",
            KnobId::SPEED => "Speed",
            _ => self.row().name,
        }
    }

    /// What the passes of the role are called, by what they do: "oblique passes", "facade passes".
    pub fn passes_name(self, scenario: &Scenario, strategy: &Strategy) -> String {
        let mut names: Vec<&str> = Vec::new();
        for pass in strategy.passes.iter().filter(|pass| self.has_role(scenario, pass)) {
            let kind = pass.pattern.kind();
            let name = match self.role {
                Role::Nadir if kind.flies_over() => "nadir",
                Role::Oblique if kind.flies_over() => "oblique",
                _ => kind.name(),
            };
            if !names.contains(&name) {
                names.push(name);
            }
        }
        format!("{} passes", wording::listed(&names))
    }

    /// Name on the screen, beside the slider.
    pub fn name(self, scenario: &Scenario, strategy: &Strategy) -> String {
        let short = match (self.knob, self.role) {
            (KnobId::FORWARD_OVERLAP, Role::Nadir | Role::Oblique) => "Forward",
            _ => self.row().name,
        };
        match self.role {
            Role::All => short.to_owned(),
            Role::Nadir | Role::Oblique => format!("{short}, {}", self.passes_name(scenario, strategy)),
        }
    }

    /// The whole name, for whoever does not see where the slider stands: "Height of Crossed strips". `name` is the
    /// strategy's.
    pub fn name_of(self, scenario: &Scenario, strategy: &Strategy, name: &str) -> String {
        let of = self.row().name;
        match self.role {
            Role::All => format!("{of} of {name}"),
            Role::Nadir | Role::Oblique => {
                format!("{of} of the {} of {name}", self.passes_name(scenario, strategy))
            }
        }
    }

    fn stored_in(self) -> Unit {
        self.row().unit
    }

    /// What a number on the screen is multiplied by to get the knob's own: 0.01 for per cent, 0.3048 for feet.
    pub fn per_shown(self, units: Units) -> f64 {
        units.scale(self.stored_in()).stored_per_shown
    }

    /// Unit on the screen, with the space before it.
    pub fn unit(self, units: Units) -> String {
        units.suffix(self.stored_in())
    }

    /// What may be typed.
    pub fn field(self, units: Units) -> EntryField {
        let allowed = self.allowed_range(units);
        let per = self.per_shown(units);
        EntryField {
            unit: self.stored_in(),
            units,
            range: allowed.start() * per..=allowed.end() * per,
            decimals: if self.knob == KnobId::GSD { units.decimals(Unit::GsdCentimetres, 2) } else { 1 },
            kind: EntryKind::Any,
        }
    }

    /// What a slider reaches, in the unit on the screen: the useful part of what is allowed. A tilt stays above 0, so
    /// that a pass keeps its role.
    pub fn slider_range(self, units: Units) -> RangeInclusive<f64> {
        let (least, most): (f64, f64) = match self.knob {
            KnobId::HEIGHT if units.is_us() => (50.0, 500.0),
            KnobId::HEIGHT => (15.0, 150.0),
            KnobId::STAND_OFF if units.is_us() => (6.0, 200.0),
            KnobId::STAND_OFF => (2.0, 60.0),
            KnobId::GSD if units == Units::UsInches => (0.2, 2.4),
            KnobId::GSD => (0.5, 6.0),
            KnobId::TILT => (5.0, 80.0),
            KnobId::FORWARD_OVERLAP | KnobId::SIDELAP => (20.0, 95.0),
            KnobId::SPEED if units.is_us() => (2.0, 45.0),
            KnobId::SPEED => (1.0, 20.0),
            KnobId::MARGIN if units.is_us() => (0.0, 300.0),
            KnobId::MARGIN => (0.0, 100.0),
            _ => (f64::NEG_INFINITY, f64::INFINITY),
        };
        let allowed = self.allowed_range(units);
        least.max(*allowed.start())..=most.min(*allowed.end())
    }

    /// What may be typed, in the unit on the screen.
    pub fn allowed_range(self, units: Units) -> RangeInclusive<f64> {
        let range = self.row().range;
        let least = if self.knob == KnobId::TILT { range.least.max(1.0) } else { range.least };
        least / self.per_shown(units)..=range.most / self.per_shown(units)
    }

    /// The step of a slider, in the unit on the screen.
    pub fn shown_step(self, units: Units) -> f64 {
        match self.knob {
            KnobId::GSD if units == Units::UsInches => 0.02,
            KnobId::GSD => 0.05,
            _ => 1.0,
        }
    }

    /// Gives all passes concerned the value.
    ///
    /// # Errors
    /// [`EditError`] when the value is out of range.
    pub fn apply(self, scenario: &mut Scenario, strategy: Id, value: f64) -> Result<(), EditError> {
        let passes =
            scenario.strategy(strategy).map(|strategy| self.passes(scenario, strategy)).unwrap_or_default();
        passes.into_iter().try_for_each(|pass| self.row().set(scenario, At::Pass(pass), Some(value)))
    }

    fn has_role(self, scenario: &Scenario, pass: &Pass) -> bool {
        match self.role {
            Role::All => true,
            Role::Nadir => !is_oblique(scenario, pass),
            Role::Oblique => is_oblique(scenario, pass),
        }
    }

    /// The passes of the role on which the knob has a value.
    fn passes(self, scenario: &Scenario, strategy: &Strategy) -> Vec<Id> {
        let ids = strategy.passes.iter().filter(|pass| self.has_role(scenario, pass)).map(|pass| pass.id);
        ids.filter(|&pass| self.row().get(scenario, At::Pass(pass)).is_some()).collect()
    }

    fn read(self, scenario: &Scenario, strategy: &Strategy) -> Option<Reading> {
        let passes = self.passes(scenario, strategy);
        let values: Vec<f64> =
            passes.iter().filter_map(|&pass| self.row().get(scenario, At::Pass(pass))).collect();
        let value = *values.first()?;
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let spread = (greatest - least > 1e-9).then_some((least, greatest));
        Some(Reading { setting: self, value, spread })
    }
}

fn is_oblique(scenario: &Scenario, pass: &Pass) -> bool {
    knob(KnobId::TILT).get(scenario, At::Pass(pass.id)).is_some()
}

/// The settings that a strategy offers, in the order they stand in. Overlaps stand apart for nadir and oblique passes
/// whenever there are both, so that no slider appears or goes while another is moved.
pub fn readings(scenario: &Scenario, strategy: &Strategy) -> Vec<Reading> {
    let oblique = strategy.passes.iter().filter(|pass| is_oblique(scenario, pass)).count();
    let roles: &[Role] = if oblique > 0 && oblique < strategy.passes.len() {
        &[Role::Nadir, Role::Oblique]
    } else {
        &[Role::All]
    };
    let whole = [KnobId::HEIGHT, KnobId::STAND_OFF, KnobId::GSD, KnobId::TILT].map(Setting::everywhere);
    let overlaps = [KnobId::FORWARD_OVERLAP, KnobId::SIDELAP];
    let split = roles.iter().flat_map(|&role| overlaps.map(|knob| Setting { knob, role }));
    whole.into_iter().chain(split).filter_map(|setting| setting.read(scenario, strategy)).collect()
}
