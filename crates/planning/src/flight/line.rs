//! A line prepared to be flown many times: all that time and energy need to know of it.

use crate::route::Leg;
use glam::{DVec2, DVec3};

/// A line flown in one movement.
#[derive(Debug, Clone)]
pub(super) struct OneMovement {
    pub(super) length_m: f64,
    /// Climbed on it.
    pub(super) gain_m: f64,
    /// Greatest speed along it as planned.
    pub(super) speed_mps: f64,
    first: Option<Piece>,
    more: Vec<Piece>,
}

/// A part of a line in one level direction, up and down along it at its mean slope.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    /// The level direction, zero of an upright one.
    pub(super) along: DVec2,
    /// Level length over length.
    pub(super) level_ratio: f64,
    pub(super) length_m: f64,
}

/// Pieces whose directions differ by less lie along one line.
const ONE_DIRECTION: f64 = 1e-9;

impl OneMovement {
    /// A whole leg.
    pub(super) fn of(leg: &Leg) -> Self {
        let mut stretch = OneMovement::empty(leg.speed_mps);
        leg.pieces_m().for_each(|(a, b)| stretch.add(a, b));
        stretch.length_m = leg.curve_m.unwrap_or(stretch.length_m);
        stretch
    }

    pub(super) fn empty(speed_mps: f64) -> Self {
        OneMovement { length_m: 0.0, gain_m: 0.0, speed_mps, first: None, more: Vec::new() }
    }

    pub(super) fn add(&mut self, a: DVec3, b: DVec3) {
        let length_m = a.distance(b);
        if length_m == 0.0 {
            return;
        }
        self.length_m += length_m;
        self.gain_m += (b.z - a.z).max(0.0);
        let way = (b - a).truncate();
        let level_m = way.length();
        let along = if level_m > 0.0 { way / level_m } else { DVec2::ZERO };
        let piece = Piece { along, level_ratio: level_m / length_m, length_m };
        match self.more.last_mut().or(self.first.as_mut()) {
            Some(last) if last.goes_on_in(&piece) => last.join(&piece),
            Some(_) => self.more.push(piece),
            None => self.first = Some(piece),
        }
    }

    pub(super) fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.first.iter().chain(&self.more)
    }

    pub(super) fn is_one_piece(&self) -> bool {
        self.more.is_empty()
    }

    /// Whether it takes the same time and energy as another, to what adds up to nothing over a leg.
    pub(super) fn is_like(&self, other: &OneMovement) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        let same = |a: &Piece, b: &Piece| {
            a.along.distance(b.along) < 1e-12 && (a.level_ratio - b.level_ratio).abs() < 1e-12
        };
        let pieces = match (&self.first, &other.first) {
            (Some(a), Some(b)) => same(a, b),
            (None, None) => true,
            _ => false,
        };
        pieces
            && self.is_one_piece()
            && other.is_one_piece()
            && near(self.length_m, other.length_m)
            && near(self.gain_m, other.gain_m)
    }
}

impl Piece {
    fn goes_on_in(&self, next: &Piece) -> bool {
        let turned = self.along.perp_dot(next.along).abs();
        let onward = self.along.dot(next.along) > 0.0 || self.along == next.along;
        turned < ONE_DIRECTION && onward
    }

    fn join(&mut self, next: &Piece) {
        let total_m = self.length_m + next.length_m;
        self.level_ratio = (self.level_ratio * self.length_m + next.level_ratio * next.length_m) / total_m;
        self.length_m = total_m;
    }
}
