//! Sweeps, searches and workings on the command line.

use super::{Trouble, evaluate_one, find, is_svg, read, replacing, say};
use crate::engine::Engine;
use crate::picture::{self, PictureSize};
use crate::show;
use crate::theme::Mode;
use clap::Args;
use obliquity_exchange::chart::{Chart, SweepOf, sweep_chart};
use obliquity_exchange::{
    Output, OutputKind, Units, binds_text, looked_text, misses_text, setting_text, sweep_csv, sweep_json,
    tune_csv, tune_json, working_steps, working_text,
};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    SweepPoint, ToSpare, TuneAsk, TuneResult, Tuned, sweep_values, usual_range,
};
use obliquity_planning::wording::within;
use obliquity_planning::{
    Depth, Id, MEASURES, Measure, MeasureId, NoWatch, Scenario, Unit, knobs, measure, swept_measures,
};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// A file that diagrams are drawn into.
pub(super) struct DiagramFile<'a>(Output<'a>);

/// A file for diagrams, once it is sure that it can be written.
pub(super) fn diagram<'a>(
    path: &'a Path,
    replace: bool,
    inputs: &'a [&'a Path],
) -> Result<DiagramFile<'a>, Trouble> {
    let out = Output { path, kind: OutputKind::DIAGRAM, replace: replacing(replace), inputs };
    let wrong = || Trouble::Input(format!("{}: a name that ends in .svg was required", path.display()));
    is_svg(path).then_some(()).ok_or_else(wrong)?;
    out.check().map_err(|error| Trouble::Input(error.to_string()))?;
    Ok(DiagramFile(out))
}

impl DiagramFile<'_> {
    /// Draws them into it, one below the other.
    pub(super) fn draw(&self, charts: &[Chart]) -> Result<(), Trouble> {
        let size = PictureSize { width_px: 900, height_px: 560, pixels_per_point: 1.0, mode: Mode::Light };
        let bytes = picture::svg_bytes(&size, charts).map_err(Trouble::Input)?;
        self.0.write(|file| file.write_all(&bytes)).map_err(|error| Trouble::Input(error.to_string()))
    }
}

/// What is swept, and how it is told.
#[derive(Debug, Args)]
pub(super) struct SweepTask {
    /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
    file: PathBuf,
    /// What is turned, by where it stands in the file: `strategies[].passes[].sidelap`, `conditions.wind.speed_mps`.
    #[arg(long)]
    knob: String,
    /// Turn it in this strategy alone.
    #[arg(long)]
    strategy: Option<String>,
    /// Where it begins, as the file holds it; a usual value if it is not said.
    #[arg(long, allow_hyphen_values = true)]
    from: Option<f64>,
    /// Where it ends.
    #[arg(long, allow_hyphen_values = true)]
    to: Option<f64>,
    /// How many values, both ends included.
    #[arg(long, default_value_t = 21, value_parser = clap::value_parser!(u32).range(2..=1000))]
    steps: u32,
    /// The figure of table and diagram, by its key in the JSON.
    #[arg(long, default_value = "time_on_site_s")]
    measure: String,
    /// All figures as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// All figures as CSV.
    #[arg(long)]
    csv: bool,
    /// Draw the figure into this SVG file.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Replace the file that is there.
    #[arg(long)]
    replace: bool,
}

