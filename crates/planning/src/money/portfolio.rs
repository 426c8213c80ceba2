//! A firm's jobs of a year and the fleets that could do them, as a file holds them.

use super::fleet::{Holding, OwnTerms, Running};
use super::job::{BatteryWear, Firm, FreedHours, JobMoney};
use super::sure::{Lever, Unsure};
use crate::base::limits;
use crate::scenario::faults::Checker;
use crate::scenario::{Aircraft, Equipment, Fault};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Most kinds of job, aircraft and fleets of a portfolio.
const MOST_LISTED: usize = 40;

/// A firm's jobs of a year and the fleets that could do them.
#[derive(Debug, Clone, PartialEq)]
pub struct Portfolio {
    /// For people.
    pub name: String,
    /// What it is about.
    pub note: String,
    /// What holds for every job.
    pub firm: Firm,
    /// Years over which flows are looked at.
    pub study_years: u32,
    /// At which settings each aircraft flies a job.
    pub settings: JobSettings,
    /// The kinds of job.
    pub jobs: Vec<PortfolioJob>,
    /// The aircraft that fleets choose from.
    pub aircraft: Vec<PortfolioAircraft>,
    /// The fleets; the first is kept if nothing changes.
    pub fleets: Vec<PortfolioFleet>,
    /// Numbers that are not sure.
    pub unsure: Vec<Unsure>,
}

/// At which settings each aircraft flies a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum JobSettings {
    /// Each at its own: those of least time on site that meet the job's requirement with the usual margin.
    #[default]
    EachAtItsBest,
    /// All at the nominal GSD of the job's reference strategy; heights follow from the cameras.
    EqualGsd,
    /// All at its height; GSDs follow from the cameras.
    EqualHeight,
}

/// A kind of job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PortfolioJob {
    /// For people.
    pub name: String,
    /// A scenario's file, seen from the portfolio's folder: site, requirement, conditions and the strategies to choose from.
    pub scenario: String,
    /// What that file held when it was last looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held: Option<String>,
    /// Jobs a year.
    pub count: f64,
    /// What the client asks of an aircraft beside figures; free words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asks: Vec<String>,
    /// What a job brings and takes.
    pub money: JobMoney,
}

/// An aircraft that fleets choose from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PortfolioAircraft {
    /// As a scenario holds it.
    pub aircraft: Aircraft,
    /// What its batteries cost.
    pub wear: BatteryWear,
    /// What it has of what clients ask.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub has: Vec<String>,
}

/// Aircraft that do a firm's jobs together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PortfolioFleet {
    /// For people.
    pub name: String,
    /// The aircraft, and who else is paid for jobs.
    pub members: Vec<PortfolioMember>,
}

/// An aircraft of a fleet, or somebody who is paid for doing jobs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PortfolioMember {
    /// An aircraft.
    Aircraft {
        /// Its name.
        name: String,
        /// How the firm comes by it.
        holding: Holding,
    },
    /// Somebody who is paid for doing jobs.
    Subcontractor {
        /// For people.
        name: String,
        /// What a job of a kind costs; kinds that are not listed are not done.
        prices: Vec<JobPrice>,
    },
}

/// What a job of a kind costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobPrice {
    /// The kind's name.
    pub job: String,
    /// What one costs.
    pub price: f64,
}

/// No two may have one name, and there must not be too many.
fn check_list<'a>(check: &mut Checker, list: &str, field: &str, names: impl Iterator<Item = &'a str>) {
    let mut known = BTreeSet::new();
    let mut count = 0;
    for (k, name) in names.enumerate() {
        count += 1;
        if !known.insert(name) {
            let message = format!("\"{name}\" stands twice; names must differ, rename one");
            check.fault(format!("{list}[{k}].{field}"), message);
        }
    }
    check.at_most(list, list, count, MOST_LISTED);
}

