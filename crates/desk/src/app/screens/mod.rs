//! The screens, in one table: a new one is a module here, or a folder, and its row.

mod aspects;
mod begin;
mod best;
mod block;
mod board;
mod card;
mod conditions;
mod curves;
mod equipment;
mod hours;
mod lesson;
mod logs;
mod passes;
mod plan;
mod purchase;
mod requirement;
mod section;
mod site;
mod space;
mod timeline;
mod working;

pub use aspects::{ASPECTS, AspectRow};
pub(super) use best::BestScreen;
pub(super) use block::BlockScreen;
pub(super) use card::{NO_CARD, PrintedCard};
pub(super) use curves::CurvesScreen;
pub(super) use hours::HoursScreen;
pub(super) use lesson::LessonScreen;
pub use lesson::LessonStage;
pub(super) use logs::{LogsScreen, slot as log_slot};
pub(super) use purchase::PurchaseScreen;
pub(super) use section::SectionScreen;
pub(super) use timeline::TimelineScreen;

use super::App;
use crate::commands::{Command, CommandRow, GroupPlace, SHIFTED, key};
use crate::preferences::keep_library;
use crate::screen::{Question, Screen};
use crate::space::Look;
use egui::{Context, Key, KeyboardShortcut, Modifiers, Ui};
use obliquity_exchange::chart::Chart;

/// Everything that the program knows of a screen but what is on it.
#[derive(Debug, Clone, Copy)]
pub struct ScreenRow {
    /// Which one, and its name on the command line.
    pub id: Screen,
    /// Its name, in the row of screens and in the menu.
    pub title: &'static str,
    /// In which menu it stands; nothing for one that comes up by itself.
    pub menu: Option<&'static str>,
    /// The question that it answers, under which it stands in the row of screens; nothing for one that is not in it.
    pub question: Option<Question>,
    /// What it shows, in a sentence.
    pub hint: &'static str,
    /// Its key.
    pub shortcut: Option<KeyboardShortcut>,
    /// What it shows, for the command line's help.
    pub help: &'static str,
    /// What is on it as a table for the clipboard; nothing of a screen that has none.
    pub(super) table: Option<fn(&App) -> Option<String>>,
    /// The diagrams on it; nothing of a screen that has none.
    charts: Option<fn(&App) -> Vec<Chart>>,
    /// Brings what it shows up to the document.
    model: fn(&mut App),
    /// Draws it into what the menu leaves of the window, and does what was asked for on it.
    draw: fn(&mut App, &mut Ui),
}

const COMMAND: Modifiers = Modifiers::COMMAND;

/// So many screens can be gone back through.
const VISITED: usize = 50;

