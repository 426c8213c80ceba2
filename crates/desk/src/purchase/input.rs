//! Every number of a portfolio that can be edited: its names, its range, and its place.

use crate::form::Kind;
use obliquity_planning::Unit;
use obliquity_planning::limits::{self, Range};
use obliquity_planning::money::{Holding, Lever, Portfolio, PortfolioMember};

/// A number of a kind of job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobPart {
    /// Jobs a year.
    Count,
    /// What the client pays.
    Price,
    /// Hours on the road.
    RoadHours,
    /// Kilometres on the road.
    RoadKm,
    /// Control survey.
    ControlSurvey,
    /// Hours at the workstation.
    Attended,
    /// Share of visits that are made again.
    Again,
    /// Signature of a licensed practice.
    SignOff,
}

/// A number that holds for every job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FirmPart {
    /// People on site.
    Crew,
    /// What an hour of one of them costs.
    CrewWage,
    /// What an hour at the workstation costs.
    AttendedWage,
    /// What an hour of the workstation costs.
    MachineHour,
    /// What a kilometre costs.
    RoadPerKm,
    /// Days a year on which somebody could fly.
    FlyingDays,
    /// Share of them that the weather leaves.
    WeatherShare,
    /// Hours of such a day.
    HoursADay,
    /// Interest a year.
    Interest,
    /// Share of freed days that is sold.
    SoldShare,
    /// What such a day leaves.
    DayValue,
}

/// A number of how an aircraft is had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoldingPart {
    /// What it costs, or would fetch today.
    Price,
    /// What is paid once.
    OneOff,
    /// What it fetches in the end.
    Resale,
    /// Years until then.
    Years,
    /// Rent a year.
    Rent,
    /// Rent a day.
    HireDay,
    /// Insurance, upkeep, licences.
    Running,
    /// Losses a year.
    Losses,
    /// What a loss costs after insurance.
    Deductible,
}

/// A number of an aircraft's batteries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WearPart {
    /// What a set costs.
    SetPrice,
    /// Full cycles that it lasts.
    Cycles,
}

/// A number of a portfolio that can be edited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PortfolioInput {
    /// Of a kind of job.
    Job(usize, JobPart),
    /// Of the firm.
    Firm(FirmPart),
    /// How an aircraft of a fleet is had. It is the same in all fleets that have it so.
    Holding {
        /// Place of the fleet.
        fleet: usize,
        /// Place within it.
        member: usize,
        /// Which number.
        part: HoldingPart,
    },
    /// Of an aircraft's batteries.
    Wear(usize, WearPart),
    /// What somebody is paid for a job.
    BoughtIn {
        /// Place of the fleet.
        fleet: usize,
        /// Place within it.
        member: usize,
        /// Place of the price.
        price: usize,
    },
    /// The 10th percentile of an unsure number.
    Low(usize),
    /// Its 90th percentile.
    High(usize),
}

/// How a number is named and held.
#[derive(Debug, Clone, Copy)]
pub struct InputWords {
    /// Beside it, under a heading that says what it is of.
    pub name: &'static str,
    /// What to know of it.
    pub hint: &'static str,
    /// How it is shown, and its range.
    pub kind: Kind,
}

const fn words(
    name: &'static str,
    hint: &'static str,
    (unit, decimals, range): (Unit, usize, Range),
) -> InputWords {
    InputWords { name, hint, kind: Kind { unit, decimals, range } }
}

const AMOUNT: (Unit, usize, Range) = (Unit::Coefficient, 2, limits::AMOUNT);

impl JobPart {
    /// All, as they are listed.
    pub const ALL: [JobPart; 8] = [
        JobPart::Count,
        JobPart::Price,
        JobPart::RoadHours,
        JobPart::RoadKm,
        JobPart::ControlSurvey,
        JobPart::Attended,
        JobPart::Again,
        JobPart::SignOff,
    ];

    fn words(self) -> InputWords {
        match self {
            JobPart::Count => {
                words("Jobs a year", "How many come in a year", (Unit::Coefficient, 1, limits::JOBS_A_YEAR))
            }
            JobPart::Price => words("Price of a job", "What the client pays", AMOUNT),
            JobPart::RoadHours => {
                words("On the road", "There and back, each visit", (Unit::Hours, 2, limits::ROAD_H))
            }
            JobPart::RoadKm => words(
                "On the road, km",
                "There and back, each visit",
                (Unit::Coefficient, 1, limits::ROAD_KM),
            ),
            JobPart::ControlSurvey => {
                words("Control survey", "Measuring control points, the crew's time left out", AMOUNT)
            }
            JobPart::Attended => words(
                "At workstation",
                "Hours of somebody at the workstation, in place of those that processing asks for",
                (Unit::Hours, 2, limits::ATTENDED_H),
            ),
            JobPart::Again => words(
                "Visits made again",
                "Share of visits after which the site must be visited again",
                (Unit::Share, 1, limits::AGAIN_SHARE),
            ),
            JobPart::SignOff => words("Sign-off", "A licensed practice's signature", AMOUNT),
        }
    }
}

