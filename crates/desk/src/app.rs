//! The window: owns document, figures, jobs and dialogs. `logic` hears what has come; `screen` draws and applies what
//! was asked for.

mod chart_work;
mod copying;
mod corners;
mod export_work;
mod file_work;
mod footprint_work;
mod keep_work;
mod lesson_work;
mod log_work;
mod own_files;
mod portfolio_work;
mod requests;
mod row_asks;
mod screens;
mod shell;
mod side;
mod site_work;
mod strategies;
mod underlay_work;

use file_work::Chosen;

pub use crate::screen::Screen;
pub use own_files::drop_text;
pub use screens::{ASPECTS, AspectRow, LessonStage, SCREENS, ScreenRow};

use crate::beside::Beside;
use crate::board::{Before, Board, BoardAsk, GivenBoard, SETTINGS};
use crate::commands::{self, COMMANDS, Command, CommandRow};
use crate::dialogs::{Dialog, DialogAnswer, Framed, PickedPath, Picker, Purpose, Refusal, Then, UnsavedOf};
use crate::document::{Document, Edit};
use crate::engine::Engine;
use crate::figures::{Figures, Report};
use crate::files;
use crate::footprints::FootprintQuestion;
use crate::jobs::{Jobs, Lane};
use crate::keeping::Keeping;
use crate::lesson::LessonDocument;
use crate::logs::LogDocument;
use crate::long;
use crate::placing::Placing;
use crate::plan::Surfaces;
use crate::preferences::Home;
use crate::purchase::PortfolioDocument;
use crate::recovering::RecoverQuestion;
use crate::space::{Layer, Space};
use crate::strategies::Change;
use crate::theme::{self, Mode};
use crate::underlay::UnderlayShown;
use crate::units::Units;
use egui::{Context, Ui, ViewportCommand};
use glam::DVec3;
use obliquity_exchange::{BlocksChoice, Leftover, LogKind, LogSheet, Replace, ThemeChoice};
use obliquity_planning::money::Portfolio;
use obliquity_planning::{Depth, Id, NoWatch, Scenario};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// A frame waits as long for the routes of all strategies; what takes longer comes later.
const PATIENCE: Duration = Duration::from_millis(4);

/// As long where there is nothing to show until then.
const FIRST_PATIENCE: Duration = Duration::from_millis(100);

/// One step of the size of text.
const TEXT_STEP: f32 = 0.1;

/// The program's window.
#[derive(Debug)]
pub struct App {
    document: Document,
    engine: Engine,
    figures: Figures,
    board: Option<Board>,
    /// What was known before the setting that is being dragged was touched.
    before: Option<Before>,
    /// What the board was made from.
    drawn_from: Option<Arc<Scenario>>,
    jobs: Jobs,
    /// What bands and coverage were last asked for.
    asked_for: Option<Arc<Scenario>>,
    /// The strategies whose blocks were asked for since.
    blocks_asked_for: Vec<(Id, Depth)>,
    /// Those that someone has asked for, though they take long.
    blocks_wanted: BTreeSet<Id>,
    /// The strategies whose block nobody has asked for, as the board was last made.
    unasked: Vec<Id>,
    /// What they are to be asked for once the gesture pauses, and since when it is, in seconds of the screen's clock.
    awaited: Option<(Arc<Scenario>, f64)>,
    /// What routes were last asked for.
    routes_asked_for: Option<Arc<Scenario>>,
    /// So many things of the user's own were on their way to files so far.
    writes: u64,
    /// The dialog that was answered before a file was read or written; it comes again where the answer was wrong.
    asked: Option<Dialog>,
    /// Whether the user has stopped coverage before it was done.
    stopped: bool,
    /// The strategy last chosen; see [`App::focus`].
    focus: Option<Id>,
    /// The strategy whose settings the present gesture moves.
    moved: Option<Id>,
    picker: Option<Picker>,
    dialog: Option<Dialog>,
    after_saving: Option<(UnsavedOf, Then)>,
    leaving: bool,
    units: Units,
    beside: Beside,
    space: Space,
    timeline: screens::TimelineScreen,
    printed: screens::PrintedCard,
    hours: screens::HoursScreen,
    curves: screens::CurvesScreen,
    best: screens::BestScreen,
    section: screens::SectionScreen,
    block: screens::BlockScreen,
    purchase: screens::PurchaseScreen,
    lesson: screens::LessonScreen,
    logs: screens::LogsScreen,
    home: Home,
    keeping: Keeping<Scenario>,
    portfolio_keeping: Keeping<Portfolio>,
    /// The same of both logs.
    log_keeping: [Keeping<LogSheet>; 2],
    lesson_keeping: Keeping<lesson_work::KeptLesson>,
    /// Unsaved work of earlier windows that is still to be asked about.
    left: Vec<Leftover>,
    /// That which is asked about now.
    recovering: Option<RecoverQuestion>,
    /// The picture below the plan.
    picture: UnderlayShown,
    /// The question where a picture lies.
    placing: Option<Placing>,
    /// The question what of a file becomes what.
    footprints: Option<FootprintQuestion>,
    side: side::Side,
    title: String,
}

