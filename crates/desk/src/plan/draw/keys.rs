//! Drawing by the keys: everything that the pointer does, and exact numbers.

use super::form::notch_end_m;
use super::outlines::{Outlines, moved, to_mm, turned};
use super::seen::DrawView;
use super::snap::Snap;
use super::state::{Aimed, Draw, DrawAsk, Merge};
use super::tool::{DrawForm, Tool};
use super::typing::Typing;
use crate::target::Target;
use crate::units::Unit;
use glam::DVec2;
use obliquity_planning::outline_faults;

/// A key, as drawing understands it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrawKey {
    /// Places, finishes, takes what was typed.
    Enter,
    /// Takes back the last corner or letter.
    Back,
    /// Takes a corner or a shape out.
    Delete,
    /// Leaves what is being done.
    Escape,
    /// To the next shape or corner.
    Next,
    /// To the one before.
    Previous,
    /// Puts a corner in after the one that is chosen.
    Insert,
    /// A copy beside what is chosen.
    Copy,
    /// Moves what is chosen, or where the next corner would be.
    Nudge {
        /// A unit vector.
        way: DVec2,
        /// How far.
        stride: Stride,
        /// Whether the key has been held down since the last.
        run: Run,
    },
    /// Turns what is chosen: a degree, clockwise if 1.0, the other way if −1.0.
    Turn(f64, Stride),
    /// A letter or digit.
    Letter(char),
}

/// How far a key moves something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stride {
    /// A metre, a foot or a degree.
    Whole,
    /// A tenth of that.
    Fine,
}

/// Whether a key comes again by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Run {
    /// It was pressed.
    First,
    /// It is still down.
    Held,
}

/// Whether a key meant anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyUse {
    /// It did.
    Used,
    /// It is left to others.
    Left,
}

impl Draw {
    /// A key is pressed.
    pub fn key(&mut self, seen: DrawView<'_>, key: DrawKey) -> KeyUse {
        if !matches!(key, DrawKey::Letter(_)) {
            self.notice = None;
        }
        match key {
            DrawKey::Enter => self.enter(seen),
            DrawKey::Back => self.back(seen.outlines),
            DrawKey::Delete => self.delete(seen.outlines),
            DrawKey::Escape => self.escape(),
            DrawKey::Next => self.step(seen.outlines, 1),
            DrawKey::Previous => self.step(seen.outlines, -1),
            DrawKey::Insert => self.insert(seen.outlines),
            DrawKey::Copy => self.copy(seen.outlines),
            DrawKey::Nudge { way, stride, run } => self.nudge(seen, way, stride, run),
            DrawKey::Turn(way, stride) => {
                let by_deg = if stride == Stride::Fine { 0.1 * way } else { way };
                self.turn(seen.outlines, by_deg)
            }
            DrawKey::Letter(letter) => self.letter(seen, letter),
        }
    }

    fn letter(&mut self, seen: DrawView<'_>, letter: char) -> KeyUse {
        let begins = letter.is_ascii_digit() || "-−.,".contains(letter);
        if !self.typed.is_empty() || begins {
            if self.typed.chars().count() < 40 {
                self.typed.push(letter);
            }
            return KeyUse::Used;
        }
        if let Some(tool) = Tool::of_key(letter) {
            self.take_up(tool);
            return KeyUse::Used;
        }
        if letter.eq_ignore_ascii_case(&'a') && self.form() == DrawForm::Rectangle {
            self.choose_grain(seen);
            return KeyUse::Used;
        }
        match DrawForm::of_key(letter).filter(|_| self.tool.area().is_some()) {
            Some(form) => {
                self.draw_as(form);
                KeyUse::Used
            }
            None => KeyUse::Left,
        }
    }

    fn enter(&mut self, seen: DrawView<'_>) -> KeyUse {
        if !self.typed.is_empty() {
            self.take_typed(seen);
            return KeyUse::Used;
        }
        let aimed_m = self.snap.as_ref().filter(|_| self.aimed == Aimed::Keys).map(|snap| snap.at_m);
        match (self.tool, aimed_m) {
            (Tool::Select, _) => {
                // Of what was just drawn Enter keeps the height, and no more.
                if self.fresh.take().is_some() {
                    return KeyUse::Used;
                }
                if self.chosen.is_none_or(Target::is_point) {
                    return KeyUse::Left;
                }
                self.corner = self.corner.or(Some(0));
            }
            (Tool::Cut, Some(to_m)) => {
                if let (Some(target), Some(corner)) = (self.chosen, self.corner) {
                    self.cut_to(seen.outlines, (target, corner), to_m);
                }
            }
            (Tool::Cut, None) => self.corner = self.corner.or(self.chosen.map(|_| 0)),
            (Tool::TakeOff | Tool::FurtherTakeOff | Tool::ControlPoint, Some(at_m)) => {
                self.put_point(seen.outlines, at_m);
            }
            (Tool::TakeOff | Tool::FurtherTakeOff | Tool::ControlPoint, None) => {}
            (_, Some(at_m)) => self.place(seen.outlines, at_m),
            (_, None) => self.finish(seen.outlines),
        }
        KeyUse::Used
    }

