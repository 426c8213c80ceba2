use super::ask::BoardAsk;
use super::grid::{LABEL_WIDTH, NARROW, TITLE_WIDTH};
use crate::caution_mark::{self, MARK};
use crate::cautions::{self, CautionRow};
use crate::show;
use crate::theme::{self, space};
use egui::text::LayoutJob;
use egui::{Align2, Rect, Role, ScrollArea, Sense, TextFormat, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use obliquity_planning::Severity;

/// Rows that are always shown, of those that do not come from every plan.
const SHOWN: usize = 6;

/// The cautions beside their title, in at most `height` points; the rest is scrolled to.
pub(super) fn cautions(ui: &mut Ui, rows: &[CautionRow], height: f32, asks: &mut Vec<BoardAsk>) {
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
        let list = ScrollArea::vertical().id_salt("cautions").max_height(height);
        list.auto_shrink([false, true]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            list_ui(ui, rows, asks);
        });
    });
}

/// The gravest rows, and the others where they are wanted.
fn list_ui(ui: &mut Ui, rows: &[CautionRow], asks: &mut Vec<BoardAsk>) {
    let grave = rows.iter().filter(|row| row.severity > Severity::Reminder).count();
    let shown = grave.clamp(1, SHOWN).min(rows.len());
    for row in &rows[..shown] {
        caution(ui, row, asks);
    }
    let rest = &rows[shown..];
    if rest.is_empty() {
        return;
    }
    let key = ui.scope_id().with("all cautions");
    let open = ui.data(|data| data.get_temp::<bool>(key).unwrap_or(false));
    if open {
        for row in rest {
            caution(ui, row, asks);
        }
    }
    let text = if open { "the gravest only".to_owned() } else { format!("and {} more", rest.len()) };
    let link = ui.link(egui::RichText::new(text).font(theme::caption()));
    if link.on_hover_text("Cautions that are less grave, or that hold whatever the plan").clicked() {
        ui.data_mut(|data| data.insert_temp(key, !open));
    }
}

/// A row: shape and word of its severity, text, source; with a place it can be pressed.
fn caution(ui: &mut Ui, row: &CautionRow, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let (color, meaning) = match row.severity {
        Severity::Limit => (colors.bad, "A limit that is broken as the strategy is set."),
        Severity::Check => (colors.warn, "Something to check or mend before flying."),
        Severity::Reminder => (colors.muted, "Something to keep in mind."),
    };
    let mut job = LayoutJob::default();
    let font = theme::caption_strong();
    job.append(cautions::word(row.severity), MARK, TextFormat::simple(font.clone(), color));
    job.append(&show::unbroken(&row.text), space::ROW, TextFormat::simple(theme::caption(), colors.ink));
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
    let further = row.further.iter().map(|other| format!("{}: {}", other.strategy, other.text));
    let meaning = std::iter::once(meaning.to_owned()).chain(further).collect::<Vec<_>>().join("\n");
    let label = egui::Label::new(job).wrap().selectable(false);
    let Some(strategy) = row.place_of else {
        let shown = ui.add(label).on_hover_text(meaning);
        caution_mark::mark(ui, shown.rect.left_top(), row.severity, color);
        return;
    };
    let shown = ui
        .add(label.sense(Sense::click()))
        .on_hover_text(format!("{meaning}\nClick for its place on the plan."));
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
