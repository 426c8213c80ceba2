//! How a portfolio is made: kinds of job, aircraft and fleets that are added, copied, taken out and put in another order.

use obliquity_planning::money::{
    BatteryWear, Holding, JobMoney, JobPrice, Lever, Portfolio, PortfolioAircraft, PortfolioFleet,
    PortfolioJob, PortfolioMember, Running, Unsure,
};
use obliquity_planning::{Aircraft, Id, Job};

/// What of a portfolio is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listed {
    /// A kind of job.
    Job(usize),
    /// An aircraft.
    Aircraft(usize),
    /// A fleet.
    Fleet(usize),
    /// A member of a fleet.
    Member(usize, usize),
}

/// How a firm may come by an aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// It is there.
    Keep,
    /// It is bought.
    Buy,
    /// It is rented by the year.
    Lease,
    /// It is rented for the days of a job.
    Hire,
}

/// Where a candidate stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BesideOrInstead {
    /// With what there is.
    Beside,
    /// In place of it.
    Instead,
}

/// A change of what a portfolio lists.
#[derive(Debug, Clone, PartialEq)]
pub enum Making {
    /// What the case is called.
    CaseName(String),
    /// What amounts are in.
    Currency(String),
    /// Another name.
    Name(Listed, String),
    /// One more, the same as one that is there.
    Copy(Listed),
    /// It goes.
    Remove(Listed),
    /// It changes places with its neighbour.
    Up(Listed),
    /// The same the other way.
    Down(Listed),
    /// A kind of job.
    AddJob(Box<PortfolioJob>),
    /// The scenario of a kind of job.
    JobScenario(usize, String),
    /// What its client asks of an aircraft.
    Asks(usize, Vec<String>),
    /// An aircraft to choose from.
    AddAircraft(Box<Aircraft>),
    /// What it has of what clients ask.
    Has(usize, Vec<String>),
    /// What is there and stays, if nothing changes.
    KeepFleet(String),
    /// A fleet with another aircraft.
    Candidate(String, Way, BesideOrInstead),
    /// What is there, and somebody who is paid for jobs.
    Subcontract,
    /// One more aircraft in a fleet.
    AddMember(usize, String, Way),
    /// Another way of coming by an aircraft.
    Hold(usize, usize, Way),
    /// What somebody else is paid for a kind of job; absent, it is not done.
    PaidFor(usize, usize, String, Option<f64>),
    /// Ranges of the numbers that are seldom sure.
    UsualRanges,
}

impl Way {
    /// All, as they are listed.
    pub const ALL: [Way; 4] = [Way::Keep, Way::Buy, Way::Lease, Way::Hire];

    /// In a word or two.
    pub fn name(self) -> &'static str {
        match self {
            Way::Keep => "kept",
            Way::Buy => "bought",
            Way::Lease => "leased by the year",
            Way::Hire => "hired by the day",
        }
    }

    /// Of an aircraft.
    pub fn of(holding: &Holding) -> Way {
        match holding {
            Holding::Kept { .. } => Way::Keep,
            Holding::Bought { .. } => Way::Buy,
            Holding::Leased { .. } => Way::Lease,
            Holding::Hired { .. } | Holding::Subcontracted => Way::Hire,
        }
    }

    /// What that comes to, with as much as another way says of it.
    pub fn holding(self, before: Option<&Holding>) -> Holding {
        let had = before.and_then(Holding::own_terms);
        let years = had.map_or(USUAL_YEARS, |had| had.years);
        let running = had.map_or_else(Running::default, |had| had.running);
        let (price, resale) = had.map_or((0.0, 0.0), |had| (had.price, had.resale));
        let one_off = had.map_or(0.0, |had| had.one_off);
        match self {
            Way::Keep => Holding::Kept { resale_today: price, resale, years, running },
            Way::Buy => Holding::Bought { price, one_off, resale, years, running },
            Way::Lease => Holding::Leased { rent: had.map_or(0.0, |had| had.rent), one_off, years, running },
            Way::Hire => Holding::Hired { a_day: 0.0 },
        }
    }
}

