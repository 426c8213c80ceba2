//! Strokes and bars of the board.

use super::bands::WORK_IT_OUT;
use super::grid::strategy_color;
use super::model::{
    Bar, Cell, CellLook, CellOpens, Column, Difference, Fails, Limit, Sense, Standing, Verdict, Whisker,
    Worth,
};
use crate::figures::Freshness;
use crate::theme::{self, space};
use egui::text::{LayoutJob, TextWrapping};
use egui::{Color32, FontId, Galley, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, pos2, vec2};
use std::sync::Arc;

/// Height of a bar, and its share of its row where that is tall.
const BAR_HEIGHTS: std::ops::RangeInclusive<f32> = 9.0..=12.0;
const BAR_SHARE: f32 = 0.32;
/// A spread is drawn this wide at least.
const LEAST_SPREAD: f32 = 5.0;
/// A figure, its mark, and how far it is from the reference's: places that no text changes.
const NUMBER_WIDTH: f32 = 54.0;
const MARK_WIDTH: f32 = 15.0;
const DIFFERENCE_WIDTH: f32 = 50.0;
/// Before the number of a difference.
const ARROW_WIDTH: f32 = 12.0;

/// A text in so many rows of a width, its end cut off with an ellipsis where it is longer.
pub(super) fn elided(
    ui: &Ui,
    text: &str,
    font: FontId,
    color: Color32,
    max_width: f32,
    max_rows: usize,
) -> Arc<Galley> {
    let mut job = LayoutJob::simple(text.to_owned(), font, color, max_width);
    job.wrap = TextWrapping { max_width, max_rows, break_anywhere: max_rows == 1, ..TextWrapping::default() };
    ui.painter().layout_job(job)
}

/// Whether differences stand in the cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Differences {
    /// A reference is chosen.
    Shown,
    /// None is.
    None,
}

/// Where the parts of a cell stand.
struct Places {
    trough: Rect,
    number_right: f32,
    mark: Pos2,
    difference: Rect,
}

impl Places {
    fn new(line: Rect, differences: Differences) -> Self {
        let beside = match differences {
            Differences::Shown => DIFFERENCE_WIDTH,
            Differences::None => 0.0,
        };
        let mark_right = line.right() - beside;
        let number_right = mark_right - MARK_WIDTH;
        let bar_right = number_right - NUMBER_WIDTH - space::TIGHT;
        // Letters stand a little above the middle of their line.
        let y = line.center().y - 1.5;
        let height = (BAR_SHARE * line.height()).floor().clamp(*BAR_HEIGHTS.start(), *BAR_HEIGHTS.end());
        Places {
            trough: Rect::from_center_size(
                pos2(f32::midpoint(line.left(), bar_right), y),
                vec2((bar_right - line.left()).max(8.0), height),
            ),
            number_right,
            mark: pos2(mark_right - 6.0, y),
            difference: line.with_min_x(mark_right),
        }
    }
}

/// A figure: trough, bar, requirement line, number, mark, and the difference from the reference's.
pub(super) fn cell(ui: &Ui, cell: &Cell, line: Rect, differences: Differences, column: &Column) {
    let colors = theme::of(ui);
    let stale = cell.freshness != Freshness::Fresh;
    let places = Places::new(line, differences);
    let is_missed = cell.opens == CellOpens::Block && cell.freshness == Freshness::Pending;
    if is_missed || cell.opens == CellOpens::Price {
        let leads = cell.text == WORK_IT_OUT || cell.opens == CellOpens::Price;
        let color = if leads { colors.accent } else { colors.muted };
        let words = elided(ui, &cell.text, theme::caption(), color, line.width(), 1);
        let at = pos2(line.left(), line.center().y - words.size().y / 2.0);
        ui.painter().galley(at, words, color);
        return;
    }
    drawing(ui, cell, places.trough, column);
    let color = match cell.standing {
        _ if stale || cell.doubt.is_some() => colors.muted,
        Standing::Missed => colors.bad,
        Standing::Open | Standing::Met => colors.ink,
    };
    let text = cell.text.replace("about ", "≈ ");
    let text = if cell.doubt.is_some() { format!("{text}*") } else { text };
    let text = if cell.look == CellLook::First { format!("≈ {text}") } else { text };
    let number = elided(ui, &text, theme::caption_strong(), color, NUMBER_WIDTH, 1);
    let at = pos2(places.number_right - number.size().x, line.center().y - number.size().y / 2.0);
    ui.painter().galley(at, number, color);
    if stale {
        late(ui.painter(), places.mark, colors.muted);
    } else {
        standing_mark(ui.painter(), places.mark, cell.standing, colors);
    }
    if let Some(other) = cell.difference.as_ref().filter(|_| differences == Differences::Shown) {
        // Where no mark stands before it, a long number may begin there.
        let free = if cell.standing == Standing::Open && !stale { MARK_WIDTH } else { 0.0 };
        let place = places.difference;
        difference(ui, other, place.with_min_x(place.left() - free), colors);
    }
}

