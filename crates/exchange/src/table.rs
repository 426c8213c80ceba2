//! Tables of numbers: what a pattern is read from, one row a place (CSV).

use crate::cells::{bare, begins, beyond_names, beyond_names_told, parting_of};
use crate::files::{read_bounded, utf8};
use crate::{FileError, FileErrorKind, Place};
use obliquity_planning::Table;
use std::path::Path;

/// Largest table that is read.
const MOST_BYTES: u64 = 32 << 20;

/// Reads the columns of a table from a file: numbers under a line of names, parted by commas or semicolons. Columns that
/// the table does not know are passed over.
///
/// # Errors
/// When the file cannot be read or is too large, when a column that is needed is missing, when a cell is no number, or when
/// there are too many rows or none.
pub fn read_table(path: &Path, table: &Table) -> Result<Vec<Vec<f64>>, FileError> {
    let bytes = read_bounded(path, MOST_BYTES)?;
    let name = path.display().to_string();
    parse_table(utf8(&bytes, &name)?, &name, table)
}

/// Reads the columns of a table from the text of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`read_table`].
pub fn parse_table(text: &str, name: &str, table: &Table) -> Result<Vec<Vec<f64>>, FileError> {
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let Some((head_at, head)) = lines.next() else {
        let message = format!("the file must hold {}, but it is empty; export it again", table.what);
        return Err(FileError::new(name, FileErrorKind::Syntax, message));
    };
    let parting = parting_of(head);
    let columns = Columns::of(head, parting, table).map_err(|message| {
        let place = Place { line: head_at + 1, column: 1 };
        FileError::at(name, FileErrorKind::Format, place, message)
    })?;
    let mut rows = Vec::new();
    for (at, line) in lines {
        if rows.len() == table.most {
            let message = format!(
                "there must be at most {} rows of {}, but there are more; leave some out",
                table.most, table.what
            );
            return Err(FileError::at(
                name,
                FileErrorKind::TooLarge,
                Place { line: at + 1, column: 1 },
                message,
            ));
        }
        let read = columns.read(line).map_err(|Cell { column, message }| {
            FileError::at(name, FileErrorKind::Syntax, Place { line: at + 1, column }, message)
        })?;
        rows.push(read);
    }
    if rows.len() < table.least {
        let message = format!(
            "there must be at least {} rows of {} below the names, but there are {}; add them",
            table.least,
            table.what,
            rows.len()
        );
        return Err(FileError::new(name, FileErrorKind::Invalid, message));
    }
    Ok(rows)
}

/// A cell that cannot be read: where it begins, in characters from 1, and why.
struct Cell {
    column: usize,
    message: String,
}

/// Where the columns of a table stand in a file.
struct Columns {
    parting: char,
    /// How many names the first line has.
    names: usize,
    /// For each column its name and its place, or what it is where it is left out.
    places: Vec<(&'static str, Result<usize, f64>)>,
}

impl Columns {
    fn of(head: &str, parting: char, table: &Table) -> Result<Self, String> {
        let names: Vec<&str> = head.split(parting).map(bare).collect();
        let place = |column: &obliquity_planning::Column| {
            let found = names.iter().position(|name| *name == column.name);
            if names.iter().filter(|name| **name == column.name).count() > 1 {
                return Err(format!(
                    "each column must be named once, but \"{}\" comes again; leave one out",
                    column.name
                ));
            }
            let place = found.ok_or(column.left_out);
            match place {
                Ok(at) => Ok((column.name, Ok(at))),
                Err(Some(value)) => Ok((column.name, Err(value))),
                Err(None) => Err(format!(
                    "the first line must name the columns {}, but \"{}\" is missing; add it",
                    table.columns.iter().map(|column| column.name).collect::<Vec<_>>().join(", "),
                    column.name
                )),
            }
        };
        Ok(Columns {
            parting,
            names: names.len(),
            places: table.columns.iter().map(place).collect::<Result<_, _>>()?,
        })
    }

    fn read(&self, line: &str) -> Result<Vec<f64>, Cell> {
        let cells: Vec<&str> = line.split(self.parting).collect();
        let begins = |at: usize| begins(&cells, at);
        if let Some(more) = beyond_names(&cells, self.names) {
            return Err(Cell { column: begins(more), message: beyond_names_told(self.names) });
        }
        let number = |(name, place): &(&'static str, Result<usize, f64>)| {
            let at = match place {
                Ok(at) => *at,
                Err(left_out) => return Ok(*left_out),
            };
            let Some(cell) = cells.get(at) else {
                let message =
                    format!("a number of {name} must stand in this row, but it ends before; add it");
                return Err(Cell { column: begins(cells.len()), message });
            };
            let value = bare(cell).parse::<f64>().ok().filter(|value| value.is_finite());
            value.ok_or_else(|| Cell {
                column: begins(at),
                message: format!(
                    "{name} must be a number with a point, but it is {:?}; change it",
                    bare(cell).chars().take(40).collect::<String>()
                ),
            })
        };
        self.places.iter().map(number).collect()
    }
}
