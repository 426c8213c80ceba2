//! The block as it is drawn: what is told to the left, the ties large, diagrams below them.

use super::BlockAsk;
use super::model::{BlockLine, BlockProgress, BlockSheet, ControlShown};
use crate::caution_mark::{self, MARK};
use crate::chart;
use crate::chart_files;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Enabled};
use crate::mark;
use crate::theme::{self, space};
use egui::{Grid, Label, RichText, ScrollArea, Sense, Ui, vec2};
use obliquity_exchange::chart::Chart;
use obliquity_planning::SiteOutline;

/// Height of a diagram below the ties.
const DIAGRAM: f32 = 170.0;
/// Height that its title and axes take.
const AROUND: f32 = 92.0;
/// Diagrams stand beside each other where there is this much room.
const BESIDE: f32 = 640.0;
/// No more of them do.
const SIDE_BY_SIDE: usize = 2;
/// The ties are no lower.
const LEAST: f32 = 220.0;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &BlockSheet, outline: Option<&SiteOutline>, asks: &mut Vec<BlockAsk>) {
    choices::beside(ui, "block", |ui, part| match part {
        ChoicesPart::Head => asks.extend(chart_files::menu(ui).map(BlockAsk::Save)),
        ChoicesPart::Choices => {
            ui.add_space(space::ROW);
            told(ui, sheet, asks);
        }
        ChoicesPart::Diagrams => {
            let height = ui.available_height();
            let scroll = ScrollArea::vertical().id_salt("block diagrams").auto_shrink(false);
            scroll.show(ui, |ui| diagrams(ui, sheet, outline, height));
        }
    });
}

fn told(ui: &mut Ui, sheet: &BlockSheet, asks: &mut Vec<BlockAsk>) {
    let note = "Whether the images hold together when they are adjusted, and how well they determine the camera and what is \
                measured. Expected, not certified: a licensed surveyor certifies.";
    form::card(ui, "Block", note, |ui| {
        ui.horizontal(|ui| {
            mark::put(ui, sheet.slot);
            ui.add(Label::new(RichText::new(&sheet.name).font(theme::body_strong())).truncate());
        });
        progress(ui, sheet, asks);
        for line in &sheet.told {
            sentence(ui, line);
        }
        if let Some(strategy) = sheet.rows_for {
            let hint = "Add the rows in front of the walls once more, tilted by 45°: they see both what looks at walls and \
                        what looks down";
            let name = "Add rows at 45° that tie the parts";
            if form::small(ui, "Add rows at 45°", name, hint, Enabled::Yes) {
                asks.push(BlockAsk::TieRows(strategy));
            }
        }
    });
    if !sheet.precision.is_empty() {
        ui.add_space(space::ROW);
        precision(ui, sheet);
    }
    if !sheet.told.is_empty() {
        ui.add_space(space::ROW);
        control(ui, &sheet.control, asks);
    }
    if !sheet.rests_on.is_empty() {
        ui.add_space(space::ROW);
        form::muted(ui, &sheet.rests_on);
    }
}

fn progress(ui: &mut Ui, sheet: &BlockSheet, asks: &mut Vec<BlockAsk>) {
    let earlier = if sheet.told.is_empty() { "" } else { " What stands here is of earlier settings." };
    match &sheet.progress {
        BlockProgress::Known => {}
        BlockProgress::Failed(why) => form::colored(ui, why, theme::of(ui).bad),
        BlockProgress::Runs { tenths } => {
            ui.horizontal_wrapped(|ui| {
                ui.label(format!("The block is adjusted, {} % …{earlier}", 10 * tenths));
                if form::small(ui, "Stop", "Stop adjusting the block", "Leave it as it is", Enabled::Yes) {
                    asks.push(BlockAsk::Stop);
                }
            });
        }
        BlockProgress::Stopped => {
            ui.horizontal_wrapped(|ui| {
                if !earlier.is_empty() {
                    ui.label(earlier.trim_start());
                }
                if form::small(ui, "Work it out", "Adjust the block", "It was stopped", Enabled::Yes) {
                    asks.push(BlockAsk::Resume);
                }
            });
        }
    }
}

