//! Draws the board. The columns and bands are laid out by hand on one grid, so that every figure of a row stands on
//! the same line and on the same scale in every column.

use super::model::{Band, Board, CautionRow, Column, Sentence, Slider as Setting, Verdict};
use super::paint;
use crate::figures::Freshness;
use crate::settings;
use crate::show;
use crate::theme::{self, space};
use crate::worker::Progress;
use egui::text::LayoutJob;
use egui::{
    Align2, Color32, DragValue, Frame, Galley, Margin, Panel, Rect, Role, ScrollArea, Sense, Shape, Slider,
    Stroke, StrokeKind, TextFormat, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use obliquity_planning::{Id as StrategyId, KnobId, Severity};
use std::sync::Arc;

/// What the user asks for on the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ask {
    /// Give a strategy a setting.
    Set {
        /// The strategy.
        strategy: StrategyId,
        /// What is set.
        setting: settings::Setting,
        /// To what, in the setting's unit.
        value: f64,
    },
}

/// Titles and row labels beside the columns; in a narrow window the titles stand above their rows.
const TITLE_WIDTH: f32 = 108.0;
const LABEL_WIDTH: f32 = 110.0;
const NARROW: f32 = 900.0;
/// From here on the sentence is set large.
const WIDE: f32 = 1400.0;
/// A column is never narrower; the board scrolls instead.
const LEAST_COLUMN: f32 = 240.0;
const SETTING_ROW: f32 = 20.0;
/// Above and below a band's rows.
const BAND_EDGE: f32 = 6.0;
/// Rows of figures spread out where the window is tall.
const FIGURE_ROW: std::ops::RangeInclusive<f32> = 17.0..=30.0;
const NOTE_ROW: f32 = 13.0;
/// Below this height the cautions scroll with the board instead of staying at the foot.
const TALL_ENOUGH: f32 = 620.0;

/// Where the columns stand.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    left: f32,
    /// 0 where the titles stand above their rows.
    title_width: f32,
    column_width: f32,
}

impl Grid {
    fn new(left: f32, width: f32, columns: usize) -> Self {
        let title_width = if width < NARROW { 0.0 } else { TITLE_WIDTH };
        let free = width - title_width - LABEL_WIDTH;
        Grid { left, title_width, column_width: (free / columns.max(1) as f32).floor().max(LEAST_COLUMN) }
    }

    /// Where the columns begin.
    fn margin_right(&self) -> f32 {
        self.left + self.title_width + LABEL_WIDTH
    }

    fn width(&self, columns: usize) -> f32 {
        self.title_width + LABEL_WIDTH + self.column_width * columns as f32
    }

    /// The card of a column, from `top` to `bottom`.
    fn card(&self, column: usize, top: f32, bottom: f32) -> Rect {
        let left = self.margin_right() + self.column_width * column as f32;
        Rect::from_min_max(
            pos2(left + space::TIGHT, top),
            pos2(left + self.column_width - space::TIGHT, bottom),
        )
    }

    /// The part of a card that is written on.
    pub(super) fn inside(&self, column: usize, top: f32, bottom: f32) -> Rect {
        self.card(column, top, bottom).shrink2(vec2(space::GROUP, 0.0))
    }
}

/// Draws the board into what is left of the window.
pub fn ui(ui: &mut Ui, board: &Board, progress: Option<Progress>, asks: &mut Vec<Ask>) {
    let colors = theme::of(ui);
    let page = Frame::new().fill(colors.page);
    let margin = Margin::symmetric(16, 10);
    Panel::top("sentence").frame(page.inner_margin(margin)).show_separator_line(false).show(ui, |ui| {
        sentence(ui, &board.sentence, progress);
    });
    let tall = ui.available_height() >= TALL_ENOUGH;
    if tall && !board.cautions.is_empty() {
        Panel::bottom("cautions").frame(page.inner_margin(margin)).show(ui, |ui| {
            cautions(ui, &board.cautions, (ui.ctx().content_rect().height() * 0.07).max(52.0));
        });
    }
    let sides = Margin { left: 16, right: 8, top: 0, bottom: 0 };
    egui::CentralPanel::default().frame(page.inner_margin(sides)).show(ui, |ui| {
        ScrollArea::both().id_salt("board").auto_shrink(false).show(ui, |ui| {
            columns(ui, board, asks);
            if !tall {
                ui.add_space(space::GROUP);
                cautions(ui, &board.cautions, f32::INFINITY);
            }
        });
    });
}

