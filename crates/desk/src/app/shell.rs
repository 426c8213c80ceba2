//! The row on top of the window: menus, screens, the strategy in focus, the scenario.

use super::App;
use super::screens::{SCREENS, ScreenRow};
use crate::board::{BoardAsk, Updating};
use crate::commands::{Command, CommandRow, GroupPlace, MENUS, Task};
use crate::figures::Freshness;
use crate::menus;
use crate::screen::Screen;
use crate::shell::{self, Doing, Focusable, PlaceAsk, Tab};
use crate::strategies::MOST_STRATEGIES;
use crate::theme;
use egui::{Button, Frame, Margin, MenuBar, Panel, Rect, Ui, UiBuilder, pos2, vec2};
use obliquity_planning::Id;
use std::path::PathBuf;

/// What was chosen in the row.
#[derive(Debug, Default)]
pub(super) struct RowChoice {
    pub(super) command: Option<Command>,
    pub(super) recent: Option<PathBuf>,
    pub(super) focus: Option<Id>,
    pub(super) ask: Option<BoardAsk>,
}

/// A command as it stands now.
#[derive(Debug, Clone)]
pub(super) struct CommandNow {
    /// Its text, with what it is about at present.
    pub(super) text: String,
    /// Why it cannot be done now; nothing where it can.
    pub(super) refusal: Option<String>,
}

/// Between two parts of the row.
const GAP: f32 = 10.0;
/// The menus in the bar are set a little apart.
const MENU_GAP: f32 = 8.0;

impl App {
    /// Draws the row; gives what was chosen.
    pub(super) fn top_row(&self, ui: &mut Ui) -> RowChoice {
        let mut choice = RowChoice::default();
        if self.is_on_lesson() {
            // A page for a projector has no small type.
            return choice;
        }
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(Margin {
            left: 10,
            right: 10,
            top: 3,
            bottom: 3,
        });
        Panel::top("shell").frame(frame).show(ui, |ui| {
            MenuBar::new().ui(ui, |ui| self.row_parts(ui, &mut choice));
        });
        choice
    }

    /// What stands first is drawn first: what comes and goes at the right end must not close a menu at the left.
    fn row_parts(&self, ui: &mut Ui, choice: &mut RowChoice) {
        let whole = Rect::from_min_size(ui.cursor().min, vec2(ui.available_width(), shell::HEIGHT));
        let shares = shell::share(ui.ctx().content_rect().width());
        let place = whole.with_min_x(whole.right() - shares.place);
        let chooser_width = if self.is_on_portfolio() || self.is_shut() { 0.0 } else { shares.chooser };
        let chooser = whole.with_max_x(place.left() - GAP).with_min_x(place.left() - GAP - chooser_width);
        let tabs = self.tabs(ui);
        let left = self.menus_at_left(ui, whole, chooser.left(), &tabs, choice);
        let area = Rect::from_min_max(pos2(left, whole.top()), pos2(chooser.left() - GAP, whole.bottom()));
        if let Some(screen) = shell::tabs(ui, &tabs, self.side.screen, area) {
            choice.command = Some(Command::Show(screen));
        }
        if self.side.screen != Screen::BEGIN && !self.is_on_portfolio() && !self.is_shut() {
            choice.focus = shell::chooser(ui, &self.focusable(), self.focus(), chooser);
        }
        match self.scenario_place(ui, place) {
            Some(PlaceAsk::Stop) => choice.ask = Some(BoardAsk::Stop),
            Some(PlaceAsk::Update) => choice.ask = Some(BoardAsk::Update),
            Some(PlaceAsk::Name) if self.is_on_portfolio() || self.is_on_lesson_steps() || self.is_shut() => {
            }
            Some(PlaceAsk::Name) => choice.command = Some(Command::NameScenario),
            None => {}
        }
        ui.advance_cursor_after_rect(whole);
    }

    /// The menus, or one for all of them where the screens need the room; gives where the screens may begin.
    fn menus_at_left(
        &self,
        ui: &mut Ui,
        whole: Rect,
        right: f32,
        tabs: &[Tab],
        choice: &mut RowChoice,
    ) -> f32 {
        let width = |menu: &&str| shell::text_width(ui, menu, theme::body()) + 4.0 + MENU_GAP;
        let menus: f32 = MENUS.iter().map(width).sum();
        // What is in the row for once folds no menu.
        let always: Vec<Tab> = tabs.iter().filter(|tab| tab.question.is_some()).cloned().collect();
        let folded = whole.left() + menus + 2.0 * GAP + shell::tabs_width(ui, &always) > right - GAP;
        let mut inner = ui.new_child(UiBuilder::new().id_salt("menus").max_rect(whole).layout(*ui.layout()));
        inner.spacing_mut().item_spacing.x = MENU_GAP;
        if folded {
            inner.menu_button("Menu", |ui| self.menus(ui, choice));
        } else {
            self.menus(&mut inner, choice);
        }
        let line = inner.min_rect().right() + GAP;
        let rule = egui::Stroke::new(1.0, theme::of(ui).rule);
        ui.painter().vline(line, whole.shrink2(vec2(0.0, 2.0)).y_range(), rule);
        line + GAP
    }

