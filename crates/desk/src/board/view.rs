//! Draws the board.

use super::ask::{BoardAsk, Fold, Session, Updating};
use super::grid::{self, BAND_EDGE, Grid};
use super::model::{Board, Sentence};
use super::{adding, corner, figures, foot, heads, sliders};
use crate::figures::Freshness;
use crate::jobs::Progress;
use crate::show;
use crate::theme::{self, space};
use egui::text::LayoutJob;
use egui::{
    CornerRadius, Frame, Margin, Panel, Rect, ScrollArea, Sense, Shape, Stroke, StrokeKind, TextFormat, Ui,
    UiBuilder, pos2, vec2,
};
use obliquity_planning::Id;

/// From here on the sentence is set large.
const WIDE: f32 = 1400.0;
/// Rows of figures spread out where the window is tall.
const FIGURE_ROW: std::ops::RangeInclusive<f32> = 16.5..=30.0;
/// Below this height the cautions scroll with the board instead of staying at the foot.
const TALL_ENOUGH: f32 = 620.0;
/// Height of the stripe in the strategy's colour.
const STRIPE: f32 = 5.0;

/// Draws the board into what is left of the window.
pub fn ui(ui: &mut Ui, board: &Board, session: &Session, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let page = Frame::new().fill(colors.page);
    let margin = Margin::symmetric(16, 10);
    Panel::top("sentence").frame(page.inner_margin(margin)).show_separator_line(false).show(ui, |ui| {
        sentence(ui, &board.sentence);
    });
    let tall = ui.available_height() >= TALL_ENOUGH;
    if tall && !board.cautions.is_empty() {
        Panel::bottom("cautions").frame(page.inner_margin(margin)).show(ui, |ui| {
            foot::cautions(ui, &board.cautions, (ui.ctx().content_rect().height() * 0.09).max(58.0), asks);
        });
    }
    let sides = Margin { left: 16, right: 8, top: 0, bottom: 0 };
    egui::CentralPanel::default().frame(page.inner_margin(sides)).show(ui, |ui| {
        let view = ui.available_rect_before_wrap();
        ScrollArea::both().id_salt("board").auto_shrink(false).show(ui, |ui| {
            columns(ui, board, session, view, asks);
            if !tall {
                ui.add_space(space::GROUP);
                foot::cautions(ui, &board.cautions, f32::INFINITY, asks);
            }
        });
    });
}

/// The sentence, faint where it is not up to date.
fn sentence(ui: &mut Ui, sentence: &Sentence) {
    let colors = theme::of(ui);
    let fresh = sentence.freshness == Freshness::Fresh;
    let color = if fresh { colors.ink } else { colors.muted };
    let font = if ui.available_width() < WIDE { theme::title() } else { theme::headline() };
    let mut job = LayoutJob::default();
    job.append(&show::unbroken(&sentence.text), 0.0, TextFormat::simple(font, color));
    ui.add(egui::Label::new(job).wrap());
}

/// How far it is with what is not up to date.
fn status(ui: &mut Ui, updating: Updating, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let note = |ui: &mut Ui, text: &str| {
        ui.label(egui::RichText::new(text).font(theme::body()).color(colors.muted));
    };
    match updating {
        Updating::Running(progress) => {
            ui.add(egui::ProgressBar::new(share(progress)).desired_width(120.0).desired_height(6.0));
            note(ui, &format!("updating {} of {}", (progress.done + 1).min(progress.total), progress.total));
            let stop = ui.small_button("Cancel updating").on_hover_text("Stop; what is shown stays as it is");
            if stop.clicked() {
                asks.push(BoardAsk::Stop);
            }
        }
        Updating::Errand { what, tenths } => {
            ui.add(egui::ProgressBar::new(tenths as f32 / 10.0).desired_width(120.0).desired_height(6.0));
            note(ui, what);
            if ui.small_button("Cancel").on_hover_text("Give it up; everything stays as it is").clicked() {
                asks.push(BoardAsk::Stop);
            }
        }
        Updating::Stopped => {
            note(ui, "stopped: coverage is of earlier settings, or not known yet");
            if ui.small_button("Update now").on_hover_text("Work coverage out again").clicked() {
                asks.push(BoardAsk::Update);
            }
        }
        Updating::Nothing => note(ui, "updating"),
    }
}

/// The board's sentence on another screen, so that the effect of an edit is seen there.
#[derive(Debug, Clone, Copy)]
pub struct Headline<'a> {
    /// The sentence; nothing before there is a board.
    pub sentence: Option<&'a Sentence>,
    /// What is going on with it.
    pub updating: Updating,
}

impl Headline<'_> {
    /// Where nothing moves when it comes and goes, beside a screen's title or the menu: whether the sentence is up to date.
    pub fn status(self, ui: &mut Ui, asks: &mut Vec<BoardAsk>) {
        let stale = self.sentence.is_some_and(|sentence| sentence.freshness != Freshness::Fresh);
        if stale || self.updating.is_errand() {
            ui.add_space(space::ROW);
            status(ui, self.updating, asks);
        }
    }

    /// The sentence, faint where it is not up to date.
    pub fn text(self, ui: &mut Ui) {
        let Some(sentence) = self.sentence else { return };
        let colors = theme::of(ui);
        let color = if sentence.freshness == Freshness::Fresh { colors.ink } else { colors.muted };
        let text = egui::RichText::new(show::unbroken(&sentence.text)).color(color);
        ui.add(egui::Label::new(text).wrap());
    }
}

