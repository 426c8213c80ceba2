//! The screen of logs as it is drawn: the table to the left; the fit, what taking it over does and the diagram to the right.

use super::document::LogDocument;
use super::figures::LogFigures;
use super::model::{LogAsk, LogFit, LogsSheet, TakeOver};
use super::table_view::{self, EditedCell};
use crate::chart;
use crate::chart_files;
use crate::choices;
use crate::first_use;
use crate::form;
use crate::theme::{self, space};
use egui::{Align, Button, Grid, Label, Layout, RichText, ScrollArea, Ui, vec2};
use obliquity_exchange::LogKind;
use obliquity_exchange::chart::Chart;

/// Share of the width that the table takes.
const TABLE: f32 = 0.57;
/// Least height of a job's row in the diagram.
const JOB: f32 = 19.0;
/// Lower, the plot would leave names out.
const LEAST: f32 = 150.0;
/// Height that title and axis of the diagram take.
const AROUND: f32 = 84.0;
/// Wider cards would only be harder to read.
const WIDEST: f32 = 560.0;

const KINDS: [(LogKind, &str, &str); 2] = [
    (
        LogKind::Flown,
        "Flown jobs",
        "Planned against actual time, images and batteries; corrections of an aircraft are fitted to them",
    ),
    (
        LogKind::Processed,
        "Processed jobs",
        "Hours that processing took; the processing rates are fitted to them",
    ),
];

/// Which log is shown.
fn kinds(ui: &mut Ui, shown: LogKind, asks: &mut Vec<LogAsk>) {
    for (kind, text, hint) in KINDS {
        if ui.add(Button::selectable(kind == shown, text)).on_hover_text(hint).clicked() && kind != shown {
            asks.push(LogAsk::Show(kind));
        }
    }
}

/// Draws what is shown before a log of a kind is open.
pub fn empty(ui: &mut Ui, kind: LogKind, asks: &mut Vec<LogAsk>) {
    ScrollArea::vertical().id_salt("no log").auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(640.0_f32.min(ui.available_width()));
        ui.horizontal_wrapped(|ui| kinds(ui, kind, asks));
        ui.add_space(space::ROW);
        let (question, what) = match kind {
            LogKind::Flown => (
                "How far were predictions off?",
                "A log of flown jobs holds a row a job: flight time, images and battery sets as they were planned, and as they \
                 came – the set-up card has boxes for them. From six jobs on it shows how far predictions were off, and fits \
                 corrections of speed, time for turns and endurance to them, each with its interval. Nothing is changed until \
                 you take them over into an aircraft.",
            ),
            LogKind::Processed => (
                "How long does processing really take?",
                "A logbook of processed jobs holds a row a job: its images, area and GSD, and the hours that processing took, \
                 stage by stage or all together. From six jobs on the processing rates are fitted to it, each with its interval; \
                 a job that is far from all others is named and moves nothing. Nothing is changed until you take them \
                 over, and until then hours say that they are not calibrated.",
            ),
        };
        ui.label(RichText::new(question).font(theme::headline()));
        ui.add_space(space::TIGHT);
        ui.add(Label::new(what).wrap());
        ui.add_space(space::ROW);
        ui.horizontal_wrapped(|ui| {
            let hint = "A table (.csv) under a line of names; dropping it on the window does the same";
            if ui.add(first_use::primary(ui, "Open a log…")).on_hover_text(hint).clicked() {
                asks.push(LogAsk::Open);
            }
            if ui.button("Begin a log").on_hover_text("An empty one, to type jobs into").clicked() {
                asks.push(LogAsk::Begin);
            }
            let hint = "14 invented jobs, one of them absurd";
            if ui.button("Open the example").on_hover_text(hint).clicked() {
                asks.push(LogAsk::Example);
            }
        });
        ui.add_space(space::ROW);
        form::muted(ui, &format!("Columns of the file: {}.", kind.names().join(", ")));
    });
}

