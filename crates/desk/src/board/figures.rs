use super::ask::{BoardAsk, Session};
use super::grid::{self, BAND_EDGE, Grid, TITLE_ROW, announce};
use super::model::{Board, BoardBand, Cell, CellLook, CellOpens, Fold, Place, Row, ViewAngles};
use super::paint::{self, Differences};
use super::roses;
use crate::opens;
use crate::theme::{self, space};
use egui::{Align2, Rect, Ui, pos2, vec2};
use obliquity_planning::MeasureId;

/// Heights that are the same for all rows of a kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heights {
    /// A row of figures.
    pub(super) row: f32,
    /// The view angles.
    pub(super) roses: f32,
    /// What is left below the bands while nothing is opened.
    pub(super) spare: f32,
}

/// Rows spread out where the window is tall.
const ROW: std::ops::RangeInclusive<f32> = 18.0..=30.0;
/// So do the view angles, when rows have all that they take.
const ROSES: std::ops::RangeInclusive<f32> = 48.0..=128.0;

impl Heights {
    /// Rows and roses that fill what is left under heads and settings, within bounds: as if nothing were opened, so that rows
    /// keep their height when something is.
    pub(super) fn new(grid: &Grid, board: &Board, free: f32) -> Self {
        let rows = board.bands.iter().flat_map(|band| band.shown(Fold::Closed)).count().max(1) as f32;
        let titles = if grid.title_width > 0.0 { 0.0 } else { TITLE_ROW };
        let edges = board.bands.len() as f32 * (2.0 * BAND_EDGE + titles) + space::TIGHT;
        let free = free - edges;
        let row = ((free - ROSES.start()) / rows).floor().clamp(*ROW.start(), *ROW.end());
        let widest = grid.inside(0, 0.0, 0.0).width() / board.rose_classes.len().max(1) as f32;
        let most = (widest + roses::NAME).clamp(*ROSES.start(), *ROSES.end());
        let roses = (free - rows * row).floor().clamp(*ROSES.start(), most);
        Heights { row, roses, spare: (free - rows * row - roses).max(0.0) }
    }
}

