//! What a strategy's images would tell if they were adjusted together: which hang together, what they tell of the camera,
//! and how well every sample is determined.

mod counted;
mod figures;
mod finer;
mod parts;
mod precision;
mod shares;
mod solve;
mod terms;
mod thinned;
mod tied;

pub use figures::{NetworkFigures, network_block, network_figures};
pub use parts::BlockPart;
pub use precision::{ErrorSpread, Precision, SampleSigmas};
pub use shares::FocalShares;
pub use solve::{CalibrationFigures, CameraEffect, HeldBlock};
pub use terms::{ControlPlace, NetworkTerms, POINTS_A_FRAME, Thinning};
