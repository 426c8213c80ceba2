//! Draws the time budget and what its spread comes from.

use super::ask::TimelineAsk;
use super::breakdown::{Breakdown, BudgetRow, CauseRow, Level};
use crate::figures::Freshness;
use crate::opens;
use crate::theme::{self, space};
use egui::{Align2, Color32, Label, Rect, RichText, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use obliquity_planning::MeasureId;

const ROW: f32 = 18.0;
/// Width of a row's name and of its figure.
const NAME: f32 = 126.0;
const FIGURE: f32 = 58.0;
const SPAN: f32 = 96.0;

/// What the time on site is made of.
pub(super) fn budget(ui: &mut Ui, breakdown: &Breakdown, color: Color32, asks: &mut Vec<TimelineAsk>) {
    title(ui, "Time budget, to the second");
    let total = breakdown.budget.last().map_or(1, |row| row.seconds.max(1));
    for row in &breakdown.budget {
        budget_row(ui, row, total, color, asks);
    }
}

fn title(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).font(theme::body_strong()));
    ui.add_space(space::HAIR);
}

/// A place for a row, with what is said of it.
fn place(ui: &mut Ui, spoken: &str) -> Rect {
    let (place, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    place
}

/// A place for a figure, which opens how it comes about.
fn opening(ui: &mut Ui, spoken: &str, measure: MeasureId, asks: &mut Vec<TimelineAsk>) -> Rect {
    let (place, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    if opens::figure(ui, place, response.id.with("opens"), spoken, "").clicked() {
        asks.push(TimelineAsk::Figure(measure));
    }
    place
}

fn budget_row(ui: &mut Ui, row: &BudgetRow, total: u64, color: Color32, asks: &mut Vec<TimelineAsk>) {
    let place = opening(ui, &format!("{}: {}", row.name, row.text), row.measure, asks);
    let (painter, colors) = (ui.painter(), theme::of(ui));
    let (font, inset, ink) = match row.level {
        Level::Total => (theme::caption_strong(), 0.0, colors.ink),
        Level::Part => (theme::caption(), 0.0, colors.ink),
        Level::Flown => (theme::caption(), space::PAGE, colors.muted),
    };
    if row.level == Level::Total {
        painter.hline(place.x_range(), place.top(), Stroke::new(1.0, colors.rule));
    }
    let middle = place.center().y;
    painter.text(pos2(place.left() + inset, middle), Align2::LEFT_CENTER, row.name, font.clone(), ink);
    painter.text(pos2(place.right(), middle), Align2::RIGHT_CENTER, &row.text, font, ink);
    let room = Rect::from_min_max(
        pos2(place.left() + NAME, middle - 4.0),
        pos2(place.right() - FIGURE, middle + 4.0),
    );
    if row.level == Level::Total || room.width() < 20.0 {
        return;
    }
    painter.rect_filled(room, 2.0, colors.trough);
    let share = (row.seconds as f32 / total as f32).clamp(0.0, 1.0);
    let fill = if row.level == Level::Flown { colors.surface.lerp_to_gamma(color, 0.5) } else { color };
    painter.rect_filled(room.with_max_x(room.left() + share * room.width()), 2.0, fill);
}

/// How sure the figures are, and what their spread comes from.
pub(super) fn spread(ui: &mut Ui, breakdown: &Breakdown, asks: &mut Vec<TimelineAsk>) {
    title(ui, "Uncertainty (estimated)");
    let stale = breakdown.freshness == Freshness::Stale;
    let colors = theme::of(ui);
    let ink = if stale { colors.muted } else { colors.ink };
    for row in &breakdown.likely {
        let place = opening(ui, &format!("{}, estimated: {}", row.name, row.text), row.measure, asks);
        let middle = place.center().y;
        ui.painter().text(pos2(place.left(), middle), Align2::LEFT_CENTER, row.name, theme::caption(), ink);
        ui.painter().text(
            pos2(place.right(), middle),
            Align2::RIGHT_CENTER,
            &row.text,
            theme::caption_strong(),
            ink,
        );
    }
    if !breakdown.causes.is_empty() {
        ui.add_space(space::ROW);
        title(ui, "What the spread comes from");
        let bounds = breakdown.causes.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), row| {
            (low.min(row.from_s), high.max(row.to_s))
        });
        for row in &breakdown.causes {
            cause(ui, row, bounds, ink);
        }
    }
    ui.add_space(space::TIGHT);
    let updating = if stale { "Of earlier settings, being estimated again. " } else { "" };
    let note = format!("{updating}{}", breakdown.note);
    ui.add(Label::new(RichText::new(note).font(theme::caption()).color(colors.muted)).wrap());
}

fn cause(ui: &mut Ui, row: &CauseRow, (low_s, high_s): (f64, f64), ink: Color32) {
    let place = place(ui, &format!("{}: time on site {}", row.name, row.text));
    let (painter, middle) = (ui.painter(), place.center().y);
    painter.text(pos2(place.left(), middle), Align2::LEFT_CENTER, row.name, theme::caption(), ink);
    painter.text(pos2(place.right(), middle), Align2::RIGHT_CENTER, &row.text, theme::caption(), ink);
    let (left, right) = (place.left() + 110.0, place.right() - SPAN - 4.0);
    if right - left < 20.0 || high_s <= low_s {
        return;
    }
    let x = |at_s: f64| {
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let share = ((at_s - low_s) / (high_s - low_s)) as f32;
        left + share * (right - left)
    };
    let stroke = Stroke::new(1.5, ink);
    painter.hline(x(row.from_s)..=x(row.to_s), middle, stroke);
    for end in [x(row.from_s), x(row.to_s)] {
        painter.vline(end, middle - 3.5..=middle + 3.5, stroke);
    }
}