impl App {
    /// A window on a document, with its jobs.
    pub fn new(ctx: &Context, document: Document, mode: Mode) -> Self {
        theme::install(ctx, mode);
        let mut app = App::still(document);
        let repaint = ctx.clone();
        match Jobs::beside(Arc::new(move || repaint.request_repaint())) {
            Ok(jobs) => app.jobs = jobs,
            // Without threads of its own all but coverage is worked out on the window's.
            Err(error) => {
                let text =
                    format!("coverage cannot be worked out, since the system gives no thread: {error}");
                app.dialog = Some(Dialog::Message { title: "No worker".to_owned(), text });
            }
        }
        app
    }

    /// The same, but all jobs except coverage are done within the frame, however long that takes: for those who look at
    /// the very next frame.
    #[must_use]
    pub fn at_once(mut self) -> Self {
        self.jobs = self.jobs.at_once(&[Lane::Routes, Lane::Writing, Lane::Aside]);
        self
    }

    /// The same, but blocks are adjusted at other times.
    #[must_use]
    pub fn with_blocks(mut self, when: BlocksChoice) -> Self {
        self.adjust_blocks(when);
        self
    }

    /// Chooses when blocks are adjusted.
    pub fn adjust_blocks(&mut self, when: BlocksChoice) {
        self.home.preferences.blocks = when;
    }

    /// The same, its figures from engines that others use too: `own` for what is shown everywhere, `aside` for what tries many
    /// settings. What either knows is not worked out again.
    #[must_use]
    pub fn with_engines(mut self, own: &Engine, aside: &Engine) -> Self {
        self.engine = own.clone();
        self.curves.share(aside);
        self.best.share(aside);
        self.section.share(aside);
        self.purchase.share(aside);
        self.lesson.share(aside);
        self
    }

    /// A window without threads of its own, for pictures: call [`App::work_out`] to have everything on it.
    pub fn still(document: Document) -> Self {
        App {
            document,
            engine: Engine::default(),
            figures: Figures::default(),
            board: None,
            before: None,
            drawn_from: None,
            asked_for: None,
            blocks_asked_for: Vec::new(),
            blocks_wanted: BTreeSet::new(),
            unasked: Vec::new(),
            awaited: None,
            routes_asked_for: None,
            jobs: Jobs::default(),
            writes: 0,
            asked: None,
            stopped: false,
            focus: None,
            moved: None,
            picker: None,
            dialog: None,
            after_saving: None,
            leaving: false,
            units: Units::default(),
            beside: Beside::default(),
            space: Space::default(),
            timeline: screens::TimelineScreen::default(),
            printed: screens::PrintedCard::default(),
            hours: screens::HoursScreen::default(),
            curves: screens::CurvesScreen::default(),
            best: screens::BestScreen::default(),
            section: screens::SectionScreen::default(),
            block: screens::BlockScreen::default(),
            purchase: screens::PurchaseScreen::default(),
            lesson: screens::LessonScreen::default(),
            logs: screens::LogsScreen::default(),
            home: Home::nowhere(),
            keeping: Keeping::at(None),
            portfolio_keeping: Keeping::at(None),
            log_keeping: [Keeping::at(None), Keeping::at(None)],
            lesson_keeping: Keeping::at(None),
            left: Vec::new(),
            recovering: None,
            picture: UnderlayShown::default(),
            placing: None,
            footprints: None,
            side: side::Side::new(Ok(obliquity_planning::Equipment::default())),
            title: String::new(),
        }
    }

