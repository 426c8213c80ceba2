//! A route prepared to be flown many times: what of it depends on neither wind nor battery.

use super::choosing::Choosing;
use super::craft::Craft;
use super::home::Home;
use super::line::OneMovement;
use super::stretch::{Cuts, Cutter, LegPart, LegRun, place_on_m};
use super::turning::TurnSweep;
use super::way::{Most, Way};
use crate::base::Id;
use crate::base::side_by_side::helped;
use crate::geometry::Pose;
use crate::ground::SiteOutline;
use crate::route::{
    Airspace, Bends, Leg, LegKind, LevelPaths, PassPlan, RoundFrom, RoundLevels, SAME_PLACE_M, Stop,
    WayBound, legs_along,
};
use crate::scenario::{Airframe, Conditions};
use glam::{DVec2, DVec3};
use rustc_hash::FxHashMap;
use std::borrow::Cow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// The legs of all passes in flying order, and the ways to them, between them and back.
#[derive(Debug)]
pub(super) struct FlightCourse<'p> {
    pub(super) items: Vec<Item<'p>>,
    pub(super) airframe: &'p Airframe,
    pub(super) homes: &'p [Home],
    /// Where there are several of them.
    pub(super) choosing: Option<Choosing<'p>>,
    /// Those that ways lead to from where the items before them end, in order.
    led_to: Vec<usize>,
    /// Of each item to and from every take-off point, one item after the other.
    ways: Vec<HomeWays>,
    airspace: Airspace<'p>,
    /// At how many places ways through it bend at most.
    bends: Bends,
    /// Of each take-off point whether it lies neither inside nor below something.
    free_homes: Vec<bool>,
    /// Of each take-off point what bounds the ways there from every clear place of the route, where that is known; found when it
    /// is asked for.
    everywhere: Vec<OnceLock<Option<Most>>>,
    /// Whether nothing is nearer than the clearance to a place, seen from above.
    clear: Mutex<FxHashMap<[u64; 2], bool>>,
    /// What bounds ways round what stands, by the take-off point and by where they begin as seen from above.
    rounds: Mutex<RoundsFrom>,
}

/// A leg of the route. There are many of them: what few need is kept elsewhere, so that all take little memory.
#[derive(Debug)]
pub(super) struct Item<'p> {
    pub(super) leg: &'p Leg,
    /// Its index among those of its pass.
    pub(super) index: usize,
    /// Index of its pass.
    pub(super) pass: usize,
    pub(super) pass_id: Id,
    pub(super) whole: LegPart,
    /// The sweep that replaces the leg after this one.
    pub(super) sweep: Option<Box<TurnSweep<'p>>>,
    /// From where the leg before ends, if that is elsewhere.
    across: Option<Lazy<Way>>,
    cuts: OnceLock<Box<Cuts>>,
    /// After each of its stops.
    stops: OnceLock<Box<[OnceLock<Box<Halt>>]>>,
}

/// The ways between a leg and a take-off point.
#[derive(Debug)]
struct HomeWays {
    /// Home from its start.
    back: WayHome,
    home: WayHome,
    /// The stop that is farthest from the take-off point, of a leg with corners: the way home may be longer from there than
    /// from its ends.
    farthest: Option<usize>,
}

/// What bounds ways round by the take-off point, the place, seen from above, from which they lead there, and the level;
/// nothing where that is not known.
type RoundsFrom = FxHashMap<(usize, [u64; 2], usize), Option<RoundFrom>>;

/// Found when it is asked for; nothing where there is no way.
type Lazy<T> = OnceLock<Option<Box<T>>>;

/// The way to the take-off point, what bounds it before it is looked for, and the way from there.
#[derive(Debug, Default)]
struct WayHome {
    begins: OnceLock<Beginning>,
    bounds: OnceLock<Box<HomeBounds>>,
    found: Lazy<Way>,
    out: OnceLock<Box<Way>>,
}

/// What is known of where a way home begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beginning {
    /// Nothing is nearer than the clearance, seen from above.
    Clear,
    /// It is plain what bounds the way.
    Plain,
    /// It is not.
    Unclear,
}

/// What bounds a way home, each as a rule nearer than the one before.
#[derive(Debug)]
struct HomeBounds {
    /// Of a way round and of one over, by how ways bend at its level wherever they begin, where that is known.
    anywhere: Option<[Most; 2]>,
    /// The same by how they bend from there.
    by_levels: OnceLock<Option<[Most; 2]>>,
    /// By what stands about the straight line.
    near: OnceLock<Most>,
}

