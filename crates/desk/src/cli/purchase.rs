//! Whether another fleet pays, on the command line.

use super::{Trouble, replacing, say, warn, write_screen};
use crate::app::{App, Screen};
use crate::document::Document;
use crate::engine::Engine;
use crate::picture::PictureSize;
use crate::purchase::{PortfolioDocument, PortfolioPlace, PurchasePanel, ShownRight};
use crate::window::OpenedBeside;
use crate::{files, window};
use clap::Args;
use obliquity_exchange::{
    Output, OutputKind, PortfolioRead, purchase_json, purchase_text, purchase_xlsx, read_portfolio,
};
use obliquity_planning::NoWatch;
use obliquity_planning::purchase::Purchase;
use std::path::{Path, PathBuf};

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct PurchaseTask {
    /// Portfolio file: the jobs of a year, and the fleets that could do them.
    file: PathBuf,
    /// As JSON instead of text.
    #[arg(long)]
    json: bool,
    /// Write the whole case into a workbook (.xlsx) instead: its inputs, and formulas that come to the same results.
    #[arg(long, value_name = "OUT", conflicts_with = "json")]
    xlsx: Option<PathBuf>,
    /// Replace the workbook that is there.
    #[arg(long, requires = "xlsx")]
    replace: bool,
}

impl PurchaseTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs = [self.file.as_path()];
        let replace = replacing(self.replace);
        let out = self.xlsx.as_deref().map(|path| Output {
            path,
            kind: OutputKind::WORKBOOK,
            replace,
            inputs: &inputs,
        });
        if let Some(out) = &out {
            out.check().map_err(|error| Trouble::Input(error.to_string()))?;
        }
        let read = read(&self.file)?;
        let purchase = evaluated(&self.file, &read)?;
        if let Some(out) = &out {
            let bytes = purchase_xlsx(&read.portfolio, &purchase).map_err(Trouble::Input)?;
            let written = out.write(|file| file.write_all(&bytes));
            return written.map_err(|error| Trouble::Input(error.to_string()));
        }
        if self.json {
            say(&format!("{:#}\n", purchase_json(&read.portfolio, &purchase)))
        } else {
            say(&purchase_text(&read.portfolio, &purchase))
        }
    }
}

fn read(file: &Path) -> Result<PortfolioRead, Trouble> {
    let read = read_portfolio(file).map_err(|error| Trouble::Input(error.to_string()))?;
    for note in &read.notes {
        warn(&format!("{}: {note}", file.display()));
    }
    Ok(read)
}

fn evaluated(file: &Path, read: &PortfolioRead) -> Result<Purchase, Trouble> {
    if let Some(next) = read.portfolio.lacks().first() {
        let message = format!("{}: it lacks {next}; add it in the window or in the file", file.display());
        return Err(Trouble::Input(message));
    }
    let purchase = Engine::aside().purchase(&read.portfolio, &read.scenarios, &NoWatch);
    purchase.map_err(|error| Trouble::Evaluation(format!("{}: {error}", file.display())))
}

/// Opens the window on a portfolio, or prints what it comes to and says why where there can be none.
pub(super) fn open(file: &Path) -> Result<(), Trouble> {
    let read = read(file)?;
    let demo = files::demo().map_err(|error| Trouble::Input(error.to_string()))?;
    let portfolio = PortfolioDocument::new(read.clone(), PortfolioPlace::File(file.to_owned()));
    let Err(why) =
        window::open(Document::new(demo, None), Some(OpenedBeside::Portfolio(Box::new(portfolio))))
    else {
        return Ok(());
    };
    warn(&format!("no window: {why}; this is what it would show, and nothing is written"));
    say(&purchase_text(&read.portfolio, &evaluated(file, &read)?))
}

/// What of the inputs can be opened beside the jobs, by its name.
const PANELS: [(&str, PurchasePanel); 4] = [
    ("fleet", PurchasePanel::Fleet),
    ("firm", PurchasePanel::Firm),
    ("ranges", PurchasePanel::Ranges),
    ("set-up", PurchasePanel::Make),
];

/// Draws the screen of a purchase with a fleet in focus; what is opened is its working or inputs.
pub(super) fn draw(
    file: &Path,
    (view, fleet, opened): (Screen, Option<&str>, &[String]),
    canvas: &PictureSize,
    out: &Output<'_>,
) -> Result<(), Trouble> {
    if view != Screen::PURCHASE {
        let told = format!("{}: a portfolio is drawn with --view purchase alone", file.display());
        return Err(Trouble::Input(told));
    }
    let read = read(file)?;
    let focus = match fleet {
        None => None,
        Some(name) => Some(fleet_named(file, &read, name)?),
    };
    let demo = files::demo().map_err(|error| Trouble::Input(error.to_string()))?;
    let portfolio = PortfolioDocument::new(read, PortfolioPlace::File(file.to_owned()));
    let mut app = App::still(Document::new(demo, None)).with_portfolio(portfolio);
    if let Some(focus) = focus {
        app.focus_on_fleet(focus);
    }
    let is_open = |what: &str| opened.iter().any(|own| own == what);
    let panel =
        PANELS.iter().find(|(name, _)| is_open(name)).map_or(PurchasePanel::Jobs, |(_, panel)| *panel);
    let right = if is_open("working") { ShownRight::Working } else { ShownRight::Diagrams };
    app.show_of_purchase(panel, right);
    app.fly_portfolio();
    write_screen(&mut app, canvas, out)
}

fn fleet_named(file: &Path, read: &PortfolioRead, name: &str) -> Result<usize, Trouble> {
    let fleets = &read.portfolio.fleets;
    fleets.iter().position(|fleet| fleet.name == name).ok_or_else(|| {
        let names: Vec<&str> = fleets.iter().map(|fleet| fleet.name.as_str()).collect();
        Trouble::Input(format!(
            "{}: a fleet was required, but none is called {name:?}; write one of {}",
            file.display(),
            files::listed(&names)
        ))
    })
}