    fn back(&mut self, outlines: &Outlines) -> KeyUse {
        if self.typed.pop().is_some() || self.placed_m.pop().is_some() {
            return KeyUse::Used;
        }
        if self.is_drawing() { KeyUse::Used } else { self.delete(outlines) }
    }

    fn delete(&mut self, outlines: &Outlines) -> KeyUse {
        let Some(target) = self.chosen.filter(|_| !self.is_drawing()) else { return KeyUse::Left };
        match self.corner {
            Some(at) => self.delete_corner(outlines, target, at),
            None => self.remove(outlines),
        }
        KeyUse::Used
    }

    /// Takes out what is chosen, or says why it stays.
    pub fn remove(&mut self, outlines: &Outlines) {
        let Some(target) = self.chosen else { return };
        let name = outlines.name(target);
        if let Some(next) = outlines.without(target) {
            self.put(target, format!("remove {name}"), next, Merge::Own);
        } else {
            self.notice = Some(match target {
                Target::Line { .. } => {
                    "The line goes with its pass: remove that among the passes.".to_owned()
                }
                _ => format!("A site always has {name}: move it, or draw another."),
            });
        }
    }

    fn delete_corner(&mut self, outlines: &Outlines, target: Target, at: usize) {
        let mut corners_m = outlines.corners_m(target).unwrap_or_default();
        if corners_m.len() <= target.fewest_corners() || at >= corners_m.len() {
            let fewest = target.fewest_corners();
            self.notice = Some(format!("{fewest} corners are the fewest it can have."));
            return;
        }
        corners_m.remove(at);
        let label = format!("remove corner {} of {}", at + 1, outlines.name(target));
        if self.put_corners(outlines, target, label, &corners_m, Merge::Own) {
            self.corner = Some(at.min(corners_m.len() - 1));
        }
    }

    fn insert(&mut self, outlines: &Outlines) -> KeyUse {
        let (Some(target), Some(at)) = (self.chosen, self.corner) else { return KeyUse::Left };
        let Some(mut corners_m) = outlines.corners_m(target) else { return KeyUse::Left };
        let last = at + 1 == corners_m.len();
        if last && !target.is_closed() {
            return KeyUse::Left;
        }
        let new_m = to_mm(corners_m[at].midpoint(corners_m[(at + 1) % corners_m.len()]));
        corners_m.insert(at + 1, new_m);
        let label = format!("add a corner to {}", outlines.name(target));
        self.put(target, label, outlines.with_corners(target, &corners_m), Merge::Own);
        self.corner = Some(at + 1);
        KeyUse::Used
    }

    /// A copy of what is chosen beside it, to the east; it is chosen then.
    pub fn copy(&mut self, outlines: &Outlines) -> KeyUse {
        let Some(target) = self.chosen.filter(|_| !self.is_drawing()) else { return KeyUse::Left };
        let corners_m = outlines.corners_m(target).unwrap_or_default();
        let reach = |pick: fn(f64, f64) -> f64, start: f64| corners_m.iter().map(|c| c.x).fold(start, pick);
        let wide_m = reach(f64::max, f64::NEG_INFINITY) - reach(f64::min, f64::INFINITY);
        match outlines.with_copy(target, DVec2::new(wide_m + 5.0, 0.0)) {
            Some((next, copy)) => {
                self.put(copy, format!("copy {}", outlines.name(target)), next, Merge::Own);
                self.choose(Some(copy));
            }
            None => self.notice = Some("There is only one of it: it cannot be copied.".to_owned()),
        }
        KeyUse::Used
    }

    fn escape(&mut self) -> KeyUse {
        if self.held.take().is_some() {
            self.snap = None;
            self.ask(DrawAsk::GoBack);
        } else if !self.typed.is_empty() {
            self.typed.clear();
        } else if !self.placed_m.is_empty() {
            self.clear();
        } else if self.is_drawing() {
            self.take_up(Tool::Select);
        } else if self.corner.take().is_none() && self.chosen.take().is_none() {
            return KeyUse::Left;
        }
        KeyUse::Used
    }

    fn step(&mut self, outlines: &Outlines, by: isize) -> KeyUse {
        if !matches!(self.tool, Tool::Select | Tool::Cut) {
            return KeyUse::Left;
        }
        if let (Some(target), Some(at)) = (self.chosen, self.corner) {
            let count = outlines.corners_m(target).map_or(1, |corners| corners.len());
            self.corner = Some(stepped(at, by, count));
            return KeyUse::Used;
        }
        let targets = outlines.targets();
        let at = targets.iter().position(|target| Some(*target) == self.chosen);
        let next = match at {
            Some(at) => stepped(at, by, targets.len()),
            None if by < 0 => targets.len() - 1,
            None => 0,
        };
        self.choose(targets.get(next).copied());
        KeyUse::Used
    }

