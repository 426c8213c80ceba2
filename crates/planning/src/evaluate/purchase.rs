//! Every job of a portfolio flown by every aircraft, and the fleets held against each other.

use super::what_if::{Miss, Quiet, ToSpare, Tried, TuneAsk, TuneResult};
use super::{Evaluator, Hold, Stopped};
use crate::base::Id;
use crate::money::{
    BatteryWear, Fleet, FleetCase, FleetMember, Holding, JobFacts, JobSettings, JobType, Offer, Portfolio,
    PortfolioAircraft, PortfolioFleet, PortfolioJob, PortfolioMember, job_terms,
};
use crate::result::{Depth, MeasureId};
use crate::scenario::knob::Dial;
use crate::scenario::{Equipment, Scenario};

/// How an aircraft flies a kind of job.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownJob {
    /// Name of the strategy with which it leaves most.
    pub strategy: String,
    /// What was turned in it, each input with its value.
    pub turned: Vec<(Dial, f64)>,
    /// What that comes to.
    pub tried: Tried,
    /// The same as the arithmetic of money takes it.
    pub facts: JobFacts,
}

/// Why an aircraft does not fly a kind of job.
#[derive(Debug, Clone, PartialEq)]
pub enum NotFlown {
    /// The client asks for what it has not.
    Asked(String),
    /// No strategy of the job's scenario will do with it: why not, each with its name.
    Refused(Vec<(String, Refusal)>),
}

/// Why a strategy will not do with an aircraft.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// It cannot be flown; why.
    CannotFly(Vec<String>),
    /// Nothing that can be set meets the requirement with the margin; what the setting misses that comes nearest.
    Misses(Vec<Miss>),
}

/// The fleets of a portfolio held against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// How each aircraft flies each kind of job, or why it does not; nothing where no fleet has the aircraft.
    pub flown: Vec<Option<Vec<Result<FlownJob, NotFlown>>>>,
    /// The arithmetic.
    pub case: FleetCase,
}

impl Evaluator<'_> {
    /// Works out how every aircraft of a portfolio's fleets flies each kind of job, and holds the fleets against each other.
    ///
    /// Each strategy of a job's scenario is set as [`JobSettings`] says with the aircraft in place of its own, and the one is
    /// taken that leaves most. A job that no strategy brings to meet its requirement, or whose client asks for what the aircraft
    /// has not, is closed for it, and has no figures.
    ///
    /// # Errors
    /// As [`Evaluator::tune`].
    ///
    /// # Panics
    /// Where `scenarios` are not those of the portfolio's jobs, one for each.
    pub fn purchase(&self, portfolio: &Portfolio, scenarios: &[Scenario]) -> Result<Purchase, Stopped> {
        assert_eq!(scenarios.len(), portfolio.jobs.len(), "a scenario for each kind of job");
        let used: Vec<bool> = portfolio.aircraft.iter().map(|entry| is_used(portfolio, entry)).collect();
        let total = (used.iter().filter(|used| **used).count() * scenarios.len()) as u64;
        let mut done = 0;
        let mut flown = Vec::new();
        for (entry, used) in portfolio.aircraft.iter().zip(used) {
            if !used {
                flown.push(None);
                continue;
            }
            let mut jobs = Vec::new();
            for (job, scenario) in portfolio.jobs.iter().zip(scenarios) {
                let watch = Quiet { watch: self.watch, done, total };
                let evaluator = Evaluator { store: self.store, watch: &watch };
                jobs.push(evaluator.flown_job(portfolio, entry, job, scenario)?);
                done += 1;
            }
            flown.push(Some(jobs));
        }
        let case = fleet_case(portfolio, &flown);
        Ok(Purchase { flown, case })
    }

    fn flown_job(
        &self,
        portfolio: &Portfolio,
        entry: &PortfolioAircraft,
        job: &PortfolioJob,
        scenario: &Scenario,
    ) -> Result<Result<FlownJob, NotFlown>, Stopped> {
        if let Some(asked) = job.asks.iter().find(|asked| !entry.has.contains(asked)) {
            return Ok(Err(NotFlown::Asked(asked.clone())));
        }
        let held = self.held(portfolio.settings, scenario)?;
        let mut best: Option<(f64, FlownJob)> = None;
        let mut refused = Vec::new();
        for strategy in &held.strategies {
            match self.flown_by(portfolio.settings, &held, strategy.id, entry)? {
                Ok(flown) => {
                    let terms = job_terms(&portfolio.firm, &job.money, &flown.facts, &entry.wear, 0.0);
                    let leaves = terms.contribution();
                    if best.as_ref().is_none_or(|(most, _)| leaves > *most) {
                        best = Some((leaves, flown));
                    }
                }
                Err(why) => refused.push((strategy.name.clone(), why)),
            }
        }
        Ok(best.map(|(_, flown)| flown).ok_or(NotFlown::Refused(refused)))
    }

    /// A job's scenario with what is held equal set by its own aircraft.
    fn held(&self, settings: JobSettings, scenario: &Scenario) -> Result<Scenario, Stopped> {
        let hold = match settings {
            JobSettings::EachAtItsBest => return Ok(scenario.clone()),
            JobSettings::EqualGsd => Hold::Gsd,
            JobSettings::EqualHeight => Hold::Height,
        };
        let lead = scenario.reference.or(scenario.strategies.first().map(|strategy| strategy.id));
        Ok(match lead {
            Some(lead) => self.hold_equal(scenario, lead, hold)?.scenario,
            None => scenario.clone(),
        })
    }

    /// One strategy with an aircraft in place of its own.
    fn flown_by(
        &self,
        settings: JobSettings,
        scenario: &Scenario,
        strategy: Id,
        entry: &PortfolioAircraft,
    ) -> Result<Result<FlownJob, Refusal>, Stopped> {
        let scenario = with_aircraft(scenario, strategy, entry);
        let ask = match settings {
            JobSettings::EachAtItsBest => {
                TuneAsk::usual(&scenario, strategy, MeasureId::TimeOnSite, ToSpare::default())
            }
            JobSettings::EqualGsd | JobSettings::EqualHeight => None,
        };
        let found = match ask {
            Some(ask) => self.at_its_best(&scenario, &ask)?,
            None => self.as_it_stands(&scenario, strategy)?,
        };
        let (tried, turned) = match found {
            Ok(found) => found,
            Err(refusal) => return Ok(Err(refusal)),
        };
        let figure = |id| tried.figure(id).unwrap_or(f64::NAN);
        let facts = JobFacts {
            on_site_h: figure(MeasureId::TimeOnSite) / 3600.0,
            battery_cycles: figure(MeasureId::EnergySets),
            machine_h: figure(MeasureId::ProcessingHours),
        };
        let name = scenario.strategy(strategy).map_or_else(String::new, |strategy| strategy.name.clone());
        Ok(Ok(FlownJob { strategy: name, turned, tried, facts }))
    }

    /// What a search comes to, and what it turns.
    fn at_its_best(&self, scenario: &Scenario, ask: &TuneAsk) -> Result<Result<Set, Refusal>, Stopped> {
        Ok(match self.tune(scenario, ask, &|_| {})?.found {
            TuneResult::Best(looked) => Ok((looked.tried, ask.turned(&looked.values))),
            TuneResult::Nearest(looked) => Err(Refusal::Misses(looked.misses)),
            TuneResult::Nothing(reasons) => {
                // as it stands it tells more than at a setting that nobody asked for
                let as_set = self.evaluate(scenario, ask.strategy, Depth::Quick)?.reasons;
                Err(Refusal::CannotFly(if as_set.is_empty() { reasons } else { as_set }))
            }
        })
    }

    /// What a strategy comes to as it is set.
    fn as_it_stands(&self, scenario: &Scenario, strategy: Id) -> Result<Result<Set, Refusal>, Stopped> {
        let depth = Depth::of_verdict(&scenario.requirement);
        let tried = Tried::of(&self.evaluate(scenario, strategy, depth)?);
        if !tried.is_flown() {
            return Ok(Err(Refusal::CannotFly(tried.reasons)));
        }
        let misses = ToSpare { coverage: 0.0, gsd: 0.0 }.misses(&tried).unwrap_or_default();
        Ok(if misses.is_empty() { Ok((tried, Vec::new())) } else { Err(Refusal::Misses(misses)) })
    }
}

