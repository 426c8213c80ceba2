//! From a pass to the line that is flown and the stations on it.

pub(crate) mod lookout;
pub(crate) mod subject;

pub use subject::Subject;

mod airspace;
mod basis;
mod blur;
mod bounded;
mod clearance;
mod counting;
mod free_line;
mod ground;
mod layout;
mod level_paths;
mod nose;
mod off_site;
mod order;
mod pattern;
mod plain_ways;
mod plan;
mod profile;
mod reach;
mod refusal;
mod region;
mod round_levels;
mod section;
mod sections;
mod sheet;
mod sound;
mod stand_off;
mod task;
mod ways_about;

pub(crate) use airspace::{Airspace, legs_along, within};
#[cfg(test)]
pub(crate) use bounded::tests as generated;
pub(crate) use bounded::{Bends, WayBound};
pub use counting::{StripRow, exposure_count, strip_count, strip_row};

pub use clearance::{Clearance, least_clearance};
pub(crate) use ground::{farthest_from_ground_m, highest_above_ground_m};
pub(crate) use layout::{height_m, strips_rad};
pub(crate) use level_paths::LevelPaths;
pub(crate) use nose::level;
pub(crate) use order::{Run, quickest};
pub use pattern::{RegionPart, pass_region, plan_pass};
pub(crate) use pattern::{pass_count, pass_count_at_most, pass_runs};
pub(crate) use plan::SAME_PLACE_M;
pub use plan::{
    BlurOn, ExposureTerms, FlownTerms, GroundTerms, LayoutTerms, Leg, LegKind, Nose, PassPlan, RingTerms,
    SpeedBound, SpeedTerms, Standing, Stations, Stop,
};
pub use reach::{Reach, reach};
pub(crate) use refusal::Count;
pub use refusal::{MOST_EXPOSURES, MOST_STRIPS, PlanError};
#[cfg(test)]
pub(crate) use round_levels::tests as bounds_on_ways;
pub(crate) use round_levels::{RoundFrom, RoundLevels};
pub(crate) use ways_about::WaysAbout;