    /// Works everything out on this thread.
    pub fn work_out(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        for strategy in &scenario.strategies {
            let id = strategy.id;
            if let Ok(outcome) = self.engine.evaluate(&scenario, id, Depth::Spread, &NoWatch) {
                let scenario = Arc::clone(&scenario);
                self.figures.take(Report::Done { scenario, outcome: Box::new(outcome) });
            }
            let depth = Depth::of_verdict(&scenario.requirement);
            let worked_out = self.engine.evaluate(&scenario, id, depth, &NoWatch);
            let scenario = Arc::clone(&scenario);
            self.figures.take(match worked_out {
                Ok(outcome) => Report::Done { scenario, outcome: Box::new(outcome) },
                Err(failure) => {
                    Report::Failed { scenario, strategy: strategy.id, message: failure.to_string() }
                }
            });
        }
    }

    /// Adjusts the blocks of all strategies on this thread; of those of so many images that someone has to ask for them there is a
    /// first look.
    pub fn work_out_blocks(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        for id in scenario.strategies.iter().map(|strategy| strategy.id) {
            let depth = if self.asks_for_block(&scenario, id) { Depth::Network } else { Depth::Preview };
            if let Ok(outcome) = self.engine.evaluate(&scenario, id, depth, &NoWatch) {
                let scenario = Arc::clone(&scenario);
                self.figures.take(Report::Done { scenario, outcome: Box::new(outcome) });
            }
        }
    }

    /// The document.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// Puts a strategy in focus: the one that plan, view angles and card are about.
    pub fn focus_on(&mut self, strategy: Id) {
        if self.focus() != Some(strategy) {
            // The mark is of another strategy's caution.
            self.mark_caution(None);
        }
        self.focus = Some(strategy);
    }

    /// What stands beside the board.
    pub fn beside(&self) -> &Beside {
        &self.beside
    }

    /// The site in 3D, as it is looked at.
    pub fn space(&mut self) -> &mut Space {
        &mut self.space
    }

    /// Colours the surfaces by a layer, in 3D, on walls and on the plan; nothing leaves them as they are.
    pub fn color_by(&mut self, layer: Option<Layer>) {
        if let Some(layer) = layer {
            self.space.layer = layer;
            self.beside.state.surfaces = Surfaces::Colored;
        }
    }

    /// Puts strategies beside each other, in 3D, on walls and on the plan.
    pub fn put_beside(&mut self, count: usize) {
        self.space.put_beside(count);
    }

    /// Tells about the piece of surface nearest to a place, of the strategy in focus.
    pub fn pick_near(&mut self, place_m: DVec3) {
        self.follow();
        self.follow_space();
        self.space.pick_near(place_m);
    }

    /// Looks at the place picked, or else at the middle of the site: azimuth and angle below level in degrees, and
    /// distance in metres.
    pub fn look_from(&mut self, look: [f64; 3]) {
        self.follow();
        self.follow_space();
        self.space.look_from(look);
    }

    /// Marks where a caution holds on the plans, by its stable name; nothing takes the mark away.
    pub fn mark_caution(&mut self, caution: Option<&str>) {
        self.beside.state.marked = caution.map(str::to_owned);
    }

    /// Draws plan and view angles beside the board.
    fn beside_board(&mut self, ui: &mut Ui) {
        self.beside.panel(ui);
    }

    /// Everything on the board, as it was last drawn.
    pub fn board(&self) -> Option<&Board> {
        self.board.as_ref()
    }

    /// Hears what jobs and system dialog have sent.
    pub fn hear(&mut self) {
        let _framing = long::framing();
        self.hear_jobs();
        match self.picker.as_ref().map(Picker::poll) {
            None | Some(PickedPath::Open) => return,
            Some(PickedPath::Nothing) => self.after_saving = None,
            Some(PickedPath::Path(purpose, path)) => {
                if let Err(refusal) = self.take_path(purpose, &path, Chosen::BySystem) {
                    self.after_saving = None;
                    self.refuse(&refusal);
                }
            }
            Some(PickedPath::NoDialog(purpose)) => {
                self.side.typed_paths = true;
                self.ask_path(purpose, "The system offers no file dialog here; type the path.");
            }
        }
        self.picker = None;
    }