/// Draws the screen into all of `ui`.
pub fn ui(
    ui: &mut Ui,
    (document, sheet): (&LogDocument, &LogsSheet),
    editing: &mut Option<EditedCell>,
    asks: &mut Vec<LogAsk>,
) {
    head(ui, document, sheet, asks);
    ui.add_space(space::TIGHT);
    let figures = match &sheet.fit {
        LogFit::Known(figures) => Some(&**figures),
        LogFit::Runs => None,
    };
    let size = ui.available_size();
    if choices::is_narrow(ui) {
        ui.allocate_ui(vec2(size.x, 0.4 * size.y), |ui| table_view::ui(ui, document, figures, editing, asks));
        ScrollArea::vertical().id_salt("log told").auto_shrink(false).show(ui, |ui| {
            let width = ui.available_width() - space::ROW;
            told(ui, width, sheet, figures, asks);
            if let Some(chart) = figures.and_then(|known| known.chart.as_ref()) {
                diagram(ui, chart, size.y);
            }
        });
        return;
    }
    ui.horizontal_top(|ui| {
        let wide = (TABLE * size.x).floor();
        ui.allocate_ui(vec2(wide, size.y), |ui| {
            ui.vertical(|ui| {
                ui.set_width(wide);
                let chart = figures.and_then(|known| known.chart.as_ref());
                let whole = table_view::height(document.sheet().rows.len());
                let most = if chart.is_some() { 0.5 * size.y } else { size.y };
                ui.allocate_ui(vec2(wide, whole.min(most)), |ui| {
                    ui.set_min_size(vec2(wide, whole.min(most)));
                    table_view::ui(ui, document, figures, editing, asks);
                });
                if let Some(chart) = chart {
                    ui.add_space(space::ROW);
                    let room = ui.available_height();
                    ScrollArea::vertical()
                        .id_salt("log diagram")
                        .auto_shrink(false)
                        .show(ui, |ui| diagram(ui, chart, room));
                }
            });
        });
        ui.add_space(space::GROUP);
        ui.vertical(|ui| {
            ScrollArea::vertical().id_salt("log told").auto_shrink(false).show(ui, |ui| {
                let width = (ui.available_width() - space::ROW).min(WIDEST);
                told(ui, width, sheet, figures, asks);
            });
        });
    });
}

/// How far predictions were off, in the room there is or as high as its names need.
fn diagram(ui: &mut Ui, chart: &Chart, room: f32) {
    ui.label(RichText::new(&chart.title).font(theme::title()));
    let least = (JOB * chart.up.names.len() as f32).max(LEAST);
    let height = least.max((room - AROUND).min(2.0 * least));
    let large = chart::large(ui, chart, vec2(ui.available_width() - space::ROW, height));
    large.show_focus(ui);
}

fn head(ui: &mut Ui, document: &LogDocument, sheet: &LogsSheet, asks: &mut Vec<LogAsk>) {
    let kind = document.kind();
    ui.horizontal_wrapped(|ui| {
        kinds(ui, kind, asks);
        ui.separator();
        let changed = if sheet.is_changed { " •" } else { "" };
        let title = RichText::new(format!("{}{changed}", sheet.title)).font(theme::title());
        ui.label(title).on_hover_text(if sheet.is_changed { "Not saved; Ctrl+S saves it" } else { "As its file is" });
        let count = document.sheet().rows.len();
        form::muted(ui, &format!("{} {}", obliquity_exchange::count(count as f64), if count == 1 { "job" } else { "jobs" }));
        ui.separator();
        if ui.button("Add a job").on_hover_text("An empty row below the others").clicked() {
            asks.push(LogAsk::Edit(super::document::LogEdit::Add(Vec::new())));
        }
        if let Some(planned) = &sheet.planned {
            let hint = format!(
                "A row with what is planned for {planned}, without corrections; fill in what came once it is flown"
            );
            if ui.button("Add the strategy in focus").on_hover_text(hint).clicked() {
                asks.push(LogAsk::AddPlanned);
            }
        }
        if ui.button("Open…").on_hover_text("Another log (.csv), of either kind").clicked() {
            asks.push(LogAsk::Open);
        }
        asks.extend(chart_files::menu(ui).map(LogAsk::SaveCharts));
    });
}

