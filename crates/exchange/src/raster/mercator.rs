//! The transverse Mercator projection.

use glam::DVec2;
use obliquity_planning::GeoPoint;

/// A transverse Mercator projection of an ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TransverseMercator {
    /// Semi-major axis, in metres.
    pub(super) semi_major_m: f64,
    /// Flattening of the ellipsoid.
    pub(super) flattening: f64,
    /// Natural origin, in degrees.
    pub(super) origin: GeoPoint,
    /// Scale on the central meridian.
    pub(super) scale: f64,
    /// Coordinates of the natural origin: easting and northing.
    pub(super) false_m: DVec2,
}

/// WGS 84: semi-major axis and inverse flattening. GRS 80 differs by 0.1 mm at the pole.
pub(super) const WGS_84: (f64, f64) = (6_378_137.0, 298.257_223_563);

impl TransverseMercator {
    /// A zone of the universal grid, 1 to 60; in the south northings count from 10,000 km.
    pub(super) fn utm(zone: u8, south: bool) -> Self {
        let origin = GeoPoint { latitude_deg: 0.0, longitude_deg: f64::from(zone) * 6.0 - 183.0 };
        TransverseMercator {
            semi_major_m: WGS_84.0,
            flattening: 1.0 / WGS_84.1,
            origin,
            scale: 0.9996,
            false_m: DVec2::new(500_000.0, if south { 10_000_000.0 } else { 0.0 }),
        }
    }

    /// Easting and northing of a place, in metres.
    ///
    /// Krüger's series to the fourth power of the third flattening.
    ///
    /// # Accuracy
    /// Well below a millimetre within 10° of the central meridian.
    ///
    /// # References
    /// L. Krüger, *Konforme Abbildung des Erdellipsoids in der Ebene*, 1912; IOGP Guidance Note 7-2, method 9807.
    pub(super) fn project(&self, place: GeoPoint) -> DVec2 {
        let (_, meridian) = self.complex(self.origin.latitude_deg.to_radians(), 0.0);
        let turn = (place.longitude_deg - self.origin.longitude_deg + 540.0).rem_euclid(360.0) - 180.0;
        let (east, north) = self.complex(place.latitude_deg.to_radians(), turn.to_radians());
        self.false_m + self.scale * DVec2::new(east, north - meridian)
    }

    /// Coordinates at scale 1 from the equator and the central meridian.
    fn complex(&self, latitude_rad: f64, longitude_rad: f64) -> (f64, f64) {
        let f = self.flattening;
        let n = f / (2.0 - f);
        let eccentricity = (f * (2.0 - f)).sqrt();
        let radius_m = self.semi_major_m / (1.0 + n) * (1.0 + n.powi(2) / 4.0 + n.powi(4) / 64.0);
        let sine = latitude_rad.sin();
        let conformal = (sine.atanh() - eccentricity * (eccentricity * sine).atanh()).sinh();
        let xi = conformal.atan2(longitude_rad.cos());
        let eta = (longitude_rad.sin() / conformal.hypot(longitude_rad.cos())).asinh();
        let terms = [
            n / 2.0 - 2.0 / 3.0 * n.powi(2) + 5.0 / 16.0 * n.powi(3) + 41.0 / 180.0 * n.powi(4),
            13.0 / 48.0 * n.powi(2) - 3.0 / 5.0 * n.powi(3) + 557.0 / 1440.0 * n.powi(4),
            61.0 / 240.0 * n.powi(3) - 103.0 / 140.0 * n.powi(4),
            49561.0 / 161_280.0 * n.powi(4),
        ];
        let (mut east, mut north) = (eta, xi);
        for (term, k) in terms.into_iter().zip([2.0, 4.0, 6.0, 8.0]) {
            east += term * (k * xi).cos() * (k * eta).sinh();
            north += term * (k * xi).sin() * (k * eta).cosh();
        }
        (east * radius_m, north * radius_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn geo(latitude_deg: f64, longitude_deg: f64) -> GeoPoint {
        GeoPoint { latitude_deg, longitude_deg }
    }

    fn close(found: DVec2, expected: (f64, f64), tolerance_m: f64) {
        assert!(
            (found - DVec2::from(expected)).abs().max_element() <= tolerance_m,
            "{found} for {expected:?}"
        );
    }

    /// Source: IOGP Guidance Note 7-2 (373-07-02, 2019), method 9807; PROJ 9.5.1 gives 577274.984, 69740.492. And the
    /// worked example of a national mapping agency on the same grid.
    #[test]
    fn transverse_mercator_matches_iogp_2019() {
        let grid = TransverseMercator {
            semi_major_m: 6_377_563.396,
            flattening: 1.0 / 299.324_964_6,
            origin: geo(49.0, -2.0),
            scale: 0.999_601_271_7,
            false_m: DVec2::new(400_000.0, -100_000.0),
        };
        close(grid.project(geo(50.5, 0.5)), (577_274.99, 69_740.50), 0.011); // the note rounds
        close(grid.project(geo(50.5, 0.5)), (577_274.984, 69_740.492), 0.001); // printed to a millimetre
        let place = geo(52.0 + 39.0 / 60.0 + 27.2531 / 3600.0, 1.0 + 43.0 / 60.0 + 4.5177 / 3600.0);
        close(grid.project(place), (651_409.903, 313_177.270), 0.001); // printed to a millimetre
    }

    /// Cross-check: pyproj (PROJ), zones 32, 31, 56 south and 18.
    #[test]
    fn utm_agrees_with_proj() {
        let cases = [
            (45.0, 9.0, 32, false, (500_000.0, 4_982_950.400_2)),
            (48.8566, 2.3522, 31, false, (452_482.532_7, 5_411_717.176_9)),
            (51.0, 7.0, 32, false, (359_666.703_7, 5_651_728.682_7)),
            (-33.8568, 151.2153, 56, true, (334_900.569_7, 6_252_288.752_9)),
            (40.7128, -74.0060, 18, false, (583_959.372_3, 4_507_350.998_2)),
            (0.0, 3.0, 31, false, (500_000.0, 0.0)),
            (84.0, 0.0, 31, false, (465_005.344_9, 9_329_005.182_4)),
        ];
        for (latitude, longitude, zone, south, expected) in cases {
            let found = TransverseMercator::utm(zone, south).project(geo(latitude, longitude));
            close(found, expected, 1e-4); // printed to 0.1 mm
        }
    }
}
