//! The plan: what a strategy flies over the site, seen from above.

mod area;
pub mod draw;
mod large;
mod legend;
mod model;
mod paint;
mod site;
mod station;
mod view;

pub use area::Area;
pub use large::{Pane, large};
pub use model::{LineKind, Plan, PlanLine, PlanMark, PlanNote, PlanPass, PlanStation, Ring};
pub use paint::Surfaces;
pub use site::{PlanKeepOut, PlanSite, PlanStructure};
pub use view::{Footprints, PlanAsk, PlanState, ShownPlan, alone, ui};
