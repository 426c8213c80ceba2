//! What a menu or a key can ask for, in one table.

use crate::screen::Screen;
use egui::{Key, KeyboardShortcut, Modifiers};
use obliquity_planning::{Hold, SiteTemplate, Template};

/// What is asked of the strategy in focus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Task {
    /// Puts a copy beside it.
    Duplicate,
    /// Lets its name be typed over.
    Rename,
    /// Moves it one place to the left.
    MoveLeft,
    /// Moves it one place to the right.
    MoveRight,
    /// Makes it the reference, or no longer.
    Reference,
    /// Lets the height lead.
    HeightLeads,
    /// Lets the GSD lead.
    GsdLeads,
    /// Takes it away.
    Remove,
}

/// What can be asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// An empty site with the usual strategies.
    New,
    /// A portfolio in which nothing is listed yet.
    NewPortfolio,
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
    /// Ask about work that was not saved before a sudden end.
    RecoverUnsaved,
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
    /// Choose where to save that card as a PDF.
    SaveCardPdf,
    /// Type where to save that card as a PDF.
    SaveCardPdfTyped,
    /// Open that card in the system's viewer of PDFs, to print it there.
    PrintCard,
    /// Choose a folder for route, stations and regions of the strategy in focus.
    Export,
    /// Type the path of that folder.
    ExportTyped,
    /// Close the window.
    Quit,
    /// Take the last change back.
    Undo,
    /// Bring it back.
    Redo,
    /// Show a screen.
    Show(Screen),
    /// Show the screen that was shown before this one.
    Back,
    /// End the lesson: everything that it hides is revealed.
    EndLesson,
    /// Make a lesson of the scenario that is open.
    MakeLesson,
    /// Choose where to save the lesson's pages to hand out.
    SaveHandout,
    /// Type where to save them.
    SaveHandoutTyped,
    /// Put the strategy to the right in focus.
    FocusNext,
    /// Put the strategy to the left in focus.
    FocusPrevious,
    /// Look for a command by its words.
    Find,
    /// Let all strategies fly another aircraft.
    FlyAll,
    /// Type the scenario's name and note, and the site's name.
    NameScenario,
    /// Put the table of the screen that is shown on the clipboard.
    CopyTable,
    /// Put a picture of the screen that is shown on the clipboard.
    CopyPicture,
    /// Assume typical buildings on the site.
    AssumeBuildings,
    /// Open plan and view angles beside the board, or fold them away.
    FoldPlan,
    /// Add a strategy.
    Add(Template),
    /// Add a strategy that is laid on the site.
    AddOnSite(SiteTemplate),
    /// Choose a terrain file with the system's dialog.
    ImportTerrain,
    /// Type the path of a terrain file.
    ImportTerrainTyped,
    /// Take the terrain away.
    RemoveTerrain,
    /// Choose a picture to draw over with the system's dialog.
    ImportUnderlay,
    /// Type the path of a picture to draw over.
    ImportUnderlayTyped,
    /// Choose a file of footprints with the system's dialog.
    ImportFootprints,
    /// Type the path of a file of footprints.
    ImportFootprintsTyped,
    /// Place the picture by two of its points.
    PlaceUnderlay,
    /// Type where the site lies on the earth.
    PlaceOnEarth,
    /// Take the picture away.
    RemoveUnderlay,
    /// Do something to the strategy in focus.
    Focused(Task),
    /// Hold something equal, or nothing.
    Hold(Option<Hold>),
    /// Search every strategy's settings for its best.
    SearchSettings,
    /// Set every strategy of which a setting meets to the best found.
    AdoptFound,
    /// Fold the settings away, or bring them back.
    FoldSettings,
    /// Work coverage out again.
    Update,
    /// Stop working coverage out.
    StopUpdating,
    /// Change between light and dark.
    SwitchMode,
    /// Be light or dark as the system is.
    FollowSystem,
    /// Change between metric and US customary units.
    SwitchUnits,
    /// Change between GSD in centimetres and in inches.
    SwitchGsd,
    /// Change when blocks are adjusted.
    SwitchBlocks,
    /// Larger text, and all that stands round it.
    Larger,
    /// Smaller text.
    Smaller,
    /// Text of the usual size.
    UsualSize,
}