/// All screens, in the order of row and menu.
pub const SCREENS: &[ScreenRow] = &[
    ScreenRow {
        id: Screen::BOARD,
        title: "Board",
        menu: Some("View"),
        question: Some(Question::Which),
        hint: "The strategies beside each other",
        shortcut: Some(key(COMMAND, Key::B)),
        help: "Strategies as columns, bands of figures across them",
        table: Some(App::board_table),
        charts: None,
        model: |_| {},
        draw: App::board_screen,
    },
    ScreenRow {
        id: Screen::named("curves"),
        title: "Curves",
        menu: Some("View"),
        question: Some(Question::Which),
        hint: "What a setting does: any input over a range, and what comes of all strategies",
        shortcut: Some(key(SHIFTED, Key::R)),
        help: "Any input over a range, and what comes of all strategies",
        table: Some(App::curve_table),
        charts: Some(App::curve_charts),
        model: App::follow_curves,
        draw: App::curves_screen,
    },
    ScreenRow {
        id: Screen::BEST,
        title: "Best",
        menu: Some("View"),
        question: Some(Question::Which),
        hint: "Each at its best: the settings that take least and meet the requirement, and what can be had for what",
        shortcut: Some(key(COMMAND, Key::H)),
        help: "Every strategy at the settings that take least and meet the requirement, and the trade-off",
        table: Some(|app| Some(app.best_table())),
        charts: Some(App::best_charts),
        model: |_| {},
        draw: App::best_screen,
    },
    ScreenRow {
        id: Screen::PLAN,
        title: "Plan",
        menu: Some("View"),
        question: Some(Question::Seen),
        hint: "What the strategy in focus flies over the site, and from where the surfaces are seen",
        shortcut: Some(key(SHIFTED, Key::P)),
        help: "What one strategy flies over the site, and from where the surfaces are seen",
        table: None,
        charts: None,
        model: App::follow_space,
        draw: App::plan_screen,
    },
    ScreenRow {
        id: Screen::SPACE,
        title: "3D",
        menu: Some("View"),
        question: Some(Question::Seen),
        hint: "Ground, structures and route, coloured by what the strategy in focus delivers on them",
        shortcut: Some(key(COMMAND, Key::M)),
        help: "Ground, structures and route of one strategy in 3D, coloured by what it delivers",
        table: None,
        charts: None,
        model: App::follow_space,
        draw: |app, ui| app.space_screen(ui, Look::Solid),
    },
    ScreenRow {
        id: Screen::WALLS,
        title: "Elevations",
        menu: Some("View"),
        question: Some(Question::Seen),
        hint: "Every wall, edge and underside seen square on, coloured by what the strategy in focus delivers on it",
        shortcut: Some(key(SHIFTED, Key::M)),
        help: "Every wall and underside seen square on, coloured by what one strategy delivers",
        table: None,
        charts: None,
        model: App::follow_space,
        draw: |app, ui| app.space_screen(ui, Look::Flat),
    },
    ScreenRow {
        id: Screen::BLOCK,
        title: "Block",
        menu: Some("View"),
        question: Some(Question::Seen),
        hint: "Whether the images of the strategy in focus hold together, and how well they tell the camera and what is measured",
        shortcut: Some(key(Modifiers::NONE, Key::F8)),
        help: "Whether the images of one strategy hold together, and how precise what is measured in them comes out",
        table: Some(App::block_table),
        charts: Some(App::block_charts),
        model: App::follow_block,
        draw: App::block_screen,
    },
    ScreenRow {
        id: Screen::TIMELINE,
        title: "Timeline",
        menu: Some("View"),
        question: Some(Question::Flown),
        hint: "The whole stay on site of the strategy in focus: crew, legs, batteries, light, and the time budget",
        shortcut: Some(key(SHIFTED, Key::L)),
        help: "The stay on site of one strategy along a clock, and what its time is made of",
        table: Some(App::timeline_or_budget_table),
        charts: Some(App::budget_charts),
        model: App::follow_timeline,
        draw: App::timeline_screen,
    },
    ScreenRow {
        id: Screen::PASSES,
        title: "Passes",
        menu: Some("View"),
        question: Some(Question::Flown),
        hint: "Every pass of the strategy in focus, with all its settings",
        shortcut: Some(key(SHIFTED, Key::Y)),
        help: "Every pass of one strategy, with all its settings",
        table: Some(App::passes_table),
        charts: None,
        model: |_| {},
        draw: App::passes_screen,
    },
    ScreenRow {
        id: Screen::CARD,
        title: "Card",
        menu: Some("View"),
        question: Some(Question::Flown),
        hint: "The values to key into a flight controller for the strategy in focus, and what to check before",
        shortcut: Some(key(SHIFTED, Key::U)),
        help: "The values to key into a flight controller for one strategy",
        table: Some(|app| Some(app.beside.card()?.to_text())),
        charts: None,
        model: App::follow_card,
        draw: App::card_screen,
    },
    ScreenRow {
        id: Screen::SITE,
        title: "Site",
        menu: Some("View"),
        question: Some(Question::Given),
        hint: "What stands on the site, its terrain, and how densely surfaces are sampled",
        shortcut: Some(key(COMMAND, Key::J)),
        help: "What stands on the site, its ground, and how densely surfaces are sampled",
        table: Some(|app| Some(app.site_table())),
        charts: None,
        model: |_| {},
        draw: App::site_screen,
    },
    ScreenRow {
        id: Screen::EQUIPMENT,
        title: "Equipment",
        menu: Some("View"),
        question: Some(Question::Given),
        hint: "Every number of every aircraft, of the scenario and of your library",
        shortcut: Some(key(COMMAND, Key::E)),
        help: "Every aircraft's numbers",
        table: Some(App::equipment_table),
        charts: Some(App::equipment_charts),
        model: |_| {},
        draw: App::equipment_screen,
    },
    ScreenRow {
        id: Screen::CONDITIONS,
        title: "Conditions",
        menu: Some("View"),
        question: Some(Question::Given),
        hint: "Wind and air, crew and batteries, the day and its light, and the uncertainty of all of it",
        shortcut: Some(key(SHIFTED, Key::W)),
        help: "What the job is flown under, and its result for one strategy",
        table: Some(|app| Some(app.conditions_table())),
        charts: None,
        model: App::follow_shade,
        draw: App::conditions_screen,
    },
    ScreenRow {
        id: Screen::REQUIREMENT,
        title: "Requirement",
        menu: Some("View"),
        question: Some(Question::Given),
        hint: "What the job must deliver, what coverage means, and processing rates",
        shortcut: Some(key(COMMAND, Key::T)),
        help: "What the job must deliver, and processing rates",
        table: Some(|app| Some(app.requirement_table())),
        charts: None,
        model: |_| {},
        draw: App::requirement_screen,
    },
    ScreenRow {
        id: Screen::PURCHASE,
        title: "Purchase",
        menu: Some("View"),
        question: None,
        hint: "Whether another aircraft pays over the jobs of a year, and what would turn the answer",
        shortcut: Some(key(Modifiers::NONE, Key::F9)),
        help: "Whether another fleet of aircraft pays over the jobs of a year, of a portfolio file",
        table: Some(App::purchase_table),
        charts: Some(App::purchase_charts),
        model: App::follow_purchase,
        draw: App::purchase_screen,
    },
    ScreenRow {
        id: Screen::LESSON,
        title: "Lesson",
        menu: Some("Compare"),
        question: None,
        hint: "The lesson that is open: a question, guesses that lock, then the figure and its working",
        shortcut: Some(key(Modifiers::NONE, Key::F10)),
        help: "A lesson file: its questions one after the other, in type for a projector",
        table: None,
        charts: Some(App::lesson_charts),
        model: App::follow_lesson,
        draw: App::lesson_screen,
    },
    ScreenRow {
        id: Screen::LOGS,
        title: "Logs",
        menu: Some("View"),
        question: None,
        hint: "How far predictions of flown and processed jobs were off, and corrections and rates fitted to them",
        shortcut: Some(key(Modifiers::NONE, Key::F11)),
        help: "Logs of flown and processed jobs, how far predictions were off, and what is fitted to them",
        table: Some(App::log_table),
        charts: Some(App::log_charts),
        model: App::follow_logs,
        draw: App::logs_screen,
    },
    ScreenRow {
        id: Screen::LESSON_STEPS,
        title: "Lesson steps",
        menu: Some("Compare"),
        question: None,
        hint: "The steps of the lesson that is open: what each says, asks, sets and lets be moved",
        shortcut: Some(key(Modifiers::SHIFT, Key::F10)),
        help: "The steps of a lesson, to make or mend it",
        table: None,
        charts: None,
        model: |_| {},
        draw: App::lesson_steps_screen,
    },
    ScreenRow {
        id: Screen::named("section"),
        title: "Cross-section",
        menu: Some("View"),
        question: None,
        hint: "A cut along a strip or a line: ground, roofs, height flown, GSD and overlap, one height against following the ground",
        shortcut: Some(key(SHIFTED, Key::X)),
        help: "A cut along a strip or a line of one strategy: ground, roofs, height flown, GSD and overlap",
        table: Some(App::section_table),
        charts: Some(App::section_charts),
        model: App::follow_section,
        draw: App::section_screen,
    },
    ScreenRow {
        id: Screen::WORKING,
        title: "Working",
        menu: Some("View"),
        question: None,
        hint: "How a figure comes about: its formula, its terms and where they are from",
        shortcut: None,
        help: "How one figure of one strategy comes about",
        table: Some(App::working_table),
        charts: None,
        model: |_| {},
        draw: App::working_screen,
    },
    ScreenRow {
        id: Screen::BEGIN,
        title: "The ways to begin",
        menu: None,
        question: None,
        hint: "The demo, a boundary or a rectangle",
        shortcut: None,
        help: "The ways to begin",
        table: None,
        charts: None,
        model: |_| {},
        draw: App::begin_screen,
    },
];

