//! Lessons on the command line.

use super::{PaperName, Trouble, UnitsName, replacing, say, warn, what_if, write_screen};
use crate::app::{App, LessonStage};
use crate::document::Document;
use crate::engine::Engine;
use crate::lesson::LessonDocument;
use crate::picture::PictureSize;
use crate::screen::Screen;
use crate::window::OpenedBeside;
use crate::{card, files, window};
use clap::Args;
use obliquity_exchange::chart::class_chart;
use obliquity_exchange::sheet::HandoutPages;
use obliquity_exchange::{
    Output, OutputKind, PaperSize, Units, class_csv, class_json, class_summary, class_text, handout,
    lesson_json, lesson_text, read_answers_folder, read_lesson, read_stamped_lesson, revealed_text,
};
use obliquity_planning::NoWatch;
use obliquity_planning::lesson::{Lesson, StepFigures};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// What is asked, and how it is told.
#[derive(Debug, Args)]
pub(super) struct LessonTask {
    /// Lesson file: a scenario, and what is asked about it step by step.
    file: PathBuf,
    /// Print what every step comes to as well, with its working: for the one who teaches.
    #[arg(long)]
    reveal: bool,
    /// As JSON instead of text; figures stand in it with --reveal alone.
    #[arg(long)]
    json: bool,
    /// Write it as pages to hand out instead: a question each, with a picture of the site and room for the guess; with --reveal each
    /// followed by its answer and working.
    #[arg(long, value_name = "OUT.pdf", conflicts_with = "json")]
    handout: Option<PathBuf>,
    /// What it is printed on; Letter with US units and A4 with metric ones if it is not said.
    #[arg(long, value_enum, requires = "handout")]
    paper: Option<PaperName>,
    /// Replace the file that is there.
    #[arg(long, requires = "handout")]
    replace: bool,
    /// Which system of units the text is in.
    #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
    units: UnitsName,
}

impl LessonTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs = [self.file.as_path()];
        let replace = replacing(self.replace);
        let out = self.handout.as_deref().map(|path| Output {
            path,
            kind: OutputKind::PDF,
            replace,
            inputs: &inputs,
        });
        if let Some(out) = &out {
            out.check().map_err(|error| Trouble::Input(error.to_string()))?;
        }
        let lesson = read_lesson(&self.file).map_err(|error| Trouble::Input(error.to_string()))?;
        let figures = if self.reveal { evaluated(&self.file, &lesson)? } else { Vec::new() };
        let units: Units = self.units.into();
        if let Some(out) = &out {
            let paper = self.paper.map_or(PaperSize::usual(units), PaperSize::from);
            let pages = if self.reveal { HandoutPages::WithAnswers } else { HandoutPages::Questions };
            let sheet = handout(&lesson, &figures, units).sheet(paper, pages);
            let bytes = card::pdf(&sheet, 0).map_err(Trouble::Input)?;
            return out
                .write(|file| file.write_all(&bytes))
                .map_err(|error| Trouble::Input(error.to_string()));
        }
        if self.json {
            let known: Vec<Option<f64>> = figures.iter().map(|own| own.figure).collect();
            return say(&format!("{:#}\n", lesson_json(&lesson, &known)));
        }
        let mut text = lesson_text(&lesson, units);
        for (k, (step, figures)) in lesson.steps.iter().zip(&figures).enumerate() {
            let _ = write!(text, "\nAnswer {}: {}", k + 1, revealed_text(&lesson, step, figures, units));
        }
        say(&text)
    }
}

/// What is asked of a class's answers, and how it is told.
#[derive(Debug, Args)]
pub(super) struct AnswersTask {
    /// Folder with a file of answers from each learner.
    folder: PathBuf,
    /// The lesson that they answer.
    #[arg(long)]
    lesson: PathBuf,
    /// As CSV instead of text: one row a learner and step.
    #[arg(long)]
    csv: bool,
    /// As JSON instead of text.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Draw what the class guessed into this SVG file instead, a diagram a step.
    #[arg(long, value_name = "OUT.svg", conflicts_with_all = ["csv", "json"])]
    out: Option<PathBuf>,
    /// Replace the file that is there.
    #[arg(long, requires = "out")]
    replace: bool,
    /// Which system of units the text is in.
    #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
    units: UnitsName,
}

