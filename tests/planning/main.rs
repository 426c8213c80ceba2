//! Published values, values computed with general-purpose libraries, and properties, for the planning crate.

mod camera;
mod cautions;
mod counting;
mod energy;
mod evaluation;
mod exposure;
mod flight;
mod layout;
mod light;
mod load;
mod oblique;
mod patterns;
mod practice;
mod reference;
mod reference_views;
mod route;
mod scene;
mod stay;
mod terrain;
mod timing;
mod views;
mod wind_advice;
