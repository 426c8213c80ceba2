use super::ask::{BoardAsk, SETTINGS};
use super::grid::{
    self, BAND_EDGE, DETAIL, Grid, NAME, TITLE_ROW, TITLE_WIDTH, announce, differs_mark, strategy_color,
};
use super::model::{Board, Column, Slider as Setting};
use super::paint;
use crate::figures::Freshness;
use crate::inputs::{Entry, Number};
use crate::settings::Role as Passes;
use crate::show;
use crate::strategies::{Change, Lead};
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::containers::menu::MenuButton;
use egui::{
    Align2, Button, Color32, Rect, Response, RichText, Role, Sense, Slider, Ui, UiBuilder, WidgetInfo, pos2,
    vec2,
};
use obliquity_planning::KnobId;

/// A setting: its name, its rail and its number.
const SETTING: f32 = 21.0;
const NAME_WIDTH: f32 = 54.0;
const NUMBER_WIDTH: f32 = 47.0;
/// The line that says on which passes the settings below it act.
const PASSES: f32 = 14.0;
const DIRECTION: f32 = 20.0;
/// A line of the settings that are folded away.
const LINE: f32 = 17.0;
const FOLLOWS_HINT: &str = "What follows from the settings at once: the GSD of a nadir camera at the pass's height, and \
                            the ground speed with what bounds it: your limit, the aircraft, the shot interval, motion \
                            blur or the gimbal's cycle. The least of them counts.";
const DIRECTION_HINT: &str = "Automatic runs the strips along the site so that the fewest are needed; else set the \
                              direction of the first pass, clockwise from north. Crossing passes turn with it.";
const LEAD_HINT: &str =
    "What is kept when the aircraft or its camera changes: height or GSD. The other one follows.";

/// The settings in one line, and what follows from them in another; a click opens them in place. Returns where that ends.
pub(super) fn folded(ui: &Ui, columns_ui: &Ui, grid: &Grid, board: &Board, asks: &mut Vec<BoardAsk>) -> f32 {
    let top = grid.top + NAME + DETAIL;
    grid::rule(ui, columns_ui, grid, top);
    title(ui, grid, top, "Settings ⏵", "Bring the settings back", asks);
    let begin = top + if grid.title_width > 0.0 { BAND_EDGE } else { BAND_EDGE + TITLE_ROW };
    let labels = ["set", "result"];
    let right = grid.margin_right() - space::ROW;
    for (k, label) in labels.iter().enumerate() {
        let at = pos2(right, begin + LINE * (k as f32 + 0.5));
        let muted = theme::of(ui).muted;
        ui.painter().text(at, Align2::RIGHT_CENTER, *label, theme::caption(), muted);
    }
    for (index, column) in board.columns.iter().enumerate() {
        lines(columns_ui, column, grid.inside(index, begin, begin + 2.0 * LINE), asks);
    }
    begin + 2.0 * LINE + BAND_EDGE
}

/// How high that is: the same for every board.
pub(super) fn folded_height(grid: &Grid) -> f32 {
    2.0 * LINE + 2.0 * BAND_EDGE + if grid.title_width > 0.0 { 0.0 } else { TITLE_ROW }
}

/// The two lines of a column.
fn lines(ui: &Ui, column: &Column, area: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let late = if column.follows_freshness == Freshness::Stale { ", of earlier settings" } else { "" };
    let spoken = format!("Settings of {}: {}; {}{late}", column.name, column.brief, column.follows);
    let differs: Vec<String> = column
        .sliders
        .iter()
        .filter_map(|slider| Some(format!("{}: {}", slider.name, slider.differs.as_ref()?)))
        .chain(column.direction.differs.iter().map(|other| format!("Strip direction: {other}")))
        .collect();
    let unlike = if differs.is_empty() {
        String::new()
    } else {
        format!("\n\nUnlike the reference's:\n{}", differs.join("\n"))
    };
    let hover = format!("{spoken}{unlike}\n\n{FOLLOWS_HINT}\n\nClick to change them.");
    let response = grid::link(ui, area, ("settings", column.strategy.0), &spoken, &hover);
    if !differs.is_empty() {
        differs_mark(ui, pos2(area.left() - 5.0, area.top() + LINE / 2.0), colors.ink);
    }
    let ink = if response.hovered() { colors.accent } else { colors.ink };
    for (k, (text, color)) in [(&column.brief, ink), (&column.follows_brief, colors.muted)].iter().enumerate()
    {
        let galley = paint::elided(ui, text, theme::caption(), *color, area.width(), 1);
        let at = pos2(area.left(), area.top() + LINE * (k as f32 + 0.5) - galley.size().y / 2.0);
        ui.painter().galley(at, galley, *color);
    }
    if response.clicked() {
        asks.push(BoardAsk::Turn(SETTINGS));
    }
}

