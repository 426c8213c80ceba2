use super::ask::BoardAsk;
use super::grid::Grid;
use super::model::Board;
use crate::document::hold_name;
use crate::strategies::Change;
use crate::theme::{self, space};
use egui::{ComboBox, Rect, RichText, Ui, UiBuilder, pos2};
use obliquity_planning::Hold;

const HOLD_HINT: &str = "A comparison is fair when something is equal: at the same GSD, what does each cost; in the same \
                         time, what does each deliver. The program sets the free input of every strategy. Common \
                         practice.";
const REFERENCE_HINT: &str = "The others show under each figure how far they are from this strategy's, and a lozenge \
                              beside each setting that is unlike its own.";

/// What is held equal, and which strategy the others are held against; returns where it ends.
pub(super) fn corner(ui: &mut Ui, grid: &Grid, board: &Board, top: f32, asks: &mut Vec<BoardAsk>) -> f32 {
    let area = Rect::from_min_max(
        pos2(grid.left, top + space::TIGHT),
        pos2(grid.margin_right() - space::ROW, f32::INFINITY),
    );
    let shown = ui.scope_builder(UiBuilder::new().id_salt("corner").max_rect(area), |ui| {
        ui.set_width(area.width());
        ui.spacing_mut().item_spacing.y = space::HAIR;
        hold(ui, board, area.width(), asks);
        ui.add_space(space::TIGHT);
        reference(ui, board, area.width(), asks);
    });
    shown.response.rect.bottom() + space::ROW
}

fn title(ui: &mut Ui, text: &str, hint: &str) {
    let color = theme::of(ui).muted;
    ui.label(RichText::new(text).font(theme::caption()).color(color)).on_hover_text(hint);
}

fn hold(ui: &mut Ui, board: &Board, width: f32, asks: &mut Vec<BoardAsk>) {
    title(ui, "Hold equal", HOLD_HINT);
    let name = |hold: Option<Hold>| hold.map_or("nothing", hold_name);
    let combo = ComboBox::from_id_salt("hold").width(width).truncate().selected_text(name(board.hold));
    let mut chosen = board.hold;
    ui.name_inputs("Hold equal", |ui| {
        combo.show_ui(ui, |ui| {
            for hold in [None, Some(Hold::Gsd), Some(Hold::Height), Some(Hold::TimeOnSite)] {
                ui.selectable_value(&mut chosen, hold, name(hold));
            }
        });
    });
    if chosen != board.hold {
        asks.push(BoardAsk::Hold(chosen));
    }
    if !board.hold_note.is_empty() {
        let color = theme::of(ui).muted;
        ui.label(RichText::new(&board.hold_note).font(theme::caption()).color(color));
    }
}

fn reference(ui: &mut Ui, board: &Board, width: f32, asks: &mut Vec<BoardAsk>) {
    title(ui, "Differences from", REFERENCE_HINT);
    let named = board.columns.iter().find(|column| Some(column.strategy) == board.reference);
    let shown = named.map_or("no reference", |column| column.name.as_str());
    let mut chosen = board.reference;
    ui.name_inputs("Differences from", |ui| {
        ComboBox::from_id_salt("reference").width(width).truncate().selected_text(shown).show_ui(ui, |ui| {
            ui.selectable_value(&mut chosen, None, "no reference");
            for column in &board.columns {
                ui.selectable_value(&mut chosen, Some(column.strategy), &column.name);
            }
        });
    });
    if chosen != board.reference {
        asks.push(BoardAsk::Change(Change::Reference(chosen)));
    }
}
