use crate::files::{read_bounded, save_atomically};
use crate::{FileError, FileErrorKind, GsdUnit, PaperSize, Units};
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Most files in the list of recent ones.
pub const MOST_RECENT: usize = 10;

/// Most things that are opened on the board: no board has as many.
const MOST_OPENED: usize = 50;

/// Largest preferences file that is read.
const MOST_BYTES: u64 = 1 << 20;

/// Sides of a window that are taken for such, in points.
const WINDOW_SIDE: std::ops::RangeInclusive<f32> = 200.0..=20_000.0;

/// Places of a window's corner that are taken for such, in points.
const WINDOW_AT: std::ops::RangeInclusive<f32> = -20_000.0..=20_000.0;

/// Widths of a panel that are taken for such, in points.
const PANEL_SIDE: std::ops::RangeInclusive<f32> = 40.0..=4_000.0;

/// Widths of side panels by their names, in points.
pub type PanelWidths = BTreeMap<String, f32>;

/// What the program remembers of its user between two runs. No scenario depends on any of it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Where the window stood, if it was ever closed.
    pub window: Option<WindowPlace>,
    /// Light or dark.
    pub theme: ThemeChoice,
    /// How much larger than usual text is drawn; nothing for the usual size.
    pub text_size: Option<f32>,
    /// Units on the screen and on printed pages.
    pub units: Units,
    /// What GSD is in beside US customary units, while the screen is in metric ones too.
    pub gsd: GsdUnit,
    /// Files opened and saved, the latest first; at most [`MOST_RECENT`].
    pub recent: Vec<PathBuf>,
    /// Pictures that were drawn over, the latest first, where they are not beside their scenarios; at most [`MOST_RECENT`].
    pub pictures: Vec<PathBuf>,
    /// What is opened on the board: settings, bands, cautions.
    pub board_opened: BTreeSet<String>,
    /// When blocks are adjusted.
    pub blocks: BlocksChoice,
    /// Widths of side panels that were drawn wider or narrower.
    pub panel_widths: PanelWidths,
    /// What the set-up card is printed on, once that was chosen; until then it goes by the units.
    pub paper: Option<PaperSize>,
}

/// Where a window stands, in points of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WindowPlace {
    /// From the left edge of the screen; absent where the system does not tell.
    #[serde(default)]
    pub left: Option<f32>,
    /// From the top edge of the screen; absent where the system does not tell.
    #[serde(default)]
    pub top: Option<f32>,
    /// Without the frame.
    pub width: f32,
    /// Without the frame.
    pub height: f32,
    /// Whether it filled the screen.
    #[serde(default)]
    pub maximized: bool,
}

/// Light, dark, or whichever the system is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum ThemeChoice {
    /// Whichever the system is in.
    #[default]
    System,
    /// Dark text on a light page.
    Light,
    /// Light text on a dark page.
    Dark,
}

/// When the images of strategies are adjusted together, which takes longer than all else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum BlocksChoice {
    /// After coverage, without being asked; very large ones where their figures are looked at.
    #[default]
    Beside,
    /// Where accuracy is required or their figures are looked at.
    Asked,
}

impl BlocksChoice {
    /// The choice in a few words.
    pub fn name(self) -> &'static str {
        match self {
            BlocksChoice::Beside => "after coverage",
            BlocksChoice::Asked => "when looked at",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            BlocksChoice::Beside => BlocksChoice::Asked,
            BlocksChoice::Asked => BlocksChoice::Beside,
        }
    }
}

impl Preferences {
    /// What the set-up card is printed on: as chosen, or Letter with US customary units and A4 with metric ones.
    pub fn paper(&self) -> PaperSize {
        self.paper.unwrap_or(PaperSize::usual(self.units))
    }

    /// Puts a file at the head of the recent ones.
    pub fn remember(&mut self, path: &Path) {
        self.recent.retain(|known| known != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(MOST_RECENT);
    }

    /// Puts a picture at the head of those that were drawn over.
    pub fn remember_picture(&mut self, path: &Path) {
        self.pictures.retain(|known| known != path);
        self.pictures.insert(0, path.to_owned());
        self.pictures.truncate(MOST_RECENT);
    }

    /// Leaves out what no program would have written.
    fn made_sound(mut self) -> Self {
        self.window =
            self.window.filter(|w| WINDOW_SIDE.contains(&w.width) && WINDOW_SIDE.contains(&w.height));
        if let Some(window) = &mut self.window {
            window.left = window.left.filter(|at| WINDOW_AT.contains(at));
            window.top = window.top.filter(|at| WINDOW_AT.contains(at));
        }
        self.panel_widths.retain(|_, width| PANEL_SIDE.contains(width));
        self.recent.truncate(MOST_RECENT);
        self.pictures.truncate(MOST_RECENT);
        self.board_opened = self.board_opened.into_iter().take(MOST_OPENED).collect();
        self
    }
}

fn file_in(folder: &Path) -> PathBuf {
    folder.join("preferences.ron")
}

/// Reads preferences from a text: what it leaves out or this program does not know is as if never set.
///
/// # Errors
/// When the text is no preferences at all, for people.
pub fn parse_preferences(text: &str) -> Result<Preferences, String> {
    let read = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME).from_str(text);
    read.map(Preferences::made_sound).map_err(|error: ron::error::SpannedError| error.to_string())
}

/// The text of a preferences file.
pub fn write_preferences(preferences: &Preferences) -> String {
    let style = PrettyConfig::new().new_line("\n").indentor("  ").struct_names(false);
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    // Fails only beyond the recursion limit, which this type does not come near.
    options.to_string_pretty(preferences, style).unwrap_or_default() + "\n"
}

/// Reads the preferences. What cannot be read is moved to `preferences.ron.unreadable` and forgotten; then the second
/// value says so.
pub fn read_preferences(folder: &Path) -> (Preferences, Option<String>) {
    let path = file_in(folder);
    if !path.exists() {
        return (Preferences::default(), None);
    }
    let read = read_bounded(&path, MOST_BYTES).map_err(|error| error.to_string());
    let text = read.and_then(|bytes| String::from_utf8(bytes).map_err(|error| error.to_string()));
    match text.and_then(|text| parse_preferences(&text)) {
        Ok(preferences) => (preferences, None),
        Err(why) => (Preferences::default(), Some(set_aside(&path, &why))),
    }
}

fn set_aside(path: &Path, why: &str) -> String {
    let kept = path.with_file_name("preferences.ron.unreadable");
    let file = path.display();
    match fs::rename(path, &kept) {
        Ok(()) => format!(
            "{file} could not be read ({why}); it is kept as {}, and defaults are used",
            kept.display()
        ),
        Err(_) => format!("{file} could not be read ({why}); defaults are used"),
    }
}

/// Saves the preferences, atomically.
///
/// # Errors
/// When the system refuses; the file is then as it was.
pub fn save_preferences(folder: &Path, preferences: &Preferences) -> Result<(), FileError> {
    let path = file_in(folder);
    fs::create_dir_all(folder).map_err(|error| {
        let message =
            format!("its folder cannot be made: {error}; check the permissions of the folder above");
        FileError::new(&path.display().to_string(), FileErrorKind::Unwritable, message)
    })?;
    save_atomically(&path, write_preferences(preferences).as_bytes())
}
