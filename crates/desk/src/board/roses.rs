//! View angles in the band of coverage: small roses, one for each kind of surface, in every column; one legend for all.

use super::grid::{Grid, announce};
use super::model::{Board, Column};
use super::paint;
use crate::figures::Freshness;
use crate::rose::{self, Rose, SmallRose};
use crate::show;
use crate::theme::{self, space};
use egui::{Align2, Rect, Ui, pos2, vec2};
use obliquity_planning::SurfaceClass;

const HINT: &str = "From which directions the surfaces are seen, and how densely. The middle of a rose is straight up from \
                    the surface, its edge the horizon, north is at the top; of walls it is the half in front of them, seen \
                    from above, square on at the top. Equal areas are equal solid angles; the steps of grey, each twice \
                    the one before, are the same in all columns.";
/// The name under a rose.
pub(super) const NAME: f32 = 14.0;

/// The roses of every column between two heights, and their legend in the margin.
pub(super) fn roses((ui, columns_ui): (&Ui, &Ui), grid: &Grid, board: &Board, (top, bottom): (f32, f32)) {
    legend(ui, grid, board, (top, bottom));
    let count = board.rose_classes.len().max(1) as f32;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top + space::HAIR, bottom);
        let width = area.width() / count;
        for (place, &class) in board.rose_classes.iter().enumerate() {
            let left = area.left() + width * place as f32;
            let slot = Rect::from_min_max(pos2(left, area.top()), pos2(left + width, area.bottom()));
            one(columns_ui, board, column, class, slot);
        }
    }
}

fn one(ui: &Ui, board: &Board, column: &Column, class: SurfaceClass, slot: Rect) {
    let colors = theme::of(ui);
    let found: Option<&Rose> = column.roses.iter().find(|rose| rose.class == class);
    let stale = column.freshness == Freshness::Stale;
    let disc = slot.with_max_y(slot.bottom() - NAME);
    let shown = SmallRose {
        rose: found,
        half: class == SurfaceClass::Wall,
        full: board.rose_full,
        strength: if stale { 0.4 } else { 1.0 },
    };
    let id = ("rose", class.name(), column.strategy.0);
    let what = match found {
        Some(rose) => rose.summary.clone(),
        None if column.freshness == Freshness::Pending => "not worked out yet".to_owned(),
        None => "none".to_owned(),
    };
    let late = if stale { ", of earlier settings" } else { "" };
    let spoken = format!("View angles of the {} of {}: {what}{late}", class.plural(), column.name);
    let response = announce(ui, slot, id, &spoken, "");
    let pointer = response.hover_pos();
    let told = rose::small(ui.painter(), disc, &shown, colors, pointer);
    let at = pos2(slot.center().x, slot.bottom() - NAME);
    ui.painter().text(at, Align2::CENTER_TOP, class.plural(), theme::caption(), colors.muted);
    let pointed = told.map_or_else(String::new, |told| format!("\n\n{told}"));
    response.on_hover_text(format!("{spoken}{pointed}\n\n{HINT}"));
}

/// What the greys mean, for all roses.
fn legend(ui: &Ui, grid: &Grid, board: &Board, (top, bottom): (f32, f32)) {
    let colors = theme::of(ui);
    let right = grid.margin_right() - space::ROW;
    let left = right - LEGEND_WIDTH;
    let line = |number: f32| f32::midpoint(top, bottom) + (number - 1.0) * LINE;
    let put = |at, anchor, text: &str, color| {
        ui.painter().text(at, anchor, text, theme::caption(), color);
    };
    put(pos2(right, line(0.0)), Align2::RIGHT_CENTER, "view angles", colors.ink);
    let ramp = Rect::from_center_size(pos2(f32::midpoint(left, right), line(1.0)), vec2(60.0, 8.0));
    let full = show::short(board.rose_full);
    let end = paint::elided(ui, &full, theme::caption(), colors.muted, LEGEND_WIDTH, 1).size().x;
    let ramp = ramp.translate(vec2(right - end - space::TIGHT - ramp.right(), 0.0));
    rose::ramp(ui.painter(), ramp, colors);
    put(pos2(right, line(1.0)), Align2::RIGHT_CENTER, &full, colors.muted);
    put(pos2(ramp.left() - space::TIGHT, line(1.0)), Align2::RIGHT_CENTER, "0", colors.muted);
    put(pos2(right, line(2.0)), Align2::RIGHT_CENTER, "views per 10° × 10°", colors.muted);
    let whole = Rect::from_min_max(pos2(left, line(-0.5)), pos2(right, line(2.5)));
    let spoken = format!("View angles: grey from 0 to {full} views from each 10° × 10° of directions");
    announce(ui, whole, "roses' legend", &spoken, HINT);
}

const LEGEND_WIDTH: f32 = 112.0;
const LINE: f32 = 14.0;
