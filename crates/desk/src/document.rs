//! The document: one scenario with its history, its file and whether it is saved.

use crate::settings::Setting;
use obliquity_planning::{Id, Scenario, Site};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Steps that can be undone; older ones are forgotten.
const HISTORY: usize = 500;

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
    /// Puts another site in place of the present one.
    ReplaceSite {
        /// The site.
        site: Arc<Site>,
    },
}

/// What tells one gesture from the next: edits of the same key in one gesture make one step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Key {
    Set(Id, Setting),
    ReplaceSite,
}

/// An edit could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EditError {
    /// The strategy is not in the scenario.
    #[error("a strategy of the scenario was required, but number {0} is not in it; choose one that is")]
    NoSuchStrategy(Id),
    /// The value does not fit a pass.
    #[error(transparent)]
    Setting(#[from] obliquity_planning::EditError),
}

impl Edit {
    /// What the edit is called in the menu: "Height of Crossed strips".
    pub fn label(&self, scenario: &Scenario) -> String {
        match self {
            Edit::Set { strategy, setting, .. } => {
                setting.name_of(scenario.strategy(*strategy).map_or("a strategy", |s| s.name.as_str()))
            }
            Edit::ReplaceSite { site } => format!("site {}", site.name),
        }
    }

    fn key(&self) -> Key {
        match *self {
            Edit::Set { strategy, setting, .. } => Key::Set(strategy, setting),
            Edit::ReplaceSite { .. } => Key::ReplaceSite,
        }
    }

    fn apply(&self, scenario: &mut Scenario) -> Result<(), EditError> {
        match self {
            Edit::Set { strategy, setting, value } => {
                scenario.strategy(*strategy).ok_or(EditError::NoSuchStrategy(*strategy))?;
                setting.apply(scenario, *strategy, *value)?;
            }
            Edit::ReplaceSite { site } => scenario.site = Arc::clone(site),
        }
        Ok(())
    }
}

/// One step of the history: what it was called and the scenario on its far side.
#[derive(Debug, Clone)]
struct Step {
    label: String,
    scenario: Arc<Scenario>,
}

/// A scenario that is being worked on. It changes only through [`Edit`]s.
#[derive(Debug, Clone)]
pub struct Document {
    scenario: Arc<Scenario>,
    saved: Arc<Scenario>,
    path: Option<PathBuf>,
    past: Vec<Step>,
    future: Vec<Step>,
    gesture: Option<Key>,
}

impl Document {
    /// A document that holds what its file holds, or that has no file yet.
    pub fn new(scenario: Scenario, path: Option<PathBuf>) -> Self {
        let scenario = Arc::new(scenario);
        let saved = Arc::clone(&scenario);
        Document { scenario, saved, path, past: Vec::new(), future: Vec::new(), gesture: None }
    }

    /// The scenario as it stands.
    pub fn scenario(&self) -> &Arc<Scenario> {
        &self.scenario
    }

    /// The file it was read from or last saved to.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Whether it differs from what was read or last saved.
    pub fn is_changed(&self) -> bool {
        !Arc::ptr_eq(&self.scenario, &self.saved)
    }

    /// The file's name, or the scenario's where there is no file.
    pub fn title(&self) -> String {
        let file =
            self.path.as_deref().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned());
        file.unwrap_or_else(|| self.scenario.name.clone())
    }

    /// Makes an edit. Edits of the same kind until [`Document::end_gesture`] are undone together.
    ///
    /// # Errors
    /// [`EditError`] if the edit does not fit the scenario, which is then left as it was.
    pub fn edit(&mut self, edit: &Edit) -> Result<(), EditError> {
        let mut scenario = (*self.scenario).clone();
        edit.apply(&mut scenario)?;
        if scenario == *self.scenario {
            return Ok(());
        }
        let before = std::mem::replace(&mut self.scenario, Arc::new(scenario));
        if self.gesture != Some(edit.key()) || self.past.is_empty() {
            self.past.push(Step { label: edit.label(&before), scenario: before });
            let surplus = self.past.len().saturating_sub(HISTORY);
            self.past.drain(..surplus);
        }
        self.gesture = Some(edit.key());
        self.future.clear();
        Ok(())
    }

    /// Ends a gesture: the next edit is a step of its own.
    pub fn end_gesture(&mut self) {
        self.gesture = None;
    }

    /// What undo would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.past.last().map(|step| step.label.as_str())
    }

    /// What redo would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.future.last().map(|step| step.label.as_str())
    }

    /// Takes the last step back; does nothing at the beginning of the history.
    pub fn undo(&mut self) {
        self.end_gesture();
        if let Some(Step { label, scenario }) = self.past.pop() {
            let after = std::mem::replace(&mut self.scenario, scenario);
            self.future.push(Step { label, scenario: after });
        }
    }

    /// Brings the last step back that was undone; does nothing at the end of the history.
    pub fn redo(&mut self) {
        self.end_gesture();
        if let Some(Step { label, scenario }) = self.future.pop() {
            let before = std::mem::replace(&mut self.scenario, scenario);
            self.past.push(Step { label, scenario: before });
        }
    }

    /// Notes that the file at `path` now holds `scenario`, which need not be the present one any more.
    pub fn mark_saved(&mut self, path: PathBuf, scenario: Arc<Scenario>) {
        self.path = Some(path);
        self.saved = scenario;
        self.end_gesture();
    }
}
