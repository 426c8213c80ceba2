//! The jobs of a log as a table whose cells are edited where they stand.

use super::document::{LogDocument, LogEdit};
use super::figures::{LogFigures, RowStanding};
use super::model::LogAsk;
use crate::form;
use crate::theme::{self, Colors};
use egui::text::LayoutJob;
use egui::{
    Align, Align2, Key, Rect, ScrollArea, Sense, Stroke, StrokeKind, TextEdit, Ui, UiBuilder, Vec2, pos2,
    vec2,
};
use obliquity_exchange::LogKind;

/// A cell that is being edited, and what has been typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditedCell {
    /// The job's place.
    pub row: usize,
    /// The column's place.
    pub column: usize,
    /// What has been typed.
    pub text: String,
    /// Whether it has the keyboard.
    pub has_focus: bool,
}

impl EditedCell {
    /// A cell as it stands.
    pub fn new(row: usize, column: usize, text: &str) -> Self {
        EditedCell { row, column, text: text.to_owned(), has_focus: false }
    }

    /// The edit that it comes to; nothing where nothing was changed.
    fn taken(self, document: &LogDocument) -> Option<LogAsk> {
        let EditedCell { row, column, text, .. } = self;
        let was = document.sheet().rows.get(row).and_then(|cells| cells.get(column))?;
        (*was != text).then_some(LogAsk::Edit(LogEdit::Cell { row, column, text }))
    }
}

/// Height of a row.
const ROW: f32 = 20.0;
/// Height of the heads, which have two lines.
const HEAD: f32 = 32.0;
/// Width of what a row is to the fit.
const STATE: f32 = 22.0;
/// Width of what takes a row out.
const REMOVE: f32 = 22.0;
/// Room for a bar to scroll with.
const SCROLLBAR: f32 = 8.0;
/// Air within a cell.
const PAD: f32 = 4.0;

fn width(name: &str) -> f32 {
    match name {
        "job" => 118.0,
        "aircraft" => 72.0,
        "adjustment_h" | "orthomosaic_h" => 76.0,
        _ if name.ends_with("_h") => 62.0,
        _ => 57.0,
    }
}

/// Title and hint of a column.
fn head_of(kind: LogKind, name: &str) -> (&'static str, &'static str) {
    let column = kind.numbers().iter().find(|column| column.name == name);
    column.map_or_else(
        || match name {
            "aircraft" => ("Aircraft", "Corrections are fitted for each aircraft apart"),
            _ => ("Job", "What it is called"),
        },
        |column| (column.title, column.hint),
    )
}

/// How high a table of so many jobs is.
pub(super) fn height(jobs: usize) -> f32 {
    HEAD + ROW * jobs as f32 + SCROLLBAR
}

/// Draws the table into the width and height that are left.
pub(super) fn ui(
    ui: &mut Ui,
    document: &LogDocument,
    figures: Option<&LogFigures>,
    editing: &mut Option<EditedCell>,
    asks: &mut Vec<LogAsk>,
) {
    let sheet = document.sheet();
    let widths: Vec<f32> = sheet.names.iter().map(|name| width(name)).collect();
    let whole = STATE + widths.iter().sum::<f32>() + REMOVE;
    ui.spacing_mut().item_spacing = Vec2::ZERO;
    ScrollArea::horizontal().id_salt("log across").auto_shrink(false).show(ui, |ui| {
        ui.set_min_width(whole);
        heads(ui, document, &widths, whole);
        ScrollArea::vertical().id_salt("log rows").auto_shrink(false).show_rows(
            ui,
            ROW,
            sheet.rows.len(),
            |ui, rows| {
                for row in rows {
                    let (area, _) = ui.allocate_exact_size(vec2(whole, ROW), Sense::hover());
                    let standing = figures.and_then(|known| known.rows.get(row));
                    row_ui(ui, (document, row), area, (&widths, standing), editing, asks);
                }
            },
        );
    });
}

