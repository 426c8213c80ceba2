//! The scenario's name and note, and the site's name, changed where they stand.

use crate::amendment::ScenarioNames;
use crate::dialogs::meant;
use crate::theme::{self, space};
use egui::{Context, Frame, Id, Modal, RichText, TextEdit, Ui};
use obliquity_planning::limits::NAME_CHARS;

/// What has been typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Naming {
    names: ScenarioNames,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NamingAnswer {
    /// These are the names from now on.
    Take(ScenarioNames),
    /// Everything stays as it is.
    Close,
}

impl Naming {
    /// Begins with the names as they stand.
    pub fn new(names: ScenarioNames) -> Self {
        Naming { names }
    }

    /// Shows the fields; an answer closes them.
    pub fn show(&mut self, ctx: &Context) -> Option<NamingAnswer> {
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 480.0);
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        let shown = Modal::new(Id::unique("names")).frame(frame).show(ctx, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = space::TIGHT;
            self.content(ui)
        });
        if shown.should_close() { Some(NamingAnswer::Close) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui) -> Option<NamingAnswer> {
        ui.label(RichText::new("Name and note").font(theme::title()));
        let names = &mut self.names;
        let line = |ui: &mut Ui, label: &str, text: &mut String| {
            let label = ui.label(label);
            let edit = TextEdit::singleline(text).char_limit(NAME_CHARS).desired_width(f32::INFINITY);
            ui.add(edit).labelled_by(label.id);
        };
        line(ui, "Scenario", &mut names.scenario);
        let label = ui.label("Note");
        let note = TextEdit::multiline(&mut names.note).desired_rows(4).desired_width(f32::INFINITY);
        ui.add(note).labelled_by(label.id);
        line(ui, "Site", &mut names.site);
        let empty = names.scenario.trim().is_empty() || names.site.trim().is_empty();
        let mut answer = None;
        ui.add_space(space::TIGHT);
        ui.horizontal(|ui| {
            if empty {
                ui.add_enabled(false, egui::Button::new("Done"))
                    .on_disabled_hover_text("Scenario and site need a name");
            } else if meant(ui, "Done") {
                answer = Some(NamingAnswer::Take(names.clone()));
            }
            if ui.button("Cancel").clicked() {
                answer = Some(NamingAnswer::Close);
            }
        });
        answer
    }
}
