//! What the window reads from files and writes to them, beside itself.

use super::App;
use super::requests::whole;
use crate::dialogs::{Dialog, Picker, Purpose, Refusal, Then, UnsavedOf};
use crate::document::Document;
use crate::files::{self, Opened, OpenedFile};
use crate::jobs::{Answer, Key, Lane, Same};
use crate::lesson::LessonDocument;
use crate::logs::LogDocument;
use crate::new_site::NewSite;
use crate::passing::{Passing, PassingAsk};
use crate::purchase::PortfolioDocument;
use egui::Context;
use obliquity_exchange::{
    BoundaryChoice, FileError, FileErrorKind, FileStamp, LogKind, LogSheet, Output, RasterFrame, Replace,
    TerrainImport,
};
use obliquity_planning::money::Portfolio;
use obliquity_planning::{Id, PatternKind, Scenario, Site};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How a path came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Chosen {
    /// In the system's dialog, which asks before a file is replaced.
    BySystem,
    /// It was typed, dropped or among the recent ones.
    Typed,
}

/// A scenario, or a site's boundary to begin one on.
#[derive(Debug, Clone, PartialEq)]
struct ScenarioFile {
    path: PathBuf,
    /// What stood when it was asked for, and is to be replaced; nothing where nobody has agreed to that.
    before: Option<Same<Scenario>>,
    /// The same of the portfolio.
    portfolio_before: Option<Same<Portfolio>>,
    /// The same of a log.
    log_before: Option<Same<LogSheet>>,
    /// Whether the lesson may go, though it is not saved.
    lesson_goes: bool,
}

impl Key for ScenarioFile {
    type Reply = Result<OpenedFile, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("opening the file")
    }
}

/// Polygons of a file.
#[derive(Debug, Clone, PartialEq)]
struct BoundaryFile {
    path: PathBuf,
}

impl Key for BoundaryFile {
    type Reply = Result<Vec<BoundaryChoice>, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading the boundary")
    }
}

/// Heights of a file, cut to a site.
#[derive(Debug, Clone, PartialEq)]
struct TerrainFile {
    site: Same<Site>,
    path: PathBuf,
    frame: RasterFrame,
}

impl Key for TerrainFile {
    type Reply = Result<TerrainImport, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading terrain")
    }
}

/// Rows of a file, for the pattern of a pass.
#[derive(Debug, Clone, PartialEq)]
struct RowsFile {
    pass: Id,
    kind: PatternKind,
    path: PathBuf,
}

impl Key for RowsFile {
    type Reply = Result<Vec<Vec<f64>>, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading a table")
    }
}

/// A scenario on its way to a file.
#[derive(Debug, Clone, PartialEq)]
struct ScenarioSaved {
    path: PathBuf,
    scenario: Same<Scenario>,
}

impl Key for ScenarioSaved {
    type Reply = Result<FileStamp, FileError>;
    const LANE: Lane = Lane::Writing;
}

/// What a scenario may be written over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    /// What was read or last saved; what something else has written since is asked about.
    Known,
    /// Whatever is there: the user has said so.
    Whatever,
}

/// Something of the user's own on its way to a file: no two are the same.
#[derive(Debug, Clone, PartialEq)]
struct Written {
    number: u64,
    /// What to say where it fails.
    title: &'static str,
    /// The file that the user has asked for, which is told of once it is there.
    asked: Option<PathBuf>,
}

impl Key for Written {
    type Reply = Result<(), String>;
    const LANE: Lane = Lane::Writing;
}

impl App {
    pub(super) fn pick(&mut self, purpose: Purpose, ctx: &Context) {
        if self.picker.is_some() {
            return;
        }
        match Picker::open(purpose, self.suggested_name(purpose), ctx.clone()) {
            Ok(picker) => self.picker = Some(picker),
            Err(_) => self.ask_path(purpose, "The system gives no thread for its dialog; type the path."),
        }
    }

