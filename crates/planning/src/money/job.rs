//! What one job leaves.

use serde::{Deserialize, Serialize};

/// What holds for every job of a firm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Firm {
    /// What amounts are in; nothing is converted.
    pub currency: String,
    /// People on site and on the road.
    pub crew: f64,
    /// What an hour of one of them costs.
    pub crew_wage_per_h: f64,
    /// What an hour of somebody at the workstation costs.
    pub attended_wage_per_h: f64,
    /// What an hour of the workstation costs while it works by itself.
    pub machine_per_h: f64,
    /// What a kilometre on the road costs, wages left out.
    pub road_per_km: f64,
    /// Days a year on which somebody could fly.
    pub flying_days: f64,
    /// Share of them that the weather leaves.
    pub weather_share: f64,
    /// Hours of such a day, road included.
    pub hours_a_day: f64,
    /// Interest a year, as a share.
    pub interest: f64,
    /// What hours are worth that a fleet saves.
    #[serde(default)]
    pub freed: FreedHours,
}

impl Firm {
    /// Days a year that can be worked on jobs.
    ///
    /// # Units
    /// - returns: days
    pub fn days(&self) -> f64 {
        self.flying_days * self.weather_share
    }

    /// What its hours and kilometres cost.
    pub fn rates(&self) -> JobRates {
        JobRates {
            crew: self.crew,
            crew_wage_per_h: self.crew_wage_per_h,
            attended_wage_per_h: self.attended_wage_per_h,
            machine_per_h: self.machine_per_h,
            road_per_km: self.road_per_km,
        }
    }

    /// How many days a visit takes: a share of one where several fit into a day, else whole ones.
    ///
    /// # Units
    /// - `visit_h`: hours; returns days
    ///
    /// # References
    /// Derived: a visit is made on the day it is begun if it fits, so saved minutes make one more visit a day or nothing.
    pub fn days_of_visit(&self, visit_h: f64) -> f64 {
        let fit = (self.hours_a_day / visit_h + WHOLE).floor();
        if fit >= 1.0 { 1.0 / fit } else { (visit_h / self.hours_a_day - WHOLE).ceil() }
    }
}

/// Days and jobs that lie so close to a whole number are that number.
pub(super) const WHOLE: f64 = 1e-9;

/// What hours and kilometres cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobRates {
    /// People on site and on the road.
    pub crew: f64,
    /// What an hour of one of them costs.
    pub crew_wage_per_h: f64,
    /// What an hour of somebody at the workstation costs.
    pub attended_wage_per_h: f64,
    /// What an hour of the workstation costs while it works by itself.
    pub machine_per_h: f64,
    /// What a kilometre on the road costs, wages left out.
    pub road_per_km: f64,
}

/// What hours are worth that a fleet saves.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FreedHours {
    /// They are not paid: the wages are saved.
    #[default]
    NotPaid,
    /// They are paid anyway, and some of the days they add up to are sold.
    SoldAsDays {
        /// Share of the whole days that finds a buyer.
        share: f64,
        /// What such a day leaves after what it costs itself.
        day_value: f64,
    },
    /// They are paid anyway and nothing comes of them.
    Slack,
}

/// A kind of job that comes again and again.
#[derive(Debug, Clone, PartialEq)]
pub struct JobType {
    /// For people.
    pub name: String,
    /// Jobs a year.
    pub count: f64,
    /// What one of them brings and takes, whatever flies it.
    pub money: JobMoney,
}

/// What a job brings and takes, whatever flies it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobMoney {
    /// What the client pays.
    pub price: f64,
    /// On the road, there and back.
    #[serde(default)]
    pub road_h: f64,
    /// The same in kilometres.
    #[serde(default)]
    pub road_km: f64,
    /// Measuring control points, the crew's time left out.
    #[serde(default)]
    pub control_survey: f64,
    /// Somebody at the workstation, where that is known better than from what is processed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attended_h: Option<f64>,
    /// Share of visits after which the site must be visited again.
    #[serde(default)]
    pub again_share: f64,
    /// A licensed practice's signature.
    #[serde(default)]
    pub sign_off: f64,
}

