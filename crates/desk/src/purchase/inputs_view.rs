//! The numbers and choices that a purchase rests on, as they are edited.

use super::ask::PurchaseAsk;
use super::document::PortfolioEdit;
use super::input::{FirmPart, HoldingPart, JobPart, PortfolioInput};
use super::making::Making;
use super::model::PurchaseSheet;
use crate::form::{self, Kind, Named};
use crate::inputs::{Number, within};
use crate::theme::{self, space};
use egui::{Grid, Label, RichText, Sense, Ui, UiBuilder, vec2};
use obliquity_exchange::lever_text;
use obliquity_planning::Unit;
use obliquity_planning::limits;
use obliquity_planning::money::{FreedHours, Holding, JobPrice, JobSettings, PortfolioMember};

/// Height of a number without its name beside it.
const HEIGHT: f32 = 21.0;

/// A number without its name beside it, so wide.
pub(super) fn field(
    ui: &mut Ui,
    sheet: &PurchaseSheet,
    (input, width): (PortfolioInput, f32),
    asks: &mut Vec<PurchaseAsk>,
) {
    let Some(words) = input.words(&sheet.portfolio) else { return };
    let mut scratch = (*sheet.portfolio).clone();
    let Some(value) = input.place(&mut scratch).map(|place| *place) else { return };
    let (area, _) = ui.allocate_exact_size(vec2(width, HEIGHT), Sense::hover());
    let number = Number {
        name: &input.whole_name(&sheet.portfolio),
        hint: words.hint,
        unit: words.kind.unit,
        range: within(words.kind.range),
        value,
        decimals: words.kind.decimals,
    };
    // what stands in a place of its own takes no further cell of a grid
    let own = UiBuilder::new().id_salt(number.name).max_rect(area);
    if let Some(value) = number.put(&mut ui.new_child(own), sheet.units, area) {
        asks.push(PurchaseAsk::Edit(PortfolioEdit::Set(input, value)));
    }
}

/// A number with its name beside it; nothing where the portfolio has none.
pub(super) fn row(ui: &mut Ui, sheet: &PurchaseSheet, input: PortfolioInput, asks: &mut Vec<PurchaseAsk>) {
    let Some(words) = input.words(&sheet.portfolio) else { return };
    let mut scratch = (*sheet.portfolio).clone();
    let Some(value) = input.place(&mut scratch).map(|place| *place) else { return };
    let spoken = input.whole_name(&sheet.portfolio);
    let named = Named { name: words.name, spoken: &spoken, hint: words.hint };
    if let Some(value) = form::number(ui, named, words.kind, value, sheet.units) {
        asks.push(PurchaseAsk::Edit(PortfolioEdit::Set(input, value)));
    }
}

/// How the aircraft of the fleet in focus are had.
pub(super) fn fleet(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let at = sheet.focus;
    let Some(fleet) = sheet.portfolio.fleets.get(at) else { return };
    let names: Vec<(&str, &str)> =
        sheet.portfolio.fleets.iter().map(|fleet| (fleet.name.as_str(), "")).collect();
    let named = Named { name: "Fleet", spoken: "Fleet in focus", hint: "Whose aircraft are listed below" };
    if let Some(other) = form::choice(ui, named, &names, Some(at)) {
        asks.push(PurchaseAsk::Focus(other));
    }
    ui.add_space(space::TIGHT);
    for (place, member) in fleet.members.iter().enumerate() {
        match member {
            PortfolioMember::Aircraft { name, holding } => {
                let note = match holding {
                    Holding::Kept { .. } => "It is there, and kept.",
                    Holding::Bought { .. } => "Bought.",
                    Holding::Leased { .. } => "Leased by the year.",
                    Holding::Hired { .. } => "Hired for the days of a job.",
                    Holding::Subcontracted => "",
                };
                form::card(ui, name, note, |ui| {
                    for part in HoldingPart::ALL {
                        row(ui, sheet, PortfolioInput::Holding { fleet: at, member: place, part }, asks);
                    }
                });
            }
            PortfolioMember::Subcontractor { name, prices } => {
                form::card(ui, name, "Paid by the job, for those that are ticked.", |ui| {
                    for job in &sheet.portfolio.jobs {
                        bought_in(ui, sheet, (at, place, name), (&job.name, prices), asks);
                    }
                });
            }
        }
        ui.add_space(space::ROW);
    }
    form::muted(
        ui,
        "An aircraft that stands in several fleets in the same way costs the same in all of them.",
    );
}

/// What somebody is paid for a kind of job, or that it is not theirs.
fn bought_in(
    ui: &mut Ui,
    sheet: &PurchaseSheet,
    (fleet, member, whom): (usize, usize, &str),
    (job, prices): (&str, &[JobPrice]),
    asks: &mut Vec<PurchaseAsk>,
) {
    let known = prices.iter().position(|own| own.job == job);
    let spoken = format!("{whom}, paid for {job}");
    let named = Named { name: job, spoken: &spoken, hint: "What somebody else takes for it" };
    let kind = Kind { unit: Unit::Money, decimals: 2, range: limits::AMOUNT };
    let given = (known.map(|at| prices[at].price), 0.0, "not done by them");
    let Some(now) = form::optional_number(ui, named, kind, given, sheet.units) else { return };
    asks.push(PurchaseAsk::Edit(match (known, now) {
        (Some(price), Some(now)) => {
            PortfolioEdit::Set(PortfolioInput::BoughtIn { fleet, member, price }, now)
        }
        (_, now) => PortfolioEdit::Make(Making::PaidFor(fleet, member, job.to_owned(), now)),
    }));
}

