//! How the difference comes about, as it is drawn: a card a step.

use super::model::KnownPurchase;
use crate::form;
use crate::theme::{self, space};
use egui::{Align, Frame, Grid, Label, Layout, RichText, ScrollArea, Stroke, Ui, vec2};
use obliquity_exchange::MoneyStep;

/// Lines are never set wider.
const WIDEST: f32 = 700.0;

/// Draws it into all of `ui`.
pub(super) fn ui(ui: &mut Ui, known: &KnownPurchase) {
    ScrollArea::vertical().id_salt("purchase working").auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(WIDEST.min(ui.available_width()));
        if known.working.is_empty() {
            form::muted(ui, "It is the fleet that is kept: the others are held against it.");
        }
        for (number, step) in known.working.iter().enumerate() {
            card(ui, number, step);
            ui.add_space(space::ROW);
        }
        form::muted(ui, "Amounts to a hundredth, hours and shares to four decimals: enough to recompute each step by hand.");
    });
}

fn card(ui: &mut Ui, number: usize, step: &MoneyStep) {
    let colors = theme::of(ui);
    let frame = Frame::new().fill(colors.surface).stroke(Stroke::new(1.0, colors.rule)).corner_radius(6.0);
    frame.inner_margin(space::GROUP).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(&step.title).font(theme::body_strong()));
        ui.add(Label::new(&step.formula).wrap());
        ui.add_space(space::TIGHT);
        let width = ui.available_width();
        Grid::new(("step", number)).num_columns(2).spacing(vec2(space::PAGE, space::HAIR)).show(ui, |ui| {
            for (place, term) in step.terms.iter().chain([&step.result]).enumerate() {
                let strong = place == step.terms.len();
                let text = |text: &str| {
                    let font = if strong { theme::body_strong() } else { theme::body() };
                    RichText::new(text).font(font)
                };
                ui.scope(|ui| {
                    ui.set_width(0.72 * width);
                    ui.add(Label::new(text(&term.name)).wrap());
                });
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text(&term.text)));
                ui.end_row();
            }
        });
    });
}
