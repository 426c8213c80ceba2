use super::ask::{BoardAsk, CAUTIONS};
use super::grid::{self, LABEL_WIDTH, NARROW, TITLE_WIDTH};
use super::model::{Board, Fold};
use super::paint;
use crate::caution_mark::{self, MARK};
use crate::cautions::{self, CautionRow};
use crate::figures::Freshness;
use crate::show;
use crate::theme::{self, Colors, space};
use egui::text::LayoutJob;
use egui::{
    Align2, Color32, Rect, Role, ScrollArea, Sense, TextFormat, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use obliquity_planning::Severity;

/// The line that stands whether the list is opened or not.
pub(super) const LINE: f32 = 22.0;
/// Between the counts of two severities.
const COUNT_GAP: f32 = 10.0;

/// A further caution in a line of its own.
const FURTHER: f32 = 20.0;
/// No more of them than this.
const MOST_FURTHER: f32 = 10.0;

/// What of some height that nothing else needs is given to further cautions, while they are closed.
pub(super) fn further(spare: f32) -> f32 {
    // A little stays free, so that the board's end is seen.
    FURTHER * ((spare - space::PAGE) / FURTHER).floor().clamp(0.0, MOST_FURTHER)
}

/// Cautions in one line: how many of each severity, and the first of them; opened, all of them under it in the rest of `ui`.
pub(super) fn cautions(ui: &mut Ui, board: &Board, opened: Fold, asks: &mut Vec<BoardAsk>) {
    let rows = &board.cautions;
    let (line, _) = ui.allocate_exact_size(vec2(ui.available_width(), LINE), Sense::hover());
    let narrow = line.width() < NARROW;
    let margin = LABEL_WIDTH + if narrow { 0.0 } else { TITLE_WIDTH };
    let place = line.with_max_x(line.left() + margin - space::ROW - MARK);
    counts(ui, (rows, board.cautions_freshness), place);
    if rows.is_empty() {
        return;
    }
    let turn = line.with_min_x(line.right() - TURN_WIDTH);
    let rest = Rect::from_min_max(pos2(line.left() + margin + space::TIGHT, line.top()), turn.left_bottom());
    turn_ui(ui, rows.len(), turn, opened, asks);
    if opened == Fold::Closed {
        let lines = ((ui.max_rect().bottom() - line.bottom()) / FURTHER + 0.01).floor().max(0.0) as usize;
        let further = (0..lines).map(|number| line.bottom() + FURTHER * number as f32);
        let further =
            further.map(|top| Rect::from_min_size(pos2(rest.left(), top), vec2(rest.width(), FURTHER)));
        let lines =
            std::iter::once(rest).chain(further).map(|line| line.with_max_x(rest.right() - space::ROW));
        for (number, (row, place)) in rows.iter().zip(lines).enumerate() {
            in_a_line(ui, (number, row), place, asks);
        }
        return;
    }
    let note = "local rules and the remote pilot decide";
    let muted = theme::of(ui).muted;
    ui.painter().text(rest.left_center(), Align2::LEFT_CENTER, note, theme::caption(), muted);
    let area = ui.available_rect_before_wrap().with_min_x(rest.left());
    ui.scope_builder(UiBuilder::new().max_rect(area), |ui| {
        ScrollArea::vertical().id_salt("cautions").auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            for row in rows {
                caution(ui, row, asks);
            }
        });
    });
}

const TURN_WIDTH: f32 = 78.0;

/// What opens the list and closes it.
fn turn_ui(ui: &Ui, count: usize, place: Rect, opened: Fold, asks: &mut Vec<BoardAsk>) {
    let (text, spoken) = match opened {
        Fold::Open => ("close ⏷".to_owned(), "Close the cautions".to_owned()),
        Fold::Closed => (format!("all {count} ⏶"), "Show all cautions".to_owned()),
    };
    let response = grid::link(ui, place, "all cautions", &spoken, &spoken);
    let colors = theme::of(ui);
    let at = place.right_center();
    ui.painter().text(at, Align2::RIGHT_CENTER, text, theme::caption_strong(), colors.accent);
    if response.clicked() {
        asks.push(BoardAsk::Turn(CAUTIONS));
    }
}

/// How many cautions of each severity there are.
fn counts(ui: &Ui, (rows, freshness): (&[CautionRow], Freshness), place: Rect) {
    let colors = theme::of(ui);
    let kinds = [
        (Severity::Limit, "limit", "limits"),
        (Severity::Check, "check", "checks"),
        (Severity::Reminder, "note", "notes"),
    ];
    let count = |severity| rows.iter().filter(|row| row.severity == severity).count();
    let all: Vec<(Severity, String)> = kinds
        .into_iter()
        .filter(|(severity, ..)| count(*severity) > 0)
        .map(|(severity, one, many)| {
            let count = u32::try_from(count(severity)).unwrap_or(u32::MAX);
            (severity, show::counted(count, one, many))
        })
        .collect();
    let lay = |severity: Severity, text: &str| {
        let color = theme::severity(colors, severity);
        ui.painter().layout_no_wrap(text.to_owned(), theme::caption_strong(), color)
    };
    let width = |(severity, text): &(Severity, String)| MARK + lay(*severity, text).size().x + COUNT_GAP;
    // Where there is no room for words, the marks say which is which.
    let brief = all.iter().map(width).sum::<f32>() - COUNT_GAP > place.width();
    let mut at = place.left();
    let mut told = Vec::new();
    for (severity, text) in all {
        let color = theme::severity(colors, severity);
        let shown = if brief { text.split(' ').next().unwrap_or(&text) } else { &text };
        caution_mark::mark(ui, pos2(at, place.center().y - 8.0), severity, color);
        let galley = lay(severity, shown);
        let right = at + MARK + galley.size().x;
        ui.painter().galley(pos2(at + MARK, place.center().y - galley.size().y / 2.0), galley, color);
        at = right + COUNT_GAP;
        told.push(text);
    }
    if told.is_empty() {
        let text = "no cautions";
        ui.painter().text(place.left_center(), Align2::LEFT_CENTER, text, theme::caption(), colors.muted);
        told.push(text.to_owned());
    }
    let late = match freshness {
        Freshness::Fresh => "",
        Freshness::Stale => "; those along the route are of earlier settings",
        Freshness::Pending => "; those along the route are still being looked for",
    };
    let hover = "Limits are broken as a strategy is set; checks are to be mended or looked at before flying; notes are to \
                 be kept in mind. Local rules and the remote pilot decide.";
    grid::announce(ui, place, "caution counts", &format!("Cautions: {}{late}", told.join(", ")), hover);
}