impl FirmPart {
    /// All but what comes with freed hours.
    pub const ALL: [FirmPart; 9] = [
        FirmPart::FlyingDays,
        FirmPart::WeatherShare,
        FirmPart::HoursADay,
        FirmPart::Interest,
        FirmPart::Crew,
        FirmPart::CrewWage,
        FirmPart::AttendedWage,
        FirmPart::MachineHour,
        FirmPart::RoadPerKm,
    ];

    /// What comes with freed hours that are sold as days.
    pub const SOLD: [FirmPart; 2] = [FirmPart::SoldShare, FirmPart::DayValue];

    fn words(self) -> InputWords {
        match self {
            FirmPart::Crew => {
                words("People on site", "On site and on the road", (Unit::Coefficient, 1, limits::CREW))
            }
            FirmPart::CrewWage => words("Wage of one, an hour", "On site and on the road", AMOUNT),
            FirmPart::AttendedWage => {
                words("Wage at workstation", "An hour of somebody at the workstation", AMOUNT)
            }
            FirmPart::MachineHour => words("Workstation, an hour", "While it works by itself", AMOUNT),
            FirmPart::RoadPerKm => words("A kilometre", "On the road, wages left out", AMOUNT),
            FirmPart::FlyingDays => words(
                "Flying days a year",
                "Days on which somebody could fly, the weather left out",
                (Unit::Coefficient, 0, limits::DAYS_A_YEAR),
            ),
            FirmPart::WeatherShare => words(
                "Weather leaves",
                "Share of those days that the weather leaves",
                (Unit::Share, 0, limits::WEATHER_SHARE),
            ),
            FirmPart::HoursADay => words(
                "Hours a day",
                "Road included; a visit that fits is made on the day it is begun",
                (Unit::Hours, 1, limits::HOURS_A_DAY),
            ),
            FirmPart::Interest => words("Interest a year", "Nominal", (Unit::Share, 2, limits::INTEREST)),
            FirmPart::SoldShare => words(
                "Share sold",
                "Share of the whole days freed that finds a buyer",
                (Unit::Share, 0, limits::SOLD_SHARE),
            ),
            FirmPart::DayValue => words("A sold day leaves", "After what it costs itself", AMOUNT),
        }
    }
}

impl HoldingPart {
    /// All, as they are listed.
    pub const ALL: [HoldingPart; 9] = [
        HoldingPart::Price,
        HoldingPart::Rent,
        HoldingPart::HireDay,
        HoldingPart::OneOff,
        HoldingPart::Resale,
        HoldingPart::Years,
        HoldingPart::Running,
        HoldingPart::Losses,
        HoldingPart::Deductible,
    ];

    fn words(self, holding: &Holding) -> InputWords {
        match self {
            HoldingPart::Price if matches!(holding, Holding::Kept { .. }) => {
                words("Would fetch today", "Keeping it costs that; what was paid for it is spent", AMOUNT)
            }
            HoldingPart::Price => words("Price", "Without battery sets, whose wear every job pays", AMOUNT),
            HoldingPart::OneOff => words("Paid once", "Training, permits, fittings", AMOUNT),
            HoldingPart::Resale => words("Resale at the end", "What it fetches when it is given up", AMOUNT),
            HoldingPart::Years => {
                words("Years", "Until it is given up; whole years", (Unit::Count, 0, limits::YEARS))
            }
            HoldingPart::Rent => words("Rent a year", "", AMOUNT),
            HoldingPart::HireDay => words("Rent a day", "For the days of a job", AMOUNT),
            HoldingPart::Running => words("Running a year", "Insurance, upkeep, licences", AMOUNT),
            HoldingPart::Losses => words(
                "Losses a year",
                "As a share of one: 5 % is one in twenty years",
                (Unit::Share, 1, limits::LOSSES_A_YEAR),
            ),
            HoldingPart::Deductible => words("A loss costs", "After insurance", AMOUNT),
        }
    }

