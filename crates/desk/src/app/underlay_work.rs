//! The picture below the plan: brought in, found again, read, placed.

use super::App;
use super::requests::whole;
use crate::amendment::{Amendment, Part, ScenarioNames};
use crate::dialogs::{Dialog, Framed, Refusal};
use crate::document::Edit;
use crate::jobs::{Key, Lane, Same};
use crate::placing::{Placing, PlacingAnswer};
use crate::screen::Screen;
use crate::underlay::{self, NoPicture, ReadyPicture};
use crate::undrawn::is_undrawn;
use egui::Context;
use glam::DVec2;
use obliquity_exchange::{
    FileError, FileErrorKind, PictureError, PictureHead, RasterFrame, UnderlayMap, utm_zone,
};
use obliquity_planning::{GeoPoint, Underlay, UnderlayFrame, limits, polygon};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The zone that is proposed for a site that is nowhere.
const NO_ZONE: u8 = 31;

/// So far from zero coordinates of a map's grid go: northings of a UTM zone.
const FAR_M: f64 = 1e7;

/// The zero of a site whose picture lies far from it is moved there by so much, or a multiple.
const WHOLE_M: f64 = 1000.0;

/// Pixels at the corners of a picture, its edges included.
fn corners_px(underlay: &Underlay) -> [DVec2; 4] {
    let (right, bottom) = (f64::from(underlay.columns) - 0.5, f64::from(underlay.rows) - 0.5);
    [(-0.5, -0.5), (right, -0.5), (right, bottom), (-0.5, bottom)].map(DVec2::from)
}

/// Moves a picture in the site's own metres near to zero if it lies beyond what coordinates may be; gives by how much the
/// zero is moved then.
fn brought_near(underlay: &mut Underlay) -> Option<DVec2> {
    if underlay.coordinates != UnderlayFrame::Site {
        return None;
    }
    let corners = corners_px(underlay).map(|pixel| underlay.at(pixel));
    let far = |at_m: &DVec2| at_m.abs().max_element() > limits::COORDINATE_M.most;
    if !corners.iter().any(far) {
        return None;
    }
    let moved_m = (corners.iter().sum::<DVec2>() / 4.0 / WHOLE_M).round() * WHOLE_M;
    underlay.first -= moved_m;
    Some(moved_m)
}

/// A picture looked at.
#[derive(Debug, Clone, PartialEq)]
struct PictureLooked {
    path: PathBuf,
    frame: RasterFrame,
}

impl Key for PictureLooked {
    type Reply = Result<PictureHead, PictureError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("looking at the picture")
    }
}

/// Whether a TIFF holds heights or a picture.
#[derive(Debug, Clone, PartialEq)]
struct TiffSorted {
    path: PathBuf,
}

impl Key for TiffSorted {
    type Reply = Result<bool, FileError>;
    const LANE: Lane = Lane::Aside;
}

/// Whether pixels are for the plan, or for the question where they lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PixelsFor {
    Plan,
    Placing,
}

/// The pixels of a picture.
#[derive(Debug, Clone, PartialEq)]
struct PicturePixels {
    underlay: Same<Underlay>,
    what_for: PixelsFor,
}

impl Key for PicturePixels {
    type Reply = Result<ReadyPicture, NoPicture>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading the picture")
    }
}

impl App {
    /// Looks at a picture, to put it below the plan.
    pub(super) fn import_underlay(&mut self, path: &Path, frame: RasterFrame) {
        self.jobs.cancel(|_: &PictureLooked| true);
        let path = path.to_owned();
        let key = PictureLooked { path: path.clone(), frame };
        self.jobs.request(key, move |watch| underlay::look(&path, frame, watch));
        self.hear_files();
    }

    /// Takes a dropped TIFF for a picture or for heights, by what it holds.
    pub(super) fn sort_tiff(&mut self, path: PathBuf) {
        self.jobs.request(TiffSorted { path: path.clone() }, move |_| underlay::tells_a_picture(&path));
        self.hear_files();
    }

    /// Whether a picture is looked at that a question may come back for.
    pub(super) fn is_at_a_picture(&self) -> bool {
        self.jobs.is_open(|_: &PictureLooked| true)
    }

    /// Takes in what came of looking at pictures.
    pub(super) fn hear_pictures(&mut self) {
        for (TiffSorted { path }, answer) in self.jobs.take::<TiffSorted>() {
            match whole(answer) {
                Ok(true) => self.import_underlay(&path, RasterFrame::OfFile),
                Ok(false) => self.import_terrain(&path, RasterFrame::OfFile),
                Err(why) => self.refuse(&Refusal::new("The file was not imported", &why)),
            }
        }
        for (PictureLooked { path, .. }, answer) in self.jobs.take::<PictureLooked>() {
            match answer {
                Ok(Ok(head)) => self.take_head(&path, head),
                Ok(Err(PictureError::File(error))) if error.kind == FileErrorKind::Unplaced => {
                    let zone = self.document.scenario().site.origin.map_or(NO_ZONE, utm_zone);
                    let (what, frame, note) = (Framed::Underlay, RasterFrame::Local, String::new());
                    self.dialog = Some(Dialog::Frame { what, path, frame, zone, note });
                }
                Ok(Err(PictureError::Cancelled)) => {}
                Ok(Err(why)) => self.ask_again(Refusal::new("The picture was not imported", &why)),
                Err(why) => self.ask_again(Refusal::new("The picture was not imported", &why)),
            }
        }
        for (PicturePixels { underlay, what_for }, answer) in self.jobs.take::<PicturePixels>() {
            let read = answer.unwrap_or_else(|why| Err(NoPicture::Broken(why)));
            match what_for {
                PixelsFor::Plan => self.take_pixels(&underlay.0, read),
                PixelsFor::Placing => self.ask_where(&underlay.0, read),
            }
        }
    }

