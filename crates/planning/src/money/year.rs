//! A year of a fleet.

use super::case::FleetCase;
use super::fleet::FleetMember;
use super::job::{JobTerms, Offer, bought_in, job_terms};

/// Who of a fleet does a kind of job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobChoice {
    /// Its place in the fleet.
    pub member: usize,
    /// What a job brings and takes with it.
    pub terms: JobTerms,
}

/// A kind of job in a year of a fleet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobYear {
    /// Who does it; nothing where nobody can.
    pub choice: Option<JobChoice>,
    /// Jobs that are done; fewer than there are where days run out.
    pub done: f64,
}

impl JobYear {
    /// What the jobs that are done leave.
    fn contribution(&self) -> f64 {
        self.choice.map_or(0.0, |choice| self.done * choice.terms.contribution())
    }

    /// Wages of one job.
    fn wages(&self) -> f64 {
        self.choice.map_or(0.0, |choice| choice.terms.wages())
    }

    /// Wages of a kind of job that another fleet saves against this one; 0 where it takes more.
    ///
    /// # Units
    /// - returns: money a year
    ///
    /// # References
    /// Derived: of jobs that both do the difference, of those that the other gives up the whole.
    pub fn wages_saved_by(&self, other: &JobYear) -> f64 {
        let both = self.done.min(other.done);
        let given_up = self.done - both;
        both * (self.wages() - other.wages()).max(0.0) + given_up * self.wages()
    }
}

/// A year of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetYear {
    /// Of each kind of job.
    pub jobs: Vec<JobYear>,
    /// Days that all of it takes.
    pub days: f64,
    /// What the jobs leave together.
    pub contribution: f64,
    /// What the fleet costs to have.
    pub own_cost: f64,
}

impl FleetYear {
    /// What is left.
    ///
    /// # Units
    /// - returns: money a year
    pub fn result(&self) -> f64 {
        self.contribution - self.own_cost
    }
}

impl FleetCase {
    /// Who of a fleet does each kind of job: the one with which it leaves most; the first of equals.
    pub fn choices(&self, fleet: usize) -> Vec<Option<JobChoice>> {
        let members = &self.fleets[fleet].members;
        let best =
            |job: usize| {
                let offers = members.iter().enumerate().filter_map(|(place, member)| {
                    Some(JobChoice { member: place, terms: self.terms(member, job)? })
                });
                offers.reduce(|best, other| {
                    if other.terms.contribution() > best.terms.contribution() { other } else { best }
                })
            };
        (0..self.jobs.len()).map(best).collect()
    }

    /// What a job brings and takes with a member of a fleet; nothing where it cannot do it.
    pub fn terms(&self, member: &FleetMember, job: usize) -> Option<JobTerms> {
        let money = &self.jobs[job].money;
        match &member.offers[job] {
            Offer::Flown(facts) => {
                Some(job_terms(&self.firm, money, facts, &member.wear, member.holding.hire_a_day()))
            }
            Offer::BoughtIn { price } => Some(bought_in(money, *price)),
            Offer::Closed => None,
        }
    }

    /// A year of a fleet with so many jobs of each kind. Where the days do not hold all of them, those are done first that leave
    /// most for each day.
    ///
    /// # Units
    /// - `counts`: jobs a year, in the order of [`FleetCase::jobs`]
    pub fn year(&self, fleet: usize, counts: &[f64]) -> FleetYear {
        self.year_by(fleet, &self.choices(fleet), counts)
    }

    /// [`FleetCase::year`], the choices known.
    pub(super) fn year_by(&self, fleet: usize, choices: &[Option<JobChoice>], counts: &[f64]) -> FleetYear {
        let mut jobs: Vec<JobYear> =
            choices.iter().map(|choice| JobYear { choice: *choice, done: 0.0 }).collect();
        let total_days = self.firm.days();
        let mut left_days = total_days;
        for (job, terms) in by_worth(choices) {
            let fit = if terms.days > 0.0 { (left_days / terms.days).max(0.0) } else { f64::INFINITY };
            jobs[job].done = counts[job].min(fit);
            left_days -= jobs[job].done * terms.days;
        }
        FleetYear {
            days: total_days - left_days,
            contribution: jobs.iter().map(JobYear::contribution).sum(),
            own_cost: self.fleets[fleet].own_cost(self.firm.interest),
            jobs,
        }
    }
}

/// The kinds of job that can be done, what leaves most for each day first, as they are listed where it is equal.
fn by_worth(choices: &[Option<JobChoice>]) -> Vec<(usize, JobTerms)> {
    let mut jobs: Vec<(usize, JobTerms)> =
        choices.iter().enumerate().filter_map(|(job, choice)| Some((job, (*choice)?.terms))).collect();
    jobs.sort_by(|(_, a), (_, b)| b.contribution_a_day().total_cmp(&a.contribution_a_day()));
    jobs
}
