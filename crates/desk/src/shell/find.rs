//! Every command and screen in one list, found by its words.

use crate::commands::Command;
use crate::keys;
use crate::theme::{self, space};
use egui::{
    Align2, Context, Frame, Id, Key, Modal, RichText, Role, ScrollArea, Sense, TextEdit, Ui, WidgetInfo,
    pos2, vec2,
};

/// A command in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Findable {
    /// What it asks for.
    pub command: Command,
    /// Its text.
    pub text: String,
    /// The menu that it stands in.
    pub menu: &'static str,
    /// What it does.
    pub hint: &'static str,
    /// Its key; empty where it has none.
    pub key: String,
    /// Why it cannot be done now; nothing where it can.
    pub refusal: Option<String>,
}

/// What has been typed, and which of the commands found stands out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Finding {
    text: String,
    at: usize,
}

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FindAnswer {
    /// Do this.
    Run(Command),
    /// Nothing.
    Close,
}

const WIDTH: f32 = 560.0;
const ROW: f32 = 26.0;
/// A row that says why it cannot be done now.
const TALL: f32 = 42.0;
const HIGHEST: f32 = 420.0;

/// The commands that have every word of a text in what is written about them, those first that have them in their own text.
pub fn found(all: &[Findable], text: &str) -> Vec<usize> {
    let wanted = text.to_lowercase();
    let words: Vec<&str> = wanted.split_whitespace().collect();
    let rank = |one: &Findable| {
        let own = one.text.to_lowercase();
        let about = format!("{own} {} {} {}", one.menu, one.hint, one.key).to_lowercase();
        if !words.iter().all(|word| about.contains(word)) {
            return None;
        }
        let begins = words.first().is_none_or(|word| own.starts_with(word));
        Some(if begins { 0 } else { 1 + usize::from(!words.iter().all(|word| own.contains(word))) })
    };
    let mut ranked: Vec<(usize, usize)> =
        all.iter().enumerate().filter_map(|(at, one)| Some((rank(one)?, at))).collect();
    ranked.sort_unstable();
    ranked.into_iter().map(|(_, at)| at).collect()
}

impl Finding {
    /// Shows the list; an answer closes it.
    pub fn show(&mut self, ctx: &Context, all: &[Findable]) -> Option<FindAnswer> {
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(200.0, WIDTH);
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::GROUP);
        let shown = Modal::new(Id::unique("find a command")).frame(frame).show(ctx, |ui| {
            ui.set_width(width);
            self.content(ui, all)
        });
        if shown.should_close() { Some(FindAnswer::Close) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, all: &[Findable]) -> Option<FindAnswer> {
        let steps = keys::taken(ui, &[Key::ArrowDown, Key::ArrowUp]);
        let edit = TextEdit::singleline(&mut self.text)
            .hint_text("Words of a command or a screen")
            .desired_width(f32::INFINITY);
        let field = ui.add(edit);
        field.widget_info(|| WidgetInfo::labeled(Role::TextInput, true, "Find a command"));
        let entered = ui.input(|input| input.key_pressed(Key::Enter));
        if !field.has_focus() {
            field.request_focus();
        }
        let found = found(all, &self.text);
        if field.changed() {
            self.at = 0;
        }
        let last = found.len().saturating_sub(1);
        self.at = steps.iter().fold(self.at.min(last), |at, key| match key {
            Key::ArrowDown => (at + 1).min(last),
            _ => at.saturating_sub(1),
        });
        let moved = !steps.is_empty() || field.changed();
        let mut answer = None;
        ui.add_space(space::TIGHT);
        let tallest = (ui.ctx().content_rect().height() - 160.0).clamp(80.0, HIGHEST);
        // As high as the list is: a window that has shrunk with it would not let it grow again.
        let high = |at: &usize| if all[*at].refusal.is_some() { TALL } else { ROW };
        let least = found.iter().map(high).sum::<f32>().min(tallest);
        let list = ScrollArea::vertical().id_salt("commands").max_height(tallest).min_scrolled_height(least);
        list.auto_shrink([false, true]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            for (place, &at) in found.iter().enumerate() {
                let look = match (place == self.at, moved) {
                    (true, true) => RowLook::Reached,
                    (true, false) => RowLook::Chosen,
                    _ => RowLook::Plain,
                };
                if row(ui, &all[at], look) && all[at].refusal.is_none() {
                    answer = Some(FindAnswer::Run(all[at].command));
                }
            }
            if found.is_empty() {
                ui.label(RichText::new("No command has these words.").color(theme::of(ui).muted));
            }
        });
        let chosen = found.get(self.at).map(|at| &all[*at]).filter(|one| one.refusal.is_none());
        answer.or_else(|| chosen.filter(|_| entered).map(|one| FindAnswer::Run(one.command)))
    }
}

