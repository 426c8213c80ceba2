use super::ask::BoardAsk;
use super::grid::Grid;
use super::model::Board;
use crate::strategies::{Change, MOST_STRATEGIES};
use crate::theme::{self, space};
use egui::containers::menu::MenuButton;
use egui::{Button, Label, Rect, RichText, Shape, Stroke, Ui, UiBuilder, vec2};
use obliquity_planning::Template;

/// Height of the menu of templates, where the window is lower than all of them.
const MENU_SHARE: f32 = 0.8;
/// The button itself.
const HEIGHT: f32 = 24.0;

/// The free place after the last column: an outline, and the button that fills it.
pub(super) fn place(ui: &mut Ui, grid: &Grid, board: &Board, bottom: f32, asks: &mut Vec<BoardAsk>) {
    let Some(place) = grid.free_place(bottom).filter(|_| board.columns.len() < MOST_STRATEGIES) else {
        return;
    };
    let colors = theme::of(ui);
    let ring =
        [place.left_top(), place.right_top(), place.right_bottom(), place.left_bottom(), place.left_top()];
    let line = Stroke::new(1.0, colors.rule);
    ui.painter().extend(Shape::dashed_line(&ring, line, 5.0, 4.0));
    let at = place.left_top() + vec2(10.0, 10.0);
    button(ui, board, Rect::from_min_size(at, vec2(place.width() - 20.0, HEIGHT)), "Add a strategy ⏷", asks);
}

/// The button in the corner, where no place is free beside the columns.
pub(super) fn in_corner(ui: &mut Ui, grid: &Grid, board: &Board, area: Rect, asks: &mut Vec<BoardAsk>) {
    if grid.free_place(0.0).is_none() || board.columns.len() >= MOST_STRATEGIES {
        button(ui, board, area, "+", asks);
    }
}

/// What adds a strategy: it asks what that starts from.
fn button(ui: &mut Ui, board: &Board, area: Rect, text: &str, asks: &mut Vec<BoardAsk>) {
    let full = board.columns.len() >= MOST_STRATEGIES;
    ui.scope_builder(UiBuilder::new().id_salt("adding").max_rect(area), |ui| {
        ui.spacing_mut().button_padding.y = 0.0;
        if full {
            ui.disable();
        }
        let button = Button::new(RichText::new(text).font(theme::body())).min_size(area.size());
        let (response, _) = MenuButton::from_button(button).ui(ui, |ui| {
            ui.set_width(360.0);
            ui.spacing_mut().item_spacing.y = space::HAIR;
            let height = MENU_SHARE * ui.ctx().content_rect().height();
            egui::ScrollArea::vertical().max_height(height).show(ui, |ui| templates(ui, board, asks));
        });
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, !full, "Add a strategy"));
        let most =
            format!("{MOST_STRATEGIES} is the most that can be told apart: remove one to add another.");
        response.on_hover_text("Add a strategy: choose what it starts from").on_disabled_hover_text(most);
    });
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
    let button = Button::new(name).min_size(vec2(width, 22.0));
    let response = ui.add_enabled(refusal.is_none(), button);
    let hint = refusal.map_or_else(|| explanation.to_owned(), |why| format!("{explanation}\n\n{why}"));
    let response = response.on_hover_text(&hint).on_disabled_hover_text(&hint);
    let label = format!("Add {name}");
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, refusal.is_none(), &label));
    let (text, color) = refusal.map_or((explanation, colors.muted), |why| (why, colors.warn));
    ui.add(Label::new(RichText::new(text).font(theme::caption()).color(color)).truncate())
        .on_hover_text(&hint);
    ui.add_space(space::TIGHT);
    response.clicked()
}