/// A caution in one line; a click shows its place, or opens the list where it has none.
fn in_a_line(ui: &Ui, (number, row): (usize, &CautionRow), place: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let beside = place.left_center() - vec2(MARK, 8.0);
    caution_mark::mark(ui, beside, row.severity, theme::severity(colors, row.severity));
    let whose =
        if row.strategies.is_empty() { String::new() } else { format!(" ({})", row.strategies.join(", ")) };
    let text = format!("{}{whose}", show::unbroken(&row.text));
    let (spoken, ask) = match row.place_of {
        Some(strategy) => (format!("Show where: {}", row.text), BoardAsk::ShowPlace(strategy, row.id)),
        None => (row.text.clone(), BoardAsk::Turn(CAUTIONS)),
    };
    let response = grid::link(ui, place, ("caution in a line", number), &spoken, &meaning(row));
    let color = if response.hovered() { colors.accent } else { ink(row, colors) };
    let galley = paint::elided(ui, &text, theme::caption(), color, place.width(), 1);
    ui.painter().galley(place.left_center() - vec2(0.0, galley.size().y / 2.0), galley, color);
    if response.clicked() {
        asks.push(ask);
    }
}

/// What to know when pointing at a caution: its text, what its severity means, what it says of other strategies.
fn meaning(row: &CautionRow) -> String {
    let meaning = match row.severity {
        Severity::Limit => "A limit that is broken as the strategy is set.",
        Severity::Check => "Something to check or mend before flying.",
        Severity::Reminder => "Something to keep in mind.",
    };
    let further = row.further.iter().map(|other| format!("{}: {}", other.strategy, other.text));
    let place = row.place_of.map(|_| "Click for its place on the plan.".to_owned());
    let source = format!("[{}]", cautions::source(row.source));
    let late = (row.freshness != Freshness::Fresh)
        .then(|| "Of earlier settings; it is being looked at anew.".to_owned());
    let lines = std::iter::once(row.text.clone()).chain(further).chain([meaning.to_owned(), source]);
    lines.chain(late).chain(place).collect::<Vec<_>>().join("\n")
}

/// What is stale is told as what matters less.
fn ink(row: &CautionRow, colors: &Colors) -> Color32 {
    if row.freshness == Freshness::Fresh { colors.ink } else { colors.muted }
}

/// A row: shape and word of its severity, text, source; with a place it can be pressed.
fn caution(ui: &mut Ui, row: &CautionRow, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let color = theme::severity(colors, row.severity);
    let mut job = LayoutJob::default();
    let font = theme::caption_strong();
    job.append(cautions::word(row.severity), MARK, TextFormat::simple(font.clone(), color));
    job.append(
        &show::unbroken(&row.text),
        space::ROW,
        TextFormat::simple(theme::caption(), ink(row, colors)),
    );
    let muted = TextFormat::simple(theme::caption(), colors.muted);
    if !row.strategies.is_empty() {
        job.append(&format!("({})", row.strategies.join(", ")), space::TIGHT, muted.clone());
    }
    if let Some(also) = row.also() {
        job.append(&show::unbroken(&also), space::TIGHT, muted.clone());
    }
    job.append(&format!("[{}]", cautions::source(row.source)), space::TIGHT, muted);
    if row.place_of.is_some() {
        job.append("show the place", space::ROW, TextFormat::simple(theme::caption(), colors.accent));
    }
    let label = egui::Label::new(job).wrap().selectable(false);
    let Some(strategy) = row.place_of else {
        let shown = ui.add(label).on_hover_text(meaning(row));
        caution_mark::mark(ui, shown.rect.left_top(), row.severity, color);
        return;
    };
    let shown = ui.add(label.sense(Sense::click())).on_hover_text(meaning(row));
    shown.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Show where: {}", row.text)));
    let shown = shown.on_hover_cursor(egui::CursorIcon::PointingHand);
    caution_mark::mark(ui, shown.rect.left_top(), row.severity, color);
    if shown.has_focus() {
        let stroke = egui::Stroke::new(1.5, colors.accent);
        ui.painter().rect_stroke(shown.rect.expand(1.0), 2.0, stroke, egui::StrokeKind::Outside);
    }
    if shown.clicked() {
        asks.push(BoardAsk::ShowPlace(strategy, row.id));
    }
}