fn heads(ui: &mut Ui, document: &LogDocument, widths: &[f32], whole: f32) {
    let colors = theme::of(ui);
    let (area, _) = ui.allocate_exact_size(vec2(whole, HEAD), Sense::hover());
    let mut left = area.left() + STATE;
    for (name, width) in document.sheet().names.iter().zip(widths) {
        let place = Rect::from_min_size(pos2(left, area.top()), vec2(*width, HEAD));
        let (title, hint) = head_of(document.kind(), name);
        let is_text = document.kind().texts().contains(name);
        let mut job = LayoutJob::simple(title.to_owned(), theme::caption(), colors.muted, width - 2.0 * PAD);
        job.halign = if is_text { Align::LEFT } else { Align::RIGHT };
        let galley = ui.painter().layout_job(job);
        let x = if is_text { place.left() + PAD } else { place.right() - PAD };
        ui.painter().galley(pos2(x, place.bottom() - galley.size().y - 2.0), galley, colors.muted);
        let response = ui.interact(place, ui.scope_id().with(("log head", *name)), Sense::hover());
        response.on_hover_text(format!("{hint}. In the file: {name}"));
        left += width;
    }
    ui.painter().hline(area.x_range(), area.bottom(), Stroke::new(1.0, colors.rule));
}

fn row_ui(
    ui: &mut Ui,
    (document, row): (&LogDocument, usize),
    area: Rect,
    (widths, standing): (&[f32], Option<&RowStanding>),
    editing: &mut Option<EditedCell>,
    asks: &mut Vec<LogAsk>,
) {
    let (sheet, colors) = (document.sheet(), theme::of(ui));
    state(ui, area, (document, row), standing, colors);
    let mut left = area.left() + STATE;
    for (column, (name, width)) in sheet.names.iter().zip(widths).enumerate() {
        let place = Rect::from_min_size(pos2(left, area.top()), vec2(*width, ROW));
        left += width;
        let fault = match standing {
            Some(RowStanding::Wrong(faults)) => faults.iter().find(|fault| fault.column == Some(column)),
            _ => None,
        };
        if editing.as_ref().is_some_and(|own| (own.row, own.column) == (row, column)) {
            edited(ui, place, document, editing, asks);
            continue;
        }
        let text = &sheet.rows[row][column];
        let id = ui.scope_id().with(("log cell", row, column));
        let response = ui.interact(place, id, Sense::click());
        let (title, _) = head_of(document.kind(), name);
        let shown = if text.is_empty() { "empty" } else { text.as_str() };
        form::spoken(ui, &response, &format!("{title} of {}: {shown}", document.job_name(row)));
        if response.hovered() || response.has_focus() {
            ui.painter().rect_filled(place.shrink(1.0), 3.0, colors.trough);
        }
        if fault.is_some() {
            let edge = Stroke::new(1.0, colors.bad);
            ui.painter().rect_stroke(place.shrink(1.0), 3.0, edge, StrokeKind::Inside);
        }
        let counts = !matches!(standing, Some(RowStanding::LeftOut | RowStanding::OfAnother));
        let ink = if fault.is_some() {
            colors.bad
        } else if counts {
            colors.ink
        } else {
            colors.muted
        };
        let is_text = document.kind().texts().contains(name);
        let (anchor, x) = if is_text {
            (Align2::LEFT_CENTER, place.left() + PAD)
        } else {
            (Align2::RIGHT_CENTER, place.right() - PAD)
        };
        let clipped = ui.painter().with_clip_rect(place.intersect(ui.clip_rect()));
        clipped.text(pos2(x, place.center().y), anchor, text, theme::body(), ink);
        let pressed = response.has_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let response = match fault {
            Some(fault) => response.on_hover_text(&fault.message),
            None => response,
        };
        if response.clicked() || pressed {
            // what was typed elsewhere, out of sight by now, is not lost
            asks.extend(editing.take().and_then(|own| own.taken(document)));
            *editing = Some(EditedCell::new(row, column, text));
        }
    }
    remove(ui, area, (document, row), asks);
    ui.painter().hline(area.x_range(), area.bottom(), Stroke::new(0.5, colors.rule));
}

