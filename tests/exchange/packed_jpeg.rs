//! A JPEG inside a TIFF that says it is far larger than the strip it fills.

use glam::DVec2;
use obliquity_exchange::{FileError, FileErrorKind, PictureError, RasterFrame, parse_terrain, read_picture};
use obliquity_planning::{NoWatch, Site, Terrain};
use std::fs;

/// Pixels along a side that the strip says it has: unpacked it would take 2¹⁴ × 2¹⁴ bytes, 256 MB, of one colour.
const CLAIMED: u16 = 16_383;

/// The head of a grey JPEG: nothing of it is ever unpacked.
fn jpeg(side: u16) -> Vec<u8> {
    let [high, low] = side.to_be_bytes();
    let mut bytes = vec![0xff, 0xd8, 0xff, 0xdb, 0x00, 0x43, 0x00];
    bytes.extend([1; 64]);
    bytes.extend([0xff, 0xc0, 0x00, 0x0b, 8, high, low, high, low, 1, 1, 0x11, 0]);
    bytes.extend([0xff, 0xda, 0x00, 0x08, 1, 1, 0, 0, 0x3f, 0, 0xff, 0xd9]);
    bytes
}

/// A grey TIFF of 64 by 64 pixels in one strip, which is a JPEG of another size; a pixel is ten metres.
fn tiff(claimed: u16) -> Vec<u8> {
    let strip = jpeg(claimed);
    let doubles: Vec<u8> = [0.0, 0.0, 0.0, -200.0, 300.0, 0.0, 10.0, 10.0, 0.0_f64]
        .iter()
        .flat_map(|value| value.to_le_bytes())
        .collect();
    let (places, data) = (8_u32, 8 + doubles.len() as u32);
    let directory = data + strip.len() as u32;
    let entries: [(u16, u16, u32, u32); 11] = [
        (256, 4, 1, 64),
        (257, 4, 1, 64),
        (258, 3, 1, 8),
        (259, 3, 1, 7),
        (262, 3, 1, 1),
        (273, 4, 1, data),
        (277, 3, 1, 1),
        (278, 4, 1, 64),
        (279, 4, 1, strip.len() as u32),
        (33550, 12, 3, places + 48),
        (33922, 12, 6, places),
    ];
    let mut file = [b"II*\0".to_vec(), directory.to_le_bytes().to_vec(), doubles, strip].concat();
    file.extend((entries.len() as u16).to_le_bytes());
    for (tag, kind, count, value) in entries {
        file.extend([tag.to_le_bytes(), kind.to_le_bytes()].concat());
        file.extend([count.to_le_bytes(), value.to_le_bytes()].concat());
    }
    file.extend([0; 4]);
    file
}

fn picture(bytes: &[u8]) -> FileError {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hostile.tif");
    fs::write(&path, bytes).unwrap();
    match read_picture(&path, &NoWatch) {
        Err(PictureError::File(error)) => error,
        other => panic!("{other:?}"),
    }
}

fn heights(bytes: &[u8]) -> FileError {
    let site = Site {
        name: "Yard".to_owned(),
        origin: None,
        boundary_m: [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0)].map(DVec2::from).to_vec(),
        take_off_m: DVec2::new(10.0, 10.0),
        terrain: Terrain::default(),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    };
    parse_terrain(bytes, "hostile.tif", &site, RasterFrame::Local).unwrap_err()
}

/// Hostile: refused before it is unpacked, with its place, its size and the mend.
#[test]
fn a_strip_that_claims_too_much_is_refused() {
    for error in [picture(&tiff(CLAIMED)), heights(&tiff(CLAIMED))] {
        assert_eq!(error.kind, FileErrorKind::TooLarge, "{error}");
        let told = error.to_string();
        for part in ["number 1", "16383 × 16383 pixels, 255 MB", "export it again"] {
            assert!(told.contains(part), "{told}");
        }
    }
}

/// Derived: one that claims what its strip holds is unpacked, and found to be broken.
#[test]
fn a_strip_of_its_own_size_is_unpacked() {
    for error in [picture(&tiff(64)), heights(&tiff(64))] {
        assert_eq!(error.kind, FileErrorKind::Syntax, "{error}");
    }
}