    fn nudge(&mut self, seen: DrawView<'_>, way: DVec2, stride: Stride, run: Run) -> KeyUse {
        let whole_m = seen.units.stored(Unit::Metres, 1.0);
        let by_m = way * if stride == Stride::Fine { 0.1 * whole_m } else { whole_m };
        let cutting = self.tool == Tool::Cut && self.corner.is_some();
        if self.is_drawing() && (self.tool != Tool::Cut || cutting) {
            let corner_m = || {
                let ring = seen.outlines.corners_m(self.chosen?)?;
                ring.get(self.corner?).copied()
            };
            let from_m = self.snap.as_ref().map(|snap| snap.at_m).or(self.placed_m.last().copied());
            let from_m = from_m.or_else(corner_m).unwrap_or(seen.outlines.site.take_off_m);
            (self.snap, self.aimed) = (Some(Snap::free(to_mm(from_m + by_m))), Aimed::Keys);
            return KeyUse::Used;
        }
        self.move_by(seen.outlines, by_m, run)
    }

    /// Moves the corner or the shape that is chosen.
    fn move_by(&mut self, outlines: &Outlines, by_m: DVec2, run: Run) -> KeyUse {
        let Some(target) = self.chosen else { return KeyUse::Left };
        let Some(mut corners_m) = outlines.corners_m(target) else { return KeyUse::Left };
        let name = outlines.name(target);
        let label = match self.corner {
            Some(at) if at < corners_m.len() => {
                corners_m[at] = to_mm(corners_m[at] + by_m);
                format!("corner {} of {name}", at + 1)
            }
            _ => {
                corners_m = moved(&corners_m, by_m);
                format!("move {name}")
            }
        };
        let merge = if run == Run::Held { Merge::Onto(label.clone()) } else { Merge::Own };
        self.put_corners(outlines, target, label, &corners_m, merge);
        KeyUse::Used
    }

    fn turn(&mut self, outlines: &Outlines, by_deg: f64) -> KeyUse {
        let Some(target) = self.chosen.filter(|target| !target.is_point() && !self.is_drawing()) else {
            return KeyUse::Left;
        };
        let Some(corners_m) = outlines.corners_m(target) else { return KeyUse::Left };
        let label = format!("turn {}", outlines.name(target));
        self.put_corners(outlines, target, label, &turned(&corners_m, by_deg), Merge::Own);
        KeyUse::Used
    }

    /// Asks for other corners, or says why they are none; gives whether it asked.
    fn put_corners(
        &mut self,
        outlines: &Outlines,
        target: Target,
        label: String,
        corners_m: &[DVec2],
        merge: Merge,
    ) -> bool {
        let fault = target.is_closed().then(|| outline_faults(corners_m).into_iter().next()).flatten();
        if let Some(fault) = &fault {
            self.notice = Some(format!("The outline {}.", fault.message()));
        } else {
            self.put(target, label, outlines.with_corners(target, corners_m), merge);
        }
        fault.is_none()
    }

    fn take_typed(&mut self, seen: DrawView<'_>) {
        let typed = std::mem::take(&mut self.typed);
        let read = match Typing::read(&typed, seen.units) {
            Ok(read) => read,
            Err(why) => {
                (self.typed, self.notice) = (typed, Some(why));
                return;
            }
        };
        let refused = match self.tool {
            Tool::Select => self.typed_for_chosen(seen.outlines, read),
            Tool::Cut => self.typed_cut(seen.outlines, read),
            Tool::TakeOff | Tool::FurtherTakeOff | Tool::ControlPoint => match read {
                Typing::Offset(at_m) => {
                    self.put_point(seen.outlines, at_m);
                    None
                }
                _ => Some("Type where it is from the site's origin, as 20e 5n."),
            },
            _ => self.typed_corner(seen.outlines, read),
        };
        if let Some(why) = refused {
            (self.typed, self.notice) = (typed, Some(why.to_owned()));
        }
    }

