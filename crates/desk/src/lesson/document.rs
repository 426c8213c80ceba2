//! A lesson that is open.

use crate::files;
use crate::history::History;
use obliquity_exchange::FileStamp;
use obliquity_planning::Fault;
use obliquity_planning::lesson::Lesson;
use std::cell::OnceCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Edits of one text in one gesture make one step.
pub(crate) type LessonGesture = String;

/// A lesson that is open, and where it is from.
#[derive(Debug, Clone)]
pub struct LessonDocument {
    state: Arc<Lesson>,
    saved: Option<Arc<Lesson>>,
    path: Option<PathBuf>,
    stamp: Option<FileStamp>,
    history: History<Arc<Lesson>, LessonGesture>,
    /// Of the lesson as it stands, once asked for.
    faults: OnceCell<Vec<Fault>>,
}

impl LessonDocument {
    /// As it was read from a file.
    pub fn read(lesson: Lesson, path: PathBuf, stamp: Option<FileStamp>) -> Self {
        let state = Arc::new(lesson);
        let saved = Some(Arc::clone(&state));
        LessonDocument {
            state,
            saved,
            path: Some(path),
            stamp,
            history: History::after(0),
            faults: OnceCell::new(),
        }
    }

    /// A new one, saved nowhere.
    pub fn made(lesson: Lesson) -> Self {
        LessonDocument {
            state: Arc::new(lesson),
            saved: None,
            path: None,
            stamp: None,
            history: History::after(1),
            faults: OnceCell::new(),
        }
    }

    /// One whose work was not saved before a sudden end: it differs from its file by so many edits.
    pub fn recovered(lesson: Lesson, path: Option<PathBuf>, stamp: Option<FileStamp>, edits: u32) -> Self {
        LessonDocument {
            state: Arc::new(lesson),
            saved: None,
            path,
            stamp,
            history: History::after(edits),
            faults: OnceCell::new(),
        }
    }

    /// The lesson as it stands.
    pub fn lesson(&self) -> &Arc<Lesson> {
        &self.state
    }

    /// What is in the way of saving or teaching it.
    pub fn faults(&self) -> &[Fault] {
        self.faults.get_or_init(|| self.state.faults())
    }

    /// Its file, where it has one.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What the file held when it was read or last saved.
    pub fn stamp(&self) -> Option<FileStamp> {
        self.stamp
    }

    /// Steps made, taken back and brought back since it was read or last saved.
    pub fn edits(&self) -> u32 {
        self.history.edits()
    }

    /// Whether it differs from what was read or last saved.
    pub fn is_changed(&self) -> bool {
        !self.saved.as_ref().is_some_and(|saved| Arc::ptr_eq(&self.state, saved))
    }

    /// The file's name, or the lesson's where there is no file.
    pub fn title(&self) -> String {
        self.path().map_or_else(|| self.state.name.clone(), files::short_name)
    }

    /// Makes an edit, called `label`. Edits of the same key until [`LessonDocument::end_gesture`] are undone together.
    pub fn edit(&mut self, label: &str, key: Option<&str>, change: impl FnOnce(&mut Lesson)) {
        let mut next = (*self.state).clone();
        change(&mut next);
        if next == *self.state {
            return;
        }
        let before = std::mem::replace(&mut self.state, Arc::new(next));
        self.faults.take();
        self.history.note(before, key.map(str::to_owned), |_| label.to_owned());
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
        self.faults.take();
    }

    /// Brings the last step back that was undone; does nothing at the end of the history.
    pub fn redo(&mut self) {
        self.history.redo(&mut self.state);
        self.faults.take();
    }

    /// Notes that the file at `path` now holds `lesson`; that need not be the present one any more.
    pub fn mark_saved(&mut self, path: PathBuf, lesson: Arc<Lesson>, stamp: Option<FileStamp>) {
        self.path = Some(path);
        self.stamp = stamp;
        self.history.saved(u32::from(!Arc::ptr_eq(&self.state, &lesson)));
        self.saved = Some(lesson);
    }
}