/// One band across all columns, from `top` on; returns where it ends. A click on a figure asks how it comes about.
pub(super) fn band(
    (ui, columns_ui): (&Ui, &Ui),
    grid: &Grid,
    (board, session): (&Board, &Session<'_>),
    (band, top, heights): (&BoardBand, f32, Heights),
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    grid::rule(ui, columns_ui, grid, top);
    let opened = session.opened(band.title);
    title(ui, grid, top, band, opened, heights, asks);
    doubts(ui, grid, top, band, heights);
    let mut at = top + BAND_EDGE + if grid.title_width > 0.0 { 0.0 } else { TITLE_ROW };
    let rows = |place: Place| band.rows.iter().enumerate().filter(move |(_, row)| row.place == place);
    for (number, row) in rows(Place::Always) {
        figures(ui, columns_ui, grid, board, (band, number, row), (at, heights.row), asks);
        at += heights.row;
    }
    if band.view_angles == ViewAngles::Shown {
        roses::roses((ui, columns_ui), grid, board, (at, at + heights.roses));
        at += heights.roses;
    }
    for (number, row) in rows(Place::Opened).filter(|_| opened == Fold::Open) {
        figures(ui, columns_ui, grid, board, (band, number, row), (at, heights.row), asks);
        at += heights.row;
    }
    at + BAND_EDGE
}

/// The title in the margin; where the band has more rows, it opens and closes them.
fn title(
    ui: &Ui,
    grid: &Grid,
    top: f32,
    band: &BoardBand,
    opened: Fold,
    heights: Heights,
    asks: &mut Vec<BoardAsk>,
) {
    let colors = theme::of(ui);
    let height = if grid.title_width > 0.0 { heights.row } else { TITLE_ROW };
    let width = if grid.title_width > 0.0 { grid.title_width } else { grid.margin_right() - grid.left };
    let place = Rect::from_min_size(pos2(grid.left, top + BAND_EDGE), vec2(width - space::TIGHT, height));
    let text = |color| ui.painter().layout_no_wrap(band.title.to_owned(), theme::body_strong(), color);
    let put = |color| {
        let galley = text(color);
        let at = place.left_center() - vec2(0.0, galley.size().y / 2.0);
        ui.painter().galley(at, galley.clone(), color);
        at.x + galley.size().x
    };
    let further: Vec<&str> = band.further().map(|row| row.label.as_str()).collect();
    if further.is_empty() {
        put(colors.ink);
        announce(ui, place, ("title", band.title), band.title, band.hint);
        return;
    }
    let (verb, mark) = match opened {
        Fold::Open => ("Close", "⏷"),
        Fold::Closed => ("Open", "⏵"),
    };
    let spoken = format!("{verb} {}: {}", band.title, further.join(", "));
    let hover = format!("{}\n\nClick: {} {}", band.hint, verb.to_lowercase(), further.join(", "));
    let response = grid::link(ui, place, ("title", band.title), &spoken, &hover);
    let color = if response.hovered() { colors.accent } else { colors.ink };
    let right = put(color);
    let at = pos2(right + space::HAIR, place.center().y);
    ui.painter().text(at, Align2::LEFT_CENTER, mark, theme::caption(), colors.muted);
    if response.clicked() {
        asks.push(BoardAsk::Turn(band.title));
    }
}

/// What the marks at figures mean, under the band's title, or beside it where that stands above the rows.
fn doubts(ui: &Ui, grid: &Grid, top: f32, band: &BoardBand, heights: Heights) {
    let any = |is: &dyn Fn(&Cell) -> bool| band.rows.iter().flat_map(|row| &row.cells).any(is);
    // A surface's GSD says little where little is seen; all else, where the block falls into parts.
    let seen = band.rows.iter().any(|row| matches!(row.measure, MeasureId::GsdP95(_)));
    let doubted = if seen { "* where seen" } else { "* in parts" };
    let lines = [
        any(&|cell| cell.doubt.is_some()).then_some(doubted),
        any(&|cell| cell.look == CellLook::First).then_some("≈ preview"),
    ];
    let lines: Vec<&str> = lines.into_iter().flatten().collect();
    let (text, font, color) = (lines.join("\n"), theme::caption(), theme::of(ui).muted);
    if grid.title_width > 0.0 {
        // The first line stands level with the second row.
        let line = ui.text_style_height(&egui::TextStyle::Small);
        let at = pos2(grid.left, top + BAND_EDGE + 1.5 * heights.row - 0.5 * line);
        ui.painter().text(at, Align2::LEFT_TOP, text, font, color);
    } else {
        let at = pos2(grid.margin_right() - space::ROW, top + BAND_EDGE + 0.5 * TITLE_ROW);
        ui.painter().text(at, Align2::RIGHT_CENTER, lines.join("  "), font, color);
    }
}

/// A row: its label in the margin, and its figure in every column.
fn figures(
    ui: &Ui,
    columns_ui: &Ui,
    grid: &Grid,
    board: &Board,
    (band, number, row): (&BoardBand, usize, &Row),
    (top, height): (f32, f32),
    asks: &mut Vec<BoardAsk>,
) {
    let colors = theme::of(ui);
    let right = grid.margin_right() - space::ROW;
    let left = grid.left + grid.title_width;
    let label = paint::elided(ui, &row.label, theme::caption(), colors.ink, right - left, 1);
    let middle = top + height / 2.0;
    let at = pos2(right - label.size().x, middle - label.size().y / 2.0);
    let slot = Rect::from_min_max(pos2(left, top), pos2(right, top + height));
    announce(ui, slot, ("label", band.title, number), &row.label, &row.hint);
    ui.painter().galley(at, label, colors.ink);
    let differences = if board.reference.is_some() { Differences::Shown } else { Differences::None };
    for (index, (column, cell)) in board.columns.iter().zip(&row.cells).enumerate() {
        let area = grid.inside(index, top, top + height);
        paint::cell(columns_ui, cell, area, differences, column);
        let id = columns_ui.scope_id().with((band.title, number, column.strategy.0));
        let hover = format!("{}\n\n{}", cell.spoken, row.hint);
        match cell.opens {
            CellOpens::Working => {
                if opens::figure(columns_ui, area, id, &cell.spoken, &hover).clicked() {
                    asks.push(BoardAsk::ShowFigure(column.strategy, row.measure));
                }
            }
            CellOpens::Block => {
                let hover = format!("{hover}\n\n{}", opens::BLOCK_HINT);
                if opens::place(columns_ui, area, id, &cell.spoken, &hover).clicked() {
                    asks.push(BoardAsk::WorkOutBlock(column.strategy));
                }
            }
            CellOpens::Price => {
                let hover = format!("{hover}\n\n{}", opens::PRICE_HINT);
                if opens::place(columns_ui, area, id, &cell.spoken, &hover).clicked() {
                    asks.push(BoardAsk::EnterPrice);
                }
            }
        }
    }
}
