//! Draws the equipment: aircraft are columns, their numbers rows, so that two data sheets can be read across.

use super::derived::{DERIVED, derived};
use super::power;
use super::sections::{Block, DrawnBelow, Given, SECTIONS, Section, Ways};
use super::shelves::{Shelf, add, built_in, keep};
use crate::amendment::Subject;
use crate::chart_files::{self, ChartsAs};
use crate::form::{self, Rows};
use crate::menus;
use crate::theme::{self, space};
use crate::units::Units;
use egui::{
    Align2, Button, Frame, Label, Margin, Panel, Rect, RichText, ScrollArea, Sense, Stroke, TextEdit, Ui,
    UiBuilder, pos2, vec2,
};
use obliquity_exchange::chart::{endurance_min, power_charts};
use obliquity_planning::{Aircraft, At, Equipment, Id, Knob, KnobGroup, KnobId, limits, wording};

/// What the screen shows.
#[derive(Debug, Clone, Copy)]
pub struct Stock<'a> {
    /// The scenario's aircraft.
    pub scenario: &'a Equipment,
    /// The user's library, or why it cannot be read.
    pub library: Result<&'a Equipment, &'a str>,
    /// For each aircraft of the scenario, the names of the strategies that fly it.
    pub flown_by: &'a [(Id, Vec<String>)],
    /// Which of the two is shown.
    pub shelf: Shelf,
    /// The units on the screen.
    pub units: Units,
}

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum EquipmentAsk {
    /// Save the diagrams.
    Save(ChartsAs),
    /// Show the other shelf.
    Show(Shelf),
    /// Put other aircraft on a shelf.
    Put {
        /// Where.
        shelf: Shelf,
        /// What the edit is called.
        what: Subject,
        /// All aircraft of the shelf.
        equipment: Equipment,
    },
}

const NAMES_WIDTH: f32 = 190.0;
const COLUMN_WIDTH: f32 = 220.0;
const HEAD_HEIGHT: f32 = 88.0;
const ROW: f32 = 24.0;
const GROUP_ROW: f32 = 28.0;
const NUMBER_WIDTH: f32 = 110.0;

/// Draws the equipment into what is left of the window.
pub fn ui(ui: &mut Ui, stock: &Stock<'_>, asks: &mut Vec<EquipmentAsk>) {
    let page = Frame::new().fill(theme::of(ui).page);
    Panel::top("equipment head")
        .frame(page.inner_margin(Margin::symmetric(16, 10)))
        .show_separator_line(false)
        .show(ui, |ui| head(ui, stock, asks));
    let sides = Margin { left: 16, right: 8, top: 0, bottom: 8 };
    egui::CentralPanel::default().frame(page.inner_margin(sides)).show(ui, |ui| match shown(stock) {
        Ok(equipment) if equipment.aircraft.is_empty() => {
            let text = match stock.shelf {
                Shelf::Scenario => "The scenario has no aircraft. Add one above.",
                Shelf::Library => {
                    "Your library is empty. Save an aircraft of the scenario to it, or add one above; it is then at \
                     hand in every scenario."
                }
            };
            ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
        }
        Ok(equipment) => table(ui, stock, equipment, asks),
        Err(why) => {
            let text = format!("Your library cannot be read, and so nothing is written to it: {why}");
            ui.add(Label::new(RichText::new(text).color(theme::of(ui).bad)).wrap().selectable(true));
        }
    });
}

fn shown<'a>(stock: &Stock<'a>) -> Result<&'a Equipment, &'a str> {
    match stock.shelf {
        Shelf::Scenario => Ok(stock.scenario),
        Shelf::Library => stock.library,
    }
}

fn head(ui: &mut Ui, stock: &Stock<'_>, asks: &mut Vec<EquipmentAsk>) {
    ui.horizontal_wrapped(|ui| {
        for (shelf, text, hint) in [
            (Shelf::Scenario, "In this scenario", "Strategies fly these; the scenario's file keeps them"),
            (
                Shelf::Library,
                "In my library",
                "Yours for every scenario; an update of the program leaves them alone",
            ),
        ] {
            if ui.selectable_label(stock.shelf == shelf, text).on_hover_text(hint).clicked() {
                asks.push(EquipmentAsk::Show(shelf));
            }
        }
        ui.add_space(space::PAGE);
        if let Ok(equipment) = shown(stock) {
            let free = equipment.aircraft.len() < limits::AIRCRAFT;
            ui.add_enabled_ui(free, |ui| {
                ui.menu_button("Add aircraft", |ui| {
                    menus::items(ui, |ui| add_menu(ui, stock, equipment, asks));
                })
            });
            let has_power = equipment.aircraft.iter().any(|one| power_charts(one, stock.units).is_some());
            if has_power && stock.shelf == Shelf::Scenario {
                asks.extend(chart_files::menu(ui).map(EquipmentAsk::Save));
            }
        }
    });
    let note = "Results are for a nadir camera above level ground. Point at a number for its meaning and limits; \
                drag it, or click it and type.";
    ui.add(Label::new(RichText::new(note).font(theme::caption()).color(theme::of(ui).muted)).wrap());
}

