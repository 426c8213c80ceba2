//! The strategy in focus, chosen once for all screens.

use super::{HEIGHT, elided};
use crate::mark;
use crate::theme::{self, space};
use egui::{Align2, Popup, Rect, RichText, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use obliquity_planning::Id;

/// A strategy to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Focusable {
    /// Which one.
    pub strategy: Id,
    /// Its name.
    pub name: String,
    /// Its colour and number.
    pub slot: usize,
}

/// Draws the chooser into a place; gives the strategy that was chosen.
pub fn chooser(ui: &mut Ui, all: &[Focusable], focus: Option<Id>, area: Rect) -> Option<Id> {
    let colors = theme::of(ui);
    let response = ui.interact(area, ui.scope_id().with("strategy in focus"), Sense::click());
    let at = all.iter().find(|one| Some(one.strategy) == focus);
    let name = at.map_or("no strategy", |one| one.name.as_str());
    let spoken = format!("Strategy in focus: {name}");
    response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, &spoken));
    let lit = response.hovered() || response.has_focus();
    let line = if lit { colors.accent } else { colors.rule };
    ui.painter().rect(area, 5.0, colors.surface, Stroke::new(1.0, line), StrokeKind::Inside);
    let mut left = area.left() + space::TIGHT + 1.0;
    if let Some(one) = at {
        let place = Rect::from_min_size(pos2(left, area.center().y - mark::SIZE.y / 2.0), mark::SIZE);
        mark::paint(ui.painter(), place, one.slot, colors);
        left = place.right() + space::TIGHT + 2.0;
    }
    let room = area.right() - 18.0 - left;
    let galley = elided(ui, name, theme::body_strong(), colors.ink, room);
    ui.painter().galley(pos2(left, area.center().y - galley.size().y / 2.0), galley, colors.ink);
    let arrow = pos2(area.right() - 10.0, area.center().y);
    ui.painter().text(arrow, Align2::CENTER_CENTER, "⏷", theme::caption(), colors.muted);
    let mut chosen = None;
    Popup::menu(&response).width(area.width()).show(|ui| {
        ui.set_min_width(area.width().max(180.0));
        for one in all {
            ui.horizontal(|ui| {
                mark::put(ui, one.slot);
                let is_chosen = Some(one.strategy) == focus;
                if ui.selectable_label(is_chosen, RichText::new(&one.name)).clicked() {
                    chosen = Some(one.strategy);
                    ui.close();
                }
            });
        }
        if all.is_empty() {
            ui.label("There is no strategy yet; the menu Strategy adds one.");
        }
    });
    response.on_hover_text("The strategy that all screens are about (Ctrl+Page Up, Ctrl+Page Down)");
    ui.advance_cursor_after_rect(Rect::from_min_size(area.min, vec2(0.0, HEIGHT)));
    chosen
}
