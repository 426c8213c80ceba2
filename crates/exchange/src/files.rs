//! Reading whole files within bounds, and saving so that no moment is without a whole file.

use crate::{FileError, FileErrorKind, Place};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, IntoInnerError, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::SystemTime;

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
    save(path, bytes).map_err(|error| unsaved(path, &error))
}

/// The same of a file whose version before nobody wants.
pub(crate) fn replace_atomically(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    let staged = Staged::write(path, |file| file.write_all(bytes));
    staged.and_then(Staged::place).map_err(|error| unsaved(path, &error))
}

fn unsaved(path: &Path, error: &io::Error) -> FileError {
    let message = format!(
        "cannot be saved: {}; nothing was changed, check the path, the folder's permissions and the space",
        told(error)
    );
    FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message)
}

fn save(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // A link stays a link: what it points to is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let staged = Staged::write(&target, |file| file.write_all(bytes))?;
    keep_previous(&target)?;
    staged.place()?;
    sweep(folder_of(&target), SystemTime::now());
    Ok(())
}

/// A file that is written beside its place and takes it once it is whole. Dropped before, it is gone without a trace.
#[derive(Debug)]
pub(crate) struct Staged {
    new: PathBuf,
    target: PathBuf,
}

impl Staged {
    /// Writes the new version beside the old one, down to the disk, with the permissions of the old one.
    pub(crate) fn write(
        target: &Path,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> io::Result<Staged> {
        let new = temporary(target, "saving")?;
        let file = OpenOptions::new().write(true).create_new(true).open(&new)?;
        let staged = Staged { new, target: target.to_owned() };
        if let Ok(old) = fs::metadata(target) {
            file.set_permissions(old.permissions())?;
        }
        let mut out = BufWriter::new(file);
        fill(&mut out)?;
        out.into_inner().map_err(IntoInnerError::into_error)?.sync_all()?;
        Ok(staged)
    }

    /// Puts the new version in its place.
    pub(crate) fn place(self) -> io::Result<()> {
        fs::rename(&self.new, &self.target)?;
        sync_folder(folder_of(&self.target));
        Ok(())
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        // Once it is in its place there is nothing left beside it.
        let _ = fs::remove_file(&self.new);
    }
}

/// The name of a file that this process has in hand for a target, in the target's own folder: `.yard.ron.saving-4711-0`.
fn temporary(target: &Path, what: &str) -> io::Result<PathBuf> {
    static FILES: AtomicU32 = AtomicU32::new(0);
    let name = target.file_name().ok_or_else(|| io::Error::other("the path does not name a file"))?;
    let mut hidden = OsString::from(".");
    hidden.push(name);
    hidden.push(format!(".{what}-{}-{}", std::process::id(), FILES.fetch_add(1, Ordering::Relaxed)));
    Ok(target.with_file_name(hidden))
}

/// Gives the old version its second name while it keeps its first: by a hard link where the disk has them.
fn keep_previous(target: &Path) -> io::Result<()> {
    if !target.exists() {
        return Ok(());
    }
    let keeping = temporary(target, "keeping")?;
    let mut previous = target.file_name().unwrap_or_default().to_owned();
    previous.push(".previous");
    let kept = fs::hard_link(target, &keeping)
        .or_else(|_| {
            fs::copy(target, &keeping)?;
            File::open(&keeping)?.sync_all()
        })
        .and_then(|()| fs::rename(&keeping, target.with_file_name(previous)));
    if kept.is_err() {
        let _ = fs::remove_file(&keeping);
    }
    kept
}

/// The folder that a file stands in.
pub(crate) fn folder_of(target: &Path) -> &Path {
    target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Makes the renames last through a loss of power; not every system can, and the file is whole without it.
fn sync_folder(folder: &Path) {
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
}

/// A file in hand that is older than this is nobody's: a save takes seconds.
const LEFT_OVER_S: u64 = 24 * 3600;

/// Takes away what crashed processes have left in a folder: files in hand, old, whose process is no more. What cannot be
/// taken away stays; it does no harm.
pub(crate) fn sweep(folder: &Path, now: SystemTime) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let Some(process) = entry.file_name().to_str().and_then(process_in_hand) else { continue };
        // Of the entry itself: what a link points to is not ours.
        let Ok(found) = entry.metadata() else { continue };
        let age = found.modified().ok().and_then(|written| now.duration_since(written).ok());
        if found.is_file() && age.is_some_and(|age| age.as_secs() > LEFT_OVER_S) && !is_alive(process) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// The process that a file's name says has it in hand; nothing for any other file.
fn process_in_hand(name: &str) -> Option<u32> {
    let (of, tag) = name.strip_prefix('.')?.rsplit_once('.')?;
    let tag = tag.strip_prefix("saving-").or_else(|| tag.strip_prefix("keeping-"))?;
    let (process, number) = tag.split_once('-')?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    (!of.is_empty() && digits(process) && digits(number)).then(|| process.parse().ok())?
}

/// Whether a process of this number lives; where the system cannot be asked, age alone decides.
pub(crate) fn is_alive(process: u32) -> bool {
    #[cfg(unix)]
    {
        use rustix::io::Errno;
        use rustix::process::{Pid, test_kill_process};
        let pid = i32::try_from(process).ok().and_then(Pid::from_raw);
        pid.is_some_and(|pid| test_kill_process(pid) != Err(Errno::SRCH))
    }
    #[cfg(not(unix))]
    {
        process == std::process::id()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    /// A number that no process has any more.
    fn a_dead_process() -> u32 {
        let _alone = crate::own::alone();
        let mut child = std::process::Command::new("true").spawn().unwrap();
        child.wait().unwrap();
        child.id()
    }

    #[cfg(unix)]
    #[test]
    fn what_a_crash_has_left_goes_once_it_is_old_and_nobodys() {
        let folder = tempfile::tempdir().unwrap();
        let (dead, alive) = (a_dead_process(), std::process::id());
        let (old, fresh) = (Duration::from_secs(LEFT_OVER_S + 60), Duration::from_secs(LEFT_OVER_S - 60));
        let now = SystemTime::now();
        let put = |name: &str, age: Duration| {
            let file = File::create(folder.path().join(name)).unwrap();
            file.set_modified(now - age).unwrap();
        };
        put(&format!(".yard.ron.saving-{dead}-0"), old);
        put(&format!(".stations.csv.keeping-{dead}-12"), old);
        let kept = [
            format!(".yard.ron.saving-{alive}-0"),
            format!(".yard.ron.saving-{dead}-1"),
            format!(".saving-{dead}-0"),
            format!(".yard.ron.saving-{dead}-x"),
            format!("yard.ron.saving-{dead}-0"),
            ".yard.ron.saving--1".to_owned(),
        ];
        for (name, age) in kept.iter().zip([old, fresh, old, old, old, old]) {
            put(name, age);
        }
        let elsewhere = tempfile::NamedTempFile::new().unwrap();
        elsewhere.as_file().set_modified(now - old).unwrap();
        std::os::unix::fs::symlink(elsewhere.path(), folder.path().join(format!(".a.saving-{dead}-3")))
            .unwrap();
        sweep(folder.path(), now);
        let mut expected = kept.to_vec();
        expected.push(format!(".a.saving-{dead}-3"));
        expected.sort();
        assert_eq!(names(folder.path()), expected);
        assert!(elsewhere.path().exists());
    }

    /// A writer whose disk is full after some bytes leaves the old file as it was, and nothing beside it.
    #[test]
    fn a_full_disk_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("board.png");
        fs::write(&path, "the old one").unwrap();
        let full = Staged::write(&path, |file| {
            file.write_all(&vec![7; 100_000])?;
            Err(io::Error::from(io::ErrorKind::StorageFull))
        });
        assert_eq!(full.unwrap_err().kind(), io::ErrorKind::StorageFull);
        assert_eq!(names(folder.path()), ["board.png"]);
        let given_up = Staged::write(&path, |file| file.write_all(b"new")).unwrap();
        assert_eq!(names(folder.path()).len(), 2);
        drop(given_up);
        assert_eq!(
            (names(folder.path()), fs::read(&path).unwrap()),
            (vec!["board.png".to_owned()], b"the old one".to_vec())
        );
        Staged::write(&path, |file| file.write_all(b"new")).unwrap().place().unwrap();
        assert_eq!((names(folder.path()).len(), fs::read(&path).unwrap()), (1, b"new".to_vec()));
    }
}
