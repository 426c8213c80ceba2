//! The site in 3D, and its walls drawn flat.

use crate::app::App;
use crate::space::Look;
use crate::theme::{self, space};
use egui::{Frame, Ui};
use std::sync::Arc;

impl App {
    /// Brings the scenes up to the document.
    pub(in crate::app) fn follow_space(&mut self) {
        let columns = self.board.as_ref().map(|board| board.columns.as_slice()).unwrap_or_default();
        let strategies: Vec<_> =
            columns.iter().map(|column| (column.strategy, column.name.clone(), column.slot)).collect();
        let scenario = Arc::clone(self.document.scenario());
        self.space.follow(&scenario, &self.figures, &strategies, self.focus);
    }

    pub(super) fn space_screen(&mut self, ui: &mut Ui, look: Look) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let (space, units) = (&mut self.space, self.units);
        egui::CentralPanel::default().frame(frame).show(ui, |ui| space.ui(ui, look, units));
    }
}
