//! What a site without a boundary has in place of view angles: the ways to begin.

use super::state::{PlanState, PlanWant};
use crate::theme::{self, space};
use egui::{Label, RichText, Ui};

/// Draws them into what is left of `ui`.
pub(super) fn ui(ui: &mut Ui, state: &mut PlanState) {
    ui.spacing_mut().item_spacing.y = space::ROW;
    ui.label(RichText::new("Begin with what you have").font(theme::title()));
    told(ui, "Draw over a plan or an orthophoto: it comes to lie below everything that you draw.");
    ui.horizontal_wrapped(|ui| {
        wanted(ui, state, "Draw over a picture…", PlanWant::Picture);
        wanted(ui, state, "Type the picture's path…", PlanWant::PictureTyped);
    });
    told(ui, "Or bring the outline as a GeoJSON, KML or KMZ file.");
    ui.horizontal_wrapped(|ui| {
        wanted(ui, state, "Choose a boundary file…", PlanWant::Boundary);
    });
    told(ui, "Either file can be dropped on this window. Without any, click the corners, or type them.");
    told(ui, "Nothing is measured before there is a boundary: figures and view angles come with it.");
}

fn wanted(ui: &mut Ui, state: &mut PlanState, name: &str, want: PlanWant) {
    if ui.button(name).clicked() {
        state.want = Some(want);
    }
}

fn told(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
}
