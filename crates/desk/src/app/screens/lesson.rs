//! A lesson as the class sees it, and the gate that shuts everything else while something is hidden.

use crate::app::App;
use crate::app::lesson_work::KeptLesson;
use crate::app::requests::found;
use crate::commands::Command;
use crate::dialogs::{Dialog, Then};
use crate::engine::{Engine, Failure};
use crate::jobs::{Key, Lane, Same};
use crate::lesson::{
    EndSheet, GivenStep, LessonAsk, LessonDocument, LessonEntry, LessonSheet, Moved, StepSheet, TitleSheet,
    WayToLesson, lesson_page, no_figure, no_lesson, typed_guess,
};
use crate::screen::Screen;
use egui::{Context, Event, Key as KeyName, Modifiers, Ui};
use obliquity_exchange::chart::Chart;
use obliquity_exchange::{FileStamp, Secret};
use obliquity_planning::Id;
use obliquity_planning::lesson::{Guess, Lesson, LessonRun, NotNow, StepFigures, StepStage};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a step comes to, with its input moved or as asked.
#[derive(Debug, Clone, PartialEq)]
struct LessonFigures {
    lesson: Same<Lesson>,
    step: usize,
    moved: Option<f64>,
}

impl Key for LessonFigures {
    type Reply = Result<StepFigures, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 128;
}

/// What the window knows of a lesson.
#[derive(Debug)]
pub(in crate::app) struct LessonScreen {
    /// What is open.
    pub(in crate::app) document: Option<LessonDocument>,
    /// What is done with it.
    pub(in crate::app) run: Arc<LessonRun>,
    /// Whether it is being taught: then whatever could show what is hidden is shut.
    pub(in crate::app) is_taught: bool,
    /// What was done as it was last saved, and where.
    pub(in crate::app) answers_saved: Option<(Arc<LessonRun>, PathBuf, Option<FileStamp>)>,
    /// Both as they are kept against a sudden end.
    pub(in crate::app) kept: Option<Arc<KeptLesson>>,
    /// The step that is worked on.
    pub(in crate::app) chosen: usize,
    /// How many lessons were opened.
    pub(in crate::app) opened: u32,
    /// How many times the open one was begun anew.
    pub(in crate::app) begun: u32,
    /// The page: 0 before the first step, then the steps, then the end.
    page: usize,
    entry: LessonEntry,
    /// What came after a key of the page in the same frame: it waits for the next, so that all is taken as it was typed.
    waiting: Vec<Event>,
    /// What was asked for, once each.
    asked: Vec<LessonFigures>,
    engine: Engine,
}

impl Default for LessonScreen {
    fn default() -> Self {
        LessonScreen {
            document: None,
            run: Arc::new(LessonRun::new(0)),
            is_taught: false,
            answers_saved: None,
            kept: None,
            chosen: 0,
            opened: 0,
            begun: 0,
            page: 0,
            entry: LessonEntry::default(),
            waiting: Vec::new(),
            asked: Vec::new(),
            engine: Engine::aside(),
        }
    }
}

impl LessonScreen {
    /// Uses an engine that others use too.
    pub(in crate::app) fn share(&mut self, engine: &Engine) {
        self.engine = engine.clone();
    }

    /// One with nothing in it, its engine kept.
    fn emptied(&self) -> Self {
        let opened = self.opened.wrapping_add(1);
        LessonScreen { engine: self.engine.clone(), opened, ..LessonScreen::default() }
    }

    fn lesson(&self) -> Option<&Arc<Lesson>> {
        self.document.as_ref().map(LessonDocument::lesson)
    }

    fn step(&self) -> Option<usize> {
        let steps = self.lesson()?.steps.len();
        self.page.checked_sub(1).filter(|step| *step < steps)
    }

    /// Begins anew: nothing is guessed, and nothing shut.
    pub(in crate::app) fn restart(&mut self) {
        let steps = self.lesson().map_or(0, |lesson| lesson.steps.len());
        self.run = Arc::new(LessonRun::new(steps));
        (self.is_taught, self.page, self.answers_saved) = (false, 0, None);
        self.begun = self.begun.wrapping_add(1);
        self.chosen = self.chosen.min(steps.saturating_sub(1));
        self.asked.clear();
    }

    /// Turns to a page.
    pub(in crate::app) fn turn(&mut self, page: usize) {
        if page != self.page {
            self.page = page;
            let typed = if page == 0 { self.run.learner.clone() } else { String::new() };
            self.entry = LessonEntry { typed, ..LessonEntry::default() };
        }
    }
}

