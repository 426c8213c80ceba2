//! Flies the legs of all passes one after the other and cuts them into sorties.

use super::charging::hand_out;
use super::craft::{AT_REST, Cost, Craft, end_track};
use super::turning::{Sweep, sweep};
use super::{Capacity, Flight, FlownLeg, Sortie};
use crate::motion::Trapezoid;
use crate::route::{Airspace, SAME_PLACE_M, legs_along};
use crate::wording::speed;
use crate::{Airframe, Conditions, Leg, LegKind, PassPlan, SiteOutline};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Times the legs of all passes and cuts them into sorties.
///
/// Legs are flown with trapezoidal speed, from rest to rest but where a sweep joins two strips; at corners the aircraft
/// yaws at 60°/s and takes one second more. A sortie goes on while, at the end of the next piece, the battery still covers
/// the return and the landing; else it turns back at the last exposure that allows it, and the next sortie resumes there. A
/// piece between strips that is not begun is not flown again: the next sortie goes straight to the strip.
///
/// Returns the flight and, where wind or batteries do not allow it, the reason; the flight is then timed as if they did.
///
/// `order` has the indices of the passes as they are flown.
pub(crate) fn fly(
    plans: &[Arc<PassPlan>],
    order: Vec<usize>,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
) -> (Flight, Option<String>) {
    let craft = Craft::new(airframe, conditions);
    let route = Route { plans, order };
    if craft.holds_the_wind() {
        return fly_with(craft, &route, airframe, site, conditions);
    }
    let why = format!(
        "the wind of {} is as fast as the aircraft goes through the air ({}): it cannot hold its tracks; wait for less wind",
        speed(conditions.wind.speed_mps),
        speed(craft.fastest_mps)
    );
    (fly_with(craft.in_still_air(), &route, airframe, site, conditions).0, Some(why))
}

/// Passes, and the order in which they are flown.
struct Route<'p> {
    plans: &'p [Arc<PassPlan>],
    order: Vec<usize>,
}

fn fly_with(
    craft: Craft,
    route: &Route<'_>,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
) -> (Flight, Option<String>) {
    let airspace = Airspace { site, clearance_m: conditions.clearance_m };
    let mut pilot = Pilot::new(route, craft, airframe, airspace, craft.usable_j());
    let reached = pilot.fly_all(route);
    if reached.is_ok() {
        return (pilot.land(route, conditions), None);
    }
    let mut unbounded = Pilot::new(route, craft, airframe, airspace, f64::INFINITY);
    let why = match unbounded.fly_all(route) {
        Ok(()) | Err(Stuck::OutOfReach) => format!(
            "a battery set flies {:.1} min before the reserve, too short to reach the route, expose and return",
            craft.usable_j() / craft.standing_w / 60.0
        ),
        Err(Stuck::NoWayRound) => {
            "keep-outs, structures and ground leave no way between take-off point and route at the clearance set; lower \
             it, or move the take-off point"
                .to_owned()
        }
    };
    (unbounded.land(route, conditions), Some(why))
}

/// A way home that is longer than this many times the distance is not reckoned with until the battery runs low.
const DETOUR: f64 = 3.0;

/// Turns, speeding up and braking on a way home.
const STARTS_AND_STOPS_S: f64 = 60.0;

/// Why the flight cannot go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stuck {
    OutOfReach,
    NoWayRound,
}

/// Flies leg after leg and keeps the clock and the battery.
struct Pilot<'a> {
    craft: Craft,
    airframe: &'a Airframe,
    airspace: Airspace<'a>,
    usable_j: f64,
    home_m: DVec3,
    flown: Vec<FlownLeg>,
    sorties: Vec<Sortie>,
    station_time_s: Vec<Vec<f64>>,
    clock_s: f64,
    sortie_start_s: f64,
    drawn_j: f64,
    exposures: u32,
    position_m: DVec3,
    track: Option<DVec2>,
    /// Speed at which the last leg ended.
    moving_mps: f64,
    airborne: bool,
    /// Whether this sortie has flown any of the route.
    progressed: bool,
}

