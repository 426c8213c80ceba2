use super::ask::Ask;
use super::grid::Grid;
use super::model::Board;
use crate::strategies::{Change, MOST_STRATEGIES};
use crate::theme::{self, space};
use egui::{Button, RichText, Ui, UiBuilder};
use obliquity_planning::Template;

/// The place after the last column where a strategy is added; returns where it ends.
pub(super) fn adding(ui: &mut Ui, grid: &Grid, board: &Board, top: f32, asks: &mut Vec<Ask>) -> f32 {
    let area = grid.adding(top, f32::INFINITY);
    let full = board.columns.len() >= MOST_STRATEGIES;
    let colors = theme::of(ui);
    let shown = ui.scope_builder(UiBuilder::new().id_salt("adding").max_rect(area), |ui| {
        ui.set_width(area.width());
        ui.add_space(space::ROW);
        if full {
            let text =
                format!("{MOST_STRATEGIES} is the most that can be told apart: remove one to add another.");
            if grid.explains_adding() {
                ui.label(RichText::new(text).font(theme::caption()).color(colors.muted));
            }
        } else if grid.explains_adding() {
            ui.label(RichText::new("Add a strategy").font(theme::body_strong()).color(colors.muted));
            ui.add_space(space::TIGHT);
            templates(ui, asks);
        } else {
            let button = Button::new(RichText::new("+").font(theme::title()));
            let (response, _) = egui::containers::menu::MenuButton::from_button(button).ui(ui, |ui| {
                ui.set_width(260.0);
                templates(ui, asks);
            });
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, "Add a strategy"));
            response.on_hover_text("Add a strategy: choose what it starts from");
        }
    });
    shown.response.rect.bottom()
}

/// A button and its explanation for each template.
fn templates(ui: &mut Ui, asks: &mut Vec<Ask>) {
    let colors = theme::of(ui);
    for template in Template::ALL {
        let width = ui.available_width();
        let button = Button::new(template.name()).min_size(egui::vec2(width, 24.0));
        let response = ui.add(button).on_hover_text(template.explanation());
        response.widget_info(|| {
            egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Add {}", template.name()))
        });
        if response.clicked() {
            asks.push(Ask::Change(Change::Add { template }));
            ui.close();
        }
        ui.label(RichText::new(template.explanation()).font(theme::caption()).color(colors.muted));
        ui.add_space(space::TIGHT);
    }
}
