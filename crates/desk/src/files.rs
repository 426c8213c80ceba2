//! The program's way to its files.

use crate::clock;
use crate::long;
use crate::undrawn::placeholder_m;
use obliquity_exchange::{
    BoundaryChoice, FileError, FileStamp, FootprintFile, LogKind, LogSheet, Output, OutputKind,
    PortfolioRead, RasterFrame, Replace, TerrainFor, TerrainImport, is_lesson_file, is_log_file,
    is_portfolio_file, parse_scenario, portfolio_beside, portfolio_of_texts, read_boundaries,
    read_footprints, read_log, read_portfolio, read_stamped_lesson, read_stamped_scenario, read_table,
    read_terrain, save_stamped_scenario, site_from_boundary,
};
use obliquity_planning::lesson::Lesson;
use obliquity_planning::{
    Above, Conditions, Distance, Id, LocalClock, Mission, Scenario, Site, Table, Template,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The rows of a table.
///
/// # Errors
/// As [`read_table`].
pub fn rows(path: &Path, table: &Table) -> Result<Vec<Vec<f64>>, FileError> {
    long::begins("reading a table");
    read_table(path, table)
}

const DEMO: &str = include_str!("../../../assets/demo.ron");

/// The scenario that the program opens with.
///
/// # Errors
/// Never for the scenario that is built in (a test reads it).
pub fn demo() -> Result<Scenario, FileError> {
    parse_scenario(DEMO, "the built-in scenario")
}

/// A scenario to begin with: an empty square site, the equipment of the demo and a strategy from each template.
pub fn blank(demo: &Scenario) -> Scenario {
    let site = Site {
        name: "New site".to_owned(),
        origin: None,
        boundary_m: placeholder_m(),
        take_off_m: glam::DVec2::ZERO,
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
        terrain: obliquity_planning::Terrain::default(),
    };
    on_site(demo, "New scenario", site)
}

/// When a newly begun job is taken to be flown: the next morning at nine.
pub fn next_mission() -> Mission {
    clock::next_mission(LocalClock { hour: 9, minute: 0 })
}

/// A scenario on a site: the equipment of the demo, a strategy from each template, the usual requirement; flown the next morning.
pub fn on_site(demo: &Scenario, name: &str, site: Site) -> Scenario {
    let aircraft = demo.equipment.aircraft.first().map_or(Id(1), |aircraft| aircraft.id);
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut scenario = Scenario {
        name: name.to_owned(),
        note: String::new(),
        site: Arc::new(site),
        strategies: Vec::new(),
        reference: None,
        requirement: obliquity_planning::Requirement::default(),
        conditions: Conditions { mission: Some(next_mission()), ..demo.conditions.clone() },
        ..demo.clone()
    };
    for template in Template::ALL {
        let first_id = scenario.free_id();
        scenario.strategies.push(template.strategy(first_id, aircraft, distance));
    }
    scenario
}

const FIRM: &str = include_str!("../../../examples/portfolio/firm.ron");

/// The scenarios of the example portfolio, each under the name that its job has for it.
pub const FIRM_SCENARIOS: [(&str, &str); 3] = [
    ("estate.ron", include_str!("../../../examples/portfolio/estate.ron")),
    ("quarry.ron", include_str!("../../../examples/portfolio/quarry.ron")),
    ("viaduct.ron", include_str!("../../../examples/portfolio/viaduct.ron")),
];

/// The portfolio that the program offers as an example.
///
/// # Errors
/// Never for the one that is built in (a test reads it).
pub fn example_portfolio() -> Result<PortfolioRead, FileError> {
    portfolio_of_texts(FIRM, "the example portfolio", &FIRM_SCENARIOS)
}

/// A portfolio that was kept unsaved: its scenarios lie beside the file that it was read from, or are those of the example.
///
/// # Errors
/// As [`obliquity_exchange::read_portfolio`].
pub fn recovered_portfolio(text: &str, file: Option<&Path>) -> Result<PortfolioRead, FileError> {
    match file {
        Some(file) => portfolio_beside(text, file),
        None => portfolio_of_texts(text, "the unsaved portfolio", &FIRM_SCENARIOS),
    }
}

/// The log that the program offers as an example.
///
/// # Errors
/// Never for those that are built in (a test reads them).
pub fn example_log(kind: LogKind) -> Result<LogSheet, FileError> {
    let text = match kind {
        LogKind::Processed => include_str!("../../../examples/processed_jobs.csv"),
        LogKind::Flown => include_str!("../../../examples/flown_jobs.csv"),
    };
    LogSheet::parse(text, "the example log")
}

/// What a file gave that was opened.
#[derive(Debug, Clone, PartialEq)]
pub enum OpenedFile {
    /// A scenario, or a boundary to begin one on.
    Scenario(Box<Opened>),
    /// A portfolio.
    Portfolio(Box<PortfolioRead>),
    /// A lesson, and what its file held.
    Lesson(Box<Lesson>, FileStamp),
    /// A log of jobs, and what its file held.
    Log(Box<LogSheet>, FileStamp),
}

/// A scenario, a boundary, a portfolio or a log from a file.
///
/// # Errors
/// What is wrong with the file, where, and the mend.
pub fn open(path: &Path) -> Result<OpenedFile, FileError> {
    long::begins("reading a file");
    if is_log_file(path) {
        let (sheet, stamp) = read_log(path)?;
        return Ok(OpenedFile::Log(Box::new(sheet), stamp));
    }
    if !is_boundary(path) && is_portfolio_file(path) {
        return Ok(OpenedFile::Portfolio(Box::new(read_portfolio(path)?)));
    }
    if !is_boundary(path) && is_lesson_file(path) {
        let (lesson, stamp) = read_stamped_lesson(path)?;
        return Ok(OpenedFile::Lesson(Box::new(lesson), stamp));
    }
    Ok(OpenedFile::Scenario(Box::new(read(path)?)))
}

/// What a scenario's file, or a boundary, gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// The scenario.
    pub scenario: Scenario,
    /// What was assumed on the way, for people.
    pub notes: Vec<String>,
    /// What the file held; nothing for a boundary, which is not what the scenario is saved to.
    pub stamp: Option<FileStamp>,
}

