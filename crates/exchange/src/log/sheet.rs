//! A log as a table of cells: read with everything that is wrong with it, edited cell by cell, written.

use super::columns::{Cells, LogColumn, LogKind};
use crate::cells::{bare, begins, beyond_names, beyond_names_told, parted, parting_of};
use crate::{FileError, FileErrorKind, FileFault, Place};

/// Most jobs in a log.
pub const MOST_LOGGED: usize = 10_000;

/// Faults that are told at once.
const MOST_FAULTS: usize = 20;

/// Most characters of a cell.
const MOST_LETTERS: usize = 200;

/// A log as it stands in its file: rows under a line of names. Cells may hold anything; what is wrong with them is told row by
/// row, and nothing is lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogSheet {
    /// What it logs.
    pub kind: LogKind,
    /// Names of its columns, each of its kind and none twice.
    pub names: Vec<&'static str>,
    /// Cells of its rows, as many as names.
    pub rows: Vec<Vec<String>>,
}

/// What is wrong with a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellFault {
    /// Place of the cell among the names; nothing where it is about the whole row.
    pub column: Option<usize>,
    /// What was required, what came, and the mend.
    pub message: String,
}

impl LogSheet {
    /// One without jobs, with every column.
    pub fn empty(kind: LogKind) -> Self {
        LogSheet { kind, names: kind.names(), rows: Vec::new() }
    }

    /// Reads a log of either kind from the text of a file; `name` is the file's in messages.
    ///
    /// # Errors
    /// What is wrong with the line of names, or that there are too many rows. What is wrong with rows is told by
    /// [`LogSheet::faults`].
    pub fn parse(text: &str, name: &str) -> Result<Self, FileError> {
        let head = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
        let kind = LogKind::of_names(parted(head, parting_of(head)).into_iter().map(bare)).ok_or_else(|| {
            let [first, second] = LogKind::ALL.map(|kind| format!("{} ({})", kind.told(), kind.names().join(", ")));
            let message = format!(
                "the first line must name the columns of {first} or of {second}, but it names neither; add them"
            );
            FileError::new(name, FileErrorKind::Format, message)
        })?;
        Read::of(kind, text, name).map(|read| read.sheet)
    }

    /// As it is written into a file.
    pub fn to_csv(&self) -> String {
        let rows =
            self.rows.iter().map(|row| row.iter().map(|cell| quoted(cell)).collect::<Vec<_>>().join(","));
        let lines: Vec<String> = std::iter::once(self.names.join(",")).chain(rows).collect();
        lines.join("\n") + "\n"
    }

    /// Place of a column among the names.
    pub fn place(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|own| *own == name)
    }

    /// What a cell holds of a text: one line without blanks at its ends, and no quotes that would end those about it.
    pub fn cleaned(text: &str) -> String {
        let letters = text.chars().filter(|letter| !letter.is_control()).take(MOST_LETTERS);
        letters.map(|letter| if letter == '"' { '\'' } else { letter }).collect::<String>().trim().to_owned()
    }

    pub(super) fn row(&self, row: usize) -> Row<'_> {
        Row {
            kind: self.kind,
            names: &self.names,
            cells: self.rows[row].iter().map(String::as_str).collect(),
        }
    }
}

/// A cell with quotes about it where it would be parted.
fn quoted(cell: &str) -> String {
    if cell.contains([',', ';']) { format!("\"{cell}\"") } else { cell.to_owned() }
}

/// A log with where its rows are in the file.
pub(super) struct Read<'a> {
    sheet: LogSheet,
    /// Line and cells of each row, as they are parted.
    raw: Vec<(usize, Vec<&'a str>)>,
}

