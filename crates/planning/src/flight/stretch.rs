//! A movement prepared to be flown many times: all that time and energy need to know of a line.

use super::craft::{AT_REST, Cost, Craft};
use super::line::OneMovement;
use crate::geometry::motion::Trapezoid;
use crate::route::{Leg, SAME_PLACE_M, Standing, level};
use glam::DVec3;

/// How a leg, or a part of it from stop to stop, is flown.
#[derive(Debug, Clone)]
pub(super) enum LegRun {
    /// In one movement.
    Moving(OneMovement),
    /// Coming to rest at every place of an exposure.
    Hopping(Vec<Hops>),
}

/// Movements from rest to rest that are alike, each with the standing at its end.
#[derive(Debug, Clone)]
pub(super) struct Hops {
    stretch: OneMovement,
    count: u32,
    waits_s: f64,
}

/// A run as it comes out with an aircraft on the day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flown {
    pub(super) cost: Cost,
    pub(super) peak_mps: f64,
    pub(super) standing_s: f64,
    /// Of a run in one movement.
    pub(super) motion: Option<Trapezoid>,
}

impl Flown {
    /// In one movement.
    pub(super) fn moving(motion: Trapezoid, cost: Cost) -> Self {
        Flown { cost, peak_mps: motion.peak_mps(), standing_s: 0.0, motion: Some(motion) }
    }
}

impl Hops {
    /// One of the movements and the standing after it.
    fn once(&self, craft: &Craft) -> (Trapezoid, Cost) {
        let (motion, cost) = craft.moving(&self.stretch, AT_REST);
        (motion, cost + craft.standing(self.waits_s))
    }
}

impl LegRun {
    pub(super) fn flown(&self, craft: &Craft, ends_mps: [f64; 2]) -> Flown {
        match self {
            LegRun::Moving(stretch) => {
                let (motion, cost) = craft.moving(stretch, ends_mps);
                Flown::moving(motion, cost)
            }
            LegRun::Hopping(hops) => {
                let none = Flown { cost: Cost::default(), peak_mps: 0.0, standing_s: 0.0, motion: None };
                hops.iter().fold(none, |so_far, hops| {
                    let (motion, once) = hops.once(craft);
                    let count = f64::from(hops.count);
                    Flown {
                        cost: so_far.cost + once.times(count),
                        peak_mps: so_far.peak_mps.max(motion.peak_mps()),
                        standing_s: so_far.standing_s + count * hops.waits_s,
                        motion: None,
                    }
                })
            }
        }
    }

    /// When each hop and the standing after it are over, from when the run is begun.
    pub(super) fn hops_end_s(&self, craft: &Craft) -> Vec<f64> {
        let LegRun::Hopping(all) = self else { return Vec::new() };
        let mut clock_s = 0.0;
        let mut ends_s = Vec::new();
        for hops in all {
            let once_s = hops.once(craft).1.time_s;
            ends_s.extend((1..=hops.count).map(|k| clock_s + f64::from(k) * once_s));
            clock_s += f64::from(hops.count) * once_s;
        }
        ends_s
    }
}

/// A part of a leg, from one of its stops (or its start) to another (or its end).
#[derive(Debug, Clone)]
pub(super) struct LegPart {
    pub(super) run: LegRun,
    /// Azimuths of the nose where it begins and where it ends.
    pub(super) noses_rad: [Option<f64>; 2],
}

/// What of a leg is the same however it is cut into parts.
#[derive(Debug)]
pub(super) struct Cuts {
    /// Corners with their distances along the leg.
    corners: Vec<(f64, DVec3)>,
    /// Of a leg that is flown from stop to stop: movements up to its last stop, each with the number of stops before it.
    hops: Vec<(usize, Hops)>,
}

impl Cuts {
    pub(super) fn of(leg: &Leg) -> Self {
        let mut along_m = 0.0;
        let mut corners = Vec::with_capacity(leg.via_m.len() + 2);
        corners.push((0.0, leg.from_m));
        for (a, b) in leg.pieces_m() {
            along_m += a.distance(b);
            corners.push((along_m, b));
        }
        let cuts = Cuts { corners, hops: Vec::new() };
        let hops = leg.standing.map(|standing| Cutter::new(leg, &cuts).hops(standing)).unwrap_or_default();
        Cuts { hops, ..cuts }
    }
}

/// Cuts a leg into parts without walking it anew.
pub(super) struct Cutter<'l> {
    leg: &'l Leg,
    corners: &'l [(f64, DVec3)],
    hops: &'l [(usize, Hops)],
}

impl<'l> Cutter<'l> {
    pub(super) fn new(leg: &'l Leg, cuts: &'l Cuts) -> Self {
        Cutter { leg, corners: &cuts.corners, hops: &cuts.hops }
    }

    /// The leg after so many stops, up to and with as many as are done at its end; absent, all of it.
    pub(super) fn part(&self, from: usize, to: Option<usize>) -> LegPart {
        let stops = &self.leg.stops;
        let from_m = from.checked_sub(1).map_or(0.0, |last| stops[last].along_m);
        let to_m = to.map_or(self.length_m(), |to| stops[to - 1].along_m);
        let upto = to.unwrap_or(stops.len());
        let places = self.between(from_m, to_m);
        let run = match self.leg.standing.filter(|_| upto > from) {
            None => LegRun::Moving(self.stretch_through(&places)),
            Some(standing) => {
                let mut hops = self.hops_between(from, upto, standing);
                if to.is_none() {
                    let stretch = self.stretch(stops[upto - 1].along_m, to_m);
                    hops.push(Hops { stretch, count: 1, waits_s: 0.0 });
                }
                LegRun::Hopping(hops)
            }
        };
        LegPart { run, noses_rad: self.noses_rad(&places) }
    }