/// The sliders of every column and what follows from them; returns where they end.
pub(super) fn open(
    ui: &mut Ui,
    columns_ui: &mut Ui,
    grid: &Grid,
    board: &Board,
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    let top = grid.top + NAME + DETAIL;
    grid::rule(ui, columns_ui, grid, top);
    title(ui, grid, top, "Settings ⏷", "Fold the settings away", asks);
    let begin = top + if grid.title_width > 0.0 { BAND_EDGE } else { BAND_EDGE + TITLE_ROW };
    let mut lowest = begin + TITLE_ROW;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, begin, f32::INFINITY);
        lowest = lowest.max(column_sliders(columns_ui, column, area, asks));
    }
    follows(ui, columns_ui, grid, board, lowest) + BAND_EDGE
}

/// The title that folds and unfolds.
fn title(ui: &Ui, grid: &Grid, top: f32, text: &str, hint: &str, asks: &mut Vec<BoardAsk>) {
    let place = Rect::from_min_size(pos2(grid.left, top + BAND_EDGE), vec2(TITLE_WIDTH - space::TIGHT, LINE));
    let response = grid::link(ui, place, "settings", hint, hint);
    let colors = theme::of(ui);
    let color = if response.hovered() { colors.accent } else { colors.ink };
    let (words, mark) = text.split_at(text.rfind(' ').unwrap_or(text.len()));
    let at = place.left_center();
    let written = ui.painter().text(at, Align2::LEFT_CENTER, words, theme::body_strong(), color);
    let at = pos2(written.right() + space::HAIR, at.y);
    ui.painter().text(at, Align2::LEFT_CENTER, mark.trim(), theme::caption(), colors.muted);
    if response.clicked() {
        asks.push(BoardAsk::Turn(SETTINGS));
    }
}

/// What follows from the settings, for every column, in two lines; returns where it ends.
fn follows(margin_ui: &Ui, ui: &Ui, grid: &Grid, board: &Board, top: f32) -> f32 {
    const LINES: usize = 2;
    let colors = theme::of(margin_ui);
    let right = grid.margin_right() - space::ROW;
    let width = right - grid.left - grid.title_width;
    let label = paint::elided(margin_ui, "nominal GSD, speed", theme::caption(), colors.ink, width, 1);
    margin_ui.painter().galley(pos2(right - label.size().x, top), label, colors.ink);
    let bottom = top + LINES as f32 * 15.0;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top, bottom);
        let stale = column.follows_freshness == Freshness::Stale;
        let text = show::unbroken(&column.follows);
        let galley = paint::elided(ui, &text, theme::caption(), colors.muted, area.width(), LINES);
        ui.painter().galley(area.min, galley, colors.muted);
        let late = if stale { ", of earlier settings" } else { "" };
        let spoken = format!("Nominal GSD, height and speed of {}: {}{late}", column.name, column.follows);
        let hover = format!("{}\n\n{FOLLOWS_HINT}", column.follows);
        announce(ui, area, ("follows", column.strategy.0), &spoken, &hover);
    }
    bottom
}

/// One setting under the other; those of one role stand under its name. Returns where they end.
fn column_sliders(ui: &mut Ui, column: &Column, area: Rect, asks: &mut Vec<BoardAsk>) -> f32 {
    let color = strategy_color(ui, column);
    let mut at = area.top();
    let mut passes = Passes::All;
    for setting in &column.sliders {
        if setting.setting.role != passes {
            passes = setting.setting.role;
            let muted = theme::of(ui).muted;
            let name = paint::elided(ui, &setting.passes, theme::caption(), muted, area.width(), 1);
            ui.painter().galley(pos2(area.left(), at), name, muted);
            at += PASSES;
        }
        let line = Rect::from_min_size(pos2(area.left(), at), vec2(area.width(), SETTING));
        if let Some(shown) = slider(ui, column, setting, line, color, asks) {
            let value = shown * setting.setting.per_shown(setting.units);
            asks.push(BoardAsk::Set { strategy: column.strategy, setting: setting.setting, value });
        }
        at += SETTING;
    }
    direction(ui, column, Rect::from_min_size(pos2(area.left(), at), vec2(area.width(), DIRECTION)), asks);
    at + DIRECTION + space::HAIR
}

