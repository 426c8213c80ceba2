//! Each at its best, as it is drawn: what is searched on the left, a row a strategy, and the trade-off below.

use super::BestAsk;
use super::model::{Adopting, BestRow, BestSheet, FoundTone, FreeTick};
use super::trade::TradeSheet;
use super::trade_view;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Enabled, Kind, Named};
use crate::mark;
use crate::theme::{self, space};
use egui::{
    Align, Label, Layout, Rect, RichText, Role, ScrollArea, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use obliquity_planning::limits::Range;
use obliquity_planning::what_if::{SearchOf, ToSpare};
use obliquity_planning::{Unit, measure};

/// What is asked of the margin: at most a quarter of all, which is more than anyone keeps.
const SPARE: Range = Range { what: "what is to spare", least: 0.0, most: 0.25, mend: "write 0.01 for 1 %" };
/// A table stands in columns where it is as wide as this.
const ROOMY: f32 = 560.0;
/// Width of the last column.
const BUTTON: f32 = 96.0;
/// The diagram is at least as high as this.
const LEAST_HEIGHT: f32 = 300.0;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &BestSheet, trade: &TradeSheet<'_>, asks: &mut Vec<BestAsk>) {
    choices::beside(ui, "best", |ui, part| match part {
        ChoicesPart::Head => buttons(ui, sheet, asks),
        ChoicesPart::Choices => {
            ui.add_space(space::ROW);
            search_choices(ui, sheet, asks);
            ui.add_space(space::ROW);
            trade_view::choices(ui, trade, asks);
        }
        ChoicesPart::Diagrams => {
            let height = ui.available_height();
            ScrollArea::vertical().id_salt("best rows").auto_shrink(false).show(ui, |ui| {
                let top = ui.cursor().top();
                rows(ui, sheet, asks);
                let left = height - (ui.cursor().top() - top) - space::ROW;
                trade_view::diagram(ui, trade, left.max(LEAST_HEIGHT), asks);
            });
        }
    });
}

fn search_choices(ui: &mut Ui, sheet: &BestSheet, asks: &mut Vec<BestAsk>) {
    let note = "For every strategy, of all settings that can be keyed in the one that takes least and meets the \
                requirement with something to spare. What is ticked is searched; the rest stays as it is.";
    form::card(ui, "Each at its best", note, |ui| {
        let all: Vec<(&str, &str)> =
            sheet.objectives.iter().map(|of| (measure(*of).name, measure(*of).explanation)).collect();
        let chosen = sheet.objectives.iter().position(|of| *of == sheet.objective);
        let named = Named {
            name: "Least",
            spoken: "What is to be least",
            hint: "What every strategy is to take least of",
        };
        if let Some(at) = form::choice(ui, named, &all, chosen) {
            asks.push(BestAsk::Objective(sheet.objectives[at]));
        }
        spare(ui, sheet, asks);
    });
}

fn spare(ui: &mut Ui, sheet: &BestSheet, asks: &mut Vec<BestAsk>) {
    let kind = Kind { unit: Unit::Share, decimals: 1, range: SPARE };
    let ToSpare { coverage, gsd } = sheet.to_spare;
    let named = Named {
        name: "Coverage to spare",
        spoken: "Coverage to spare",
        hint: "Points added to every coverage required: a least setting always lies on a limit, and the day is not the \
               plan. Common practice.",
    };
    if let Some(coverage) = form::number(ui, named, kind, coverage, sheet.units) {
        asks.push(BestAsk::ToSpare(ToSpare { coverage, gsd }));
    }
    let named = Named {
        name: "GSD to spare",
        spoken: "GSD to spare",
        hint: "By how much finer than required every GSD is to be. Common practice.",
    };
    if let Some(gsd) = form::number(ui, named, kind, gsd, sheet.units) {
        asks.push(BestAsk::ToSpare(ToSpare { coverage, gsd }));
    }
}

fn buttons(ui: &mut Ui, sheet: &BestSheet, asks: &mut Vec<BestAsk>) {
    if sheet.running.is_some() {
        let hint = "Stop searching; what was found so far stays";
        if form::small(ui, "Cancel", "Cancel the search", hint, Enabled::Yes) {
            asks.push(BestAsk::Cancel);
        }
    } else {
        let hint = "Search every strategy's ticked settings; takes up to a minute";
        let enabled = Enabled::when(|| sheet.can_search());
        if form::small(ui, "Search", "Search every strategy's settings", hint, enabled) {
            asks.push(BestAsk::Search);
        }
    }
    let count = sheet.adoptable();
    let text =
        if count == 0 { "Adopt all that meet".to_owned() } else { format!("Adopt all that meet: {count}") };
    let hint = "Set every strategy of which a setting meets to it: one step, which undo takes back";
    if form::small(ui, &text, "Adopt all that meet", hint, Enabled::when(|| count > 0)) {
        asks.push(BestAsk::AdoptAll);
    }
    if let Some(running) = &sheet.running {
        ui.spinner();
        form::muted(ui, running);
    }
}

