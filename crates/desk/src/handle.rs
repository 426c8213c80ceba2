//! A narrow strip that opens what is folded away beside it: its text reads downwards.

use crate::theme::{self, space};
use egui::{Role, Sense, Ui, WidgetInfo, vec2};

/// Draws it into all of `ui`; says whether it was pressed. `name` is what it does.
pub(crate) fn upright(ui: &mut Ui, text: &str, name: &str) -> bool {
    let (response, painter) = ui.allocate_painter(ui.available_size(), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    let colors = theme::of(ui);
    let color = if response.hovered() { colors.accent } else { colors.muted };
    let galley = painter.layout_no_wrap(text.to_owned(), theme::caption_strong(), color);
    // Turned a quarter to the right about its corner, the text reads downwards.
    let corner = response.rect.center_top() + vec2(galley.size().y / 2.0, space::PAGE);
    let text = egui::epaint::TextShape::new(corner, galley, color);
    painter.add(text.with_angle(std::f32::consts::FRAC_PI_2));
    response.on_hover_text(name).clicked()
}
