//! The user's own files in their configuration folder: preferences, and a library of aircraft.
//!
//! Preferences are a convenience: whatever is wrong with them, the program starts. The library is the user's work: it
//! is never replaced by anything that could not read it. So is what was not saved when a window came to a sudden end.

mod library;
mod lock;
mod preferences;
mod unsaved;

pub use library::{read_library, save_library};
pub use lock::{LockHolder, LockTaken, WindowLock};
pub use preferences::{
    BlocksChoice, MOST_RECENT, PanelWidths, Preferences, ThemeChoice, WindowPlace, parse_preferences,
    read_preferences, save_preferences, write_preferences,
};
pub use unsaved::{
    KeptWork, Leftover, UnsavedKind, UnsavedNote, UnsavedPlace, UnsavedWork, read_unsaved, remove_unsaved,
    unsaved_left,
};

/// A process that is begun has the open files of this one, and so its locks, until it has turned to its own program: tests that
/// begin one and tests about locks do not run at the same time.
#[cfg(test)]
pub(crate) fn alone() -> std::sync::MutexGuard<'static, ()> {
    static ALONE: std::sync::Mutex<()> = std::sync::Mutex::new(());
    ALONE.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