fn add_menu(ui: &mut Ui, stock: &Stock<'_>, equipment: &Equipment, asks: &mut Vec<EquipmentAsk>) {
    ui.set_min_width(220.0);
    let mut section = |ui: &mut Ui, title: &str, aircraft: &[Aircraft]| {
        ui.label(RichText::new(title).font(theme::caption()).color(theme::of(ui).muted));
        for one in aircraft {
            if ui.button(&one.name).clicked() {
                let mut changed = equipment.clone();
                add(&mut changed, one);
                asks.push(EquipmentAsk::Put {
                    shelf: stock.shelf,
                    what: format!("add {}", one.name).into(),
                    equipment: changed,
                });
                ui.close();
            }
        }
    };
    if let Ok(catalogue) = built_in() {
        section(ui, "From the built-in catalogue (invented)", &catalogue.aircraft);
    }
    match (stock.shelf, stock.library) {
        (Shelf::Scenario, Ok(library)) if !library.aircraft.is_empty() => {
            section(ui, "From my library", &library.aircraft);
        }
        (Shelf::Library, _) => section(ui, "From this scenario", &stock.scenario.aircraft),
        (Shelf::Scenario, _) => {}
    }
}

/// Where everything stands: names to the left, columns to the right of them.
fn table(ui: &mut Ui, stock: &Stock<'_>, equipment: &Equipment, asks: &mut Vec<EquipmentAsk>) {
    ScrollArea::vertical().id_salt("equipment rows").auto_shrink(false).show(ui, |ui| {
        let origin = ui.cursor().min;
        let height = height();
        let (whole, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        row_names(ui, origin, whole, equipment, stock.units);
        let right = Rect::from_min_max(pos2(origin.x + NAMES_WIDTH, origin.y), whole.max);
        ui.scope_builder(UiBuilder::new().max_rect(right), |ui| {
            ScrollArea::horizontal().id_salt("equipment columns").auto_shrink(false).show(ui, |ui| {
                let start = ui.cursor().min;
                let width = COLUMN_WIDTH * equipment.aircraft.len() as f32;
                ui.allocate_exact_size(vec2(width, height - space::PAGE), Sense::hover());
                for (index, aircraft) in equipment.aircraft.iter().enumerate() {
                    let left = start.x + COLUMN_WIDTH * index as f32;
                    column(ui, stock, (equipment, index, aircraft), pos2(left, start.y), asks);
                }
            });
        });
    });
}

fn height() -> f32 {
    let groups: f32 = SECTIONS.iter().map(height_of).sum();
    HEAD_HEIGHT + GROUP_ROW + DERIVED as f32 * ROW + groups + space::PAGE
}

fn height_of(section: &Section) -> f32 {
    let drawn = match section.drawn {
        DrawnBelow::Nothing => 0.0,
        DrawnBelow::Power => power::HEIGHT,
    };
    GROUP_ROW + section.group.knobs.len() as f32 * ROW + drawn
}

fn row_names(ui: &mut Ui, origin: egui::Pos2, whole: Rect, equipment: &Equipment, units: Units) {
    let colors = theme::of(ui);
    let mut y = origin.y + HEAD_HEIGHT;
    let heading = |ui: &Ui, y: &mut f32, text: &str| {
        ui.painter().hline(whole.x_range(), *y + 3.0, Stroke::new(1.0, colors.rule));
        let at = pos2(origin.x, *y + GROUP_ROW / 2.0 + 2.0);
        ui.painter().text(at, Align2::LEFT_CENTER, text, theme::body_strong(), colors.ink);
        *y += GROUP_ROW;
    };
    let name = |ui: &mut Ui, y: &mut f32, text: &str, hint: &str| {
        let area = Rect::from_min_size(pos2(origin.x, *y), vec2(NAMES_WIDTH - space::ROW, ROW));
        let at = pos2(area.left(), area.center().y);
        ui.painter().text(at, Align2::LEFT_CENTER, text, theme::caption(), colors.ink);
        ui.interact(area, ui.scope_id().with(("name", text)), Sense::hover()).on_hover_text(hint);
        *y += ROW;
    };
    heading(ui, &mut y, "Result");
    for row in equipment.aircraft.first().into_iter().flat_map(|aircraft| derived(aircraft, units)) {
        name(ui, &mut y, &row.name, row.hint);
    }
    for section in &SECTIONS {
        let above = y;
        heading(ui, &mut y, section.group.name);
        group_note(
            ui,
            section.group,
            Rect::from_min_size(pos2(origin.x, above), vec2(NAMES_WIDTH, GROUP_ROW)),
        );
        for knob in section.group.knobs {
            name(ui, &mut y, knob.name, knob.explanation);
        }
        if section.drawn == DrawnBelow::Power {
            let hint = "The common shape of rotary wings for this mass and these rotors, bent through the endurances given: \
                        new battery set, still air at sea level.";
            let below = y + power::HEIGHT;
            name(ui, &mut y, "Over airspeed", hint);
            y = below;
        }
    }
}

/// One aircraft: its shelf's equipment, its place there, and itself.
type One<'a> = (&'a Equipment, usize, &'a Aircraft);

fn column(ui: &mut Ui, stock: &Stock<'_>, one: One<'_>, at: egui::Pos2, asks: &mut Vec<EquipmentAsk>) {
    let (equipment, index, aircraft) = one;
    let colors = theme::of(ui);
    let card = Rect::from_min_size(at, vec2(COLUMN_WIDTH - space::ROW, height() - space::PAGE));
    let shape = egui::epaint::RectShape::new(
        card,
        6.0,
        colors.surface,
        Stroke::new(1.0, colors.rule),
        egui::StrokeKind::Inside,
    );
    ui.painter().add(shape);
    let inside = card.shrink2(vec2(space::GROUP, space::ROW));
    let mut change = |what: Subject, changed: Aircraft| {
        let mut equipment = equipment.clone();
        equipment.aircraft[index] = changed;
        asks.push(EquipmentAsk::Put { shelf: stock.shelf, what, equipment });
    };
    let name_at = Rect::from_min_size(inside.min, vec2(inside.width(), 24.0));
    if let Some(name) = name_input(ui, aircraft, name_at) {
        change(format!("name of {}", aircraft.name).into(), Aircraft { name, ..aircraft.clone() });
    }
    let mut y = at.y + HEAD_HEIGHT + GROUP_ROW;
    for row in derived(aircraft, stock.units) {
        let area = Rect::from_min_size(pos2(inside.left(), y), vec2(inside.width(), ROW));
        let response = ui.put(area, Label::new(RichText::new(&row.text).font(theme::body_strong())));
        let spoken = format!("{} of {}: {}", row.name, aircraft.name, row.text);
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(spoken));
        response.on_hover_text(row.hint);
        y += ROW;
    }
    for section in &SECTIONS {
        ui.painter().hline(inside.x_range(), y + 3.0, Stroke::new(1.0, colors.rule));
        let heading = Rect::from_min_size(pos2(inside.left(), y), vec2(inside.width(), GROUP_ROW));
        if let Some((what, changed)) = given(ui, aircraft, &section.given, heading) {
            change(what.into(), changed);
        }
        y += GROUP_ROW;
        let without = section.given.without(aircraft);
        for (row, knob) in section.group.knobs.iter().enumerate() {
            let middle = pos2(inside.center().x, y + ROW / 2.0);
            y += ROW;
            if let Some(without) = without {
                let text = if row == 0 { without } else { "–" };
                ui.painter().text(middle, Align2::CENTER_CENTER, text, theme::caption(), colors.muted);
                continue;
            }
            if let Some(changed) = number(ui, stock.units, aircraft, (section.group.name, knob), middle) {
                let label = format!("{} of {}", wording::within(knob.name), aircraft.name);
                change(Subject::input(knob, At::Aircraft(aircraft.id), label), changed);
            }
        }
        if section.drawn == DrawnBelow::Power {
            let area =
                Rect::from_min_size(pos2(inside.left(), y + 6.0), vec2(inside.width(), power::HEIGHT - 12.0));
            power::draw(ui, aircraft, area, stock.units);
            y += power::HEIGHT;
        }
    }
    let below = Rect::from_min_max(
        pos2(inside.left(), name_at.bottom() + 6.0),
        pos2(inside.right(), at.y + HEAD_HEIGHT),
    );
    ui.scope_builder(UiBuilder::new().max_rect(below).id_salt(("head", aircraft.id.0)), |ui| {
        head_of(ui, stock, one, asks);
    });
}

