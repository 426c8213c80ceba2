//! The equipment: every number of every aircraft, of the scenario and of the user's library, side by side.

mod derived;
mod power;
mod sections;
mod shelves;
mod view;

pub use derived::{Derived, derived};
pub use sections::{Block, DrawnBelow, Given, SECTIONS, Section, Ways};
pub use shelves::{Shelf, add, built_in, keep};
pub use view::{EquipmentAsk, Stock, ui};
