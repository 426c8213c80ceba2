//! The row of screens, those that answer one question together.

use super::fold::standing;
use super::{HEIGHT, text_width};
use crate::screen::{Question, Screen};
use crate::theme::{self, space};
use egui::containers::menu::MenuButton;
use egui::{
    Align2, Button, Color32, FontId, Rect, Role, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

/// A screen in the row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tab {
    /// Which one.
    pub screen: Screen,
    /// Its name.
    pub title: &'static str,
    /// The question that it answers; nothing for one that is in the row only while it is shown.
    pub question: Option<Question>,
    /// What it shows, and its key.
    pub hint: String,
}

/// Beside a name.
const PAD: f32 = 4.5;
/// Between two questions: a line with room on both sides.
const DIVIDER: f32 = 10.0;

/// How the row is drawn.
#[derive(Debug, Clone)]
struct TabStyle {
    font: FontId,
    /// Whether the questions are written before their screens.
    asks: QuestionText,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum QuestionText {
    Written,
    Left,
}

/// How wide the row is at its narrowest with all screens in it.
pub fn width_of(ui: &Ui, tabs: &[Tab]) -> f32 {
    let look = TabStyle { font: theme::caption(), asks: QuestionText::Left };
    widths(ui, tabs, &look).into_iter().sum()
}

/// Draws the row into a place; gives the screen that was chosen.
pub fn tabs(ui: &mut Ui, tabs: &[Tab], shown: Screen, area: Rect) -> Option<Screen> {
    let looks = [
        TabStyle { font: theme::body(), asks: QuestionText::Written },
        TabStyle { font: theme::body(), asks: QuestionText::Left },
        TabStyle { font: theme::caption(), asks: QuestionText::Left },
    ];
    let fits = |look: &&TabStyle| widths(ui, tabs, look).iter().sum::<f32>() <= area.width();
    let look = looks.iter().find(fits).unwrap_or(&looks[2]);
    let widths = widths(ui, tabs, look);
    let at = tabs.iter().position(|tab| tab.screen == shown);
    let more = text_width(ui, "10 more", look.font.clone()) + 2.0 * PAD + 14.0;
    let stand = standing(&widths, at, area.width(), more);
    let mut chosen = None;
    let mut left = area.left();
    for &index in &stand {
        let place = Rect::from_min_size(pos2(left, area.top()), vec2(widths[index], area.height()));
        let is_first = index == stand[0];
        if one(ui, tabs, index, (shown, is_first), place, look) {
            chosen = Some(tabs[index].screen);
        }
        left = place.right();
    }
    let rest: Vec<usize> = (0..tabs.len()).filter(|index| !stand.contains(index)).collect();
    if !rest.is_empty() {
        let place = Rect::from_min_max(pos2(left + 2.0, area.top()), area.max);
        chosen = chosen.or(overflow(ui, tabs, &rest, place, look));
    }
    chosen
}

/// Whether a screen is the first of its question.
fn begins(tabs: &[Tab], index: usize) -> bool {
    index == 0 || tabs[index - 1].question != tabs[index].question
}

fn widths(ui: &Ui, tabs: &[Tab], look: &TabStyle) -> Vec<f32> {
    let width = |(index, tab): (usize, &Tab)| {
        let divider = if begins(tabs, index) && index > 0 { DIVIDER } else { 0.0 };
        let name = text_width(ui, tab.title, look.font.clone()) + 2.0 * PAD;
        divider + question_width(ui, tabs, index, look) + name
    };
    tabs.iter().enumerate().map(width).collect()
}

fn question_of(tabs: &[Tab], index: usize, look: &TabStyle) -> Option<&'static str> {
    let written = look.asks == QuestionText::Written && begins(tabs, index);
    tabs[index].question.filter(|_| written).map(Question::text)
}

