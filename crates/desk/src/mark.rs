//! The mark of a strategy: its colour with its number, so that nobody needs to tell strategies apart by colour alone.

use crate::theme::{self, Colors};
use egui::{Align2, Painter, Rect, Response, Sense, Ui, Vec2, vec2};

/// Room that a mark takes.
pub const SIZE: Vec2 = vec2(18.0, 16.0);

/// The number of the strategy with a colour, from 1.
pub fn number(slot: usize) -> String {
    (slot + 1).to_string()
}

/// Paints a mark.
pub fn paint(painter: &Painter, area: Rect, slot: usize, colors: &Colors) {
    let fill = colors.strategy(slot);
    painter.rect_filled(area, 3.0, fill);
    let ink = theme::on(fill);
    painter.text(area.center(), Align2::CENTER_CENTER, number(slot), theme::caption_strong(), ink);
}

/// Puts a mark where the next thing would stand.
pub fn put(ui: &mut Ui, slot: usize) -> Response {
    let (area, response) = ui.allocate_exact_size(SIZE, Sense::hover());
    paint(ui.painter(), area, slot, theme::of(ui));
    response
}
