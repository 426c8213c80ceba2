use geo::{Bearing, Destination, Distance, Geodesic, Point};
use glam::DVec2;
use obliquity_planning::GeoPoint;

/// The local east-north frame of a site that lies somewhere on the earth.
///
/// Azimuthal equidistant about the origin: a place keeps its geodesic distance and azimuth from there, on the WGS 84
/// ellipsoid.
///
/// # Accuracy
/// Within 1 mm of the plane tangent at the origin out to 2 km, whatever the latitude (d³/6R² is 0.03 mm there); out
/// to 20 km the two differ by 4 cm.
///
/// # References
/// C. F. F. Karney, Algorithms for geodesics, *Journal of Geodesy* 87 (2013), sections 3 to 5; the frame itself is
/// textbook cartography.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalFrame {
    origin: GeoPoint,
}

impl LocalFrame {
    /// A frame about a place.
    pub fn new(origin: GeoPoint) -> Self {
        LocalFrame { origin }
    }

    /// The frame in which a place on the earth lies at a place of it.
    ///
    /// # Accuracy
    /// A round leaves the part of what was off by which meridians turn over the distance: at 71° of latitude and 26 km from
    /// there a hundredth, so that eight leave nothing that a coordinate holds.
    ///
    /// # Units
    /// - `place`: WGS 84 degrees
    /// - `at_m`: metres (east, north)
    pub fn with(place: GeoPoint, at_m: DVec2) -> Self {
        let begun = LocalFrame::new(LocalFrame::new(place).to_geo(-at_m));
        if at_m == DVec2::ZERO {
            return LocalFrame::new(place);
        }
        (0..8).fold(begun, |frame, _| LocalFrame::new(frame.to_geo(frame.to_local(place) - at_m)))
    }

    /// The place that the frame is about.
    pub fn origin(&self) -> GeoPoint {
        self.origin
    }

    /// Where a place lies in the frame.
    ///
    /// # Units
    /// - `place`: WGS 84 degrees
    /// - returns: metres (east, north)
    pub fn to_local(&self, place: GeoPoint) -> DVec2 {
        let (from, to) = (point(self.origin), point(place));
        let distance_m = Geodesic.distance(from, to);
        let azimuth_rad = Geodesic.bearing(from, to).to_radians();
        DVec2::new(azimuth_rad.sin(), azimuth_rad.cos()) * distance_m
    }

    /// Where a place of the frame lies on the earth.
    ///
    /// # Units
    /// - `place_m`: metres (east, north)
    /// - returns: WGS 84 degrees, the longitude within ±180
    pub fn to_geo(&self, place_m: DVec2) -> GeoPoint {
        let azimuth_deg = place_m.x.atan2(place_m.y).to_degrees();
        let place = Geodesic.destination(point(self.origin), azimuth_deg, place_m.length());
        GeoPoint { latitude_deg: place.y(), longitude_deg: place.x() }
    }
}

fn point(place: GeoPoint) -> Point<f64> {
    Point::new(place.longitude_deg, place.latitude_deg)
}
