//! The portfolio that is open: how it is opened, edited and saved.

use super::App;
use super::file_work::Over;
use super::requests::whole;
use crate::dialogs::{Dialog, Purpose, Refusal, Then, UnsavedOf};
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::logs::LogDocument;
use crate::long;
use crate::purchase::{
    Making, PortfolioDocument, PortfolioEdit, PortfolioPlace, PurchasePanel, ShownRight, empty_portfolio,
    job_on,
};
use crate::screen::Screen;
use egui::Context;
use obliquity_exchange::{
    FileError, FileErrorKind, FileStamp, Output, OutputKind, PortfolioRead, Replace, purchase_xlsx,
    save_portfolio,
};
use obliquity_planning::Scenario;
use obliquity_planning::money::Portfolio;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A portfolio on its way to a file.
#[derive(Debug, Clone, PartialEq)]
struct PortfolioSaved {
    path: PathBuf,
    /// As it stood in the window; in the file its scenarios may be named otherwise.
    portfolio: Same<Portfolio>,
    written: Same<Portfolio>,
}

impl Key for PortfolioSaved {
    type Reply = Result<FileStamp, FileError>;
    const LANE: Lane = Lane::Writing;
}

/// The scenario of a kind of job, or of one more.
#[derive(Debug, Clone, PartialEq)]
struct JobScenarioFile {
    path: PathBuf,
    job: Option<usize>,
    /// For which portfolio, as it stood: places of jobs are its own.
    portfolio: Same<Portfolio>,
}

impl Key for JobScenarioFile {
    type Reply = Result<(Scenario, String), FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading the job's scenario")
    }
}

const NOT_SAVED: &str = "The portfolio was not saved";

impl App {
    /// The same window with a portfolio open, which is shown.
    #[must_use]
    pub fn with_portfolio(mut self, portfolio: PortfolioDocument) -> Self {
        self.put_portfolio(portfolio);
        self
    }

    /// The portfolio that is open.
    pub fn portfolio(&self) -> Option<&PortfolioDocument> {
        self.purchase.document.as_ref()
    }

    /// Whether menus and keys are about the portfolio.
    pub(super) fn is_on_portfolio(&self) -> bool {
        self.side.screen == Screen::PURCHASE && self.purchase.document.is_some() && !self.is_shut()
    }

    pub(super) fn is_portfolio_changed(&self) -> bool {
        self.portfolio().is_some_and(PortfolioDocument::is_changed)
    }

