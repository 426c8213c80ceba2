//! Draws a page of a lesson for a projector: nothing on it is smaller than 24 px in a window of 1280×800.

use super::model::{AnswerSheet, EndSheet, GuessLine, LessonSheet, ShownAnswer, StepSheet, TitleSheet};
use crate::chart::color_of;
use crate::theme::{self, Colors, space};
use crate::{first_use, form};
use egui::text::{LayoutJob, TextFormat};
use egui::{
    Align, Align2, Button, CentralPanel, Color32, FontId, Frame, Id, Key, Label, Layout, Margin, Panel, Rect,
    RichText, Role, ScrollArea, Sense, Stroke, TextEdit, Ui, WidgetInfo, pos2, vec2,
};
use obliquity_exchange::chart::{BarText, Chart, Fill};
use obliquity_planning::lesson::StepStage;

/// What was asked for on the page, by key or click.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LessonAsk {
    Next,
    Back,
    /// Take what was typed.
    Enter,
    TakeBack,
    Lock,
    Reveal,
    Zoom,
    Left,
    Right,
    Leave,
    Save,
    /// Begin the lesson once more.
    Again,
}

/// The least size of type in a window of 1280×800.
const LEAST: f32 = 24.0;

/// Width of text that leads to a lesson.
const READING: f32 = 640.0;

/// What is typed on the page, and what is said of it.
#[derive(Debug, Clone, Default)]
pub(crate) struct LessonEntry {
    pub(crate) typed: String,
    /// What was wrong with what was typed or asked.
    pub(crate) told: Option<String>,
    /// The diagram alone, as large as the page.
    pub(crate) is_zoomed: bool,
}

/// Sizes of type on the page: all grow with the window.
#[derive(Clone, Copy)]
struct Type {
    scale: f32,
}

impl Type {
    fn of(ui: &Ui) -> Self {
        let page = ui.ctx().content_rect();
        Type { scale: (page.width() / 1280.0).min(page.height() / 800.0).max(1.0) }
    }

    fn least(self) -> FontId {
        FontId::proportional(LEAST * self.scale)
    }

    fn text(self) -> FontId {
        FontId::proportional(26.0 * self.scale)
    }

    fn question(self) -> FontId {
        FontId::new(32.0 * self.scale, theme::strong())
    }

    fn title(self) -> FontId {
        FontId::new(48.0 * self.scale, theme::strong())
    }
}

/// Keys with what they do; nothing where a key has no use now.
fn keys(sheet: &LessonSheet) -> Vec<(&'static str, &'static str, LessonAsk, bool)> {
    let stage = match sheet {
        LessonSheet::Step(step) => match &step.answer {
            AnswerSheet::Hidden(hidden) => Some(hidden.stage),
            _ => Some(StepStage::Revealed),
        },
        _ => None,
    };
    let mut keys = Vec::new();
    let is_title = matches!(sheet, LessonSheet::Title(_));
    let is_end = matches!(sheet, LessonSheet::End(_));
    keys.push(("Page Up", "Back", LessonAsk::Back, !is_title));
    if let Some(stage) = stage {
        keys.push(("Enter", "Guess", LessonAsk::Enter, stage == StepStage::Open));
        keys.push(("F2", "Lock", LessonAsk::Lock, stage == StepStage::Open));
        keys.push(("F3", "Reveal", LessonAsk::Reveal, stage == StepStage::Locked));
        keys.push(("F4", "Zoom", LessonAsk::Zoom, true));
    }
    if is_end {
        keys.push(("Ctrl+S", "Save answers", LessonAsk::Save, true));
        keys.push(("Home", "Begin again", LessonAsk::Again, true));
    }
    keys.push(("Page Down", if is_title { "Begin" } else { "Next" }, LessonAsk::Next, !is_end));
    keys.push(("Esc", "Leave", LessonAsk::Leave, true));
    keys
}

/// Draws a page; gives what was clicked.
pub(crate) fn lesson_page(ui: &mut Ui, sheet: &LessonSheet, entry: &mut LessonEntry) -> Option<LessonAsk> {
    let (colors, sizes) = (theme::of(ui), Type::of(ui));
    let mut ask = None;
    let side = (28.0 * sizes.scale) as i8;
    let foot =
        Frame::new().fill(colors.surface).inner_margin(Margin { left: side, right: side, top: 8, bottom: 8 });
    Panel::bottom("lesson keys").frame(foot).show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 24.0 * sizes.scale;
            for (key, does, of, can) in keys(sheet) {
                let button =
                    ui.add_enabled(can, Button::new(key_text(key, does, can, colors, sizes)).frame(false));
                button.widget_info(|| WidgetInfo::labeled(Role::Button, can, format!("{does} ({key})")));
                if button.clicked() {
                    ask = Some(of);
                }
            }
        });
    });
    let page =
        Frame::new().fill(colors.page).inner_margin(Margin { left: side, right: side, top: 20, bottom: 8 });
    CentralPanel::default().frame(page).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 12.0 * sizes.scale;
        match sheet {
            LessonSheet::Title(title) => title_page(ui, title, entry, sizes),
            LessonSheet::Step(step) if entry.is_zoomed => zoomed(ui, step, sizes),
            LessonSheet::Step(step) => step_page(ui, step, entry, sizes),
            LessonSheet::End(end) => end_page(ui, end, entry, sizes),
        }
    });
    ask
}