    fn place(self, holding: &mut Holding) -> Option<&mut f64> {
        use HoldingPart::{Deductible, HireDay, Losses, OneOff, Price, Rent, Resale, Running, Years};
        match (self, holding) {
            (Price, Holding::Kept { resale_today: at, .. } | Holding::Bought { price: at, .. })
            | (Resale, Holding::Kept { resale: at, .. } | Holding::Bought { resale: at, .. })
            | (OneOff, Holding::Bought { one_off: at, .. } | Holding::Leased { one_off: at, .. })
            | (Rent, Holding::Leased { rent: at, .. })
            | (HireDay, Holding::Hired { a_day: at })
            | (
                Years,
                Holding::Kept { years: at, .. }
                | Holding::Bought { years: at, .. }
                | Holding::Leased { years: at, .. },
            ) => Some(at),
            (
                Running | Losses | Deductible,
                Holding::Kept { running, .. }
                | Holding::Bought { running, .. }
                | Holding::Leased { running, .. },
            ) => Some(match self {
                Running => &mut running.a_year,
                Losses => &mut running.losses,
                _ => &mut running.deductible,
            }),
            _ => None,
        }
    }
}

impl WearPart {
    /// Both, as they are listed.
    pub const ALL: [WearPart; 2] = [WearPart::SetPrice, WearPart::Cycles];

    fn words(self) -> InputWords {
        match self {
            WearPart::SetPrice => words("Battery set", "What one set costs", AMOUNT),
            WearPart::Cycles => words(
                "Cycles that it lasts",
                "Full cycles until a set is replaced",
                (Unit::Count, 0, limits::BATTERY_CYCLES),
            ),
        }
    }
}

/// Any number; what it may be follows from what it is of.
const ANY: Range = limits::AMOUNT;

fn lever_kind(lever: &Lever) -> Kind {
    let (unit, decimals, range) = match lever {
        Lever::Count(_) => (Unit::Coefficient, 1, limits::JOBS_A_YEAR),
        Lever::AgainShare(_) => (Unit::Share, 1, limits::AGAIN_SHARE),
        Lever::Interest => (Unit::Share, 2, limits::INTEREST),
        Lever::SoldShare => (Unit::Share, 0, limits::SOLD_SHARE),
        Lever::FlyingDays => (Unit::Coefficient, 0, limits::DAYS_A_YEAR),
        Lever::HoursADay => (Unit::Hours, 1, limits::HOURS_A_DAY),
        _ => (Unit::Coefficient, 2, ANY),
    };
    Kind { unit, decimals, range }
}

impl PortfolioInput {
    /// Its place; nothing where the portfolio has no such number.
    pub fn place(self, portfolio: &mut Portfolio) -> Option<&mut f64> {
        match self {
            PortfolioInput::Job(job, part) => {
                let job = portfolio.jobs.get_mut(job)?;
                let money = &mut job.money;
                Some(match part {
                    JobPart::Count => &mut job.count,
                    JobPart::Price => &mut money.price,
                    JobPart::RoadHours => &mut money.road_h,
                    JobPart::RoadKm => &mut money.road_km,
                    JobPart::ControlSurvey => &mut money.control_survey,
                    JobPart::Attended => money.attended_h.as_mut()?,
                    JobPart::Again => &mut money.again_share,
                    JobPart::SignOff => &mut money.sign_off,
                })
            }
            PortfolioInput::Firm(part) => firm_place(portfolio, part),
            PortfolioInput::Wear(at, part) => {
                let wear = &mut portfolio.aircraft.get_mut(at)?.wear;
                Some(match part {
                    WearPart::SetPrice => &mut wear.set_price,
                    WearPart::Cycles => &mut wear.cycles,
                })
            }
            PortfolioInput::Holding { fleet, member, part } => {
                match portfolio.fleets.get_mut(fleet)?.members.get_mut(member)? {
                    PortfolioMember::Aircraft { holding, .. } => part.place(holding),
                    PortfolioMember::Subcontractor { .. } => None,
                }
            }
            PortfolioInput::BoughtIn { fleet, member, price } => {
                match portfolio.fleets.get_mut(fleet)?.members.get_mut(member)? {
                    PortfolioMember::Subcontractor { prices, .. } => Some(&mut prices.get_mut(price)?.price),
                    PortfolioMember::Aircraft { .. } => None,
                }
            }
            PortfolioInput::Low(at) => Some(&mut portfolio.unsure.get_mut(at)?.p10),
            PortfolioInput::High(at) => Some(&mut portfolio.unsure.get_mut(at)?.p90),
        }
    }

