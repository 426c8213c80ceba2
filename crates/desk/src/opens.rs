//! Figures that open how they come about, by a click or, once they are reached with Tab, by Enter.

use crate::theme;
use egui::{CursorIcon, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo};

/// What is said of every one of them.
pub(crate) const HINT: &str = "Click or Enter: how it comes about.";

/// What is said of a figure for which many images have to be adjusted first.
pub(crate) const BLOCK_HINT: &str = "Click or Enter: adjust the block in full; so many images take a while.";

/// What is said where a price is missed.
pub(crate) const PRICE_HINT: &str =
    "Click or Enter: price, wages and other costs of the job, on the screen Requirement.";

/// Makes a place with a figure one that opens its working; [`Response::clicked`] asks for it.
pub(crate) fn figure(ui: &Ui, area: Rect, id: egui::Id, spoken: &str, hover: &str) -> Response {
    let hover = if hover.is_empty() { HINT.to_owned() } else { format!("{hover}\n\n{HINT}") };
    place(ui, area, id, spoken, &hover)
}

/// Makes a place one that opens something; [`Response::clicked`] asks for it.
pub(crate) fn place(ui: &Ui, area: Rect, id: egui::Id, spoken: &str, hover: &str) -> Response {
    let response = ui.interact(area, id, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, spoken));
    edge(ui, &response);
    response.on_hover_text(hover).on_hover_cursor(CursorIcon::PointingHand)
}

/// The edge of what is reached with Tab.
pub(crate) fn edge(ui: &Ui, response: &Response) {
    if response.has_focus() {
        let stroke = Stroke::new(1.5, theme::of(ui).accent);
        ui.painter().rect_stroke(response.rect.expand(1.0), 3.0, stroke, StrokeKind::Outside);
    }
}
