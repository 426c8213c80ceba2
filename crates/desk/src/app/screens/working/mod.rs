//! How a figure comes about: opened by a click on a figure of the board.

mod model;
mod view;

use model::WorkingSheet;

use crate::app::App;
use crate::theme::{self, space};
use egui::{Frame, Ui};
use obliquity_planning::{MeasureId, measure};

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
enum WorkingAsk {
    /// Another figure.
    Figure(MeasureId),
}

impl App {
    /// How the figure last chosen comes about for the strategy in focus.
    pub(super) fn working_screen(&mut self, ui: &mut Ui) {
        let (strategies, column) = self.beside.strategies();
        let known =
            strategies.get(column).and_then(|(id, _)| self.figures.known(self.document.scenario(), *id));
        let sheet = WorkingSheet::new(measure(self.side.figure), known);
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            view::ui(ui, &sheet, &mut asks);
        });
        for ask in asks {
            match ask {
                WorkingAsk::Figure(figure) => self.side.figure = figure,
            }
        }
    }
}
