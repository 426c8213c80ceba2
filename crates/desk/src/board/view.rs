//! Draws the board.

use super::ask::{BoardAsk, CAUTIONS, SETTINGS, Session, Updating};
use super::figures::{self, Heights};
use super::grid::{self, DETAIL, Grid, NAME};
use super::model::{Against, Board, Fold, Sentence};
use super::{adding, corner, foot, heads, paint, sliders};
use crate::figures::Freshness;
use crate::jobs::Progress;
use crate::theme::{self, space};
use egui::{
    CornerRadius, Frame, Margin, Panel, Pos2, Rect, ScrollArea, Sense, Shape, Stroke, StrokeKind, Ui,
    UiBuilder, pos2, vec2,
};
use obliquity_planning::Id;

/// From here on the sentence is set large.
const WIDE: f32 = 1400.0;
/// The share of the window that opened cautions take.
const CAUTIONS_SHARE: f32 = 0.4;
/// Height of the stripe in the strategy's colour.
const STRIPE: f32 = 5.0;
/// The first line of the sentence, and the second.
const LEAD: f32 = 26.0;
const REST: f32 = 18.0;

/// Draws the board into what is left of the window.
pub fn ui(ui: &mut Ui, board: &Board, session: &Session<'_>, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let page = Frame::new().fill(colors.page);
    let margin = Margin { left: 16, right: 16, top: 6, bottom: 4 };
    let height = LEAD + REST + margin.sum().y;
    let top = Panel::top("sentence").exact_size(height).frame(page.inner_margin(margin));
    let focus = board.columns.iter().find(|column| Some(column.strategy) == session.focus);
    let against = focus.and_then(|column| column.against.as_ref());
    top.show_separator_line(false).show(ui, |ui| sentence(ui, &board.sentence, against));
    let opened = session.opened(CAUTIONS);
    let margin = Margin { left: 16, right: 16, top: 2, bottom: 2 };
    let line = foot::LINE + margin.sum().y;
    let height = match opened {
        Fold::Open => (CAUTIONS_SHARE * ui.available_height()).max(line),
        Fold::Closed => line,
    };
    let closed = ui.available_height() - line;
    let sides = Margin { left: 16, right: 8, top: 0, bottom: 0 };
    let height = if session.opened.is_empty() {
        let wide = ui.available_width() - sides.sum().x;
        let view = Rect::from_min_size(Pos2::ZERO, vec2(wide, closed));
        height
            + foot::further(heights(&Grid::new(view, Pos2::ZERO, board.columns.len()), board, closed).spare)
    } else {
        height
    };
    let foot = Panel::bottom("cautions").exact_size(height).frame(page.inner_margin(margin));
    foot.show(ui, |ui| foot::cautions(ui, board, opened, asks));
    egui::CentralPanel::default().frame(page.inner_margin(sides)).show(ui, |ui| {
        // Heads and labels stay in their places: nothing fades under them.
        ui.spacing_mut().scroll.fade.strength = 0.0;
        let view = ui.available_rect_before_wrap();
        ScrollArea::both().id_salt("board").auto_shrink(false).show(ui, |ui| {
            columns(ui, (board, session), (view, closed), asks);
        });
    });
}

/// The sentence in two lines, faint where it is not up to date: which strategy wins, and what the others miss; where the strategy
/// in focus is held against a reference, the second line says what is different and what causes it.
fn sentence(ui: &mut Ui, sentence: &Sentence, against: Option<&Against>) {
    let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), LEAD + REST), Sense::hover());
    let colors = theme::of(ui);
    let fresh = sentence.freshness == Freshness::Fresh;
    let color = if fresh { colors.ink } else { colors.muted };
    let font = if place.width() < WIDE { theme::title() } else { theme::headline() };
    let lay = |font| paint::elided(ui, &sentence.lead, font, color, place.width(), 1);
    let lead = lay(font);
    let lead = if lead.elided { lay(theme::body_strong()) } else { lead };
    let at = place.left_top() + vec2(0.0, (LEAD - lead.size().y) / 2.0);
    ui.painter().galley(at, lead, color);
    let lower = place.with_min_y(place.top() + LEAD);
    grid::announce(ui, place, "sentence", &sentence.text, &sentence.text);
    let Some(against) = against else {
        let rest = paint::elided(ui, &sentence.rest, theme::body(), colors.muted, place.width(), 1);
        ui.painter().galley(lower.min, rest, colors.muted);
        return;
    };
    let color = if against.freshness == Freshness::Fresh { colors.ink } else { colors.muted };
    let text = against.text();
    let words = paint::elided(ui, &text, theme::body(), color, place.width(), 1);
    ui.painter().galley(lower.min, words, color);
    let hover = against.sentences.join("\n");
    grid::announce(ui, lower, "against", &text, &hover);
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

    /// The sentence as on the board, in a slot of its own: two lines, all of which is read when pointing at them.
    pub fn text(self, ui: &mut Ui) {
        match self.sentence {
            Some(shown) => sentence(ui, shown, None),
            None => ui.add_space(LEAD + REST),
        }
    }
}

