//! Strokes and bars of the board.

use super::grid::{card_fill, strategy_color};
use super::model::{Bar, BoardBand, Cell, Column, Fails, Limit, Standing, Verdict, Whisker};
use crate::figures::Freshness;
use crate::theme::{self, space};
use egui::{Align2, Color32, Painter, Pos2, Rect, Stroke, Ui, pos2, vec2};

const BAR_HEIGHT: f32 = 9.0;
/// A spread is drawn this wide at least.
const LEAST_SPREAD: f32 = 5.0;
/// Between a figure and the edge: room for its mark.
const MARK_WIDTH: f32 = 16.0;

/// The widest figure of a band, so that all its bars end on one line.
pub(super) fn text_width(ui: &Ui, band: &BoardBand) -> f32 {
    let cells = band.rows.iter().flat_map(|row| &row.cells);
    let width = |cell: &Cell| {
        let text = figure(cell);
        ui.painter().layout_no_wrap(text, theme::caption_strong(), Color32::BLACK).size().x
    };
    cells.map(width).fold(0.0, f32::max)
}

fn figure(cell: &Cell) -> String {
    match cell.freshness {
        Freshness::Stale => format!("{} …", cell.text),
        Freshness::Fresh | Freshness::Pending => cell.text.clone(),
    }
}

/// A figure: trough, bar, requirement line, number and mark.
pub(super) fn cell(ui: &Ui, cell: &Cell, line: Rect, text_width: f32, column: &Column) {
    let colors = theme::of(ui);
    let (color, surface) = (strategy_color(ui, column), card_fill(ui, column));
    let stale = cell.freshness != Freshness::Fresh;
    let text_right = line.right() - MARK_WIDTH;
    let bar_right = text_right - text_width - space::ROW;
    let trough = Rect::from_center_size(
        pos2(f32::midpoint(line.left(), bar_right), line.center().y),
        vec2((bar_right - line.left()).max(8.0), BAR_HEIGHT),
    );
    let painter = ui.painter();
    painter.rect_filled(trough, 2.0, colors.trough);
    if let Some(limit) = cell.limit {
        hatch(painter, trough, limit, colors.rule);
    }
    let line_color = if stale { colors.muted } else { colors.ink };
    let color = if stale { color.gamma_multiply(0.4) } else { color };
    // A bar from zero would hide its line; a spread is what must not be hidden.
    if let (Bar::Spread { .. }, Some(limit)) = (cell.bar, cell.limit) {
        requirement(painter, trough, limit, line_color, surface);
    }
    bar(painter, trough, cell.bar, color, surface);
    if let (Bar::Length(_) | Bar::None, Some(limit)) = (cell.bar, cell.limit) {
        requirement(painter, trough, limit, line_color, surface);
    }
    if let Some(likely) = cell.whisker.filter(|likely| likely.high > likely.low) {
        whisker(painter, trough, likely, colors, surface);
    }
    let missed = cell.standing == Standing::Missed && !stale;
    let text_color = if stale {
        colors.muted
    } else if missed {
        colors.bad
    } else {
        colors.ink
    };
    let at = pos2(text_right, line.center().y);
    painter.text(at, Align2::RIGHT_CENTER, figure(cell), theme::caption_strong(), text_color);
    if !stale {
        standing_mark(painter, pos2(line.right() - 5.0, line.center().y), cell.standing, colors);
    }
    let notes = [cell.note.as_deref(), cell.difference.as_deref()];
    let laid = |parts: &[&str]| painter.layout_no_wrap(parts.join("; "), theme::caption(), colors.muted);
    let parts: Vec<&str> = notes.into_iter().flatten().collect();
    if let Some(first) = parts.first() {
        let both = laid(&parts);
        // Where both are too long for the card, the second is read when pointing at the figure.
        let room = text_right - line.left() + space::ROW;
        let galley = if both.size().x <= room { both } else { laid(&[first]) };
        let at = pos2(text_right - galley.size().x, line.center().y + 8.0);
        painter.galley(at, galley, colors.muted);
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
                Rect::from_center_size(span.center(), vec2(span.width().max(LEAST_SPREAD), BAR_HEIGHT));
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
        Verdict::Unknown => {
            for dx in [-4.0, 0.0, 4.0] {
                painter.circle_filled(at + vec2(dx, 0.0), 1.2, color);
            }
        }
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
