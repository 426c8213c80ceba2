//! Questions in front of the board, and the system's file dialogs on a thread of their own.

use crate::chart_files::ChartsAs;
use crate::inputs::{Marked, Number};
use crate::new_site::{NewSite, SiteFrame};
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::text::{CCursor, CCursorRange};
use egui::{Button, Context, Frame, Id, Key, Label, Modal, RichText, Sense, TextEdit, Ui, vec2};
use obliquity_exchange::{BoundaryChoice, LogKind, OutputKind, RasterFrame};
use obliquity_planning::{GeoPoint, Underlay};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

/// What a path is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Read a scenario.
    Open,
    /// Write the scenario.
    SaveAs,
    /// Write the portfolio.
    SavePortfolio,
    /// Read a log of jobs.
    OpenLog,
    /// Write a log of jobs.
    SaveLog(LogKind),
    /// Write the portfolio's whole case as a workbook.
    Workbook,
    /// Read the scenario of a kind of job of the portfolio, or of one more.
    JobScenario {
        /// The place of the kind of job.
        job: Option<usize>,
    },
    /// Write the lesson.
    SaveLesson,
    /// Write what was guessed at the lesson.
    SaveAnswers,
    /// Write the lesson as pages to hand out.
    Handout,
    /// Read a boundary.
    ImportBoundary,
    /// Read terrain.
    ImportTerrain,
    /// Read a picture to draw the plan over.
    ImportUnderlay,
    /// Read footprints of what stands, and points.
    ImportFootprints,
    /// Read the rows of a pass's pattern.
    ImportRows {
        /// The pass.
        pass: obliquity_planning::Id,
    },
    /// Write the set-up card as text.
    CardText,
    /// Write the set-up card as a picture.
    CardPicture,
    /// Write the set-up card as a PDF.
    CardPdf,
    /// Write the diagrams of the screen, or their values.
    Charts(ChartsAs),
    /// Write route, stations and regions of the strategy in focus into a folder.
    Export,
}

/// What to do once nothing unsaved is in the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Then {
    /// Begin anew.
    New,
    /// Ask the system's dialog for a file.
    Open,
    /// Ask for a typed path.
    OpenTyped,
    /// Read a scenario from a path that is known.
    OpenPath(PathBuf),
    /// Read a portfolio from a path that is known.
    OpenPortfolio(PathBuf),
    /// Take the example portfolio.
    ExamplePortfolio,
    /// Begin a portfolio.
    NewPortfolio,
    /// Read a log from a path that is known, in place of the one of its kind.
    OpenLog(PathBuf, LogKind),
    /// Take the example log.
    ExampleLog(LogKind),
    /// Begin an empty log.
    BeginLog(LogKind),
    /// Read a lesson from a path that is known.
    OpenLesson(PathBuf),
    /// Make a lesson of the scenario that is open.
    MakeLesson,
    /// Teach the lesson that is open from its first page, with nothing guessed.
    TeachAgain,
    /// Go on with work that was not saved before a sudden end.
    Recover(PathBuf, UnsavedOf),
    /// Close the window.
    Quit,
}

/// What is not saved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnsavedOf {
    /// The scenario.
    Scenario,
    /// The portfolio.
    Portfolio,
    /// A log of jobs.
    Log(LogKind),
    /// The lesson, or what was guessed at it.
    Lesson,
}

/// What coordinates are asked of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Framed {
    /// Heights.
    Terrain,
    /// A picture with a world file.
    Underlay,
}