    /// All strategies, in the board's order.
    fn focusable(&self) -> Vec<Focusable> {
        let columns = self.board.as_ref().map(|board| board.columns.as_slice()).unwrap_or_default();
        let of = |column: &crate::board::Column| Focusable {
            strategy: column.strategy,
            name: column.name.clone(),
            slot: column.slot,
        };
        columns.iter().map(of).collect()
    }

    fn scenario_place(&self, ui: &mut Ui, area: Rect) -> Option<PlaceAsk> {
        let (title, changed) = self.title_shown();
        let shown = if changed { format!("• {title}") } else { title.clone() };
        let spoken = format!("{title}{}", if changed { ", not saved" } else { "" });
        let sentence = self.board.as_ref().map(|board| &board.sentence);
        let stale = sentence.is_some_and(|sentence| sentence.freshness != Freshness::Fresh);
        let updating = self.headline().updating;
        let text = match updating {
            Updating::Running(progress) => {
                format!("updating {} of {}", (progress.done + 1).min(progress.total), progress.total)
            }
            _ => "updating".to_owned(),
        };
        let doing = match updating {
            _ if self.is_shut() => Doing::Nothing,
            Updating::Errand { what, tenths } => Doing::Errand { text: what, share: tenths as f32 / 10.0 },
            _ if !stale => Doing::Nothing,
            Updating::Running(progress) => {
                let done = 10 * progress.done + progress.tenths;
                let share = done as f32 / (10 * progress.total).max(1) as f32;
                Doing::Figures { text: &text, share: Some(share) }
            }
            Updating::Stopped => Doing::Stopped,
            Updating::Nothing => Doing::Figures { text: &text, share: None },
        };
        shell::place(ui, (&shown, &spoken), doing, area)
    }

    /// The screens of the row; the one that is shown too, where it does not always stand there.
    fn tabs(&self, ui: &Ui) -> Vec<Tab> {
        let stands = |row: &&ScreenRow| {
            row.question.is_some() || (row.id == self.side.screen && row.id != Screen::BEGIN)
        };
        let tab = |row: &ScreenRow| {
            let key =
                row.shortcut.map_or_else(String::new, |key| format!(" ({})", ui.ctx().format_shortcut(&key)));
            Tab {
                screen: row.id,
                title: row.title,
                question: row.question,
                hint: format!("{}{key}", row.hint),
            }
        };
        SCREENS.iter().filter(stands).map(tab).collect()
    }

    fn menus(&self, ui: &mut Ui, choice: &mut RowChoice) {
        for &menu in MENUS {
            ui.menu_button(menu, |ui| menus::items(ui, |ui| self.menu_items(ui, menu, choice)));
        }
    }

    fn menu_items(&self, ui: &mut Ui, menu: &str, choice: &mut RowChoice) {
        ui.set_min_width(240.0);
        let rows = super::command_rows();
        let rows = rows.iter().filter(|row| row.menu == menu && self.is_listed(row.command));
        for (at, row) in rows.enumerate() {
            if at > 0 && row.place == GroupPlace::First {
                ui.separator();
            }
            let CommandNow { text, refusal, .. } = self.command_now(row);
            let mut button = Button::new(text);
            if let Some(key) = &row.shortcut {
                button = button.shortcut_text(ui.ctx().format_shortcut(key));
            }
            let item = ui.add_enabled(refusal.is_none(), button).on_hover_text(row.hint);
            if item.on_disabled_hover_text(refusal.unwrap_or_default()).clicked() {
                choice.command = Some(row.command);
                ui.close();
            }
            if row.command == Command::Open {
                choice.recent = choice.recent.take().or_else(|| self.recent_items(ui));
            }
        }
    }

    /// Whether a menu lists a command: a typed path only where the system has no dialog of its own.
    pub(super) fn is_listed(&self, command: Command) -> bool {
        !command.types_a_path() || self.side.typed_paths
    }

