//! The curves as they are drawn: choices on the left, the large diagram, where the requirement is met below it, and the
//! neighbours small.

use super::CurvesAsk;
use super::model::{CurveRow, CurveSheet};
use crate::chart::{self, LargeChart};
use crate::form::{self, Enabled, Kind, Named};

use crate::mark;
use crate::theme::{self, space};
use egui::{Label, Rect, RichText, ScrollArea, Sense, Ui, pos2, vec2};
use obliquity_planning::{Knob, MEASURES, knob};

/// Width of the choices.
const SIDE: f32 = 300.0;
/// Height of a row below the diagram.
const UNDER: f32 = 18.0;
/// Height of a small diagram.
const SMALL: f32 = 118.0;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &CurveSheet, swept: &[Knob], asks: &mut Vec<CurvesAsk>) {
    ui.horizontal_top(|ui| {
        ui.vertical(|ui| {
            ui.set_width(SIDE);
            ScrollArea::vertical().id_salt("curve choices").auto_shrink(false).show(ui, |ui| {
                choices(ui, sheet, swept, asks);
                ui.add_space(space::ROW);
                rows(ui, sheet, asks);
            });
        });
        ui.add_space(space::PAGE);
        ui.vertical(|ui| diagrams(ui, sheet, asks));
    });
}

fn choices(ui: &mut Ui, sheet: &CurveSheet, swept: &[Knob], asks: &mut Vec<CurvesAsk>) {
    let row = knob(sheet.knob);
    form::card(ui, "What a setting does", row.explanation, |ui| {
        let names: Vec<(&str, &str)> = swept.iter().map(|row| (row.whole, row.explanation)).collect();
        let chosen = swept.iter().position(|row| row.id == sheet.knob);
        let named =
            Named { name: "Turn", spoken: "Input turned", hint: "What is set to every value of the range" };
        if let Some(at) = form::choice(ui, named, &names, chosen) {
            asks.push(CurvesAsk::Turn(swept[at].id));
        }
        let all = ("all strategies", "");
        let only: Vec<(&str, &str)> =
            [all].into_iter().chain(sheet.strategies.iter().map(|(_, name)| (name.as_str(), ""))).collect();
        let chosen =
            sheet.strategies.iter().position(|(id, _)| Some(*id) == sheet.only).map_or(0, |at| at + 1);
        let named = Named {
            name: "In",
            spoken: "Turned in",
            hint: "Where it is turned; the others stay as they are",
        };
        if let Some(at) = form::choice(ui, named, &only, Some(chosen)) {
            asks.push(CurvesAsk::Only(at.checked_sub(1).map(|at| sheet.strategies[at].0)));
        }
        let figures: Vec<(&str, &str)> = MEASURES.iter().map(|row| (row.name, row.explanation)).collect();
        let chosen = MEASURES.iter().position(|row| row.id == sheet.figure);
        let named = Named { name: "Show", spoken: "Figure shown", hint: "What the large diagram shows" };
        if let Some(at) = form::choice(ui, named, &figures, chosen) {
            asks.push(CurvesAsk::Figure(MEASURES[at].id));
        }
        ends(ui, sheet, &row, asks);
    });
}

fn ends(ui: &mut Ui, sheet: &CurveSheet, row: &Knob, asks: &mut Vec<CurvesAsk>) {
    let kind = Kind { unit: row.unit, decimals: row.decimals, range: row.range };
    let (from, to) = sheet.ends;
    let named = Named { name: "From", spoken: "Range begins at", hint: "" };
    if let Some(from) = form::number(ui, named, kind, from, sheet.units).filter(|from| *from < to) {
        asks.push(CurvesAsk::Ends(Some((from, to))));
    }
    let named = Named { name: "To", spoken: "Range ends at", hint: "" };
    if let Some(to) = form::number(ui, named, kind, to, sheet.units).filter(|to| from < *to) {
        asks.push(CurvesAsk::Ends(Some((from, to))));
    }
    if form::small(
        ui,
        "Usual range",
        "Usual range",
        "Half to twice what it is; overlaps and tilts as they are flown",
        Enabled::Yes,
    ) {
        asks.push(CurvesAsk::Ends(None));
    }
}

