//! TIFF, strip by strip or tile by tile.

use super::lie::{Lie, frame_of};
use super::reduce::{Picture, Reducer, factor_for};
use super::{Head, PictureError, unreadable};
use crate::raster::geotiff::{self, chunk_size, is_placed, placement};
use crate::raster::packed_jpeg::PackedJpegs;
use crate::raster::source;
use crate::{FileError, FileErrorKind};
use obliquity_planning::{UnderlayFrame, Watch, limits};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::tags::Tag;

/// Most bytes of one strip or tile, packed or unpacked.
const MOST_CHUNK_BYTES: usize = 96 << 20;

/// Most bytes of one tag: the lists of tiles of a large file.
const MOST_TAG_BYTES: usize = 64 << 20;

type Chunks = Decoder<BufReader<File>>;

fn open(path: &Path) -> Result<Chunks, FileError> {
    let name = path.display().to_string();
    let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
    let mut most = Limits::default();
    most.decoding_buffer_size = MOST_CHUNK_BYTES;
    most.intermediate_buffer_size = MOST_CHUNK_BYTES;
    most.ifd_value_size = MOST_TAG_BYTES;
    let decoder = Decoder::new(BufReader::new(file)).map_err(|error| source::unreadable(&name, &error))?;
    Ok(decoder.with_limits(most))
}

/// Size in pixels, columns and rows.
fn size(decoder: &mut Chunks, name: &str) -> Result<(usize, usize), FileError> {
    let (columns, rows) = decoder.dimensions().map_err(|error| source::unreadable(name, &error))?;
    let most = limits::UNDERLAY_SIDE_PX;
    if columns.max(rows) > most || columns.min(rows) == 0 {
        let told = format!(
            "a picture must have from 1 to {most} columns and rows, but this has {columns} and {rows}; cut it to the site"
        );
        return Err(FileError::new(name, FileErrorKind::TooLarge, told));
    }
    Ok((columns as usize, rows as usize))
}

/// Whether pixels have colours, or no more than eight bits: heights have one number of more.
pub(super) fn has_colours(path: &Path) -> Result<bool, FileError> {
    let name = path.display().to_string();
    let mut decoder = open(path)?;
    // Colours that are not read (palettes) are told of as a picture's.
    let Ok(kind) = decoder.colortype() else { return Ok(true) };
    size(&mut decoder, &name)?;
    Ok(!matches!(kind, ColorType::Gray(16 | 32 | 64)))
}

pub(super) fn head(path: &Path) -> Result<Head, FileError> {
    let name = path.display().to_string();
    let mut decoder = open(path)?;
    let (columns, rows) = size(&mut decoder, &name)?;
    Samples::of(&mut decoder, &name)?;
    if !is_placed(&mut decoder) {
        return Ok(Head { columns, rows, lie: None, notes: Vec::new() });
    }
    let invalid = |told: String| FileError::new(&name, FileErrorKind::Invalid, told);
    let placed = placement(&mut decoder).map_err(invalid)?;
    let frame = match &placed.frame {
        Some(frame) => frame_of(frame).map_err(invalid)?,
        None => UnderlayFrame::Site,
    };
    let mut notes = placed.notes;
    if placed.frame.is_none() {
        notes.push(
            "the picture does not say which coordinates it is in: taken as the site's own metres".to_owned(),
        );
    }
    Ok(Head { columns, rows, lie: Some(Lie::new(&placed.to_world, frame)), notes })
}

pub(super) fn read(path: &Path, watch: &dyn Watch) -> Result<Picture, PictureError> {
    let name = path.display().to_string();
    let mut decoder = open(path)?;
    let (columns, rows) = size(&mut decoder, &name)?;
    let samples = Samples::of(&mut decoder, &name)?;
    let (width, height) = chunk_size(&mut decoder, rows, &name)?;
    let (across, down) = (columns.div_ceil(width), rows.div_ceil(height));
    let jpegs = PackedJpegs::of(&mut decoder, &name)?;
    let mut reducer = Reducer::new(columns, rows, factor_for(columns, rows));
    for number in 0..across * down {
        watch.step(number as u64, (across * down) as u64)?;
        let (left, top) = (number % across * width, number / across * height);
        if let Some(jpegs) = &jpegs {
            jpegs.bound(decoder.inner(), number, MOST_CHUNK_BYTES, &name)?;
        }
        let chunk = u32::try_from(number).unwrap_or(u32::MAX);
        let values = decoder.read_chunk(chunk).map_err(|error| source::unreadable(&name, &error))?;
        let values = eight_bits(values).ok_or_else(|| odd(&name, "numbers of another kind"))?;
        let (width, height) = (width.min(columns - left), height.min(rows - top));
        if values.len() < width * height * samples.count {
            let told = "a part of the picture holds fewer pixels than its size says; look for a whole copy";
            return Err(FileError::new(&name, FileErrorKind::Syntax, told).into());
        }
        for (row, line) in values.chunks_exact(width * samples.count).take(height).enumerate() {
            reducer.take(top + row, left, width, |k| samples.colour(&line[k * samples.count..]));
        }
    }
    Ok(reducer.picture((columns, rows), 1))
}

