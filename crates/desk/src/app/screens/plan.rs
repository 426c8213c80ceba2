//! Plan and view angles, large.

use crate::app::App;
use crate::theme::{self, space};
use egui::{Frame, Ui};
use obliquity_planning::Id;
use std::sync::Arc;

impl App {
    pub(super) fn plan_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let shown = self.space.panes().into_iter().map(|pane| &self.space.shown()[pane]);
        let panes: Vec<(Id, usize)> = shown.map(|shown| (shown.strategy, shown.slot)).collect();
        if panes.len() > 1 {
            let wanted: Vec<Id> = panes.iter().map(|(id, _)| *id).collect();
            let scenario = Arc::clone(self.document.scenario());
            self.beside.follow_plans(&scenario, &self.figures, &wanted, self.units);
        }
        let (beside, space, units) = (&mut self.beside, &mut self.space, self.units);
        let panel = egui::CentralPanel::default().frame(frame);
        panel.show(ui, |ui| beside.large(ui, &panes, space, units));
    }
}