/// What holds for every job, and what else a job takes.
pub(super) fn firm(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    form::card(ui, "Hours saved", "What they are worth decides many answers.", |ui| {
        freed(ui, sheet, asks);
        for part in FirmPart::SOLD {
            row(ui, sheet, PortfolioInput::Firm(part), asks);
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "Capacity and rates", "", |ui| {
        for part in FirmPart::ALL {
            row(ui, sheet, PortfolioInput::Firm(part), asks);
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "How jobs are flown", "", |ui| settings(ui, sheet, asks));
    ui.add_space(space::ROW);
    for (job, own) in sheet.portfolio.jobs.iter().enumerate() {
        form::card(ui, &format!("One job of {}", own.name), "", |ui| {
            for part in JobPart::ALL {
                match part {
                    JobPart::Attended => attended(ui, sheet, job, asks),
                    _ => row(ui, sheet, PortfolioInput::Job(job, part), asks),
                }
            }
        });
        ui.add_space(space::ROW);
    }
}

/// Hours at the workstation: those that processing asks for unless others are set.
fn attended(ui: &mut Ui, sheet: &PurchaseSheet, job: usize, asks: &mut Vec<PurchaseAsk>) {
    let input = PortfolioInput::Job(job, JobPart::Attended);
    let Some(words) = input.words(&sheet.portfolio) else { return };
    let spoken = input.whole_name(&sheet.portfolio);
    let named = Named { name: words.name, spoken: &spoken, hint: words.hint };
    let known = sheet.known.as_ref().and_then(|known| known.jobs.get(job));
    let left_out = known.map_or("as processed", |row| row.attended.as_str());
    let now = sheet.portfolio.jobs[job].money.attended_h;
    let begins_at = known.map_or(0.0, |row| row.attended_h);
    let given = (now, begins_at, left_out);
    if let Some(hours) = form::optional_number(ui, named, words.kind, given, sheet.units) {
        asks.push(PurchaseAsk::Edit(match hours {
            Some(hours) if now.is_some() => PortfolioEdit::Set(input, hours),
            hours => PortfolioEdit::Attended(job, hours),
        }));
    }
}

fn freed(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    const CHOICES: [(&str, &str); 3] = [
        ("not paid", "The wages are saved"),
        ("paid, sold as days", "They are paid anyway; whole days that they add up to find a buyer"),
        ("paid, not used", "They are paid anyway and nothing comes of them"),
    ];
    let freed = sheet.portfolio.firm.freed;
    let chosen = match freed {
        FreedHours::NotPaid => 0,
        FreedHours::SoldAsDays { .. } => 1,
        FreedHours::Slack => 2,
    };
    let named = Named {
        name: "They are",
        spoken: "Hours saved are",
        hint: "What becomes of the crew's hours that a quicker aircraft saves",
    };
    if let Some(other) = form::choice(ui, named, &CHOICES, Some(chosen)) {
        let freed = match other {
            0 => FreedHours::NotPaid,
            1 => FreedHours::SoldAsDays { share: 0.5, day_value: 0.0 },
            _ => FreedHours::Slack,
        };
        asks.push(PurchaseAsk::Edit(PortfolioEdit::Freed(freed)));
    }
}

fn settings(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    const CHOICES: [(JobSettings, &str, &str); 3] = [
        (
            JobSettings::EachAtItsBest,
            "each at its best",
            "At its own quickest setting that meets the requirement",
        ),
        (JobSettings::EqualGsd, "at equal GSD", "At the GSD of the job's reference strategy"),
        (JobSettings::EqualHeight, "at equal height", "At the height of the job's reference strategy"),
    ];
    let names = CHOICES.map(|(_, name, hint)| (name, hint));
    let chosen = CHOICES.iter().position(|(own, ..)| *own == sheet.portfolio.settings);
    let named = Named {
        name: "Flown",
        spoken: "Jobs are flown",
        hint: "At which settings each aircraft flies a job; another choice flies all of them anew",
    };
    if let Some(other) = form::choice(ui, named, &names, chosen) {
        asks.push(PurchaseAsk::Edit(PortfolioEdit::Settings(CHOICES[other].0)));
    }
}

/// How far numbers may lie from what is assumed.
pub(super) fn ranges(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let note = "One time in ten a number is below the first, one time in ten above the second. The draws are the same for all \
                fleets.";
    form::card(ui, "How sure the numbers are", note, |ui| {
        if sheet.portfolio.unsure.is_empty() {
            form::muted(ui, "None is named yet: every number counts as certain.");
        }
        let hint = "Numbers of jobs a quarter up and down, their prices a tenth, time on site from 0.9 to 1.3 times: common practice, \
                    to be changed";
        if ui.button("Add the usual ranges").on_hover_text(hint).clicked() {
            asks.push(PurchaseAsk::Edit(PortfolioEdit::Make(Making::UsualRanges)));
        }
        Grid::new("ranges").num_columns(3).spacing(vec2(space::ROW, space::TIGHT)).show(ui, |ui| {
            let muted = theme::of(ui).muted;
            for head in ["", "10 %", "90 %"] {
                ui.label(RichText::new(head).font(theme::caption()).color(muted));
            }
            ui.end_row();
            for (at, own) in sheet.portfolio.unsure.iter().enumerate() {
                ui.scope(|ui| {
                    ui.set_width(150.0);
                    ui.add(Label::new(lever_text(&own.lever)).wrap());
                });
                field(ui, sheet, (PortfolioInput::Low(at), 88.0), asks);
                field(ui, sheet, (PortfolioInput::High(at), 88.0), asks);
                ui.end_row();
            }
        });
    });
}
