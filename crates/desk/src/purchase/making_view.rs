//! What a portfolio lists, as it is made: kinds of job, aircraft, fleets.

use super::ask::PurchaseAsk;
use super::document::PortfolioEdit;
use super::input::{JobPart, PortfolioInput, WearPart};
use super::inputs_view::{field, row};
use super::making::{BesideOrInstead, Listed, Making, Way};
use super::model::{OnOffer, PurchaseSheet};
use crate::form::{self, Enabled, Named};
use crate::mark;
use crate::theme::{self, space};
use egui::{Align, Layout, RichText, TextEdit, Ui, vec2};
use obliquity_planning::limits::NAME_CHARS;
use obliquity_planning::money::PortfolioMember;

/// Draws all of it.
pub(super) fn ui(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let portfolio = &sheet.portfolio;
    form::card(ui, "", "", |ui| {
        let named = Named { name: "Name", spoken: "Name of the case", hint: "" };
        let name = text(ui, named, &portfolio.name).filter(|name| is_name(name));
        asks.extend(name.map(|name| make(Making::CaseName(name))));
        let hint = "What amounts are in; nothing is converted";
        let named = Named { name: "Currency", spoken: "Currency", hint };
        let name = text(ui, named, &portfolio.firm.currency).filter(|name| is_name(name));
        asks.extend(name.map(|name| make(Making::Currency(name))));
    });
    ui.add_space(space::ROW);
    jobs(ui, sheet, asks);
    ui.add_space(space::ROW);
    aircraft(ui, sheet, asks);
    ui.add_space(space::ROW);
    fleets(ui, sheet, asks);
}

fn make(making: Making) -> PurchaseAsk {
    PurchaseAsk::Edit(PortfolioEdit::Make(making))
}

/// A text that is typed over, and taken once it is left or Enter is pressed; Escape leaves it as it was.
fn typed(
    ui: &mut Ui,
    (spoken, now): (&str, &str),
    put: impl FnOnce(&mut Ui, &mut String) -> egui::Response,
) -> Option<String> {
    let id = ui.make_persistent_id(("typed", spoken));
    let mut draft: String = ui.data(|data| data.get_temp(id)).unwrap_or_else(|| now.to_owned());
    let response = put(ui, &mut draft);
    form::spoken(ui, &response, spoken);
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, draft));
        return None;
    }
    ui.data_mut(|data| data.remove::<String>(id));
    let is_taken = response.lost_focus() && !ui.input(|input| input.key_pressed(egui::Key::Escape));
    (is_taken && draft != now).then_some(draft)
}

/// A text with its name beside it; gives what it was changed to.
fn text(ui: &mut Ui, named: Named<'_>, now: &str) -> Option<String> {
    let area = form::place(ui, named);
    typed(ui, (named.spoken, now), |ui, draft| {
        ui.put(area, TextEdit::singleline(draft).char_limit(NAME_CHARS))
    })
}

/// A name is never blank.
fn is_name(name: &str) -> bool {
    !name.trim().is_empty()
}

/// A name that can be typed over, with buttons for its place in a list behind it.
fn head(ui: &mut Ui, sheet: &PurchaseSheet, (of, last): (Listed, usize), asks: &mut Vec<PurchaseAsk>) {
    const BUTTONS: f32 = 132.0;
    let (name, at) = (
        of.name(&sheet.portfolio),
        match of {
            Listed::Job(at) | Listed::Aircraft(at) | Listed::Fleet(at) | Listed::Member(_, at) => at,
        },
    );
    let may_copy = matches!(of, Listed::Job(_) | Listed::Fleet(_));
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::TIGHT;
        if let Listed::Fleet(at) = of {
            mark::put(ui, at);
        }
        let width = ui.available_width() - BUTTONS;
        if matches!(of, Listed::Aircraft(_)) {
            ui.allocate_ui_with_layout(vec2(width, 22.0), Layout::left_to_right(Align::Center), |ui| {
                ui.set_width(width);
                ui.add(egui::Label::new(RichText::new(&name).font(theme::body_strong())).truncate());
            });
        } else {
            let spoken = format!("Name of {name}");
            let other = typed(ui, (&spoken, &name), |ui, draft| {
                let edit = TextEdit::singleline(draft).char_limit(NAME_CHARS).desired_width(width - 12.0);
                ui.add(edit.font(theme::body_strong()))
            });
            if let Some(other) = other.filter(|name| is_name(name)) {
                asks.push(make(Making::Name(of, other)));
            }
        }
        let move_up = Enabled::when(|| at > 0);
        if form::small(ui, "▲", &format!("Move {name} up"), "One place up", move_up) {
            asks.push(make(Making::Up(of)));
        }
        let move_down = Enabled::when(|| at + 1 < last);
        if form::small(ui, "▼", &format!("Move {name} down"), "One place down", move_down) {
            asks.push(make(Making::Down(of)));
        }
        if may_copy && form::small(ui, "Copy", &format!("Copy {name}"), "One more of the same", Enabled::Yes)
        {
            asks.push(make(Making::Copy(of)));
        }
        if form::small(ui, "×", &format!("Remove {name}"), "Take it out; undo brings it back", Enabled::Yes)
        {
            asks.push(make(Making::Remove(of)));
        }
    });
}

