//! Questions in front of the board, and the system's file dialogs on a thread of their own.

use crate::theme::{self, space};
use crate::units::Units;
use egui::{Button, Context, Frame, Id, Key, Label, Modal, RichText, TextEdit, Ui};
use obliquity_exchange::{BoundaryChoice, RasterFrame};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

/// What a path is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Read a scenario.
    Open,
    /// Write the scenario.
    SaveAs,
    /// Read a boundary.
    ImportBoundary,
    /// Read terrain.
    ImportTerrain,
    /// Write the set-up card as text.
    CardText,
    /// Write the set-up card as a picture.
    CardPicture,
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
    /// Close the window.
    Quit,
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
        /// What comes after.
        then: Then,
    },
    /// Asks which coordinates a terrain file is in.
    Frame {
        /// The file.
        path: PathBuf,
        /// What has been chosen so far.
        frame: RasterFrame,
    },
    /// Asks which polygon of a file.
    Boundary {
        /// The file's name.
        file: String,
        /// The polygons.
        choices: Vec<BoundaryChoice>,
    },
}

/// What was answered.
#[derive(Debug, Clone)]
pub enum Answer {
    /// Leave everything as it is.
    Cancel,
    /// A path was typed.
    Path(Purpose, PathBuf),
    /// Save, then go on.
    SaveFirst(Then),
    /// Go on without saving.
    Discard(Then),
    /// The coordinates of a terrain file were chosen.
    Frame(PathBuf, RasterFrame),
    /// A polygon was chosen.
    Boundary(Box<BoundaryChoice>),
}

impl Purpose {
    fn title(self) -> &'static str {
        match self {
            Purpose::Open => "Open a scenario",
            Purpose::SaveAs => "Save the scenario",
            Purpose::ImportBoundary => "Import a boundary",
            Purpose::ImportTerrain => "Import terrain",
            Purpose::CardText => "Save the set-up card as text",
            Purpose::CardPicture => "Save the set-up card as a picture",
        }
    }

    fn label(self) -> &'static str {
        match self {
            Purpose::Open => "Path of the scenario file (.ron)",
            Purpose::SaveAs => "Path to save to (.ron)",
            Purpose::ImportBoundary => "Path of the GeoJSON, KML or KMZ file",
            Purpose::ImportTerrain => "Path of the Esri ASCII grid or GeoTIFF",
            Purpose::CardText => "Path to save to (.txt)",
            Purpose::CardPicture => "Path to save to (.png)",
        }
    }

    fn action(self) -> &'static str {
        match self {
            Purpose::Open => "Open",
            Purpose::SaveAs | Purpose::CardText | Purpose::CardPicture => "Save",
            Purpose::ImportBoundary | Purpose::ImportTerrain => "Import",
        }
    }
}

impl Dialog {
    /// Shows the dialog; an answer closes it.
    pub fn show(&mut self, ctx: &Context, units: Units) -> Option<Answer> {
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 480.0);
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        let shown = Modal::new(Id::unique("dialog")).frame(frame).show(ctx, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = space::ROW;
            self.content(ui, units)
        });
        if shown.should_close() { Some(Answer::Cancel) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, units: Units) -> Option<Answer> {
        match self {
            Dialog::Path { purpose, text, note } => path(ui, *purpose, text, note),
            Dialog::Message { title, text } => message(ui, title, text),
            Dialog::Unsaved { then } => unsaved(ui, then),
            Dialog::Frame { path, frame } => coordinates(ui, path, frame),
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

fn path(ui: &mut Ui, purpose: Purpose, text: &mut String, note: &str) -> Option<Answer> {
    heading(ui, purpose.title());
    if !note.is_empty() {
        ui.add(Label::new(RichText::new(note).color(theme::of(ui).muted)).wrap().selectable(true));
    }
    let label = ui.label(purpose.label());
    let field = ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY)).labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if !field.has_focus() && !entered {
        field.request_focus();
    }
    let answer = || Answer::Path(purpose, PathBuf::from(text.trim()));
    let ready = !text.trim().is_empty();
    let mut chosen = (entered && ready).then(answer);
    ui.horizontal(|ui| {
        if ui.add_enabled(ready, primary(ui, purpose.action())).clicked() {
            chosen = Some(answer());
        }
        if ui.button("Cancel").clicked() {
            chosen = Some(Answer::Cancel);
        }
    });
    chosen
}

fn message(ui: &mut Ui, title: &str, text: &str) -> Option<Answer> {
    heading(ui, title);
    egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
        ui.add(Label::new(text).wrap().selectable(true));
    });
    ui.add(primary(ui, "Close")).clicked().then_some(Answer::Cancel)
}

