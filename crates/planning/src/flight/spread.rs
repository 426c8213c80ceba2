//! How sure time and energy are: draws of wind, speed, turns, batteries and swaps, on the route as it is.

use super::charging::hand_out;
use super::craft::{Cost, Craft, end_track, start_track};
use super::{Flight, FlownLeg, Sortie};
use crate::motion::Trapezoid;
use crate::power::JOULES_PER_WH;
use crate::route::{Airspace, legs_along};
use crate::{Airframe, Cancelled, Conditions, Leg, LegKind, SiteOutline, Spread, Watch};
use glam::{DVec2, DVec3};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use rayon::prelude::*;

/// Draws that the bands are made from.
const DRAWS: u32 = 1000;

/// What time and energy may come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// Take-off to landing of all sorties.
    pub flight_s: Band,
    /// Arriving to leaving.
    pub time_on_site_s: Band,
    /// Battery sets flown.
    pub sorties: Band,
    /// Drawn from all of them.
    pub energy_j: Band,
    /// What the spread comes from, the widest first.
    pub causes: Vec<Cause>,
}

impl Bands {
    /// [`Bands::energy_j`] in watt-hours.
    pub fn energy_wh(&self) -> Band {
        self.energy_j.over(JOULES_PER_WH)
    }

    /// [`Bands::energy_j`] in full battery sets.
    ///
    /// # Units
    /// - `capacity_j`: [`Flight::capacity_j`]
    pub fn energy_sets(&self, capacity_j: f64) -> Band {
        self.energy_j.over(capacity_j)
    }
}

/// The middle eight of ten draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// One in ten comes out below.
    pub p10: f64,
    /// One in two.
    pub p50: f64,
    /// One in ten comes out above.
    pub p90: f64,
}

/// One source of the spread, everything else as planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// What varies.
    pub source: Source,
    /// Time on site over all its draws.
    pub time_on_site_s: Band,
}

/// What may come out otherwise than planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Speed and direction of the wind.
    Wind,
    /// Speed held on a leg.
    Speed,
    /// Time for turns.
    Turns,
    /// What a battery set holds.
    Battery,
    /// Time for a battery change.
    Swap,
}

impl Source {
    /// All of them.
    pub const ALL: [Source; 5] = [Source::Wind, Source::Speed, Source::Turns, Source::Battery, Source::Swap];

    /// As the subject of a line.
    pub fn name(self) -> &'static str {
        match self {
            Source::Wind => "wind",
            Source::Speed => "speed held",
            Source::Turns => "turns",
            Source::Battery => "battery capacity",
            Source::Swap => "battery changes",
        }
    }
}

/// A route with all that its draws share: legs as planned and the way home from each.
struct Course {
    items: Vec<Item>,
    /// Energy of the farthest way home as planned.
    farthest_j: f64,
    craft: Craft,
    swap_s: f64,
    /// Set-up, control points and pack-up.
    fixed_s: f64,
    battery_sets: u32,
    charging: Option<crate::Charging>,
}

/// A leg of the route and the ways from its start and its end.
struct Item {
    run: Stretch,
    /// Turned on the spot before it.
    corner_rad: f64,
    /// Whether it may be broken off at an exposure.
    stops: u32,
    /// A link that need not be flown when a new sortie starts.
    link: bool,
    /// The way from where the item before ends, if that is elsewhere.
    across: Option<Way>,
    out: Way,
    home: Way,
}

/// A way between the take-off point and the route.
struct Way {
    legs: Vec<Stretch>,
    /// Corners turned on the spot, the one onto the route or off it included.
    corners_rad: Vec<f64>,
}

/// A leg as pieces of one direction each.
struct Stretch {
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

/// The bands of a flight.
///
/// Every draw times the legs anew and packs the sorties anew; the route stays. Equal seeds give equal bands, on any number
/// of threads.
///
/// # Errors
/// [`Cancelled`] when the watch says so.
pub(crate) fn bands(
    flight: &Flight,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
    watch: &dyn Watch,
) -> Result<Bands, Cancelled> {
    let course = Course::new(flight, airframe, site, conditions);
    let spread = &conditions.spread;
    let all = course.drawn(spread, &Source::ALL, DRAWS, watch)?;
    let band = |read: fn(&Drawn) -> f64| Band::of(all.iter().map(read).collect());
    let mut causes = Vec::with_capacity(Source::ALL.len());
    for source in Source::ALL {
        let drawn = course.drawn(spread, &[source], DRAWS / 10, watch)?;
        causes.push(Cause {
            source,
            time_on_site_s: Band::of(drawn.iter().map(|d| d.time_on_site_s).collect()),
        });
    }
    causes.sort_by(|a, b| b.time_on_site_s.width().total_cmp(&a.time_on_site_s.width()));
    Ok(Bands {
        flight_s: band(|d| d.flight_s),
        time_on_site_s: band(|d| d.time_on_site_s),
        sorties: band(|d| d.sorties),
        energy_j: band(|d| d.energy_j),
        causes,
    })
}

/// What one draw came to.
struct Drawn {
    flight_s: f64,
    time_on_site_s: f64,
    sorties: f64,
    energy_j: f64,
}

impl Band {
    fn of(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let at = |q: f64| values[((values.len() as f64 * q).ceil() as usize).clamp(1, values.len()) - 1];
        Band { p10: at(0.1), p50: at(0.5), p90: at(0.9) }
    }