/// Words that are listed with commas between them.
fn tags(ui: &mut Ui, named: Named<'_>, now: &[String]) -> Option<Vec<String>> {
    let typed = text(ui, named, &now.join(", "))?;
    let listed = typed.split(',').map(str::trim).filter(|word| !word.is_empty()).map(str::to_owned);
    let listed: Vec<String> = listed.collect();
    (listed != now).then_some(listed)
}

fn jobs(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let portfolio = &sheet.portfolio;
    let note =
        "Each is a scenario with its site, requirement and strategies, so many times a year at a price.";
    form::card(ui, "1  Jobs of a year", note, |ui| {
        for (job, own) in portfolio.jobs.iter().enumerate() {
            ui.separator();
            head(ui, sheet, (Listed::Job(job), portfolio.jobs.len()), asks);
            ui.horizontal(|ui| {
                field(ui, sheet, (PortfolioInput::Job(job, JobPart::Count), 64.0), asks);
                ui.label("a year at");
                field(ui, sheet, (PortfolioInput::Job(job, JobPart::Price), 96.0), asks);
                ui.label(&portfolio.firm.currency);
            });
            let area = form::place(
                ui,
                Named {
                    name: "Scenario",
                    spoken: "Scenario",
                    hint: "Site, requirement, conditions and the strategies that aircraft choose from",
                },
            );
            let short = crate::files::short_name(std::path::Path::new(&own.scenario));
            let button = ui.put(area, egui::Button::new(format!("{short}…")).truncate());
            form::spoken(ui, &button, &format!("Scenario of {}: {}", own.name, own.scenario));
            if button.on_hover_text(format!("{}\nClick to choose another file", own.scenario)).clicked() {
                asks.push(PurchaseAsk::ChooseScenario(Some(job)));
            }
            let hint = "What the client asks of an aircraft beside figures, with commas between; an aircraft without it is closed";
            let spoken = format!("What the client of {} asks for", own.name);
            let named = Named { name: "Client asks for", spoken: &spoken, hint };
            if let Some(tags) = tags(ui, named, &own.asks) {
                asks.push(make(Making::Asks(job, tags)));
            }
        }
        ui.separator();
        ui.horizontal_wrapped(|ui| {
            let hint = "A scenario file (.ron): its price and road are taken over where it has them";
            if ui.button("Add a job from a file…").on_hover_text(hint).clicked() {
                asks.push(PurchaseAsk::ChooseScenario(None));
            }
            let (enabled, hint) = match &sheet.open_scenario {
                Ok(name) => (true, format!("{name}, the scenario that is open on the board")),
                Err(why) => (false, why.clone()),
            };
            let button = ui.add_enabled(enabled, egui::Button::new("Add the open scenario"));
            if button.on_hover_text(&hint).on_disabled_hover_text(&hint).clicked() {
                asks.push(PurchaseAsk::AddOpenScenario);
            }
        });
    });
}

fn aircraft(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let portfolio = &sheet.portfolio;
    let note = "Yours, and those that you might have. Wear of their batteries is charged to each job.";
    form::card(ui, "2  Aircraft", note, |ui| {
        for (at, own) in portfolio.aircraft.iter().enumerate() {
            ui.separator();
            head(ui, sheet, (Listed::Aircraft(at), portfolio.aircraft.len()), asks);
            for part in WearPart::ALL {
                row(ui, sheet, PortfolioInput::Wear(at, part), asks);
            }
            let hint = "What it has of what clients ask, with commas between";
            let spoken = format!("What {} has", own.aircraft.name);
            let named = Named { name: "Has", spoken: &spoken, hint };
            if let Some(tags) = tags(ui, named, &own.has) {
                asks.push(make(Making::Has(at, tags)));
            }
        }
        ui.separator();
        let groups: Vec<(&str, Vec<(&str, &str)>)> = sheet
            .on_offer
            .iter()
            .map(|OnOffer { from, aircraft }| {
                (from.as_str(), aircraft.iter().map(|own| (own.name.as_str(), "")).collect())
            })
            .collect();
        let hint = "Of the scenarios of the jobs, of the one on the board, of your library and of the built-in catalogue";
        let named = Named { name: "Add an aircraft", spoken: "Add an aircraft", hint };
        if let Some(chosen) = form::long_choice(ui, named, &groups, None) {
            let all = sheet.on_offer.iter().flat_map(|own| &own.aircraft);
            if let Some(aircraft) = all.into_iter().nth(chosen) {
                asks.push(make(Making::AddAircraft(Box::new(aircraft.clone()))));
            }
        }
    });
}

