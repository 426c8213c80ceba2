//! The trade-off as it is drawn.

use super::BestAsk;
use super::trade::TradeSheet;
use crate::chart;
use crate::form::{self, Enabled, Named};
use crate::keys;
use crate::mark;
use crate::theme;
use egui::{EventFilter, Key, Label, PointerButton, RichText, Role, Stroke, Ui, WidgetInfo, vec2};
use obliquity_planning::{Measure, swept_measures};

/// So near to the pointer, in points, a setting is meant.
const NEAR: f32 = 14.0;
/// What the axis across and its numbers take below the diagram, and the title above it.
const BESIDE: f32 = 74.0;

/// Which two figures, and the setting picked.
pub(super) fn choices(ui: &mut Ui, trade: &TradeSheet<'_>, asks: &mut Vec<BestAsk>) {
    let note = "Every setting that was looked at, one figure against another. The line joins the Pareto front: nothing \
                that was looked at is better in both.";
    form::card(ui, "Trade-off", note, |ui| {
        let rows: Vec<&Measure> = swept_measures().collect();
        let all: Vec<(&str, &str)> = rows.iter().map(|row| (row.name, row.explanation)).collect();
        let at = |id| rows.iter().position(|row| row.id == id);
        let named =
            Named { name: "Up", spoken: "Figure up", hint: "What the diagram shows from bottom to top" };
        if let Some(up) = form::choice(ui, named, &all, at(trade.axes.1)) {
            asks.push(BestAsk::Up(rows[up].id));
        }
        let named = Named {
            name: "Across",
            spoken: "Figure across",
            hint: "What the diagram shows from left to right",
        };
        if let Some(across) = form::choice(ui, named, &all, at(trade.axes.0)) {
            asks.push(BestAsk::Across(rows[across].id));
        }
        picked(ui, trade, asks);
    });
}

fn picked(ui: &mut Ui, trade: &TradeSheet<'_>, asks: &mut Vec<BestAsk>) {
    ui.horizontal(|ui| {
        let steps = [("⏴", "Front: to the left", -1), ("⏵", "Front: to the right", 1)];
        for (text, name, step) in steps {
            let beside = trade.beside(trade.picked, step);
            let hint = "The setting beside it on the Pareto front; arrow keys do the same on the diagram";
            if form::small(ui, text, name, hint, Enabled::when(|| beside.is_some())) {
                pick(trade, beside, asks);
            }
        }
        let hint = "Set the strategy to the setting picked: one step, which undo takes back";
        let (text, enabled) = match (trade.picked, trade.stands()) {
            (None, _) => ("Adopt the setting picked", Enabled::No),
            (Some(_), true) => ("Stands so", Enabled::No),
            (Some(_), false) => ("Adopt the setting picked", Enabled::Yes),
        };
        if form::small(ui, text, "Adopt the setting picked", hint, enabled) {
            asks.push(BestAsk::AdoptPicked);
        }
    });
    let Some(point) = trade.picked else {
        form::muted(ui, "Click a setting in the diagram, or step along the front.");
        return;
    };
    let told = trade.told(point);
    let line = ui.horizontal(|ui| {
        mark::put(ui, told.slot);
        ui.add(Label::new(RichText::new(&told.name).font(theme::body_strong())).truncate())
    });
    let spoken = format!("Picked: {}", told.sentence());
    line.inner.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
    ui.add(Label::new(&told.setting).wrap());
    for text in told.figures.iter().chain([&told.meets]) {
        form::muted(ui, text);
    }
}

fn pick(trade: &TradeSheet<'_>, point: Option<usize>, asks: &mut Vec<BestAsk>) {
    if let Some(point) = point {
        let (strategy, values) = trade.setting(point);
        asks.push(BestAsk::Pick(strategy, values));
    }
}

/// The diagram: pointing tells a setting, a click picks it, a double click or Enter adopts it.
pub(super) fn diagram(ui: &mut Ui, trade: &TradeSheet<'_>, height: f32, asks: &mut Vec<BestAsk>) {
    let front = &trade.front;
    ui.label(RichText::new(&front.chart.title).font(theme::body_strong()));
    if front.points.is_empty() {
        form::muted(ui, "Nothing has been looked at yet of which both figures are known: search first.");
        return;
    }
    form::muted(ui, "Filled: meets the requirement. Numbered: what was found. Line: the Pareto front.");
    let size = vec2(ui.available_width(), (height - BESIDE).max(120.0));
    let large = chart::large(ui, &front.chart, size);
    let places = || front.points.iter().map(|point| large.place(point.at)).enumerate();
    if let Some(picked) = trade.picked {
        let at = large.place(front.points[picked].at);
        ui.painter().circle_stroke(at, 10.0, Stroke::new(2.0, theme::of(ui).ink));
    }
    large.show_focus(ui);
    let meant = large.response.hover_pos().and_then(|pointer| {
        let apart = places().map(|(k, at)| (k, at.distance(pointer))).filter(|(_, apart)| *apart <= NEAR);
        apart.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
    });
    if large.response.clicked_by(PointerButton::Primary) {
        large.response.request_focus();
        pick(trade, meant, asks);
    }
    if large.response.double_clicked() && meant.is_some() {
        asks.push(BestAsk::AdoptPicked);
    }
    key_presses(ui, trade, large.response.id, asks);
    if let Some(meant) = meant {
        let told = trade.told(meant);
        large.response.on_hover_ui_at_pointer(|ui| {
            ui.label(RichText::new(format!("{} {}", mark::number(told.slot), told.name)).strong());
            ui.label(&told.setting);
            ui.label(told.figures.join(", "));
            ui.label(&told.meets);
        });
    }
}

/// With the keyboard on the diagram: arrows step along the front, Enter adopts.
fn key_presses(ui: &mut Ui, trade: &TradeSheet<'_>, id: egui::Id, asks: &mut Vec<BestAsk>) {
    if !ui.memory(|memory| memory.has_focus(id)) {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
    let mut picked = trade.picked;
    for key in keys::taken(ui, &[Key::ArrowLeft, Key::ArrowRight, Key::Enter]) {
        let step = match key {
            Key::ArrowLeft => -1,
            Key::ArrowRight => 1,
            _ => {
                asks.extend(picked.map(|_| BestAsk::AdoptPicked));
                continue;
            }
        };
        if let Some(beside) = trade.beside(picked, step) {
            picked = Some(beside);
            pick(trade, picked, asks);
        }
    }
}
