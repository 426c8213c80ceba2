use super::ask::BoardAsk;
use super::grid::{Grid, differs_mark};
use super::model::{Board, Column, Rank, Verdict};
use super::paint;
use crate::figures::Freshness;
use crate::show;
use crate::strategies::{Change, Lead, Toward};
use crate::theme::{self, space};
use egui::containers::menu::MenuButton;
use egui::{
    Button, Color32, ComboBox, CornerRadius, Frame, Key, Rect, RichText, Role, Sense, Stroke, StrokeKind,
    TextEdit, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use obliquity_planning::Id;

const MENU_WIDTH: f32 = 28.0;

/// Name, aircraft and verdict of every column; returns where they end.
pub(super) fn heads(ui: &mut Ui, grid: &Grid, board: &Board, top: f32, asks: &mut Vec<BoardAsk>) -> f32 {
    let mut bottom = top;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top + 9.0, f32::INFINITY);
        let id = ("head", column.strategy.0);
        let shown = ui.scope_builder(UiBuilder::new().id_salt(id).max_rect(area), |ui| {
            ui.set_width(area.width());
            ui.spacing_mut().item_spacing.y = space::HAIR;
            head(ui, board, column, asks);
        });
        bottom = bottom.max(shown.response.rect.bottom());
    }
    bottom + space::ROW
}

fn head(ui: &mut Ui, board: &Board, column: &Column, asks: &mut Vec<BoardAsk>) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        name(ui, column, ui.available_width() - MENU_WIDTH, asks);
        menu(ui, board, column, asks);
    });
    aircraft(ui, board, column, asks);
    ui.add_space(space::TIGHT);
    verdict(ui, column, asks);
}

/// The name, which can be typed over.
fn name(ui: &mut Ui, column: &Column, width: f32, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let id = name_field(column.strategy);
    let typed = ui.data(|data| data.get_temp::<String>(id));
    let mut text = typed.unwrap_or_else(|| column.given_name.clone());
    let edit = TextEdit::singleline(&mut text)
        .id(id)
        .font(theme::title())
        .text_color(if column.is_muted() { colors.muted } else { colors.ink })
        .frame(Frame::NONE)
        .margin(egui::Margin::ZERO)
        .desired_width(width);
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
    response.on_hover_text("Type to rename");
}

/// The field that holds a strategy's name, for the command that renames.
pub fn name_field(strategy: Id) -> egui::Id {
    egui::Id::unique(("name of strategy", strategy.0))
}

/// What else can be done with the strategy.
fn menu(ui: &mut Ui, board: &Board, column: &Column, asks: &mut Vec<BoardAsk>) {
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
fn aircraft(ui: &mut Ui, board: &Board, column: &Column, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::TIGHT;
        ui.spacing_mut().button_padding.y = 0.0;
        ui.spacing_mut().interact_size.y = 20.0;
        ui.style_mut().override_font_id = Some(theme::caption());
        ui.visuals_mut().override_text_color = Some(colors.muted);
        if let Some(other) = &column.aircraft_differs {
            let (place, response) = ui.allocate_exact_size(vec2(10.0, 20.0), Sense::hover());
            differs_mark(ui, place.center(), colors.ink);
            response.on_hover_text(format!("The reference flies {other}"));
        }
        let mut chosen = column.aircraft_id;
        let combo = ComboBox::from_id_salt("aircraft").selected_text(&column.aircraft).truncate();
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
        if board.reference == Some(column.strategy) {
            chip(ui, "reference", colors.muted, "The others show their difference from this strategy");
        }
    });
}

/// A word in a rounded outline.
fn chip(ui: &mut Ui, text: &str, color: Color32, hint: &str) {
    let galley = ui.painter().layout_no_wrap(text.to_owned(), theme::caption(), color);
    let (area, response) = ui.allocate_exact_size(galley.size() + vec2(14.0, 3.0), Sense::hover());
    let outline = Stroke::new(1.0, color);
    ui.painter().rect_stroke(area, CornerRadius::same(8), outline, StrokeKind::Inside);
    ui.painter().galley(area.center() - galley.size() / 2.0, galley, color);
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, text));
    response.on_hover_text(hint);
}

/// Whether the strategy meets the requirement, and what it misses most.
fn verdict(ui: &mut Ui, column: &Column, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let stale = column.freshness != Freshness::Fresh;
    let color = if stale { colors.muted } else { verdict_color(column.verdict, colors) };
    let words = match column.freshness {
        Freshness::Fresh | Freshness::Pending => column.verdict_text.clone(),
        Freshness::Stale => format!("before the change: {}", column.verdict_text),
    };
    let begin = ui.cursor().min;
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        let (mark, _) = ui.allocate_exact_size(vec2(18.0, 17.0), Sense::hover());
        let marked = if stale { Verdict::Unknown } else { column.verdict };
        paint::verdict_mark(ui.painter(), pos2(mark.left() + 6.0, mark.center().y), marked, color);
        ui.add(egui::Label::new(RichText::new(&words).font(theme::body_strong()).color(color)).wrap());
    });
    if let Some(worst) = &column.worst {
        let more = column.shortfalls.len().saturating_sub(1);
        let text = if more > 0 { format!("{worst}; and {more} more") } else { worst.clone() };
        let color = if stale { colors.muted } else { colors.ink };
        ui.add(
            egui::Label::new(RichText::new(show::unbroken(&text)).font(theme::caption()).color(color)).wrap(),
        );
    }
    let whole = Rect::from_min_max(begin, pos2(ui.max_rect().right(), ui.min_rect().bottom()));
    let response = ui.interact(whole, ui.scope_id().with("verdict"), Sense::click());
    let spoken = spoken_head(column, &words);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    if response.clicked() {
        asks.push(BoardAsk::Focus(column.strategy));
    }
    let hover = hover(column);
    response.on_hover_text(hover);
    if let Some((words, hint)) = rank(column).filter(|_| !stale) {
        chip(ui, words, verdict_color(column.verdict, colors), hint);
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
