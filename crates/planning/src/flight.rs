use crate::motion::{Trapezoid, YAW_RADPS, trapezoid_time_s};
use crate::route::{Airspace, legs_along};
use crate::{Airframe, Id, Leg, LegKind, PassPlan, SiteOutline};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// The whole flight of a strategy: every leg in order, with its clock and its sortie.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// From the first take-off to the last landing, swaps left out.
    pub legs: Vec<FlownLeg>,
    /// The flying between battery changes.
    pub sorties: Vec<Sortie>,
    /// For each pass in order, the flying clock at each of its stations.
    pub station_time_s: Vec<Vec<f64>>,
    /// What the flight time is made of.
    pub terms: FlightTerms,
    /// Path length of all sorties, climbs and descents included.
    pub route_length_m: f64,
    /// Greatest horizontal distance from the take-off point.
    pub farthest_m: f64,
}

/// A leg as it is flown.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownLeg {
    /// Where and how fast.
    pub leg: Leg,
    /// The pass it belongs to; none on transits.
    pub pass: Option<Id>,
    /// Index into the sorties.
    pub sortie: u32,
    /// Flying clock when the leg's turn begins.
    pub start_s: f64,
    /// Turning before it.
    pub turn_s: f64,
    /// Moving along it.
    pub moving_s: f64,
}

/// The flying between two battery changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sortie {
    /// Take-off to landing.
    pub duration_s: f64,
    /// What a battery set may fly before the reserve is touched.
    pub usable_s: f64,
    /// Exposures taken.
    pub exposures: u32,
}

/// What the flight time is made of; the terms add up to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FlightTerms {
    /// Along strips.
    pub strips_s: f64,
    /// From strip to strip and from pass to pass.
    pub links_s: f64,
    /// Turning at corners.
    pub turns_s: f64,
    /// Climbs and descents.
    pub vertical_s: f64,
    /// To the route and back, resuming included.
    pub transits_s: f64,
}

impl FlightTerms {
    /// The flight time: the sum of the terms.
    pub fn flight_time_s(&self) -> f64 {
        self.strips_s + self.links_s + self.turns_s + self.vertical_s + self.transits_s
    }
}

/// Time to come to rest and settle at a corner, on top of the yaw.
const CORNER_S: f64 = 1.0;

/// Corners flatter than this are no corners.
const STRAIGHT_RAD: f64 = 1e-6;

/// Times the legs of all passes and cuts them into sorties.
///
/// Every leg is flown from rest to rest with trapezoidal speed; at corners the aircraft yaws at 60°/s and takes one
/// second more. A sortie goes on while, at the end of the next piece, what is left still covers the return and the
/// landing; else it turns back at the last exposure that allows it, and the next sortie resumes there. A piece between
/// strips that is not begun is not flown again: the next sortie goes straight to the strip.
///
/// Returns the flight and, where the batteries cannot do it, the reason; the flight is then timed as if they could.
pub(crate) fn fly(
    plans: &[Arc<PassPlan>],
    airframe: &Airframe,
    site: &SiteOutline,
    clearance_m: f64,
) -> (Flight, Option<String>) {
    let usable_s = airframe.usable_flying_time_s();
    let airspace = Airspace { site, clearance_m };
    let mut pilot = Pilot::new(plans, airframe, airspace, usable_s);
    let reached = pilot.fly_all(plans);
    if reached.is_ok() {
        return (pilot.land(), None);
    }
    let mut unbounded = Pilot::new(plans, airframe, airspace, f64::INFINITY);
    let why = match unbounded.fly_all(plans) {
        Ok(()) | Err(Stuck::OutOfReach) => format!(
            "a battery set flies {:.1} min before the reserve, too short to reach the route, expose and return",
            usable_s / 60.0
        ),
        Err(Stuck::NoWayRound) => {
            "keep-outs, structures and ground leave no way between take-off point and route at the clearance set; lower \
             it, or move the take-off point"
                .to_owned()
        }
    };
    (unbounded.land(), Some(why))
}

/// Why the flight cannot go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stuck {
    OutOfReach,
    NoWayRound,
}

