//! The program without a screen: what it is asked on the command line, and what it prints.

mod calibrate;
mod cut;
mod flown;
mod lesson;
mod logs;
mod purchase;
mod report;
mod what_if;

pub use report::table;

use crate::app::{ASPECTS, App, SCREENS, Screen, ScreenRow};
use crate::document::Document;
use crate::engine::Engine;
use crate::picture::{self, PictureSize};

use crate::space::Layer;
use crate::theme::Mode;
use crate::{card, files, window};
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Parser, Subcommand, ValueEnum};
use obliquity_exchange::{
    Card, CardSheet, ExportError, ExportTo, FileStamp, Output, OutputKind, PaperSize, Replace, Slots, Units,
    ViewRows, check_export, comparison_csv, comparison_json, export_strategy, is_lesson_file, is_log_file,
    is_portfolio_file, read_lesson,
};
use obliquity_planning::{Depth, NoWatch, Outcome, Scenario, Strategy};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Capture strategies for one site, side by side: what each costs and what it delivers.
#[derive(Debug, Parser)]
#[command(name = "obliquity", version, args_conflicts_with_subcommands = true)]
struct Arguments {
    /// Scenario or boundary to open in the window; the built-in scenario if none is given.
    file: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<CliTask>,
}

#[derive(Debug, Subcommand)]
enum CliTask {
    /// Print the comparison of all strategies.
    Compare {
        /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
        file: PathBuf,
        /// As JSON instead of a table; metric whatever the units.
        #[arg(long)]
        json: bool,
        /// As CSV instead of a table: one row a strategy, one column a figure.
        #[arg(long, conflicts_with = "json")]
        csv: bool,
        /// Work out the adjustment of the images too: ties, precision and what it tells of the camera. It may take a minute.
        #[arg(long)]
        accuracy: bool,
        /// Which system of units the table is in.
        #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
        units: UnitsName,
    },
    /// Print the set-up card of a strategy: the values to key into a flight controller.
    Card {
        /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
        file: PathBuf,
        /// Name of the strategy.
        #[arg(long)]
        strategy: String,
        /// Which system of units stands first; the other stands beside it.
        #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
        units: UnitsName,
        /// Write it to a file instead: .pdf for pages to print, .txt for the text.
        #[arg(long)]
        out: Option<PathBuf>,
        /// What the PDF is printed on; Letter with US units and A4 with metric ones if it is not said.
        #[arg(long, value_enum)]
        paper: Option<PaperName>,
        /// Replace the file that is there.
        #[arg(long)]
        replace: bool,
    },
    /// Write what anyone needs to check a strategy's figures with general-purpose tools.
    Export {
        /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
        file: PathBuf,
        /// Name of the strategy.
        #[arg(long)]
        strategy: String,
        /// Folder to write into; it is made if it is not there.
        #[arg(long)]
        out: PathBuf,
        /// Write views.csv too: every sample in every station's frame. It is long.
        #[arg(long)]
        views: bool,
        /// Work out the adjustment of the images too, which fills the standard deviations of samples.csv. It may take a minute.
        #[arg(long)]
        accuracy: bool,
        /// Replace an earlier export in the folder, all of it.
        #[arg(long)]
        replace: bool,
    },
    /// Turn one input over a range, and print a figure of all strategies at every value; or all figures as JSON or CSV.
    Sweep(what_if::SweepTask),
    /// Search every strategy's settings for the one with the least time on site, or another figure, that meets the
    /// requirement.
    Tune(what_if::TuneTask),
    /// Cut through the site along a strip or a line: heights, GSD and overlap, as set and following the ground, or one height.
    Section(cut::SectionTask),
    /// Print how a figure comes about, to be recomputed by hand.
    Working(what_if::WorkingTask),
    /// Hold fleets of aircraft against each other over the jobs of a year: what each leaves, and what would turn the answer.
    Purchase(purchase::PurchaseTask),
    /// Print the questions of a lesson; with --reveal what they come to as well, to be worked out by hand.
    Lesson(lesson::LessonTask),
    /// Put the answers of a class to a lesson beside each other: a table, CSV, or diagrams; nothing is sent anywhere.
    Answers(lesson::AnswersTask),
    /// Fit the rates of processing to jobs that were processed, and print them with how sure they are; on request write them into
    /// a copy of a scenario.
    Calibrate(calibrate::CalibrateTask),
    /// Fit corrections of speed, turns and endurance to jobs that were flown, and print them with how sure they are; nothing is written.
    Flown(flown::FlownTask),
    /// Print a row of a log of flown jobs for a strategy, with what is planned filled in.
    FlownRow(flown::FlownRowTask),
    /// Draw a screen into a PNG file, or its diagrams into an SVG file, without a display.
    Picture {
        /// Scenario file, or a site's boundary as GeoJSON, KML or KMZ.
        file: PathBuf,
        /// Which screen.
        #[arg(long, value_parser = views(), default_value = Screen::BOARD.name())]
        view: Screen,
        /// Which of the things that the screen shows one at a time.
        #[arg(long, value_name = "NAME", value_parser = aspects())]
        aspect: Option<String>,
        /// Name of the strategy in focus, which plan, 3D, walls and card are about; the first one if none is given.
        #[arg(long)]
        strategy: Option<String>,
        /// Pixels of the picture, width and height with an x between them.
        #[arg(long, value_parser = parse_size, default_value = "1280x800")]
        size: (u32, u32),
        /// Draws everything this many times as large; the picture keeps its pixels.
        #[arg(long, value_parser = parse_scale, default_value = "1")]
        scale: f32,
        /// Light or dark.
        #[arg(long, value_enum, default_value_t = ThemeName::Light)]
        theme: ThemeName,
        /// What the surfaces are coloured by, in 3D, on walls and on the plan.
        #[arg(long, value_enum)]
        layer: Option<LayerName>,
        /// Show this many strategies beside each other, in 3D, on walls and on the plan.
        #[arg(long, value_name = "2..4", value_parser = clap::value_parser!(u8).range(2..=4))]
        beside: Option<u8>,
        /// Tell about the piece of surface nearest to this place: metres to the east, to the north and up.
        #[arg(long, value_name = "X,Y,Z", value_parser = parse_place, allow_hyphen_values = true)]
        pick: Option<[f64; 3]>,
        /// From where the 3D view looks: clockwise from north and below level (negative looks up), in degrees, and the
        /// distance in metres from the place picked or the middle of the site.
        #[arg(long, value_name = "AZIMUTH,DOWN,DISTANCE", value_parser = parse_place, allow_hyphen_values = true)]
        look: Option<[f64; 3]>,
        /// Mark where the caution of this name holds on the plan.
        #[arg(long, value_name = "ID")]
        caution: Option<String>,
        /// Where the timeline's cursor stands: seconds after arriving. It is marked on the plan and in 3D as well.
        #[arg(long, value_name = "SECONDS")]
        at: Option<f64>,
        /// The figure whose working is shown, by its key in the JSON.
        #[arg(long, value_name = "KEY")]
        measure: Option<String>,
        /// Open something on the board: `settings`, `cautions`, or a band by its title; on the screen of a block `control`, numbers of
        /// control points; on that of a purchase `fleet`, `firm`, `ranges` or `working`; of a lesson or its steps a number, `guess`,
        /// `locked`, `revealed` or `zoom`. May be given several times.
        #[arg(long, value_name = "WHAT")]
        open: Vec<String>,
        /// File to write: .png, or .svg for the diagrams of a screen alone.
        #[arg(long)]
        out: PathBuf,
        /// Replace the picture that is there.
        #[arg(long)]
        replace: bool,
    },
}

