//! Pictures to draw on: written by a general library, put where another one puts them, and bounded whatever they hold.

use glam::DVec2;
use obliquity_exchange::{
    FileErrorKind, PictureError, PictureHead, RasterFrame, UnderlayFound, UnderlayMap, find_underlay,
    is_picture, look_at_picture, parse_scenario, read_picture, write_scenario,
};
use obliquity_planning::{Cancelled, GeoPoint, NoWatch, Underlay, UnderlayFrame, Watch};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn picture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/pictures").join(name)
}

fn look(path: &Path) -> PictureHead {
    look_at_picture(path, RasterFrame::OfFile, &NoWatch).unwrap()
}

fn refused(path: &Path) -> obliquity_exchange::FileError {
    match look_at_picture(path, RasterFrame::OfFile, &NoWatch) {
        Err(PictureError::File(error)) => error,
        other => panic!("{other:?}"),
    }
}

fn geo(latitude_deg: f64, longitude_deg: f64) -> GeoPoint {
    GeoPoint { latitude_deg, longitude_deg }
}

const CORNERS: [(f64, f64); 4] = [(0.0, 0.0), (95.0, 0.0), (0.0, 79.0), (95.0, 79.0)];

/// Cross-check: rasterio 1.4 (GDAL 3.10.3) wrote the files and says where a pixel's centre lies; pyproj 3.7.2 (PROJ 9.5.1)
/// takes that to the azimuthal equidistant projection of WGS 84 about the site's origin. Meridian convergence is −1.55° at
/// the first, 0.99° at the third.
#[test]
fn pixels_lie_where_general_libraries_put_them() {
    let tolerance_m = 2e-6; // printed to a micrometre; the grid's own numbers are of the order of 1e7 m, of which 1e-9 is left
    let cases = [
        (
            "utm_tiled_jpeg.tif",
            geo(51.0, 7.0),
            UnderlayFrame::UtmNorth { zone: 32 },
            [(0.058068, -0.431324), (47.548102, 0.857488), (1.129814, -39.923033), (48.619848, -38.634227)],
        ),
        (
            "turned.tif",
            geo(51.0, 7.0),
            UnderlayFrame::UtmNorth { zone: 32 },
            [
                (-0.097909, -0.527111),
                (41.674071, -23.155986),
                (-18.915604, -35.263806),
                (22.856371, -57.892684),
            ],
        ),
        (
            "bigtiff_deflate_alpha.tif",
            geo(-33.8568, 151.2153),
            UnderlayFrame::UtmSouth { zone: 56 },
            [(0.171603, -0.505975), (47.667491, -1.330471), (-0.514034, -40.002551), (46.981854, -40.827055)],
        ),
        (
            "wgs84_lzw_point.tif",
            geo(51.0, 7.0),
            UnderlayFrame::Degrees,
            [(0.035099, -0.055624), (6.703878, -0.055620), (0.035099, -8.844238), (6.703890, -8.844234)],
        ),
    ];
    for (name, origin, frame, expected) in cases {
        let head = look(&picture(name));
        assert!(head.is_placed, "{name}");
        assert_eq!((head.underlay.columns, head.underlay.rows), (96, 80), "{name}");
        assert_eq!(head.underlay.coordinates, frame, "{name}");
        let map = UnderlayMap::new(&head.underlay, Some(origin)).unwrap();
        for (pixel, expected) in CORNERS.into_iter().zip(expected) {
            let (found, expected) = (map.to_local(pixel.into()), DVec2::from(expected));
            assert!(found.distance(expected) < tolerance_m, "{name}, {pixel:?}: {found} for {expected}");
        }
        assert!(
            UnderlayMap::new(&head.underlay, None).is_none(),
            "a site that is nowhere has no place for it"
        );
    }
}

/// Cross-check: as above, 18 km from the origin, where the frame itself is bent.
#[test]
fn far_pixels_lie_right_too() {
    let head = look(&picture("utm_tiled_jpeg.tif"));
    let map = UnderlayMap::new(&head.underlay, Some(geo(51.0, 7.0))).unwrap();
    let found = map.to_local(DVec2::new(20_000.0, -30_000.0));
    assert!(found.distance(DVec2::new(9590.742067, 15268.247887)) < 1e-5, "{found}");
}