/// A stop at which a leg may be broken off.
#[derive(Debug)]
struct Halt {
    /// The leg up to it.
    done: OnceLock<LegPart>,
    /// The leg from it.
    rest: OnceLock<LegPart>,
    /// To and from every take-off point.
    ways: Vec<WayHome>,
    at_m: DVec3,
}

/// A place of the route: a leg's start, one of its stops, its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Spot {
    Start(usize),
    /// After so many stops of it, from 1.
    Stop(usize, usize),
    End(usize),
}

/// Nothing leads from one place to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoWay;

/// Legs from which on it is worth to wake another core that looks ahead.
const LEGS_LOOKED_AHEAD: usize = 256;

impl<'p> FlightCourse<'p> {
    /// `order` has the indices of the passes as they are flown.
    pub(super) fn new(
        plans: &'p [Arc<PassPlan>],
        order: &[usize],
        airframe: &'p Airframe,
        site: &'p SiteOutline,
        conditions: &Conditions,
        homes: &'p [Home],
    ) -> Self {
        let airspace = Airspace { site, clearance_m: conditions.clearance_m };
        let count = order.iter().map(|&k| plans[k].legs.len()).sum();
        let mut items: Vec<Item<'p>> = Vec::with_capacity(count);
        let mut ways = Vec::with_capacity(count * homes.len());
        for &pass in order {
            let plan = &plans[pass];
            for (k, leg) in plan.legs.iter().enumerate() {
                let elsewhere = items.last().is_some_and(|before| before.leg.to_m != leg.from_m);
                let joined = plan.legs.get(k..k + 3);
                let cuts = OnceLock::new();
                let poses = &plan.stations.poses;
                ways.extend(homes.iter().map(|home| HomeWays::new(leg, &cuts, poses, home.at_m)));
                items.push(Item {
                    leg,
                    index: k,
                    pass,
                    pass_id: plan.pass,
                    whole: whole(leg, &cuts),
                    sweep: joined
                        .and_then(|legs| TurnSweep::new(airframe, [&legs[0], &legs[1], &legs[2]]))
                        .map(Box::new),
                    across: elsewhere.then(OnceLock::new),
                    cuts,
                    stops: OnceLock::new(),
                });
            }
        }
        let choosing = Choosing::new(homes, site, conditions, items.iter().map(|item| item.leg));
        let (clear, rounds) = (Mutex::default(), Mutex::default());
        let (bends, free_homes) =
            (airspace.bends(), homes.iter().map(|home| airspace.is_free(home.at_m)).collect());
        let led_to = (0..items.len()).filter(|k| items[*k].across.is_some()).collect();
        let everywhere = homes.iter().map(|_| OnceLock::new()).collect();
        FlightCourse {
            items,
            airframe,
            homes,
            choosing,
            led_to,
            ways,
            airspace,
            bends,
            free_homes,
            everywhere,
            clear,
            rounds,
        }
    }

    /// Flies a long route, while a core that is idle looks ahead: what it has found out by then need not be waited for, and
    /// whether it has changes nothing else. Where no core is, that costs a tenth or so.
    pub(super) fn flown<T>(&self, fly: impl FnOnce() -> T) -> T {
        // within a pool many are flown side by side, and every core has work of its own
        let is_alone = rayon::current_thread_index().is_none();
        if self.items.len() < LEGS_LOOKED_AHEAD || !is_alone {
            return fly();
        }
        let landed = AtomicBool::new(false);
        helped(
            || self.look_ahead(&landed),
            || {
                let _lands = Lands(&landed);
                fly()
            },
        )
    }

    /// Finds, one after the other, the ways from pass to pass, which every flight takes.
    fn look_ahead(&self, landed: &AtomicBool) {
        for k in &self.led_to {
            if landed.load(Ordering::Relaxed) {
                return;
            }
            // where there is none the flight says so
            let _ = self.across(*k);
        }
    }

    /// What stands between the take-off point and the first leg that no way leads to or from.
    pub(super) fn shut_in(&self) -> String {
        let home_m = self.homes[0].at_m;
        let shut = |at_m: &DVec3| self.airspace.way(home_m, *at_m).is_none();
        let mut ends = self.items.iter().flat_map(|item| [item.leg.from_m, item.leg.to_m]);
        self.airspace.in_the_way(home_m, ends.find(shut).unwrap_or(home_m))
    }

    /// The way from where the item before ends, if that is elsewhere.
    pub(super) fn across(&self, k: usize) -> Result<Option<&Way>, NoWay> {
        let Some(across) = &self.items[k].across else { return Ok(None) };
        let (from_m, to_m) = (self.items[k - 1].leg.to_m, self.items[k].leg.from_m);
        self.found(across, [from_m, to_m], LegKind::Link, &self.homes[0].ways.among).map(Some)
    }

