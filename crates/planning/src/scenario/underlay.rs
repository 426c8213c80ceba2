use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A picture that the plan is drawn over: an orthophoto, a site plan, a scan. No figure rests on it, and it stays a file of
/// its own: the scenario only says which one, and where it lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Underlay {
    /// Name of the picture's file, without folders: it is looked for beside the scenario's.
    pub file: String,
    /// Size of the file.
    pub bytes: u64,
    /// Digest of the file's bytes, in hexadecimal digits.
    pub digest: String,
    /// Pixels from left to right.
    pub columns: u32,
    /// Pixels from top to bottom.
    pub rows: u32,
    /// What the coordinates below are in.
    pub coordinates: UnderlayFrame,
    /// Centre of the pixel in the upper left corner.
    pub first: DVec2,
    /// From a pixel's centre to that of its neighbour on the right.
    pub right: DVec2,
    /// From a pixel's centre to that of its neighbour below.
    pub down: DVec2,
    /// How strong it is drawn: 1 hides the paper.
    #[serde(default = "usual_opacity", skip_serializing_if = "is_usual_opacity")]
    pub opacity: f64,
}

/// What is drawn over it stands out, and the picture can be read.
const USUAL_OPACITY: f64 = 0.8;

fn usual_opacity() -> f64 {
    USUAL_OPACITY
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_usual_opacity(opacity: &f64) -> bool {
    opacity.to_bits() == USUAL_OPACITY.to_bits()
}

/// What the coordinates of a picture are in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum UnderlayFrame {
    /// Metres of the site's own frame, east and north.
    Site,
    /// Degrees of longitude and latitude, WGS 84.
    Degrees,
    /// Metres of a zone of the universal transverse Mercator grid, WGS 84, north of the equator.
    UtmNorth {
        /// 1 to 60.
        zone: u8,
    },
    /// The same south of the equator.
    UtmSouth {
        /// 1 to 60.
        zone: u8,
    },
}

impl Underlay {
    /// As strong as a picture is drawn that nobody has changed.
    pub const USUAL_OPACITY: f64 = USUAL_OPACITY;

    /// Whether another one has the same pixels in the same place, whatever its strength.
    pub fn shows_as(&self, other: &Underlay) -> bool {
        *self == Underlay { opacity: self.opacity, ..other.clone() }
    }

    /// Coordinates of a place of the picture.
    ///
    /// # Units
    /// - `pixel`: columns from the left and rows from the top, 0 at the centre of the first pixel
    /// - returns: as [`Underlay::coordinates`] says
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::{Underlay, UnderlayFrame};
    /// // half a metre a pixel, north up
    /// let picture = Underlay {
    ///     file: "yard.png".to_owned(), bytes: 1, digest: "00".to_owned(), columns: 800, rows: 600,
    ///     coordinates: UnderlayFrame::Site,
    ///     first: DVec2::new(10.0, 300.0), right: DVec2::new(0.5, 0.0), down: DVec2::new(0.0, -0.5),
    ///     opacity: Underlay::USUAL_OPACITY,
    /// };
    /// assert_eq!(picture.at(DVec2::new(100.0, 200.0)), DVec2::new(60.0, 200.0));
    /// ```
    pub fn at(&self, pixel: DVec2) -> DVec2 {
        self.first + self.right * pixel.x + self.down * pixel.y
    }
}
