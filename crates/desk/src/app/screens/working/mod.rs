//! How a figure comes about: opened by a click on a figure of board, card, passes or timeline.

mod model;
mod view;

use model::{Goal, WorkingSheet};

use super::ScreenRow;
use crate::app::App;
use crate::screen::Screen;
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_planning::{MeasureId, measure};

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
enum WorkingAsk {
    /// Where a value is from, or another figure.
    Go(Goal),
    /// The screen before.
    Back,
}

impl App {
    /// Which figure's working is shown, once it is shown.
    pub fn work_on(&mut self, figure: MeasureId) {
        self.side.figure = figure;
    }

    /// Shows how a figure of the strategy in focus comes about.
    pub(in crate::app) fn show_working(&mut self, figure: MeasureId) {
        self.side.figure = figure;
        self.turn_to(Screen::WORKING);
    }

    /// The working as a table: a line for each term, then what its step comes to.
    pub(super) fn working_table(&self) -> Option<String> {
        let steps = self.working_sheet().steps.ok()?;
        let mut text = String::new();
        for step in &steps {
            text += &tsv::line([&step.heading, &step.formula]);
            for term in &step.terms {
                text += &tsv::line([term.symbol, &term.name, &term.value, &term.from]);
            }
            for line in &step.lines {
                text += &tsv::line([&line.name, &line.own.join(", "), &line.gives]);
            }
            text += &tsv::line([&step.result, step.source]);
        }
        Some(text)
    }

    fn working_sheet(&self) -> WorkingSheet {
        let (strategies, column) = self.beside.strategies();
        let known =
            strategies.get(column).and_then(|(id, _)| self.figures.known(self.document.scenario(), *id));
        let before = self.screen_before().map(|screen| ScreenRow::of(screen).title);
        let focus = strategies.get(column).map(|(id, _)| *id);
        let mut columns = self.board.iter().flat_map(|board| &board.columns);
        let own = columns.find(|column| Some(column.strategy) == focus);
        let against = own.and_then(|column| column.against.clone());
        WorkingSheet::new(measure(self.side.figure), known, before, against)
    }

    /// How the figure last chosen comes about for the strategy in focus.
    pub(super) fn working_screen(&mut self, ui: &mut Ui) {
        let sheet = self.working_sheet();
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            view::ui(ui, &sheet, &mut asks);
        });
        for ask in asks {
            match ask {
                WorkingAsk::Go(Goal::Figure(figure)) => self.side.figure = figure,
                WorkingAsk::Go(Goal::Screen(screen)) => self.turn_to(screen),
                WorkingAsk::Go(Goal::Pass(pass)) => {
                    self.side.pass = Some(pass);
                    self.turn_to(Screen::PASSES);
                }
                WorkingAsk::Back => self.turn_back_to_screen(),
            }
        }
    }
}