/// One slider between its name and its number; returns what it was moved to, in the unit on the screen.
fn slider(
    ui: &mut Ui,
    column: &Column,
    setting: &Setting,
    line: Rect,
    color: Color32,
    asks: &mut Vec<BoardAsk>,
) -> Option<f64> {
    let name = line.with_max_x(line.left() + NAME_WIDTH);
    let number = line.with_min_x(line.right() - NUMBER_WIDTH).shrink2(vec2(0.0, 1.0));
    let rail = Rect::from_min_max(name.right_top(), number.left_bottom()).shrink2(vec2(5.0, 0.0));
    let mut shown = setting.shown;
    let mut typed = None;
    ui.scope_builder(UiBuilder::new().id_salt(&setting.spoken).max_rect(line), |ui| {
        ui.spacing_mut().slider_width = rail.width();
        ui.spacing_mut().interact_size.y = 14.0;
        ui.spacing_mut().button_padding = vec2(space::HAIR, 0.0);
        ui.style_mut().override_font_id = Some(theme::caption());
        setting_name(ui, column, setting, name, asks);
        rail_input(ui, setting, rail, color, &mut shown);
        typed = number_input(ui, setting, number, shown);
    });
    typed.or(((shown - setting.shown).abs() > 1e-9).then_some(shown))
}

/// The name; that of height or GSD says which one leads and changes it.
fn setting_name(ui: &mut Ui, column: &Column, setting: &Setting, area: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    if let Some(differs) = &setting.differs {
        // In the gutter, so that names stay on their line.
        let mark = Rect::from_min_size(area.min - vec2(11.0, 0.0), vec2(10.0, area.height()));
        differs_mark(ui, mark.center(), colors.ink);
        let spoken = format!("{} is unlike the reference's: {differs}", setting.spoken);
        announce(ui, mark, ("differs", &setting.spoken), &spoken, &format!("Reference: {differs}"));
    }
    if !matches!(setting.setting.knob, KnobId::HEIGHT | KnobId::STAND_OFF | KnobId::GSD) {
        let name = setting.setting.brief_name();
        let galley = paint::elided(ui, name, theme::caption(), colors.ink, area.width(), 1);
        let at = area.left_center() - vec2(0.0, galley.size().y / 2.0);
        ui.painter().galley(at, galley, colors.ink);
        announce(ui, area, ("name", &setting.spoken), &setting.name, &setting.hint);
        return;
    }
    let place = Rect::from_min_max(area.min, area.max - vec2(space::TIGHT, 0.0));
    let middle = egui::Layout::left_to_right(egui::Align::Center);
    ui.scope_builder(UiBuilder::new().max_rect(place).layout(middle), |ui| {
        ui.spacing_mut().button_padding = vec2(0.0, 0.0);
        let text = RichText::new(format!("{} ⏷", setting.setting.brief_name())).color(colors.ink);
        let button = Button::new(text).frame_when_inactive(false).wrap_mode(egui::TextWrapMode::Extend);
        let (response, _) = MenuButton::from_button(button).ui(ui, |ui| {
            ui.set_min_width(200.0);
            let mut item = |text: &str, lead: Lead| {
                if ui.selectable_label(column.lead == lead, text).clicked() {
                    asks.push(BoardAsk::Lead(column.strategy, lead));
                    ui.close();
                }
            };
            let distance = if setting.setting.knob == KnobId::STAND_OFF { "stand-off" } else { "height" };
            let leads = if distance == "height" { "Height leads" } else { "Stand-off leads" };
            item(&format!("{leads}, GSD follows"), Lead::Height);
            item(&format!("GSD leads, {distance} follows"), Lead::Gsd);
        });
        let spoken = format!("What leads {}", column.name);
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
        response.on_hover_text(format!("{}\n\n{LEAD_HINT}", setting.hint));
    });
}

fn rail_input(ui: &mut Ui, setting: &Setting, rail: Rect, color: Color32, shown: &mut f64) -> Response {
    ui.visuals_mut().selection.bg_fill = color;
    let widget = Slider::new(shown, setting.range.clone())
        .step_by(setting.setting.shown_step(setting.units))
        // Only what is moved goes to the next step: showing a value between two steps must not change it.
        .clamping(egui::SliderClamping::Edits)
        .show_value(false);
    let response = ui.name_inputs(setting.spoken.clone(), |ui| ui.put(rail, widget));
    if let Some(before) = setting.before {
        before_mark(ui, setting, response.rect, before);
    }
    response.on_hover_text(&setting.hint)
}

