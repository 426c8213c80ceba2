use geo::{Bearing, Destination, Distance, Geodesic, GeodesicArea, Point, polygon};
use glam::{DMat3, DVec2, DVec3};
use obliquity_exchange::LocalFrame;
use obliquity_planning::GeoPoint;

fn place(latitude_deg: f64, longitude_deg: f64) -> GeoPoint {
    GeoPoint { latitude_deg, longitude_deg }
}

fn point(latitude_deg: f64, longitude_deg: f64) -> Point<f64> {
    Point::new(longitude_deg, latitude_deg)
}

/// Difference of two azimuths, within ±180°.
fn turn_deg(a: f64, b: f64) -> f64 {
    (a - b + 540.0).rem_euclid(360.0) - 180.0
}

/// Source: GeographicLib test set, GeodSolve0 (C. F. F. Karney), inverse problem.
#[test]
fn inverse_matches_karney_geodsolve0() {
    let (from, to) = (point(40.6, -73.8), point(49.0 + 1.0 / 60.0, 2.55));
    let tolerance_deg = 0.5e-5; // printed to five decimals
    assert!(turn_deg(Geodesic.bearing(from, to), 53.47022).abs() < tolerance_deg);
    assert!((Geodesic.distance(from, to) - 5853226.0).abs() < 0.5, "printed to the metre");
    let frame = LocalFrame::new(place(40.6, -73.8));
    let local_m = frame.to_local(place(49.0 + 1.0 / 60.0, 2.55));
    assert!((local_m.length() - 5853226.0).abs() < 0.5);
    assert!(turn_deg(local_m.x.atan2(local_m.y).to_degrees(), 53.47022).abs() < tolerance_deg);
}

/// Source: GeographicLib test set, GeodSolve1, direct problem.
#[test]
fn direct_matches_karney_geodsolve1() {
    let (sin, cos) = 53.5f64.to_radians().sin_cos();
    let frame = LocalFrame::new(place(40.63972222, -73.77888889));
    let end = frame.to_geo(DVec2::new(sin, cos) * 5_850_000.0);
    let tolerance_deg = 0.5e-5; // printed to five decimals
    assert!((end.latitude_deg - 49.01467).abs() < tolerance_deg);
    assert!((end.longitude_deg - 2.56106).abs() < tolerance_deg);
}

/// Source: GeographicLib test set, five of its lines: lat1, lon1, azi1, lat2, lon2, s12.
#[test]
#[allow(clippy::excessive_precision, reason = "the digits stand as the source prints them")]
fn lines_match_karney_test_set() {
    let lines = [
        (35.60777, -139.44815, 111.098748429560326, -11.17491, -69.95921, 8935244.5604818305),
        (55.52454, 106.05087, 22.020059880982801, 77.03196, 197.18234, 4105086.1713924406),
        (-21.97856, 142.59065, -32.44456876433189, 41.84138, 98.56635, 8394328.894657671),
        (-19.79938, -174.47484, 71.167275780171533, -11.99349, -154.35109, 2319004.8601169389),
        (-41.22777, 122.32875, 14.285113402275739, -7.57291, 130.37946, 3812686.035106021),
    ];
    for (lat1, lon1, azi1, lat2, lon2, s12) in lines {
        let (from, to) = (point(lat1, lon1), point(lat2, lon2));
        // The algorithm keeps some 15 nm over the globe; sums of a turn and 360° lose 5e-14° more.
        assert!((Geodesic.distance(from, to) - s12).abs() < 1e-7, "{lat1} {lon1}");
        assert!(turn_deg(Geodesic.bearing(from, to), azi1).abs() < 1e-12, "{lat1} {lon1}");
        let end = Geodesic.destination(from, azi1, s12);
        assert!((end.y() - lat2).abs() < 1e-12 && turn_deg(end.x(), lon2).abs() < 1e-12, "{lat1} {lon1}");
    }
}

