//! The site in space: surfaces coloured by what a strategy delivers on them, its route, and why a point is not covered.
//!
//! [`Scene`] is what is drawn, [`Eye`] from where, [`Layer`] in which colours; [`render`] turns them into a [`Frame`],
//! and [`Picked`] tells everything about one sample. None of these needs a screen; [`Space`] puts them on one.

mod contours;
mod eye;
mod flat;
mod flat_view;
mod hill;
mod layer;
mod legend_view;
mod marks;
mod over;
mod pick;
mod plan_pane;
mod point_told;
mod ramp;
mod render;
mod scene;
mod sheet;
mod state;
mod view;

pub use contours::Contours;
pub use eye::{Eye, Projection};
pub use flat::{Flat, FlatPane, Layout, render_flat};
pub use hill::Relief;
pub use layer::{Layer, Legend};
pub(crate) use legend_view::{LEGEND, draw_legend};
pub use marks::{SceneMark, SceneMarks};
pub use obliquity_raster::depth::Frame;
pub use pick::{PassCount, Picked, SeeingStation};
pub use plan_pane::{AbovePane, render_above};
pub use ramp::{ramp, ramp_lab};
pub(crate) use render::EDGE;
pub use render::{Paper, ScenePane, render};
pub use scene::{Outline, Patch, Scene, SolidPart};
pub use sheet::{Group, Panel, Sheet};
pub use state::{Arrangement, Cameras, Look, Shown, Space};
pub(crate) use view::{NAME, TOLD, name_over, places};
