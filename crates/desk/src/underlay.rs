//! The picture below the plan, as it is known: read or on its way, in tiles that the screen takes over a few at a time.

use crate::long;
use crate::plan::BackdropPiece;
use egui::{Color32, ColorImage, Context, TextureOptions};
use glam::DVec2;
use obliquity_exchange::{
    FileError, Picture, PictureError, PictureHead, RasterFrame, UnderlayFound, UnderlayMap, find_underlay,
    is_picture, look_at_picture, read_picture,
};
use obliquity_planning::{GeoPoint, Underlay, Watch};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Tiles that the screen takes over in one frame: a megabyte each.
const TILES_A_FRAME: usize = 2;

/// A tile on its way to the screen.
#[derive(Debug, Clone)]
pub struct ReadyTile {
    image: Arc<ColorImage>,
    /// Its edges in pixels of the file: left, top, right, bottom.
    edges: [f64; 4],
}

/// The pixels of a picture, ready for the screen.
#[derive(Debug, Clone)]
pub struct ReadyPicture {
    /// Where it was read from.
    pub path: PathBuf,
    /// Its tiles.
    pub tiles: Vec<ReadyTile>,
}

/// Why a picture is not shown.
#[derive(Debug, Clone, PartialEq)]
pub enum NoPicture {
    /// Its file is nowhere.
    Missing,
    /// A file of its name is there, but holds something else.
    Changed,
    /// Reading it was called off.
    Cancelled,
    /// The file is in trouble.
    File(FileError),
    /// Reading it broke off.
    Broken(String),
}

impl NoPicture {
    /// In a few words.
    pub fn short(&self, name: &str) -> String {
        match self {
            NoPicture::Missing => format!("{name} is missing"),
            NoPicture::Changed => format!("{name} has changed"),
            NoPicture::Cancelled => format!("{name} was not read"),
            NoPicture::File(_) | NoPicture::Broken(_) => format!("{name} cannot be read"),
        }
    }

    /// In full, with the mend.
    pub fn text(&self, underlay: &Underlay) -> String {
        let (name, bytes) = (&underlay.file, underlay.bytes);
        match self {
            NoPicture::Missing => format!(
                "The scenario is drawn over the picture {name} ({bytes} bytes), which is not beside it. Put it there, or import \
                 it again; everything else is as it was."
            ),
            NoPicture::Changed => format!(
                "The scenario is drawn over the picture {name}, but the file of that name holds something else by now, which may \
                 lie elsewhere. Put the file of {bytes} bytes back, or import the new one; everything else is as it was."
            ),
            NoPicture::Cancelled => {
                "Reading the picture was called off; import it again to see it.".to_owned()
            }
            NoPicture::File(error) => error.to_string(),
            NoPicture::Broken(why) => why.clone(),
        }
    }
}

/// What the screen knows of the document's picture.
#[derive(Debug, Default)]
pub struct UnderlayShown {
    of: Option<Arc<Underlay>>,
    origin: Option<GeoPoint>,
    picture: Option<Result<ReadyPicture, NoPicture>>,
    pieces: Vec<BackdropPiece>,
}

impl UnderlayShown {
    /// Takes over another picture of the document; whether it is to be read.
    pub fn turn_to(&mut self, underlay: Option<&Arc<Underlay>>, origin: Option<GeoPoint>) -> bool {
        let same_file = match (&self.of, underlay) {
            (Some(known), Some(now)) => (&known.file, &known.digest) == (&now.file, &now.digest),
            (None, None) => true,
            _ => false,
        };
        let same_place = match (&self.of, underlay) {
            (Some(known), Some(now)) => known.shows_as(now) && self.origin == origin,
            (known, now) => known.is_none() && now.is_none(),
        };
        if !(same_file && same_place) {
            self.pieces.clear();
        }
        self.of = underlay.cloned();
        self.origin = origin;
        if !same_file {
            self.picture = None;
        }
        !same_file && underlay.is_some()
    }

    /// Takes in what came of reading a picture, if it is the document's.
    pub fn take(&mut self, underlay: &Underlay, read: Result<ReadyPicture, NoPicture>) {
        let is_shown =
            |known: &Arc<Underlay>| (&known.file, &known.digest) == (&underlay.file, &underlay.digest);
        if self.of.as_ref().is_some_and(is_shown) {
            self.pieces.clear();
            self.picture = Some(read);
        }
    }

    /// Lets the screen take over tiles; whether there are more.
    pub fn advance(&mut self, ctx: &Context) -> bool {
        self.upload(ctx, TILES_A_FRAME)
    }

