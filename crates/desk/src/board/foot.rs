use super::grid::{LABEL_WIDTH, NARROW, TITLE_WIDTH};
use crate::cautions::{self, CautionRow};
use crate::show;
use crate::theme::{self, space};
use egui::text::LayoutJob;
use egui::{Align2, Rect, ScrollArea, TextFormat, Ui, UiBuilder, pos2, vec2};
use obliquity_planning::Severity;

/// The cautions beside their title, in at most `height` points; the rest is scrolled to.
pub(super) fn cautions(ui: &mut Ui, rows: &[CautionRow], height: f32) {
    let narrow = ui.available_width() < NARROW;
    let margin = if narrow { 0.0 } else { TITLE_WIDTH + LABEL_WIDTH + space::TIGHT };
    let at = ui.cursor().min;
    let colors = theme::of(ui);
    let count = u32::try_from(rows.len()).unwrap_or(u32::MAX);
    let title = show::counted(count, "caution", "cautions");
    ui.painter().text(at, Align2::LEFT_TOP, title, theme::body_strong(), colors.ink);
    if narrow {
        ui.add_space(20.0);
    } else {
        let below = at + vec2(0.0, 17.0);
        let note = "local rules and the remote pilot decide";
        ui.painter().text(below, Align2::LEFT_TOP, note, theme::caption(), colors.muted);
    }
    let area = Rect::from_min_size(
        pos2(at.x + margin, ui.cursor().top()),
        vec2(ui.available_width() - margin, height),
    );
    ui.scope_builder(UiBuilder::new().max_rect(area), |ui| {
        ScrollArea::vertical().id_salt("cautions").max_height(height).auto_shrink([false, true]).show(
            ui,
            |ui| {
                ui.spacing_mut().item_spacing.y = 3.0;
                for row in rows {
                    caution(ui, row);
                }
            },
        );
    });
}

fn caution(ui: &mut Ui, row: &CautionRow) {
    let colors = theme::of(ui);
    let (color, meaning) = match row.severity {
        Severity::Limit => (colors.bad, "A limit that is broken as the strategy is set."),
        Severity::Check => (colors.warn, "Something to check or mend before flying."),
        Severity::Reminder => {
            (colors.muted, "Something to keep in mind; it does not come from the settings.")
        }
    };
    let mut job = LayoutJob::default();
    job.append(cautions::word(row.severity), 0.0, TextFormat::simple(theme::caption_strong(), color));
    job.append(&show::unbroken(&row.text), space::ROW, TextFormat::simple(theme::caption(), colors.ink));
    if !row.strategies.is_empty() {
        let whom = format!("({})", row.strategies.join(", "));
        job.append(&whom, space::TIGHT, TextFormat::simple(theme::caption(), colors.muted));
    }
    ui.add(egui::Label::new(job).wrap()).on_hover_text(meaning);
}