fn sentence(ui: &mut Ui, sentence: &Sentence, progress: Option<Progress>) {
    let colors = theme::of(ui);
    let fresh = sentence.freshness == Freshness::Fresh;
    let mut job = LayoutJob::default();
    let color = if fresh { colors.ink } else { colors.muted };
    let font = if ui.available_width() < WIDE { theme::title() } else { theme::headline() };
    job.append(&show::unbroken(&sentence.text), 0.0, TextFormat::simple(font, color));
    if !fresh {
        job.append(&updating(progress), space::ROW, TextFormat::simple(theme::body(), colors.muted));
    }
    ui.add(egui::Label::new(job).wrap());
}

fn updating(progress: Option<Progress>) -> String {
    progress.map_or_else(
        || "updating…".to_owned(),
        |p| format!("updating… {} of {}, this stage {} %", (p.done + 1).min(p.total), p.total, 10 * p.tenths),
    )
}

fn columns(ui: &mut Ui, board: &Board, asks: &mut Vec<Ask>) {
    let origin = ui.cursor().min;
    let grid = Grid::new(origin.x, ui.available_width() - space::ROW, board.columns.len());
    let backdrops: Vec<_> = board.columns.iter().map(|_| ui.painter().add(Shape::Noop)).collect();
    let mut top = heads(ui, &grid, board, origin.y);
    top = sliders(ui, &grid, board, top, asks);
    let row_height = row_height(ui, board, top);
    let text_width = board.bands.iter().map(|band| paint::text_width(ui, band)).fold(0.0, f32::max);
    for band in &board.bands {
        top = band_ui(ui, &grid, band, top, row_height, text_width);
    }
    let bottom = top + space::TIGHT;
    let colors = theme::of(ui);
    for (index, backdrop) in backdrops.into_iter().enumerate() {
        let card = grid.card(index, origin.y, bottom);
        let bar = Rect::from_min_max(card.min, pos2(card.max.x, card.min.y + 5.0));
        let shapes = vec![
            Shape::rect_filled(card, 6.0, colors.surface),
            Shape::Rect(egui::epaint::RectShape::stroke(
                card,
                6.0,
                Stroke::new(1.0, colors.rule),
                StrokeKind::Inside,
            )),
            Shape::rect_filled(
                bar,
                egui::CornerRadius { nw: 6, ne: 6, sw: 0, se: 0 },
                colors.strategy(index),
            ),
        ];
        ui.painter().set(backdrop, Shape::Vec(shapes));
    }
    let size = vec2(grid.width(board.columns.len()), bottom - origin.y);
    ui.allocate_rect(Rect::from_min_size(origin, size), Sense::hover());
}

/// The height of a figure's row that fills what is left of the window below `top`, within bounds.
fn row_height(ui: &Ui, board: &Board, top: f32) -> f32 {
    let rows = board.bands.iter().flat_map(|band| &band.rows);
    let notes = rows.clone().filter(|row| row.is_noted()).count() as f32 * NOTE_ROW;
    let edges = board.bands.len() as f32 * 2.0 * BAND_EDGE + space::GROUP;
    let free = ui.clip_rect().bottom() - top - notes - edges;
    (free / rows.count().max(1) as f32).clamp(*FIGURE_ROW.start(), *FIGURE_ROW.end())
}

/// Name, aircraft and verdict of every column; returns where they end.
fn heads(ui: &mut Ui, grid: &Grid, board: &Board, top: f32) -> f32 {
    let mut bottom = top;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top + 14.0, f32::INFINITY);
        bottom = bottom.max(head(ui, column, area));
    }
    bottom + space::ROW
}

