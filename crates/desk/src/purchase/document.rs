//! A portfolio that is being worked on. It changes only through [`PortfolioEdit`]s.

use super::input::{JobPart, PortfolioInput};
use crate::files;
use crate::history::History;
use obliquity_exchange::{FileStamp, PortfolioRead};
use obliquity_planning::Scenario;
use obliquity_planning::money::{FreedHours, JobSettings, Portfolio};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where a portfolio is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PortfolioPlace {
    /// A file.
    File(PathBuf),
    /// The example that is built in.
    Example,
}

/// A change of a portfolio.
#[derive(Debug, Clone, PartialEq)]
pub enum PortfolioEdit {
    /// Sets a number.
    Set(PortfolioInput, f64),
    /// Says what hours are worth that a fleet saves.
    Freed(FreedHours),
    /// Says how long somebody sits at the workstation for a kind of job; absent, as long as processing asks for.
    Attended(usize, Option<f64>),
    /// Says at which settings each aircraft flies a job.
    Settings(JobSettings),
    /// Takes the scenarios as they are now: what their files hold is noted.
    Accept,
}

/// Edits of one key in one gesture make one step.
#[derive(Debug, Clone, Copy, PartialEq)]
enum PortfolioGesture {
    Set(PortfolioInput),
}

impl PortfolioEdit {
    fn label(&self, portfolio: &Portfolio) -> String {
        match self {
            PortfolioEdit::Set(input, _) => input.whole_name(portfolio),
            PortfolioEdit::Freed(_) => "hours saved".to_owned(),
            PortfolioEdit::Attended(job, _) => {
                PortfolioInput::Job(*job, JobPart::Attended).whole_name(portfolio)
            }
            PortfolioEdit::Settings(_) => "settings of flights".to_owned(),
            PortfolioEdit::Accept => "accept scenarios".to_owned(),
        }
    }

    fn gesture(&self) -> Option<PortfolioGesture> {
        match self {
            PortfolioEdit::Set(input, _) => Some(PortfolioGesture::Set(*input)),
            _ => None,
        }
    }
}

/// A portfolio that is being worked on, with the scenarios of its jobs.
#[derive(Debug, Clone)]
pub struct PortfolioDocument {
    state: Arc<Portfolio>,
    saved: Arc<Portfolio>,
    scenarios: Arc<Vec<Scenario>>,
    /// What the scenarios' files hold.
    held: Vec<String>,
    place: PortfolioPlace,
    stamp: Option<FileStamp>,
    history: History<Arc<Portfolio>, PortfolioGesture>,
}

impl PortfolioDocument {
    /// As it was read. Of a scenario that was never looked at before, what it holds is noted at once.
    pub fn new(read: PortfolioRead, place: PortfolioPlace) -> Self {
        let PortfolioRead { mut portfolio, scenarios, held, stamp, notes: _ } = read;
        for (job, held) in portfolio.jobs.iter_mut().zip(&held) {
            job.held.get_or_insert_with(|| held.clone());
        }
        let state = Arc::new(portfolio);
        PortfolioDocument {
            saved: Arc::clone(&state),
            state,
            scenarios: Arc::new(scenarios),
            held,
            place,
            stamp,
            history: History::after(0),
        }
    }

    /// One whose work was not saved before a sudden end: it differs from its file by so many edits.
    pub fn recovered(read: PortfolioRead, place: PortfolioPlace, edits: u32) -> Self {
        let document = PortfolioDocument::new(read, place);
        let saved = Arc::new((*document.state).clone());
        PortfolioDocument { saved, history: History::after(edits), ..document }
    }

    /// The same, of a file that held this.
    #[must_use]
    pub fn with_stamp(mut self, stamp: Option<FileStamp>) -> Self {
        self.stamp = stamp;
        self
    }

    /// The portfolio as it stands.
    pub fn portfolio(&self) -> &Arc<Portfolio> {
        &self.state
    }

