use super::ask::BoardAsk;
use super::grid::{DETAIL, Grid, NAME, announce, differs_mark};
use super::model::{Board, Column, Rank, Verdict};
use super::paint;
use crate::figures::Freshness;
use crate::mark;
use crate::show;
use crate::strategies::{Change, Lead, Toward};
use crate::theme::{self, space};
use egui::containers::menu::MenuButton;
use egui::{
    Align2, Button, Color32, ComboBox, CornerRadius, FontId, Frame, Key, Pos2, Rect, Role, Stroke,
    StrokeKind, TextBuffer, TextEdit, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use obliquity_planning::Id;

const MENU_WIDTH: f32 = 17.0;
/// The strategy's number in its colour.
const NUMBER_WIDTH: f32 = 19.0;
/// The line of the aircraft, and that of the verdict.
const AIRCRAFT: f32 = 20.0;
const AIRCRAFT_WIDTH: f32 = 100.0;
const VERDICT: f32 = 18.0;
/// Before the verdict's words.
const MARK_WIDTH: f32 = 17.0;

/// The name of every column, over everything that is scrolled down.
pub(super) fn names(ui: &mut Ui, grid: &Grid, board: &Board, asks: &mut Vec<BoardAsk>) {
    for (index, column) in board.columns.iter().enumerate() {
        let top = grid.view.top();
        let area = grid.inside(index, top + 8.0, top + NAME);
        let id = ("name", column.strategy.0);
        ui.scope_builder(UiBuilder::new().id_salt(id).max_rect(area), |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                let (place, _) = ui.allocate_exact_size(vec2(NUMBER_WIDTH, 22.0), egui::Sense::hover());
                let number = Rect::from_center_size(place.center() - vec2(2.0, 0.0), vec2(15.0, 15.0));
                mark::paint(ui.painter(), number, column.slot, theme::of(ui));
                name(ui, column, area.width() - NUMBER_WIDTH - MENU_WIDTH, asks);
                menu(ui, board, column, asks);
            });
        });
    }
}

/// Aircraft and verdict of every column. Each line has its own place, whether it is filled or not.
pub(super) fn details(ui: &mut Ui, grid: &Grid, board: &Board, asks: &mut Vec<BoardAsk>) {
    for (index, column) in board.columns.iter().enumerate() {
        let top = grid.detail_top();
        let area = grid.inside(index, top, top + DETAIL);
        let id = ("head", column.strategy.0);
        ui.scope_builder(UiBuilder::new().id_salt(id).max_rect(area), |ui| {
            aircraft(ui, board, column, area.with_max_y(top + AIRCRAFT), asks);
            verdict(ui, column, area.with_min_y(top + AIRCRAFT + space::TIGHT), asks);
        });
    }
}

/// The name, which can be typed over.
fn name(ui: &mut Ui, column: &Column, width: f32, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let id = name_field(column.strategy);
    let typed = ui.data(|data| data.get_temp::<String>(id));
    let mut text = typed.unwrap_or_else(|| column.given_name.clone());
    let written = ui.ctx().memory(|memory| memory.has_focus(id));
    let ink = if column.is_muted() { colors.muted } else { colors.ink };
    // A name that is too long ends in an ellipsis until it is typed over.
    let mut elided =
        |ui: &Ui, text: &dyn TextBuffer, width: f32| paint::elided(ui, text.as_str(), font(), ink, width, 1);
    let mut edit = TextEdit::singleline(&mut text)
        .id(id)
        .font(font())
        .text_color(colors.ink)
        .frame(Frame::NONE)
        .margin(egui::Margin::ZERO)
        .desired_width(width);
    if !written {
        edit = edit.layouter(&mut elided);
    }
    let spoken = format!("Name of {}", column.name);
    let response = ui.name_inputs(spoken, |ui| ui.add_sized(vec2(width, 22.0), edit));
    let under = response.rect.bottom();
    if response.hovered() || response.has_focus() {
        let color = if response.has_focus() { colors.accent } else { colors.rule };
        ui.painter().hline(response.rect.x_range(), under, Stroke::new(1.0, color));
    }
    if response.changed() {
        ui.data_mut(|data| data.insert_temp(id, text.clone()));
    }
    if response.lost_focus() {
        ui.data_mut(|data| data.remove_temp::<String>(id));
        let given_up = ui.input(|input| input.key_pressed(Key::Escape));
        if !given_up && text.trim() != column.given_name && !text.trim().is_empty() {
            asks.push(BoardAsk::Change(Change::Rename(column.strategy, text)));
        }
    }
    response.on_hover_text(format!("{}\nType to rename", column.name));
}