fn head(ui: &mut Ui, column: &Column, area: Rect) -> f32 {
    let colors = theme::of(ui);
    let width = area.width();
    let stale = column.freshness != Freshness::Fresh;
    let mut at = area.min;
    let mut put = |ui: &Ui, galley: Arc<Galley>, indent: f32, gap: f32| {
        let pos = at + vec2(indent, 0.0);
        at.y += galley.size().y + gap;
        ui.painter().galley(pos, galley, colors.ink);
        pos
    };
    let layout =
        |ui: &Ui, text: &str, font, color, width| ui.painter().layout(text.to_owned(), font, color, width);
    let name = layout(ui, &column.name, theme::title(), colors.ink, width);
    put(ui, name, 0.0, space::HAIR);
    let aircraft = layout(ui, &column.aircraft, theme::caption(), colors.muted, width);
    put(ui, aircraft, 0.0, space::ROW);
    let color = if stale { colors.muted } else { verdict_color(column.verdict, colors) };
    let words = match column.freshness {
        Freshness::Fresh | Freshness::Pending => column.verdict_text.clone(),
        Freshness::Stale => format!("updating… (before: {})", column.verdict_text),
    };
    let verdict = layout(ui, &words, theme::body_strong(), color, width - 18.0);
    let mark = put(ui, verdict, 18.0, space::HAIR) + vec2(-11.0, 7.5);
    let marked = if stale { Verdict::Unknown } else { column.verdict };
    paint::verdict_mark(ui.painter(), mark, marked, color);
    if let Some(worst) = &column.worst {
        let color = if stale { colors.muted } else { colors.ink };
        let more = column.shortfalls.len().saturating_sub(1);
        let text = if more > 0 { format!("{worst}; and {more} more") } else { worst.clone() };
        let shortfall = layout(ui, &show::unbroken(&text), theme::caption(), color, width);
        put(ui, shortfall, 0.0, 0.0);
    }
    let whole = Rect::from_min_max(area.min, pos2(area.max.x, at.y));
    let spoken = spoken_head(column, &words);
    let hover = column.shortfalls.iter().map(|s| format!("• {s}")).collect::<Vec<_>>().join("\n");
    announce(ui, whole, ("head", column.strategy.0), &spoken, &hover);
    at.y
}

fn spoken_head(column: &Column, words: &str) -> String {
    let worst = column.worst.as_ref().map_or_else(String::new, |worst| format!(": {worst}"));
    format!("{}, {}, {words}{worst}", column.name, column.aircraft)
}

fn verdict_color(verdict: Verdict, colors: &theme::Colors) -> Color32 {
    match verdict {
        Verdict::Meets => colors.good,
        Verdict::Misses | Verdict::Infeasible | Verdict::Failed => colors.bad,
        Verdict::Unknown => colors.muted,
    }
}

/// Gives something painted a text for those who do not see it, and one to read when pointing at it.
fn announce(ui: &Ui, area: Rect, id: impl std::hash::Hash + std::fmt::Debug, spoken: &str, hover: &str) {
    let response = ui.interact(area, ui.scope_id().with(id), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken));
    if !hover.is_empty() {
        response.on_hover_text(hover);
    }
}

/// The sliders of every column and what follows from them; returns where they end.
fn sliders(ui: &mut Ui, grid: &Grid, board: &Board, top: f32, asks: &mut Vec<Ask>) -> f32 {
    rule(ui, grid, board.columns.len(), top);
    margin_title(ui, grid, top, "Settings", "figures follow at once, coverage a little later");
    let top = top + if grid.title_width > 0.0 { space::ROW } else { 24.0 };
    let rows = board.columns.iter().map(|column| column.sliders.len()).max().unwrap_or(0);
    let bottom = top + rows as f32 * SETTING_ROW;
    let mut lowest: f32 = bottom;
    let label_at = pos2(grid.margin_right() - space::ROW, bottom + space::HAIR);
    let ink = theme::of(ui).ink;
    ui.painter().text(label_at, Align2::RIGHT_TOP, "nominal GSD, speed", theme::caption(), ink);
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top, bottom);
        for (row, setting) in column.sliders.iter().enumerate() {
            let line = Rect::from_min_size(
                pos2(area.left(), area.top() + row as f32 * SETTING_ROW),
                vec2(area.width(), SETTING_ROW),
            );
            if let Some(shown) = slider(ui, setting, line, theme::of(ui).strategy(index)) {
                let value = shown * setting.setting.per_shown(setting.units);
                asks.push(Ask::Set { strategy: column.strategy, setting: setting.setting, value });
            }
        }
        let colors = theme::of(ui);
        let follows = ui.painter().layout(
            show::unbroken(&column.follows),
            theme::caption(),
            colors.muted,
            area.width(),
        );
        let at = pos2(area.left(), bottom + space::HAIR);
        let whole = Rect::from_min_size(at, follows.size());
        lowest = lowest.max(whole.bottom());
        ui.painter().galley(at, follows, colors.muted);
        let spoken = format!("Nominal GSD, height and speed of {}: {}", column.name, column.follows);
        let hint = "GSD of a level camera at the pass's height; the speed's bound stands in brackets";
        announce(ui, whole, ("follows", column.strategy.0), &spoken, hint);
    }
    lowest + space::ROW
}

