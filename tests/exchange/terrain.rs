//! Terrain from rasters of heights.

#[path = "../../examples/terrain_shapes.rs"]
mod terrain_shapes;

use crate::hostile::{feed, kept};
use glam::DVec2;
use obliquity_exchange::{
    FileErrorKind, RasterFrame, TerrainFor, TerrainImport, parse_terrain, read_terrain,
};
use obliquity_planning::{GeoPoint, Site, Terrain};
use std::io::Cursor;
use terrain_shapes::Shape;
use tiff::encoder::colortype::{Gray32Float, GrayI16};
use tiff::encoder::{Compression, TiffEncoder, TiffValue};
use tiff::tags::Tag;

/// Easting and northing of 51° N 7° E in zone 32, and convergence and scale there.
/// Cross-check: pyproj (PROJ).
const ORIGIN_UTM: (f64, f64) = (359_666.703_7, 5_651_728.682_7);
const CONVERGENCE_DEG: f64 = -1.554_544;
const SCALE: f64 = 0.999_841_8;

/// A site of 200 × 100 m whose frame lies on the earth, or nowhere.
fn site(origin: Option<GeoPoint>) -> Site {
    Site {
        name: "Yard".to_owned(),
        origin,
        boundary_m: [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)].map(DVec2::from).to_vec(),
        take_off_m: DVec2::new(10.0, 10.0),
        terrain: Terrain::default(),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}

fn on_earth() -> Site {
    site(Some(GeoPoint { latitude_deg: 51.0, longitude_deg: 7.0 }))
}

/// A grid as text: 3 m cells, its corner at (−60, −60), heights of a formula at the cells' centres.
fn ascii(columns: usize, rows: usize, height: impl Fn(DVec2) -> String) -> String {
    let mut text = format!(
        "ncols {columns}\nnrows {rows}\nxllcorner -60\nyllcorner -60.0\ncellsize 3\nNODATA_value -9999\n"
    );
    for row in (0..rows).rev() {
        let at = |column: usize| DVec2::new(column as f64 + 0.5, row as f64 + 0.5) * 3.0 - 60.0;
        let line: Vec<String> = (0..columns).map(|column| height(at(column))).collect();
        text += &(line.join(" ") + "\n");
    }
    text
}

fn plane(at: DVec2) -> f64 {
    120.0 + 0.1 * at.x - 0.05 * at.y
}

/// Where a GeoTIFF lies and what its numbers are.
struct Geo {
    raster_type: u16,
    keys: Vec<[u16; 4]>,
    tie: [f64; 6],
    scale: [f64; 3],
    no_data: &'static str,
}

fn utm(pixels_west: f64, pixels_north: f64, step_m: f64) -> Geo {
    let (x, y) = (ORIGIN_UTM.0 - pixels_west * step_m, ORIGIN_UTM.1 + pixels_north * step_m);
    Geo {
        raster_type: 2,
        keys: vec![[1024, 0, 1, 1], [3072, 0, 1, 32632]],
        tie: [0.0, 0.0, 0.0, x, y, 0.0],
        scale: [step_m, step_m, 0.0],
        no_data: "-9999",
    }
}

/// A GeoTIFF by the encoder of the tiff crate, in strips.
fn geotiff<C: tiff::encoder::colortype::ColorType>(
    size: (u32, u32),
    geo: &Geo,
    compression: Compression,
    values: &[C::Inner],
) -> Vec<u8>
where
    [C::Inner]: TiffValue,
{
    let mut file = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut file).unwrap().with_compression(compression);
    let mut image = encoder.new_image::<C>(size.0, size.1).unwrap();
    image.rows_per_strip(7).unwrap();
    let mut keys: Vec<u16> = vec![1, 1, 0, geo.keys.len() as u16 + 1];
    keys.extend(geo.keys[0]);
    keys.extend([1025, 0, 1, geo.raster_type]);
    keys.extend(geo.keys[1..].iter().flatten());
    let tags = image.encoder();
    tags.write_tag(Tag::GeoKeyDirectoryTag, &keys[..]).unwrap();
    tags.write_tag(Tag::ModelTiepointTag, &geo.tie[..]).unwrap();
    tags.write_tag(Tag::ModelPixelScaleTag, &geo.scale[..]).unwrap();
    tags.write_tag(Tag::GdalNodata, geo.no_data).unwrap();
    image.write_data(values).unwrap();
    file.into_inner()
}

