//! Draws the passes: their list to the left, the settings of the one that is chosen beside it.

use super::ask::PassesAsk;
use super::make::{Order, added, duplicated, moved, new_pass, removed};
use super::model::{PassRow, Passes};
use super::settings::{self, Changed, PassForm};
use crate::amendment::Subject;
use crate::corner_advice;
use crate::form::{self, CARD, Enabled};
use crate::menus;
use crate::opens;
use crate::theme::{self, space};
use crate::wind_advice;
use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use obliquity_planning::{FlyingOrder, Id, MeasureId, Pass, PatternKind, limits};

/// Draws the passes into what is left of the window.
pub fn ui(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    let page = Frame::new().fill(theme::of(ui).page);
    let edges = page.inner_margin(Margin::symmetric(16, 10));
    Panel::top("passes head").frame(edges).show_separator_line(false).show(ui, |ui| head(ui, shown));
    let width = form::list_width(ui);
    if let Some(width) = width {
        let edges = page.inner_margin(Margin { left: 16, right: 8, top: 0, bottom: 8 });
        let beside = Panel::left("passes list").exact_size(width).resizable(false).frame(edges);
        beside.show_separator_line(false).show(ui, |ui| {
            ScrollArea::vertical().id_salt("passes").auto_shrink(false).show(ui, |ui| list(ui, shown, asks));
        });
    }
    let edges = Margin { left: if width.is_some() { 8 } else { 16 }, right: 8, top: 0, bottom: 0 };
    egui::CentralPanel::default().frame(page.inner_margin(edges)).show(ui, |ui| {
        ScrollArea::vertical().id_salt(("pass", shown.pass().id.0)).auto_shrink(false).show(ui, |ui| {
            if width.is_none() {
                list(ui, shown, asks);
                ui.add_space(space::GROUP);
            }
            if let Some((what, pass)) = cards(ui, PassForm { shown, number: shown.selected + 1 }, asks) {
                let mut passes = shown.strategy.passes.clone();
                passes[shown.selected] = pass;
                put(shown, what, passes, None, asks);
            }
            ui.add_space(space::PAGE);
        });
    });
}

fn put(
    shown: &Passes<'_>,
    what: impl Into<Subject>,
    passes: Vec<Pass>,
    select: Option<Id>,
    asks: &mut Vec<PassesAsk>,
) {
    let what = what.into().of(&shown.strategy.name);
    asks.push(PassesAsk::Put { what, passes, select });
}

fn head(ui: &mut Ui, shown: &Passes<'_>) {
    if let Some(why) = &shown.failure {
        let text = format!("The strategy cannot be worked out: {why}");
        ui.add(Label::new(RichText::new(text).color(theme::of(ui).bad)).wrap());
    } else {
        form::muted(
            ui,
            "A strategy flies all its passes with one aircraft. Drag a number, or click it and type; point \
             at a name for its meaning.",
        );
    }
}

fn list(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::ROW);
    for (at, row) in shown.rows.iter().enumerate() {
        one_row(ui, shown, (at, row), asks);
    }
    let room = shown.rows.len() < limits::PASSES;
    ui.add_enabled_ui(room, |ui| {
        let button = egui::Button::new("Add a pass").min_size(vec2(ui.available_width(), 26.0));
        egui::containers::menu::MenuButton::from_button(button)
            .ui(ui, |ui| menus::items(ui, |ui| add_menu(ui, shown, asks)));
    });
    if shown.rows.len() > 1 {
        order(ui, shown, asks);
    }
    corners(ui, shown, asks);
    wind(ui, shown, asks);
}

/// In which order the passes are flown.
fn order(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    ui.add_space(space::TIGHT);
    ui.label(RichText::new("Flying order").font(theme::body_strong()));
    let choices = [
        (
            FlyingOrder::Quickest,
            "the quickest",
            "The order that takes the least time; each pass begins at its own corner",
        ),
        (
            FlyingOrder::AsListed,
            "as listed",
            "One after the other, from the top; each pass begins at its own corner",
        ),
    ];
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = space::GROUP;
        for (order, text, hint) in choices {
            let chosen = shown.strategy.order == order;
            let response = ui.radio(chosen, text).on_hover_text(hint);
            form::spoken(ui, &response, &format!("Flying order: {text}"));
            if response.clicked() && !chosen {
                asks.push(PassesAsk::Order(order));
            }
        }
    });
    if let Some(flown) = &shown.flown {
        form::muted(ui, flown);
    }
}

/// Whether the strips are best turned in the wind.
fn wind(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    if !shown.strategy.passes.iter().any(|pass| pass.pattern.kind() == PatternKind::Strips) {
        return;
    }
    ui.add_space(space::TIGHT);
    ui.label(RichText::new("Strips in the wind").font(theme::body_strong()));
    let mut asked = Vec::new();
    wind_advice::ui(ui, &shown.given.advice, &mut asked);
    asks.extend(asked.into_iter().map(PassesAsk::Advice));
}

/// Whether the strips are best begun at other corners.
fn corners(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    if !shown.strategy.passes.iter().any(|pass| pass.pattern.kind() == PatternKind::Strips) {
        return;
    }
    ui.add_space(space::TIGHT);
    ui.label(RichText::new("Corners to begin at").font(theme::body_strong()));
    let mut asked = Vec::new();
    corner_advice::ui(ui, &shown.given.corners, &mut asked);
    asks.extend(asked.into_iter().map(PassesAsk::Corners));
}

