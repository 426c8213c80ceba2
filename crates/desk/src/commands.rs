//! Everything that a menu or a key can ask for, in one table.

use egui::{Key, KeyboardShortcut, Modifiers};

/// What can be asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// An empty site with the usual strategies.
    New,
    /// Choose a scenario file with the system's dialog.
    Open,
    /// Type the path of a scenario file.
    OpenTyped,
    /// Save where it was read from.
    Save,
    /// Choose where to save with the system's dialog.
    SaveAs,
    /// Type where to save.
    SaveAsTyped,
    /// Choose a boundary file with the system's dialog.
    ImportBoundary,
    /// Type the path of a boundary file.
    ImportBoundaryTyped,
    /// Put the set-up card of the strategy in focus on the clipboard.
    CopyCard,
    /// Choose where to save that card as text.
    SaveCardText,
    /// Type where to save that card as text.
    SaveCardTextTyped,
    /// Choose where to save that card as a picture.
    SaveCardPicture,
    /// Type where to save that card as a picture.
    SaveCardPictureTyped,
    /// Close the window.
    Quit,
    /// Take the last change back.
    Undo,
    /// Bring it back.
    Redo,
    /// Assume typical buildings on the site.
    AssumeBuildings,
    /// Show the strategies beside each other.
    ShowBoard,
    /// Show every aircraft's numbers.
    ShowEquipment,
    /// Show what the job must deliver and what it is flown under.
    ShowRequirement,
    /// Open plan and view angles beside the board, or fold them away.
    FoldPlan,
    /// Show the set-up card of the strategy in focus.
    ShowCard,
    /// Show plan and view angles large.
    ShowPlan,
    /// Change between light and dark.
    SwitchMode,
    /// Be light or dark as the system is.
    FollowSystem,
    /// Change between metric and US customary units.
    SwitchUnits,
    /// Draw everything larger.
    Larger,
    /// Draw everything smaller.
    Smaller,
}

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct CommandRow {
    /// What it asks for.
    pub command: Command,
    /// In which menu it stands.
    pub menu: &'static str,
    /// Text in the menu.
    pub text: &'static str,
    /// What it does, in a sentence.
    pub hint: &'static str,
    /// Its key.
    pub shortcut: Option<KeyboardShortcut>,
}

const SHIFTED: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

const fn row(
    command: Command,
    menu: &'static str,
    text: &'static str,
    hint: &'static str,
    shortcut: Option<KeyboardShortcut>,
) -> CommandRow {
    CommandRow { command, menu, text, hint, shortcut }
}

const fn key(modifiers: Modifiers, key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(modifiers, key)
}

/// The menus, from left to right.
pub const MENUS: &[&str] = &["File", "Edit", "View"];

