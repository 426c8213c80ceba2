//! The user's own files in their configuration folder: preferences, and a library of aircraft.
//!
//! Preferences are a convenience: whatever is wrong with them, the program starts. The library is the user's work: it
//! is never replaced by anything that could not read it.

mod library;
mod preferences;

pub use library::{read_library, save_library};
pub use preferences::{
    MOST_RECENT, PanelWidths, Preferences, ThemeChoice, WindowPlace, parse_preferences, read_preferences,
    save_preferences, write_preferences,
};