    /// Draws everything and applies what was asked for.
    pub fn screen(&mut self, ui: &mut Ui) {
        let _framing = long::framing();
        let ctx = ui.ctx().clone();
        let asking = self.is_asking();
        let lesson_ask = if asking { None } else { self.lesson_key(&ctx) };
        let mut commands = if asking { Vec::new() } else { commands::pressed(&ctx, &command_rows()) };
        self.guard_closing(&ctx);
        // Under a question there is no pointer: nothing there is pointed at, and no tool tip stays in front of it.
        let pointer = asking.then(|| ctx.input_mut(|input| std::mem::take(&mut input.pointer)));
        let chosen = self.top_row(ui);
        commands.extend(chosen.command);
        if let Some(strategy) = chosen.focus {
            self.focus_on(strategy);
        }
        self.take_drops(&ctx);
        self.follow();
        self.follow_figures(&ctx);
        self.follow_underlay(&ctx);
        self.mark_cursor();
        self.side.page = ui.available_rect_before_wrap();
        self.draw_screen(ui);
        if let Some(ask) = lesson_ask {
            self.do_on_lesson(ask, &ctx);
        }
        self.take_drawn();
        self.take_opacity();
        self.take_wanted(&ctx);
        if let Some(pointer) = pointer {
            ctx.input_mut(|input| input.pointer = pointer);
        }
        if let Some(ask) = chosen.ask {
            self.apply(ask);
        }
        if !ctx.input(|input| input.pointer.any_down()) {
            self.end_gesture();
            self.purchase.end_gesture();
        }
        for command in commands {
            self.run(command, &ctx);
            if !asking && self.is_asking() {
                // What comes after it is for the question.
                break;
            }
        }
        if let Some(path) = chosen.recent.filter(|_| !self.refuses_files()) {
            self.unless_unsaved(Then::OpenPath(path), &ctx);
        }
        if asking {
            self.ask(&ctx);
        } else if self.is_asking() {
            // It comes up in the next frame, when tool tips have gone.
            ctx.request_repaint();
        }
        self.say_in_passing(&ctx);
        self.copy_diagram(&ctx);
        self.after_screens(&ctx);
        self.name_window(&ctx);
        self.keep_preferences();
        self.keep_unsaved(&ctx);
        if self.is_behind() || (self.awaited.is_some() && !self.document.in_gesture()) {
            ctx.request_repaint();
        }
    }

    fn is_asking(&self) -> bool {
        self.dialog.is_some()
            || self.side.buildings.is_some()
            || self.recovering.is_some()
            || self.side.question.is_some()
            || self.placing.is_some()
            || self.footprints.is_some()
    }

    /// Shows the questions that are open, and takes their answers.
    fn ask(&mut self, ctx: &Context) {
        self.ask_buildings(ctx);
        self.ask_recovering(ctx);
        self.ask_of_row(ctx);
        self.ask_placing(ctx);
        self.ask_footprints(ctx);
        if let Some(answer) = self.dialog.as_mut().and_then(|dialog| dialog.show(ctx, self.units)) {
            self.answered(answer, ctx);
        }
    }

    fn is_behind(&self) -> bool {
        self.beside.is_behind(self.focus)
            || !self.drawn_from.as_ref().is_some_and(|from| Arc::ptr_eq(from, self.document.scenario()))
    }

    /// Brings routes, counts and times up to the document: those that are quick within this frame.
    fn follow_routes(&mut self, scenario: &Arc<Scenario>) {
        if !self.jobs.runs_beside(Lane::Routes) {
            let engine = &self.engine;
            self.figures.follow(scenario, &|scenario, strategy| engine.quick(scenario, strategy));
            return;
        }
        if self.routes_asked_for.as_ref().is_some_and(|asked| Arc::ptr_eq(asked, scenario)) {
            return;
        }
        let wanted = self.figures.wanted_quick(scenario);
        // At the beginning there is nothing to show instead.
        let patience = if self.figures.lacks_any(&wanted) { FIRST_PATIENCE } else { PATIENCE };
        self.request_routes(scenario, wanted);
        self.routes_asked_for = Some(Arc::clone(scenario));
        self.hear_routes(patience);
    }