fn import(bytes: &[u8], site: &Site, frame: RasterFrame) -> TerrainImport {
    parse_terrain(bytes, "heights", site, frame).unwrap_or_else(|error| panic!("{error}"))
}

fn told(bytes: &[u8], site: &Site, frame: RasterFrame) -> String {
    parse_terrain(bytes, "heights", site, frame).unwrap_err().to_string()
}

/// Derived: bilinear resampling keeps a plane; the grid reaches 50 m beyond the site.
#[test]
fn an_ascii_grid_of_a_plane_is_that_plane() {
    let text = ascii(110, 74, |at| format!("{:.3}", plane(at)));
    let import = import(text.as_bytes(), &site(None), RasterFrame::Local);
    let grid = &import.grid;
    assert!(import.notes.is_empty(), "{:?}", import.notes);
    assert!((grid.south_west_m() - DVec2::splat(-50.0)).length() < 1e-9, "{}", grid.south_west_m());
    assert!((grid.north_east_m() - DVec2::new(250.0, 150.0)).length() < 1e-9, "{}", grid.north_east_m());
    assert!((grid.spacing_m() - DVec2::splat(3.0)).abs().max_element() < 0.05, "as far apart as the pixels");
    for at in [(0.0, 0.0), (200.0, 100.0), (33.3, 71.9), (-49.0, 149.0)].map(DVec2::from) {
        assert!((grid.height_m(at) - plane(at)).abs() < 1.5e-3, "{at}"); // millimetres, twice rounded
    }
}

/// Derived: the grid reaches 50 m beyond the site and so to 250 m; one who takes off at 255 m needs heights there too.
#[test]
fn heights_reach_to_every_take_off_point() {
    let text = ascii(110, 74, |at| format!("{:.3}", plane(at)));
    let site = site(None);
    let take_offs_m = [DVec2::new(255.0, 50.0)];
    let under = TerrainFor { site: &site, take_offs_m: &take_offs_m };
    let grid = parse_terrain(text.as_bytes(), "heights", under, RasterFrame::Local).unwrap().grid;
    assert!(grid.north_east_m().x > 255.0, "{}", grid.north_east_m());
    let far = [DVec2::new(9000.0, 50.0)];
    let far = TerrainFor { site: &site, take_offs_m: &far };
    let why = parse_terrain(text.as_bytes(), "heights", far, RasterFrame::Local).unwrap_err();
    assert_eq!(why.kind, FileErrorKind::Invalid, "where there are no heights it is refused: {why}");
}

/// Cross-check: pyproj's convergence and scale at the site's origin: a plane in zone 32 is that plane turned by the
/// convergence and shrunk by the scale. Every kind of file gives it.
#[test]
fn geotiffs_in_a_utm_zone_lie_where_they_should() {
    let size = (180_u32, 150_u32);
    let (west, north, step) = (45.0, 110.0, 2.0);
    let at = |k: u32| DVec2::new(f64::from(k % size.0) - west, north - f64::from(k / size.0)) * step;
    let height = |k: u32| 300.0 + 0.2 * at(k).x - 0.3 * at(k).y;
    let values: Vec<f32> = (0..size.0 * size.1).map(|k| height(k) as f32).collect();
    let point = utm(west, north, step);
    let area = Geo {
        raster_type: 1,
        tie: [0.0, 0.0, 0.0, point.tie[3] - step / 2.0, point.tie[4] + step / 2.0, 0.0],
        ..utm(west, north, step)
    };
    let tied_elsewhere = Geo {
        tie: [10.0, 20.0, 0.0, point.tie[3] + 10.0 * step, point.tie[4] - 20.0 * step, 0.0],
        ..utm(west, north, step)
    };
    let files = [
        geotiff::<Gray32Float>(size, &point, Compression::Uncompressed, &values),
        geotiff::<Gray32Float>(size, &point, Compression::Lzw, &values),
        geotiff::<Gray32Float>(
            size,
            &area,
            Compression::Deflate(tiff::encoder::DeflateLevel::Balanced),
            &values,
        ),
        geotiff::<Gray32Float>(size, &tied_elsewhere, Compression::Uncompressed, &values),
        tiled(size, &point, &values),
    ];
    for (number, file) in files.iter().enumerate() {
        let grid = import(file, &on_earth(), RasterFrame::OfFile).grid;
        for place in [(0.0, 0.0), (150.0, 80.0), (200.0, 0.0), (20.0, 99.0)].map(DVec2::from) {
            let bearing = place.x.atan2(place.y) - CONVERGENCE_DEG.to_radians();
            let utm_m = DVec2::new(bearing.sin(), bearing.cos()) * place.length() * SCALE;
            let expected = 300.0 + 0.2 * utm_m.x - 0.3 * utm_m.y;
            // the zone is not quite linear over 200 m, and heights are whole millimetres
            assert!((grid.height_m(place) - expected).abs() < 3e-3, "file {number}: {place}");
        }
    }
}

