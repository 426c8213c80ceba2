//! From a pass to the line that is flown and the stations on it.

mod plan;

pub use plan::{ExposureTerms, LayoutTerms, Leg, LegKind, PassPlan, SpeedBound, SpeedTerms, Stations, Stop};
