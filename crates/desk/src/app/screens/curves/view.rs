//! The curves as they are drawn: choices, and apart from them the large diagram, where the requirement is met below it, and
//! the neighbours small.

use super::CurvesAsk;
use super::model::{CurveRow, CurveSheet, LooksState};
use crate::chart::{self, LargeChart};
use crate::form::{self, Enabled, Kind, Named};
use crate::keys;
use crate::mark;
use crate::opens;
use crate::theme::{self, space};
use egui::{EventFilter, Key, Label, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, pos2, vec2};
use obliquity_planning::{Knob, MEASURES, Measure, Scope, knob, measure};

/// Height of a row below the diagram.
const UNDER: f32 = 17.0;
/// Height of the line above the diagram.
const TITLE: f32 = 40.0;
/// The large diagram is no lower.
const LEAST: f32 = 160.0;
/// Height of a small diagram.
const SMALL: f32 = 118.0;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &CurveSheet, swept: &[Knob], asks: &mut Vec<CurvesAsk>) {
    choices(ui, sheet, swept, asks);
    ui.add_space(space::ROW);
    rows(ui, sheet, asks);
}

fn choices(ui: &mut Ui, sheet: &CurveSheet, swept: &[Knob], asks: &mut Vec<CurvesAsk>) {
    let row = knob(sheet.knob);
    form::card(ui, "What a setting does", row.explanation, |ui| {
        turned(ui, sheet, swept, asks);
        let all = ("all strategies", "");
        let only: Vec<(&str, &str)> =
            [all].into_iter().chain(sheet.strategies.iter().map(|(_, name)| (name.as_str(), ""))).collect();
        let chosen =
            sheet.strategies.iter().position(|(id, _)| Some(*id) == sheet.only).map_or(0, |at| at + 1);
        let named = Named {
            name: "In",
            spoken: "Varied in",
            hint: "Where it is varied; the others stay as they are",
        };
        if let Some(at) = form::choice(ui, named, &only, Some(chosen)) {
            asks.push(CurvesAsk::Only(at.checked_sub(1).map(|at| sheet.strategies[at].0)));
        }
        let rows: Vec<&Measure> = MEASURES.iter().collect();
        let figures: Vec<(&str, &str)> = rows.iter().map(|row| (row.name, row.explanation)).collect();
        let chosen = rows.iter().position(|row| row.id == sheet.figure);
        let named = Named { name: "Show", spoken: "Figure shown", hint: "What the large diagram shows" };
        if let Some(at) = form::choice(ui, named, &figures, chosen) {
            asks.push(CurvesAsk::Figure(rows[at].id));
        }
        ends(ui, sheet, &row, asks);
    });
}

/// The input that is turned, out of all, under the parts of a scenario that they belong to.
fn turned(ui: &mut Ui, sheet: &CurveSheet, swept: &[Knob], asks: &mut Vec<CurvesAsk>) {
    let names_of = |part: &str| -> Vec<(&str, &str)> {
        let own = swept.iter().filter(|row| row.scope.part() == part);
        own.map(|row| (row.whole, row.explanation)).collect()
    };
    let groups: Vec<(&str, Vec<(&str, &str)>)> =
        Scope::PARTS.into_iter().map(|part| (part, names_of(part))).collect();
    let mut ordered: Vec<&Knob> = swept.iter().collect();
    ordered.sort_by_key(|row| Scope::PARTS.iter().position(|part| *part == row.scope.part()));
    let chosen = ordered.iter().position(|row| row.id == sheet.knob);
    let named =
        Named { name: "Vary", spoken: "Input varied", hint: "What is set to every value of the range" };
    if let Some(at) = form::long_choice(ui, named, &groups, chosen) {
        asks.push(CurvesAsk::Turn(ordered[at].id));
    }
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
    ui.horizontal(|ui| {
        let usual = "Half to twice what it is; overlaps and tilts as they are flown";
        if form::small(ui, "Usual range", "Usual range", usual, Enabled::Yes) {
            asks.push(CurvesAsk::Ends(None));
        }
        let wider = "Half as far again beyond both ends, as far as the input goes";
        if form::small(ui, "Wider range", "Wider range", wider, Enabled::Yes) {
            asks.push(CurvesAsk::Wider);
        }
    });
}