/// The fit, taking it over, and troubles.
fn told(ui: &mut Ui, width: f32, sheet: &LogsSheet, figures: Option<&LogFigures>, asks: &mut Vec<LogAsk>) {
    let Some(figures) = figures else {
        form::muted(ui, "Being worked out …");
        return;
    };
    if figures.aircraft.len() > 1 {
        ui.horizontal_wrapped(|ui| {
            ui.label("Flights of");
            for name in &figures.aircraft {
                let is_own = sheet.counted.as_ref() == Some(name);
                if ui.add(Button::selectable(is_own, name)).clicked() {
                    asks.push(LogAsk::Count(name.clone()));
                }
            }
        });
        ui.add_space(space::TIGHT);
    }
    fit(ui, width, figures);
    if let Some(take) = &sheet.take {
        ui.add_space(space::ROW);
        take_over(ui, width, take, asks);
    }
    if !figures.troubles.is_empty() {
        ui.add_space(space::ROW);
        form::card_of(ui, width, ("To look at", ""), |ui| {
            for line in &figures.troubles {
                ui.add(Label::new(line).wrap());
            }
        });
    }
}

fn fit(ui: &mut Ui, width: f32, figures: &LogFigures) {
    form::card_of(ui, width, ("Fitted", ""), |ui| {
        if let Err(why) = &figures.fitted {
            ui.add(Label::new(format!("Nothing is fitted yet: {why}.")).wrap());
            return;
        }
        ui.add(Label::new(&figures.sentence).wrap());
        let muted = theme::of(ui).muted;
        Grid::new("fit").num_columns(4).spacing(vec2(space::GROUP, space::HAIR)).show(ui, |ui| {
            let head = |text: &str| RichText::new(text).font(theme::caption()).color(muted);
            ui.label("");
            right(ui, head("value"));
            ui.label(head("95 % interval"));
            ui.label(head("jobs"));
            ui.end_row();
            for line in &figures.lines {
                ui.label(&line.name);
                right(ui, RichText::new(&line.value).font(theme::body_strong()));
                ui.label(&line.sure);
                ui.label(line.jobs.to_string());
                ui.end_row();
            }
        });
        for note in &figures.notes {
            form::muted(ui, note);
        }
    });
}

fn right(ui: &mut Ui, text: RichText) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
}

/// What taking over changes, as it is and as it would be.
fn take_over(ui: &mut Ui, width: f32, take: &TakeOver, asks: &mut Vec<LogAsk>) {
    form::card_of(ui, width, ("Take over", ""), |ui| {
        if !take.aircraft.is_empty() {
            ui.horizontal_wrapped(|ui| {
                ui.label("Into");
                for (id, name) in &take.aircraft {
                    if ui.add(Button::selectable(take.chosen == Some(*id), name)).clicked() {
                        asks.push(LogAsk::Into(*id));
                    }
                }
            });
        }
        let muted = theme::of(ui).muted;
        Grid::new("taken").num_columns(3).spacing(vec2(space::GROUP, space::HAIR)).show(ui, |ui| {
            let head = |text: &str| RichText::new(text).font(theme::caption()).color(muted);
            ui.label("");
            right(ui, head("in the scenario now"));
            ui.label(head("taken over"));
            ui.end_row();
            for line in &take.lines {
                ui.label(&line.name);
                right(ui, RichText::new(&line.before));
                let font = if line.before == line.after { theme::body() } else { theme::body_strong() };
                ui.label(RichText::new(&line.after).font(font));
                ui.end_row();
            }
        });
        if let Some(says) = &take.says {
            form::muted(ui, says);
        }
        if take.is_taken {
            form::muted(ui, "The scenario has them.");
        } else {
            let text = format!("Take over into {}", take.into);
            let hint = "One edit of the scenario; undo takes it back";
            if ui.button(text).on_hover_text(hint).clicked() {
                asks.push(LogAsk::TakeOver);
            }
        }
    });
}