fn question_width(ui: &Ui, tabs: &[Tab], index: usize, look: &TabStyle) -> f32 {
    question_of(tabs, index, look).map_or(0.0, |text| text_width(ui, text, theme::caption()) + PAD)
}

/// Draws one screen's name, with the line and the question before it; whether it was chosen.
fn one(
    ui: &mut Ui,
    tabs: &[Tab],
    index: usize,
    (shown, is_first): (Screen, bool),
    place: Rect,
    look: &TabStyle,
) -> bool {
    let colors = theme::of(ui);
    let tab = &tabs[index];
    let mut left = place.left();
    if begins(tabs, index) && index > 0 {
        if !is_first {
            let x = (left + DIVIDER / 2.0).round();
            ui.painter().vline(x, place.shrink2(vec2(0.0, 6.0)).y_range(), Stroke::new(1.0, colors.rule));
        }
        left += DIVIDER;
    }
    if let Some(question) = question_of(tabs, index, look) {
        let at = pos2(left, place.center().y);
        ui.painter().text(at, Align2::LEFT_CENTER, question, theme::caption(), colors.muted);
        left += question_width(ui, tabs, index, look);
    }
    let button = place.with_min_x(left);
    let response = ui.interact(button, ui.scope_id().with(("screen", tab.screen.name())), Sense::click());
    let is_shown = tab.screen == shown;
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, is_shown, tab.title));
    let lit = response.hovered() || response.has_focus();
    if is_shown || lit {
        let fill = if is_shown { colors.surface } else { colors.trough };
        ui.painter().rect_filled(button, 5.0, fill);
    }
    let ink = if is_shown { colors.accent } else { colors.ink };
    ui.painter().text(button.center(), Align2::CENTER_CENTER, tab.title, look.font.clone(), ink);
    if is_shown {
        let line = Rect::from_min_max(
            pos2(button.left() + PAD, button.bottom() - 2.0),
            pos2(button.right() - PAD, button.bottom()),
        );
        ui.painter().rect_filled(line, 1.0, colors.accent);
    }
    if response.has_focus() {
        ui.painter().rect_stroke(button, 5.0, Stroke::new(1.0, colors.accent), egui::StrokeKind::Inside);
    }
    let hint = tab
        .question
        .map_or_else(|| tab.hint.clone(), |question| format!("{}\n{}", question.text(), tab.hint));
    response.on_hover_text(hint).clicked()
}

/// What finds no room in the row, and how many they are.
fn overflow(ui: &mut Ui, tabs: &[Tab], rest: &[usize], place: Rect, look: &TabStyle) -> Option<Screen> {
    let mut chosen = None;
    let text = egui::RichText::new(format!("{} more", rest.len())).font(look.font.clone());
    let mut inner = ui.new_child(UiBuilder::new().id_salt("more screens").max_rect(place));
    let button = Button::new((text, egui::RichText::new("⏷").font(theme::caption())))
        .fill(Color32::TRANSPARENT)
        .min_size(vec2(0.0, HEIGHT));
    let (response, _) = MenuButton::from_button(button).ui(&mut inner, |ui| {
        ui.set_min_width(180.0);
        for (at, &index) in rest.iter().enumerate() {
            let tab = &tabs[index];
            let first_of_question = at == 0 || tabs[rest[at - 1]].question != tab.question;
            if let Some(question) = tab.question.filter(|_| first_of_question) {
                if at > 0 {
                    ui.separator();
                }
                let text = egui::RichText::new(question.text()).font(theme::caption());
                ui.label(text.color(theme::of(ui).muted));
            }
            if ui.button(tab.title).on_hover_text(&tab.hint).clicked() {
                chosen = Some(tab.screen);
                ui.close();
            }
        }
    });
    let spoken = format!("{} more screens", rest.len());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    response.on_hover_text("The screens for which the row has no room");
    ui.advance_cursor_after_rect(Rect::from_min_size(place.min, vec2(0.0, space::HAIR)));
    chosen
}
