//! The card of the structure that is chosen.

use super::ask::{GivenSite, SiteAsk, SiteState, chosen};
use super::make::{NewRectangle, kind_text, rectangle_m, with_kind, with_pier};
use crate::amendment::{Subject, flown_at};
use crate::form::{self, Enabled, Named, Rows};
use crate::theme::space;
use egui::{Response, TextEdit, Ui};
use obliquity_planning::{At, Site, Structure, StructureKind, knob, limits, polygon};

/// A pier to begin with.
const PIER_M: f64 = 1.5;

/// Every setting of the structure that is chosen.
pub fn card(ui: &mut Ui, given: &GivenSite<'_>, state: &SiteState, asks: &mut Vec<SiteAsk>) {
    let site = &given.scenario.site;
    let Some((at, structure)) = chosen(site, state) else { return };
    let name = &structure.name;
    let mut changed: Option<(Subject, Structure)> = None;
    form::card(ui, name, "", |ui| {
        if let Some(new) = name_input(ui, structure.id.0, name, &format!("Name of {name}")) {
            changed = Some((format!("name of {name}").into(), Structure { name: new, ..structure.clone() }));
        }
        let choices = [
            ("building or tank", "From the ground straight up to a flat roof"),
            ("deck", "A level slab above the ground: a bridge or a canopy, with an underside"),
        ];
        let place = choices.iter().position(|(text, _)| *text == kind_text(&structure.kind));
        let spoken = format!("Kind of {name}");
        let named = Named { name: "Kind", spoken: &spoken, hint: "What is raised on the footprint" };
        if let Some(place) = form::choice(ui, named, &choices, place) {
            changed = Some((format!("kind of {name}").into(), with_kind(structure, choices[place].0)));
        }
        let sized = heights(ui, given, structure);
        changed = changed.take().or(sized);
        let moved = form::corners(ui, name, &structure.footprint_m, 3, given.units)
            .map(|(what, footprint_m)| (what.into(), Structure { footprint_m, ..structure.clone() }));
        changed = changed.take().or(moved);
        let carried = piers(ui, given, structure).map(|(what, structure)| (what.into(), structure));
        changed = changed.take().or(carried);
        remove(ui, given, (at, structure), asks);
    });
    if let Some((what, structure)) = changed {
        let mut site: Site = (**site).clone();
        site.structures[at] = structure;
        asks.push(SiteAsk::Put { what, site: Box::new(site) });
    }
}

/// A name, given when the user has finished typing another one; `key` tells its input from others.
pub fn name_input(
    ui: &mut Ui,
    key: impl std::hash::Hash + std::fmt::Debug,
    present: &str,
    spoken: &str,
) -> Option<String> {
    let mut name = under_way(ui, &key, present);
    let line = TextEdit::singleline(&mut name).char_limit(limits::NAME_CHARS).desired_width(f32::INFINITY);
    let response = ui.add(line);
    typed(ui, &key, &response, (present, spoken), name).filter(|name| !name.is_empty())
}

/// A note of several lines, given in the same way.
pub(super) fn note_input(ui: &mut Ui, present: &str, hint: &str, spoken: &str) -> Option<String> {
    let mut note = under_way(ui, &spoken, present);
    let lines = TextEdit::multiline(&mut note).desired_rows(2).desired_width(f32::INFINITY).hint_text(hint);
    let response = ui.add(lines);
    typed(ui, &spoken, &response, (present, spoken), note)
}

fn kept_at(ui: &Ui, key: &(impl std::hash::Hash + std::fmt::Debug)) -> egui::Id {
    ui.scope_id().with(("typed name", key))
}

/// What has been typed so far, or else what is there.
fn under_way(ui: &Ui, key: &(impl std::hash::Hash + std::fmt::Debug), present: &str) -> String {
    let id = kept_at(ui, key);
    ui.data(|data| data.get_temp::<String>(id)).unwrap_or_else(|| present.to_owned())
}

/// Keeps what is being typed; gives it once that is finished, if it is another text.
fn typed(
    ui: &Ui,
    key: &(impl std::hash::Hash + std::fmt::Debug),
    response: &Response,
    (present, spoken): (&str, &str),
    text: String,
) -> Option<String> {
    let id = kept_at(ui, key);
    form::spoken(ui, response, spoken);
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, text));
        return None;
    }
    ui.data_mut(|data| data.remove::<String>(id));
    let text = text.trim().to_owned();
    (response.lost_focus() && text != present).then_some(text)
}

fn heights(ui: &mut Ui, given: &GivenSite<'_>, structure: &Structure) -> Option<(Subject, Structure)> {
    let of = format!(" of {}", structure.name);
    let rows = Rows { of: &of, ..Rows::plain(given.units) };
    let (knob, changed) = rows.group(ui, &knob::STANDING, structure)?;
    let label = format!("{}{of}", knob.name);
    Some((Subject::input(&knob, At::Structure(structure.id), label), changed))
}

/// What carries a deck.
fn piers(ui: &mut Ui, given: &GivenSite<'_>, structure: &Structure) -> Option<(String, Structure)> {
    let StructureKind::Deck { piers, .. } = &structure.kind else { return None };
    let mut changed = None;
    let name = &structure.name;
    form::muted(ui, if piers.is_empty() { "No piers: carried from outside the site" } else { "Piers:" });
    for (index, pier) in piers.iter().enumerate() {
        let number = index + 1;
        let pier_name = format!("pier {number} of {name}");
        egui::CollapsingHeader::new(format!("Pier {number}")).id_salt((structure.id.0, index)).show(
            ui,
            |ui| {
                if let Some((what, footprint_m)) =
                    form::corners(ui, &pier_name, &pier.footprint_m, 3, given.units)
                {
                    let mut structure = structure.clone();
                    if let StructureKind::Deck { piers, .. } = &mut structure.kind {
                        piers[index].footprint_m = footprint_m;
                    }
                    changed = Some((what, structure));
                }
                if form::small(
                    ui,
                    "Remove the pier",
                    &format!("Remove {pier_name}"),
                    "Take it out",
                    Enabled::Yes,
                ) {
                    let mut structure = structure.clone();
                    if let StructureKind::Deck { piers, .. } = &mut structure.kind {
                        piers.remove(index);
                    }
                    changed = Some((format!("remove {pier_name}"), structure));
                }
            },
        );
    }
    let hint = "A square pier under the middle of the deck; move its corners afterwards";
    if form::small(ui, "Add a pier", &format!("Add a pier to {name}"), hint, Enabled::Yes) {
        let middle_m = polygon::centroid_m(&structure.footprint_m);
        let square = NewRectangle { middle_m, length_m: PIER_M, width_m: PIER_M, direction_deg: 0.0 };
        changed = Some((format!("add a pier to {name}"), with_pier(structure, rectangle_m(&square))));
    }
    changed
}

fn remove(ui: &mut Ui, given: &GivenSite<'_>, (at, structure): (usize, &Structure), asks: &mut Vec<SiteAsk>) {
    let flown = flown_at(given.scenario, structure.id);
    let name = &structure.name;
    let hint = if flown.is_empty() {
        "Take it out; undo brings it back".to_owned()
    } else {
        format!("{} flies at it: change or remove those passes first", flown.join(" and "))
    };
    ui.add_space(space::TIGHT);
    let free = Enabled::when(|| flown.is_empty());
    if form::small(ui, "Remove this structure", &format!("Remove {name}"), &hint, free) {
        let mut site: Site = (*given.scenario.site).clone();
        site.structures.remove(at);
        asks.push(SiteAsk::Put { what: format!("remove {name}").into(), site: Box::new(site) });
    }
}
