//! The question what to do with work that was not saved before the program came to a sudden end.

use crate::clock::moment_text;
use crate::dialogs::meant;
use crate::show;
use crate::theme::{self, space};
use egui::{Context, Frame, Grid, Id, Label, Modal, RichText, ScrollArea, Ui};
use obliquity_exchange::{Leftover, UnsavedKind, UnsavedNote};
use std::path::PathBuf;

/// What is asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct RecoverQuestion {
    leftover: Leftover,
    /// Others after it.
    more: usize,
    now_unix_s: u64,
}

/// What was answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RecoverAnswer {
    /// Go on with it.
    Recover(PathBuf, UnsavedKind),
    /// Leave it where it is; the next start asks again.
    Later,
    /// Take it away.
    Discard(PathBuf),
}

impl RecoverQuestion {
    /// About one of several, which was found at a time.
    pub fn new(leftover: Leftover, more: usize, now_unix_s: u64) -> Self {
        RecoverQuestion { leftover, more, now_unix_s }
    }

    /// Shows the question; an answer closes it, and so does what closes any dialog: then it is left for later.
    pub fn show(&self, ctx: &Context) -> Option<RecoverAnswer> {
        let width = (ctx.content_rect().width() - 4.0 * space::PAGE).clamp(160.0, 480.0);
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        // Each has a place of its own, so that the next one is not centred by the size of the one before.
        let shown =
            Modal::new(Id::unique("recover").with(&self.leftover.path)).frame(frame).show(ctx, |ui| {
                ui.set_width(width);
                ui.spacing_mut().item_spacing.y = space::ROW;
                self.content(ui)
            });
        if shown.should_close() { Some(RecoverAnswer::Later) } else { shown.inner }
    }

    fn content(&self, ui: &mut Ui) -> Option<RecoverAnswer> {
        let heading = match &self.leftover.note {
            Ok(_) => "The program ended before this was saved",
            Err(_) => "Work that was not saved cannot be recovered",
        };
        ui.add(Label::new(RichText::new(heading).font(theme::title())).wrap());
        match &self.leftover.note {
            Ok(note) => self.told(ui, note),
            Err(why) => {
                ScrollArea::vertical().id_salt("why").max_height(240.0).show(ui, |ui| {
                    ui.add(Label::new(why.to_string()).wrap().selectable(true));
                });
            }
        }
        if self.more > 0 {
            let more = u32::try_from(self.more).unwrap_or(u32::MAX);
            let text = format!("{} after this one.", show::counted(more, "more is", "more are"));
            ui.label(RichText::new(text).color(theme::of(ui).muted));
        }
        ui.horizontal(|ui| self.buttons(ui)).inner
    }

    fn told(&self, ui: &mut Ui, note: &UnsavedNote) {
        let file = note
            .file
            .as_ref()
            .map_or_else(|| "none yet: it was never saved".to_owned(), |path| path.display().to_string());
        let holds = match note.edits {
            0 => "what was guessed; the lesson itself is as in its file".to_owned(),
            edits => {
                format!("{} since it was opened or last saved", show::counted(edits, "edit", "edits"))
            }
        };
        let kind = match note.kind {
            UnsavedKind::Scenario => "Scenario",
            UnsavedKind::Portfolio => "Portfolio",
            UnsavedKind::ProcessedLog => "Log of processed jobs",
            UnsavedKind::FlownLog => "Log of flown jobs",
            UnsavedKind::Lesson => "Lesson",
        };
        let rows = [
            (kind, note.scenario.clone()),
            ("File", file),
            ("Kept", moment_text(note.at_unix_s, self.now_unix_s)),
            ("Holds", holds),
        ];
        Grid::new("what it holds").num_columns(2).spacing([space::PAGE, space::TIGHT]).show(ui, |ui| {
            for (name, text) in rows {
                ui.label(RichText::new(name).color(theme::of(ui).muted));
                ui.add(Label::new(text).wrap().selectable(true));
                ui.end_row();
            }
        });
    }

    fn buttons(&self, ui: &mut Ui) -> Option<RecoverAnswer> {
        let path = || self.leftover.path.clone();
        let mut answer = None;
        if let Ok(note) = &self.leftover.note
            && meant(ui, "Recover")
        {
            answer = Some(RecoverAnswer::Recover(path(), note.kind));
        }
        let later = "It stays where it is, and is offered again at the next start";
        let is_later = if self.leftover.note.is_ok() {
            ui.button("Look later").on_hover_text(later).clicked()
        } else {
            meant(ui, "Look later")
        };
        if is_later {
            answer = Some(RecoverAnswer::Later);
        }
        let gone = "It is taken away; nothing brings it back";
        if ui.button("Discard").on_hover_text(gone).clicked() {
            answer = Some(RecoverAnswer::Discard(path()));
        }
        answer
    }
}
