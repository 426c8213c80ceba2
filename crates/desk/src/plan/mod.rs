//! The plan: what a strategy flies over the site, seen from above.

mod area;
mod background;
pub mod draw;
mod large;
mod legend;
mod model;
mod numbers;
mod paint;
mod pencil;
mod site;
mod start;
mod state;
mod station;
mod tool_row;
mod trace;
mod underlay;
mod view;

pub use area::Area;
pub use background::{Backdrop, BackdropPiece};
pub use large::{Pane, large};
pub use model::{LineKind, Plan, PlanLine, PlanMark, PlanNote, PlanPass, PlanStation, PlanTakeOff, Ring};
pub use paint::Surfaces;
pub use site::{PlanKeepOut, PlanSite, PlanStructure};
pub use state::{Aside, Footprints, PlanState, PlanWant, Tools};
pub use underlay::{UnderlayLook, UnderlaySwitch};
pub use view::{PlanAsk, ShownPlan, alone, ui};
