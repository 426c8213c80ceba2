//! What the screens with many settings are built of: cards, and rows with a name to the left and an input to the right.

use crate::inputs::{Number, within};
use crate::opens;
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::{
    Align, Align2, Button, ComboBox, Frame, Key, Label, Layout, PopupCloseBehavior, Rect, Response, RichText,
    Sense, TextEdit, Ui, UiBuilder, vec2,
};
use obliquity_planning::limits::Range;
use obliquity_planning::{Knob, KnobGroup, Part, wording};

/// Width of a card, its edges included.
pub const CARD: f32 = 372.0;
/// Width of the names to the left.
const NAME: f32 = 142.0;
/// Width of whole names to the left.
const WHOLE_NAME: f32 = 208.0;
const ROW: f32 = 26.0;

/// What a row is about: the name beside it, the whole name for whoever does not see where it stands, and what to know
/// when pointing at it.
#[derive(Debug, Clone, Copy)]
pub struct Named<'a> {
    /// Beside the input.
    pub name: &'a str,
    /// The whole name: "Height of pass 2".
    pub spoken: &'a str,
    /// What it does.
    pub hint: &'a str,
}

/// How a row's number is shown and what it may be, as stored.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// What it measures.
    pub unit: Unit,
    /// Most decimals shown.
    pub decimals: usize,
    /// Values allowed.
    pub range: Range,
}

/// Width of a list beside the cards, where there is room.
const LIST: f32 = 304.0;
/// A narrower list stands above the cards instead.
const LEAST_LIST: f32 = 190.0;
/// Around list and cards.
const EDGES: f32 = 44.0;

/// How much room a list has beside at least one column of cards; nothing where it stands above them.
pub fn list_width(ui: &Ui) -> Option<f32> {
    let left = ui.available_width() - CARD - EDGES;
    (left >= LEAST_LIST).then_some(left.min(LIST))
}

/// A card with a title and a note.
pub fn card<R>(ui: &mut Ui, title: &str, note: &str, content: impl FnOnce(&mut Ui) -> R) -> R {
    card_of(ui, CARD, (title, note), content)
}

/// The same of another width.
pub fn card_of<R>(
    ui: &mut Ui,
    width: f32,
    (title, note): (&str, &str),
    content: impl FnOnce(&mut Ui) -> R,
) -> R {
    let colors = theme::of(ui);
    let frame = Frame::new()
        .fill(colors.surface)
        .stroke(egui::Stroke::new(1.0, colors.rule))
        .corner_radius(6.0)
        .inner_margin(space::GROUP);
    let shown = frame.show(ui, |ui| {
        ui.set_width(width - 2.0 * space::GROUP);
        ui.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
        if !title.is_empty() {
            ui.label(RichText::new(title).font(theme::title()));
        }
        if !note.is_empty() {
            muted(ui, note);
        }
        content(ui)
    });
    shown.inner
}

/// A note that wraps.
pub fn muted(ui: &mut Ui, text: &str) {
    colored(ui, text, theme::of(ui).muted);
}

/// A note in a colour.
pub fn colored(ui: &mut Ui, text: &str, color: egui::Color32) {
    ui.add(Label::new(RichText::new(text).font(theme::caption()).color(color)).wrap());
}

/// Gives something a name for those who do not see it.
pub fn spoken(ui: &Ui, response: &Response, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name.to_owned()));
}

/// The place of a name and the place of its input.
type RowPlaces = (Rect, Rect);

fn row(ui: &mut Ui) -> RowPlaces {
    row_of(ui, NAME)
}

fn row_of(ui: &mut Ui, name_width: f32) -> RowPlaces {
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let name = Rect::from_min_size(row.min, vec2(name_width, ROW));
    let input = Rect::from_min_max(name.right_top() + vec2(0.0, 1.5), row.max - vec2(0.0, 1.5));
    (name, input)
}