    /// The way from a take-off point to a spot: the one home from there, the other way round, so that where two are equally
    /// short both take the same.
    pub(super) fn out(&self, to: Spot, home: usize) -> Result<&Way, NoWay> {
        let (way, _) = self.home_from(to, home);
        let back = self.home(to, home)?;
        Ok(way.out.get_or_init(|| {
            let corners_m: Vec<DVec3> = back.corners_m().rev().collect();
            Box::new(Way::new(legs_along(&corners_m, LegKind::Transit, self.airframe), self.airframe))
        }))
    }

    /// The way to a take-off point.
    pub(super) fn home(&self, from: Spot, home: usize) -> Result<&Way, NoWay> {
        let (way, from_m) = self.home_from(from, home);
        let Home { at_m, ways, .. } = &self.homes[home];
        self.found(&way.found, [from_m, *at_m], LegKind::Transit, &ways.paths)
    }

    /// Whether something holds of what bounds the way to a take-off point, which then there is: of one that has been found, or
    /// else as far as it is plain without looking for it, from the widest bound to the nearest.
    pub(super) fn surely_home(&self, from: Spot, home: usize, holds: impl Fn(&Most) -> bool) -> bool {
        let (way, from_m) = self.home_from(from, home);
        if let Some(found) = way.found.get() {
            return found.as_ref().is_some_and(|way| holds(way.most()));
        }
        let (airspace, home_m) = (&self.airspace, self.homes[home].at_m);
        let most = |bound: &WayBound| Most::of_bound(bound, from_m, home_m, self.airframe);
        if way.bounds.get().is_none() {
            match self.begins(way, from_m, home) {
                Beginning::Unclear => return false,
                Beginning::Clear if self.everywhere(home).is_some_and(&holds) => return true,
                _ if holds(&most(&airspace.widest_bound(from_m, home_m, &self.bends))) => return true,
                _ => {}
            }
        }
        let Some(bounds) = self.bounds(way, from_m, home) else { return false };
        let hold = |either: &[Most; 2]| either.iter().all(&holds);
        if bounds.anywhere.as_ref().is_some_and(hold) {
            return true;
        }
        let is_clear = self.begins(way, from_m, home) == Beginning::Clear;
        let levels = || self.levels(home).filter(|_| is_clear);
        let by_levels = || {
            let levels = levels()?;
            let round = self.round_from(from_m, home, levels)?;
            airspace.bounds_by_levels(levels, (from_m, home_m), Some(round))
        };
        let by_levels = || by_levels().map(|bounds| bounds.map(|bound| most(&bound)));
        if let Some(either) = bounds.by_levels.get_or_init(by_levels) {
            return hold(either);
        }
        holds(bounds.near.get_or_init(|| most(&airspace.way_bound(from_m, home_m, &self.bends))))
    }

    /// What bounds the ways to a take-off point from every place of the route that is clear, where that is known.
    fn everywhere(&self, home: usize) -> Option<&Most> {
        let find = || {
            let home_m = self.homes[home].at_m;
            let corners = || self.items.iter().flat_map(|item| item.leg.corners_m());
            let off_m = |at: DVec3| at.truncate().distance_squared(home_m.truncate());
            let farthest_m = corners().map(off_m).fold(0.0, f64::max).sqrt();
            let between = |(low_z, high_z): (f64, f64), at: DVec3| (low_z.min(at.z), high_z.max(at.z));
            let heights_z = corners().fold((f64::INFINITY, f64::NEG_INFINITY), between);
            let bound = self.airspace.bound_from_all(self.levels(home)?, home_m, farthest_m, heights_z)?;
            Some(Most::of_bound(&bound, home_m.with_z(heights_z.0), home_m, self.airframe))
        };
        self.everywhere[home].get_or_init(find).as_ref()
    }

    fn begins(&self, way: &WayHome, from_m: DVec3, home: usize) -> Beginning {
        *way.begins.get_or_init(|| self.beginning(from_m, home))
    }

