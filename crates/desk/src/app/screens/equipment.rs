//! Every number of every aircraft, of the scenario and of the library.

use crate::amendment::{Amendment, Part, flown_by};
use crate::app::App;
use crate::dialogs::Purpose;
use crate::document::Edit;
use crate::equipment::{self, Shelf, Stock};
use egui::Ui;
use obliquity_exchange::chart::{Chart, power_charts};
use obliquity_planning::{Aircraft, Equipment};
use std::sync::Arc;

impl App {
    pub(super) fn equipment_screen(&mut self, ui: &mut Ui) {
        let scenario = Arc::clone(self.document.scenario());
        let flown: Vec<_> =
            scenario.equipment.aircraft.iter().map(|one| (one.id, flown_by(&scenario, one.id))).collect();
        let mut asks = Vec::new();
        let stock = Stock {
            scenario: &scenario.equipment,
            library: self.side.library.as_ref().map_err(String::as_str),
            flown_by: &flown,
            shelf: self.side.shelf,
            units: self.home.units(),
        };
        equipment::ui(ui, &stock, &mut asks);
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                equipment::EquipmentAsk::Save(how) => self.pick(Purpose::Charts(how), &ctx),
                equipment::EquipmentAsk::Show(shelf) => self.side.shelf = shelf,
                equipment::EquipmentAsk::Put { shelf: Shelf::Scenario, what, equipment } => {
                    let part = Part::Equipment(Arc::new(equipment));
                    self.edit(&Edit::Amend(Amendment { what, part }));
                }
                equipment::EquipmentAsk::Put { shelf: Shelf::Library, what, equipment } => {
                    self.put_in_library(what.label(), equipment);
                }
            }
        }
    }

    /// Power and endurance of every aircraft of the scenario.
    pub(super) fn equipment_charts(&self) -> Vec<Chart> {
        let aircraft = self.document.scenario().equipment.aircraft.iter();
        let of = |one: &Aircraft| {
            Some(
                power_charts(one, self.home.units())?
                    .map(|chart| Chart { title: format!("{}: {}", one.name, chart.title), ..chart }),
            )
        };
        aircraft.filter_map(of).flatten().collect()
    }

    fn put_in_library(&mut self, what: &str, equipment: Equipment) {
        if let Some(fault) = equipment.faults().into_iter().next() {
            self.tell("The library was not changed", &fault.message);
            return;
        }
        self.side.library = Ok(equipment);
        self.side.library_changed = true;
        // The board offers what is in it.
        self.drawn_from = None;
        if let Some(name) = what.strip_prefix("save ") {
            self.tell("Saved", &format!("{name} is in your library now, and at hand in every scenario."));
        }
    }
}
