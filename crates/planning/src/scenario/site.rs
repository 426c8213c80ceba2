use crate::base::Id;
use crate::geometry::TerrainGrid;
use crate::geometry::polygon::centroid_m;
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

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
    /// Where ground control points and check points are to be placed; how many are reckoned with is a condition of the job.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub control_points: Vec<ControlPoint>,
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

/// The ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Terrain {
    /// A level or sloping plane: height = `at_origin_m` + `slope_east`·x + `slope_north`·y.
    Plane {
        /// Height at the frame's origin.
        #[serde(default)]
        at_origin_m: f64,
        /// Rise per metre to the east.
        #[serde(default)]
        slope_east: f64,
        /// Rise per metre to the north.
        #[serde(default)]
        slope_north: f64,
    },
    /// Heights on a regular lattice.
    Grid(Arc<TerrainGrid>),
}

impl Default for Terrain {
    fn default() -> Self {
        Terrain::Plane { at_origin_m: 0.0, slope_east: 0.0, slope_north: 0.0 }
    }
}

/// The ground between nodes may be higher than the highest of them by less than this.
const ROUNDING_M: f64 = 1e-9;

impl Terrain {
    /// Height of the ground at a place of the local frame, in metres.
    ///
    /// # Units
    /// - `at`: metres, east and north
    /// - returns: metres
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::Terrain;
    /// // one metre in ten to the east, from 200 m
    /// let plane = Terrain::Plane { at_origin_m: 200.0, slope_east: 0.1, slope_north: 0.0 };
    /// assert_eq!(plane.height_m(DVec2::new(50.0, 80.0)), 205.0);
    /// ```
    pub fn height_m(&self, at: DVec2) -> f64 {
        match self {
            Terrain::Plane { at_origin_m, slope_east, slope_north } => {
                at_origin_m + slope_east * at.x + slope_north * at.y
            }
            Terrain::Grid(grid) => grid.height_m(at),
        }
    }

    /// The ground's unit normal at a place, upward.
    ///
    /// # Units
    /// - `at`: metres, east and north
    /// - returns: no unit, a unit vector: east, north, up
    ///
    /// # References
    /// Derived: square to the slopes in both directions.
    pub fn normal(&self, at: DVec2) -> DVec3 {
        let slope = match self {
            Terrain::Plane { slope_east, slope_north, .. } => DVec2::new(*slope_east, *slope_north),
            Terrain::Grid(grid) => grid.slope(at),
        };
        DVec3::new(-slope.x, -slope.y, 1.0).normalize()
    }

    /// Distance from a place above the ground to the closest point of the ground, in metres, exact where it is more than
    /// `enough_m`.
    pub(crate) fn closest_m(&self, at: DVec3, enough_m: f64) -> f64 {
        match self {
            Terrain::Plane { .. } => {
                let above_m = (at.z - self.height_m(at.truncate())).max(0.0);
                above_m * self.normal(at.truncate()).z
            }
            Terrain::Grid(grid) => grid.closest_m(at, enough_m),
        }
    }

    /// Height that no ground exceeds; nothing known of a plane without end.
    pub(crate) fn ceiling_m(&self) -> f64 {
        match self {
            Terrain::Plane { .. } => f64::INFINITY,
            Terrain::Grid(grid) => grid.bounds_m().1,
        }
    }

    /// Height that all ground exceeds or has; nothing known of a plane without end.
    pub(crate) fn floor_m(&self) -> f64 {
        match self {
            Terrain::Plane { .. } => f64::NEG_INFINITY,
            Terrain::Grid(grid) => grid.bounds_m().0,
        }
    }

    /// Mean height over a ring: of a plane, that at its centroid; of a grid, that of a lattice of places inside.
    pub(crate) fn mean_height_m(&self, ring: &[DVec2]) -> f64 {
        let mean = match self {
            Terrain::Plane { .. } => None,
            Terrain::Grid(grid) => grid.mean_height_m(ring),
        };
        mean.unwrap_or_else(|| self.height_m(centroid_m(ring)))
    }

