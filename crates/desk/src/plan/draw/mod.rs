//! Drawing the site: tools as a state machine over plain values in metres of the site. Nothing here knows the screen.

mod form;
mod grain;
mod grip;
mod held;
mod hit;
mod keys;
mod outlines;
mod seen;
mod snap;
mod state;
mod told;
mod tool;
mod typing;

pub use form::{box_m, circle_m, notched_m, rectangle_m};
pub use grain::Grain;
pub use grip::Hold;
pub use held::{Grip, Held, bearing_deg};
pub use hit::{Under, middles_m, turn_handle_m};
pub use keys::{DrawKey, KeyUse, Run, Stride};
pub use outlines::{AreaKind, Outlines, USUAL_HEIGHT_M, moved, to_mm, turned};
pub use seen::{DrawView, Snapping};
pub use snap::{Angle, Closed, Rail, Reach, Snap, SnapTo, Square, sides, squares_after, squares_at};
pub use state::{Draw, DrawAsk, Merge};
pub use told::{beside_pointer, hint, place_text, spoken, title};
pub use tool::{DrawForm, FORMS, TOOLS, Tool, ToolRow};
pub use typing::Typing;
