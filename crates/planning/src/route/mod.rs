//! From a pass to the line that is flown and the stations on it.

mod airspace;
mod basis;
mod corridor;
mod counting;
mod detour;
mod dispatch;
mod facade;
mod ground;
mod layout;
mod orbit;
mod order;
mod plan;
mod profile;
mod reach;
mod region;
mod sections;
mod sheet;
mod stand_off;
mod strips;
mod underside;

pub(crate) use airspace::{Airspace, distance_m, legs_along, within};
pub use counting::{StripRow, exposure_count, strip_count, strip_row};

pub(crate) use basis::bounds;
pub use dispatch::plan_pass;
pub(crate) use dispatch::{pass_runs, plan_pass_from};
pub use ground::GroundTerms;
pub(crate) use ground::{above_ground_m, farthest_from_ground_m};
pub(crate) use layout::azimuth_rad;
pub(crate) use order::{Corner, Run, quickest};
pub(crate) use plan::SAME_PLACE_M;
pub use plan::{
    ExposureTerms, LayoutTerms, Leg, LegKind, PassPlan, SpeedBound, SpeedTerms, Standing, Stations, Stop,
};
pub use reach::{Reach, reach};
pub use strips::PlanError;
