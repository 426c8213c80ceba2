//! How sure time and energy are: draws of wind, speed, turns, batteries and swaps, on the route as it is.

use super::Flight;
use super::charging::hand_out;
use super::course::Course;
use super::craft::Craft;
use super::pilot::{NoLog, Pilot};
use crate::power::JOULES_PER_WH;
use crate::{Airframe, Cancelled, Conditions, PassPlan, SiteOutline, Watch};
use glam::DVec2;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use rayon::prelude::*;
use std::sync::Arc;

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
    watch: &dyn Watch,
) -> Result<Bands, Cancelled> {
    let draws = Draws {
        course: Course::new(plans, &flight.order, airframe, site, conditions),
        craft: Craft::new(airframe, conditions, conditions.wind.velocity_mps()),
        conditions,
    };
    let all = draws.drawn(&Source::ALL, DRAWS, watch)?;
    let band = |read: fn(&Drawn) -> f64| Band::of(all.iter().map(read).collect());
    let mut causes = Vec::with_capacity(Source::ALL.len());
    for source in Source::ALL {
        let drawn = draws.drawn(&[source], DRAWS / 10, watch)?;
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

/// What one draw came to.
struct Drawn {
    flight_s: f64,
    time_on_site_s: f64,
    sorties: f64,
    energy_j: f64,
}

/// A route with what its draws vary.
struct Draws<'a> {
    course: Course<'a>,
    /// As planned.
    craft: Craft,
    conditions: &'a Conditions,
}

/// What one draw varies.
struct Drawing {
    craft: Craft,
    swap_ratio: f64,
}

impl Draws<'_> {
    /// Draws with some sources varied and the others as planned.
    fn drawn(&self, varied: &[Source], draws: u32, watch: &dyn Watch) -> Result<Vec<Drawn>, Cancelled> {
        let flown = (0..draws).into_par_iter().map(|k| {
            if k % 64 == 0 {
                watch.step(u64::from(k), u64::from(draws))?;
            }
            Ok(self.fly(&self.draw(varied, k)))
        });
        Ok(flown.collect::<Result<Vec<_>, Cancelled>>()?.into_iter().flatten().collect())
    }

    /// The flight of one draw; nothing where its batteries do not reach the route and back.
    fn fly(&self, drawing: &Drawing) -> Option<Drawn> {
        let conditions = self.conditions;
        let mut pilot = Pilot::new(&self.course, &drawing.craft, drawing.craft.usable_j, NoLog);
        pilot.fly().ok()?;
        let mut sorties = pilot.sorties;
        let swap_s = self.course.airframe.swap_min * 60.0 * drawing.swap_ratio;
        hand_out(&mut sorties, conditions.battery_sets, conditions.charging.as_ref(), swap_s);
        let flight_s: f64 = sorties.iter().map(|sortie| sortie.duration_s).sum();
        let waits_s: f64 = sorties.iter().map(|sortie| sortie.wait_s).sum();
        let swaps_s = sorties.len().saturating_sub(1) as f64 * swap_s;
        let control_min = f64::from(conditions.control_points) * conditions.per_control_point_min;
        let fixed_s = (conditions.set_up_min + conditions.pack_up_min + control_min) * 60.0;
        Some(Drawn {
            flight_s,
            time_on_site_s: fixed_s + flight_s + swaps_s + waits_s,
            sorties: sorties.len() as f64,
            energy_j: sorties.iter().map(|sortie| sortie.energy_j).sum(),
        })
    }

    /// The aircraft of one draw, and how its swaps come out.
    fn draw(&self, varied: &[Source], number: u32) -> Drawing {
        let spread = &self.conditions.spread;
        let seed = spread.seed.wrapping_mul(1 << 20).wrapping_add(u64::from(number));
        let mut dice = Pcg64::seed_from_u64(seed);
        // Every source takes its numbers whether it varies or not, so that a draw is the same alone and among others.
        let z: [f64; 7] = std::array::from_fn(|_| StandardNormal.sample(&mut dice));
        let of = |source: Source, sigma: f64, z: f64| if varied.contains(&source) { sigma * z } else { 0.0 };
        let ratio = |source: Source, sigma: f64, z: f64| (1.0 + of(source, sigma, z)).max(LEAST_RATIO);
        let gust =
            DVec2::new(of(Source::Wind, spread.wind_mps, z[0]), of(Source::Wind, spread.wind_mps, z[1]));
        let turned = DVec2::from_angle(of(Source::Wind, spread.wind_deg.to_radians(), z[2]));
        let craft = self.craft.with_speed(ratio(Source::Speed, spread.speed_ratio, z[3]));
        let air = turned.rotate(self.craft.air_mps) + gust;
        let craft = craft.in_air(air.clamp_length_max(STRONGEST_WIND * craft.fastest_mps));
        let craft = craft.with_battery(ratio(Source::Battery, spread.battery_ratio, z[5]));
        let craft = craft.with_turns(ratio(Source::Turns, spread.turn_ratio, z[4]));
        Drawing { craft, swap_ratio: ratio(Source::Swap, spread.swap_ratio, z[6]) }
    }
}

/// A ratio never falls below this.
const LEAST_RATIO: f64 = 0.05;

/// Nobody flies in more wind than this share of the fastest airspeed; draws above stand for waiting it out.
const STRONGEST_WIND: f64 = 0.8;