/// Years until an aircraft is given up, before anyone says otherwise.
const USUAL_YEARS: f64 = 4.0;

/// A battery set's cycles before anyone says otherwise: common practice, no source.
const USUAL_CYCLES: f64 = 200.0;

impl Listed {
    /// Its name.
    pub fn name(self, portfolio: &Portfolio) -> String {
        let found = match self {
            Listed::Job(at) => portfolio.jobs.get(at).map(|own| &own.name),
            Listed::Aircraft(at) => portfolio.aircraft.get(at).map(|own| &own.aircraft.name),
            Listed::Fleet(at) => portfolio.fleets.get(at).map(|own| &own.name),
            Listed::Member(fleet, at) => {
                portfolio.fleets.get(fleet).and_then(|own| own.members.get(at)).map(member_name)
            }
        };
        found.cloned().unwrap_or_default()
    }
}

fn member_name(member: &PortfolioMember) -> &String {
    match member {
        PortfolioMember::Aircraft { name, .. } | PortfolioMember::Subcontractor { name, .. } => name,
    }
}

/// A name that none of some others has.
fn free_name<'a>(wanted: &str, known: impl Iterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.collect();
    let is_free = |name: &str| !known.contains(&name);
    let numbered = (2..).map(|number| format!("{wanted} {number}"));
    std::iter::once(wanted.to_owned()).chain(numbered).find(|name| is_free(name)).unwrap_or_default()
}

/// A kind of job on a scenario, with what that says of its money.
pub fn job_on(name: &str, scenario: String, held: String, own: &Job) -> PortfolioJob {
    PortfolioJob {
        name: name.to_owned(),
        scenario,
        held: Some(held),
        count: 10.0,
        asks: Vec::new(),
        money: JobMoney {
            price: own.price.unwrap_or(0.0),
            road_h: own.road_h,
            road_km: own.road_km,
            control_survey: 0.0,
            attended_h: None,
            again_share: own.again_share,
            sign_off: own.sign_off,
        },
    }
}

impl Making {
    /// What it is called in the menu.
    pub(super) fn label(&self, before: &Portfolio) -> String {
        match self {
            Making::CaseName(_) => "name of the case".to_owned(),
            Making::Currency(_) => "currency".to_owned(),
            Making::Name(of, _) => format!("name of {}", of.name(before)),
            Making::Copy(of) => format!("copy {}", of.name(before)),
            Making::Remove(of) => format!("remove {}", of.name(before)),
            Making::Up(of) | Making::Down(of) => format!("order of {}", of.name(before)),
            Making::AddJob(job) => format!("add {}", job.name),
            Making::JobScenario(job, _) => format!("scenario of {}", Listed::Job(*job).name(before)),
            Making::Asks(job, _) => format!("what {} asks for", Listed::Job(*job).name(before)),
            Making::AddAircraft(aircraft) => format!("add {}", aircraft.name),
            Making::Has(at, _) => format!("what {} has", Listed::Aircraft(*at).name(before)),
            Making::KeepFleet(name) => format!("keep {name}"),
            Making::Candidate(name, ..) => format!("fleet with {name}"),
            Making::Subcontract => "subcontractor".to_owned(),
            Making::AddMember(fleet, name, _) => {
                format!("{name} in {}", Listed::Fleet(*fleet).name(before))
            }
            Making::Hold(fleet, member, way) => {
                format!("{} {}", Listed::Member(*fleet, *member).name(before), way.name())
            }
            Making::PaidFor(_, _, job, _) => format!("paid for {job}"),
            Making::UsualRanges => "usual ranges".to_owned(),
        }
    }

