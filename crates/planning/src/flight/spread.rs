//! How sure time and energy are: draws of wind, speed, turns, batteries, swaps and the crew, on the route as it is.

use super::course::FlightCourse;
use super::craft::Craft;
use super::fly::Written;
use super::home::Home;
use super::record::Flight;
use super::totals::{Ground, Totals};
use crate::base::{Cancelled, Watch};
use crate::flight::power::JOULES_PER_WH;
use crate::ground::SiteOutline;
use crate::route::PassPlan;
use crate::scenario::wind::Wind;
use crate::scenario::{Airframe, Conditions};
use glam::DVec2;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use rayon::prelude::*;
use std::sync::Arc;

/// Draws that the bands are made from.
pub(crate) const DRAWS: u32 = 1000;

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
    /// Greatest share of what a battery set gives above the reserve that a sortie of any draw takes; at most 1.
    pub fullest_ratio: f64,
    /// Draws whose batteries do not reach the route and come back; the bands are those of the others.
    pub out_of_reach: u32,
    /// What the spread comes from, the widest first.
    pub causes: Vec<Cause>,
}

impl Bands {
    /// Bytes held.
    pub(crate) fn bytes(&self) -> usize {
        size_of::<Bands>() + self.causes.len() * size_of::<Cause>()
    }

    /// [`Bands::energy_j`] in watt-hours.
    ///
    /// # Units
    /// - returns: watt-hours of 3600 J
    pub fn energy_wh(&self) -> Band {
        self.energy_j.over(JOULES_PER_WH)
    }

    /// [`Bands::energy_j`] in full battery sets.
    ///
    /// # Units
    /// - `capacity_j`: joules, [`Flight::capacity_j`]
    /// - returns: full battery sets
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
    /// Time for set-up, pack-up, control points and moves.
    Crew,
}

impl Source {
    /// All of them.
    pub const ALL: [Source; 6] =
        [Source::Wind, Source::Speed, Source::Turns, Source::Battery, Source::Swap, Source::Crew];

    /// As the subject of a line.
    pub fn name(self) -> &'static str {
        match self {
            Source::Wind => "wind",
            Source::Speed => "speed held",
            Source::Turns => "turns",
            Source::Battery => "battery capacity",
            Source::Swap => "battery changes",
            Source::Crew => "set-up and pack-up",
        }
    }
}

/// The bands of a flight.
///
/// Every draw flies the route anew, and packs the sorties anew; the route stays. Equal seeds give equal bands, on any number
/// of threads.
///
/// # Errors
/// [`Cancelled`] when the watch says so.
pub(crate) fn bands(
    plans: &[Arc<PassPlan>],
    flight: &Flight,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
    homes: &[Home],
    watch: &dyn Watch,
) -> Result<Bands, Cancelled> {
    let draws = Draws::new(plans, flight, airframe, site, conditions, homes);
    let all = draws.flown(&Source::ALL, DRAWS, watch)?;
    let band = |read: fn(&Totals) -> f64| Band::of(all.flown.iter().map(read).collect());
    let mut causes = Vec::with_capacity(Source::ALL.len());
    for source in Source::ALL {
        let drawn = draws.flown(&[source], DRAWS / 10, watch)?;
        causes.push(Cause {
            source,
            time_on_site_s: Band::of(drawn.flown.iter().map(|totals| totals.time_on_site_s).collect()),
        });
    }
    causes.sort_by(|a, b| b.time_on_site_s.width().total_cmp(&a.time_on_site_s.width()));
    Ok(Bands {
        flight_s: band(|totals| totals.flight_s),
        time_on_site_s: band(|totals| totals.time_on_site_s),
        sorties: band(|totals| totals.sorties),
        energy_j: band(|totals| totals.energy_j),
        fullest_ratio: all.flown.iter().map(|totals| totals.fullest_ratio).fold(0.0, f64::max),
        out_of_reach: all.out_of_reach,
        causes,
    })
}

/// One draw of a flight, leg by leg; absent a number, one in which nothing is drawn. Nothing where its batteries do not reach
/// the route and back.
pub(crate) fn draw(
    plans: &[Arc<PassPlan>],
    flight: &Flight,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
    homes: &[Home],
    number: Option<u32>,
) -> Option<Flight> {
    let draws = Draws::new(plans, flight, airframe, site, conditions, homes);
    let varied: &[Source] = if number.is_some() { &Source::ALL } else { &[] };
    let (craft, ground, wind) = draws.draw(varied, number.unwrap_or(0));
    let written = Written { plans, course: &draws.course, conditions };
    let drawn = written.flight(&craft, ground, wind).ok()?;
    Some(Flight { order: flight.order.clone(), ..drawn })
}

impl Band {
    /// # References
    /// Percentiles by the nearest rank (from memory).
    fn of(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let at = |q: f64| values[((values.len() as f64 * q).ceil() as usize).clamp(1, values.len()) - 1];
        Band { p10: at(0.1), p50: at(0.5), p90: at(0.9) }
    }

    fn over(self, unit: f64) -> Band {
        Band { p10: self.p10 / unit, p50: self.p50 / unit, p90: self.p90 / unit }
    }

