//! PNG, row by row.

use super::reduce::{MOST_SHOWN_PX, Picture, Reducer, factor_for};
use super::{Head, PictureError, broken, unreadable};
use crate::{FileError, FileErrorKind};
use obliquity_planning::Watch;
use png::{Decoder, Limits, Reader, Transformations};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

type Rows = Reader<BufReader<File>>;

/// Most bytes that the decoder may take: some rows.
const MOST_BYTES: usize = 64 << 20;

fn open(path: &Path) -> Result<Rows, FileError> {
    let name = path.display().to_string();
    let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
    let mut decoder = Decoder::new_with_limits(BufReader::new(file), Limits { bytes: MOST_BYTES });
    decoder.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
    decoder.read_info().map_err(|error| broken(&name, &error))
}

pub(super) fn head(path: &Path) -> Result<Head, FileError> {
    let reader = open(path)?;
    let (columns, rows) = (reader.info().width as usize, reader.info().height as usize);
    Ok(Head { columns, rows, lie: None, notes: Vec::new() })
}

pub(super) fn read(path: &Path, watch: &dyn Watch) -> Result<Picture, PictureError> {
    let name = path.display().to_string();
    let mut reader = open(path)?;
    let (columns, rows) = (reader.info().width as usize, reader.info().height as usize);
    let samples = reader.output_color_type().0.samples();
    let mut reducer = Reducer::new(columns, rows, factor_for(columns, rows));
    if reader.info().interlaced {
        whole(&mut reader, &name, &mut reducer, (columns, rows, samples))?;
        return Ok(reducer.picture((columns, rows), 1));
    }
    for row in 0..rows {
        watch.step(row as u64, rows as u64)?;
        let read = reader.next_row().map_err(|error| broken(&name, &error))?;
        let line = read.ok_or_else(|| broken(&name, &"rows are missing"))?;
        put(&mut reducer, row, line.data(), columns, samples);
    }
    Ok(reducer.picture((columns, rows), 1))
}

/// Rows of an interlaced picture come in seven rounds: it is unpacked as a whole, as far as that is bounded.
fn whole(
    reader: &mut Rows,
    name: &str,
    reducer: &mut Reducer,
    (columns, rows, samples): (usize, usize, usize),
) -> Result<(), PictureError> {
    let size = reader.output_buffer_size().filter(|size| *size <= 4 * MOST_SHOWN_PX);
    let Some(size) = size else {
        let told = format!(
            "an interlaced PNG must have at most {} megapixels, but this has {}; save it without interlacing",
            MOST_SHOWN_PX / 1_000_000,
            columns * rows / 1_000_000
        );
        return Err(FileError::new(name, FileErrorKind::TooLarge, told).into());
    };
    let mut pixels = vec![0; size];
    reader.next_frame(&mut pixels).map_err(|error| broken(name, &error))?;
    for (row, line) in pixels.chunks_exact(columns * samples).enumerate() {
        put(reducer, row, line, columns, samples);
    }
    Ok(())
}

/// Takes a row of pixels of one to four samples.
pub(super) fn put(reducer: &mut Reducer, row: usize, line: &[u8], columns: usize, samples: usize) {
    let columns = columns.min(line.len() / samples.max(1));
    match samples {
        1 => reducer.take(row, 0, columns, |k| Some([line[k]; 3])),
        2 => reducer.take(row, 0, columns, |k| (line[2 * k + 1] > 127).then(|| [line[2 * k]; 3])),
        3 => reducer.take(row, 0, columns, |k| Some([line[3 * k], line[3 * k + 1], line[3 * k + 2]])),
        _ => reducer.take(row, 0, columns, |k| {
            let at = 4 * k;
            (line[at + 3] > 127).then(|| [line[at], line[at + 1], line[at + 2]])
        }),
    }
}
