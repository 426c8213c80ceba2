//! Files that are written for others to read: never in the place of what is read, of something else, or unasked; never half.

use crate::files::{Staged, folder_of, sweep, told};
use crate::{FileError, FileErrorKind};
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// As much of a file as it takes to know what it is.
const HEAD_BYTES: u64 = 1 << 16;

/// Whether what an earlier run has written may be replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replace {
    /// Not unless it is asked for.
    Nothing,
    /// A file of the same kind may.
    Earlier,
}

/// What a file is, told from what it holds.
#[derive(Debug, Clone, Copy)]
pub struct OutputKind {
    /// In sentences: `a picture (PNG)`.
    pub name: &'static str,
    is: fn(&[u8]) -> bool,
}

impl OutputKind {
    /// A screen or a card as a picture.
    pub const PICTURE: OutputKind =
        OutputKind { name: "a picture (PNG)", is: |head| head.starts_with(b"\x89PNG\r\n\x1a\n") };
    /// A set-up card for printing.
    pub const PDF: OutputKind = OutputKind { name: "a PDF", is: |head| head.starts_with(b"%PDF-") };
    /// A diagram as vector graphics.
    pub const DIAGRAM: OutputKind =
        OutputKind { name: "a diagram (SVG)", is: |head| head.starts_with(b"<svg ") };
    /// A set-up card as text.
    pub const CARD: OutputKind =
        OutputKind { name: "a set-up card", is: |head| head.starts_with(crate::card::HEADING.as_bytes()) };
    /// A firm's jobs of a year and the fleets for them.
    pub const PORTFOLIO: OutputKind = OutputKind { name: "a portfolio", is: crate::portfolio::is_portfolio };
    /// A scenario and what is asked about it.
    pub const LESSON: OutputKind = OutputKind { name: "a lesson", is: crate::lesson::is_lesson };
    /// A learner's answers to a lesson.
    pub const ANSWERS: OutputKind =
        OutputKind { name: "answers to a lesson", is: crate::scenario::has_learner };
    /// A workbook of a spreadsheet.
    pub const WORKBOOK: OutputKind = OutputKind {
        name: "a workbook (XLSX)",
        is: |head| head.starts_with(b"PK\x03\x04") && head.windows(15).any(|part| part == b"xl/workbook.xml"),
    };
    /// A log of processed or flown jobs.
    pub const LOG: OutputKind = OutputKind { name: "a log of jobs (CSV)", is: crate::log::is_log };
    /// A scenario.
    pub const SCENARIO: OutputKind = OutputKind { name: "a scenario", is: crate::scenario::is_scenario };

    pub(crate) const fn new(name: &'static str, is: fn(&[u8]) -> bool) -> Self {
        OutputKind { name, is }
    }
}

/// A file to write.
#[derive(Debug, Clone, Copy)]
pub struct Output<'a> {
    /// Where.
    pub path: &'a Path,
    /// What it will be.
    pub kind: OutputKind,
    /// Whether an earlier one may be replaced.
    pub replace: Replace,
    /// Files that were read: they are never replaced.
    pub inputs: &'a [&'a Path],
}

impl Output<'_> {
    /// Whether the file may be written: there is none yet, or one of the same kind that may be replaced.
    ///
    /// # Errors
    /// [`FileErrorKind::Exists`] where an earlier file of the kind is in the place and may not be replaced;
    /// [`FileErrorKind::Unwritable`] where something else is: what was read, a file of another kind, a link, a folder.
    pub fn check(&self) -> Result<(), FileError> {
        let found = match fs::symlink_metadata(self.path) {
            Ok(found) => found,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(self.refused(&unwritable(&error))),
        };
        if found.is_symlink() {
            let told = "is a link, and what it points to is not replaced; name the file itself";
            return Err(self.refused(told));
        }
        if !found.is_file() {
            return Err(self.refused("must be a file, but something else is there; choose another name"));
        }
        let here = fs::canonicalize(self.path).ok();
        let is_input = |input: &&Path| here.is_some() && fs::canonicalize(input).ok() == here;
        if self.inputs.iter().any(is_input) {
            return Err(self.refused("is what was read, and is not replaced; choose another name"));
        }
        let head = head(self.path).map_err(|error| self.refused(&unwritable(&error)))?;
        if !head.is_empty() && !(self.kind.is)(&head) {
            let told = format!(
                "must be {} to be replaced by one, but it holds something else; choose another name",
                self.kind.name
            );
            return Err(self.refused(&told));
        }
        match self.replace {
            Replace::Earlier => Ok(()),
            Replace::Nothing => {
                let told = "is there already; add --replace to replace it, or choose another name";
                Err(FileError::new(&self.name(), FileErrorKind::Exists, told))
            }
        }
    }

    /// Writes the file beside its place, flushes it to the disk and renames it.
    ///
    /// # Errors
    /// Those of [`Output::check`], and when the system refuses; what was there is then as it was.
    pub fn write(&self, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), FileError> {
        let staged = self.stage(fill)?;
        staged.place().map_err(|error| self.refused(&unwritable(&error)))?;
        sweep(folder_of(self.path), SystemTime::now());
        Ok(())
    }

    /// As [`Output::write`], without the last step.
    pub(crate) fn stage(
        &self,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<Staged, FileError> {
        self.check()?;
        Staged::write(self.path, fill).map_err(|error| self.refused(&unwritable(&error)))
    }

    fn name(&self) -> String {
        self.path.display().to_string()
    }

    fn refused(&self, told: &str) -> FileError {
        FileError::new(&self.name(), FileErrorKind::Unwritable, told)
    }
}