/// What a setting comes to, and what was turned for it.
type Set = (Tried, Vec<(Dial, f64)>);

fn is_used(portfolio: &Portfolio, entry: &PortfolioAircraft) -> bool {
    let mut members = portfolio.fleets.iter().flat_map(|fleet| &fleet.members);
    members.any(
        |member| matches!(member, PortfolioMember::Aircraft { name, .. } if *name == entry.aircraft.name),
    )
}

/// A scenario of one strategy, flown with another aircraft.
fn with_aircraft(scenario: &Scenario, strategy: Id, entry: &PortfolioAircraft) -> Scenario {
    let mut scenario = scenario.clone();
    scenario.strategies.retain(|other| other.id == strategy);
    scenario.strategies.iter_mut().for_each(|strategy| strategy.aircraft = entry.aircraft.id);
    scenario.reference = None;
    scenario.equipment = Equipment { aircraft: vec![entry.aircraft.clone()] }.into();
    scenario
}

/// The arithmetic's case of a portfolio.
fn fleet_case(portfolio: &Portfolio, flown: &[Option<Vec<Result<FlownJob, NotFlown>>>]) -> FleetCase {
    let jobs = portfolio.jobs.iter().map(|job| JobType {
        name: job.name.clone(),
        count: job.count,
        money: job.money,
    });
    FleetCase {
        firm: portfolio.firm.clone(),
        jobs: jobs.collect(),
        fleets: portfolio.fleets.iter().map(|fleet| case_fleet(portfolio, fleet, flown)).collect(),
        study_years: portfolio.study_years,
    }
}

fn case_fleet(
    portfolio: &Portfolio,
    fleet: &PortfolioFleet,
    flown: &[Option<Vec<Result<FlownJob, NotFlown>>>],
) -> Fleet {
    let member = |member: &PortfolioMember| match member {
        PortfolioMember::Aircraft { name, holding } => {
            let place = portfolio.aircraft.iter().position(|entry| entry.aircraft.name == *name)?;
            let offers = flown[place].iter().flatten().map(|job| match job {
                Ok(flown) => Offer::Flown(flown.facts),
                Err(_) => Offer::Closed,
            });
            Some(FleetMember {
                name: name.clone(),
                holding: *holding,
                wear: portfolio.aircraft[place].wear,
                offers: offers.collect(),
            })
        }
        PortfolioMember::Subcontractor { name, prices } => {
            let offers = portfolio.jobs.iter().map(|job| {
                let price = prices.iter().find(|price| price.job == job.name);
                price.map_or(Offer::Closed, |price| Offer::BoughtIn { price: price.price })
            });
            Some(FleetMember {
                name: name.clone(),
                holding: Holding::Subcontracted,
                wear: BatteryWear { set_price: 0.0, cycles: 1.0 },
                offers: offers.collect(),
            })
        }
    };
    Fleet { name: fleet.name.clone(), members: fleet.members.iter().filter_map(member).collect() }
}
