//! When a window's unsaved work is kept against a sudden end, and what of it the threads share.

use crate::long;
use obliquity_exchange::{
    FileError, KeptWork, LockHolder, LockTaken, UnsavedNote, UnsavedPlace, WindowLock, remove_unsaved,
};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// An edit is kept so much later, with all that came meanwhile: soon enough to lose no more than a few seconds of work, and
/// not at every step of a slider.
pub const DELAY_S: f64 = 2.0;

/// What could not be kept is tried again so much later.
const RETRY_S: f64 = 30.0;

/// What is to be done about unsaved work.
#[derive(Debug, Clone, PartialEq)]
pub enum KeepingStep {
    /// Nothing.
    Nothing,
    /// Nothing yet; ask again in so many seconds.
    In(f64),
    /// Keep what is worked on as it stands.
    Keep,
    /// Take away what is kept: the document is saved.
    Clear,
}

/// What is known of a window's unsaved work of one kind.
#[derive(Debug)]
pub struct Keeping<T> {
    folder: Option<PathBuf>,
    shared: KeptShelf,
    /// What was last given to be kept.
    kept: Option<Arc<T>>,
    due_s: Option<f64>,
    /// Whether the user knows that it cannot be kept.
    told: bool,
    /// Whether what was recovered is kept in the place of an earlier window as well.
    recovered: bool,
}

impl<T> Keeping<T> {
    /// In the user's folder; nowhere if there is none.
    pub fn at(folder: Option<&Path>) -> Self {
        Keeping {
            folder: folder.map(Path::to_owned),
            shared: KeptShelf::default(),
            kept: None,
            due_s: None,
            told: false,
            recovered: false,
        }
    }

    /// The user's folder.
    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    /// What the threads that write have in hand.
    pub fn shelf(&self) -> KeptShelf {
        self.shared.clone()
    }

    /// What is to be done at a time about what is not saved; nothing where all is.
    ///
    /// # Units
    /// - `now_s`: seconds since anything
    pub fn follow(&mut self, unsaved: Option<&Arc<T>>, now_s: f64) -> KeepingStep {
        if self.folder.is_none() {
            return KeepingStep::Nothing;
        }
        let Some(unsaved) = unsaved else {
            self.due_s = None;
            let was_kept = self.kept.take().is_some();
            let was_recovered = std::mem::take(&mut self.recovered);
            return if was_kept || was_recovered { KeepingStep::Clear } else { KeepingStep::Nothing };
        };
        if self.kept.as_ref().is_some_and(|kept| Arc::ptr_eq(kept, unsaved)) {
            return KeepingStep::Nothing;
        }
        let due_s = *self.due_s.get_or_insert(now_s + DELAY_S);
        if now_s < due_s {
            return KeepingStep::In(due_s - now_s);
        }
        self.due_s = None;
        self.kept = Some(Arc::clone(unsaved));
        KeepingStep::Keep
    }

    /// Notes that the document was recovered: what the earlier window has left is taken away once this one keeps it.
    pub fn note_recovered(&mut self, from: PathBuf) {
        self.recovered = true;
        self.shared.with(|shelf| shelf.recovered = Some(from));
    }

    /// Notes whether a document was kept; gives why not, where the user does not know that yet.
    pub fn note(&mut self, kept: Result<(), String>, now_s: f64) -> Option<String> {
        let Err(why) = kept else {
            self.told = false;
            return None;
        };
        self.kept = None;
        self.due_s = Some(now_s + RETRY_S);
        (!std::mem::replace(&mut self.told, true)).then_some(why)
    }
}

/// The places and locks of a window, for the thread that writes.
#[derive(Debug, Clone, Default)]
pub struct KeptShelf(Arc<Mutex<OnShelf>>);

#[derive(Debug, Default)]
struct OnShelf {
    place: Option<UnsavedPlace>,
    /// What an earlier window has left, and this one has recovered.
    recovered: Option<PathBuf>,
    claim: Option<(PathBuf, WindowLock)>,
}

impl KeptShelf {
    fn with<T>(&self, work: impl FnOnce(&mut OnShelf) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Keeps work as it stands.
    ///
    /// # Errors
    /// When the system refuses; what was kept before is then as it was.
    pub fn keep<'a>(
        &self,
        folder: &Path,
        note: &UnsavedNote,
        work: impl Into<KeptWork<'a>>,
    ) -> Result<(), FileError> {
        long::begins("keeping unsaved work");
        self.with(|shelf| {
            if shelf.place.is_none() {
                shelf.place = Some(UnsavedPlace::new(folder, note.at_unix_s)?);
            }
            if let Some(place) = &shelf.place {
                place.keep(note, work)?;
            }
            shelf.recovered.take().map_or(Ok(()), |path| remove_unsaved(&path))
        })
    }

    /// Takes away what is kept.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn clear(&self) -> Result<(), FileError> {
        long::begins("removing unsaved work");
        self.with(|shelf| {
            let recovered = shelf.recovered.take().map_or(Ok(()), |path| remove_unsaved(&path));
            shelf.place.as_ref().map_or(Ok(()), UnsavedPlace::clear).and(recovered)
        })
    }

    /// Takes the lock of a file, and lets go of that of the one before; gives who else has it.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn claim(&self, folder: &Path, file: Option<&Path>, now_unix_s: u64) -> std::io::Result<LockAnswer> {
        long::begins("taking a lock");
        self.with(|shelf| {
            if shelf.claim.as_ref().is_some_and(|(known, _)| Some(known.as_path()) == file) {
                return Ok(LockAnswer::Ours);
            }
            if let Some((_, lock)) = shelf.claim.take() {
                lock.release();
            }
            let Some(file) = file else { return Ok(LockAnswer::Ours) };
            match WindowLock::of_file(folder, file, &LockHolder::this(now_unix_s))? {
                LockTaken::Ours(lock) => {
                    shelf.claim = Some((file.to_owned(), lock));
                    Ok(LockAnswer::Ours)
                }
                LockTaken::Theirs(holder) => Ok(LockAnswer::Theirs(holder)),
            }
        })
    }

    /// Takes everything away: the window closes as it should.
    pub fn close(&self) {
        self.with(|shelf| {
            if let Some(path) = shelf.recovered.take() {
                // What stays is offered again.
                let _ = remove_unsaved(&path);
            }
            if let Some(place) = shelf.place.take() {
                place.close();
            }
            if let Some((_, lock)) = shelf.claim.take() {
                lock.release();
            }
        });
    }
}

/// Who has a file open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LockAnswer {
    /// This window alone.
    Ours,
    /// Another window as well: which, where that can be told.
    Theirs(Option<LockHolder>),
}