fn write_name(ui: &Ui, area: Rect, named: Named<'_>) {
    let ink = theme::of(ui).ink;
    ui.painter().text(area.left_center(), Align2::LEFT_CENTER, named.name, theme::body(), ink);
    if !named.hint.is_empty() {
        ui.interact(area, ui.scope_id().with(named.spoken), Sense::hover()).on_hover_text(named.hint);
    }
}

fn number_in(ui: &mut Ui, area: Rect, named: Named<'_>, kind: Kind, value: f64, units: Units) -> Option<f64> {
    let input = Number {
        name: named.spoken,
        hint: named.hint,
        unit: kind.unit,
        range: within(kind.range),
        value,
        decimals: kind.decimals,
    };
    input.put(ui, units, area)
}

/// A number; gives what it was changed to, as stored.
pub fn number(ui: &mut Ui, named: Named<'_>, kind: Kind, value: f64, units: Units) -> Option<f64> {
    let at = row(ui);
    number_at(ui, at, named, kind, value, units)
}

fn number_at(
    ui: &mut Ui,
    (name, input): RowPlaces,
    named: Named<'_>,
    kind: Kind,
    value: f64,
    units: Units,
) -> Option<f64> {
    write_name(ui, name, named);
    number_in(ui, input, named, kind, value, units)
}

/// A row with a name and the place of an input of one's own.
pub fn place(ui: &mut Ui, named: Named<'_>) -> Rect {
    let (name, input) = row(ui);
    write_name(ui, name, named);
    input
}

/// A number with a text behind it that says it another way.
pub fn number_and(
    ui: &mut Ui,
    named: Named<'_>,
    kind: Kind,
    value: f64,
    units: Units,
    other: &str,
) -> Option<f64> {
    let (name, input) = row(ui);
    write_name(ui, name, named);
    let split = input.center().x;
    let at = egui::pos2(split + space::ROW, input.center().y);
    ui.painter().text(at, Align2::LEFT_CENTER, other, theme::body(), theme::of(ui).muted);
    number_in(ui, input.with_max_x(split), named, kind, value, units)
}

/// A number that may be left to the program; gives what it was changed to, nothing where it is left out then.
pub fn optional_number(
    ui: &mut Ui,
    named: Named<'_>,
    kind: Kind,
    given: (Option<f64>, f64, &str),
    units: Units,
) -> Option<Option<f64>> {
    let at = row(ui);
    optional_at(ui, at, named, kind, given, units).map(ChangedTo::value)
}

/// A number that may be left to the program; `begins_at` is what it is when it is first set, and `left_out` says what
/// holds where it is not. Gives what it was changed to.
fn optional_at(
    ui: &mut Ui,
    (name, input): RowPlaces,
    named: Named<'_>,
    kind: Kind,
    (value, begins_at, left_out): (Option<f64>, f64, &str),
    units: Units,
) -> Option<ChangedTo> {
    let mut set = value.is_some();
    let layout = Layout::left_to_right(Align::Center);
    let check = ui.new_child(UiBuilder::new().max_rect(name).layout(layout)).checkbox(&mut set, named.name);
    spoken(ui, &check, &format!("Set the {}", wording::within(named.spoken)));
    if check.on_hover_text(named.hint).changed() {
        return Some(if set { ChangedTo::Number(begins_at) } else { ChangedTo::LeftOut });
    }
    let Some(value) = value else {
        let muted = theme::of(ui).muted;
        ui.painter().text(input.center(), Align2::CENTER_CENTER, left_out, theme::caption(), muted);
        return None;
    };
    number_in(ui, input, named, kind, value, units).map(ChangedTo::Number)
}

