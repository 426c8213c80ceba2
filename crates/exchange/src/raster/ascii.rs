//! The grid of an Esri ASCII file: a header of names and numbers, then heights from the north-west, row by row.

use super::source::{Affine, MOST_PIXELS, RasterHeader, Window};
use crate::{FileError, FileErrorKind, Place};
use glam::DVec2;

/// A file whose header is understood.
pub(super) struct AsciiGrid<'a> {
    text: &'a str,
    name: &'a str,
    /// Where the heights begin.
    body: usize,
    pub(super) header: RasterHeader,
}

/// The words of a text with the byte at which each begins.
fn words(text: &str, from: usize) -> impl Iterator<Item = (usize, &str)> {
    let start = text.as_ptr().addr();
    text[from..].split_ascii_whitespace().map(move |word| (word.as_ptr().addr() - start, word))
}

/// What a header may say.
#[derive(Default)]
struct Fields {
    columns: Option<f64>,
    rows: Option<f64>,
    west: Option<(f64, bool)>,
    south: Option<(f64, bool)>,
    step: [Option<f64>; 2],
    no_data: Option<f64>,
}

impl<'a> AsciiGrid<'a> {
    pub(super) fn read(text: &'a str, name: &'a str) -> Result<Self, FileError> {
        let mut fields = Fields::default();
        let mut words = words(text, 0).peekable();
        let mut body = text.len();
        while let Some((at, word)) = words.peek().copied() {
            if !word.starts_with(|c: char| c.is_ascii_alphabetic()) || word.eq_ignore_ascii_case("nan") {
                body = at;
                break;
            }
            words.next();
            let value = words.next().map_or("", |(_, value)| value);
            fields.set(word, value).map_err(|told| wrong(text, name, at, told))?;
        }
        let header = fields.header().map_err(|told| wrong(text, name, 0, told))?;
        // a height and the space before it take two bytes at least
        if header.columns * header.rows > (text.len() - body).div_ceil(2) + 1 {
            let told = format!(
                "a grid of {} columns and {} rows must have {} heights, but the file ends before; it may have been cut, \
                 look for a whole copy",
                header.columns,
                header.rows,
                header.columns * header.rows
            );
            return Err(wrong(text, name, text.len(), told));
        }
        Ok(AsciiGrid { text, name, body, header })
    }

    /// Heights of a window, row by row from the north; NaN where there is none.
    pub(super) fn window(&self, window: &Window) -> Result<Vec<f32>, FileError> {
        let (columns, rows) = (self.header.columns, self.header.rows);
        let mut heights = Vec::with_capacity(window.len());
        let mut count = 0;
        for (at, word) in words(self.text, self.body) {
            let told = || {
                format!("a height must be a number, but it is {word:.40}; write metres with a decimal point")
            };
            let height: f64 = word.parse().map_err(|_| wrong(self.text, self.name, at, told()))?;
            let (column, row) = (count % columns, count / columns);
            if row >= rows {
                let told = format!(
                    "a grid of {columns} columns and {rows} rows must end here, but more heights follow; mend ncols or nrows"
                );
                return Err(wrong(self.text, self.name, at, told));
            }
            if window.columns.contains(&column) && window.rows.contains(&row) {
                heights.push(self.header.height(height));
            }
            count += 1;
        }
        if count < columns * rows {
            let told = format!(
                "a grid of {columns} columns and {rows} rows must have {} heights, but it has {count}; it may have been \
                 cut, look for a whole copy",
                columns * rows
            );
            return Err(wrong(self.text, self.name, self.text.len(), told));
        }
        Ok(heights)
    }
}

impl Fields {
    fn set(&mut self, key: &str, value: &str) -> Result<(), String> {
        let number: f64 = value.parse().map_err(|_| {
            format!("{key:.40} must be followed by a number, but that is {value:?}; compare with another grid's header")
        })?;
        match key.to_ascii_lowercase().as_str() {
            "ncols" => self.columns = Some(number),
            "nrows" => self.rows = Some(number),
            "xllcorner" => self.west = Some((number, false)),
            "xllcenter" | "xllcentre" => self.west = Some((number, true)),
            "yllcorner" => self.south = Some((number, false)),
            "yllcenter" | "yllcentre" => self.south = Some((number, true)),
            "cellsize" => self.step = [Some(number); 2],
            "dx" => self.step[0] = Some(number),
            "dy" => self.step[1] = Some(number),
            "nodata_value" => self.no_data = Some(number),
            _ => {
                return Err(format!(
                    "the header must hold ncols, nrows, xllcorner, yllcorner, cellsize and nodata_value, but it holds \
                     {key:.40}; is this an Esri ASCII grid?"
                ));
            }
        }
        Ok(())
    }

    fn header(&self) -> Result<RasterHeader, String> {
        let given = |what: &str, value: Option<f64>| {
            value.ok_or_else(|| format!("the header must give {what}, but it does not; add it"))
        };
        let count = |what: &str, value: f64| {
            if value >= 2.0 && value <= MOST_PIXELS as f64 && value.fract() == 0.0 {
                return Ok(value as usize);
            }
            Err(format!(
                "{what} must be a whole number from 2 to {MOST_PIXELS}, but it is {value}; cut the grid to the site"
            ))
        };
        let (columns, rows) =
            (count("ncols", given("ncols", self.columns)?)?, count("nrows", given("nrows", self.rows)?)?);
        if columns.checked_mul(rows).is_none_or(|pixels| pixels > MOST_PIXELS) {
            return Err(format!(
                "a grid must have at most {MOST_PIXELS} heights, but this has {columns} columns and {rows} rows; cut it to the site"
            ));
        }
        let [dx, dy] = self.step;
        let step = DVec2::new(given("cellsize", dx)?, given("cellsize", dy)?);
        if !(step.is_finite() && step.min_element() > 0.0) {
            return Err(format!(
                "cellsize must be above 0, but it is {}; write the distance between heights",
                step.x
            ));
        }
        let place = |what: &str, value: Option<(f64, bool)>, step: f64| {
            let (at, centre) =
                value.ok_or_else(|| format!("the header must give {what}, but it does not; add it"))?;
            if at.is_finite() {
                return Ok(if centre { at } else { at + step / 2.0 });
            }
            Err(format!(
                "{what} must be a plain number, but it is {at}; write it in the grid's own coordinates"
            ))
        };
        let west = place("xllcorner", self.west, step.x)?;
        let south = place("yllcorner", self.south, step.y)?;
        let north = south + step.y * (rows - 1) as f64;
        let to_world = Affine {
            origin: DVec2::new(west, north),
            across: DVec2::new(step.x, 0.0),
            down: DVec2::new(0.0, -step.y),
        };
        Ok(RasterHeader {
            columns,
            rows,
            to_world,
            frame: None,
            no_data: self.no_data,
            unit_m: 1.0,
            notes: Vec::new(),
        })
    }
}

fn wrong(text: &str, name: &str, byte: usize, told: String) -> FileError {
    FileError::at(name, FileErrorKind::Syntax, Place::of_byte(text, byte), told)
}
