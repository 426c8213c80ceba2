//! Flies a prepared route with an aircraft on the day: leg after leg, sortie after sortie.
//!
//! Predictions and draws are flown by the same pilot. They differ in the aircraft of the day and in what is written down.

use super::choosing::Choosing;
use super::course::{FlightCourse, Item, NoWay, Spot};
use super::craft::{AT_REST, Cost, Craft};
use super::record::Sortie;
use super::stretch::{Flown, LegPart, LegRun};
use super::way::{Most, Way, WayLeg};
use crate::geometry::motion::corner_time_s;
use std::cell::RefCell;
use std::f64::consts::PI;
use std::rc::Rc;

/// Why the flight cannot go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stuck {
    /// A full battery set does not cover the way to the route, an exposure and the way back.
    OutOfReach,
    /// Nothing leads there.
    NoWayRound,
}

impl From<NoWay> for Stuck {
    fn from(_: NoWay) -> Self {
        Stuck::NoWayRound
    }
}

/// Writes down what is flown.
pub(super) trait Log {
    fn flown(&mut self, passed: &Passed<'_>);
}

/// Nothing but the sorties is wanted.
pub(super) struct NoLog;

impl Log for NoLog {
    fn flown(&mut self, _: &Passed<'_>) {}
}

/// A leg that has been flown.
pub(super) struct Passed<'a> {
    pub(super) what: What<'a>,
    pub(super) craft: &'a Craft,
    /// Index of the sortie.
    pub(super) sortie: usize,
    /// Flying clock when its turn begins.
    pub(super) start_s: f64,
    /// Speed at which it was entered.
    pub(super) entering_mps: f64,
    pub(super) passage: Passage,
}

/// What it takes to fly a leg.
#[derive(Clone, Copy)]
pub(super) struct Passage {
    /// Turning on the spot before it.
    pub(super) turn: Cost,
    pub(super) run: Flown,
    /// Speed at which it is left.
    pub(super) leaving_mps: f64,
}

impl Passage {
    /// Flying a part of a leg from where a pilot is.
    fn new<L: Log>(pilot: &Pilot<'_, '_, L>, part: &LegPart, leaving_mps: f64) -> Self {
        let run = part.run.flown(pilot.craft, [pilot.moving_mps, leaving_mps]);
        Passage { turn: pilot.turning_into(part), run, leaving_mps }
    }