    fn over(self, unit: f64) -> Band {
        Band { p10: self.p10 / unit, p50: self.p50 / unit, p90: self.p90 / unit }
    }

    /// From the lower end to the upper one.
    pub fn width(&self) -> f64 {
        self.p90 - self.p10
    }
}

impl Course {
    fn new(flight: &Flight, airframe: &Airframe, site: &SiteOutline, conditions: &Conditions) -> Self {
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

    /// Draws with some sources varied and the others as planned.
    fn drawn(
        &self,
        spread: &Spread,
        varied: &[Source],
        draws: u32,
        watch: &dyn Watch,
    ) -> Result<Vec<Drawn>, Cancelled> {
        (0..draws)
            .into_par_iter()
            .map(|k| {
                if k % 64 == 0 {
                    watch.step(u64::from(k), u64::from(draws))?;
                }
                let mut dice =
                    Pcg64::seed_from_u64(spread.seed.wrapping_mul(1 << 20).wrapping_add(u64::from(k)));
                let (craft, swap_ratio) = self.draw(spread, varied, &mut dice);
                Ok(self.fly(&craft, swap_ratio))
            })
            .collect()
    }

    /// The aircraft of one draw, and how its swaps come out.
    fn draw(&self, spread: &Spread, varied: &[Source], dice: &mut Pcg64) -> (Craft, f64) {
        // Every source takes its numbers whether it varies or not, so that a draw is the same alone and among others.
        let z: [f64; 7] = std::array::from_fn(|_| StandardNormal.sample(dice));
        let of = |source: Source, sigma: f64, z: f64| if varied.contains(&source) { sigma * z } else { 0.0 };
        let ratio = |source: Source, sigma: f64, z: f64| (1.0 + of(source, sigma, z)).max(LEAST_RATIO);
        let gust =
            DVec2::new(of(Source::Wind, spread.wind_mps, z[0]), of(Source::Wind, spread.wind_mps, z[1]));
        let turned = DVec2::from_angle(of(Source::Wind, spread.wind_deg.to_radians(), z[2]));
        let planned = &self.craft;
        let speed_ratio = ratio(Source::Speed, spread.speed_ratio, z[3]);
        let fastest_mps = planned.fastest_mps * speed_ratio;
        let air = (turned.rotate(planned.air_mps) + gust).clamp_length_max(STRONGEST_WIND * fastest_mps);
        let power = planned.power.with_capacity_times(ratio(Source::Battery, spread.battery_ratio, z[5]));
        let craft = Craft {
            air_mps: air,
            power,
            fastest_mps,
            speed_ratio,
            turn_ratio: ratio(Source::Turns, spread.turn_ratio, z[4]),
            standing_w: power.level_w(air.length()),
            ..*planned
        };
        (craft, ratio(Source::Swap, spread.swap_ratio, z[6]))
    }

    /// Flies the route with an aircraft: sorties as full as the batteries allow.
    fn fly(&self, craft: &Craft, swap_ratio: f64) -> Drawn {
        let mut packing = Packing { course: self, craft, sorties: Vec::new(), spent: None, after: 0 };
        for k in 0..self.items.len() {
            packing.fly(k);
        }
        packing.land(packing.home());
        let mut sorties = packing.sorties;
        let swap_s = self.swap_s * swap_ratio;
        hand_out(&mut sorties, self.battery_sets, self.charging.as_ref(), swap_s);
        let flight_s: f64 = sorties.iter().map(|sortie| sortie.duration_s).sum();
        let waits_s: f64 = sorties.iter().map(|sortie| sortie.wait_s).sum();
        let swaps_s = sorties.len().saturating_sub(1) as f64 * swap_s;
        Drawn {
            flight_s,
            time_on_site_s: self.fixed_s + flight_s + swaps_s + waits_s,
            sorties: sorties.len() as f64,
            energy_j: sorties.iter().map(|sortie| sortie.energy_j).sum(),
        }
    }

    fn out(&self, k: usize, craft: &Craft) -> Cost {
        self.items.get(k).or(self.items.last()).map_or(Cost::default(), |item| item.out.cost(craft))
    }

    /// The way home after so many items.
    fn home(&self, done: usize, craft: &Craft) -> Cost {
        match done.checked_sub(1) {
            Some(last) => self.items[last].home.cost(craft),
            None => self.out(0, craft),
        }
    }
}

/// Sorties as they fill up.
struct Packing<'c> {
    course: &'c Course,
    craft: &'c Craft,
    sorties: Vec<Sortie>,
    /// By the sortie in the air; none on the ground.
    spent: Option<Cost>,
    /// Items begun.
    after: usize,
}

impl Packing<'_> {
    fn fly(&mut self, k: usize) {
        let (item, craft) = (&self.course.items[k], self.craft);
        if self.spent.is_none() && item.link {
            return;
        }
        let across = self.spent.and(item.across.as_ref()).map(|way| way.cost(craft));
        let spent = self.spent.unwrap_or_else(|| self.course.out(k, craft));
        let there = item.run.cost(craft) + across.unwrap_or_else(|| craft.turned(item.corner_rad));
        let usable_j = craft.usable_j();
        let needed_j = spent.energy_j + there.energy_j;
        // Far from the end of a battery the way home need not be looked at.
        let far = needed_j + FAR_FROM_EMPTY * self.course.farthest_j <= usable_j;
        if far || needed_j + item.home.cost(craft).energy_j <= usable_j {
            self.spent = Some(spent + there);
            self.after = k + 1;
            return;
        }
        if across.is_some() {
            // Rather than going across, it lands and begins the item with a full battery.
            self.spent = Some(spent);
            self.land(self.home());
            return self.fly(k);
        }
        self.turn_back(k, spent, there);
    }

