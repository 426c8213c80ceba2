//! Logbooks of processed jobs: a row each (CSV), from which rates of processing are fitted.

use crate::cells::{bare, begins, beyond_names, beyond_names_told, parting_of};
use crate::files::{read_bounded, utf8};
use crate::{FileError, FileErrorKind, FileFault, Place};
use obliquity_planning::{ProcessedJob, surface_cells};
use std::path::Path;

/// Largest logbook that is read.
const MOST_BYTES: u64 = 4 << 20;

/// Most jobs in it.
const MOST_JOBS: usize = 10_000;

/// Faults that are told at once.
const MOST_FAULTS: usize = 20;

/// A column of numbers: its name, the range of what may stand there, and whether a cell may be empty.
struct JobColumn {
    name: &'static str,
    least: f64,
    most: f64,
    cells: Cells,
}

/// Whether a number must stand in every row.
#[derive(Clone, Copy, PartialEq)]
enum Cells {
    /// In each.
    Given,
    /// Where it is known; the column itself may be missing.
    Known,
}

const HOURS: (f64, f64) = (1e-4, 1e5);

const IMAGES: JobColumn = JobColumn { name: "images", least: 2.0, most: 1e6, cells: Cells::Given };
const MEGAPIXELS: JobColumn = JobColumn { name: "megapixels", least: 0.1, most: 1000.0, cells: Cells::Given };
const PAIRS: JobColumn = JobColumn { name: "image_pairs", least: 1.0, most: 5e11, cells: Cells::Known };
const AREA: JobColumn = JobColumn { name: "area_ha", least: 1e-3, most: 1e6, cells: Cells::Given };
const GSD: JobColumn = JobColumn { name: "gsd_cm", least: 0.01, most: 1000.0, cells: Cells::Given };
const TOTAL: JobColumn = JobColumn { name: "total_h", least: HOURS.0, most: HOURS.1, cells: Cells::Known };

const STAGES: [JobColumn; 7] = {
    const fn hours(name: &'static str) -> JobColumn {
        JobColumn { name, least: HOURS.0, most: HOURS.1, cells: Cells::Known }
    }
    // in the order of the stages; a test holds the names against theirs
    [
        hours("features_h"),
        hours("matching_h"),
        hours("adjustment_h"),
        hours("dense_h"),
        hours("surface_h"),
        hours("orthomosaic_h"),
        hours("texture_h"),
    ]
};

/// Names of all columns that a logbook may have, the first one a text.
pub fn processed_job_columns() -> Vec<&'static str> {
    let numbers = [&IMAGES, &MEGAPIXELS, &PAIRS, &AREA, &GSD].into_iter().chain(&STAGES).chain([&TOTAL]);
    ["job"].into_iter().chain(numbers.map(|column| column.name)).collect()
}

/// Reads a logbook of processed jobs.
///
/// # Errors
/// When the file cannot be read or is too large; else everything that is wrong with it, each with its place.
pub fn read_processed_jobs(path: &Path) -> Result<Vec<ProcessedJob>, FileError> {
    let bytes = read_bounded(path, MOST_BYTES)?;
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
    let mut lines = (1..).zip(text.lines()).filter(|(_, line)| !line.trim().is_empty());
    let Some((head_line, head)) = lines.next() else {
        let message = format!(
            "the file must hold processed jobs under a line of names ({}), but it is empty",
            processed_job_columns().join(", ")
        );
        return Err(FileError::new(name, FileErrorKind::Syntax, message));
    };
    let parting = parting_of(head);
    let names: Vec<&str> = head.split(parting).map(bare).collect();
    let faults = head_faults(&names, (head, parting), head_line);
    if !faults.is_empty() {
        return Err(FileError { file: name.to_owned(), kind: FileErrorKind::Format, faults });
    }
    let (mut jobs, mut faults) = (Vec::new(), Vec::new());
    for (line, text) in lines {
        if jobs.len() == MOST_JOBS {
            let message =
                format!("there must be at most {MOST_JOBS} jobs, but there are more; leave some out");
            return Err(FileError::at(name, FileErrorKind::TooLarge, Place { line, column: 1 }, message));
        }
        let row = Row { names: &names, cells: text.split(parting).collect(), line };
        match row.job(jobs.len() + 1) {
            Ok(job) => jobs.push(job),
            Err(wrong) => faults.extend(wrong),
        }
        if faults.len() >= MOST_FAULTS {
            break;
        }
    }
    if jobs.is_empty() && faults.is_empty() {
        let message = "there must be a row for each job below the names, but there is none; add them";
        return Err(FileError::new(name, FileErrorKind::Invalid, message));
    }
    if faults.is_empty() {
        Ok(jobs)
    } else {
        Err(FileError { file: name.to_owned(), kind: FileErrorKind::Invalid, faults })
    }
}

