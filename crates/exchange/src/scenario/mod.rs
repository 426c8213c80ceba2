//! The scenario file: RON, self-contained, `format: 1` first.

mod place;
mod syntax;

use crate::files::{read_bounded, save_atomically, too_large, utf8};
use crate::{FileError, FileErrorKind, FileFault, FileStamp, Place};
use obliquity_planning::{
    Aircraft, Conditions, Equipment, Fault, Id, Job, Rates, Requirement, Scenario, Site, Strategy, Underlay,
};
use place::{first_field, has_field, locate};
use ron::Options;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::Arc;

/// The format that this program reads and writes.
pub const FORMAT: u32 = 1;

/// Largest scenario file that is read.
const MOST_BYTES: u64 = 64 << 20;

/// Most faults of one file that are listed.
const MOST_FAULTS: usize = 50;

/// A scenario as its file nests it.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Scenario")]
pub(crate) struct ScenarioFile {
    format: u32,
    name: String,
    #[serde(default)]
    note: String,
    site: Arc<Site>,
    equipment: Arc<Equipment>,
    strategies: Vec<Strategy>,
    #[serde(default)]
    reference: Option<Id>,
    #[serde(default)]
    conditions: Conditions,
    #[serde(default)]
    requirement: Requirement,
    #[serde(default)]
    rates: Rates,
    #[serde(default, skip_serializing_if = "Job::is_usual")]
    job: Job,
    /// Left out where there is none, so that files without it stay as they are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    underlay: Option<Arc<Underlay>>,
}

/// Reads a scenario file.
///
/// # Errors
/// When the file cannot be read, is too large, is of another format, breaks the syntax, or says what cannot be; then
/// every fault is told with its line and column.
pub fn read_scenario(path: &Path) -> Result<Scenario, FileError> {
    read_stamped_scenario(path).map(|(scenario, _)| scenario)
}

/// Reads a scenario file, with what tells later whether it still holds this.
///
/// # Errors
/// As [`read_scenario`].
pub fn read_stamped_scenario(path: &Path) -> Result<(Scenario, FileStamp), FileError> {
    let bytes = read_bounded(path, MOST_BYTES)?;
    let name = path.display().to_string();
    let scenario = parse_scenario(utf8(&bytes, &name)?, &name)?;
    Ok((scenario, FileStamp::of(path, &bytes)))
}

/// Reads a scenario from the text of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`read_scenario`].
pub fn parse_scenario(text: &str, name: &str) -> Result<Scenario, FileError> {
    if text.len() as u64 > MOST_BYTES {
        return Err(too_large(name, MOST_BYTES));
    }
    check_format(text, name, "a scenario")?;
    let file: ScenarioFile = from_text(text, name)?;
    let scenario = Scenario::from(file);
    sound(text, name, scenario.faults())?;
    Ok(scenario)
}

/// Whether a file holds a scenario, by how it begins; one that could not be read is one too.
pub(crate) fn is_scenario(head: &[u8]) -> bool {
    let text = String::from_utf8_lossy(head);
    let text = text.trim_start_matches('\u{feff}');
    first_field(text).is_some_and(|first| first.key == "format")
        && ![FIRM, STEPS].into_iter().any(|other| has_field(text, other))
}

/// The field that a portfolio has and a scenario has not.
const FIRM: &str = "firm";

/// Whether a text is a portfolio's.
pub(crate) fn has_firm(head: &[u8]) -> bool {
    has_field(String::from_utf8_lossy(head).trim_start_matches('\u{feff}'), FIRM)
}

/// The field that a lesson has and a scenario has not.
const STEPS: &str = "steps";

/// The field that answers to a lesson have and the lesson has not.
const LEARNER: &str = "learner";

/// Whether a text is that of answers to a lesson.
pub(crate) fn has_learner(head: &[u8]) -> bool {
    has_field(String::from_utf8_lossy(head).trim_start_matches('\u{feff}'), LEARNER)
}

