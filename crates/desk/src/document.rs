//! The document: one scenario with its history, its file and whether it is saved.

use crate::amendment::{AmendError, Amendment, SubjectKey};
use crate::history::History;
use crate::new_site::{SiteFrame, left_of, take_off_stays};
use crate::settings::Setting;
use crate::strategies::{Change, ChangeError, set_distances};
use obliquity_exchange::FileStamp;
use obliquity_planning::knob::Dial;
use obliquity_planning::{
    Distance, Hold, Id, Mission, Pass, Scenario, Scope, Site, Strategy, Underlay, UnderlayFrame,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Everything that changes a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Gives the passes of a strategy a setting.
    Set {
        /// Whose passes.
        strategy: Id,
        /// What is set.
        setting: Setting,
        /// To what, in the setting's unit.
        value: f64,
    },
    /// Puts another site in place of the present one; passes that cannot be flown on it are left behind.
    ReplaceSite {
        /// The site.
        site: Arc<Site>,
        /// Whether coordinates mean the same there.
        frame: SiteFrame,
        /// When it is flown; nothing leaves that as it is.
        mission: Option<Mission>,
    },
    /// Changes what all strategies share: equipment, requirement, conditions, rates.
    Amend(Amendment),
    /// Changes the list of strategies, or one of them as a whole.
    Strategy(Change),
    /// Holds something equal from now on, or nothing.
    Hold {
        /// What, and who leads.
        holding: Option<Holding>,
        /// The passes that it changes, as they are then.
        passes: Vec<Pass>,
    },
    /// Sets inputs that were tried out, all in one step.
    Turn {
        /// What it is called.
        what: String,
        /// Each with its value, in the knob's own unit.
        set: Vec<(Dial, f64)>,
    },
}

/// What is held equal between the strategies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holding {
    /// What.
    pub hold: Hold,
    /// The strategy that the others follow.
    pub lead: Id,
    /// Strategies that cannot come as near as the lead is.
    pub out_of_reach: Vec<Id>,
}

/// What is held equal, in words.
pub fn hold_name(hold: Hold) -> &'static str {
    match hold {
        Hold::Gsd => "GSD",
        Hold::Height => "height",
        Hold::TimeOnSite => "time on site",
        Hold::Requirement => "requirement",
    }
}

/// What tells one gesture from the next: edits of the same key in one gesture make one step.
#[derive(Debug, Clone, PartialEq, Eq)]
enum GestureKey {
    Set(Id, Setting),
    ReplaceSite,
    Amend(SubjectKey),
    Direction(Id),
}