/// Names of strategies in their columns.
fn font() -> FontId {
    FontId::new(14.0, theme::strong())
}

/// The field that holds a strategy's name, for the command that renames.
pub fn name_field(strategy: Id) -> egui::Id {
    egui::Id::unique(("name of strategy", strategy.0))
}

/// What else can be done with the strategy.
fn menu(ui: &mut Ui, board: &Board, column: &Column, asks: &mut Vec<BoardAsk>) {
    ui.spacing_mut().button_padding.x = space::HAIR;
    let button = Button::new("…").frame_when_inactive(false).min_size(vec2(MENU_WIDTH, 22.0));
    let (response, _) = MenuButton::from_button(button).ui(ui, |ui| {
        ui.set_min_width(190.0);
        let mut item = |text: String, ask: BoardAsk| {
            if ui.button(text).clicked() {
                asks.push(ask);
                ui.close();
            }
        };
        let id = column.strategy;
        item("Edit passes…".to_owned(), BoardAsk::ShowPasses(id));
        item("Duplicate".to_owned(), BoardAsk::Change(Change::Duplicate(id)));
        item("Move left".to_owned(), BoardAsk::Change(Change::Move(id, Toward::Left)));
        item("Move right".to_owned(), BoardAsk::Change(Change::Move(id, Toward::Right)));
        if board.reference == Some(id) {
            item("No reference".to_owned(), BoardAsk::Change(Change::Reference(None)));
        } else {
            item("Make it the reference".to_owned(), BoardAsk::Change(Change::Reference(Some(id))));
        }
        match column.lead {
            Lead::Height => item("Let GSD lead".to_owned(), BoardAsk::Lead(id, Lead::Gsd)),
            Lead::Gsd => item("Let height lead".to_owned(), BoardAsk::Lead(id, Lead::Height)),
        }
        item("Remove".to_owned(), BoardAsk::Change(Change::Remove(id)));
    });
    let spoken = format!("More for {}", column.name);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    response.on_hover_text("Edit its passes, duplicate, move, make it the reference, remove");
}

/// The aircraft, swapped in one click.
fn aircraft(ui: &mut Ui, board: &Board, column: &Column, line: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    if board.reference == Some(column.strategy) {
        let hint = "The others show their difference from this strategy";
        chip(ui, line.right_center(), Align2::RIGHT_CENTER, "reference", colors.muted, hint);
    }
    let place = line.with_max_x(line.left() + AIRCRAFT_WIDTH);
    ui.scope_builder(UiBuilder::new().id_salt("aircraft").max_rect(place), |ui| {
        ui.spacing_mut().button_padding.y = 0.0;
        ui.spacing_mut().interact_size.y = AIRCRAFT;
        ui.style_mut().override_font_id = Some(theme::caption());
        ui.visuals_mut().override_text_color = Some(colors.muted);
        if let Some(other) = &column.aircraft_differs {
            // In the gutter, so that names stay on their line.
            let mark = Rect::from_min_size(line.min - vec2(9.0, 0.0), vec2(9.0, line.height()));
            differs_mark(ui, mark.center(), colors.ink);
            let spoken = format!("Aircraft of {} is unlike the reference's", column.name);
            announce(ui, mark, "aircraft differs", &spoken, &format!("The reference flies {other}"));
        }
        let mut chosen = column.aircraft_id;
        let combo = ComboBox::from_id_salt("aircraft")
            .width(AIRCRAFT_WIDTH)
            .selected_text(&column.aircraft)
            .truncate();
        ui.name_inputs(format!("Aircraft of {}", column.name), |ui| {
            combo.show_ui(ui, |ui| {
                for (id, name) in &board.fleet {
                    ui.selectable_value(&mut chosen, *id, name);
                }
            });
        });
        if chosen != column.aircraft_id {
            asks.push(BoardAsk::Change(Change::Swap { strategy: column.strategy, aircraft: chosen }));
        }
    });
}

/// A word in a rounded outline.
fn chip(ui: &Ui, at: Pos2, anchor: Align2, text: &str, color: Color32, hint: &str) {
    let galley = ui.painter().layout_no_wrap(text.to_owned(), theme::caption(), color);
    let area = anchor.anchor_size(at, galley.size() + vec2(14.0, 2.0));
    let outline = Stroke::new(1.0, color);
    ui.painter().rect_stroke(area, CornerRadius::same(8), outline, StrokeKind::Inside);
    ui.painter().galley(area.center() - galley.size() / 2.0, galley, color);
    announce(ui, area, ("chip", text), text, hint);
}