/// What a row is to the fit.
fn state(
    ui: &Ui,
    area: Rect,
    (document, row): (&LogDocument, usize),
    standing: Option<&RowStanding>,
    colors: &Colors,
) {
    let place = Rect::from_min_size(area.min, vec2(STATE, ROW));
    let (sign, ink, told) = match standing {
        None => return,
        Some(RowStanding::Counted) => ("✔", colors.muted, "counted".to_owned()),
        Some(RowStanding::LeftOut) => ("▲", colors.warn, "far from the others, not counted".to_owned()),
        Some(RowStanding::OfAnother) => ("–", colors.muted, "of another aircraft, not counted".to_owned()),
        Some(RowStanding::Wrong(faults)) => {
            let all: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
            ("✖", colors.bad, all.join("\n"))
        }
    };
    ui.painter().text(place.center(), Align2::CENTER_CENTER, sign, theme::body(), ink);
    let response = ui.interact(place, ui.scope_id().with(("log state", row)), Sense::hover());
    let said = format!("{}: {told}", document.job_name(row));
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    response.on_hover_text(told);
}

fn remove(ui: &mut Ui, area: Rect, (document, row): (&LogDocument, usize), asks: &mut Vec<LogAsk>) {
    let colors = theme::of(ui);
    let place = Rect::from_min_max(pos2(area.right() - REMOVE, area.top()), area.max);
    let response = ui.interact(place, ui.scope_id().with(("log remove", row)), Sense::click());
    form::spoken(ui, &response, &format!("Remove {}", document.job_name(row)));
    let ink = if response.hovered() || response.has_focus() { colors.bad } else { colors.muted };
    ui.painter().text(place.center(), Align2::CENTER_CENTER, "×", theme::body(), ink);
    if response.on_hover_text("Take this job out of the log; undo brings it back").clicked() {
        asks.push(LogAsk::Edit(LogEdit::Remove(row)));
    }
}

/// The cell that is being edited: leaving it takes what was typed, Escape does not; Enter goes down, Tab to the right.
fn edited(
    ui: &mut Ui,
    place: Rect,
    document: &LogDocument,
    editing: &mut Option<EditedCell>,
    asks: &mut Vec<LogAsk>,
) {
    let Some(own) = editing else { return };
    let (row, column) = (own.row, own.column);
    let (title, _) = head_of(document.kind(), document.sheet().names[column]);
    let mut inner =
        ui.new_child(UiBuilder::new().max_rect(place.shrink2(vec2(0.0, 0.5))).id_salt("log edit"));
    let edit = TextEdit::singleline(&mut own.text)
        .id(inner.scope_id().with("cell"))
        .desired_width(place.width())
        .font(theme::body())
        .margin(vec2(PAD - 1.0, 1.0));
    let response = inner.add_sized(place.size() - vec2(0.0, 1.0), edit);
    form::spoken(&inner, &response, &format!("{title} of {}, as text", document.job_name(row)));
    if !own.has_focus {
        response.request_focus();
        own.has_focus = true;
        return;
    }
    if !response.lost_focus() {
        return;
    }
    let pressed = |key| inner.input(|input| input.key_pressed(key));
    let text = own.text.clone();
    let (rows, columns) = (document.sheet().rows.len(), document.sheet().names.len());
    let next = match () {
        () if pressed(Key::Escape) => None,
        () if pressed(Key::Enter) && row + 1 < rows => Some((row + 1, column)),
        () if pressed(Key::Tab) && column + 1 < columns => Some((row, column + 1)),
        () => None,
    };
    *editing = next.map(|(row, column)| EditedCell::new(row, column, &document.sheet().rows[row][column]));
    if !pressed(Key::Escape) && text != document.sheet().rows[row][column] {
        asks.push(LogAsk::Edit(LogEdit::Cell { row, column, text }));
    }
}
