//! Whether another fleet pays, on the command line.

use super::{Trouble, say, warn};
use crate::engine::Engine;
use clap::Args;
use obliquity_exchange::{purchase_json, purchase_text, read_portfolio};
use obliquity_planning::NoWatch;
use std::path::PathBuf;

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct PurchaseTask {
    /// Portfolio file: the jobs of a year, and the fleets that could do them.
    file: PathBuf,
    /// As JSON instead of text.
    #[arg(long)]
    json: bool,
}

impl PurchaseTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let read = read_portfolio(&self.file).map_err(|error| Trouble::Input(error.to_string()))?;
        for note in &read.notes {
            warn(&format!("{}: {note}", self.file.display()));
        }
        let purchase = Engine::aside().purchase(&read.portfolio, &read.scenarios, &NoWatch);
        let purchase =
            purchase.map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))?;
        if self.json {
            say(&format!("{:#}\n", purchase_json(&read.portfolio, &purchase)))
        } else {
            say(&purchase_text(&read.portfolio, &purchase))
        }
    }
}
