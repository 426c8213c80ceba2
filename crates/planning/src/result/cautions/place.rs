//! Places on the route that a caution is about.

use crate::flight::{Flight, FlownLeg};
use crate::result::caution::{RoutePoint, Stretch};
use glam::DVec3;

/// Distance along the route between the places that are looked at.
const STEP_M: f64 = 10.0;

/// Most places that are looked at; a longer route is looked at less often.
const MOST_POINTS: f64 = 4000.0;

/// The route as places some metres apart, every corner included.
#[derive(Debug)]
pub(crate) struct Walk {
    pub(super) points: Vec<RoutePoint>,
    /// Index of the first place of each leg; one more at the end.
    firsts: Vec<usize>,
    pub(super) step_m: f64,
}

impl Walk {
    pub(super) fn new(flight: &Flight) -> Walk {
        let places = (flight.route_length_m / STEP_M).min(MOST_POINTS) as usize;
        let mut points = Vec::with_capacity(places + 3 * flight.legs.len());
        let mut firsts = Vec::with_capacity(flight.legs.len() + 1);
        let (step_m, mut flown_m) = (step_m(flight), 0.0);
        for flown in &flight.legs {
            firsts.push(points.len());
            each_place(flown, flown_m, step_m, |_| true, |point| points.push(point));
            flown_m += flown.length_m;
        }
        firsts.push(points.len());
        Walk { points, firsts, step_m }
    }

    /// The place at a distance along a leg, where it is known where that is.
    fn point_at(&self, flight: &Flight, leg: usize, along_m: f64, position_m: DVec3) -> RoutePoint {
        let first = self.points[self.firsts[leg]];
        let pace = pace(&flight.legs[leg]);
        RoutePoint {
            position_m,
            flown_m: first.flown_m + along_m,
            time_s: first.time_s + along_m * pace,
            ..first
        }
    }

    /// The part of a leg between two distances along it.
    pub(super) fn part_of(&self, flight: &Flight, leg: usize, (from_m, to_m): (f64, f64)) -> Stretch {
        let part = flight.legs[leg].leg.part(from_m, to_m);
        let from = self.point_at(flight, leg, from_m, part.from_m);
        let to = self.point_at(flight, leg, to_m, part.to_m);
        Stretch { from, to, pass: from.pass, line_m: part.corners_m().collect() }
    }

    /// A whole leg.
    pub(super) fn of_leg(&self, leg: usize) -> Stretch {
        self.stretch((self.firsts[leg], self.firsts[leg + 1] - 1))
    }

