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
use crate::scenario::{Aircraft, Equipment, Scenario};

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

/// How each kind of job is flown, or why it is not.
pub type JobsFlown = Vec<Result<FlownJob, NotFlown>>;

/// The fleets of a portfolio held against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// How each aircraft flies each kind of job, hire by the day left out, or why it does not; nothing where no fleet has the
    /// aircraft.
    pub flown: Vec<Option<JobsFlown>>,
    /// The same of each member of each fleet, its hire by the day counted; nothing of who is paid by the job.
    pub members: Vec<Vec<Option<JobsFlown>>>,
    /// The arithmetic.
    pub case: FleetCase,
}

/// What of a portfolio decides how its jobs are flown: no edit of anything else flies one anew.
#[derive(Debug, Clone, PartialEq)]
pub struct FlightsOf {
    settings: JobSettings,
    /// What the client of each kind of job asks.
    asks: Vec<Vec<String>>,
    /// Each aircraft with what it has of that; nothing where no fleet has it.
    aircraft: Vec<Option<(Aircraft, Vec<String>)>>,
}

impl FlightsOf {
    /// Of a portfolio.
    pub fn new(portfolio: &Portfolio) -> Self {
        let aircraft = portfolio.aircraft.iter();
        FlightsOf {
            settings: portfolio.settings,
            asks: portfolio.jobs.iter().map(|job| job.asks.clone()).collect(),
            aircraft: aircraft
                .map(|entry| is_used(portfolio, entry).then(|| (entry.aircraft.clone(), entry.has.clone())))
                .collect(),
        }
    }
}

/// How the strategies of a kind of job go with an aircraft, each with its name.
type StrategyFlights = Vec<(String, Result<FlownJob, Refusal>)>;

/// The same; what the client asks for in place of them where the aircraft has it not.
type JobFlights = Result<StrategyFlights, String>;

/// How every aircraft of a portfolio flies each kind of job with every strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct Flights {
    /// Of what.
    of: FlightsOf,
    scenarios: Vec<Scenario>,
    aircraft: Vec<Option<Vec<JobFlights>>>,
}

impl Flights {
    /// How an aircraft flies a job by its settings, where that is among these.
    fn known(
        &self,
        settings: JobSettings,
        aircraft: &Aircraft,
        scenario: &Scenario,
    ) -> Option<&StrategyFlights> {
        let job = self.scenarios.iter().position(|own| own == scenario)?;
        let is_own =
            |own: &&Option<(Aircraft, Vec<String>)>| own.as_ref().is_some_and(|(own, _)| own == aircraft);
        let place = self.of.aircraft.iter().position(|own| is_own(&own))?;
        let flown = self.aircraft.get(place)?.as_ref()?.get(job)?.as_ref().ok()?;
        (self.of.settings == settings).then_some(flown)
    }

    /// Holds the fleets against each other: of a job's strategies each aircraft takes the one that leaves most. Quick.
    ///
    /// # Panics
    /// Where the portfolio's [`FlightsOf`] are others than those that were flown.
    pub fn purchase(&self, portfolio: &Portfolio) -> Purchase {
        assert_eq!(self.aircraft.len(), portfolio.aircraft.len(), "flights of each aircraft");
        let of = |place: usize, hire_a_day: f64| -> Option<JobsFlown> {
            let jobs = self.aircraft[place].as_ref()?.iter().zip(&portfolio.jobs);
            let entry = &portfolio.aircraft[place];
            Some(jobs.map(|(flights, job)| foremost(portfolio, (entry, hire_a_day), job, flights)).collect())
        };
        let member = |member: &PortfolioMember| {
            let PortfolioMember::Aircraft { name, holding } = member else { return None };
            let place = portfolio.aircraft.iter().position(|entry| entry.aircraft.name == *name)?;
            of(place, holding.hire_a_day())
        };
        let flown = (0..portfolio.aircraft.len()).map(|place| of(place, 0.0)).collect();
        let fleets = portfolio.fleets.iter();
        let members: Vec<Vec<Option<JobsFlown>>> =
            fleets.map(|fleet| fleet.members.iter().map(member).collect()).collect();
        let case = fleet_case(portfolio, &members);
        Purchase { flown, members, case }
    }
}