/// Source: GeographicLib test set, GeodSolve4: two places nearly the same.
#[test]
fn a_very_short_distance_matches_karney_geodsolve4() {
    let frame = LocalFrame::new(place(36.493349428792, 0.0));
    let distance_m = frame.to_local(place(36.49334942879201, 0.0000008)).length();
    assert!((distance_m - 0.072).abs() < 0.0005, "printed to the millimetre: {distance_m}");
}

/// Cross-check: GeographicLib, 51° N 7° E, azimuth 37°, 500 m.
#[test]
fn a_site_sized_step_agrees_with_geographiclib() {
    let frame = LocalFrame::new(place(51.0, 7.0));
    let (sin, cos) = 37f64.to_radians().sin_cos();
    let end = frame.to_geo(DVec2::new(sin, cos) * 500.0);
    let tolerance_deg = 1e-11; // printed to twelve decimals; 1 µm on the ground
    assert!((end.latitude_deg - 51.003589348925).abs() < tolerance_deg);
    assert!((end.longitude_deg - 7.004286904361).abs() < tolerance_deg);
}

/// Derived: metres in a degree at 51° from the radii of curvature M 6374056.7459 and N 6391069.9849.
#[test]
fn scale_follows_the_radii_of_curvature() {
    let frame = LocalFrame::new(place(51.0, 7.0));
    let step_deg = 1e-3;
    // Central differences: what is left is third order, (1e-3°)² of the scale, far below the tolerance.
    let north = frame.to_local(place(51.0 + step_deg, 7.0)).y - frame.to_local(place(51.0 - step_deg, 7.0)).y;
    let east = frame.to_local(place(51.0, 7.0 + step_deg)).x - frame.to_local(place(51.0, 7.0 - step_deg)).x;
    let tolerance = 1e-3; // printed to four decimals, differences of a nanometre divided by a millidegree
    assert!((north / (2.0 * step_deg) - 111248.2769).abs() < tolerance, "{north}");
    assert!((east / (2.0 * step_deg) - 70197.6777).abs() < tolerance, "{east}");
}

/// Earth-centred coordinates on WGS 84.
///
/// Written from IOGP Guidance Note 7-2, method EPSG 9602.
fn geocentric_m(at: GeoPoint, height_m: f64) -> DVec3 {
    let (a, f) = (6378137.0, 1.0 / 298.257223563);
    let e2 = f * (2.0 - f);
    let (sin_lat, cos_lat) = at.latitude_deg.to_radians().sin_cos();
    let (sin_lon, cos_lon) = at.longitude_deg.to_radians().sin_cos();
    let n = a / (1.0 - e2 * sin_lat * sin_lat).sqrt();
    DVec3::new(
        (n + height_m) * cos_lat * cos_lon,
        (n + height_m) * cos_lat * sin_lon,
        (n * (1.0 - e2) + height_m) * sin_lat,
    )
}

/// East, north and up about an origin.
///
/// Written from IOGP Guidance Note 7-2, method EPSG 9836/9837.
fn topocentric_m(origin: GeoPoint, origin_height_m: f64, at: DVec3) -> DVec3 {
    let (sin_lat, cos_lat) = origin.latitude_deg.to_radians().sin_cos();
    let (sin_lon, cos_lon) = origin.longitude_deg.to_radians().sin_cos();
    let rows = DMat3::from_cols(
        DVec3::new(-sin_lon, cos_lon, 0.0),
        DVec3::new(-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat),
        DVec3::new(cos_lat * cos_lon, cos_lat * sin_lon, sin_lat),
    );
    rows.transpose() * (at - geocentric_m(origin, origin_height_m))
}

