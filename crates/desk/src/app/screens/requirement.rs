//! What the job must deliver.

use crate::amendment::{Amendment, Part, Terms};
use crate::app::App;
use crate::document::Edit;
use crate::requirement_panel;
use egui::Ui;

impl App {
    pub(super) fn requirement_screen(&mut self, ui: &mut Ui) {
        let mut asks = Vec::new();
        let terms = Terms::of(self.document.scenario());
        let given = requirement_panel::GivenTerms {
            terms: &terms,
            unmodelled: &self.figures.unmodelled(self.document.scenario()),
            headline: self.headline(),
            units: self.units,
        };
        requirement_panel::ui(ui, &given, &mut asks);
        for ask in asks {
            match ask {
                requirement_panel::RequirementAsk::Put { what, terms } => {
                    self.edit(&Edit::Amend(Amendment { what, part: Part::Terms(terms) }));
                }
            }
        }
    }
}