impl App {
    /// The same window with a lesson open, which is shown.
    #[must_use]
    pub fn with_lesson(mut self, lesson: LessonDocument) -> Self {
        self.put_lesson(lesson);
        self
    }

    /// What is done with the lesson that is open.
    pub fn lesson_run(&self) -> &LessonRun {
        &self.lesson.run
    }

    /// The lesson that is open.
    pub fn lesson(&self) -> Option<&LessonDocument> {
        self.lesson.document.as_ref()
    }

    /// Shows a lesson from its first page.
    pub(in crate::app) fn put_lesson(&mut self, lesson: LessonDocument) {
        if let Some(path) = lesson.path().map(Path::to_owned) {
            self.remember(&path);
        }
        self.jobs.cancel(|_: &LessonFigures| true);
        self.lesson = self.lesson.emptied();
        self.lesson.run = Arc::new(LessonRun::new(lesson.lesson().steps.len()));
        self.lesson.document = Some(lesson);
        self.turn_to(Screen::LESSON);
    }

    /// The step that is hidden and shuts everything but the lesson; nothing where nothing is shut.
    pub(in crate::app) fn shut_by(&self) -> Option<usize> {
        if !self.lesson.is_taught || self.lesson.document.is_none() {
            return None;
        }
        self.lesson.run.first_hidden()
    }

    /// Whether the screen that is shown is shut.
    pub(in crate::app) fn is_shut(&self) -> bool {
        self.side.screen != Screen::LESSON && self.shut_by().is_some()
    }

    /// Why a command cannot be done while a lesson hides something; nothing where it can.
    pub(in crate::app) fn shut(&self, command: Command) -> Option<String> {
        let step = self.shut_by()?;
        let is_open = matches!(
            command,
            Command::Show(_)
                | Command::Back
                | Command::Quit
                | Command::EndLesson
                | Command::Find
                | Command::SwitchMode
                | Command::FollowSystem
                | Command::SwitchUnits
                | Command::SwitchGsd
                | Command::Larger
                | Command::Smaller
                | Command::UsualSize
        );
        let is_of_lesson = self.is_on_lesson()
            && matches!(
                command,
                Command::Save | Command::SaveAs | Command::SaveAsTyped | Command::CopyPicture
            );
        (!is_open && !is_of_lesson).then(|| {
            format!(
                "A lesson hides what step {} asks; end the lesson to use this, which reveals everything",
                step + 1
            )
        })
    }

    /// Whether the page of a lesson fills the window.
    pub(in crate::app) fn is_on_lesson(&self) -> bool {
        self.side.screen == Screen::LESSON && self.lesson.document.is_some()
    }

    /// Reveals everything: the lesson is over.
    pub fn end_lesson(&mut self) {
        Arc::make_mut(&mut self.lesson.run).reveal_all();
    }

    /// Asks whether the lesson shall end before all of it is revealed.
    pub(in crate::app) fn ask_end_of_lesson(&mut self) {
        let run = &self.lesson.run;
        let hidden = (0..run.steps.len()).filter(|step| run.is_hidden(*step)).count();
        self.dialog = (hidden > 0).then_some(Dialog::EndLesson { hidden });
    }

    /// Goes back to the first page, with nothing guessed and everything hidden, as for another class.
    pub(in crate::app) fn teach_again(&mut self) {
        self.lesson.restart();
        self.lesson.entry = LessonEntry::default();
        self.turn_to(Screen::LESSON);
    }

    /// Begins the lesson that is open, or goes on with it.
    pub(in crate::app) fn teach(&mut self) {
        let Some(own) = self.lesson.document.as_ref().filter(|_| !self.lesson.is_taught) else { return };
        if let Some(fault) = own.faults().first() {
            let told = fault.message.clone();
            self.turn_to(Screen::LESSON_STEPS);
            self.tell("The lesson cannot be taught yet", &told);
            return;
        }
        self.lesson.is_taught = true;
        // What was said before may hold what is hidden now.
        self.side.passing = None;
        self.dialog = None;
        self.picker = None;
        self.lesson.entry = LessonEntry { typed: self.lesson.run.learner.clone(), ..LessonEntry::default() };
    }