/// The names of the screens.
fn views() -> impl TypedValueParser<Value = Screen> {
    let names = SCREENS.iter().map(|row| PossibleValue::new(row.id.name()).help(row.help));
    let named =
        |name: String| SCREENS.iter().find(|row| row.id.name() == name).map_or(Screen::BOARD, |row| row.id);
    PossibleValuesParser::new(names).map(named)
}

/// The names of what screens show one at a time.
fn aspects() -> PossibleValuesParser {
    PossibleValuesParser::new(ASPECTS.iter().map(|row| PossibleValue::new(row.name).help(row.hint)))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LayerName {
    /// Covered or not.
    Covered,
    /// Number of views that count.
    Views,
    /// GSD of the best view that counts.
    Gsd,
    /// Least incidence of a view that counts.
    Incidence,
    /// Widest angle between two views that count.
    Intersection,
    /// Standard deviation of places from the adjustment of all images.
    SigmaHorizontal,
    /// The same of heights.
    SigmaVertical,
    /// The same along the surface's normal.
    SigmaNormal,
}

impl From<LayerName> for Layer {
    fn from(name: LayerName) -> Self {
        match name {
            LayerName::Covered => Layer::Covered,
            LayerName::Views => Layer::Views,
            LayerName::Gsd => Layer::Gsd,
            LayerName::Incidence => Layer::Incidence,
            LayerName::Intersection => Layer::Intersection,
            LayerName::SigmaHorizontal => Layer::SigmaHorizontal,
            LayerName::SigmaVertical => Layer::SigmaVertical,
            LayerName::SigmaNormal => Layer::SigmaNormal,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ThemeName {
    /// Dark text on a light page.
    Light,
    /// Light text on a dark page.
    Dark,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum UnitsName {
    /// Metres and metres per second.
    Metric,
    /// Feet and miles per hour.
    Us,
    /// The same with GSD in inches.
    UsInches,
}

impl From<UnitsName> for Units {
    fn from(name: UnitsName) -> Self {
        match name {
            UnitsName::Metric => Units::Metric,
            UnitsName::Us => Units::UsCustomary,
            UnitsName::UsInches => Units::UsInches,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperName {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl From<PaperName> for PaperSize {
    fn from(name: PaperName) -> Self {
        match name {
            PaperName::A4 => PaperSize::A4,
            PaperName::Letter => PaperSize::Letter,
        }
    }
}

/// Why a task was not done.
#[derive(Debug, thiserror::Error)]
enum Trouble {
    /// Bad usage, unreadable input or an output that cannot be written.
    #[error("{0}")]
    Input(String),
    /// The scenario could be read but not evaluated.
    #[error("{0}")]
    Evaluation(String),
}

impl Trouble {
    fn status(&self) -> u8 {
        match self {
            Trouble::Evaluation(_) => 1,
            Trouble::Input(_) => 2,
        }
    }
}

/// Largest side of a picture.
const MOST_PX: u32 = 16_384;

/// Most pixels of a picture, 8192 × 8192: four bytes each while it is drawn, and up to as many again encoded.
const MOST_PIXELS: u64 = 1 << 26;

fn parse_size(text: &str) -> Result<(u32, u32), String> {
    let wrong =
        || format!("two whole numbers from 1 to {MOST_PX} were required, as in 1280x800, but it is {text:?}");
    let (width, height) = text.split_once(['x', '×']).ok_or_else(wrong)?;
    let side = |side: &str| side.parse().ok().filter(|px| (1..=MOST_PX).contains(px)).ok_or_else(wrong);
    let (width, height) = (side(width)?, side(height)?);
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MOST_PIXELS {
        return Err(format!(
            "at most {} million pixels are drawn, which take some {} MB, but {width}x{height} has {} million; make it \
             smaller, 8192x8192 for instance",
            MOST_PIXELS / 1_000_000,
            8 * MOST_PIXELS / 1_000_000,
            pixels / 1_000_000
        ));
    }
    Ok((width, height))
}

fn parse_place(text: &str) -> Result<[f64; 3], String> {
    parse_numbers(text, "three numbers with commas between them were required, as in 120,-40,12")
}

fn parse_level_place(text: &str) -> Result<[f64; 2], String> {
    parse_numbers(text, "two numbers with a comma between them were required, as in 120,-40")
}

fn parse_numbers<const N: usize>(text: &str, required: &str) -> Result<[f64; N], String> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|part| part.trim().parse().ok()).collect();
    let numbers = numbers.filter(|numbers| numbers.iter().all(|number| number.is_finite()));
    let places = numbers.and_then(|numbers| numbers.try_into().ok());
    places.ok_or_else(|| format!("{required}, but it is {text:?}"))
}

fn parse_scale(text: &str) -> Result<f32, String> {
    let scale = text.parse().ok().filter(|scale| (0.5..=4.0).contains(scale));
    scale.ok_or_else(|| format!("a number from 0.5 to 4 was required, but it is {text:?}"))
}

/// Does what the command line asks for.
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        None => open(arguments.file.as_deref()),
        Some(task) => task.run(),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            warn(&trouble.to_string());
            ExitCode::from(trouble.status())
        }
    }
}

impl CliTask {
    fn run(self) -> Result<(), Trouble> {
        match self {
            CliTask::Compare { file, json, csv, accuracy, units } => {
                let scenario = read(&file)?;
                let outcomes = evaluate(&file, &scenario, depth(accuracy, &scenario))?;
                if json {
                    say(&format!("{:#}\n", comparison_json(&scenario, &outcomes)))
                } else if csv {
                    say(&comparison_csv(&outcomes))
                } else {
                    say(&report::table(&scenario, &outcomes, units.into()))
                }
            }
            CliTask::Card { file, strategy, units, out, paper, replace } => {
                let inputs = [file.as_path()];
                let out =
                    out.as_deref().map(|path| card_output(path, replacing(replace), &inputs)).transpose()?;
                let scenario = read(&file)?;
                let strategy = find(&file, &scenario, &strategy)?;
                let slot = Slots::of(&scenario).slot(strategy.id);
                let outcome = evaluate_one(&file, &scenario, strategy, Depth::Views)?;
                let card = Card { number: Some(slot + 1), ..Card::new(&scenario, &outcome, units.into()) };
                let Some(out) = out else { return say(&card.to_text()) };
                let paper = paper.map_or(PaperSize::usual(units.into()), PaperSize::from);
                write_card(&card, slot, paper, &out)
            }
            CliTask::Export { file, strategy, out, views, accuracy, replace } => {
                let inputs = [file.as_path()];
                let to = ExportTo { folder: &out, replace: replacing(replace), inputs: &inputs };
                check_export(&to).map_err(|error| Trouble::Input(error.to_string()))?;
                let scenario = read(&file)?;
                let strategy = find(&file, &scenario, &strategy)?;
                let outcome = evaluate_one(&file, &scenario, strategy, depth(accuracy, &scenario))?;
                export(&scenario, &outcome, &to, if views { ViewRows::Written } else { ViewRows::LeftOut })
            }
            CliTask::Sweep(task) => task.run(),
            CliTask::Tune(task) => task.run(),
            CliTask::Section(task) => task.run(),
            CliTask::Working(task) => task.run(),
            CliTask::Purchase(task) => task.run(),
            CliTask::Lesson(task) => task.run(),
            CliTask::Answers(task) => task.run(),
            CliTask::Calibrate(task) => task.run(),
            CliTask::Flown(task) => task.run(),
            CliTask::FlownRow(task) => task.run(),
            CliTask::Picture {
                file,
                view,
                aspect,
                strategy,
                size,
                scale,
                theme,
                layer,
                beside,
                pick,
                look,
                caution,
                at,
                measure,
                open,
                out,
                replace,
            } => {
                let mode = match theme {
                    ThemeName::Light => Mode::Light,
                    ThemeName::Dark => Mode::Dark,
                };
                let canvas =
                    PictureSize { width_px: size.0, height_px: size.1, pixels_per_point: scale, mode };
                let layer = layer.map(Layer::from);
                let (strategy, caution, measure) =
                    (strategy.as_deref(), caution.as_deref(), measure.as_deref());
                let aspect = aspect.as_deref();
                let wanted =
                    Wanted { view, aspect, strategy, open, layer, beside, pick, look, caution, at, measure };
                let inputs = [file.as_path()];
                let (kind, replace) = (
                    if is_svg(&out) { OutputKind::DIAGRAM } else { OutputKind::PICTURE },
                    replacing(replace),
                );
                draw_screen(&file, &wanted, &canvas, &Output { path: &out, kind, replace, inputs: &inputs })
            }
        }
    }
}

/// Opens the window, or prints the comparison and says why where there can be none.
fn open(file: Option<&Path>) -> Result<(), Trouble> {
    if let Some(portfolio) = file.filter(|file| is_portfolio_file(file)) {
        return purchase::open(portfolio);
    }
    if let Some(lesson) = file.filter(|file| is_lesson_file(file)) {
        return lesson::open(lesson);
    }
    if let Some(log) = file.filter(|file| is_log_file(file)) {
        return logs::open(log);
    }
    let (scenario, stamp) = match file {
        Some(file) => read_stamped(file)?,
        None => (files::demo().map_err(|error| Trouble::Input(error.to_string()))?, None),
    };
    // A scenario made on a boundary is saved under a name of its own.
    let path = file.filter(|file| !files::is_boundary(file));
    let document = Document::new(scenario.clone(), path.map(Path::to_owned)).with_stamp(stamp);
    let Err(why) = window::open(document, None) else { return Ok(()) };
    warn(&format!("no window: {why}; this is the comparison that it would show, and nothing is written"));
    let name = file.unwrap_or(Path::new("the built-in scenario"));
    let outcomes = evaluate(name, &scenario, Depth::Views)?;
    say(&report::table(&scenario, &outcomes, Units::Metric))
}

fn read(file: &Path) -> Result<Scenario, Trouble> {
    read_stamped(file).map(|(scenario, _)| scenario)
}

fn read_stamped(file: &Path) -> Result<(Scenario, Option<FileStamp>), Trouble> {
    if is_lesson_file(file) {
        let lesson = read_lesson(file).map_err(|error| Trouble::Input(error.to_string()))?;
        warn(&format!("{}: a lesson; this shows everything that it asks", file.display()));
        return Ok((lesson.scenario, None));
    }
    let opened = files::read(file).map_err(|error| Trouble::Input(error.to_string()))?;
    for note in &opened.notes {
        warn(&format!("{}: {note}", file.display()));
    }
    Ok((opened.scenario, opened.stamp))
}

/// How much is worked out; the adjustment of the images where it is asked for, by the requirement too.
fn depth(accuracy: bool, scenario: &Scenario) -> Depth {
    if accuracy { Depth::Network } else { Depth::of_verdict(&scenario.requirement) }
}

fn evaluate(file: &Path, scenario: &Scenario, depth: Depth) -> Result<Vec<Outcome>, Trouble> {
    let engine = Engine::default();
    let one = |strategy| evaluate_with(&engine, file, scenario, (strategy, depth));
    scenario.strategies.iter().map(one).collect()
}

fn evaluate_one(
    file: &Path,
    scenario: &Scenario,
    strategy: &Strategy,
    depth: Depth,
) -> Result<Outcome, Trouble> {
    evaluate_with(&Engine::default(), file, scenario, (strategy, depth))
}

fn evaluate_with(
    engine: &Engine,
    file: &Path,
    scenario: &Scenario,
    (strategy, depth): (&Strategy, Depth),
) -> Result<Outcome, Trouble> {
    let outcome = engine.evaluate(scenario, strategy.id, depth, &NoWatch);
    outcome.map_err(|failure| Trouble::Evaluation(format!("{}: {failure}", file.display())))
}

/// The strategy of a name; upper and lower case count only where the name alone would not do.
fn find<'a>(file: &Path, scenario: &'a Scenario, name: &str) -> Result<&'a Strategy, Trouble> {
    let exact = scenario.strategies.iter().find(|strategy| strategy.name == name);
    let alike =
        || scenario.strategies.iter().find(|strategy| strategy.name.to_lowercase() == name.to_lowercase());
    exact.or_else(alike).ok_or_else(|| {
        let names: Vec<String> =
            scenario.strategies.iter().map(|strategy| format!("{:?}", strategy.name)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        Trouble::Input(format!(
            "{}: a strategy was required, but none is called {name:?}; write one of {}",
            file.display(),
            files::listed(&names)
        ))
    })
}

/// Where a card goes, once it is known to have a place there.
fn card_output<'a>(path: &'a Path, replace: Replace, inputs: &'a [&'a Path]) -> Result<Output<'a>, Trouble> {
    let ends = |ending: &str| path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending));
    let kind = match (ends("pdf"), ends("txt")) {
        (true, _) => OutputKind::PDF,
        (_, true) => OutputKind::CARD,
        _ => {
            let told = format!("{}: a name that ends in .pdf or .txt was required", path.display());
            return Err(Trouble::Input(told));
        }
    };
    let out = Output { path, kind, replace, inputs };
    out.check().map_err(|error| Trouble::Input(error.to_string()))?;
    Ok(out)
}

