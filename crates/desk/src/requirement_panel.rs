//! What the job must deliver, and how long processing takes.

use crate::amendment::{Subject, Terms};
use crate::board::Headline;
use crate::first_use::beside_or_below;
use crate::inputs::Number;
use crate::theme::{self, space};
use crate::units::Units;
use egui::{Frame, Label, Margin, Panel, Rect, RichText, ScrollArea, Sense, Ui, vec2};
use obliquity_planning::{At, Knob, KnobGroup, KnobId, Part, SurfaceClass, knob};

/// What the user asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum RequirementAsk {
    /// Other terms in place of the present ones.
    Put {
        /// What the edit is called.
        what: Subject,
        /// All of them.
        terms: Box<Terms>,
    },
}

/// What the screen shows.
#[derive(Debug)]
pub struct GivenTerms<'a> {
    /// The terms as they stand.
    pub terms: &'a Terms,
    /// Classes of surface that the site does not have.
    pub unmodelled: &'a [SurfaceClass],
    /// The board's sentence.
    pub headline: Headline<'a>,
    /// What numbers are shown in.
    pub units: Units,
}

const CARD_WIDTH: f32 = 372.0;
const NAME_WIDTH: f32 = 208.0;
const ROW: f32 = 25.0;
const NOTE: f32 = 16.0;
/// As far in as the name behind a box to tick.
const INDENT: f32 = 24.0;

/// Draws the terms into what is left of the window.
pub fn ui(ui: &mut Ui, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let page = Frame::new().fill(theme::of(ui).page);
    let edges = page.inner_margin(Margin::symmetric(16, 10));
    Panel::top("terms head").frame(edges).show_separator_line(false).show(ui, |ui| {
        given.headline.text(ui);
    });
    egui::CentralPanel::default().frame(page.inner_margin(Margin::symmetric(16, 4))).show(ui, |ui| {
        ScrollArea::vertical().id_salt("terms").auto_shrink(false).show(ui, |ui| {
            beside_or_below(ui, 3.0 * (CARD_WIDTH + space::GROUP), |ui| {
                ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    requirement(ui, &knob::DELIVERS, given, asks);
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    requirement(ui, &knob::VIEWS, given, asks);
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD_WIDTH);
                    rates(ui, given, asks);
                });
            });
        });
    });
}

fn frame(ui: &Ui) -> Frame {
    let colors = theme::of(ui);
    Frame::new()
        .fill(colors.surface)
        .stroke(egui::Stroke::new(1.0, colors.rule))
        .corner_radius(6.0)
        .inner_margin(space::GROUP)
}

fn title(ui: &mut Ui, text: &str, note: &str) {
    ui.spacing_mut().item_spacing = vec2(space::ROW, 1.0);
    ui.label(RichText::new(text).font(theme::title()));
    ui.add(Label::new(RichText::new(note).font(theme::caption()).color(theme::of(ui).muted)).wrap());
    ui.add_space(space::TIGHT);
}

fn card<T: Part>(ui: &mut Ui, group: &KnobGroup, given: &GivenTerms<'_>, part: &T, put: &mut PutPart<'_, T>) {
    frame(ui).show(ui, |ui| {
        ui.set_width(CARD_WIDTH - 2.0 * space::GROUP);
        title(ui, group.name, group.note);
        for knob in group.knobs {
            if let Some(part) = show(ui, knob, part, given.units) {
                put(Subject::input(knob, At::Scenario, knob.whole), part);
            }
            let class = SurfaceClass::ALL.into_iter().find(|class| knob.id == KnobId::coverage(*class));
            if let Some(class) = class.filter(|class| given.unmodelled.contains(class)) {
                not_judged(ui, class);
            }
        }
    });
}

/// Takes a changed part under the name of the edit.
type PutPart<'a, T> = dyn FnMut(Subject, T) + 'a;