fn add_menu(ui: &mut Ui, shown: &Passes<'_>, asks: &mut Vec<PassesAsk>) {
    ui.set_width(280.0);
    for kind in PatternKind::ALL {
        let made = new_pass(shown.given.scenario, shown.strategy, kind);
        let name = kind.about().title;
        let response = ui.add_enabled(made.is_ok(), egui::Button::new(name));
        form::spoken(ui, &response, &format!("Add a pass of {}", kind.name()));
        if let Err(why) = &made {
            form::colored(ui, why, theme::of(ui).warn);
        }
        if response.clicked()
            && let Ok(pass) = made
        {
            let id = pass.id;
            let passes = added(&shown.strategy.passes, Some(shown.pass().id), pass);
            put(shown, format!("add {} pass", kind.name()), passes, Some(id), asks);
            ui.close();
        }
    }
}

fn one_row(ui: &mut Ui, shown: &Passes<'_>, (at, row): (usize, &PassRow), asks: &mut Vec<PassesAsk>) {
    let colors = theme::of(ui);
    let number = at + 1;
    let chosen = at == shown.selected;
    let edge =
        if chosen { egui::Stroke::new(2.0, colors.accent) } else { egui::Stroke::new(1.0, colors.rule) };
    let frame = Frame::new().fill(colors.surface).stroke(edge).corner_radius(6.0).inner_margin(space::ROW);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
        let text = RichText::new(format!("{number}  {}", row.name)).font(theme::body_strong());
        let response = ui.add(egui::Button::selectable(chosen, text).wrap());
        form::spoken(ui, &response, &format!("Pass {number}: {}", row.name));
        if response.clicked() {
            asks.push(PassesAsk::Select(row.id));
        }
        match &row.refused {
            Some(why) => form::colored(ui, &format!("Left out: {why}"), colors.bad),
            None if !row.costs.is_empty() => costs(ui, number, row, asks),
            None => {}
        }
        ui.horizontal_wrapped(|ui| buttons(ui, shown, (at, row), asks));
    });
}

/// What a pass costs, which opens how it comes about.
fn costs(ui: &mut Ui, number: usize, row: &PassRow, asks: &mut Vec<PassesAsk>) {
    let text = RichText::new(&row.costs).font(theme::caption()).color(theme::of(ui).muted);
    let shown = ui.add(Label::new(text).wrap());
    let spoken = format!("Pass {number} takes {}", row.costs);
    if opens::figure(ui, shown.rect, shown.id.with("opens"), &spoken, "").clicked() {
        asks.push(PassesAsk::Figure(MeasureId::ImageCount));
    }
}

fn buttons(ui: &mut Ui, shown: &Passes<'_>, (at, row): (usize, &PassRow), asks: &mut Vec<PassesAsk>) {
    let number = at + 1;
    let passes = &shown.strategy.passes;
    let button = |ui: &mut Ui, text: &str, what: &str, hint: &str, enabled: bool| {
        form::small(ui, text, &format!("{what} pass {number}"), hint, Enabled::when(|| enabled))
    };
    if button(ui, "⏶", "Move up", "Fly it earlier", at > 0) {
        let passes = moved(passes, row.id, Order::Earlier);
        put(shown, format!("move pass {number} up"), passes, Some(row.id), asks);
    }
    if button(ui, "⏷", "Move down", "Fly it later", at + 1 < passes.len()) {
        let passes = moved(passes, row.id, Order::Later);
        put(shown, format!("move pass {number} down"), passes, Some(row.id), asks);
    }
    if button(ui, "Duplicate", "Duplicate", "Put a copy behind it", passes.len() < limits::PASSES) {
        let free = shown.given.scenario.free_id();
        let passes = duplicated(passes, row.id, free);
        put(shown, format!("duplicate pass {number}"), passes, Some(free), asks);
    }
    if let Some(table) = passes[at].pattern.about().table {
        let columns = table.columns.iter().map(|column| column.name).collect::<Vec<_>>().join(", ");
        let hint = format!("Read the {} from a table (CSV) with the columns {columns}", table.what);
        if button(ui, "Read…", "Read from a file", &hint, true) {
            asks.push(PassesAsk::ReadRows(row.id));
        }
    }
    let hint = if passes.len() > 1 { "Take it out; undo brings it back" } else { "One pass stays" };
    if button(ui, "Remove", "Remove", hint, passes.len() > 1) {
        let passes = removed(passes, row.id);
        let next = passes.get(at.min(passes.len() - 1)).map(|pass| pass.id);
        put(shown, format!("remove pass {number}"), passes, next, asks);
    }
}

/// The cards beside each other where there is room.
fn cards(ui: &mut Ui, of: PassForm<'_>, asks: &mut Vec<PassesAsk>) -> Changed {
    let mut changed = None;
    let mut keep = |one: Changed| {
        if changed.is_none() {
            changed = one;
        }
    };
    ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
    let width = ui.available_width();
    if width >= 3.0 * CARD + 2.0 * space::GROUP {
        ui.horizontal_top(|ui| {
            column(ui, |ui| keep(settings::pattern(ui, of)));
            column(ui, |ui| {
                keep(settings::distance(ui, of));
                keep(settings::overlap(ui, of));
            });
            column(ui, |ui| {
                keep(settings::camera(ui, of));
                settings::follows(ui, of, asks);
            });
        });
    } else if width >= 2.0 * CARD + space::GROUP {
        ui.horizontal_top(|ui| {
            column(ui, |ui| {
                keep(settings::pattern(ui, of));
                keep(settings::camera(ui, of));
            });
            column(ui, |ui| {
                keep(settings::distance(ui, of));
                keep(settings::overlap(ui, of));
                settings::follows(ui, of, asks);
            });
        });
    } else {
        column(ui, |ui| {
            keep(settings::pattern(ui, of));
            keep(settings::distance(ui, of));
            keep(settings::camera(ui, of));
            keep(settings::overlap(ui, of));
            settings::follows(ui, of, asks);
        });
    }
    changed
}

fn column(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(CARD);
        content(ui);
    });
}
