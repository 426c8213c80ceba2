//! How a scenario file holds a terrain grid: a readable header, and the heights packed into lines of text.
//!
//! Each height is told by what it differs from its western and southern neighbours' plane (west + south − south-west),
//! as a variable-length integer, the whole deflated and written in base 64. Unpacking gives every millimetre back.

use crate::geometry::terrain::{TerrainGrid, TerrainGridError, checked_size};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use glam::DVec2;
use miniz_oxide::deflate::compress_to_vec_zlib;
use miniz_oxide::inflate::decompress_to_vec_zlib_with_limit;
use serde::{Deserialize, Serialize};

/// Characters of a line of packed heights.
const LINE_CHARS: usize = 100;

/// Bytes that a height takes before deflating, at most.
const MOST_BYTES: usize = 6;

/// How hard deflating tries, of 10.
const EFFORT: u8 = 8;

/// A terrain grid as a file holds it.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct GridFile {
    south_west_m: DVec2,
    spacing_m: DVec2,
    columns: usize,
    rows: usize,
    packed_heights_mm: Vec<String>,
}

impl From<TerrainGrid> for GridFile {
    fn from(grid: TerrainGrid) -> Self {
        let text =
            STANDARD.encode(compress_to_vec_zlib(&differences(&grid.heights_mm, grid.columns), EFFORT));
        let lines = text.as_bytes().chunks(LINE_CHARS).map(|line| String::from_utf8_lossy(line).into_owned());
        GridFile {
            south_west_m: grid.south_west_m,
            spacing_m: grid.spacing_m,
            columns: grid.columns,
            rows: grid.rows,
            packed_heights_mm: lines.collect(),
        }
    }
}

impl TryFrom<GridFile> for TerrainGrid {
    type Error = TerrainGridError;

    fn try_from(file: GridFile) -> Result<Self, TerrainGridError> {
        checked_size(file.columns, file.rows)?;
        let most = file.columns * file.rows * MOST_BYTES;
        let text: String = file.packed_heights_mm.concat();
        let packed =
            STANDARD.decode(text.trim()).map_err(|_| TerrainGridError::Packed("are no base 64 text"))?;
        let bytes = decompress_to_vec_zlib_with_limit(&packed, most)
            .map_err(|_| TerrainGridError::Packed("are cut, changed, or more than the grid has nodes"))?;
        let heights_mm = heights(&bytes, file.columns, file.rows)?;
        TerrainGrid::new(file.south_west_m, file.spacing_m, (file.columns, file.rows), heights_mm)
    }
}

/// The height that the neighbours to the west and south make likely; wraps round, so that any heights come back.
fn likely(heights_mm: &[i32], columns: usize, k: usize) -> i32 {
    let known = |behind: usize| heights_mm[k - behind];
    match (!k.is_multiple_of(columns), k >= columns) {
        (true, true) => known(1).wrapping_add(known(columns)).wrapping_sub(known(columns + 1)),
        (true, false) => known(1),
        (false, true) => known(columns),
        (false, false) => 0,
    }
}

fn differences(heights_mm: &[i32], columns: usize) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(heights_mm.len() * 2);
    for (k, height) in heights_mm.iter().enumerate() {
        let difference = height.wrapping_sub(likely(heights_mm, columns, k));
        let mut rest = (difference.wrapping_shl(1) ^ (difference >> 31)).cast_unsigned();
        while rest >= 0x80 {
            bytes.push((rest & 0x7F) as u8 | 0x80);
            rest >>= 7;
        }
        bytes.push(rest as u8);
    }
    bytes
}

fn heights(bytes: &[u8], columns: usize, rows: usize) -> Result<Vec<i32>, TerrainGridError> {
    let mut heights_mm = Vec::with_capacity(columns * rows);
    let mut bytes = bytes.iter().copied();
    for k in 0..columns * rows {
        let folded =
            number(&mut bytes).ok_or(TerrainGridError::Packed("are fewer than the grid has nodes"))?;
        let difference = (folded >> 1).cast_signed() ^ -((folded & 1).cast_signed());
        let height = likely(&heights_mm, columns, k).wrapping_add(difference);
        heights_mm.push(height);
    }
    match bytes.next() {
        None => Ok(heights_mm),
        Some(_) => Err(TerrainGridError::Packed("are more than the grid has nodes")),
    }
}

/// One variable-length integer; nothing where the bytes end or it is too long.
fn number(bytes: &mut impl Iterator<Item = u8>) -> Option<u32> {
    let mut value = 0_u32;
    for shift in [0, 7, 14, 21, 28] {
        let byte = bytes.next()?;
        value |= u32::from(byte & 0x7F) << shift;
        if byte & 0x80 == 0 {
            return Some(value);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use crate::geometry::terrain::coding::*;
    use proptest::prelude::*;

    proptest! {
        /// Derived: packing and unpacking are each other's inverse, for any heights at all.
        #[test]
        fn packing_gives_every_height_back(heights_mm in prop::collection::vec(any::<i32>(), 12), columns in 2..5_usize) {
            let rows = 12 / columns;
            let heights_mm = &heights_mm[..columns * rows];
            let bytes = differences(heights_mm, columns);
            prop_assert_eq!(heights(&bytes, columns, rows).ok(), Some(heights_mm.to_vec()));
            prop_assert!(heights(&bytes[..bytes.len() - 1], columns, rows).is_err());
            prop_assert!(heights(&[bytes, vec![0]].concat(), columns, rows).is_err());
        }
    }
}