    /// Brings figures and board up to the document.
    fn follow(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        let unasked = self.unasked_blocks(&scenario);
        if !self.is_behind() && unasked == self.unasked {
            return;
        }
        self.unasked = unasked;
        self.follow_routes(&scenario);
        self.side.follow_site(&scenario);
        let board = Board::of(&GivenBoard {
            scenario: &scenario,
            figures: &self.figures,
            holding: self.document.holding(),
            offers: self.side.offers(),
            library: self.side.library.as_ref().map(|own| own.aircraft.as_slice()).unwrap_or_default(),
            units: self.units,
            before: self.before.as_ref(),
            unasked: &self.unasked,
        });
        self.beside.follow(&scenario, &self.figures, &board, self.focus, self.units);
        self.board = Some(board);
        self.drawn_from = Some(scenario);
        self.follow_card_of_focus();
    }

    fn edit(&mut self, edit: &Edit) {
        if !self.document.in_gesture() {
            self.before = Some(Before::of(self.document.scenario(), &self.figures));
        }
        if let Err(error) = self.document.edit(edit) {
            self.tell("The change was not made", &error.to_string());
        }
    }

    fn tell(&mut self, title: &str, text: &str) {
        self.dialog = Some(Dialog::Message { title: title.to_owned(), text: text.to_owned() });
    }

    fn run(&mut self, command: Command, ctx: &Context) {
        if let Some(why) = self.shut(command) {
            self.tell("The lesson is not over", &why);
            return;
        }
        self.take_cell();
        match command {
            Command::EndLesson => self.ask_end_of_lesson(),
            Command::New => self.unless_unsaved(Then::New, ctx),
            Command::NewPortfolio => self.unless_unsaved(Then::NewPortfolio, ctx),
            Command::Open => self.unless_unsaved(Then::Open, ctx),
            Command::OpenTyped => self.unless_unsaved(Then::OpenTyped, ctx),
            Command::Quit => self.unless_unsaved(Then::Quit, ctx),
            Command::Save if self.is_on_lesson() => self.save_answers(ctx),
            Command::Save if self.is_on_lesson_steps() => self.save_lesson(ctx),
            Command::MakeLesson => self.unless_unsaved(Then::MakeLesson, ctx),
            Command::SaveHandout => self.pick(Purpose::Handout, ctx),
            Command::SaveHandoutTyped => self.ask_path(Purpose::Handout, ""),
            Command::Save if self.is_on_portfolio() => self.save_portfolio(ctx),
            Command::Save if self.log_in_hand().is_some() => self.save_log(self.logs.shown(), ctx),
            Command::Save => self.save(ctx),
            Command::SaveAs => self.pick(self.saved_as(), ctx),
            Command::SaveAsTyped => self.ask_path(self.saved_as(), ""),
            Command::ImportBoundary => self.pick(Purpose::ImportBoundary, ctx),
            Command::ImportBoundaryTyped => self.ask_path(Purpose::ImportBoundary, ""),
            Command::ImportTerrain => self.pick(Purpose::ImportTerrain, ctx),
            Command::ImportTerrainTyped => self.ask_path(Purpose::ImportTerrain, ""),
            Command::RemoveTerrain => self.remove_terrain(),
            Command::ImportUnderlay => self.pick(Purpose::ImportUnderlay, ctx),
            Command::ImportUnderlayTyped => self.ask_path(Purpose::ImportUnderlay, ""),
            Command::ImportFootprints => self.pick(Purpose::ImportFootprints, ctx),
            Command::ImportFootprintsTyped => self.ask_path(Purpose::ImportFootprints, ""),
            Command::PlaceUnderlay => self.place_present(),
            Command::PlaceOnEarth => self.turn_to(Screen::SITE),
            Command::RemoveUnderlay => self.put_underlay(None, None, Vec::new()),
            Command::RecoverUnsaved => self.look_for_unsaved(keep_work::Looking::Asked),
            Command::Undo if self.is_on_lesson_steps() => self.turn_lesson(LessonDocument::undo),
            Command::Redo if self.is_on_lesson_steps() => self.turn_lesson(LessonDocument::redo),
            Command::Undo if self.is_on_portfolio() => self.turn_portfolio(PortfolioDocument::undo),
            Command::Redo if self.is_on_portfolio() => self.turn_portfolio(PortfolioDocument::redo),
            Command::Undo if self.log_to_turn().is_some() => self.turn_log(LogDocument::undo),
            Command::Redo if self.log_to_turn().is_some() => self.turn_log(LogDocument::redo),
            Command::Undo => self.turn_back(Document::undo),
            Command::Redo => self.turn_back(Document::redo),
            Command::Add(template) => self.apply(BoardAsk::Change(Change::Add { template })),
            Command::AddOnSite(template) => self.apply(BoardAsk::Change(Change::AddOnSite { template })),
            Command::Focused(task) => self.run_task(task, ctx),
            Command::Hold(hold) => self.hold(hold),
            Command::SearchSettings => {
                self.turn_to(Screen::BEST);
                self.search_settings();
            }
            Command::AdoptFound => self.adopt_found(),
            Command::FoldSettings => self.apply(BoardAsk::Turn(SETTINGS)),
            Command::Update => self.update(),
            Command::StopUpdating => self.apply(BoardAsk::Stop),
            Command::SwitchMode => {
                let dark = ctx.theme() == egui::Theme::Dark;
                self.choose_theme(if dark { ThemeChoice::Light } else { ThemeChoice::Dark }, ctx);
            }
            Command::FollowSystem => self.choose_theme(ThemeChoice::System, ctx),
            Command::Show(screen) => self.turn_to(screen),
            Command::Back => self.turn_back_to_screen(),
            Command::FocusNext => self.step_focus(1),
            Command::FocusPrevious => {
                self.step_focus(self.document.scenario().strategies.len().saturating_sub(1));
            }
            Command::AssumeBuildings => self.assume_buildings(),
            Command::CopyCard => self.copy_card(ctx),
            Command::SaveCardText => self.pick(Purpose::CardText, ctx),
            Command::SaveCardTextTyped => self.ask_path(Purpose::CardText, ""),
            Command::SaveCardPicture => self.pick(Purpose::CardPicture, ctx),
            Command::SaveCardPictureTyped => self.ask_path(Purpose::CardPicture, ""),
            Command::SaveCardPdf => self.pick(Purpose::CardPdf, ctx),
            Command::SaveCardPdfTyped => self.ask_path(Purpose::CardPdf, ""),
            Command::PrintCard => self.print_card(),
            Command::Export => self.pick(Purpose::Export, ctx),
            Command::ExportTyped => self.ask_path(Purpose::Export, ""),
            Command::FoldPlan => self.beside.toggle(ctx.content_rect().width()),
            Command::SwitchUnits => self.show_in(self.units.other(self.home.preferences.gsd)),
            Command::SwitchGsd => self.show_in(self.units.with_other_gsd()),
            Command::SwitchBlocks => self.adjust_blocks(self.home.preferences.blocks.other()),
            Command::Larger => self.size_text(ctx, ctx.zoom_factor() + TEXT_STEP),
            Command::Smaller => self.size_text(ctx, ctx.zoom_factor() - TEXT_STEP),
            Command::UsualSize => self.size_text(ctx, 1.0),
            Command::Find => self.find_command(),
            Command::FlyAll => self.choose_fleet(),
            Command::NameScenario => self.ask_names(),
            Command::CopyTable => self.copy_table(ctx),
            Command::CopyPicture => self.copy_picture(ctx),
        }
    }