    /// Whole legs with what was found on them, in the order given.
    pub(super) fn of_legs(&self, legs: &[(f64, usize)]) -> Vec<Stretch> {
        legs.iter().map(|(_, leg)| self.of_leg(*leg)).collect()
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

    /// All of some runs: the longest first, the others in flying order.
    pub(super) fn longest_first(&self, runs: &[(usize, usize)]) -> Vec<Stretch> {
        longest_first(runs.iter().map(|run| self.stretch(*run)).collect())
    }
}

/// Distance between the places of a flight that are looked at.
fn step_m(flight: &Flight) -> f64 {
    STEP_M.max(flight.route_length_m / MOST_POINTS)
}

/// Seconds a metre on a leg.
fn pace(flown: &FlownLeg) -> f64 {
    flown.moving_s / flown.length_m.max(f64::MIN_POSITIVE)
}

/// Visits the places of a leg: where it begins, and those of the straight pieces an end of which matters.
fn each_place(
    flown: &FlownLeg,
    begun_m: f64,
    step_m: f64,
    matters: impl Fn(DVec3) -> bool,
    mut visit: impl FnMut(RoutePoint),
) {
    let (pace, begun_s) = (pace(flown), flown.start_s + flown.turn_s);
    let mut passed_m = 0.0;
    let point = |position_m: DVec3, along_m: f64| RoutePoint {
        position_m,
        flown_m: begun_m + along_m,
        time_s: begun_s + along_m * pace,
        sortie: flown.sortie,
        pass: flown.pass,
    };
    visit(point(flown.leg.from_m, 0.0));
    let mut begins_where_it_matters = matters(flown.leg.from_m);
    let up_to = if matters(flown.leg.to_m) {
        flown.leg.via_m.len() + 1
    } else if let Some(last) = flown.leg.via_m.iter().rposition(|at_m| matters(*at_m)) {
        last + 2
    } else {
        usize::from(begins_where_it_matters)
    };
    for (a, b) in flown.leg.pieces_m().take(up_to) {
        let piece_m = a.distance(b);
        let ends_there = matters(b);
        if !std::mem::replace(&mut begins_where_it_matters, ends_there) && !ends_there {
            passed_m += piece_m;
            continue;
        }
        if piece_m <= step_m {
            visit(point(a + (b - a), passed_m + piece_m));
            passed_m += piece_m;
            continue;
        }
        let steps = (piece_m / step_m).ceil().max(1.0) as u32;
        let share = 1.0 / f64::from(steps);
        for k in 1..=steps {
            let part = f64::from(k) * share;
            visit(point(a + (b - a) * part, passed_m + piece_m * part));
        }
        passed_m += piece_m;
    }
}

/// The stretches of places of which something holds, within sorties, the longest first: those of a whole [`Walk`]. Straight
/// pieces neither end of which matters in its sortie are not walked; nothing may hold on them.
pub(super) fn stretches_where<M: Fn(DVec3) -> bool>(
    flight: &Flight,
    matters_in: impl Fn(u32) -> M,
    holds: impl Fn(&RoutePoint) -> bool,
) -> Vec<Stretch> {
    let (step_m, mut flown_m) = (step_m(flight), 0.0);
    let mut found: Vec<Stretch> = Vec::new();
    let mut held_before = false;
    for flown in &flight.legs {
        let matters = matters_in(flown.sortie);
        if flown.leg.corners_m().any(&matters) {
            each_place(flown, flown_m, step_m, matters, |point| {
                let holds = holds(&point);
                let goes_on = std::mem::replace(&mut held_before, holds);
                if !holds {
                    return;
                }
                match found.last_mut().filter(|last| goes_on && last.to.sortie == point.sortie) {
                    Some(last) => last.go_on_to(point),
                    None => found.push(Stretch::at(point)),
                }
            });
        } else {
            held_before = false;
        }
        flown_m += flown.length_m;
    }
    longest_first(found)
}

/// Where a leg begins, as the first place of it in a [`Walk`].
pub(super) fn beginning(flight: &Flight, leg: usize) -> RoutePoint {
    let flown = &flight.legs[leg];
    let flown_m = flight.legs[..leg].iter().fold(0.0, |sum_m, before| sum_m + before.length_m);
    RoutePoint {
        position_m: flown.leg.at_m(0.0),
        flown_m,
        time_s: flown.start_s + flown.turn_s,
        sortie: flown.sortie,
        pass: flown.pass,
    }
}

/// Stretches in flying order with the longest moved to their head; of equally long ones the first.
pub(super) fn longest_first(mut places: Vec<Stretch>) -> Vec<Stretch> {
    let longest =
        (0..places.len()).rev().max_by(|a, b| places[*a].length_m().total_cmp(&places[*b].length_m()));
    if let Some(longest) = longest {
        places[..=longest].rotate_right(1);
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Capacity, FlightTerms, Sortie};
    use crate::route::generated::Lots;
    use crate::route::{Leg, LegKind};
    use crate::scenario::wind::Wind;
    use glam::DVec2;

    /// A flight of bent legs one after the other.
    fn flight(seed: u32) -> Flight {
        let mut drawn = Lots(seed);
        let mut here_m = drawn.place(400.0).extend(0.0);
        let legs: Vec<FlownLeg> = (0..20)
            .map(|k| {
                let mut place_m = || drawn.place(400.0).extend(30.0);
                let (via_m, to_m) = ((0..k % 4).map(|_| place_m()).collect(), place_m());
                let leg = Leg { via_m, ..Leg::straight(LegKind::Strip, here_m, to_m, 5.0) };
                here_m = to_m;
                let length_m = leg.length_m();
                let (start_s, moving_s) = (100.0 * f64::from(k), 50.0 + length_m);
                FlownLeg {
                    leg: leg.into(),
                    length_m,
                    pass: None,
                    sortie: k / 10,
                    start_s,
                    turn_s: 3.0,
                    moving_s,
                    energy_j: 0.0,
                    peak_mps: 5.0,
                    ends_mps: [0.0; 2],
                    standing_s: 0.0,
                }
            })
            .collect();
        Flight {
            route_length_m: legs.iter().map(|flown| flown.length_m).sum(),
            legs,
            take_offs_m: Vec::new(),
            sorties: Vec::<Sortie>::new(),
            station_time_s: Vec::new(),
            terms: FlightTerms::default(),
            farthest_m: 0.0,
            reaches_m: Vec::<DVec2>::new(),
            wind: Wind::STILL,
            order: Vec::new(),
            capacity_j: 1.0,
            capacity: Capacity::SharesOnly,
            acceleration_mps2: 2.0,
            corrections: crate::scenario::FlownCorrections::default(),
        }
    }

    /// Derived: beyond a distance from a place there are the same stretches, to the last bit, whether the pieces are walked that
    /// lie within it or not, and many legs lie within it.
    #[test]
    fn stretches_are_those_of_a_whole_walk() {
        let (mut stretches, mut legs) = (0, 0);
        for seed in 0..40 {
            let (flight, limit_m) = (flight(seed), 120.0 + 5.0 * f64::from(seed));
            let off_m = |at_m: DVec3| (at_m.truncate() - DVec2::new(30.0, 60.0)).length();
            let beyond = |point: &RoutePoint| off_m(point.position_m) > limit_m;
            let whole = Walk::new(&flight);
            let matters = |_: u32| |at_m: DVec3| off_m(at_m) > limit_m - 1e-6;
            let found = stretches_where(&flight, matters, beyond);
            assert_eq!(found, whole.longest_first(&whole.runs(beyond)), "{seed}");
            stretches += found.len();
            let is_skipped = |flown: &&FlownLeg| !flown.leg.corners_m().any(matters(0));
            legs += flight.legs.iter().filter(is_skipped).count();
        }
        assert!(stretches > 200 && legs > 50, "{stretches} {legs}");
    }
}