    fn suggested_name(&self, purpose: Purpose) -> String {
        if let Some(name) = self.card_file_name(purpose) {
            return name;
        }
        if let Purpose::Charts(how) = purpose {
            return self.charts_file_name(how);
        }
        if purpose == Purpose::Export {
            return self.export_folder_name();
        }
        if let Purpose::SaveLog(kind) = purpose {
            return self.log_file_name(kind);
        }
        if matches!(purpose, Purpose::SavePortfolio | Purpose::Workbook) {
            return self.portfolio_file_name(purpose);
        }
        if matches!(purpose, Purpose::SaveLesson | Purpose::SaveAnswers | Purpose::Handout) {
            return self.lesson_file_name(purpose);
        }
        let path = self.document.path().map(files::short_name);
        path.unwrap_or_else(|| {
            format!("{}.ron", self.document.scenario().name.to_lowercase().replace(' ', "_"))
        })
    }

    pub(super) fn ask_path(&mut self, purpose: Purpose, note: &str) {
        let text = match purpose {
            Purpose::SaveAs => {
                self.document.path().map_or_else(|| self.suggested_name(purpose), |p| p.display().to_string())
            }
            Purpose::SavePortfolio
            | Purpose::SaveLog(_)
            | Purpose::Workbook
            | Purpose::SaveLesson
            | Purpose::SaveAnswers
            | Purpose::Handout
            | Purpose::CardText
            | Purpose::CardPicture
            | Purpose::CardPdf
            | Purpose::Charts(_)
            | Purpose::Export => self.suggested_name(purpose),
            Purpose::Open
            | Purpose::JobScenario { .. }
            | Purpose::OpenLog
            | Purpose::ImportBoundary
            | Purpose::ImportTerrain
            | Purpose::ImportUnderlay
            | Purpose::ImportFootprints
            | Purpose::ImportRows { .. } => String::new(),
        };
        self.dialog = Some(Dialog::Path { purpose, text, note: note.to_owned() });
    }

    pub(super) fn take_path(&mut self, purpose: Purpose, path: &Path, chosen: Chosen) -> Result<(), Refusal> {
        match purpose {
            Purpose::Open => self.open_file(path.to_owned()),
            Purpose::JobScenario { job } => self.read_job_scenario(job, path),
            Purpose::OpenLog => self.open_in_place(path.to_owned(), &[]),
            Purpose::SaveAs
            | Purpose::SaveLog(_)
            | Purpose::SavePortfolio
            | Purpose::Workbook
            | Purpose::SaveLesson
            | Purpose::SaveAnswers
            | Purpose::Handout
            | Purpose::CardText
            | Purpose::CardPicture
            | Purpose::CardPdf
            | Purpose::Charts(_) => {
                return self.write(purpose, path, chosen);
            }
            Purpose::Export => return self.export_into(path),
            Purpose::ImportTerrain => self.import_terrain(path, RasterFrame::OfFile),
            Purpose::ImportUnderlay => self.import_underlay(path, RasterFrame::OfFile),
            Purpose::ImportFootprints => self.import_footprints(path),
            Purpose::ImportRows { pass } => self.import_rows(pass, path),
            Purpose::ImportBoundary => {
                let of_file = path.to_owned();
                self.jobs
                    .request(BoundaryFile { path: of_file.clone() }, move |_| files::boundaries(&of_file));
                self.hear_files();
            }
        }
        Ok(())
    }

    /// Reads the rows of a file, to put them in place of those of a pass.
    fn import_rows(&mut self, pass: Id, path: &Path) {
        let passes = self.document.scenario().strategies.iter().flat_map(|strategy| &strategy.passes);
        let kind = passes.into_iter().find(|known| known.id == pass).map(|known| known.pattern.kind());
        let table = kind.and_then(|kind| Some((kind, kind.about().table?)));
        let Some((kind, table)) = table else { return };
        self.jobs.cancel(|_: &RowsFile| true);
        let path = path.to_owned();
        self.jobs.request(RowsFile { pass, kind, path: path.clone() }, move |_| files::rows(&path, &table));
        self.hear_files();
    }

    fn open_file(&mut self, path: PathBuf) {
        self.open_in_place(path, &[UnsavedOf::Scenario]);
    }

