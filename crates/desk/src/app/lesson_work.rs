//! The lesson that is open: how it is made, saved and kept, with the guesses made at it.

use super::App;
use super::file_work::Over;
use super::requests::whole;
use crate::clock;
use crate::dialogs::{Dialog, Purpose, Refusal};
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::lesson::{LessonDocument, LessonEdit, MakingAsk, first_step, making};
use crate::long;
use crate::screen::Screen;
use egui::{Context, Ui};
use obliquity_exchange::sheet::HandoutPages;
use obliquity_exchange::{
    Answers, FileError, FileErrorKind, FileStamp, KeptWork, Output, OutputKind, PaperSize, Replace,
    UnsavedKind, UnsavedNote, handout, lesson_mark, save_answers, save_lesson,
};
use obliquity_planning::lesson::{Lesson, LessonRun};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A lesson and what is done with it, as both are kept against a sudden end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct KeptLesson {
    lesson: Arc<Lesson>,
    run: Arc<LessonRun>,
}

/// Both on their way to where unsaved work is kept.
#[derive(Debug, Clone, PartialEq)]
struct LessonKept {
    kept: Same<KeptLesson>,
}

impl Key for LessonKept {
    type Reply = Result<(), FileError>;
    const LANE: Lane = Lane::Writing;
}

/// A lesson on its way to a file.
#[derive(Debug, Clone, PartialEq)]
struct LessonSaved {
    path: PathBuf,
    lesson: Same<Lesson>,
    /// Which of those that were opened one after the other.
    opened: u32,
}

impl Key for LessonSaved {
    type Reply = Result<FileStamp, FileError>;
    const LANE: Lane = Lane::Writing;
}

/// Answers on their way to a file.
#[derive(Debug, Clone, PartialEq)]
struct AnswersSaved {
    path: PathBuf,
    run: Same<LessonRun>,
    /// To which of the lessons that were opened one after the other, and which time it was begun.
    of: (u32, u32),
}

impl Key for AnswersSaved {
    type Reply = Result<FileStamp, FileError>;
    const LANE: Lane = Lane::Writing;
}

impl App {
    /// Whether menus and keys are about the steps of the lesson.
    pub(super) fn is_on_lesson_steps(&self) -> bool {
        self.side.screen == Screen::LESSON_STEPS && self.lesson.document.is_some() && !self.is_shut()
    }

    pub(super) fn has_unsaved_answers(&self) -> bool {
        let is_saved =
            |(run, ..): &(Arc<LessonRun>, PathBuf, Option<FileStamp>)| Arc::ptr_eq(run, &self.lesson.run);
        self.lesson.run.is_begun() && !self.lesson.answers_saved.as_ref().is_some_and(is_saved)
    }

    /// Whether the lesson differs from its file, or something was guessed that is in none.
    pub(super) fn is_lesson_unsaved(&self) -> bool {
        self.lesson().is_some_and(LessonDocument::is_changed) || self.has_unsaved_answers()
    }

    /// Makes a lesson of the scenario that is open.
    pub(super) fn make_lesson(&mut self) {
        let scenario = (**self.document.scenario()).clone();
        let steps = vec![first_step(&scenario)];
        let (name, note) = (scenario.name.clone(), String::new());
        self.put_lesson(LessonDocument::made(Lesson { name, note, scenario, steps }));
        self.turn_to(Screen::LESSON_STEPS);
    }

    /// Draws the steps of the lesson, to be worked on.
    pub(super) fn lesson_steps_screen(&mut self, ui: &mut Ui) {
        let Some(lesson) = self.lesson().map(|own| Arc::clone(own.lesson())) else {
            self.no_lesson_screen(ui);
            return;
        };
        let faults = self.lesson().map_or(&[][..], LessonDocument::faults);
        let ask = making(ui, (&lesson, faults), self.lesson.chosen, self.units);
        let ctx = ui.ctx().clone();
        match ask {
            None => {}
            Some(MakingAsk::Edit(edit)) => self.edit_lesson(*edit),
            Some(MakingAsk::Choose(step)) => {
                self.lesson.chosen = step;
                self.turn_lesson(LessonDocument::end_gesture);
            }
            Some(MakingAsk::Teach) => self.turn_to(Screen::LESSON),
            Some(MakingAsk::Save) => self.save_lesson(&ctx),
        }
    }

