//! Another aircraft for all strategies at once.

use crate::strategies::AircraftPick;
use crate::theme::{self, space};
use egui::{Button, Context, Frame, Id, Label, Modal, RichText, ScrollArea, Ui, vec2};
use obliquity_planning::{Aircraft, Scenario};

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub enum FleetAnswer {
    /// All strategies fly this one.
    Fly(AircraftPick),
    /// Everything stays as it is.
    Close,
}

/// Shows the aircraft of the scenario and of the user's library; an answer closes it.
pub fn ask_fleet(ctx: &Context, scenario: &Scenario, library: &[Aircraft]) -> Option<FleetAnswer> {
    let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 360.0);
    let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
    let shown = Modal::new(Id::unique("fly all with")).frame(frame).show(ctx, |ui| {
        ui.set_width(width);
        ui.spacing_mut().item_spacing.y = space::TIGHT;
        content(ui, scenario, library)
    });
    if shown.should_close() { Some(FleetAnswer::Close) } else { shown.inner }
}

fn content(ui: &mut Ui, scenario: &Scenario, library: &[Aircraft]) -> Option<FleetAnswer> {
    ui.label(RichText::new("Fly all strategies with").font(theme::title()));
    let muted = theme::of(ui).muted;
    let note = "Each keeps its height or its GSD, whichever it is set by. One undo brings all back.";
    ui.add(Label::new(RichText::new(note).font(theme::caption()).color(muted)).wrap());
    let mut answer = None;
    ScrollArea::vertical().id_salt("fleet").max_height(320.0).show(ui, |ui| {
        ui.label(RichText::new("In this scenario").font(theme::caption()).color(muted));
        for one in &scenario.equipment.aircraft {
            let by_all = scenario.strategies.iter().all(|strategy| strategy.aircraft == one.id);
            let button = Button::new(&one.name).truncate().min_size(vec2(ui.available_width(), 26.0));
            let button = ui.add_enabled(!by_all, button);
            if button.on_disabled_hover_text("All strategies fly it already").clicked() {
                answer = Some(FleetAnswer::Fly(AircraftPick::Known(one.id)));
            }
        }
        if !library.is_empty() {
            ui.label(RichText::new("From my library").font(theme::caption()).color(muted));
        }
        for one in library {
            let button = Button::new(&one.name).truncate().min_size(vec2(ui.available_width(), 26.0));
            if ui.add(button).on_hover_text("A copy of it comes into the scenario").clicked() {
                answer = Some(FleetAnswer::Fly(AircraftPick::New(Box::new(one.clone()))));
            }
        }
    });
    if ui.button("Cancel").clicked() {
        answer = Some(FleetAnswer::Close);
    }
    answer
}
