//! A route prepared to be flown many times: what of it depends on neither wind nor battery.

use super::craft::Craft;
use super::line::OneMovement;
use super::stretch::{Cuts, Cutter, LegPart, LegRun};
use super::turning::TurnSweep;
use super::way::{Most, Way};
use crate::base::Id;
use crate::ground::SiteOutline;
use crate::route::{Airspace, Leg, LegKind, PassPlan, legs_along};
use crate::scenario::{Airframe, Conditions};
use glam::DVec3;
use std::borrow::Cow;
use std::sync::{Arc, OnceLock};

/// The legs of all passes in flying order, and the ways to them, between them and back.
#[derive(Debug)]
pub(super) struct FlightCourse<'p> {
    pub(super) items: Vec<Item<'p>>,
    pub(super) airframe: &'p Airframe,
    pub(super) home_m: DVec3,
    airspace: Airspace<'p>,
}

/// A leg of the route.
#[derive(Debug)]
pub(super) struct Item<'p> {
    pub(super) leg: &'p Leg,
    /// Index of its pass.
    pub(super) pass: usize,
    pub(super) pass_id: Id,
    pub(super) whole: LegPart,
    /// The sweep that replaces the leg after this one.
    pub(super) sweep: Option<TurnSweep<'p>>,
    /// The stop that is farthest from the take-off point, of a leg with corners: the way home may be longer from there than
    /// from its ends.
    pub(super) farthest: Option<usize>,
    /// From where the leg before ends, if that is elsewhere.
    across: Option<Lazy<Way>>,
    out: Lazy<Way>,
    /// Home from its start.
    back: WayHome,
    home: WayHome,
    cuts: OnceLock<Cuts>,
    /// After each of its stops.
    stops: OnceLock<Vec<OnceLock<Halt>>>,
}

/// Found when it is asked for; nothing where there is no way.
type Lazy<T> = OnceLock<Option<T>>;

/// The way to the take-off point, and what bounds it before it is looked for.
#[derive(Debug, Default)]
struct WayHome {
    most: Lazy<Most>,
    found: Lazy<Way>,
}

/// A stop at which a leg may be broken off.
#[derive(Debug)]
struct Halt {
    /// The leg up to it.
    done: OnceLock<LegPart>,
    /// The leg from it.
    rest: OnceLock<LegPart>,
    home: WayHome,
    out: Lazy<Way>,
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

impl<'p> FlightCourse<'p> {
    /// `order` has the indices of the passes as they are flown.
    pub(super) fn new(
        plans: &'p [Arc<PassPlan>],
        order: &[usize],
        airframe: &'p Airframe,
        site: &'p SiteOutline,
        conditions: &Conditions,
    ) -> Self {
        let airspace = Airspace { site, clearance_m: conditions.clearance_m };
        let home_m = site.take_off_m.extend(site.take_off_z_m);
        let mut items: Vec<Item<'p>> = Vec::with_capacity(order.iter().map(|&k| plans[k].legs.len()).sum());
        for &pass in order {
            let plan = &plans[pass];
            for (k, leg) in plan.legs.iter().enumerate() {
                let elsewhere = items.last().is_some_and(|before| before.leg.to_m != leg.from_m);
                let joined = plan.legs.get(k..k + 3);
                let cuts = OnceLock::new();
                items.push(Item {
                    leg,
                    pass,
                    pass_id: plan.pass,
                    whole: whole(leg, &cuts),
                    sweep: joined.and_then(|legs| TurnSweep::new(airframe, [&legs[0], &legs[1], &legs[2]])),
                    farthest: farthest(leg, &cuts, home_m),
                    across: elsewhere.then(OnceLock::new),
                    out: OnceLock::new(),
                    back: WayHome::default(),
                    home: WayHome::default(),
                    cuts,
                    stops: OnceLock::new(),
                });
            }
        }
        FlightCourse { items, airframe, home_m, airspace }
    }

    /// What stands between the take-off point and the first leg that no way leads to or from.
    pub(super) fn shut_in(&self) -> String {
        let shut = |at_m: &DVec3| self.airspace.way(self.home_m, *at_m).is_none();
        let mut ends = self.items.iter().flat_map(|item| [item.leg.from_m, item.leg.to_m]);
        self.airspace.in_the_way(self.home_m, ends.find(shut).unwrap_or(self.home_m))
    }

    /// The way from where the item before ends, if that is elsewhere.
    pub(super) fn across(&self, k: usize) -> Result<Option<&Way>, NoWay> {
        let Some(across) = &self.items[k].across else { return Ok(None) };
        let (from_m, to_m) = (self.items[k - 1].leg.to_m, self.items[k].leg.from_m);
        self.found(across, from_m, to_m, LegKind::Link).map(Some)
    }

