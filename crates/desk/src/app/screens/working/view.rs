//! The working as it is drawn: one card a step.

use super::WorkingAsk;
use super::model::WorkingSheet;
use crate::figures::Freshness;
use crate::theme::{self, space};
use egui::{ComboBox, Frame, Grid, Label, RichText, ScrollArea, Stroke, Ui};
use obliquity_exchange::StepRow;
use obliquity_planning::{MEASURES, measure};

/// Lines are never set wider.
const WIDEST: f32 = 760.0;
/// Share of a step's width beyond which what is said of a term wraps.
const WIDEST_TERM: f32 = 0.42;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &WorkingSheet, asks: &mut Vec<WorkingAsk>) {
    tools(ui, sheet, asks);
    ui.add_space(space::ROW);
    ScrollArea::vertical().id_salt("working").auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(WIDEST.min(ui.available_width()));
        let colors = theme::of(ui);
        ui.add(Label::new(RichText::new(sheet.explanation).color(colors.muted)).wrap());
        if sheet.freshness == Freshness::Stale {
            let text = "Of earlier settings: the new ones are being worked out.";
            ui.label(RichText::new(text).color(colors.warn));
        }
        ui.add_space(space::ROW);
        match &sheet.steps {
            Ok(steps) => steps.iter().enumerate().for_each(|(number, row)| step(ui, number, row)),
            Err(why) => {
                ui.add(Label::new(why).wrap());
            }
        }
        ui.add_space(space::ROW);
        let note = "All values are metric, rounded as they are shown here.";
        ui.label(RichText::new(note).font(theme::caption()).color(colors.muted));
    });
}

fn tools(ui: &mut Ui, sheet: &WorkingSheet, asks: &mut Vec<WorkingAsk>) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = space::ROW;
        let figure = measure(sheet.figure).name;
        let chooser = ComboBox::from_id_salt("working of figure").selected_text(figure).width(240.0);
        let chosen = chooser.show_ui(ui, |ui| {
            for other in MEASURES {
                if ui.selectable_label(other.id == sheet.figure, other.name).clicked() {
                    asks.push(WorkingAsk::Figure(other.id));
                }
            }
        });
        spoken(ui, chosen.response.id, format!("Figure: {figure}"));
    });
}

fn spoken(ui: &Ui, id: egui::Id, text: String) {
    ui.ctx().accesskit_node_builder(id, |node| node.set_label(text));
}

/// A step: its formula, its terms, its result, its source.
fn step(ui: &mut Ui, number: usize, row: &StepRow) {
    let colors = theme::of(ui);
    let frame = Frame::new().fill(colors.surface).corner_radius(6.0).inner_margin(space::GROUP);
    frame.stroke(Stroke::new(1.0, colors.rule)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(&row.heading).font(theme::body_strong()));
        ui.label(&row.formula);
        ui.add_space(space::TIGHT);
        let grid = Grid::new(("terms", number)).num_columns(4).spacing([space::PAGE, space::TIGHT]);
        grid.max_col_width(WIDEST_TERM * ui.available_width()).show(ui, |ui| {
            for term in &row.terms {
                ui.label(term.symbol);
                ui.label(&term.name);
                ui.label(&term.value);
                ui.label(RichText::new(&term.origin).font(theme::caption()).color(colors.muted));
                ui.end_row();
            }
        });
        ui.add_space(space::TIGHT);
        ui.label(RichText::new(&row.result).font(theme::body_strong()));
        ui.add(Label::new(RichText::new(row.source).font(theme::caption()).color(colors.muted)).wrap());
    });
    ui.add_space(space::ROW);
}