fn write_card(card: &Card, slot: usize, paper: PaperSize, out: &Output<'_>) -> Result<(), Trouble> {
    let is_pdf = out.kind.name == OutputKind::PDF.name;
    let bytes = if is_pdf {
        card::pdf(&CardSheet::new(card, paper), slot).map_err(Trouble::Input)?
    } else {
        card.to_text().into_bytes()
    };
    out.write(|file| file.write_all(&bytes)).map_err(|error| Trouble::Input(error.to_string()))
}

fn replacing(asked: bool) -> Replace {
    if asked { Replace::Earlier } else { Replace::Nothing }
}

/// Writes the files; prints which ones, and on standard error what was left out.
fn export(scenario: &Scenario, outcome: &Outcome, to: &ExportTo<'_>, rows: ViewRows) -> Result<(), Trouble> {
    let exported = export_strategy(to, scenario, outcome, rows, &NoWatch);
    let exported = exported.map_err(|error| match error {
        ExportError::CannotBeFlown(_) => Trouble::Evaluation(error.to_string()),
        _ => Trouble::Input(error.to_string()),
    })?;
    for note in &exported.notes {
        warn(note);
    }
    let files: Vec<String> = exported.files.iter().map(|file| file.display().to_string()).collect();
    say(&(files.join("\n") + "\n"))
}