/// The strategy of a job with which an aircraft leaves most at what it is hired for a day; the first of equals.
fn foremost(
    portfolio: &Portfolio,
    (entry, hire_a_day): (&PortfolioAircraft, f64),
    job: &PortfolioJob,
    flights: &JobFlights,
) -> Result<FlownJob, NotFlown> {
    let each = flights.as_ref().map_err(|asked| NotFlown::Asked(asked.clone()))?;
    let leaves = |flown: &FlownJob| {
        job_terms(&portfolio.firm, &job.money, &flown.facts, &entry.wear, hire_a_day).contribution()
    };
    let flown = each.iter().filter_map(|(_, flown)| flown.as_ref().ok());
    let best = flown.reduce(|best, other| if leaves(other) > leaves(best) { other } else { best });
    let refused = || {
        let why = each.iter().filter_map(|(name, flown)| Some((name.clone(), flown.as_ref().err()?.clone())));
        NotFlown::Refused(why.collect())
    };
    best.cloned().ok_or_else(refused)
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
        Ok(self.flights(&FlightsOf::new(portfolio), scenarios)?.purchase(portfolio))
    }

    /// The part of [`Evaluator::purchase`] that takes long: how every aircraft flies each kind of job.
    ///
    /// # Errors
    /// As [`Evaluator::tune`].
    ///
    /// # Panics
    /// Where `scenarios` are not one for each kind of job.
    pub fn flights(&self, of: &FlightsOf, scenarios: &[Scenario]) -> Result<Flights, Stopped> {
        self.flights_after(of, scenarios, None)
    }

    /// The same; what is known from earlier is not flown anew.
    ///
    /// # Errors
    /// As [`Evaluator::tune`].
    ///
    /// # Panics
    /// Where `scenarios` are not one for each kind of job.
    pub fn flights_after(
        &self,
        of: &FlightsOf,
        scenarios: &[Scenario],
        earlier: Option<&Flights>,
    ) -> Result<Flights, Stopped> {
        assert_eq!(scenarios.len(), of.asks.len(), "a scenario for each kind of job");
        let total = (of.aircraft.iter().flatten().count() * scenarios.len()) as u64;
        let mut done = 0;
        let mut flown = Vec::new();
        for entry in &of.aircraft {
            let Some((aircraft, has)) = entry else {
                flown.push(None);
                continue;
            };
            let mut jobs = Vec::new();
            for (asks, scenario) in of.asks.iter().zip(scenarios) {
                let watch = Quiet { watch: self.watch, done, total };
                let evaluator = Evaluator { store: self.store, watch: &watch };
                let asked = asks.iter().find(|asked| !has.contains(asked));
                let known = earlier.and_then(|own| own.known(of.settings, aircraft, scenario));
                jobs.push(match (asked, known) {
                    (Some(asked), _) => Err(asked.clone()),
                    (None, Some(known)) => Ok(known.clone()),
                    (None, None) => Ok(evaluator.strategies_flown(of.settings, aircraft, scenario)?),
                });
                done += 1;
            }
            flown.push(Some(jobs));
        }
        Ok(Flights { of: of.clone(), scenarios: scenarios.to_vec(), aircraft: flown })
    }

    fn strategies_flown(
        &self,
        settings: JobSettings,
        aircraft: &Aircraft,
        scenario: &Scenario,
    ) -> Result<StrategyFlights, Stopped> {
        let held = self.held(settings, scenario)?;
        let each = held.strategies.iter().map(|strategy| {
            Ok((strategy.name.clone(), self.flown_by(settings, &held, strategy.id, aircraft)?))
        });
        each.collect()
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
        aircraft: &Aircraft,
    ) -> Result<Result<FlownJob, Refusal>, Stopped> {
        let scenario = with_aircraft(scenario, strategy, aircraft);
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
            attended_h: figure(MeasureId::AttendedHours),
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
fn with_aircraft(scenario: &Scenario, strategy: Id, aircraft: &Aircraft) -> Scenario {
    let mut scenario = scenario.clone();
    scenario.strategies.retain(|other| other.id == strategy);
    scenario.strategies.iter_mut().for_each(|strategy| strategy.aircraft = aircraft.id);
    scenario.reference = None;
    scenario.equipment = Equipment { aircraft: vec![aircraft.clone()] }.into();
    scenario
}

/// The arithmetic's case of a portfolio.
fn fleet_case(portfolio: &Portfolio, flown: &[Vec<Option<JobsFlown>>]) -> FleetCase {
    let jobs = portfolio.jobs.iter().map(|job| JobType {
        name: job.name.clone(),
        count: job.count,
        money: job.money,
    });
    FleetCase {
        firm: portfolio.firm.clone(),
        jobs: jobs.collect(),
        fleets: portfolio
            .fleets
            .iter()
            .zip(flown)
            .map(|(fleet, flown)| case_fleet(portfolio, fleet, flown))
            .collect(),
        study_years: portfolio.study_years,
    }
}

fn case_fleet(portfolio: &Portfolio, fleet: &PortfolioFleet, flown: &[Option<JobsFlown>]) -> Fleet {
    let member = |(member, flown): (&PortfolioMember, &Option<JobsFlown>)| match member {
        PortfolioMember::Aircraft { name, holding } => {
            let place = portfolio.aircraft.iter().position(|entry| entry.aircraft.name == *name)?;
            let offers = flown.iter().flatten().map(|job| match job {
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
    Fleet { name: fleet.name.clone(), members: fleet.members.iter().zip(flown).filter_map(member).collect() }
}