    fn length_m(&self) -> f64 {
        self.corners[self.corners.len() - 1].0
    }

    /// From the leg's start from stop to stop, each movement with the number of stops before it.
    fn hops(&self, standing: Standing) -> Vec<(usize, Hops)> {
        let mut all: Vec<(usize, Hops)> = Vec::new();
        let mut at_m = 0.0;
        for (before, stop) in self.leg.stops.iter().enumerate() {
            let hop = if before == 0 || stop.along_m - at_m >= SAME_PLACE_M {
                self.first_hop(at_m, stop.along_m, standing)
            } else {
                let stretch = OneMovement::empty(self.leg.speed_mps);
                Hops { stretch, count: 1, waits_s: standing.further_s }
            };
            match all.last_mut() {
                Some((_, last)) if last.waits_s == hop.waits_s && last.stretch.is_like(&hop.stretch) => {
                    last.count += 1;
                }
                _ => all.push((before, hop)),
            }
            at_m = stop.along_m;
        }
        all
    }

    /// To a stop, coming to rest there.
    fn first_hop(&self, from_m: f64, to_m: f64, standing: Standing) -> Hops {
        Hops { stretch: self.stretch(from_m, to_m), count: 1, waits_s: standing.first_s }
    }

    /// From after so many stops up to and with another one. Whoever resumes comes to rest anew, if only where the stop before
    /// was.
    fn hops_between(&self, from: usize, upto: usize, standing: Standing) -> Vec<Hops> {
        let stops = &self.leg.stops;
        let mut all = Vec::new();
        let mut done = from;
        if from > 0 && stops[from].along_m - stops[from - 1].along_m < SAME_PLACE_M {
            all.push(self.first_hop(stops[from - 1].along_m, stops[from].along_m, standing));
            done += 1;
        }
        let first = self.hops.partition_point(|(before, hops)| before + hops.count as usize <= done);
        for (before, hops) in self.hops[first..].iter().take_while(|(before, _)| *before < upto) {
            let end = (before + hops.count as usize).min(upto);
            all.push(Hops { count: (end - done) as u32, ..hops.clone() });
            done = end;
        }
        all
    }

    /// What each movement up to the last stop draws, and how many are alike.
    pub(super) fn hops_drawn_j(&self, craft: &Craft) -> impl Iterator<Item = (f64, u32)> {
        self.hops.iter().map(|(_, hops)| (hops.once(craft).1.energy_j, hops.count))
    }

    /// The line between two distances along the leg.
    fn stretch(&self, from_m: f64, to_m: f64) -> OneMovement {
        self.stretch_through(&self.between(from_m, to_m))
    }

    fn stretch_through(&self, places: &[DVec3]) -> OneMovement {
        OneMovement::through(places.windows(2).map(|pair| (pair[0], pair[1])), self.leg.speed_mps)
    }

    /// The places at two distances and the corners between them.
    fn between(&self, from_m: f64, to_m: f64) -> Vec<DVec3> {
        let after = self.corners.partition_point(|corner| corner.0 <= from_m + SAME_PLACE_M);
        let upto = self.corners.partition_point(|corner| corner.0 < to_m - SAME_PLACE_M).max(after);
        let mut places = Vec::with_capacity(upto - after + 2);
        places.push(self.at_m(from_m));
        places.extend(self.corners[after..upto].iter().map(|corner| corner.1));
        places.push(self.at_m(to_m));
        places
    }

    pub(super) fn at_m(&self, along_m: f64) -> DVec3 {
        let next =
            self.corners.partition_point(|corner| corner.0 <= along_m).clamp(1, self.corners.len() - 1);
        self.place_before(next, along_m)
    }

    /// The places of all stops, in their order.
    pub(super) fn stops_at_m(&self) -> impl Iterator<Item = DVec3> {
        let last = self.corners.len() - 1;
        let mut next = 1;
        self.leg.stops.iter().map(move |stop| {
            if self.corners[next - 1].0 > stop.along_m {
                next = 1;
            }
            while next < last && self.corners[next].0 <= stop.along_m {
                next += 1;
            }
            self.place_before(next, stop.along_m)
        })
    }

    /// The place at a distance along the leg that lies on the piece before a corner.
    fn place_before(&self, next: usize, along_m: f64) -> DVec3 {
        on_piece_m(self.corners[next - 1], self.corners[next], along_m)
    }

    fn noses_rad(&self, places: &[DVec3]) -> [Option<f64>; 2] {
        let first = places.windows(2).find_map(|pair| level(pair[0], pair[1]));
        let last = places.windows(2).rev().find_map(|pair| level(pair[0], pair[1]));
        let nose = self.leg.nose;
        [nose.at_rad(places[0], first), nose.at_rad(places[places.len() - 1], last)]
    }
}

/// As [`Cutter::at_m`], of a leg that is not cut otherwise.
pub(super) fn place_on_m(leg: &Leg, along_m: f64) -> DVec3 {
    let (mut passed_m, mut piece) = (0.0, [(0.0, leg.from_m); 2]);
    for (a, b) in leg.pieces_m() {
        let begins_m = passed_m;
        passed_m += a.distance(b);
        piece = [(begins_m, a), (passed_m, b)];
        if passed_m > along_m {
            break;
        }
    }
    on_piece_m(piece[0], piece[1], along_m)
}

/// The place at a distance along a leg, between two that lie on one piece of it, with their distances.
fn on_piece_m(a: (f64, DVec3), b: (f64, DVec3), along_m: f64) -> DVec3 {
    let length_m = b.0 - a.0;
    // Between ends at one level the place is at that level, to the last bit.
    let share = if length_m > 0.0 { ((along_m - a.0) / length_m).clamp(0.0, 1.0) } else { 1.0 };
    a.1 + (b.1 - a.1) * share
}
