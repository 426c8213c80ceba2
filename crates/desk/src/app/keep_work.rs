//! What the window keeps of unsaved work against a sudden end, what it offers after one, and who else has its file open.

use super::App;
use super::requests::whole;
use super::screens::log_slot;
use crate::clock;
use crate::dialogs::{Refusal, Then, UnsavedOf};
use crate::document::Document;
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::keeping::{Keeping, KeepingStep, KeptShelf, LockAnswer};
use crate::logs::LogDocument;
use crate::long;
use crate::purchase::{PortfolioDocument, PortfolioPlace};
use crate::recovering::{RecoverAnswer, RecoverQuestion};
use egui::Context;
use obliquity_exchange::{
    FileError, Leftover, LockHolder, LogKind, LogSheet, PortfolioRead, UnsavedKind, UnsavedNote, UnsavedWork,
    read_unsaved, remove_unsaved, unsaved_left,
};
use obliquity_planning::Scenario;
use obliquity_planning::lesson::{Lesson, LessonRun};
use obliquity_planning::money::{Portfolio, PortfolioJob};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// A scenario as it stands, on its way to where unsaved work is kept.
#[derive(Debug, Clone, PartialEq)]
struct UnsavedKept {
    scenario: Same<Scenario>,
}

impl Key for UnsavedKept {
    type Reply = Result<(), FileError>;
    const LANE: Lane = Lane::Writing;
}

/// The same of a portfolio.
#[derive(Debug, Clone, PartialEq)]
struct PortfolioKept {
    portfolio: Same<Portfolio>,
}

impl Key for PortfolioKept {
    type Reply = Result<(), FileError>;
    const LANE: Lane = Lane::Writing;
}

/// The same of a log.
#[derive(Debug, Clone, PartialEq)]
struct LogKept {
    sheet: Same<LogSheet>,
}

impl Key for LogKept {
    type Reply = Result<(), FileError>;
    const LANE: Lane = Lane::Writing;
}

/// What was kept on its way out; no two are the same.
#[derive(Debug, Clone, PartialEq)]
struct UnsavedCleared {
    number: u64,
}

impl Key for UnsavedCleared {
    type Reply = Result<(), FileError>;
    const LANE: Lane = Lane::Writing;
}

/// Whether one who looks for unsaved work is told that there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Looking {
    AtTheStart,
    Asked,
}

/// Unsaved work that earlier windows have left.
#[derive(Debug, Clone, PartialEq)]
struct UnsavedFound {
    why: Looking,
}

impl Key for UnsavedFound {
    type Reply = Vec<Leftover>;
    const LANE: Lane = Lane::Aside;
}

/// Work to go on with.
enum Recovered {
    Scenario(UnsavedNote, Box<Scenario>),
    Portfolio(UnsavedNote, Box<PortfolioRead>),
    Log(UnsavedNote, LogSheet),
    Lesson(UnsavedNote, Box<Lesson>, LessonRun),
}

/// One of them, to go on with.
#[derive(Debug, Clone, PartialEq)]
struct UnsavedRead {
    path: PathBuf,
}

impl Key for UnsavedRead {
    type Reply = Result<Recovered, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("recovering unsaved work")
    }
}

/// The lock of the document's file, of the portfolio's or of a log's.
#[derive(Debug, Clone, PartialEq)]
struct FileClaimed {
    of: UnsavedOf,
    path: Option<PathBuf>,
}

impl Key for FileClaimed {
    type Reply = std::io::Result<LockAnswer>;
    const LANE: Lane = Lane::Writing;
}

impl App {
    /// Looks for unsaved work that earlier windows have left.
    pub(super) fn look_for_unsaved(&mut self, why: Looking) {
        let Some(folder) = self.keeping.folder().map(Path::to_owned) else { return };
        self.jobs.request(UnsavedFound { why }, move |_| {
            long::begins("looking for unsaved work");
            unsaved_left(&folder)
        });
    }

    /// Takes the lock of the document's file, and says who else has it.
    pub(super) fn claim_file(&mut self) {
        let path = self.document.path().map(Path::to_owned);
        self.claim(UnsavedOf::Scenario, path, self.keeping.shelf());
    }

    /// The same of the portfolio's.
    pub(super) fn claim_portfolio_file(&mut self) {
        let path = self.portfolio().and_then(PortfolioDocument::path).map(Path::to_owned);
        self.claim(UnsavedOf::Portfolio, path, self.portfolio_keeping.shelf());
    }