impl<'a> Pilot<'a> {
    fn new(
        route: &Route<'_>,
        craft: Craft,
        airframe: &'a Airframe,
        airspace: Airspace<'a>,
        usable_j: f64,
    ) -> Self {
        let site = airspace.site;
        let home_m = site.take_off_m.extend(site.take_off_z_m);
        Pilot {
            craft,
            airframe,
            airspace,
            usable_j,
            home_m,
            flown: Vec::new(),
            sorties: Vec::new(),
            station_time_s: route.plans.iter().map(|p| vec![0.0; p.stations.poses.len()]).collect(),
            clock_s: 0.0,
            sortie_start_s: 0.0,
            drawn_j: 0.0,
            exposures: 0,
            position_m: home_m,
            track: None,
            moving_mps: 0.0,
            airborne: false,
            progressed: false,
        }
    }

    fn fly_all(&mut self, route: &Route<'_>) -> Result<(), Stuck> {
        for &index in &route.order {
            let plan = &route.plans[index];
            let mut legs = plan.legs.as_slice();
            while let Some((leg, rest)) = legs.split_first() {
                self.go_to(leg.from_m)?;
                if leg.kind != LegKind::Strip && !self.fits(leg)? {
                    self.go_home()?;
                    legs = &legs[legs.iter().take_while(|l| l.kind != LegKind::Strip).count()..];
                    continue;
                }
                if let Some(sweep) = self.sweep_after(legs)? {
                    self.expose(leg.clone(), sweep.speed_mps, Some((index, plan)));
                    self.expose(sweep.leg, sweep.speed_mps, Some((index, plan)));
                    legs = &rest[1..];
                    continue;
                }
                self.fly_in_sorties(leg.clone(), index, plan)?;
                legs = rest;
            }
        }
        if self.airborne { self.go_home() } else { Ok(()) }
    }

    /// The sweep from this strip to the next, if there is one and the battery covers both strips and the return.
    fn sweep_after(&self, legs: &[Leg]) -> Result<Option<Sweep>, Stuck> {
        let [before, link, after, ..] = legs else { return Ok(None) };
        if before.kind != LegKind::Strip || after.kind != LegKind::Strip {
            return Ok(None);
        }
        let Some(sweep) = sweep(&self.craft, &self.airspace, [before, link, after]) else { return Ok(None) };
        let mut there = self.corner(before);
        there += self.craft.moving(before, [self.moving_mps, sweep.speed_mps]).1;
        there += self.craft.moving(&sweep.leg, [sweep.speed_mps; 2]).1;
        there += self.craft.moving(after, [sweep.speed_mps, 0.0]).1;
        let fits = self.returns_with(self.drawn_j + there.energy_j, after.to_m, end_track(after))?;
        Ok(fits.then_some(sweep))
    }

    /// Flies a leg of the route, turning back for batteries as often as it takes.
    fn fly_in_sorties(&mut self, leg: Leg, index: usize, plan: &PassPlan) -> Result<(), Stuck> {
        let mut left = leg;
        loop {
            self.go_to(left.from_m)?;
            if self.fits(&left)? {
                self.expose(left, 0.0, Some((index, plan)));
                return Ok(());
            }
            let turned_back = self.last_stop_that_fits(&left)?;
            if let Some(stop) = turned_back {
                let (done, remaining) = left.split(stop);
                self.expose(done, 0.0, Some((index, plan)));
                left = remaining;
            }
            if !self.progressed {
                return Err(Stuck::OutOfReach);
            }
            self.go_home()?;
        }
    }

    /// Whether a leg can be flown to its end with enough left to return and land.
    fn fits(&self, leg: &Leg) -> Result<bool, Stuck> {
        if self.usable_j.is_infinite() {
            return Ok(true);
        }
        let there = self.corner(leg) + self.run(leg, 0.0).1;
        self.returns_with(self.drawn_j + there.energy_j, leg.to_m, end_track(leg))
    }

    /// Whether the battery still covers the way home from a place once so much of it is drawn.
    fn returns_with(&self, drawn_j: f64, from_m: DVec3, track: Option<DVec2>) -> Result<bool, Stuck> {
        if drawn_j + self.most_to_return_j(from_m) <= self.usable_j {
            return Ok(true);
        }
        Ok(drawn_j + self.returning(from_m, track)?.energy_j <= self.usable_j)
    }