    /// Has what the steps ask worked out, the one shown first.
    pub(super) fn follow_lesson(&mut self) {
        self.teach();
        let Some(lesson) = self.lesson.lesson().cloned().filter(|_| self.lesson.is_taught) else { return };
        let first = self.lesson.step().unwrap_or(0);
        let moved =
            self.lesson.step().and_then(|step| self.lesson.run.steps[step].moved.map(|to| (step, Some(to))));
        let steps = (first..lesson.steps.len()).chain(0..first).map(|step| (step, None));
        for (step, moved) in moved.into_iter().chain(steps) {
            let key = LessonFigures { lesson: Same::of(&lesson), step, moved };
            if self.lesson.asked.contains(&key) {
                continue;
            }
            self.lesson.asked.push(key.clone());
            let (engine, lesson) = (self.lesson.engine.clone(), Arc::clone(&lesson));
            self.jobs.request(key, move |watch| engine.lesson_step(&lesson, step, moved, watch));
        }
    }

    /// What every step comes to; nothing until all is worked out.
    pub(in crate::app) fn all_lesson_figures(&self) -> Option<Vec<StepFigures>> {
        let steps = self.lesson.lesson()?.steps.len();
        (0..steps).map(|step| self.lesson_figures(step, None)?.ok().cloned()).collect()
    }

    fn lesson_figures(&self, step: usize, moved: Option<f64>) -> Option<Result<&StepFigures, String>> {
        let key = LessonFigures { lesson: Same::of(self.lesson.lesson()?), step, moved };
        Some(self.jobs.known(&key).map(found)?.map_err(str::to_owned))
    }

    /// What a revealed step comes to; nothing of one that is hidden.
    fn revealed(&self, step: usize) -> Option<f64> {
        if self.lesson.run.is_hidden(step) {
            return None;
        }
        self.lesson_figures(step, None)?.ok()?.figure
    }

    /// The figures that are told with a step's question.
    fn lesson_told(&self, step: usize) -> Vec<(Id, f64)> {
        let Some(of) = self.lesson.lesson().and_then(|lesson| lesson.steps.get(step)) else {
            return Vec::new();
        };
        let Some(Ok(figures)) = self.lesson_figures(step, None) else { return Vec::new() };
        let read = |id: &Id| {
            let outcome = figures.outcomes.iter().find(|own| own.strategy == *id)?;
            Some((*id, of.measure()?.read(outcome)?))
        };
        of.told.iter().filter_map(read).collect()
    }

    /// Why a line of a working is not shown yet: it holds what another step hides, or that is not known yet.
    fn held_back(&self, text: &str) -> Option<String> {
        let lesson = self.lesson.lesson()?;
        let hidden = (0..lesson.steps.len()).filter(|step| self.lesson.run.is_hidden(*step));
        for step in hidden {
            match self.lesson_figures(step, None) {
                Some(Ok(figures)) if Secret::of(&lesson.steps[step], figures).is_in(text) => {
                    return Some(format!("    (shown once step {} is revealed)", step + 1));
                }
                Some(_) => {}
                None => return Some("    (being worked out)".to_owned()),
            }
        }
        None
    }

    /// What a moved input comes to.
    fn lesson_moved(&self, step: usize) -> Option<Moved> {
        let lesson = self.lesson.lesson()?;
        let to = self.lesson.run.steps.get(step)?.moved?;
        if let Some(later) = lesson.tells(step, to, |other| self.lesson.run.is_hidden(other)) {
            return Some(Moved::Tells(later));
        }
        Some(match self.lesson_figures(step, Some(to)) {
            None => Moved::ComingUp,
            Some(Err(why)) => Moved::Refused(why),
            Some(Ok(figures)) => {
                figures.figure.map_or_else(|| Moved::Refused(no_figure(figures)), Moved::Figure)
            }
        })
    }

    /// The page that is shown.
    pub fn lesson_sheet(&self) -> Option<LessonSheet> {
        let lesson = self.lesson.lesson()?;
        let (run, units) = (&*self.lesson.run, self.units);
        if self.lesson.page == 0 {
            return Some(LessonSheet::Title(TitleSheet::new(lesson, run)));
        }
        let Some(step) = self.lesson.step() else {
            return Some(LessonSheet::End(EndSheet::new(lesson, run, units, |step| self.revealed(step))));
        };
        let figures = || self.lesson_figures(step, None).map(Result::<&StepFigures, String>::cloned);
        let moved = || self.lesson_moved(step);
        let held_back = |text: &str| self.held_back(text);
        let told = self.lesson_told(step);
        let given = GivenStep {
            lesson,
            run,
            step,
            units,
            told,
            figures: &figures,
            moved: &moved,
            held_back: &held_back,
        };
        Some(LessonSheet::Step(Box::new(StepSheet::new(&given)?)))
    }

