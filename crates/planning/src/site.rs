use crate::Id;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// What is to be captured, in one local east-north-up frame in metres.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// For people.
    pub name: String,
    /// Where the frame's origin lies on the earth; absent for a site that is nowhere.
    #[serde(default)]
    pub origin: Option<GeoPoint>,
    /// Boundary as an open ring: at least three corners, either winding, no corner repeated, no crossing sides.
    pub boundary_m: Vec<DVec2>,
    /// Where the aircraft takes off and lands.
    pub take_off_m: DVec2,
    /// The ground.
    #[serde(default)]
    pub terrain: Terrain,
    /// What stands on the ground.
    #[serde(default)]
    pub structures: Vec<Structure>,
    /// What to assume where nothing is modelled.
    #[serde(default)]
    pub typical_building: Option<TypicalBuilding>,
    /// Where the aircraft must not fly.
    #[serde(default)]
    pub keep_outs: Vec<KeepOut>,
    /// Distance between the sample points on every surface; chosen from the site's size when absent.
    #[serde(default)]
    pub sample_spacing_m: Option<f64>,
}

/// A place on the WGS 84 ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GeoPoint {
    /// North of the equator.
    pub latitude_deg: f64,
    /// East of Greenwich.
    pub longitude_deg: f64,
}

/// The ground. A grid of heights will stand beside the plane.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Terrain {
    /// A level or sloping plane: height = `at_origin_m` + `slope_east`·x + `slope_north`·y.
    Plane {
        /// Height at the frame's origin.
        at_origin_m: f64,
        /// Rise per metre to the east.
        slope_east: f64,
        /// Rise per metre to the north.
        slope_north: f64,
    },
}

impl Default for Terrain {
    fn default() -> Self {
        Terrain::Plane { at_origin_m: 0.0, slope_east: 0.0, slope_north: 0.0 }
    }
}

impl Terrain {
    /// Height of the ground at a place of the local frame, in metres.
    pub fn height_m(&self, at: DVec2) -> f64 {
        match *self {
            Terrain::Plane { at_origin_m, slope_east, slope_north } => {
                at_origin_m + slope_east * at.x + slope_north * at.y
            }
        }
    }
}

/// Something that stands on the site, is seen, and hides what is behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Structure {
    /// Stays the same through renaming and undo.
    pub id: Id,
    /// For people.
    pub name: String,
    /// Footprint as an open ring, as the site's boundary is.
    pub footprint_m: Vec<DVec2>,
    /// What is raised on the footprint.
    pub kind: StructureKind,
}

/// What is raised on a structure's footprint. Decks, with a soffit and a top, will stand beside extrusions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StructureKind {
    /// From the ground straight up to a flat roof.
    Extrusion {
        /// Height of the roof above the mean ground under the footprint.
        height_m: f64,
    },
}

/// Boxes to assume on a site where nothing is modelled: they hide and are sampled as real ones are, and every figure
/// that rests on them is marked *assumed*.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TypicalBuilding {
    /// Side of the box to the east.
    pub width_m: f64,
    /// Side of the box to the north.
    pub depth_m: f64,
    /// Height of its roof.
    pub height_m: f64,
    /// From centre to centre.
    pub spacing_m: f64,
}

/// An area that the aircraft goes round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeepOut {
    /// For people.
    pub name: String,
    /// Outline as an open ring, as the site's boundary is.
    pub outline_m: Vec<DVec2>,
}