    pub(super) fn apply(&self, portfolio: &mut Portfolio) {
        match self {
            Making::CaseName(name) => portfolio.name.clone_from(name),
            Making::Currency(name) => portfolio.firm.currency.clone_from(name),
            Making::Name(of, name) => rename(portfolio, *of, name),
            Making::Copy(of) => copy(portfolio, *of),
            Making::Remove(of) => remove(portfolio, *of),
            Making::Up(of) => swap(portfolio, *of, |at| at.checked_sub(1)),
            Making::Down(of) => swap(portfolio, *of, |at| Some(at + 1)),
            Making::AddJob(job) => {
                let mut job = (**job).clone();
                job.name = free_name(&job.name, portfolio.jobs.iter().map(|own| own.name.as_str()));
                portfolio.jobs.push(job);
            }
            Making::JobScenario(at, scenario) => {
                if let Some(job) = portfolio.jobs.get_mut(*at) {
                    job.scenario.clone_from(scenario);
                }
            }
            Making::Asks(at, tags) => {
                if let Some(job) = portfolio.jobs.get_mut(*at) {
                    job.asks.clone_from(tags);
                }
            }
            Making::AddAircraft(aircraft) => add_aircraft(portfolio, aircraft),
            Making::Has(at, tags) => {
                if let Some(own) = portfolio.aircraft.get_mut(*at) {
                    own.has.clone_from(tags);
                }
            }
            Making::KeepFleet(name) => {
                let keep = aircraft_member(name, Way::Keep);
                add_fleet(portfolio, 0, &format!("Keep {name}"), vec![keep]);
            }
            Making::Candidate(name, way, place) => candidate(portfolio, name, *way, *place),
            Making::Subcontract => {
                let name = "Somebody else".to_owned();
                let other = PortfolioMember::Subcontractor { name, prices: Vec::new() };
                let members = kept(portfolio).into_iter().chain([other]).collect();
                add_fleet(portfolio, usize::MAX, "Let others do jobs", members);
            }
            Making::AddMember(fleet, name, way) => {
                if let Some(fleet) = portfolio.fleets.get_mut(*fleet) {
                    fleet.members.push(aircraft_member(name, *way));
                }
            }
            Making::Hold(fleet, member, way) => {
                let members = portfolio.fleets.get_mut(*fleet).map(|fleet| &mut fleet.members);
                let member = members.and_then(|members| members.get_mut(*member));
                if let Some(PortfolioMember::Aircraft { holding, .. }) = member {
                    *holding = way.holding(Some(holding));
                }
            }
            Making::PaidFor(fleet, member, job, price) => {
                let members = portfolio.fleets.get_mut(*fleet).map(|fleet| &mut fleet.members);
                let member = members.and_then(|members| members.get_mut(*member));
                if let Some(PortfolioMember::Subcontractor { prices, .. }) = member {
                    prices.retain(|own| own.job != *job);
                    prices.extend(price.map(|price| JobPrice { job: job.clone(), price }));
                }
            }
            Making::UsualRanges => usual_ranges(portfolio),
        }
    }
}

fn aircraft_member(name: &str, way: Way) -> PortfolioMember {
    PortfolioMember::Aircraft { name: name.to_owned(), holding: way.holding(None) }
}

/// Those who are there if nothing changes.
fn kept(portfolio: &Portfolio) -> Vec<PortfolioMember> {
    portfolio.fleets.first().map_or_else(Vec::new, |fleet| fleet.members.clone())
}

fn add_fleet(portfolio: &mut Portfolio, at: usize, name: &str, members: Vec<PortfolioMember>) {
    let name = free_name(name, portfolio.fleets.iter().map(|own| own.name.as_str()));
    let at = at.min(portfolio.fleets.len());
    portfolio.fleets.insert(at, PortfolioFleet { name, members });
}

fn candidate(portfolio: &mut Portfolio, name: &str, way: Way, place: BesideOrInstead) {
    let called = match (place, way) {
        (BesideOrInstead::Instead, Way::Lease) => format!("Lease {name} instead"),
        (BesideOrInstead::Instead, Way::Hire) => format!("Hire {name} instead"),
        (BesideOrInstead::Instead, _) => format!("Replace by {name}"),
        (BesideOrInstead::Beside, Way::Lease) => format!("Lease {name} beside"),
        (BesideOrInstead::Beside, Way::Hire) => format!("Hire {name} by the day"),
        (BesideOrInstead::Beside, _) => format!("Add {name}"),
    };
    let before = match place {
        BesideOrInstead::Beside => kept(portfolio),
        BesideOrInstead::Instead => Vec::new(),
    };
    let members = before.into_iter().chain([aircraft_member(name, way)]).collect();
    add_fleet(portfolio, usize::MAX, &called, members);
}

