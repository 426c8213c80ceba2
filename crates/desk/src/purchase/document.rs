//! A portfolio that is being worked on. It changes only through [`PortfolioEdit`]s.

use super::input::{JobPart, PortfolioInput};
use super::making::Making;
use crate::files;
use crate::history::History;
use obliquity_exchange::{FileStamp, PortfolioRead};
use obliquity_planning::Scenario;
use obliquity_planning::money::{FreedHours, JobSettings, Portfolio};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where a portfolio is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PortfolioPlace {
    /// A file.
    File(PathBuf),
    /// The example that is built in.
    Example,
    /// It was begun here.
    New,
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
    /// Changes what is listed.
    Make(Making),
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
            PortfolioEdit::Make(making) => making.label(portfolio),
        }
    }

    fn gesture(&self) -> Option<PortfolioGesture> {
        match self {
            PortfolioEdit::Set(input, _) => Some(PortfolioGesture::Set(*input)),
            _ => None,
        }
    }
}

/// The scenario of a kind of job, and what its file holds.
#[derive(Debug, Clone)]
struct JobScenario {
    scenario: Scenario,
    held: String,
}

/// A portfolio that is being worked on, with the scenarios of its jobs.
#[derive(Debug, Clone)]
pub struct PortfolioDocument {
    state: Arc<Portfolio>,
    saved: Arc<Portfolio>,
    /// All that jobs have been of since it was opened, by the names that jobs have for them.
    read: BTreeMap<String, JobScenario>,
    /// Those of the jobs as they stand.
    scenarios: Arc<Vec<Scenario>>,
    /// The names of those.
    named: Vec<String>,
    place: PortfolioPlace,
    stamp: Option<FileStamp>,
    history: History<Arc<Portfolio>, PortfolioGesture>,
}

impl PortfolioDocument {
    /// As it was read. Of a scenario that was never looked at before, what it holds is noted at once.
    pub fn new(read: PortfolioRead, place: PortfolioPlace) -> Self {
        let PortfolioRead { mut portfolio, scenarios, held, stamp, notes: _ } = read;
        let mut known = BTreeMap::new();
        for ((job, held), scenario) in portfolio.jobs.iter_mut().zip(held).zip(scenarios) {
            job.held.get_or_insert_with(|| held.clone());
            known.insert(job.scenario.clone(), JobScenario { scenario, held });
        }
        PortfolioDocument { stamp, ..PortfolioDocument::of(portfolio, known, place) }
    }

    /// One that is begun here.
    pub fn begun(portfolio: Portfolio) -> Self {
        PortfolioDocument::of(portfolio, BTreeMap::new(), PortfolioPlace::New)
    }

    fn of(portfolio: Portfolio, read: BTreeMap<String, JobScenario>, place: PortfolioPlace) -> Self {
        let state = Arc::new(portfolio);
        let mut document = PortfolioDocument {
            saved: Arc::clone(&state),
            state,
            read,
            scenarios: Arc::default(),
            named: Vec::new(),
            place,
            stamp: None,
            history: History::after(0),
        };
        document.gather();
        document
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

    /// Has the scenarios of the jobs as they stand at hand; they stay the same ones while no other job is listed.
    fn gather(&mut self) {
        let named: Vec<String> = self.state.jobs.iter().map(|job| job.scenario.clone()).collect();
        if named != self.named {
            let known = named.iter().filter_map(|name| self.read.get(name));
            self.scenarios = Arc::new(known.map(|own| own.scenario.clone()).collect());
            self.named = named;
        }
    }

    /// The portfolio as it stands.
    pub fn portfolio(&self) -> &Arc<Portfolio> {
        &self.state
    }

    /// The scenario of each kind of job.
    pub fn scenarios(&self) -> &Arc<Vec<Scenario>> {
        &self.scenarios
    }

    /// Takes in what a scenario's file holds, for jobs that name it so.
    pub fn note_scenario(&mut self, name: String, scenario: Scenario, held: String) {
        self.read.insert(name, JobScenario { scenario, held });
        self.named.clear();
        self.gather();
    }

    /// What a file is called by jobs: by its way from the portfolio's folder where it lies below that.
    pub fn name_of(&self, path: &Path) -> String {
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let folder = self.path().map(folder_of);
        let below = folder.and_then(|folder| whole.strip_prefix(folder).ok().map(Path::to_owned));
        below.unwrap_or(whole).display().to_string()
    }

    /// Where it is from.
    pub fn place(&self) -> &PortfolioPlace {
        &self.place
    }

    /// Its file, where it has one.
    pub fn path(&self) -> Option<&Path> {
        match &self.place {
            PortfolioPlace::File(path) => Some(path),
            PortfolioPlace::Example | PortfolioPlace::New => None,
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
        let differs = |(at, job): (usize, &obliquity_planning::money::PortfolioJob)| {
            let read = self.read.get(&job.scenario)?;
            (job.held.as_ref() != Some(&read.held)).then_some(at)
        };
        self.state.jobs.iter().enumerate().filter_map(differs).collect()
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
                for job in &mut next.jobs {
                    job.held = self.read.get(&job.scenario).map(|own| own.held.clone());
                }
            }
            PortfolioEdit::Make(making) => {
                making.apply(&mut next);
                // what is chosen anew is as it is now
                if let Making::JobScenario(job, _) = making
                    && let Some(job) = next.jobs.get_mut(*job)
                {
                    job.held = self.read.get(&job.scenario).map(|own| own.held.clone());
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
        self.gather();
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
        self.gather();
    }

    /// Brings the last step back that was undone; does nothing at the end of the history.
    pub fn redo(&mut self) {
        self.history.redo(&mut self.state);
        self.gather();
    }

    /// What a file beside a portfolio at `path` is called there.
    fn called_from(&self, path: &Path, scenario: &str) -> String {
        let whole = match self.path().map(folder_of) {
            Some(own) => own.join(scenario),
            None => PathBuf::from(scenario),
        };
        whole.strip_prefix(folder_of(path)).unwrap_or(&whole).display().to_string()
    }

    /// As it is written into a file at `path`: its scenarios as they are seen from there.
    pub fn written_to(&self, path: &Path) -> Portfolio {
        let mut portfolio = (*self.state).clone();
        for job in &mut portfolio.jobs {
            job.scenario = self.called_from(path, &job.scenario);
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
        let read = std::mem::take(&mut self.read).into_iter();
        self.read = read.map(|(name, own)| (self.called_from(&path, &name), own)).collect();
        let names: BTreeMap<String, String> = {
            let states = self.history.states_mut().map(|state| Arc::clone(state)).collect::<Vec<_>>();
            let jobs = states.iter().chain([&self.state]).flat_map(|state| &state.jobs);
            jobs.map(|job| (job.scenario.clone(), self.called_from(&path, &job.scenario))).collect()
        };
        self.history.saved(u32::from(!Arc::ptr_eq(&self.state, portfolio)));
        for state in self.history.states_mut().chain([&mut self.state]) {
            if Arc::ptr_eq(state, portfolio) {
                *state = Arc::clone(&written);
            } else if state.jobs.iter().any(|job| names.get(&job.scenario) != Some(&job.scenario)) {
                for job in &mut Arc::make_mut(state).jobs {
                    if let Some(name) = names.get(&job.scenario) {
                        job.scenario.clone_from(name);
                    }
                }
            }
        }
        self.place = PortfolioPlace::File(path);
        self.stamp = stamp;
        self.saved = written;
        self.gather();
    }
}

/// The folder that a file lies in, as it is wherever the program was started.
fn folder_of(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    whole.parent().map_or_else(PathBuf::new, Path::to_owned)
}