/// Every strategy at the value told of, and where it meets.
fn rows(ui: &mut Ui, sheet: &CurveSheet, asks: &mut Vec<CurvesAsk>) {
    let colors = theme::of(ui);
    let title = RichText::new(format!("{}, {}", knob(sheet.knob).whole, sheet.told_at));
    ui.add(Label::new(title.font(theme::body_strong())).wrap());
    let hint = "Click into the diagram to read another value, or press an arrow there; Enter sets it.";
    ui.label(RichText::new(hint).font(theme::caption()).color(colors.muted));
    adopt(ui, sheet, asks);
    for CurveRow { slot, name, figure, here, meets, nearest, caps } in &sheet.rows {
        ui.add_space(space::TIGHT);
        ui.horizontal(|ui| {
            mark::put(ui, *slot);
            ui.add(Label::new(RichText::new(name).font(theme::body_strong())).truncate());
        });
        ui.add(Label::new(figure).wrap());
        let how = "Nearest is where the fewest lines of the requirement are missed; of equally many, where they lack least.";
        for (text, hint) in [(here, ""), (meets, ""), (nearest, how), (caps, "")] {
            if !text.is_empty() {
                let told = Label::new(RichText::new(text).font(theme::caption()).color(colors.muted));
                let told = ui.add(told.wrap());
                if !hint.is_empty() {
                    told.on_hover_text(hint);
                }
            }
        }
    }
}

/// Sets the input to the value clicked.
fn adopt(ui: &mut Ui, sheet: &CurveSheet, asks: &mut Vec<CurvesAsk>) {
    let (text, enabled) = match &sheet.adopt {
        Some((_, text)) => (format!("Set to {text}"), Enabled::Yes),
        None => ("Set to the value clicked".to_owned(), Enabled::No),
    };
    let spoken = "Set the input to the value clicked";
    if form::small(ui, &text, spoken, "One step, which undo takes back", enabled)
        && let Some((value, _)) = sheet.adopt
    {
        asks.push(CurvesAsk::Adopt(value));
    }
}

/// The diagrams in all of the room; those without room are scrolled to.
pub(super) fn diagrams(ui: &mut Ui, sheet: &CurveSheet, asks: &mut Vec<CurvesAsk>) {
    let height = ui.available_height();
    let scroll = ScrollArea::vertical().id_salt("curve diagrams").auto_shrink(false);
    scroll.show(ui, |ui| diagrams_in(ui, sheet, height, asks));
}