fn add_aircraft(portfolio: &mut Portfolio, aircraft: &Aircraft) {
    let mut aircraft = aircraft.clone();
    let known = portfolio.aircraft.iter();
    aircraft.name = free_name(&aircraft.name, known.map(|own| own.aircraft.name.as_str()));
    let numbers = portfolio.aircraft.iter().map(|own| own.aircraft.id.0);
    aircraft.id = Id(numbers.max().map_or(1, |most| most.saturating_add(1)));
    let wear = BatteryWear { set_price: 0.0, cycles: USUAL_CYCLES };
    portfolio.aircraft.push(PortfolioAircraft { aircraft, wear, has: Vec::new() });
}

/// Gives another name, everywhere that the present one is used.
fn rename(portfolio: &mut Portfolio, of: Listed, name: &str) {
    let before = of.name(portfolio);
    match of {
        Listed::Job(at) => {
            if let Some(job) = portfolio.jobs.get_mut(at) {
                name.clone_into(&mut job.name);
            }
            for member in portfolio.fleets.iter_mut().flat_map(|fleet| &mut fleet.members) {
                if let PortfolioMember::Subcontractor { prices, .. } = member {
                    prices
                        .iter_mut()
                        .filter(|own| own.job == before)
                        .for_each(|own| name.clone_into(&mut own.job));
                }
            }
            for unsure in &mut portfolio.unsure {
                if let Lever::Count(own) | Lever::Price(own) | Lever::AgainShare(own) = &mut unsure.lever
                    && *own == before
                {
                    name.clone_into(own);
                }
            }
        }
        Listed::Fleet(at) => {
            if let Some(fleet) = portfolio.fleets.get_mut(at) {
                name.clone_into(&mut fleet.name);
            }
        }
        Listed::Member(fleet, at) => {
            let members = portfolio.fleets.get_mut(fleet).map(|fleet| &mut fleet.members);
            if let Some(PortfolioMember::Subcontractor { name: own, .. }) =
                members.and_then(|members| members.get_mut(at))
            {
                name.clone_into(own);
            }
        }
        // its name is that of its data sheet
        Listed::Aircraft(_) => {}
    }
}

fn copy(portfolio: &mut Portfolio, of: Listed) {
    match of {
        Listed::Job(at) => {
            let Some(mut job) = portfolio.jobs.get(at).cloned() else { return };
            job.name = free_name(&job.name, portfolio.jobs.iter().map(|own| own.name.as_str()));
            portfolio.jobs.insert(at + 1, job);
        }
        Listed::Fleet(at) => {
            let Some(mut fleet) = portfolio.fleets.get(at).cloned() else { return };
            fleet.name = free_name(&fleet.name, portfolio.fleets.iter().map(|own| own.name.as_str()));
            portfolio.fleets.insert(at + 1, fleet);
        }
        Listed::Aircraft(_) | Listed::Member(..) => {}
    }
}

