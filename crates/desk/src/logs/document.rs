//! A log that is being worked on. It changes only through [`LogEdit`]s.

use crate::files;
use crate::history::History;
use obliquity_exchange::{FileStamp, LogKind, LogSheet, MOST_LOGGED};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where a log is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogPlace {
    /// A file.
    File(PathBuf),
    /// The example that is built in.
    Example,
    /// It was begun in the window.
    Begun,
}

/// A change of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogEdit {
    /// Another text in a cell.
    Cell {
        /// The job's place.
        row: usize,
        /// The column's place.
        column: usize,
        /// What it holds then.
        text: String,
    },
    /// A job behind the others, as its cells.
    Add(Vec<String>),
    /// A job is taken out.
    Remove(usize),
}

/// A log that is being worked on.
#[derive(Debug, Clone)]
pub struct LogDocument {
    state: Arc<LogSheet>,
    saved: Arc<LogSheet>,
    place: LogPlace,
    stamp: Option<FileStamp>,
    history: History<Arc<LogSheet>, ()>,
}

impl LogDocument {
    /// As it was read.
    pub fn new(sheet: LogSheet, place: LogPlace, stamp: Option<FileStamp>) -> Self {
        let state = Arc::new(sheet);
        LogDocument { saved: Arc::clone(&state), state, place, stamp, history: History::after(0) }
    }

    /// One whose work was not saved before a sudden end: it differs from its file by so many edits.
    pub fn recovered(sheet: LogSheet, file: Option<PathBuf>, stamp: Option<FileStamp>, edits: u32) -> Self {
        let place = file.map_or(LogPlace::Begun, LogPlace::File);
        let document = LogDocument::new(sheet, place, stamp);
        let saved = Arc::new((*document.state).clone());
        LogDocument { saved, history: History::after(edits), ..document }
    }

    /// The log as it stands.
    pub fn sheet(&self) -> &Arc<LogSheet> {
        &self.state
    }

    /// What it logs.
    pub fn kind(&self) -> LogKind {
        self.state.kind
    }

    /// Where it is from.
    pub fn place(&self) -> &LogPlace {
        &self.place
    }

    /// Its file, where it has one.
    pub fn path(&self) -> Option<&Path> {
        match &self.place {
            LogPlace::File(path) => Some(path),
            LogPlace::Example | LogPlace::Begun => None,
        }
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
        !Arc::ptr_eq(&self.state, &self.saved)
    }

    /// The file's name, or what it is where there is no file.
    pub fn title(&self) -> String {
        let place = match self.place {
            LogPlace::Example => "Example",
            _ => "New log",
        };
        self.path().map_or_else(|| format!("{place} of {}", self.kind().told()), files::short_name)
    }

    /// What a job is called, for people.
    pub fn job_name(&self, row: usize) -> String {
        let cells = self.state.rows.get(row);
        let place = self.state.place("job");
        let named = cells.zip(place).and_then(|(cells, at)| cells.get(at)).filter(|name| !name.is_empty());
        named.map_or_else(|| format!("job {}", row + 1), Clone::clone)
    }

    /// Makes an edit.
    ///
    /// # Errors
    /// Why it cannot be made, for people; the log is left as it was.
    pub fn edit(&mut self, edit: &LogEdit) -> Result<(), String> {
        let mut next = (*self.state).clone();
        let label = match edit {
            LogEdit::Cell { row, column, text } => {
                let cell = next.rows.get_mut(*row).and_then(|cells| cells.get_mut(*column));
                let Some(cell) = cell else { return Err("that job is not in the log any more".to_owned()) };
                *cell = LogSheet::cleaned(text);
                format!("{} of {}", next.names[*column], self.job_name(*row))
            }
            LogEdit::Add(cells) => {
                if next.rows.len() >= MOST_LOGGED {
                    return Err(format!("a log holds at most {MOST_LOGGED} jobs; take one out before"));
                }
                let all = next.kind.names();
                let cell = |name: &&'static str| {
                    let place = all.iter().position(|known| known == name);
                    let text = place.and_then(|at| cells.get(at));
                    text.map(|text| LogSheet::cleaned(text)).unwrap_or_default()
                };
                let row = next.names.iter().map(cell).collect();
                next.rows.push(row);
                "add a job".to_owned()
            }
            LogEdit::Remove(row) => {
                if *row >= next.rows.len() {
                    return Err("that job is not in the log any more".to_owned());
                }
                next.rows.remove(*row);
                format!("remove {}", self.job_name(*row))
            }
        };
        if next != *self.state {
            let before = std::mem::replace(&mut self.state, Arc::new(next));
            self.history.note(before, None, |_| label);
        }
        Ok(())
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

    /// Notes that the file at `path` now holds `sheet`; that need not be the present one any more.
    pub fn mark_saved(&mut self, path: PathBuf, sheet: Arc<LogSheet>, stamp: FileStamp) {
        self.place = LogPlace::File(path);
        self.stamp = Some(stamp);
        self.history.saved(u32::from(!Arc::ptr_eq(&self.state, &sheet)));
        self.saved = sheet;
    }
}