    /// The diagram of the page that is shown.
    pub(super) fn lesson_charts(&self) -> Vec<Chart> {
        match self.lesson_sheet() {
            Some(LessonSheet::Step(step)) => vec![step.chart],
            _ => Vec::new(),
        }
    }

    /// Draws the page.
    pub(super) fn lesson_screen(&mut self, ui: &mut Ui) {
        let Some(sheet) = self.lesson_sheet() else {
            self.no_lesson_screen(ui);
            return;
        };
        if let Some(ask) = lesson_page(ui, &sheet, &mut self.lesson.entry) {
            let ctx = ui.ctx().clone();
            self.do_on_lesson(ask, &ctx);
        }
    }

    /// Where no lesson is open: what leads to one.
    pub(in crate::app) fn no_lesson_screen(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        match no_lesson(ui) {
            None => {}
            Some(WayToLesson::Make) => self.run(Command::MakeLesson, &ctx),
            Some(WayToLesson::Open) => self.run(Command::Open, &ctx),
        }
    }

    /// Takes the first key of the page before any command has it; it is done once the page is drawn, with the letters before it in
    /// the field.
    pub(in crate::app) fn lesson_key(&mut self, ctx: &Context) -> Option<LessonAsk> {
        let waiting = std::mem::take(&mut self.lesson.waiting);
        ctx.input_mut(|input| drop(input.events.splice(0..0, waiting)));
        if !self.is_on_lesson() {
            return None;
        }
        let is_end = self.lesson.page > self.lesson.run.steps.len();
        let is_revealed = self.lesson.step().is_some_and(|step| !self.lesson.run.is_hidden(step));
        let mut is_empty = self.lesson.entry.typed.is_empty();
        ctx.input_mut(|input| {
            let (at, ask) = input.events.iter().enumerate().find_map(|(at, event)| match event {
                Event::Text(_) | Event::Paste(_) => {
                    is_empty = false;
                    None
                }
                Event::Key { key, pressed: true, modifiers, .. }
                    if modifiers.matches_logically(Modifiers::NONE) =>
                {
                    if is_end && *key == KeyName::Home {
                        return Some((at, LessonAsk::Again));
                    }
                    key_ask(*key, is_revealed, is_empty).map(|ask| (at, ask))
                }
                _ => None,
            })?;
            self.lesson.waiting = input.events.split_off(at + 1);
            input.events.pop();
            Some(ask)
        })
    }

    pub(in crate::app) fn do_on_lesson(&mut self, ask: LessonAsk, ctx: &Context) {
        let Some(lesson) = self.lesson.lesson().cloned() else { return };
        let (page, step, last) = (self.lesson.page, self.lesson.step(), lesson.steps.len() + 1);
        self.lesson.entry.told = None;
        ctx.request_repaint();
        if page == 0 {
            let learner = self.lesson.entry.typed.trim().to_owned();
            if self.lesson.run.learner != learner {
                Arc::make_mut(&mut self.lesson.run).learner = learner;
            }
        }
        match (ask, step) {
            (LessonAsk::Next, _) => self.lesson.turn((page + 1).min(last)),
            (LessonAsk::Back, _) => self.lesson.turn(page.saturating_sub(1)),
            (LessonAsk::Enter, None) if page == 0 => self.lesson.turn(1),
            (LessonAsk::Zoom, Some(_)) => self.lesson.entry.is_zoomed = !self.lesson.entry.is_zoomed,
            (LessonAsk::Leave, _) if self.shut_by().is_none() => self.turn_to(Screen::LESSON_STEPS),
            (LessonAsk::Leave, _) => self.turn_to(Screen::BOARD),
            (LessonAsk::Save, _) => self.run(Command::Save, ctx),
            (LessonAsk::Again, None) if page == last => self.unless_unsaved(Then::TeachAgain, ctx),
            (LessonAsk::Enter, Some(step)) => self.enter_guess(&lesson, step),
            (LessonAsk::TakeBack, Some(step)) => self.at_step(|run| run.take_back(step)),
            (LessonAsk::Lock, Some(step)) => {
                if !self.lesson.entry.typed.trim().is_empty() {
                    self.enter_guess(&lesson, step);
                }
                if self.lesson.entry.told.is_none() {
                    self.at_step(|run| run.lock(step));
                }
            }
            (LessonAsk::Reveal, Some(step)) => self.at_step(|run| run.reveal(step)),
            (LessonAsk::Left, Some(step)) => self.move_input(&lesson, step, -1),
            (LessonAsk::Right, Some(step)) => self.move_input(&lesson, step, 1),
            _ => {}
        }
    }

