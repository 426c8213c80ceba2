//! What was done, said in passing at the foot of the window: it waits for no answer and goes by itself.

use crate::files;
use crate::shell::elided;
use crate::theme::{self, space};
use egui::{Align2, Area, Button, Context, Frame, Id, Order, Role, Sense, Ui, WidgetInfo, vec2};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// It stays so long, and longer while the pointer is on it.
const STAYS_S: f64 = 12.0;
/// As wide as this where the window is.
const WIDTH: f32 = 420.0;

/// A file that was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Passing {
    path: PathBuf,
    /// When it goes, by the screen's clock; nothing until it was shown.
    until_s: Option<f64>,
}

/// What is asked for there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PassingAsk {
    /// Show the file with what the system has for it.
    Open(PathBuf),
    /// It was read, or its time is over.
    Close,
}

impl Passing {
    /// Says that a file was written.
    pub fn saved(path: PathBuf) -> Self {
        Passing { path, until_s: None }
    }

    /// Draws it over the lower right corner of the window.
    pub fn show(&mut self, ctx: &Context) -> Option<PassingAsk> {
        let now_s = ctx.input(|input| input.time);
        let until_s = *self.until_s.get_or_insert(now_s + STAYS_S);
        if now_s >= until_s {
            return Some(PassingAsk::Close);
        }
        let width = WIDTH.min(ctx.content_rect().width() - 4.0 * space::PAGE);
        let area = Area::new(Id::unique("said in passing"))
            .order(Order::Middle)
            .anchor(Align2::RIGHT_BOTTOM, vec2(-space::PAGE, -space::PAGE));
        let shown = area.show(ctx, |ui| {
            let frame = Frame::popup(ui.style()).inner_margin(space::ROW);
            frame.show(ui, |ui| line(ui, &self.path, width)).inner
        });
        if shown.response.contains_pointer() {
            self.until_s = Some(now_s + STAYS_S);
        }
        ctx.request_repaint_after(Duration::from_secs_f64(until_s - now_s));
        shown.inner
    }
}

fn line(ui: &mut Ui, path: &Path, width: f32) -> Option<PassingAsk> {
    let (name, folder) = (files::short_name(path), path.parent().map(Path::display));
    let mut ask = None;
    ui.horizontal(|ui| {
        let buttons = 96.0;
        let text = vec2(width - buttons, 34.0);
        let (place, response) = ui.allocate_exact_size(text, Sense::hover());
        let colors = theme::of(ui);
        let saved = format!("Saved {name}");
        let galley = elided(ui, &saved, theme::body(), colors.ink, place.width());
        ui.painter().galley(place.min, galley, colors.ink);
        let folder = folder.map(|folder| format!("in {folder}")).unwrap_or_default();
        let galley = elided(ui, &folder, theme::caption(), colors.muted, place.width());
        ui.painter().galley(place.min + vec2(0.0, 18.0), galley, colors.muted);
        response.widget_info(|| WidgetInfo::labeled(Role::Status, true, format!("{saved} {folder}")));
        response.on_hover_text(path.display().to_string());
        let open = ui.button("Open").on_hover_text("Show it with what the system has for such files");
        open.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Open {name}")));
        if open.clicked() {
            ask = Some(PassingAsk::Open(path.to_owned()));
        }
        let close = ui.add(Button::new("×").frame(false)).on_hover_text("Put this away");
        close.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Put away: {saved}")));
        if close.clicked() {
            ask = Some(PassingAsk::Close);
        }
    });
    ask
}
