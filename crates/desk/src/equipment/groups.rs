//! All headings of a data sheet.

use super::airframe_fields::{AIRFRAME, ENERGY, POSITIONING};
use super::camera_fields::{CAMERA, EXPOSURE, GIMBAL};
use super::fields::Group;

/// All numbers of an aircraft, in the order of a data sheet.
pub const GROUPS: [Group; 6] = [CAMERA, EXPOSURE, GIMBAL, AIRFRAME, ENERGY, POSITIONING];