/// A key and what it does, the key standing out.
fn key_text(key: &str, does: &str, can: bool, colors: &Colors, sizes: Type) -> LayoutJob {
    let font = sizes.least();
    let strong = FontId::new(font.size, theme::strong());
    let tone = |tone: Color32| if can { tone } else { colors.muted.gamma_multiply(0.6) };
    let mut job = LayoutJob::default();
    job.append(key, 0.0, TextFormat::simple(strong, tone(colors.accent)));
    job.append(does, 7.0 * sizes.scale, TextFormat::simple(font, tone(colors.ink)));
    job
}

fn title_page(ui: &mut Ui, title: &TitleSheet, entry: &mut LessonEntry, sizes: Type) {
    let colors = theme::of(ui);
    ui.add_space(40.0 * sizes.scale);
    say(ui, &title.name, sizes.title(), colors.ink);
    say(ui, &title.note, sizes.text(), colors.ink);
    say(ui, &title.steps, sizes.least(), colors.muted);
    type_in(ui, "Your name or initials (may stay empty)", "", entry, sizes);
    told(ui, entry, sizes);
}

fn step_page(ui: &mut Ui, step: &StepSheet, entry: &mut LessonEntry, sizes: Type) {
    let colors = theme::of(ui);
    scrolled(ui, &step.place, sizes, |ui| {
        let head = match &step.settings {
            Some(settings) => format!("{}. {settings}", step.place),
            None => step.place.clone(),
        };
        say(ui, &head, sizes.least(), colors.muted);
        let is_shown = matches!(step.answer, AnswerSheet::Shown(_));
        if !is_shown {
            say(ui, &step.text, sizes.text(), colors.ink);
        }
        say(ui, &step.question, sizes.question(), colors.ink);
        bars(ui, &step.chart, 96.0 * sizes.scale, sizes);
        match &step.answer {
            AnswerSheet::Hidden(hidden) if hidden.stage == StepStage::Open => {
                let ask = format!("Your guess ({}); others: AB 60", step.near);
                type_in(ui, &ask, &step.sign, entry, sizes);
            }
            AnswerSheet::Hidden(_) => {
                say(ui, &format!("Locked ({}). F3 reveals.", step.near), sizes.text(), colors.accent);
            }
            AnswerSheet::ComingUp => say(ui, "Being worked out…", sizes.text(), colors.muted),
            AnswerSheet::Refused(why) => say(ui, why, sizes.text(), colors.bad),
            AnswerSheet::Shown(_) => {}
        }
        told(ui, entry, sizes);
        guesses(ui, &step.guesses, sizes);
        if let AnswerSheet::Shown(shown) = &step.answer {
            answer(ui, shown, sizes);
        }
    });
}

fn guesses(ui: &mut Ui, guesses: &[GuessLine], sizes: Type) {
    let colors = theme::of(ui);
    if guesses.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 28.0 * sizes.scale;
        for guess in guesses {
            let (tone, off) = match (&guess.off, guess.is_near) {
                (Some(off), Some(true)) => (colors.good, format!(": near, {off}")),
                (Some(off), _) => (colors.bad, format!(": {off}")),
                _ => (colors.ink, String::new()),
            };
            let text = format!("{} {}{off}", guess.who, guess.text);
            // One that does not fit begins a line of its own.
            ui.add(Label::new(RichText::new(text).font(sizes.text()).color(tone)).extend());
        }
    });
}

fn answer(ui: &mut Ui, shown: &ShownAnswer, sizes: Type) {
    let colors = theme::of(ui);
    say(ui, &shown.after, sizes.text(), colors.ink);
    if let Some(moves) = &shown.moves {
        say(ui, moves, sizes.least(), colors.accent);
    }
    say(ui, &shown.asked, sizes.least(), colors.muted);
    say(ui, &shown.heading, sizes.least(), colors.accent);
    for line in &shown.working {
        let font = if line.is_heading { sizes.question() } else { sizes.least() };
        say(ui, &line.text, font, colors.ink);
    }
}