    /// Least and greatest height on a ring and inside it.
    pub(crate) fn range_m(&self, ring: &[DVec2]) -> (f64, f64) {
        match self {
            Terrain::Plane { .. } => ring
                .iter()
                .map(|&at| self.height_m(at))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), z| (low.min(z), high.max(z))),
            Terrain::Grid(grid) => grid.range_m(ring),
        }
    }

    /// Heights of the ground at places from one to another, so many equal steps apart, both ends included.
    pub(crate) fn heights_m(&self, from: DVec2, to: DVec2, steps: usize) -> Vec<f64> {
        match self {
            Terrain::Plane { .. } => {
                let at = |k: usize| from.lerp(to, k as f64 / steps as f64);
                (0..=steps).map(|k| self.height_m(at(k))).collect()
            }
            Terrain::Grid(grid) => grid.heights_m(from, to, steps),
        }
    }

    /// Whether no ground on the way from one place to another is higher than that, by a quick look.
    pub(crate) fn is_surely_below(&self, from: DVec2, to: DVec2, height_m: f64) -> bool {
        match self {
            Terrain::Plane { .. } => self.height_m(from).max(self.height_m(to)) <= height_m,
            Terrain::Grid(grid) => grid.surely_below(from.min(to), from.max(to), height_m - ROUNDING_M),
        }
    }

    /// Least and greatest height of the ground on the way from one place to another.
    pub(crate) fn range_between_m(&self, from: DVec2, to: DVec2) -> (f64, f64) {
        match self {
            Terrain::Plane { .. } => {
                let (start_m, end_m) = (self.height_m(from), self.height_m(to));
                (start_m.min(end_m), start_m.max(end_m))
            }
            Terrain::Grid(grid) => grid.range_between_m(from, to),
        }
    }

    /// Visits the shares of the way from one place to another at which the ground's slope may change, 0 and 1 included, in no
    /// order, each with the height of the ground there.
    pub(crate) fn each_height(&self, from: DVec2, to: DVec2, mut visit: impl FnMut(f64, f64)) {
        match self {
            Terrain::Plane { .. } => {
                visit(0.0, self.height_m(from));
                visit(1.0, self.height_m(to));
            }
            Terrain::Grid(grid) => grid.each_height(from, to, visit),
        }
    }

    /// Shares of the way from one place to another at which the ground's slope may change.
    ///
    /// # Units
    /// - `from`, `to`: metres, east and north
    /// - returns: shares of the way, 0 to 1
    ///
    /// # Shape
    /// - returns: ascending, 0 and 1 included; between two of them the ground below the way is straight
    pub fn breaks(&self, from: DVec2, to: DVec2) -> Vec<f64> {
        match self {
            Terrain::Plane { .. } => vec![0.0, 1.0],
            Terrain::Grid(grid) => grid.breaks(from, to),
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

/// What is raised on a structure's footprint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum StructureKind {
    /// From the ground straight up to a flat roof.
    Extrusion {
        /// Height of the roof above the mean ground under the footprint.
        height_m: f64,
    },
    /// A level slab above the ground, a bridge or a canopy: its top is a roof, its edges are walls, and it has an
    /// underside. The ground below it stays ground.
    Deck {
        /// Height of the underside above the mean ground under the footprint.
        soffit_m: f64,
        /// Height of the top above the mean ground under the footprint.
        top_m: f64,
        /// What carries it; none for a deck that is carried from outside the site.
        #[serde(default)]
        piers: Vec<Pier>,
    },
}

/// A pier of a deck: from the ground to the underside. Its sides are walls; it has no roof of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pier {
    /// Footprint as an open ring, within the deck's.
    pub footprint_m: Vec<DVec2>,
}

/// Boxes to assume on a site where nothing is modelled: they hide and are sampled as real ones are, and every figure
/// that rests on them is marked *assumed*.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TypicalBuilding {
    /// Side of the box along the longest side of the boundary.
    pub width_m: f64,
    /// Side of the box across that.
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

/// A place on the ground whose coordinates the crew measures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControlPoint {
    /// For people.
    pub name: String,
    /// East and north.
    pub at_m: DVec2,
    /// What it is measured for.
    #[serde(default, skip_serializing_if = "PointRole::is_control")]
    pub role: PointRole,
}

/// What a measured place is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PointRole {
    /// Its coordinates go into the adjustment.
    #[default]
    Control,
    /// Its coordinates are kept out of the adjustment, which is held against them afterwards.
    Check,
}

impl PointRole {
    /// Whether it goes into the adjustment.
    pub fn is_control(&self) -> bool {
        *self == PointRole::Control
    }

    /// What such a point is called.
    pub fn name(self) -> &'static str {
        match self {
            PointRole::Control => "control point",
            PointRole::Check => "check point",
        }
    }
}
