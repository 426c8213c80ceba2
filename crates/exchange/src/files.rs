//! Reading whole files within bounds, and saving so that no moment is without a whole file.

use crate::{FileError, FileErrorKind, Place};
use std::ffi::{OsStr, OsString};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// Reads a file of at most `most_bytes`.
pub(crate) fn read_bounded(path: &Path, most_bytes: u64) -> Result<Vec<u8>, FileError> {
    let name = path.display().to_string();
    let read = || -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        File::open(path)?.take(most_bytes + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    let bytes = read().map_err(|error| unreadable(&name, &error))?;
    if bytes.len() as u64 > most_bytes {
        return Err(too_large(&name, most_bytes));
    }
    Ok(bytes)
}

pub(crate) fn too_large(file: &str, most_bytes: u64) -> FileError {
    let message =
        format!("the file must have at most {} MB, but it has more; leave parts out", most_bytes >> 20);
    FileError::new(file, FileErrorKind::TooLarge, message)
}

fn unreadable(file: &str, error: &io::Error) -> FileError {
    let mend = match error.kind() {
        io::ErrorKind::NotFound => "check its name and folder",
        io::ErrorKind::PermissionDenied => "check its permissions",
        _ => "check that it is a file",
    };
    FileError::new(file, FileErrorKind::Unreadable, format!("cannot be read: {}; {mend}", told(error)))
}

/// The system's words, in lower case and without its error number.
pub(crate) fn told(error: &io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or(&text);
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + chars.as_str())
}

/// The text of a file that must be UTF-8, without a byte order mark.
pub(crate) fn utf8<'a>(bytes: &'a [u8], file: &str) -> Result<&'a str, FileError> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let good = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
        let place = Place::of_byte(&good, good.len());
        let message = "the file must be UTF-8 text, but here it is not; save it as UTF-8";
        FileError::at(file, FileErrorKind::Syntax, place, message)
    })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// Writes a file so that a crash at any moment leaves either the old or the new version whole, never a cut one.
///
/// The new version is written beside the file, flushed to the disk, and renamed over it; the old one stays as
/// `NAME.previous`.
pub(crate) fn save_atomically(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    save(path, bytes).map_err(|error| {
        let message = format!(
            "cannot be saved: {}; the file is as it was, check the folder's permissions and space",
            told(&error)
        );
        FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message)
    })
}

fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // A link stays a link: what it points to is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let name = target.file_name().ok_or_else(|| io::Error::other("the path does not name a file"))?;
    let beside = Beside::new(&target, name);
    let written = beside.write_new(bytes).and_then(|()| {
        beside.keep_previous()?;
        fs::rename(&beside.new, &target)
    });
    // Nothing is left of a save that failed; after one that did not, these are gone already.
    let _ = fs::remove_file(&beside.new);
    let _ = fs::remove_file(&beside.keeping);
    written?;
    sync_folder(&target);
    Ok(())
}

/// The names that a save uses in the file's own folder.
struct Beside {
    target: PathBuf,
    new: PathBuf,
    keeping: PathBuf,
    previous: PathBuf,
}

impl Beside {
    fn new(target: &Path, name: &OsStr) -> Self {
        static SAVES: AtomicU32 = AtomicU32::new(0);
        let tag = format!("{}-{}", std::process::id(), SAVES.fetch_add(1, Ordering::Relaxed));
        let hidden = |what: &str| {
            let mut hidden = OsString::from(".");
            hidden.push(name);
            hidden.push(format!(".{what}-{tag}"));
            target.with_file_name(hidden)
        };
        let mut previous = name.to_owned();
        previous.push(".previous");
        Beside {
            target: target.to_owned(),
            new: hidden("saving"),
            keeping: hidden("keeping"),
            previous: target.with_file_name(previous),
        }
    }

    fn write_new(&self, bytes: &[u8]) -> io::Result<()> {
        let mut file = OpenOptions::new().write(true).create_new(true).open(&self.new)?;
        if let Ok(old) = fs::metadata(&self.target) {
            file.set_permissions(old.permissions())?;
        }
        file.write_all(bytes)?;
        file.flush()?;
        file.sync_all()
    }

    /// Gives the old version its second name while it keeps its first: by a hard link where the disk has them.
    fn keep_previous(&self) -> io::Result<()> {
        if !self.target.exists() {
            return Ok(());
        }
        if fs::hard_link(&self.target, &self.keeping).is_err() {
            fs::copy(&self.target, &self.keeping)?;
            File::open(&self.keeping)?.sync_all()?;
        }
        fs::rename(&self.keeping, &self.previous)
    }
}

/// Makes the renames last through a loss of power; not every system can, and the file is whole without it.
fn sync_folder(target: &Path) {
    if let Some(folder) = target.parent() {
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
    }
}