/// Source: IOGP Guidance Note 7-2, examples of EPSG 9602 and 9836/9837.
#[test]
fn topocentric_formulas_match_iogp_gn_7_2() {
    let at = place(53.0 + 48.0 / 60.0 + 33.82 / 3600.0, 2.0 + 7.0 / 60.0 + 46.38 / 3600.0);
    let centred = geocentric_m(at, 73.0);
    let tolerance_m = 1e-3; // printed to the millimetre
    assert!((centred - DVec3::new(3771793.968, 140253.342, 5124304.349)).abs().max_element() < tolerance_m);
    let origin = place(55.0, 5.0);
    let origin_m = geocentric_m(origin, 200.0);
    assert!(
        (origin_m - DVec3::new(3652755.3058, 319574.6799, 5201547.3536)).abs().max_element() < 1e-4,
        "printed to a tenth of a millimetre"
    );
    // The example starts from the printed geocentric coordinates.
    let local = topocentric_m(origin, 200.0, DVec3::new(3771793.968, 140253.342, 5124304.349));
    let printed = DVec3::new(-189013.869, -128642.040, -4220.171);
    assert!((local - printed).abs().max_element() < tolerance_m, "{local}");
}

/// Derived: out to 2 km the frame is the tangent plane within a millimetre; the formulas are those of the test above.
#[test]
fn frame_agrees_with_the_tangent_plane_within_a_millimetre_at_two_kilometres() {
    for latitude_deg in [0.0, 36.5, 51.0, 60.0, 78.0, -34.0, -67.0] {
        let frame = LocalFrame::new(place(latitude_deg, 151.2));
        for azimuth_deg in (0..360).step_by(15) {
            let (sin, cos) = f64::from(azimuth_deg).to_radians().sin_cos();
            for distance_m in [50.0, 500.0, 2000.0] {
                let local_m = DVec2::new(sin, cos) * distance_m;
                let at = frame.to_geo(local_m);
                let tangent_m = topocentric_m(frame.origin(), 0.0, geocentric_m(at, 0.0)).truncate();
                let apart_m = tangent_m.distance(local_m);
                assert!(apart_m < 1e-3, "{latitude_deg}° azimuth {azimuth_deg}°: {apart_m} m");
                let back_m = frame.to_local(at);
                assert!(back_m.distance(local_m) < 1e-6, "there and back: {back_m} {local_m}");
            }
        }
    }
}

/// Cross-check: GeographicLib, area and perimeter of 7–7.01° E, 51–51.005° N.
#[test]
fn area_in_the_frame_agrees_with_the_ellipsoid() {
    let corners = [(51.0, 7.0), (51.0, 7.01), (51.005, 7.01), (51.005, 7.0)];
    let frame = LocalFrame::new(place(51.0025, 7.005));
    let ring_m: Vec<DVec2> = corners.iter().map(|&(lat, lon)| frame.to_local(place(lat, lon))).collect();
    let area_m2 = obliquity_planning::polygon::area_m2(&ring_m);
    // The frame stretches areas by d²/6R² at a distance d: under 1e-9 within 450 m, 0.4 mm² here and there.
    assert!((area_m2 - 390447.7175).abs() < 2e-3, "{area_m2}");
    let ellipsoid = polygon![
        (x: 7.0, y: 51.0), (x: 7.01, y: 51.0), (x: 7.01, y: 51.005), (x: 7.0, y: 51.005),
    ];
    assert!((ellipsoid.geodesic_area_unsigned() - 390447.7175).abs() < 1e-3, "printed to four decimals");
    assert!((ellipsoid.geodesic_perimeter() - 2516.3614).abs() < 1e-3, "printed to four decimals");
}

/// Derived: in the frame with which a place lies somewhere it does lie there, to a hundredth of the last decimal kept.
#[test]
fn a_known_place_gives_the_frame_in_which_it_lies_there() {
    for latitude_deg in [-71.0, 0.0, 48.5] {
        for (east, north) in [(0.0, 0.0), (1_015.0, 2_015.0), (-18_000.0, 19_000.0)] {
            let (known, at_m) = (place(latitude_deg, 179.99), DVec2::new(east, north));
            let off_m = LocalFrame::with(known, at_m).to_local(known).distance(at_m);
            assert!(off_m < 1e-5, "{latitude_deg}° {at_m}: {off_m}");
        }
    }
}
