//! The whole stay on site by one clock: the crew's work, and where the aircraft is in between.

use crate::base::Id;
use crate::flight::{FlownLeg, Timing};
use crate::geometry::motion::Trapezoid;
use crate::route::LegKind;
use glam::DVec3;

/// What happens on site from arriving to leaving, without gaps.
#[derive(Debug, Clone, PartialEq)]
pub struct Stay {
    /// In order; those that take no time are left out.
    pub spans: Vec<StaySpan>,
}

/// A stretch of the stay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StaySpan {
    /// Since the arrival.
    pub from_s: f64,
    /// Since the arrival.
    pub to_s: f64,
    /// What is done meanwhile.
    pub doing: Doing,
}

/// What is done on site. Sorties are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doing {
    /// Set-up.
    SetUp,
    /// Placing and measuring control points; before the first take-off, since the images must show them.
    ControlPoints,
    /// Flying.
    Sortie {
        /// Which one.
        sortie: u32,
        /// The flying clock at its take-off.
        flying_from_s: f64,
    },
    /// Moving to another take-off point.
    Move {
        /// The sortie after it.
        before: u32,
    },
    /// Changing batteries.
    Swap {
        /// The sortie after it.
        before: u32,
    },
    /// Waiting for a charger.
    Wait {
        /// The sortie after it.
        before: u32,
    },
    /// Pack-up.
    PackUp,
}

/// Where a sortie takes the route up again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resume {
    /// The sortie, from 0; never the first.
    pub sortie: u32,
    /// Since the arrival.
    pub site_s: f64,
    /// The place.
    pub at_m: DVec3,
    /// The pass that goes on there.
    pub pass: Id,
}

/// The aircraft at an instant of the stay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Since the arrival.
    pub site_s: f64,
    /// What is done.
    pub doing: Doing,
    /// Where the aircraft is: at a take-off point while it is not flown, on a straight line to the next one while it is moved.
    pub at_m: DVec3,
    /// Speed over ground, climbing and sinking included.
    pub speed_mps: f64,
    /// Share of a full battery set that is left; the charge is taken to go evenly from one end of a leg to the other.
    /// Nothing while the aircraft is not flown.
    pub left_ratio: Option<f64>,
    /// Number of the battery set, from 1; nothing while the aircraft is not flown.
    pub battery: Option<u32>,
    /// The leg flown, an index into [`crate::flight::Flight::legs`].
    pub leg: Option<usize>,
    /// What it does on that leg.
    pub movement: Option<Movement>,
}

/// What an aircraft does on a leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Movement {
    /// Turning on the spot.
    Turning,
    /// Moving along it.
    Moving,
    /// Standing still to expose.
    Standing,
}

/// Instants that went from one clock to the other and back are equal to this.
const CLOCKS_AGREE_S: f64 = 1e-6;

impl Stay {
    /// Since the arrival, when the crew leaves.
    ///
    /// # Units
    /// - returns: seconds since the arrival
    pub fn end_s(&self) -> f64 {
        self.spans.last().map_or(0.0, |span| span.to_s)
    }

    /// The stretch that an instant falls into; the later one at a border, and the last one at the end.
    ///
    /// # Units
    /// - `site_s`: seconds since the arrival
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{Doing, Stay, StaySpan};
    /// let span = |from_s, to_s, doing| StaySpan { from_s, to_s, doing };
    /// let flying = Doing::Sortie { sortie: 0, flying_from_s: 0.0 };
    /// let spans = vec![span(0.0, 600.0, Doing::SetUp), span(600.0, 1800.0, flying)];
    /// let stay = Stay { spans };
    /// assert_eq!(stay.span_at(600.0).map(|span| span.doing), Some(flying));
    /// // five minutes after take-off
    /// assert_eq!(stay.site_s(0, 300.0), Some(900.0));
    /// ```
    pub fn span_at(&self, site_s: f64) -> Option<&StaySpan> {
        self.spans.iter().find(|span| site_s < span.to_s).or(self.spans.last())
    }

    /// Since the arrival, an instant of the flying clock, which leaves out everything on the ground.
    ///
    /// # Units
    /// - `sortie`: the sortie that the instant belongs to, from 0: at its landing the next one has the same flying clock
    /// - `flying_s`: seconds on the flying clock
    /// - returns: seconds since the arrival
    pub fn site_s(&self, sortie: u32, flying_s: f64) -> Option<f64> {
        self.spans.iter().find_map(|span| match span.doing {
            Doing::Sortie { sortie: own, flying_from_s } if own == sortie => {
                Some(span.from_s + (flying_s - flying_from_s))
            }
            _ => None,
        })
    }
}

