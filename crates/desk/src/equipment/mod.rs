//! The equipment: every number of every aircraft, of the scenario and of the user's library, side by side.

mod airframe_fields;
mod camera_fields;
mod fields;
mod groups;
mod power;
mod shelves;
mod view;

pub use fields::{Block, Derived, Drawn, Field, Group, LeftOut, derived};
pub use groups::GROUPS;
pub use shelves::{Shelf, add, built_in, keep};
pub use view::{Ask, Stock, ui};