/// One slider with its name and number; returns what it was moved to, in the unit on the screen.
fn slider(ui: &mut Ui, setting: &Setting, line: Rect, color: Color32) -> Option<f64> {
    const NAME: f32 = 94.0;
    const NUMBER: f32 = 58.0;
    let colors = theme::of(ui);
    let middle = line.center().y;
    let name_at = pos2(line.left(), middle);
    ui.painter().text(name_at, Align2::LEFT_CENTER, &setting.name, theme::caption(), colors.ink);
    let number = Rect::from_min_max(pos2(line.right() - NUMBER, line.top() + 1.0), line.max - vec2(0.0, 1.0));
    let rail = Rect::from_min_max(
        pos2(line.left() + NAME, line.top()),
        pos2(number.left() - space::ROW, line.bottom()),
    );
    let mut shown = setting.shown;
    let (units, id) = (setting.units, setting.setting);
    let unit = id.unit(units);
    let decimals = if setting.setting.knob == KnobId::Gsd { 2..=2 } else { 0..=1 };
    ui.scope_builder(UiBuilder::new().id_salt(&setting.spoken).max_rect(rail), |ui| {
        ui.spacing_mut().slider_width = rail.width();
        ui.spacing_mut().interact_size.y = 16.0;
        ui.spacing_mut().button_padding.y = 0.0;
        ui.style_mut().override_font_id = Some(theme::caption());
        ui.visuals_mut().selection.bg_fill = color;
        let widget = Slider::new(&mut shown, setting.range.clone())
            .step_by(setting.setting.shown_step())
            // Only what is moved goes to the next step: showing a value between two steps must not change it.
            .clamping(egui::SliderClamping::Edits)
            .show_value(false);
        ui.name_inputs(setting.spoken.clone(), |ui| ui.put(rail, widget)).on_hover_text(&setting.hint);
        let widget = DragValue::new(&mut shown)
            .range(id.allowed_range(units))
            .custom_parser(move |text| id.parse(units, text))
            .speed(setting.setting.shown_step())
            .min_decimals(*decimals.start())
            .max_decimals(*decimals.end())
            .suffix(unit);
        let number = ui.put(number, widget);
        // The unit behind the number would be taken for its name.
        let name = format!("{}, as a number", setting.spoken);
        ui.ctx().accesskit_node_builder(number.id, |node| node.set_label(name));
    });
    ((shown - setting.shown).abs() > 1e-9).then_some(shown)
}

/// One band across all columns; returns where it ends.
fn band_ui(ui: &mut Ui, grid: &Grid, band: &Band, top: f32, row_height: f32, text_width: f32) -> f32 {
    let count = band.rows.first().map_or(0, |row| row.cells.len());
    rule(ui, grid, count, top);
    let title_bottom = margin_title(ui, grid, top, band.title, band.note);
    let mut at = if grid.title_width > 0.0 { top + BAND_EDGE } else { title_bottom };
    for (number, row) in band.rows.iter().enumerate() {
        let bottom = at + row_height + if row.is_noted() { NOTE_ROW } else { 0.0 };
        let label_at = pos2(grid.margin_right() - space::ROW, at + row_height / 2.0);
        let colors = theme::of(ui);
        ui.painter().text(label_at, Align2::RIGHT_CENTER, &row.label, theme::caption(), colors.ink);
        for (column, cell) in row.cells.iter().enumerate() {
            let area = grid.inside(column, at, bottom);
            let line = Rect::from_min_max(area.min, pos2(area.right(), at + row_height));
            paint::cell(ui, cell, line, text_width, colors.strategy(column));
            let id = (band.title, number, column);
            announce(ui, area, id, &cell.spoken, &format!("{}\n\n{}", cell.spoken, row.hint));
        }
        at = bottom;
    }
    at.max(title_bottom) + BAND_EDGE
}

