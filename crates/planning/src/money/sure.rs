//! How sure a gain is, and what would turn the answer.

use super::case::FleetCase;
use super::fleet::{FleetMember, Holding};
use super::job::{FreedHours, JobFacts, Offer};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::SeedableRng;
use serde::{Deserialize, Serialize};

/// Draws that a spread is made from.
const DRAWS: usize = 2000;

/// The standard normal's 90th percentile.
const Z90: f64 = 1.281_551_565_544_6;

/// Steps in which the range of an input is walked through for the value that turns the answer.
const STEPS: u32 = 400;

/// One number of a case; kinds of job and aircraft by their names, so that an aircraft that stands in several fleets costs the
/// same in all of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Lever {
    /// Jobs a year of a kind.
    Count(String),
    /// What a client pays for a job of a kind.
    Price(String),
    /// Share of visits to a kind of job after which the site must be visited again.
    AgainShare(String),
    /// Time on site of all jobs, as a factor on what was worked out.
    SiteTime,
    /// Hours of the workstation by itself of all jobs, as a factor on what was worked out.
    MachineTime,
    /// What an hour of somebody on site costs.
    CrewWage,
    /// What an hour of somebody at the workstation costs.
    AttendedWage,
    /// What an hour of the workstation costs.
    MachineHour,
    /// Days a year on which somebody could fly.
    FlyingDays,
    /// Hours of such a day.
    HoursADay,
    /// Interest a year.
    Interest,
    /// Share of the freed days that is sold.
    SoldShare,
    /// What a sold day leaves.
    DayValue,
    /// What an aircraft costs to buy or to rent for a year; what it would fetch today where it is there.
    AircraftPrice(String),
    /// What it costs to hire for a day.
    HireDay(String),
    /// What it fetches in the end.
    Resale(String),
}

/// Which values a lever takes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct LeverRange {
    least: f64,
    most: f64,
}

impl Lever {
    /// Its value; nothing where the case has no such number. Factors are 1.
    ///
    /// # Units
    /// - returns: as the number's own field says
    pub fn value(&self, case: &FleetCase) -> Option<f64> {
        let mut value = None;
        self.on(&mut case.clone(), &mut |place| value = value.or(Some(*place)));
        if self.is_factor() { value.map(|_| 1.0) } else { value }
    }

    /// Sets this number of a case, in all places that hold it.
    ///
    /// # Units
    /// - `value`: as the number's own field says; a factor on the case's own where it is one
    pub fn set(&self, case: &mut FleetCase, value: f64) {
        let factor = self.is_factor();
        self.on(case, &mut |place| *place = if factor { *place * value } else { value });
    }

    fn is_factor(&self) -> bool {
        matches!(self, Lever::SiteTime | Lever::MachineTime)
    }

    /// Hands every place of the case that holds the number to `change`.
    fn on(&self, case: &mut FleetCase, change: &mut dyn FnMut(&mut f64)) {
        let firm = &mut case.firm;
        let jobs = case.jobs.iter_mut();
        let members = case.fleets.iter_mut().flat_map(|fleet| &mut fleet.members);
        match self {
            Lever::Count(name) => {
                jobs.filter(|job| job.name == *name).for_each(|job| change(&mut job.count));
            }
            Lever::Price(name) => {
                jobs.filter(|job| job.name == *name).for_each(|job| change(&mut job.money.price));
            }
            Lever::AgainShare(name) => {
                jobs.filter(|job| job.name == *name).for_each(|job| change(&mut job.money.again_share));
            }
            Lever::SiteTime => flown(members).for_each(|facts| change(&mut facts.on_site_h)),
            Lever::MachineTime => flown(members).for_each(|facts| change(&mut facts.machine_h)),
            Lever::CrewWage => change(&mut firm.crew_wage_per_h),
            Lever::AttendedWage => change(&mut firm.attended_wage_per_h),
            Lever::MachineHour => change(&mut firm.machine_per_h),
            Lever::FlyingDays => change(&mut firm.flying_days),
            Lever::HoursADay => change(&mut firm.hours_a_day),
            Lever::Interest => change(&mut firm.interest),
            Lever::SoldShare | Lever::DayValue => {
                if let FreedHours::SoldAsDays { share, day_value } = &mut firm.freed {
                    change(if *self == Lever::SoldShare { share } else { day_value });
                }
            }
            Lever::AircraftPrice(name) => {
                for member in members.filter(|member| member.name == *name) {
                    if let Holding::Kept { resale_today: price, .. }
                    | Holding::Bought { price, .. }
                    | Holding::Leased { rent: price, .. } = &mut member.holding
                    {
                        change(price);
                    }
                }
            }
            Lever::HireDay(name) => {
                for member in members.filter(|member| member.name == *name) {
                    if let Holding::Hired { a_day } = &mut member.holding {
                        change(a_day);
                    }
                }
            }
            Lever::Resale(name) => {
                for member in members.filter(|member| member.name == *name) {
                    if let Holding::Kept { resale, .. } | Holding::Bought { resale, .. } = &mut member.holding
                    {
                        change(resale);
                    }
                }
            }
        }
    }