/// A tiled GeoTIFF, little-endian, 32-bit float, tiles of 64 × 64: the encoder writes strips only.
fn tiled((width, height): (u32, u32), geo: &Geo, values: &[f32]) -> Vec<u8> {
    let (across, down) = (width.div_ceil(64), height.div_ceil(64));
    let mut data = Vec::new();
    for tile in 0..across * down {
        for k in 0..64 * 64 {
            let (x, y) = (tile % across * 64 + k % 64, tile / across * 64 + k / 64);
            let inside = x < width && y < height;
            let value = if inside { values[(y * width + x) as usize] } else { 0.0 };
            data.extend(value.to_le_bytes());
        }
    }
    let keys: Vec<u16> =
        [vec![1, 1, 0, 3], geo.keys[0].to_vec(), vec![1025, 0, 1, geo.raster_type], geo.keys[1].to_vec()]
            .concat();
    let shorts = |list: &[u16]| {
        (3_u16, list.len() as u32, list.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>())
    };
    let longs = |list: &[u32]| {
        (4_u16, list.len() as u32, list.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>())
    };
    let doubles = |list: &[f64]| {
        (12_u16, list.len() as u32, list.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>())
    };
    let offsets: Vec<u32> = (0..across * down).map(|tile| 8 + tile * 64 * 64 * 4).collect();
    let entries = [
        (256_u16, longs(&[width])),
        (257, longs(&[height])),
        (258, shorts(&[32])),
        (259, shorts(&[1])),
        (262, shorts(&[1])),
        (277, shorts(&[1])),
        (322, shorts(&[64])),
        (323, shorts(&[64])),
        (324, longs(&offsets)),
        (325, longs(&vec![64 * 64 * 4; offsets.len()])),
        (339, shorts(&[3])),
        (33550, doubles(&geo.scale)),
        (33922, doubles(&geo.tie)),
        (34735, shorts(&keys)),
    ];
    let mut file = b"II*\0".to_vec();
    let directory = 8 + data.len() as u32;
    file.extend(directory.to_le_bytes());
    file.extend(data);
    let mut beyond = directory + 2 + 12 * entries.len() as u32 + 4;
    let mut tail = Vec::new();
    file.extend((entries.len() as u16).to_le_bytes());
    for (tag, (kind, count, mut bytes)) in entries {
        file.extend(tag.to_le_bytes());
        file.extend(kind.to_le_bytes());
        file.extend(count.to_le_bytes());
        if bytes.len() <= 4 {
            bytes.resize(4, 0);
            file.extend(bytes);
        } else {
            file.extend(beyond.to_le_bytes());
            beyond += bytes.len() as u32;
            tail.extend(bytes);
        }
    }
    file.extend([0; 4]);
    file.extend(tail);
    file
}

