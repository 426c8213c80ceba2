//! The portfolio that is open: how it is opened, edited and saved.

use super::App;
use super::file_work::Over;
use crate::dialogs::{Dialog, Purpose, Refusal, Then, UnsavedOf};
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::long;
use crate::purchase::{PortfolioDocument, PortfolioEdit, PortfolioPlace};
use crate::screen::Screen;
use egui::Context;
use obliquity_exchange::{
    FileError, FileErrorKind, FileStamp, Output, OutputKind, PortfolioRead, Replace, purchase_xlsx,
    save_portfolio,
};
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
        self.side.screen == Screen::PURCHASE && self.purchase.document.is_some()
    }

    pub(super) fn is_portfolio_changed(&self) -> bool {
        self.portfolio().is_some_and(PortfolioDocument::is_changed)
    }

    /// The name of what is shown, and whether it differs from its file.
    pub(super) fn title_shown(&self) -> (String, bool) {
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => (own.title(), own.is_changed()),
            None => (self.document.title(), self.document.is_changed()),
        }
    }

    /// What undo would take back.
    pub(super) fn undo_label(&self) -> Option<&str> {
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => own.undo_label(),
            None => self.document.undo_label(),
        }
    }

    /// What redo would bring back.
    pub(super) fn redo_label(&self) -> Option<&str> {
        match self.portfolio().filter(|_| self.is_on_portfolio()) {
            Some(own) => own.redo_label(),
            None => self.document.redo_label(),
        }
    }

    /// What saving under another name saves.
    pub(super) fn saved_as(&self) -> Purpose {
        if self.is_on_portfolio() { Purpose::SavePortfolio } else { Purpose::SaveAs }
    }

    pub(super) fn turn_portfolio(&mut self, turn: impl FnOnce(&mut PortfolioDocument)) {
        if let Some(own) = &mut self.purchase.document {
            turn(own);
        }
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
            PortfolioPlace::File(_) => Vec::new(),
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
