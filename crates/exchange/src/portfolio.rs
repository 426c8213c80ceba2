//! The portfolio file: RON, `format: 1` first, with the scenarios of its jobs beside it.

use crate::files::{read_bounded, utf8};
use crate::scenario::{
    FORMAT, check_format, check_saved, from_text, has_firm, parse_scenario, save_known, sound,
};
use crate::{FileError, FileErrorKind, FileFault, FileStamp};
use obliquity_planning::Scenario;
use obliquity_planning::money::{
    Firm, JobSettings, Portfolio, PortfolioAircraft, PortfolioFleet, PortfolioJob, Unsure,
};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Largest portfolio file that is read, and the largest scenario of one.
const MOST_BYTES: u64 = 64 << 20;

/// A portfolio as its file nests it.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Portfolio")]
struct PortfolioFile {
    format: u32,
    name: String,
    #[serde(default)]
    note: String,
    firm: Firm,
    #[serde(default = "usual_study_years")]
    study_years: u32,
    #[serde(default)]
    settings: JobSettings,
    jobs: Vec<PortfolioJob>,
    aircraft: Vec<PortfolioAircraft>,
    fleets: Vec<PortfolioFleet>,
    #[serde(default)]
    unsure: Vec<Unsure>,
}

fn usual_study_years() -> u32 {
    4
}

/// A portfolio with the scenarios of its jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct PortfolioRead {
    /// The portfolio.
    pub portfolio: Portfolio,
    /// The scenario of each kind of job, as they are listed.
    pub scenarios: Vec<Scenario>,
    /// What each of their files holds, as [`PortfolioJob::held`] notes it.
    pub held: Vec<String>,
    /// What is to be known of them before the figures are trusted: a scenario that is no longer what it was.
    pub notes: Vec<String>,
    /// What the portfolio's own file held; nothing where it is from no file.
    pub stamp: Option<FileStamp>,
}

/// Whether a text is a portfolio's, told from its fields: a scenario has no firm.
pub fn is_portfolio(head: &[u8]) -> bool {
    has_firm(head)
}

/// Whether a file is a portfolio's. One that cannot be read is not: whoever opens it says why.
pub fn is_portfolio_file(path: &Path) -> bool {
    read_bounded(path, MOST_BYTES).is_ok_and(|bytes| is_portfolio(&bytes))
}

/// Writes a portfolio in the place of what is known to be there; the version before is kept beside it.
///
/// # Errors
/// As [`crate::save_stamped_scenario`].
pub fn save_portfolio(
    path: &Path,
    portfolio: &Portfolio,
    known: Option<&FileStamp>,
) -> Result<FileStamp, FileError> {
    check_saved(&path.display().to_string(), portfolio.faults())?;
    save_known(path, write_portfolio(portfolio).as_bytes(), known)
}

/// Reads a portfolio from the text of a file; `name` is the file's in messages. The scenarios are not looked at.
///
/// # Errors
/// As [`crate::read_scenario`].
pub fn parse_portfolio(text: &str, name: &str) -> Result<Portfolio, FileError> {
    check_format(text, name, "a portfolio")?;
    let file: PortfolioFile = from_text(text, name)?;
    let portfolio = Portfolio::from(file);
    sound(text, name, portfolio.faults())?;
    Ok(portfolio)
}

/// Reads a portfolio file and the scenarios of its jobs.
///
/// # Errors
/// When one of the files cannot be read, is too large, is of another format, breaks the syntax, or says what cannot be; then every
/// fault is told with its line and column.
pub fn read_portfolio(path: &Path) -> Result<PortfolioRead, FileError> {
    let name = path.display().to_string();
    let bytes = read_bounded(path, MOST_BYTES)?;
    let read = with_scenarios(utf8(&bytes, &name)?, &name, &in_folder_of(path))?;
    Ok(PortfolioRead { stamp: Some(FileStamp::of(path, &bytes)), ..read })
}

/// The portfolio of a text whose scenarios are texts too, each under the name that its job has for it.
///
/// # Errors
/// As [`read_portfolio`].
pub fn portfolio_of_texts(
    text: &str,
    name: &str,
    scenarios: &[(&str, &str)],
) -> Result<PortfolioRead, FileError> {
    let files = |wanted: &str| {
        let path = PathBuf::from(wanted);
        match scenarios.iter().find(|(name, _)| *name == wanted) {
            Some((_, text)) => Ok((path, text.as_bytes().to_vec())),
            // one that lies in no folder of the portfolio's
            None if path.is_absolute() => Ok((path.clone(), read_bounded(&path, MOST_BYTES)?)),
            None => {
                let message = "is not among the scenarios that came with the portfolio".to_owned();
                Err(FileError::new(wanted, FileErrorKind::Unreadable, message))
            }
        }
    };
    with_scenarios(text, name, &files)
}

