//! The kinds of job as they are drawn: a card each, a column for each fleet.

use super::ask::PurchaseAsk;
use super::input::{JobPart, PortfolioInput};
use super::inputs_view::field;
use super::model::{FleetState, JobCell, JobRow, PurchaseSheet};
use crate::form;
use crate::mark;
use crate::theme::{self, space};
use egui::{Align, Grid, Label, Layout, RichText, ScrollArea, Sense, Ui, vec2};

/// Width of the names to the left.
const NAME: f32 = 74.0;
/// Width of a fleet's column.
const COLUMN: f32 = 52.0;
/// Height of a line.
const ROW: f32 = 18.0;
/// Widths of the number of jobs and of their price.
const COUNT: f32 = 58.0;
const PRICE: f32 = 80.0;

/// Draws all of them: the fleets' marks on top, below them each kind of job.
pub(super) fn ui(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    form::card(ui, "", "", |ui| {
        ui.spacing_mut().interact_size.y = ROW;
        ScrollArea::horizontal().id_salt("jobs by fleet").show(ui, |ui| {
            for (job, own) in sheet.portfolio.jobs.iter().enumerate() {
                if job > 0 {
                    ui.separator();
                }
                ui.horizontal(|ui| {
                    ui.add(Label::new(RichText::new(&own.name).font(theme::body_strong())).truncate());
                    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                        field(ui, sheet, (PortfolioInput::Job(job, JobPart::Price), PRICE), asks);
                        ui.label("a year at");
                        field(ui, sheet, (PortfolioInput::Job(job, JobPart::Count), COUNT), asks);
                    });
                });
                if let Some(row) = sheet.known.as_ref().and_then(|known| known.jobs.get(job)) {
                    table(ui, (job, row), sheet.focus);
                    for line in &row.closed {
                        form::muted(ui, line);
                    }
                }
            }
        });
    });
}

/// One line of the table: its name, and what stands in a fleet's cell.
type JobLine = (&'static str, fn(&JobCell) -> &str);

fn table(ui: &mut Ui, (job, row): (usize, &JobRow), focus: usize) {
    let lines: [JobLine; 3] = [
        ("min on site", |cell| &cell.minutes),
        ("days a job", |cell| &cell.days),
        ("a job leaves", |cell| &cell.leaves),
    ];
    let colors = theme::of(ui);
    let told = row.cells.iter().any(|cell| cell.state != FleetState::Flown);
    let grid = Grid::new(("job table", job)).num_columns(1 + row.cells.len());
    grid.min_row_height(ROW).spacing(vec2(space::HAIR, 0.0)).show(ui, |ui| {
        name(ui, "");
        for fleet in 0..row.cells.len() {
            right(ui, |ui| {
                mark::put(ui, fleet);
            });
        }
        ui.end_row();
        if told {
            name(ui, "");
            for cell in &row.cells {
                let color = match cell.state {
                    FleetState::Flown | FleetState::BoughtIn => colors.muted,
                    FleetState::Opened => colors.good,
                    FleetState::Closed => colors.bad,
                };
                let text = RichText::new(cell.state.word()).font(theme::caption()).color(color);
                right(ui, |ui| drop(ui.add(Label::new(text).extend()).on_hover_text(&cell.told)));
            }
            ui.end_row();
        }
        for (text, of) in lines {
            name(ui, text);
            for (fleet, cell) in row.cells.iter().enumerate() {
                let font = if fleet == focus { theme::caption_strong() } else { theme::caption() };
                let text = RichText::new(of(cell)).font(font);
                right(ui, |ui| drop(ui.label(text).on_hover_text(&cell.told)));
            }
            ui.end_row();
        }
    });
}

fn name(ui: &mut Ui, text: &str) {
    let (area, _) = ui.allocate_exact_size(vec2(NAME, ROW), Sense::hover());
    let muted = theme::of(ui).muted;
    ui.painter().text(area.left_center(), egui::Align2::LEFT_CENTER, text, theme::caption(), muted);
}

fn right(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(vec2(COLUMN, ROW), Layout::right_to_left(Align::Center), |ui| {
        ui.set_width(COLUMN);
        content(ui);
    });
}