/// How far everything that was asked for is, 0 to 1.
fn share(progress: Progress) -> f32 {
    let tenths = 10 * progress.done + progress.tenths;
    tenths as f32 / (10 * progress.total).max(1) as f32
}

/// Columns and bands. Titles and labels stay at the left edge of `view` while the columns are scrolled.
fn columns(ui: &mut Ui, board: &Board, session: &Session, view: Rect, asks: &mut Vec<BoardAsk>) {
    let origin = ui.cursor().min;
    let grid = Grid::new(view.left(), origin.x, view.width() - space::ROW, board.columns.len());
    let mut inner = ui.new_child(UiBuilder::new().id_salt("columns").max_rect(ui.max_rect()));
    let clip = ui.clip_rect();
    inner.set_clip_rect(Rect::from_min_max(pos2(grid.margin_right(), clip.top()), clip.max));
    let backdrops: Vec<_> = board.columns.iter().map(|_| inner.painter().add(Shape::Noop)).collect();
    let mut top = heads::heads(&mut inner, &grid, board, origin.y, asks);
    top = top.max(corner::corner(ui, &grid, board, origin.y, asks));
    let head_bottom = top;
    top = match session.fold {
        Fold::Open => sliders::open(ui, &mut inner, &grid, board, top, asks),
        Fold::Folded => sliders::folded(ui, &mut inner, &grid, board, top, asks),
    };
    let row_height = row_height(ui, board, top);
    for band in &board.bands {
        top = figures::band(ui, &inner, &grid, &board.columns, (band, top, row_height), asks);
    }
    let bottom = top + space::TIGHT;
    for (index, backdrop) in backdrops.into_iter().enumerate() {
        inner.painter().set(backdrop, card(ui, &grid, board, session, index, origin.y, bottom));
        let head = grid.card(index, origin.y, head_bottom);
        let pressed = inner.rect_contains_pointer(head) && inner.input(|i| i.pointer.primary_pressed());
        if pressed {
            asks.push(BoardAsk::Focus(board.columns[index].strategy));
        }
    }
    let lowest = adding::adding(&mut inner, &grid, board, origin.y, asks);
    let size = vec2(grid.width(), bottom.max(lowest) - origin.y);
    ui.allocate_rect(Rect::from_min_size(origin, size), Sense::hover());
    show_new(ui, &grid, board, origin.y);
}

/// Scrolls to a strategy that has come, where it stands beyond the edge.
fn show_new(ui: &Ui, grid: &Grid, board: &Board, top: f32) {
    let known_as = ui.scope_id().with("strategies");
    let now: Vec<Id> = board.columns.iter().map(|column| column.strategy).collect();
    let before = ui.data(|data| data.get_temp::<Vec<Id>>(known_as));
    if before.as_ref() == Some(&now) {
        return;
    }
    if let Some(before) = before.filter(|before| before.iter().any(|id| now.contains(id)))
        && let Some(index) = now.iter().position(|id| !before.contains(id))
    {
        let head = grid.card(index, top, top + STRIPE);
        // All of it where there is room, and its beginning where there is none.
        ui.scroll_to_rect(head, None);
    }
    ui.data_mut(|data| data.insert_temp(known_as, now));
}

/// What is behind a column: its card with the stripe in its colour; the one in focus has a stronger edge.
fn card(
    ui: &Ui,
    grid: &Grid,
    board: &Board,
    session: &Session,
    index: usize,
    top: f32,
    bottom: f32,
) -> Shape {
    let colors = theme::of(ui);
    let column = &board.columns[index];
    let area = grid.card(index, top, bottom);
    let stripe = Rect::from_min_max(area.min, pos2(area.max.x, area.min.y + STRIPE));
    let edge = if session.focus == Some(column.strategy) {
        Stroke::new(1.5, colors.muted)
    } else {
        Stroke::new(1.0, colors.rule)
    };
    let corners = CornerRadius { nw: 6, ne: 6, sw: 0, se: 0 };
    Shape::Vec(vec![
        Shape::rect_filled(area, 6.0, grid::card_fill(ui, column)),
        Shape::Rect(egui::epaint::RectShape::stroke(area, 6.0, edge, StrokeKind::Inside)),
        Shape::rect_filled(stripe, corners, grid::strategy_color(ui, column)),
    ])
}

/// The height of a figure's row that fills what is left of the window below `top`, within bounds.
fn row_height(ui: &Ui, board: &Board, top: f32) -> f32 {
    let rows = board.bands.iter().flat_map(|band| &band.rows);
    let notes = rows.clone().filter(|row| row.is_noted()).count() as f32 * figures::NOTE_ROW;
    let edges = board.bands.len() as f32 * 2.0 * BAND_EDGE + space::GROUP;
    let free = ui.clip_rect().bottom() - top - notes - edges;
    (free / rows.count().max(1) as f32).clamp(*FIGURE_ROW.start(), *FIGURE_ROW.end())
}