fn unsaved(ui: &mut Ui, then: &Then) -> Option<Answer> {
    heading(ui, "The scenario has changes that are not saved");
    let mut answer = None;
    ui.horizontal(|ui| {
        if ui.add(primary(ui, "Save first")).clicked() {
            answer = Some(Answer::SaveFirst(then.clone()));
        }
        if ui.button("Discard the changes").clicked() {
            answer = Some(Answer::Discard(then.clone()));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(Answer::Cancel);
        }
    });
    answer
}

/// The coordinates that a terrain file may be in, with a zone to begin with where one is needed.
const FRAMES: [(&str, &str, RasterFrame); 4] = [
    ("The site's own metres", "East and north of the site's origin, as structures are", RasterFrame::Local),
    ("Degrees", "Longitude and latitude, WGS 84", RasterFrame::Geographic),
    ("UTM, north of the equator", "Metres of a zone of the universal grid", RasterFrame::UtmNorth(31)),
    ("UTM, south of the equator", "Metres of a zone of the universal grid", RasterFrame::UtmSouth(31)),
];

fn coordinates(ui: &mut Ui, path: &std::path::Path, frame: &mut RasterFrame) -> Option<Answer> {
    let name = crate::files::short_name(path);
    heading(ui, "Which coordinates is the terrain in?");
    let note =
        format!("{name} does not say it. The wrong choice puts the heights somewhere else, mostly far away.");
    ui.add(Label::new(RichText::new(note).color(theme::of(ui).muted)).wrap());
    for (text, hint, begins) in FRAMES {
        let chosen = std::mem::discriminant(frame) == std::mem::discriminant(&begins);
        if ui.radio(chosen, text).on_hover_text(hint).clicked() && !chosen {
            *frame = begins;
        }
    }
    if let RasterFrame::UtmNorth(zone) | RasterFrame::UtmSouth(zone) = frame {
        ui.horizontal(|ui| {
            let label = ui.label("Zone");
            let hint = "Zone 1 begins at 180° west; each is 6° wide, 60 in all";
            ui.add(egui::DragValue::new(zone).range(1..=60)).labelled_by(label.id).on_hover_text(hint);
        });
    }
    let mut answer = None;
    ui.horizontal(|ui| {
        if ui.add(primary(ui, "Import")).clicked() {
            answer = Some(Answer::Frame(path.to_owned(), *frame));
        }
        if ui.button("Cancel").clicked() {
            answer = Some(Answer::Cancel);
        }
    });
    answer
}

fn boundary(ui: &mut Ui, file: &str, choices: &[BoundaryChoice], units: Units) -> Option<Answer> {
    heading(ui, &format!("{file} has {} polygons: which one is the site?", choices.len()));
    let mut answer = None;
    egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
        for (number, choice) in choices.iter().enumerate() {
            let area = units.area(choice.area_m2);
            let text = format!("{}: {}, {area}, {} corners", number + 1, choice.name, choice.ring_m.len());
            let button = ui.add_sized([ui.available_width(), 26.0], Button::new(text));
            if button.on_hover_text(choice.notes.join("\n")).clicked() {
                answer = Some(Answer::Boundary(Box::new(choice.clone())));
            }
        }
    });
    if ui.button("Cancel").clicked() {
        answer = Some(Answer::Cancel);
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
pub enum Picked {
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
                Purpose::Open => dialog.add_filter("Scenario", &["ron"]).pick_file(),
                Purpose::SaveAs => {
                    dialog.add_filter("Scenario", &["ron"]).set_file_name(file_name).save_file()
                }
                Purpose::CardText => dialog.add_filter("Text", &["txt"]).set_file_name(file_name).save_file(),
                Purpose::CardPicture => {
                    dialog.add_filter("Picture", &["png"]).set_file_name(file_name).save_file()
                }
                Purpose::ImportBoundary => {
                    dialog.add_filter("Boundary", &["geojson", "json", "kml", "kmz"]).pick_file()
                }
                Purpose::ImportTerrain => {
                    dialog.add_filter("Terrain", &["asc", "grd", "tif", "tiff"]).pick_file()
                }
            };
            // The window may be closed before its dialog is.
            let _heard = sender.send(path);
            ctx.request_repaint();
        })?;
        Ok(Picker { purpose, opened: Instant::now(), answer })
    }

    /// What has come of it so far.
    pub fn poll(&self) -> Picked {
        match self.answer.try_recv() {
            Ok(Some(path)) => Picked::Path(self.purpose, path),
            Ok(None) if self.opened.elapsed() < TOO_FAST => Picked::NoDialog(self.purpose),
            Ok(None) => Picked::Nothing,
            Err(TryRecvError::Empty) => Picked::Open,
            Err(TryRecvError::Disconnected) => Picked::NoDialog(self.purpose),
        }
    }
}