/// What is wrong with the line of names.
fn head_faults(names: &[&str], (head, parting): (&str, char), line: usize) -> Vec<FileFault> {
    let known = processed_job_columns();
    let at = |column: usize, message: String| FileFault { place: Some(Place { line, column }), message };
    let missing =
        [&IMAGES, &MEGAPIXELS, &AREA, &GSD].into_iter().filter(|column| !names.contains(&column.name));
    let mut faults: Vec<FileFault> = missing
        .map(|column| {
            at(1, format!("the first line must name the column {}, but it does not; add it", column.name))
        })
        .collect();
    let cells: Vec<&str> = head.split(parting).collect();
    for (place, name) in names.iter().enumerate() {
        let column = begins(&cells, place);
        if !known.contains(name) {
            let message =
                format!("there is no column {:?}; write one of {}", shortened(name), known.join(", "));
            faults.push(at(column, message));
        } else if names[..place].contains(name) {
            faults.push(at(
                column,
                format!("each column must be named once, but {name} comes again; leave one out"),
            ));
        }
    }
    faults
}

/// A row of a logbook.
struct Row<'a> {
    names: &'a [&'a str],
    cells: Vec<&'a str>,
    line: usize,
}

impl Row<'_> {
    fn job(&self, number: usize) -> Result<ProcessedJob, Vec<FileFault>> {
        let mut faults = Vec::new();
        if let Some(more) = beyond_names(&self.cells, self.names.len()) {
            return Err(vec![self.fault(more, beyond_names_told(self.names.len()))]);
        }
        let mut number_of = |column: &JobColumn| match self.number(column) {
            Ok(value) => value,
            Err(fault) => {
                faults.push(fault);
                None
            }
        };
        let given = [&IMAGES, &MEGAPIXELS, &AREA, &GSD].map(&mut number_of);
        let [image_pairs, total_h] = [&PAIRS, &TOTAL].map(&mut number_of);
        let stage_h = STAGES.each_ref().map(&mut number_of);
        let [Some(images), Some(megapixels), Some(area_ha), Some(gsd_cm)] = given else { return Err(faults) };
        if !faults.is_empty() {
            return Err(faults);
        }
        if images.fract() != 0.0 || image_pairs.is_some_and(|pairs| pairs.fract() != 0.0) {
            return Err(vec![
                self.fault(0, "images and image_pairs must be whole numbers, but one is not".into()),
            ]);
        }
        if image_pairs.is_some_and(|pairs| pairs > images * (images - 1.0) / 2.0) {
            let message =
                format!("of {images} images there are fewer pairs than that; correct images or image_pairs");
            return Err(vec![self.fault(self.place(PAIRS.name).unwrap_or(0), message)]);
        }
        let stages_h: f64 = stage_h.iter().flatten().sum();
        if total_h.is_none() && stage_h.iter().all(Option::is_none) {
            let message = "a job must tell total_h or the hours of a stage, but it tells neither; add them or leave it out";
            return Err(vec![self.fault(0, message.to_owned())]);
        }
        if total_h.is_some_and(|total_h| total_h < 0.99 * stages_h) {
            let message = format!(
                "total_h must be the stages together or more, but they are {stages_h:.2}; correct it"
            );
            return Err(vec![self.fault(self.place(TOTAL.name).unwrap_or(0), message)]);
        }
        let name = self.place("job").and_then(|at| self.cells.get(at)).map(|cell| bare(cell));
        let name = name.filter(|name| !name.is_empty()).map_or_else(|| format!("job {number}"), shortened);
        Ok(ProcessedJob {
            name,
            images: images as u32,
            gigapixels: images * megapixels / 1000.0,
            image_pairs: image_pairs.map(|pairs| pairs as u64),
            giga_cells: surface_cells(area_ha * 1e4, gsd_cm / 100.0) / 1e9,
            stage_h,
            total_h,
        })
    }

    fn place(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|own| *own == name)
    }

    fn fault(&self, cell: usize, message: String) -> FileFault {
        let column = begins(&self.cells, cell.min(self.cells.len()));
        FileFault { place: Some(Place { line: self.line, column }), message }
    }

    /// What stands in a column; nothing where it may be and is left out.
    fn number(&self, column: &JobColumn) -> Result<Option<f64>, FileFault> {
        let at = self.place(column.name);
        let cell = at.and_then(|at| self.cells.get(at)).map_or("", |cell| bare(cell));
        let fault = |told: String| {
            let JobColumn { name, least, most, .. } = *column;
            self.fault(
                at.unwrap_or(0),
                format!("{name} must be a number with a point from {least} to {most}, but {told}"),
            )
        };
        if cell.is_empty() {
            return match column.cells {
                Cells::Known => Ok(None),
                Cells::Given => Err(fault("nothing stands there; add it".to_owned())),
            };
        }
        let range = column.least..=column.most;
        let value = cell.parse::<f64>().ok().filter(|value| range.contains(value));
        value.map(Some).ok_or_else(|| {
            let empty = if column.cells == Cells::Known { " or leave it empty" } else { "" };
            fault(format!("it is {:?}; change it{empty}", shortened(cell)))
        })
    }
}

/// What is quoted of a cell, in one line.
fn shortened(cell: &str) -> String {
    cell.chars().filter(|letter| !letter.is_control()).take(60).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use obliquity_planning::ProcessingStage;

    #[test]
    fn columns_are_named_as_the_stages_are() {
        let names = ProcessingStage::ALL.map(|stage| format!("{}_h", stage.name()));
        assert_eq!(names, STAGES.map(|column| column.name));
    }
}
