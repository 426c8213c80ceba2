//! Work that is not saved, kept in the user's folder while a window has it, and offered after a sudden end.
//!
//! A file holds a line that says what it is, with the size and the digest of what follows, and then the scenario, portfolio or log as
//! its own file would be. A lock beside it tells whether the window that keeps it is still there.

use super::lock::{LockHolder, LockTaken, WindowLock};
use crate::files::{folder_of, read_bounded, replace_atomically, sweep, told};
use crate::lesson::{parse_kept_lesson, write_kept_lesson};
use crate::{
    FileError, FileErrorKind, FileStamp, LogKind, LogSheet, parse_scenario, write_portfolio, write_scenario,
};
use obliquity_planning::Scenario;
use obliquity_planning::lesson::{Lesson, LessonRun};
use obliquity_planning::money::Portfolio;
use ron::Options;
use ron::extensions::Extensions;
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What this program writes and reads.
const VERSION: u32 = 1;

/// Largest file that is read: a scenario's largest and the line before it.
const MOST_BYTES: u64 = (64 << 20) + (1 << 16);

/// Most files that are looked through; a sudden end leaves one.
const MOST_FILES: usize = 100;

/// What is worked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum UnsavedKind {
    /// A scenario.
    #[default]
    Scenario,
    /// A portfolio; its scenarios are files of their own.
    Portfolio,
    /// A logbook of processed jobs.
    ProcessedLog,
    /// A log of flown jobs.
    FlownLog,
    /// A lesson, with the guesses made at it.
    Lesson,
}

impl UnsavedKind {
    /// That of a log.
    pub fn of_log(kind: LogKind) -> Self {
        match kind {
            LogKind::Processed => UnsavedKind::ProcessedLog,
            LogKind::Flown => UnsavedKind::FlownLog,
        }
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
    fn is_scenario(&self) -> bool {
        *self == UnsavedKind::Scenario
    }
}

/// Work to be kept.
#[derive(Debug, Clone, Copy)]
pub enum KeptWork<'a> {
    /// A scenario.
    Scenario(&'a Scenario),
    /// A portfolio.
    Portfolio(&'a Portfolio),
    /// A log of jobs.
    Log(&'a LogSheet),
    /// A lesson, and what is done with it.
    Lesson(&'a Lesson, &'a LessonRun),
}

impl<'a> From<&'a Scenario> for KeptWork<'a> {
    fn from(scenario: &'a Scenario) -> Self {
        KeptWork::Scenario(scenario)
    }
}

impl<'a> From<&'a Portfolio> for KeptWork<'a> {
    fn from(portfolio: &'a Portfolio) -> Self {
        KeptWork::Portfolio(portfolio)
    }
}

impl<'a> From<&'a LogSheet> for KeptWork<'a> {
    fn from(sheet: &'a LogSheet) -> Self {
        KeptWork::Log(sheet)
    }
}

/// Work that was kept.
#[derive(Debug, Clone, PartialEq)]
pub enum UnsavedWork {
    /// A scenario.
    Scenario(Box<Scenario>),
    /// A portfolio's text: whoever knows where its scenarios are reads it.
    Portfolio(String),
    /// A log of jobs.
    Log(LogSheet),
    /// A lesson, and what was done with it.
    Lesson(Box<Lesson>, LessonRun),
}

/// What a file of unsaved work holds, for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnsavedNote {
    /// What it is.
    pub kind: UnsavedKind,
    /// The scenario's name, or the portfolio's.
    pub scenario: String,
    /// The file it was read from or last saved to.
    pub file: Option<PathBuf>,
    /// What that file held then.
    pub stamp: Option<FileStamp>,
    /// When this was written, in seconds since 1970 (UTC).
    pub at_unix_s: u64,
    /// Edits since it was read or last saved.
    pub edits: u32,
}

/// The first line of a file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeadLine {
    unsaved: u32,
    #[serde(default, skip_serializing_if = "UnsavedKind::is_scenario")]
    kind: UnsavedKind,
    scenario: String,
    /// Absent for a path that is no text: then it is saved under a name of its own.
    file: Option<String>,
    stamp: Option<FileStamp>,
    at_unix_s: u64,
    edits: u32,
    bytes: u64,
    digest: [u64; 2],
}

