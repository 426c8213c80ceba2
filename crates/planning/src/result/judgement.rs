//! A line of the requirement, held against an outcome.

use crate::result::MeasureId;
use crate::scenario::{AccuracyLevel, ViewRules};
use crate::view::Shortage;

/// One line of the requirement, held against an outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum Judgement {
    /// Reached or bettered.
    Met {
        /// Which figure.
        of: MeasureId,
        /// The figure, in the measure's unit.
        value: f64,
        /// What was required.
        required: f64,
    },
    /// Not reached.
    Missed {
        /// Which figure.
        of: MeasureId,
        /// The figure, in the measure's unit.
        value: f64,
        /// What was required.
        required: f64,
        /// Why.
        why: Reason,
    },
    /// Not worked out yet.
    Unknown {
        /// Which figure.
        of: MeasureId,
    },
    /// Asked for, but the site models nothing that it could be judged on: neither met nor missed.
    NotJudged {
        /// Which figure.
        of: MeasureId,
    },
}

/// Why a line is missed, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// What the rest of the area lacks, by these rules.
    Uncovered(Shortage, ViewRules),
    /// All images together cover enough, but they fall into parts that nothing ties, and no part does.
    InParts {
        /// Parts that cover something.
        parts: usize,
        /// Share of the class that all of them cover, 0 to 1.
        together: f64,
    },
    /// Pixels are too large on the surface.
    TooCoarse,
    /// The part of the time that is flight, and in how many sorties.
    TooLong {
        /// Of all sorties, in seconds.
        flight_s: f64,
        /// Take-offs.
        sorties: u64,
    },
    /// Points come out less accurate than was asked at a level.
    TooUncertain {
        /// What the limit is of.
        level: AccuracyLevel,
        /// The limit at that level, in metres.
        asked_m: f64,
    },
    /// Nothing holds the block in the site's frame, so that no point of it is determined: the value is without bound.
    NotHeld,
    /// There are too many.
    TooMany,
    /// No more than these battery sets are on hand.
    TooFewBatteries,
}

impl Judgement {
    /// Which figure it is about.
    pub fn of(&self) -> MeasureId {
        match self {
            Judgement::Met { of, .. }
            | Judgement::Missed { of, .. }
            | Judgement::Unknown { of }
            | Judgement::NotJudged { of } => *of,
        }
    }

    /// How far a missed line is from what was required, as a share of it; 0 for the others.
    ///
    /// # Units
    /// - returns: a share of what was required, ≥ 0
    ///
    /// # References
    /// Derived: a share.
    pub fn lack(&self) -> f64 {
        match self {
            Judgement::Missed { value, required, .. } => ((value - required) / required).abs(),
            Judgement::Met { .. } | Judgement::Unknown { .. } | Judgement::NotJudged { .. } => 0.0,
        }
    }
}