    /// Opens a file; what is agreed may go though it is not saved, of anything else it is asked once it is known what the file is.
    pub(super) fn open_in_place(&mut self, path: PathBuf, agreed: &[UnsavedOf]) {
        self.jobs.cancel(|_: &ScenarioFile| true);
        let agreed = |of: UnsavedOf| agreed.contains(&of);
        let before = agreed(UnsavedOf::Scenario).then(|| Same::of(self.document.scenario()));
        let portfolio_before =
            self.portfolio().filter(|_| agreed(UnsavedOf::Portfolio)).map(|own| Same::of(own.portfolio()));
        let lesson_goes = agreed(UnsavedOf::Lesson);
        let log_before = LogKind::ALL
            .into_iter()
            .find(|kind| agreed(UnsavedOf::Log(*kind)))
            .and_then(|kind| self.logs.log(kind))
            .map(|own| Same::of(own.sheet()));
        let key = ScenarioFile { path: path.clone(), before, portfolio_before, log_before, lesson_goes };
        self.jobs.request(key, move |_| files::open(&path));
        self.hear_files();
    }

    /// Reads the heights of a file, to put them in place of the ground.
    pub(super) fn import_terrain(&mut self, path: &Path, frame: RasterFrame) {
        self.jobs.cancel(|_: &TerrainFile| true);
        let (scenario, path) = (Arc::clone(self.document.scenario()), path.to_owned());
        let key = TerrainFile { site: Same::of(&scenario.site), path: path.clone(), frame };
        self.jobs.request(key, move |_| files::terrain(&path, &scenario, frame));
        self.hear_files();
    }

    /// Has something written for the user, after all that is on its way to files.
    pub(super) fn put_away(
        &mut self,
        title: &'static str,
        work: impl FnOnce() -> Result<(), String> + Send + 'static,
    ) {
        self.written(title, None, work);
    }

    /// The same of a file that the user has asked for.
    pub(super) fn put_out(
        &mut self,
        title: &'static str,
        path: PathBuf,
        work: impl FnOnce() -> Result<(), String> + Send + 'static,
    ) {
        self.written(title, Some(path), work);
    }

    fn written(
        &mut self,
        title: &'static str,
        asked: Option<PathBuf>,
        work: impl FnOnce() -> Result<(), String> + Send + 'static,
    ) {
        self.writes += 1;
        self.jobs.request(Written { number: self.writes, title, asked }, move |_| work());
        self.hear_files();
    }

    /// Writes to a path, unless something is in its place that nobody has said may be replaced: then it asks, or says why
    /// not. The system's own dialog has asked already, but for a name that it was not shown whole.
    fn write(&mut self, purpose: Purpose, path: &Path, chosen: Chosen) -> Result<(), Refusal> {
        let whole = purpose.with_extension(path);
        let own = match purpose {
            Purpose::SaveAs => self.document.path(),
            Purpose::SavePortfolio => self.portfolio().and_then(PortfolioDocument::path),
            Purpose::SaveLog(kind) => self.logs.log(kind).and_then(LogDocument::path),
            Purpose::SaveLesson => self.lesson().and_then(LessonDocument::path),
            _ => None,
        };
        let is_own = own == Some(whole.as_path());
        let replace = Replace::Nothing;
        let checked = purpose.kind().map(|kind| Output { path: &whole, kind, replace, inputs: &[] }.check());
        match checked {
            Some(Err(error)) if error.kind == FileErrorKind::Exists => {
                if is_own {
                    match purpose {
                        Purpose::SavePortfolio => self.save_portfolio_to(whole, Over::Known),
                        Purpose::SaveLog(kind) => self.save_log_to(kind, whole, Over::Known),
                        Purpose::SaveLesson => self.save_lesson_to(whole, Over::Known),
                        _ => self.save_to(whole, Over::Known),
                    }
                    return Ok(());
                }
                if chosen == Chosen::BySystem && whole == path {
                    return self.write_to(purpose, &whole, Replace::Earlier);
                }
                self.dialog = Some(Dialog::Replace { purpose, path: whole });
                Ok(())
            }
            Some(Err(error)) if !is_own => Err(Refusal::new("Nothing was saved", &error)),
            _ => self.write_to(purpose, &whole, replace),
        }
    }