/// As much of the first line as any version has.
#[derive(Deserialize)]
struct AnyHeadLine {
    unsaved: u32,
}

/// Where a window keeps its unsaved work. Dropped, it leaves everything as a sudden end does.
#[derive(Debug)]
pub struct UnsavedPlace {
    path: PathBuf,
    lock: WindowLock,
}

/// Unsaved work that no window has any more.
#[derive(Debug, Clone, PartialEq)]
pub struct Leftover {
    /// Its file.
    pub path: PathBuf,
    /// What it holds, or why it cannot be read.
    pub note: Result<UnsavedNote, FileError>,
}

fn place_in(folder: &Path) -> PathBuf {
    folder.join("unsaved")
}

fn options() -> Options {
    Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

impl UnsavedPlace {
    /// A place for this window in the user's folder, which is made if it is missing.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn new(folder: &Path, now_unix_s: u64) -> Result<Self, FileError> {
        let place = place_in(folder);
        let refused = |path: &Path, error: &std::io::Error| {
            let message = format!(
                "cannot be made: {}; check the permissions of its folder, and the space",
                told(error)
            );
            FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message)
        };
        fs::create_dir_all(&place).map_err(|error| refused(&place, &error))?;
        let holder = LockHolder::this(now_unix_s);
        // Two windows of one process, and processes of several computers with one folder.
        for number in 0..1000 {
            let path = place.join(format!("{now_unix_s}-{}-{number}.ron", holder.process));
            if path.exists() {
                continue;
            }
            let lock = lock_of(&path);
            if let LockTaken::Ours(lock) =
                WindowLock::take(&lock, &holder).map_err(|error| refused(&lock, &error))?
            {
                return Ok(UnsavedPlace { path, lock });
            }
        }
        Err(refused(&place, &std::io::Error::other("every name is taken")))
    }

    /// Keeps work as it stands, in place of what was kept before; at no moment is there none.
    ///
    /// # Errors
    /// When the system refuses; what was kept before is then as it was.
    pub fn keep<'a>(&self, note: &UnsavedNote, work: impl Into<KeptWork<'a>>) -> Result<(), FileError> {
        replace_atomically(&self.path, text_of(note, work.into()).as_bytes())?;
        sweep(folder_of(&self.path), SystemTime::now());
        Ok(())
    }

    /// Takes away what is kept: it is saved, or not wanted.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn clear(&self) -> Result<(), FileError> {
        remove(&self.path)
    }

    /// Takes everything away: the window closes as it should.
    pub fn close(self) {
        // What stays is offered at the next start, as after a sudden end.
        let _ = self.clear();
        self.lock.release();
    }
}

fn lock_of(path: &Path) -> PathBuf {
    path.with_extension("lock")
}

fn text_of(note: &UnsavedNote, work: KeptWork<'_>) -> String {
    let (kind, body) = match work {
        KeptWork::Scenario(scenario) => (UnsavedKind::Scenario, write_scenario(scenario)),
        KeptWork::Portfolio(portfolio) => (UnsavedKind::Portfolio, write_portfolio(portfolio)),
        KeptWork::Log(sheet) => (UnsavedKind::of_log(sheet.kind), sheet.to_csv()),
        KeptWork::Lesson(lesson, run) => (UnsavedKind::Lesson, write_kept_lesson(lesson, run)),
    };
    let of_body = FileStamp::of(Path::new(""), body.as_bytes());
    let head = HeadLine {
        unsaved: VERSION,
        kind,
        scenario: note.scenario.clone(),
        file: note.file.as_ref().and_then(|path| path.to_str()).map(str::to_owned),
        stamp: note.stamp,
        at_unix_s: note.at_unix_s,
        edits: note.edits,
        bytes: of_body.bytes,
        digest: of_body.digest,
    };
    // Strings are escaped, so that it is one line. Fails only beyond the recursion limit, which it does not come near.
    let head = options().to_string(&head).unwrap_or_default();
    format!("{head}\n{body}")
}