impl JobMoney {
    /// Hours of somebody at the workstation: those that are set, else those worked out.
    ///
    /// # Units
    /// - returns: hours
    pub fn attended_h(&self, facts: &JobFacts) -> f64 {
        self.attended_h.unwrap_or(facts.attended_h)
    }

    /// Visits that are expected, the first among them: a visit fails with the same chance whenever it is made, so p / (1 − p) more
    /// are expected after the first.
    ///
    /// # Units
    /// - returns: a mean count, 1 or more
    ///
    /// # References
    /// Derived: expected number of failures before the first success (geometric distribution).
    pub fn visits(&self) -> f64 {
        1.0 / (1.0 - self.again_share)
    }
}

/// What was worked out for one job with one aircraft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobFacts {
    /// Arriving to leaving.
    pub on_site_h: f64,
    /// Battery sets drawn, in full ones.
    pub battery_cycles: f64,
    /// The workstation works by itself.
    pub machine_h: f64,
    /// Somebody at the workstation.
    pub attended_h: f64,
}

/// What charging and discharging a battery set costs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BatteryWear {
    /// Of one set.
    pub set_price: f64,
    /// Full cycles that it lasts.
    pub cycles: f64,
}

/// How a fleet's member does a kind of job.
#[derive(Debug, Clone, PartialEq)]
pub enum Offer {
    /// It flies it.
    Flown(JobFacts),
    /// Somebody else does it for this price; only the signature stays with the firm.
    BoughtIn {
        /// What a job costs.
        price: f64,
    },
    /// It cannot.
    Closed,
}

/// What a job brings and takes, part by part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct JobTerms {
    /// What the client pays.
    pub price: f64,
    /// Wages on site and on the road, one visit.
    pub crew: f64,
    /// Kilometres, one visit.
    pub travel: f64,
    /// Measuring control points.
    pub control_survey: f64,
    /// Battery sets, one visit.
    pub battery_wear: f64,
    /// An aircraft by the day, one visit: whole days, whatever is left of them.
    pub hire: f64,
    /// The workstation by itself.
    pub machine: f64,
    /// Somebody at the workstation.
    pub attended: f64,
    /// Visits that are expected beyond the first: crew, travel, battery wear and hire of each.
    pub again: f64,
    /// What somebody else is paid for all of it.
    pub bought_in: f64,
    /// A licensed practice's signature.
    pub sign_off: f64,
    /// Visits that are expected.
    pub visits: f64,
    /// Days that they take together.
    pub days: f64,
}

impl JobTerms {
    /// What it takes.
    ///
    /// # Units
    /// - returns: money
    pub fn costs(&self) -> f64 {
        self.crew
            + self.travel
            + self.control_survey
            + self.battery_wear
            + self.hire
            + self.machine
            + self.attended
            + self.again
            + self.bought_in
            + self.sign_off
    }

    /// The workstation and somebody at it.
    ///
    /// # Units
    /// - returns: money
    pub fn processing(&self) -> f64 {
        self.machine + self.attended
    }

    /// What it leaves.
    ///
    /// # Units
    /// - returns: money
    pub fn contribution(&self) -> f64 {
        self.price - self.costs()
    }

    /// What it leaves for each day that it takes; without end where it takes none.
    ///
    /// # Units
    /// - returns: money a day
    pub fn contribution_a_day(&self) -> f64 {
        if self.days > 0.0 { self.contribution() / self.days } else { f64::INFINITY }
    }

    /// Wages within its costs, those of further visits included.
    ///
    /// # Units
    /// - returns: money
    pub fn wages(&self) -> f64 {
        self.crew * self.visits + self.attended
    }
}