/// What to know of all numbers of a group, at the end of its name's line.
fn group_note(ui: &mut Ui, group: &KnobGroup, line: Rect) {
    if group.note.is_empty() {
        return;
    }
    let at = line.right_center() + vec2(-space::GROUP, 2.0);
    let muted = theme::of(ui).muted;
    ui.painter().text(at, Align2::RIGHT_CENTER, group.note, theme::caption(), muted);
    let response = ui.interact(line, ui.scope_id().with(("note", group.name)), Sense::hover());
    let said = format!("{}: {}", group.name, group.note);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    response.on_hover_text(FOR_ACCURACY);
}

const FOR_ACCURACY: &str = "The accuracy that is predicted rests on them, and a verdict that asks for it; no time, count or \
                            coverage does.";

/// What stands in a heading: how the aircraft comes to have the rows below, where that can be changed.
fn given(ui: &mut Ui, aircraft: &Aircraft, given: &Given, heading: Rect) -> Option<(String, Aircraft)> {
    let area = Rect::from_center_size(heading.center() + vec2(0.0, 2.0), vec2(NUMBER_WIDTH, 20.0));
    match given {
        Given::Always => None,
        Given::Block(block) => block_button(ui, aircraft, block, area),
        Given::Ways(ways) => ways_button(ui, aircraft, ways, area),
    }
}