/// A number in a cell of a table, its name in the table's margin: given by a click where it is left out, and left out
/// again by the cross beside it.
fn optional_in(
    ui: &mut Ui,
    input: Rect,
    named: Named<'_>,
    kind: Kind,
    (value, begins_at, left_out): (Option<f64>, f64, &str),
    units: Units,
) -> Option<ChangedTo> {
    let Some(value) = value else {
        let response = ui.put(input, Button::new(RichText::new(left_out).font(theme::caption())));
        spoken(ui, &response, &format!("Give {}", named.spoken));
        let hint = format!("{} Click to give it.", named.hint);
        return response.on_hover_text(hint).clicked().then_some(ChangedTo::Number(begins_at));
    };
    let typed = number_in(ui, input, named, kind, value, units);
    let cross = Rect::from_min_size(input.right_top() + vec2(space::TIGHT, 0.0), vec2(22.0, input.height()));
    let response = ui.put(cross, Button::new("×").small());
    spoken(ui, &response, &format!("Leave out {}", named.spoken));
    if response.on_hover_text(format!("Leave it out: {left_out}")).clicked() {
        return Some(ChangedTo::LeftOut);
    }
    typed.map(ChangedTo::Number)
}

/// What an input that may be left out was changed to.
#[derive(Clone, Copy)]
enum ChangedTo {
    Number(f64),
    LeftOut,
}

impl ChangedTo {
    fn value(self) -> Option<f64> {
        if let ChangedTo::Number(value) = self { Some(value) } else { None }
    }
}

/// What stands to the left of an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NameBeside {
    /// Its name under the heading of its card.
    Name,
    /// Its name as it is everywhere.
    WholeName,
}

/// How the inputs of a card are drawn.
#[derive(Clone, Copy)]
pub struct Rows<'a> {
    /// The units on the screen.
    pub units: Units,
    /// What their whole names end in: " of pass 2"; empty where there is one of a kind.
    pub of: &'a str,
    /// What stands beside them.
    pub beside: NameBeside,
    /// What an input begins with that was left out, where something better than usual is known.
    pub begins_at: &'a dyn Fn(&Knob) -> Option<f64>,
}

impl std::fmt::Debug for Rows<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Rows").field("units", &self.units).field("of", &self.of).finish_non_exhaustive()
    }
}

impl<'a> Rows<'a> {
    /// Inputs of which there is one each.
    pub fn plain(units: Units) -> Rows<'a> {
        Rows { units, of: "", beside: NameBeside::Name, begins_at: &|_| None }
    }

    /// The rows of a group; gives the input that was changed, and the part as it is then.
    pub fn group<T: Part>(&self, ui: &mut Ui, group: &KnobGroup, part: &T) -> Option<(Knob, T)> {
        group.knobs.iter().fold(None, |changed, knob| {
            let now = self.knob(ui, knob, part);
            changed.or(now.map(|part| (*knob, part)))
        })
    }

    /// One input, where the part has it; gives the part as it is after a change.
    pub fn knob<T: Part>(&self, ui: &mut Ui, knob: &Knob, part: &T) -> Option<T> {
        if !knob.applies(part) {
            return None;
        }
        let (name, width) = match self.beside {
            NameBeside::Name => (knob.name, NAME),
            NameBeside::WholeName => (knob.whole, WHOLE_NAME),
        };
        let spoken = format!("{}{}", knob.whole, self.of);
        let named = Named { name, spoken: &spoken, hint: knob.explanation };
        let (at, kind, now) = (row_of(ui, width), kind_of(knob, part), knob.read(part));
        let changed = match knob.left_out {
            None => number_at(ui, at, named, kind, now?, self.units).map(ChangedTo::Number),
            Some(left_out) => {
                optional_at(ui, at, named, kind, (now, self.first(knob, part), left_out), self.units)
            }
        };
        with(part, knob, changed?.value())
    }

    /// One input in a cell of a table; `whole` is its name where nothing is said beside it. Gives the part as it is
    /// after a change.
    pub fn cell<T: Part>(&self, ui: &mut Ui, at: Rect, knob: &Knob, part: &T, whole: &str) -> Option<T> {
        let named = Named { name: knob.name, spoken: whole, hint: knob.explanation };
        let (kind, now) = (kind_of(knob, part), knob.read(part));
        let changed = match knob.left_out {
            None => number_in(ui, at, named, kind, now?, self.units).map(ChangedTo::Number),
            Some(left_out) => {
                optional_in(ui, at, named, kind, (now, self.first(knob, part), left_out), self.units)
            }
        };
        with(part, knob, changed?.value())
    }

    /// What an input begins with that was left out.
    fn first<T: Part>(&self, knob: &Knob, part: &T) -> f64 {
        let (least, most) = knob.bounds(part);
        (self.begins_at)(knob).unwrap_or_else(|| knob.begins_at(part)).clamp(least, most)
    }
}

