//! Drawing as a state machine: what the pointer and the keys do, over plain values in metres of the site.

use super::form::{box_m, circle_m, notched_m, rectangle_m};
use super::grain::Grain;
use super::held::Held;
use super::hit::{Under, nearest};
use super::outlines::{Outlines, to_mm};
use super::seen::{DrawView, Snapping, rails};
use super::snap::{Closed, Rail, Snap, SnapTo, squares_after};
use super::tool::{DrawForm, Forms, Tool};
use crate::amendment::Subject;
use crate::target::Target;
use glam::DVec2;
use obliquity_planning::{Id, outline_faults};

/// Whether an edit is a step of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Merge {
    /// It is; within a gesture one.
    Own,
    /// It belongs to the step of this name, if that was the last.
    Onto(String),
}

/// What is asked for by drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum DrawAsk {
    /// Put this in place.
    Put {
        /// What the edit is called.
        what: Subject,
        /// What there is then.
        outlines: Box<Outlines>,
        /// Whether it is a step of its own.
        merge: Merge,
    },
    /// A line for the corridor of the strategy in focus.
    NewLine(Vec<DVec2>),
    /// What was held is let go: it stays, or goes back where something is wrong with it.
    LetGo,
    /// What was held goes back.
    GoBack,
}

/// Whether the pointer is down and has begun what its release goes on with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Pulling {
    /// It is not.
    #[default]
    No,
    /// It is.
    Yes,
}

/// What led to where the next corner would be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Aimed {
    /// The pointer.
    #[default]
    Pointer,
    /// Arrows, since the last corner.
    Keys,
}

/// Drawing, as it stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draw {
    pub(super) tool: Tool,
    /// How each kind of area is drawn.
    forms: Forms,
    pub(super) chosen: Option<Target>,
    pub(super) corner: Option<usize>,
    pub(super) placed_m: Vec<DVec2>,
    /// Along what the sides of a rectangle between two corners lie; nothing for the edge that it begins on, or the screen.
    pub(super) grain: Option<Grain>,
    /// The edge that it begins on.
    pub(super) begins_on: Option<Grain>,
    pub(super) snap: Option<Snap>,
    pub(super) aimed: Aimed,
    pub(super) held: Option<Held>,
    /// Whether a press of the pointer has begun what its release goes on with.
    pub(super) pulling: Pulling,
    pub(super) typed: String,
    pub(super) notice: Option<String>,
    /// What was drawn last and what that step is called: a height typed now belongs to it.
    pub(super) fresh: Option<(Target, String)>,
    /// What to take up again where the document refuses it.
    begun: Option<(Tool, Vec<DVec2>)>,
    asks: Vec<DrawAsk>,
}

impl Draw {
    /// The tool in hand.
    pub fn tool(&self) -> Tool {
        self.tool
    }

    /// How the tool in hand draws its area.
    pub fn form(&self) -> DrawForm {
        self.tool.area().map(|area| self.forms.of(area)).unwrap_or_default()
    }

    /// What is chosen.
    pub fn chosen(&self) -> Option<Target> {
        self.chosen
    }

    /// The corner of it that is chosen.
    pub fn corner(&self) -> Option<usize> {
        self.corner
    }

    /// Corners placed so far of what is being drawn.
    pub fn placed_m(&self) -> &[DVec2] {
        &self.placed_m
    }

    /// Where the next corner would be, and why there.
    pub fn snap(&self) -> Option<&Snap> {
        self.snap.as_ref()
    }

    /// What is held by the pointer.
    pub fn held(&self) -> Option<&Held> {
        self.held.as_ref()
    }

    /// Whether the pointer drags: it holds something, or draws from where it was pressed.
    pub fn drags(&self) -> bool {
        self.held.is_some() || self.pulling == Pulling::Yes
    }

    /// What has been typed.
    pub fn typed(&self) -> &str {
        &self.typed
    }

