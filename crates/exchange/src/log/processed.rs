//! Logbooks of processed jobs: a row each (CSV), from which rates of processing are fitted.

use super::columns::LogKind;
use super::sheet::{CellFault, LogSheet, Read, Row, not_whole};
use crate::FileError;
use crate::files::{read_bounded, utf8};
use obliquity_planning::{ProcessedJob, surface_cells};
use std::path::Path;

/// Reads a logbook of processed jobs.
///
/// # Errors
/// When the file cannot be read or is too large; else everything that is wrong with it, each with its place.
pub fn read_processed_jobs(path: &Path) -> Result<Vec<ProcessedJob>, FileError> {
    let bytes = read_bounded(path, super::MOST_BYTES)?;
    let name = path.display().to_string();
    parse_processed_jobs(utf8(&bytes, &name)?, &name)
}

/// Reads a logbook from the text of a file; `name` is the file's in messages.
///
/// Under a line of names stands a row for each job; commas or semicolons part them. Needed are `images`, `megapixels` (of an
/// image), `area_ha` and `gsd_cm`; `job` (its name), `image_pairs`, the hours of stages and `total_h` may be left out or empty,
/// but each job tells its total or the hours of a stage.
///
/// # Errors
/// As [`read_processed_jobs`].
pub fn parse_processed_jobs(text: &str, name: &str) -> Result<Vec<ProcessedJob>, FileError> {
    Read::of(LogKind::Processed, text, name)?.jobs(name, LogSheet::processed)
}

/// Names of all columns that a logbook may have, the first one a text.
pub fn processed_job_columns() -> Vec<&'static str> {
    LogKind::Processed.names()
}

impl LogSheet {
    /// The job of a row, or everything that is wrong with it.
    ///
    /// # Errors
    /// What is wrong with the cells.
    pub fn processed(&self, row: usize) -> Result<ProcessedJob, Vec<CellFault>> {
        job(&self.row(row), row + 1)
    }
}

/// The job of a row.
fn job(row: &Row<'_>, number: usize) -> Result<ProcessedJob, Vec<CellFault>> {
    let numbers = row.numbers()?;
    let [Some(images), Some(megapixels), image_pairs, Some(area_ha), Some(gsd_cm), stages @ .., total_h] =
        numbers.as_slice()
    else {
        return Err(row.fault(None, "a number is missing; add it"));
    };
    let mut stage_h = [None; 7];
    stage_h.copy_from_slice(stages);
    for (name, count) in [("images", Some(*images)), ("image_pairs", *image_pairs)] {
        if let Some(count) = count.filter(|count| count.fract() != 0.0) {
            return Err(row.fault(Some(name), not_whole(name, count)));
        }
    }
    if image_pairs.is_some_and(|pairs| pairs > images * (images - 1.0) / 2.0) {
        let message =
            format!("of {images} images there are fewer pairs than that; correct images or image_pairs");
        return Err(row.fault(Some("image_pairs"), message));
    }
    let stages_h: f64 = stage_h.iter().flatten().sum();
    if total_h.is_none() && stage_h.iter().all(Option::is_none) {
        let message =
            "a job must tell total_h or the hours of a stage, but it tells neither; add them or leave it out";
        return Err(row.fault(None, message));
    }
    if total_h.is_some_and(|total_h| total_h < 0.99 * stages_h) {
        let message =
            format!("total_h must be the stages together or more, but they are {stages_h:.2}; correct it");
        return Err(row.fault(Some("total_h"), message));
    }
    Ok(ProcessedJob {
        name: row.text("job").unwrap_or_else(|| format!("job {number}")),
        images: *images as u32,
        gigapixels: images * megapixels / 1000.0,
        image_pairs: image_pairs.map(|pairs| pairs as u64),
        giga_cells: surface_cells(area_ha * 1e4, gsd_cm / 100.0) / 1e9,
        stage_h,
        total_h: *total_h,
    })
}
