//! Passes of the strategy in focus, and what the site is made of: terrain, structures, samples.

use super::App;
use super::screens::{Screen, Side};
use crate::amendment::{Amendment, Part};
use crate::dialogs::Dialog;
use crate::document::Edit;
use crate::files;
use crate::passes::{self, PassesAsk};
use crate::site_panel::{self, SiteAsk, ground_text};
use crate::strategies::{Offer, offers};
use egui::Ui;
use obliquity_exchange::{FileErrorKind, RasterFrame, read_terrain};
use obliquity_planning::{Distance, Id, Scenario, Site, SiteOutline, SiteTemplate, Terrain, polygon};
use std::path::Path;
use std::sync::Arc;

/// What is known of a site as long as it stays the same.
#[derive(Debug)]
pub(super) struct Known {
    site: Arc<Site>,
    offers: Vec<Offer>,
    /// Nothing of a site that is not sound.
    outline: Option<Arc<SiteOutline>>,
}

impl Known {
    /// The site as passes see it; nothing of one that is not sound.
    pub(super) fn outline(&self) -> Option<&Arc<SiteOutline>> {
        self.outline.as_ref()
    }
}

impl Side {
    /// Brings what is known of the site up to the scenario.
    pub(super) fn follow_site(&mut self, scenario: &Scenario) {
        if self.known.as_ref().is_some_and(|known| Arc::ptr_eq(&known.site, &scenario.site)) {
            return;
        }
        let outline = SiteOutline::new(&scenario.site).ok().map(Arc::new);
        let (site, offers) = (Arc::clone(&scenario.site), offers(scenario));
        self.known = Some(Known { site, offers, outline });
    }

    /// The templates that are laid on the site.
    pub(super) fn offers(&self) -> &[Offer] {
        self.known.as_ref().map(|known| known.offers.as_slice()).unwrap_or_default()
    }

    /// Why a template does not fit the site; nothing where it does.
    pub(super) fn refusal(&self, template: SiteTemplate) -> Option<&str> {
        self.offers().iter().find(|offer| offer.template == template)?.refusal.as_deref()
    }
}

impl App {
    /// Draws the passes of the strategy in focus, with the plan beside them.
    pub(super) fn passes_screen(&mut self, ui: &mut Ui) {
        let Some(focus) = self.focus() else {
            self.turn_to(Screen::Board);
            return;
        };
        self.beside_board(ui);
        let scenario = Arc::clone(self.document.scenario());
        let known = self.figures.known(&scenario, focus);
        let columns = self.board.as_ref().map(|board| board.columns.as_slice()).unwrap_or_default();
        let names: Vec<_> =
            columns.iter().map(|column| (column.strategy, column.name.clone(), column.slot)).collect();
        let outline = self.side.known.as_ref().and_then(|known| known.outline.as_deref());
        let given = passes::Given {
            scenario: &scenario,
            strategy: focus,
            quick: known.map(|known| known.quick),
            names: &names,
            outline,
            advice: self.advice(&scenario, focus),
            units: self.units,
        };
        let mut asks = Vec::new();
        if let Some(shown) = passes::Passes::of(&given, self.side.pass) {
            passes::ui(ui, &shown, &mut asks);
        }
        for ask in asks {
            match ask {
                PassesAsk::Close => self.turn_to(Screen::Board),
                PassesAsk::Focus(id) => self.focus = Some(id),
                PassesAsk::Select(pass) => self.side.pass = Some(pass),
                PassesAsk::Advice(ask) => self.advice_asked(ask),
                PassesAsk::Order(order) => {
                    let name = scenario.strategy(focus).map_or("", |strategy| strategy.name.as_str());
                    let what = format!("flying order of {name}");
                    self.edit(&Edit::Amend(Amendment { what, part: Part::Order(focus, order) }));
                }
                PassesAsk::Put { what, passes, select } => self.put_passes(focus, what, passes, select),
            }
        }
    }