impl ScreenRow {
    /// The row of a screen; the board's for one that has none.
    pub fn of(screen: Screen) -> &'static ScreenRow {
        SCREENS.iter().find(|row| row.id == screen).unwrap_or(&SCREENS[0])
    }

    /// Whether there are diagrams on it.
    pub fn has_charts(&self) -> bool {
        self.charts.is_some()
    }

    /// The command that shows it; nothing for a screen that stands in no menu.
    pub fn command(&self) -> Option<CommandRow> {
        let &ScreenRow { id, title: text, menu, hint, shortcut, .. } = self;
        let begins_group = SCREENS
            .iter()
            .position(|row| row.id == id)
            .is_some_and(|at| at > 0 && SCREENS[at - 1].question != self.question);
        let place = if begins_group { GroupPlace::First } else { GroupPlace::Later };
        Some(CommandRow { command: Command::Show(id), menu: menu?, text, hint, shortcut, also: None, place })
    }
}

impl App {
    /// What fills the window.
    pub fn screen_shown(&self) -> Screen {
        self.side.screen
    }

    /// Shows another screen.
    pub fn turn_to(&mut self, screen: Screen) {
        if screen != self.side.screen {
            self.side.visited.push(self.side.screen);
            let first = self.side.visited.len().saturating_sub(VISITED);
            self.side.visited.drain(..first);
            self.side.screen = screen;
            self.mark_caution(None);
        }
    }