/// An edit could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EditError {
    /// The strategy is not in the scenario.
    #[error("a strategy of the scenario was required, but number {0} is not in it; choose one that is")]
    NoSuchStrategy(Id),
    /// Equipment or terms do not fit.
    #[error(transparent)]
    Amend(#[from] AmendError),
    /// The value does not fit a pass.
    #[error(transparent)]
    Setting(#[from] obliquity_planning::EditError),
    /// The change does not fit the list of strategies.
    #[error(transparent)]
    Strategy(#[from] ChangeError),
}

impl Edit {
    /// What the edit is called in the menu: "Height of Crossed strips".
    pub fn label(&self, scenario: &Scenario) -> String {
        match self {
            Edit::Set { strategy, setting, .. } => {
                let known = scenario.strategy(*strategy);
                known.map_or_else(
                    || "a strategy's setting".to_owned(),
                    |strategy| setting.name_of(scenario, strategy, &strategy.name),
                )
            }
            Edit::ReplaceSite { site, .. } => format!("site {}", site.name),
            Edit::Amend(amendment) => amendment.what.label().to_owned(),
            Edit::Strategy(change) => change.label(scenario),
            Edit::Turn { what, .. } => what.clone(),
            Edit::Hold { holding: Some(holding), .. } => format!("equal {}", hold_name(holding.hold)),
            Edit::Hold { holding: None, .. } => "hold nothing equal".to_owned(),
        }
    }

    /// Nothing for an edit that is always a step of its own.
    fn key(&self) -> Option<GestureKey> {
        match self {
            Edit::Set { strategy, setting, .. } => Some(GestureKey::Set(*strategy, *setting)),
            Edit::ReplaceSite { .. } => Some(GestureKey::ReplaceSite),
            Edit::Amend(amendment) => Some(GestureKey::Amend(amendment.what.key())),
            Edit::Strategy(Change::Direction { strategy, .. }) => Some(GestureKey::Direction(*strategy)),
            Edit::Strategy(_) | Edit::Hold { .. } | Edit::Turn { .. } => None,
        }
    }

    fn apply(&self, scenario: &mut Scenario) -> Result<(), EditError> {
        match self {
            Edit::Set { strategy, setting, value } => {
                scenario.strategy(*strategy).ok_or(EditError::NoSuchStrategy(*strategy))?;
                setting.apply(scenario, *strategy, *value)?;
            }
            Edit::ReplaceSite { site, frame, mission } => {
                scenario.site = Arc::clone(site);
                // What lies on the earth lies there still; what lies in the present frame lies nowhere in another.
                let stays = |underlay: &Arc<Underlay>| {
                    *frame == SiteFrame::Kept || underlay.coordinates != UnderlayFrame::Site
                };
                scenario.underlay = scenario.underlay.take().filter(stays);
                leave_behind(scenario, *frame);
                if mission.is_some() {
                    scenario.conditions.mission.clone_from(mission);
                }
            }
            Edit::Amend(amendment) => amendment.apply(scenario)?,
            Edit::Strategy(change) => change.apply(scenario)?,
            Edit::Hold { passes, .. } => {
                for pass in passes {
                    if let Some(own) = scenario.pass_mut(pass.id) {
                        own.clone_from(pass);
                    }
                }
            }
            Edit::Turn { set, .. } => {
                set.iter().try_for_each(|(dial, value)| dial.set(scenario, *value))?;
            }
        }
        Ok(())
    }
}

/// What undo goes back to: the scenario, and what was held equal in it.
#[derive(Debug, Clone)]
struct Snapshot {
    scenario: Arc<Scenario>,
    holding: Option<Holding>,
}

/// A scenario that is being worked on. It changes only through [`Edit`]s.
#[derive(Debug, Clone)]
pub struct Document {
    state: Snapshot,
    saved: Arc<Scenario>,
    path: Option<PathBuf>,
    /// What the file held when it was read or last saved.
    stamp: Option<FileStamp>,
    history: History<Snapshot, GestureKey>,
}

impl Document {
    /// A document that holds what its file holds, or that has no file yet.
    pub fn new(scenario: Scenario, path: Option<PathBuf>) -> Self {
        let scenario = Arc::new(scenario);
        let saved = Arc::clone(&scenario);
        let state = Snapshot { scenario, holding: None };
        Document { state, saved, path, stamp: None, history: History::after(0) }
    }

    /// The same, of a file that held this.
    #[must_use]
    pub fn with_stamp(mut self, stamp: Option<FileStamp>) -> Self {
        self.stamp = stamp;
        self
    }

    /// A document whose work was not saved before a sudden end: it differs from its file by so many edits.
    pub fn recovered(scenario: Scenario, path: Option<PathBuf>, edits: u32) -> Self {
        let saved = Arc::new(scenario.clone());
        Document { saved, history: History::after(edits), ..Document::new(scenario, path) }
    }

    /// The scenario as it stands.
    pub fn scenario(&self) -> &Arc<Scenario> {
        &self.state.scenario
    }

    /// What is held equal; it is undone like everything else, but no file keeps it.
    pub fn holding(&self) -> Option<&Holding> {
        self.state.holding.as_ref()
    }

    /// The file it was read from or last saved to.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What the file held when it was read or last saved, where that is known.
    pub fn stamp(&self) -> Option<FileStamp> {
        self.stamp
    }

    /// Steps made, taken back and brought back since it was read or last saved.
    pub fn edits(&self) -> u32 {
        self.history.edits()
    }

    /// Whether it differs from what was read or last saved.
    pub fn is_changed(&self) -> bool {
        !Arc::ptr_eq(&self.state.scenario, &self.saved)
    }

    /// The file's name, or the scenario's where there is no file.
    pub fn title(&self) -> String {
        let file =
            self.path.as_deref().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned());
        file.unwrap_or_else(|| self.state.scenario.name.clone())
    }

    /// Makes an edit. Edits of the same kind until [`Document::end_gesture`] are undone together.
    ///
    /// # Errors
    /// [`EditError`] if the edit does not fit the scenario, which is then left as it was.
    pub fn edit(&mut self, edit: &Edit) -> Result<(), EditError> {
        let mut scenario = (*self.state.scenario).clone();
        edit.apply(&mut scenario)?;
        let holding = match edit {
            Edit::Hold { holding, .. } => holding.clone(),
            // What was tried out on passes is no longer equal to anything.
            Edit::Turn { set, .. } if set.iter().any(|(dial, _)| is_of_passes(dial)) => None,
            _ => still_held(self.state.holding.as_ref(), &self.state.scenario, &scenario),
        };
        let same = scenario == *self.state.scenario;
        if same && holding == self.state.holding {
            return Ok(());
        }
        let scenario = if same { Arc::clone(&self.state.scenario) } else { Arc::new(scenario) };
        let before = std::mem::replace(&mut self.state, Snapshot { scenario, holding });
        self.history.note(before, edit.key(), |before| edit.label(&before.scenario));
        Ok(())
    }

    /// Lets the other strategies follow the last edit, as a part of its step, so that what is held stays equal.
    pub fn follow_up(&mut self, distances: &[(Id, Distance)], holding: Holding) {
        let mut scenario = (*self.state.scenario).clone();
        set_distances(&mut scenario, distances);
        if scenario != *self.state.scenario {
            self.state.scenario = Arc::new(scenario);
        }
        self.state.holding = Some(holding);
    }

    /// Makes an edit as a part of the last step, if that is called `label` and was not undone; else as a step of its own.
    ///
    /// # Errors
    /// As [`Document::edit`].
    pub fn edit_onto(&mut self, edit: &Edit, label: &str) -> Result<(), EditError> {
        let onto = self.redo_label().is_none() && self.undo_label() == Some(label);
        let before = Arc::clone(&self.state.scenario);
        self.end_gesture();
        self.edit(edit)?;
        if onto && !Arc::ptr_eq(&before, &self.state.scenario) {
            self.history.join_last();
        }
        Ok(())
    }

    /// Takes back what the gesture has done so far, as if it had not begun; redo does not bring it back.
    pub fn abandon_gesture(&mut self) {
        if let Some(before) = self.history.abandon_gesture() {
            self.state = before;
        }
    }

    /// Whether edits have been made since the last gesture ended.
    pub fn in_gesture(&self) -> bool {
        self.history.in_gesture()
    }

    /// Ends a gesture: the next edit is a step of its own.
    pub fn end_gesture(&mut self) {
        self.history.end_gesture();
    }

    /// What undo would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.history.undo_label()
    }

    /// What redo would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.history.redo_label()
    }

    /// Takes the last step back; does nothing at the beginning of the history.
    pub fn undo(&mut self) {
        self.history.undo(&mut self.state);
    }

    /// Brings the last step back that was undone; does nothing at the end of the history.
    pub fn redo(&mut self) {
        self.history.redo(&mut self.state);
    }

    /// Notes that the file at `path` now holds `scenario`, which need not be the present one any more.
    pub fn mark_saved(&mut self, path: PathBuf, scenario: Arc<Scenario>, stamp: Option<FileStamp>) {
        self.path = Some(path);
        self.stamp = stamp;
        self.history.saved(u32::from(!Arc::ptr_eq(&self.state.scenario, &scenario)));
        self.saved = scenario;
    }
}