fn zoomed(ui: &mut Ui, step: &StepSheet, sizes: Type) {
    let colors = theme::of(ui);
    say(ui, &step.question, sizes.question(), colors.ink);
    let rows = step.chart.up.names.len().max(1) as f32;
    let high = (ui.available_height() / rows - 70.0 * sizes.scale).clamp(60.0, 220.0) * 0.8;
    bars(ui, &step.chart, high + 40.0 * sizes.scale, sizes);
}

fn end_page(ui: &mut Ui, end: &EndSheet, entry: &LessonEntry, sizes: Type) {
    let colors = theme::of(ui);
    scrolled(ui, "end", sizes, |ui| {
        say(ui, &end.summary, sizes.question(), colors.ink);
        for row in &end.rows {
            say(ui, &row.place, sizes.least(), colors.muted);
            say(ui, &row.text, sizes.text(), colors.ink);
        }
        told(ui, entry, sizes);
    });
}

/// A page that the arrows up and down scroll.
fn scrolled(ui: &mut Ui, name: &str, sizes: Type, within: impl FnOnce(&mut Ui)) {
    let by = |key: Key| if ui.input(|input| input.key_pressed(key)) { 120.0 * sizes.scale } else { 0.0 };
    let step = by(Key::ArrowUp) - by(Key::ArrowDown);
    ScrollArea::vertical().id_salt(("lesson", name)).auto_shrink(false).show(ui, |ui| {
        if step != 0.0 {
            ui.scroll_with_delta(vec2(0.0, step));
        }
        // Beside the bar that scrolls, not below it.
        ui.set_max_width(ui.available_width() - 16.0 * sizes.scale);
        within(ui);
    });
}

fn say(ui: &mut Ui, text: &str, font: FontId, color: Color32) {
    if !text.is_empty() {
        ui.label(RichText::new(text).font(font).color(color));
    }
}

fn told(ui: &mut Ui, entry: &LessonEntry, sizes: Type) {
    if let Some(why) = &entry.told {
        let bad = theme::of(ui).bad;
        say(ui, why, sizes.least(), bad);
    }
}

/// A field that has the keyboard while the page is shown.
fn type_in(ui: &mut Ui, name: &str, sign: &str, entry: &mut LessonEntry, sizes: Type) {
    let row = vec2(ui.available_width(), 52.0 * sizes.scale);
    ui.allocate_ui_with_layout(row, Layout::left_to_right(Align::Center), |ui| {
        let label = ui.label(RichText::new(name).font(sizes.text()));
        let id = Id::unique("lesson entry");
        // A question in front of the page has the keyboard. Asking for it in a window that has none is asked again in every frame, and the system's input methods answer each.
        let may = ui.memory(|memory| !memory.has_focus(id) && memory.allows_interaction(ui.layer_id()));
        if may && ui.input(|input| input.focused) {
            ui.memory_mut(|memory| memory.request_focus(id));
        }
        let field = TextEdit::singleline(&mut entry.typed)
            .id(id)
            .font(sizes.question())
            .desired_width(260.0 * sizes.scale)
            .char_limit(60);
        ui.add(field).labelled_by(label.id);
        if !sign.is_empty() {
            ui.label(RichText::new(sign).font(sizes.text()));
        }
    });
}

/// Lying bars in large type: each below its name, its value beyond its end, guesses as marks with their names.
fn bars(ui: &mut Ui, chart: &Chart, row: f32, sizes: Type) {
    let colors = theme::of(ui);
    let rows = chart.up.names.len();
    let name_height = 32.0 * sizes.scale;
    let marks_height = if chart.marks.is_empty() { 0.0 } else { 58.0 * sizes.scale };
    let height = rows as f32 * row + marks_height;
    let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, format!("{}: {}", chart.title, chart.spoken)));
    // Beyond a bar's end there is room for its value.
    let room = 190.0 * sizes.scale;
    let span = chart.across.to - chart.across.from;
    let x = |value: f64| area.left() + ((value - chart.across.from) / span) as f32 * (area.width() - room);
    let mut top = area.top();
    for (at, name) in chart.up.names.iter().rev() {
        let painter = ui.painter();
        painter.text(pos2(area.left(), top), Align2::LEFT_TOP, name, sizes.least(), colors.muted);
        let bar_area = Rect::from_min_max(
            pos2(x(chart.across.from), top + name_height),
            pos2(area.right() - room, top + row - 6.0),
        );
        painter.rect_filled(bar_area, 2.0, colors.trough);
        let own = chart.bars.iter().find(|bar| (bar.up[0] + bar.up[1] - 2.0 * at).abs() < 0.1);
        if let Some(bar) = own {
            let (from, to) = (x(bar.across[0].min(bar.across[1])), x(bar.across[0].max(bar.across[1])));
            let filled =
                Rect::from_min_max(pos2(from, bar_area.top()), pos2(to.max(from + 2.0), bar_area.bottom()));
            let tone = color_of(bar.tone, colors);
            painter.rect_filled(
                filled,
                2.0,
                if bar.fill == Fill::Light { tone.gamma_multiply(0.5) } else { tone },
            );
            if let BarText::Beyond(text) = &bar.text {
                let place = pos2(bar_area.right() + 12.0, bar_area.center().y);
                painter.text(place, Align2::LEFT_CENTER, text, sizes.question(), colors.ink);
            }
        } else {
            painter.text(
                bar_area.left_center() + vec2(10.0, 0.0),
                Align2::LEFT_CENTER,
                "?",
                sizes.question(),
                colors.muted,
            );
        }
        top += row;
        let marks: Vec<_> = chart.marks.iter().filter(|mark| (mark.at[1] - at).abs() < 0.1).collect();
        if !marks.is_empty() {
            guess_marks(ui, &marks, bar_area, &x, sizes);
            top += marks_height;
        }
    }
}

