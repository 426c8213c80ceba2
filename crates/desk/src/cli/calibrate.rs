//! Rates of processing from processed jobs, on the command line.

use super::{Trouble, read, replacing, say};
use crate::files;
use clap::Args;
use obliquity_exchange::{
    Output, OutputKind, calibrated, calibrated_text, calibration_json, calibration_text, read_processed_jobs,
    write_scenario,
};
use obliquity_planning::{StageRates, fit_rates};
use std::path::{Path, PathBuf};

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct CalibrateTask {
    /// Logbook of processed jobs (CSV), a row each: images, megapixels, area, GSD, and hours of stages or all hours; pairs where they
    /// are known.
    file: PathBuf,
    /// As JSON instead of text.
    #[arg(long)]
    json: bool,
    /// Put the rates, and what they rest on, into a copy of this scenario. Rates that the jobs do not tell stay as they are in it.
    #[arg(long, value_name = "SCENARIO", requires = "out")]
    into: Option<PathBuf>,
    /// The copy to write.
    #[arg(long, requires = "into")]
    out: Option<PathBuf>,
    /// Replace the scenario that is there.
    #[arg(long)]
    replace: bool,
}

impl CalibrateTask {
    /// As text, and nothing is written.
    pub(super) fn of(file: &Path) -> Self {
        CalibrateTask { file: file.to_owned(), json: false, into: None, out: None, replace: false }
    }

    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs: Vec<_> =
            [Some(&self.file), self.into.as_ref()].into_iter().flatten().map(PathBuf::as_path).collect();
        let out = self.out.as_deref().map(|path| Output {
            path,
            kind: OutputKind::SCENARIO,
            replace: replacing(self.replace),
            inputs: &inputs,
        });
        if let Some(out) = &out {
            out.check().map_err(|error| Trouble::Input(error.to_string()))?;
        }
        let scenario = self.into.as_deref().map(read).transpose()?;
        let jobs = read_processed_jobs(&self.file).map_err(|error| Trouble::Input(error.to_string()))?;
        let assumed = scenario.as_ref().map_or(StageRates::default(), |scenario| scenario.rates.stages);
        let fitted = fit_rates(&jobs, &assumed)
            .map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))?;
        if let Some((out, mut scenario)) = out.zip(scenario) {
            scenario.rates = calibrated(&scenario.rates, &fitted);
            files::write(&out, write_scenario(&scenario).as_bytes())
                .map_err(|error| Trouble::Input(error.to_string()))?;
            if !self.json {
                return say(&format!("{}: {}.\n", out.path.display(), calibrated_text(&fitted)));
            }
        }
        if self.json {
            say(&format!("{:#}\n", calibration_json(&jobs, &fitted)))
        } else {
            say(&calibration_text(&jobs, &fitted))
        }
    }
}
