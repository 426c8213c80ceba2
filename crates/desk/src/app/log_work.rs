//! The logs that are open: how they are opened, edited and saved.

use super::App;
use super::file_work::Over;
use super::requests::given;
use crate::dialogs::{Dialog, Purpose, Refusal, Then, UnsavedOf};
use crate::engine::Failure;
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::logs::{EditedCell, LogDocument, LogEdit, LogPlace};
use crate::long;
use crate::screen::Screen;
use crate::uncorrected::uncorrected;
use egui::Context;
use obliquity_exchange::{FileError, FileErrorKind, FileStamp, LogKind, LogSheet, planned_cells, save_log};
use obliquity_planning::{Depth, Id, Scenario};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A log on its way to a file.
#[derive(Debug, Clone, PartialEq)]
struct LogSaved {
    path: PathBuf,
    sheet: Same<LogSheet>,
}

impl Key for LogSaved {
    type Reply = Result<FileStamp, FileError>;
    const LANE: Lane = Lane::Writing;
}

/// What is planned for a strategy, on its way to a row of a log.
#[derive(Debug, Clone, PartialEq)]
struct PlannedRow {
    scenario: Same<Scenario>,
    strategy: Id,
    log: LogKind,
}

impl Key for PlannedRow {
    /// Its cells.
    type Reply = Result<Vec<String>, Failure>;
    const LANE: Lane = Lane::Routes;

    fn told(&self) -> Option<&'static str> {
        Some("planning a job")
    }
}

const NO_ROW: &str = "No row was added";

const NOT_SAVED: &str = "The log was not saved";

impl App {
    /// The same window with a log open, which is shown.
    #[must_use]
    pub fn with_log(mut self, log: LogDocument) -> Self {
        self.put_log(log);
        self
    }

    /// Whether menus and keys are about the log that is shown: the last step was not one of the scenario.
    pub(super) fn log_in_hand(&self) -> Option<LogKind> {
        let is_shown = self.side.screen == Screen::LOGS && self.log_shown().is_some() && !self.is_shut();
        is_shown.then(|| self.logs.shown())
    }

    /// The log that undo and redo are about.
    pub(super) fn log_to_turn(&self) -> Option<&LogDocument> {
        self.log_in_hand().filter(|_| !self.logs.took_over()).and_then(|kind| self.logs.log(kind))
    }

    pub(super) fn is_log_changed(&self, kind: LogKind) -> bool {
        self.logs.log(kind).is_some_and(LogDocument::is_changed)
    }

    /// A log that is not saved.
    pub(super) fn changed_log(&self) -> Option<LogKind> {
        LogKind::ALL.into_iter().find(|kind| self.is_log_changed(*kind))
    }

    /// Takes a step of the log back, or brings it back.
    pub(super) fn turn_log(&mut self, turn: impl FnOnce(&mut LogDocument)) {
        let kind = self.logs.shown();
        self.logs.step_made();
        if let Some(own) = self.logs.log_mut(kind) {
            turn(own);
        }
    }

    /// Takes what stands in the cell that is being edited, as leaving it would.
    pub(super) fn take_cell(&mut self) {
        let Some(EditedCell { row, column, text, .. }) = self.logs.take_editing() else { return };
        let was = self.log_shown().and_then(|own| own.sheet().rows.get(row)?.get(column));
        if was.is_some_and(|was| *was != text) {
            self.edit_log(&LogEdit::Cell { row, column, text });
        }
    }

    pub(super) fn edit_log(&mut self, edit: &LogEdit) {
        let kind = self.logs.shown();
        let Some(own) = self.logs.log_mut(kind) else { return };
        if let Err(why) = own.edit(edit) {
            self.tell("The change was not made", &why);
        }
        if matches!(edit, LogEdit::Cell { .. }) {
            self.logs.changed_beside();
        } else {
            self.logs.step_made();
        }
    }

    /// Adds a row with what is planned for the strategy in focus, without corrections.
    pub(super) fn add_planned(&mut self) {
        let scenario = Arc::new(uncorrected(self.document.scenario()));
        let Some(strategy) = self.focus().and_then(|id| scenario.strategy(id)) else { return };
        let (id, name) = (strategy.id, strategy.name.clone());
        let key = PlannedRow { scenario: Same::of(&scenario), strategy: id, log: self.logs.shown() };
        let engine = self.engine.clone();
        self.jobs.request(key, move |watch| {
            let outcome = engine.evaluate(&scenario, id, Depth::Quick, watch)?;
            let cells = planned_cells(&format!("{}, {name}", scenario.name), &outcome);
            let why = || Failure::Refused(format!("{name} cannot be flown: {}", outcome.reasons.join("; ")));
            cells.ok_or_else(why)
        });
        self.hear_logs();
    }