    fn take_head(&mut self, path: &Path, head: PictureHead) {
        self.home
            .preferences
            .remember_picture(&std::path::absolute(path).unwrap_or_else(|_| path.to_owned()));
        let PictureHead { underlay, is_placed, notes } = head;
        if !is_placed {
            self.place_by_points(&Arc::new(underlay));
            return;
        }
        let site = &self.document.scenario().site;
        if site.origin.is_none() && underlay.coordinates != UnderlayFrame::Site {
            let undrawn = is_undrawn(site);
            let middle = if undrawn { DVec2::ZERO } else { polygon::centroid_m(&site.boundary_m) };
            if let Some(origin) = UnderlayMap::origin_for(&underlay, middle) {
                if undrawn {
                    self.put_underlay(Some(underlay), Some(origin), notes);
                    return;
                }
                self.dialog = Some(Dialog::Origin { underlay: Box::new(underlay), origin, notes });
                return;
            }
        }
        self.put_underlay(Some(underlay), None, notes);
    }

    /// Puts a picture below the plan, or takes it away, with the origin that it gives the site.
    pub(super) fn put_underlay(
        &mut self,
        mut underlay: Option<Underlay>,
        origin: Option<GeoPoint>,
        mut notes: Vec<String>,
    ) {
        let undrawn = is_undrawn(&self.document.scenario().site);
        let moved = underlay.as_mut().filter(|_| undrawn).and_then(brought_near);
        let what = match &underlay {
            Some(underlay) => format!("picture {}", underlay.file),
            None => "remove the picture".to_owned(),
        };
        if let Some(underlay) = underlay.as_ref().filter(|_| !undrawn) {
            notes.extend(self.far_note(underlay, origin));
        }
        let brought = underlay.is_some();
        let shown_m = underlay.as_ref().and_then(|underlay| self.bounds_of(underlay, origin));
        self.document.end_gesture();
        let part = Part::Underlay(underlay.map(Arc::new), origin);
        let edit = Edit::Amend(Amendment { what: what.as_str().into(), part });
        if let Err(error) = self.document.edit(&edit) {
            self.tell("The change was not made", &error.to_string());
            return;
        }
        if let Some(moved_m) = moved {
            notes.push(self.note_frame(moved_m, &what));
        }
        self.document.end_gesture();
        match shown_m {
            // With no boundary yet, what is fitted is the picture.
            _ if undrawn => self.beside.state.fit_everywhere(),
            Some(shown_m) => self.beside.state.show(shown_m),
            None => {}
        }
        if brought && self.side.screen == Screen::BEGIN {
            self.draw_boundary();
        }
        if !notes.is_empty() && self.dialog.is_none() {
            self.tell("The picture was brought in", &notes.join("\n"));
        }
    }

    /// Writes into the scenario's note where its zero lies in the coordinates of its picture, and says so; part of the step
    /// `what`.
    fn note_frame(&mut self, moved_m: DVec2, what: &str) -> String {
        let told = format!(
            "The plan's zero lies at E {:.0}, N {:.0} of the picture's coordinates: what is drawn is told from there.",
            moved_m.x, moved_m.y
        );
        let scenario = self.document.scenario();
        let note = [scenario.note.as_str(), &told].join("\n").trim().to_owned();
        let names = ScenarioNames { scenario: scenario.name.clone(), note, site: scenario.site.name.clone() };
        let edit = Edit::Amend(Amendment { what: what.into(), part: Part::Names(names) });
        if let Err(why) = self.document.edit_onto(&edit, what) {
            return format!("{told} It could not be written into the note: {why}.");
        }
        format!("{told} The scenario's note says so too.")
    }

    /// The corners of a picture on the site; nothing where it has no place there.
    fn ring_of(&self, underlay: &Underlay, origin: Option<GeoPoint>) -> Option<[DVec2; 4]> {
        let map = UnderlayMap::new(underlay, origin.or(self.document.scenario().site.origin))?;
        Some(corners_px(underlay).map(|pixel| map.to_local(pixel)))
    }

    /// Its least and greatest coordinates there.
    fn bounds_of(&self, underlay: &Underlay, origin: Option<GeoPoint>) -> Option<(DVec2, DVec2)> {
        let ring = self.ring_of(underlay, origin)?;
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        Some(ring.into_iter().fold(start, |(low, high), at_m| (low.min(at_m), high.max(at_m))))
    }