/// All commands, in the order of the menus.
pub const COMMANDS: &[CommandRow] = &[
    row(
        Command::New,
        "File",
        "New",
        "Begin with the demo, a boundary or a rectangle",
        Some(key(Modifiers::COMMAND, Key::N)),
    ),
    row(Command::Open, "File", "Open…", "Choose a scenario file", Some(key(Modifiers::COMMAND, Key::O))),
    row(
        Command::OpenTyped,
        "File",
        "Open by path…",
        "Type the path of a scenario file",
        Some(key(SHIFTED, Key::O)),
    ),
    row(
        Command::Save,
        "File",
        "Save",
        "Save where it was read from; the version before stays beside it",
        Some(key(Modifiers::COMMAND, Key::S)),
    ),
    row(Command::SaveAs, "File", "Save as…", "Choose where to save", Some(key(SHIFTED, Key::S))),
    row(Command::SaveAsTyped, "File", "Save as by path…", "Type where to save", None),
    row(
        Command::ImportBoundary,
        "File",
        "Import boundary…",
        "Choose a GeoJSON, KML or KMZ file whose polygon becomes the site",
        Some(key(Modifiers::COMMAND, Key::I)),
    ),
    row(
        Command::ImportBoundaryTyped,
        "File",
        "Import boundary by path…",
        "Type the path of a GeoJSON, KML or KMZ file",
        Some(key(SHIFTED, Key::I)),
    ),
    row(
        Command::CopyCard,
        "File",
        "Copy set-up card",
        "Put the card of the strategy in focus on the clipboard, as text",
        Some(key(SHIFTED, Key::K)),
    ),
    row(
        Command::SaveCardText,
        "File",
        "Save set-up card as text…",
        "Choose where to save the card of the strategy in focus",
        None,
    ),
    row(
        Command::SaveCardTextTyped,
        "File",
        "Save set-up card as text by path…",
        "Type where to save the card of the strategy in focus",
        Some(key(SHIFTED, Key::T)),
    ),
    row(
        Command::SaveCardPicture,
        "File",
        "Save set-up card as picture…",
        "Choose where to save the card of the strategy in focus, dark on white",
        None,
    ),
    row(
        Command::SaveCardPictureTyped,
        "File",
        "Save set-up card as picture by path…",
        "Type where to save the card of the strategy in focus, dark on white",
        Some(key(SHIFTED, Key::G)),
    ),
    row(Command::Quit, "File", "Quit", "Close the window", Some(key(Modifiers::COMMAND, Key::Q))),
    row(Command::Undo, "Edit", "Undo", "Take the last change back", Some(key(Modifiers::COMMAND, Key::Z))),
    row(Command::Redo, "Edit", "Redo", "Bring back what was undone", Some(key(SHIFTED, Key::Z))),
    row(
        Command::AssumeBuildings,
        "Edit",
        "Assume buildings…",
        "Spread boxes of one size over a site on which nothing is modelled",
        None,
    ),
    row(
        Command::ShowBoard,
        "View",
        "Board",
        "The strategies beside each other",
        Some(key(Modifiers::COMMAND, Key::B)),
    ),
    row(
        Command::ShowEquipment,
        "View",
        "Equipment",
        "Every number of every aircraft, of the scenario and of your library",
        Some(key(Modifiers::COMMAND, Key::E)),
    ),
    row(
        Command::ShowRequirement,
        "View",
        "Requirement and conditions",
        "What the job must deliver, what it is flown under, and processing rates",
        Some(key(Modifiers::COMMAND, Key::T)),
    ),
    row(
        Command::ShowCard,
        "View",
        "Set-up card",
        "The values to key into a flight controller for the strategy in focus, and what to check before",
        Some(key(Modifiers::COMMAND, Key::K)),
    ),
    row(
        Command::ShowPlan,
        "View",
        "Plan and view angles, large",
        "What the strategy in focus flies over the site, and from where the surfaces are seen",
        Some(key(SHIFTED, Key::P)),
    ),
    row(
        Command::FoldPlan,
        "View",
        "Plan beside the board",
        "Open plan and view angles beside the board, or fold them away",
        Some(key(Modifiers::COMMAND, Key::P)),
    ),
    row(
        Command::SwitchMode,
        "View",
        "Light or dark",
        "Change between light and dark",
        Some(key(Modifiers::COMMAND, Key::D)),
    ),
    row(
        Command::FollowSystem,
        "View",
        "Light or dark as the system",
        "Follow the system's own setting",
        None,
    ),
    row(
        Command::SwitchUnits,
        "View",
        "Units",
        "Change between metric and US customary units; files and the command line stay metric",
        Some(key(Modifiers::COMMAND, Key::U)),
    ),
    row(
        Command::Larger,
        "View",
        "Larger",
        "Draw everything larger, up to three times",
        Some(key(Modifiers::COMMAND, Key::Plus)),
    ),
    row(
        Command::Smaller,
        "View",
        "Smaller",
        "Draw everything smaller, down to half",
        Some(key(Modifiers::COMMAND, Key::Minus)),
    ),
];

/// The commands whose keys were pressed since the last call. Those with more modifiers are asked first, since a key
/// with Shift would otherwise count as the one without.
pub fn pressed(ctx: &egui::Context) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let mut rows: Vec<&CommandRow> =
        COMMANDS.iter().filter(|row| !(typing && is_for_text(row.command))).collect();
    rows.sort_by_key(|row| row.shortcut.is_none_or(|shortcut| !shortcut.modifiers.shift));
    let hit = |row: &&CommandRow| {
        row.shortcut.is_some_and(|key| ctx.input_mut(|input| input.consume_shortcut(&key)))
    };
    rows.into_iter().filter(hit).map(|row| row.command).collect()
}

/// Whether a text field has its own meaning for the command's key.
fn is_for_text(command: Command) -> bool {
    matches!(command, Command::Undo | Command::Redo)
}