    fn typed_cut(&mut self, outlines: &Outlines, read: Typing) -> Option<&'static str> {
        let (Some(target), Some(corner)) = (self.chosen, self.corner) else {
            return Some("Choose the corner first: Tab goes to the shapes, Enter to their corners.");
        };
        let Typing::Sides(back_m, on_m) = read else {
            return Some("Type how far it is cut along both sides, as 10 x 6.");
        };
        let ring = outlines.corners_m(target).unwrap_or_default();
        if let Some(to_m) = notch_end_m(&ring, corner, (back_m, on_m)) {
            self.cut_to(outlines, (target, corner), to_m);
        }
        None
    }

    /// A corner of what is being drawn, by numbers.
    fn typed_corner(&mut self, outlines: &Outlines, read: Typing) -> Option<&'static str> {
        let Some(&last_m) = self.placed_m.last() else {
            let Typing::Offset(at_m) = read else {
                return Some("Type where the first corner is from the site's origin, as 20e 5n.");
            };
            self.place(outlines, at_m);
            return None;
        };
        let aimed = self.snap.as_ref().map(|snap| snap.at_m - last_m);
        let ahead = aimed.and_then(DVec2::try_normalize).unwrap_or(DVec2::X);
        match read {
            Typing::Offset(by_m) => self.place(outlines, last_m + by_m),
            Typing::Polar { length_m, bearing_deg } => {
                self.place(outlines, last_m + along(bearing_deg) * length_m);
            }
            Typing::Length(length_m) => {
                if self.form() == DrawForm::Rectangle {
                    return Some("Type both sides, as 30 x 12, or where the opposite corner is, as 20e 5n.");
                }
                let ahead = if self.form() == DrawForm::Side && self.placed_m.len() == 2 {
                    // Across the side, to where the pointer is.
                    let out = (last_m - self.placed_m[0]).try_normalize().unwrap_or(DVec2::X).perp();
                    if aimed.is_some_and(|aimed| aimed.dot(out) < 0.0) { -out } else { out }
                } else {
                    ahead
                };
                self.place(outlines, last_m + ahead * length_m);
            }
            Typing::Sides(long_m, wide_m) if self.form() == DrawForm::Rectangle => {
                // Towards the pointer, or else forward and to the left of the direction.
                let way = |axis: DVec2| {
                    if aimed.is_some_and(|aimed| aimed.dot(axis) < 0.0) { -axis } else { axis }
                };
                let along = self.along();
                self.place(outlines, last_m + way(along) * long_m + way(along.perp()) * wide_m);
            }
            Typing::Sides(long_m, wide_m) => {
                if self.form() != DrawForm::Side || self.placed_m.len() != 1 {
                    return Some("Two sides make a rectangle from its first corner.");
                }
                let to_m = last_m + ahead * long_m;
                self.place(outlines, to_m);
                self.place(outlines, to_m + ahead.perp() * wide_m);
            }
            Typing::Turn(_) => return Some("Only what is chosen can be turned."),
        }
        None
    }

    /// Numbers for what is chosen: its height, how far it moves, how it turns.
    fn typed_for_chosen(&mut self, outlines: &Outlines, read: Typing) -> Option<&'static str> {
        let Some(target) = self.chosen else { return Some("Choose what this is for first.") };
        match read {
            Typing::Offset(by_m) => {
                self.move_by(outlines, by_m, Run::First);
            }
            Typing::Polar { length_m, bearing_deg } => {
                self.move_by(outlines, along(bearing_deg) * length_m, Run::First);
            }
            Typing::Turn(by_deg) => {
                self.turn(outlines, by_deg);
            }
            Typing::Length(m) => match (self.corner, self.structure()) {
                (Some(at), _) => return self.typed_side(outlines, target, at, m),
                (None, Some(id)) => {
                    let onto = self.fresh.take().filter(|(fresh, _)| *fresh == target);
                    let label = format!("height of {}", outlines.name(target));
                    let (label, merge) =
                        onto.map_or((label, Merge::Own), |(_, drawn)| (drawn.clone(), Merge::Onto(drawn)));
                    if let Some(next) = outlines.with_height(id, m) {
                        self.put(target, label, next, merge);
                    }
                }
                (None, None) => return Some("Type how far to move it, as 20e 5n or 12.5 at 90."),
            },
            Typing::Sides(..) => return Some("Two sides are for a new rectangle or a cut."),
        }
        None
    }

    /// The side that ends at a corner gets a length: the corner moves along it.
    fn typed_side(
        &mut self,
        outlines: &Outlines,
        target: Target,
        at: usize,
        length_m: f64,
    ) -> Option<&'static str> {
        let corners_m = outlines.corners_m(target)?;
        if at == 0 && !target.is_closed() {
            return Some("No side ends at the first corner.");
        }
        let before_m = corners_m[(at + corners_m.len() - 1) % corners_m.len()];
        let way = (corners_m[at] - before_m).try_normalize()?;
        self.move_by(outlines, before_m + way * length_m - corners_m[at], Run::First);
        None
    }
}

fn stepped(at: usize, by: isize, count: usize) -> usize {
    (at.cast_signed() + by).rem_euclid(count.max(1).cast_signed()).cast_unsigned()
}

/// A unit vector, clockwise from north.
fn along(bearing_deg: f64) -> DVec2 {
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    DVec2::new(sin, cos)
}