    pub(super) fn write_to(
        &mut self,
        purpose: Purpose,
        path: &Path,
        replace: Replace,
    ) -> Result<(), Refusal> {
        match purpose {
            Purpose::CardText | Purpose::CardPicture | Purpose::CardPdf => {
                self.save_card(purpose, path, replace)
            }
            Purpose::Charts(how) => self.save_charts(how, path, replace),
            Purpose::Workbook => self.save_workbook(path, replace),
            Purpose::SaveLesson => {
                self.save_lesson_to(path.to_owned(), Over::Whatever);
                Ok(())
            }
            Purpose::SaveAnswers => {
                self.save_answers_to(path.to_owned(), Over::Whatever);
                Ok(())
            }
            Purpose::Handout => self.save_handout(path, replace),
            Purpose::SavePortfolio => {
                self.save_portfolio_to(path.to_owned(), Over::Whatever);
                Ok(())
            }
            Purpose::SaveLog(kind) => {
                self.save_log_to(kind, path.to_owned(), Over::Whatever);
                Ok(())
            }
            Purpose::Export => {
                self.export(path, replace);
                Ok(())
            }
            _ => {
                self.save_to(path.to_owned(), Over::Whatever);
                Ok(())
            }
        }
    }

    /// Shows what is said in passing, and does what is asked for there.
    pub(super) fn say_in_passing(&mut self, ctx: &Context) {
        match self.side.passing.as_mut().and_then(|passing| passing.show(ctx)) {
            None => {}
            Some(PassingAsk::Close) => self.side.passing = None,
            Some(PassingAsk::Open(path)) => {
                self.side.passing = None;
                self.put_away("The file was not opened", move || files::open_with_system(&path));
            }
        }
    }

    fn choose(&mut self, file: String, choices: Vec<BoundaryChoice>) {
        match choices.as_slice() {
            [only] => self.import(only),
            _ => self.dialog = Some(Dialog::Boundary { file, choices }),
        }
    }

    pub(super) fn import(&mut self, choice: &BoundaryChoice) {
        let new = NewSite::of_boundary(self.document.scenario(), choice);
        self.new_site(new, choice.notes.clone());
    }

    pub(super) fn save(&mut self, ctx: &Context) {
        match self.document.path().map(Path::to_owned) {
            Some(path) => self.save_to(path, Over::Known),
            None => self.pick(Purpose::SaveAs, ctx),
        }
        self.go_on_after_saving(ctx);
    }

    fn save_to(&mut self, path: PathBuf, over: Over) {
        let known = self.document.stamp().filter(|_| over == Over::Known);
        let scenario = Arc::clone(self.document.scenario());
        let key = ScenarioSaved { path: path.clone(), scenario: Same::of(&scenario) };
        self.jobs.request(key, move |_| files::save(&path, &scenario, known.as_ref()));
        self.hear_files();
    }

    /// Whether a file is being read or written that a question may come back for.
    pub(super) fn is_at_a_file(&self) -> bool {
        self.jobs.is_open(|_: &ScenarioFile| true)
            || self.jobs.is_open(|_: &BoundaryFile| true)
            || self.jobs.is_open(|_: &TerrainFile| true)
            || self.jobs.is_open(|_: &RowsFile| true)
            || self.jobs.is_open(|_: &ScenarioSaved| true)
            || self.jobs.is_open(|_: &Written| true)
            || self.is_saving_portfolio()
            || self.is_reading_job()
            || self.is_saving_log()
            || self.is_saving_lesson()
            || self.is_at_a_picture()
            || self.is_at_footprints()
            || self.is_exporting()
    }

