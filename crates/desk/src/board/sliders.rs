use super::ask::BoardAsk;
use super::grid::{self, BAND_EDGE, Grid, announce, differs_mark, strategy_color};
use super::model::{Board, Column, Slider as Setting};
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

/// A name and its number above their rail.
const SETTING: f32 = 33.0;
/// The line that says on which passes the settings below it act.
const PASSES: f32 = 14.0;
const DIRECTION: f32 = 20.0;
const GAP: f32 = 12.0;
const FOLLOWS_HINT: &str = "What follows from the settings at once: the GSD of a nadir camera at the pass's height, and \
                            the ground speed with what bounds it: your limit, the aircraft, the shot interval, motion \
                            blur or the gimbal's cycle. The least of them counts.";
const DIRECTION_HINT: &str = "Automatic runs the strips along the site so that the fewest are needed; else set the \
                              direction of the first pass, clockwise from north. Crossing passes turn with it.";
const LEAD_HINT: &str =
    "What is kept when the aircraft or its camera changes: height or GSD. The other one follows.";

/// The settings folded away: what follows from them, and how to bring them back; returns where that ends.
pub(super) fn folded(
    ui: &mut Ui,
    columns_ui: &mut Ui,
    grid: &Grid,
    board: &Board,
    top: f32,
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    grid::rule(ui, columns_ui, grid, top);
    let title_bottom = title(ui, grid, top, "Settings ⏵", "Bring the settings back", asks);
    let begin = if grid.title_width > 0.0 { top + BAND_EDGE } else { title_bottom };
    follows(ui, columns_ui, grid, board, begin).max(title_bottom) + BAND_EDGE
}

/// The sliders of every column and what follows from them; returns where they end.
pub(super) fn open(
    ui: &mut Ui,
    columns_ui: &mut Ui,
    grid: &Grid,
    board: &Board,
    top: f32,
    asks: &mut Vec<BoardAsk>,
) -> f32 {
    grid::rule(ui, columns_ui, grid, top);
    let mut margin_bottom = title(ui, grid, top, "Settings ⏷", "Fold the settings away", asks);
    if board.reference.is_some() {
        margin_bottom = legend(ui, grid, margin_bottom);
    }
    let begin = top + if grid.title_width > 0.0 { BAND_EDGE } else { 24.0 };
    let mut lowest = begin;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, begin, f32::INFINITY);
        lowest = lowest.max(column_sliders(columns_ui, column, area, asks));
    }
    follows(ui, columns_ui, grid, board, lowest).max(margin_bottom) + BAND_EDGE
}

/// The title that folds and unfolds; returns where it ends.
fn title(ui: &mut Ui, grid: &Grid, top: f32, text: &str, hint: &str, asks: &mut Vec<BoardAsk>) -> f32 {
    let at = pos2(grid.left, top + BAND_EDGE);
    let area = Rect::from_min_size(at, vec2(grid.margin_right() - grid.left - space::ROW, 20.0));
    ui.scope_builder(UiBuilder::new().id_salt("settings").max_rect(area), |ui| {
        ui.spacing_mut().button_padding = vec2(space::TIGHT, 0.0);
        let text = RichText::new(text).font(theme::body_strong());
        let response = ui.add(Button::new(text).min_size(vec2(0.0, 20.0))).on_hover_text(hint);
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, hint));
        if response.clicked() {
            asks.push(BoardAsk::FoldSettings);
        }
    });
    area.bottom() + space::HAIR
}

/// What the lozenge means.
fn legend(ui: &Ui, grid: &Grid, top: f32) -> f32 {
    let colors = theme::of(ui);
    let text = "unlike the reference's".to_owned();
    let width = grid.margin_right() - grid.left - space::GROUP - 2.0 * space::ROW;
    let galley = ui.painter().layout(text, theme::caption(), colors.muted, width);
    let bottom = top + space::TIGHT + galley.size().y;
    differs_mark(ui, pos2(grid.left + 6.0, top + space::TIGHT + 8.0), colors.ink);
    ui.painter().galley(pos2(grid.left + 16.0, top + space::TIGHT), galley, colors.muted);
    bottom
}

/// What follows from the settings, for every column; returns where it ends.
fn follows(margin_ui: &Ui, ui: &Ui, grid: &Grid, board: &Board, top: f32) -> f32 {
    let colors = theme::of(margin_ui);
    let label_at = pos2(grid.margin_right() - space::ROW, top);
    let written =
        |text: &str| margin_ui.painter().layout_no_wrap(text.to_owned(), theme::caption(), colors.ink);
    let whole = written("nominal GSD, speed");
    let fits = whole.size().x <= label_at.x - grid.left;
    let label = if fits { whole } else { written("GSD, speed") };
    margin_ui.painter().galley(label_at - vec2(label.size().x, 0.0), label, colors.ink);
    let mut lowest = top + 14.0;
    for (index, column) in board.columns.iter().enumerate() {
        let area = grid.inside(index, top, top);
        let stale = column.follows_freshness == Freshness::Stale;
        let text = if stale { format!("{} …", column.follows) } else { column.follows.clone() };
        let text = show::unbroken(&text);
        let galley = ui.painter().layout(text, theme::caption(), colors.muted, area.width());
        let whole = Rect::from_min_size(area.min, galley.size());
        lowest = lowest.max(whole.bottom());
        ui.painter().galley(area.min, galley, colors.muted);
        let late = if stale { ", of earlier settings" } else { "" };
        let spoken = format!("Nominal GSD, height and speed of {}: {}{late}", column.name, column.follows);
        announce(ui, whole, ("follows", column.strategy.0), &spoken, FOLLOWS_HINT);
    }
    lowest
}