/// Under a class's first line: nothing of it is judged, whatever is asked.
fn not_judged(ui: &mut Ui, class: SurfaceClass) {
    let (row, response) = ui.allocate_exact_size(vec2(ui.available_width(), NOTE), Sense::hover());
    let text = "not modelled: not judged";
    let muted = theme::of(ui).muted;
    ui.painter().text(
        row.left_top() + vec2(INDENT, 0.0),
        egui::Align2::LEFT_TOP,
        text,
        theme::caption(),
        muted,
    );
    let said = format!("{}: {text}", class.name());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    response.on_hover_text("The site has no such surface; draw structures to have it judged");
}

fn show<T: Part>(ui: &mut Ui, knob: &Knob, part: &T, units: Units) -> Option<T> {
    let value = knob.read(part);
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let name_at = Rect::from_min_size(row.min, vec2(NAME_WIDTH, ROW));
    let number_at = Rect::from_min_max(name_at.right_top() + vec2(0.0, 1.5), row.max - vec2(0.0, 1.5));
    let with = |value: Option<f64>| {
        let mut changed = part.clone();
        knob.put(&mut changed, value).is_ok().then_some(changed)
    };
    let mut ticked = None;
    if knob.left_out.is_some() {
        let mut asked = value.is_some();
        let layout = egui::Layout::left_to_right(egui::Align::Center);
        let area = egui::UiBuilder::new().max_rect(name_at).layout(layout);
        let name = ui.new_child(area).checkbox(&mut asked, knob.whole);
        if name.on_hover_text(knob.explanation).changed() {
            ticked = Some(asked.then(|| knob.begins_at(part)));
        }
    } else {
        let ink = theme::of(ui).ink;
        let at = name_at.left_center();
        ui.painter().text(at, egui::Align2::LEFT_CENTER, knob.whole, theme::body(), ink);
        ui.interact(name_at, ui.scope_id().with(knob.whole), Sense::hover()).on_hover_text(knob.explanation);
    }
    if let Some(ticked) = ticked {
        return with(ticked);
    }
    let Some(value) = value else {
        let muted = theme::of(ui).muted;
        let text = knob.left_out.unwrap_or_default();
        let center = egui::Align2::CENTER_CENTER;
        ui.painter().text(number_at.center(), center, text, theme::caption(), muted);
        return None;
    };
    let name = format!("{}, as a number", knob.whole);
    let (least, most) = knob.bounds(part);
    let (hint, unit, decimals) = (knob.explanation, knob.unit, knob.decimals);
    let input = Number { name: &name, hint, unit, range: least..=most, value, decimals };
    with(Some(input.put(ui, units, number_at)?))
}

/// A card of the requirement.
fn requirement(ui: &mut Ui, group: &KnobGroup, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    card(ui, group, given, &terms.requirement, &mut |what, requirement| {
        asks.push(put(what, Terms { requirement, ..terms.clone() }));
    });
}

fn put(what: Subject, terms: Terms) -> RequirementAsk {
    RequirementAsk::Put { what, terms: Box::new(terms) }
}

fn rates(ui: &mut Ui, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    frame(ui).show(ui, |ui| {
        ui.set_width(CARD_WIDTH - 2.0 * space::GROUP);
        title(ui, knob::STAGES.name, knob::STAGES.note);
        for knob in knob::STAGES.knobs {
            if let Some(rates) = show(ui, knob, &terms.rates, given.units) {
                asks.push(put(
                    Subject::input(knob, At::Scenario, knob.whole),
                    Terms { rates, ..terms.clone() },
                ));
            }
        }
        let mut fitted = terms.rates.fitted;
        let hint = "Until this is ticked, every hour shown says that it is not calibrated";
        if ui.checkbox(&mut fitted, "Calibrated on logged jobs").on_hover_text(hint).changed() {
            let mut changed = terms.clone();
            changed.rates.fitted = fitted;
            asks.push(put("fitted rates".into(), changed));
        }
    });
}