/// A question or a message.
#[derive(Debug, Clone)]
pub enum Dialog {
    /// Asks for a path.
    Path {
        /// What for.
        purpose: Purpose,
        /// What has been typed.
        text: String,
        /// Why it is asked, or what was wrong with the last answer.
        note: String,
    },
    /// Tells something.
    Message {
        /// What it is about.
        title: String,
        /// All of it.
        text: String,
    },
    /// Asks what to do with unsaved changes.
    Unsaved {
        /// Of what.
        of: UnsavedOf,
        /// What comes after.
        then: Then,
    },
    /// Asks whether a lesson shall end with figures still hidden.
    EndLesson {
        /// How many.
        hidden: usize,
    },
    /// Asks whether a file may be replaced.
    Replace {
        /// What for.
        purpose: Purpose,
        /// The file.
        path: PathBuf,
    },
    /// Asks what to do with a file that something else has written since it was read.
    Changed {
        /// What was to be written.
        purpose: Purpose,
        /// The file.
        path: PathBuf,
        /// What was found.
        told: String,
    },
    /// Asks whether another site may take the place of the present one, though something goes.
    Goes {
        /// The site, with what would go.
        new: Box<NewSite>,
        /// What to say once it is in place.
        notes: Vec<String>,
    },
    /// Asks which coordinates a file is in.
    Frame {
        /// What it is.
        what: Framed,
        /// The file.
        path: PathBuf,
        /// What has been chosen so far.
        frame: RasterFrame,
        /// The zone of the universal grid that the site lies in.
        zone: u8,
        /// What was wrong with the last answer.
        note: String,
    },
    /// Asks whether a site that is nowhere may have its origin from a picture.
    Origin {
        /// The picture.
        underlay: Box<Underlay>,
        /// The origin that it gives.
        origin: GeoPoint,
        /// What to say once it is in place.
        notes: Vec<String>,
    },
    /// Asks which polygon of a file.
    Boundary {
        /// The file's name.
        file: String,
        /// The polygons.
        choices: Vec<BoundaryChoice>,
    },
}

/// Why something that was asked for was not done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// What was not done.
    pub title: String,
    /// Why, and the mend.
    pub text: String,
}

impl Refusal {
    /// With an error's own text.
    pub fn new(title: &str, why: &impl ToString) -> Self {
        Refusal { title: title.to_owned(), text: why.to_string() }
    }
}

/// What was answered.
#[derive(Debug, Clone)]
pub enum DialogAnswer {
    /// Leave everything as it is.
    Cancel,
    /// A path was typed.
    Path(Purpose, PathBuf),
    /// The site may take the place of the present one.
    NewSite(Box<NewSite>, Vec<String>),
    /// Save under another name.
    SaveElsewhere(Purpose),
    /// The file may be replaced.
    Replace(Purpose, PathBuf),
    /// Save, then go on.
    SaveFirst(UnsavedOf, Then),
    /// Go on without saving.
    Discard(UnsavedOf, Then),
    /// The coordinates of a file were chosen.
    Frame(Framed, PathBuf, RasterFrame),
    /// The site may have its origin from a picture.
    Origin(Box<Underlay>, GeoPoint, Vec<String>),
    /// A polygon was chosen.
    Boundary(Box<BoundaryChoice>),
    /// The lesson ends.
    EndLesson,
}