/// How an input of a part is shown and what it may be.
pub fn kind_of<T: Part>(knob: &Knob, part: &T) -> Kind {
    let (least, most) = knob.bounds(part);
    Kind { unit: knob.unit, decimals: knob.decimals, range: Range { least, most, ..knob.range } }
}

/// The part with an input changed, where it takes it.
pub fn with<T: Part>(part: &T, knob: &Knob, value: Option<f64>) -> Option<T> {
    let mut part = part.clone();
    knob.put(&mut part, value).is_ok().then_some(part)
}

/// A choice of one out of several; gives the place of another one that was chosen.
pub fn choice(
    ui: &mut Ui,
    named: Named<'_>,
    choices: &[(&str, &str)],
    chosen: Option<usize>,
) -> Option<usize> {
    let (name, input) = row(ui);
    write_name(ui, name, named);
    let text = chosen.and_then(|at| choices.get(at)).map_or("–", |(text, _)| text);
    let mut picked = None;
    ui.scope_builder(UiBuilder::new().max_rect(input), |ui| {
        let combo = ComboBox::from_id_salt(named.spoken).selected_text(text).width(input.width()).truncate();
        let shown = combo.height(LONG).show_ui(ui, |ui| {
            for (at, (text, hint)) in choices.iter().enumerate() {
                let item = ui.selectable_label(chosen == Some(at), *text);
                let item = if hint.is_empty() { item } else { item.on_hover_text(*hint) };
                if item.clicked() && chosen != Some(at) {
                    picked = Some(at);
                }
            }
        });
        spoken(ui, &shown.response, &format!("{}: {text}", named.spoken));
        shown.response.on_hover_text(named.hint);
    });
    picked
}

/// Height of a long list before it scrolls.
const LONG: f32 = 420.0;

/// A choice of one out of many, under headings: typing leaves what has all the letters in its name or heading, and Enter
/// takes the first; gives the place, counted through all, of another one that was chosen.
pub fn long_choice(
    ui: &mut Ui,
    named: Named<'_>,
    groups: &[(&str, Vec<(&str, &str)>)],
    chosen: Option<usize>,
) -> Option<usize> {
    let (name, input) = row(ui);
    write_name(ui, name, named);
    let mut all = groups.iter().flat_map(|(_, choices)| choices);
    let text = chosen.and_then(|at| all.nth(at)).map_or("–", |(text, _)| text);
    let mut picked = None;
    ui.scope_builder(UiBuilder::new().max_rect(input), |ui| {
        let combo = ComboBox::from_id_salt(named.spoken).selected_text(text).width(input.width()).truncate();
        let combo = combo.height(LONG).close_behavior(PopupCloseBehavior::CloseOnClickOutside);
        let shown = combo.show_ui(ui, |ui| {
            picked = sought(ui, named.spoken, groups, chosen);
            if picked.is_some() {
                ui.close();
            }
        });
        spoken(ui, &shown.response, &format!("{}: {text}", named.spoken));
        shown.response.on_hover_text(named.hint);
    });
    picked.filter(|at| chosen != Some(*at))
}