impl Command {
    /// Whether it asks for a path to type, instead of the system's dialog.
    pub(crate) fn types_a_path(self) -> bool {
        matches!(
            self,
            Command::OpenTyped
                | Command::SaveAsTyped
                | Command::ImportBoundaryTyped
                | Command::ImportTerrainTyped
                | Command::ImportUnderlayTyped
                | Command::ImportFootprintsTyped
                | Command::SaveCardTextTyped
                | Command::SaveCardPictureTyped
                | Command::SaveCardPdfTyped
                | Command::ExportTyped
                | Command::SaveHandoutTyped
        )
    }
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
    /// A second key, for those who know it from elsewhere.
    pub also: Option<KeyboardShortcut>,
    /// Whether a line stands above it in its menu.
    pub place: GroupPlace,
}

/// Where a command stands in its group of a menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GroupPlace {
    /// First: a line divides it from what stands above.
    First,
    /// Anywhere behind.
    Later,
}

impl CommandRow {
    /// The same, as the first of its group.
    const fn first(self) -> Self {
        CommandRow { place: GroupPlace::First, ..self }
    }

    /// The same, with a second key.
    const fn also(self, key: KeyboardShortcut) -> Self {
        CommandRow { also: Some(key), ..self }
    }
}

/// Both.
pub(crate) const SHIFTED: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

const fn row(
    command: Command,
    menu: &'static str,
    text: &'static str,
    hint: &'static str,
    shortcut: Option<KeyboardShortcut>,
) -> CommandRow {
    CommandRow { command, menu, text, hint, shortcut, also: None, place: GroupPlace::Later }
}

/// A key with others held down.
pub(crate) const fn key(modifiers: Modifiers, key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(modifiers, key)
}

/// The menus, from left to right.
pub const MENUS: &[&str] = &["File", "Edit", "Strategy", "Compare", "View"];

