use crate::MeasureId;

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
        /// The figure, in the measure's unit; none where nothing of the class is seen.
        value: Option<f64>,
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
}

impl Judgement {
    /// The sentence of a missed line.
    pub fn shortfall(&self) -> Option<&str> {
        match self {
            Judgement::Missed { why, .. } => Some(why),
            Judgement::Met { .. } | Judgement::Unknown { .. } => None,
        }
    }
}