impl Purpose {
    fn title(self) -> &'static str {
        match self {
            Purpose::Open => "Open a scenario, portfolio, lesson or log",
            Purpose::SaveAs => "Save the scenario",
            Purpose::SavePortfolio => "Save the portfolio",
            Purpose::OpenLog => "Open a log of jobs",
            Purpose::SaveLog(_) => "Save the log",
            Purpose::Workbook => "Save the case as a workbook",
            Purpose::JobScenario { job: None } => "Add a job: choose its scenario",
            Purpose::JobScenario { job: Some(_) } => "Choose the scenario of the job",
            Purpose::SaveLesson => "Save the lesson",
            Purpose::SaveAnswers => "Save the answers",
            Purpose::Handout => "Save the hand-out",
            Purpose::ImportBoundary => "Import a boundary",
            Purpose::ImportTerrain => "Import terrain",
            Purpose::ImportUnderlay => "Import a picture to draw over",
            Purpose::ImportFootprints => "Import footprints",
            Purpose::ImportRows { .. } => "Read a pass from a table",
            Purpose::CardText => "Save the set-up card as text",
            Purpose::CardPicture => "Save the set-up card as a picture",
            Purpose::CardPdf => "Save the set-up card as a PDF",
            Purpose::Charts(ChartsAs::Csv) => "Save the diagrams' values",
            Purpose::Charts(_) => "Save the diagrams",
            Purpose::Export => "Export into a folder",
        }
    }

    fn label(self) -> &'static str {
        match self {
            Purpose::Open => "Path of the scenario, portfolio or lesson (.ron) or log (.csv)",
            Purpose::SaveAs | Purpose::SavePortfolio | Purpose::SaveLesson | Purpose::SaveAnswers => {
                "Path to save to (.ron)"
            }
            Purpose::Workbook => "Path to save to (.xlsx)",
            Purpose::JobScenario { .. } => "Path of the scenario file (.ron)",
            Purpose::ImportBoundary => "Path of the GeoJSON, KML or KMZ file",
            Purpose::ImportTerrain => "Path of the Esri ASCII grid or GeoTIFF",
            Purpose::ImportUnderlay => "Path of the picture (.tif, .png, .jpg)",
            Purpose::ImportFootprints => "Path of the footprints (.geojson, .kml, .kmz, .shp, .zip)",
            Purpose::ImportRows { .. } | Purpose::OpenLog => "Path of the table (.csv)",
            Purpose::CardText => "Path to save to (.txt)",
            Purpose::CardPicture | Purpose::Charts(ChartsAs::Png) => "Path to save to (.png)",
            Purpose::CardPdf | Purpose::Handout => "Path to save to (.pdf)",
            Purpose::Charts(ChartsAs::Svg) => "Path to save to (.svg)",
            Purpose::Charts(ChartsAs::Csv) | Purpose::SaveLog(_) => "Path to save to (.csv)",
            Purpose::Export => "Path of the folder; it is made if it is not there",
        }
    }

    /// What is written for it; nothing for what is read.
    pub fn kind(self) -> Option<OutputKind> {
        match self {
            Purpose::SaveAs => Some(OutputKind::SCENARIO),
            Purpose::SavePortfolio => Some(OutputKind::PORTFOLIO),
            Purpose::SaveLog(_) => Some(OutputKind::LOG),
            Purpose::Workbook => Some(OutputKind::WORKBOOK),
            Purpose::SaveLesson => Some(OutputKind::LESSON),
            Purpose::SaveAnswers => Some(OutputKind::ANSWERS),
            Purpose::CardText => Some(OutputKind::CARD),
            Purpose::CardPicture => Some(OutputKind::PICTURE),
            Purpose::CardPdf | Purpose::Handout => Some(OutputKind::PDF),
            Purpose::Charts(how) => Some(how.kind()),
            Purpose::Open
            | Purpose::JobScenario { .. }
            | Purpose::OpenLog
            | Purpose::ImportBoundary
            | Purpose::ImportTerrain
            | Purpose::ImportUnderlay
            | Purpose::ImportFootprints
            | Purpose::ImportRows { .. }
            | Purpose::Export => None,
        }
    }

    /// The path with the extension of what is written, where it has none.
    pub fn with_extension(self, path: &Path) -> PathBuf {
        let extension = match self {
            Purpose::SaveAs | Purpose::SavePortfolio | Purpose::SaveLesson | Purpose::SaveAnswers => "ron",
            Purpose::SaveLog(_) => "csv",
            Purpose::Workbook => "xlsx",
            Purpose::CardText => "txt",
            Purpose::CardPicture => "png",
            Purpose::CardPdf | Purpose::Handout => "pdf",
            Purpose::Charts(how) => how.extension(),
            Purpose::Open
            | Purpose::JobScenario { .. }
            | Purpose::OpenLog
            | Purpose::ImportBoundary
            | Purpose::ImportTerrain
            | Purpose::ImportUnderlay
            | Purpose::ImportFootprints
            | Purpose::ImportRows { .. }
            | Purpose::Export => return path.to_owned(),
        };
        if path.extension().is_some() { path.to_owned() } else { path.with_extension(extension) }
    }

    fn action(self) -> &'static str {
        match self {
            Purpose::Open | Purpose::OpenLog => "Open",
            Purpose::JobScenario { job: None } => "Add",
            Purpose::JobScenario { job: Some(_) } => "Choose",
            Purpose::SaveAs
            | Purpose::SaveLog(_)
            | Purpose::SavePortfolio
            | Purpose::Workbook
            | Purpose::SaveLesson
            | Purpose::SaveAnswers
            | Purpose::Handout
            | Purpose::CardText
            | Purpose::CardPicture
            | Purpose::CardPdf
            | Purpose::Charts(_) => "Save",
            Purpose::Export => "Export",
            Purpose::ImportBoundary
            | Purpose::ImportTerrain
            | Purpose::ImportUnderlay
            | Purpose::ImportFootprints
            | Purpose::ImportRows { .. } => "Import",
        }
    }
}