    /// Sets it; of an aircraft that several fleets have alike, in all of them.
    pub fn set(self, portfolio: &mut Portfolio, value: f64) {
        if let PortfolioInput::Holding { fleet, member, part } = self {
            let own = portfolio.fleets.get(fleet).and_then(|fleet| fleet.members.get(member)).cloned();
            let Some(PortfolioMember::Aircraft { name: own, holding: like }) = own else { return };
            let like = std::mem::discriminant(&like);
            for other in portfolio.fleets.iter_mut().flat_map(|fleet| &mut fleet.members) {
                if let PortfolioMember::Aircraft { name, holding } = other
                    && *name == own
                    && std::mem::discriminant(holding) == like
                    && let Some(place) = part.place(holding)
                {
                    *place = value;
                }
            }
        } else if let Some(place) = self.place(portfolio) {
            *place = value;
        }
    }

    /// How it is named and held; nothing where the portfolio has no such number.
    pub fn words(self, portfolio: &Portfolio) -> Option<InputWords> {
        Some(match self {
            PortfolioInput::Job(_, part) => part.words(),
            PortfolioInput::Firm(part) => part.words(),
            PortfolioInput::Wear(_, part) => part.words(),
            PortfolioInput::Holding { fleet, member, part } => {
                match portfolio.fleets.get(fleet)?.members.get(member)? {
                    PortfolioMember::Aircraft { holding, .. } => part.words(holding),
                    PortfolioMember::Subcontractor { .. } => return None,
                }
            }
            PortfolioInput::BoughtIn { .. } => {
                words("Paid for a job", "What somebody else takes for it", AMOUNT)
            }
            PortfolioInput::Low(at) | PortfolioInput::High(at) => {
                let kind = lever_kind(&portfolio.unsure.get(at)?.lever);
                let (name, hint) = if matches!(self, PortfolioInput::Low(_)) {
                    ("10 %", "One time in ten it is below this")
                } else {
                    ("90 %", "One time in ten it is above this")
                };
                InputWords { name, hint, kind }
            }
        })
    }

    /// What it is called where nothing is said beside it: "Price of Treecreeper".
    pub fn whole_name(self, portfolio: &Portfolio) -> String {
        let name = self.words(portfolio).map_or("", |words| words.name);
        match self {
            PortfolioInput::Job(job, part) => {
                let of = portfolio.jobs.get(job).map_or("", |job| &job.name);
                match part {
                    JobPart::Count => format!("{of}, jobs a year"),
                    JobPart::Price => format!("Price of {of}"),
                    _ => format!("{name} of {of}"),
                }
            }
            PortfolioInput::Firm(_) => name.to_owned(),
            PortfolioInput::Wear(at, _) => {
                let of = portfolio.aircraft.get(at).map_or("", |own| &own.aircraft.name);
                format!("{name} of {of}")
            }
            PortfolioInput::Holding { fleet, member, .. } => {
                match portfolio.fleets.get(fleet).and_then(|fleet| fleet.members.get(member)) {
                    Some(PortfolioMember::Aircraft { name: of, .. }) => format!("{name} of {of}"),
                    _ => name.to_owned(),
                }
            }
            PortfolioInput::BoughtIn { fleet, member, price } => {
                match portfolio.fleets.get(fleet).and_then(|fleet| fleet.members.get(member)) {
                    Some(PortfolioMember::Subcontractor { name, prices }) => {
                        let job = prices.get(price).map_or("", |price| &price.job);
                        format!("{name}, paid for {job}")
                    }
                    _ => name.to_owned(),
                }
            }
            PortfolioInput::Low(at) | PortfolioInput::High(at) => {
                let of = portfolio.unsure.get(at).map(|of| obliquity_exchange::lever_text(&of.lever));
                format!("{name} of {}", of.unwrap_or_default())
            }
        }
    }
}

fn firm_place(portfolio: &mut Portfolio, part: FirmPart) -> Option<&mut f64> {
    use obliquity_planning::money::FreedHours;
    let firm = &mut portfolio.firm;
    Some(match part {
        FirmPart::Crew => &mut firm.crew,
        FirmPart::CrewWage => &mut firm.crew_wage_per_h,
        FirmPart::AttendedWage => &mut firm.attended_wage_per_h,
        FirmPart::MachineHour => &mut firm.machine_per_h,
        FirmPart::RoadPerKm => &mut firm.road_per_km,
        FirmPart::FlyingDays => &mut firm.flying_days,
        FirmPart::WeatherShare => &mut firm.weather_share,
        FirmPart::HoursADay => &mut firm.hours_a_day,
        FirmPart::Interest => &mut firm.interest,
        FirmPart::SoldShare | FirmPart::DayValue => match &mut firm.freed {
            FreedHours::SoldAsDays { share, day_value } => {
                if part == FirmPart::SoldShare {
                    share
                } else {
                    day_value
                }
            }
            FreedHours::NotPaid | FreedHours::Slack => return None,
        },
    })
}
