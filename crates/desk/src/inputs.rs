//! One way to show and edit a number: in the unit of the screen, within its limits, with a name of its own. What is typed
//! and cannot be read stays in its place, marked, with the reason; the document is then as it was.

use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::accesskit::Invalid;
use egui::{Button, DragValue, Id, Key, Label, Popup, Rect, Response, RichText, Stroke, StrokeKind, Ui};
use obliquity_exchange::{EntryField, EntryKind, Misread};
use obliquity_planning::limits::Range;
use std::cell::RefCell;
use std::ops::RangeInclusive;

/// A number to edit.
#[derive(Debug, Clone)]
pub struct Number<'a> {
    /// Whole name, for whoever does not see where it stands: "Focal length of Dunnock".
    pub name: &'a str,
    /// What to know when pointing at it; none where nothing may pop up.
    pub hint: &'a str,
    /// What it measures.
    pub unit: Unit,
    /// Values allowed, as stored.
    pub range: RangeInclusive<f64>,
    /// The value, as stored.
    pub value: f64,
    /// Most decimals shown.
    pub decimals: usize,
}

/// The values that a range allows.
pub fn within(range: Range) -> RangeInclusive<f64> {
    range.least..=range.most
}

impl Number<'_> {
    /// Shows the number in an area; gives the value that it was changed to, as stored.
    pub fn put(&self, ui: &mut Ui, units: Units, area: Rect) -> Option<f64> {
        let field = self.field(units);
        let write = |stored: f64| field.number(stored);
        let hint = if self.hint.is_empty() {
            String::new()
        } else {
            let limits = field.limits();
            format!("{}\nF{}.", self.hint, &limits[1..])
        };
        Entry { name: self.name, hint: &hint, field: &field, value: self.value, write: &write, speed: None }
            .put(ui, area)
    }

    fn field(&self, units: Units) -> EntryField {
        let counts = matches!(self.unit, Unit::Count | Unit::Pixels | Unit::BatterySets);
        let kind = if counts && self.decimals == 0 { EntryKind::Whole } else { EntryKind::Any };
        EntryField {
            unit: self.unit,
            units,
            range: self.range.clone(),
            decimals: units.decimals(self.unit, self.decimals),
            kind,
        }
    }
}

/// A number to edit, however it is written.
pub struct Entry<'a> {
    /// Whole name, for whoever does not see where it stands.
    pub name: &'a str,
    /// What to know when pointing at it; none where nothing may pop up.
    pub hint: &'a str,
    /// What it holds.
    pub field: &'a EntryField,
    /// The value, as stored.
    pub value: f64,
    /// How a stored value is written, without its unit.
    pub write: &'a dyn Fn(f64) -> String,
    /// How much a drag of one point changes it, in the unit shown; chosen from its size when absent.
    pub speed: Option<f64>,
}

impl std::fmt::Debug for Entry<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Entry")
            .field("name", &self.name)
            .field("field", &self.field)
            .field("value", &self.value)
            .finish_non_exhaustive()
    }
}

/// What was typed and not taken.
#[derive(Debug, Clone)]
struct Refused {
    text: String,
    misread: Misread,
    /// The value that stood there, and still does.
    of: f64,
    /// Whether the reason is shown without being pointed at.
    open: bool,
}

/// What came of typing.
enum Heard {
    /// The text that stood there.
    Same,
    /// A number, as stored.
    Taken(f64),
    /// Something else.
    Refused(String, Misread),
}

/// Longest text that is shown where it was not taken.
const SHOWN_CHARS: usize = 16;

