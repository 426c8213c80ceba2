//! What the pointer holds: a corner, a whole shape, or the handle that turns it.

use super::hit::nearest;
use super::outlines::{Outlines, middle_m, moved, to_mm, turned};
use super::seen::{DrawView, Snapping, rails};
use super::snap::{Closed, Snap, SnapTo, sides, squares_at};
use crate::target::Target;
use glam::DVec2;
use obliquity_planning::outline_faults;

/// By what something is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grip {
    /// A corner.
    Corner(usize),
    /// All of it.
    Whole,
    /// The handle that turns it.
    Turn,
}

/// What is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// What.
    pub target: Target,
    /// By what.
    pub grip: Grip,
    /// Where it was, with the corner that was put in, if one was.
    pub from_m: Vec<DVec2>,
    /// Where it is now, whether that can stay or not.
    pub now_m: Vec<DVec2>,
    /// What the edit is called.
    pub(super) label: String,
    /// Where the pointer took hold.
    pub(super) taken_m: DVec2,
    /// Why the document does not take it as it is.
    pub refused: Option<String>,
}

/// Turned shapes come to lie along others from this near.
const SQUARE_DEG: f64 = 3.0;

impl Held {
    /// What is wrong with it as it is now: it crosses itself, or the document refuses it.
    pub fn wrong(&self) -> Option<String> {
        self.crossed().or_else(|| self.refused.clone())
    }

    /// Why its outline is none.
    pub fn crossed(&self) -> Option<String> {
        let fault =
            self.target.is_closed().then(|| outline_faults(&self.now_m).into_iter().next()).flatten()?;
        Some(format!("The outline {}", fault.message()))
    }
}

/// Where the corners of what is held go with the pointer, and where it snaps.
pub(super) fn dragged(held: &Held, seen: DrawView<'_>, at_m: DVec2) -> (Vec<DVec2>, Snap) {
    let from_m = &held.from_m;
    match held.grip {
        Grip::Corner(at) => {
            let wanted_m = from_m[at] + (at_m - held.taken_m);
            let snap = snapped(seen, wanted_m, || corner_snaps(held, seen.outlines, at));
            let mut now_m = from_m.clone();
            now_m[at] = snap.at_m;
            (now_m, snap)
        }
        Grip::Whole => {
            // The corner that is nearest to the pointer snaps.
            let anchor_m = nearest(from_m, held.taken_m).map_or(held.taken_m, |at| from_m[at]);
            let to = || SnapTo { rails: rails(seen.outlines, Some(held.target)), ..SnapTo::default() };
            let snap = snapped(seen, anchor_m + (at_m - held.taken_m), to);
            (moved(from_m, snap.at_m - anchor_m), snap)
        }
        Grip::Turn => turned_to(held, seen, at_m),
    }
}

fn snapped(seen: DrawView<'_>, at_m: DVec2, to: impl FnOnce() -> SnapTo) -> Snap {
    let snap = match seen.snapping {
        Snapping::On => to().find_within(at_m, seen.reach()),
        Snapping::Off => Snap::free(at_m),
    };
    Snap { at_m: to_mm(snap.at_m), ..snap }
}

/// What a corner snaps to: everything else, and right angles with its neighbours.
fn corner_snaps(held: &Held, outlines: &Outlines, at: usize) -> SnapTo {
    let closed = if held.target.is_closed() { Closed::Yes } else { Closed::No };
    let count = held.from_m.len();
    let inner = closed == Closed::Yes || (at > 0 && at + 1 < count);
    let between =
        (inner && count > 2).then(|| (held.from_m[(at + count - 1) % count], held.from_m[(at + 1) % count]));
    let square = squares_at(&held.from_m, closed, at);
    SnapTo { rails: rails(outlines, Some(held.target)), square, between, but_m: Some(held.from_m[at]) }
}

fn turned_to(held: &Held, seen: DrawView<'_>, at_m: DVec2) -> (Vec<DVec2>, Snap) {
    let middle_m = middle_m(&held.from_m);
    // Bearings run clockwise, angles the other way.
    let by = (at_m - middle_m).angle_to(held.taken_m - middle_m).to_degrees();
    let squared = match seen.snapping {
        Snapping::On => squared_with(held, seen.outlines, by),
        Snapping::Off => None,
    };
    let (by, why) = squared.unwrap_or((by, String::new()));
    (turned(&held.from_m, by), Snap { at_m, why, guides_m: Vec::new() })
}

/// The turn near another one that lays a shape's longest side along, or square to, a side of another shape.
fn squared_with(held: &Held, outlines: &Outlines, by_deg: f64) -> Option<(f64, String)> {
    let closed = if held.target.is_closed() { Closed::Yes } else { Closed::No };
    let long = |a: &(DVec2, DVec2), b: &(DVec2, DVec2)| a.0.distance(a.1).total_cmp(&b.0.distance(b.1));
    let (a, b) = sides(&held.from_m, closed).max_by(long)?;
    let own_deg = bearing_deg(b - a) + by_deg;
    let mut best: Option<(f64, String)> = None;
    for rail in rails(outlines, Some(held.target)) {
        for (a, b) in rail.sides() {
            let off = (bearing_deg(b - a) - own_deg + 45.0).rem_euclid(90.0) - 45.0;
            if off.abs() <= SQUARE_DEG
                && best.as_ref().is_none_or(|(least, _)| off.abs() < (least - by_deg).abs())
            {
                best = Some((by_deg + off, format!("square with {}", rail.name)));
            }
        }
    }
    best
}

/// Clockwise from north, in degrees from 0.
pub fn bearing_deg(along: DVec2) -> f64 {
    along.x.atan2(along.y).to_degrees().rem_euclid(360.0)
}
