//! Why a pass is not laid out.

use crate::base::wording::thousands;
use thiserror::Error;

/// Most exposures that a strategy may plan, skipped ones included.
pub const MOST_EXPOSURES: u32 = 100_000;

/// Most strips, rings and rows that a strategy may have.
pub const MOST_STRIPS: u32 = 5_000;

/// A pass that is not laid out, and why: it has no figure at all.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    /// This aircraft cannot fly it here as it is set; the reason for people.
    #[error("{0}")]
    CannotBeFlown(String),
    /// Its strategy would take more exposures than [`MOST_EXPOSURES`].
    #[error("{} exposures; at most {}: {mend}", thousands(*count), thousands(f64::from(MOST_EXPOSURES)))]
    TooManyExposures {
        /// How many it would be, as far as they are counted.
        count: f64,
        /// What makes them fewer.
        mend: &'static str,
    },
    /// Its strategy would have more strips, rings and rows than [`MOST_STRIPS`].
    #[error("{} strips; at most {}: {mend}", thousands(*count), thousands(f64::from(MOST_STRIPS)))]
    TooManyStrips {
        /// How many it would be, as far as they are counted.
        count: f64,
        /// What makes them fewer.
        mend: &'static str,
    },
    /// Keep-outs, structures or rising ground stand in the way and cannot be flown round or over.
    #[error(
        "no way round {what} at the clearance set; lower the clearance, open a gap, or change where the pass runs"
    )]
    NoWayRound {
        /// What stands in the way, by name where it can be told.
        what: String,
    },
}

impl PlanError {
    /// It cannot be flown as it is set, for a reason that people can read.
    pub(super) fn because(reason: impl Into<String>) -> Self {
        PlanError::CannotBeFlown(reason.into())
    }

    /// Whether it is the strategy as a whole that is refused, and not one of its passes.
    pub(crate) fn is_of_strategy(&self) -> bool {
        matches!(self, PlanError::TooManyExposures { .. } | PlanError::TooManyStrips { .. })
    }
}

/// How large a plan would be: counted before anything is laid out, by arithmetic alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Count {
    /// Exposures, skipped ones included.
    pub(crate) exposures: f64,
    /// Strips, rings or rows.
    pub(crate) strips: f64,
    /// What makes them fewer.
    pub(crate) mend: &'static str,
}

/// Why a pass has no exposures at all.
pub(super) const SHOWS_NOTHING: &str =
    "no exposure shows anything of the site; lower its tilt or widen its margin";

/// What makes the exposures of a pass fewer that flies over its subject.
pub(super) const FLY_HIGHER: &str = "fly higher or lower the overlap";

/// What makes the exposures of a pass fewer that keeps a stand-off.
pub(super) const KEEP_OFF: &str = "keep farther off or lower the overlap";

impl Count {
    /// Nothing at all.
    pub(crate) const NONE: Count = Count { exposures: 0.0, strips: 0.0, mend: FLY_HIGHER };

    /// The count of both; the larger one says what makes it less.
    pub(crate) fn and(self, other: Count) -> Count {
        let mend = if other.exposures > self.exposures { other.mend } else { self.mend };
        Count { exposures: self.exposures + other.exposures, strips: self.strips + other.strips, mend }
    }

    /// The count itself where it is within what a strategy may have.
    ///
    /// # Errors
    /// [`PlanError::TooManyStrips`] and [`PlanError::TooManyExposures`]; a count that is no number is beyond both.
    pub(crate) fn bounded(self) -> Result<Count, PlanError> {
        let Count { exposures, strips, mend } = self;
        let within = |count: f64, most: u32| count <= f64::from(most);
        if !within(exposures, MOST_EXPOSURES) {
            return Err(PlanError::TooManyExposures { count: exposures, mend });
        }
        if !within(strips, MOST_STRIPS) {
            return Err(PlanError::TooManyStrips { count: strips, mend });
        }
        Ok(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_told_with_their_number() {
        let count = Count { exposures: 133_204.0, strips: 40.0, mend: FLY_HIGHER };
        let told = count.bounded().expect_err("too many").to_string();
        assert_eq!(told, "133\u{a0}204 exposures; at most 100\u{a0}000: fly higher or lower the overlap");
        let count = Count { exposures: 90_000.0, strips: 5_001.0, mend: KEEP_OFF };
        let told = count.bounded().expect_err("too many").to_string();
        assert_eq!(told, "5\u{a0}001 strips; at most 5\u{a0}000: keep farther off or lower the overlap");
        assert!(Count { exposures: f64::NAN, ..Count::NONE }.bounded().is_err());
        let half = Count { exposures: 60_000.0, strips: 10.0, mend: KEEP_OFF };
        assert!(half.bounded().is_ok() && half.and(half).bounded().is_err());
    }
}
