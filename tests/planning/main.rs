//! Published values, values computed with general-purpose libraries, and properties, for the planning crate.

mod camera;
mod oblique;
mod reference;