/// A thin mark where a value stood before the setting that is being dragged was touched.
fn before_mark(painter: &Painter, trough: Rect, at: f64, colors: &theme::Colors) {
    let x = trough.left() + at.clamp(0.0, 1.0) as f32 * trough.width();
    let reach = trough.top() - 3.0..=trough.bottom() + 3.0;
    painter.vline(x, reach.clone(), Stroke::new(3.0, colors.surface));
    painter.vline(x, reach, Stroke::new(1.0, colors.accent));
}

/// Trough, bar, requirement line and whisker.
fn drawing(ui: &Ui, cell: &Cell, trough: Rect, column: &Column) {
    let colors = theme::of(ui);
    let stale = cell.freshness != Freshness::Fresh;
    let painter = ui.painter();
    // Hollow, so that every strategy's colour stands out against it as it does against the card.
    painter.rect_filled(trough, 2.0, colors.surface);
    painter.rect_stroke(trough, 2.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
    if let Some(limit) = cell.limit {
        hatch(painter, trough, limit, colors.rule);
    }
    let line_color = if stale { colors.muted } else { colors.ink };
    let full = strategy_color(ui, column);
    let color = if stale { full.gamma_multiply(0.4) } else { full };
    // A bar from zero would hide its line; a spread is what must not be hidden.
    if let (Bar::Spread { .. }, Some(limit)) = (cell.bar, cell.limit) {
        requirement(painter, trough, limit, line_color, colors.surface);
    }
    bar(painter, trough, cell.bar, color, colors.surface);
    if let (Bar::Length(_) | Bar::None, Some(limit)) = (cell.bar, cell.limit) {
        requirement(painter, trough, limit, line_color, colors.surface);
    }
    if let Some(at) = cell.before {
        before_mark(painter, trough, at, colors);
    }
    if let Some(likely) = cell.whisker.filter(|likely| likely.high > likely.low) {
        whisker(painter, trough, likely, colors, colors.surface);
    }
}

/// An arrow and a signed number.
fn difference(ui: &Ui, other: &Difference, place: Rect, colors: &theme::Colors) {
    let color = match other.worth {
        Worth::Better => colors.good,
        Worth::Worse => colors.muted,
    };
    let width = place.width() - ARROW_WIDTH;
    let number = elided(ui, &other.number, theme::caption(), color, width, 1);
    let at = pos2(place.right() - number.size().x, place.center().y - number.size().y / 2.0);
    arrow(
        ui.painter(),
        pos2(at.x - ARROW_WIDTH / 2.0 - 0.5, place.center().y - 1.0),
        other.sense,
        other.worth,
        colors,
    );
    ui.painter().galley(at, number, color);
}

/// A triangle that points up for more and down for less; filled for better, hollow for worse.
pub(super) fn arrow(painter: &Painter, at: Pos2, sense: Sense, worth: Worth, colors: &theme::Colors) {
    let up = if sense == Sense::More { -1.0 } else { 1.0 };
    let points = [vec2(0.0, 3.6 * up), vec2(3.8, -2.8 * up), vec2(-3.8, -2.8 * up)].map(|d| at + d).to_vec();
    painter.add(match worth {
        Worth::Better => Shape::convex_polygon(points, colors.good, Stroke::new(1.0, colors.good)),
        Worth::Worse => Shape::closed_line(points, Stroke::new(1.2, colors.muted)),
    });
}

/// Three dots: it belongs to earlier settings, or is not known yet.
fn late(painter: &Painter, at: Pos2, color: Color32) {
    for dx in [-4.0, 0.0, 4.0] {
        painter.circle_filled(at + vec2(dx, 0.0), 1.2, color);
    }
}

/// The requirement's line, set off from what it crosses.
fn requirement(painter: &Painter, trough: Rect, limit: Limit, color: Color32, surface: Color32) {
    let x = at_share(trough, limit.at);
    let reach = trough.top() - 3.0..=trough.bottom() + 3.0;
    painter.vline(x, reach.clone(), Stroke::new(4.0, surface));
    painter.vline(x, reach, Stroke::new(2.0, color));
}

fn bar(painter: &Painter, trough: Rect, bar: Bar, color: Color32, surface: Color32) {
    match bar {
        Bar::None => {}
        Bar::Length(to) => {
            let filled = Rect::from_min_max(trough.min, pos2(at_share(trough, to), trough.bottom()));
            painter.rect_filled(filled, 2.0, color);
        }
        Bar::Spread { low, middle, high } => {
            let (left, right) = (at_share(trough, low), at_share(trough, high));
            let span = Rect::from_x_y_ranges(left..=right, trough.y_range());
            let wide =
                Rect::from_center_size(span.center(), vec2(span.width().max(LEAST_SPREAD), span.height()));
            painter.rect_filled(wide, 2.0, color);
            if span.width() > 2.0 * LEAST_SPREAD {
                painter.vline(at_share(trough, middle), trough.y_range(), Stroke::new(2.0, surface));
            }
        }
    }
}

/// A line from the low end to the high one with a foot at each, set off from what it crosses.
fn whisker(painter: &Painter, trough: Rect, whisker: Whisker, colors: &theme::Colors, surface: Color32) {
    let fresh = whisker.freshness == Freshness::Fresh;
    let color = if fresh { colors.ink } else { colors.muted.gamma_multiply(0.5) };
    let (left, right) = (at_share(trough, whisker.low), at_share(trough, whisker.high));
    let (y, foot) = (trough.center().y, 3.0);
    for (width, color) in [(3.0, surface), (1.2, color)] {
        let stroke = Stroke::new(width, color);
        painter.hline(left..=right, y, stroke);
        for x in [left, right] {
            painter.vline(x, y - foot..=y + foot, stroke);
        }
    }
}

/// Slanted lines on the side of the requirement where a figure fails.
fn hatch(painter: &Painter, trough: Rect, limit: Limit, color: Color32) {
    let x = at_share(trough, limit.at);
    let failing = match limit.fails {
        Fails::Left => Rect::from_min_max(trough.min, pos2(x, trough.bottom())),
        Fails::Right => Rect::from_min_max(pos2(x, trough.top()), trough.max),
    };
    let clipped = painter.with_clip_rect(failing.intersect(painter.clip_rect()));
    let mut left = failing.left() - trough.height();
    while left < failing.right() {
        let ends = [pos2(left, trough.bottom()), pos2(left + trough.height(), trough.top())];
        clipped.line_segment(ends, Stroke::new(1.0, color));
        left += 5.0;
    }
}

fn standing_mark(painter: &Painter, at: Pos2, standing: Standing, colors: &theme::Colors) {
    match standing {
        Standing::Open => {}
        Standing::Met => tick(painter, at, colors.good),
        Standing::Missed => cross(painter, at, colors.bad),
    }
}

/// The mark before a verdict: a tick, a cross, a dash where not all is judged, or three dots.
pub(super) fn verdict_mark(painter: &Painter, at: Pos2, verdict: Verdict, color: Color32) {
    match verdict {
        Verdict::Meets => tick(painter, at, color),
        Verdict::Misses | Verdict::Infeasible | Verdict::Failed => cross(painter, at, color),
        Verdict::NotJudged => {
            painter.hline(at.x - 4.0..=at.x + 4.0, at.y, Stroke::new(1.8, color));
        }
        Verdict::Unknown => late(painter, at, color),
    }
}

fn tick(painter: &Painter, at: Pos2, color: Color32) {
    let points = [vec2(-4.0, 0.5), vec2(-1.5, 3.0), vec2(4.0, -3.5)];
    painter.line(points.map(|d| at + d).to_vec(), Stroke::new(1.8, color));
}

fn cross(painter: &Painter, at: Pos2, color: Color32) {
    let arm = 3.2;
    for [a, b] in [[vec2(-arm, -arm), vec2(arm, arm)], [vec2(-arm, arm), vec2(arm, -arm)]] {
        painter.line_segment([at + a, at + b], Stroke::new(1.8, color));
    }
}

/// A point of a rectangle, by shares of its sides.
fn at_share(area: Rect, share: f64) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
    let share = share.clamp(0.0, 1.0) as f32;
    area.left() + area.width() * share
}