impl Entry<'_> {
    /// Shows the number in an area; gives the value that it was changed to, as stored.
    pub fn put(&self, ui: &mut Ui, area: Rect) -> Option<f64> {
        let id = ui.scope_id().with(("entry", self.name));
        let refused = ui.data(|data| data.get_temp::<Refused>(id)).filter(|refused| refused.of == self.value);
        let (response, dragged, heard) = self.widget(ui, area, refused.as_ref());
        let left = left(ui, &response, id);
        let (changed, refused) = match heard.filter(|_| !left) {
            Some(Heard::Refused(text, misread)) => {
                (None, Some(Refused { text, misread, of: self.value, open: true }))
            }
            Some(Heard::Taken(stored)) => ((stored != self.value).then_some(stored), None),
            Some(Heard::Same) => (None, None),
            None if left => (None, None),
            None => (dragged, refused.filter(|_| dragged.is_none())),
        };
        if refused.is_none() {
            ui.data_mut(|data| data.remove::<Refused>(id));
        }
        let chosen = refused.and_then(|refused| self.refuse(ui, area, &response, id, refused));
        let refused = ui.data(|data| data.get_temp::<Refused>(id));
        if refused.is_some() {
            ui.data_mut(|data| *data.get_temp_mut_or_default::<u64>(marked_so_far()) += 1);
        }
        self.tell(ui, response, refused.as_ref());
        changed.or(chosen)
    }

    /// The widget; what it was dragged to, and what was typed.
    fn widget(
        &self,
        ui: &mut Ui,
        area: Rect,
        refused: Option<&Refused>,
    ) -> (Response, Option<f64>, Option<Heard>) {
        let field = self.field;
        let [least, most, before] =
            [*field.range.start(), *field.range.end(), self.value].map(|stored| self.shown(stored));
        let mut shown = before;
        let heard = RefCell::new(None);
        let suffix = field.units.suffix(field.unit);
        let prefix = field.units.prefix(field.unit);
        let now = (self.write)(self.value);
        let hear = |text: &str| {
            let same = [now.clone(), format!("{prefix}{now}{suffix}")].iter().any(|now| now == text.trim());
            let found = if same {
                Heard::Same
            } else {
                match field.read(text) {
                    Ok(stored) => Heard::Taken(stored),
                    Err(misread) => Heard::Refused(text.to_owned(), misread),
                }
            };
            let taken = if let Heard::Taken(stored) = found { Some(self.shown(stored)) } else { None };
            *heard.borrow_mut() = Some(found);
            taken
        };
        let write = |value: f64| match refused.filter(|_| value == before) {
            Some(refused) => refused.text.clone(),
            None => (self.write)(self.stored(value)),
        };
        let (prefix, suffix) = if refused.is_some() { ("", "") } else { (prefix, suffix.as_str()) };
        let widget = DragValue::new(&mut shown)
            .range(least..=most)
            .clamp_existing_to_range(false)
            .update_while_editing(false)
            .speed(self.speed.unwrap_or_else(|| self.usual_speed(least, most, before)))
            .max_decimals(field.decimals)
            .custom_formatter(move |value, _| write(value))
            .prefix(prefix)
            .suffix(suffix)
            .custom_parser(hear);
        let style = std::sync::Arc::clone(ui.style());
        ui.spacing_mut().interact_size.y = area.height();
        ui.spacing_mut().button_padding.y = 0.0;
        let response = ui.put(area, widget);
        ui.set_style(style);
        let stored = self.stored(shown).clamp(*field.range.start(), *field.range.end());
        // What is shown alike was looked at, not changed.
        let alike = shown == before || (self.write)(stored) == now;
        (response, (!alike).then_some(stored), heard.into_inner())
    }

    /// Marks a number whose text was not taken, and says why; gives the reading that was chosen.
    fn refuse(
        &self,
        ui: &mut Ui,
        area: Rect,
        response: &Response,
        id: Id,
        mut refused: Refused,
    ) -> Option<f64> {
        let colors = theme::of(ui);
        mark(ui, area, response.id, &refused.misread);
        refused.open |= response.gained_focus();
        let exact = EntryField { decimals: 6, ..self.field.clone() };
        let mut chosen = None;
        let popup =
            Popup::from_response(response).id(id.with("why")).open_bool(&mut refused.open).width(300.0);
        popup.show(|ui| {
            ui.set_max_width(300.0);
            ui.add(Label::new(RichText::new(&refused.misread.reason).color(colors.bad)).wrap());
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = space::ROW;
                for reading in &refused.misread.readings {
                    let allowed = self.field.range.contains(reading);
                    let text = exact.text(*reading);
                    if ui.add_enabled(allowed, Button::new(format!("It is {text}"))).clicked() {
                        chosen = Some(*reading);
                    }
                }
            });
        });
        if chosen.is_some() {
            ui.data_mut(|data| data.remove::<Refused>(id));
        } else {
            ui.data_mut(|data| data.insert_temp(id, refused));
        }
        chosen
    }

    /// Names the number for those who do not see it, and says what to know when it is pointed at.
    fn tell(&self, ui: &Ui, response: Response, refused: Option<&Refused>) {
        let name = self.name.to_owned();
        // The unit behind the number would be taken for its name.
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
        if self.hint.is_empty() {
            return;
        }
        let bad = theme::of(ui).bad;
        response.on_hover_ui(|ui| {
            ui.set_max_width(320.0);
            if let Some(Refused { text, misread, .. }) = refused {
                let text: String = text.chars().take(SHOWN_CHARS).collect();
                ui.label(RichText::new(format!("{text}: {}", misread.reason)).color(bad));
            }
            let exact = EntryField { decimals: 6, ..self.field.clone() }.text(self.value);
            if refused.is_none() && exact.len() <= 14 && !exact.starts_with(&(self.write)(self.value)) {
                ui.label(format!("Now {exact}."));
            }
            ui.label(self.hint);
        });
    }

    fn shown(&self, stored: f64) -> f64 {
        self.field.units.shown(self.field.unit, stored)
    }

    fn stored(&self, shown: f64) -> f64 {
        self.field.units.stored(self.field.unit, shown)
    }

    /// A drag of a hundred points changes a number by about its half.
    fn usual_speed(&self, least: f64, most: f64, value: f64) -> f64 {
        let finest = 10_f64.powi(-i32::try_from(self.field.decimals).unwrap_or(0));
        (value.abs() / 200.0).max((most - least) / 1e5).max(finest / 10.0)
    }
}