    /// Lets the screen take over all tiles at once.
    pub fn advance_all(&mut self, ctx: &Context) {
        self.upload(ctx, usize::MAX);
    }

    fn upload(&mut self, ctx: &Context, most: usize) -> bool {
        let (Some(underlay), Some(Ok(picture))) = (&self.of, &self.picture) else { return false };
        let Some(map) = UnderlayMap::new(underlay, self.origin) else { return false };
        for tile in picture.tiles.iter().skip(self.pieces.len()).take(most) {
            let name = format!("underlay {}", self.pieces.len());
            let texture = ctx.load_texture(name, Arc::clone(&tile.image), TextureOptions::LINEAR);
            let [left, top, right, bottom] = tile.edges;
            let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
            let corners_m = corners.map(|pixel| map.to_local(DVec2::from(pixel)));
            self.pieces.push(BackdropPiece { texture, corners_m });
        }
        self.pieces.len() < picture.tiles.len()
    }

    /// What the screen has taken over.
    pub fn pieces(&self) -> &[BackdropPiece] {
        &self.pieces
    }

    /// Why the picture is not shown, or that it is being read; nothing where it is shown or there is none.
    pub fn told(&self) -> Option<String> {
        let underlay = self.of.as_ref()?;
        match &self.picture {
            None => Some(format!("reading {}", underlay.file)),
            Some(Err(why)) => Some(why.short(&underlay.file)),
            Some(Ok(_)) if UnderlayMap::new(underlay, self.origin).is_none() => {
                Some("the site has no place on earth to put it under: see Site".to_owned())
            }
            Some(Ok(_)) => None,
        }
    }
}

/// Whether a file is a picture rather than heights.
///
/// # Errors
/// As [`is_picture`].
pub fn tells_a_picture(path: &Path) -> Result<bool, FileError> {
    long::begins("looking at a file");
    is_picture(path)
}

/// Looks at a picture.
///
/// # Errors
/// As [`look_at_picture`].
pub fn look(path: &Path, frame: RasterFrame, watch: &dyn Watch) -> Result<PictureHead, PictureError> {
    long::begins("looking at a picture");
    look_at_picture(path, frame, watch)
}

/// Finds a picture, and reads it for the screen.
///
/// # Errors
/// Why it is not shown.
pub fn read(
    underlay: &Underlay,
    folders: &[PathBuf],
    known: &[PathBuf],
    watch: &dyn Watch,
) -> Result<ReadyPicture, NoPicture> {
    long::begins("reading a picture");
    let path = match find_underlay(underlay, folders, known) {
        UnderlayFound::At(path) => path,
        UnderlayFound::Changed(_) => return Err(NoPicture::Changed),
        UnderlayFound::Missing => return Err(NoPicture::Missing),
    };
    let picture = read_picture(&path, watch).map_err(|error| match error {
        PictureError::Cancelled => NoPicture::Cancelled,
        PictureError::File(error) => NoPicture::File(error),
    })?;
    Ok(ReadyPicture { path, tiles: ready(picture) })
}

/// Tiles as the screen takes them; each gives up its bytes as it goes.
fn ready(picture: Picture) -> Vec<ReadyTile> {
    let factor = picture.factor as f64;
    let (columns, rows) = (picture.columns as f64, picture.rows as f64);
    let tiles = picture.tiles.into_iter().map(|tile| {
        let (left, top) = (tile.left as f64 * factor, tile.top as f64 * factor);
        let right = (left + tile.width as f64 * factor).min(columns);
        let bottom = (top + tile.height as f64 * factor).min(rows);
        let (pixels, _) = tile.rgba.as_chunks::<4>();
        let pixels: Vec<Color32> =
            pixels.iter().map(|[r, g, b, a]| Color32::from_rgba_unmultiplied(*r, *g, *b, *a)).collect();
        let image = Arc::new(ColorImage::new([tile.width, tile.height], pixels));
        // Pixels are counted from their centres.
        ReadyTile { image, edges: [left - 0.5, top - 0.5, right - 0.5, bottom - 0.5] }
    });
    tiles.collect()
}

impl ReadyTile {
    /// Its pixels.
    pub fn image(&self) -> &Arc<ColorImage> {
        &self.image
    }

    /// Its edges in pixels of the file, counted from the centre of the first: left, top, right, bottom.
    pub fn edges(&self) -> [f64; 4] {
        self.edges
    }
}