    /// What bounds a way home, as far as that is known of all of them at its level; nothing where it is not plain that there is
    /// one.
    fn bounds<'c>(&self, way: &'c WayHome, from_m: DVec3, home: usize) -> Option<&'c HomeBounds> {
        let is_clear = match self.begins(way, from_m, home) {
            Beginning::Clear => true,
            Beginning::Plain => false,
            Beginning::Unclear => return None,
        };
        let (airspace, home_m) = (&self.airspace, self.homes[home].at_m);
        let anywhere = |levels: &RoundLevels| airspace.bounds_by_levels(levels, (from_m, home_m), None);
        let most = |bound: WayBound| Most::of_bound(&bound, from_m, home_m, self.airframe);
        Some(way.bounds.get_or_init(|| {
            let levels = self.levels(home).filter(|_| is_clear);
            let anywhere = levels.and_then(anywhere).map(|bounds| bounds.map(most));
            Box::new(HomeBounds { anywhere, by_levels: OnceLock::new(), near: OnceLock::new() })
        }))
    }

    fn beginning(&self, from_m: DVec3, home: usize) -> Beginning {
        let (airspace, home_m) = (&self.airspace, self.homes[home].at_m);
        if !self.free_homes[home] || !airspace.is_open(from_m, home_m) {
            Beginning::Unclear
        } else if self.is_clear(from_m.truncate()) {
            Beginning::Clear
        } else if airspace.is_free(from_m) {
            Beginning::Plain
        } else {
            Beginning::Unclear
        }
    }

    /// The ways to a take-off point level by level, where they are known.
    fn levels(&self, home: usize) -> Option<&RoundLevels> {
        let Home { at_m, ways, .. } = &self.homes[home];
        ways.levels(&self.airspace, at_m.truncate())
    }

    /// Whether nothing is nearer to a place than the clearance: places over each other are alike.
    fn is_clear(&self, at: DVec2) -> bool {
        let mut clear = self.clear.lock().unwrap_or_else(PoisonError::into_inner);
        *clear.entry(at.to_array().map(f64::to_bits)).or_insert_with(|| self.airspace.is_clear(at))
    }

    /// The ways round from a place to a take-off point: of places over each other many have the same ones.
    fn round_from(&self, from_m: DVec3, home: usize, levels: &RoundLevels) -> Option<RoundFrom> {
        let (from, level) = (from_m.truncate(), levels.level_at(from_m.z.max(self.homes[home].at_m.z)));
        let mut rounds = self.rounds.lock().unwrap_or_else(PoisonError::into_inner);
        let key = (home, from.to_array().map(f64::to_bits), level);
        *rounds.entry(key).or_insert_with(|| levels.from(&self.airspace, from, level))
    }

    fn home_from(&self, spot: Spot, home: usize) -> (&WayHome, DVec3) {
        match spot {
            Spot::Start(k) => (&self.home_ways(k, home).back, self.items[k].leg.from_m),
            // the last stop may be where the leg ends
            Spot::Stop(k, stop) if self.halt(k, stop).at_m != self.items[k].leg.to_m => {
                (&self.halt(k, stop).ways[home], self.halt(k, stop).at_m)
            }
            Spot::Stop(k, _) | Spot::End(k) => (&self.home_ways(k, home).home, self.items[k].leg.to_m),
        }
    }

    /// The stop of a leg with corners that is farthest from a take-off point.
    pub(super) fn farthest(&self, k: usize, home: usize) -> Option<usize> {
        self.home_ways(k, home).farthest
    }

    fn home_ways(&self, k: usize, home: usize) -> &HomeWays {
        &self.ways[k * self.homes.len() + home]
    }

    fn found<'c>(
        &self,
        lazy: &'c Lazy<Way>,
        [from_m, to_m]: [DVec3; 2],
        kind: LegKind,
        paths: &Mutex<LevelPaths>,
    ) -> Result<&'c Way, NoWay> {
        let find = || {
            let mut paths = paths.lock().unwrap_or_else(PoisonError::into_inner);
            let way = self.airspace.way_by(from_m, to_m, &mut paths)?;
            Some(Box::new(Way::new(legs_along(&way, kind, self.airframe), self.airframe)))
        };
        lazy.get_or_init(find).as_deref().ok_or(NoWay)
    }

    /// A leg broken off after so many stops, from 1.
    fn halt(&self, k: usize, stop: usize) -> &Halt {
        let leg = self.items[k].leg;
        let stops = self.items[k].stops.get_or_init(|| leg.stops.iter().map(|_| OnceLock::new()).collect());
        stops[stop - 1].get_or_init(|| {
            Box::new(Halt {
                done: OnceLock::new(),
                rest: OnceLock::new(),
                ways: self.homes.iter().map(|_| WayHome::default()).collect(),
                at_m: place_on_m(leg, leg.stops[stop - 1].along_m),
            })
        })
    }

    fn cutter(&self, k: usize) -> Cutter<'_> {
        let item = &self.items[k];
        Cutter::new(item.leg, item.cuts.get_or_init(|| Box::new(Cuts::of(item.leg))))
    }

    /// A leg from after so many of its stops up to another one.
    pub(super) fn part(&self, k: usize, done: usize, stop: usize) -> Cow<'_, LegPart> {
        if done == 0 {
            let part = &self.halt(k, stop).done;
            return Cow::Borrowed(part.get_or_init(|| self.cutter(k).part(0, Some(stop))));
        }
        Cow::Owned(self.cutter(k).part(done, Some(stop)))
    }

    /// A strip from a spot of it up to its next stop, to its end after the last one, and where that is.
    pub(super) fn next_part(&self, spot: Spot) -> (Cow<'_, LegPart>, Spot) {
        let (k, done) = match spot {
            Spot::Start(k) => (k, 0),
            Spot::Stop(k, done) => (k, done),
            Spot::End(k) => (k, self.items[k].leg.stops.len()),
        };
        if done < self.items[k].leg.stops.len() {
            return (self.part(k, done, done + 1), Spot::Stop(k, done + 1));
        }
        (Cow::Borrowed(self.rest(k, done)), Spot::End(k))
    }

    /// What flying a leg from stop to stop draws, after each number of stops from none; turns are left out.
    pub(super) fn drawn_at_stops_j(&self, k: usize, craft: &Craft) -> Vec<f64> {
        let mut drawn_j = vec![0.0];
        for (once_j, count) in self.cutter(k).hops_drawn_j(craft) {
            let before_j = drawn_j[drawn_j.len() - 1];
            drawn_j.extend((1..=count).map(|hop| before_j + f64::from(hop) * once_j));
        }
        drawn_j
    }

    /// A leg from after so many of its stops to its end.
    pub(super) fn rest(&self, k: usize, done: usize) -> &LegPart {
        if done == 0 {
            return &self.items[k].whole;
        }
        self.halt(k, done).rest.get_or_init(|| self.cutter(k).part(done, None))
    }

    /// The line of a sweep after an item, if nothing stands in its way.
    pub(super) fn sweep_of(&self, k: usize) -> Option<&(Leg, OneMovement)> {
        self.items[k].sweep.as_ref()?.line(&self.airspace)
    }
}

