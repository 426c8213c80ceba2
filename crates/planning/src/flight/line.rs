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
    level_m: f64,
    pub(super) length_m: f64,
}

/// Pieces whose directions differ by less lie along one line.
const ONE_DIRECTION: f64 = 1e-9;

impl OneMovement {
    /// A whole leg.
    pub(super) fn of(leg: &Leg) -> Self {
        let stretch = if leg.via_m.is_empty() {
            OneMovement::straight(leg.from_m, leg.to_m, leg.speed_mps)
        } else {
            OneMovement::through(leg.pieces_m(), leg.speed_mps)
        };
        OneMovement { length_m: leg.curve_m.unwrap_or(stretch.length_m), ..stretch }
    }

    pub(super) fn empty(speed_mps: f64) -> Self {
        OneMovement { length_m: 0.0, gain_m: 0.0, speed_mps, first: None, more: Vec::new() }
    }

    fn straight(from_m: DVec3, to_m: DVec3, speed_mps: f64) -> Self {
        let way = to_m - from_m;
        let (length_m, gain_m) = (way.length(), way.z.max(0.0));
        let first = (length_m > 0.0).then(|| Piece::new(way.truncate(), length_m));
        OneMovement { length_m, gain_m, speed_mps, first, more: Vec::new() }
    }

    /// Along straight pieces, by their ends.
    pub(super) fn through(pieces_m: impl Iterator<Item = (DVec3, DVec3)>, speed_mps: f64) -> Self {
        let mut stretch = OneMovement::empty(speed_mps);
        let (mut passed_m, mut gain_m, mut open) = (0.0, 0.0, None::<Piece>);
        for (a, b) in pieces_m {
            let way = b - a;
            let length_m = way.length();
            if length_m == 0.0 {
                continue;
            }
            passed_m += length_m;
            gain_m += way.z.max(0.0);
            let piece = Piece::new(way.truncate(), length_m);
            if let Some(last) = open.as_mut().filter(|last| last.goes_on_in(way.truncate(), piece.level_m)) {
                last.level_m += piece.level_m;
                last.length_m += length_m;
                continue;
            }
            stretch.add(open.replace(piece));
        }
        stretch.add(open);
        OneMovement { length_m: passed_m, gain_m, ..stretch }
    }

    fn add(&mut self, piece: Option<Piece>) {
        match self.first {
            Some(_) => self.more.extend(piece),
            None => self.first = piece,
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
            a.along.distance(b.along) < 1e-12 && (a.level_ratio() - b.level_ratio()).abs() < 1e-12
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
    /// Along a level way, of so much length up and down included.
    fn new(way: DVec2, length_m: f64) -> Self {
        let level_m = way.length();
        let along = if level_m > 0.0 { way / level_m } else { DVec2::ZERO };
        Piece { along, level_m, length_m }
    }

    /// Level length over length.
    pub(super) fn level_ratio(&self) -> f64 {
        self.level_m / self.length_m
    }

    /// Whether a way, of so much level length, is in its direction.
    fn goes_on_in(&self, way: DVec2, level_m: f64) -> bool {
        if level_m == 0.0 {
            return self.along == DVec2::ZERO;
        }
        self.along.perp_dot(way).abs() < ONE_DIRECTION * level_m && self.along.dot(way) > 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: a line straight from place to place is one through one piece, to the last bit: along, across, upright, and none.
    #[test]
    fn a_straight_line_is_one_through_one_piece() {
        let from_m = DVec3::new(3.25, -7.5, 12.125);
        let ways =
            [(40.3, -9.1, 2.7), (0.0, 0.0, 8.4), (0.0, 0.0, -3.3), (1e-9, 0.0, 5.0), (-6.6, 70.7, 0.0)];
        for way in ways.map(DVec3::from).into_iter().chain([DVec3::ZERO]) {
            let to_m = from_m + way;
            let straight = OneMovement::straight(from_m, to_m, 4.5);
            let through = OneMovement::through(std::iter::once((from_m, to_m)), 4.5);
            assert_eq!(format!("{straight:?}"), format!("{through:?}"), "{way}");
        }
    }
}