    /// The screen that was shown before this one.
    pub fn screen_before(&self) -> Option<Screen> {
        self.side.visited.last().copied()
    }

    /// Shows the screen that was shown before this one.
    pub(super) fn turn_back_to_screen(&mut self) {
        if let Some(screen) = self.side.visited.pop() {
            self.side.screen = screen;
            self.mark_caution(None);
        }
    }

    /// The diagrams of the screen that is shown; nothing of a screen that has none.
    pub fn charts(&self) -> Option<Vec<Chart>> {
        let row = ScreenRow::of(self.side.screen).charts?;
        (!self.is_shut()).then(|| row(self))
    }

    /// Draws the screen that is shown.
    pub(super) fn draw_screen(&mut self, ui: &mut Ui) {
        let row = ScreenRow::of(self.side.screen);
        if let Some(step) = self.shut_by().filter(|_| self.is_shut()) {
            crate::lesson::shut_page(ui, step);
            return;
        }
        (row.model)(self);
        (row.draw)(self, ui);
    }

    /// What is left to do once everything is drawn: keep the library.
    pub(super) fn after_screens(&mut self, ctx: &Context) {
        if self.side.library_changed && !ctx.input(|input| input.pointer.any_down()) {
            self.side.library_changed = false;
            if let (Ok(library), Some(folder)) = (&self.side.library, self.home.folder()) {
                let (library, folder) = (library.clone(), folder.to_owned());
                self.put_away("Your library was not saved", move || keep_library(&folder, &library));
            }
        }
    }
}
