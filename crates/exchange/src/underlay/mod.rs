//! Pictures to draw the plan over: where they lie, and their pixels, reduced so that any of them fits into memory.

mod jpeg;
mod kind;
mod lie;
mod png;
mod reduce;
mod tiff;
mod world;

pub use lie::UnderlayMap;
pub use reduce::{MOST_SHOWN_PX, Picture, PictureTile};

use crate::raster::RasterFrame;
use crate::{FileError, FileErrorKind, FileStamp};
use glam::DVec2;
use kind::PictureKind;
use lie::Lie;
use obliquity_planning::{Cancelled, Underlay, UnderlayFrame, Watch, limits};
use std::path::{Path, PathBuf};

/// Why a picture was not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// It was called off.
    #[error("it was called off")]
    Cancelled,
    /// The file is in trouble.
    #[error(transparent)]
    File(#[from] FileError),
}

impl From<Cancelled> for PictureError {
    fn from(_: Cancelled) -> Self {
        PictureError::Cancelled
    }
}

/// A picture before its pixels are read.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureHead {
    /// The reference for the scenario; where nothing says how the picture lies, one pixel is a metre from the site's origin.
    pub underlay: Underlay,
    /// Whether its file, or a world file beside it, says how it lies.
    pub is_placed: bool,
    /// Sentences for people.
    pub notes: Vec<String>,
}

/// Size of a picture, and where its own tags put it.
struct Head {
    columns: usize,
    rows: usize,
    lie: Option<Lie>,
    notes: Vec<String>,
}

/// Whether a file is a picture rather than heights: a PNG, a JPEG, or a TIFF whose pixels have colours, or eight bits or fewer.
///
/// # Errors
/// When the file cannot be read, or is none of these.
pub fn is_picture(path: &Path) -> Result<bool, FileError> {
    Ok(match PictureKind::of(path)? {
        PictureKind::Png | PictureKind::Jpeg => true,
        PictureKind::Tiff => tiff::has_colours(path)?,
    })
}

/// Looks at a picture: a GeoTIFF, or a PNG or JPEG (or TIFF) with a world file beside it, or one that nothing places.
///
/// `frame` says what the numbers of a world file are in where no `.prj` file beside it does.
///
/// # Errors
/// When the file cannot be read or is no picture; [`FileErrorKind::Unplaced`] where a world file's numbers are in
/// coordinates that nothing names.
pub fn look_at_picture(
    path: &Path,
    frame: RasterFrame,
    watch: &dyn Watch,
) -> Result<PictureHead, PictureError> {
    let name = path.display().to_string();
    let head = match PictureKind::of(path)? {
        PictureKind::Png => png::head(path)?,
        PictureKind::Jpeg => jpeg::head(path)?,
        PictureKind::Tiff => tiff::head(path)?,
    };
    let most = limits::UNDERLAY_SIDE_PX as usize;
    if head.columns.max(head.rows) > most {
        let told = format!(
            "a picture must have at most {most} columns and rows, but this has {} and {}; cut it to the site",
            head.columns, head.rows
        );
        return Err(FileError::new(&name, FileErrorKind::TooLarge, told).into());
    }
    let mut notes = head.notes;
    let lie = match head.lie {
        Some(lie) => Some(lie),
        None => world::beside(path, frame, &mut notes)?,
    };
    watch.step(1, 10)?;
    let stamp = FileStamp::read(path).map_err(|error| unreadable(&name, &error))?;
    watch.step(10, 10)?;
    let is_placed = lie.is_some();
    let lie = lie.unwrap_or(Lie {
        frame: UnderlayFrame::Site,
        first: DVec2::new(0.5, head.rows as f64 - 0.5),
        right: DVec2::X,
        down: DVec2::NEG_Y,
    });
    let underlay = Underlay {
        file: path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
        bytes: stamp.bytes,
        digest: hex(&stamp),
        columns: u32::try_from(head.columns).unwrap_or(u32::MAX),
        rows: u32::try_from(head.rows).unwrap_or(u32::MAX),
        coordinates: lie.frame,
        first: lie.first,
        right: lie.right,
        down: lie.down,
        opacity: Underlay::USUAL_OPACITY,
    };
    Ok(PictureHead { underlay, is_placed, notes })
}

/// Reads the pixels of a picture, reduced to at most [`MOST_SHOWN_PX`], in tiles.
///
/// # Errors
/// When the file cannot be read, or is broken; [`PictureError::Cancelled`] when that is asked for.
pub fn read_picture(path: &Path, watch: &dyn Watch) -> Result<Picture, PictureError> {
    match PictureKind::of(path)? {
        PictureKind::Png => png::read(path, watch),
        PictureKind::Jpeg => jpeg::read(path, watch),
        PictureKind::Tiff => tiff::read(path, watch),
    }
}

/// What became of a picture that a scenario names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum UnderlayFound {
    /// It is there.
    At(PathBuf),
    /// A file of its name is there, but holds something else.
    Changed(PathBuf),
    /// It is nowhere.
    Missing,
}

/// Looks for a picture by name, size and digest: in folders, and among files that are known.
pub fn find_underlay(underlay: &Underlay, folders: &[PathBuf], known: &[PathBuf]) -> UnderlayFound {
    let named =
        |path: &&PathBuf| path.file_name().is_some_and(|name| name.to_string_lossy() == underlay.file);
    let places = folders.iter().map(|folder| folder.join(&underlay.file));
    let mut changed = None;
    for path in places.chain(known.iter().filter(named).cloned()) {
        let Ok(found) = std::fs::metadata(&path) else { continue };
        let same = found.len() == underlay.bytes
            && FileStamp::read(&path).is_ok_and(|stamp| hex(&stamp) == underlay.digest);
        if same {
            return UnderlayFound::At(path);
        }
        changed = changed.or(Some(path));
    }
    changed.map_or(UnderlayFound::Missing, UnderlayFound::Changed)
}

fn hex(stamp: &FileStamp) -> String {
    format!("{:016x}{:016x}", stamp.digest[0], stamp.digest[1])
}

fn unreadable(name: &str, error: &std::io::Error) -> FileError {
    let told =
        format!("cannot be read: {}; check its name, folder and permissions", crate::files::told(error));
    FileError::new(name, FileErrorKind::Unreadable, told)
}

fn broken(name: &str, error: &dyn std::fmt::Display) -> FileError {
    let told = format!("the picture cannot be unpacked ({error}); look for a whole copy, or export it again");
    FileError::new(name, FileErrorKind::Syntax, told)
}