/// Which screen is drawn.
struct Wanted<'a> {
    view: Screen,
    aspect: Option<&'a str>,
    strategy: Option<&'a str>,
    open: Vec<String>,
    layer: Option<Layer>,
    beside: Option<u8>,
    pick: Option<[f64; 3]>,
    look: Option<[f64; 3]>,
    caution: Option<&'a str>,
    at: Option<f64>,
    measure: Option<&'a str>,
}

fn draw_screen(
    file: &Path,
    wanted: &Wanted<'_>,
    canvas: &PictureSize,
    out: &Output<'_>,
) -> Result<(), Trouble> {
    out.check().map_err(|error| Trouble::Input(error.to_string()))?;
    if is_svg(out.path) && !ScreenRow::of(wanted.view).has_charts() {
        return Err(no_charts(wanted.view));
    }
    if is_portfolio_file(file) {
        return purchase::draw(file, (wanted.view, wanted.strategy, &wanted.open), canvas, out);
    }
    if [Screen::LESSON, Screen::LESSON_STEPS].contains(&wanted.view) && is_lesson_file(file) {
        return lesson::draw(file, wanted.view, &wanted.open, canvas, out);
    }
    if is_log_file(file) {
        return logs::draw(file, wanted.view, canvas, out);
    }
    let scenario = read(file)?;
    let engine = Engine::default();
    for strategy in &scenario.strategies {
        evaluate_with(&engine, file, &scenario, (strategy, Depth::Views))?;
    }
    let focus =
        wanted.strategy.map(|name| find(file, &scenario, name)).transpose()?.map(|strategy| strategy.id);
    // What has been worked out to see whether it can be is drawn from.
    let mut app = App::still(Document::new(scenario, Some(file.to_owned())));
    app = app.with_engines(&engine, &Engine::aside());
    for what in &wanted.open {
        app.open_on_board(what);
    }
    app.work_out();
    let of_block = wanted.layer.is_some_and(Layer::is_of_block);
    if of_block || wanted.view == Screen::BOARD || wanted.view == Screen::WORKING {
        app.work_out_blocks();
    }
    if let Some(focus) = focus {
        app.focus_on(focus);
    }
    app.advise_on_wind();
    if let Some(key) = wanted.measure {
        app.work_on(what_if::figure(key)?.id);
    }
    app.turn_to(wanted.view);
    if wanted.view == Screen::BEST {
        // Nobody can press a button on a picture.
        app.search_settings();
    }
    if wanted.view == Screen::BLOCK && wanted.open.iter().any(|what| what == "control") {
        app.try_control();
    }
    if let Some(aspect) = wanted.aspect {
        app.show_aspect(aspect);
    }
    app.color_by(wanted.layer);
    app.mark_caution(wanted.caution);
    if let Some(count) = wanted.beside {
        app.put_beside(usize::from(count));
    }
    if let Some(at) = wanted.pick {
        app.pick_near(at.into());
    }
    if let Some(look) = wanted.look {
        app.look_from(look);
    }
    if let Some(at_s) = wanted.at {
        app.put_cursor(at_s);
    }
    write_screen(&mut app, canvas, out)
}