impl AnswersTask {
    pub(super) fn run(&self) -> Result<(), Trouble> {
        let inputs = [self.lesson.as_path()];
        let out =
            self.out.as_deref().map(|path| what_if::diagram(path, self.replace, &inputs)).transpose()?;
        let lesson = read_lesson(&self.lesson).map_err(|error| Trouble::Input(error.to_string()))?;
        let read =
            read_answers_folder(&self.folder, &lesson).map_err(|error| Trouble::Input(error.to_string()))?;
        for own in &read.not_taken {
            warn(&format!("{}: {}", own.file, own.why));
        }
        let figures: Vec<Option<f64>> =
            evaluated(&self.lesson, &lesson)?.iter().map(|own| own.figure).collect();
        let units = self.units.into();
        let class = class_summary(&lesson, &figures, &read.answers, &read.not_taken, units);
        if let Some(out) = out {
            let charts: Vec<_> = (0..lesson.steps.len())
                .filter_map(|step| class_chart(&lesson, step, &class, units))
                .collect();
            return out.draw(&charts);
        }
        if self.csv {
            say(&class_csv(&lesson, &class))
        } else if self.json {
            say(&format!("{:#}\n", class_json(&class)))
        } else {
            say(&class_text(&class))
        }
    }
}

/// What every step comes to.
pub(super) fn evaluated(file: &Path, lesson: &Lesson) -> Result<Vec<StepFigures>, Trouble> {
    let engine = Engine::aside();
    let one = |step| engine.lesson_step(lesson, step, None, &NoWatch);
    let all: Result<Vec<StepFigures>, _> = (0..lesson.steps.len()).map(one).collect();
    all.map_err(|failure| Trouble::Evaluation(format!("{}: {failure}", file.display())))
}

fn opened(file: &Path) -> Result<LessonDocument, Trouble> {
    let (lesson, stamp) = read_stamped_lesson(file).map_err(|error| Trouble::Input(error.to_string()))?;
    Ok(LessonDocument::read(lesson, file.to_owned(), Some(stamp)))
}

/// Opens the window on a lesson, or prints its questions and says why where there can be none.
pub(super) fn open(file: &Path) -> Result<(), Trouble> {
    let document = opened(file)?;
    let lesson = document.lesson().clone();
    let demo = files::demo().map_err(|error| Trouble::Input(error.to_string()))?;
    let beside = OpenedBeside::Lesson(Box::new(document));
    let Err(why) = window::open(Document::new(demo, None), Some(beside)) else { return Ok(()) };
    warn(&format!("no window: {why}; these are the questions that it would ask, and nothing is written"));
    say(&lesson_text(&lesson, Units::Metric))
}

/// Draws a page of a lesson: the number of the page, and how far it is; or its steps as they are made, the numbered one chosen.
pub(super) fn draw(
    file: &Path,
    view: Screen,
    shown: &[String],
    canvas: &PictureSize,
    out: &Output<'_>,
) -> Result<(), Trouble> {
    let demo = files::demo().map_err(|error| Trouble::Input(error.to_string()))?;
    let mut app = App::still(Document::new(demo, None)).with_lesson(opened(file)?);
    let page: usize = shown.iter().find_map(|own| own.parse().ok()).unwrap_or(0);
    if view == Screen::LESSON_STEPS {
        app.work_on_step(page.saturating_sub(1));
        return write_screen(&mut app, canvas, out);
    }
    let has = |what: &str| shown.iter().any(|own| own == what);
    let stage = match (has("revealed"), has("locked")) {
        (true, _) => LessonStage::Revealed,
        (_, true) => LessonStage::Locked,
        _ => LessonStage::Asked,
    };
    app.work_out_lesson();
    // Made-up guesses.
    let typed: &[&str] = if has("guess") { &["30", "AB 62", "CD 8", "EF 1.6"] } else { &[] };
    app.show_lesson_at(page, LessonStage::Asked, &[]);
    for guess in typed {
        app.type_lesson_guess(guess);
    }
    app.show_lesson_at(page, stage, &[]);
    if has("zoom") {
        app.zoom_lesson();
    }
    write_screen(&mut app, canvas, out)
}