    fn cost(&self) -> Cost {
        self.turn + self.run.cost
    }
}

pub(super) enum What<'a> {
    /// A leg of the route, from after so many of its stops up to and with another one, and where that ends.
    Part { item: &'a Item<'a>, part: &'a LegPart, stops: [usize; 2], end: Spot },
    /// A leg of a way.
    Way(&'a WayLeg),
    /// The sweep after an item.
    Sweep { item: &'a Item<'a>, leg: &'a crate::route::Leg },
}

/// Flies leg after leg and keeps the clock and the battery.
///
/// A sortie goes on while, at the end of the next leg, the battery still covers the way home; else it turns back at an
/// exposure from which it does and beyond which it does not, and the next sortie resumes there. A leg between strips that is
/// not begun is not flown again: the next sortie goes straight to the strip.
pub(super) struct Pilot<'c, 'p, L> {
    pub(super) course: &'c FlightCourse<'p>,
    pub(super) craft: &'c Craft,
    pub(super) log: L,
    pub(super) sorties: Vec<Sortie>,
    /// Of sorties that have landed.
    landed_s: f64,
    /// By the sortie in the air.
    spent: Cost,
    exposures: u32,
    spot: Option<Spot>,
    nose_rad: Option<f64>,
    /// Speed at which the last leg ended.
    moving_mps: f64,
    /// Whether this sortie has flown any of the route.
    progressed: bool,
    /// The take-off point in use, an index into the course's.
    home: usize,
    /// Of the leg last asked about, [`Pilot::drawn_at_stops_j`].
    drawn_j: RefCell<Option<(usize, Rc<[f64]>)>>,
}

impl<'c, 'p, L: Log> Pilot<'c, 'p, L> {
    pub(super) fn new(course: &'c FlightCourse<'p>, craft: &'c Craft, log: L) -> Self {
        Pilot {
            course,
            craft,
            log,
            sorties: Vec::new(),
            landed_s: 0.0,
            spent: Cost::default(),
            exposures: 0,
            spot: None,
            nose_rad: None,
            moving_mps: 0.0,
            progressed: false,
            home: 0,
            drawn_j: RefCell::new(None),
        }
    }

    /// Flies the whole route and lands.
    pub(super) fn fly(&mut self) -> Result<(), Stuck> {
        let mut k = 0;
        while let Some(item) = self.course.items.get(k) {
            if item.is_strip() {
                self.go_to(k)?;
                if self.sweep(k)? {
                    k += 2;
                    continue;
                }
                self.fly_in_sorties(k)?;
            } else if self.spot.is_some() && !self.stays(k) {
                self.go_home()?;
            } else if self.spot.is_some() {
                self.go_to(k)?;
                match self.fitting(&item.whole, Spot::End(k))? {
                    Some(leg) => self.fly_part(k, &item.whole, [0, item.leg.stops.len()], leg, Spot::End(k)),
                    None => self.go_home()?,
                }
            }
            k += 1;
        }
        self.go_home()
    }

    /// Goes to a leg's start from wherever the aircraft is.
    fn go_to(&mut self, k: usize) -> Result<(), Stuck> {
        if self.spot.is_some() && self.stays(k) {
            let Some(across) = self.course.across(k)? else { return Ok(()) };
            let (cost, nose_rad) = across.flown(self.craft, self.nose_rad);
            if self.returns(self.spent + cost, nose_rad, Spot::Start(k))? {
                self.fly_way(across, Spot::Start(k));
                return Ok(());
            }
        }
        self.go_home()?;
        self.begin(k, 0)
    }

    /// Flies from the ground to a leg of which so many stops are done.
    fn begin(&mut self, k: usize, done: usize) -> Result<(), Stuck> {
        let spot = if done > 0 { Spot::Stop(k, done) } else { Spot::Start(k) };
        self.home = self.home_for(k, spot);
        self.fly_way(self.course.out(spot, self.home)?, spot);
        if self.returns(self.spent, self.nose_rad, spot)? { Ok(()) } else { Err(Stuck::OutOfReach) }
    }

    /// Whether the crew stays where it is for the strip that a leg leads to.
    fn stays(&self, k: usize) -> bool {
        let Some(choosing) = &self.course.choosing else { return true };
        let strip = choosing.strip_of(k);
        self.home_for(strip, Spot::Start(strip)) == self.home
    }

    /// From where a strip is flown from a spot of it on: the first of the take-off points preferred that it is reached from.
    fn home_for(&self, k: usize, spot: Spot) -> usize {
        let Some(choosing) = &self.course.choosing else { return 0 };
        let in_use = |home: usize| self.spot.is_some() && home == self.home;
        let mut preferred = choosing.preferred(k, self.home);
        preferred.find(|&home| in_use(home) || self.reaches_from(home, choosing, spot)).unwrap_or(0)
    }

    /// Whether a full battery covers the way from a take-off point to a spot of a strip, its next exposure and the way back.
    fn reaches_from(&self, home: usize, choosing: &Choosing<'_>, spot: Spot) -> bool {
        let (course, craft) = (self.course, self.craft);
        let (part, end) = course.next_part(spot);
        let ways = [course.out(spot, home), course.home(spot, home), course.home(end, home)];
        let [Ok(out), Ok(at_once), Ok(back)] = ways else { return false };
        if ![out, at_once, back].iter().all(|way| choosing.holds(way, home)) {
            return false;
        }
        let (cost, nose_rad) = out.flown(craft, None);
        let exposed = cost + craft.turning(nose_rad, part.noses_rad[0]) + part.run.flown(craft, AT_REST).cost;
        let returned = exposed + back.flown(craft, part.noses_rad[1].or(nose_rad)).0;
        let turned_back = cost + at_once.flown(craft, nose_rad).0;
        returned.energy_j.max(turned_back.energy_j) <= craft.usable_j
    }

    /// Flies a strip and the sweep to the next one, if there is one, it is quicker than stopping, and the battery covers both
    /// strips and the way home.
    fn sweep(&mut self, k: usize) -> Result<bool, Stuck> {
        let (course, craft) = (self.course, self.craft);
        let Some(sweep) = &course.items[k].sweep else { return Ok(false) };
        if !self.stays(k + 2) {
            return Ok(false);
        }
        let [before, link, after] = [k, k + 1, k + 2].map(|index| &course.items[index]);
        let Some(speed_mps) = sweep.quicker_at_mps(craft, [&before.whole, &link.whole, &after.whole]) else {
            return Ok(false);
        };
        let Some((leg, stretch)) = course.sweep_of(k) else { return Ok(false) };
        let strip = Passage::new(self, &before.whole, speed_mps);
        let (motion, cost) = craft.moving(stretch, [speed_mps; 2]);
        let round = Passage {
            turn: Cost::default(),
            run: Flown::moving(motion, cost.times(craft.turn_ratio)),
            leaving_mps: speed_mps,
        };
        let next = after.whole.run.flown(craft, [speed_mps, 0.0]);
        let spent = self.spent + strip.cost() + round.cost() + next.cost;
        if !self.returns(spent, after.whole.noses_rad[1], Spot::End(k + 2))? {
            return Ok(false);
        }
        self.fly_part(k, &before.whole, [0, before.leg.stops.len()], strip, Spot::End(k));
        self.pass(What::Sweep { item: before, leg }, round);
        self.nose_rad = after.whole.noses_rad[0];
        self.spot = Some(Spot::Start(k + 2));
        Ok(true)
    }

    /// Flies a leg of the route, turning back for batteries as often as it takes.
    fn fly_in_sorties(&mut self, k: usize) -> Result<(), Stuck> {
        let course = self.course;
        let item = &course.items[k];
        let count = item.leg.stops.len();
        let mut done = 0;
        loop {
            if self.outlasts(k, done, count) && self.covers_farthest(k, done)? {
                let rest = course.rest(k, done);
                if let Some(leg) = self.fitting(rest, Spot::End(k))? {
                    self.fly_part(k, rest, [done, count], leg, Spot::End(k));
                    return Ok(());
                }
            }
            if let Some(stop) = self.last_stop_that_fits(k, done)? {
                let part = course.part(k, done, stop);
                let leg = Passage::new(self, &part, 0.0);
                self.fly_part(k, &part, [done, stop], leg, Spot::Stop(k, stop));
                done = stop;
            }
            if !self.progressed {
                return Err(Stuck::OutOfReach);
            }
            self.go_home()?;
            self.begin(k, done)?;
        }
    }

    /// Whether the battery covers the way home from a leg's farthest stop, if that is still to come.
    fn covers_farthest(&self, k: usize, done: usize) -> Result<bool, Stuck> {
        let Some(farthest) = self.course.farthest(k, self.home).filter(|stop| *stop > done) else {
            return Ok(true);
        };
        if self.surely_reaches(k, farthest) {
            debug_assert!(self.reaches(k, done, farthest)?, "a bound on item {k} holds too little");
            return Ok(true);
        }
        self.reaches(k, done, farthest)
    }

    /// Whether bounds on what it takes to fly to a stop of a leg flown through, and home from there, say that the battery
    /// covers it: no movement along a part of the leg takes longer than the whole at the least speed with one ramp.
    fn surely_reaches(&self, k: usize, stop: usize) -> bool {
        let LegRun::Moving(whole) = &self.course.items[k].whole.run else { return false };
        let craft = self.craft;
        let ramp_s = whole.speed_mps * craft.speed_ratio / craft.acceleration_mps2;
        let turn_s = corner_time_s(PI) * craft.turn_ratio;
        let time_s = whole.length_m / craft.ground_mps(whole) + ramp_s + turn_s;
        let there_j = self.spent.energy_j + craft.most_j(time_s) + craft.power.lift_j(whole.gain_m);
        let top_mps = self.course.airframe.top_speed_mps;
        let holds = |home: &Most| there_j + home.drawn_j(craft, top_mps) <= craft.usable_j;
        self.course.surely_home(Spot::Stop(k, stop), self.home, holds)
    }

    /// Whether a leg of which so many stops are done can be flown to another one of them with enough left to return.
    fn reaches(&self, k: usize, done: usize, stop: usize) -> Result<bool, Stuck> {
        Ok(self.outlasts(k, done, stop)
            && self.fitting(&self.course.part(k, done, stop), Spot::Stop(k, stop))?.is_some())
    }

    /// Whether the battery may give what flying from stop to stop draws, turns and ways left out: without it there is no need
    /// to look at every movement between them.
    fn outlasts(&self, k: usize, done: usize, stop: usize) -> bool {
        let Some(standing) = self.course.items[k].leg.standing else { return true };
        let drawn_j = self.drawn_at_stops_j(k);
        // Whoever resumes comes to rest anew; reason for 1e-9: rounding of sums of thousands.
        let anew_j = self.craft.standing((standing.further_s - standing.first_s).max(0.0)).energy_j;
        let least_j = (drawn_j[stop] - drawn_j[done]) * (1.0 - 1e-9) - anew_j;
        self.spent.energy_j + least_j <= self.craft.usable_j
    }

    /// What has been drawn after each number of stops, flown through from the leg's start.
    fn drawn_at_stops_j(&self, k: usize) -> Rc<[f64]> {
        let mut kept = self.drawn_j.borrow_mut();
        match &*kept {
            Some((of, drawn_j)) if *of == k => Rc::clone(drawn_j),
            _ => {
                let drawn_j: Rc<[f64]> = self.course.drawn_at_stops_j(k, self.craft).into();
                *kept = Some((k, Rc::clone(&drawn_j)));
                drawn_j
            }
        }
    }

    /// Flying a part of a leg to where it ends, if then enough is left to return and land.
    fn fitting(&self, part: &LegPart, end: Spot) -> Result<Option<Passage>, Stuck> {
        let leg = Passage::new(self, part, 0.0);
        let nose_rad = part.noses_rad[1].or(self.nose_rad);
        Ok(self.returns(self.spent + leg.cost(), nose_rad, end)?.then_some(leg))
    }

    /// Whether the battery still covers the way home from a place once so much of it is spent.
    fn returns(&self, spent: Cost, nose_rad: Option<f64>, from: Spot) -> Result<bool, Stuck> {
        let usable_j = self.craft.usable_j;
        let left_j = usable_j - spent.energy_j;
        if left_j < 0.0 {
            return Ok(false);
        }
        let surely = |most: &Most| most.drawn_j(self.craft, self.course.airframe.top_speed_mps) <= left_j;
        if self.course.surely_home(from, self.home, surely) {
            return Ok(true);
        }
        let home = self.course.home(from, self.home)?;
        Ok(surely(home.most()) || spent.energy_j + home.flown(self.craft, nose_rad).0.energy_j <= usable_j)
    }

    /// The last stop of a leg, of those beyond the ones done, from which the aircraft can still return, while from the next
    /// one it cannot.
    ///
    /// What it takes to fly on to a stop and home from there grows along a straight line once it has begun to grow, so that
    /// the stop is found by halving; it is the one that was looked at.
    fn last_stop_that_fits(&self, k: usize, done: usize) -> Result<Option<usize>, Stuck> {
        let item = &self.course.items[k];
        let count = item.leg.stops.len();
        let (mut low, mut high) = match self.course.farthest(k, self.home).filter(|stop| *stop > done) {
            Some(farthest) if self.reaches(k, done, farthest)? => (farthest, count),
            Some(farthest) => (done, farthest - 1),
            None => (done, count),
        };
        while high > low {
            let middle = low + (high - low).div_ceil(2);
            if self.reaches(k, done, middle)? { low = middle } else { high = middle - 1 }
        }
        Ok((low > done).then_some(low))
    }

    /// Turning on the spot before a leg; none while the aircraft sweeps into it.
    fn turning_into(&self, part: &LegPart) -> Cost {
        if self.moving_mps > 0.0 {
            return Cost::default();
        }
        self.craft.turning(self.nose_rad, part.noses_rad[0])
    }

    /// Flies a leg of the route after so many stops up to and with another one.
    fn fly_part(&mut self, k: usize, part: &LegPart, stops: [usize; 2], leg: Passage, end: Spot) {
        let item = &self.course.items[k];
        self.pass(What::Part { item, part, stops, end }, leg);
        self.nose_rad = part.noses_rad[1].or(self.nose_rad);
        self.exposures += (stops[1] - stops[0]) as u32;
        self.spot = Some(end);
        self.progressed = true;
    }

    /// Flies legs that belong to no pass.
    fn fly_way(&mut self, way: &Way, to: Spot) {
        for leg in &way.legs {
            let turn = self.craft.turning(self.nose_rad, leg.noses_rad[0]);
            let (motion, cost) = self.craft.moving(&leg.stretch, AT_REST);
            self.pass(What::Way(leg), Passage { turn, run: Flown::moving(motion, cost), leaving_mps: 0.0 });
            self.nose_rad = leg.noses_rad[1].or(self.nose_rad);
        }
        self.spot = Some(to);
    }

    fn pass(&mut self, what: What<'_>, passage: Passage) {
        let entering_mps = std::mem::replace(&mut self.moving_mps, passage.leaving_mps);
        let (sortie, start_s) = (self.sorties.len(), self.landed_s + self.spent.time_s);
        self.log.flown(&Passed { what, craft: self.craft, sortie, start_s, entering_mps, passage });
        self.spent += passage.cost();
    }

    /// Flies home and lands; nothing on the ground.
    fn go_home(&mut self) -> Result<(), Stuck> {
        let Some(spot) = self.spot else { return Ok(()) };
        self.fly_way(self.course.home(spot, self.home)?, spot);
        self.sorties.push(Sortie {
            duration_s: self.spent.time_s,
            energy_j: self.spent.energy_j,
            usable_j: self.craft.usable_j,
            exposures: self.exposures,
            battery: 0,
            wait_s: 0.0,
            home: self.home as u32,
            move_s: 0.0,
        });
        self.landed_s += self.spent.time_s;
        self.spent = Cost::default();
        self.exposures = 0;
        self.nose_rad = None;
        self.spot = None;
        self.progressed = false;
        Ok(())
    }
}