/// Two settings stand side by side; those of one role stand under its name. Returns where they end.
fn column_sliders(ui: &mut Ui, column: &Column, area: Rect, asks: &mut Vec<BoardAsk>) -> f32 {
    let color = strategy_color(ui, column);
    let half = ((area.width() - GAP) / 2.0).floor();
    let mut at = area.top();
    let mut place = 0;
    let mut passes = Passes::All;
    for setting in &column.sliders {
        if setting.setting.role != passes {
            passes = setting.setting.role;
            at += if place == 1 { SETTING } else { 0.0 };
            place = 0;
            let muted = theme::of(ui).muted;
            let name_at = pos2(area.left(), at);
            ui.painter().text(name_at, Align2::LEFT_TOP, &setting.passes, theme::caption(), muted);
            at += PASSES;
        }
        let left = area.left() + if place == 1 { half + GAP } else { 0.0 };
        let cell = Rect::from_min_size(pos2(left, at), vec2(half, SETTING));
        if let Some(shown) = slider(ui, column, setting, cell, color, asks) {
            let value = shown * setting.setting.per_shown(setting.units);
            asks.push(BoardAsk::Set { strategy: column.strategy, setting: setting.setting, value });
        }
        place = 1 - place;
        // Height or GSD stands alone where there is no tilt beside it, so that overlaps stay together.
        let alone = column.sliders.iter().all(|other| other.setting.knob != KnobId::TILT);
        let leads = matches!(setting.setting.knob, KnobId::HEIGHT | KnobId::STAND_OFF | KnobId::GSD);
        if place == 0 || (leads && alone) {
            at += SETTING;
            place = 0;
        }
    }
    at += if place == 1 { SETTING } else { 0.0 };
    direction(ui, column, Rect::from_min_size(pos2(area.left(), at), vec2(area.width(), DIRECTION)), asks);
    at + DIRECTION + space::HAIR
}

/// One slider under its name and number; returns what it was moved to, in the unit on the screen.
fn slider(
    ui: &mut Ui,
    column: &Column,
    setting: &Setting,
    cell: Rect,
    color: Color32,
    asks: &mut Vec<BoardAsk>,
) -> Option<f64> {
    const LINE: f32 = 18.0;
    let width = if matches!(setting.setting.knob, KnobId::HEIGHT | KnobId::STAND_OFF | KnobId::GSD) {
        48.0
    } else {
        42.0
    };
    let number = Rect::from_min_size(pos2(cell.right() - width, cell.top()), vec2(width, LINE));
    let rail = Rect::from_min_max(
        pos2(cell.left(), cell.top() + LINE),
        pos2(cell.right(), cell.bottom() - space::HAIR),
    );
    let name = Rect::from_min_max(cell.min, pos2(number.left(), cell.top() + LINE));
    let mut shown = setting.shown;
    let mut typed = None;
    ui.scope_builder(UiBuilder::new().id_salt(&setting.spoken).max_rect(cell), |ui| {
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
        let lay = |text: &str| ui.painter().layout_no_wrap(text.to_owned(), theme::caption(), colors.ink);
        let mut galley = lay(setting.setting.plain_name());
        if galley.size().x > area.width() - space::HAIR {
            galley = lay(setting.setting.brief_name());
        }
        let at = area.left_center() - vec2(0.0, galley.size().y / 2.0);
        ui.painter().galley(at, galley, colors.ink);
        announce(ui, area, ("name", &setting.spoken), &setting.name, &setting.hint);
        return;
    }
    let place = Rect::from_min_max(area.min, area.max - vec2(space::TIGHT, 0.0));
    let middle = egui::Layout::left_to_right(egui::Align::Center);
    ui.scope_builder(UiBuilder::new().max_rect(place).layout(middle), |ui| {
        ui.spacing_mut().button_padding = vec2(0.0, 0.0);
        let text = RichText::new(format!("{} ⏷", setting.name)).color(colors.ink);
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
    ui.name_inputs(setting.spoken.clone(), |ui| ui.put(rail, widget)).on_hover_text(&setting.hint)
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
            let button = Button::new(RichText::new(text).color(colors.ink)).frame_when_inactive(false);
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