pub(crate) fn unwritable(error: &io::Error) -> String {
    format!("cannot be written: {}; check the folder's permissions and space", told(error))
}

fn head(path: &Path) -> io::Result<Vec<u8>> {
    let mut head = Vec::new();
    File::open(path)?.take(HEAD_BYTES).read_to_end(&mut head)?;
    Ok(head)
}

/// Files of one folder that belong together: all of them take their places, or none, and what an earlier run has left of
/// them goes.
pub(crate) struct OutputSet<'a> {
    folder: &'a Path,
    kinds: &'a [(&'static str, OutputKind)],
    replace: Replace,
    inputs: &'a [&'a Path],
    staged: Vec<(&'static str, Staged)>,
}

impl<'a> OutputSet<'a> {
    /// Begins a set in a folder, which is made if it is missing.
    ///
    /// # Errors
    /// Those of [`OutputSet::check`], and when the folder cannot be made.
    pub(crate) fn begin(
        folder: &'a Path,
        kinds: &'a [(&'static str, OutputKind)],
        replace: Replace,
        inputs: &'a [&'a Path],
    ) -> Result<Self, FileError> {
        OutputSet::check(folder, kinds, replace, inputs)?;
        fs::create_dir_all(folder).map_err(|error| {
            FileError::new(&folder.display().to_string(), FileErrorKind::Unwritable, unwritable(&error))
        })?;
        Ok(OutputSet { folder, kinds, replace, inputs, staged: Vec::new() })
    }

    /// Whether a set may go into a folder.
    ///
    /// # Errors
    /// As [`Output::check`] for every file that a set may have, whether this one will or not.
    pub(crate) fn check(
        folder: &Path,
        kinds: &[(&'static str, OutputKind)],
        replace: Replace,
        inputs: &[&Path],
    ) -> Result<(), FileError> {
        let mut earlier = Vec::new();
        for &(name, kind) in kinds {
            match (Output { path: &folder.join(name), kind, replace, inputs }).check() {
                Err(error) if error.kind == FileErrorKind::Exists => earlier.push(name),
                other => other?,
            }
        }
        if earlier.is_empty() {
            return Ok(());
        }
        let told = format!(
            "the folder has files of an earlier run ({}); add --replace to replace all of them, or choose another folder",
            earlier.join(", ")
        );
        Err(FileError::new(&folder.display().to_string(), FileErrorKind::Exists, told))
    }

    /// Writes a file of the set beside its place.
    pub(crate) fn write(
        &mut self,
        name: &'static str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), FileError> {
        let kind = self.kinds.iter().find(|(known, _)| *known == name).map(|(_, kind)| *kind);
        let Some(kind) = kind else { return Ok(()) };
        let path = self.folder.join(name);
        let staged = Output { path: &path, kind, replace: self.replace, inputs: self.inputs }.stage(fill)?;
        self.staged.push((name, staged));
        Ok(())
    }

    /// Takes away what an earlier run has left and this one has not, and puts every file in its place.
    pub(crate) fn place(self) -> Result<Vec<PathBuf>, FileError> {
        let OutputSet { folder, kinds, staged, .. } = self;
        let refused = |path: &Path, error: &io::Error| {
            FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, unwritable(error))
        };
        for (name, _) in kinds.iter().filter(|(name, _)| staged.iter().all(|(new, _)| new != name)) {
            let path = folder.join(name);
            match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(refused(&path, &error)),
                _ => {}
            }
        }
        let mut files = Vec::new();
        for (name, staged) in staged {
            let path = folder.join(name);
            staged.place().map_err(|error| refused(&path, &error))?;
            files.push(path);
        }
        sweep(folder, SystemTime::now());
        Ok(files)
    }
}