/// Guesses as lines across the bar, with their names below, those that would touch on a second line.
fn guess_marks(
    ui: &Ui,
    marks: &[&obliquity_exchange::chart::Mark],
    bar: Rect,
    x: &dyn Fn(f64) -> f32,
    sizes: Type,
) {
    let colors = theme::of(ui);
    let mut ends = [f32::NEG_INFINITY; 2];
    let mut sorted: Vec<_> = marks.to_vec();
    sorted.sort_by(|one, other| one.at[0].total_cmp(&other.at[0]));
    for mark in sorted {
        let at = x(mark.at[0]);
        let along = bar.top() - 4.0..=bar.bottom() + 6.0;
        // It is seen on any bar.
        ui.painter().vline(at, along.clone(), Stroke::new(9.0 * sizes.scale, colors.page));
        ui.painter().vline(at, along, Stroke::new(5.0 * sizes.scale, colors.accent));
        let galley = ui.painter().layout_no_wrap(mark.name.clone(), sizes.least(), colors.accent);
        let half = galley.size().x / 2.0;
        let left = (at - half).max(bar.left());
        let Some(level) = (0..2).find(|level| ends[*level] <= left) else { continue };
        ends[level] = left + galley.size().x + 8.0;
        let place = pos2(left, bar.bottom() + 4.0 + level as f32 * LEAST * 1.05 * sizes.scale);
        ui.painter().galley(place, galley, colors.accent);
    }
}

/// What leads to a lesson where none is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum WayToLesson {
    Make,
    Open,
}

/// What is shown where no lesson is open.
pub(crate) fn no_lesson(ui: &mut Ui) -> Option<WayToLesson> {
    let page = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
    CentralPanel::default().frame(page).show(ui, ways).inner
}

fn ways(ui: &mut Ui) -> Option<WayToLesson> {
    let mut way = None;
    ui.label(RichText::new("Questions for a class").font(theme::headline()));
    ui.add_space(space::TIGHT);
    ui.scope(|ui| {
        ui.set_max_width(READING);
        let text = "A lesson asks about a scenario step by step: everybody guesses, guesses lock, and only then the figure is shown \
                    with its working. Until then all other screens are shut. No lesson is open.";
        ui.add(Label::new(text).wrap());
    });
    ui.add_space(space::ROW);
    ui.horizontal_wrapped(|ui| {
        if ui.add(first_use::primary(ui, "Make a lesson of this scenario")).clicked() {
            way = Some(WayToLesson::Make);
        }
        if ui.button("Open a lesson…").clicked() {
            way = Some(WayToLesson::Open);
        }
    });
    ui.add_space(space::TIGHT);
    form::muted(ui, "Five lessons lie in examples/lessons.");
    way
}

/// What a screen that is shut shows instead: why, and what opens it.
pub(crate) fn shut_page(ui: &mut Ui, step: usize) {
    let colors = theme::of(ui);
    let page = Frame::new().fill(colors.page).inner_margin(space::PAGE);
    CentralPanel::default().frame(page).show(ui, |ui| {
        ui.add_space(120.0);
        let text = format!(
            "This screen is shut while a lesson asks: step {} is not revealed yet, and what stands here could show it.",
            step + 1
        );
        ui.label(RichText::new(text).font(FontId::proportional(LEAST)).color(colors.ink));
        ui.add_space(16.0);
        let keys = "F10 leads back to the lesson. Ctrl+Shift+F10 ends it and reveals everything.";
        ui.label(RichText::new(keys).font(FontId::proportional(LEAST)).color(colors.accent));
    });
}