/// What a job brings and takes when it is flown, the visits that are expected included; without hire, days, and the aircraft's own
/// cost a year.
///
/// # References
/// Derived: sums of hours, kilometres and cycles, each times what one costs.
///
/// # Examples
/// As [`job_terms`], which adds hire and days.
pub fn flown_terms(rates: &JobRates, money: &JobMoney, facts: &JobFacts, wear: &BatteryWear) -> JobTerms {
    let visits = money.visits();
    let crew = rates.crew * (facts.on_site_h + money.road_h) * rates.crew_wage_per_h;
    let travel = money.road_km * rates.road_per_km;
    let battery_wear = facts.battery_cycles * wear.set_price / wear.cycles;
    JobTerms {
        price: money.price,
        crew,
        travel,
        control_survey: money.control_survey,
        battery_wear,
        machine: facts.machine_h * rates.machine_per_h,
        attended: money.attended_h(facts) * rates.attended_wage_per_h,
        again: (visits - 1.0) * (crew + travel + battery_wear),
        sign_off: money.sign_off,
        visits,
        ..JobTerms::default()
    }
}

/// What a job brings and takes when it is flown, the visits that are expected included; without the aircraft's own cost a year.
///
/// # Units
/// - `hire_a_day`: money, 0 where the aircraft is not hired by the day
///
/// # References
/// Derived: sums of hours, kilometres, cycles and days, each times what one costs.
///
/// # Examples
/// ```
/// use obliquity_planning::money::{BatteryWear, Firm, FreedHours, JobFacts, JobMoney, job_terms};
/// let firm = Firm {
///     currency: "crowns".into(),
///     crew: 2.0,
///     crew_wage_per_h: 40.0,
///     attended_wage_per_h: 50.0,
///     machine_per_h: 3.0,
///     road_per_km: 0.5,
///     flying_days: 200.0,
///     weather_share: 0.6,
///     hours_a_day: 8.0,
///     interest: 0.05,
///     freed: FreedHours::NotPaid,
/// };
/// let money = JobMoney {
///     price: 1500.0,
///     road_h: 1.0,
///     road_km: 60.0,
///     control_survey: 20.0,
///     attended_h: None, // as long as it takes
///     again_share: 0.2,
///     sign_off: 100.0,
/// };
/// let facts = JobFacts { on_site_h: 2.0, battery_cycles: 3.0, machine_h: 10.0, attended_h: 2.0 };
/// let terms = job_terms(&firm, &money, &facts, &BatteryWear { set_price: 300.0, cycles: 150.0 }, 0.0);
/// // crew 2 × 40 × 3 h, road 30, batteries 6, a quarter of a visit more, points 20, machine 30, desk 100, signature 100
/// assert!((terms.contribution() - (1500.0 - 276.0 * 1.25 - 250.0)).abs() < 1e-9);
/// assert_eq!(terms.days, 0.5 * 1.25); // two such visits fit into a day
/// ```
pub fn job_terms(
    firm: &Firm,
    money: &JobMoney,
    facts: &JobFacts,
    wear: &BatteryWear,
    hire_a_day: f64,
) -> JobTerms {
    let flown = flown_terms(&firm.rates(), money, facts, wear);
    let visit_days = firm.days_of_visit(facts.on_site_h + money.road_h);
    // another job on the same day is luck: whoever lends an aircraft is paid for the day
    let hire = hired_days(visit_days) * hire_a_day;
    let visit = flown.crew + flown.travel + flown.battery_wear + hire;
    JobTerms { hire, again: (flown.visits - 1.0) * visit, days: flown.visits * visit_days, ..flown }
}

/// Days that an aircraft is hired for a visit: no part of one.
///
/// # Units
/// - `visit_days`: days that a visit takes of those to fly on
/// - returns: whole days
///
/// # References
/// Common practice, no source.
///
/// # Examples
/// ```
/// use obliquity_planning::money::hired_days;
/// assert_eq!(hired_days(0.5), 1.0);
/// assert_eq!(hired_days(2.0), 2.0);
/// ```
pub fn hired_days(visit_days: f64) -> f64 {
    (visit_days - WHOLE).ceil()
}

/// What a job brings and takes when somebody else does it.
pub(super) fn bought_in(money: &JobMoney, price: f64) -> JobTerms {
    JobTerms {
        price: money.price,
        bought_in: price,
        sign_off: money.sign_off,
        visits: 0.0,
        ..JobTerms::default()
    }
}