    /// More than any sensible way home draws: over everything that stands, by a detour of three times the distance, against
    /// the wind, at the greatest power. While the battery covers that, the way itself need not be found.
    fn most_to_return_j(&self, from_m: DVec3) -> f64 {
        let airframe = self.airframe;
        let top_z =
            (self.airspace.site.highest_z_m + self.airspace.clearance_m).max(from_m.z).max(self.home_m.z);
        let against_mps = (self.craft.fastest_mps - self.craft.air_mps.length()).min(airframe.top_speed_mps);
        let level_s = DETOUR * (from_m - self.home_m).truncate().length() / against_mps;
        let vertical_s =
            (top_z - from_m.z) / airframe.climb_mps + (top_z - self.home_m.z) / airframe.descent_mps;
        let lifted_j = self.craft.power.lift_j(top_z - from_m.z);
        (level_s + vertical_s + STARTS_AND_STOPS_S) * self.craft.greatest_w + lifted_j
    }

    /// The number of stops up to the last one from which the aircraft can still return.
    fn last_stop_that_fits(&self, leg: &Leg) -> Result<Option<usize>, Stuck> {
        for stops in (1..=leg.stops.len()).rev() {
            if self.fits(&leg.split(stops).0)? {
                return Ok(Some(stops));
            }
        }
        Ok(None)
    }

    /// The way home and down from a place.
    fn returning(&self, from_m: DVec3, track: Option<DVec2>) -> Result<Cost, Stuck> {
        Ok(self.cost_of(&self.way_home(from_m)?, track).0)
    }

    /// Legs flown one after the other from rest, and the track after them.
    fn cost_of(&self, legs: &[Leg], mut track: Option<DVec2>) -> (Cost, Option<DVec2>) {
        let mut total = Cost::default();
        for leg in legs {
            total += self.craft.corner(track, leg) + self.craft.moving(leg, AT_REST).1;
            track = end_track(leg).or(track);
        }
        (total, track)
    }

    fn way_home(&self, from_m: DVec3) -> Result<Vec<Leg>, Stuck> {
        self.cross(from_m, self.home_m, LegKind::Transit)
    }

    /// Goes from wherever the aircraft is to a place on the route: up from the ground, or across from the pass before,
    /// at the higher of the two heights, or as high as it takes to pass over what stands between.
    fn go_to(&mut self, place_m: DVec3) -> Result<(), Stuck> {
        if self.airborne {
            if self.position_m == place_m {
                return Ok(());
            }
            let across = self.cross(self.position_m, place_m, LegKind::Link)?;
            let (cost, track) = self.cost_of(&across, self.track);
            if self.returns_with(self.drawn_j + cost.energy_j, place_m, track)? {
                self.fly_legs(across);
                return Ok(());
            }
            self.go_home()?;
        }
        self.airborne = true;
        let legs = self.cross(self.home_m, place_m, LegKind::Transit)?;
        self.fly_legs(legs);
        Ok(())
    }

    /// Flies legs that belong to no pass.
    fn fly_legs(&mut self, legs: Vec<Leg>) {
        for leg in legs {
            self.expose(leg, 0.0, None);
        }
    }

    /// Legs from place to place: climb first or descend last, over or round what stands.
    fn cross(&self, from_m: DVec3, to_m: DVec3, kind: LegKind) -> Result<Vec<Leg>, Stuck> {
        let way = self.airspace.way(from_m, to_m).ok_or(Stuck::NoWayRound)?;
        Ok(legs_along(&way, kind, self.airframe))
    }

    fn go_home(&mut self) -> Result<(), Stuck> {
        let legs = self.way_home(self.position_m)?;
        self.fly_legs(legs);
        self.sorties.push(Sortie {
            duration_s: self.clock_s - self.sortie_start_s,
            energy_j: self.drawn_j,
            usable_j: self.usable_j,
            exposures: self.exposures,
            battery: 0,
            wait_s: 0.0,
        });
        self.sortie_start_s = self.clock_s;
        self.drawn_j = 0.0;
        self.exposures = 0;
        self.airborne = false;
        self.progressed = false;
        self.track = None;
        self.position_m = self.home_m;
        Ok(())
    }