    /// Shows everything in other units; the document stays as it is.
    pub fn show_in(&mut self, units: Units) {
        self.units = units;
        self.home.preferences.units = units;
        if units.is_us() {
            self.home.preferences.gsd = units.gsd_unit();
        }
        self.drawn_from = None;
    }

    /// The units that everything is shown in.
    pub fn units(&self) -> Units {
        self.units
    }

    pub(in crate::app) fn unless_unsaved(&mut self, then: Then, ctx: &Context) {
        if let (Then::OpenPath(path), true) = (&then, self.document.is_changed()) {
            // Only what it holds tells what would go.
            self.open_in_place(path.clone(), &[]);
            return;
        }
        match self.unsaved_before(&then) {
            Some(of) => self.dialog = Some(Dialog::Unsaved { of, then }),
            None => self.go_on(&then, ctx),
        }
    }

    /// What is not saved and would go.
    fn unsaved_before(&self, then: &Then) -> Option<UnsavedOf> {
        let (scenario, portfolio) = (self.document.is_changed(), self.is_portfolio_changed());
        let lesson = self.is_lesson_unsaved();
        let beside = || {
            let log = || self.changed_log().map(UnsavedOf::Log);
            let portfolio = portfolio.then_some(UnsavedOf::Portfolio);
            portfolio.or_else(log).or_else(|| lesson.then_some(UnsavedOf::Lesson))
        };
        match then {
            Then::OpenLesson(_) | Then::MakeLesson | Then::Recover(_, UnsavedOf::Lesson) => {
                lesson.then_some(UnsavedOf::Lesson)
            }
            Then::TeachAgain => self.has_unsaved_answers().then_some(UnsavedOf::Lesson),
            Then::OpenPortfolio(_)
            | Then::ExamplePortfolio
            | Then::NewPortfolio
            | Then::Recover(_, UnsavedOf::Portfolio) => portfolio.then_some(UnsavedOf::Portfolio),
            Then::Quit if !scenario => beside(),
            Then::OpenLog(_, kind)
            | Then::ExampleLog(kind)
            | Then::BeginLog(kind)
            | Then::Recover(_, UnsavedOf::Log(kind)) => {
                self.is_log_changed(*kind).then_some(UnsavedOf::Log(*kind))
            }
            _ => scenario.then_some(UnsavedOf::Scenario),
        }
    }

