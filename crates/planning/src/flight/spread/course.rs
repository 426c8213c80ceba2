//! A route with all that its draws share.

use crate::flight::craft::{Cost, Craft, end_track, start_track};
use crate::flight::{Flight, FlownLeg};
use crate::motion::Trapezoid;
use crate::route::{Airspace, legs_along};
use crate::{Airframe, Conditions, Leg, LegKind, SiteOutline};
use glam::{DVec2, DVec3};

/// A route with all that its draws share: legs as planned and the way home from each.
pub(super) struct Course {
    pub(super) items: Vec<Item>,
    /// Energy of the farthest way home as planned.
    pub(super) farthest_j: f64,
    pub(super) craft: Craft,
    pub(super) swap_s: f64,
    /// Set-up, control points and pack-up.
    pub(super) fixed_s: f64,
    pub(super) battery_sets: u32,
    pub(super) charging: Option<crate::Charging>,
}

/// A leg of the route and the ways from its start and its end.
pub(super) struct Item {
    pub(super) run: Stretch,
    /// Turned on the spot before it.
    pub(super) corner_rad: f64,
    /// Whether it may be broken off at an exposure.
    pub(super) stops: u32,
    /// A link that need not be flown when a new sortie starts.
    pub(super) link: bool,
    /// The way from where the item before ends, if that is elsewhere.
    pub(super) across: Option<Way>,
    pub(super) out: Way,
    pub(super) home: Way,
}

/// A way between the take-off point and the route.
pub(super) struct Way {
    legs: Vec<Stretch>,
    /// Corners turned on the spot, the one onto the route or off it included.
    corners_rad: Vec<f64>,
}

/// A leg as pieces of one direction each.
pub(super) struct Stretch {
    pieces: Vec<Piece>,
    length_m: f64,
    gain_m: f64,
    speed_mps: f64,
    ends_mps: [f64; 2],
    /// Standing still to expose.
    standing_s: f64,
    /// Movements from rest to rest that it is flown in.
    hops: u32,
}

#[derive(Clone, Copy)]
struct Piece {
    /// Level direction times the share of the length that is level.
    way: DVec2,
    length_m: f64,
}

impl Course {
    pub(super) fn new(
        flight: &Flight,
        airframe: &Airframe,
        site: &SiteOutline,
        conditions: &Conditions,
    ) -> Self {
        let airspace = Airspace { site, clearance_m: conditions.clearance_m };
        let home_m = site.take_off_m.extend(site.take_off_z_m);
        let way = |from: DVec3, to: DVec3| {
            legs_along(&airspace.way(from, to).unwrap_or_default(), LegKind::Transit, airframe)
        };
        let mut items: Vec<Item> = Vec::new();
        let mut before: Option<(DVec2, DVec3)> = None;
        let mut place: Option<DVec3> = None;
        for flown in route_legs(flight) {
            let leg = &flown.leg;
            let corner_rad = match (before, start_track(leg)) {
                (Some((track, at)), Some(start)) if at == leg.from_m && flown.turn_s > 0.0 => {
                    track.angle_to(start).abs()
                }
                _ => 0.0,
            };
            let across = place.filter(|at| *at != leg.from_m).map(|at| {
                let track = before.map(|(track, _)| track);
                Way::new(&way(at, leg.from_m), track, start_track(leg))
            });
            place = Some(leg.to_m);
            before = end_track(leg).map(|track| (track, leg.to_m)).or(before);
            items.push(Item {
                run: Stretch::flown(flown),
                across,
                corner_rad,
                stops: leg.stops.len() as u32,
                link: leg.kind != LegKind::Strip,
                out: Way::new(&way(home_m, leg.from_m), None, start_track(leg)),
                home: Way::new(&way(leg.to_m, home_m), end_track(leg), None),
            });
        }
        let control_min = f64::from(conditions.control_points) * conditions.per_control_point_min;
        let craft = Craft::new(airframe, conditions);
        let farthest_j = items.iter().map(|item| item.home.cost(&craft).energy_j).fold(0.0, f64::max);
        Course {
            items,
            farthest_j,
            craft,
            swap_s: airframe.swap_min * 60.0,
            fixed_s: (conditions.set_up_min + conditions.pack_up_min + control_min) * 60.0,
            battery_sets: conditions.battery_sets,
            charging: conditions.charging,
        }
    }
}

