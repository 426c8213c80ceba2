use obliquity_planning::MeasureId;

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimelineAsk {
    /// Show the cursor's place in 3D.
    Space,
    /// Show how a figure comes about.
    Figure(MeasureId),
    /// Show what the time of all strategies is made of.
    Budgets,
}
