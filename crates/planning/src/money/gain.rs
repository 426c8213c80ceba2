//! What one fleet leaves more than another.

use super::case::FleetCase;
use super::finance::{capital_recovery, net_present_value, payback_years};
use super::job::{FreedHours, WHOLE};
use super::year::{FleetYear, JobChoice};

/// What a fleet leaves more in a year than the one that is kept, part by part. Only what the change causes is in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// What the jobs leave more, all wages counted.
    pub contribution: f64,
    /// Wages that it saves and that are paid anyway; taken off.
    pub paid_anyway: f64,
    /// Whole days that it frees.
    pub freed_days: f64,
    /// What those of them bring that are sold.
    pub sold: f64,
    /// What it costs more to have; taken off.
    pub own_cost: f64,
}

impl Gain {
    /// All of it.
    ///
    /// # Units
    /// - returns: money a year
    pub fn total(&self) -> f64 {
        self.contribution - self.paid_anyway + self.sold - self.own_cost
    }
}

/// A fleet held against the kept one, what does not depend on the number of jobs worked out.
pub(super) struct Pair<'a> {
    pub(super) case: &'a FleetCase,
    fleet: usize,
    pub(super) kept: Vec<Option<JobChoice>>,
    pub(super) other: Vec<Option<JobChoice>>,
}

impl Pair<'_> {
    pub(super) fn gain(&self, counts: &[f64]) -> Gain {
        let kept = self.case.year_by(0, &self.kept, counts);
        let other = self.case.year_by(self.fleet, &self.other, counts);
        self.case.gain_between(&kept, &other)
    }

    pub(super) fn pays(&self, counts: &[f64]) -> bool {
        self.gain(counts).total() >= 0.0
    }
}

impl FleetCase {
    pub(super) fn against_kept(&self, fleet: usize) -> Pair<'_> {
        Pair { case: self, fleet, kept: self.choices(0), other: self.choices(fleet) }
    }

    /// What a fleet leaves more in a year than the kept one.
    ///
    /// # Units
    /// - `counts`: jobs a year, in the order of [`FleetCase::jobs`]
    ///
    /// # References
    /// Common practice of investment appraisal, no source: incremental flows only; what is spent is sunk.
    pub fn gain(&self, fleet: usize, counts: &[f64]) -> Gain {
        self.against_kept(fleet).gain(counts)
    }

    fn gain_between(&self, kept: &FleetYear, other: &FleetYear) -> Gain {
        let freed_days = (kept.days - other.days + WHOLE).floor().max(0.0);
        let saved: f64 =
            kept.jobs.iter().zip(&other.jobs).map(|(kept, other)| kept.wages_saved_by(other)).sum();
        let (paid_anyway, sold) = match self.firm.freed {
            FreedHours::NotPaid => (0.0, 0.0),
            FreedHours::SoldAsDays { share, day_value } => (saved, share * freed_days * day_value),
            FreedHours::Slack => (saved, 0.0),
        };
        Gain {
            contribution: other.contribution - kept.contribution,
            paid_anyway,
            freed_days,
            sold,
            own_cost: other.own_cost - kept.own_cost,
        }
    }

    /// What a fleet brings more than the kept one in each year of the study: today first, then the ends of years.
    ///
    /// # Units
    /// - returns: money, [`FleetCase::study_years`] and one more
    ///
    /// # References
    /// Common practice of investment appraisal, no source: flows at the ends of years, nominal, before tax; what wears out
    /// within the study is had again on the same terms, what is in the middle of its life at its end is worth what lies on a
    /// straight line.
    pub fn flows(&self, fleet: usize) -> Vec<f64> {
        let gain = self.gain(fleet, &self.counts());
        let yearly = gain.total() + gain.own_cost;
        let mut flows = vec![0.0; self.study_years as usize + 1];
        flows[1..].iter_mut().for_each(|flow| *flow += yearly);
        for (of, sign) in [(fleet, -1.0), (0, 1.0)] {
            for member in &self.fleets[of].members {
                for (flow, outlay) in flows.iter_mut().zip(member.holding.outlays(self.study_years)) {
                    *flow += sign * outlay;
                }
            }
        }
        flows
    }

    /// Those flows as one sum of today.
    ///
    /// # Units
    /// - returns: money
    pub fn net_present_value(&self, fleet: usize) -> f64 {
        net_present_value(self.firm.interest, &self.flows(fleet))
    }

    /// The same in equal yearly sums: what a year is better by over the study.
    ///
    /// # Units
    /// - returns: money a year
    pub fn equal_yearly(&self, fleet: usize) -> f64 {
        self.net_present_value(fleet) * capital_recovery(self.firm.interest, f64::from(self.study_years))
    }

    /// Years until a fleet has paid back what it takes more than the kept one, without and with interest; nothing where it does
    /// not within the study.
    ///
    /// # Units
    /// - returns: years
    pub fn payback_years(&self, fleet: usize) -> (Option<f64>, Option<f64>) {
        let flows = self.flows(fleet);
        (payback_years(0.0, &flows), payback_years(self.firm.interest, &flows))
    }
}