    /// Lands before a leg is done, and flies the rest of it in the next sortie.
    fn turn_back(&mut self, k: usize, spent: Cost, there: Cost) {
        let (item, craft) = (&self.course.items[k], self.craft);
        let [start, end] = [self.home(), item.home.cost(craft)];
        if item.link {
            self.spent = Some(spent);
            self.land(start);
            return;
        }
        let share = share_that_fits(item.stops, craft.usable_j() - spent.energy_j, there, [start, end]);
        self.spent = Some(spent + there.times(share));
        self.land(start.times(1.0 - share) + end.times(share));
        let out = self.course.out(k, craft).times(1.0 - share) + self.course.out(k + 1, craft).times(share);
        self.spent = Some(out + there.times(1.0 - share));
        self.after = k + 1;
    }

    /// The way home from where the aircraft is.
    fn home(&self) -> Cost {
        self.course.home(self.after, self.craft)
    }

    fn land(&mut self, home: Cost) {
        let Some(spent) = self.spent.take() else { return };
        let whole = spent + home;
        self.sorties.push(Sortie {
            duration_s: whole.time_s,
            energy_j: whole.energy_j,
            usable_j: self.craft.usable_j(),
            exposures: 0,
            battery: 0,
            wait_s: 0.0,
        });
    }
}

/// The way home is looked at once the battery would not cover the farthest one of the plan so many times.
const FAR_FROM_EMPTY: f64 = 3.0;

/// A ratio never falls below this.
const LEAST_RATIO: f64 = 0.05;

/// Nobody flies in more wind than this share of the fastest airspeed; draws above stand for waiting it out.
const STRONGEST_WIND: f64 = 0.8;

/// Greatest share of a strip, in whole exposures, from which the battery still covers the way home; from between two places
/// it is at most as long as the mean of theirs.
fn share_that_fits(stops: u32, left_j: f64, there: Cost, [start, end]: [Cost; 2]) -> f64 {
    let steps = stops.max(2) - 1;
    let needed = |done: u32| {
        let share = f64::from(done) / f64::from(steps);
        share * (there.energy_j + end.energy_j) + (1.0 - share) * start.energy_j
    };
    let done = (0..=steps).rev().find(|done| needed(*done) <= left_j).unwrap_or(0);
    f64::from(done) / f64::from(steps)
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

    fn cost(&self, craft: &Craft) -> Cost {
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

    fn cost(&self, craft: &Craft) -> Cost {
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
