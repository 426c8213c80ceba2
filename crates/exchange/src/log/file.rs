//! Logs as files of their own.

use super::sheet::LogSheet;
use crate::files::{read_bounded, utf8};
use crate::scenario::save_known;
use crate::{FileError, FileStamp};
use std::path::Path;

/// Whether a file is to be read as a log: by its name.
pub fn is_log_file(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"))
}

/// Reads a log of either kind, with what tells later whether the file still holds it. Rows with something wrong are kept as they are.
///
/// # Errors
/// As [`LogSheet::parse`]; when the file cannot be read or is too large.
pub fn read_log(path: &Path) -> Result<(LogSheet, FileStamp), FileError> {
    let bytes = read_bounded(path, super::MOST_BYTES)?;
    let name = path.display().to_string();
    let sheet = LogSheet::parse(utf8(&bytes, &name)?, &name)?;
    Ok((sheet, FileStamp::of(path, &bytes)))
}

/// Saves a log in the place of what is known to be there; the version before is kept beside it.
///
/// # Errors
/// When the system refuses; [`crate::FileErrorKind::Changed`] where the file holds something else by now than is `known`: it is then
/// untouched.
pub fn save_log(path: &Path, sheet: &LogSheet, known: Option<&FileStamp>) -> Result<FileStamp, FileError> {
    save_known(path, sheet.to_csv().as_bytes(), known)
}