impl Dialog {
    /// The same question again, as it was answered, with why that was refused; a message where no other answer could help.
    #[must_use]
    pub fn again(self, refusal: Refusal) -> Dialog {
        let Refusal { title, text } = refusal;
        let note = format!("{title}: {text}");
        match self {
            Dialog::Path { purpose, text, .. } => Dialog::Path { purpose, text, note },
            Dialog::Replace { purpose, path } => {
                Dialog::Path { purpose, text: path.display().to_string(), note }
            }
            Dialog::Frame { what, path, frame, zone, .. } => Dialog::Frame { what, path, frame, zone, note },
            Dialog::Changed { purpose, path, .. } => Dialog::Changed { purpose, path, told: note },
            Dialog::Message { .. }
            | Dialog::Unsaved { .. }
            | Dialog::EndLesson { .. }
            | Dialog::Goes { .. }
            | Dialog::Origin { .. }
            | Dialog::Boundary { .. } => Dialog::Message { title, text },
        }
    }

    /// Shows the dialog; an answer closes it.
    pub fn show(&mut self, ctx: &Context, units: Units) -> Option<DialogAnswer> {
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 480.0);
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        // Each kind has a place of its own: one that follows another is not centred by the size of the one before.
        let id = Id::unique("dialog").with(std::mem::discriminant(self));
        let shown = Modal::new(id).frame(frame).show(ctx, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = space::ROW;
            self.content(ui, units)
        });
        if shown.should_close() { Some(DialogAnswer::Cancel) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, units: Units) -> Option<DialogAnswer> {
        match self {
            Dialog::Path { purpose, text, note } => path(ui, *purpose, text, note),
            Dialog::Message { title, text } => message(ui, title, text),
            Dialog::Unsaved { of, then } => unsaved(ui, *of, then),
            Dialog::EndLesson { hidden } => end_lesson(ui, *hidden),
            Dialog::Replace { purpose, path } => replace(ui, *purpose, path),
            Dialog::Changed { purpose, path, told } => changed(ui, *purpose, path, told),
            Dialog::Goes { new, notes } => goes(ui, new, notes, units),
            Dialog::Frame { what, path, frame, zone, note } => {
                coordinates(ui, *what, path, frame, *zone, note)
            }
            Dialog::Origin { underlay, origin, notes } => self::origin(ui, underlay, *origin, notes),
            Dialog::Boundary { file, choices } => boundary(ui, file, choices, units),
        }
    }
}

fn heading(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).font(theme::title())).wrap());
}

fn primary(ui: &Ui, text: &str) -> Button<'static> {
    let colors = theme::of(ui);
    Button::new(RichText::new(text.to_owned()).color(colors.on_accent)).fill(colors.accent)
}