    fn at_step(&mut self, change: impl FnOnce(&mut LessonRun) -> Result<(), NotNow>) {
        let mut next = (*self.lesson.run).clone();
        match change(&mut next) {
            Ok(()) => self.lesson.run = Arc::new(next),
            Err(why) => self.lesson.entry.told = Some(format!("Not now: {why}.")),
        }
    }

    fn enter_guess(&mut self, lesson: &Lesson, step: usize) {
        let typed = self.lesson.entry.typed.trim().to_owned();
        if typed.is_empty() || self.lesson.run.stage(step) != StepStage::Open {
            return;
        }
        match typed_guess(&lesson.steps[step], &typed, self.units) {
            Ok(guess) => {
                self.at_step(|run| run.guess(step, guess));
                self.lesson.entry.typed.clear();
            }
            Err(why) => self.lesson.entry.told = Some(why),
        }
    }

    /// Moves the step's input to its next value to a side; where it is asked it stands between two.
    fn move_input(&mut self, lesson: &Lesson, step: usize, by: i32) {
        let Some(moves) = &lesson.steps[step].moves else { return };
        let (values, at) = (moves.all(), self.lesson.run.steps[step].moved.or_else(|| lesson.asked_at(step)));
        let is_up = (moves.to > moves.from) == (by > 0);
        let near =
            |value: &&f64| at.is_none_or(|at| if is_up { **value > at + 1e-9 } else { **value < at - 1e-9 });
        let next = if by > 0 { values.iter().find(near) } else { values.iter().rev().find(near) };
        if let Some(next) = next.copied() {
            self.at_step(|run| run.move_to(step, Some(next)));
        }
    }

    /// Has everything that the lesson asks worked out, on this thread where there is no other.
    pub fn work_out_lesson(&mut self) {
        self.follow_lesson();
    }

    /// Shows a page as far as `stage`, with guesses, for pictures.
    pub fn show_lesson_at(&mut self, page: usize, stage: LessonStage, guesses: &[(&str, f64)]) {
        self.lesson.turn(page);
        let Some(step) = self.lesson.step() else { return };
        let run = Arc::make_mut(&mut self.lesson.run);
        for (who, value) in guesses {
            // A page that takes no guess shows itself without.
            let _ = run.guess(step, Guess { who: (*who).to_owned(), value: *value });
        }
        if stage != LessonStage::Asked {
            let _ = run.lock(step);
        }
        if stage == LessonStage::Revealed {
            let _ = run.reveal(step);
        }
    }

    /// Moves the input of a step that is revealed.
    pub fn move_lesson_input(&mut self, step: usize, value: Option<f64>) {
        self.at_step(|run| run.move_to(step, value));
    }

    /// Shows the steps as they are made, one of them chosen.
    pub fn work_on_step(&mut self, step: usize) {
        let last = self.lesson.run.steps.len().saturating_sub(1);
        self.lesson.chosen = step.min(last);
        self.turn_to(Screen::LESSON_STEPS);
    }

    /// Takes a guess at the page's figure as it would be typed.
    pub fn type_lesson_guess(&mut self, typed: &str) {
        if let (Some(lesson), Some(step)) = (self.lesson.lesson().cloned(), self.lesson.step()) {
            typed.clone_into(&mut self.lesson.entry.typed);
            self.enter_guess(&lesson, step);
        }
    }

    /// Shows the diagram of the page alone.
    pub fn zoom_lesson(&mut self) {
        self.lesson.entry.is_zoomed = true;
    }
}

/// How far a page is shown in a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LessonStage {
    /// A guess may be made.
    Asked,
    /// It is locked.
    Locked,
    /// The figure is shown.
    Revealed,
}

/// What a key asks for on a page.
fn key_ask(key: KeyName, is_revealed: bool, is_empty: bool) -> Option<LessonAsk> {
    Some(match key {
        KeyName::PageDown => LessonAsk::Next,
        KeyName::PageUp => LessonAsk::Back,
        KeyName::Enter if !is_revealed => LessonAsk::Enter,
        KeyName::Backspace if is_empty && !is_revealed => LessonAsk::TakeBack,
        KeyName::F2 => LessonAsk::Lock,
        KeyName::F3 => LessonAsk::Reveal,
        KeyName::F4 => LessonAsk::Zoom,
        KeyName::Escape => LessonAsk::Leave,
        KeyName::ArrowLeft if is_revealed => LessonAsk::Left,
        KeyName::ArrowRight if is_revealed => LessonAsk::Right,
        _ => return None,
    })
}
