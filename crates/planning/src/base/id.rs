use serde::{Deserialize, Serialize};

/// Identifies an aircraft, a strategy, a pass or a structure within one scenario.
///
/// It survives renaming, reordering and undo; the name is for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default)]
#[serde(transparent)]
pub struct Id(pub u32);

impl Id {
    /// The smallest identifier above all of `taken`.
    pub fn next_after(taken: impl IntoIterator<Item = Id>) -> Id {
        Id(taken.into_iter().map(|id| id.0).max().map_or(1, |top| top.saturating_add(1)))
    }
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}