    /// How a command stands now.
    pub(super) fn command_now(&self, row: &CommandRow) -> CommandNow {
        let with = |label: Option<&str>| {
            label.map_or_else(|| row.text.to_owned(), |label| format!("{}: {label}", row.text))
        };
        let text = match row.command {
            Command::Undo => with(self.undo_label()),
            Command::Redo => with(self.redo_label()),
            Command::SwitchUnits => with(Some(self.units.name())),
            Command::SwitchGsd => with(Some(self.units.gsd_unit().name())),
            Command::SwitchBlocks => with(Some(self.home.preferences.blocks.name())),
            Command::Back => with(self.screen_before().map(|screen| ScreenRow::of(screen).title)),
            _ => row.text.to_owned(),
        };
        CommandNow { text, refusal: self.refusal(row.command) }
    }

    /// Why a command cannot be done now; nothing where it can.
    fn refusal(&self, command: Command) -> Option<String> {
        if let Some(why) = self.shut(command) {
            return Some(why);
        }
        let strategies = &self.document.scenario().strategies;
        let unless = |can: bool, why: &str| (!can).then(|| why.to_owned());
        match command {
            Command::SaveHandout | Command::SaveHandoutTyped => self.handout_refusal(),
            Command::MakeLesson => {
                unless(!strategies.is_empty(), "A lesson asks about strategies; the scenario has none")
            }
            Command::EndLesson => unless(self.shut_by().is_some(), "No lesson hides anything"),
            Command::Undo => unless(self.undo_label().is_some(), "Nothing has been changed"),
            Command::Redo => unless(self.redo_label().is_some(), "Nothing was undone"),
            Command::Back => unless(self.screen_before().is_some(), "No other screen was shown before"),
            Command::Add(_) | Command::AddOnSite(_) | Command::Focused(Task::Duplicate)
                if strategies.len() >= MOST_STRATEGIES =>
            {
                Some(format!(
                    "At most {MOST_STRATEGIES} strategies can be compared at once; remove one first"
                ))
            }
            Command::AddOnSite(template) => self.side.refusal(template).map(ToOwned::to_owned),
            Command::RemoveTerrain => unless(self.has_terrain(), "The ground is a plane already"),
            Command::AssumeBuildings => {
                let bare = self.document.scenario().site.structures.is_empty();
                unless(bare, "The site has structures of its own; none are assumed")
            }
            Command::SwitchGsd => {
                unless(self.units.is_us(), "Inches go with US customary units; metric ones have centimetres")
            }
            Command::PlaceUnderlay | Command::RemoveUnderlay => unless(
                self.document.scenario().underlay.is_some(),
                "There is no picture below the plan; import one first",
            ),
            Command::Focused(task) => self.task_refusal(task),
            Command::SearchSettings => {
                unless(self.can_search_settings(), "No strategy has a setting ticked to be searched")
            }
            Command::AdoptFound => {
                unless(self.has_found(), "Nothing else was found that meets the requirement; search first")
            }
            Command::FocusNext | Command::FocusPrevious => {
                unless(strategies.len() > 1, "There is no other strategy")
            }
            Command::FlyAll => unless(!strategies.is_empty(), "There is no strategy"),
            Command::CopyTable => unless(
                ScreenRow::of(self.side.screen).table.is_some(),
                "There is no table on this screen; its picture can be copied",
            ),
            Command::Update => unless(self.stopped, "Nothing was stopped"),
            Command::StopUpdating => {
                let idle = matches!(self.headline().updating, Updating::Nothing | Updating::Stopped);
                unless(!idle, "Nothing is being worked out")
            }
            Command::CopyCard
            | Command::SaveCardText
            | Command::SaveCardTextTyped
            | Command::SaveCardPicture
            | Command::SaveCardPictureTyped
            | Command::SaveCardPdf
            | Command::SaveCardPdfTyped
            | Command::PrintCard => unless(self.beside.card().is_some(), super::screens::NO_CARD),
            Command::Export | Command::ExportTyped => self.export_refusal(),
            _ => None,
        }
    }

    fn task_refusal(&self, task: Task) -> Option<String> {
        let strategies = &self.document.scenario().strategies;
        let Some(at) = self.focus().and_then(|id| strategies.iter().position(|one| one.id == id)) else {
            return Some("There is no strategy".to_owned());
        };
        let why = match task {
            Task::MoveLeft if at == 0 => "It stands at the left end",
            Task::MoveRight if at + 1 == strategies.len() => "It stands at the right end",
            _ => return None,
        };
        Some(why.to_owned())
    }

    /// Puts the strategy some places to the right in focus; behind the last comes the first.
    pub(super) fn step_focus(&mut self, by: usize) {
        let strategies = &self.document.scenario().strategies;
        let focus = self.focus();
        if let Some(at) = strategies.iter().position(|one| Some(one.id) == focus) {
            let next = strategies[(at + by) % strategies.len()].id;
            self.focus_on(next);
        }
    }
}