/// Whether a text is a lesson's, or that of answers to one.
pub(crate) fn has_steps(head: &[u8]) -> bool {
    has_field(String::from_utf8_lossy(head).trim_start_matches('\u{feff}'), STEPS)
}

/// Reads a catalogue: equipment alone, as a scenario holds it, without a format.
///
/// # Errors
/// As [`read_scenario`], but for the format.
pub fn parse_equipment(text: &str, name: &str) -> Result<Equipment, FileError> {
    if text.len() as u64 > MOST_BYTES {
        return Err(too_large(name, MOST_BYTES));
    }
    let equipment: Equipment = from_text(text, name)?;
    sound(text, name, equipment.faults())?;
    Ok(equipment)
}

/// Tells the faults found in what a text says, each with its place.
pub(crate) fn sound(text: &str, name: &str, found: Vec<Fault>) -> Result<(), FileError> {
    if found.is_empty() {
        return Ok(());
    }
    let more = found.len().saturating_sub(MOST_FAULTS);
    let mut faults: Vec<FileFault> =
        found.into_iter().take(MOST_FAULTS).map(|fault| located(text, fault)).collect();
    faults.sort_by_key(|fault| fault.place);
    if more > 0 {
        let message = format!("{more} more faults are not listed; mend these first");
        faults.push(FileFault { place: None, message });
    }
    Err(FileError { file: name.to_owned(), kind: FileErrorKind::Invalid, faults })
}

/// The text of a scenario's file; reading it gives the same scenario, every number to the last bit.
///
/// NaN and infinities are written too, but reading refuses them: ask [`Scenario::faults`] before.
pub fn write_scenario(scenario: &Scenario) -> String {
    // Writing RON fails only beyond its recursion limit, which these types do not come near.
    text_of(scenario).unwrap_or_default()
}

fn text_of(scenario: &Scenario) -> Result<String, ron::Error> {
    pretty(&ScenarioFile::from(scenario.clone()))
}

/// Saves a scenario so that a crash at any moment leaves a whole file; the old version stays as `NAME.previous`.
///
/// # Errors
/// When the scenario has faults and so could not be read back, or the system refuses; the old file is then untouched.
pub fn save_scenario(path: &Path, scenario: &Scenario) -> Result<(), FileError> {
    save_stamped_scenario(path, scenario, None).map(drop)
}

/// Saves a scenario in the place of what is known to be there; gives what tells later whether the file still holds it.
///
/// # Errors
/// As [`save_scenario`]; [`FileErrorKind::Changed`] where the file holds something else by now than is `known`: it is then
/// untouched. A file that is gone is written anew.
pub fn save_stamped_scenario(
    path: &Path,
    scenario: &Scenario,
    known: Option<&FileStamp>,
) -> Result<FileStamp, FileError> {
    let name = path.display().to_string();
    check_saved(&name, scenario.faults())?;
    let text = text_of(scenario).map_err(|error| {
        let message = format!("cannot be put into text: {error}; the file is as it was");
        FileError::new(&name, FileErrorKind::Unwritable, message)
    })?;
    save_known(path, text.as_bytes(), known)
}

/// What is wrong is not saved.
pub(crate) fn check_saved(name: &str, faults: Vec<Fault>) -> Result<(), FileError> {
    if faults.is_empty() {
        return Ok(());
    }
    let say = |fault: Fault| FileFault {
        place: None,
        message: format!("not saved, because of {}: {}", fault.path, fault.message),
    };
    let faults = faults.into_iter().map(say).collect();
    Err(FileError { file: name.to_owned(), kind: FileErrorKind::Invalid, faults })
}

/// Writes in the place of what is known to be there; the version before is kept beside it.
pub(crate) fn save_known(
    path: &Path,
    bytes: &[u8],
    known: Option<&FileStamp>,
) -> Result<FileStamp, FileError> {
    if let Some(known) = known {
        known.check(path)?;
    }
    save_atomically(path, bytes)?;
    Ok(FileStamp::of(path, bytes))
}