    /// Takes in what was read, and whether what was to be written is.
    pub(super) fn hear_files(&mut self) {
        for (key, answer) in self.jobs.take::<ScenarioFile>() {
            self.take_scenario(&key, answer);
        }
        for (BoundaryFile { path }, answer) in self.jobs.take::<BoundaryFile>() {
            match whole(answer) {
                Ok(choices) => self.choose(files::short_name(&path), choices),
                Err(why) => self.ask_again(Refusal::new("The boundary was not imported", &why)),
            }
        }
        for (TerrainFile { site, path, frame }, answer) in self.jobs.take::<TerrainFile>() {
            let taken = match answer {
                Ok(read) => self.take_terrain(&site.0, &path, frame, read),
                Err(why) => Err(Refusal::new("The terrain was not imported", &why)),
            };
            if let Err(refusal) = taken {
                self.ask_again(refusal);
            }
        }
        for (RowsFile { pass, kind, .. }, answer) in self.jobs.take::<RowsFile>() {
            match whole(answer) {
                Ok(rows) => self.put_rows(pass, kind, &rows),
                Err(why) => self.ask_again(Refusal::new("The table was not read", &why)),
            }
        }
        for (ScenarioSaved { path, scenario }, answer) in self.jobs.take::<ScenarioSaved>() {
            match answer {
                Ok(Ok(stamp)) => {
                    self.remember(&path);
                    self.document.mark_saved(path, scenario.0, Some(stamp));
                    self.claim_file();
                }
                Ok(Err(error)) if error.kind == FileErrorKind::Changed => {
                    let (purpose, told) = (Purpose::SaveAs, error.to_string());
                    self.dialog = Some(Dialog::Changed { purpose, path, told });
                }
                Ok(Err(why)) => self.ask_again(Refusal::new("The scenario was not saved", &why)),
                Err(why) => self.ask_again(Refusal::new("The scenario was not saved", &why)),
            }
        }
        self.hear_portfolio();
        self.hear_logs();
        self.hear_lesson();
        self.hear_exports();
        for (Written { title, asked, .. }, answer) in self.jobs.take::<Written>() {
            match whole(answer) {
                Ok(()) => self.side.passing = asked.map(Passing::saved).or(self.side.passing.take()),
                Err(why) => self.ask_again(Refusal::new(title, &why)),
            }
        }
        self.hear_pictures();
        self.hear_footprints();
        if !self.is_at_a_file() {
            self.asked = None;
        }
    }

    /// Puts a scenario that was read in place of the one that stands; where that was changed meanwhile, it asks first.
    fn take_scenario(&mut self, key: &ScenarioFile, answer: Answer<ScenarioFile>) {
        let agreed = key.before.as_ref().is_some_and(|before| before.is(self.document.scenario()));
        match whole(answer) {
            Ok(OpenedFile::Portfolio(read)) => {
                self.take_portfolio(&key.path, *read, key.portfolio_before.as_ref());
            }
            Ok(OpenedFile::Lesson(..)) if self.is_lesson_unsaved() && !key.lesson_goes => {
                let (of, then) = (UnsavedOf::Lesson, Then::OpenLesson(key.path.clone()));
                self.dialog = Some(Dialog::Unsaved { of, then });
            }
            Ok(OpenedFile::Lesson(lesson, stamp)) => {
                self.put_lesson(LessonDocument::read(*lesson, key.path.clone(), Some(stamp)));
            }
            Ok(OpenedFile::Log(sheet, stamp)) => {
                self.take_log(&key.path, *sheet, stamp, key.log_before.as_ref());
            }
            Ok(OpenedFile::Scenario(_)) if self.document.is_changed() && !agreed => {
                let (of, then) = (UnsavedOf::Scenario, Then::OpenPath(key.path.clone()));
                self.dialog = Some(Dialog::Unsaved { of, then });
            }
            Ok(OpenedFile::Scenario(opened)) => {
                let Opened { scenario, notes, stamp } = *opened;
                // A boundary is where a scenario begins, not the file that it is saved to.
                let own = (!files::is_boundary(&key.path)).then(|| key.path.clone());
                self.replace_document(Document::new(scenario, own).with_stamp(stamp));
                if !notes.is_empty() {
                    self.tell("A site was begun from the boundary", &notes.join("\n"));
                }
            }
            Err(why) => self.ask_again(Refusal::new("The file was not opened", &why)),
        }
    }

    /// Asks once more what was answered with what could not be done; where nothing was asked, says why.
    pub(super) fn ask_again(&mut self, refusal: Refusal) {
        if let Some(asked) = self.asked.take() {
            self.dialog = Some(asked.again(refusal));
        } else {
            self.after_saving = None;
            self.refuse(&refusal);
        }
    }
}
