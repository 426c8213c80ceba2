//! Taking hold of what is drawn, dragging it, letting go.

use super::held::{Grip, Held, dragged};
use super::hit::Under;
use super::outlines::{Outlines, to_mm};
use super::seen::DrawView;
use super::state::{Draw, DrawAsk, Merge, Pulling};
use super::tool::Tool;
use crate::target::Target;
use glam::DVec2;

/// Whether the pointer has taken hold of something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// It has: what follows drags it.
    Taken,
    /// There is nothing to take: what follows moves the plan.
    Free,
}

impl Draw {
    /// The pointer is pressed and begins to move. With a tool that draws it means a click here, and one where it is released.
    pub fn take_hold(&mut self, seen: DrawView<'_>, at_m: DVec2) -> Hold {
        if self.tool != Tool::Select {
            self.begin_pull(seen, at_m);
            return Hold::Taken;
        }
        let (target, grip) = match seen.outlines.under(at_m, seen.reach_m, self.chosen) {
            Under::Corner(target, at) => (target, Grip::Corner(at)),
            Under::Middle(target, at) => {
                self.hold_new_corner(seen.outlines, target, at);
                return Hold::Taken;
            }
            Under::Turn(target) => (target, Grip::Turn),
            Under::Shape(target) if target.is_point() => (target, Grip::Whole),
            Under::Shape(target) if self.chosen == Some(target) => (target, Grip::Whole),
            Under::Shape(_) | Under::Nothing => return Hold::Free,
        };
        let Some(from_m) = seen.outlines.corners_m(target) else { return Hold::Free };
        let name = seen.outlines.name(target);
        let label = match grip {
            Grip::Corner(at) => format!("corner {} of {name}", at + 1),
            Grip::Whole => format!("move {name}"),
            Grip::Turn => format!("turn {name}"),
        };
        self.choose(Some(target));
        self.corner = if let Grip::Corner(at) = grip { Some(at) } else { None };
        self.hold(target, grip, from_m, label, at_m);
        Hold::Taken
    }

    /// A point is put, and a corner cut out, where the pointer is released; everything else begins where it is pressed.
    fn begin_pull(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        let places = self.tool.area().is_some() || self.tool == Tool::Line;
        if places && !self.is_at_last(seen, at_m) {
            self.click(seen, at_m);
        }
        if self.is_drawing() {
            self.pulling = Pulling::Yes;
        }
    }

    fn is_at_last(&self, seen: DrawView<'_>, at_m: DVec2) -> bool {
        self.placed_m.last().is_some_and(|last_m| last_m.distance(at_m) <= seen.reach_m)
    }

    /// The pointer is released somewhere.
    pub fn release(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        if std::mem::take(&mut self.pulling) == Pulling::Yes && !self.is_at_last(seen, at_m) {
            self.click(seen, at_m);
        }
        self.let_go();
    }

    fn hold_new_corner(&mut self, outlines: &Outlines, target: Target, at: usize) {
        let Some(mut corners_m) = outlines.corners_m(target) else { return };
        let new_m = to_mm(corners_m[at].midpoint(corners_m[(at + 1) % corners_m.len()]));
        corners_m.insert(at + 1, new_m);
        self.corner = Some(at + 1);
        let label = format!("add a corner to {}", outlines.name(target));
        self.hold(target, Grip::Corner(at + 1), corners_m, label, new_m);
    }

    fn hold(&mut self, target: Target, grip: Grip, from_m: Vec<DVec2>, label: String, taken_m: DVec2) {
        (self.notice, self.fresh) = (None, None);
        self.typed.clear();
        let now_m = from_m.clone();
        self.held = Some(Held { target, grip, from_m, now_m, label, taken_m, refused: None });
    }

    /// The pointer is somewhere else with what it holds.
    pub(super) fn drag(&mut self, seen: DrawView<'_>, at_m: DVec2) {
        let Some(held) = self.held.clone() else { return };
        let (now_m, snap) = dragged(&held, seen, at_m);
        self.snap = Some(snap);
        if now_m == held.now_m {
            return;
        }
        let held = Held { now_m, ..held };
        if held.crossed().is_none() {
            let next = seen.outlines.with_corners(held.target, &held.now_m);
            self.put(held.target, held.label.clone(), next, Merge::Own);
        }
        self.held = Some(held);
    }

    /// The pointer lets go.
    pub fn let_go(&mut self) {
        if self.held.is_some() {
            self.snap = None;
            self.ask(DrawAsk::LetGo);
        }
    }
}
