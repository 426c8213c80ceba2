use super::adding;
use super::ask::BoardAsk;
use super::grid::{self, DETAIL, Grid, NAME, announce, differs_mark};
use super::model::{Board, Sense, Verdict, Worth};
use super::paint;
use crate::document::hold_name;
use crate::figures::Freshness;
use crate::strategies::Change;
use crate::theme::{self, space};
use egui::{Align, ComboBox, Layout, Rect, Ui, UiBuilder, pos2, vec2};
use obliquity_planning::Hold;

const HOLD_HINT: &str = "A comparison is fair when something is equal: at the same GSD, what does each cost; in the same \
                         time, what does each deliver; with the requirement met, what does each take. The program sets the free input of every strategy. Common \
                         practice.";
const PROPOSED_HINT: &str = "At one GSD a camera with fewer pixels may miss by 0.1 cm and look lost; at one height one with \
                             more looks dear. Fair is each at its own setting of least time on site that meets the \
                             requirement. Click to search for them.";
const REFERENCE_HINT: &str = "The others show beside each figure how far they are from this strategy's: a filled arrow is \
                              better, a hollow one worse, nothing is the same. A lozenge marks settings that are unlike \
                              its own.";
/// Words before the choices.
const WORD_WIDTH: f32 = 66.0;
/// A choice, and a note under it.
const CHOICE: f32 = 22.0;
const NOTE: f32 = 16.0;

/// What is held equal, which strategy the others are held against, and where one that passes stands out of sight. Every line
/// has its own place, whether it is filled or not.
pub(super) fn corner(ui: &mut Ui, grid: &Grid, board: &Board, asks: &mut Vec<BoardAsk>) {
    let top = grid.detail_top() - NAME;
    let right = grid.margin_right() - space::ROW;
    let line = |from: f32, height: f32| {
        Rect::from_min_max(pos2(grid.left, top + from), pos2(right, top + from + height))
    };
    let choice = 4.0;
    hold(ui, board, line(choice, CHOICE), line(choice + CHOICE, NOTE), asks);
    let second = choice + CHOICE + NOTE + space::TIGHT;
    reference(ui, board, line(second, CHOICE), asks);
    if board.reference.is_some() {
        legend(ui, line(second + CHOICE, NOTE));
    }
    let last = line(NAME + DETAIL - CHOICE - space::TIGHT, CHOICE);
    let add = last.with_min_x(last.right() - 26.0);
    out_of_sight(ui, grid, board, last.with_max_x(add.left() - space::TIGHT));
    adding::in_corner(ui, grid, board, add, asks);
}

/// A word, and the place for its choice beside it; in a narrow window there is room for the choice alone.
fn word(ui: &Ui, line: Rect, text: &str, hint: &str) -> Rect {
    if line.width() < 2.0 * WORD_WIDTH {
        return line;
    }
    let color = theme::of(ui).muted;
    let galley = paint::elided(ui, text, theme::caption(), color, WORD_WIDTH, 1);
    let at = line.left_center() - vec2(0.0, galley.size().y / 2.0);
    ui.painter().galley(at, galley, color);
    announce(ui, line.with_max_x(line.left() + WORD_WIDTH), ("word", text), text, hint);
    line.with_min_x(line.left() + WORD_WIDTH)
}

/// Draws a choice into its place.
fn choose(ui: &mut Ui, place: Rect, name: &str, shown: &str, list: impl FnOnce(&mut Ui)) {
    let layout = Layout::left_to_right(Align::Center);
    let builder = UiBuilder::new().id_salt(name).max_rect(place).layout(layout);
    ui.scope_builder(builder, |ui| {
        ui.spacing_mut().interact_size.y = CHOICE - 2.0;
        ui.spacing_mut().button_padding.y = 0.0;
        ui.style_mut().override_font_id = Some(theme::caption());
        let combo = ComboBox::from_id_salt(name).width(place.width()).truncate().selected_text(shown);
        ui.name_inputs(name, |ui| combo.show_ui(ui, list));
    });
}

fn hold(ui: &mut Ui, board: &Board, line: Rect, note: Rect, asks: &mut Vec<BoardAsk>) {
    let place = word(ui, line, "Hold equal", HOLD_HINT);
    let name = |hold: Option<Hold>| hold.map_or("nothing", hold_name);
    let shown =
        if place == line { format!("equal: {}", name(board.hold)) } else { name(board.hold).to_owned() };
    let mut chosen = board.hold;
    choose(ui, place, "Hold equal", &shown, |ui| {
        let all = [Hold::Gsd, Hold::Height, Hold::TimeOnSite, Hold::Requirement].map(Some);
        for hold in [None].into_iter().chain(all) {
            ui.selectable_value(&mut chosen, hold, name(hold));
        }
    });
    if chosen != board.hold {
        asks.push(BoardAsk::Hold(chosen));
    }
    if let Some(hold) = board.proposed {
        propose(ui, hold, note, asks);
    } else if !board.hold_note.is_empty() {
        let color = theme::of(ui).muted;
        let galley = paint::elided(ui, &board.hold_note, theme::caption(), color, note.width(), 1);
        ui.painter().galley(note.min, galley, color);
        announce(ui, note, "hold note", &board.hold_note, &board.hold_note);
    }
}