/// Says so when the flight is over, however it ends.
struct Lands<'a>(&'a AtomicBool);

impl Drop for Lands<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Item<'_> {
    pub(super) fn is_strip(&self) -> bool {
        self.leg.kind == LegKind::Strip
    }
}

fn whole(leg: &Leg, cuts: &OnceLock<Box<Cuts>>) -> LegPart {
    if leg.standing.is_some() && !leg.stops.is_empty() {
        return Cutter::new(leg, cuts.get_or_init(|| Box::new(Cuts::of(leg)))).part(0, None);
    }
    LegPart { run: LegRun::Moving(OneMovement::of(leg)), noses_rad: leg.noses_rad() }
}

impl HomeWays {
    fn new(leg: &Leg, cuts: &OnceLock<Box<Cuts>>, poses: &[Pose], home_m: DVec3) -> Self {
        HomeWays {
            back: WayHome::default(),
            home: WayHome::default(),
            farthest: farthest(leg, cuts, poses, home_m),
        }
    }
}

/// The stop of a leg with corners that is farthest from a place, seen from above; of several the last.
fn farthest(leg: &Leg, cuts: &OnceLock<Box<Cuts>>, poses: &[Pose], home_m: DVec3) -> Option<usize> {
    let [first, .., last] = leg.stops.as_slice() else { return None };
    if leg.via_m.is_empty() {
        return None;
    }
    if is_straight_from_above(leg) {
        // the distance from a place has no greatest value between the ends of a straight line
        let off_m = |stop: &Stop| (poses[stop.station as usize].position_m - home_m).truncate().length();
        let at_first = leg.stops.iter().take_while(|stop| stop.along_m == first.along_m).count();
        return Some(if off_m(first) > off_m(last) { at_first } else { leg.stops.len() });
    }
    let cutter = Cutter::new(leg, cuts.get_or_init(|| Box::new(Cuts::of(leg))));
    let away_m = cutter.stops_at_m().map(|at_m| (at_m - home_m).truncate().length());
    (1..).zip(away_m).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(stop, _)| stop)
}

/// Whether a leg runs straight on, up and down apart.
fn is_straight_from_above(leg: &Leg) -> bool {
    let Some(along) = (leg.to_m - leg.from_m).truncate().try_normalize() else { return false };
    let mut reached_m = 0.0;
    leg.via_m.iter().all(|via_m| {
        let off = (*via_m - leg.from_m).truncate();
        let before_m = std::mem::replace(&mut reached_m, along.dot(off));
        reached_m >= before_m && along.perp_dot(off).abs() < SAME_PLACE_M
    })
}