impl SweepTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs = [self.file.as_path()];
        let of = figure(&self.measure)?;
        let out = self.out.as_deref().map(|path| diagram(path, self.replace, &inputs)).transpose()?;
        let scenario = read(&self.file)?;
        let dial = self.dial(&scenario)?;
        let points = self.points(&scenario, &dial, of.depth.max(Depth::Views))?;
        if let Some(out) = out {
            let sweep = SweepOf { scenario: &scenario, dial: &dial, points: &points, units: Units::Metric };
            return out.draw(&[sweep_chart(&sweep, of.id)]);
        }
        if self.json {
            say(&format!("{:#}\n", sweep_json(&scenario, &dial, &points)))
        } else if self.csv {
            say(&sweep_csv(&scenario, &dial, &points))
        } else {
            say(&table(&scenario, &dial, &points, of))
        }
    }

    fn dial(&self, scenario: &Scenario) -> Result<Dial, Trouble> {
        let known = knobs().map(|row| row.id).find(|id| id.0 == self.knob);
        let id = known.ok_or_else(|| Trouble::Input(no_knob(&self.knob)))?;
        let dial = match &self.strategy {
            Some(name) => Dial::of_strategy(scenario, id, find(&self.file, scenario, name)?.id),
            None => Dial::everywhere(scenario, id),
        };
        dial.ok_or_else(|| {
            Trouble::Input(format!("{}: nothing in the scenario has {}", self.file.display(), self.knob))
        })
    }

    fn points(&self, scenario: &Scenario, dial: &Dial, depth: Depth) -> Result<Vec<SweepPoint>, Trouble> {
        let usual = usual_range(scenario, dial);
        let ends = (self.from.unwrap_or(usual.0), self.to.unwrap_or(usual.1));
        let values = sweep_values(scenario, dial, ends, self.steps);
        let values = values.map_err(|error| Trouble::Input(error.to_string()))?;
        let points = Engine::aside().sweep(scenario, (dial, &values), depth, &NoWatch);
        points.map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))
    }
}

fn no_knob(asked: &str) -> String {
    let last = |key: &str| key.rsplit('.').next().unwrap_or(key).to_owned();
    let alike: Vec<&str> =
        knobs().map(|row| row.id.0).filter(|key| key.contains(asked) || last(key) == last(asked)).collect();
    let alike = if alike.is_empty() { knobs().map(|row| row.id.0).collect() } else { alike };
    format!("no input is called {asked:?}; write one of {}", alike.join(", "))
}

pub(super) fn figure(key: &str) -> Result<&'static Measure, Trouble> {
    MEASURES.iter().find(|row| row.key == key).ok_or_else(|| {
        let keys: Vec<&str> = MEASURES.iter().map(|row| row.key).collect();
        Trouble::Input(format!("no figure is called {key:?}; write one of {}", keys.join(", ")))
    })
}

/// A figure that settings are searched for.
fn objective(key: &str) -> Result<&'static Measure, Trouble> {
    let row = figure(key)?;
    let searched = |row: &Measure| swept_measures().any(|other| other.id == row.id);
    searched(row).then_some(row).ok_or_else(|| {
        let keys: Vec<&str> = swept_measures().map(|row| row.key).collect();
        Trouble::Input(format!("no setting is searched for {key:?}; write one of {}", keys.join(", ")))
    })
}

/// A line for each value: the figure of every strategy, with a star where it meets the requirement.
fn table(scenario: &Scenario, dial: &Dial, points: &[SweepPoint], of: &Measure) -> String {
    let knob = dial.knob();
    let names: Vec<&str> = scenario.strategies.iter().map(|strategy| strategy.name.as_str()).collect();
    let mut text = format!("{} over {}; * meets the requirement\n\n", of.name, knob.whole);
    let wide = names.iter().map(|name| name.chars().count()).max().unwrap_or(0).max(12);
    let _ = write!(text, "{:>12}", "");
    for name in &names {
        let _ = write!(text, "  {name:>wide$}");
    }
    text.push('\n');
    for point in points {
        let _ = write!(text, "{:>12}", Units::Metric.text(knob.unit, point.value));
        match &point.tried {
            Ok(tried) => tried.iter().for_each(|tried| {
                let required = of.required_of(scenario, tried.strategy);
                let told = |figure| show::figure(Units::Metric, of.unit, figure, required);
                let told = tried.figure(of.id).map_or("–".to_owned(), told);
                let star = if tried.meets == Some(true) { " *" } else { "  " };
                let _ = write!(text, "  {:>wide$}", told + star);
            }),
            Err(fault) => {
                let _ = write!(text, "  {}: {}", fault.path, fault.message);
            }
        }
        text.push('\n');
    }
    text
}