/// The button that is meant, as long as no number drawn since stands marked.
pub fn meant_unless(ui: &mut Ui, text: &str, marked: Marked) -> bool {
    if marked.since(ui) {
        ui.add_enabled(false, primary(ui, text)).on_disabled_hover_text(Marked::WHY);
        return false;
    }
    meant(ui, text)
}

/// The button that is meant, which Enter presses as long as nothing else of the dialog has the focus.
pub fn meant(ui: &mut Ui, text: &str) -> bool {
    let button = ui.add(primary(ui, text));
    let layer = button.layer_id;
    let focused = ui.ctx().memory(egui::Memory::focused);
    let elsewhere =
        focused.is_none_or(|id| ui.ctx().read_response(id).is_none_or(|response| response.layer_id != layer));
    if elsewhere {
        button.request_focus();
    }
    button.clicked()
}

/// Why something is asked, or what was wrong with the last answer: all of it, however long.
fn told(ui: &mut Ui, note: &str) {
    if note.is_empty() {
        return;
    }
    egui::ScrollArea::vertical().id_salt("note").max_height(200.0).show(ui, |ui| {
        ui.add(Label::new(note).wrap().selectable(true));
    });
}

fn path(ui: &mut Ui, purpose: Purpose, text: &mut String, note: &str) -> Option<DialogAnswer> {
    heading(ui, purpose.title());
    told(ui, note);
    let label = ui.label(purpose.label());
    let shown = TextEdit::singleline(text).desired_width(f32::INFINITY).show(ui);
    let field = shown.response.response.clone().labelled_by(label.id);
    if field.gained_focus() {
        // What is proposed gives way to what is typed.
        let mut state = shown.state;
        let all = CCursorRange::two(CCursor::new(0), CCursor::new(text.chars().count()));
        state.cursor.set_char_range(Some(all));
        state.store(ui.ctx(), field.id);
    }
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if !field.has_focus() && !entered {
        field.request_focus();
    }
    let answer = || DialogAnswer::Path(purpose, PathBuf::from(text.trim()));
    let ready = !text.trim().is_empty();
    let mut chosen = (entered && ready).then(answer);
    ui.horizontal(|ui| {
        if ui.add_enabled(ready, primary(ui, purpose.action())).clicked() {
            chosen = Some(answer());
        }
        if ui.button("Cancel").clicked() {
            chosen = Some(DialogAnswer::Cancel);
        }
    });
    chosen
}

fn message(ui: &mut Ui, title: &str, text: &str) -> Option<DialogAnswer> {
    heading(ui, title);
    egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
        ui.add(Label::new(text).wrap().selectable(true));
    });
    meant(ui, "Close").then_some(DialogAnswer::Cancel)
}