fn marked_so_far() -> Id {
    Id::unique("numbers that are marked")
}

/// Whether numbers of a form stand marked, so that what the form is for has to wait.
#[derive(Debug, Clone, Copy)]
pub struct Marked(u64);

impl Marked {
    /// Taken before the form's numbers are drawn.
    pub fn before(ui: &Ui) -> Self {
        Marked(ui.data(|data| data.get_temp(marked_so_far())).unwrap_or(0))
    }

    /// Asked after the last of them.
    pub fn since(self, ui: &Ui) -> bool {
        Marked::before(ui).0 > self.0
    }

    /// What is said where that holds.
    pub const WHY: &'static str =
        "A number above is marked: mend it first, or press Escape in it to leave it as it was";
}

/// Marks a field whose text was not taken, for the eye and for those who do not see it.
pub(crate) fn mark(ui: &Ui, area: Rect, id: Id, misread: &Misread) {
    ui.painter().rect_stroke(area, 2.0, Stroke::new(1.5, theme::of(ui).bad), StrokeKind::Inside);
    ui.ctx().accesskit_node_builder(id, |node| {
        node.set_invalid(Invalid::True);
        node.set_description(misread.reason.clone());
    });
}

/// Whether typing was given up with Escape. The widget reads its text once more in the frame after it has lost the focus:
/// that is given up too.
fn left(ui: &Ui, response: &Response, id: Id) -> bool {
    const FRAMES: u64 = 2;
    let (id, now) = (id.with("left"), ui.ctx().cumulative_frame_nr());
    if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape)) {
        ui.data_mut(|data| data.insert_temp(id, now));
    }
    ui.data(|data| data.get_temp::<u64>(id)).is_some_and(|then| now <= then + FRAMES)
}
