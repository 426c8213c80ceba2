//! Places on the route that a caution is about.

use crate::{Flight, FlownLeg, Id};
use glam::DVec3;

/// Distance along the route between the places that are looked at.
const STEP_M: f64 = 10.0;

/// Most places that are looked at; a longer route is looked at less often.
const MOST_POINTS: f64 = 4000.0;

/// A place on the route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoutePoint {
    /// Where it is.
    pub position_m: DVec3,
    /// Way flown up to it since the first take-off.
    pub flown_m: f64,
    /// Flying clock, battery changes left out; within a leg by its share of the way, so a few seconds off.
    pub time_s: f64,
    /// Index into the sorties.
    pub sortie: u32,
    /// The pass that it belongs to; none on transits.
    pub pass: Option<Id>,
}

/// A stretch of the route; both ends are equal for a single place.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Where it begins.
    pub from: RoutePoint,
    /// Where it ends.
    pub to: RoutePoint,
    /// The first pass on it; none where it is all transit.
    pub pass: Option<Id>,
    /// The way from one to the other, both included.
    pub line_m: Vec<DVec3>,
}

impl Stretch {
    /// Its length along the route, in metres.
    pub fn length_m(&self) -> f64 {
        self.to.flown_m - self.from.flown_m
    }

    pub(super) fn at(point: RoutePoint) -> Stretch {
        Stretch { from: point, to: point, pass: point.pass, line_m: vec![point.position_m] }
    }
}

/// The route as places some metres apart, every corner included.
#[derive(Debug)]
pub(super) struct Walk {
    pub(super) points: Vec<RoutePoint>,
    /// Index of the first place of each leg; one more at the end.
    firsts: Vec<usize>,
    pub(super) step_m: f64,
}

impl Walk {
    pub(super) fn new(flight: &Flight) -> Walk {
        let step_m = STEP_M.max(flight.route_length_m / MOST_POINTS);
        let expected = (flight.route_length_m / step_m) as usize + 3 * flight.legs.len();
        let mut walk = Walk {
            points: Vec::with_capacity(expected),
            firsts: Vec::with_capacity(flight.legs.len() + 1),
            step_m,
        };
        let mut flown_m = 0.0;
        for flown in &flight.legs {
            walk.firsts.push(walk.points.len());
            flown_m = walk.leg(flown, flown_m);
        }
        walk.firsts.push(walk.points.len());
        walk
    }

    /// Adds the places of a leg; returns the way flown at its end.
    fn leg(&mut self, flown: &FlownLeg, begun_m: f64) -> f64 {
        let length_m = flown.leg.length_m();
        let pace = flown.moving_s / length_m.max(f64::MIN_POSITIVE);
        let begun_s = flown.start_s + flown.turn_s;
        let mut passed_m = 0.0;
        let point = |position_m: DVec3, along_m: f64| RoutePoint {
            position_m,
            flown_m: begun_m + along_m,
            time_s: begun_s + along_m * pace,
            sortie: flown.sortie,
            pass: flown.pass,
        };
        self.points.push(point(flown.leg.from_m, 0.0));
        for (a, b) in flown.leg.pieces_m() {
            let piece_m = a.distance(b);
            let steps = (piece_m / self.step_m).ceil().max(1.0) as u32;
            let share = 1.0 / f64::from(steps);
            self.points.extend((1..=steps).map(|k| {
                let part = f64::from(k) * share;
                point(a + (b - a) * part, passed_m + piece_m * part)
            }));
            passed_m += piece_m;
        }
        begun_m + length_m
    }

    /// The place at a distance along a leg.
    pub(super) fn point_on(&self, flight: &Flight, leg: usize, along_m: f64) -> RoutePoint {
        let flown = &flight.legs[leg];
        let first = self.points[self.firsts[leg]];
        let pace = flown.moving_s / flown.leg.length_m().max(f64::MIN_POSITIVE);
        RoutePoint {
            position_m: flown.leg.at_m(along_m),
            flown_m: first.flown_m + along_m,
            time_s: first.time_s + along_m * pace,
            ..first
        }
    }

    /// A whole leg.
    pub(super) fn of_leg(&self, leg: usize) -> Stretch {
        self.stretch((self.firsts[leg], self.firsts[leg + 1] - 1))
    }

    /// From one of the places to another.
    pub(super) fn stretch(&self, (from, to): (usize, usize)) -> Stretch {
        let mut line_m: Vec<DVec3> = self.points[from..=to].iter().map(|point| point.position_m).collect();
        line_m.dedup();
        let pass = self.points[from..=to].iter().find_map(|point| point.pass);
        Stretch { from: self.points[from], to: self.points[to], pass, line_m }
    }

    /// The runs of places of which something holds, within sorties.
    pub(super) fn runs(&self, mut holds: impl FnMut(&RoutePoint) -> bool) -> Vec<(usize, usize)> {
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for (k, point) in self.points.iter().enumerate() {
            if !holds(point) {
                continue;
            }
            match runs.last_mut() {
                Some(last) if last.1 + 1 == k && self.points[last.1].sortie == point.sortie => last.1 = k,
                _ => runs.push((k, k)),
            }
        }
        runs
    }

    /// The longest of some runs and then the first, if that is another one.
    pub(super) fn longest_and_first(&self, runs: &[(usize, usize)]) -> Vec<Stretch> {
        let length_m = |run: &(usize, usize)| self.points[run.1].flown_m - self.points[run.0].flown_m;
        let Some(&first) = runs.first() else { return Vec::new() };
        let longest =
            runs.iter().fold(first, |best, run| if length_m(run) > length_m(&best) { *run } else { best });
        let mut places = vec![self.stretch(longest)];
        if longest != first {
            places.push(self.stretch(first));
        }
        places
    }
}