/// Every strategy at the value told of, and where it meets.
fn rows(ui: &mut Ui, sheet: &CurveSheet, asks: &mut Vec<CurvesAsk>) {
    let colors = theme::of(ui);
    let title = RichText::new(format!("{}, {}", knob(sheet.knob).whole, sheet.told_at));
    ui.add(Label::new(title.font(theme::body_strong())).wrap());
    let hint = "Click into the diagram to read another value.";
    ui.label(RichText::new(hint).font(theme::caption()).color(colors.muted));
    for CurveRow { slot, name, figure, meets, caps } in &sheet.rows {
        ui.add_space(space::TIGHT);
        ui.horizontal(|ui| {
            mark::put(ui, *slot);
            ui.add(Label::new(RichText::new(name).font(theme::body_strong())).truncate());
        });
        ui.add(Label::new(figure).wrap());
        ui.add(Label::new(RichText::new(meets).font(theme::caption()).color(colors.muted)).wrap());
        if !caps.is_empty() {
            let text = format!("capped by {caps}");
            ui.label(RichText::new(text).font(theme::caption()).color(colors.muted));
        }
    }
    ui.add_space(space::ROW);
    let (text, enabled) = match &sheet.adopt {
        Some((_, text)) => (format!("Set to {text}"), Enabled::Yes),
        None => ("Set to the value clicked".to_owned(), Enabled::No),
    };
    if form::small(
        ui,
        &text,
        "Set the input to the value clicked",
        "One step, which undo takes back",
        enabled,
    ) && let Some((value, _)) = sheet.adopt
    {
        asks.push(CurvesAsk::Adopt(value));
    }
}

fn diagrams(ui: &mut Ui, sheet: &CurveSheet, asks: &mut Vec<CurvesAsk>) {
    let colors = theme::of(ui);
    let status = sheet.failure.as_ref().or(sheet.status.as_ref()).map_or("", String::as_str);
    ui.horizontal(|ui| {
        ui.label(RichText::new(&sheet.chart.title).font(theme::body_strong()));
        ui.label(RichText::new(status).font(theme::caption()).color(colors.muted));
    });
    let under = UNDER * (sheet.rows.len() as f32 + 1.0);
    let below = under + SMALL + 5.0 * space::ROW + 3.0 * UNDER;
    let size = vec2(ui.available_width(), (ui.available_height() - below).max(160.0));
    let large = chart::large(ui, &sheet.chart, size);
    if let Some([across, _]) = large.clicked {
        let apart = |shown: &f64| (shown - across).abs();
        let nearest = sheet.values.iter().min_by(|a, b| apart(&a.1).total_cmp(&apart(&b.1)));
        asks.extend(nearest.map(|(value, _)| CurvesAsk::Pick(*value)));
    }
    where_met(ui, sheet, &large);
    ui.add_space(space::ROW);
    let each = (ui.available_width() - 2.0 * space::PAGE) / 3.0;
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), SMALL), Sense::hover());
    for (k, small) in sheet.beside.iter().enumerate() {
        let left = area.left() + k as f32 * (each + space::PAGE);
        chart::small(ui, small, Rect::from_min_size(pos2(left, area.top()), vec2(each, SMALL)));
    }
}

/// Below the axis, a bar for each strategy where it meets the requirement.
fn where_met(ui: &mut Ui, sheet: &CurveSheet, large: &LargeChart) {
    let colors = theme::of(ui);
    let height = UNDER * (sheet.rows.len() as f32 + 1.0);
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let text = "Meets the requirement:";
    ui.painter().text(area.left_top(), egui::Align2::LEFT_TOP, text, theme::caption(), colors.muted);
    for (k, (row, under)) in sheet.rows.iter().zip(&sheet.chart.under).enumerate() {
        let top = area.top() + UNDER * (k as f32 + 1.0);
        let number = Rect::from_min_size(pos2(area.left(), top), vec2(16.0, UNDER - 2.0));
        mark::paint(ui.painter(), number, row.slot, colors);
        let (left, right) = (large.x(sheet.chart.across.from), large.x(sheet.chart.across.to));
        let trough = Rect::from_min_max(pos2(left, top + 2.0), pos2(right, top + UNDER - 4.0));
        ui.painter().rect_filled(trough, 2.0, colors.rule.gamma_multiply(0.5));
        for [from, to] in &under.across {
            let bar = Rect::from_min_max(
                pos2(large.x(*from) - 1.5, trough.top()),
                pos2(large.x(*to) + 1.5, trough.bottom()),
            );
            ui.painter().rect_filled(bar, 2.0, colors.strategy(row.slot));
        }
        let line = Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + UNDER));
        let response = ui.interact(line, ui.scope_id().with(("meets", k)), Sense::hover());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &under.name));
        response.on_hover_text(&under.name);
    }
}
