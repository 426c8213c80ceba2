//! How pictures lie: from their pixels to the site's frame.

use crate::LocalFrame;
use crate::raster::mercator::TransverseMercator;
use crate::raster::source::{Affine, Frame};
use glam::DVec2;
use obliquity_planning::{GeoPoint, Underlay, UnderlayFrame};

/// From pixels, counted from the centre of the first, to coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lie {
    pub(super) frame: UnderlayFrame,
    pub(super) first: DVec2,
    pub(super) right: DVec2,
    pub(super) down: DVec2,
}

impl Lie {
    pub(super) fn new(to_world: &Affine, frame: UnderlayFrame) -> Self {
        Lie { frame, first: to_world.origin, right: to_world.across, down: to_world.down }
    }
}

/// What a raster's coordinates are for a scenario; why they cannot be where they are of a projection that no zone has.
pub(super) fn frame_of(frame: &Frame) -> Result<UnderlayFrame, String> {
    let projection = match frame {
        Frame::Local => return Ok(UnderlayFrame::Site),
        Frame::Geographic => return Ok(UnderlayFrame::Degrees),
        Frame::Projected(projection) => projection,
    };
    let is = |zone: &u8, south: bool| TransverseMercator::utm(*zone, south) == *projection;
    let north = (1..=60).find(|zone| is(zone, false)).map(|zone| UnderlayFrame::UtmNorth { zone });
    let south = || (1..=60).find(|zone| is(zone, true)).map(|zone| UnderlayFrame::UtmSouth { zone });
    north.or_else(south).ok_or_else(|| {
        format!(
            "coordinates of a picture must be those of a UTM zone or degrees, but these are of a transverse Mercator about \
             {}° of longitude; convert the picture to a UTM zone of WGS 84",
            projection.origin.longitude_deg
        )
    })
}

/// Takes pixels of a picture to the site's frame: through the earth where its coordinates are on it, so that meridian
/// convergence and the scale of its grid are taken out everywhere and not at one place only.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderlayMap {
    underlay: Underlay,
    local: Option<LocalFrame>,
}

impl UnderlayMap {
    /// For a site whose origin lies somewhere; nothing where it lies nowhere and the picture's coordinates are on the earth.
    pub fn new(underlay: &Underlay, origin: Option<GeoPoint>) -> Option<Self> {
        if underlay.coordinates != UnderlayFrame::Site && origin.is_none() {
            return None;
        }
        Some(UnderlayMap { underlay: underlay.clone(), local: origin.map(LocalFrame::new) })
    }

    /// Where a pixel lies in the site's frame.
    ///
    /// # Units
    /// - `pixel`: columns from the left and rows from the top, 0 at the centre of the first pixel
    /// - returns: metres, east and north
    pub fn to_local(&self, pixel: DVec2) -> DVec2 {
        let at = self.underlay.at(pixel);
        match (geo(self.underlay.coordinates, at), self.local) {
            (Some(place), Some(local)) => local.to_local(place),
            _ => at,
        }
    }
}

/// Where the middle of a picture lies on the earth, if its coordinates are on it.
pub(crate) fn middle(underlay: &Underlay) -> Option<GeoPoint> {
    let size = DVec2::new(f64::from(underlay.columns), f64::from(underlay.rows));
    geo(underlay.coordinates, underlay.at((size - DVec2::ONE) / 2.0))
}

fn geo(frame: UnderlayFrame, at: DVec2) -> Option<GeoPoint> {
    match frame {
        UnderlayFrame::Site => None,
        UnderlayFrame::Degrees => Some(GeoPoint { latitude_deg: at.y, longitude_deg: at.x }),
        UnderlayFrame::UtmNorth { zone } => Some(TransverseMercator::utm(zone, false).unproject(at)),
        UnderlayFrame::UtmSouth { zone } => Some(TransverseMercator::utm(zone, true).unproject(at)),
    }
}

impl UnderlayMap {
    /// An origin with which the middle of a picture lies at a place of the site's frame; nothing for a picture in the site's
    /// own metres.
    ///
    /// # Units
    /// - `place_m`: metres, east and north
    /// - returns: degrees, rounded to a ten-millionth: a centimetre
    pub fn origin_for(underlay: &Underlay, place_m: DVec2) -> Option<GeoPoint> {
        let round = |deg: f64| (deg * 1e7).round() / 1e7;
        let at = LocalFrame::new(middle(underlay)?).to_geo(-place_m);
        Some(GeoPoint { latitude_deg: round(at.latitude_deg), longitude_deg: round(at.longitude_deg) })
    }
}
