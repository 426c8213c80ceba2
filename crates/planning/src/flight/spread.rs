//! How sure time and energy are: draws of wind, speed, turns, batteries and swaps, on the route as it is.

mod course;
mod packing;

use self::course::Course;
use self::packing::Drawn;
use super::Flight;
use super::craft::Craft;
use crate::power::JOULES_PER_WH;
use crate::{Airframe, Cancelled, Conditions, SiteOutline, Spread, Watch};
use glam::DVec2;
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
}

/// A ratio never falls below this.
const LEAST_RATIO: f64 = 0.05;

/// Nobody flies in more wind than this share of the fastest airspeed; draws above stand for waiting it out.
const STRONGEST_WIND: f64 = 0.8;