/// A scenario from a file: as it stands there, or on a site's boundary (GeoJSON, KML, KMZ) with a strategy from each
/// template.
///
/// # Errors
/// What is wrong with the file, where, and the mend.
pub fn read(path: &Path) -> Result<Opened, FileError> {
    long::begins("reading a scenario");
    if !is_boundary(path) {
        let (scenario, stamp) = read_stamped_scenario(path)?;
        return Ok(Opened { scenario, notes: Vec::new(), stamp: Some(stamp) });
    }
    let begun = |scenario, notes| Ok(Opened { scenario, notes, stamp: None });
    let choices = read_boundaries(path)?;
    // A file without any polygon is an error, so there is a first one.
    let Some(first) = choices.first() else { return begun(blank(&demo()?), Vec::new()) };
    let mut notes = first.notes.clone();
    if choices.len() > 1 {
        let others: Vec<&str> = choices[1..].iter().map(|choice| choice.name.as_str()).collect();
        let (first, count) = (&first.name, choices.len());
        notes.push(format!("Using {first:?}, first of {count}; ignored: {}", listed(&others)));
    }
    notes.push("nothing is modelled on this site: only its ground is predicted".to_owned());
    begun(on_site(&demo()?, &first.name, site_from_boundary(first)), notes)
}

/// The polygons of a file.
///
/// # Errors
/// As [`read_boundaries`].
pub fn boundaries(path: &Path) -> Result<Vec<BoundaryChoice>, FileError> {
    long::begins("reading a boundary");
    read_boundaries(path)
}

/// What of a file has a place: footprints and points.
///
/// # Errors
/// As [`read_footprints`].
pub fn footprints(path: &Path) -> Result<FootprintFile, FileError> {
    long::begins("reading footprints");
    read_footprints(path)
}

/// The heights of a file, cut to the site and to all that take off on it.
///
/// # Errors
/// As [`read_terrain`].
pub fn terrain(path: &Path, scenario: &Scenario, frame: RasterFrame) -> Result<TerrainImport, FileError> {
    long::begins("reading terrain");
    let further = scenario.strategies.iter().flat_map(|strategy| &strategy.take_offs_m);
    let take_offs_m: Vec<glam::DVec2> = further.copied().collect();
    read_terrain(path, TerrainFor { site: &scenario.site, take_offs_m: &take_offs_m }, frame)
}

/// Writes a scenario in the place of what is known to be there; the version before is kept beside it.
///
/// # Errors
/// As [`save_stamped_scenario`].
pub fn save(path: &Path, scenario: &Scenario, known: Option<&FileStamp>) -> Result<FileStamp, FileError> {
    long::begins("writing a scenario");
    save_stamped_scenario(path, scenario, known)
}

/// Writes a text into a new file; one that holds the same already is as good.
///
/// # Errors
/// When something else is there, or the system refuses.
pub fn write_beside(path: &Path, text: &str) -> Result<(), FileError> {
    if std::fs::read(path).is_ok_and(|there| there == text.as_bytes()) {
        return Ok(());
    }
    let kind = OutputKind::SCENARIO;
    let out = Output { path, kind, replace: Replace::Nothing, inputs: &[] };
    out.write(|file| file.write_all(text.as_bytes()))
}

/// Writes bytes for others.
///
/// # Errors
/// As [`Output::write`].
pub fn write(out: &Output<'_>, bytes: &[u8]) -> Result<(), FileError> {
    long::begins("writing a file");
    out.write(|file| file.write_all(bytes))
}

/// Shows a file with what the system has for such files.
///
/// # Errors
/// Why it cannot, and where the file is, for people.
pub fn open_with_system(path: &Path) -> Result<(), String> {
    open::that_detached(path).map_err(|error| {
        format!("the system has nothing to show it with: {error}; it is in {}, open it there", path.display())
    })
}

/// Writes bytes into a new file among the temporary ones, under a name that nothing has yet.
///
/// # Errors
/// Why it cannot be written, for people.
pub fn write_temporary(name: &str, bytes: &[u8]) -> Result<PathBuf, String> {
    long::begins("writing a file");
    let folder =
        tempfile::Builder::new().prefix("obliquity-").tempdir().map_err(|error| error.to_string())?;
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).map_err(|error| format!("{}: {error}", path.display()))?;
    // Whoever shows it needs it after this program has ended: the system clears such files away.
    let _kept = folder.keep();
    Ok(path)
}

/// Most names that a sentence lists.
const MOST_NAMES: usize = 10;

/// Names with commas between them; of many the first, and how many more there are.
pub fn listed(names: &[&str]) -> String {
    let text = names.iter().take(MOST_NAMES).copied().collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(MOST_NAMES) {
        0 => text,
        more => format!("{text} and {more} more"),
    }
}

/// Whether a file's name says that it holds a boundary.
pub fn is_boundary(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ["geojson", "json", "kml", "kmz"].contains(&ending.as_str()))
}

/// The name of a file without its folders, for titles.
pub fn short_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
