//! Cuts on the command line.

use super::what_if::diagram;
use super::{Trouble, find, parse_level_place, read, say};
use crate::engine::Engine;
use clap::Args;
use glam::DVec2;
use obliquity_exchange::chart::cut_charts;
use obliquity_exchange::{Units, cut_csv};
use obliquity_planning::NoWatch;
use obliquity_planning::cross_section::Cut;
use std::path::PathBuf;

/// What is cut, and how it is told.
#[derive(Debug, Args)]
pub(super) struct SectionTask {
    /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
    file: PathBuf,
    /// Name of the strategy.
    #[arg(long)]
    strategy: String,
    /// Which of its passes, from 1.
    #[arg(long, default_value_t = 1)]
    pass: usize,
    /// Cut along this strip of the pass, from 1 in flying order.
    #[arg(long, default_value_t = 1, conflicts_with_all = ["from", "to"])]
    strip: usize,
    /// Cut along a line from here: metres east and north of the frame's origin.
    #[arg(long, value_name = "E,N", value_parser = parse_level_place, allow_hyphen_values = true, requires = "to")]
    from: Option<[f64; 2]>,
    /// To here.
    #[arg(long, value_name = "E,N", value_parser = parse_level_place, allow_hyphen_values = true, requires = "from")]
    to: Option<[f64; 2]>,
    /// Draw it into this SVG file, in place of the CSV.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Replace the file that is there.
    #[arg(long)]
    replace: bool,
}

impl SectionTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs = [self.file.as_path()];
        let out = self.out.as_deref().map(|path| diagram(path, self.replace, &inputs)).transpose()?;
        let scenario = read(&self.file)?;
        let strategy = find(&self.file, &scenario, &self.strategy)?;
        let pass = self.pass.checked_sub(1).and_then(|k| strategy.passes.get(k)).ok_or_else(|| {
            let (count, asked) = (strategy.passes.len(), self.pass);
            Trouble::Input(format!("{} has {count} passes, but pass {asked} was asked for", strategy.name))
        })?;
        let which = (strategy.id, pass.id);
        let found = Engine::default().cross_section(&scenario, which, self.cut()?, &NoWatch);
        let wrong = |why: String| Trouble::Evaluation(format!("{}: {why}", self.file.display()));
        let found = found.map_err(|error| wrong(error.to_string()))?.map_err(|why| wrong(why.to_string()))?;
        match out {
            None => say(&cut_csv(&found)),
            Some(out) => out.draw(&cut_charts(&scenario, which, &found, Units::Metric)),
        }
    }

    fn cut(&self) -> Result<Cut, Trouble> {
        let place = |[east, north]: [f64; 2]| DVec2::new(east, north);
        if let (Some(from), Some(to)) = (self.from, self.to) {
            return Ok(Cut::Line(place(from), place(to)));
        }
        let from_1 = || Trouble::Input("strips are counted from 1".to_owned());
        Ok(Cut::Strip(self.strip.checked_sub(1).ok_or_else(from_1)?))
    }
}