/// The portfolio of a text with the scenarios that lie beside a path.
///
/// # Errors
/// As [`read_portfolio`].
pub fn portfolio_beside(text: &str, path: &Path) -> Result<PortfolioRead, FileError> {
    with_scenarios(text, &path.display().to_string(), &in_folder_of(path))
}

/// Gives the place and the bytes of a scenario by the name that a job has for it.
type ScenarioFiles<'a> = &'a dyn Fn(&str) -> Result<(PathBuf, Vec<u8>), FileError>;

fn in_folder_of(portfolio: &Path) -> impl Fn(&str) -> Result<(PathBuf, Vec<u8>), FileError> {
    let folder = portfolio.parent().unwrap_or(Path::new("")).to_owned();
    move |scenario| {
        let path = folder.join(scenario);
        let bytes = read_bounded(&path, MOST_BYTES)?;
        Ok((path, bytes))
    }
}

fn with_scenarios(text: &str, name: &str, files: ScenarioFiles<'_>) -> Result<PortfolioRead, FileError> {
    let portfolio = parse_portfolio(text, name)?;
    let (scenarios, held, notes) = (Vec::new(), Vec::new(), Vec::new());
    let mut read = PortfolioRead { portfolio, scenarios, held, notes, stamp: None };
    for job in &read.portfolio.jobs {
        let (scenario, held) = job_scenario(name, job, files)?;
        if job.held.as_ref().is_some_and(|known| *known != held) {
            read.notes.push(format!(
                "{}: {} holds something else than when the portfolio was last looked at; every figure of these jobs is of now",
                job.name, job.scenario
            ));
        }
        read.scenarios.push(scenario);
        read.held.push(held);
    }
    Ok(read)
}

/// The scenario of a kind of job, and what its file holds.
fn job_scenario(
    portfolio: &str,
    job: &PortfolioJob,
    files: ScenarioFiles<'_>,
) -> Result<(Scenario, String), FileError> {
    let named = |mut error: FileError| {
        for fault in &mut error.faults {
            fault.message = format!("{} (the scenario of \"{}\" in {portfolio})", fault.message, job.name);
        }
        error
    };
    let (path, bytes) = files(&job.scenario).map_err(named)?;
    scenario_of(&path, &bytes).map_err(named)
}

/// Reads a scenario for a kind of job; gives it with what its file holds, as [`PortfolioJob::held`] notes it.
///
/// # Errors
/// As [`crate::read_scenario`], and where it has no strategy.
pub fn read_job_scenario(path: &Path) -> Result<(Scenario, String), FileError> {
    scenario_of(path, &read_bounded(path, MOST_BYTES)?)
}

fn scenario_of(path: &Path, bytes: &[u8]) -> Result<(Scenario, String), FileError> {
    let name = path.display().to_string();
    let scenario = parse_scenario(utf8(bytes, &name)?, &name)?;
    if scenario.strategies.is_empty() {
        let message = "a scenario of a job must have a strategy, but it has none; add one in the program";
        let faults = vec![FileFault { place: None, message: message.to_owned() }];
        return Err(FileError { file: name, kind: FileErrorKind::Invalid, faults });
    }
    let [high, low] = FileStamp::of(path, bytes).digest;
    Ok((scenario, format!("{high:016x}{low:016x}")))
}

/// The text of a portfolio's file; reading it gives the same portfolio.
pub fn write_portfolio(portfolio: &Portfolio) -> String {
    // Fails only beyond the recursion limit, which these types do not come near.
    crate::scenario::pretty(&PortfolioFile::from(portfolio.clone())).unwrap_or_default()
}

impl From<PortfolioFile> for Portfolio {
    fn from(file: PortfolioFile) -> Self {
        let PortfolioFile {
            format: _,
            name,
            note,
            firm,
            study_years,
            settings,
            jobs,
            aircraft,
            fleets,
            unsure,
        } = file;
        Portfolio { name, note, firm, study_years, settings, jobs, aircraft, fleets, unsure }
    }
}

impl From<Portfolio> for PortfolioFile {
    fn from(portfolio: Portfolio) -> Self {
        let Portfolio { name, note, firm, study_years, settings, jobs, aircraft, fleets, unsure } = portfolio;
        PortfolioFile {
            format: FORMAT,
            name,
            note,
            firm,
            study_years,
            settings,
            jobs,
            aircraft,
            fleets,
            unsure,
        }
    }
}