    /// Goes on once something is saved or given up; the window closes only when nothing else would go.
    fn go_on_without(&mut self, of: UnsavedOf, then: Then, ctx: &Context) {
        let logs = LogKind::ALL.into_iter().filter(|kind| self.is_log_changed(*kind)).map(UnsavedOf::Log);
        let portfolio = self.is_portfolio_changed().then_some(UnsavedOf::Portfolio);
        let lesson = self.is_lesson_unsaved().then_some(UnsavedOf::Lesson);
        let order: Vec<UnsavedOf> = portfolio.into_iter().chain(logs).chain(lesson).collect();
        // of what is asked one after the other, what comes after this
        let at = order.iter().position(|own| *own == of).map_or(0, |at| at + 1);
        match order.get(at).filter(|_| then == Then::Quit) {
            Some(next) => self.dialog = Some(Dialog::Unsaved { of: *next, then }),
            None => self.go_on(&then, ctx),
        }
    }

    fn go_on(&mut self, then: &Then, ctx: &Context) {
        match then {
            Then::New => match files::demo() {
                Ok(demo) => {
                    self.replace_document(Document::new(files::blank(&demo), None));
                    self.turn_to(Screen::BEGIN);
                }
                Err(error) => self.tell("No new scenario", &error.to_string()),
            },
            Then::Open => self.pick(Purpose::Open, ctx),
            Then::OpenPath(path) => {
                if let Err(refusal) = self.take_path(Purpose::Open, path, Chosen::Typed) {
                    self.refuse(&refusal);
                }
            }
            Then::OpenTyped => self.ask_path(Purpose::Open, ""),
            Then::OpenPortfolio(path) => self.open_in_place(path.clone(), &[UnsavedOf::Portfolio]),
            Then::ExamplePortfolio => self.open_example_portfolio(),
            Then::NewPortfolio => self.begin_portfolio(),
            Then::OpenLog(path, kind) => self.open_in_place(path.clone(), &[UnsavedOf::Log(*kind)]),
            Then::ExampleLog(kind) => self.open_example_log(*kind),
            Then::BeginLog(kind) => self.begin_log(*kind),
            Then::OpenLesson(path) => self.open_in_place(path.clone(), &[UnsavedOf::Lesson]),
            Then::MakeLesson => self.make_lesson(),
            Then::TeachAgain => self.teach_again(),
            Then::Recover(path, _) => self.recover(path.clone()),
            Then::Quit => {
                self.leaving = true;
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
        }
    }

    fn replace_document(&mut self, document: Document) {
        self.document = document;
        self.figures = Figures::default();
        self.blocks_wanted.clear();
        self.jobs.cancel_told();
        self.forget_best();
        self.focus = None;
        self.forget_looks();
        self.drawn_from = None;
        (self.asked_for, self.awaited) = (None, None);
        self.routes_asked_for = None;
        self.turn_to(Screen::BOARD);
        self.side.visited.clear();
        if let Some(path) = self.document.path().map(Path::to_owned) {
            self.remember(&path);
        }
        self.claim_file();
    }

    fn answered(&mut self, answer: DialogAnswer, ctx: &Context) {
        self.asked = self.dialog.take();
        let mut done = Ok(());
        match answer {
            DialogAnswer::Cancel => self.after_saving = None,
            DialogAnswer::Path(purpose, path) => done = self.take_path(purpose, &path, Chosen::Typed),
            DialogAnswer::SaveElsewhere(purpose) => self.pick(purpose, ctx),
            DialogAnswer::Replace(purpose, path) => done = self.write_to(purpose, &path, Replace::Earlier),
            DialogAnswer::Discard(of, then) => self.go_on_without(of, then, ctx),
            DialogAnswer::SaveFirst(of, then) => {
                let is_guesses = then == Then::TeachAgain;
                self.after_saving = Some((of, then));
                match of {
                    UnsavedOf::Lesson if is_guesses => self.save_answers(ctx),
                    UnsavedOf::Scenario => self.save(ctx),
                    UnsavedOf::Portfolio => self.save_portfolio(ctx),
                    UnsavedOf::Log(kind) => self.save_log(kind, ctx),
                    UnsavedOf::Lesson => self.save_all_of_lesson(ctx),
                }
            }
            DialogAnswer::Boundary(choice) => self.import(&choice),
            DialogAnswer::EndLesson => self.end_lesson(),
            DialogAnswer::NewSite(new, notes) => self.put_new_site(*new, &notes),
            DialogAnswer::Frame(Framed::Terrain, path, frame) => self.import_terrain(&path, frame),
            DialogAnswer::Frame(Framed::Underlay, path, frame) => self.import_underlay(&path, frame),
            DialogAnswer::Origin(underlay, origin, notes) => {
                self.put_underlay(Some(*underlay), Some(origin), notes);
            }
        }
        if let Err(refusal) = done {
            self.dialog = self.asked.take().map(|asked| asked.again(refusal));
        }
        if !self.is_at_a_file() {
            self.asked = None;
        }
        self.go_on_after_saving(ctx);
    }

    fn refuse(&mut self, refusal: &Refusal) {
        self.tell(&refusal.title, &refusal.text);
    }

    fn go_on_after_saving(&mut self, ctx: &Context) {
        let Some((of, then)) = self.after_saving.take() else { return };
        let is_saved = match of {
            UnsavedOf::Lesson if then == Then::TeachAgain => !self.has_unsaved_answers(),
            UnsavedOf::Scenario => !self.document.is_changed(),
            UnsavedOf::Portfolio => !self.is_portfolio_changed(),
            UnsavedOf::Log(kind) => !self.is_log_changed(kind),
            UnsavedOf::Lesson => !self.is_lesson_unsaved(),
        };
        if is_saved {
            self.go_on_without(of, then, ctx);
            return;
        }
        self.after_saving = Some((of, then));
        let is_lesson_in_file =
            self.lesson().is_some_and(|own| !own.is_changed()) && !self.is_saving_lesson();
        if of == UnsavedOf::Lesson && is_lesson_in_file && self.picker.is_none() && self.dialog.is_none() {
            // the lesson is saved: then what was guessed at it
            self.save_all_of_lesson(ctx);
        }
    }

    /// Asks before the window closes on unsaved changes.
    fn guard_closing(&mut self, ctx: &Context) {
        let is_closing = ctx.input(|input| input.viewport().close_requested()) && !self.leaving;
        if is_closing {
            self.take_cell();
        }
        if is_closing && let Some(of) = self.unsaved_before(&Then::Quit) {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            self.dialog = Some(Dialog::Unsaved { of, then: Then::Quit });
        }
    }

    fn name_window(&mut self, ctx: &Context) {
        let (name, changed) = self.title_shown();
        let mark = if changed { "*" } else { "" };
        let title = format!("Obliquity – {name}{mark}");
        if title != self.title {
            ctx.send_viewport_cmd(ViewportCommand::Title(title.clone()));
            self.title = title;
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        self.hear();
        self.go_on_after_saving(ctx);
        if self.leaving || ctx.input(|input| input.viewport().close_requested()) {
            self.home.note_window(ctx);
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.screen(ui);
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        self.close_kept();
        // What is on its way to files goes first.
        self.jobs = Jobs::default();
        // The window is gone: there is nobody left to tell.
        let _kept = self.home.keep();
    }
}

/// Everything that a menu or a key can ask for: the screens, then the rest.
pub fn command_rows() -> Vec<CommandRow> {
    SCREENS.iter().filter_map(ScreenRow::command).chain(COMMANDS.iter().copied()).collect()
}
