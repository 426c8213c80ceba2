use super::model::Fold;
use crate::settings::Setting;
use crate::strategies::{Change, Lead};
use obliquity_planning::{Hold, Id, MeasureId};
use std::collections::BTreeSet;

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
    /// Let a strategy fly an aircraft of the user's library, by its place there.
    FlyOfLibrary(Id, usize),
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
    /// Adjust the block of a strategy in full, though it has many images.
    WorkOutBlock(Id),
    /// Enter what the job brings and takes.
    EnterPrice,
    /// Show where a caution holds on the route of a strategy.
    ShowPlace(Id, &'static str),
    /// Open something that is closed, or close it: [`SETTINGS`], [`CAUTIONS`], or a band by its title.
    Turn(&'static str),
    /// Stop working out coverage.
    Stop,
    /// Work coverage out again.
    Update,
}

/// The settings, as something that opens.
pub const SETTINGS: &str = "settings";
/// The cautions, as something that opens.
pub const CAUTIONS: &str = "cautions";

/// What the board shows of the session: nothing of it is saved or undone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session<'a> {
    /// The strategy in focus.
    pub focus: Option<Id>,
    /// What is opened: see [`BoardAsk::Turn`].
    pub opened: &'a BTreeSet<String>,
    /// What is being worked out.
    pub updating: Updating,
}

impl Session<'_> {
    /// Whether something is opened.
    pub fn opened(&self, what: &str) -> Fold {
        if self.opened.contains(what) { Fold::Open } else { Fold::Closed }
    }
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