/// Takes out the passes that cannot be flown on another site, and strategies that are nothing without them.
fn leave_behind(scenario: &mut Scenario, frame: SiteFrame) {
    let site = Arc::clone(&scenario.site);
    for strategy in &mut scenario.strategies {
        strategy.passes.retain_mut(|pass| {
            let left = left_of(&pass.pattern, &site, frame);
            left.map(|pattern| pass.pattern = pattern).is_some()
        });
        strategy.take_offs_m.retain(|at_m| take_off_stays(*at_m, &site, frame));
    }
    scenario.strategies.retain(|strategy| !strategy.passes.is_empty());
    scenario.reference = scenario.reference.filter(|id| scenario.strategy(*id).is_some());
}

/// What is still held after an edit: not what the edit has broken, nor anything that a strategy led which is gone.
fn still_held(holding: Option<&Holding>, before: &Scenario, scenario: &Scenario) -> Option<Holding> {
    let mut holding = holding?.clone();
    let distances = || scenario.strategies.iter().flat_map(|s| &s.passes).map(|pass| pass.distance);
    // Stand-offs are no heights: they stay as they are.
    let over = |pass: &&Pass| pass.pattern.kind().flies_over();
    let heights = || scenario.strategies.iter().flat_map(|s| &s.passes).filter(over);
    let kept = match holding.hold {
        Hold::Gsd => distances().all(|distance| matches!(distance, Distance::Gsd { .. })),
        Hold::Height => heights().all(|pass| matches!(pass.distance, Distance::Height { .. })),
        Hold::TimeOnSite => true,
        Hold::Requirement => is_as_found(before, scenario),
    };
    holding.out_of_reach.retain(|id| scenario.strategy(*id).is_some());
    if scenario.strategy(holding.lead).is_none() {
        holding.lead = scenario.strategies.first()?.id;
    }
    kept.then_some(holding)
}

fn is_of_passes(dial: &Dial) -> bool {
    matches!(dial.knob().scope, Scope::Pass(_) | Scope::Pattern(_) | Scope::Attitude(_))
}

/// Whether an edit has left everything as it was that settings were searched for under, but for names and strategies taken
/// away.
fn is_as_found(before: &Scenario, after: &Scenario) -> bool {
    let same = |strategy: &Strategy| {
        let own = before.strategy(strategy.id);
        own.is_some_and(|own| *strategy == Strategy { name: strategy.name.clone(), ..own.clone() })
    };
    Arc::ptr_eq(&before.site, &after.site)
        && Arc::ptr_eq(&before.equipment, &after.equipment)
        && before.requirement == after.requirement
        && before.conditions == after.conditions
        && after.strategies.iter().all(same)
}
