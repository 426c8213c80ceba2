//! The figure that a step asks for.

use crate::base::Id;
use crate::result::{MEASURES, Measure};
use serde::{Deserialize, Serialize};

/// The figure that a step asks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// Which figure, by its key: `coverage.wall`, `time_on_site_s`.
    pub measure: String,
    /// Of what.
    pub of: AskedOf,
}

/// What a figure is asked of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum AskedOf {
    /// A strategy.
    Strategy(Id),
    /// By how much a strategy's is more than another's.
    Difference {
        /// That one.
        of: Id,
        /// The other.
        less: Id,
    },
    /// How many times another's a strategy's is.
    Ratio {
        /// That one.
        of: Id,
        /// The other.
        over: Id,
    },
}

impl AskedOf {
    /// The strategies whose figures it takes.
    pub fn strategies(self) -> Vec<Id> {
        match self {
            AskedOf::Strategy(id) => vec![id],
            AskedOf::Difference { of, less: other } | AskedOf::Ratio { of, over: other } => vec![of, other],
        }
    }
}

/// The figure of a key; nothing where there is none.
pub fn measure_called(key: &str) -> Option<&'static Measure> {
    MEASURES.iter().find(|row| row.key == key)
}