    /// How far it can go from a value.
    fn range(&self, value: f64) -> LeverRange {
        match self {
            Lever::AgainShare(_) => LeverRange { least: 0.0, most: 0.9 },
            Lever::SoldShare => LeverRange { least: 0.0, most: 1.0 },
            Lever::Interest => LeverRange { least: 0.0, most: 0.5 },
            Lever::FlyingDays => LeverRange { least: 1.0, most: 366.0 },
            Lever::HoursADay => LeverRange { least: 1.0, most: 24.0 },
            Lever::SiteTime | Lever::MachineTime => LeverRange { least: 0.2, most: 5.0 },
            Lever::Count(_) => LeverRange { least: 0.0, most: (5.0 * value).max(20.0) },
            _ => LeverRange { least: 0.0, most: (5.0 * value).max(1.0) },
        }
    }

    /// Whether it counts things, so that only whole numbers of it are looked at.
    pub fn is_count(&self) -> bool {
        matches!(self, Lever::Count(_) | Lever::FlyingDays)
    }
}

/// What was worked out for the jobs that members fly.
fn flown<'a>(members: impl Iterator<Item = &'a mut FleetMember>) -> impl Iterator<Item = &'a mut JobFacts> {
    members.flat_map(|member| &mut member.offers).filter_map(|offer| match offer {
        Offer::Flown(facts) => Some(facts),
        Offer::BoughtIn { .. } | Offer::Closed => None,
    })
}

/// How sure a number of a case is: nine times of ten it is above the one value, nine times of ten below the other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unsure {
    /// The number.
    pub lever: Lever,
    /// 10th percentile.
    pub p10: f64,
    /// 90th percentile.
    pub p90: f64,
}

impl Unsure {
    /// A value for a standard normal draw: the case's own at 0, the percentiles at theirs, straight between and beyond.
    fn drawn(&self, value: f64, z: f64) -> f64 {
        let side = if z < 0.0 { value - self.p10 } else { self.p90 - value };
        let range = self.lever.range(value);
        (value + side * z / Z90).clamp(range.least, range.most)
    }
}

/// What a fleet leaves more in a year than the kept one, over all draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GainSpread {
    /// 10th percentile.
    pub p10: f64,
    /// The middle.
    pub p50: f64,
    /// 90th percentile.
    pub p90: f64,
    /// Share of the draws in which it leaves more.
    pub pays: f64,
}

/// What one number does to a gain, the others as they stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Swing {
    /// The number.
    pub lever: Lever,
    /// Its 10th percentile.
    pub p10: f64,
    /// Its 90th percentile.
    pub p90: f64,
    /// The gain at its 10th percentile.
    pub at_p10: f64,
    /// The gain at its 90th percentile.
    pub at_p90: f64,
    /// Where the answer turns.
    pub turns: SwitchingValue,
}

impl Swing {
    /// How much the gain differs between both.
    ///
    /// # Units
    /// - returns: money a year
    pub fn width(&self) -> f64 {
        (self.at_p90 - self.at_p10).abs()
    }
}

