//! Rates of processing from processed jobs, on the command line.

use super::{Trouble, say};
use clap::Args;
use obliquity_exchange::{calibration_json, calibration_text, read_processed_jobs};
use obliquity_planning::{StageRates, fit_rates};
use std::path::PathBuf;

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct CalibrateTask {
    /// Logbook of processed jobs (CSV), a row each: images, megapixels, area, GSD, and hours of stages or all hours; pairs where they
    /// are known.
    file: PathBuf,
    /// As JSON instead of text.
    #[arg(long)]
    json: bool,
}

impl CalibrateTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let jobs = read_processed_jobs(&self.file).map_err(|error| Trouble::Input(error.to_string()))?;
        let fitted = fit_rates(&jobs, &StageRates::default())
            .map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))?;
        if self.json {
            say(&format!("{:#}\n", calibration_json(&jobs, &fitted)))
        } else {
            say(&calibration_text(&jobs, &fitted))
        }
    }
}