/// How many control points it takes, and what they take on site.
fn control(ui: &mut Ui, control: &ControlShown, asks: &mut Vec<BlockAsk>) {
    let note = "Expected accuracy with some numbers of control points, laid out over the site automatically: corners first, then \
                sides and middle.";
    form::card(ui, "Control points", note, |ui| match control {
        ControlShown::Unasked => {
            let (text, name) = ("Try 0 to 16", "Try numbers of control points");
            if form::small(ui, text, name, "Adjust the block with each; it can be stopped", Enabled::Yes) {
                asks.push(BlockAsk::TryControl);
            }
        }
        ControlShown::Runs { tenths } => {
            ui.horizontal_wrapped(|ui| {
                ui.label(format!("Numbers of control points are tried, {} % …", 10 * tenths));
                if form::small(ui, "Stop", "Stop trying control points", "Leave it as it is", Enabled::Yes) {
                    asks.push(BlockAsk::StopControl);
                }
            });
        }
        ControlShown::Failed(why) => form::colored(ui, why, theme::of(ui).bad),
        ControlShown::Known { text, .. } => {
            ui.add(Label::new(text).wrap());
        }
    });
}

fn sentence(ui: &mut Ui, line: &BlockLine) {
    ui.add_space(space::TIGHT);
    ui.horizontal_top(|ui| {
        if let Some(severity) = line.severity {
            let (place, _) = ui.allocate_exact_size(vec2(MARK, MARK), Sense::hover());
            caution_mark::mark(ui, place.min, severity, theme::severity(theme::of(ui), severity));
        }
        ui.add(Label::new(&line.text).wrap());
    });
}

/// 95th percentiles, and medians in brackets.
fn precision(ui: &mut Ui, sheet: &BlockSheet) {
    let note = "Of points measured on what is covered: 95 % of the area is as precise as this, or more; in brackets half of it.";
    form::card(ui, "Precision", note, |ui| {
        Grid::new("precision").num_columns(4).spacing(vec2(space::GROUP, space::TIGHT)).show(ui, |ui| {
            let muted = theme::of(ui).muted;
            for head in ["", "horizontal", "vertical", "along normal"] {
                ui.label(RichText::new(head).font(theme::caption()).color(muted));
            }
            ui.end_row();
            for row in &sheet.precision {
                for text in [&row.name, &row.horizontal, &row.vertical, &row.normal] {
                    ui.label(RichText::new(text).font(theme::caption()));
                }
                ui.end_row();
            }
        });
    });
}

fn diagrams(ui: &mut Ui, sheet: &BlockSheet, outline: Option<&SiteOutline>, height: f32) {
    let rows = sheet.charts.len().div_ceil(SIDE_BY_SIDE) as f32;
    let below = rows * (DIAGRAM + AROUND + 2.0 * space::ROW);
    ui.label(RichText::new("What ties the images").font(theme::body_strong()));
    match &sheet.graph {
        Some(graph) => graph.ui(ui, outline, (height - below - 40.0).max(LEAST)),
        None => form::muted(ui, "Comes with the adjustment."),
    }
    ui.add_space(space::ROW);
    if ui.available_width() < BESIDE {
        for one in &sheet.charts {
            diagram(ui, one, ui.available_width());
            ui.add_space(space::ROW);
        }
        return;
    }
    for row in sheet.charts.chunks(SIDE_BY_SIDE) {
        let count = row.len() as f32;
        let each = (ui.available_width() - (count - 1.0) * space::PAGE) / count;
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = space::PAGE;
            for one in row {
                diagram(ui, one, each);
            }
        });
        ui.add_space(space::ROW);
    }
}

fn diagram(ui: &mut Ui, of: &Chart, width: f32) {
    ui.vertical(|ui| {
        ui.set_width(width);
        ui.add(Label::new(RichText::new(&of.title).font(theme::body_strong())).truncate());
        chart::large(ui, of, vec2(width, DIAGRAM));
        for line in &of.series {
            form::colored(ui, &line.name, chart::color_of(line.tone, theme::of(ui)));
        }
    });
}
