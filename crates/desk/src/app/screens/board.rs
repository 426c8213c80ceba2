//! The board in the window.

use crate::app::App;
use crate::board;
use crate::dialogs::Purpose;
use crate::first_use::Buildings;
use crate::screen::Screen;
use crate::theme::{self, space};
use egui::{Frame, Margin, Panel, RichText, Ui};
use std::sync::Arc;

impl App {
    pub(super) fn board_screen(&mut self, ui: &mut Ui) {
        self.offer_buildings(ui);
        self.beside_board(ui);
        let mut asks = Vec::new();
        if let Some(board) = &self.board {
            board::ui(ui, board, &self.session(), &mut asks);
        }
        for ask in asks {
            self.apply(ask);
        }
    }

    /// A line above the board where roofs and walls cannot be judged, since nothing stands on the site.
    fn offer_buildings(&mut self, ui: &mut Ui) {
        let site = &self.document.scenario().site;
        if self.side.buildings.is_some()
            || !self.lacks_structures()
            || self.side.bare.as_ref().is_some_and(|bare| Arc::ptr_eq(bare, site))
        {
            return;
        }
        let colors = theme::of(ui);
        let frame = Frame::new().fill(colors.page).inner_margin(Margin::symmetric(16, 4));
        let (mut asked, mut describe, mut terrain) = (None, false, false);
        Panel::top("nothing stands").frame(frame).show_separator_line(false).show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = space::ROW;
                let text = "Nothing is modelled on the site, so roofs and walls cannot be judged.";
                ui.label(RichText::new(text).color(colors.warn));
                if ui.button("Assume buildings…").clicked() {
                    asked = Some(true);
                }
                if ui.button("Describe structures…").clicked() {
                    describe = true;
                }
                if !self.has_terrain() && ui.button("Import terrain…").clicked() {
                    terrain = true;
                }
                if ui.button("Nothing stands there").clicked() {
                    asked = Some(false);
                }
            });
        });
        if describe {
            self.turn_to(Screen::SITE);
        }
        if terrain {
            self.pick(Purpose::ImportTerrain, &ui.ctx().clone());
        }
        match asked {
            Some(true) => self.side.buildings = Some(Buildings::on(&self.document.scenario().site)),
            Some(false) => self.side.bare = Some(Arc::clone(&self.document.scenario().site)),
            None => {}
        }
    }
}
