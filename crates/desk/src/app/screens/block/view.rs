//! The block as it is drawn: what is told to the left, the ties large, diagrams below them.

use super::BlockAsk;
use super::model::{BlockLine, BlockProgress, BlockSheet, ControlShown, ControlState};
use crate::caution_mark::{self, MARK};
use crate::chart;
use crate::chart_files;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Enabled};
use crate::mark;
use crate::theme::{self, space};
use egui::{Grid, Label, RichText, ScrollArea, Sense, TextStyle, Ui, Vec2, vec2};
use obliquity_exchange::chart::Chart;
use obliquity_planning::SiteOutline;

/// Height of a diagram below the ties.
const DIAGRAM: f32 = 170.0;
/// Diagrams stand beside each other where there is this much room.
const BESIDE: f32 = 640.0;
/// The ties are no lower.
const LEAST: f32 = 240.0;
/// A site so many times wider than high has all of the width.
const LONG: f64 = 2.2;
/// Names of lines that are no longer stand beside each other.
const SHORT: usize = 20;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &BlockSheet, outline: Option<&SiteOutline>, asks: &mut Vec<BlockAsk>) {
    if choices::is_narrow(ui) {
        // What is told is what matters: it is never folded away.
        asks.extend(chart_files::menu(ui).map(BlockAsk::Save));
        ui.add_space(space::TIGHT);
        ScrollArea::vertical().id_salt("narrow block").auto_shrink(false).show(ui, |ui| {
            let height = ui.available_height();
            told(ui, sheet, asks);
            ui.add_space(space::ROW);
            diagrams(ui, sheet, outline, height);
        });
        return;
    }
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
    if !sheet.expected.is_empty() {
        ui.add_space(space::ROW);
        expected(ui, sheet, asks);
    }
    if !sheet.told.is_empty() {
        ui.add_space(space::ROW);
        control(ui, &sheet.control, asks);
    }
    if !sheet.precision.is_empty() {
        ui.add_space(space::ROW);
        precision(ui, sheet);
    }
    if !sheet.rests_on.is_empty() {
        ui.add_space(space::ROW);
        form::muted(ui, &sheet.rests_on);
    }
}

fn progress(ui: &mut Ui, sheet: &BlockSheet, asks: &mut Vec<BlockAsk>) {
    let stands = sheet.stands;
    match &sheet.progress {
        BlockProgress::Known => {}
        BlockProgress::Failed(why) => form::colored(ui, why, theme::of(ui).bad),
        BlockProgress::Runs { tenths } => {
            ui.horizontal_wrapped(|ui| {
                ui.label(format!("The block is adjusted, {} % … {stands}", 10 * tenths).trim_end());
                if form::small(ui, "Stop", "Stop adjusting the block", "Leave it as it is", Enabled::Yes) {
                    asks.push(BlockAsk::Stop);
                }
            });
        }
        BlockProgress::Stopped => {
            ui.horizontal_wrapped(|ui| {
                if !stands.is_empty() {
                    ui.label(stands);
                }
                if form::small(ui, "Work it out", "Adjust the block", "It was stopped", Enabled::Yes) {
                    asks.push(BlockAsk::Resume);
                }
            });
        }
    }
}

/// What accuracy is expected, by which standards, and what the other strategies give.
fn expected(ui: &mut Ui, sheet: &BlockSheet, asks: &mut Vec<BlockAsk>) {
    let note = "Root mean square errors that check points all over what is covered would show.";
    form::card(ui, "Expected accuracy", note, |ui| {
        let muted = theme::of(ui).muted;
        let caption = |text: &str| RichText::new(text).font(theme::caption());
        Grid::new("expected").num_columns(4).spacing(vec2(space::GROUP, space::TIGHT)).show(ui, |ui| {
            for head in ["", "RMSE", "at 95 %", "class"] {
                ui.label(caption(head).color(muted));
            }
            ui.end_row();
            for row in &sheet.expected {
                ui.label(caption(row.name));
                for text in [&row.rmse, &row.at_95, &row.class] {
                    ui.label(caption(text));
                }
                ui.end_row();
            }
        });
        if let Some(told) = &sheet.in_parts {
            form::colored(ui, told, theme::of(ui).warn);
        }
        form::muted(ui, &sheet.expected_by);
        if sheet.others.is_empty() {
            return;
        }
        ui.add_space(space::TIGHT);
        Grid::new("others").num_columns(3).spacing(vec2(space::GROUP, space::TIGHT)).show(ui, |ui| {
            for head in ["The other strategies, RMSE", "horizontal", "vertical"] {
                ui.label(caption(head).color(muted));
            }
            ui.end_row();
            for row in &sheet.others {
                ui.horizontal(|ui| {
                    mark::put(ui, row.slot);
                    if ui.link(caption(&row.name)).on_hover_text("Show its block").clicked() {
                        asks.push(BlockAsk::Focus(row.strategy));
                    }
                });
                ui.label(caption(&row.horizontal));
                ui.label(caption(&row.vertical));
                ui.end_row();
            }
        });
        if sheet.others.iter().any(|row| row.vertical.starts_with('≈')) {
            form::muted(ui, "≈ preview, from fewer tie points");
        }
    });
}