/// The user's own library of aircraft, as its file nests it.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Library")]
struct LibraryFile {
    format: u32,
    aircraft: Vec<Aircraft>,
}

/// Reads a library of aircraft from the text of its file: as a scenario's equipment, with a format of its own.
///
/// # Errors
/// As [`read_scenario`].
pub fn parse_library(text: &str, name: &str) -> Result<Equipment, FileError> {
    check_format(text, name, "a library of aircraft")?;
    let file: LibraryFile = from_text(text, name)?;
    let equipment = Equipment { aircraft: file.aircraft };
    sound(text, name, equipment.faults())?;
    Ok(equipment)
}

/// The text of a library's file; reading it gives the same aircraft.
pub fn write_library(library: &Equipment) -> String {
    let file = LibraryFile { format: FORMAT, aircraft: library.aircraft.clone() };
    // Fails only beyond the recursion limit, which these types do not come near.
    pretty(&file).unwrap_or_default()
}

pub(crate) fn pretty(value: &impl Serialize) -> Result<String, ron::Error> {
    let style = PrettyConfig::new().new_line("\n").indentor("  ").struct_names(false);
    Ok(options().to_string_pretty(value, style)? + "\n")
}

/// What a text says, or where it breaks the syntax.
pub(crate) fn from_text<T: DeserializeOwned>(text: &str, name: &str) -> Result<T, FileError> {
    options().from_str(text).map_err(|error| syntax::explain(text, name, &error))
}

fn options() -> Options {
    Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

fn located(text: &str, fault: Fault) -> FileFault {
    let place = locate(text, &fault.path).map(|byte| Place::of_byte(text, byte));
    FileFault { place, message: fault.message }
}

/// The format is looked at before anything else, since a newer one may hold what this program does not know.
pub(crate) fn check_format(text: &str, name: &str, what: &str) -> Result<(), FileError> {
    if text.trim().is_empty() {
        let message = format!(
            "the file must hold {what}, but it is empty; copy one that the program has written to begin with"
        );
        return Err(FileError::at(name, FileErrorKind::Syntax, Place { line: 1, column: 1 }, message));
    }
    let Some(first) = first_field(text).filter(|first| first.key == "format") else {
        let byte = first_field(text).map_or(0, |first| first.key_byte);
        let message = format!("{what} must begin with \"(format: {FORMAT},\", but this does not; add it");
        return Err(FileError::at(name, FileErrorKind::Format, Place::of_byte(text, byte), message));
    };
    let place = Place::of_byte(text, first.value_byte);
    let say = |message: String| Err(FileError::at(name, FileErrorKind::Format, place, message));
    match first.value.parse::<u64>() {
        Ok(format) if format == u64::from(FORMAT) => Ok(()),
        Ok(format) if format > u64::from(FORMAT) => say(format!(
            "format {format} is newer than this program reads ({FORMAT}); use a newer version of the program"
        )),
        _ => say(format!("the format must be {FORMAT}, but it is {}; write format: {FORMAT}", first.value)),
    }
}

impl From<ScenarioFile> for Scenario {
    fn from(file: ScenarioFile) -> Self {
        Scenario {
            name: file.name,
            note: file.note,
            site: file.site,
            equipment: file.equipment,
            strategies: file.strategies,
            reference: file.reference,
            conditions: file.conditions,
            requirement: file.requirement,
            rates: file.rates,
            job: file.job,
            underlay: file.underlay,
        }
    }
}

impl From<Scenario> for ScenarioFile {
    fn from(scenario: Scenario) -> Self {
        ScenarioFile {
            format: FORMAT,
            name: scenario.name,
            note: scenario.note,
            site: scenario.site,
            equipment: scenario.equipment,
            strategies: scenario.strategies,
            reference: scenario.reference,
            conditions: scenario.conditions,
            requirement: scenario.requirement,
            rates: scenario.rates,
            job: scenario.job,
            underlay: scenario.underlay,
        }
    }
}