fn diagrams_in(ui: &mut Ui, sheet: &CurveSheet, height: f32, asks: &mut Vec<CurvesAsk>) {
    let colors = theme::of(ui);
    let status = sheet.failure.as_ref().or(sheet.status.as_ref()).map_or("", String::as_str);
    ui.horizontal(|ui| {
        ui.label(RichText::new(&sheet.chart.title).font(theme::body_strong()));
        ui.label(RichText::new(status).font(theme::caption()).color(colors.muted));
        match sheet.looks {
            Some(LooksState::Run) => {
                if form::small(ui, "Stop", "Stop looking at blocks", "Leave it as it is", Enabled::Yes) {
                    asks.push(CurvesAsk::StopLooks);
                }
            }
            Some(LooksState::Stopped) => {
                let hint = "Adjust the blocks of all strategies at the other values";
                if form::small(ui, "Go on", "Look at more blocks", hint, Enabled::Yes) {
                    asks.push(CurvesAsk::ResumeLooks);
                }
            }
            Some(LooksState::Done) | None => {}
        }
    });
    let around = chart::under_height(&sheet.chart) + SMALL + 5.0 * space::ROW + 3.0 * UNDER + TITLE;
    let size = vec2(ui.available_width(), (height - around).max(LEAST));
    let large = chart::large(ui, &sheet.chart, size);
    if let Some(nearest) = large.clicked.and_then(|[across, _]| sheet.nearest(across)) {
        asks.push(CurvesAsk::Pick(sheet.values[nearest].stored));
        large.response.request_focus();
    }
    picked(ui, sheet, &large);
    key_presses(ui, sheet, &large, asks);
    chart::under(ui, &sheet.chart, &large);
    ui.add_space(space::ROW);
    let each = (ui.available_width() - 2.0 * space::PAGE) / 3.0;
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), SMALL), Sense::hover());
    for (k, small) in sheet.beside.iter().enumerate() {
        let left = area.left() + k as f32 * (each + space::PAGE);
        let place = Rect::from_min_size(pos2(left, area.top()), vec2(each, SMALL));
        chart::small(ui, small, place);
        let (id, name) = (sheet.neighbours[k], measure(sheet.neighbours[k]).name);
        let hint = "Click to see it large";
        if opens::place(ui, place, ui.scope_id().with(("large", k)), &format!("{name}, large"), hint)
            .clicked()
        {
            asks.push(CurvesAsk::Figure(id));
        }
    }
}

/// The value picked, and what comes of all strategies at the one that is pointed at.
fn picked(ui: &Ui, sheet: &CurveSheet, large: &LargeChart) {
    let colors = theme::of(ui);
    let line = |at: f64, stroke: Stroke| {
        let x = large.x(at);
        let ends = [pos2(x, large.frame.top()), pos2(x, large.frame.bottom())];
        ui.painter().extend(Shape::dashed_line(&ends, stroke, 4.0, 3.0));
    };
    if let Some((at, text)) = &sheet.picked {
        line(*at, Stroke::new(1.5, colors.ink));
        let text = ui.painter().layout_no_wrap(text.clone(), theme::caption_strong(), colors.ink);
        let room = large.frame.shrink(space::TIGHT);
        let left = (large.x(*at) - 0.5 * text.size().x).clamp(room.left(), room.right() - text.size().x);
        let place = Rect::from_min_size(pos2(left, room.top()), text.size());
        ui.painter().rect_filled(place.expand(2.0), 3.0, colors.surface);
        ui.painter().galley(place.min, text, colors.ink);
    }
    large.show_focus(ui);
    let pointed = large.pointed.and_then(|[across, _]| sheet.nearest(across));
    if let Some(value) = pointed.map(|place| &sheet.values[place]) {
        line(value.at, Stroke::new(1.0, colors.muted));
        large.response.clone().on_hover_text_at_pointer(&value.told);
    }
}

/// Arrows pick the value beside, Home and End the first and the last; Enter adopts it.
fn key_presses(ui: &Ui, sheet: &CurveSheet, large: &LargeChart, asks: &mut Vec<CurvesAsk>) {
    let Some((chosen, last)) = sheet.chosen().zip(sheet.values.len().checked_sub(1)) else { return };
    if !large.response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(large.response.id, filter));
    let (mut at, mut adopt) = (chosen, sheet.adopt.as_ref().map(|(value, _)| *value));
    for key in keys::taken(ui, &[Key::ArrowLeft, Key::ArrowRight, Key::Home, Key::End, Key::Enter]) {
        at = match key {
            Key::ArrowLeft => at.saturating_sub(1),
            Key::ArrowRight => (at + 1).min(last),
            Key::Home => 0,
            Key::End => last,
            _ => {
                asks.extend(adopt.map(CurvesAsk::Adopt));
                continue;
            }
        };
        let value = sheet.values[at].stored;
        asks.push(CurvesAsk::Pick(value));
        adopt = Some(value);
    }
}
