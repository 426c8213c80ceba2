//! Where everything on the board stands. Columns and bands are laid out by hand on one grid, so that every figure of a
//! row stands on the same line and on the same scale in every column. Nothing of it depends on a text or on what is known
//! so far: only on the window, on what the scenario holds and on what is opened.

use super::model::Column;
use crate::opens;
use crate::theme::{self, space};
use egui::{Color32, CursorIcon, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Titles and row labels beside the columns; in a narrow window the titles stand above their rows.
pub(super) const TITLE_WIDTH: f32 = 84.0;
pub(super) const LABEL_WIDTH: f32 = 124.0;
pub(super) const NARROW: f32 = 900.0;
/// Above and below a band's rows.
pub(super) const BAND_EDGE: f32 = 5.0;
/// A band's title where it stands above its rows.
pub(super) const TITLE_ROW: f32 = 18.0;
/// From a card's edge to what is written on it.
const EDGE: f32 = 7.0;
/// A column is never narrower; the board scrolls instead.
const LEAST_COLUMN: f32 = 196.0;
/// Nor is it wider, unless one alone has less than all of the window: bars of half a screen are no easier to read.
const MOST_COLUMN: f32 = 280.0;
/// So many columns have room in a usual window.
const USUAL_COLUMNS: f32 = 5.0;
/// Stripe and name of a strategy: they stay when the board is scrolled down.
pub(super) const NAME: f32 = 32.0;
/// Aircraft, verdict and what is missed most, under the name.
pub(super) const DETAIL: f32 = 82.0;
/// From this height on all of a head stays, and not its name only.
const TALL: f32 = 380.0;

/// Where the columns stand.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    /// What is seen of the board.
    pub(super) view: Rect,
    /// Where the scrolled content begins: its top moves when the board is scrolled down.
    pub(super) top: f32,
    /// Left edge of titles and labels, which stay when the columns are scrolled.
    pub(super) left: f32,
    /// Left edge of the first column's place; it moves when the columns are scrolled.
    columns_left: f32,
    /// 0 where the titles stand above their rows.
    pub(super) title_width: f32,
    column_width: f32,
    pub(super) count: usize,
}

impl Grid {
    /// The grid of a view whose content begins at `content`, which differs from the view's corner while it is scrolled.
    pub(super) fn new(view: Rect, content: egui::Pos2, count: usize) -> Self {
        let title_width = if view.width() < NARROW { 0.0 } else { TITLE_WIDTH };
        let margin = title_width + LABEL_WIDTH;
        let room = view.width() - margin - space::ROW;
        let usual = room / USUAL_COLUMNS;
        let in_view = if usual < LEAST_COLUMN {
            (room / LEAST_COLUMN).floor().max(1.0)
        } else {
            (room / MOST_COLUMN).ceil().max(USUAL_COLUMNS)
        };
        Grid {
            view,
            top: content.y,
            left: view.left(),
            columns_left: content.x + margin,
            title_width,
            column_width: (room / in_view).floor().max(LEAST_COLUMN),
            count,
        }
    }

    /// Where titles and labels end and the columns' view begins.
    pub(super) fn margin_right(&self) -> f32 {
        self.left + self.title_width + LABEL_WIDTH
    }

    /// Titles, labels and all columns.
    pub(super) fn width(&self) -> f32 {
        self.title_width + LABEL_WIDTH + self.column_width * self.count as f32
    }

    /// The place of a column, from `top` to `bottom`.
    pub(super) fn card(&self, column: usize, top: f32, bottom: f32) -> Rect {
        let left = self.columns_left + self.column_width * column as f32;
        Rect::from_min_max(
            pos2(left + space::TIGHT, top),
            pos2(left + self.column_width - space::TIGHT, bottom),
        )
    }

    /// The part of a card that is written on.
    pub(super) fn inside(&self, column: usize, top: f32, bottom: f32) -> Rect {
        self.card(column, top, bottom).shrink2(vec2(EDGE, 0.0))
    }

    /// The place after the last column, where all of it is seen without scrolling.
    pub(super) fn free_place(&self, bottom: f32) -> Option<Rect> {
        let place = self.card(self.count, self.view.top(), bottom);
        let fits = self.width() + self.column_width <= self.view.width() + 0.5;
        fits.then_some(place)
    }

    /// Whether a column stands in sight, all or nearly all of it.
    pub(super) fn in_sight(&self, column: usize) -> bool {
        let card = self.card(column, self.view.top(), self.view.top());
        let seen = card.right().min(self.view.right()) - card.left().max(self.margin_right());
        seen >= 0.75 * card.width()
    }

    /// What to scroll to so that a column stands beside titles and labels.
    pub(super) fn brought_to_sight(&self, column: usize) -> Rect {
        let card = self.card(column, self.view.top(), self.view.top() + 1.0);
        card.with_min_x(card.left() - (self.margin_right() - self.left) - space::TIGHT)
            .with_max_x(card.right() + space::ROW)
    }

    /// Whether the whole head of a column stays when the board is scrolled down, and not its name only.
    fn keeps_heads(&self) -> bool {
        self.view.height() >= TALL
    }

    /// Where the details under a name begin.
    pub(super) fn detail_top(&self) -> f32 {
        NAME + if self.keeps_heads() { self.view.top() } else { self.top }
    }

    /// Above this nothing that is scrolled shows: there the heads stay.
    pub(super) fn heads_bottom(&self) -> f32 {
        self.view.top() + if self.keeps_heads() { NAME + DETAIL } else { NAME }
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

/// Something painted that opens or goes somewhere, for a click.
pub(super) fn link(
    ui: &Ui,
    area: Rect,
    id: impl std::hash::Hash + std::fmt::Debug,
    spoken: &str,
    hover: &str,
) -> Response {
    let response = ui.interact(area, ui.scope_id().with(id), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, spoken));
    opens::edge(ui, &response);
    response.on_hover_text(hover).on_hover_cursor(CursorIcon::PointingHand)
}

/// The mark of what is unlike the reference strategy: a small lozenge.
pub(super) fn differs_mark(ui: &Ui, at: egui::Pos2, color: Color32) {
    let arm = 3.5;
    let points = [vec2(0.0, -arm), vec2(arm, 0.0), vec2(0.0, arm), vec2(-arm, 0.0)].map(|d| at + d);
    ui.painter().add(egui::Shape::convex_polygon(points.to_vec(), color, Stroke::NONE));
}

/// The colour of a strategy's stripe, bars and rails: the same whether it passes or fails.
pub(super) fn strategy_color(ui: &Ui, column: &Column) -> Color32 {
    theme::of(ui).strategy(column.slot)
}
