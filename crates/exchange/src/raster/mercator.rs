//! The transverse Mercator projection.

use glam::DVec2;
use obliquity_planning::GeoPoint;

/// A transverse Mercator projection of an ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct TransverseMercator {
    /// Semi-major axis, in metres.
    pub(crate) semi_major_m: f64,
    /// Flattening of the ellipsoid.
    pub(crate) flattening: f64,
    /// Natural origin, in degrees.
    pub(crate) origin: GeoPoint,
    /// Scale on the central meridian.
    pub(crate) scale: f64,
    /// Coordinates of the natural origin: easting and northing.
    pub(crate) false_m: DVec2,
}

/// WGS 84: semi-major axis and inverse flattening. GRS 80 differs by 0.1 mm at the pole.
pub(crate) const WGS_84: (f64, f64) = (6_378_137.0, 298.257_223_563);

/// The zone of the universal grid that a place lies in, 1 to 60: 6° wide from 180° west on; zone 32 reaches west to 3° at
/// the coast of Norway, and 31, 33, 35 and 37 share the north of Spitsbergen without the zones between them.
///
/// The grid ends at 80° south and 84° north; beyond, the zone of the longitude.
///
/// # References
/// NGA.STND.0037 *Universal Grids and Grid Reference Systems*, 2014, 2-5 (from memory).
///
/// # Examples
/// ```
/// use obliquity_exchange::utm_zone;
/// use obliquity_planning::GeoPoint;
/// assert_eq!(utm_zone(GeoPoint { latitude_deg: 48.0, longitude_deg: 9.1 }), 32);
/// ```
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 60")]
pub fn utm_zone(place: GeoPoint) -> u8 {
    let (north, east) = (place.latitude_deg, (place.longitude_deg + 180.0).rem_euclid(360.0) - 180.0);
    if (56.0..64.0).contains(&north) && (3.0..12.0).contains(&east) {
        return 32;
    }
    if (72.0..=84.0).contains(&north) && (0.0..42.0).contains(&east) {
        return match east {
            ..9.0 => 31,
            ..21.0 => 33,
            ..33.0 => 35,
            _ => 37,
        };
    }
    // A rounding error may put the last place of zone 60 at 180° east.
    ((east + 180.0) / 6.0).floor().clamp(0.0, 59.0) as u8 + 1
}