/// Derived: degrees: at 51° a degree of latitude is 111,248.2769 m and one of longitude 70,197.6777 m.
/// Cross-check of these two: GeographicLib.
#[test]
fn a_geographic_raster_of_whole_metres_is_placed() {
    let (size, step) = ((400_u32, 300_u32), 1.0 / 36_000.0);
    let geo = Geo {
        raster_type: 2,
        keys: vec![[1024, 0, 1, 2], [2048, 0, 1, 4326], [2054, 0, 1, 9102], [4099, 0, 1, 9002]],
        tie: [0.0, 0.0, 0.0, 7.0 - 100.0 * step, 51.0 + 150.0 * step, 0.0],
        scale: [step, step, 0.0],
        no_data: "-32768",
    };
    // feet that rise by one for each pixel to the east
    let values: Vec<i16> = (0..size.0 * size.1).map(|k| (k % size.0) as i16).collect();
    let grid = import(
        &geotiff::<GrayI16>(size, &geo, Compression::Uncompressed, &values),
        &on_earth(),
        RasterFrame::OfFile,
    )
    .grid;
    for east_m in [0.0, 55.0, 190.0] {
        let feet = 100.0 + east_m / (70_197.677_7 * step);
        // millimetres, and the nodes' own lattice
        assert!((grid.height_m(DVec2::new(east_m, 0.0)) - feet * 0.3048).abs() < 3e-3, "{east_m}");
    }
}

/// Derived: a few missing heights are filled and said; too many, or a raster that ends before the site, are refused.
#[test]
fn missing_heights_are_filled_when_few() {
    let hole = |share: f64| {
        ascii(110, 74, move |at| {
            if (at.x - 100.0).abs() < 100.0 * share && (at.y - 50.0).abs() < 50.0 {
                "-9999".into()
            } else {
                format!("{:.3}", plane(at))
            }
        })
    };
    let few = import(hole(0.05).as_bytes(), &site(None), RasterFrame::Local);
    assert!(few.notes.iter().any(|note| note.contains("were missing and are filled")), "{:?}", few.notes);
    let middle = DVec2::new(100.0, 50.0);
    assert!((few.grid.height_m(middle) - plane(middle)).abs() < 2.0, "from the plane round it");
    let many = told(hole(0.9).as_bytes(), &site(None), RasterFrame::Local);
    assert!(many.contains("at most 5 % of the heights under the site may be missing"), "{many}");
    let none = told(ascii(110, 74, |_| "-9999".into()).as_bytes(), &site(None), RasterFrame::Local);
    assert!(none.contains("the raster must have heights under the site, but it has none there"), "{none}");
    let nan = told(ascii(110, 74, |_| "NaN".into()).as_bytes(), &site(None), RasterFrame::Local);
    assert!(nan.contains("it has none there"), "{nan}");
    // 75 m wide: ends at x = 15
    let narrow =
        told(ascii(25, 74, |at| format!("{:.3}", plane(at))).as_bytes(), &site(None), RasterFrame::Local);
    assert!(narrow.contains("may be missing"), "{narrow}");
    // ends 10 m beyond the site: less margin, no gaps
    let close =
        import(ascii(90, 74, |at| format!("{:.3}", plane(at))).as_bytes(), &site(None), RasterFrame::Local);
    assert!(close.grid.covers(DVec2::new(200.0, 100.0)) && !close.grid.covers(DVec2::new(220.0, 50.0)));
}

/// Derived: more than a million nodes are thinned out, which is said.
#[test]
fn fine_rasters_are_thinned_to_a_million_nodes() {
    let text = ascii(110, 74, |at| format!("{:.3}", plane(at)))
        .replace("cellsize 3", "cellsize 0.2")
        .replace("xllcorner -60", "xllcorner 0")
        .replace("yllcorner -60.0", "yllcorner 0");
    let mut small = site(None);
    small.boundary_m = [(2.0, 2.0), (20.0, 2.0), (20.0, 13.0)].map(DVec2::from).to_vec();
    small.take_off_m = DVec2::new(5.0, 5.0);
    let kept = import(text.as_bytes(), &small, RasterFrame::Local);
    let (columns, rows) = kept.grid.size();
    assert!(columns * rows <= 1_000_000 && kept.grid.covers(DVec2::new(20.0, 13.0)), "{columns} x {rows}");
}

