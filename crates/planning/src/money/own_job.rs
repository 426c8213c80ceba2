//! What the scenario's own job leaves with one strategy.

use super::job::{BatteryWear, JobFacts, JobMoney, JobRates, JobTerms, flown_terms};
use crate::base::exact::HECTARE_M2;
use crate::scenario::Job;

/// What the scenario's own job leaves with one strategy, and what that was worked out from.
#[derive(Debug, Clone, PartialEq)]
pub struct JobFigures {
    /// Part by part.
    pub terms: JobTerms,
    /// What it brings and takes, as the scenario has it.
    pub job: Job,
    /// What was worked out for the strategy.
    pub facts: JobFacts,
    /// Control points that are measured.
    pub control_points: u32,
    /// The land inside the boundary.
    pub area_m2: f64,
}

impl JobFigures {
    /// What is left of the price; nothing where none is given.
    ///
    /// # Units
    /// - `control_points`: a count; `area_m2`: square metres, > 0
    ///
    /// # References
    /// As [`super::job_terms`], of which it is a part.
    pub fn new(job: &Job, facts: JobFacts, control_points: u32, area_m2: f64) -> Option<Self> {
        let money = JobMoney {
            price: job.price?,
            road_h: job.road_h,
            road_km: job.road_km,
            control_survey: f64::from(control_points) * job.control_point_price,
            attended_h: None,
            again_share: job.again_share,
            sign_off: job.sign_off,
        };
        let rates = JobRates {
            crew: job.crew,
            crew_wage_per_h: job.crew_wage_per_h,
            attended_wage_per_h: job.attended_wage_per_h,
            machine_per_h: job.machine_per_h,
            road_per_km: job.road_per_km,
        };
        let wear = BatteryWear { set_price: job.battery_set_price, cycles: job.battery_cycles };
        let terms = flown_terms(&rates, &money, &facts, &wear);
        Some(JobFigures { terms, job: job.clone(), facts, control_points, area_m2 })
    }

    /// What it leaves for each hectare inside the boundary.
    ///
    /// # Units
    /// - returns: money a hectare
    ///
    /// # References
    /// Derived: the contribution over the area.
    pub fn contribution_per_ha(&self) -> f64 {
        self.terms.contribution() / (self.area_m2 / HECTARE_M2)
    }
}