/// The legs of passes, and those between passes.
fn route_legs(flight: &Flight) -> impl Iterator<Item = &FlownLeg> {
    let legs = &flight.legs;
    (0..legs.len()).filter_map(move |k| {
        let flown = &legs[k];
        let same = |other: &&FlownLeg| other.sortie == flown.sortie && other.pass.is_some();
        let before = || legs[..k].iter().rev().take_while(|l| l.sortie == flown.sortie).any(|l| same(&l));
        let after = || legs[k + 1..].iter().take_while(|l| l.sortie == flown.sortie).any(|l| same(&l));
        (flown.pass.is_some() || (before() && after())).then_some(flown)
    })
}

impl Way {
    /// Legs flown after one track and before another.
    fn new(legs: &[Leg], before: Option<DVec2>, after: Option<DVec2>) -> Self {
        let mut track = before;
        let mut corners_rad = Vec::new();
        let mut turn = |next: Option<DVec2>, track: Option<DVec2>| {
            if let (Some(a), Some(b)) = (track, next) {
                corners_rad.push(a.angle_to(b).abs());
            }
        };
        for leg in legs {
            turn(start_track(leg), track);
            track = end_track(leg).or(track);
        }
        turn(after, track);
        Way { legs: legs.iter().map(Stretch::of).collect(), corners_rad }
    }

    pub(super) fn cost(&self, craft: &Craft) -> Cost {
        let moving = self.legs.iter().map(|leg| leg.cost(craft));
        let turning = self.corners_rad.iter().map(|angle| craft.turned(*angle));
        moving.chain(turning).fold(Cost::default(), |total, cost| total + cost)
    }
}

impl Stretch {
    fn of(leg: &Leg) -> Self {
        let mut pieces: Vec<Piece> = Vec::new();
        let mut gain_m = 0.0;
        for (a, b) in leg.pieces_m() {
            let length_m = a.distance(b);
            if length_m == 0.0 {
                continue;
            }
            gain_m += (b.z - a.z).max(0.0);
            let way = (b - a).truncate() / length_m;
            match pieces.last_mut() {
                // Up and down along one track counts as one piece of the mean slope.
                Some(last) if one_track(last.way, way) => {
                    let total_m = last.length_m + length_m;
                    last.way = (last.way * last.length_m + way * length_m) / total_m;
                    last.length_m = total_m;
                }
                _ => pieces.push(Piece { way, length_m }),
            }
        }
        let length_m = leg.length_m();
        Stretch {
            pieces,
            length_m,
            gain_m,
            speed_mps: leg.speed_mps,
            ends_mps: [0.0; 2],
            standing_s: 0.0,
            hops: 1,
        }
    }

    fn flown(flown: &FlownLeg) -> Self {
        let stretch = Stretch::of(&flown.leg);
        let places = if flown.standing_s > 0.0 { flown.leg.places() } else { 2 };
        let hops = places.max(2) - 1;
        Stretch { ends_mps: flown.ends_mps, standing_s: flown.standing_s, hops, ..stretch }
    }

    pub(super) fn cost(&self, craft: &Craft) -> Cost {
        let wanted = self.speed_mps * craft.speed_ratio;
        let ground_mps =
            self.pieces.iter().fold(wanted, |least, piece| least.min(craft.most_along_mps(piece.way)));
        let ends = self.ends_mps.map(|end| (end * craft.speed_ratio).min(ground_mps));
        let hop_m = self.length_m / f64::from(self.hops);
        let motion = Trapezoid::between(hop_m, ground_mps, craft.acceleration_mps2, ends);
        let peak_mps = motion.peak_mps();
        let drawn: f64 = self.pieces.iter().map(|p| p.length_m * craft.power_along_w(p.way * peak_mps)).sum();
        let drawn_m: f64 = self.pieces.iter().map(|p| p.length_m).sum();
        let cruise_w = if drawn_m > 0.0 { drawn / drawn_m } else { craft.standing_w };
        let hop = craft.cost(&motion, cruise_w, self.gain_m / f64::from(self.hops));
        hop.times(f64::from(self.hops)) + craft.standing(self.standing_s)
    }
}

fn one_track(a: DVec2, b: DVec2) -> bool {
    a.perp_dot(b).abs() < 1e-9 && a.dot(b) > 0.0
}