impl TransverseMercator {
    /// A zone of the universal grid, 1 to 60; in the south northings count from 10,000 km.
    pub(crate) fn utm(zone: u8, south: bool) -> Self {
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
    pub(crate) fn project(&self, place: GeoPoint) -> DVec2 {
        let (_, meridian) = self.complex(self.origin.latitude_deg.to_radians(), 0.0);
        let turn = (place.longitude_deg - self.origin.longitude_deg + 540.0).rem_euclid(360.0) - 180.0;
        let (east, north) = self.complex(place.latitude_deg.to_radians(), turn.to_radians());
        self.false_m + self.scale * DVec2::new(east, north - meridian)
    }

    /// The place of an easting and northing, in metres.
    ///
    /// The inverse of [`TransverseMercator::project`]: Krüger's series to the fourth power of the third flattening, then the
    /// latitude from the conformal one by iteration.
    ///
    /// # Accuracy
    /// Well below a millimetre within 10° of the central meridian.
    ///
    /// # References
    /// As [`TransverseMercator::project`]; the note's reverse case.
    pub(crate) fn unproject(&self, at_m: DVec2) -> GeoPoint {
        let f = self.flattening;
        let n = f / (2.0 - f);
        let eccentricity = (f * (2.0 - f)).sqrt();
        let (_, meridian) = self.complex(self.origin.latitude_deg.to_radians(), 0.0);
        let from = (at_m - self.false_m) / self.scale;
        let radius_m = self.radius_m();
        let (eta, xi) = (from.x / radius_m, (from.y + meridian) / radius_m);
        let terms = [
            n / 2.0 - 2.0 / 3.0 * n.powi(2) + 37.0 / 96.0 * n.powi(3) - 1.0 / 360.0 * n.powi(4),
            1.0 / 48.0 * n.powi(2) + 1.0 / 15.0 * n.powi(3) - 437.0 / 1440.0 * n.powi(4),
            17.0 / 480.0 * n.powi(3) - 37.0 / 840.0 * n.powi(4),
            4397.0 / 161_280.0 * n.powi(4),
        ];
        let (mut east, mut north) = (eta, xi);
        for (term, k) in terms.into_iter().zip([2.0, 4.0, 6.0, 8.0]) {
            east -= term * (k * xi).cos() * (k * eta).sinh();
            north -= term * (k * xi).sin() * (k * eta).cosh();
        }
        let conformal = (north.sin() / east.cosh()).clamp(-1.0, 1.0).atanh();
        let mut sine = conformal.tanh();
        // Each round is e² ≈ 1/150 of the one before.
        for _ in 0..8 {
            sine = (conformal + eccentricity * (eccentricity * sine).atanh()).tanh();
        }
        let turn = east.sinh().atan2(north.cos());
        let longitude_deg = self.origin.longitude_deg + turn.to_degrees();
        let longitude_deg = (longitude_deg + 180.0).rem_euclid(360.0) - 180.0;
        GeoPoint { latitude_deg: sine.asin().to_degrees(), longitude_deg }
    }

    /// Radius of the sphere whose meridian is as long as the ellipsoid's.
    fn radius_m(&self) -> f64 {
        let n = self.flattening / (2.0 - self.flattening);
        self.semi_major_m / (1.0 + n) * (1.0 + n.powi(2) / 4.0 + n.powi(4) / 64.0)
    }

    /// Coordinates at scale 1 from the equator and the central meridian.
    fn complex(&self, latitude_rad: f64, longitude_rad: f64) -> (f64, f64) {
        let f = self.flattening;
        let n = f / (2.0 - f);
        let eccentricity = (f * (2.0 - f)).sqrt();
        let radius_m = self.radius_m();
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
    use proptest::prelude::*;

    fn geo(latitude_deg: f64, longitude_deg: f64) -> GeoPoint {
        GeoPoint { latitude_deg, longitude_deg }
    }

    fn close(found: DVec2, expected: (f64, f64), tolerance_m: f64) {
        assert!(
            (found - DVec2::from(expected)).abs().max_element() <= tolerance_m,
            "{found} for {expected:?}"
        );
    }

    /// Memory: the grid's zones are 6° wide and begin at 180° west; at the Norwegian coast 32 takes the half of 31 that
    /// lies east of 3°, and at Spitsbergen 32, 34 and 36 are not used.
    #[test]
    fn zones_are_those_of_the_grid_with_its_exceptions() {
        let cases = [
            ((48.0, 9.1), 32),
            ((48.0, 5.999), 31),
            ((48.0, 6.0), 32),
            ((-31.4, -98.7), 14),
            ((0.0, -180.0), 1),
            ((0.0, 180.0), 1),
            ((0.0, 179.999), 60),
            ((0.0, -0.001), 30),
            ((60.4, 5.3), 32),
            ((60.4, 2.9), 31),
            ((55.9, 5.3), 31),
            ((64.0, 5.3), 31),
            ((78.2, 15.6), 33),
            ((78.0, 8.0), 31),
            ((78.0, 10.0), 33),
            ((78.0, 25.0), 35),
            ((78.0, 34.0), 37),
            ((71.9, 10.0), 32),
        ];
        for ((latitude, longitude), zone) in cases {
            assert_eq!(utm_zone(geo(latitude, longitude)), zone, "{latitude}, {longitude}");
        }
    }

    proptest! {
        /// Derived: no place is farther than half a zone of 6° from the central meridian of its zone, and none farther
        /// than 9° where the grid makes an exception; turning once round the earth changes nothing.
        #[test]
        fn a_place_lies_in_the_zone_whose_meridian_is_nearest(
            latitude in -80.0..84.0_f64, longitude in -180.0..180.0_f64,
        ) {
            let zone = utm_zone(geo(latitude, longitude));
            prop_assert!((1..=60).contains(&zone));
            let from_meridian = longitude - TransverseMercator::utm(zone, false).origin.longitude_deg;
            let exception = latitude >= 56.0 && (0.0..42.0).contains(&longitude);
            prop_assert!(from_meridian.abs() <= if exception { 9.0 } else { 3.0 }, "{zone}: {from_meridian}");
            prop_assert_eq!(utm_zone(geo(latitude, longitude + 360.0)), zone);
            prop_assert_eq!(utm_zone(geo(latitude, longitude - 360.0)), zone);
        }
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
        let back = grid.unproject(DVec2::new(577_274.984, 69_740.492));
        close(DVec2::new(back.latitude_deg, back.longitude_deg), (50.5, 0.5), 1e-8); // a millimetre
    }

    proptest! {
        /// Derived: back is the way there, within 0.1 mm as far as a zone is ever used.
        #[test]
        fn the_way_back_is_the_way_there(
            latitude in -84.0..84.0_f64, turn in -9.0..9.0_f64, zone in 1_u8..=60, half in 0_u8..2,
        ) {
            let grid = TransverseMercator::utm(zone, half == 1);
            let place = geo(latitude, (grid.origin.longitude_deg + turn + 180.0).rem_euclid(360.0) - 180.0);
            let back = grid.unproject(grid.project(place));
            let apart = DVec2::new(back.latitude_deg - place.latitude_deg, back.longitude_deg - place.longitude_deg);
            // 1e-9° of latitude are 0.1 mm.
            prop_assert!(apart.abs().max_element() < 1e-9, "{place:?}: {apart}");
        }
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
