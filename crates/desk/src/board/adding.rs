use super::ask::BoardAsk;
use super::grid::Grid;
use super::model::Board;
use crate::strategies::{Change, MOST_STRATEGIES};
use crate::theme::{self, space};
use egui::{Button, Label, RichText, Ui, UiBuilder};
use obliquity_planning::Template;

/// Height of the menu of templates, where the window is lower than all of them.
const MENU_SHARE: f32 = 0.7;

/// The place after the last column where a strategy is added; returns where it ends.
pub(super) fn adding(ui: &mut Ui, grid: &Grid, board: &Board, top: f32, asks: &mut Vec<BoardAsk>) -> f32 {
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
            templates(ui, board, asks);
        } else {
            let button = Button::new(RichText::new("+").font(theme::title()));
            let (response, _) = egui::containers::menu::MenuButton::from_button(button).ui(ui, |ui| {
                ui.set_width(300.0);
                let height = MENU_SHARE * ui.ctx().content_rect().height();
                egui::ScrollArea::vertical().max_height(height).show(ui, |ui| templates(ui, board, asks));
            });
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, "Add a strategy"));
            response.on_hover_text("Add a strategy: choose what it starts from");
        }
    });
    shown.response.rect.bottom()
}

/// A button and its explanation for each template; one that does not fit the site says why.
fn templates(ui: &mut Ui, board: &Board, asks: &mut Vec<BoardAsk>) {
    for template in Template::ALL {
        if one(ui, template.name(), template.explanation(), None) {
            asks.push(BoardAsk::Change(Change::Add { template }));
            ui.close();
        }
    }
    for offer in &board.offers {
        let template = offer.template;
        if one(ui, template.name(), template.explanation(), offer.refusal.as_deref()) {
            asks.push(BoardAsk::Change(Change::AddOnSite { template }));
            ui.close();
        }
    }
}

fn one(ui: &mut Ui, name: &str, explanation: &str, refusal: Option<&str>) -> bool {
    let colors = theme::of(ui);
    let width = ui.available_width();
    let button = Button::new(name).min_size(egui::vec2(width, 24.0));
    let response = ui.add_enabled(refusal.is_none(), button);
    let hint = refusal.map_or_else(|| explanation.to_owned(), |why| format!("{explanation}\n\n{why}"));
    let response = response.on_hover_text(&hint).on_disabled_hover_text(&hint);
    let label = format!("Add {name}");
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, refusal.is_none(), &label));
    let (text, color) = refusal.map_or((explanation, colors.muted), |why| (why, colors.warn));
    ui.add(Label::new(RichText::new(text).font(theme::caption()).color(color)).wrap());
    ui.add_space(space::TIGHT);
    response.clicked()
}
