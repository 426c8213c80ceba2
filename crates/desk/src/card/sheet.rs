//! The card itself: what is on the screen is what is printed.

use super::tiles::{self, Weight, fit_color};
use crate::caution_mark::{MARK, mark};
use crate::show;
use crate::theme::{self, Colors, space};
use egui::{Color32, Label, Rect, RichText, Sense, Stroke, Ui, UiBuilder, pos2, vec2};
use obliquity_exchange::{Card, CardFigure, CardPass, CardReport};

/// From this width on three groups stand side by side.
const WIDE: f32 = 860.0;
/// Of a figure's name in a list.
const LABEL: f32 = 118.0;

/// Draws the card; `reports` draws what stands for the figures that the controller reports.
pub fn sheet(ui: &mut Ui, card: &Card, color: Color32, reports: &mut dyn FnMut(&mut Ui, &CardReport, usize)) {
    ui.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
    head(ui, card, color);
    for pass in &card.passes {
        pass_ui(ui, pass, color);
    }
    ui.add_space(space::ROW);
    groups(ui, card, reports);
    ui.add_space(space::ROW);
    cautions(ui, card);
    ui.add_space(space::TIGHT);
    rule(ui);
    ui.add(Label::new(RichText::new(card.closing).font(theme::body_strong())).wrap());
}

fn rule(ui: &mut Ui) {
    let (line, _) = ui.allocate_exact_size(vec2(ui.available_width(), 5.0), Sense::hover());
    ui.painter().hline(line.x_range(), line.center().y, Stroke::new(1.0, theme::of(ui).rule));
}

fn head(ui: &mut Ui, card: &Card, color: Color32) {
    let colors = theme::of(ui);
    let (bar, _) = ui.allocate_exact_size(vec2(ui.available_width(), 6.0), Sense::hover());
    ui.painter().rect_filled(bar, 2.0, color);
    ui.add(Label::new(RichText::new(&card.strategy).font(theme::headline())).wrap());
    let about = format!("{} on {}, flown with {}", card.scenario, card.site, card.aircraft);
    ui.add(Label::new(RichText::new(about).color(colors.muted)).wrap());
    for reason in &card.reasons {
        let text = format!("Cannot be flown as set: {reason}");
        ui.add(Label::new(RichText::new(text).font(theme::body_strong()).color(colors.bad)).wrap());
    }
}

fn pass_ui(ui: &mut Ui, pass: &CardPass, color: Color32) {
    ui.add_space(space::TIGHT);
    rule(ui);
    let title =
        ui.add(Label::new(RichText::new(&pass.title).font(theme::body_strong()).color(theme::of(ui).ink)));
    let mark = Rect::from_min_size(title.rect.left_bottom(), vec2(title.rect.width(), 2.0));
    ui.painter().rect_filled(mark, 0.0, color);
    ui.add_space(space::TIGHT);
    if let Some(reason) = &pass.refused {
        let text = RichText::new(format!("Left out: {reason}")).font(theme::body_strong());
        ui.add(Label::new(text.color(theme::of(ui).bad)).wrap());
        return;
    }
    let keyed: Vec<&CardFigure> = pass.to_key_in.iter().chain(&pass.cameras).collect();
    let columns = tiles::columns(ui, keyed.len().max(pass.follows.len()));
    tiles::grid(ui, &keyed, Weight::Key, columns, &pass.title);
    ui.add_space(space::TIGHT);
    let checked: Vec<&CardFigure> = pass.follows.iter().collect();
    tiles::grid(ui, &checked, Weight::Check, columns, &pass.title);
}

