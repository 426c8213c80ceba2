//! Where everything on the board stands. Columns and bands are laid out by hand on one grid, so that every figure of a
//! row stands on the same line and on the same scale in every column.

use super::model::Column;
use crate::theme::{self, space};
use egui::{Color32, CursorIcon, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Titles and row labels beside the columns; in a narrow window the titles stand above their rows.
pub(super) const TITLE_WIDTH: f32 = 108.0;
pub(super) const LABEL_WIDTH: f32 = 110.0;
pub(super) const NARROW: f32 = 900.0;
/// Above and below a band's rows.
pub(super) const BAND_EDGE: f32 = 6.0;
/// A column is never narrower; the board scrolls instead.
const LEAST_COLUMN: f32 = 240.0;
/// Nor is it wider: bars of half a screen are no easier to read.
const MOST_COLUMN: f32 = 460.0;
/// Share of a column that is seen at the right edge, so that nobody overlooks that there are more.
const PEEK: f32 = 0.2;
/// The place after the last column where a strategy is added: wide where there is room, narrow otherwise.
const WIDE_ADDING: f32 = 196.0;
const NARROW_ADDING: f32 = 44.0;

/// Where the columns stand.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    /// Left edge of titles and labels, which stay when the columns are scrolled.
    pub(super) left: f32,
    /// Left edge of the first column's place; it moves when the columns are scrolled.
    columns_left: f32,
    /// 0 where the titles stand above their rows.
    pub(super) title_width: f32,
    column_width: f32,
    adding_width: f32,
    pub(super) count: usize,
}

impl Grid {
    /// A grid in `width` points from `left` on; the content begins at `content_left`, which differs while scrolled.
    pub(super) fn new(left: f32, content_left: f32, width: f32, count: usize) -> Self {
        let title_width = if width < NARROW { 0.0 } else { TITLE_WIDTH };
        let margin = title_width + LABEL_WIDTH;
        let share = |adding: f32| (width - margin - adding) / count.max(1) as f32;
        let adding_width = if share(WIDE_ADDING) >= LEAST_COLUMN { WIDE_ADDING } else { NARROW_ADDING };
        let column_width = if share(adding_width) >= LEAST_COLUMN {
            share(adding_width).floor().min(MOST_COLUMN)
        } else {
            let whole = ((width - margin) / LEAST_COLUMN - PEEK).floor().max(1.0);
            ((width - margin) / (whole + PEEK)).floor().clamp(LEAST_COLUMN, MOST_COLUMN)
        };
        let columns_left = content_left + margin;
        Grid { left, columns_left, title_width, column_width, adding_width, count }
    }

    /// Where titles and labels end and the columns' view begins.
    pub(super) fn margin_right(&self) -> f32 {
        self.left + self.title_width + LABEL_WIDTH
    }

    /// Everything, the place for adding included.
    pub(super) fn width(&self) -> f32 {
        self.title_width + LABEL_WIDTH + self.column_width * self.count as f32 + self.adding_width
    }

    /// The card of a column, from `top` to `bottom`.
    pub(super) fn card(&self, column: usize, top: f32, bottom: f32) -> Rect {
        let left = self.columns_left + self.column_width * column as f32;
        Rect::from_min_max(
            pos2(left + space::TIGHT, top),
            pos2(left + self.column_width - space::TIGHT, bottom),
        )
    }

    /// The part of a card that is written on.
    pub(super) fn inside(&self, column: usize, top: f32, bottom: f32) -> Rect {
        self.card(column, top, bottom).shrink2(vec2(space::GROUP, 0.0))
    }

    /// Where a strategy is added.
    pub(super) fn adding(&self, top: f32, bottom: f32) -> Rect {
        let left = self.columns_left + self.column_width * self.count as f32;
        let right = left + self.adding_width - space::ROW;
        Rect::from_min_max(pos2(left + space::TIGHT, top), pos2(right, bottom))
    }

    /// Whether the place for adding has room for explanations.
    pub(super) fn explains_adding(&self) -> bool {
        self.adding_width >= WIDE_ADDING
    }
}

/// A line across titles, labels and columns; the columns' part is drawn where they are seen.
pub(super) fn rule(ui: &Ui, columns_ui: &Ui, grid: &Grid, y: f32) {
    let stroke = Stroke::new(1.0, theme::of(ui).rule);
    ui.painter().hline(grid.left..=grid.margin_right() - space::ROW, y, stroke);
    for column in 0..grid.count {
        let card = grid.card(column, y, y);
        columns_ui.painter().hline(card.left()..=card.right(), y, stroke);
    }
}

/// A title with its note in the margin; returns where it ends.
pub(super) fn margin_title(ui: &Ui, grid: &Grid, top: f32, title: &str, note: &str, hint: &str) -> f32 {
    let colors = theme::of(ui);
    let at = pos2(grid.left, top + BAND_EDGE);
    let galley = ui.painter().layout_no_wrap(title.to_owned(), theme::body_strong(), colors.ink);
    let mut whole = Rect::from_min_size(at, galley.size());
    ui.painter().galley(at, galley, colors.ink);
    let mut bottom = whole.bottom() + space::HAIR;
    if grid.title_width > 0.0 && !note.is_empty() {
        let width = grid.title_width - space::TIGHT;
        let note = ui.painter().layout(note.to_owned(), theme::caption(), colors.muted, width);
        let below = whole.left_bottom();
        whole = whole.union(Rect::from_min_size(below, note.size()));
        ui.painter().galley(below, note, colors.muted);
        bottom = whole.bottom();
    }
    announce(ui, whole, ("title", title), title, hint);
    bottom
}

/// Gives something painted a text for those who do not see it, and one to read when pointing at it.
pub(super) fn announce(
    ui: &Ui,
    area: Rect,
    id: impl std::hash::Hash + std::fmt::Debug,
    spoken: &str,
    hover: &str,
) -> Response {
    let response = ui.interact(area, ui.scope_id().with(id), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    if hover.is_empty() { response } else { response.on_hover_text(hover) }
}

/// The same of a figure that can be pressed.
pub(super) fn pressable(
    ui: &Ui,
    area: Rect,
    id: impl std::hash::Hash + std::fmt::Debug,
    spoken: &str,
    hover: &str,
) -> Response {
    let response = ui.interact(area, ui.scope_id().with(id), Sense::CLICK);
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    response.on_hover_text(hover).on_hover_cursor(CursorIcon::PointingHand)
}

/// The mark of what is unlike the reference strategy: a small lozenge.
pub(super) fn differs_mark(ui: &Ui, at: egui::Pos2, color: Color32) {
    let arm = 3.5;
    let points = [vec2(0.0, -arm), vec2(arm, 0.0), vec2(0.0, arm), vec2(-arm, 0.0)].map(|d| at + d);
    ui.painter().add(egui::Shape::convex_polygon(points.to_vec(), color, Stroke::NONE));
}

/// The colour of a strategy's bars and rails: faint where it fails, so that the eye finds those that pass first.
pub(super) fn strategy_color(ui: &Ui, column: &Column) -> Color32 {
    let colors = theme::of(ui);
    let full = colors.strategy(column.slot);
    if column.is_muted() { card_fill(ui, column).lerp_to_gamma(full, 0.5) } else { full }
}

/// What is behind a column.
pub(super) fn card_fill(ui: &Ui, column: &Column) -> Color32 {
    let colors = theme::of(ui);
    if column.is_muted() { colors.page.lerp_to_gamma(colors.surface, 0.35) } else { colors.surface }
}