/// How far everything that was asked for is, 0 to 1.
fn share(progress: Progress) -> f32 {
    let tenths = 10 * progress.done + progress.tenths;
    tenths as f32 / (10 * progress.total).max(1) as f32
}

/// Columns and bands. Titles and labels stay at the left edge of `view` while the columns are scrolled, heads at its top.
/// `closed` is the height that is left for the board while the cautions are closed.
fn columns(
    ui: &mut Ui,
    (board, session): (&Board, &Session<'_>),
    (view, closed): (Rect, f32),
    asks: &mut Vec<BoardAsk>,
) {
    let origin = ui.cursor().min;
    let grid = Grid::new(view, origin, board.columns.len());
    let clip = ui.clip_rect();
    let part = |ui: &mut Ui, name: &str, from: Pos2| {
        let mut part = ui.new_child(UiBuilder::new().id_salt(name).max_rect(ui.max_rect()));
        part.set_clip_rect(Rect::from_min_max(from, clip.max));
        part
    };
    let (left, right) = (clip.left(), grid.margin_right());
    let mut names = part(ui, "names", pos2(right, clip.top()));
    let backdrops: Vec<_> = board.columns.iter().map(|_| names.painter().add(Shape::Noop)).collect();
    let detail = grid.detail_top().max(view.top() + NAME);
    let mut details = part(ui, "details", pos2(right, detail));
    let heads_bottom = grid.heads_bottom();
    let mut margin = part(ui, "margin", pos2(left, heads_bottom));
    let mut inner = part(ui, "columns", pos2(right, heads_bottom));
    let bottom = bands((&mut margin, &mut inner), (&grid, closed), (board, session), asks);
    heads::details(&mut details, &grid, board, asks);
    heads::names(&mut names, &grid, board, asks);
    corner::corner(ui, &grid, board, asks);
    adding::place(&mut names, &grid, board, bottom, asks);
    for (index, backdrop) in backdrops.into_iter().enumerate() {
        names.painter().set(backdrop, card(ui, &grid, board, session, index, bottom));
        let head = grid.card(index, view.top(), heads_bottom);
        let pressed = names.rect_contains_pointer(head) && names.input(|i| i.pointer.primary_pressed());
        if pressed {
            asks.push(BoardAsk::Focus(board.columns[index].strategy));
        }
    }
    ui.allocate_rect(Rect::from_min_size(origin, vec2(grid.width(), bottom - origin.y)), Sense::hover());
    show_new(ui, &grid, board);
}

/// Settings and bands; returns where they end.
fn bands(
    (margin, columns): (&mut Ui, &mut Ui),
    (grid, closed): (&Grid, f32),
    (board, session): (&Board, &Session<'_>),
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    let mut top = match session.opened(SETTINGS) {
        Fold::Open => sliders::open(margin, columns, grid, board, asks),
        Fold::Closed => sliders::folded(margin, columns, grid, board, asks),
    };
    let heights = heights(grid, board, closed);
    for band in &board.bands {
        top = figures::band((margin, columns), grid, (board, session), (band, top, heights), asks);
    }
    top + space::TIGHT
}

/// Heights of rows and view angles where so much is left for the board while nothing is opened.
fn heights(grid: &Grid, board: &Board, closed: f32) -> Heights {
    Heights::new(grid, board, closed - NAME - DETAIL - sliders::folded_height(grid))
}

/// Scrolls to a strategy that has come, where it stands beyond the edge.
fn show_new(ui: &Ui, grid: &Grid, board: &Board) {
    let known_as = ui.scope_id().with("strategies");
    let now: Vec<Id> = board.columns.iter().map(|column| column.strategy).collect();
    let before = ui.data(|data| data.get_temp::<Vec<Id>>(known_as));
    if before.as_ref() == Some(&now) {
        return;
    }
    if let Some(before) = before.filter(|before| before.iter().any(|id| now.contains(id)))
        && let Some(index) = now.iter().position(|id| !before.contains(id))
    {
        // All of it where there is room, and its beginning where there is none.
        ui.scroll_to_rect(grid.brought_to_sight(index), None);
    }
    ui.data_mut(|data| data.insert_temp(known_as, now));
}

/// What is behind a column: its card with the stripe in its colour; the one in focus has a stronger edge.
fn card(ui: &Ui, grid: &Grid, board: &Board, session: &Session<'_>, index: usize, bottom: f32) -> Shape {
    let colors = theme::of(ui);
    let column = &board.columns[index];
    let area = grid.card(index, grid.view.top(), bottom);
    let stripe = Rect::from_min_max(area.min, pos2(area.max.x, area.min.y + STRIPE));
    let edge = if session.focus == Some(column.strategy) {
        Stroke::new(1.5, colors.muted)
    } else {
        Stroke::new(1.0, colors.rule)
    };
    let corners = CornerRadius { nw: 6, ne: 6, sw: 0, se: 0 };
    Shape::Vec(vec![
        Shape::rect_filled(area, 6.0, colors.surface),
        Shape::Rect(egui::epaint::RectShape::stroke(area, 6.0, edge, StrokeKind::Inside)),
        Shape::rect_filled(stripe, corners, grid::strategy_color(ui, column)),
    ])
}
