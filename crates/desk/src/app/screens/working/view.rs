//! The working as it is drawn: one card a step.

use super::WorkingAsk;
use super::model::{Goal, WorkingSheet, goal};
use crate::figures::Freshness;
use crate::shell::elided;
use crate::theme::{self, space};
use egui::{
    Button, ComboBox, Frame, Grid, Key, Label, Rect, RichText, ScrollArea, Sense, Stroke, Ui, pos2, vec2,
};
use obliquity_exchange::{LineRow, StepRow, TermRow, working_signs};
use obliquity_planning::{measure, swept_measures};

/// Lines are never set wider.
const WIDEST: f32 = 760.0;
/// Share of a step's width beyond which what is said of a term wraps.
const WIDEST_TERM: f32 = 0.42;
/// Height of a line of a table.
const LINE: f32 = 18.0;
/// Shares of a step's width where the terms of a line begin, and what it gives.
const OWN: f32 = 0.34;
const GIVES: f32 = 0.84;

/// Draws the screen into all of `ui`.
pub(super) fn ui(ui: &mut Ui, sheet: &WorkingSheet, asks: &mut Vec<WorkingAsk>) {
    tools(ui, sheet, asks);
    ui.add_space(space::ROW);
    ScrollArea::vertical().id_salt(("working", sheet.figure)).auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(WIDEST.min(ui.available_width()));
        let colors = theme::of(ui);
        ui.label(RichText::new(sheet.told()).font(theme::title()));
        ui.add(Label::new(RichText::new(sheet.explanation).color(colors.muted)).wrap());
        if sheet.freshness == Freshness::Stale {
            let text = "Of earlier settings: the new ones are being worked out.";
            ui.label(RichText::new(text).color(colors.warn));
        }
        if let Some(against) = &sheet.against {
            let color = if against.freshness == Freshness::Fresh { colors.ink } else { colors.muted };
            ui.add_space(space::TIGHT);
            ui.add(Label::new(RichText::new(against.text()).color(color)).wrap());
        }
        ui.add_space(space::ROW);
        match &sheet.steps {
            Ok(steps) => steps.iter().enumerate().for_each(|(number, row)| step(ui, number, row, asks)),
            Err(why) => {
                ui.add(Label::new(why).wrap());
            }
        }
        ui.add_space(space::ROW);
        let signs = sheet.steps.as_ref().ok().and_then(|steps| working_signs(steps));
        let note = "All values are metric, with as many digits as it takes to come to what is shown.";
        for text in signs.into_iter().chain([note]) {
            ui.add(Label::new(RichText::new(text).font(theme::caption()).color(colors.muted)).wrap());
        }
    });
}

fn tools(ui: &mut Ui, sheet: &WorkingSheet, asks: &mut Vec<WorkingAsk>) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = space::ROW;
        back(ui, sheet, asks);
        let figure = measure(sheet.figure).name;
        let chooser = ComboBox::from_id_salt("working of figure").selected_text(figure).width(240.0);
        let chosen = chooser.show_ui(ui, |ui| {
            for other in swept_measures() {
                if ui.selectable_label(other.id == sheet.figure, other.name).clicked() {
                    asks.push(WorkingAsk::Go(Goal::Figure(other.id)));
                }
            }
        });
        spoken(ui, chosen.response.id, format!("Figure: {figure}"));
    });
}

/// The way back to where the figure was clicked: a button, or Escape where nothing else takes it.
fn back(ui: &mut Ui, sheet: &WorkingSheet, asks: &mut Vec<WorkingAsk>) {
    let Some(before) = sheet.before else { return };
    let button = ui.add(Button::new(format!("⏴ {before}")));
    spoken(ui, button.id, format!("Back to {before}"));
    let clicked = button.on_hover_text("Back to the screen before (Escape)").clicked();
    let free = ui.memory(|memory| memory.focused().is_none()) && !egui::Popup::is_any_open(ui.ctx());
    if clicked || (free && ui.input(|input| input.key_pressed(Key::Escape))) {
        asks.push(WorkingAsk::Back);
    }
}

