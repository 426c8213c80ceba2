//! Fleets that could do the same jobs.

use super::fleet::Fleet;
use super::job::{Firm, JobType};

/// Fleets that could do the same jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetCase {
    /// Whose jobs.
    pub firm: Firm,
    /// The jobs of a year.
    pub jobs: Vec<JobType>,
    /// The fleets; the first is kept if nothing changes, and the others are held against it.
    pub fleets: Vec<Fleet>,
    /// Years over which flows are looked at.
    pub study_years: u32,
}

impl FleetCase {
    /// Jobs a year as they stand.
    ///
    /// # Units
    /// - returns: counts, in the order of [`FleetCase::jobs`]
    pub fn counts(&self) -> Vec<f64> {
        self.jobs.iter().map(|job| job.count).collect()
    }
}
