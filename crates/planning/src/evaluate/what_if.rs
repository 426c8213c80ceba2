//! What would come of other settings: one input over a range, several searched for the best, each alone by a step.

mod best;
mod control;
mod fewer_samples;
mod front;
mod grid;
mod nudge;
mod quiet;
mod sweep;
mod tried;
mod tune;

pub use best::EachAtBest;
pub use control::{CONTROL_COUNTS, ControlTrial, spread_points};
pub use front::front;
pub use grid::{Free, MOST_SETTINGS, SearchOf};
pub use nudge::{NudgeGap, NudgeSide, Nudged, nudge_gaps};
pub(in crate::evaluate) use quiet::Quiet;
pub use sweep::{
    SampleDensity, SweepPoint, coarse_first, meeting_ranges, nearer_edges, nearest_miss, sweep_values,
    usual_range, wider_range, with_present,
};
pub use tried::{Cap, Tried};
pub use tune::{Looked, LookedCount, Miss, ToSpare, TuneAsk, TuneError, TuneNews, TuneResult, Tuned};