fn fleets(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let portfolio = &sheet.portfolio;
    let names: Vec<&str> = portfolio.aircraft.iter().map(|own| own.aircraft.name.as_str()).collect();
    let note = "The first is what you keep if you change nothing; the others are held against it. What they cost stands under Fleet.";
    form::card(ui, "3  Fleets", note, |ui| {
        for (at, fleet) in portfolio.fleets.iter().enumerate() {
            ui.separator();
            head(ui, sheet, (Listed::Fleet(at), portfolio.fleets.len()), asks);
            for (place, member) in fleet.members.iter().enumerate() {
                members_row(ui, sheet, (at, place, member), asks);
            }
            let choices: Vec<(&str, &str)> = names.iter().map(|name| (*name, "")).collect();
            let spoken = format!("One more aircraft in {}", fleet.name);
            let named = Named { name: "And", spoken: &spoken, hint: "One more aircraft of this fleet" };
            if !choices.is_empty()
                && let Some(chosen) = form::choice(ui, named, &choices, None)
            {
                let way = if at == 0 { Way::Keep } else { Way::Buy };
                asks.push(make(Making::AddMember(at, names[chosen].to_owned(), way)));
            }
        }
        ui.separator();
        if names.is_empty() {
            form::muted(ui, "Add an aircraft first.");
        } else if portfolio.fleets.is_empty() {
            form::muted(ui, "What you have now:");
            for name in &names {
                if ui.button(format!("Keep {name}")).clicked() {
                    asks.push(make(Making::KeepFleet((*name).to_owned())));
                }
            }
        } else {
            another(ui, &names, asks);
        }
    });
}

/// An aircraft of a fleet and how it is had, or somebody who is paid for jobs.
fn members_row(
    ui: &mut Ui,
    sheet: &PurchaseSheet,
    (fleet, place, member): (usize, usize, &PortfolioMember),
    asks: &mut Vec<PurchaseAsk>,
) {
    let of = Listed::Member(fleet, place);
    let name = of.name(&sheet.portfolio);
    let in_fleet = &sheet.portfolio.fleets[fleet].name;
    let spoken = format!("{name} in {in_fleet}");
    let area = form::place(ui, Named { name: &name, spoken: &spoken, hint: "How it is had" });
    ui.scope_builder(
        egui::UiBuilder::new().max_rect(area).layout(Layout::right_to_left(Align::Center)),
        |ui| {
            let hint = "Take it out of this fleet; undo brings it back";
            if form::small(ui, "×", &format!("Take {spoken} out"), hint, Enabled::Yes) {
                asks.push(make(Making::Remove(of)));
            }
            match member {
                PortfolioMember::Subcontractor { .. } => {
                    ui.label(RichText::new("paid by the job").color(theme::of(ui).muted));
                }
                PortfolioMember::Aircraft { holding, .. } => {
                    let now = Way::of(holding);
                    let combo = egui::ComboBox::from_id_salt(&spoken).selected_text(now.name());
                    let shown = combo.width(ui.available_width()).show_ui(ui, |ui| {
                        for way in Way::ALL {
                            if ui.selectable_label(way == now, way.name()).clicked() && way != now {
                                asks.push(make(Making::Hold(fleet, place, way)));
                            }
                        }
                    });
                    form::spoken(ui, &shown.response, &format!("{spoken}: {}", now.name()));
                }
            }
        },
    );
}

/// A fleet to hold against what is there, in one line for each aircraft.
fn another(ui: &mut Ui, names: &[&str], asks: &mut Vec<PurchaseAsk>) {
    const WAYS: [(Way, &str); 3] = [(Way::Buy, "Buy"), (Way::Lease, "Lease"), (Way::Hire, "Hire")];
    form::muted(ui, "Hold another fleet against it: with one more aircraft, or with it in place of yours.");
    for name in names {
        for (place, text) in
            [(BesideOrInstead::Beside, "beside yours"), (BesideOrInstead::Instead, "instead")]
        {
            ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.x = space::TIGHT;
                for (way, verb) in WAYS {
                    let said = format!("{verb} {name} {text}");
                    if form::small(ui, verb, &said, &said, Enabled::Yes) {
                        asks.push(make(Making::Candidate((*name).to_owned(), way, place)));
                    }
                }
                ui.label(format!("{name} {text}"));
            });
        }
    }
    let hint = "What you have, and somebody who is paid by the job for kinds that you name under Fleet";
    if ui.button("Let somebody else do jobs").on_hover_text(hint).clicked() {
        asks.push(make(Making::Subcontract));
    }
}