/// Draws the screen that is shown, or its diagrams, into a file.
fn write_screen(app: &mut App, canvas: &PictureSize, out: &Output<'_>) -> Result<(), Trouble> {
    let bytes = if is_svg(out.path) {
        picture::svg_bytes(canvas, &app.charts().unwrap_or_default())
    } else {
        picture::png_bytes(&picture::draw(canvas, |ui| app.screen(ui))).map_err(|error| error.to_string())
    };
    let bytes = bytes.map_err(Trouble::Input)?;
    out.write(|place| place.write_all(&bytes)).map_err(|error| Trouble::Input(error.to_string()))
}

fn is_svg(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("svg"))
}

fn no_charts(view: Screen) -> Trouble {
    let with = SCREENS.iter().filter(|row| row.has_charts()).map(|row| row.id.name());
    let with: Vec<&str> = with.collect();
    Trouble::Input(format!(
        "a screen with diagrams was required to write SVG, but {} has none; write a .png, or draw {}",
        view.name(),
        files::listed(&with)
    ))
}

/// Writes to standard output. A reader that has heard enough and closes the pipe is no error.
fn say(text: &str) -> Result<(), Trouble> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Trouble::Input(format!("standard output cannot be written: {error}")))
        }
        _ => Ok(()),
    }
}

/// Writes to standard error; where that is closed there is nobody to tell.
fn warn(text: &str) {
    let _told = writeln!(std::io::stderr().lock(), "obliquity: {text}");
}