/// All commands but those that show a screen, in the order of the menus. What shows a screen stands in the table of screens.
pub const COMMANDS: &[CommandRow] = &[
    row(
        Command::New,
        "File",
        "New",
        "Begin with the demo, a boundary or a rectangle",
        Some(key(Modifiers::COMMAND, Key::N)),
    ),
    row(
        Command::NewPortfolio,
        "File",
        "New purchase case",
        "Jobs of a year, aircraft and fleets from nothing: does another aircraft pay?",
        None,
    ),
    row(
        Command::Open,
        "File",
        "Open…",
        "Choose a scenario, portfolio or lesson file",
        Some(key(Modifiers::COMMAND, Key::O)),
    ),
    row(
        Command::OpenTyped,
        "File",
        "Open by path…",
        "Type the path of a scenario, portfolio or lesson file",
        Some(key(SHIFTED, Key::O)),
    ),
    row(
        Command::Save,
        "File",
        "Save",
        "Save where it was read from; the version before stays beside it",
        Some(key(Modifiers::COMMAND, Key::S)),
    )
    .first(),
    row(Command::SaveAs, "File", "Save as…", "Choose where to save", Some(key(SHIFTED, Key::S))),
    row(
        Command::SaveAsTyped,
        "File",
        "Save as by path…",
        "Type where to save",
        Some(key(Modifiers::COMMAND.plus(Modifiers::ALT), Key::S)),
    ),
    row(
        Command::RecoverUnsaved,
        "File",
        "Recover unsaved work…",
        "Look for work of earlier runs that was not saved before a sudden end",
        None,
    ),
    row(
        Command::ImportBoundary,
        "File",
        "Import boundary…",
        "Choose a GeoJSON, KML or KMZ file whose polygon becomes the site",
        Some(key(Modifiers::COMMAND, Key::I)),
    )
    .first(),
    row(
        Command::ImportBoundaryTyped,
        "File",
        "Import boundary by path…",
        "Type the path of a GeoJSON, KML or KMZ file",
        Some(key(SHIFTED, Key::I)),
    ),
    row(
        Command::ImportTerrain,
        "File",
        "Import terrain…",
        "Choose an Esri ASCII grid or a GeoTIFF whose heights become the ground",
        Some(key(Modifiers::COMMAND, Key::G)),
    ),
    row(
        Command::ImportTerrainTyped,
        "File",
        "Import terrain by path…",
        "Type the path of an Esri ASCII grid or a GeoTIFF",
        Some(key(SHIFTED, Key::E)),
    ),
    row(
        Command::ImportFootprints,
        "File",
        "Import footprints…",
        "Choose a GeoJSON, a KML or a shapefile whose polygons become buildings, and points control points or the take-off",
        None,
    ),
    row(
        Command::ImportFootprintsTyped,
        "File",
        "Import footprints by path…",
        "Type the path of a GeoJSON, a KML, a KMZ, a shapefile or one in a ZIP archive",
        Some(key(SHIFTED, Key::B)),
    ),
    row(
        Command::ImportUnderlay,
        "File",
        "Import picture to draw over…",
        "Choose an orthophoto, a site plan or a scan (GeoTIFF, PNG, JPEG) that the plan is drawn over",
        None,
    ),
    row(
        Command::ImportUnderlayTyped,
        "File",
        "Import picture by path…",
        "Type the path of a GeoTIFF, PNG or JPEG that the plan is drawn over",
        Some(key(SHIFTED, Key::J)),
    ),
    row(
        Command::CopyCard,
        "File",
        "Copy set-up card",
        "Put the card of the strategy in focus on the clipboard, as text",
        Some(key(SHIFTED, Key::K)),
    )
    .first(),
    row(
        Command::SaveCardPdf,
        "File",
        "Save set-up card as PDF…",
        "Choose where to save the card of the strategy in focus, a page to print",
        None,
    ),
    row(
        Command::SaveCardPdfTyped,
        "File",
        "Save set-up card as PDF by path…",
        "Type where to save the card of the strategy in focus, a page to print",
        Some(key(Modifiers::COMMAND.plus(Modifiers::ALT), Key::P)),
    ),
    row(
        Command::PrintCard,
        "File",
        "Open set-up card to print",
        "Open the card of the strategy in focus in the system's viewer of PDFs, which can print it",
        None,
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
        Some(key(SHIFTED, Key::F)),
    ),
    row(
        Command::Export,
        "File",
        "Export route and stations…",
        "Choose a folder for route, stations, regions and samples of the strategy in focus",
        None,
    )
    .first(),
    row(
        Command::ExportTyped,
        "File",
        "Export route and stations by path…",
        "Type the path of a folder for route, stations, regions and samples of the strategy in focus",
        Some(key(Modifiers::COMMAND.plus(Modifiers::ALT), Key::E)),
    ),
    row(
        Command::MakeLesson,
        "Compare",
        "Make a lesson…",
        "Ask about the open scenario step by step: what is guessed, what is set, what is said",
        Some(key(Modifiers::COMMAND, Key::F10)),
    )
    .first(),
    row(
        Command::SaveHandout,
        "Compare",
        "Save hand-out of the lesson…",
        "Choose where to save its pages: questions, and once it is over each with its answer and working",
        None,
    ),
    row(
        Command::SaveHandoutTyped,
        "Compare",
        "Save hand-out by path…",
        "Type where to save its pages: questions, and once it is over each with its answer and working",
        None,
    ),
    row(Command::Quit, "File", "Quit", "Close the window", Some(key(Modifiers::COMMAND, Key::Q))).first(),
    row(Command::Undo, "Edit", "Undo", "Take the last change back", Some(key(Modifiers::COMMAND, Key::Z))),
    row(Command::Redo, "Edit", "Redo", "Bring back what was undone", Some(key(SHIFTED, Key::Z)))
        .also(key(Modifiers::COMMAND, Key::Y)),
    row(
        Command::CopyTable,
        "Edit",
        "Copy table",
        "Put the table of this screen on the clipboard, cells apart by tabs",
        Some(key(Modifiers::COMMAND, Key::C)),
    )
    .first(),
    row(
        Command::CopyPicture,
        "Edit",
        "Copy picture",
        "Put a picture of this screen on the clipboard, without the row on top; the right button on a diagram copies that alone",
        Some(key(Modifiers::ALT, Key::C)),
    ),
    row(
        Command::Find,
        "Edit",
        "Find a command…",
        "Look for a command or a screen by its words",
        Some(key(Modifiers::COMMAND, Key::K)),
    )
    .also(key(Modifiers::NONE, Key::F1))
    .first(),
    row(
        Command::NameScenario,
        "Edit",
        "Name and note…",
        "Type the scenario's name and note, and the site's name",
        Some(key(SHIFTED, Key::N)),
    )
    .first(),
    row(
        Command::AssumeBuildings,
        "Edit",
        "Assume buildings…",
        "Spread boxes of one size over a site on which nothing is modelled",
        None,
    )
    .first(),
    row(
        Command::RemoveTerrain,
        "Edit",
        "Remove terrain",
        "Make the ground level again, at the height it has in the middle of the site",
        None,
    ),
    row(
        Command::PlaceUnderlay,
        "Edit",
        "Place picture by two points…",
        "Say where two points of the picture lie that the plan is drawn over",
        None,
    ),
    row(
        Command::PlaceOnEarth,
        "Edit",
        "Place on earth…",
        "Type latitude and longitude of the site's origin, its coordinates on the earth",
        None,
    ),
    row(
        Command::RemoveUnderlay,
        "Edit",
        "Remove picture",
        "Take the picture from below the plan; its file stays",
        None,
    ),
    row(
        Command::Back,
        "View",
        "Back",
        "Show the screen that was shown before this one",
        Some(key(Modifiers::ALT, Key::B)),
    )
    .first(),
    row(
        Command::EndLesson,
        "Compare",
        "End lesson",
        "Reveal everything that the lesson hides; its guesses stay",
        Some(key(SHIFTED, Key::F10)),
    ),
    row(
        Command::FoldPlan,
        "View",
        "Plan beside the board",
        "Open plan and view angles beside the board, or fold them away",
        Some(key(Modifiers::COMMAND, Key::P)),
    ),
    row(
        Command::Add(Template::NadirBlock),
        "Strategy",
        "Add nadir block",
        "Parallel strips, camera straight down",
        Some(key(Modifiers::COMMAND, Key::Num1)),
    ),
    row(
        Command::Add(Template::CrossedStrips),
        "Strategy",
        "Add crossed strips",
        "Two sets of strips at right angles, camera tilted",
        Some(key(Modifiers::COMMAND, Key::Num2)),
    ),
    row(
        Command::Add(Template::FiveDirectionOblique),
        "Strategy",
        "Add five-direction oblique",
        "A nadir block, then four blocks that each look one way",
        Some(key(Modifiers::COMMAND, Key::Num3)),
    ),
    row(
        Command::Add(Template::CycledGimbal),
        "Strategy",
        "Add cycled gimbal",
        "One set of strips on which the gimbal swings through five attitudes",
        Some(key(Modifiers::COMMAND, Key::Num4)),
    ),
    row(
        Command::AddOnSite(SiteTemplate::NadirBlockWithOrbits),
        "Strategy",
        "Add nadir block with orbits",
        "A nadir block, then a ring about each of the tallest structures, looking inward",
        Some(key(Modifiers::COMMAND, Key::Num5)),
    )
    .first(),
    row(
        Command::AddOnSite(SiteTemplate::FacadeWrap),
        "Strategy",
        "Add facade wrap",
        "Rows in front of every wall of the tallest structure, and a nadir block",
        Some(key(Modifiers::COMMAND, Key::Num6)),
    ),
    row(
        Command::AddOnSite(SiteTemplate::UndersideSections),
        "Strategy",
        "Add underside sections",
        "Strips below the largest deck with the camera looking up",
        Some(key(Modifiers::COMMAND, Key::Num7)),
    ),
    row(
        Command::AddOnSite(SiteTemplate::Corridor),
        "Strategy",
        "Add corridor",
        "Strips along a line through the site",
        Some(key(Modifiers::COMMAND, Key::Num8)),
    ),
    row(
        Command::AddOnSite(SiteTemplate::ListedStations),
        "Strategy",
        "Add listed stations",
        "Stations given one by one, to be read from a table or an export",
        Some(key(Modifiers::COMMAND, Key::Num9)),
    ),
    row(
        Command::FocusNext,
        "Strategy",
        "Next strategy",
        "Put the strategy to the right in focus",
        Some(key(Modifiers::COMMAND, Key::PageDown)),
    )
    .first(),
    row(
        Command::FocusPrevious,
        "Strategy",
        "Previous strategy",
        "Put the strategy to the left in focus",
        Some(key(Modifiers::COMMAND, Key::PageUp)),
    ),
    row(
        Command::FlyAll,
        "Strategy",
        "Fly all with…",
        "Choose an aircraft of the scenario or of your library that all strategies fly",
        Some(key(SHIFTED, Key::A)),
    )
    .first(),
    row(
        Command::Focused(Task::Duplicate),
        "Strategy",
        "Duplicate",
        "Put a copy of the strategy in focus beside it",
        Some(key(SHIFTED, Key::D)),
    )
    .first(),
    row(
        Command::Focused(Task::Rename),
        "Strategy",
        "Rename",
        "Type another name for the strategy in focus",
        Some(key(Modifiers::NONE, Key::F2)),
    ),
    row(
        Command::Focused(Task::MoveLeft),
        "Strategy",
        "Move left",
        "Move the strategy in focus one place to the left",
        Some(key(Modifiers::ALT, Key::ArrowLeft)),
    ),
    row(
        Command::Focused(Task::MoveRight),
        "Strategy",
        "Move right",
        "Move the strategy in focus one place to the right",
        Some(key(Modifiers::ALT, Key::ArrowRight)),
    ),
    row(
        Command::Focused(Task::HeightLeads),
        "Strategy",
        "Set by height",
        "Keep the height when the aircraft changes",
        Some(key(SHIFTED, Key::H)),
    ),
    row(
        Command::Focused(Task::GsdLeads),
        "Strategy",
        "Set by GSD",
        "Keep the GSD when the aircraft changes",
        Some(key(SHIFTED, Key::G)),
    ),
    row(
        Command::Focused(Task::Remove),
        "Strategy",
        "Remove",
        "Take the strategy in focus away",
        Some(key(Modifiers::COMMAND, Key::Backspace)),
    ),
    row(
        Command::Focused(Task::Reference),
        "Compare",
        "Toggle reference",
        "Let the others show their difference from the strategy in focus, or no longer",
        Some(key(Modifiers::COMMAND, Key::R)),
    ),
    row(
        Command::Hold(None),
        "Compare",
        "Hold nothing equal",
        "Every strategy keeps its own height or GSD",
        Some(key(Modifiers::ALT, Key::N)),
    )
    .first(),
    row(
        Command::Hold(Some(Hold::Gsd)),
        "Compare",
        "Hold GSD equal",
        "All strategies fly at one GSD; heights follow from the cameras",
        Some(key(Modifiers::ALT, Key::G)),
    ),
    row(
        Command::Hold(Some(Hold::Height)),
        "Compare",
        "Hold height equal",
        "All strategies fly at one height",
        Some(key(Modifiers::ALT, Key::H)),
    ),
    row(
        Command::Hold(Some(Hold::TimeOnSite)),
        "Compare",
        "Hold time on site equal",
        "Heights are searched for at which all take as long",
        Some(key(Modifiers::ALT, Key::T)),
    ),
    row(
        Command::Hold(Some(Hold::Requirement)),
        "Compare",
        "Hold requirement equal",
        "Each at its own setting of least time on site that meets the requirement; settings are searched for",
        Some(key(Modifiers::ALT, Key::Q)),
    ),
    row(
        Command::SearchSettings,
        "Compare",
        "Search settings",
        "Search every strategy's ticked settings for the least that meets the requirement",
        Some(key(Modifiers::NONE, Key::F6)),
    )
    .first(),
    row(
        Command::AdoptFound,
        "Compare",
        "Adopt all that meet",
        "Set every strategy of which a setting was found that meets to it: one step, which undo takes back",
        Some(key(Modifiers::NONE, Key::F7)),
    ),
    row(
        Command::Update,
        "Compare",
        "Update",
        "Work coverage out again after it was stopped",
        Some(key(Modifiers::NONE, Key::F5)),
    )
    .first(),
    row(
        Command::StopUpdating,
        "Compare",
        "Stop updating",
        "Stop working coverage out; what is shown stays as it is",
        Some(key(Modifiers::COMMAND, Key::Period)),
    ),
    row(
        Command::FoldSettings,
        "View",
        "Fold settings",
        "Fold the settings away, or bring them back",
        Some(key(Modifiers::COMMAND, Key::L)),
    ),
    row(
        Command::SwitchMode,
        "View",
        "Theme: light or dark",
        "Change between light and dark",
        Some(key(Modifiers::COMMAND, Key::D)),
    )
    .first(),
    row(Command::FollowSystem, "View", "Theme: system", "Follow the system's own setting", None),
    row(
        Command::SwitchUnits,
        "View",
        "Units",
        "Change between metric and US customary units; files stay metric",
        Some(key(Modifiers::COMMAND, Key::U)),
    )
    .first(),
    row(
        Command::SwitchGsd,
        "View",
        "GSD in",
        "Change between centimetres and inches for GSD; files stay metric",
        None,
    ),
    row(
        Command::SwitchBlocks,
        "View",
        "Accuracy worked out",
        "Adjust the images of all strategies after every change, or only where accuracy is required or looked at",
        None,
    ),
    row(
        Command::Larger,
        "View",
        "Larger text",
        "Draw text and all round it larger, up to three times",
        Some(key(Modifiers::COMMAND, Key::Plus)),
    )
    .also(key(Modifiers::COMMAND, Key::Equals))
    .first(),
    row(
        Command::Smaller,
        "View",
        "Smaller text",
        "Draw text and all round it smaller, down to half",
        Some(key(Modifiers::COMMAND, Key::Minus)),
    ),
    row(
        Command::UsualSize,
        "View",
        "Usual text size",
        "Draw text at the size that the system asks for",
        Some(key(Modifiers::COMMAND, Key::Num0)),
    ),
];