impl Portfolio {
    /// What it still takes to be worked out, step by step: it may be made bit by bit. Empty when nothing is missing.
    pub fn lacks(&self) -> Vec<&'static str> {
        let has_member = self.fleets.iter().any(|fleet| !fleet.members.is_empty());
        let steps = [
            (self.jobs.is_empty(), "a job: its scenario, how often it comes a year, and its price"),
            (
                self.aircraft.is_empty() && !has_member,
                "the aircraft that you have, and those that you might have",
            ),
            (!has_member, "the fleet that you have: what you keep if you change nothing"),
        ];
        steps.into_iter().filter(|(is_missing, _)| *is_missing).map(|(_, step)| step).collect()
    }

    /// What costs or brings nothing so far and mostly does: prices of jobs and aircraft, wages.
    pub fn at_nothing(&self) -> Vec<String> {
        let jobs = self.jobs.iter().filter(|job| job.money.price == 0.0);
        let jobs = jobs.map(|job| format!("price of {}", job.name));
        let wage = self.firm.crew * self.firm.crew_wage_per_h == 0.0;
        let wage = wage.then(|| "wage of the crew".to_owned());
        let mut had = Vec::new();
        for fleet in &self.fleets {
            for member in &fleet.members {
                let PortfolioMember::Aircraft { name, holding } = member else { continue };
                let told = match *holding {
                    Holding::Bought { price: 0.0, .. } => format!("price of {name}"),
                    Holding::Leased { rent: 0.0, .. } => format!("rent of {name} a year"),
                    Holding::Hired { a_day: 0.0 } => format!("rent of {name} a day"),
                    _ => continue,
                };
                if !had.contains(&told) {
                    had.push(told);
                }
            }
        }
        jobs.chain(wage).chain(had).collect()
    }

    /// Everything wrong with it, in the order of its fields; what is missing yet is told by [`Portfolio::lacks`]. What its
    /// scenarios say is not looked at.
    pub fn faults(&self) -> Vec<Fault> {
        let mut check = Checker::default();
        check.name("name", "portfolio", &self.name);
        check_firm(&mut check, &self.firm);
        check.number("study_years", f64::from(self.study_years), limits::YEARS);
        self.check_jobs(&mut check);
        self.check_aircraft(&mut check);
        self.check_fleets(&mut check);
        self.check_unsure(&mut check);
        check.faults
    }

    fn check_jobs(&self, check: &mut Checker) {
        check_list(check, "jobs", "name", self.jobs.iter().map(|job| job.name.as_str()));
        for (k, job) in self.jobs.iter().enumerate() {
            let at = |field: &str| format!("jobs[{k}].{field}");
            check.name(at("name"), "kind of job", &job.name);
            if job.scenario.trim().is_empty() {
                check.fault(at("scenario"), "a scenario's file must be named; write its path");
            }
            let JobMoney { price, road_h, road_km, control_survey, attended_h, again_share, sign_off } =
                job.money;
            check.number(at("count"), job.count, limits::JOBS_A_YEAR);
            check.number(at("money.price"), price, limits::AMOUNT);
            check.number(at("money.road_h"), road_h, limits::ROAD_H);
            check.number(at("money.road_km"), road_km, limits::ROAD_KM);
            check.number(at("money.control_survey"), control_survey, limits::AMOUNT);
            if let Some(attended_h) = attended_h {
                check.number(at("money.attended_h"), attended_h, limits::ATTENDED_H);
            }
            check.number(at("money.again_share"), again_share, limits::AGAIN_SHARE);
            check.number(at("money.sign_off"), sign_off, limits::AMOUNT);
        }
    }

    fn check_aircraft(&self, check: &mut Checker) {
        let aircraft = self.aircraft.iter().map(|entry| entry.aircraft.clone()).collect();
        for fault in (Equipment { aircraft }).faults() {
            // an aircraft stands one level deeper here than in equipment of its own
            check.fault(fault.path.replacen("].", "].aircraft.", 1), fault.message);
        }
        let names = self.aircraft.iter().map(|entry| entry.aircraft.name.as_str());
        check_list(check, "aircraft", "aircraft.name", names);
        for (k, entry) in self.aircraft.iter().enumerate() {
            let BatteryWear { set_price, cycles } = entry.wear;
            check.number(format!("aircraft[{k}].wear.set_price"), set_price, limits::AMOUNT);
            check.number(format!("aircraft[{k}].wear.cycles"), cycles, limits::BATTERY_CYCLES);
        }
    }

    fn check_fleets(&self, check: &mut Checker) {
        check_list(check, "fleets", "name", self.fleets.iter().map(|fleet| fleet.name.as_str()));
        for (f, fleet) in self.fleets.iter().enumerate() {
            check.name(format!("fleets[{f}].name"), "fleet", &fleet.name);
            for (m, member) in fleet.members.iter().enumerate() {
                self.check_member(check, &format!("fleets[{f}].members[{m}]"), member);
            }
        }
    }

    fn check_member(&self, check: &mut Checker, place: &str, member: &PortfolioMember) {
        match member {
            PortfolioMember::Aircraft { name, holding } => {
                if !self.has_aircraft(name) {
                    let message =
                        format!("no aircraft is called \"{name}\"; write one that is listed under aircraft");
                    check.fault(format!("{place}.name"), message);
                }
                check_holding(check, place, holding);
            }
            PortfolioMember::Subcontractor { prices, .. } => {
                for (k, price) in prices.iter().enumerate() {
                    let at = format!("{place}.prices[{k}]");
                    if !self.has_job(&price.job) {
                        let message = format!(
                            "no job is called \"{}\"; write one that is listed under jobs",
                            price.job
                        );
                        check.fault(format!("{at}.job"), message);
                    }
                    check.number(format!("{at}.price"), price.price, limits::AMOUNT);
                }
            }
        }
    }

    fn check_unsure(&self, check: &mut Checker) {
        for (k, unsure) in self.unsure.iter().enumerate() {
            let known = match &unsure.lever {
                Lever::Count(name) | Lever::Price(name) | Lever::AgainShare(name) => self.has_job(name),
                Lever::AircraftPrice(name) | Lever::HireDay(name) | Lever::Resale(name) => {
                    self.has_aircraft(name)
                }
                _ => true,
            };
            if !known {
                let message = "it names no job or aircraft that is listed; write one that is";
                check.fault(format!("unsure[{k}].lever"), message);
            }
            if !(unsure.p10.is_finite() && unsure.p90.is_finite() && unsure.p10 <= unsure.p90) {
                let message = format!(
                    "the 10th percentile must not be above the 90th, but they are {} and {}; swap them",
                    unsure.p10, unsure.p90
                );
                check.fault(format!("unsure[{k}].p10"), message);
            }
        }
    }

    fn has_job(&self, name: &str) -> bool {
        self.jobs.iter().any(|job| job.name == name)
    }

    fn has_aircraft(&self, name: &str) -> bool {
        self.aircraft.iter().any(|entry| entry.aircraft.name == name)
    }
}