    /// Flies a leg to its end, where it is left at a speed, with the exposures on it.
    fn expose(&mut self, leg: Leg, leaving_mps: f64, of: Option<(usize, &PassPlan)>) {
        let corner = self.corner(&leg);
        let (run, moving) = self.run(&leg, leaving_mps);
        if let Some((pass, _)) = of {
            let begun_s = self.clock_s + corner.time_s;
            for (stop, time_s) in leg.stops.iter().zip(run.stop_times_s(&leg)) {
                self.station_time_s[pass][stop.station as usize] = begun_s + time_s;
            }
            self.exposures += leg.stops.len() as u32;
            self.progressed = true;
        }
        if let Some(track) = end_track(&leg) {
            self.track = Some(track);
        }
        self.position_m = leg.to_m;
        let ends_mps = [std::mem::replace(&mut self.moving_mps, leaving_mps), leaving_mps];
        let cost = corner + moving;
        self.flown.push(FlownLeg {
            leg,
            pass: of.map(|(_, plan)| plan.pass),
            sortie: self.sorties.len() as u32,
            start_s: self.clock_s,
            turn_s: corner.time_s,
            moving_s: moving.time_s,
            energy_j: cost.energy_j,
            peak_mps: run.peak_mps(),
            ends_mps,
            standing_s: run.standing_s,
        });
        self.clock_s += cost.time_s;
        self.drawn_j += cost.energy_j;
    }

    /// Turning on the spot before a leg; none while the aircraft sweeps into it.
    fn corner(&self, leg: &Leg) -> Cost {
        if self.moving_mps > 0.0 { Cost::default() } else { self.craft.corner(self.track, leg) }
    }

    /// Flying a leg from the speed of now to one at its end.
    fn run(&self, leg: &Leg, leaving_mps: f64) -> (Run, Cost) {
        let Some(standing) = leg.standing.filter(|_| !leg.stops.is_empty()) else {
            let (motion, cost) = self.craft.moving(leg, [self.moving_mps, leaving_mps]);
            return (Run { how: How::Moving(motion), standing_s: 0.0 }, cost);
        };
        let mut cost = Cost::default();
        let (mut peak_mps, mut standing_s, mut from_m) = (0.0_f64, 0.0, 0.0);
        let mut times_s = Vec::with_capacity(leg.stops.len());
        for (k, stop) in leg.stops.iter().enumerate() {
            let mut waits_s = standing.further_s;
            if k == 0 || stop.along_m - from_m >= SAME_PLACE_M {
                let (hop, moving) = self.craft.moving(&leg.part(from_m, stop.along_m), AT_REST);
                peak_mps = peak_mps.max(hop.peak_mps());
                cost += moving;
                waits_s = standing.first_s;
            }
            cost += self.craft.standing(waits_s);
            standing_s += waits_s;
            times_s.push(cost.time_s);
            from_m = stop.along_m;
        }
        cost += self.craft.moving(&leg.part(from_m, leg.length_m()), AT_REST).1;
        (Run { how: How::Standing { peak_mps, times_s }, standing_s }, cost)
    }

    /// The finished flight.
    fn land(mut self, route: &Route<'_>, conditions: &Conditions) -> Flight {
        let swap_s = self.airframe.swap_min * 60.0;
        hand_out(&mut self.sorties, conditions.battery_sets, conditions.charging.as_ref(), swap_s);
        let capacity = if self.airframe.energy.is_some() { Capacity::Known } else { Capacity::SharesOnly };
        let order = route.order.clone();
        let (legs, home_m) = (self.flown, self.home_m);
        Flight {
            order,
            ..Flight::new(legs, self.sorties, self.station_time_s, home_m, &self.craft, capacity)
        }
    }
}

/// How a leg was flown.
struct Run {
    how: How,
    standing_s: f64,
}

enum How {
    Moving(Trapezoid),
    Standing { peak_mps: f64, times_s: Vec<f64> },
}

impl Run {
    fn peak_mps(&self) -> f64 {
        match &self.how {
            How::Moving(motion) => motion.peak_mps(),
            How::Standing { peak_mps, .. } => *peak_mps,
        }
    }

    /// When each of the leg's exposures is taken, from when the leg is begun.
    fn stop_times_s<'r>(&'r self, leg: &'r Leg) -> Box<dyn Iterator<Item = f64> + 'r> {
        match &self.how {
            How::Moving(motion) => Box::new(leg.stops.iter().map(|stop| motion.time_at_s(stop.along_m))),
            How::Standing { times_s, .. } => Box::new(times_s.iter().copied()),
        }
    }
}