    /// What is to be said where a picture does not reach the site.
    fn far_note(&self, underlay: &Underlay, origin: Option<GeoPoint>) -> Option<String> {
        let site = &self.document.scenario().site;
        let ring = self.ring_of(underlay, origin)?;
        if polygon::rings_meet(&ring, &site.boundary_m) {
            return None;
        }
        let middle = ring.iter().sum::<glam::DVec2>() / 4.0;
        let away = self.units.length(middle.distance(polygon::centroid_m(&site.boundary_m)));
        Some(format!(
            "It lies beside the site and covers none of it: from the middle of the one to the middle of the other it is {away}. \
             Check its coordinates, or the site's place on earth, on the screen Site."
        ))
    }

    /// Asks for two points of a picture.
    pub(super) fn place_by_points(&mut self, underlay: &Arc<Underlay>) {
        self.request_pixels(underlay, PixelsFor::Placing);
        self.hear_files();
    }

    /// The same of the picture that the plan is drawn over.
    pub(super) fn place_present(&mut self) {
        match self.document.scenario().underlay.clone() {
            Some(underlay) => self.place_by_points(&underlay),
            None => {
                self.tell("There is no picture", "Import one first; then it can be placed by two points.");
            }
        }
    }

    fn request_pixels(&mut self, underlay: &Arc<Underlay>, what_for: PixelsFor) {
        self.jobs.cancel(|key: &PicturePixels| key.what_for == what_for);
        let folders: Vec<PathBuf> =
            self.document.path().and_then(Path::parent).map(Path::to_owned).into_iter().collect();
        let known = self.home.preferences.pictures.clone();
        let of = Arc::clone(underlay);
        self.jobs.request(PicturePixels { underlay: Same::of(underlay), what_for }, move |watch| {
            underlay::read(&of, &folders, &known, watch)
        });
    }

    fn take_pixels(&mut self, of: &Underlay, read: Result<ReadyPicture, NoPicture>) {
        if let Err(why) = &read
            && *why != NoPicture::Cancelled
            && self.dialog.is_none()
        {
            self.tell("The picture is not shown", &why.text(of));
        }
        self.picture.take(of, read);
    }

    fn ask_where(&mut self, of: &Underlay, read: Result<ReadyPicture, NoPicture>) {
        match read {
            Ok(picture) => {
                let site = &self.document.scenario().site;
                let reach_m = if is_undrawn(site) { FAR_M } else { limits::COORDINATE_M.most };
                self.placing = Some(Placing::new(of.clone(), picture.tiles, site.origin, reach_m));
            }
            Err(NoPicture::Cancelled) => {}
            Err(why) => self.ask_again(Refusal::new("The picture was not placed", &why.text(of))),
        }
    }

    /// Shows the question where a picture lies, and does what is answered.
    pub(super) fn ask_placing(&mut self, ctx: &Context) {
        let units = self.units;
        let Some(answer) = self.placing.as_mut().and_then(|question| question.show(ctx, units)) else {
            return;
        };
        self.placing = None;
        if let PlacingAnswer::Place(underlay) = answer {
            self.put_underlay(Some(*underlay), None, Vec::new());
        }
    }

    /// Draws the picture as strong as was asked for on the plan; a slider that is drawn is one step.
    pub(super) fn take_opacity(&mut self) {
        let asked = self.beside.state.underlay.asked.take();
        let Some((opacity, underlay)) = asked.zip(self.document.scenario().underlay.clone()) else { return };
        let underlay = Underlay { opacity, ..(*underlay).clone() };
        let part = Part::Underlay(Some(Arc::new(underlay)), None);
        self.edit(&Edit::Amend(Amendment { what: "opacity of the picture".into(), part }));
    }

    /// Brings what lies below the plan up to the document; a few tiles in each frame.
    pub(super) fn follow_underlay(&mut self, ctx: &Context) {
        let scenario = Arc::clone(self.document.scenario());
        if self.picture.turn_to(scenario.underlay.as_ref(), scenario.site.origin) {
            if let Some(underlay) = &scenario.underlay {
                self.request_pixels(underlay, PixelsFor::Plan);
            }
            self.hear_pictures();
        } else if scenario.underlay.is_none() {
            self.jobs.cancel(|key: &PicturePixels| key.what_for == PixelsFor::Plan);
        }
        if !self.jobs.runs_beside(Lane::Aside) {
            self.picture.advance_all(ctx);
        } else if self.picture.advance(ctx) {
            ctx.request_repaint();
        }
        let bounds_m = scenario.underlay.as_ref().and_then(|underlay| self.bounds_of(underlay, None));
        let state = &mut self.beside.state;
        state.underlay.name = scenario.underlay.as_ref().map(|underlay| underlay.file.clone());
        state.underlay.told = self.picture.told();
        let opacity = scenario.underlay.as_ref().map(|underlay| underlay.opacity);
        state.underlay.opacity = opacity.unwrap_or(Underlay::USUAL_OPACITY);
        state.underlay.bounds_m = bounds_m;
        state.put_backdrop(scenario.underlay.as_ref().map(|_| self.picture.pieces()));
    }
}
