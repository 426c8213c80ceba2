//! What the window keeps for its user: preferences, recent files; and files dropped on it.

use super::App;
use super::file_work::Chosen;
use super::keep_work::Looking;
use crate::commands::Command;
use crate::dialogs::{Purpose, Then};
use crate::files;
use crate::keeping::Keeping;
use crate::menus;
use crate::preferences::{Home, keep_preferences, theme_preference};
use crate::theme;
use egui::{Align2, Context, Id, LayerId, Order, Rect, Ui};
use obliquity_exchange::ThemeChoice;
use std::path::{Path, PathBuf};

/// Text at half its usual size.
const LEAST_TEXT: f32 = 0.5;
/// Text at three times its usual size.
const LARGEST_TEXT: f32 = 3.0;

/// What a dropped file is taken for, by its name.
fn purpose_of(path: &Path) -> Option<Purpose> {
    match path.extension()?.to_string_lossy().to_lowercase().as_str() {
        "ron" => Some(Purpose::Open),
        "csv" => Some(Purpose::OpenLog),
        "geojson" | "json" | "kml" | "kmz" => Some(Purpose::ImportBoundary),
        "asc" | "grd" | "tif" | "tiff" => Some(Purpose::ImportTerrain),
        "png" | "jpg" | "jpeg" => Some(Purpose::ImportUnderlay),
        "shp" | "zip" => Some(Purpose::ImportFootprints),
        _ => None,
    }
}

/// Whether a file's name says that it is a TIFF, which may hold heights or a picture.
fn is_tiff(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.to_string_lossy().to_lowercase().starts_with("tif"))
}

/// What dropping a file would do, in a sentence.
pub fn drop_text(path: &Path) -> String {
    let name = files::short_name(path);
    match purpose_of(path) {
        Some(Purpose::Open) => format!("Drop to open the scenario, portfolio or lesson {name}"),
        Some(Purpose::OpenLog) => format!("Drop to open the log of jobs {name}"),
        Some(Purpose::ImportBoundary) => format!("Drop to make the polygon of {name} the site"),
        Some(Purpose::ImportTerrain) if is_tiff(path) => {
            format!("Drop to draw the plan over {name}, or to make its heights the ground")
        }
        Some(Purpose::ImportTerrain) => format!("Drop to make the heights of {name} the ground"),
        Some(Purpose::ImportFootprints) => format!("Drop to make footprints of {name} buildings"),
        Some(Purpose::ImportUnderlay) => format!("Drop to draw the plan over {name}"),
        _ => format!(
            "{name} is no scenario, portfolio or lesson (.ron), no boundary (.geojson, .json, .kml, .kmz), no terrain (.asc, .grd, .tif, .tiff), \
             no picture (.tif, .png, .jpg), no footprints (.shp, .zip) and no log of jobs (.csv)"
        ),
    }
}

impl App {
    /// Gives the window its user's own files.
    #[must_use]
    pub fn with_home(mut self, ctx: &Context, home: Home) -> Self {
        // Where the system says neither.
        ctx.options_mut(|options| options.fallback_theme = egui::Theme::Light);
        ctx.set_theme(theme_preference(home.preferences.theme));
        // The program's own commands do that, and remember it.
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        if let Some(size) = home.preferences.text_size {
            ctx.set_zoom_factor(size.clamp(LEAST_TEXT, LARGEST_TEXT));
        }
        self.side = super::side::Side::new(home.library());
        self.units = home.units();
        if let Some(note) = &home.note {
            self.tell("Your preferences could not be read", note);
        }
        self.keeping = Keeping::at(home.folder());
        self.portfolio_keeping = Keeping::at(home.folder());
        self.log_keeping = [Keeping::at(home.folder()), Keeping::at(home.folder())];
        self.lesson_keeping = Keeping::at(home.folder());
        self.home = home;
        if let Some(path) = self.document.path().map(Path::to_owned) {
            self.remember(&path);
            self.claim_file();
        }
        self.look_for_unsaved(Looking::AtTheStart);
        self
    }

    /// What the program remembers of its user.
    pub fn home(&self) -> &Home {
        &self.home
    }

    /// Puts a file at the head of the recent ones.
    pub(super) fn remember(&mut self, path: &Path) {
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        self.home.preferences.remember(&whole);
    }

    /// The recent files as menu items; gives the one chosen.
    pub(super) fn recent_items(&self, ui: &mut Ui) -> Option<PathBuf> {
        let mut chosen = None;
        ui.menu_button("Open recent", |ui| menus::items(ui, |ui| self.recent_rows(ui, &mut chosen)));
        chosen
    }

