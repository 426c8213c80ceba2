//! What a job leaves, what an aircraft costs to own, and whether another fleet pays: arithmetic on facts that were
//! worked out before. None of it is financial advice.

mod break_even;
mod case;
mod finance;
mod fleet;
mod gain;
mod job;
mod own_job;
mod portfolio;
mod sure;
mod year;

pub use break_even::{BreakEven, BreakEvenMix, Foremost, MOST_JOBS, Turn};
pub use case::FleetCase;
pub use finance::{capital_recovery, net_present_value, payback_years, sinking_fund};
pub use fleet::{Fleet, FleetMember, Holding, OwnCost, OwnTerms, Running};
pub use gain::Gain;
pub use job::{
    BatteryWear, Firm, FreedHours, JobFacts, JobMoney, JobRates, JobTerms, JobType, Offer, flown_terms,
    hired_days, job_terms,
};
pub use own_job::JobFigures;
pub use portfolio::{
    JobPrice, JobSettings, Portfolio, PortfolioAircraft, PortfolioFleet, PortfolioJob, PortfolioMember,
};
pub use sure::{GainSpread, Lever, Swing, SwitchingValue, Unsure};
pub use year::{FleetYear, JobChoice, JobYear};