/// Side by side where there is room, one below the other where there is not.
fn cells(ui: &mut Ui, shares: &[f32], mut cell: impl FnMut(&mut Ui, usize)) {
    let room = ui.available_width();
    if room < ROOMY {
        for k in 0..=shares.len() {
            cell(ui, k);
        }
        return;
    }
    let top = ui.cursor().left_top();
    let wide = room - BUTTON - space::GROUP * shares.len() as f32;
    let widths = shares.iter().map(|share| share * wide).chain([BUTTON]);
    let (mut left, mut bottom) = (top.x, top.y);
    for (k, width) in widths.enumerate() {
        let place = Rect::from_min_size(pos2(left, top.y), vec2(width, 1000.0));
        let layout = Layout::top_down(Align::Min);
        let mut inner = ui.new_child(UiBuilder::new().id_salt(k).max_rect(place).layout(layout));
        cell(&mut inner, k);
        bottom = bottom.max(inner.min_rect().bottom());
        left += width + space::GROUP;
    }
    ui.advance_cursor_after_rect(Rect::from_min_max(top, pos2(top.x + room, bottom)));
}

/// Name, setting, figure, why; the button has its own width.
const SHARES: [f32; 4] = [0.21, 0.29, 0.21, 0.29];

fn rows(ui: &mut Ui, sheet: &BestSheet, asks: &mut Vec<BestAsk>) {
    let colors = theme::of(ui);
    ui.spacing_mut().item_spacing.y = space::TIGHT;
    if sheet.rows.is_empty() {
        ui.label("There is nothing to search: add a strategy first.");
        return;
    }
    if ui.available_width() >= ROOMY {
        let figure = format!("{}, now → then", measure(sheet.objective).name);
        let heads = ["Strategy", "Setting found", &figure, "What binds", ""];
        cells(ui, &SHARES, |ui, k| {
            ui.add(Label::new(RichText::new(heads[k]).font(theme::caption()).color(colors.muted)).wrap());
        });
    }
    for row in &sheet.rows {
        let line = ui.cursor().top();
        ui.painter().hline(ui.max_rect().x_range(), line, Stroke::new(1.0, colors.rule));
        ui.add_space(space::TIGHT);
        ui.push_id(row.strategy, |ui| {
            cells(ui, &SHARES, |ui, k| cell(ui, row, k, asks));
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing = vec2(space::ROW, 0.0);
                ui.label(RichText::new("Searched:").font(theme::caption()).color(colors.muted));
                row.free.iter().for_each(|free| tick(ui, row, free, asks));
            });
        });
        ui.add_space(space::TIGHT);
    }
    ui.add_space(space::ROW);
}

fn cell(ui: &mut Ui, row: &BestRow, k: usize, asks: &mut Vec<BestAsk>) {
    let colors = theme::of(ui);
    let found = &row.found;
    let tone = match found.tone {
        FoundTone::Quiet => colors.muted,
        FoundTone::Good => colors.good,
        FoundTone::Bad => colors.bad,
    };
    match k {
        0 => {
            ui.horizontal(|ui| {
                mark::put(ui, row.slot);
                ui.add(Label::new(RichText::new(&row.name).font(theme::body_strong())).wrap());
            });
        }
        1 => {
            form::colored(ui, &found.head, tone);
            said(ui, &found.setting, &format!("Setting found for {}: {}", row.name, found.setting));
        }
        2 => said(ui, &found.figure, &format!("{}, now and then: {}", row.name, found.figure)),
        3 => {
            said(ui, &found.why, &format!("{}: {}", row.name, found.why));
            if !found.looked.is_empty() {
                let text = RichText::new(&found.looked).font(theme::caption()).color(colors.muted);
                ui.add(Label::new(text).wrap()).on_hover_text(&found.strides);
            }
        }
        _ => adopt(ui, row, asks),
    }
}

/// A text that wraps, with what it is about for whoever does not see where it stands.
fn said(ui: &mut Ui, text: &str, spoken: &str) {
    if !text.is_empty() {
        let response = ui.add(Label::new(text).wrap());
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    }
}

fn tick(ui: &mut Ui, row: &BestRow, free: &FreeTick, asks: &mut Vec<BestAsk>) {
    let mut on = free.search == SearchOf::Free;
    let response = ui.checkbox(&mut on, RichText::new(&free.name).font(theme::caption()));
    form::spoken(ui, &response, &format!("Search {} of {}", free.name, row.name));
    if response.on_hover_text(&free.hint).changed() {
        asks.push(BestAsk::Tick(row.strategy, free.dial.clone()));
    }
}

fn adopt(ui: &mut Ui, row: &BestRow, asks: &mut Vec<BestAsk>) {
    let (text, enabled) = match row.found.adopting {
        Adopting::Nothing => return,
        Adopting::Best => ("Adopt", Enabled::Yes),
        Adopting::Nearest => ("Adopt nearest", Enabled::Yes),
        Adopting::Stands => ("Stands so", Enabled::No),
    };
    let name = format!("Adopt what was found for {}", row.name);
    if form::small(ui, text, &name, "Set the strategy to it: one step, which undo takes back", enabled) {
        asks.push(BestAsk::Adopt(row.strategy));
    }
}