    /// Why something was not done.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
    }

    /// What was drawn last, as long as a number typed is its height.
    pub fn fresh(&self) -> Option<Target> {
        self.fresh.as_ref().map(|(target, _)| *target)
    }

    /// What has been asked for.
    pub fn take_asks(&mut self) -> Vec<DrawAsk> {
        std::mem::take(&mut self.asks)
    }

    /// Takes another tool in hand; what was being drawn is dropped, and nothing is chosen any more that it does not change.
    pub fn take_up(&mut self, tool: Tool) {
        let keeps_corner = tool == Tool::Cut && self.chosen.is_some_and(Target::is_closed);
        if !keeps_corner {
            self.corner = None;
        }
        if !matches!(tool, Tool::Select | Tool::Cut) {
            self.chosen = None;
        }
        self.tool = tool;
        self.clear();
    }

    /// Draws what the tool in hand draws another way; every tool keeps its own.
    pub fn draw_as(&mut self, form: DrawForm) {
        if let Some(area) = self.tool.area() {
            self.forms.put(area, form);
        }
        self.clear();
    }

    /// Chooses something, or nothing.
    pub fn choose(&mut self, target: Option<Target>) {
        if self.chosen != target {
            (self.chosen, self.corner, self.fresh) = (target, None, None);
        }
    }

    /// Forgets what is not there any more, as after an undo.
    pub fn follow(&mut self, outlines: &Outlines) {
        let corners = self.chosen.and_then(|target| outlines.corners_m(target)).map(|corners| corners.len());
        match corners {
            None => (self.chosen, self.corner, self.fresh) = (None, None, None),
            Some(count) => self.corner = self.corner.filter(|at| *at < count),
        }
    }

    /// The document has taken what was asked for.
    pub fn accepted(&mut self) {
        self.begun = None;
        if let Some(held) = &mut self.held {
            held.refused = None;
        }
    }

    /// The document has refused it: what was held says so, and what was being drawn is taken up again.
    pub fn refused(&mut self, why: &str) {
        if let Some(held) = &mut self.held {
            held.refused = Some(why.to_owned());
            return;
        }
        if let Some((tool, placed_m)) = self.begun.take() {
            (self.tool, self.placed_m) = (tool, placed_m);
            (self.chosen, self.fresh) = (None, None);
        }
        self.notice = Some(why.to_owned());
    }

    /// What is wrong with what was held, once it is let go; it is not held any more.
    pub fn let_go_of(&mut self) -> Option<String> {
        let why = self.held.take().and_then(|held| held.wrong());
        if let Some(why) = &why {
            self.notice = Some(format!("{why}. It went back."));
        }
        why
    }

    pub(super) fn clear(&mut self) {
        self.placed_m.clear();
        self.begins_on = None;
        self.typed.clear();
        (self.snap, self.notice, self.fresh, self.begun) = (None, None, None, None);
        (self.aimed, self.pulling) = (Aimed::Pointer, Pulling::No);
    }

    pub(super) fn ask(&mut self, ask: DrawAsk) {
        self.asks.push(ask);
    }

    pub(super) fn put(&mut self, target: Target, label: String, outlines: Outlines, merge: Merge) {
        let (what, outlines) = (Subject::drawn(target, label), Box::new(outlines));
        self.ask(DrawAsk::Put { what, outlines, merge });
    }

    /// Asks for what was changed by numbers.
    pub fn put_outlines(&mut self, what: Subject, outlines: Outlines) {
        (self.notice, self.fresh) = (None, None);
        self.ask(DrawAsk::Put { what, outlines: Box::new(outlines), merge: Merge::Own });
    }

    /// Whether a click places something.
    pub fn is_drawing(&self) -> bool {
        !matches!(self.tool, Tool::Select)
    }

    /// The pointer is somewhere.
    pub fn pointer(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        if self.held.is_some() {
            self.drag(seen, at_m);
        } else if self.is_drawing() {
            (self.snap, self.aimed) = (Some(self.aim(seen, at_m)), Aimed::Pointer);
        } else {
            self.snap = None;
        }
    }

    /// Where a corner would go.
    pub(super) fn aim(&self, seen: DrawView<'_>, at_m: DVec2) -> Snap {
        if seen.snapping == Snapping::Off {
            return Snap::free(to_mm(at_m));
        }
        let mut to = SnapTo { rails: self.rails(seen.outlines), ..SnapTo::default() };
        if self.tool != Tool::Cut && self.form() == DrawForm::Corners {
            if let [.., before, last] = self.placed_m[..] {
                to.square.extend(squares_after(before, last));
            }
            if let [first, second, _, ..] = self.placed_m[..] {
                to.square.extend(squares_after(second, first));
            }
        }
        if self.placed_m.len() == 1 && self.tool != Tool::Cut && self.form() != DrawForm::Rectangle {
            to.square.extend(squares_on(&to.rails, self.placed_m[0]));
        }
        if !self.placed_m.is_empty() {
            let name = "the first corner".to_owned();
            to.rails.push(Rail { name, corners_m: vec![self.placed_m[0]], closed: Closed::No });
        }
        let snap = to.find_within(at_m, seen.reach());
        Snap { at_m: to_mm(snap.at_m), ..snap }
    }

    /// What the tool in hand snaps to.
    fn rails(&self, outlines: &Outlines) -> Vec<Rail> {
        // A boundary that is drawn goes in place of the present one, and has nothing to do with it.
        let but = (self.tool == Tool::Boundary).then_some(Target::Boundary);
        rails(outlines, but)
    }

    /// Along what the sides of a rectangle between two corners lie; nothing for the screen.
    pub fn grain(&self) -> Option<&Grain> {
        self.grain.as_ref().or(self.begins_on.as_ref())
    }

    /// The same as a unit vector.
    pub(super) fn along(&self) -> DVec2 {
        self.grain().map_or(DVec2::X, |grain| grain.along)
    }

    /// Rectangles lie along the edge that is pointed at, or the one that the next corner would be on; along the screen where
    /// there is none.
    pub(super) fn choose_grain(&mut self, seen: DrawView<'_>) {
        let at_m = self.snap.as_ref().map(|snap| snap.at_m).or(self.placed_m.last().copied());
        let rails = self.rails(seen.outlines);
        self.grain = at_m.and_then(|at_m| Grain::near(&rails, at_m, seen.reach_m));
        if self.grain.is_none() {
            self.begins_on = None;
        }
    }

    /// A click of the pointer.
    pub fn click(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        (self.notice, self.aimed) = (None, Aimed::Pointer);
        self.typed.clear();
        match self.tool {
            Tool::Select => self.select(seen, at_m),
            Tool::Cut => self.cut(seen, at_m),
            Tool::TakeOff | Tool::FurtherTakeOff | Tool::ControlPoint => {
                let at_m = self.aim(seen, at_m).at_m;
                self.put_point(seen.outlines, at_m);
            }
            Tool::Boundary | Tool::Building | Tool::Deck | Tool::KeepOut | Tool::Line => {
                let at_m = self.aim(seen, at_m).at_m;
                let near = |place_m: &DVec2| place_m.distance(at_m) <= seen.reach_m;
                let corners = self.form() == DrawForm::Corners;
                let again = self.placed_m.last().is_some_and(near) && corners;
                let closes = self.tool != Tool::Line && self.placed_m.len() >= 3;
                if again || (corners && closes && self.placed_m.first().is_some_and(near)) {
                    self.finish(seen.outlines);
                } else {
                    self.place(seen.outlines, at_m);
                }
            }
        }
    }

    fn select(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        match seen.outlines.under(at_m, seen.reach_m, self.chosen) {
            Under::Corner(_, at) => self.corner = Some(at),
            Under::Middle(..) | Under::Turn(_) => {}
            Under::Shape(target) => {
                self.choose(Some(target));
                self.corner = None;
            }
            Under::Nothing => self.choose(None),
        }
    }

    /// The first click chooses a corner, the second says how far it is cut out; one inside a shape does both.
    fn cut(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        if let (Some(target), Some(corner)) = (self.chosen, self.corner) {
            let to_m = self.aim(seen, at_m).at_m;
            self.cut_to(seen.outlines, (target, corner), to_m);
            return;
        }
        if let Some((target, corner)) = nearest_corner(seen, at_m) {
            (self.chosen, self.corner) = (Some(target), Some(corner));
        } else if let Some(cut) = self.cut_corner(seen.outlines, at_m, seen.reach_m) {
            let to_m = self.aim(seen, at_m).at_m;
            self.cut_to(seen.outlines, cut, to_m);
        } else {
            self.notice = Some("Click a corner of an outline, or inside one.".to_owned());
        }
    }

    /// The corner that a cut would begin at: the one chosen, or else that of the shape under a place that is nearest to it.
    pub fn cut_corner(&self, outlines: &Outlines, at_m: DVec2, reach_m: f64) -> Option<(Target, usize)> {
        if let (Some(target), Some(corner)) = (self.chosen, self.corner) {
            return Some((target, corner));
        }
        let target = outlines.shape_at(at_m, reach_m).filter(|target| target.is_closed())?;
        let ring = outlines.corners_m(target)?;
        Some((target, nearest(&ring, at_m)?))
    }

    pub(super) fn cut_to(&mut self, outlines: &Outlines, (target, corner): (Target, usize), to_m: DVec2) {
        let ring = outlines.corners_m(target).unwrap_or_default();
        let Some(cut) = notched_m(&ring, corner, to_m) else {
            self.notice = Some("The cut has to end between the two sides of the corner.".to_owned());
            return;
        };
        if let Some(fault) = outline_faults(&cut).first() {
            self.notice = Some(format!("The outline {}.", fault.message()));
            return;
        }
        let label = format!("cut a corner out of {}", outlines.name(target));
        self.put(target, label, outlines.with_corners(target, &cut), Merge::Own);
        self.take_up(Tool::Select);
        (self.chosen, self.corner) = (Some(target), None);
    }

    pub(super) fn put_point(&mut self, outlines: &Outlines, at_m: DVec2) {
        let at_m = to_mm(at_m);
        self.aimed = Aimed::Pointer;
        if self.tool == Tool::TakeOff {
            let next = outlines.with_corners(Target::TakeOff, &[at_m]);
            self.put(Target::TakeOff, "move the take-off point".to_owned(), next, Merge::Own);
            self.take_up(Tool::Select);
            self.chosen = Some(Target::TakeOff);
        } else if self.tool == Tool::FurtherTakeOff {
            let Some((next, target)) = outlines.with_take_off(at_m) else {
                self.notice = Some("There is no strategy that could start there.".to_owned());
                return;
            };
            let label = format!("add {}", next.name(target));
            self.put(target, label, next, Merge::Own);
        } else {
            let (next, target) = outlines.with_control_point(at_m);
            let label = format!("add {}", next.name(target));
            self.put(target, label, next, Merge::Own);
        }
    }

    /// Places a corner of what is being drawn.
    pub(super) fn place(&mut self, outlines: &Outlines, at_m: DVec2) {
        let at_m = to_mm(at_m);
        if self.placed_m.is_empty() && self.form() == DrawForm::Rectangle {
            self.begins_on = Grain::on(&self.rails(outlines), at_m);
        }
        self.placed_m.push(at_m);
        self.aimed = Aimed::Pointer;
        let enough = match self.form() {
            DrawForm::Side => 3,
            DrawForm::Rectangle | DrawForm::Circle => 2,
            DrawForm::Corners => return,
        };
        if self.placed_m.len() >= enough {
            self.finish(outlines);
        }
    }

    /// The outline of what is being drawn, were it finished at a place.
    pub fn outline_m(&self, at_m: Option<DVec2>) -> Vec<DVec2> {
        let places: Vec<DVec2> = self.placed_m.iter().copied().chain(at_m).collect();
        match (self.form(), places.as_slice()) {
            (DrawForm::Rectangle, &[from, to, ..]) => box_m(from, to, self.along()),
            (DrawForm::Side, &[from, to, across, ..]) => rectangle_m(from, to, across).unwrap_or(places),
            (DrawForm::Circle, &[middle, through, ..]) => circle_m(middle, through),
            _ => places,
        }
    }

    /// Closes what is being drawn, or says why it cannot be.
    pub(super) fn finish(&mut self, outlines: &Outlines) {
        let corners_m = self.outline_m(None);
        if self.tool == Tool::Line {
            if corners_m.len() < 2 {
                self.notice = Some("A corridor line has at least two corners.".to_owned());
                return;
            }
            let begun = (self.tool, self.placed_m.clone());
            self.ask(DrawAsk::NewLine(corners_m));
            self.take_up(Tool::Select);
            self.begun = Some(begun);
            return;
        }
        let Some(area) = self.tool.area() else { return };
        if let Some(fault) = outline_faults(&corners_m).first() {
            self.notice = Some(format!("The outline {}.", fault.message()));
            if self.form() != DrawForm::Corners {
                self.placed_m.pop();
            }
            return;
        }
        let begun = (self.tool, self.placed_m.clone());
        let (next, target) = outlines.with_area(area, &corners_m);
        let label = format!("draw {}", next.name(target));
        self.put(target, label.clone(), next, Merge::Own);
        self.take_up(Tool::Select);
        (self.chosen, self.corner, self.begun) = (Some(target), None, Some(begun));
        self.fresh = matches!(target, Target::Structure(_)).then_some((target, label));
    }

    /// The structure that is chosen.
    pub fn structure(&self) -> Option<Id> {
        match self.chosen {
            Some(Target::Structure(id)) => Some(id),
            _ => None,
        }
    }
}

/// Square to, and along, the sides that a first corner lies on.
fn squares_on(rails: &[Rail], at_m: DVec2) -> Vec<super::snap::Square> {
    const ON_M: f64 = 2e-3; // corners are kept to the millimetre
    let sides = rails.iter().flat_map(Rail::sides);
    let on = sides.filter(|(a, b)| super::snap::nearest_on(*a, *b, at_m).distance(at_m) < ON_M);
    on.flat_map(|(a, b)| squares_after(at_m - (b - a), at_m)).collect()
}

/// The corner of an area nearest to a place, as near as twice the reach.
pub(super) fn nearest_corner(seen: DrawView<'_>, at_m: DVec2) -> Option<(Target, usize)> {
    let areas = seen.outlines.targets().into_iter().filter(|target| target.is_closed());
    let corners = areas.filter_map(|target| {
        let ring = seen.outlines.corners_m(target)?;
        let at = nearest(&ring, at_m)?;
        Some((ring[at].distance(at_m), (target, at)))
    });
    let near = corners.filter(|(apart_m, _)| *apart_m <= 2.0 * seen.reach_m);
    near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, found)| found)
}
