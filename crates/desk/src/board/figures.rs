use super::ask::BoardAsk;
use super::grid::{self, BAND_EDGE, Grid, announce};
use super::model::{BoardBand, Column};
use super::paint;
use crate::theme::{self, space};
use egui::{Rect, Ui, pos2, vec2};

/// The second line under a figure.
pub(super) const NOTE_ROW: f32 = 14.0;

/// One band across all columns, from `top` on; returns where it ends. A click on a figure asks how it comes about.
pub(super) fn band(
    ui: &Ui,
    columns_ui: &Ui,
    grid: &Grid,
    columns: &[Column],
    (band, top, row_height): (&BoardBand, f32, f32),
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    grid::rule(ui, columns_ui, grid, top);
    let title_bottom = grid::margin_title(ui, grid, top, band.title, band.note, band.hint);
    let text_width = paint::text_width(ui, band);
    let colors = theme::of(ui);
    let mut at = if grid.title_width > 0.0 { top + BAND_EDGE } else { title_bottom };
    for (number, row) in band.rows.iter().enumerate() {
        let bottom = at + row_height + if row.is_noted() { NOTE_ROW } else { 0.0 };
        let right = grid.margin_right() - space::ROW;
        let label = ui.painter().layout_no_wrap(row.label.clone(), theme::caption(), colors.ink);
        let place = Rect::from_min_size(
            pos2(right - label.size().x, at + (row_height - label.size().y) / 2.0),
            label.size(),
        );
        ui.painter().galley(place.min, label, colors.ink);
        announce(ui, place, ("label", band.title, number), &row.label, &row.hint);
        for (index, (column, cell)) in columns.iter().zip(&row.cells).enumerate() {
            let area = grid.inside(index, at, bottom);
            let line = Rect::from_min_size(area.min, vec2(area.width(), row_height));
            paint::cell(columns_ui, cell, line, text_width, column);
            let id = (band.title, number, column.strategy.0);
            let hover = format!("{}\n\n{}\n\nClick to see how it comes about.", cell.spoken, row.hint);
            if grid::pressable(columns_ui, area, id, &cell.spoken, &hover).clicked() {
                asks.push(BoardAsk::ShowFigure(column.strategy, row.measure));
            }
        }
        at = bottom;
    }
    at.max(title_bottom) + BAND_EDGE
}