    /// From the lower end to the upper one.
    ///
    /// # Units
    /// - returns: what the band is in
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::Band;
    /// assert_eq!(Band { p10: 1100.0, p50: 1200.0, p90: 1350.0 }.width(), 250.0);
    /// ```
    pub fn width(&self) -> f64 {
        self.p90 - self.p10
    }
}

/// A route with what its draws vary.
struct Draws<'a> {
    course: FlightCourse<'a>,
    /// As planned.
    craft: Craft,
    conditions: &'a Conditions,
    /// The wind that the prediction is flown in.
    wind: Wind,
}

/// What some draws came to.
struct FlownDraws {
    flown: Vec<Totals>,
    /// Draws whose batteries do not reach the route and back.
    out_of_reach: u32,
}

impl<'a> Draws<'a> {
    fn new(
        plans: &'a [Arc<PassPlan>],
        flight: &Flight,
        airframe: &'a Airframe,
        site: &'a SiteOutline,
        conditions: &'a Conditions,
        homes: &'a [Home],
    ) -> Self {
        Draws {
            course: FlightCourse::new(plans, &flight.order, airframe, site, conditions, homes),
            craft: Craft::new(airframe, conditions, flight.wind.velocity_mps().unwrap_or_default()),
            conditions,
            wind: flight.wind,
        }
    }

    /// Draws with some sources varied and the others as planned.
    ///
    /// Where the batteries of no draw reach the route, the prediction stands for them.
    fn flown(&self, varied: &[Source], draws: u32, watch: &dyn Watch) -> Result<FlownDraws, Cancelled> {
        let fly = |craft: &Craft, ground| Totals::of(&self.course, craft, ground, self.conditions);
        let all = (0..draws).into_par_iter().map(|k| {
            if k % 64 == 0 {
                watch.step(u64::from(k), u64::from(draws))?;
            }
            let (craft, ground, _) = self.draw(varied, k);
            Ok(fly(&craft, ground))
        });
        let mut flown: Vec<Totals> =
            all.collect::<Result<Vec<_>, Cancelled>>()?.into_iter().flatten().collect();
        let out_of_reach = draws - flown.len() as u32;
        if flown.is_empty() {
            flown.extend(fly(&self.craft, Ground::AS_PLANNED));
        }
        Ok(FlownDraws { flown, out_of_reach })
    }

    /// The aircraft, the crew and the wind of one draw.
    ///
    /// # References
    /// Normal deviates of the standard deviations given, cut below: common practice, no source.
    fn draw(&self, varied: &[Source], number: u32) -> (Craft, Ground, Wind) {
        let spread = &self.conditions.spread;
        let seed = spread.seed.wrapping_mul(1 << 20).wrapping_add(u64::from(number));
        let mut dice = Pcg64::seed_from_u64(seed);
        // Every source takes its numbers whether it varies or not, so that a draw is the same alone and among others.
        let z: [f64; 7] = std::array::from_fn(|_| StandardNormal.sample(&mut dice));
        let round: f64 = StandardUniform.sample(&mut dice);
        let varies = |source: Source| varied.contains(&source);
        let ratio = |source: Source, sigma: f64, z: f64| {
            if varies(source) { (1.0 + sigma * z).max(LEAST_RATIO) } else { 1.0 }
        };
        let craft = self.craft.with_speed(ratio(Source::Speed, spread.speed_ratio, z[2]));
        let wind = if varies(Source::Wind) { self.blown([z[0], z[1]], round) } else { self.wind };
        let craft = craft
            .in_air(self.endured_mps(wind, &craft))
            .with_turns(ratio(Source::Turns, spread.turn_ratio, z[3]))
            .with_battery(ratio(Source::Battery, spread.battery_ratio, z[4]));
        let ground = Ground {
            swap_ratio: ratio(Source::Swap, spread.swap_ratio, z[5]),
            crew_ratio: ratio(Source::Crew, spread.crew_ratio, z[6]),
        };
        (craft, ground, Wind { speed_mps: craft.air_mps.length(), ..wind })
    }

    /// The wind of one draw: its speed about the one given, from about the direction given or, where none is, from all round.
    fn blown(&self, [z_speed, z_turned]: [f64; 2], round: f64) -> Wind {
        let (spread, given) = (&self.conditions.spread, self.conditions.wind);
        let speed_mps = (given.speed_mps + spread.wind_mps * z_speed).max(0.0);
        let from_deg = match given.from_deg {
            Some(from_deg) => from_deg + spread.wind_deg * z_turned,
            None => 360.0 * round,
        };
        Wind { speed_mps, from_deg: Some(from_deg) }
    }

    /// The air in which the aircraft of a draw is flown in a wind.
    fn endured_mps(&self, wind: Wind, craft: &Craft) -> DVec2 {
        let share = (self.wind.speed_mps / self.craft.fastest_mps).max(STRONGEST_WIND);
        let air_mps = wind.velocity_mps().unwrap_or_default();
        air_mps.clamp_length_max(share * craft.fastest_mps)
    }
}

/// A ratio never falls below this.
const LEAST_RATIO: f64 = 0.05;

/// Nobody flies in more wind than this share of the fastest airspeed, or than the share planned for; draws above stand for
/// waiting it out.
const STRONGEST_WIND: f64 = 0.8;