/// Flies leg after leg and keeps the clock.
struct Pilot<'a> {
    airframe: &'a Airframe,
    airspace: Airspace<'a>,
    usable_s: f64,
    home_m: DVec3,
    flown: Vec<FlownLeg>,
    sorties: Vec<Sortie>,
    station_time_s: Vec<Vec<f64>>,
    clock_s: f64,
    sortie_start_s: f64,
    exposures: u32,
    position_m: DVec3,
    track: Option<DVec2>,
    airborne: bool,
    /// Whether this sortie has flown any of the route.
    progressed: bool,
}

impl<'a> Pilot<'a> {
    fn new(plans: &[Arc<PassPlan>], airframe: &'a Airframe, airspace: Airspace<'a>, usable_s: f64) -> Self {
        let site = airspace.site;
        let home_m = site.take_off_m.extend(site.take_off_z_m);
        Pilot {
            airframe,
            airspace,
            usable_s,
            home_m,
            flown: Vec::new(),
            sorties: Vec::new(),
            station_time_s: plans.iter().map(|p| vec![0.0; p.stations.poses.len()]).collect(),
            clock_s: 0.0,
            sortie_start_s: 0.0,
            exposures: 0,
            position_m: home_m,
            track: None,
            airborne: false,
            progressed: false,
        }
    }

    fn fly_all(&mut self, plans: &[Arc<PassPlan>]) -> Result<(), Stuck> {
        for (index, plan) in plans.iter().enumerate() {
            let mut legs = plan.legs.as_slice();
            while let Some((leg, rest)) = legs.split_first() {
                self.go_to(leg.from_m)?;
                if leg.kind != LegKind::Strip && !self.fits(leg)? {
                    self.go_home()?;
                    legs = &legs[legs.iter().take_while(|l| l.kind != LegKind::Strip).count()..];
                    continue;
                }
                self.fly_in_sorties(leg.clone(), index, plan)?;
                legs = rest;
            }
        }
        if self.airborne { self.go_home() } else { Ok(()) }
    }