    /// The way from the take-off point to a leg of which so many stops are done.
    pub(super) fn out(&self, k: usize, done: usize) -> Result<&Way, NoWay> {
        let item = &self.items[k];
        let (lazy, to_m) = match done {
            0 => (&item.out, item.leg.from_m),
            stop => (&self.halt(k, stop).out, self.halt(k, stop).at_m),
        };
        self.found(lazy, self.home_m, to_m, LegKind::Transit)
    }

    /// The way to the take-off point.
    pub(super) fn home(&self, from: Spot) -> Result<&Way, NoWay> {
        let (home, from_m) = self.home_from(from);
        self.found(&home.found, from_m, self.home_m, LegKind::Transit)
    }

    /// What bounds the way to the take-off point, which then there is: of one that has been found, or else as far as it is
    /// plain without looking for it.
    pub(super) fn most_home(&self, from: Spot) -> Option<&Most> {
        let (home, from_m) = self.home_from(from);
        if let Some(found) = home.found.get() {
            return found.as_ref().map(Way::most);
        }
        let bound = || {
            let bound = self.airspace.way_bound(from_m, self.home_m)?;
            Some(Most::of_bound(&bound, from_m, self.home_m, self.airframe))
        };
        home.most.get_or_init(bound).as_ref()
    }

    fn home_from(&self, spot: Spot) -> (&WayHome, DVec3) {
        match spot {
            Spot::Start(k) => (&self.items[k].back, self.items[k].leg.from_m),
            Spot::Stop(k, stop) => (&self.halt(k, stop).home, self.halt(k, stop).at_m),
            Spot::End(k) => (&self.items[k].home, self.items[k].leg.to_m),
        }
    }

    fn found<'c>(
        &self,
        lazy: &'c Lazy<Way>,
        from_m: DVec3,
        to_m: DVec3,
        kind: LegKind,
    ) -> Result<&'c Way, NoWay> {
        let find = || {
            let way = self.airspace.way(from_m, to_m)?;
            Some(Way::new(legs_along(&way, kind, self.airframe), self.airframe))
        };
        lazy.get_or_init(find).as_ref().ok_or(NoWay)
    }

    /// A leg broken off after so many stops, from 1.
    fn halt(&self, k: usize, stop: usize) -> &Halt {
        let leg = self.items[k].leg;
        let stops = self.items[k].stops.get_or_init(|| leg.stops.iter().map(|_| OnceLock::new()).collect());
        stops[stop - 1].get_or_init(|| Halt {
            done: OnceLock::new(),
            rest: OnceLock::new(),
            home: WayHome::default(),
            out: OnceLock::new(),
            at_m: self.cutter(k).at_m(leg.stops[stop - 1].along_m),
        })
    }

    fn cutter(&self, k: usize) -> Cutter<'_> {
        let item = &self.items[k];
        Cutter::new(item.leg, item.cuts.get_or_init(|| Cuts::of(item.leg)))
    }

    /// A leg from after so many of its stops up to another one.
    pub(super) fn part(&self, k: usize, done: usize, stop: usize) -> Cow<'_, LegPart> {
        if done == 0 {
            let part = &self.halt(k, stop).done;
            return Cow::Borrowed(part.get_or_init(|| self.cutter(k).part(0, Some(stop))));
        }
        Cow::Owned(self.cutter(k).part(done, Some(stop)))
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

impl Item<'_> {
    pub(super) fn is_strip(&self) -> bool {
        self.leg.kind == LegKind::Strip
    }
}

fn whole(leg: &Leg, cuts: &OnceLock<Cuts>) -> LegPart {
    if leg.standing.is_some() && !leg.stops.is_empty() {
        return Cutter::new(leg, cuts.get_or_init(|| Cuts::of(leg))).part(0, None);
    }
    LegPart { run: LegRun::Moving(OneMovement::of(leg)), noses_rad: leg.noses_rad() }
}

fn farthest(leg: &Leg, cuts: &OnceLock<Cuts>, home_m: DVec3) -> Option<usize> {
    if leg.via_m.is_empty() || leg.stops.len() < 2 {
        return None;
    }
    let cutter = Cutter::new(leg, cuts.get_or_init(|| Cuts::of(leg)));
    let away_m = cutter.stops_at_m().map(|at_m| (at_m - home_m).truncate().length());
    (1..).zip(away_m).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(stop, _)| stop)
}