impl Timing {
    /// The stay on site, from arriving to leaving.
    pub fn stay(&self) -> Stay {
        let mut spans: Vec<StaySpan> = Vec::new();
        let mut clock_s = 0.0;
        let mut add = |doing: Doing, lasts_s: f64| {
            if lasts_s > 0.0 {
                spans.push(StaySpan { from_s: clock_s, to_s: clock_s + lasts_s, doing });
            }
            clock_s += lasts_s;
        };
        add(Doing::SetUp, self.time.set_up_s);
        add(Doing::ControlPoints, self.time.control_s);
        let sorties = &self.flight.sorties;
        let swap_s = self.time.swaps_s / sorties.len().saturating_sub(1).max(1) as f64;
        let mut flying_from_s = 0.0;
        for (number, sortie) in (0..).zip(sorties) {
            add(Doing::Move { before: number }, sortie.move_s);
            if number > 0 {
                add(Doing::Swap { before: number }, swap_s);
            }
            add(Doing::Wait { before: number }, sortie.wait_s);
            add(Doing::Sortie { sortie: number, flying_from_s }, sortie.duration_s);
            flying_from_s += sortie.duration_s;
        }
        add(Doing::PackUp, self.time.pack_up_s);
        Stay { spans }
    }

    /// Where the sorties after the first take the route up again.
    pub fn resumes(&self) -> Vec<Resume> {
        let stay = self.stay();
        let legs = &self.flight.legs;
        let resume = |sortie: u32| {
            let (first, pass) = legs
                .iter()
                .filter(|flown| flown.sortie == sortie)
                .find_map(|flown| Some((flown, flown.pass?)))?;
            let site_s = stay.site_s(sortie, first.start_s)?;
            Some(Resume { sortie, site_s, at_m: first.leg.from_m, pass })
        };
        (1..self.flight.sorties.len() as u32).filter_map(resume).collect()
    }

    /// The share of a full battery set that is left along a sortie: since the arrival, and the share, at take-off and at
    /// the end of every leg.
    ///
    /// # Units
    /// - `sortie`: from 0
    /// - returns: seconds since the arrival, and shares of a full battery set, 0 to 1
    pub fn charge_along(&self, stay: &Stay, sortie: u32) -> Vec<(f64, f64)> {
        let mut left = 1.0;
        let mut line = Vec::new();
        for flown in self.flight.legs.iter().filter(|flown| flown.sortie == sortie) {
            let at = |flying_s: f64| stay.site_s(sortie, flying_s);
            if line.is_empty() {
                line.extend(at(flown.start_s).map(|site_s| (site_s, left)));
            }
            left -= flown.energy_j / self.flight.capacity_j;
            line.extend(at(flown.end_s()).map(|site_s| (site_s, left)));
        }
        line
    }

    /// The aircraft at an instant of the stay; nothing where nothing is flown.
    ///
    /// # Units
    /// - `site_s`: seconds since the arrival; held between arriving and leaving
    pub fn moment(&self, stay: &Stay, site_s: f64) -> Option<Moment> {
        let site_s = site_s.clamp(0.0, stay.end_s());
        let span = stay.span_at(site_s)?;
        let at_m = self.on_ground_m(span, site_s)?;
        let ground = Moment {
            site_s,
            doing: span.doing,
            at_m,
            speed_mps: 0.0,
            left_ratio: None,
            battery: None,
            leg: None,
            movement: None,
        };
        let Doing::Sortie { sortie, flying_from_s } = span.doing else { return Some(ground) };
        let flying_s = flying_from_s + site_s - span.from_s;
        let own = self.flight.legs.iter().enumerate().filter(|(_, flown)| flown.sortie == sortie);
        let mut drawn_j = 0.0;
        let mut now = None;
        for (index, flown) in own {
            now = Some((index, flown, drawn_j));
            if flying_s < flown.end_s() {
                break;
            }
            drawn_j += flown.energy_j;
        }
        let Some((index, flown, before_j)) = now else { return Some(ground) };
        let lasts_s = flown.turn_s + flown.moving_s;
        let share = if lasts_s > 0.0 { ((flying_s - flown.start_s) / lasts_s).clamp(0.0, 1.0) } else { 1.0 };
        let (at_m, speed_mps, movement) = self.place(flown, flying_s);
        Some(Moment {
            at_m,
            speed_mps,
            left_ratio: Some(1.0 - (before_j + share * flown.energy_j) / self.flight.capacity_j),
            battery: self.flight.sorties.get(sortie as usize).map(|sortie| sortie.battery),
            leg: Some(index),
            movement: Some(movement),
            ..ground
        })
    }

