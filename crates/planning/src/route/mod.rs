//! From a pass to the line that is flown and the stations on it.

mod counting;
mod detour;
mod layout;
mod plan;
mod reach;
mod region;
mod strips;

pub use counting::{StripRow, exposure_count, strip_count, strip_row};
pub(crate) use detour::way_round;

pub use plan::{ExposureTerms, LayoutTerms, Leg, LegKind, PassPlan, SpeedBound, SpeedTerms, Stations, Stop};
pub use reach::{Reach, reach};
pub(crate) use strips::bounds;
pub use strips::{PlanError, plan_pass};