/// Takes it out, with all that names it.
fn remove(portfolio: &mut Portfolio, of: Listed) {
    let name = of.name(portfolio);
    match of {
        Listed::Job(at) if at < portfolio.jobs.len() => {
            portfolio.jobs.remove(at);
            for member in portfolio.fleets.iter_mut().flat_map(|fleet| &mut fleet.members) {
                if let PortfolioMember::Subcontractor { prices, .. } = member {
                    prices.retain(|own| own.job != name);
                }
            }
            portfolio.unsure.retain(|own| !names_job(&own.lever, &name));
        }
        Listed::Aircraft(at) if at < portfolio.aircraft.len() => {
            portfolio.aircraft.remove(at);
            for fleet in &mut portfolio.fleets {
                let own = |member: &PortfolioMember| matches!(member, PortfolioMember::Aircraft { name: own, .. } if *own == name);
                fleet.members.retain(|member| !own(member));
            }
            portfolio.unsure.retain(|own| !names_aircraft(&own.lever, &name));
        }
        Listed::Fleet(at) if at < portfolio.fleets.len() => drop(portfolio.fleets.remove(at)),
        Listed::Member(fleet, at) => {
            if let Some(fleet) = portfolio.fleets.get_mut(fleet).filter(|fleet| at < fleet.members.len()) {
                fleet.members.remove(at);
            }
        }
        Listed::Job(_) | Listed::Aircraft(_) | Listed::Fleet(_) => {}
    }
}

fn names_job(lever: &Lever, name: &str) -> bool {
    matches!(lever, Lever::Count(own) | Lever::Price(own) | Lever::AgainShare(own) if own == name)
}

fn names_aircraft(lever: &Lever, name: &str) -> bool {
    matches!(lever, Lever::AircraftPrice(own) | Lever::HireDay(own) | Lever::Resale(own) if own == name)
}

/// Lets two neighbours change places.
fn swap(portfolio: &mut Portfolio, of: Listed, to: fn(usize) -> Option<usize>) {
    fn exchange<T>(list: &mut [T], at: usize, other: Option<usize>) {
        if let Some(other) = other.filter(|other| (*other).max(at) < list.len()) {
            list.swap(at, other);
        }
    }
    match of {
        Listed::Job(at) => exchange(&mut portfolio.jobs, at, to(at)),
        Listed::Aircraft(at) => exchange(&mut portfolio.aircraft, at, to(at)),
        Listed::Fleet(at) => exchange(&mut portfolio.fleets, at, to(at)),
        Listed::Member(fleet, at) => {
            if let Some(fleet) = portfolio.fleets.get_mut(fleet) {
                exchange(&mut fleet.members, at, to(at));
            }
        }
    }
}

/// Ranges of what is seldom sure and has none yet: numbers of jobs by a quarter, prices of jobs by a tenth, time on site.
fn usual_ranges(portfolio: &mut Portfolio) {
    let mut ranges = Vec::new();
    for job in &portfolio.jobs {
        ranges.push((Lever::Count(job.name.clone()), 0.75 * job.count, 1.25 * job.count));
        ranges.push((Lever::Price(job.name.clone()), 0.9 * job.money.price, 1.1 * job.money.price));
    }
    ranges.push((Lever::SiteTime, 0.9, 1.3));
    for (lever, p10, p90) in ranges {
        if portfolio.unsure.iter().all(|own| own.lever != lever) {
            portfolio.unsure.push(Unsure { lever, p10, p90 });
        }
    }
}

/// A portfolio in which nothing is listed: firm and interest as they often are (common practice, no source), wages and rates at
/// nothing until they are entered.
pub fn empty_portfolio(own: &Job) -> Portfolio {
    use obliquity_planning::money::{Firm, FreedHours, JobSettings};
    let currency = if own.currency.trim().is_empty() { "units" } else { own.currency.trim() };
    Portfolio {
        name: "New purchase case".to_owned(),
        note: String::new(),
        firm: Firm {
            currency: currency.to_owned(),
            crew: own.crew,
            crew_wage_per_h: own.crew_wage_per_h,
            attended_wage_per_h: own.attended_wage_per_h,
            machine_per_h: own.machine_per_h,
            road_per_km: own.road_per_km,
            flying_days: 200.0,
            weather_share: 0.6,
            hours_a_day: 8.0,
            interest: 0.05,
            freed: FreedHours::NotPaid,
        },
        study_years: 4,
        settings: JobSettings::EachAtItsBest,
        jobs: Vec::new(),
        aircraft: Vec::new(),
        fleets: Vec::new(),
        unsure: Vec::new(),
    }
}