    /// The scenario of each kind of job.
    pub fn scenarios(&self) -> &Arc<Vec<Scenario>> {
        &self.scenarios
    }

    /// Where it is from.
    pub fn place(&self) -> &PortfolioPlace {
        &self.place
    }

    /// Its file, where it has one.
    pub fn path(&self) -> Option<&Path> {
        match &self.place {
            PortfolioPlace::File(path) => Some(path),
            PortfolioPlace::Example => None,
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

    /// The file's name, or the portfolio's where there is no file.
    pub fn title(&self) -> String {
        self.path().map_or_else(|| self.state.name.clone(), files::short_name)
    }

    /// The kinds of job whose scenarios hold something else than when the portfolio was last looked at.
    pub fn changed_jobs(&self) -> Vec<usize> {
        let jobs = self.state.jobs.iter().zip(&self.held).enumerate();
        jobs.filter(|(_, (job, held))| job.held.as_ref() != Some(held)).map(|(at, _)| at).collect()
    }

    /// Makes an edit. Edits of the same number until [`PortfolioDocument::end_gesture`] are undone together.
    ///
    /// # Errors
    /// What would be wrong with the portfolio then, for people; it is left as it was.
    pub fn edit(&mut self, edit: &PortfolioEdit) -> Result<(), String> {
        let mut next = (*self.state).clone();
        match edit {
            PortfolioEdit::Set(input, value) => input.set(&mut next, *value),
            PortfolioEdit::Freed(freed) => next.firm.freed = *freed,
            PortfolioEdit::Attended(job, hours) => {
                if let Some(job) = next.jobs.get_mut(*job) {
                    job.money.attended_h = *hours;
                }
            }
            PortfolioEdit::Settings(settings) => next.settings = *settings,
            PortfolioEdit::Accept => {
                for (job, held) in next.jobs.iter_mut().zip(&self.held) {
                    job.held = Some(held.clone());
                }
            }
        }
        if next == *self.state {
            return Ok(());
        }
        if let Some(fault) = next.faults().into_iter().next() {
            return Err(fault.message);
        }
        let before = std::mem::replace(&mut self.state, Arc::new(next));
        self.history.note(before, edit.gesture(), |before| edit.label(before));
        Ok(())
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

    /// As it is written into a file at `path`: its scenarios as they are seen from there.
    pub fn written_to(&self, path: &Path) -> Portfolio {
        let mut portfolio = (*self.state).clone();
        let own = self.path().map(folder_of).filter(|own| *own != folder_of(path));
        if let Some(own) = own {
            for job in &mut portfolio.jobs {
                let whole = own.join(&job.scenario);
                let seen = whole.strip_prefix(folder_of(path)).unwrap_or(&whole);
                job.scenario = seen.display().to_string();
            }
        }
        portfolio
    }

    /// Notes that the file at `path` now holds `written`, which stands for `portfolio`; that need not be the present one any more.
    pub fn mark_saved(
        &mut self,
        path: PathBuf,
        portfolio: &Arc<Portfolio>,
        written: Arc<Portfolio>,
        stamp: Option<FileStamp>,
    ) {
        self.place = PortfolioPlace::File(path);
        self.stamp = stamp;
        self.history.saved(u32::from(!Arc::ptr_eq(&self.state, portfolio)));
        for state in self.history.states_mut().chain([&mut self.state]) {
            if Arc::ptr_eq(state, portfolio) {
                *state = Arc::clone(&written);
            } else {
                let own = Arc::make_mut(state).jobs.iter_mut();
                own.zip(&written.jobs).for_each(|(own, job)| own.scenario.clone_from(&job.scenario));
            }
        }
        self.saved = written;
    }
}

/// The folder that a file lies in, as it is wherever the program was started.
fn folder_of(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    whole.parent().map_or_else(PathBuf::new, Path::to_owned)
}
