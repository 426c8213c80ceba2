//! The right end of the row: the scenario by its name, and what is being worked out on it. It has one width, whatever goes on.

use super::{HEIGHT, elided};
use crate::theme::{self, space};
use egui::{Button, Rect, Role, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2};

/// What is going on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doing<'a> {
    /// Nothing: all figures are of the scenario as it stands.
    Nothing,
    /// Figures are being worked out; so many of them, and the share that is done where that is known.
    Figures {
        /// In words.
        text: &'a str,
        /// 0 to 1; nothing before it has begun.
        share: Option<f32>,
    },
    /// Something else that the user has asked for.
    Errand {
        /// In words.
        text: &'a str,
        /// 0 to 1.
        share: f32,
    },
    /// Figures are of earlier settings, and nothing is done about it.
    Stopped,
}

/// What is asked for there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaceAsk {
    /// Give up what is being worked out.
    Stop,
    /// Work it out after all.
    Update,
}

/// Room for the button that stops something.
const STOP: f32 = 20.0;

/// Draws it; `title` is the scenario's, `spoken` the same with whether it is saved.
pub fn place(ui: &mut Ui, (title, spoken): (&str, &str), doing: Doing<'_>, area: Rect) -> Option<PlaceAsk> {
    let colors = theme::of(ui);
    let mut ask = None;
    if doing == Doing::Stopped {
        let hint = "Stopped: coverage is of earlier settings, or not known yet. Work it out again";
        let mut inner = ui.new_child(UiBuilder::new().id_salt("stopped").max_rect(area));
        let button = Button::new("Update now").truncate().min_size(area.size());
        return inner.add(button).on_hover_text(hint).clicked().then_some(PlaceAsk::Update);
    }
    let text = area.with_max_x(area.right() - STOP);
    let response = ui.interact(text, ui.scope_id().with("scenario"), Sense::hover());
    let (shown, ink) = match doing {
        Doing::Errand { text, .. } => (text, colors.ink),
        _ => (title, if response.hovered() { colors.ink } else { colors.muted }),
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    let galley = elided(ui, shown, theme::caption(), ink, text.width() - space::TIGHT);
    let at = pos2(text.right() - space::TIGHT - galley.size().x, area.center().y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, ink);
    let hint = match doing {
        Doing::Figures { text, .. } | Doing::Errand { text, .. } => format!("{spoken}\n{text}"),
        _ => spoken.to_owned(),
    };
    response.on_hover_text(hint);
    let (words, share) = match doing {
        Doing::Figures { text, share } => (text, share),
        Doing::Errand { text, share } => (text, Some(share)),
        Doing::Nothing | Doing::Stopped => return ask,
    };
    bar(ui, words, share, area);
    if share.is_some() {
        let name = if matches!(doing, Doing::Errand { .. }) { "Cancel" } else { "Cancel updating" };
        ask = stop(ui, name, area).or(ask);
    }
    ui.advance_cursor_after_rect(Rect::from_min_size(area.min, vec2(0.0, HEIGHT)));
    ask
}

/// A line along the lower edge that fills as work goes on.
fn bar(ui: &mut Ui, words: &str, share: Option<f32>, area: Rect) {
    let colors = theme::of(ui);
    let line =
        Rect::from_min_max(pos2(area.left(), area.bottom() - 2.0), pos2(area.right() - STOP, area.bottom()));
    let response = ui.interact(line, ui.scope_id().with("progress"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, words));
    ui.painter().rect_filled(line, 1.0, colors.trough);
    let done = line.with_max_x(line.left() + share.unwrap_or(0.0).clamp(0.0, 1.0) * line.width());
    ui.painter().rect_filled(done, 1.0, colors.accent);
}

fn stop(ui: &mut Ui, name: &str, area: Rect) -> Option<PlaceAsk> {
    let place = Rect::from_min_max(pos2(area.right() - STOP, area.top()), area.max).shrink2(vec2(1.0, 4.0));
    let mut inner = ui.new_child(UiBuilder::new().id_salt("stop").max_rect(place));
    let button = inner.add(Button::new("×").small().min_size(place.size()));
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    let hint = "Stop; what is shown stays as it is";
    button.on_hover_text(hint).clicked().then_some(PlaceAsk::Stop)
}