#[test]
fn broken_rasters_are_refused_by_name() {
    let good = ascii(110, 74, |at| format!("{:.3}", plane(at)));
    let size = (180_u32, 150_u32);
    let values = vec![100.0_f32; 180 * 150];
    let tiff = |geo: &Geo| geotiff::<Gray32Float>(size, geo, Compression::Uncompressed, &values);
    let utm = || utm(45.0, 110.0, 2.0);
    let geo = |keys: &[[u16; 4]]| tiff(&Geo { keys: keys.to_vec(), ..utm() });
    let change = |from: &str, to: &str| good.replacen(from, to, 1).into_bytes();
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (Vec::new(), "must be a GeoTIFF or an Esri ASCII grid"),
        (b"not heights".to_vec(), "must be a GeoTIFF or an Esri ASCII grid"),
        (good.as_bytes()[..good.len() / 2].to_vec(), "it may have been cut"),
        (good.as_bytes()[..30].to_vec(), "but"),
        (change("ncols 110", "ncols 1e9"), "ncols must be a whole number from 2"),
        (change("ncols 110", "ncols 39999999"), "cut"),
        (change("ncols 110", "ncols -4"), "ncols must be a whole number from 2"),
        (change("ncols 110", "ncols 11O"), "must be followed by a number"),
        (change("cellsize 3", "cellsize 0"), "cellsize must be above 0"),
        (change("cellsize 3", "cellsize NaN"), "cellsize must be above 0"),
        (change("xllcorner -60", "xllcorner inf"), "xllcorner must be a plain number"),
        (change("nrows 74", "nrows 73"), "more heights follow"),
        (change("nrows 74", "height 74"), "the header must hold ncols"),
        (change("xllcorner -60", "xllcorner 1e7"), "it lies beside it"),
        ([good.as_bytes(), b" x"].concat(), "a height must be a number, but it is x"),
        (tiff(&utm())[..4000].to_vec(), "the raster cannot be unpacked"),
        (tiff(&utm())[..8].to_vec(), "the raster cannot be unpacked"),
        (tiff(&Geo { scale: [0.0, 2.0, 0.0], ..utm() }), "the pixels of the raster must have a size"),
        (tiff(&Geo { scale: [f64::NAN, 2.0, 0.0], ..utm() }), "the pixels of the raster must have a size"),
        (tiff(&Geo { tie: [0.0, 0.0, 0.0, 1e5, 1e5, 0.0], ..utm() }), "it lies beside it"),
        (tiff(&Geo { no_data: "100", ..utm() }), "it has none there"),
        (geo(&[[1024, 0, 1, 3]]), "its model type is 3"),
        (geo(&[[1024, 0, 1, 1], [3072, 0, 1, 27700]]), "they are of system 27700"),
        (geo(&[[1024, 0, 1, 1], [3072, 0, 1, 32699]]), "they are of system 32699"),
        (geo(&[[1024, 0, 1, 1], [3072, 0, 1, 32632], [3076, 0, 1, 9003]]), "coordinates must be in metres"),
        (geo(&[[1024, 0, 1, 2], [2048, 0, 1, 4277]]), "it is on system 4277"),
    ];
    for (bytes, expected) in cases {
        let frame = if bytes.starts_with(b"II") { RasterFrame::OfFile } else { RasterFrame::Local };
        let told = told(&bytes, &on_earth(), frame);
        assert!(
            told.starts_with("heights") && told.contains(expected) && told.contains("; "),
            "{expected}: {told}"
        );
    }
    let nowhere = told(&tiff(&utm()), &site(None), RasterFrame::OfFile);
    assert!(nowhere.contains("the site is nowhere"), "{nowhere}");
    let unsaid = told(good.as_bytes(), &on_earth(), RasterFrame::OfFile);
    assert!(unsaid.contains("which coordinates it is in"), "{unsaid}");
    let zone = told(good.as_bytes(), &on_earth(), RasterFrame::UtmNorth(61));
    assert!(zone.contains("from 1 to 60"), "{zone}");
    let colours = geotiff::<tiff::encoder::colortype::RGB8>(
        (180, 150),
        &utm(),
        Compression::Uncompressed,
        &vec![0; 180 * 150 * 3],
    );
    let error = parse_terrain(&colours, "heights", &on_earth(), RasterFrame::OfFile).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Format);
}