    fn put_passes(
        &mut self,
        strategy: Id,
        what: String,
        passes: Vec<obliquity_planning::Pass>,
        select: Option<Id>,
    ) {
        let before = Arc::clone(self.document.scenario());
        self.edit(&Edit::Amend(Amendment { what, part: Part::Passes(strategy, passes) }));
        if let Some(distance) = changed_distance(&before, self.document.scenario(), strategy) {
            self.lead_others_to(strategy, distance);
        }
        self.moved = Some(strategy);
        self.side.pass = select.or(self.side.pass);
    }

    /// Draws what the site is made of.
    pub(super) fn site_screen(&mut self, ui: &mut Ui) {
        self.beside_board(ui);
        let scenario = Arc::clone(self.document.scenario());
        let columns = scenario.strategies.iter();
        let mut views = columns.filter_map(|strategy| self.figures.known(&scenario, strategy.id)?.views);
        let sampled = views.find_map(|outcome| outcome.site.as_ref());
        let given = site_panel::Given {
            scenario: &scenario,
            spacing_m: sampled.map(|site| site.spacing_m),
            units: self.units,
        };
        let mut asks = Vec::new();
        site_panel::ui(ui, &given, &mut self.side.site_state, &mut asks);
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                SiteAsk::Close => self.turn_to(Screen::Board),
                SiteAsk::Put { what, site } => self.put_site(what, *site),
                SiteAsk::ImportTerrain => self.pick(crate::dialogs::Purpose::ImportTerrain, &ctx),
                SiteAsk::ImportTerrainTyped => self.ask_path(crate::dialogs::Purpose::ImportTerrain, ""),
                SiteAsk::RemoveTerrain => self.remove_terrain(),
            }
        }
    }

    fn put_site(&mut self, what: String, site: Site) {
        self.edit(&Edit::Amend(Amendment { what, part: Part::Site(Arc::new(site)) }));
    }

    /// Whether the ground is a grid of heights.
    pub(super) fn has_terrain(&self) -> bool {
        matches!(self.document.scenario().site.terrain, Terrain::Grid(_))
    }

    /// Puts the heights of a file in place of the ground, and says what came.
    pub(super) fn import_terrain(&mut self, path: &Path, frame: RasterFrame) {
        let site = Arc::clone(&self.document.scenario().site);
        match read_terrain(path, &site, frame) {
            Ok(import) => {
                let terrain = Terrain::Grid(Arc::new(import.grid));
                let summary = ground_text(&terrain, self.units);
                self.document.end_gesture();
                let what = format!("terrain of {}", files::short_name(path));
                self.put_site(what, Site { terrain, ..(*site).clone() });
                self.document.end_gesture();
                if self.dialog.is_none() {
                    let notes = std::iter::once(summary).chain(import.notes);
                    self.tell("The terrain was imported", &notes.collect::<Vec<_>>().join("\n"));
                }
            }
            Err(error) if error.kind == FileErrorKind::Unplaced && frame == RasterFrame::OfFile => {
                self.dialog = Some(Dialog::Frame { path: path.to_owned(), frame: RasterFrame::Local });
            }
            Err(error) => self.tell("The terrain was not imported", &error.to_string()),
        }
    }

    /// Makes the ground level at the height that it has in the middle of the site.
    pub(super) fn remove_terrain(&mut self) {
        let site = Arc::clone(&self.document.scenario().site);
        if !self.has_terrain() {
            return;
        }
        let middle = site.terrain.height_m(polygon::centroid_m(&site.boundary_m));
        let terrain = Terrain::Plane { at_origin_m: middle, slope_east: 0.0, slope_north: 0.0 };
        self.put_site("remove terrain".to_owned(), Site { terrain, ..(*site).clone() });
        self.document.end_gesture();
    }
}

/// The distance of a strategy's pass that has another one than before.
fn changed_distance(before: &Scenario, after: &Scenario, strategy: Id) -> Option<Distance> {
    let before = &before.strategy(strategy)?.passes;
    let was = |id: Id| before.iter().find(|pass| pass.id == id).map(|pass| pass.distance);
    let passes = after.strategy(strategy)?.passes.iter();
    passes
        .filter(|pass| was(pass.id).is_some_and(|was| was != pass.distance))
        .map(|pass| pass.distance)
        .next()
}