/// Source: check values 8.11, computed with pyproj: convergence of the universal grid. Grid north is turned by it from the
/// site's own north.
#[test]
fn pictures_are_turned_by_meridian_convergence() {
    let cases = [
        (48.8566, 2.3522, UnderlayFrame::UtmNorth { zone: 31 }, (452482.5327, 5411717.1769), -0.487845),
        (51.0, 7.0, UnderlayFrame::UtmNorth { zone: 32 }, (359666.7037, 5651728.6827), -1.554544),
        (-33.8568, 151.2153, UnderlayFrame::UtmSouth { zone: 56 }, (334900.5697, 6252288.7529), 0.994515),
        (40.7128, -74.0060, UnderlayFrame::UtmNorth { zone: 18 }, (583959.3723, 4507350.9982), 0.648392),
        (84.0, 0.0, UnderlayFrame::UtmNorth { zone: 31 }, (465005.3449, 9329005.1824), -2.983595),
        (45.0, 9.0, UnderlayFrame::UtmNorth { zone: 32 }, (500000.0, 4982950.4002), 0.0),
    ];
    for (latitude, longitude, coordinates, first, convergence_deg) in cases {
        let underlay =
            Underlay { coordinates, first: first.into(), ..look(&picture("quarters.png")).underlay };
        let map = UnderlayMap::new(&underlay, Some(geo(latitude, longitude))).unwrap();
        // A metre to the grid's north from the origin; the grid's numbers are printed to 0.1 mm.
        let (here, north) = (map.to_local(DVec2::ZERO), map.to_local(DVec2::new(0.0, -1000.0)));
        assert!(here.length() < 2e-4, "{here}");
        let from = north - here;
        // Clockwise from the site's north to the grid's; over a kilometre the convergence itself changes below 1e-4°, and
        // 0.1 mm are 6e-6°.
        let turned_deg = from.x.atan2(from.y).to_degrees();
        assert!(
            (turned_deg - convergence_deg).abs() < 2e-4,
            "{latitude}: {turned_deg} for {convergence_deg}"
        );
    }
}

/// Colours of the quarters, as the pictures were made: red, green, blue, grey.
const QUARTERS: [[u8; 3]; 4] = [[200, 40, 40], [40, 200, 40], [40, 40, 200], [230, 230, 230]];

/// Derived: every way of keeping pixels gives the colours that were put in; a clear quarter stays clear.
#[test]
fn every_kind_of_file_gives_its_colours() {
    let lossy = 4; // JPEG at quality 95, in the middle of an even quarter
    let cases = [
        ("utm_tiled_jpeg.tif", lossy, false),
        ("rgb_jpeg_strips.tif", lossy, false),
        ("bigtiff_deflate_alpha.tif", 0, true),
        ("wgs84_lzw_point.tif", 0, false),
        ("turned.tif", 0, false),
        ("sixteen_bits_nodata.tif", 0, false),
        ("nowhere.tif", 0, false),
        ("quarters.png", 0, false),
        ("interlaced.png", 0, false),
        ("quarters.jpg", lossy, false),
        ("progressive.jpg", lossy, false),
    ];
    for (name, tolerance, clear) in cases {
        let read = read_picture(&picture(name), &NoWatch).unwrap();
        assert_eq!((read.columns, read.rows, read.factor, read.tiles.len()), (96, 80, 1, 1), "{name}");
        let tile = &read.tiles[0];
        for (quarter, (column, row)) in [(24, 20), (72, 20), (24, 60), (72, 60)].into_iter().enumerate() {
            let pixel = &tile.rgba[4 * (row * 96 + column)..][..4];
            assert_eq!(pixel[3], if clear && quarter == 0 { 0 } else { 255 }, "{name}, {quarter}");
            if pixel[3] > 0 {
                let off = pixel.iter().zip(QUARTERS[quarter]).map(|(a, b)| a.abs_diff(b)).max().unwrap();
                assert!(off <= tolerance, "{name}, {quarter}: {pixel:?}");
            }
        }
    }
    let palette = read_picture(&picture("palette.png"), &NoWatch).unwrap();
    assert_eq!(palette.tiles[0].rgba[3], 255);
}

