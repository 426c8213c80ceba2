//! What the program remembers of its user, and where: the platform's folder for configuration.

use crate::long;
use crate::theme::Mode;
use crate::units::Units;
use directories::ProjectDirs;
use egui::{Context, ThemePreference, ViewportBuilder};
use obliquity_exchange::{
    Preferences, ThemeChoice, WindowPlace, read_library, read_preferences, save_library, save_preferences,
};
use obliquity_planning::Equipment;
use std::path::{Path, PathBuf};

/// Names another folder for the user's own files.
pub const FOLDER_VARIABLE: &str = "OBLIQUITY_CONFIG_DIR";

/// The user's own files: preferences and library.
#[derive(Debug)]
pub struct Home {
    /// Nowhere in tests and pictures: then nothing is kept.
    folder: Option<PathBuf>,
    /// What is remembered.
    pub preferences: Preferences,
    saved: Preferences,
    /// What was wrong with the preferences when they were read.
    pub note: Option<String>,
}

impl Home {
    /// Keeps nothing beyond the run.
    pub fn nowhere() -> Self {
        let preferences = Preferences::default();
        Home { folder: None, saved: preferences.clone(), preferences, note: None }
    }

    /// In a folder, which is made when something is first saved.
    pub fn at(folder: PathBuf) -> Self {
        let (preferences, note) = read_preferences(&folder);
        Home { folder: Some(folder), saved: preferences.clone(), preferences, note }
    }

    /// In the folder that [`FOLDER_VARIABLE`] names, or in the platform's own for configuration.
    pub fn of_user() -> Self {
        let named = std::env::var_os(FOLDER_VARIABLE).filter(|value| !value.is_empty()).map(PathBuf::from);
        let own = || ProjectDirs::from("", "", "Obliquity").map(|dirs| dirs.config_dir().to_owned());
        named.or_else(own).map_or_else(Home::nowhere, Home::at)
    }

    /// Where the files are.
    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    /// Saves the preferences if they have changed. One attempt for each change: a full disk must not be told in every
    /// frame.
    ///
    /// # Errors
    /// Why they could not be saved, for people.
    pub fn keep(&mut self) -> Result<(), String> {
        self.to_keep().map_or(Ok(()), |(folder, preferences)| keep_preferences(&folder, &preferences))
    }

    /// The preferences if they have changed since they were last given out, and the folder that they are kept in.
    pub fn to_keep(&mut self) -> Option<(PathBuf, Preferences)> {
        if self.preferences == self.saved {
            return None;
        }
        self.saved = self.preferences.clone();
        Some((self.folder.clone()?, self.preferences.clone()))
    }

    /// The user's library of aircraft; empty where nothing is kept.
    ///
    /// # Errors
    /// Why it cannot be read, for people.
    pub fn library(&self) -> Result<Equipment, String> {
        self.folder.as_deref().map_or_else(
            || Ok(Equipment::default()),
            |folder| read_library(folder).map_err(|error| error.to_string()),
        )
    }

    /// The units that the user prefers.
    pub fn units(&self) -> Units {
        self.preferences.units
    }

    /// Notes where the window stands.
    pub fn note_window(&mut self, ctx: &Context) {
        let (inner, outer, maximized, minimized) = ctx.input(|input| {
            let viewport = input.viewport();
            (viewport.inner_rect, viewport.outer_rect, viewport.maximized, viewport.minimized)
        });
        let (Some(inner), false) = (inner, minimized.unwrap_or(false)) else { return };
        let maximized = maximized.unwrap_or(false);
        let zoom = ctx.zoom_factor();
        let before = self.preferences.window;
        self.preferences.window = match before {
            // The size to come back to is the one before the window filled the screen.
            Some(before) if maximized => Some(WindowPlace { maximized, ..before }),
            _ => Some(WindowPlace {
                left: outer.map(|outer| outer.left() * zoom),
                top: outer.map(|outer| outer.top() * zoom),
                width: inner.width() * zoom,
                height: inner.height() * zoom,
                maximized,
            }),
        };
    }

    /// Puts a window where it stood.
    pub fn place(&self, viewport: ViewportBuilder) -> ViewportBuilder {
        let Some(window) = self.preferences.window else { return viewport.with_inner_size([1280.0, 800.0]) };
        let viewport =
            viewport.with_inner_size([window.width, window.height]).with_maximized(window.maximized);
        match (window.left, window.top) {
            (Some(left), Some(top)) => viewport.with_position([left, top]),
            _ => viewport,
        }
    }

    /// Light or dark to begin with.
    pub fn mode(&self, ctx: &Context) -> Mode {
        match self.preferences.theme {
            ThemeChoice::System => ctx.system_theme().map_or(Mode::Light, Mode::from),
            ThemeChoice::Light => Mode::Light,
            ThemeChoice::Dark => Mode::Dark,
        }
    }
}

/// Writes the preferences.
///
/// # Errors
/// Why they could not be saved, for people.
pub fn keep_preferences(folder: &Path, preferences: &Preferences) -> Result<(), String> {
    long::begins("writing preferences");
    save_preferences(folder, preferences).map_err(|error| error.to_string())
}

/// Writes the library; the version before is kept beside it.
///
/// # Errors
/// Why it cannot be saved, for people.
pub fn keep_library(folder: &Path, library: &Equipment) -> Result<(), String> {
    long::begins("writing the library");
    save_library(folder, library).map_err(|error| error.to_string())
}

/// What a choice is to the screen.
pub fn theme_preference(choice: ThemeChoice) -> ThemePreference {
    match choice {
        ThemeChoice::System => ThemePreference::System,
        ThemeChoice::Light => ThemePreference::Light,
        ThemeChoice::Dark => ThemePreference::Dark,
    }
}
