//! What the site is made of.

use crate::app::App;
use crate::figures::Freshness;
use crate::site_panel::{self, SiteAsk};
use egui::Ui;
use std::sync::Arc;

impl App {
    /// Draws what the site is made of.
    pub(super) fn site_screen(&mut self, ui: &mut Ui) {
        self.beside_board(ui);
        let scenario = Arc::clone(self.document.scenario());
        let known = scenario.strategies.iter().filter_map(|one| self.figures.known(&scenario, one.id));
        let spacings =
            known.filter_map(|known| Some((known.views?.site.as_ref()?.spacing_m, known.freshness)));
        let given = site_panel::GivenSite {
            scenario: &scenario,
            spacing: spacings.max_by_key(|(_, freshness)| *freshness == Freshness::Fresh),
            units: self.units,
        };
        let mut asks = Vec::new();
        let ctx = ui.ctx().clone();
        site_panel::ui(ui, &given, &mut self.side.site_state, &mut asks);
        for ask in asks {
            match ask {
                SiteAsk::Name { what, names } => self.name(what, names),
                SiteAsk::OnPlan(target) => self.choose_on_plan(target),
                SiteAsk::Put { what, site } => self.put_site(what, *site),
                SiteAsk::ImportTerrain => self.pick(crate::dialogs::Purpose::ImportTerrain, &ctx),
                SiteAsk::ImportTerrainTyped => self.ask_path(crate::dialogs::Purpose::ImportTerrain, ""),
                SiteAsk::RemoveTerrain => self.remove_terrain(),
            }
        }
    }
}