/// Chooses one of several ways.
fn ways_button(ui: &mut Ui, aircraft: &Aircraft, ways: &Ways, area: Rect) -> Option<(String, Aircraft)> {
    let chosen = (ways.chosen)(aircraft);
    let text = ways.all.get(chosen).map_or("–", |(text, _)| text);
    let of = format!("{} of {}", ways.name, aircraft.name);
    let button = Button::new(RichText::new(format!("{text} ⏷")).font(theme::caption()));
    let response = ui.put(area, button);
    form::spoken(ui, &response, &format!("{of}: {text}"));
    let mut picked = None;
    egui::Popup::menu(&response).show(|ui| {
        for (way, (text, hint)) in ways.all.iter().enumerate() {
            if ui.selectable_label(way == chosen, *text).on_hover_text(*hint).clicked() {
                picked = Some(way);
            }
        }
    });
    response.on_hover_text(ways.hint);
    let way = picked.filter(|way| *way != chosen)?;
    let mut changed = aircraft.clone();
    (ways.choose)(&mut changed, way);
    Some((wording::within(&of), changed))
}

/// Adds a block of numbers, or takes it away.
fn block_button(ui: &mut Ui, aircraft: &Aircraft, block: &Block, area: Rect) -> Option<(String, Aircraft)> {
    let has = (block.has)(aircraft);
    let (text, what) = if has { ("Remove", "remove") } else { ("Add", "add") };
    let button = Button::new(RichText::new(text).font(theme::caption()));
    let response = ui.put(area, button);
    let named = wording::within(block.name);
    form::spoken(ui, &response, &format!("{text} {named} of {}", aircraft.name));
    if !response.on_hover_text(block.hint).clicked() {
        return None;
    }
    let mut changed = aircraft.clone();
    if has {
        (block.remove)(&mut changed);
    } else {
        (block.add)(&mut changed);
    }
    Some((format!("{what} {named} of {}", aircraft.name), changed))
}

fn number(
    ui: &mut Ui,
    units: Units,
    aircraft: &Aircraft,
    (group, knob): (&str, &Knob),
    middle: egui::Pos2,
) -> Option<Aircraft> {
    let area = Rect::from_center_size(middle, vec2(NUMBER_WIDTH, ROW - 4.0));
    let whole = format!("{group}: {} of {}", knob.name, aircraft.name);
    let begins_at = |knob: &Knob| endurance_now(aircraft, knob);
    Rows { begins_at: &begins_at, ..Rows::plain(units) }.cell(ui, area, knob, aircraft, &whole)
}

/// What an endurance begins with when it is first given: what the power curve says.
fn endurance_now(aircraft: &Aircraft, knob: &Knob) -> Option<f64> {
    let airspeed_mps = match knob.id {
        KnobId::HOVER_ENDURANCE => 0.0,
        KnobId::FASTEST_ENDURANCE => aircraft.airframe.fastest_mps(),
        _ => return None,
    };
    endurance_min(aircraft, airspeed_mps).map(f64::round)
}

