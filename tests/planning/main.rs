//! Checks of the planning crate against published and independently computed values.

mod views;