    fn edit_lesson(&mut self, edit: LessonEdit) {
        let count = |app: &App| app.lesson().map_or(0, |own| own.lesson().steps.len());
        let before = count(self);
        self.turn_lesson(|own| own.edit(&edit.label, edit.key.as_deref(), |lesson| *lesson = edit.lesson));
        if count(self) > before {
            let last = count(self) - 1;
            self.lesson.chosen = (self.lesson.chosen + 1).min(last);
        }
    }

    /// Whether something was guessed that is in no file, and would go with a change of the lesson; then that is told.
    fn keeps_answers(&mut self) -> bool {
        let keeps = self.has_unsaved_answers();
        if keeps {
            let why = "What was guessed at it is in no file, and would go. Save the answers first: F10, then Ctrl+S.";
            self.tell("The lesson was not changed", why);
        }
        keeps
    }

    /// Turns the lesson back or forth, or edits it.
    pub(super) fn turn_lesson(&mut self, turn: impl FnOnce(&mut LessonDocument)) {
        let Some(own) = &self.lesson.document else { return };
        let mut next = own.clone();
        turn(&mut next);
        // its texts may be mended; whatever else is another question makes it another lesson
        let is_edited = !Arc::ptr_eq(own.lesson(), next.lesson());
        let is_another = is_edited && own.lesson().without_texts() != next.lesson().without_texts();
        if is_another && self.keeps_answers() {
            return;
        }
        self.lesson.document = Some(next);
        // what was only looked at is taught from its beginning
        if is_another || (is_edited && !self.lesson.run.is_begun()) {
            let learner = self.lesson.run.learner.clone();
            self.lesson.restart();
            Arc::make_mut(&mut self.lesson.run).learner = learner;
        }
    }

    /// A name for a file of the lesson, of its answers or of its hand-out.
    pub(super) fn lesson_file_name(&self, purpose: Purpose) -> String {
        let plain = |text: &str| text.to_lowercase().replace(|letter: char| !letter.is_alphanumeric(), "_");
        let own = self.lesson();
        let stem = own.and_then(LessonDocument::path).map_or_else(
            || plain(&own.map_or_else(String::new, |own| own.lesson().name.clone())),
            |path| {
                path.with_extension("")
                    .file_name()
                    .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
            },
        );
        let learner = plain(&self.lesson.run.learner);
        match purpose {
            Purpose::SaveAnswers if learner.is_empty() => format!("answers_{stem}.ron"),
            Purpose::SaveAnswers => format!("answers_{stem}_{learner}.ron"),
            Purpose::Handout => format!("{stem}.pdf"),
            _ => format!("{stem}.ron"),
        }
    }

    pub(super) fn save_lesson(&mut self, ctx: &Context) {
        match self.lesson().and_then(LessonDocument::path).map(Path::to_owned) {
            Some(path) => self.save_lesson_to(path, Over::Known),
            None => self.pick(Purpose::SaveLesson, ctx),
        }
        self.go_on_after_saving(ctx);
    }

    pub(super) fn save_lesson_to(&mut self, path: PathBuf, over: Over) {
        let Some(own) = self.lesson() else { return };
        let known = own.stamp().filter(|_| over == Over::Known);
        let lesson = Arc::clone(own.lesson());
        let key = LessonSaved { path: path.clone(), lesson: Same::of(&lesson), opened: self.lesson.opened };
        self.jobs.request(key, move |_| {
            long::begins("writing a lesson");
            save_lesson(&path, &lesson, known.as_ref())
        });
        self.hear_files();
    }