    /// Where the aircraft is while it is not flown.
    fn on_ground_m(&self, span: &StaySpan, site_s: f64) -> Option<DVec3> {
        let last = (self.flight.sorties.len() as u32).checked_sub(1)?;
        let home_m = |sortie: u32| self.flight.take_off_of_m(sortie);
        Some(match span.doing {
            Doing::SetUp | Doing::ControlPoints => home_m(0),
            Doing::Sortie { sortie: of, .. } | Doing::Swap { before: of } | Doing::Wait { before: of } => {
                home_m(of)
            }
            Doing::Move { before } => {
                let share = (site_s - span.from_s) / (span.to_s - span.from_s);
                home_m(before - 1).lerp(home_m(before), share)
            }
            Doing::PackUp => home_m(last),
        })
    }

    /// Where the aircraft is on a leg, how fast, and what it does.
    fn place(&self, flown: &FlownLeg, flying_s: f64) -> (DVec3, f64, Movement) {
        let leg = &flown.leg;
        let since_s = flying_s - flown.start_s - flown.turn_s;
        if since_s < -CLOCKS_AGREE_S {
            return (leg.from_m, 0.0, Movement::Turning);
        }
        if flown.standing_s > 0.0
            && let Some(times_s) = self.stop_times_s(flown)
        {
            return self.hop(flown, &times_s, flying_s);
        }
        let (length_m, a) = (leg.length_m(), self.flight.acceleration_mps2);
        let (along_m, speed_mps) =
            Trapezoid::between(length_m, flown.peak_mps, a, flown.ends_mps).at_time(since_s);
        (leg.at_m(along_m.clamp(0.0, length_m)), speed_mps, Movement::Moving)
    }

    /// The flying clock at each exposure of a leg.
    fn stop_times_s(&self, flown: &FlownLeg) -> Option<Vec<f64>> {
        let pass = self.passes.iter().position(|pass| Some(*pass) == flown.pass)?;
        let times_s = self.flight.station_time_s.get(pass)?;
        flown.leg.stops.iter().map(|stop| times_s.get(stop.station as usize).copied()).collect()
    }

    /// The place on a leg that is flown from one stop to the next.
    fn hop(&self, flown: &FlownLeg, times_s: &[f64], flying_s: f64) -> (DVec3, f64, Movement) {
        let leg = &flown.leg;
        let (mut from_m, mut from_s) = (0.0, flown.start_s + flown.turn_s);
        let ends = leg.stops.iter().zip(times_s).map(|(stop, time_s)| (stop.along_m, *time_s, 1.0));
        let last = (leg.length_m(), flown.end_s(), 0.0);
        for (to_m, until_s, stands) in ends.chain([last]) {
            if flying_s <= until_s {
                let motion = Trapezoid::new(to_m - from_m, flown.peak_mps, self.flight.acceleration_mps2);
                let first_s = leg.standing.map_or(0.0, |standing| standing.first_s) * stands;
                let arrives_s = (until_s - first_s).max(from_s);
                if flying_s >= arrives_s {
                    return (leg.at_m(to_m), 0.0, Movement::Standing);
                }
                // Turns of the leg in the wind may make a hop a little slower than its fastest one.
                let stretch = motion.duration_s() / (arrives_s - from_s);
                let (along_m, speed_mps) = motion.at_time((flying_s - from_s) * stretch);
                return (leg.at_m(from_m + along_m), speed_mps * stretch, Movement::Moving);
            }
            (from_m, from_s) = (to_m, until_s);
        }
        (leg.to_m, 0.0, Movement::Moving)
    }
}

impl FlownLeg {
    /// The flying clock at its end.
    ///
    /// # Units
    /// - returns: seconds on the flying clock
    pub fn end_s(&self) -> f64 {
        self.start_s + self.turn_s + self.moving_s
    }
}

impl LegKind {
    /// What the aircraft does on it, in a word or two.
    pub fn name(self) -> &'static str {
        match self {
            LegKind::Strip => "strip",
            LegKind::Link => "link",
            LegKind::Transit => "transit",
            LegKind::Climb => "climb",
            LegKind::Descent => "descent",
            LegKind::Turn => "turn in one sweep",
        }
    }
}