/// What is fair where something is held by none and aircraft differ; a click holds it.
fn propose(ui: &mut Ui, hold: Hold, line: Rect, asks: &mut Vec<BoardAsk>) {
    let text = format!("Aircraft differ: hold {} equal", hold_name(hold));
    let response = grid::link(ui, line, "proposed", &text, PROPOSED_HINT);
    let colors = theme::of(ui);
    let color = if response.hovered() || response.has_focus() { colors.ink } else { colors.accent };
    let galley = paint::elided(ui, &text, theme::caption(), color, line.width(), 1);
    ui.painter().galley(line.min, galley, color);
    if response.clicked() {
        asks.push(BoardAsk::Hold(Some(hold)));
    }
}

fn reference(ui: &mut Ui, board: &Board, line: Rect, asks: &mut Vec<BoardAsk>) {
    let place = word(ui, line, "Reference", REFERENCE_HINT);
    let named = board.columns.iter().find(|column| Some(column.strategy) == board.reference);
    let none = if place == line { "no reference" } else { "none" };
    let shown = named.map_or(none, |column| column.name.as_str());
    let mut chosen = board.reference;
    choose(ui, place, "Differences from", shown, |ui| {
        ui.selectable_value(&mut chosen, None, "no reference");
        for column in &board.columns {
            ui.selectable_value(&mut chosen, Some(column.strategy), &column.name);
        }
    });
    if chosen != board.reference {
        asks.push(BoardAsk::Change(Change::Reference(chosen)));
    }
}

/// What the marks of a difference mean.
fn legend(ui: &Ui, line: Rect) {
    let colors = theme::of(ui);
    let y = line.center().y;
    let mut x = line.left();
    for (mark, text) in [(Some(Worth::Better), "better"), (Some(Worth::Worse), "worse"), (None, "unlike it")]
    {
        let word = paint::elided(ui, text, theme::caption(), colors.muted, line.width(), 1);
        let right = x + 12.0 + word.size().x;
        if right > line.right() {
            break;
        }
        let at = pos2(x + 4.0, y);
        match mark {
            Some(worth) => paint::arrow(ui.painter(), at, Sense::Less, worth, colors),
            None => differs_mark(ui, at, colors.ink),
        }
        ui.painter().galley(pos2(x + 12.0, y - word.size().y / 2.0), word, colors.muted);
        x = right + space::GROUP;
    }
    announce(ui, line, "legend", "Marks of differences from the reference", REFERENCE_HINT);
}

/// A line for strategies that meet the requirement and stand beyond the edge; a click goes to the first of them.
fn out_of_sight(ui: &Ui, grid: &Grid, board: &Board, line: Rect) {
    let passes = |index: &usize| {
        let column = &board.columns[*index];
        column.verdict == Verdict::Meets && column.freshness == Freshness::Fresh && !grid.in_sight(*index)
    };
    let hidden: Vec<usize> = (0..board.columns.len()).filter(passes).collect();
    let Some(&first) = hidden.first() else { return };
    let colors = theme::of(ui);
    let name = &board.columns[first].name;
    let text = match hidden.len() {
        1 => format!("{name} passes"),
        more => format!("{more} more pass"),
    };
    let is_left = grid.card(first, 0.0, 0.0).left() < grid.margin_right();
    let text = if is_left { format!("⏴ {text}") } else { format!("{text} ⏵") };
    let spoken = format!("Show {name}, which meets the requirement and stands out of sight");
    let names: Vec<&str> = hidden.iter().map(|&index| board.columns[index].name.as_str()).collect();
    let hover = format!("Out of sight, and meets the requirement: {}. Click to go there.", names.join(", "));
    let response = grid::link(ui, line, "out of sight", &spoken, &hover);
    let color = if response.hovered() { colors.accent } else { colors.good };
    let galley = paint::elided(ui, &text, theme::caption_strong(), color, line.width(), 1);
    ui.painter().galley(line.left_center() - vec2(0.0, galley.size().y / 2.0), galley, color);
    if response.clicked() {
        ui.scroll_to_rect(grid.brought_to_sight(first), None);
    }
}