/// The field that is typed into, and below it what is left; gives the place of the one that was taken.
fn sought(
    ui: &mut Ui,
    spoken: &str,
    groups: &[(&str, Vec<(&str, &str)>)],
    chosen: Option<usize>,
) -> Option<usize> {
    let id = ui.make_persistent_id((spoken, "sought"));
    let mut typed: String = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    let field = ui.add(TextEdit::singleline(&mut typed).id(id.with("field")).hint_text("Type to search"));
    // Opened anew it begins anew, and can be typed into at once.
    let pass = ui.ctx().cumulative_pass_nr();
    let last: Option<u64> = ui.data(|data| data.get_temp(id));
    if last.is_none_or(|last| last + 1 < pass) {
        typed.clear();
        field.request_focus();
    }
    let enter = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    let letters = typed.trim().to_lowercase();
    ui.data_mut(|data| {
        data.insert_temp(id, typed);
        data.insert_temp(id, pass);
    });
    let (picked, first) = left(ui, &letters, groups, chosen);
    if first.is_none() {
        ui.label("Nothing is called so.");
    }
    picked.or(first.filter(|_| enter))
}

/// What has some letters in its name or heading; gives the places of the one that was clicked and of the first.
fn left(
    ui: &mut Ui,
    letters: &str,
    groups: &[(&str, Vec<(&str, &str)>)],
    chosen: Option<usize>,
) -> (Option<usize>, Option<usize>) {
    let (mut picked, mut first, mut at) = (None, None, 0);
    for (heading, choices) in groups {
        let mut headed = false;
        for (text, hint) in choices {
            let place = at;
            at += 1;
            if !format!("{heading} {text}").to_lowercase().contains(letters) {
                continue;
            }
            if !std::mem::replace(&mut headed, true) {
                ui.label(RichText::new(*heading).font(theme::caption_strong()).color(theme::of(ui).muted));
            }
            first = first.or(Some(place));
            let item = ui.selectable_label(chosen == Some(place), *text).on_hover_text(*hint);
            if item.clicked() {
                picked = Some(place);
            }
        }
    }
    (picked, first)
}

/// A switch between a few things of which one is shown, beside each other; gives the place of another one that was chosen.
pub fn switch(ui: &mut Ui, choices: &[(&str, &str)], chosen: usize) -> Option<usize> {
    let mut picked = None;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::TIGHT;
        for (at, (text, hint)) in choices.iter().enumerate() {
            let button = ui.add(Button::selectable(at == chosen, *text)).on_hover_text(*hint);
            if button.clicked() && at != chosen {
                picked = Some(at);
            }
        }
    });
    picked
}

/// A figure that follows: its name and what it is.
pub fn figure(ui: &mut Ui, name: &str, text: &str) {
    let (_, response) = figure_at(ui, name, text);
    let said = format!("{name}: {text}");
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

/// A figure that opens how it comes about; whether that was asked for.
pub fn opening_figure(ui: &mut Ui, name: &str, text: &str) -> bool {
    let (area, response) = figure_at(ui, name, text);
    opens::figure(ui, area, response.id.with("opens"), &format!("{name}: {text}"), "").clicked()
}

fn figure_at(ui: &mut Ui, name: &str, text: &str) -> (Rect, Response) {
    let colors = theme::of(ui);
    let width = ui.available_width() - NAME;
    let galley = ui.painter().layout(text.to_owned(), theme::body(), colors.ink, width);
    let size = vec2(ui.available_width(), galley.size().y.max(18.0));
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter().text(area.left_top(), Align2::LEFT_TOP, name, theme::body(), colors.muted);
    ui.painter().galley(area.left_top() + vec2(NAME, 0.0), galley, colors.ink);
    (area, response)
}

/// A small button with a whole name of its own.
pub fn small(ui: &mut Ui, text: &str, name: &str, hint: &str, enabled: Enabled) -> bool {
    let on = enabled == Enabled::Yes;
    let response = ui.add_enabled(on, Button::new(RichText::new(text).font(theme::caption())));
    spoken(ui, &response, name);
    response.on_hover_text(hint).on_disabled_hover_text(hint).clicked()
}

/// Whether something can be pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Enabled {
    /// It can.
    Yes,
    /// It is shown, but cannot.
    No,
}

impl Enabled {
    /// Whether a condition holds.
    pub fn when(holds: impl FnOnce() -> bool) -> Self {
        if holds() { Enabled::Yes } else { Enabled::No }
    }
}