/// A line across everything.
fn rule(ui: &Ui, grid: &Grid, columns: usize, y: f32) {
    let stroke = Stroke::new(1.0, theme::of(ui).rule);
    ui.painter().hline(grid.left..=grid.margin_right() - space::ROW, y, stroke);
    for column in 0..columns {
        let card = grid.card(column, y, y);
        ui.painter().hline(card.left()..=card.right(), y, stroke);
    }
}

/// A title with its note in the margin; returns where it ends.
fn margin_title(ui: &Ui, grid: &Grid, top: f32, title: &str, note: &str) -> f32 {
    let colors = theme::of(ui);
    let at = pos2(grid.left, top + BAND_EDGE);
    let title = ui.painter().layout_no_wrap(title.to_owned(), theme::body_strong(), colors.ink);
    let below = at + vec2(0.0, title.size().y);
    ui.painter().galley(at, title, colors.ink);
    if grid.title_width <= 0.0 {
        return below.y + space::HAIR;
    }
    let note =
        ui.painter().layout(note.to_owned(), theme::caption(), colors.muted, grid.title_width - space::TIGHT);
    let bottom = below.y + note.size().y;
    ui.painter().galley(below, note, colors.muted);
    bottom
}

/// The cautions beside their title, in at most `height` points; the rest is scrolled to.
fn cautions(ui: &mut Ui, rows: &[CautionRow], height: f32) {
    let narrow = ui.available_width() < NARROW;
    let margin = if narrow { 0.0 } else { TITLE_WIDTH + LABEL_WIDTH + space::TIGHT };
    let at = ui.cursor().min;
    let colors = theme::of(ui);
    let count = u32::try_from(rows.len()).unwrap_or(u32::MAX);
    let title = show::counted(count, "caution", "cautions");
    ui.painter().text(at, Align2::LEFT_TOP, title, theme::body_strong(), colors.ink);
    if narrow {
        ui.add_space(20.0);
    } else {
        let below = at + vec2(0.0, 17.0);
        ui.painter().text(
            below,
            Align2::LEFT_TOP,
            "local rules and the remote pilot decide",
            theme::caption(),
            colors.muted,
        );
    }
    let area = Rect::from_min_size(
        pos2(at.x + margin, ui.cursor().top()),
        vec2(ui.available_width() - margin, height),
    );
    ui.scope_builder(UiBuilder::new().max_rect(area), |ui| {
        ScrollArea::vertical().id_salt("cautions").max_height(height).auto_shrink([false, true]).show(
            ui,
            |ui| {
                ui.spacing_mut().item_spacing.y = 3.0;
                for row in rows {
                    caution(ui, row);
                }
            },
        );
    });
}

fn caution(ui: &mut Ui, row: &CautionRow) {
    let colors = theme::of(ui);
    let (word, color) = match row.severity {
        Severity::Limit => ("Limit", colors.bad),
        Severity::Check => ("Check", colors.warn),
        Severity::Reminder => ("Mind", colors.muted),
    };
    let mut job = LayoutJob::default();
    job.append(word, 0.0, TextFormat::simple(theme::caption_strong(), color));
    job.append(&show::unbroken(&row.text), space::ROW, TextFormat::simple(theme::caption(), colors.ink));
    if !row.strategies.is_empty() {
        let whom = format!("({})", row.strategies.join(", "));
        job.append(&whom, space::TIGHT, TextFormat::simple(theme::caption(), colors.muted));
    }
    ui.add(egui::Label::new(job).wrap());
}

/// A point of a rectangle, by shares of its sides.
pub(super) fn at_share(area: Rect, share: f64) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
    let share = share.clamp(0.0, 1.0) as f32;
    area.left() + area.width() * share
}