impl<'a> Read<'a> {
    pub(super) fn of(kind: LogKind, text: &'a str, name: &str) -> Result<Self, FileError> {
        let mut lines = (1..).zip(text.lines()).filter(|(_, line)| !line.trim().is_empty());
        let Some((head_line, head)) = lines.next() else {
            let message = format!(
                "the file must hold {} under a line of names ({}), but it is empty",
                kind.told(),
                kind.names().join(", ")
            );
            return Err(FileError::new(name, FileErrorKind::Syntax, message));
        };
        let parting = parting_of(head);
        let cells = parted(head, parting);
        let faults = head_faults(kind, &cells, head_line);
        if !faults.is_empty() {
            return Err(FileError { file: name.to_owned(), kind: FileErrorKind::Format, faults });
        }
        let known = kind.names();
        let own = cells.iter().filter_map(|cell| known.iter().find(|name| **name == bare(cell)).copied());
        let names: Vec<&'static str> = own.collect();
        let (mut rows, mut raw) = (Vec::new(), Vec::new());
        for (line, text) in lines {
            if rows.len() == MOST_LOGGED {
                let message =
                    format!("there must be at most {MOST_LOGGED} jobs, but there are more; leave some out");
                return Err(FileError::at(name, FileErrorKind::TooLarge, Place { line, column: 1 }, message));
            }
            let cells = parted(text, parting);
            if let Some(more) = beyond_names(&cells, names.len()) {
                let place = Place { line, column: begins(&cells, more) };
                return Err(FileError::at(
                    name,
                    FileErrorKind::Invalid,
                    place,
                    beyond_names_told(names.len()),
                ));
            }
            let cell =
                |at: usize| cells.get(at).map_or_else(String::new, |cell| LogSheet::cleaned(bare(cell)));
            rows.push((0..names.len()).map(cell).collect());
            raw.push((line, cells));
        }
        Ok(Read { sheet: LogSheet { kind, names, rows }, raw })
    }

    /// Every row as a job.
    ///
    /// # Errors
    /// Everything that is wrong, with its place in the file; that there is no row.
    pub(super) fn jobs<T>(
        &self,
        name: &str,
        of: impl Fn(&LogSheet, usize) -> Result<T, Vec<CellFault>>,
    ) -> Result<Vec<T>, FileError> {
        let (mut jobs, mut faults) = (Vec::new(), Vec::new());
        for (row, (line, cells)) in self.raw.iter().enumerate() {
            let placed = |fault: CellFault| {
                let column = begins(cells, fault.column.unwrap_or(0).min(cells.len()));
                FileFault { place: Some(Place { line: *line, column }), message: fault.message }
            };
            match of(&self.sheet, row) {
                Ok(job) => jobs.push(job),
                Err(wrong) => faults.extend(wrong.into_iter().map(placed)),
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
}

/// What is wrong with the line of names.
fn head_faults(kind: LogKind, cells: &[&str], line: usize) -> Vec<FileFault> {
    let (known, names) = (kind.names(), cells.iter().map(|cell| bare(cell)).collect::<Vec<_>>());
    let at = |column: usize, message: String| FileFault { place: Some(Place { line, column }), message };
    let needed = kind.numbers().iter().filter(|column| column.cells == Cells::Given);
    let missing = needed.filter(|column| !names.contains(&column.name));
    let mut faults: Vec<FileFault> = missing
        .map(|column| {
            at(1, format!("the first line must name the column {}, but it does not; add it", column.name))
        })
        .collect();
    for (place, name) in names.iter().enumerate() {
        let column = begins(cells, place);
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

/// A row of a log.
pub(super) struct Row<'a> {
    kind: LogKind,
    names: &'a [&'static str],
    cells: Vec<&'a str>,
}

impl Row<'_> {
    /// What stands in every column of numbers, in their order; nothing where a cell may be empty and is.
    pub(super) fn numbers(&self) -> Result<Vec<Option<f64>>, Vec<CellFault>> {
        let (mut numbers, mut faults) = (Vec::new(), Vec::new());
        for column in self.kind.numbers() {
            match self.number(column) {
                Ok(number) => numbers.push(number),
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(numbers) } else { Err(faults) }
    }

    /// A text; nothing where it is left out.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        let cell = self.cells.get(self.place(name)?).copied().unwrap_or("");
        Some(shortened(cell)).filter(|text| !text.is_empty())
    }

    fn place(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|own| *own == name)
    }

    /// What is wrong with a cell, or with the whole row.
    pub(super) fn fault(&self, column: Option<&str>, message: impl Into<String>) -> Vec<CellFault> {
        vec![CellFault { column: column.and_then(|name| self.place(name)), message: message.into() }]
    }

    fn number(&self, column: &LogColumn) -> Result<Option<f64>, CellFault> {
        let at = self.place(column.name);
        let cell = at.and_then(|at| self.cells.get(at)).copied().unwrap_or("");
        let fault = |told: String| {
            let LogColumn { name, least, most, .. } = *column;
            let message = format!("{name} must be a number with a point from {least} to {most}, but {told}");
            CellFault { column: at, message }
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

/// What is wrong with a number of things that is none.
pub(super) fn not_whole(name: &str, count: f64) -> String {
    format!("{name} must be a whole number, but it is {count}; count them")
}