/// Derived: a header that promises four billion pixels takes no memory for them.
#[test]
fn gigantic_dimensions_take_no_memory() {
    let mut file = tiled((180, 150), &utm(45.0, 110.0, 2.0), &vec![100.0; 180 * 150]);
    let directory = u32::from_le_bytes(file[4..8].try_into().unwrap()) as usize + 2;
    for entry in [0, 1] {
        let value = directory + entry * 12 + 8;
        file[value..value + 4].copy_from_slice(&1_900_000_u32.to_le_bytes());
    }
    let told = told(&file, &on_earth(), RasterFrame::OfFile);
    assert!(told.contains("; "), "{told}");
    let value = directory + 8;
    file[value..value + 4].copy_from_slice(&u32::MAX.to_le_bytes());
    let told = self::told(&file, &on_earth(), RasterFrame::OfFile);
    assert!(told.contains("cannot be unpacked") || told.contains("from 2 to 2000000 columns"), "{told}");
}

#[test]
fn mutated_rasters_never_panic() {
    let words = [
        "NaN",
        "-1",
        "1e308",
        "inf",
        "ncols",
        "nodata_value",
        "\u{0}\u{0}\u{0}",
        "\u{7f}\u{7f}",
        "II*\u{0}",
        "99999999",
    ];
    feed(&kept("raster"), &words, |bytes| {
        let frame = if bytes.starts_with(b"n") { RasterFrame::Local } else { RasterFrame::OfFile };
        parse_terrain(bytes, "fuzz", &on_earth(), frame).map(drop)
    });
}

/// Derived: what the invented terrains say of themselves: a pit 36 m deep with steep faces and level berms; a valley of
/// some 32 m with a bed below both shoulders.
#[test]
fn the_invented_terrains_are_what_they_say() {
    let quarry = Shape::named("quarry").unwrap().grid().unwrap();
    let height = |x: f64, y: f64| quarry.height_m(DVec2::new(x, y));
    let steepness = |x: f64, y: f64| quarry.slope(DVec2::new(x, y)).length();
    assert!((height(0.0, 0.0) - (240.0 - 36.0)).abs() < 3.0, "{}", height(0.0, 0.0));
    assert!(height(-220.0, 150.0) > 225.0, "above the rim, whose ground slopes by 3 in 100");
    let across: Vec<f64> = (0..110).map(|y| steepness(40.0, f64::from(y))).collect();
    let faces = across.windows(2).filter(|pair| pair[0] < 1.5 && pair[1] >= 1.5).count();
    assert_eq!(faces, 3, "steep faces from the floor to the rim: {across:.1?}");
    let valley = Shape::named("valley").unwrap().grid().unwrap();
    let height = |x: f64, y: f64| valley.height_m(DVec2::new(x, y));
    let depth = |x: f64| height(x, 0.0) - height(0.0, 0.0);
    assert!(depth(-120.0) > 28.0 && depth(120.0) > 28.0, "the shoulders roll by some metres");
}

/// Derived: a grid in metres whose sidecar says degrees is told; without a word on its frame the sidecar's counts; a
/// sidecar that says a projection agrees with metres.
#[test]
fn the_file_beside_a_grid_is_listened_to() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.asc");
    std::fs::write(&path, ascii(120, 100, |at| format!("{:.3}", plane(at)))).unwrap();
    let read = |frame| read_terrain(&path, &on_earth(), frame);
    assert_eq!(read(RasterFrame::Local).unwrap().notes, Vec::<String>::new());
    std::fs::write(path.with_extension("prj"), "PROJCS[\"a zone\",GEOGCS[\"a datum\"]]").unwrap();
    assert_eq!(read(RasterFrame::Local).unwrap().notes, Vec::<String>::new());
    std::fs::write(path.with_extension("prj"), "GEOGCS[\"a datum\"]").unwrap();
    let notes = read(RasterFrame::Local).unwrap().notes;
    assert!(
        notes.iter().any(|n| n.contains("says longitude and latitude, but it was taken as metres")),
        "{notes:?}"
    );
    // the same numbers as degrees reach round the earth, the site included
    let notes = read(RasterFrame::OfFile).unwrap().notes;
    assert!(notes.iter().any(|n| n.contains("taken as degrees on WGS 84")), "{notes:?}");
}
