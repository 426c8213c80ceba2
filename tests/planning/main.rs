//! Published values, values computed with general-purpose libraries, and properties, for the planning crate.

mod camera;
mod flight;
mod oblique;
mod reference;
mod route;
mod scene;
mod views;