/// The name, given when the user has finished typing it.
fn name_input(ui: &mut Ui, aircraft: &Aircraft, area: Rect) -> Option<String> {
    let id = ui.scope_id().with(("typed name", aircraft.id.0));
    let mut name = ui.data(|data| data.get_temp::<String>(id)).unwrap_or_else(|| aircraft.name.clone());
    let widget = TextEdit::singleline(&mut name).char_limit(limits::NAME_CHARS).font(theme::title());
    let label = format!("Name of {}", aircraft.name);
    let response = ui.put(area, widget);
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(label));
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, name));
        return None;
    }
    ui.data_mut(|data| data.remove::<String>(id));
    let name = name.trim().to_owned();
    (response.lost_focus() && !name.is_empty() && name != aircraft.name).then_some(name)
}

/// Short enough for three buttons to stand in a card.
const COPY: &str = "Copy";

/// Who flies it, and what can be done with it as a whole.
fn head_of(
    ui: &mut Ui,
    stock: &Stock<'_>,
    (equipment, index, aircraft): One<'_>,
    asks: &mut Vec<EquipmentAsk>,
) {
    let none = Vec::new();
    let flown_by = stock.flown_by.iter().find(|(id, _)| *id == aircraft.id).map_or(&none, |(_, names)| names);
    let flown_by = if stock.shelf == Shelf::Scenario { flown_by } else { &none };
    let text = match stock.shelf {
        Shelf::Library => "In every scenario to add".to_owned(),
        Shelf::Scenario if flown_by.is_empty() => "Flown by no strategy".to_owned(),
        Shelf::Scenario => format!("Flown by {}", flown_by.join(", ")),
    };
    let label = Label::new(RichText::new(&text).font(theme::caption()).color(theme::of(ui).muted)).truncate();
    ui.add(label).on_hover_text(&text);
    ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
    ui.spacing_mut().button_padding = vec2(4.0, 2.0);
    let put = |asks: &mut Vec<EquipmentAsk>, shelf, what: String, equipment| {
        asks.push(EquipmentAsk::Put { shelf, what: what.into(), equipment });
    };
    let button = |ui: &mut Ui, text: &str, enabled: bool, hint: &str| {
        let response = ui.add_enabled(enabled, Button::new(RichText::new(text).font(theme::caption())));
        let verb = if text == COPY { "Duplicate" } else { text };
        let spoken = format!("{verb} {}", aircraft.name);
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(spoken));
        response.on_hover_text(hint).on_disabled_hover_text(hint).clicked()
    };
    ui.horizontal(|ui| {
        let free = equipment.aircraft.len() < limits::AIRCRAFT;
        if button(ui, COPY, free, "Add a copy to change") {
            let mut changed = equipment.clone();
            add(&mut changed, aircraft);
            put(asks, stock.shelf, format!("duplicate {}", aircraft.name), changed);
        }
        let stays =
            format!("{} flies it: give {} another aircraft first", flown_by.join(" and "), them(flown_by));
        let hint = if flown_by.is_empty() { "Take it out; undo brings it back" } else { &stays };
        let hint = if stock.shelf == Shelf::Library {
            "Take it out of the library; scenarios keep theirs"
        } else {
            hint
        };
        if button(ui, "Remove", flown_by.is_empty(), hint) {
            let mut changed = equipment.clone();
            changed.aircraft.remove(index);
            put(asks, stock.shelf, format!("remove {}", aircraft.name), changed);
        }
        match stock.shelf {
            Shelf::Scenario => {
                let hint =
                    stock.library.err().unwrap_or("Save it to my library, in place of one of the same name");
                if button(ui, "Save to library", stock.library.is_ok(), hint)
                    && let Ok(library) = stock.library
                {
                    let mut changed = library.clone();
                    keep(&mut changed, aircraft);
                    put(asks, Shelf::Library, format!("save {}", aircraft.name), changed);
                }
            }
            Shelf::Library => {
                if button(ui, "Use", true, "Copy it into this scenario") {
                    let mut changed = stock.scenario.clone();
                    add(&mut changed, aircraft);
                    put(asks, Shelf::Scenario, format!("add {}", aircraft.name), changed);
                }
            }
        }
    });
}

fn them(names: &[String]) -> &'static str {
    if names.len() == 1 { "it" } else { "them" }
}