/// What is searched, and how it is told.
#[derive(Debug, Args)]
pub(super) struct TuneTask {
    /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
    file: PathBuf,
    /// Search for this strategy alone.
    #[arg(long)]
    strategy: Option<String>,
    /// The figure that is to be least, by its key in the JSON.
    #[arg(long, default_value = "time_on_site_s")]
    objective: String,
    /// What was found, and how much was looked at, as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Every setting that was looked at, with all its figures, as CSV.
    #[arg(long)]
    csv: bool,
}

impl TuneTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let objective = objective(&self.objective)?.id;
        let scenario = read(&self.file)?;
        let strategies: Vec<Id> = match &self.strategy {
            Some(name) => vec![find(&self.file, &scenario, name)?.id],
            None => scenario.strategies.iter().map(|strategy| strategy.id).collect(),
        };
        let engine = Engine::aside();
        let tune = |strategy: Id| {
            let ask = TuneAsk::usual(&scenario, strategy, objective, ToSpare::default());
            let tuned = ask.map(|ask| engine.tune(&scenario, &ask, &|_| {}, &NoWatch)).transpose();
            let tuned =
                tuned.map_err(|error| Trouble::Evaluation(format!("{}: {error}", self.file.display())))?;
            Ok((strategy, tuned))
        };
        let tuned: Vec<(Id, Option<Tuned>)> =
            strategies.into_iter().map(tune).collect::<Result<_, Trouble>>()?;
        if self.json {
            say(&format!("{:#}\n", tune_json(&scenario, objective, &tuned)))
        } else if self.csv {
            say(&tune_csv(&scenario, &tuned))
        } else {
            say(&tuned_text(&scenario, objective, &tuned))
        }
    }
}

/// Some lines for each strategy: the setting found, its figure, what binds or is missed, and how much was looked at.
fn tuned_text(scenario: &Scenario, objective: MeasureId, tuned: &[(Id, Option<Tuned>)]) -> String {
    let row = measure(objective);
    let spare = ToSpare::default();
    let mut text = format!(
        "least {} that meets the requirement, with {} points of coverage and {} of GSD to spare\n",
        within(row.name),
        show::short(100.0 * spare.coverage),
        Units::Metric.text(Unit::Share, spare.gsd)
    );
    for (id, tuned) in tuned {
        let name = scenario.strategy(*id).map_or("", |strategy| &strategy.name);
        let _ = writeln!(text, "\n{name}");
        let Some(tuned) = tuned else {
            text.push_str("  has nothing to set\n");
            continue;
        };
        if let TuneResult::Nothing(reasons) = &tuned.found {
            let _ = writeln!(text, "  cannot be flown: {}", reasons.join("; "));
        }
        if let Some(looked) = tuned.foremost() {
            let setting = setting_text(scenario, &tuned.ask, &looked.values, Units::Metric);
            let figure = looked
                .tried
                .figure(objective)
                .map_or("–".to_owned(), |value| Units::Metric.text(row.unit, value));
            let found = if looked.misses.is_empty() { "best" } else { "nothing meets it; nearest" };
            let _ = writeln!(text, "  {found}: {setting}: {figure}");
            if !looked.misses.is_empty() {
                let _ = writeln!(text, "  misses: {}", misses_text(&looked.misses, Units::Metric));
            }
        }
        let binds = binds_text(scenario, tuned, Units::Metric);
        if !binds.is_empty() {
            let _ = writeln!(text, "  {binds}");
        }
        let _ = writeln!(text, "  looked at {}", looked_text(scenario, tuned));
    }
    text
}

/// Which figure's working is told.
#[derive(Debug, Args)]
pub(super) struct WorkingTask {
    /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
    file: PathBuf,
    /// Name of the strategy.
    #[arg(long)]
    strategy: String,
    /// The figure, by its key in the JSON: `time_on_site_s`, `coverage.wall`.
    #[arg(long)]
    measure: String,
}

impl WorkingTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let figure = figure(&self.measure)?;
        let scenario = read(&self.file)?;
        let strategy = find(&self.file, &scenario, &self.strategy)?;
        let outcome = evaluate_one(&self.file, &scenario, strategy, figure.depth.max(Depth::Views))?;
        let steps = working_steps(figure, &outcome).map_err(Trouble::Evaluation)?;
        say(&working_text(figure, &steps))
    }
}
