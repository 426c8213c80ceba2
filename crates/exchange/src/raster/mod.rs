//! Terrain from rasters of heights: Esri ASCII grids and GeoTIFF, cut to the site and resampled to its frame.

mod ascii;
mod fill;
pub(crate) mod geotiff;
pub(crate) mod mercator;
pub(crate) mod packed_jpeg;
mod resample;
mod sidecar;
pub(crate) mod source;

use crate::files::{read_bounded, utf8};
use crate::{FileError, FileErrorKind};
use ascii::AsciiGrid;
use geotiff::GeoTiff;
use glam::DVec2;
use mercator::TransverseMercator;
pub use mercator::utm_zone;
use obliquity_planning::{Site, TerrainGrid};
use resample::Target;
use source::{Frame, MOST_PIXELS, RasterHeader, Window};
use std::path::Path;

/// Largest raster file that is read.
const MOST_BYTES: u64 = 1 << 29;

/// What coordinates to take a raster's for where its file does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RasterFrame {
    /// The file has to say it.
    OfFile,
    /// Metres of the site's own frame.
    Local,
    /// Longitude and latitude in degrees, WGS 84.
    Geographic,
    /// A zone of the universal transverse Mercator grid, 1 to 60, north of the equator.
    UtmNorth(u8),
    /// A zone south of the equator.
    UtmSouth(u8),
}

/// Terrain for a site, and what was done to get it.
#[derive(Debug, Clone, PartialEq)]
pub struct TerrainImport {
    /// The heights.
    pub grid: TerrainGrid,
    /// Sentences for people: resampling, voids that were filled, the datum.
    pub notes: Vec<String>,
}

/// What heights are cut to.
#[derive(Debug, Clone, Copy)]
pub struct TerrainFor<'a> {
    /// Its boundary, structures and take-off point.
    pub site: &'a Site,
    /// Take-off points of strategies besides the site's.
    pub take_offs_m: &'a [DVec2],
}

impl<'a> From<&'a Site> for TerrainFor<'a> {
    fn from(site: &'a Site) -> Self {
        TerrainFor { site, take_offs_m: &[] }
    }
}

/// Reads the heights under a site from an Esri ASCII grid or a GeoTIFF.
///
/// The grid lies in the site's frame, its nodes as far apart as the raster's pixels (farther where that would be more
/// than a million nodes), and reaches beyond the boundary, the structures and the take-off points by a quarter of their
/// extent, at least 50 m, as far as the raster goes. Heights between pixels are bilinear, in the file's own datum.
///
/// # Errors
/// When the file cannot be read, is broken, does not say where it lies, does not cover the site, or lacks more than one
/// height in twenty there.
///
/// A `.prj` file beside an Esri ASCII grid is asked whether its coordinates are degrees or projected: that settles
/// [`RasterFrame::OfFile`] for degrees, and a note tells where it contradicts the frame asked for. Which projection it names
/// is not read.
pub fn read_terrain<'a>(
    path: &Path,
    under: impl Into<TerrainFor<'a>>,
    frame: RasterFrame,
) -> Result<TerrainImport, FileError> {
    let bytes = read_bounded(path, MOST_BYTES)?;
    let said = if is_tiff(&bytes) { None } else { sidecar::said(path) };
    let (frame, note) = sidecar::frame_and_note(said, frame);
    let mut import = parse_terrain(&bytes, &path.display().to_string(), under, frame)?;
    import.notes.extend(note);
    Ok(import)
}

/// Reads the heights from the contents of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`read_terrain`].
pub fn parse_terrain<'a>(
    bytes: &[u8],
    name: &str,
    under: impl Into<TerrainFor<'a>>,
    frame: RasterFrame,
) -> Result<TerrainImport, FileError> {
    let mut raster = Raster::open(bytes, name)?;
    let invalid = |told: String| FileError::new(name, FileErrorKind::Invalid, told);
    let header = raster.header();
    let mut notes = header.notes.clone();
    let unplaced = |told: String| FileError::new(name, FileErrorKind::Unplaced, told);
    let frame = header.frame.map_or_else(|| assumed(frame), Ok).map_err(unplaced)?;
    let target = Target::new(&under.into(), header, &frame).map_err(invalid)?;
    notes.extend(target.note());
    let window = target.window(header).map_err(invalid)?;
    if window.len() > MOST_PIXELS {
        return Err(invalid(format!(
            "at most {MOST_PIXELS} heights are read, but the site needs {} of this raster; thin it out",
            window.len()
        )));
    }
    let heights = raster.window(&window)?;
    let grid = target.grid(&heights, &window, &mut notes).map_err(invalid)?;
    Ok(TerrainImport { grid, notes })
}

pub(crate) fn assumed(frame: RasterFrame) -> Result<Frame, String> {
    let zone = |zone: u8, south| {
        if (1..=60).contains(&zone) {
            return Ok(Frame::Projected(TransverseMercator::utm(zone, south)));
        }
        Err(format!("a UTM zone must be from 1 to 60, but it is {zone}; choose the zone of the site"))
    };
    match frame {
        RasterFrame::OfFile => Err(
            "the raster must say which coordinates it is in, but it does not; choose the site's own frame, degrees, or a \
             UTM zone"
                .to_owned(),
        ),
        RasterFrame::Local => Ok(Frame::Local),
        RasterFrame::Geographic => Ok(Frame::Geographic),
        RasterFrame::UtmNorth(number) => zone(number, false),
        RasterFrame::UtmSouth(number) => zone(number, true),
    }
}

pub(crate) fn is_tiff(bytes: &[u8]) -> bool {
    [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"].iter().any(|start| bytes.starts_with(*start))
}

/// Either kind of file.
enum Raster<'a> {
    Ascii(Box<AsciiGrid<'a>>),
    Tiff(Box<GeoTiff<'a>>),
}

impl<'a> Raster<'a> {
    /// Which it is follows from the contents, not from the name.
    fn open(bytes: &'a [u8], name: &'a str) -> Result<Self, FileError> {
        if is_tiff(bytes) {
            return Ok(Raster::Tiff(Box::new(GeoTiff::read(bytes, name)?)));
        }
        let text = utf8(bytes, name)?;
        if text.trim_start().get(..5).is_some_and(|start| start.eq_ignore_ascii_case("ncols")) {
            return Ok(Raster::Ascii(Box::new(AsciiGrid::read(text, name)?)));
        }
        let told = "heights must be a GeoTIFF or an Esri ASCII grid that begins with ncols, but this is neither; export it as one of these";
        Err(FileError::new(name, FileErrorKind::Format, told))
    }

    fn header(&self) -> &RasterHeader {
        match self {
            Raster::Ascii(grid) => &grid.header,
            Raster::Tiff(tiff) => &tiff.header,
        }
    }

    fn window(&mut self, window: &Window) -> Result<Vec<f32>, FileError> {
        match self {
            Raster::Ascii(grid) => grid.window(window),
            Raster::Tiff(tiff) => tiff.window(window),
        }
    }
}