/// A thin mark where the setting stood before it was touched.
fn before_mark(ui: &Ui, setting: &Setting, rail: Rect, before: f64) {
    // The handle's middle stops short of the rail's ends by its radius.
    let range = rail.x_range().shrink(rail.height() / 2.5);
    let (first, last) = (*setting.range.start(), *setting.range.end());
    let share = ((before - first) / (last - first)).clamp(0.0, 1.0) as f32;
    let x = range.min + share * range.span();
    let reach = rail.center().y - 7.0..=rail.center().y + 7.0;
    ui.painter().vline(x, reach, egui::Stroke::new(1.0, theme::of(ui).accent));
}

/// The number above the rail; gives what it was changed to, in the unit on the screen.
fn number_input(ui: &mut Ui, setting: &Setting, area: Rect, shown: f64) -> Option<f64> {
    let (units, id) = (setting.units, setting.setting);
    let per_shown = id.per_shown(units);
    let field = id.field(units);
    let write = |stored: f64| match id.knob {
        KnobId::GSD => format!("{:.2}", stored / per_shown),
        _ => field.number(stored),
    };
    let name = format!("{}, as a number", setting.spoken);
    let (value, speed) = (shown * per_shown, Some(id.shown_step(setting.units)));
    let entry = Entry { name: &name, hint: &setting.hint, field: &field, value, write: &write, speed };
    Some(entry.put(ui, area)? / per_shown)
}

/// Which way the strips run.
fn direction(ui: &mut Ui, column: &Column, area: Rect, asks: &mut Vec<BoardAsk>) {
    let colors = theme::of(ui);
    let direction = &column.direction;
    let text = match (direction.set_deg, direction.present_deg) {
        (Some(deg), _) => format!("strips at {deg:.0}° ⏷"),
        (None, Some(deg)) => format!("strips at {deg:.0}°, automatic ⏷"),
        (None, None) => "strips automatic ⏷".to_owned(),
    };
    ui.scope_builder(UiBuilder::new().id_salt(("direction", column.strategy.0)).max_rect(area), |ui| {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = space::TIGHT;
            ui.spacing_mut().button_padding = vec2(0.0, 0.0);
            ui.style_mut().override_font_id = Some(theme::caption());
            if let Some(differs) = &direction.differs {
                let mark = Rect::from_min_size(area.min - vec2(11.0, 0.0), vec2(10.0, area.height()));
                differs_mark(ui, mark.center(), colors.ink);
                let spoken = format!("Strip direction of {} is unlike the reference's", column.name);
                announce(ui, mark, "differs", &spoken, &format!("Reference: {differs}"));
            }
            // What stands at the right, though nothing, keeps the text at the left.
            let text = Button::new(RichText::new(text).color(colors.ink)).right_text("").truncate();
            let button = text.frame_when_inactive(false).min_size(area.size());
            let (response, _) = MenuButton::from_button(button).ui(ui, |ui| direction_menu(ui, column, asks));
            let spoken = format!("Strip direction of {}", column.name);
            response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
            response.on_hover_text(DIRECTION_HINT);
        });
    });
}

fn direction_menu(ui: &mut Ui, column: &Column, asks: &mut Vec<BoardAsk>) {
    ui.set_min_width(220.0);
    let (strategy, direction) = (column.strategy, &column.direction);
    let mut ask =
        |from_north_deg| asks.push(BoardAsk::Change(Change::Direction { strategy, from_north_deg }));
    if ui.radio(direction.set_deg.is_none(), "Automatic: the fewest strips").clicked() {
        ask(None);
    }
    let present = direction.set_deg.or(direction.present_deg).unwrap_or(0.0).round();
    if ui.radio(direction.set_deg.is_some(), "Set, clockwise from north").clicked() {
        ask(Some(present));
    }
    if let Some(deg) = direction.set_deg {
        let name = format!("Strip direction of {}, as a number", column.name);
        let number = Number {
            name: &name,
            hint: "",
            unit: Unit::Degrees,
            range: 0.0..=359.0,
            value: deg,
            decimals: 1,
        };
        let (area, _) = ui.allocate_exact_size(vec2(72.0, 20.0), Sense::hover());
        if let Some(deg) = number.put(ui, Units::Metric, area) {
            ask(Some(deg));
        }
    }
}
