//! From which of several take-off points a part of the route is flown.

use super::home::Home;
use super::way::Way;
use crate::base::choice::{EQUAL_RATIO, least};
use crate::geometry::lie::to_the_right_m;
use crate::ground::SiteOutline;
use crate::route::{Leg, LegKind};
use crate::scenario::Conditions;
use glam::DVec3;
use std::sync::OnceLock;

/// Distance along the route between the places that are looked at.
const STEP_M: f64 = 10.0;

/// Most places that are looked at; a longer route is looked at less often.
const MOST_PLACES: f64 = 4000.0;

/// The crew stays where it is while elsewhere more than this share of what is hidden from it would be hidden.
const WORTH_MOVING: f64 = 0.5;

/// Which take-off points suit which strip, the links that lead to it included.
///
/// One that is farther from a strip than the site's own is from any is out of the question: no sortie flies farther off
/// than it would have to without it.
#[derive(Debug)]
pub(super) struct Choosing<'p> {
    homes: &'p [Home],
    site: &'p SiteOutline,
    legs: Vec<&'p Leg>,
    /// Of each leg the strip that it leads to, itself if it is one; of what comes after the last strip that one.
    strips: Vec<usize>,
    step_m: f64,
    /// What a pilot may see to.
    limit_m: f64,
    /// How far from the site's take-off point the route leads.
    reach_m: f64,
    /// By leg, of strips; found when they are asked for.
    suited: Vec<OnceLock<Suited>>,
}

/// How take-off points suit a strip.
#[derive(Debug)]
struct Suited {
    views: Vec<SeenFrom>,
    /// Those within reach, the best first.
    best: Vec<usize>,
}

/// A strip as it is seen from a take-off point.
#[derive(Debug, Clone, Copy)]
struct SeenFrom {
    /// Places of it that are hidden.
    hidden: u32,
    farthest_m: f64,
    beyond: bool,
}

impl<'p> Choosing<'p> {
    /// Nothing where there is nothing to choose from.
    pub(super) fn new(
        homes: &'p [Home],
        site: &'p SiteOutline,
        conditions: &Conditions,
        legs: impl Iterator<Item = &'p Leg>,
    ) -> Option<Self> {
        let first = homes.first().filter(|_| homes.len() > 1)?;
        let legs: Vec<&Leg> = legs.collect();
        let length_m: f64 = legs.iter().map(|leg| leg.length_m()).sum();
        let mut strips: Vec<usize> = (0..legs.len()).collect();
        let mut next = legs.iter().rposition(|leg| leg.kind == LegKind::Strip)?;
        for k in (0..legs.len()).rev() {
            next = if legs[k].kind == LegKind::Strip { k } else { next };
            strips[k] = next;
        }
        Some(Choosing {
            homes,
            site,
            step_m: STEP_M.max(length_m / MOST_PLACES),
            limit_m: conditions.pilot_distance_m,
            reach_m: legs.iter().map(|leg| farthest_m(first, leg.corners_m())).fold(0.0, f64::max),
            suited: legs.iter().map(|_| OnceLock::new()).collect(),
            legs,
            strips,
        })
    }

    /// The strip that a leg leads to; after the last one, that.
    pub(super) fn strip_of(&self, leg: usize) -> usize {
        self.strips[leg]
    }

    /// The take-off points that a strip may be flown from, the preferred one first, by a crew that is at one of them.
    pub(super) fn preferred(&self, strip: usize, current: usize) -> impl Iterator<Item = usize> {
        let suited = self.suited[strip].get_or_init(|| self.suited(strip));
        let stays = suited.best.contains(&current) && suited.keeps(current);
        let others = suited.best.iter().copied().filter(move |home| !(stays && *home == current));
        stays.then_some(current).into_iter().chain(others)
    }

    /// Whether a way from or to a take-off point leads no farther off than the route does from the site's own.
    pub(super) fn holds(&self, way: &Way, home: usize) -> bool {
        let corners = way.legs.iter().flat_map(|way| way.leg.corners_m());
        home == 0 || farthest_m(&self.homes[home], corners) <= self.reach_m + self.equal_m()
    }

    /// Lengths that differ by less are equal.
    fn equal_m(&self) -> f64 {
        EQUAL_RATIO * self.site.size_m
    }

    fn suited(&self, strip: usize) -> Suited {
        let first = (0..strip).rev().take_while(|&k| self.strips[k] == strip).last().unwrap_or(strip);
        let legs = &self.legs[first..=strip];
        let views: Vec<SeenFrom> = self.homes.iter().map(|home| self.view(home, legs)).collect();
        let mut left: Vec<usize> = (0..self.homes.len())
            .filter(|&home| home == 0 || views[home].farthest_m <= self.reach_m + self.equal_m())
            .collect();
        let mut best = Vec::with_capacity(left.len());
        while let Some(k) = least(left.iter().map(|&home| self.rank(views[home], home)), self.site.size_m) {
            best.push(left.remove(k));
        }
        Suited { views, best }
    }

    fn view(&self, home: &Home, legs: &[&Leg]) -> SeenFrom {
        let hidden = legs.iter().flat_map(|leg| places_m(leg, self.step_m));
        let farthest_m = legs.iter().map(|leg| farthest_m(home, leg.corners_m())).fold(0.0, f64::max);
        SeenFrom {
            hidden: hidden.filter(|at_m| home.lookout.hider(*at_m).is_some()).count() as u32,
            farthest_m,
            beyond: farthest_m > self.limit_m,
        }
    }

    /// The least hidden, then one within sight, then the nearest; of those that are alike its place decides.
    fn rank(&self, view: SeenFrom, home: usize) -> [f64; 6] {
        let (at, own) = (self.homes[home].at_m.truncate(), self.site.take_off_m);
        let (size_m, middle_m) = (self.site.size_m, self.site.middle_m);
        // counts and answers weigh more than any rounding of lengths
        let weighed = |count: f64| count * size_m;
        [
            weighed(f64::from(view.hidden)),
            weighed(f64::from(u8::from(view.beyond))),
            view.farthest_m,
            at.distance(own),
            at.distance(middle_m),
            to_the_right_m(own, middle_m, at),
        ]
    }
}

impl Suited {
    /// Whether a crew stays where it is: no more is hidden than from the site's own take-off point, nowhere is it half as
    /// much, and nowhere the aircraft is within sight where here it is beyond.
    fn keeps(&self, current: usize) -> bool {
        let here = self.views[current];
        let better = |home: &usize| {
            let there = self.views[*home];
            let halved = here.hidden > 0 && f64::from(there.hidden) <= WORTH_MOVING * f64::from(here.hidden);
            halved || here.beyond && !there.beyond && there.hidden <= here.hidden
        };
        here.hidden <= self.views[0].hidden && !self.best.iter().any(better)
    }
}

fn farthest_m(home: &Home, corners_m: impl Iterator<Item = DVec3>) -> f64 {
    corners_m.map(|at_m| (at_m - home.at_m).truncate().length()).fold(0.0, f64::max)
}

/// Places along a leg, its corners included.
fn places_m(leg: &Leg, step_m: f64) -> impl Iterator<Item = DVec3> {
    let on_pieces = leg.pieces_m().flat_map(move |(a, b)| {
        let steps = (a.distance(b) / step_m).ceil().max(1.0) as u32;
        (1..=steps).map(move |k| a + (b - a) * (f64::from(k) / f64::from(steps)))
    });
    std::iter::once(leg.from_m).chain(on_pieces)
}