/// Of more bits the upper eight are taken.
fn eight_bits(values: DecodingResult) -> Option<Vec<u8>> {
    match values {
        DecodingResult::U8(values) => Some(values),
        DecodingResult::U16(values) => Some(values.into_iter().map(|value| (value >> 8) as u8).collect()),
        _ => None,
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Colours {
    Grey,
    Rgb,
    /// Luma and two chromas, as JPEG has them.
    Ycc,
}

/// What the numbers of a pixel are.
#[derive(Debug, Clone, Copy)]
struct Samples {
    colours: Colours,
    count: usize,
    /// Which one is the opacity.
    alpha: Option<usize>,
    /// What stands for no picture, in every colour.
    none: Option<u8>,
}

impl Samples {
    fn of(decoder: &mut Chunks, name: &str) -> Result<Self, FileError> {
        let kind = decoder.colortype();
        let kind = kind.map_err(|_| odd(name, "a palette, or samples of different sizes"))?;
        let planar = decoder.find_tag_unsigned::<u16>(Tag::PlanarConfiguration).ok().flatten();
        if planar == Some(2) {
            let told = "the colours of a pixel must stand together, but each has a part of its own here; export it interleaved \
                        by pixel";
            return Err(FileError::new(name, FileErrorKind::Format, told));
        }
        let (colours, count, alpha) = match kind {
            ColorType::Gray(8 | 16) => (Colours::Grey, 1, None),
            ColorType::RGB(8 | 16) => (Colours::Rgb, 3, None),
            ColorType::RGBA(8 | 16) => (Colours::Rgb, 4, Some(3)),
            ColorType::YCbCr(8) => (Colours::Ycc, 3, None),
            ColorType::GrayA(8 | 16) | ColorType::Multiband { bit_depth: 8 | 16, num_samples: 2 } => {
                (Colours::Grey, 2, Some(1))
            }
            ColorType::Multiband { bit_depth: 8 | 16, num_samples } if (3..=16).contains(&num_samples) => {
                (Colours::Rgb, usize::from(num_samples), None)
            }
            other => return Err(odd(name, &format!("{other:?}"))),
        };
        let none = geotiff::no_data(decoder).filter(|none| (0.0..=255.0).contains(none));
        Ok(Samples { colours, count, alpha, none: none.map(|none| none as u8) })
    }

    /// The colour of a pixel; nothing where there is none.
    fn colour(&self, sample: &[u8]) -> Option<[u8; 3]> {
        if self.alpha.is_some_and(|alpha| sample[alpha] < 128) {
            return None;
        }
        let colour = match self.colours {
            Colours::Grey => [sample[0]; 3],
            Colours::Rgb => [sample[0], sample[1], sample[2]],
            Colours::Ycc => rgb_of(sample[0], sample[1], sample[2]),
        };
        (self.none.is_none_or(|none| colour != [none; 3])).then_some(colour)
    }
}

/// Red, green and blue of luma and chromas over the full range, in whole 65536ths.
///
/// # References
/// ITU-T T.871 (2011), section 7, equations for R, G and B (from memory).
fn rgb_of(luma: u8, blue: u8, red: u8) -> [u8; 3] {
    let (luma, blue, red) = (i32::from(luma) << 16, i32::from(blue) - 128, i32::from(red) - 128);
    let eight = |value: i32| ((value + 0x8000) >> 16).clamp(0, 255) as u8;
    [eight(luma + 91_881 * red), eight(luma - 22_554 * blue - 46_802 * red), eight(luma + 116_130 * blue)]
}

fn odd(name: &str, what: &str) -> FileError {
    let told = format!(
        "a picture must be grey or in red, green and blue, of 8 or 16 bits, but this has {what}; export it as RGB of 8 bits"
    );
    FileError::new(name, FileErrorKind::Format, told)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Memory: T.871: R = Y + 1.402 (Cr − 128), G = Y − 0.344136 (Cb − 128) − 0.714136 (Cr − 128), B = Y + 1.772 (Cb − 128).
    #[test]
    fn luma_and_chromas_become_colours() {
        for luma in (0..=255).step_by(17) {
            for blue in (0..=255).step_by(15) {
                for red in (0..=255).step_by(15) {
                    let (y, b, r) = (f64::from(luma), f64::from(blue) - 128.0, f64::from(red) - 128.0);
                    let expected = [y + 1.402 * r, y - 0.344136 * b - 0.714136 * r, y + 1.772 * b];
                    let found = rgb_of(luma, blue, red);
                    for (found, expected) in found.into_iter().zip(expected) {
                        let expected = expected.clamp(0.0, 255.0);
                        // Half a step of rounding, and what the coefficients are cut by.
                        assert!((f64::from(found) - expected).abs() < 0.51, "{luma} {blue} {red}");
                    }
                }
            }
        }
    }
}