/// A numbered list of places, each with its coordinates; gives the list with one changed, added or taken out, and what
/// that is called. `fewest` stay.
pub fn corners(
    ui: &mut Ui,
    of: &str,
    corners_m: &[glam::DVec2],
    fewest: usize,
    units: Units,
) -> Option<(String, Vec<glam::DVec2>)> {
    let mut changed = None;
    let kind = Kind { unit: Unit::Metres, decimals: 1, range: obliquity_planning::limits::COORDINATE_M };
    muted(ui, "Corners, east and north of the site's origin:");
    egui::ScrollArea::vertical().id_salt(("corners", of)).max_height(236.0).show(ui, |ui| {
        for (at, corner) in corners_m.iter().enumerate() {
            let number = at + 1;
            let (line, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
            let ink = theme::of(ui).muted;
            ui.painter().text(
                line.left_center(),
                Align2::LEFT_CENTER,
                number.to_string(),
                theme::caption(),
                ink,
            );
            for (axis, name) in ["East", "North"].into_iter().enumerate() {
                let left = line.left() + 24.0 + 98.0 * axis as f32;
                let area = Rect::from_min_size(egui::pos2(left, line.top() + 1.5), vec2(92.0, ROW - 3.0));
                let spoken = format!("{name} of corner {number} of {of}");
                let named = Named { name, spoken: &spoken, hint: "Metres of the site's frame" };
                if let Some(value) = number_in(ui, area, named, kind, corner[axis], units) {
                    let mut corners_m = corners_m.to_vec();
                    corners_m[at][axis] = value;
                    changed = Some((format!("corner {number} of {of}"), corners_m));
                }
            }
            let rest = Rect::from_min_max(egui::pos2(line.left() + 24.0 + 198.0, line.top() + 1.5), line.max);
            let layout = Layout::left_to_right(Align::Center);
            ui.scope_builder(UiBuilder::new().max_rect(rest).layout(layout), |ui| {
                ui.spacing_mut().item_spacing.x = space::TIGHT;
                let name = format!("Add a corner after corner {number} of {of}");
                if small(ui, "Add", &name, "Add a corner behind this one", Enabled::Yes) {
                    changed = Some((format!("add a corner to {of}"), with_corner(corners_m, at, fewest)));
                }
                let name = format!("Remove corner {number} of {of}");
                let enabled = Enabled::when(|| corners_m.len() > fewest);
                if small(ui, "Remove", &name, "Take this corner out", enabled) {
                    let mut corners_m = corners_m.to_vec();
                    corners_m.remove(at);
                    changed = Some((format!("remove a corner of {of}"), corners_m));
                }
            });
        }
    });
    changed
}

/// The corners with one more behind a place: half-way to the next one. The last corner of a line has none; its line goes
/// on as far again as its last leg.
fn with_corner(corners_m: &[glam::DVec2], at: usize, fewest: usize) -> Vec<glam::DVec2> {
    let is_line = fewest < 3;
    let last = at + 1 == corners_m.len();
    let here = corners_m[at];
    let new = if is_line && last {
        here + (here - corners_m[at.saturating_sub(1)])
    } else {
        here.midpoint(corners_m[(at + 1) % corners_m.len()])
    };
    let mut corners_m = corners_m.to_vec();
    corners_m.insert(at + 1, new);
    corners_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    // Derived: by hand.
    #[test]
    fn a_new_corner_lies_half_way_or_goes_on() {
        let line = [DVec2::ZERO, DVec2::new(10.0, 0.0)];
        assert_eq!(with_corner(&line, 0, 2)[1], DVec2::new(5.0, 0.0));
        assert_eq!(with_corner(&line, 1, 2)[2], DVec2::new(20.0, 0.0));
        let ring = [DVec2::ZERO, DVec2::new(10.0, 0.0), DVec2::new(0.0, 8.0)];
        assert_eq!(with_corner(&ring, 2, 3)[3], DVec2::new(0.0, 4.0), "between the last and the first");
    }
}
