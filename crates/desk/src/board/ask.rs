use crate::settings::Setting;
use crate::strategies::{Change, Lead};
use obliquity_planning::{Hold, Id, MeasureId};

/// What the user asks for on the board.
#[derive(Debug, Clone, PartialEq)]
pub enum BoardAsk {
    /// Give a strategy a setting.
    Set {
        /// The strategy.
        strategy: Id,
        /// What is set.
        setting: Setting,
        /// To what, in the setting's unit.
        value: f64,
    },
    /// Change the list of strategies, or one of them as a whole.
    Change(Change),
    /// Let height or GSD lead, at the value it has.
    Lead(Id, Lead),
    /// Hold something equal, or nothing.
    Hold(Option<Hold>),
    /// Put a strategy in focus.
    Focus(Id),
    /// Show the passes of a strategy.
    ShowPasses(Id),
    /// Show how a figure of a strategy comes about.
    ShowFigure(Id, MeasureId),
    /// Show where a caution holds on the route of a strategy.
    ShowPlace(Id, &'static str),
    /// Fold the settings away, or bring them back.
    FoldSettings,
    /// Stop working out coverage.
    Stop,
    /// Work coverage out again.
    Update,
}

/// Whether the settings are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Fold {
    /// With all their sliders.
    #[default]
    Open,
    /// Folded away: one line says what follows from them.
    Folded,
}

impl Fold {
    /// The other one.
    #[must_use]
    pub fn turned(self) -> Self {
        match self {
            Fold::Open => Fold::Folded,
            Fold::Folded => Fold::Open,
        }
    }
}

/// What the board shows of the session: nothing of it is saved or undone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session {
    /// The strategy in focus.
    pub focus: Option<Id>,
    /// Whether the settings are shown.
    pub fold: Fold,
    /// What is being worked out.
    pub updating: Updating,
}

/// What is being worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Updating {
    /// Nothing.
    Nothing,
    /// Coverage.
    Running(crate::jobs::Progress),
    /// What the user has asked for.
    Errand {
        /// What it does: "finding equal times".
        what: &'static str,
        /// How far it is, 0 to 10.
        tenths: u64,
    },
    /// Nothing, since the user stopped it before it was done.
    Stopped,
}

impl Updating {
    /// Whether it is what the user has asked for.
    pub fn is_errand(self) -> bool {
        matches!(self, Updating::Errand { .. })
    }
}
