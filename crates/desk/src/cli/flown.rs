//! Corrections from flown jobs, and rows of a log of them, on the command line.

use super::calibrate::CalibrateTask;
use super::{Trouble, evaluate_one, find, read, say};
use crate::uncorrected::uncorrected;
use clap::Args;
use obliquity_exchange::{LogKind, LogSheet, flown_json, flown_text, planned_cells, read_flights};
use obliquity_planning::{Depth, LoggedFlight, fit_flights};
use std::path::{Path, PathBuf};

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct FlownTask {
    /// Log of flown jobs (CSV), a row each: flight time and turns that were planned, flight time that it took; images and battery sets,
    /// planned and as they came, where they are known.
    file: PathBuf,
    /// Only flights of this aircraft, as the log names it.
    #[arg(long, value_name = "NAME")]
    aircraft: Option<String>,
    /// As JSON instead of text.
    #[arg(long)]
    json: bool,
}

/// Which row is asked for.
#[derive(Debug, Args)]
pub(super) struct FlownRowTask {
    /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
    file: PathBuf,
    /// Name of the strategy; all of them if none is given.
    #[arg(long)]
    strategy: Option<String>,
}

/// Prints what is fitted to a log.
pub(super) fn print(file: &Path, kind: LogKind) -> Result<(), Trouble> {
    match kind {
        LogKind::Processed => CalibrateTask::of(file).run(),
        LogKind::Flown => FlownTask { file: file.to_owned(), aircraft: None, json: false }.run(),
    }
}

impl FlownTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let all = read_flights(&self.file).map_err(|error| Trouble::Input(error.to_string()))?;
        let flights = self.of_one(all)?;
        let fitted = fit_flights(&flights)
            .map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))?;
        if self.json {
            say(&format!("{:#}\n", flown_json(&flights, &fitted)))
        } else {
            say(&flown_text(&flights, &fitted))
        }
    }

    /// Flights of one aircraft: corrections are one aircraft's own.
    fn of_one(&self, all: Vec<LoggedFlight>) -> Result<Vec<LoggedFlight>, Trouble> {
        let mut names: Vec<&str> = all.iter().filter_map(|flight| flight.aircraft.as_deref()).collect();
        names.sort_unstable();
        names.dedup();
        let wrong = |told: String| {
            let names: Vec<String> = names.iter().map(|name| format!("{name:?}")).collect();
            Err(Trouble::Input(format!(
                "{}: {told}; write --aircraft with one of {}",
                self.file.display(),
                names.join(", ")
            )))
        };
        match &self.aircraft {
            None if names.len() > 1 => {
                wrong("flights of one aircraft were required, but there are several".to_owned())
            }
            Some(own) if !names.contains(&own.as_str()) => {
                wrong(format!("flights of {own:?} were required, but there are none"))
            }
            None => Ok(all),
            Some(own) => Ok(all.into_iter().filter(|flight| flight.aircraft.as_ref() == Some(own)).collect()),
        }
    }
}

impl FlownRowTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let scenario = uncorrected(&read(&self.file)?);
        let strategies: Vec<_> = match &self.strategy {
            Some(name) => vec![find(&self.file, &scenario, name)?],
            None => scenario.strategies.iter().collect(),
        };
        let mut sheet = LogSheet::empty(LogKind::Flown);
        for strategy in strategies {
            let outcome = evaluate_one(&self.file, &scenario, strategy, Depth::Quick)?;
            let job = format!("{}, {}", scenario.name, strategy.name);
            match planned_cells(&job, &outcome) {
                Some(cells) => sheet.rows.push(cells),
                None if self.strategy.is_some() => {
                    let told = format!(
                        "{}: {} cannot be flown: {}",
                        self.file.display(),
                        strategy.name,
                        outcome.reasons.join("; ")
                    );
                    return Err(Trouble::Evaluation(told));
                }
                None => {}
            }
        }
        say(&sheet.to_csv())
    }
}
