//! A firm's jobs of a year and the fleets that could do them, as a file holds them.

use super::fleet::Holding;
use super::job::{BatteryWear, Firm, JobMoney};
use super::sure::{Lever, Unsure};
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

/// Collects what is wrong.
#[derive(Default)]
struct Wrong(Vec<Fault>);

impl Wrong {
    fn fault(&mut self, path: String, message: String) {
        self.0.push(Fault { path, message });
    }

    /// A number must lie between two, both included.
    fn number(&mut self, path: String, value: f64, least: f64, most: f64, mend: &str) {
        if !(value.is_finite() && value >= least && value <= most) {
            self.fault(
                path,
                format!("must be at least {least} and at most {most}, but it is {value}; {mend}"),
            );
        }
    }

    fn money(&mut self, path: String, value: f64) {
        self.number(
            path,
            value,
            0.0,
            1e12,
            "give the amount in the firm's currency, as a cost or a price above 0",
        );
    }

    /// Names must be there and differ.
    fn names<'a>(&mut self, list: &str, names: impl Iterator<Item = &'a str>) {
        let mut known = BTreeSet::new();
        let mut count = 0;
        for (k, name) in names.enumerate() {
            count += 1;
            if name.trim().is_empty() {
                self.fault(format!("{list}[{k}].name"), "a name must not be empty; give it one".into());
            } else if !known.insert(name) {
                let message = format!("\"{name}\" stands twice; names must differ, rename one");
                self.fault(format!("{list}[{k}].name"), message);
            }
        }
        if count == 0 {
            self.fault(list.into(), format!("{list} must not be empty; list at least one"));
        } else if count > MOST_LISTED {
            self.fault(
                list.into(),
                format!("there must be at most {MOST_LISTED} {list}, but there are {count}; leave some out"),
            );
        }
    }
}

impl Portfolio {
    /// Everything wrong with it, in the order of its fields; empty when it can be worked out. What its scenarios say is not
    /// looked at.
    pub fn faults(&self) -> Vec<Fault> {
        let mut wrong = Wrong::default();
        if self.name.trim().is_empty() {
            wrong.fault("name".into(), "the portfolio's name must not be empty; give it one".into());
        }
        self.check_firm(&mut wrong);
        wrong.number("study_years".into(), f64::from(self.study_years), 1.0, 30.0, "give whole years");
        self.check_jobs(&mut wrong);
        self.check_aircraft(&mut wrong);
        self.check_fleets(&mut wrong);
        self.check_unsure(&mut wrong);
        wrong.0
    }

    fn check_firm(&self, wrong: &mut Wrong) {
        use super::job::FreedHours;
        let firm = &self.firm;
        let at = |field: &str| format!("firm.{field}");
        if firm.currency.trim().is_empty() {
            wrong.fault(at("currency"), "the currency must not be empty; write its name".into());
        }
        wrong.number(at("crew"), firm.crew, 0.0, 50.0, "give the number of people");
        for (field, amount) in [
            ("crew_wage_per_h", firm.crew_wage_per_h),
            ("attended_wage_per_h", firm.attended_wage_per_h),
            ("machine_per_h", firm.machine_per_h),
            ("road_per_km", firm.road_per_km),
        ] {
            wrong.money(at(field), amount);
        }
        wrong.number(at("flying_days"), firm.flying_days, 1.0, 366.0, "give days of a year");
        wrong.number(at("weather_share"), firm.weather_share, 0.01, 1.0, "write 0.6 for 60 %");
        wrong.number(at("hours_a_day"), firm.hours_a_day, 1.0, 24.0, "give hours");
        wrong.number(at("interest"), firm.interest, 0.0, 0.5, "write 0.06 for 6 % a year");
        if let FreedHours::SoldAsDays { share, day_value } = firm.freed {
            wrong.number(at("freed.share"), share, 0.0, 1.0, "write 0.5 for half of them");
            wrong.money(at("freed.day_value"), day_value);
        }
    }

    fn check_jobs(&self, wrong: &mut Wrong) {
        wrong.names("jobs", self.jobs.iter().map(|job| job.name.as_str()));
        for (k, job) in self.jobs.iter().enumerate() {
            let at = |field: &str| format!("jobs[{k}].{field}");
            if job.scenario.trim().is_empty() {
                wrong.fault(at("scenario"), "a scenario's file must be named; write its path".into());
            }
            wrong.number(at("count"), job.count, 0.0, 10_000.0, "give jobs a year");
            let money = &job.money;
            wrong.money(at("money.price"), money.price);
            wrong.number(at("money.road_h"), money.road_h, 0.0, 48.0, "give hours there and back");
            wrong.number(at("money.road_km"), money.road_km, 0.0, 5000.0, "give kilometres there and back");
            wrong.money(at("money.control_survey"), money.control_survey);
            wrong.number(at("money.attended_h"), money.attended_h, 0.0, 1000.0, "give hours");
            wrong.number(
                at("money.again_share"),
                money.again_share,
                0.0,
                0.9,
                "write 0.1 for one visit in ten",
            );
            wrong.money(at("money.sign_off"), money.sign_off);
        }
    }