/// What to take along, the time, and what the controller reports.
fn groups(ui: &mut Ui, card: &Card, reports: &mut dyn FnMut(&mut Ui, &CardReport, usize)) {
    rule(ui);
    let wide = ui.available_width() >= WIDE;
    let shares: &[f32] = if wide { &[0.46, 0.24, 0.30] } else { &[1.0, 1.0, 1.0] };
    let room = ui.available_rect_before_wrap();
    let mut at = room.min;
    let mut lowest = room.top();
    for (index, share) in shares.iter().enumerate() {
        let width = share * room.width();
        let area = Rect::from_min_max(at, pos2(at.x + width - space::PAGE, room.bottom().max(at.y + 10.0)));
        let drawn = ui.scope_builder(UiBuilder::new().id_salt(index).max_rect(area), |ui| match index {
            0 => {
                group(ui, "Before you leave", card.on_hand.iter().chain(&card.surroundings));
            }
            1 => group(ui, "Time on site", &card.time),
            _ => {
                title(ui, "What the controller reports");
                for (row, report) in card.reports.iter().enumerate() {
                    reports(ui, report, row);
                }
            }
        });
        lowest = lowest.max(drawn.response.rect.bottom());
        at = if wide {
            pos2(at.x + width, at.y)
        } else {
            pos2(at.x, drawn.response.rect.bottom() + space::ROW)
        };
    }
    let used = Rect::from_min_max(room.min, pos2(room.right(), lowest));
    ui.advance_cursor_after_rect(used);
}

fn title(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).font(theme::body_strong()));
}

fn group<'a>(ui: &mut Ui, heading: &str, figures: impl IntoIterator<Item = &'a CardFigure>) {
    title(ui, heading);
    for figure in figures {
        list_row(ui, heading, figure);
    }
}

/// Name, figure and note on one line, or on as many as they need.
fn list_row(ui: &mut Ui, of: &str, figure: &CardFigure) {
    let colors = theme::of(ui);
    let sum = figure.label == "together";
    let width = ui.available_width();
    let label = ui.painter().layout(figure.label.clone(), theme::caption(), colors.muted, LABEL);
    let value = value_job(figure, colors, width - LABEL);
    let value = ui.painter().layout_job(value);
    let height = value.size().y.max(label.size().y) + if sum { 4.0 } else { 0.0 };
    let (whole, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let top = if sum { whole.top() + 4.0 } else { whole.top() };
    if sum {
        ui.painter().hline(whole.x_range(), whole.top() + 1.0, Stroke::new(1.0, colors.rule));
    }
    ui.painter().galley(pos2(whole.left(), top + 2.0), label, colors.muted);
    ui.painter().galley(pos2(whole.left() + LABEL, top), value, colors.ink);
    tiles::say(ui, whole, of, figure);
}

fn value_job(figure: &CardFigure, colors: &Colors, width: f32) -> egui::text::LayoutJob {
    let mut job = egui::text::LayoutJob::default();
    job.wrap.max_width = width;
    let strong = egui::TextFormat::simple(theme::body_strong(), fit_color(figure.fit, colors));
    let plain = egui::TextFormat::simple(theme::caption(), colors.muted);
    job.append(&figure.value.replace(' ', "\u{a0}"), 0.0, strong);
    if let Some(also) = &figure.also {
        job.append(&format!(" ({also})"), 0.0, plain.clone());
    }
    if let Some(note) = &figure.note {
        job.append(&format!(", {}", show::unbroken(note)), 0.0, plain);
    }
    job
}

/// The gravest first, with shape and word of their severity and where they come from.
fn cautions(ui: &mut Ui, card: &Card) {
    let colors = theme::of(ui);
    rule(ui);
    title(ui, "Cautions");
    for caution in &card.cautions {
        let color = theme::severity(colors, caution.severity);
        let mut job = egui::text::LayoutJob::default();
        let word = crate::cautions::word(caution.severity);
        job.append(word, MARK, egui::TextFormat::simple(theme::caption_strong(), color));
        let text = egui::TextFormat::simple(theme::caption(), colors.ink);
        job.append(&show::unbroken(&caution.text), space::ROW, text);
        let source = format!("[{}]", crate::cautions::source(caution.source));
        job.append(&source, space::TIGHT, egui::TextFormat::simple(theme::caption(), colors.muted));
        let shown = ui.add(Label::new(job).wrap());
        mark(ui, shown.rect.left_top(), caution.severity, color);
    }
}
