//! What every raster of heights has: its size, where its pixels lie, and which heights are none.

use super::mercator::TransverseMercator;
use crate::{FileError, FileErrorKind};
use glam::DVec2;
use obliquity_planning::{GeoPoint, limits};
use std::ops::Range;

/// Most heights of a raster, and of the part of it that is taken: 160 MB.
pub(super) const MOST_PIXELS: usize = 40_000_000;

/// Most pixels along a side of a raster that is read in part.
pub(super) const MOST_SIDE: usize = 2_000_000;

/// What coordinates a raster is in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Frame {
    /// Metres of the site's own frame.
    Local,
    /// Longitude and latitude in degrees.
    Geographic,
    /// A projection in metres.
    Projected(TransverseMercator),
}

impl Frame {
    /// The raster's coordinates of a place.
    pub(crate) fn at(&self, local_m: DVec2, geo: Option<GeoPoint>) -> Option<DVec2> {
        match (self, geo) {
            (Frame::Local, _) => Some(local_m),
            (Frame::Geographic, Some(place)) => Some(DVec2::new(place.longitude_deg, place.latitude_deg)),
            (Frame::Projected(projection), Some(place)) => Some(projection.project(place)),
            (_, None) => None,
        }
    }
}

/// From pixels, counted from the centre of the north-western one, to the raster's coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Affine {
    pub(crate) origin: DVec2,
    /// One pixel to the east of the picture.
    pub(crate) across: DVec2,
    /// One pixel down.
    pub(crate) down: DVec2,
}

impl Affine {
    fn determinant(&self) -> f64 {
        self.across.perp_dot(self.down)
    }

    /// Whether pixels have an area and all numbers are finite.
    pub(crate) fn is_sound(&self) -> bool {
        let all = [self.origin, self.across, self.down].iter().all(|v| v.is_finite());
        all && self.determinant().is_normal()
    }

    /// The pixel, with its fraction, at a place.
    pub(crate) fn pixel(&self, at: DVec2) -> DVec2 {
        let from = at - self.origin;
        DVec2::new(from.perp_dot(self.down), self.across.perp_dot(from)) / self.determinant()
    }
}

/// What is known of a raster before its heights are read.
pub(super) struct RasterHeader {
    pub(super) columns: usize,
    pub(super) rows: usize,
    pub(super) to_world: Affine,
    /// The coordinates' system, if the file says it.
    pub(super) frame: Option<Frame>,
    /// The height that stands for none.
    pub(super) no_data: Option<f64>,
    /// Metres for one unit of height.
    pub(super) unit_m: f64,
    /// Sentences for people.
    pub(super) notes: Vec<String>,
}

impl RasterHeader {
    /// A stored value as a height in metres; NaN for none, which every height is that cannot be on earth.
    pub(super) fn height(&self, value: f64) -> f32 {
        let none = self.no_data.is_some_and(|none| value == none || value as f32 == none as f32);
        let height_m = value * self.unit_m;
        if none || !limits::TERRAIN_HEIGHT_M.holds(height_m) { f32::NAN } else { height_m as f32 }
    }
}

/// A part of a raster.
pub(super) struct Window {
    pub(super) columns: Range<usize>,
    pub(super) rows: Range<usize>,
}

impl Window {
    pub(super) fn len(&self) -> usize {
        self.columns.len() * self.rows.len()
    }
}

/// What is said of a TIFF that cannot be unpacked.
pub(crate) fn unreadable(name: &str, error: &tiff::TiffError) -> FileError {
    let told = format!("the raster cannot be unpacked ({error}); look for a whole copy, or export it again");
    FileError::new(name, FileErrorKind::Syntax, told)
}