    fn recent_rows(&self, ui: &mut Ui, chosen: &mut Option<PathBuf>) {
        ui.set_min_width(260.0);
        if self.home.preferences.recent.is_empty() {
            ui.add_enabled(false, egui::Button::new("No file yet"));
        }
        for path in &self.home.preferences.recent {
            let there = path.is_file();
            let button = egui::Button::new(files::short_name(path));
            let whole = path.display().to_string();
            let gone = format!("{whole} is not there any more");
            let item = ui.add_enabled(there, button).on_hover_text(whole).on_disabled_hover_text(gone);
            if item.clicked() {
                *chosen = Some(path.clone());
                ui.close();
            }
        }
    }

    /// Draws text, and all round it, at another size, and remembers it.
    pub(super) fn size_text(&mut self, ctx: &Context, size: f32) {
        // Steps of a tenth stay tenths.
        let size = ((10.0 * size).round() / 10.0).clamp(LEAST_TEXT, LARGEST_TEXT);
        self.home.preferences.text_size = Some(size).filter(|size| (size - 1.0).abs() > 0.01);
        ctx.set_zoom_factor(size);
    }

    /// Sets light or dark.
    pub(super) fn choose_theme(&mut self, choice: ThemeChoice, ctx: &Context) {
        self.home.preferences.theme = choice;
        ctx.set_theme(theme_preference(choice));
    }

    /// Whether no file is opened now, since a lesson hides something; then that is told.
    pub(super) fn refuses_files(&mut self) -> bool {
        let why = self.shut(Command::Open);
        if let Some(why) = &why {
            self.tell("The lesson is not over", why);
        }
        why.is_some()
    }

    /// Says what a file that hovers over the window would do, and takes one that is dropped.
    pub(super) fn take_drops(&mut self, ctx: &Context) {
        let (hovered, dropped) = ctx.input(|input| {
            let hovered: Option<PathBuf> =
                input.raw.hovered_files.first().map(|file| file.path.clone().unwrap_or_default());
            let dropped = input.raw.dropped_files.first().map(|file| file.path().to_owned());
            (hovered, dropped)
        });
        if let Some(path) = hovered.filter(|_| self.shut(Command::Open).is_none()) {
            let text = match self.rows_for(&path) {
                Some((_, what)) => format!("Drop to read the {what} from {}", files::short_name(&path)),
                None => drop_text(&path),
            };
            overlay(ctx, &text);
        }
        let Some(path) = dropped.filter(|_| self.dialog.is_none() && !self.refuses_files()) else { return };
        let rows = self.rows_for(&path).map(|(pass, _)| Purpose::ImportRows { pass });
        match rows.or(purpose_of(&path)) {
            Some(Purpose::Open) => self.unless_unsaved(Then::OpenPath(path), ctx),
            Some(Purpose::ImportTerrain) if is_tiff(&path) => self.sort_tiff(path),
            Some(purpose) => {
                if let Err(refusal) = self.take_path(purpose, &path, Chosen::Typed) {
                    self.refuse(&refusal);
                }
            }
            None => self.tell("The file was not opened", &drop_text(&path)),
        }
    }

    /// The pass that a table is for, and what its rows are: the one whose settings are shown.
    fn rows_for(&self, path: &Path) -> Option<(obliquity_planning::Id, &'static str)> {
        let extension = path.extension()?.to_string_lossy().to_lowercase();
        if extension != "csv" || self.side.screen != super::Screen::PASSES {
            return None;
        }
        let passes = &self.document.scenario().strategy(self.focus()?)?.passes;
        let chosen = passes.iter().find(|pass| Some(pass.id) == self.side.pass).or(passes.first())?;
        Some((chosen.id, chosen.pattern.about().table?.what))
    }

    /// Saves the preferences where they have changed.
    pub(super) fn keep_preferences(&mut self) {
        if let Some((folder, preferences)) = self.home.to_keep() {
            self.put_away("Your preferences were not saved", move || keep_preferences(&folder, &preferences));
        }
    }
}

fn overlay(ctx: &Context, text: &str) {
    let whole = ctx.content_rect();
    let mode = theme::Mode::from(ctx.theme());
    let colors = theme::colors(mode);
    let painter = ctx.layer_painter(LayerId::new(Order::Foreground, Id::unique("drop")));
    painter.rect_filled(whole, 0.0, colors.page.gamma_multiply(0.85));
    let font = theme::headline();
    let galley = painter.layout(text.to_owned(), font, colors.ink, whole.width() * 0.7);
    let area: Rect = Align2::CENTER_CENTER.anchor_size(whole.center(), galley.size());
    let frame = area.expand(28.0);
    painter.rect_filled(frame, 8.0, colors.surface);
    painter.rect_stroke(frame, 8.0, egui::Stroke::new(2.0, colors.accent), egui::StrokeKind::Inside);
    painter.galley(area.min, galley, colors.ink);
}