    /// The same of a log's.
    pub(super) fn claim_log_file(&mut self, kind: LogKind) {
        let path = self.logs.log(kind).and_then(LogDocument::path).map(Path::to_owned);
        self.claim(UnsavedOf::Log(kind), path, self.log_keeping[log_slot(kind)].shelf());
    }

    fn claim(&mut self, of: UnsavedOf, path: Option<PathBuf>, shelf: KeptShelf) {
        let Some(folder) = self.keeping.folder().map(Path::to_owned) else { return };
        let (now, key) = (clock::now_unix_s(), FileClaimed { of, path: path.clone() });
        self.jobs.request(key, move |_| shelf.claim(&folder, path.as_deref(), now));
    }

    /// Keeps the document where it is not saved, and takes away what was kept where it is.
    pub(super) fn keep_unsaved(&mut self, ctx: &Context) {
        let now_s = ctx.input(|input| input.time);
        let scenario = self.document.is_changed().then(|| self.document.scenario());
        let step = self.keeping.follow(scenario, now_s);
        self.keep_step(&step, UnsavedOf::Scenario, ctx);
        let own = self.purchase.document.as_ref().filter(|own| own.is_changed());
        let step = self.portfolio_keeping.follow(own.map(PortfolioDocument::portfolio), now_s);
        self.keep_step(&step, UnsavedOf::Portfolio, ctx);
        for kind in LogKind::ALL {
            let own = self.logs.log(kind).filter(|own| own.is_changed());
            let step = self.log_keeping[log_slot(kind)].follow(own.map(LogDocument::sheet), now_s);
            self.keep_step(&step, UnsavedOf::Log(kind), ctx);
        }
        let kept = self.kept_lesson();
        let step = self.lesson_keeping.follow(kept.as_ref(), now_s);
        self.keep_step(&step, UnsavedOf::Lesson, ctx);
        self.hear_kept(ctx);
    }

    fn keep_step(&mut self, step: &KeepingStep, of: UnsavedOf, ctx: &Context) {
        match (step, of) {
            (KeepingStep::Nothing, _) => {}
            (KeepingStep::In(seconds), _) => ctx.request_repaint_after(Duration::from_secs_f64(*seconds)),
            (KeepingStep::Keep, UnsavedOf::Scenario) => self.request_kept(),
            (KeepingStep::Keep, UnsavedOf::Portfolio) => self.request_portfolio_kept(),
            (KeepingStep::Keep, UnsavedOf::Log(kind)) => self.request_log_kept(kind),
            (KeepingStep::Keep, UnsavedOf::Lesson) => self.request_lesson_kept(),
            (KeepingStep::Clear, _) => {
                self.writes += 1;
                let shelf = match of {
                    UnsavedOf::Scenario => self.keeping.shelf(),
                    UnsavedOf::Portfolio => self.portfolio_keeping.shelf(),
                    UnsavedOf::Log(kind) => self.log_keeping[log_slot(kind)].shelf(),
                    UnsavedOf::Lesson => self.lesson_keeping.shelf(),
                };
                self.jobs.request(UnsavedCleared { number: self.writes }, move |_| shelf.clear());
            }
        }
    }