/// The commands of these rows whose keys were pressed since the last call, in the order and as often as they were. Those with
/// more modifiers are asked first, since a key with Shift or Alt would otherwise count as the one without.
pub fn pressed(ctx: &egui::Context, rows: &[CommandRow]) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let rows = rows.iter().filter(|row| !(typing && is_for_text(row.command)));
    let keys = |row: &CommandRow| {
        let command = row.command;
        row.shortcut.into_iter().chain(row.also).map(move |key| (key, command))
    };
    let mut keys: Vec<_> = rows.flat_map(keys).collect();
    keys.sort_by_key(|(key, _)| !(key.modifiers.shift || key.modifiers.alt));
    let mut commands = Vec::new();
    ctx.input_mut(|input| {
        input.events.retain(|event| {
            let asked = asked_by(event, &keys);
            commands.extend(asked);
            asked.is_none()
        });
    });
    // Window systems send the usual keys for copying as what they are for.
    let copies = |input: &egui::InputState| input.events.contains(&egui::Event::Copy);
    if !typing && !commands.contains(&Command::CopyTable) && ctx.input(copies) {
        commands.push(Command::CopyTable);
    }
    commands
}

/// The command whose key an event is.
fn asked_by(event: &egui::Event, keys: &[(KeyboardShortcut, Command)]) -> Option<Command> {
    let &egui::Event::Key { key, pressed: true, modifiers, .. } = event else { return None };
    let is_meant =
        |own: &KeyboardShortcut| own.logical_key == key && modifiers.matches_logically(own.modifiers);
    keys.iter().find(|(own, _)| is_meant(own)).map(|(_, command)| *command)
}

/// Whether a text field has its own meaning for the command's key.
fn is_for_text(command: Command) -> bool {
    matches!(
        command,
        Command::Undo
            | Command::Redo
            | Command::Focused(Task::MoveLeft | Task::MoveRight | Task::Remove)
            | Command::Hold(_)
            | Command::Back
            | Command::CopyTable
            | Command::CopyPicture
    )
}
