//! The view-angle rose: from which directions the surfaces of a class are seen, and how densely. It is drawn so that equal
//! areas on the screen are equal solid angles, and a colour says how many views come from equal pieces of directions.

mod disc;
mod model;
mod small;
mod view;

pub use model::{Piece, RINGS, Rose, Roses, full_of};
pub use small::{SmallRose, ramp, small};
pub use view::ui;
