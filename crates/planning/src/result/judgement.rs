//! A line of the requirement, held against an outcome.

use crate::result::MeasureId;

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
        /// The whole sentence: the figure, the requirement and why.
        why: String,
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

    /// The sentence of a missed line.
    pub fn shortfall(&self) -> Option<&str> {
        match self {
            Judgement::Missed { why, .. } => Some(why),
            Judgement::Met { .. } | Judgement::Unknown { .. } | Judgement::NotJudged { .. } => None,
        }
    }

    /// How far a missed line is from what was required, as a share of it; 0 for the others.
    pub fn lack(&self) -> f64 {
        match self {
            Judgement::Missed { value, required, .. } => ((value - required) / required).abs(),
            Judgement::Met { .. } | Judgement::Unknown { .. } | Judgement::NotJudged { .. } => 0.0,
        }
    }
}