/// Which values of a number turn an answer: the nearest below and above the one it has; nothing where none does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwitchingValue {
    /// At this and below, down to the next turn, the answer is the other one.
    pub below: Option<f64>,
    /// At this and above.
    pub above: Option<f64>,
}

impl FleetCase {
    /// How sure the gains of all fleets are, the kept one's being 0: every draw is the same for all of them, so that what they
    /// have in common cancels.
    pub fn gain_spreads(&self, unsure: &[Unsure], seed: u64) -> Vec<GainSpread> {
        let drawn_from: Vec<(&Unsure, f64)> =
            unsure.iter().filter_map(|of| Some((of, of.lever.value(self)?))).collect();
        let mut random = Pcg64::seed_from_u64(seed);
        let mut gains = vec![Vec::with_capacity(DRAWS); self.fleets.len()];
        for _ in 0..DRAWS {
            let mut drawn = self.clone();
            for (of, value) in &drawn_from {
                let z: f64 = StandardNormal.sample(&mut random);
                of.lever.set(&mut drawn, of.drawn(*value, z));
            }
            let counts = drawn.counts();
            for (fleet, gains) in gains.iter_mut().enumerate() {
                gains.push(drawn.gain(fleet, &counts).total());
            }
        }
        gains.into_iter().map(spread).collect()
    }

    /// What each unsure number does to a fleet's gain, the widest first, and where it turns the answer.
    pub fn swings(&self, fleet: usize, unsure: &[Unsure]) -> Vec<Swing> {
        let mut swings: Vec<Swing> = unsure
            .iter()
            .filter_map(|of| {
                let value = of.lever.value(self)?;
                Some(Swing {
                    lever: of.lever.clone(),
                    p10: of.p10,
                    p90: of.p90,
                    at_p10: self.gain_at(fleet, &of.lever, of.p10),
                    at_p90: self.gain_at(fleet, &of.lever, of.p90),
                    turns: self.switching_value(fleet, &of.lever, value),
                })
            })
            .collect();
        swings.sort_by(|a, b| b.width().total_cmp(&a.width()));
        swings
    }

    fn gain_at(&self, fleet: usize, lever: &Lever, value: f64) -> f64 {
        let mut case = self.clone();
        lever.set(&mut case, value);
        case.gain(fleet, &case.counts()).total()
    }

    fn switching_value(&self, fleet: usize, lever: &Lever, value: f64) -> SwitchingValue {
        let pays = |at: f64| self.gain_at(fleet, lever, at) >= 0.0;
        let now = pays(value);
        let LeverRange { least, most } = lever.range(value);
        SwitchingValue {
            below: turn(value, least, lever, now, &pays),
            above: turn(value, most, lever, now, &pays),
        }
    }
}

/// The first value on the way from one to another at which an answer is otherwise.
fn turn(from: f64, to: f64, lever: &Lever, now: bool, pays: &dyn Fn(f64) -> bool) -> Option<f64> {
    if lever.is_count() {
        let mut whole: Vec<f64> =
            (to.min(from).ceil() as i64..=to.max(from).floor() as i64).map(|count| count as f64).collect();
        if to < from {
            whole.reverse();
        }
        return whole.into_iter().find(|&count| pays(count) != now);
    }
    let at = |step: u32| from + (to - from) * f64::from(step) / f64::from(STEPS);
    let first = (1..=STEPS).find(|&step| pays(at(step)) != now)?;
    let (mut same, mut other) = (at(first - 1), at(first));
    for _ in 0..50 {
        let middle = f64::midpoint(same, other);
        if pays(middle) == now {
            same = middle;
        } else {
            other = middle;
        }
    }
    Some(other)
}

fn spread(mut gains: Vec<f64>) -> GainSpread {
    gains.sort_by(f64::total_cmp);
    let percentile = |share: f64| gains[((gains.len() - 1) as f64 * share).round() as usize];
    let pays = gains.iter().filter(|gain| **gain >= 0.0).count() as f64 / gains.len() as f64;
    GainSpread { p10: percentile(0.1), p50: percentile(0.5), p90: percentile(0.9), pays }
}
