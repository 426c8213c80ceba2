//! The timeline: the whole stay on site of one strategy, along one clock that can be scrubbed.
//!
//! [`Timeline`] and [`Breakdown`] are what is shown, plain values; [`Stretch`] is the part that is looked at. Drawing
//! them is apart.

mod ask;
mod breakdown;
mod cursor;
mod lanes;
mod lists;
mod model;
mod stretch;
mod view;

pub use ask::TimelineAsk;
pub use breakdown::{Breakdown, BudgetRow, CauseRow, Level, Likely};
pub use cursor::Cursor;
pub use model::{BlockKind, Charge, LightLane, LightSpan, ResumeMark, TimeBlock, Timeline};
pub use stretch::Stretch;
pub use view::{GivenFlight, TimelineState, ui};

/// Hours, minutes and seconds: 0:27:05.
pub fn clock(seconds: u64) -> String {
    format!("{}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}