#[test]
fn what_is_not_read_is_refused_with_its_name_and_the_mend() {
    for (name, kind, told) in [
        ("planes.tif", FileErrorKind::Format, "export it interleaved by pixel"),
        ("palette.tif", FileErrorKind::Format, "export it as RGB of 8 bits"),
        ("gauss.tif", FileErrorKind::Invalid, "system 31467; convert the raster to a UTM zone"),
    ] {
        let error = refused(&picture(name));
        assert_eq!(error.kind, kind, "{name}: {error}");
        assert!(error.to_string().contains(told), "{error}");
    }
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("notes.png");
    fs::write(&other, "not a picture").unwrap();
    assert_eq!(refused(&other).kind, FileErrorKind::Format);
    assert_eq!(refused(&folder.path().join("none.png")).kind, FileErrorKind::Unreadable);
}

/// Heights and pictures are told apart by what they hold.
#[test]
fn a_picture_is_told_from_heights() {
    for name in ["utm_tiled_jpeg.tif", "palette.tif", "quarters.png", "progressive.jpg", "nowhere.tif"] {
        assert!(is_picture(&picture(name)).unwrap(), "{name}");
    }
    let heights = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/pictures/heights.tif");
    assert!(!is_picture(&heights).unwrap());
}

/// Derived: a world file gives the centre of the first pixel; its numbers are in what the .prj file beside it says.
#[test]
fn a_world_file_places_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.png");
    fs::copy(picture("quarters.png"), &path).unwrap();
    assert!(!look(&path).is_placed);
    fs::write(folder.path().join("plan.pgw"), "0.5\n0\n0\n-0.5\n359666.75\n5651728.25\n").unwrap();
    assert_eq!(refused(&path).kind, FileErrorKind::Unplaced);
    let utm = look_at_picture(&path, RasterFrame::UtmNorth(32), &NoWatch).unwrap();
    let same = look(&picture("utm_tiled_jpeg.tif")).underlay;
    let lie = |of: &Underlay| (of.coordinates, of.first, of.right, of.down);
    assert_eq!(lie(&utm.underlay), lie(&same), "the GeoTIFF's corner is half a pixel away");
    let local = look_at_picture(&path, RasterFrame::Local, &NoWatch).unwrap();
    assert_eq!(local.underlay.coordinates, UnderlayFrame::Site);
    fs::write(
        folder.path().join("plan.prj"),
        r#"PROJCS["WGS_1984_UTM_Zone_32N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]"#,
    )
    .unwrap();
    assert_eq!(lie(&look(&path).underlay), lie(&same));
    for (world, kind) in [
        ("0.5\n0\n0\n-0.5\n359666.75\n", FileErrorKind::Syntax),
        ("0\n0\n0\n0\n1\n1\n", FileErrorKind::Invalid),
        ("1\n2\n2\n4\n1\n1\n", FileErrorKind::Invalid),
    ] {
        fs::write(folder.path().join("plan.pgw"), world).unwrap();
        assert_eq!(refused(&path).kind, kind, "{world:?}");
    }
}

/// An origin offered for a site that is nowhere puts the middle of the picture where it is asked to.
#[test]
fn an_origin_can_be_taken_from_a_picture() {
    for name in ["utm_tiled_jpeg.tif", "bigtiff_deflate_alpha.tif", "wgs84_lzw_point.tif"] {
        let underlay = look(&picture(name)).underlay;
        let place = DVec2::new(150.0, 100.0);
        let origin = UnderlayMap::origin_for(&underlay, place).unwrap();
        let middle = UnderlayMap::new(&underlay, Some(origin)).unwrap().to_local(DVec2::new(47.5, 39.5));
        // The origin is rounded to 1e-7°, 11 mm.
        assert!(middle.distance(place) < 0.02, "{name}: {middle}");
    }
    assert!(UnderlayMap::origin_for(&look(&picture("quarters.png")).underlay, DVec2::ZERO).is_none());
}