    pub(super) fn save_answers(&mut self, ctx: &Context) {
        match self.lesson.answers_saved.as_ref().map(|(_, path, _)| path.clone()) {
            Some(path) => self.save_answers_to(path, Over::Known),
            None => self.pick(Purpose::SaveAnswers, ctx),
        }
        self.go_on_after_saving(ctx);
    }

    pub(super) fn save_answers_to(&mut self, path: PathBuf, over: Over) {
        let Some(own) = self.lesson() else { return };
        let known = self.lesson.answers_saved.as_ref().filter(|(_, own, _)| *own == path);
        let known = known.and_then(|(_, _, stamp)| *stamp).filter(|_| over == Over::Known);
        let run = Arc::clone(&self.lesson.run);
        let answers = Answers {
            lesson: lesson_mark(own.lesson()),
            at_unix_s: clock::now_unix_s(),
            run: (*run).clone(),
        };
        let of = (self.lesson.opened, self.lesson.begun);
        let key = AnswersSaved { path: path.clone(), run: Same::of(&run), of };
        self.jobs.request(key, move |_| {
            long::begins("writing answers");
            save_answers(&path, &answers, known.as_ref())
        });
        self.hear_files();
    }

    /// Saves the lesson where it was changed, and then what was guessed.
    pub(super) fn save_all_of_lesson(&mut self, ctx: &Context) {
        if self.lesson().is_some_and(LessonDocument::is_changed) {
            self.save_lesson(ctx);
        } else if self.has_unsaved_answers() {
            self.save_answers(ctx);
        }
    }

    pub(super) fn is_saving_lesson(&self) -> bool {
        self.jobs.is_open(|_: &LessonSaved| true) || self.jobs.is_open(|_: &AnswersSaved| true)
    }

    /// Takes in whether lesson and answers were saved.
    pub(super) fn hear_lesson(&mut self) {
        for (LessonSaved { path, lesson, opened }, answer) in self.jobs.take::<LessonSaved>() {
            match answer {
                Ok(Ok(stamp)) => {
                    self.remember(&path);
                    let opened = opened == self.lesson.opened;
                    if let Some(own) = self.lesson.document.as_mut().filter(|_| opened) {
                        own.mark_saved(path, lesson.0, Some(stamp));
                    }
                }
                Ok(Err(error)) if error.kind == FileErrorKind::Changed => {
                    let (purpose, told) = (Purpose::SaveLesson, error.to_string());
                    self.dialog = Some(Dialog::Changed { purpose, path, told });
                }
                other => self.not_saved("The lesson was not saved", whole(other)),
            }
        }
        for (AnswersSaved { path, run, of }, answer) in self.jobs.take::<AnswersSaved>() {
            match answer {
                Ok(Ok(stamp)) => {
                    self.side.passing = Some(crate::passing::Passing::saved(path.clone()));
                    if of == (self.lesson.opened, self.lesson.begun) {
                        self.lesson.answers_saved = Some((run.0, path, Some(stamp)));
                    }
                }
                Ok(Err(error)) if error.kind == FileErrorKind::Changed => {
                    let (purpose, told) = (Purpose::SaveAnswers, error.to_string());
                    self.dialog = Some(Dialog::Changed { purpose, path, told });
                }
                other => self.not_saved("The answers were not saved", whole(other)),
            }
        }
    }

    fn not_saved(&mut self, title: &str, answer: Result<FileStamp, String>) {
        if let Err(why) = answer {
            self.ask_again(Refusal::new(title, &why));
        }
    }

    /// Why the lesson cannot be handed out now; nothing where it can.
    pub(super) fn handout_refusal(&self) -> Option<String> {
        let own = self.lesson();
        let why = match own {
            None => "No lesson is open",
            Some(own) if !own.faults().is_empty() => "Something of the lesson is to be mended first",
            Some(_) => return None,
        };
        Some(why.to_owned())
    }