    fn check_aircraft(&self, wrong: &mut Wrong) {
        for (k, entry) in self.aircraft.iter().enumerate() {
            let at = |field: &str| format!("aircraft[{k}].{field}");
            wrong.money(at("wear.set_price"), entry.wear.set_price);
            wrong.number(at("wear.cycles"), entry.wear.cycles, 1.0, 1e6, "give the cycles that a set lasts");
        }
        let aircraft = self.aircraft.iter().map(|entry| entry.aircraft.clone()).collect();
        for fault in (Equipment { aircraft }).faults() {
            // an aircraft stands one level deeper here than in equipment of its own
            let path = fault.path.replacen("].", "].aircraft.", 1);
            wrong.fault(path, fault.message);
        }
        let named = self.aircraft.iter().map(|entry| entry.aircraft.name.as_str());
        let mut known = BTreeSet::new();
        for (k, name) in named.enumerate() {
            if !known.insert(name) {
                let message = format!("\"{name}\" stands twice; names must differ, rename one");
                wrong.fault(format!("aircraft[{k}].aircraft.name"), message);
            }
        }
    }

    fn check_fleets(&self, wrong: &mut Wrong) {
        wrong.names("fleets", self.fleets.iter().map(|fleet| fleet.name.as_str()));
        for (f, fleet) in self.fleets.iter().enumerate() {
            for (m, member) in fleet.members.iter().enumerate() {
                self.check_member(wrong, &format!("fleets[{f}].members[{m}]"), member);
            }
        }
    }

    fn check_member(&self, wrong: &mut Wrong, place: &str, member: &PortfolioMember) {
        match member {
            PortfolioMember::Aircraft { name, holding } => {
                if !self.aircraft.iter().any(|entry| entry.aircraft.name == *name) {
                    let message =
                        format!("no aircraft is called \"{name}\"; write one that is listed under aircraft");
                    wrong.fault(format!("{place}.name"), message);
                }
                check_holding(wrong, place, holding);
            }
            PortfolioMember::Subcontractor { prices, .. } => {
                for (k, price) in prices.iter().enumerate() {
                    let at = format!("{place}.prices[{k}]");
                    if !self.jobs.iter().any(|job| job.name == price.job) {
                        let message = format!(
                            "no job is called \"{}\"; write one that is listed under jobs",
                            price.job
                        );
                        wrong.fault(format!("{at}.job"), message);
                    }
                    wrong.money(format!("{at}.price"), price.price);
                }
            }
        }
    }

    fn check_unsure(&self, wrong: &mut Wrong) {
        let job = |name: &String| self.jobs.iter().any(|job| job.name == *name);
        let aircraft = |name: &String| self.aircraft.iter().any(|entry| entry.aircraft.name == *name);
        for (k, unsure) in self.unsure.iter().enumerate() {
            let at = |field: &str| format!("unsure[{k}].{field}");
            let unknown = match &unsure.lever {
                Lever::Count(name) | Lever::Price(name) | Lever::AgainShare(name) => !job(name),
                Lever::AircraftPrice(name) | Lever::HireDay(name) | Lever::Resale(name) => !aircraft(name),
                _ => false,
            };
            if unknown {
                wrong.fault(
                    at("lever"),
                    "it names no job or aircraft that is listed; write one that is".into(),
                );
            }
            if !(unsure.p10.is_finite() && unsure.p90.is_finite() && unsure.p10 <= unsure.p90) {
                let message = format!(
                    "the 10th percentile must not be above the 90th, but they are {} and {}; swap them",
                    unsure.p10, unsure.p90
                );
                wrong.fault(at("p10"), message);
            }
        }
    }
}

fn check_holding(wrong: &mut Wrong, place: &str, holding: &Holding) {
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
        wrong.money(at(field), *amount);
    }
    if let Some(years) = holding.years() {
        wrong.number(at("years"), years, 1.0, 30.0, "give whole years");
        if years.fract() != 0.0 {
            wrong.fault(at("years"), format!("years must be whole, but they are {years}; round them"));
        }
    }
    if let Some(running) = holding.running() {
        wrong.money(at("running.a_year"), running.a_year);
        wrong.number(
            at("running.losses"),
            running.losses,
            0.0,
            10.0,
            "write 0.05 for one loss in twenty years",
        );
        wrong.money(at("running.deductible"), running.deductible);
    }
}