fn check_firm(check: &mut Checker, firm: &Firm) {
    let at = |field: &str| format!("firm.{field}");
    check.name(at("currency"), "currency", &firm.currency);
    check.number(at("crew"), firm.crew, limits::CREW);
    check.number(at("crew_wage_per_h"), firm.crew_wage_per_h, limits::AMOUNT);
    check.number(at("attended_wage_per_h"), firm.attended_wage_per_h, limits::AMOUNT);
    check.number(at("machine_per_h"), firm.machine_per_h, limits::AMOUNT);
    check.number(at("road_per_km"), firm.road_per_km, limits::AMOUNT);
    check.number(at("flying_days"), firm.flying_days, limits::DAYS_A_YEAR);
    check.number(at("weather_share"), firm.weather_share, limits::WEATHER_SHARE);
    check.number(at("hours_a_day"), firm.hours_a_day, limits::HOURS_A_DAY);
    check.number(at("interest"), firm.interest, limits::INTEREST);
    if let FreedHours::SoldAsDays { share, day_value } = firm.freed {
        check.number(at("freed.share"), share, limits::SOLD_SHARE);
        check.number(at("freed.day_value"), day_value, limits::AMOUNT);
    }
}

fn check_holding(check: &mut Checker, place: &str, holding: &Holding) {
    let at = |field: &str| format!("{place}.holding.{field}");
    let amounts: &[(&str, f64)] = match holding {
        Holding::Kept { resale_today, resale, .. } => &[("resale_today", *resale_today), ("resale", *resale)],
        Holding::Bought { price, one_off, resale, .. } => {
            &[("price", *price), ("one_off", *one_off), ("resale", *resale)]
        }
        Holding::Leased { rent, one_off, .. } => &[("rent", *rent), ("one_off", *one_off)],
        Holding::Hired { a_day } => &[("a_day", *a_day)],
        Holding::Subcontracted => &[],
    };
    for (field, amount) in amounts {
        check.number(at(field), *amount, limits::AMOUNT);
    }
    let Some(OwnTerms { years, running, .. }) = holding.own_terms() else { return };
    check.number(at("years"), years, limits::YEARS);
    if years.fract() != 0.0 {
        check.fault(at("years"), format!("years must be whole, but they are {years}; round them"));
    }
    let Running { a_year, losses, deductible } = running;
    check.number(at("running.a_year"), a_year, limits::AMOUNT);
    check.number(at("running.losses"), losses, limits::LOSSES_A_YEAR);
    check.number(at("running.deductible"), deductible, limits::AMOUNT);
}