    /// The name of what is shown, and whether it differs from its file.
    pub(super) fn title_shown(&self) -> (String, bool) {
        if let Some(own) =
            self.lesson().filter(|_| self.is_on_lesson() || self.is_on_lesson_steps() || self.is_shut())
        {
            return (own.title(), self.is_lesson_unsaved());
        }
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => (own.title(), own.is_changed()),
            None => match self.log_in_hand().and_then(|kind| self.logs.log(kind)) {
                Some(log) => (log.title(), log.is_changed()),
                None => (self.document.title(), self.document.is_changed()),
            },
        }
    }

    /// What undo would take back.
    pub(super) fn undo_label(&self) -> Option<&str> {
        if self.is_on_lesson() || self.is_shut() {
            return None;
        }
        if self.is_on_lesson_steps() {
            return self.lesson()?.undo_label();
        }
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => own.undo_label(),
            None => self.log_to_turn().map_or(self.document.undo_label(), LogDocument::undo_label),
        }
    }

    /// What redo would bring back.
    pub(super) fn redo_label(&self) -> Option<&str> {
        if self.is_on_lesson() || self.is_shut() {
            return None;
        }
        if self.is_on_lesson_steps() {
            return self.lesson()?.redo_label();
        }
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => own.redo_label(),
            None => self.log_to_turn().map_or(self.document.redo_label(), LogDocument::redo_label),
        }
    }

    /// What saving under another name saves.
    pub(super) fn saved_as(&self) -> Purpose {
        match self.log_in_hand() {
            Some(kind) => Purpose::SaveLog(kind),
            None if self.is_on_lesson() => Purpose::SaveAnswers,
            None if self.is_on_lesson_steps() => Purpose::SaveLesson,
            None if self.is_on_portfolio() => Purpose::SavePortfolio,
            None => Purpose::SaveAs,
        }
    }

    pub(super) fn turn_portfolio(&mut self, turn: impl FnOnce(&mut PortfolioDocument)) {
        if let Some(own) = &mut self.purchase.document {
            turn(own);
        }
    }

    /// Makes an edit of the portfolio that is open; tells why where it cannot be made.
    pub fn make_in_portfolio(&mut self, edit: &PortfolioEdit) {
        self.edit_portfolio(edit);
    }

    pub(super) fn edit_portfolio(&mut self, edit: &PortfolioEdit) {
        let Some(own) = &mut self.purchase.document else { return };
        if let Err(why) = own.edit(edit) {
            self.tell("The change was not made", &why);
        }
    }

    pub(super) fn put_portfolio(&mut self, portfolio: PortfolioDocument) {
        if let Some(path) = portfolio.path().map(Path::to_owned) {
            self.remember(&path);
        }
        self.forget_purchase();
        self.purchase.document = Some(portfolio);
        self.claim_portfolio_file();
        self.turn_to(Screen::PURCHASE);
    }

    pub(super) fn open_example_portfolio(&mut self) {
        match files::example_portfolio() {
            Ok(read) => self.put_portfolio(PortfolioDocument::new(read, PortfolioPlace::Example)),
            Err(error) => self.tell("No example", &error.to_string()),
        }
    }

    /// Begins a portfolio in which nothing is listed, with wages and rates of the scenario that is open.
    pub(super) fn begin_portfolio(&mut self) {
        let portfolio = empty_portfolio(&self.document.scenario().job);
        self.put_portfolio(PortfolioDocument::begun(portfolio));
        self.show_of_purchase(PurchasePanel::Make, ShownRight::Diagrams);
    }

    /// The file of the scenario that is open, by its name; or why it cannot be a job's.
    pub(super) fn open_scenario(&self) -> Result<String, String> {
        match self.document.path() {
            None => Err("The scenario on the board lies in no file yet; save it first".to_owned()),
            Some(_) if self.document.is_changed() => {
                Err("The scenario on the board is not saved as it stands; save it first".to_owned())
            }
            Some(path) => Ok(files::short_name(path)),
        }
    }

    pub(super) fn add_open_scenario(&mut self) {
        if let (Ok(_), Some(path)) = (self.open_scenario(), self.document.path().map(Path::to_owned)) {
            self.read_job_scenario(None, &path);
        }
    }

    /// Adds a kind of job to the portfolio, on the scenario of a file.
    pub fn add_job_of(&mut self, path: &Path) {
        self.read_job_scenario(None, path);
    }

    /// Reads a scenario for a kind of job, or for one more.
    pub(super) fn read_job_scenario(&mut self, job: Option<usize>, path: &Path) {
        let Some(own) = self.portfolio() else { return };
        let key = JobScenarioFile { path: path.to_owned(), job, portfolio: Same::of(own.portfolio()) };
        let path = path.to_owned();
        self.jobs.request(key, move |_| {
            long::begins("reading a job's scenario");
            obliquity_exchange::read_job_scenario(&path)
        });
        self.hear_files();
    }

    pub(super) fn is_reading_job(&self) -> bool {
        self.jobs.is_open(|_: &JobScenarioFile| true)
    }

    /// Takes in the scenario of a kind of job that was read.
    fn take_job_scenario(&mut self, key: &JobScenarioFile, scenario: Scenario, held: String) {
        let Some(own) = &mut self.purchase.document else { return };
        let name = own.name_of(&key.path);
        let making = match key.job {
            Some(job) if key.portfolio.is(own.portfolio()) => Making::JobScenario(job, name.clone()),
            // jobs may stand elsewhere by now
            Some(_) => return,
            None => {
                let job = job_on(&scenario.name, name.clone(), held.clone(), &scenario.job);
                Making::AddJob(Box::new(job))
            }
        };
        own.note_scenario(name, scenario, held);
        self.edit_portfolio(&PortfolioEdit::Make(making));
    }

    /// Puts a portfolio that was read in place of the one that is open; asks first where that was changed and nobody has agreed.
    pub(super) fn take_portfolio(
        &mut self,
        path: &Path,
        read: PortfolioRead,
        agreed: Option<&Same<Portfolio>>,
    ) {
        let may_go = self
            .portfolio()
            .is_none_or(|own| !own.is_changed() || agreed.is_some_and(|agreed| agreed.is(own.portfolio())));
        if may_go {
            let place = PortfolioPlace::File(path.to_owned());
            self.put_portfolio(PortfolioDocument::new(read, place));
        } else {
            let (of, then) = (UnsavedOf::Portfolio, Then::OpenPortfolio(path.to_owned()));
            self.dialog = Some(Dialog::Unsaved { of, then });
        }
    }

    /// A name for its file, or for that of its workbook.
    pub(super) fn portfolio_file_name(&self, purpose: Purpose) -> String {
        let named = |own: &PortfolioDocument| match own.path() {
            Some(path) => files::short_name(path),
            None => format!("{}.ron", own.portfolio().name.to_lowercase().replace(' ', "_")),
        };
        let name = self.portfolio().map_or_else(String::new, named);
        if purpose == Purpose::Workbook {
            return Path::new(&name).with_extension("xlsx").display().to_string();
        }
        name
    }

    /// Writes the whole case as a workbook into a new file.
    ///
    /// # Errors
    /// Why it cannot be written yet, for people.
    pub fn save_workbook_to(&mut self, path: &Path) -> Result<(), String> {
        self.save_workbook(path, Replace::Nothing).map_err(|refusal| refusal.text)
    }

    /// Writes the whole case as a workbook.
    pub(super) fn save_workbook(&mut self, path: &Path, replace: Replace) -> Result<(), Refusal> {
        const NOT_WRITTEN: &str = "The workbook was not saved";
        let Some(figures) = self.purchase_figures().map(Arc::clone) else {
            return Err(Refusal::new(NOT_WRITTEN, &"Its figures are still being worked out; save it then."));
        };
        let input = self.portfolio().and_then(PortfolioDocument::path).map(Path::to_owned);
        let path = path.to_owned();
        self.put_out(NOT_WRITTEN, path.clone(), move || {
            let bytes = purchase_xlsx(&figures.portfolio, &figures.purchase)?;
            let inputs: Vec<&Path> = input.as_deref().into_iter().collect();
            let out = Output { path: &path, kind: OutputKind::WORKBOOK, replace, inputs: &inputs };
            files::write(&out, &bytes).map_err(|error| error.to_string())
        });
        Ok(())
    }

    pub(super) fn save_portfolio(&mut self, ctx: &Context) {
        match self.portfolio().and_then(PortfolioDocument::path).map(Path::to_owned) {
            Some(path) => self.save_portfolio_to(path, Over::Known),
            None => self.pick(Purpose::SavePortfolio, ctx),
        }
        self.go_on_after_saving(ctx);
    }

    pub(super) fn save_portfolio_to(&mut self, path: PathBuf, over: Over) {
        let Some(own) = self.portfolio() else { return };
        let known = own.stamp().filter(|_| over == Over::Known);
        let portfolio = Arc::clone(own.portfolio());
        let written = Arc::new(own.written_to(&path));
        let beside: Vec<(PathBuf, &'static str)> = match own.place() {
            PortfolioPlace::File(_) | PortfolioPlace::New => Vec::new(),
            PortfolioPlace::Example => {
                let folder = path.parent().unwrap_or(Path::new("")).to_owned();
                files::FIRM_SCENARIOS.iter().map(|(name, text)| (folder.join(name), *text)).collect()
            }
        };
        let key = PortfolioSaved {
            path: path.clone(),
            portfolio: Same::of(&portfolio),
            written: Same::of(&written),
        };
        self.jobs.request(key, move |_| {
            long::begins("writing a portfolio");
            for (path, text) in &beside {
                files::write_beside(path, text)?;
            }
            save_portfolio(&path, &written, known.as_ref())
        });
        self.hear_files();
    }

    pub(super) fn is_saving_portfolio(&self) -> bool {
        self.jobs.is_open(|_: &PortfolioSaved| true)
    }

    /// Takes in whether it was saved.
    pub(super) fn hear_portfolio(&mut self) {
        for (key, answer) in self.jobs.take::<JobScenarioFile>() {
            match whole(answer) {
                Ok((scenario, held)) => self.take_job_scenario(&key, scenario, held),
                Err(why) => self.ask_again(Refusal::new("The job's scenario was not read", &why)),
            }
        }
        for (PortfolioSaved { path, portfolio, written }, answer) in self.jobs.take::<PortfolioSaved>() {
            match answer {
                Ok(Ok(stamp)) => {
                    self.remember(&path);
                    if let Some(own) = &mut self.purchase.document {
                        own.mark_saved(path, &portfolio.0, written.0, Some(stamp));
                    }
                    self.claim_portfolio_file();
                }
                Ok(Err(error)) if error.kind == FileErrorKind::Changed => {
                    let (purpose, told) = (Purpose::SavePortfolio, error.to_string());
                    self.dialog = Some(Dialog::Changed { purpose, path, told });
                }
                Ok(Err(why)) => self.ask_again(Refusal::new(NOT_SAVED, &why)),
                Err(why) => self.ask_again(Refusal::new(NOT_SAVED, &why)),
            }
        }
    }
}