/// How many control points it takes, and what they take on site.
fn control(ui: &mut Ui, control: &ControlShown, asks: &mut Vec<BlockAsk>) {
    let note = "Expected accuracy with some numbers of control points, laid out over the site automatically: corners first, then \
                sides and middle.";
    form::card(ui, "Control points", note, |ui| {
        if let Some((text, _)) = &control.known {
            ui.add(Label::new(text).wrap());
        }
        ui.horizontal_wrapped(|ui| {
            let hint = "Adjust the block with each; it can be stopped";
            match &control.state {
                ControlState::Whole => {}
                ControlState::Unasked => {
                    let name = "Try numbers of control points";
                    if form::small(ui, "Try 0 to 16", name, hint, Enabled::Yes) {
                        asks.push(BlockAsk::TryControl);
                    }
                }
                ControlState::Preview => {
                    let name = "Try numbers of control points in full";
                    if form::small(ui, "In full", name, hint, Enabled::Yes) {
                        asks.push(BlockAsk::TryControl);
                    }
                }
                ControlState::Runs { tenths } => {
                    ui.label(format!("Numbers of control points are tried, {} % …", 10 * tenths));
                    let name = "Stop trying control points";
                    if form::small(ui, "Stop", name, "Leave it as it is", Enabled::Yes) {
                        asks.push(BlockAsk::StopControl);
                    }
                }
                ControlState::Failed(why) => form::colored(ui, why, theme::of(ui).bad),
            }
            let hint = "Go to the plan with control points in hand: click each place";
            if form::small(ui, "Place on the plan", "Place control points on the plan", hint, Enabled::Yes) {
                asks.push(BlockAsk::Place);
            }
        });
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

/// Ties and numbers of control points beside each other, camera and dome below them; all below each other in little room.
fn diagrams(ui: &mut Ui, sheet: &BlockSheet, outline: Option<&SiteOutline>, height: f32) {
    let control = sheet.control.known.as_ref().map(|(_, chart)| &**chart);
    if ui.available_width() < BESIDE {
        ties(ui, sheet, outline, LEAST);
        for one in control.into_iter().chain(&sheet.charts) {
            ui.add_space(space::ROW);
            diagram(ui, one, vec2(ui.available_width(), DIAGRAM));
        }
        return;
    }
    let below = sheet.charts.iter().map(|chart| around(ui, chart) + DIAGRAM).fold(0.0, f32::max);
    let above = (height - below - space::ROW).max(LEAST + ui.text_style_height(&TextStyle::Body));
    let each = 0.5 * (ui.available_width() - space::PAGE);
    let is_long = outline.is_some_and(is_long);
    // The place is kept while numbers are still to come, so that nothing moves when they do.
    let has_place = control.is_some() || sheet.control.state != ControlState::Unasked;
    if has_place && !is_long {
        row(ui, 2, |ui, column| match control {
            _ if column == 0 => ties(ui, sheet, outline, above),
            Some(control) => diagram(ui, control, vec2(each, above - around(ui, control))),
            None => {
                ui.label(RichText::new("Accuracy against control points").font(theme::body_strong()));
                form::muted(ui, "Numbers of control points are tried once the block is adjusted.");
            }
        });
    } else {
        ties(ui, sheet, outline, above);
    }
    ui.add_space(space::ROW);
    row(ui, sheet.charts.len(), |ui, column| diagram(ui, &sheet.charts[column], vec2(each, DIAGRAM)));
    if let Some(control) = control.filter(|_| is_long) {
        ui.add_space(space::ROW);
        diagram(ui, control, vec2(ui.available_width(), DIAGRAM));
    }
}

/// Whether a site is so much wider than high that half the width is too little for it.
fn is_long(outline: &SiteOutline) -> bool {
    let extent_m = outline.high_m - outline.low_m;
    extent_m.x > LONG * extent_m.y
}

/// Things beside each other, each half as wide as there is room.
fn row(ui: &mut Ui, count: usize, mut put: impl FnMut(&mut Ui, usize)) {
    let each = 0.5 * (ui.available_width() - space::PAGE);
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = space::PAGE;
        for column in 0..count {
            ui.vertical(|ui| {
                ui.set_width(each);
                put(ui, column);
            });
        }
    });
}

/// What ties the images, with its title, in so much height.
fn ties(ui: &mut Ui, sheet: &BlockSheet, outline: Option<&SiteOutline>, height: f32) {
    ui.label(RichText::new("What ties the images").font(theme::body_strong()));
    let title = ui.text_style_height(&TextStyle::Body) + ui.spacing().item_spacing.y;
    match &sheet.graph {
        Some(graph) => graph.ui(ui, outline, (height - title).max(LEAST - title)),
        None => form::muted(ui, "Comes with the adjustment."),
    }
}

/// Height of what stands above and below a diagram: its title, the names of its axes, and its lines.
fn around(ui: &Ui, of: &Chart) -> f32 {
    let gap = ui.spacing().item_spacing.y;
    let line = |style| ui.text_style_height(&style) + gap;
    let lines = if stand_beside(of) { 1 } else { of.series.len() };
    line(TextStyle::Body) + (3.0 + lines as f32) * line(TextStyle::Small)
}

/// Whether the names of its lines are short enough to stand in one row.
fn stand_beside(of: &Chart) -> bool {
    of.series.iter().all(|line| line.name.len() <= SHORT)
}

fn diagram(ui: &mut Ui, of: &Chart, size: Vec2) {
    ui.vertical(|ui| {
        ui.set_width(size.x);
        ui.add(Label::new(RichText::new(&of.title).font(theme::body_strong())).truncate());
        chart::large(ui, of, size);
        let names = |ui: &mut Ui| {
            for line in &of.series {
                form::colored(ui, &line.name, chart::color_of(line.tone, theme::of(ui)));
            }
        };
        if stand_beside(of) { ui.horizontal(names).inner } else { names(ui) }
    });
}
