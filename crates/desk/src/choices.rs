//! Choices in a column beside the diagrams that they change; in a narrow window the column folds away.

use crate::form;
use crate::theme::space;
use egui::{Button, Id, Ui};

/// A narrower window has no room for choices and diagrams side by side.
const NARROW: f32 = 800.0;

/// What of a screen is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ChoicesPart {
    /// What is at hand even where the choices are folded away; in a row.
    Head,
    /// The choices, in a column that scrolls.
    Choices,
    /// What they change, in all of the room that is left.
    Diagrams,
}

/// Whether the window has no room for choices and diagrams side by side.
pub(crate) fn is_narrow(ui: &Ui) -> bool {
    ui.ctx().content_rect().width() < NARROW
}

/// Draws the parts of a screen into all of `ui`: head and choices to the left, diagrams to the right. In a narrow window the
/// head stands in a row on top, and the diagrams have all the width until the choices are asked for.
pub(crate) fn beside(ui: &mut Ui, salt: &'static str, mut part: impl FnMut(&mut Ui, ChoicesPart)) {
    if !is_narrow(ui) {
        ui.horizontal_top(|ui| {
            column(ui, salt, |ui| {
                ui.horizontal_wrapped(|ui| part(ui, ChoicesPart::Head));
                part(ui, ChoicesPart::Choices);
            });
            ui.vertical(|ui| part(ui, ChoicesPart::Diagrams));
        });
        return;
    }
    let id = Id::unique(("choices shown", salt));
    let mut shown = ui.data(|data| data.get_temp(id)).unwrap_or(Folded::Away);
    ui.horizontal_wrapped(|ui| {
        let (text, hint) = match shown {
            Folded::Away => ("Choices ⏵", "Show the choices beside the diagrams"),
            Folded::Out => ("Choices ⏷", "Fold the choices away: the diagrams have all the width"),
        };
        let button = ui.add(Button::new(text).selected(shown == Folded::Out));
        form::spoken(ui, &button, "Choices");
        if button.on_hover_text(hint).clicked() {
            shown = shown.other();
            ui.data_mut(|data| data.insert_temp(id, shown));
        }
        part(ui, ChoicesPart::Head);
    });
    ui.add_space(space::TIGHT);
    ui.horizontal_top(|ui| {
        if shown == Folded::Out {
            column(ui, salt, |ui| part(ui, ChoicesPart::Choices));
        }
        ui.vertical(|ui| part(ui, ChoicesPart::Diagrams));
    });
}

/// Whether choices are to be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Folded {
    Away,
    Out,
}

impl Folded {
    fn other(self) -> Self {
        match self {
            Folded::Away => Folded::Out,
            Folded::Out => Folded::Away,
        }
    }
}

fn column(ui: &mut Ui, salt: &'static str, content: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(form::CARD);
        egui::ScrollArea::vertical().id_salt(("choices", salt)).auto_shrink(false).show(ui, content);
    });
    ui.add_space(space::PAGE);
}