    /// Writes the lesson as pages to hand out: its questions, and answers once nothing is hidden any more.
    pub(super) fn save_handout(&mut self, path: &Path, replace: Replace) -> Result<(), Refusal> {
        const NOT_WRITTEN: &str = "The hand-out was not saved";
        let Some(lesson) = self.lesson().map(|own| Arc::clone(own.lesson())) else { return Ok(()) };
        let is_over = self.lesson.is_taught && self.shut_by().is_none();
        let figures = match (is_over, self.all_lesson_figures()) {
            (false, _) => Vec::new(),
            (true, Some(figures)) => figures,
            (true, None) => {
                let why = "What its steps come to is still being worked out; save it then.";
                return Err(Refusal::new(NOT_WRITTEN, &why));
            }
        };
        let pages = if is_over { HandoutPages::WithAnswers } else { HandoutPages::Questions };
        let (units, path) = (self.units, path.to_owned());
        self.put_out(NOT_WRITTEN, path.clone(), move || {
            let sheet = handout(&lesson, &figures, units).sheet(PaperSize::usual(units), pages);
            let bytes = crate::card::pdf(&sheet, 0)?;
            let out = Output { path: &path, kind: OutputKind::PDF, replace, inputs: &[] };
            files::write(&out, &bytes).map_err(|error| error.to_string())
        });
        Ok(())
    }

    /// What is to be kept against a sudden end; nothing where all is saved.
    pub(super) fn kept_lesson(&mut self) -> Option<Arc<KeptLesson>> {
        if !self.is_lesson_unsaved() {
            self.lesson.kept = None;
            return None;
        }
        let (lesson, run) = (Arc::clone(self.lesson()?.lesson()), Arc::clone(&self.lesson.run));
        let is_same =
            |kept: &Arc<KeptLesson>| Arc::ptr_eq(&kept.lesson, &lesson) && Arc::ptr_eq(&kept.run, &run);
        if !self.lesson.kept.as_ref().is_some_and(is_same) {
            self.lesson.kept = Some(Arc::new(KeptLesson { lesson, run }));
        }
        self.lesson.kept.clone()
    }

    pub(super) fn request_lesson_kept(&mut self) {
        let Some(folder) = self.lesson_keeping.folder().map(Path::to_owned) else { return };
        let (Some(kept), Some(own)) = (self.lesson.kept.clone(), self.lesson()) else { return };
        let note = UnsavedNote {
            kind: UnsavedKind::Lesson,
            scenario: own.lesson().name.clone(),
            file: own.path().map(|path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned())),
            stamp: own.stamp(),
            at_unix_s: clock::now_unix_s(),
            edits: if own.is_changed() { own.edits() } else { 0 },
        };
        let shelf = self.lesson_keeping.shelf();
        self.jobs.request(LessonKept { kept: Same::of(&kept) }, move |_| {
            shelf.keep(&folder, &note, KeptWork::Lesson(&kept.lesson, &kept.run))
        });
    }

    pub(super) fn hear_lesson_kept(&mut self, now_s: f64) -> Vec<Option<String>> {
        let answers = self.jobs.take::<LessonKept>().into_iter();
        answers.map(|(_, answer)| self.lesson_keeping.note(whole(answer), now_s)).collect()
    }

    pub(super) fn take_recovered_lesson(
        &mut self,
        path: PathBuf,
        note: UnsavedNote,
        lesson: Lesson,
        run: LessonRun,
    ) {
        let document = match note.file {
            Some(file) if note.edits == 0 => LessonDocument::read(lesson, file, note.stamp),
            file => LessonDocument::recovered(lesson, file, note.stamp, note.edits),
        };
        self.put_lesson(document);
        self.lesson_keeping.note_recovered(path);
        if run.is_begun() {
            let page = run.first_hidden().map_or(run.steps.len(), |step| step + 1);
            self.lesson.run = Arc::new(run);
            self.lesson.turn(page);
        } else {
            self.turn_to(Screen::LESSON_STEPS);
        }
    }
}