/// Whether the strategy meets the requirement, and what it misses most: one line and two, however long their texts are.
fn verdict(ui: &mut Ui, column: &Column, area: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let stale = column.freshness != Freshness::Fresh;
    let color = if stale { colors.muted } else { verdict_color(column.verdict, colors) };
    let line = area.with_max_y(area.top() + VERDICT);
    let marked = if stale { Verdict::Unknown } else { column.verdict };
    paint::verdict_mark(ui.painter(), line.left_center() + vec2(6.0, 0.0), marked, color);
    let width = line.width() - MARK_WIDTH;
    let words = paint::elided(ui, &column.verdict_text, theme::body_strong(), color, width, 1);
    let at = pos2(line.left() + MARK_WIDTH, line.center().y - words.size().y / 2.0);
    ui.painter().galley(at, words, color);
    let below = area.with_min_y(line.bottom());
    let ranked = rank(column).filter(|_| !stale);
    if let Some(worst) = column.worst.as_ref().filter(|_| ranked.is_none()) {
        let more = column.shortfalls.len().saturating_sub(1);
        let text = if more > 0 { format!("{worst}; and {more} more") } else { worst.clone() };
        let color = if stale { colors.muted } else { colors.ink };
        let text = paint::elided(ui, &show::unbroken(&text), theme::caption(), color, below.width(), 2);
        ui.painter().galley(below.min, text, color);
    }
    let said = match column.freshness {
        Freshness::Fresh | Freshness::Pending => column.verdict_text.clone(),
        Freshness::Stale => format!("before the change: {}", column.verdict_text),
    };
    let response = ui.interact(area, ui.scope_id().with("verdict"), egui::Sense::click());
    let spoken = spoken_head(column, &said);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    if response.clicked() {
        asks.push(BoardAsk::Focus(column.strategy));
    }
    response.on_hover_text(if stale { format!("{said}\n{}", hover(column)) } else { hover(column) });
    if let Some((words, hint)) = ranked {
        let at = below.left_top() + vec2(0.0, space::HAIR);
        chip(ui, at, Align2::LEFT_TOP, words, verdict_color(column.verdict, colors), hint);
    }
}

/// How it ranks, in the words of its chip, with what they mean.
fn rank(column: &Column) -> Option<(&'static str, &'static str)> {
    match (column.rank, column.verdict) {
        (Rank::Other, _) => None,
        (Rank::Quickest, Verdict::Meets) => {
            Some(("quickest that passes", "The least time on site of those that meet the requirement"))
        }
        (Rank::OnlyOne, Verdict::Meets) => {
            Some(("only one that passes", "All others miss something of the requirement"))
        }
        (Rank::Quickest, _) => Some((
            "quickest as far as judged",
            "The least time on site of those that miss nothing that is judged",
        )),
        (Rank::OnlyOne, _) => {
            Some(("only one as far as judged", "All others miss something of what is judged"))
        }
    }
}

fn hover(column: &Column) -> String {
    let lines = column.shortfalls.iter().map(|shortfall| format!("• {shortfall}")).collect::<Vec<_>>();
    match (column.verdict, lines.as_slice()) {
        (Verdict::Meets, _) => "It reaches everything that is required".to_owned(),
        (Verdict::NotJudged, _) => format!(
            "Not judged: {}. Draw what stands there, give a typical building, or do not ask for it.",
            column.verdict_text
        ),
        (_, []) => column.verdict_text.clone(),
        (_, lines) => lines.join("\n"),
    }
}

fn spoken_head(column: &Column, words: &str) -> String {
    let worst = column.worst.as_ref().map_or_else(String::new, |worst| format!(": {worst}"));
    let rank = rank(column).map_or_else(String::new, |(words, _)| format!(", {words}"));
    format!("{}, {}, {words}{rank}{worst}", column.name, column.aircraft)
}

fn verdict_color(verdict: Verdict, colors: &theme::Colors) -> Color32 {
    match verdict {
        Verdict::Meets => colors.good,
        Verdict::Misses | Verdict::Infeasible | Verdict::Failed => colors.bad,
        Verdict::NotJudged | Verdict::Unknown => colors.muted,
    }
}
