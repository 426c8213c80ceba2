//! How well a block of images determines what is measured in it, and its camera: covariances from its normal equations.
//!
//! Nothing is measured yet: images and points stand where they are expected, and every answer is a standard deviation
//! that an adjustment of the real block would have.

mod block;
mod bridges;
mod calibration;
mod datum;
mod expected;
mod factor;
mod functional;
mod groups;
mod image_point;
mod interior;
mod intersection;
mod normals;
mod poses;
mod selected;
mod small;
mod solved;
pub mod standards;
mod supernodes;
mod ties;

pub use block::{Carried, ImageBlock, LEAST_POINTS, Positioning, TiePoint};
pub use bridges::{Bridge, weakest_bridge};
pub use calibration::Calibration;
pub use datum::{DatumDefects, NetworkPart};
pub use expected::{
    BlockPart, CalibrationFigures, CameraEffect, ControlPlace, ErrorSpread, FocalShares, HeldBlock,
    NetworkFigures, NetworkTerms, POINTS_A_FRAME, Precision, SampleSigmas, Thinning, network_block,
    network_figures,
};
pub use functional::{Functionals, PointFunctional};
pub use image_point::ImagePoint;
pub use interior::{INTERIOR_LEN, InteriorFreedom, InteriorTerm};
pub use intersection::{PoseSigma, intersection_covariance_m2};
pub use poses::{PointErrors, Poses};
pub use selected::PoseBlock;
pub use solved::{Network, NetworkError};
pub use ties::{Tie, TieRules, TiedSample, TiedView, Ties};