    fn request_portfolio_kept(&mut self) {
        let Some(folder) = self.portfolio_keeping.folder().map(Path::to_owned) else { return };
        let Some(own) = self.portfolio() else { return };
        let note = UnsavedNote {
            kind: UnsavedKind::Portfolio,
            scenario: own.portfolio().name.clone(),
            file: own.path().map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned())),
            stamp: own.stamp(),
            at_unix_s: clock::now_unix_s(),
            edits: own.edits(),
        };
        let (portfolio, shelf) = (Arc::clone(own.portfolio()), self.portfolio_keeping.shelf());
        let key = PortfolioKept { portfolio: Same::of(&portfolio) };
        self.jobs.request(key, move |_| shelf.keep(&folder, &note, &*portfolio));
    }

    fn request_log_kept(&mut self, kind: LogKind) {
        let keeping = &self.log_keeping[log_slot(kind)];
        let Some(folder) = keeping.folder().map(Path::to_owned) else { return };
        let Some(own) = self.logs.log(kind) else { return };
        let note = UnsavedNote {
            kind: UnsavedKind::of_log(kind),
            scenario: own.title(),
            file: own.path().map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned())),
            stamp: own.stamp(),
            at_unix_s: clock::now_unix_s(),
            edits: own.edits(),
        };
        let (sheet, shelf) = (Arc::clone(own.sheet()), keeping.shelf());
        let key = LogKept { sheet: Same::of(&sheet) };
        self.jobs.request(key, move |_| shelf.keep(&folder, &note, &*sheet));
    }

    fn request_kept(&mut self) {
        let Some(folder) = self.keeping.folder().map(Path::to_owned) else { return };
        let (scenario, shelf) = (Arc::clone(self.document.scenario()), self.keeping.shelf());
        let note = UnsavedNote {
            kind: UnsavedKind::Scenario,
            scenario: scenario.name.clone(),
            file: self
                .document
                .path()
                .map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned())),
            stamp: self.document.stamp(),
            at_unix_s: clock::now_unix_s(),
            edits: self.document.edits(),
        };
        let key = UnsavedKept { scenario: Same::of(&scenario) };
        self.jobs.request(key, move |_| shelf.keep(&folder, &note, &*scenario));
    }

    /// Takes in what came of keeping and looking; asks about what was found once nothing else is asked.
    fn hear_kept(&mut self, ctx: &Context) {
        let now_s = ctx.input(|input| input.time);
        let scenarios = self.jobs.take::<UnsavedKept>().into_iter();
        let scenarios: Vec<_> =
            scenarios.map(|(_, answer)| self.keeping.note(whole(answer), now_s)).collect();
        let portfolios = self.jobs.take::<PortfolioKept>().into_iter();
        let portfolios = portfolios.map(|(_, answer)| self.portfolio_keeping.note(whole(answer), now_s));
        let portfolios: Vec<_> = portfolios.collect();
        let logs = self.jobs.take::<LogKept>().into_iter();
        let logs: Vec<_> = logs
            .map(|(key, answer)| self.log_keeping[log_slot(key.sheet.0.kind)].note(whole(answer), now_s))
            .collect();
        let lessons = self.hear_lesson_kept(now_s);
        for why in scenarios.into_iter().chain(portfolios).chain(logs).chain(lessons).flatten() {
            let text = format!(
                "If the program ended now, what you have changed would be lost. Save it.\n\n{why}\n\nIt is tried again \
                 every half minute."
            );
            self.tell("Unsaved work is not kept", &text);
        }
        // What could not be taken away is offered at the next start.
        let _ = self.jobs.take::<UnsavedCleared>();
        for (UnsavedFound { why }, answer) in self.jobs.take::<UnsavedFound>() {
            self.left = answer.unwrap_or_default();
            if self.left.is_empty() && why == Looking::Asked {
                self.tell("There is nothing to recover", "All work of earlier runs was saved or discarded.");
            }
        }
        for (UnsavedRead { path }, answer) in self.jobs.take::<UnsavedRead>() {
            match whole(answer) {
                Ok(Recovered::Scenario(note, scenario)) => self.take_recovered(path, note, *scenario),
                Ok(Recovered::Portfolio(note, read)) => self.take_recovered_portfolio(path, note, *read),
                Ok(Recovered::Log(note, sheet)) => self.take_recovered_log(path, note, sheet),
                Ok(Recovered::Lesson(note, lesson, run)) => {
                    self.take_recovered_lesson(path, note, *lesson, run);
                }
                Err(why) => self.refuse(&Refusal::new("The work was not recovered", &why)),
            }
        }
        for (FileClaimed { path, .. }, answer) in self.jobs.take::<FileClaimed>() {
            if let (Some(path), Ok(Ok(LockAnswer::Theirs(holder)))) = (path, answer) {
                self.tell_of_other(&path, holder.as_ref());
            }
        }
        if self.recovering.is_none() && self.dialog.is_none() && !self.left.is_empty() {
            let leftover = self.left.remove(0);
            self.recovering = Some(RecoverQuestion::new(leftover, self.left.len(), clock::now_unix_s()));
            ctx.request_repaint();
        }
    }

    fn take_recovered(&mut self, path: PathBuf, note: UnsavedNote, scenario: Scenario) {
        let document = Document::recovered(scenario, note.file, note.edits).with_stamp(note.stamp);
        self.replace_document(document);
        self.keeping.note_recovered(path);
    }

    fn take_recovered_portfolio(&mut self, path: PathBuf, note: UnsavedNote, read: PortfolioRead) {
        let is_example =
            |job: &PortfolioJob| files::FIRM_SCENARIOS.iter().any(|(name, _)| *name == job.scenario);
        let place = match note.file {
            Some(file) => PortfolioPlace::File(file),
            None if read.portfolio.jobs.iter().any(is_example) => PortfolioPlace::Example,
            None => PortfolioPlace::New,
        };
        let document = PortfolioDocument::recovered(read, place, note.edits).with_stamp(note.stamp);
        self.put_portfolio(document);
        self.portfolio_keeping.note_recovered(path);
    }

    fn take_recovered_log(&mut self, path: PathBuf, note: UnsavedNote, sheet: LogSheet) {
        let kind = sheet.kind;
        self.put_log(LogDocument::recovered(sheet, note.file, note.stamp, note.edits));
        self.log_keeping[log_slot(kind)].note_recovered(path);
    }

    fn tell_of_other(&mut self, path: &Path, holder: Option<&LockHolder>) {
        let who = holder.map_or_else(
            || "Another window has it open.".to_owned(),
            |holder| {
                let place = if holder.is_here() { "this computer" } else { holder.host.as_str() };
                let since = clock::moment_text(holder.since_unix_s, clock::now_unix_s());
                format!("Process {} on {place} has had it open since {since}.", holder.process)
            },
        );
        let text = format!(
            "{who} Close one of the two, or save this one under another name: only one of them can be the file in the end. \
             Saving asks before it replaces what the other has saved."
        );
        self.tell(&format!("{} is open in another window too", files::short_name(path)), &text);
    }

    /// Shows the question about unsaved work, and does what is answered.
    pub(super) fn ask_recovering(&mut self, ctx: &Context) {
        let Some(answer) = self.recovering.as_ref().and_then(|question| question.show(ctx)) else { return };
        self.recovering = None;
        match answer {
            RecoverAnswer::Recover(path, kind) => {
                // The others are asked for by the menu.
                self.left.clear();
                let of = match kind {
                    UnsavedKind::Scenario => UnsavedOf::Scenario,
                    UnsavedKind::Portfolio => UnsavedOf::Portfolio,
                    UnsavedKind::ProcessedLog => UnsavedOf::Log(LogKind::Processed),
                    UnsavedKind::FlownLog => UnsavedOf::Log(LogKind::Flown),
                    UnsavedKind::Lesson => UnsavedOf::Lesson,
                };
                self.unless_unsaved(Then::Recover(path, of), ctx);
            }
            RecoverAnswer::Later => self.left.clear(),
            RecoverAnswer::Discard(path) => {
                self.put_away("The unsaved work was not discarded", move || {
                    remove_unsaved(&path).map_err(|error| error.to_string())
                });
            }
        }
    }

    /// Goes on with unsaved work.
    pub(super) fn recover(&mut self, path: PathBuf) {
        self.jobs.request(UnsavedRead { path: path.clone() }, move |_| {
            long::begins("reading unsaved work");
            let (note, work) = read_unsaved(&path)?;
            Ok(match work {
                UnsavedWork::Scenario(scenario) => Recovered::Scenario(note, scenario),
                UnsavedWork::Lesson(lesson, run) => Recovered::Lesson(note, lesson, run),
                UnsavedWork::Portfolio(text) => {
                    let read = files::recovered_portfolio(&text, note.file.as_deref())?;
                    Recovered::Portfolio(note, Box::new(read))
                }
                UnsavedWork::Log(sheet) => Recovered::Log(note, sheet),
            })
        });
    }

    /// Takes away what is kept and lets go of the file: the window closes as it should.
    pub(super) fn close_kept(&mut self) {
        self.writes += 1;
        let logs = self.log_keeping.iter().map(Keeping::shelf);
        let shelves: Vec<KeptShelf> =
            [self.keeping.shelf(), self.portfolio_keeping.shelf(), self.lesson_keeping.shelf()]
                .into_iter()
                .chain(logs)
                .collect();
        self.jobs.request(UnsavedCleared { number: self.writes }, move |_| {
            shelves.iter().for_each(KeptShelf::close);
            Ok(())
        });
    }
}