/// By name, size and digest: a file of the name that holds something else is told apart from none at all.
#[test]
fn a_picture_is_found_by_name_size_and_contents() {
    let (folder, elsewhere) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let underlay = look(&picture("quarters.png")).underlay;
    let folders = [folder.path().to_owned()];
    assert_eq!(find_underlay(&underlay, &folders, &[]), UnderlayFound::Missing);
    let known = elsewhere.path().join("quarters.png");
    fs::copy(picture("quarters.png"), &known).unwrap();
    assert_eq!(
        find_underlay(&underlay, &folders, std::slice::from_ref(&known)),
        UnderlayFound::At(known.clone())
    );
    let beside = folder.path().join("quarters.png");
    let mut bytes = fs::read(&known).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    fs::write(&beside, &bytes).unwrap();
    assert_eq!(find_underlay(&underlay, &folders, &[]), UnderlayFound::Changed(beside.clone()));
    assert_eq!(find_underlay(&underlay, &folders, std::slice::from_ref(&known)), UnderlayFound::At(known));
    fs::copy(picture("quarters.png"), &beside).unwrap();
    assert_eq!(find_underlay(&underlay, &folders, &[]), UnderlayFound::At(beside));
}

/// A scenario without a picture is written as ever; one with a picture comes back, and cannot reach out of its folder.
#[test]
fn a_scenario_names_its_picture_and_old_files_stay_as_they_are() {
    let mut scenario = crate::sample::scenario();
    let before = write_scenario(&scenario);
    assert!(!before.contains("underlay"));
    scenario.underlay = Some(Arc::new(look(&picture("utm_tiled_jpeg.tif")).underlay));
    let text = write_scenario(&scenario);
    assert_eq!(parse_scenario(&text, "a.ron").unwrap(), scenario);
    for (from, to, told) in [
        ("\"utm_tiled_jpeg.tif\"", "\"../../etc/passwd\"", "named without folders"),
        ("\"utm_tiled_jpeg.tif\"", "\"C:\\\\a.tif\"", "named without folders"),
        ("\"utm_tiled_jpeg.tif\"", "\"..\"", "named without folders"),
        ("columns: 96", "columns: 0", "from 1 to 100000 columns"),
        ("zone: 32", "zone: 61", "from 1 to 60"),
        ("right: (0.5, 0.0)", "right: (0.0, 0.0)", "have a size"),
        ("right: (0.5, 0.0)", "right: (NaN, 0.0)", "have a size"),
    ] {
        assert!(text.contains(from), "{from}: {text}");
        let error = parse_scenario(&text.replacen(from, to, 1), "a.ron").unwrap_err();
        assert!(error.to_string().contains(told), "{to}: {error}");
    }
}

struct After(std::sync::atomic::AtomicU64);

impl Watch for After {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        use std::sync::atomic::Ordering;
        if self.0.load(Ordering::Relaxed) == 0 {
            return Err(Cancelled);
        }
        self.0.fetch_sub(1, Ordering::Relaxed);
        Ok(())
    }
}

#[test]
fn reading_can_be_called_off() {
    for name in ["utm_tiled_jpeg.tif", "quarters.png", "quarters.jpg"] {
        let after = After(std::sync::atomic::AtomicU64::new(0));
        assert_eq!(read_picture(&picture(name), &after), Err(PictureError::Cancelled), "{name}");
    }
    let after = After(std::sync::atomic::AtomicU64::new(3));
    assert_eq!(read_picture(&picture("utm_tiled_jpeg.tif"), &after), Err(PictureError::Cancelled));
}

/// Hostile: cut anywhere, or with bytes turned, a picture is an error or another picture, never a panic.
#[test]
fn broken_pictures_are_errors_and_no_panics() {
    let folder = tempfile::tempdir().unwrap();
    for name in
        ["utm_tiled_jpeg.tif", "bigtiff_deflate_alpha.tif", "quarters.png", "interlaced.png", "quarters.jpg"]
    {
        let whole = fs::read(picture(name)).unwrap();
        let path = folder.path().join(name);
        for cut in (0..whole.len()).step_by(whole.len() / 60 + 1) {
            fs::write(&path, &whole[..cut]).unwrap();
            assert!(
                look_at_picture(&path, RasterFrame::OfFile, &NoWatch).is_err()
                    || read_picture(&path, &NoWatch).is_err()
                    || whole.len() - cut < 128,
                "{name} cut at {cut}"
            );
        }
        for at in (0..whole.len()).step_by(whole.len() / 150 + 1) {
            for turn in [1, 0x80, 0xff] {
                let mut bytes = whole.clone();
                bytes[at] ^= turn;
                fs::write(&path, &bytes).unwrap();
                let _ = look_at_picture(&path, RasterFrame::OfFile, &NoWatch);
                let _ = read_picture(&path, &NoWatch);
            }
        }
    }
}
