//! JPEG, reduced while it is unpacked.

use super::png::put;
use super::reduce::{Picture, Reducer, factor_for};
use super::{Head, PictureError, broken, unreadable};
use crate::{FileError, FileErrorKind};
use jpeg_decoder::{CodingProcess, Decoder, PixelFormat};
use obliquity_planning::Watch;
use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::Path;

/// Most pixels of a progressive JPEG, whose coefficients are all kept until it ends: 6 bytes each.
const MOST_PROGRESSIVE_PX: usize = 50_000_000;

/// Most bytes of unpacked pixels.
const MOST_BYTES: usize = 160 << 20;

/// Tells how far a file is read; reading ends where that is asked for.
struct Watched<'a> {
    file: File,
    done: u64,
    total: u64,
    watch: &'a dyn Watch,
    cancelled: bool,
}

impl Read for Watched<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.watch.step(self.done, self.total.max(1)).is_err() {
            self.cancelled = true;
            return Err(io::Error::other("called off"));
        }
        let count = self.file.read(buffer)?;
        self.done += count as u64;
        Ok(count)
    }
}

pub(super) fn head(path: &Path) -> Result<Head, FileError> {
    let name = path.display().to_string();
    let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
    let mut decoder = Decoder::new(BufReader::new(file));
    decoder.read_info().map_err(|error| broken(&name, &error))?;
    let info = decoder.info().ok_or_else(|| broken(&name, &"it has no header"))?;
    Ok(Head { columns: info.width.into(), rows: info.height.into(), lie: None, notes: Vec::new() })
}

pub(super) fn read(path: &Path, watch: &dyn Watch) -> Result<Picture, PictureError> {
    let name = path.display().to_string();
    let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
    let total = file.metadata().map_or(0, |found| found.len());
    let mut watched = Watched { file, done: 0, total, watch, cancelled: false };
    let unpacked = unpack(&mut watched, &name);
    if watched.cancelled {
        return Err(PictureError::Cancelled);
    }
    Ok(unpacked?)
}

fn unpack(watched: &mut Watched<'_>, name: &str) -> Result<Picture, FileError> {
    let mut decoder = Decoder::new(BufReader::new(watched));
    decoder.set_max_decoding_buffer_size(MOST_BYTES);
    decoder.read_info().map_err(|error| broken(name, &error))?;
    let info = decoder.info().ok_or_else(|| broken(name, &"it has no header"))?;
    let (columns, rows) = (usize::from(info.width), usize::from(info.height));
    if info.coding_process == CodingProcess::DctProgressive && columns * rows > MOST_PROGRESSIVE_PX {
        let told = format!(
            "a progressive JPEG must have at most {} megapixels, but this has {}; save it as a baseline JPEG, or as a GeoTIFF \
             in tiles",
            MOST_PROGRESSIVE_PX / 1_000_000,
            columns * rows / 1_000_000
        );
        return Err(FileError::new(name, FileErrorKind::TooLarge, told));
    }
    let factor = factor_for(columns, rows);
    let times = [8, 4, 2].into_iter().find(|times| *times <= factor).unwrap_or(1);
    let part = |side: u16| u16::try_from(usize::from(side).div_ceil(times)).unwrap_or(u16::MAX);
    let size = decoder.scale(part(info.width), part(info.height)).map_err(|error| broken(name, &error))?;
    let (width, height) = (usize::from(size.0), usize::from(size.1));
    let pixels = decoder.decode().map_err(|error| broken(name, &error))?;
    let mut reducer = Reducer::new(width, height, factor_for(width, height));
    match info.pixel_format {
        PixelFormat::L8 => lines(&mut reducer, &pixels, width, 1),
        PixelFormat::RGB24 => lines(&mut reducer, &pixels, width, 3),
        PixelFormat::L16 | PixelFormat::CMYK32 => {
            let told = "a JPEG must be grey or in red, green and blue, but this is not; save it as an ordinary picture";
            return Err(FileError::new(name, FileErrorKind::Format, told));
        }
    }
    let times = columns.div_ceil(width.max(1)).next_power_of_two();
    Ok(reducer.picture((columns, rows), times))
}

fn lines(reducer: &mut Reducer, pixels: &[u8], width: usize, samples: usize) {
    for (row, line) in pixels.chunks_exact((width * samples).max(1)).enumerate() {
        put(reducer, row, line, width, samples);
    }
}