fn spoken(ui: &Ui, id: egui::Id, text: String) {
    ui.ctx().accesskit_node_builder(id, |node| node.set_label(text));
}

/// A step: its formula, its terms, its lines, its result, its source.
fn step(ui: &mut Ui, number: usize, row: &StepRow, asks: &mut Vec<WorkingAsk>) {
    let colors = theme::of(ui);
    let frame = Frame::new().fill(colors.surface).corner_radius(6.0).inner_margin(space::GROUP);
    frame.stroke(Stroke::new(1.0, colors.rule)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(&row.heading).font(theme::body_strong()));
        ui.label(&row.formula);
        terms(ui, number, &row.terms, asks);
        lines(ui, &row.lines);
        ui.add_space(space::TIGHT);
        ui.label(RichText::new(&row.result).font(theme::body_strong()));
        ui.add(Label::new(RichText::new(row.source).font(theme::caption()).color(colors.muted)).wrap());
    });
    ui.add_space(space::ROW);
}

/// The terms, one a row.
fn terms(ui: &mut Ui, number: usize, terms: &[TermRow], asks: &mut Vec<WorkingAsk>) {
    if terms.is_empty() {
        return;
    }
    ui.add_space(space::TIGHT);
    let grid = Grid::new(("terms", number)).num_columns(4).spacing([space::PAGE, space::TIGHT]);
    grid.max_col_width(WIDEST_TERM * ui.available_width()).show(ui, |ui| {
        for term in terms {
            ui.label(term.symbol);
            ui.label(&term.name);
            ui.label(&term.value);
            origin(ui, term, asks);
            ui.end_row();
        }
    });
}

/// Where a term is from: a link, where there is somewhere to go.
fn origin(ui: &mut Ui, term: &TermRow, asks: &mut Vec<WorkingAsk>) {
    let colors = theme::of(ui);
    let text = RichText::new(&term.from).font(theme::caption());
    match goal(term) {
        Some(goal) => {
            if ui.link(text.color(colors.accent)).on_hover_text("Click or Enter: go there").clicked() {
                asks.push(WorkingAsk::Go(goal));
            }
        }
        None => {
            ui.label(text.color(colors.muted));
        }
    }
}

/// The lines of a table, those that are in sight: what it is about, its terms, what it gives.
fn lines(ui: &mut Ui, lines: &[LineRow]) {
    if lines.is_empty() {
        return;
    }
    ui.add_space(space::TIGHT);
    let size = vec2(ui.available_width(), LINE * lines.len() as f32);
    let (whole, _) = ui.allocate_exact_size(size, Sense::hover());
    let clip = ui.clip_rect();
    for (number, line) in lines.iter().enumerate() {
        let top = whole.top() + LINE * number as f32;
        let place = Rect::from_min_size(pos2(whole.left(), top), vec2(whole.width(), LINE));
        if clip.intersects(place) {
            one_line(ui, number, line, place);
        }
    }
}

fn one_line(ui: &Ui, number: usize, line: &LineRow, place: Rect) {
    let (colors, width) = (theme::of(ui), place.width());
    let own = if line.own.is_empty() { "counted".to_owned() } else { line.own.join(",  ") };
    let cells = [
        (0.0, OWN, line.name.as_str(), colors.muted),
        (OWN, GIVES, &own, colors.ink),
        (GIVES, 1.0, &line.gives, colors.ink),
    ];
    for (from, to, text, color) in cells {
        let room = (to - from) * width - space::ROW;
        let galley = elided(ui, text, theme::caption(), color, room);
        let at = pos2(place.left() + from * width, place.center().y - galley.size().y / 2.0);
        ui.painter().galley(at, galley, color);
    }
    let response = ui.interact(place, ui.scope_id().with(("line", number)), Sense::hover());
    let said = format!("{}: {own}; {}", line.name, line.gives);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    response.on_hover_text(said);
}