/// How a command stands in the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum RowLook {
    /// Among the others.
    Plain,
    /// Enter does it.
    Chosen,
    /// The same, and the list goes to where it is.
    Reached,
}

/// One command; whether it was clicked.
fn row(ui: &mut Ui, one: &Findable, look: RowLook) -> bool {
    let stands_out = look != RowLook::Plain;
    let colors = theme::of(ui);
    let height = if one.refusal.is_some() { TALL } else { ROW };
    let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    let enabled = one.refusal.is_none();
    response.widget_info(|| WidgetInfo::selected(Role::Button, enabled, stands_out, &one.text));
    if look == RowLook::Reached {
        response.scroll_to_me(None);
    }
    if stands_out || response.hovered() {
        let fill = if stands_out { ui.visuals().selection.bg_fill } else { colors.trough };
        ui.painter().rect_filled(area, 4.0, fill);
    }
    let middle = area.top() + ROW / 2.0;
    let ink = if enabled { colors.ink } else { colors.muted };
    let key = ui.painter().text(
        pos2(area.right() - space::ROW, middle),
        Align2::RIGHT_CENTER,
        &one.key,
        theme::caption(),
        ink,
    );
    let menu = super::text_width(ui, one.menu, theme::caption());
    let place = pos2(key.left().min(area.right() - 110.0) - space::GROUP - menu, middle);
    ui.painter().text(place, Align2::LEFT_CENTER, one.menu, theme::caption(), ink);
    let room = place.x - area.left() - space::ROW - space::GROUP;
    let galley = super::elided(ui, &one.text, theme::body(), ink, room);
    ui.painter().galley(pos2(area.left() + space::ROW, middle - galley.size().y / 2.0), galley, ink);
    if let Some(why) = &one.refusal {
        let galley = super::elided(ui, why, theme::caption(), ink, area.width() - 2.0 * space::PAGE);
        ui.painter().galley(pos2(area.left() + space::PAGE, area.top() + ROW - 3.0), galley, ink);
    }
    response.on_hover_text(one.hint).clicked()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn findable(text: &str, hint: &'static str) -> Findable {
        let (text, key) = (text.to_owned(), String::new());
        Findable { command: Command::Save, text, menu: "File", hint, key, refusal: None }
    }

    // Derived: by hand.
    #[test]
    fn every_word_counts_and_the_texts_own_come_first() {
        let all = [
            findable("Open…", "Choose a scenario file"),
            findable("Save", "Save where it was read from"),
            findable("Timeline", "The whole stay, to save time"),
            findable("Save as…", "Choose where to save"),
        ];
        assert_eq!(found(&all, ""), [0, 1, 2, 3]);
        assert_eq!(found(&all, "save"), [1, 3, 2]);
        assert_eq!(found(&all, "choose SAVE"), [3]);
        assert_eq!(found(&all, "file"), [0, 1, 2, 3], "the menu counts too");
        assert_eq!(found(&all, "nothing of the kind"), [0; 0]);
    }
}
