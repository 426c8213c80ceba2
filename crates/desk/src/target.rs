//! What of a site can be drawn, by what tells it apart from everything else on it.

use obliquity_planning::Id;

/// Something on the plan that has an outline, a line or a place of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// The edge of what is to be captured.
    Boundary,
    /// A building, a tank or a deck.
    Structure(Id),
    /// What is flown round, by its place in the list.
    KeepOut(usize),
    /// The line of a corridor pass.
    Line {
        /// Whose.
        strategy: Id,
        /// Of which pass.
        pass: Id,
    },
    /// Where the aircraft takes off and lands.
    TakeOff,
    /// A further place to take off at.
    Further {
        /// Whose.
        strategy: Id,
        /// Its place in the strategy's list.
        at: usize,
    },
    /// A place that the crew measures, by its place in the list.
    ControlPoint(usize),
}

impl Target {
    /// The fewest corners that it can have.
    pub fn fewest_corners(self) -> usize {
        match self {
            Target::Boundary | Target::Structure(_) | Target::KeepOut(_) => 3,
            Target::Line { .. } => 2,
            Target::TakeOff | Target::Further { .. } | Target::ControlPoint(_) => 1,
        }
    }

    /// Whether its last corner is joined to its first.
    pub fn is_closed(self) -> bool {
        self.fewest_corners() == 3
    }

    /// Whether it is a single place.
    pub fn is_point(self) -> bool {
        self.fewest_corners() == 1
    }
}
