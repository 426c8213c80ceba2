//! A movement prepared to be flown many times: all that time and energy need to know of a line.

use super::craft::{AT_REST, Cost, Craft};
use super::line::Stretch;
use crate::motion::Trapezoid;
use crate::route::{SAME_PLACE_M, level};
use crate::{Leg, Standing};
use glam::DVec3;

/// How a leg, or a part of it from stop to stop, is flown.
#[derive(Debug, Clone)]
pub(super) enum Run {
    /// In one movement.
    Moving(Stretch),
    /// Coming to rest at every place of an exposure.
    Hopping(Vec<Hops>),
}

/// Movements from rest to rest that are alike, each with the standing at its end.
#[derive(Debug, Clone)]
pub(super) struct Hops {
    stretch: Stretch,
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

impl Run {
    pub(super) fn flown(&self, craft: &Craft, ends_mps: [f64; 2]) -> Flown {
        match self {
            Run::Moving(stretch) => {
                let (motion, cost) = craft.moving(stretch, ends_mps);
                Flown::moving(motion, cost)
            }
            Run::Hopping(hops) => {
                let none = Flown { cost: Cost::default(), peak_mps: 0.0, standing_s: 0.0, motion: None };
                hops.iter().fold(none, |so_far, hops| {
                    let (motion, once) = craft.moving(&hops.stretch, AT_REST);
                    let count = f64::from(hops.count);
                    Flown {
                        cost: so_far.cost + (once + craft.standing(hops.waits_s)).times(count),
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
        let Run::Hopping(all) = self else { return Vec::new() };
        let mut clock_s = 0.0;
        let mut ends_s = Vec::new();
        for hops in all {
            let once_s = craft.moving(&hops.stretch, AT_REST).1.time_s + hops.waits_s;
            ends_s.extend((1..=hops.count).map(|k| clock_s + f64::from(k) * once_s));
            clock_s += f64::from(hops.count) * once_s;
        }
        ends_s
    }
}

/// A part of a leg, from one of its stops (or its start) to another (or its end).
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) run: Run,
    /// Azimuths of the nose where it begins and where it ends.
    pub(super) noses_rad: [Option<f64>; 2],
}

/// A leg's corners with their distances along it: cut into parts without walking it anew.
pub(super) struct Cutter<'l> {
    leg: &'l Leg,
    corners: Vec<(f64, DVec3)>,
}

impl<'l> Cutter<'l> {
    pub(super) fn new(leg: &'l Leg) -> Self {
        let mut along_m = 0.0;
        let mut corners = Vec::with_capacity(leg.via_m.len() + 2);
        corners.push((0.0, leg.from_m));
        for (a, b) in leg.pieces_m() {
            along_m += a.distance(b);
            corners.push((along_m, b));
        }
        Cutter { leg, corners }
    }

    /// The leg after so many stops, up to and with as many as are done at its end; absent, all of it.
    pub(super) fn part(&self, from: usize, to: Option<usize>) -> Part {
        let stops = &self.leg.stops;
        let from_m = from.checked_sub(1).map_or(0.0, |last| stops[last].along_m);
        let to_m = to.map_or(self.length_m(), |to| stops[to - 1].along_m);
        let exposed = &stops[from..to.unwrap_or(stops.len())];
        let run = match self.leg.standing.filter(|_| !exposed.is_empty()) {
            None => Run::Moving(self.stretch(from_m, to_m)),
            Some(standing) => {
                let alongs_m = exposed.iter().map(|stop| stop.along_m);
                Run::Hopping(self.hops(from_m, alongs_m, to.is_none().then_some(to_m), standing))
            }
        };
        Part { run, noses_rad: self.noses_rad(from_m, to_m) }
    }

    fn length_m(&self) -> f64 {
        self.corners[self.corners.len() - 1].0
    }

    /// From place to place; `end_m` is where the leg ends beyond the last of them.
    fn hops(
        &self,
        from_m: f64,
        alongs_m: impl Iterator<Item = f64>,
        end_m: Option<f64>,
        standing: Standing,
    ) -> Vec<Hops> {
        let mut all: Vec<Hops> = Vec::new();
        let mut at_m = from_m;
        let mut add = |hop: Hops| match all.last_mut() {
            Some(last) if last.waits_s == hop.waits_s && last.stretch.is_like(&hop.stretch) => {
                last.count += 1;
            }
            _ => all.push(hop),
        };
        for (k, along_m) in alongs_m.enumerate() {
            let moves = k == 0 || along_m - at_m >= SAME_PLACE_M;
            let waits_s = if moves { standing.first_s } else { standing.further_s };
            let stretch =
                if moves { self.stretch(at_m, along_m) } else { Stretch::empty(self.leg.speed_mps) };
            add(Hops { stretch, count: 1, waits_s });
            at_m = along_m;
        }
        if let Some(end_m) = end_m {
            add(Hops { stretch: self.stretch(at_m, end_m), count: 1, waits_s: 0.0 });
        }
        all
    }

    /// The line between two distances along the leg.
    fn stretch(&self, from_m: f64, to_m: f64) -> Stretch {
        let mut stretch = Stretch::empty(self.leg.speed_mps);
        let places = self.between(from_m, to_m);
        places.windows(2).for_each(|pair| stretch.add(pair[0], pair[1]));
        stretch
    }

    /// The places at two distances and the corners between them.
    fn between(&self, from_m: f64, to_m: f64) -> Vec<DVec3> {
        let after = self.corners.partition_point(|corner| corner.0 <= from_m + SAME_PLACE_M);
        let upto = self.corners.partition_point(|corner| corner.0 < to_m - SAME_PLACE_M).max(after);
        let mut places = vec![self.at_m(from_m)];
        places.extend(self.corners[after..upto].iter().map(|corner| corner.1));
        places.push(self.at_m(to_m));
        places
    }

    pub(super) fn at_m(&self, along_m: f64) -> DVec3 {
        let next =
            self.corners.partition_point(|corner| corner.0 <= along_m).clamp(1, self.corners.len() - 1);
        let (a, b) = (self.corners[next - 1], self.corners[next]);
        let length_m = b.0 - a.0;
        // Between ends at one level the place is at that level, to the last bit.
        let share = if length_m > 0.0 { ((along_m - a.0) / length_m).clamp(0.0, 1.0) } else { 1.0 };
        a.1 + (b.1 - a.1) * share
    }

    fn noses_rad(&self, from_m: f64, to_m: f64) -> [Option<f64>; 2] {
        let places = self.between(from_m, to_m);
        let first = places.windows(2).find_map(|pair| level(pair[0], pair[1]));
        let last = places.windows(2).rev().find_map(|pair| level(pair[0], pair[1]));
        let nose = self.leg.nose;
        [nose.at_rad(places[0], first), nose.at_rad(places[places.len() - 1], last)]
    }
}
