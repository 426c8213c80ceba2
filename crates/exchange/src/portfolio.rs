//! The portfolio file: RON, `format: 1` first, with the scenarios of its jobs beside it.

use crate::files::{read_bounded, utf8};
use crate::scenario::{FORMAT, check_format, from_text, parse_scenario, sound};
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
    let portfolio = parse_portfolio(utf8(&bytes, &name)?, &name)?;
    let mut read = PortfolioRead { portfolio, scenarios: Vec::new(), held: Vec::new(), notes: Vec::new() };
    for job in &read.portfolio.jobs {
        let (scenario, held) = job_scenario(path, job)?;
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
fn job_scenario(portfolio: &Path, job: &PortfolioJob) -> Result<(Scenario, String), FileError> {
    let path: PathBuf = portfolio.parent().unwrap_or(Path::new("")).join(&job.scenario);
    let named = |mut error: FileError| {
        for fault in &mut error.faults {
            fault.message =
                format!("{} (the scenario of \"{}\" in {})", fault.message, job.name, portfolio.display());
        }
        error
    };
    let bytes = read_bounded(&path, MOST_BYTES).map_err(named)?;
    let name = path.display().to_string();
    let scenario = utf8(&bytes, &name).and_then(|text| parse_scenario(text, &name)).map_err(named)?;
    if scenario.strategies.is_empty() {
        let message = format!(
            "the scenario of \"{}\" must have a strategy, but it has none; add one in the program",
            job.name
        );
        let faults = vec![FileFault { place: None, message }];
        return Err(FileError { file: name, kind: FileErrorKind::Invalid, faults });
    }
    let [high, low] = FileStamp::of(&path, &bytes).digest;
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
