use crate::files::{read_bounded, save_atomically, utf8};
use crate::{FileError, FileErrorKind, FileFault, parse_library, write_library};
use obliquity_planning::Equipment;
use std::fs;
use std::path::{Path, PathBuf};

/// Largest library that is read; 64 aircraft take 0.1 MB.
const MOST_BYTES: u64 = 4 << 20;

fn file_in(folder: &Path) -> PathBuf {
    folder.join("aircraft.ron")
}

/// Reads the user's library of aircraft; an empty one where there is no file yet.
///
/// # Errors
/// When there is a file that cannot be read: it stays as it is.
pub fn read_library(folder: &Path) -> Result<Equipment, FileError> {
    let path = file_in(folder);
    if !path.exists() {
        return Ok(Equipment::default());
    }
    let name = path.display().to_string();
    parse_library(utf8(&read_bounded(&path, MOST_BYTES)?, &name)?, &name)
}

/// Saves the user's library; the version before stays beside it as `aircraft.ron.previous`.
///
/// # Errors
/// When the aircraft have faults, when the file that is there could not be read (it may be a newer program's), or when
/// the system refuses; the file is then as it was.
pub fn save_library(folder: &Path, library: &Equipment) -> Result<(), FileError> {
    let path = file_in(folder);
    let name = path.display().to_string();
    let faults: Vec<FileFault> = library
        .faults()
        .into_iter()
        .map(|fault| FileFault {
            place: None,
            message: format!("not saved, because of {}: {}", fault.path, fault.message),
        })
        .collect();
    if !faults.is_empty() {
        return Err(FileError { file: name, kind: FileErrorKind::Invalid, faults });
    }
    read_library(folder)?;
    fs::create_dir_all(folder).map_err(|error| {
        let message =
            format!("its folder cannot be made: {error}; check the permissions of the folder above");
        FileError::new(&name, FileErrorKind::Unwritable, message)
    })?;
    save_atomically(&path, write_library(library).as_bytes())
}
