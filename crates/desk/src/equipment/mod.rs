//! The equipment: every number of every aircraft, of the scenario and of the user's library, side by side.

mod fields;
mod shelves;
mod view;

pub use fields::{Derived, Field, GROUPS, Group, derived};
pub use shelves::{Shelf, add, built_in, keep};
pub use view::{Ask, Stock, ui};
