//! How the plan is looked at and drawn on.

use super::background::{Backdrop, BackdropPiece};
use super::draw::{Draw, DrawForm, Tool};
use super::model::Plan;
use super::paint::Surfaces;
use super::underlay::{UnderlayLook, UnderlaySwitch};
use crate::canvas::{Canvas, CursorMark};
use crate::target::Target;
use glam::DVec2;
use obliquity_planning::SurfaceClass;
use std::sync::Arc;

/// Whether the row of tools is shown, and the plan drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tools {
    /// It is.
    Shown,
    /// The plan is looked at only.
    Folded,
}

/// Whether what stands beside the large plan is shown where there is little room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aside {
    /// It takes its part of the room.
    Open,
    /// The plan has all of it.
    Folded,
}

/// Whose frames are drawn on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Footprints {
    /// That of the station that is pointed at.
    #[default]
    Pointed,
    /// Those of all stations shown.
    All,
}

/// What is asked for beside the plan of a site that is not drawn yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanWant {
    /// A picture to draw over, by the system's dialog.
    Picture,
    /// The same by its path.
    PictureTyped,
    /// A boundary file, by the system's dialog.
    Boundary,
}

/// Where a plan stands: each is looked at in its own way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum PlanPlace {
    /// Beside the board.
    #[default]
    Beside,
    /// With the window to itself.
    Large,
    /// On the timeline, or beside the 3D view.
    Alone,
}

/// How the plan is looked at; kept for the session only.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanState {
    /// The part that is shown; nothing for everything.
    pub(super) canvas: Option<Canvas>,
    /// Where it stands.
    place: PlanPlace,
    /// The parts that are shown elsewhere.
    kept: [Option<Canvas>; 3],
    /// The pass that is shown; nothing for all of them.
    pub pass: Option<usize>,
    /// Whose frames are drawn.
    pub footprints: Footprints,
    /// Whose rose is drawn.
    pub class: SurfaceClass,
    /// How ground and roofs are drawn where there is room for their legend.
    pub surfaces: Surfaces,
    /// The caution whose place is marked, by its stable name.
    pub marked: Option<String>,
    /// Where the timeline's cursor has the aircraft.
    pub cursor: Option<CursorMark>,
    /// Drawing, as it stands.
    pub draw: Draw,
    /// Whether the large plan is drawn on.
    pub large_tools: Tools,
    /// Whether the plan beside the board is drawn on.
    pub side_tools: Tools,
    /// What stands beside the large plan in little room.
    pub aside: Aside,
    /// What accuracy is expected of the strategy in focus, in words; empty before its block is adjusted.
    pub expected: String,
    /// What lies below everything.
    pub backdrop: Option<Arc<Backdrop>>,
    /// How it is looked at.
    pub underlay: UnderlayLook,
    /// What is asked for beside it.
    pub want: Option<PlanWant>,
    /// What is to be shown once it is known how much room there is.
    pub(super) to_show_m: Option<(DVec2, DVec2)>,
    /// The place under the pointer.
    pub(super) pointed_m: Option<DVec2>,
    /// Whether the plan is to listen to the keys.
    pub(super) wants_focus: bool,
}

impl Default for PlanState {
    fn default() -> Self {
        PlanState {
            canvas: None,
            place: PlanPlace::default(),
            kept: [None; 3],
            pass: None,
            footprints: Footprints::Pointed,
            class: SurfaceClass::Wall,
            surfaces: Surfaces::Plain,
            marked: None,
            cursor: None,
            draw: Draw::default(),
            large_tools: Tools::Shown,
            side_tools: Tools::Folded,
            aside: Aside::Folded,
            expected: String::new(),
            backdrop: None,
            underlay: UnderlayLook::default(),
            want: None,
            to_show_m: None,
            pointed_m: None,
            wants_focus: false,
        }
    }
}

impl PlanState {
    /// Looks at it as it was last looked at there.
    pub(super) fn look_from(&mut self, place: PlanPlace) {
        if self.place != place {
            self.kept[self.place as usize] = self.canvas.take();
            self.canvas = self.kept[place as usize].take();
            self.place = place;
        }
    }

    /// Shows everything again, wherever it stands.
    pub fn fit_everywhere(&mut self) {
        self.kept = [None; 3];
        self.fit();
    }

    /// Shows everything again.
    pub fn fit(&mut self) {
        (self.canvas, self.to_show_m) = (None, None);
    }

    /// Shows a part of it, given by its least and greatest coordinates.
    pub fn show(&mut self, part_m: (DVec2, DVec2)) {
        self.to_show_m = Some(part_m);
    }

    /// What a fitted plan shows: of a site that is not drawn yet the picture and what has been drawn, if there is any.
    pub fn fitted_m(&self, plan: &Plan) -> (DVec2, DVec2) {
        if !plan.site.undrawn {
            return plan.bounds_m();
        }
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let parts = plan.site.drawn_bounds_m().into_iter().chain(self.underlay.bounds_m);
        let (low, high) = parts.fold(start, |(low, high), (l, h)| (low.min(l), high.max(h)));
        if low.is_finite() { (low, high) } else { plan.bounds_m() }
    }

    /// Takes the tool in hand that draws the boundary corner by corner.
    pub fn begin_boundary(&mut self) {
        self.fit_everywhere();
        self.large_tools = Tools::Shown;
        self.draw.take_up(Tool::Boundary);
        self.draw.draw_as(DrawForm::Corners);
        self.wants_focus = true;
    }

    /// Chooses something that is drawn, ready to be changed.
    pub fn choose(&mut self, target: Target) {
        self.large_tools = Tools::Shown;
        self.draw.take_up(Tool::Select);
        self.draw.choose(Some(target));
        self.wants_focus = true;
    }

    /// The part that is shown; nothing for everything.
    pub fn canvas(&self) -> Option<Canvas> {
        self.canvas
    }
}

impl PlanState {
    /// Puts pieces of a picture below everything; nothing takes them away. The switch and the opacity stay.
    pub fn put_backdrop(&mut self, pieces: Option<&[BackdropPiece]>) {
        let shown = pieces.filter(|pieces| self.underlay.switch == UnderlaySwitch::On && !pieces.is_empty());
        let Some(pieces) = shown else {
            self.backdrop = None;
            return;
        };
        let opacity = self.underlay.opacity as f32;
        let same = |known: &Arc<Backdrop>| known.opacity == opacity && known.pieces == pieces;
        if !self.backdrop.as_ref().is_some_and(same) {
            self.backdrop = Some(Arc::new(Backdrop { pieces: pieces.to_vec(), opacity }));
        }
    }
}
