//! Figures as tiles in a grid.

use crate::theme::{self, Colors, space};
use egui::{FontId, Galley, Rect, Role, Sense, Ui, Vec2, WidgetInfo, pos2, vec2};
use obliquity_exchange::{CardFigure, CardFit};
use std::sync::Arc;

/// How large figures are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    /// To be keyed in.
    Key,
    /// To be checked against.
    Check,
}

impl Weight {
    fn font(self) -> FontId {
        match self {
            Weight::Key => FontId::new(24.0, theme::strong()),
            Weight::Check => FontId::new(theme::size::TITLE, theme::strong()),
        }
    }
}

/// A tile is never narrower.
const LEAST_WIDTH: f32 = 140.0;

/// A figure laid out.
struct Tile {
    label: Arc<Galley>,
    value: Arc<Galley>,
    also: Option<Arc<Galley>>,
    note: Option<Arc<Galley>>,
    /// Whether the other value stands under the figure for want of room beside it.
    stacked: Option<()>,
}

impl Tile {
    fn new(ui: &Ui, figure: &CardFigure, weight: Weight, width: f32, colors: &Colors) -> Self {
        let painter = ui.painter();
        let color = fit_color(figure.fit, colors);
        let label = painter.layout_no_wrap(figure.label.clone(), theme::caption(), colors.muted);
        let value = painter.layout(figure.value.clone(), weight.font(), color, width);
        let also =
            figure.also.clone().map(|also| painter.layout(also, theme::body_strong(), colors.ink, width));
        let note = figure
            .note
            .as_ref()
            .map(|note| painter.layout(crate::show::unbroken(note), theme::caption(), colors.muted, width));
        let beside = also.as_ref().map(|also| value.size().x + space::ROW + also.size().x <= width);
        Tile { label, value, also, note, stacked: beside.and_then(|beside| (!beside).then_some(())) }
    }

    fn height(&self) -> f32 {
        let note = self.note.as_ref().map_or(0.0, |note| note.size().y);
        let stacked = self.stacked.and(self.also.as_ref()).map_or(0.0, |also| also.size().y);
        self.label.size().y + self.value.size().y + stacked + note
    }

    fn paint(self, ui: &Ui, area: Rect, ink: egui::Color32) {
        let painter = ui.painter();
        let mut at = area.min;
        let label_height = self.label.size().y;
        painter.galley(at, self.label, ink);
        at.y += label_height;
        let value = self.value.size();
        painter.galley(at, self.value, ink);
        if let Some(also) = self.also {
            let beside = pos2(at.x + value.x + space::ROW, at.y + value.y - also.size().y - 1.5);
            let below = pos2(at.x, at.y + value.y);
            let height = also.size().y;
            painter.galley(if self.stacked.is_some() { below } else { beside }, also, ink);
            at.y += if self.stacked.is_some() { height } else { 0.0 };
        }
        at.y += value.y;
        if let Some(note) = self.note {
            painter.galley(at, note, ink);
        }
    }
}

/// What is short of what there is stands out.
pub(super) fn fit_color(fit: CardFit, colors: &Colors) -> egui::Color32 {
    match fit {
        CardFit::Short => colors.bad,
        CardFit::Open | CardFit::Enough => colors.ink,
    }
}

/// How many tiles stand in a row, so that `most` of them need as few rows as can be, all about as full.
pub(super) fn columns(ui: &Ui, most: usize) -> usize {
    let fitting = (1..=most.max(1)).rev().find(|count| ui.available_width() >= LEAST_WIDTH * *count as f32);
    let rows = most.div_ceil(fitting.unwrap_or(1)).max(1);
    most.div_ceil(rows).max(1)
}

/// Lays figures out in rows of equal tiles.
pub(super) fn grid(ui: &mut Ui, figures: &[&CardFigure], weight: Weight, columns: usize, of: &str) {
    let width = ui.available_width();
    let cell = width / columns as f32;
    let colors = theme::of(ui);
    for row in figures.chunks(columns) {
        let tiles: Vec<Tile> =
            row.iter().map(|figure| Tile::new(ui, figure, weight, cell - space::GROUP, colors)).collect();
        let height = tiles.iter().map(Tile::height).fold(0.0, f32::max);
        let (whole, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let mut left = whole.left();
        for (tile, figure) in tiles.into_iter().zip(row) {
            let area = Rect::from_min_size(pos2(left, whole.top()), Vec2::new(cell - space::GROUP, height));
            tile.paint(ui, area, colors.ink);
            say(ui, area, of, figure);
            left += cell;
        }
    }
}

/// Says a figure to those who do not see it.
pub(super) fn say(ui: &Ui, area: Rect, of: &str, figure: &CardFigure) {
    let response = ui.interact(area, ui.scope_id().with((of, &figure.label)), Sense::hover());
    let spoken = format!("{of}, {}: {}", figure.label, figure.sentence());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
}