fn unsaved(ui: &mut Ui, of: UnsavedOf, then: &Then) -> Option<DialogAnswer> {
    let is_guesses = *then == Then::TeachAgain;
    let what = match of {
        _ if is_guesses => "What was guessed at the lesson",
        UnsavedOf::Scenario => "The scenario",
        UnsavedOf::Portfolio => "The portfolio",
        UnsavedOf::Log(LogKind::Processed) => "The log of processed jobs",
        UnsavedOf::Log(LogKind::Flown) => "The log of flown jobs",
        UnsavedOf::Lesson => "The lesson, or what was guessed at it,",
    };
    let state = if is_guesses { "is in no file" } else { "has changes that are not saved" };
    heading(ui, &format!("{what} {state}"));
    let discard = if is_guesses { "Discard the guesses" } else { "Discard the changes" };
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant(ui, "Save first") {
            answer = Some(DialogAnswer::SaveFirst(of, then.clone()));
        }
        if ui.button(discard).clicked() {
            answer = Some(DialogAnswer::Discard(of, then.clone()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

fn end_lesson(ui: &mut Ui, hidden: usize) -> Option<DialogAnswer> {
    let what = if hidden == 1 { "One figure is".to_owned() } else { format!("{hidden} figures are") };
    heading(ui, &format!("{what} still hidden"));
    let why = "The end of the lesson reveals everything and opens the other screens. What was guessed stays; the \
               rest can no longer be guessed unless the lesson begins again.";
    ui.add(Label::new(RichText::new(why).color(theme::of(ui).muted)).wrap());
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant(ui, "Go on with the lesson") {
            answer = Some(DialogAnswer::Cancel);
        }
        if ui.button("End it and reveal everything").clicked() {
            answer = Some(DialogAnswer::EndLesson);
        }
    });
    answer
}

fn goes(ui: &mut Ui, new: &NewSite, notes: &[String], units: Units) -> Option<DialogAnswer> {
    heading(ui, &format!("With the boundary of {} these would go", new.site.name));
    egui::ScrollArea::vertical().id_salt("goes").max_height(240.0).show(ui, |ui| {
        for gone in &new.goes {
            ui.add(Label::new(gone.text(units)).wrap());
        }
    });
    let why = match new.frame {
        SiteFrame::Kept => "What lies inside the new boundary or near it stays. Undo brings all of it back.",
        SiteFrame::Another => {
            "The new boundary is not near the present one, so nothing stays. Undo brings all of it back."
        }
    };
    ui.add(Label::new(RichText::new(why).color(theme::of(ui).muted)).wrap());
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant(ui, "Import, and leave these out") {
            answer = Some(DialogAnswer::NewSite(Box::new(new.clone()), notes.to_vec()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

fn replace(ui: &mut Ui, purpose: Purpose, path: &Path) -> Option<DialogAnswer> {
    heading(ui, &format!("{} is there already", crate::files::short_name(path)));
    let kept =
        if purpose == Purpose::SaveAs { " The version before stays beside it as .previous." } else { "" };
    let note = format!("{}: replace it?{kept}", path.display());
    ui.add(Label::new(RichText::new(note).color(theme::of(ui).muted)).wrap().selectable(true));
    let mut answer = None;
    ui.horizontal(|ui| {
        if ui.add(primary(ui, "Replace")).clicked() {
            answer = Some(DialogAnswer::Replace(purpose, path.to_owned()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

fn changed(ui: &mut Ui, purpose: Purpose, path: &Path, note: &str) -> Option<DialogAnswer> {
    heading(ui, &format!("{} was changed by something else", crate::files::short_name(path)));
    told(ui, note);
    let kept = "Replaced, what is there now stays beside it as .previous.";
    ui.add(Label::new(RichText::new(kept).color(theme::of(ui).muted)).wrap());
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant(ui, "Save as…") {
            answer = Some(DialogAnswer::SaveElsewhere(purpose));
        }
        if ui.button("Replace it").clicked() {
            answer = Some(DialogAnswer::Replace(purpose, path.to_owned()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

/// The coordinates that a terrain file may be in, with the zone to begin with where one is needed.
fn frames(zone: u8) -> [(&'static str, &'static str, RasterFrame); 4] {
    [
        (
            "The site's own metres",
            "East and north of the site's origin, as structures are",
            RasterFrame::Local,
        ),
        ("Degrees", "Longitude and latitude, WGS 84", RasterFrame::Geographic),
        ("UTM, north of the equator", "Metres of a zone of the universal grid", RasterFrame::UtmNorth(zone)),
        ("UTM, south of the equator", "Metres of a zone of the universal grid", RasterFrame::UtmSouth(zone)),
    ]
}

fn coordinates(
    ui: &mut Ui,
    what: Framed,
    path: &Path,
    frame: &mut RasterFrame,
    zone: u8,
    note: &str,
) -> Option<DialogAnswer> {
    let name = crate::files::short_name(path);
    let (one, all) = match what {
        Framed::Terrain => ("terrain", "heights"),
        Framed::Underlay => ("picture", "picture"),
    };
    heading(ui, &format!("Which coordinates is the {one} in?"));
    let why =
        format!("{name} does not say it. The wrong choice puts the {all} somewhere else, mostly far away.");
    ui.add(Label::new(RichText::new(why).color(theme::of(ui).muted)).wrap());
    told(ui, note);
    for (text, hint, begins) in frames(zone) {
        let chosen = std::mem::discriminant(frame) == std::mem::discriminant(&begins);
        ui.horizontal_wrapped(|ui| {
            if ui.radio(chosen, text).clicked() && !chosen {
                *frame = begins;
            }
            ui.add(Label::new(RichText::new(hint).font(theme::caption()).color(theme::of(ui).muted)).wrap());
        });
    }
    let marked = Marked::before(ui);
    if let RasterFrame::UtmNorth(zone) | RasterFrame::UtmSouth(zone) = frame {
        ui.horizontal(|ui| {
            ui.label("Zone");
            let number = Number {
                name: "Zone of the grid",
                hint: "",
                unit: Unit::Count,
                range: 1.0..=60.0,
                value: f64::from(*zone),
                decimals: 0,
            };
            let (area, _) = ui.allocate_exact_size(vec2(56.0, 22.0), Sense::hover());
            if let Some(typed) = number.put(ui, Units::Metric, area) {
                *zone = typed.round() as u8;
            }
            let hint = "Zone 1 begins at 180° west; each is 6° wide, 60 in all";
            ui.add(Label::new(RichText::new(hint).font(theme::caption()).color(theme::of(ui).muted)).wrap());
        });
    }
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant_unless(ui, "Import", marked) {
            answer = Some(DialogAnswer::Frame(what, path.to_owned(), *frame));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

fn origin(ui: &mut Ui, underlay: &Underlay, origin: GeoPoint, notes: &[String]) -> Option<DialogAnswer> {
    heading(ui, "Where is the site?");
    let why = format!(
        "{} lies on the earth, but the site is nowhere yet. With its origin at {:.6}° of latitude and {:.6}° of longitude the \
         middle of the picture lies under the middle of the boundary; both can be moved later.",
        underlay.file, origin.latitude_deg, origin.longitude_deg
    );
    ui.add(Label::new(why).wrap());
    let mut answer = None;
    ui.horizontal(|ui| {
        if meant(ui, "Set the origin") {
            answer = Some(DialogAnswer::Origin(Box::new(underlay.clone()), origin, notes.to_vec()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(DialogAnswer::Cancel);
        }
    });
    answer
}

fn boundary(ui: &mut Ui, file: &str, choices: &[BoundaryChoice], units: Units) -> Option<DialogAnswer> {
    const BUTTON: f32 = 26.0;
    heading(ui, &format!("{file} has {} polygons: which one is the site?", choices.len()));
    let mut answer = None;
    // A file may have thousands: only those in sight are drawn.
    egui::ScrollArea::vertical().max_height(320.0).show_rows(ui, BUTTON, choices.len(), |ui, rows| {
        for (number, choice) in choices.iter().enumerate().skip(rows.start).take(rows.len()) {
            let area = units.area(choice.area_m2);
            let text = format!("{}: {}, {area}, {} corners", number + 1, choice.name, choice.ring_m.len());
            if ui.add_sized([ui.available_width(), BUTTON], Button::new(text)).clicked() {
                answer = Some(DialogAnswer::Boundary(Box::new(choice.clone())));
            }
        }
    });
    if ui.button("Cancel").clicked() {
        answer = Some(DialogAnswer::Cancel);
    }
    answer
}

/// A system dialog that is open.
#[derive(Debug)]
pub struct Picker {
    purpose: Purpose,
    opened: Instant,
    answer: Receiver<Option<PathBuf>>,
}

/// What a system dialog came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PickedPath {
    /// It is still open.
    Open,
    /// A file was chosen.
    Path(Purpose, PathBuf),
    /// It was closed without one.
    Nothing,
    /// There is no system dialog here: ask for a typed path.
    NoDialog(Purpose),
}

/// Nobody closes a dialog faster: the system has none.
const TOO_FAST: Duration = Duration::from_millis(400);

impl Picker {
    /// Opens the system's dialog on a thread of its own.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn open(purpose: Purpose, file_name: String, ctx: Context) -> std::io::Result<Self> {
        let (sender, answer) = channel();
        std::thread::Builder::new().name("file dialog".to_owned()).spawn(move || {
            let dialog = rfd::FileDialog::new().set_title(purpose.title());
            let path = match purpose {
                Purpose::Open => {
                    dialog.add_filter("Scenario, portfolio, lesson or log", &["ron", "csv"]).pick_file()
                }
                Purpose::OpenLog => dialog.add_filter("Log of jobs", &["csv"]).pick_file(),
                Purpose::SaveLog(_) => {
                    dialog.add_filter("Log of jobs", &["csv"]).set_file_name(file_name).save_file()
                }
                Purpose::JobScenario { .. } => dialog.add_filter("Scenario", &["ron"]).pick_file(),
                Purpose::SavePortfolio => {
                    dialog.add_filter("Portfolio", &["ron"]).set_file_name(file_name).save_file()
                }
                Purpose::SaveAs => {
                    dialog.add_filter("Scenario", &["ron"]).set_file_name(file_name).save_file()
                }
                Purpose::SaveLesson => {
                    dialog.add_filter("Lesson", &["ron"]).set_file_name(file_name).save_file()
                }
                Purpose::SaveAnswers => {
                    dialog.add_filter("Answers", &["ron"]).set_file_name(file_name).save_file()
                }
                Purpose::Workbook => {
                    dialog.add_filter("Workbook", &["xlsx"]).set_file_name(file_name).save_file()
                }
                Purpose::CardText => dialog.add_filter("Text", &["txt"]).set_file_name(file_name).save_file(),
                Purpose::CardPicture => {
                    dialog.add_filter("Picture", &["png"]).set_file_name(file_name).save_file()
                }
                Purpose::CardPdf | Purpose::Handout => {
                    dialog.add_filter("PDF", &["pdf"]).set_file_name(file_name).save_file()
                }
                Purpose::Charts(how) => {
                    let kind = how.extension();
                    dialog.add_filter(kind.to_uppercase(), &[kind]).set_file_name(file_name).save_file()
                }
                Purpose::Export => dialog.pick_folder(),
                Purpose::ImportBoundary => {
                    dialog.add_filter("Boundary", &["geojson", "json", "kml", "kmz"]).pick_file()
                }
                Purpose::ImportFootprints => dialog
                    .add_filter("Footprints", &["geojson", "json", "kml", "kmz", "shp", "zip"])
                    .pick_file(),
                Purpose::ImportUnderlay => {
                    dialog.add_filter("Picture", &["tif", "tiff", "png", "jpg", "jpeg"]).pick_file()
                }
                Purpose::ImportTerrain => {
                    dialog.add_filter("Terrain", &["asc", "grd", "tif", "tiff"]).pick_file()
                }
                Purpose::ImportRows { .. } => dialog.add_filter("Table", &["csv", "txt"]).pick_file(),
            };
            // The window may be closed before its dialog is.
            let _heard = sender.send(path);
            ctx.request_repaint();
        })?;
        Ok(Picker { purpose, opened: Instant::now(), answer })
    }

    /// What has come of it so far.
    pub fn poll(&self) -> PickedPath {
        match self.answer.try_recv() {
            Ok(Some(path)) => PickedPath::Path(self.purpose, path),
            Ok(None) if self.opened.elapsed() < TOO_FAST => PickedPath::NoDialog(self.purpose),
            Ok(None) => PickedPath::Nothing,
            Err(TryRecvError::Empty) => PickedPath::Open,
            Err(TryRecvError::Disconnected) => PickedPath::NoDialog(self.purpose),
        }
    }
}