    /// Flies a leg of the route, turning back for batteries as often as it takes.
    fn fly_in_sorties(&mut self, leg: Leg, index: usize, plan: &PassPlan) -> Result<(), Stuck> {
        let mut left = leg;
        loop {
            self.go_to(left.from_m)?;
            if self.fits(&left)? {
                self.expose(left, Some((index, plan)));
                return Ok(());
            }
            let turned_back = self.last_stop_that_fits(&left)?;
            if let Some(stop) = turned_back {
                let (done, remaining) = left.split(stop);
                self.expose(done, Some((index, plan)));
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
        self.fits_to(leg, leg.length_m())
    }

    fn fits_to(&self, leg: &Leg, along_m: f64) -> Result<bool, Stuck> {
        if self.usable_s.is_infinite() {
            return Ok(true);
        }
        let end = leg.at_m(along_m);
        let there_s = self.turn_s(leg) + self.moving_s(leg, along_m);
        let elapsed_s = self.clock_s - self.sortie_start_s;
        let return_s = self.return_s(end, track_at(leg, along_m))?;
        Ok(elapsed_s + there_s + return_s <= self.usable_s)
    }

    /// The number of stops up to the last one from which the aircraft can still return.
    fn last_stop_that_fits(&self, leg: &Leg) -> Result<Option<usize>, Stuck> {
        for (k, stop) in leg.stops.iter().enumerate().rev() {
            if self.fits_to(leg, stop.along_m)? {
                return Ok(Some(k + 1));
            }
        }
        Ok(None)
    }

    /// Time of the way home and down from a place.
    fn return_s(&self, from_m: DVec3, track: Option<DVec2>) -> Result<f64, Stuck> {
        Ok(self.time_of(&self.way_home(from_m)?, track).0)
    }

    /// Time of legs flown one after the other, and the track after them.
    fn time_of(&self, legs: &[Leg], mut track: Option<DVec2>) -> (f64, Option<DVec2>) {
        let mut total_s = 0.0;
        for leg in legs {
            total_s += corner_s(track, leg) + self.moving_s(leg, leg.length_m());
            track = end_track(leg).or(track);
        }
        (total_s, track)
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
            let (across_s, track) = self.time_of(&across, self.track);
            let elapsed_s = self.clock_s - self.sortie_start_s;
            if elapsed_s + across_s + self.return_s(place_m, track)? <= self.usable_s {
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
            self.expose(leg, None);
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
            usable_s: self.usable_s,
            exposures: self.exposures,
        });
        self.sortie_start_s = self.clock_s;
        self.exposures = 0;
        self.airborne = false;
        self.progressed = false;
        self.track = None;
        self.position_m = self.home_m;
        Ok(())
    }

    /// Flies a leg to its end, with the exposures on it.
    fn expose(&mut self, leg: Leg, of: Option<(usize, &PassPlan)>) {
        let turn_s = self.turn_s(&leg);
        let motion = Trapezoid::new(leg.length_m(), leg.speed_mps, self.airframe.acceleration_mps2);
        if let Some((pass, _)) = of {
            for stop in &leg.stops {
                self.station_time_s[pass][stop.station as usize] =
                    self.clock_s + turn_s + motion.time_at_s(stop.along_m);
            }
            self.exposures += leg.stops.len() as u32;
            self.progressed = true;
        }
        if let Some(track) = end_track(&leg) {
            self.track = Some(track);
        }
        self.position_m = leg.to_m;
        let moving_s = motion.duration_s();
        self.flown.push(FlownLeg {
            leg,
            pass: of.map(|(_, plan)| plan.pass),
            sortie: self.sorties.len() as u32,
            start_s: self.clock_s,
            turn_s,
            moving_s,
        });
        self.clock_s += turn_s + moving_s;
    }

    fn turn_s(&self, leg: &Leg) -> f64 {
        corner_s(self.track, leg)
    }

    fn moving_s(&self, leg: &Leg, along_m: f64) -> f64 {
        trapezoid_time_s(along_m, leg.speed_mps, self.airframe.acceleration_mps2)
    }

    /// The finished flight.
    fn land(self) -> Flight {
        let mut terms = FlightTerms::default();
        let (mut route_length_m, mut farthest_m) = (0.0, 0.0_f64);
        for flown in &self.flown {
            terms.turns_s += flown.turn_s;
            let part = match flown.leg.kind {
                LegKind::Strip => &mut terms.strips_s,
                LegKind::Link => &mut terms.links_s,
                LegKind::Transit => &mut terms.transits_s,
                LegKind::Climb | LegKind::Descent => &mut terms.vertical_s,
            };
            *part += flown.moving_s;
            route_length_m += flown.leg.length_m();
            let corners = flown.leg.via_m.iter().chain([&flown.leg.to_m]);
            farthest_m = corners.map(|p| (p - self.home_m).truncate().length()).fold(farthest_m, f64::max);
        }
        Flight {
            legs: self.flown,
            sorties: self.sorties,
            station_time_s: self.station_time_s,
            terms,
            route_length_m,
            farthest_m,
        }
    }
}

/// Horizontal direction in which a leg begins, if it has one.
fn start_track(leg: &Leg) -> Option<DVec2> {
    leg.pieces_m().find_map(|(a, b)| level(b - a))
}

/// Horizontal direction in which a leg ends, if it has one.
fn end_track(leg: &Leg) -> Option<DVec2> {
    leg.pieces_m().filter_map(|(a, b)| level(b - a)).last()
}

/// Horizontal direction of a leg at a distance from its start.
fn track_at(leg: &Leg, along_m: f64) -> Option<DVec2> {
    let mut left_m = along_m;
    let here = leg.pieces_m().find(|(a, b)| {
        left_m -= a.distance(*b);
        left_m <= 1e-9
    });
    here.and_then(|(a, b)| level(b - a)).or_else(|| end_track(leg))
}

fn level(way: DVec3) -> Option<DVec2> {
    let level = way.truncate();
    (level != DVec2::ZERO).then_some(level)
}

/// Time for the corner before a leg.
fn corner_s(track: Option<DVec2>, leg: &Leg) -> f64 {
    let Some((before, after)) = track.zip(start_track(leg)) else { return 0.0 };
    let angle = before.angle_to(after).abs();
    if angle < STRAIGHT_RAD { 0.0 } else { angle / YAW_RADPS + CORNER_S }
}