    fn hear_planned(&mut self, log: LogKind, cells: Result<Vec<String>, Failure>) {
        let edit = match cells {
            Ok(cells) => LogEdit::Add(cells),
            Err(Failure::Refused(why)) => return self.tell(NO_ROW, &why),
            Err(Failure::Cancelled) => return,
        };
        match self.logs.log_mut(log).map(|own| own.edit(&edit)) {
            // it comes below all others: a cell that is being typed in stays where it is
            Some(Ok(())) if log == self.logs.shown() => self.logs.changed_beside(),
            Some(Err(why)) => self.tell(NO_ROW, &why),
            Some(Ok(())) | None => {}
        }
    }

    pub(super) fn put_log(&mut self, log: LogDocument) {
        if let Some(path) = log.path().map(Path::to_owned) {
            self.remember(&path);
        }
        let kind = log.kind();
        // a row that is still being planned was for the log before
        self.jobs.cancel(|row: &PlannedRow| row.log == kind);
        self.logs.put(log);
        self.claim_log_file(kind);
        self.turn_to(Screen::LOGS);
    }

    pub(super) fn begin_log(&mut self, kind: LogKind) {
        self.put_log(LogDocument::new(LogSheet::empty(kind), LogPlace::Begun, None));
        self.edit_log(&LogEdit::Add(Vec::new()));
    }

    pub(super) fn open_example_log(&mut self, kind: LogKind) {
        match files::example_log(kind) {
            Ok(sheet) => self.put_log(LogDocument::new(sheet, LogPlace::Example, None)),
            Err(error) => self.tell("No example", &error.to_string()),
        }
    }

    /// Puts a log that was read in place of the one of its kind; asks first where that was changed and nobody has agreed.
    pub(super) fn take_log(
        &mut self,
        path: &Path,
        sheet: LogSheet,
        stamp: FileStamp,
        agreed: Option<&Same<LogSheet>>,
    ) {
        let kind = sheet.kind;
        self.take_cell();
        let may_go = self
            .logs
            .log(kind)
            .is_none_or(|own| !own.is_changed() || agreed.is_some_and(|agreed| agreed.is(own.sheet())));
        if may_go {
            self.put_log(LogDocument::new(sheet, LogPlace::File(path.to_owned()), Some(stamp)));
        } else {
            let (of, then) = (UnsavedOf::Log(kind), Then::OpenLog(path.to_owned(), kind));
            self.dialog = Some(Dialog::Unsaved { of, then });
        }
    }

    /// A name for its file.
    pub(super) fn log_file_name(&self, kind: LogKind) -> String {
        let usual = match kind {
            LogKind::Processed => "processed_jobs.csv",
            LogKind::Flown => "flown_jobs.csv",
        };
        self.logs.log(kind).and_then(LogDocument::path).map_or_else(|| usual.to_owned(), files::short_name)
    }

    pub(super) fn save_log(&mut self, kind: LogKind, ctx: &Context) {
        match self.logs.log(kind).and_then(LogDocument::path).map(Path::to_owned) {
            Some(path) => self.save_log_to(kind, path, Over::Known),
            None => self.pick(Purpose::SaveLog(kind), ctx),
        }
        self.go_on_after_saving(ctx);
    }

    pub(super) fn save_log_to(&mut self, kind: LogKind, path: PathBuf, over: Over) {
        let Some(own) = self.logs.log(kind) else { return };
        let known = own.stamp().filter(|_| over == Over::Known);
        let sheet = Arc::clone(own.sheet());
        let key = LogSaved { path: path.clone(), sheet: Same::of(&sheet) };
        self.jobs.request(key, move |_| {
            long::begins("writing a log");
            save_log(&path, &sheet, known.as_ref())
        });
        self.hear_files();
    }

    pub(super) fn is_saving_log(&self) -> bool {
        self.jobs.is_open(|_: &LogSaved| true)
    }

    /// Takes in what is planned for a row, and whether a log was saved.
    pub(super) fn hear_logs(&mut self) {
        for (row, answer) in self.jobs.take::<PlannedRow>() {
            self.hear_planned(row.log, given(answer));
        }
        for (LogSaved { path, sheet }, answer) in self.jobs.take::<LogSaved>() {
            let kind = sheet.0.kind;
            match answer {
                Ok(Ok(stamp)) => {
                    self.remember(&path);
                    if let Some(own) = self.logs.log_mut(kind) {
                        own.mark_saved(path, sheet.0, stamp);
                    }
                    self.claim_log_file(kind);
                }
                Ok(Err(error)) if error.kind == FileErrorKind::Changed => {
                    let (purpose, told) = (Purpose::SaveLog(kind), error.to_string());
                    self.dialog = Some(Dialog::Changed { purpose, path, told });
                }
                Ok(Err(why)) => self.ask_again(Refusal::new(NOT_SAVED, &why)),
                Err(why) => self.ask_again(Refusal::new(NOT_SAVED, &why)),
            }
        }
    }
}