/// Unsaved work in the user's folder that no living window keeps, the newest first.
pub fn unsaved_left(folder: &Path) -> Vec<Leftover> {
    let Ok(entries) = fs::read_dir(place_in(folder)) else { return Vec::new() };
    let files = entries.flatten().map(|entry| entry.path());
    let is_one = |path: &PathBuf| path.extension().is_some_and(|extension| extension == "ron");
    let mut paths: Vec<PathBuf> = files.filter(is_one).take(MOST_FILES).collect();
    paths.retain(|path| !WindowLock::is_held(&lock_of(path)));
    let read = |path: PathBuf| {
        let note = open(&path).map(|(note, _)| note);
        Leftover { path, note }
    };
    let mut left: Vec<Leftover> = paths.into_iter().map(read).collect();
    left.sort_by(|a, b| {
        let at = |of: &Leftover| of.note.as_ref().map_or(0, |note| note.at_unix_s);
        at(b).cmp(&at(a)).then_with(|| a.path.cmp(&b.path))
    });
    left
}

/// Reads unsaved work that was left.
///
/// # Errors
/// When the file cannot be read, is of a version that this program does not know, or is not whole.
pub fn read_unsaved(path: &Path) -> Result<(UnsavedNote, UnsavedWork), FileError> {
    let (note, body) = open(path)?;
    let work = match note.kind {
        UnsavedKind::Scenario => {
            UnsavedWork::Scenario(Box::new(parse_scenario(&body, &path.display().to_string())?))
        }
        UnsavedKind::Portfolio => UnsavedWork::Portfolio(body),
        UnsavedKind::ProcessedLog | UnsavedKind::FlownLog => {
            UnsavedWork::Log(LogSheet::parse(&body, &path.display().to_string())?)
        }
        UnsavedKind::Lesson => {
            let (lesson, run) = parse_kept_lesson(&body, &path.display().to_string())?;
            UnsavedWork::Lesson(Box::new(lesson), run)
        }
    };
    Ok((note, work))
}

/// Takes unsaved work away that was left and is not wanted, or is kept by a window again.
///
/// # Errors
/// When the system refuses.
pub fn remove_unsaved(path: &Path) -> Result<(), FileError> {
    remove(path)?;
    remove(&lock_of(path))
}

fn remove(path: &Path) -> Result<(), FileError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            let message = format!("cannot be removed: {}; check its folder's permissions", told(&error));
            Err(FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message))
        }
        _ => Ok(()),
    }
}

/// What a file says it holds, and the scenario's text, whole.
fn open(path: &Path) -> Result<(UnsavedNote, String), FileError> {
    let name = path.display().to_string();
    let bytes = read_bounded(path, MOST_BYTES)?;
    let wrong = |kind, message: String| FileError::new(&name, kind, message);
    let text = std::str::from_utf8(&bytes).map_err(|_| {
        let message =
            "unsaved work must be text, but this is not; it was cut or changed, and cannot be recovered";
        wrong(FileErrorKind::Syntax, message.to_owned())
    })?;
    let (line, body) = text.split_once('\n').unwrap_or((text, ""));
    let any: AnyHeadLine = options().from_str(line).map_err(|_| {
        let message = "unsaved work must begin with a line that says what it is, but this does not; it cannot be recovered";
        wrong(FileErrorKind::Syntax, message.to_owned())
    })?;
    if any.unsaved != VERSION {
        return Err(wrong(
            FileErrorKind::Format,
            format!(
                "unsaved work must be of version {VERSION}, but this is of version {}; start the version of the program that \
                 has written it",
                any.unsaved
            ),
        ));
    }
    let head: HeadLine = options().from_str(line).map_err(|error| {
        wrong(
            FileErrorKind::Syntax,
            format!(
                "the line that says what it is cannot be understood ({}); it cannot be recovered",
                error.code
            ),
        )
    })?;
    let found = FileStamp::of(Path::new(""), body.as_bytes());
    if (found.bytes, found.digest) != (head.bytes, head.digest) {
        let message = format!(
            "unsaved work of {} bytes was written, but {} others are there; it was cut or changed, and cannot be recovered",
            head.bytes, found.bytes
        );
        return Err(wrong(FileErrorKind::Syntax, message));
    }
    let note = UnsavedNote {
        kind: head.kind,
        scenario: head.scenario,
        file: head.file.map(PathBuf::from),
        stamp: head.stamp,
        at_unix_s: head.at_unix_s,
        edits: head.edits,
    };
    Ok((note, body.to_owned()))
}
