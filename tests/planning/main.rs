//! Published checks, reference checks and properties of the planning crate.

mod flight;
mod route;
mod scene;
