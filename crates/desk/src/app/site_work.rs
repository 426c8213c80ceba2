//! What the window does to the site: another one in its place, terrain, what stands on it.

use super::App;
use crate::amendment::{Amendment, Part, Subject};
use crate::dialogs::{Dialog, Framed, Purpose, Refusal};
use crate::document::Edit;
use crate::drawn_edits;
use crate::files;
use crate::first_use::{Buildings, BuildingsAnswer};
use crate::new_site::{NewSite, SiteFrame};
use crate::plan::PlanWant;
use crate::screen::Screen;
use crate::site_panel::ground_text;
use crate::target::Target;
use egui::Context;
use obliquity_exchange::{FileError, FileErrorKind, RasterFrame, TerrainImport, utm_zone};
use obliquity_planning::{Site, Terrain, TypicalBuilding, polygon};
use std::path::Path;
use std::sync::Arc;

/// The zone that is proposed for a site that is nowhere.
const NO_ZONE: u8 = 31;

impl App {
    pub(super) fn put_site(&mut self, what: impl Into<Subject>, site: Site) {
        self.edit(&Edit::Amend(Amendment { what: what.into(), part: Part::Site(Arc::new(site)) }));
    }

    /// Does what was asked for by drawing on the plan.
    pub(super) fn take_drawn(&mut self) {
        let focus = self.focus();
        drawn_edits::follow(&mut self.document, &mut self.beside.state.draw, focus);
    }

    /// Does what was asked for beside the plan of a site that is not drawn yet.
    pub(super) fn take_wanted(&mut self, ctx: &Context) {
        match self.beside.state.want.take() {
            Some(PlanWant::Picture) => self.pick(Purpose::ImportUnderlay, ctx),
            Some(PlanWant::PictureTyped) => self.ask_path(Purpose::ImportUnderlay, ""),
            Some(PlanWant::Boundary) => self.pick(Purpose::ImportBoundary, ctx),
            None => {}
        }
    }

    /// Shows the plan with something on it chosen.
    pub(super) fn choose_on_plan(&mut self, target: Target) {
        self.turn_to(Screen::PLAN);
        self.beside.state.choose(target);
    }

    /// Shows the plan with the tool in hand that draws the boundary.
    pub(super) fn draw_boundary(&mut self) {
        self.turn_to(Screen::PLAN);
        self.beside.state.begin_boundary();
    }

    /// Whether the ground is a grid of heights.
    pub(super) fn has_terrain(&self) -> bool {
        matches!(self.document.scenario().site.terrain, Terrain::Grid(_))
    }

    /// Puts heights in place of the ground, and says what came.
    pub(super) fn take_terrain(
        &mut self,
        site: &Arc<Site>,
        path: &Path,
        frame: RasterFrame,
        read: Result<TerrainImport, FileError>,
    ) -> Result<(), Refusal> {
        match read {
            // They were cut to another site.
            Ok(_) if !Arc::ptr_eq(site, &self.document.scenario().site) => {
                self.import_terrain(path, frame);
                Ok(())
            }
            Ok(import) => {
                let terrain = Terrain::Grid(Arc::new(import.grid));
                let summary = ground_text(&terrain, self.units);
                self.document.end_gesture();
                let what = format!("terrain of {}", files::short_name(path));
                self.put_site(what, Site { terrain, ..(**site).clone() });
                self.document.end_gesture();
                if self.dialog.is_none() {
                    let notes = std::iter::once(summary).chain(import.notes);
                    self.tell("The terrain was imported", &notes.collect::<Vec<_>>().join("\n"));
                }
                Ok(())
            }
            Err(error) if error.kind == FileErrorKind::Unplaced && frame == RasterFrame::OfFile => {
                let zone = site.origin.map_or(NO_ZONE, utm_zone);
                let (path, frame, note) = (path.to_owned(), RasterFrame::Local, String::new());
                self.dialog = Some(Dialog::Frame { what: Framed::Terrain, path, frame, zone, note });
                Ok(())
            }
            Err(error) => Err(Refusal::new("The terrain was not imported", &error)),
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

    /// What the screens ask above everything else, and what is due at the end of a gesture.
    pub(super) fn ask_buildings(&mut self, ctx: &Context) {
        if let Some(answer) =
            self.side.buildings.as_mut().and_then(|question| question.show(ctx, self.home.units()))
        {
            self.side.buildings = None;
            self.side.bare = None;
            match answer {
                BuildingsAnswer::Assume(building) => self.assume(Some(building)),
                BuildingsAnswer::Nothing => {
                    self.assume(None);
                    self.side.bare = Some(Arc::clone(&self.document.scenario().site));
                }
            }
        }
    }

    /// Whether nothing stands on the site.
    pub(super) fn lacks_structures(&self) -> bool {
        let site = &self.document.scenario().site;
        site.structures.is_empty() && site.typical_building.is_none()
    }

    /// Asks what stands on a site on which nothing is modelled.
    pub(super) fn assume_buildings(&mut self) {
        let site = &self.document.scenario().site;
        if site.structures.is_empty() {
            self.side.buildings = Some(Buildings::on(site));
        } else {
            self.tell(
                "Buildings stand there already",
                "The site has structures of its own; none are assumed.",
            );
        }
    }

    /// Asks about buildings if nothing stands on the site.
    pub(super) fn ask_about_buildings(&mut self) {
        if self.lacks_structures() {
            self.side.buildings = Some(Buildings::on(&self.document.scenario().site));
        }
    }

    /// Puts another site in place; where something of the present one would go, it asks first.
    pub(super) fn new_site(&mut self, new: NewSite, notes: Vec<String>) {
        if new.goes.is_empty() {
            self.put_new_site(new, &notes);
        } else {
            self.dialog = Some(Dialog::Goes { new: Box::new(new), notes });
        }
    }

    /// Puts another site in place, shows the board, says what came with it, and asks what stands on the site. A job that
    /// is begun from the demo is flown today, not on the demo's day.
    pub(super) fn put_new_site(&mut self, new: NewSite, notes: &[String]) {
        let NewSite { site, frame, .. } = new;
        let of_demo = || {
            files::demo()
                .is_ok_and(|demo| demo.conditions.mission == self.document.scenario().conditions.mission)
        };
        let begun = frame == SiteFrame::Another && self.document.path().is_none() && of_demo();
        let mission = begun.then(files::next_mission);
        self.document.end_gesture();
        self.edit(&Edit::ReplaceSite { site: Arc::new(site), frame, mission });
        self.document.end_gesture();
        if !notes.is_empty() {
            self.tell("The boundary was imported", &notes.join("\n"));
        }
        let begun = self.side.screen == Screen::BEGIN;
        self.turn_to(Screen::BOARD);
        if begun {
            self.ask_about_buildings();
        }
    }

    fn assume(&mut self, typical_building: Option<TypicalBuilding>) {
        let site = Site { typical_building, ..(*self.document.scenario().site).clone() };
        let (site, frame) = (Arc::new(site), SiteFrame::Kept);
        self.edit(&Edit::ReplaceSite { site, frame, mission: None });
        self.document.end_gesture();
    }
}
