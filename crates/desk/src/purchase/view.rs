//! The screen of a purchase as it is drawn: the answer on top, fleets and inputs to the left, diagrams or the working to the right.

use super::ask::PurchaseAsk;
use super::document::PortfolioEdit;
use super::model::{KnownPurchase, PurchasePanel, PurchaseProgress, PurchaseSheet, ShownRight};
use super::{inputs_view, jobs_view, making_view, working_view};
use crate::chart;
use crate::chart_files;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Enabled};
use crate::mark;
use crate::theme::{self, space};
use egui::{Align, Button, Grid, Label, Layout, RichText, ScrollArea, Ui, vec2};
use obliquity_exchange::NOT_ADVICE;
use obliquity_exchange::chart::Chart;

/// The large diagram is no lower.
const LEAST: f32 = 150.0;
/// Height of a row of the diagram below.
const SWING: f32 = 30.0;
/// Lower, the plot would leave names out or make them pale.
const LEAST_SWINGS: f32 = 168.0;
/// Height that titles and axes of a diagram take.
const AROUND: f32 = 84.0;
/// Height of a line of text below a diagram.
const LINE: f32 = 22.0;

/// Draws what is shown before a portfolio is open.
pub fn empty(ui: &mut Ui, asks: &mut Vec<PurchaseAsk>) {
    ScrollArea::vertical().id_salt("no portfolio").auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(620.0_f32.min(ui.available_width()));
        ui.label(RichText::new("Does another aircraft pay?").font(theme::headline()));
        ui.add_space(space::TIGHT);
        let what = "A portfolio holds the jobs of a year – each with its scenario, its number and its price – and the fleets that \
                    could do them: the one you have, and others to buy, lease, hire or pay for by the job. Every aircraft flies \
                    every job at its own quickest setting that meets the requirement; what is left in a year is held against \
                    keeping what you have.";
        ui.add(Label::new(what).wrap());
        ui.add_space(space::ROW);
        ui.horizontal_wrapped(|ui| {
            let fill = theme::of(ui).accent;
            let text = RichText::new("Open the example").color(theme::of(ui).on_accent);
            let hint = "An invented firm with estates, quarries and viaducts, and five fleets for them";
            if ui.add(Button::new(text).fill(fill)).on_hover_text(hint).clicked() {
                asks.push(PurchaseAsk::Example);
            }
            let hint = "Jobs, aircraft and fleets one after the other, from scenarios that you have";
            if ui.button("New purchase case").on_hover_text(hint).clicked() {
                asks.push(PurchaseAsk::Begin);
            }
            let hint = "A portfolio file (.ron); dropping it on the window does the same";
            if ui.button("Open a portfolio…").on_hover_text(hint).clicked() {
                asks.push(PurchaseAsk::Open);
            }
        });
        ui.add_space(space::ROW);
        form::muted(ui, NOT_ADVICE);
    });
}

/// Draws the screen into all of `ui`.
pub fn ui(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    answer(ui, sheet, asks);
    ui.add_space(space::ROW);
    choices::beside(ui, "purchase", |ui, part| match part {
        ChoicesPart::Head => head(ui, sheet, asks),
        ChoicesPart::Choices => {
            ui.add_space(space::TIGHT);
            match sheet.panel {
                PurchasePanel::Jobs => {
                    if let Some(known) = &sheet.known {
                        candidates(ui, sheet, known, asks);
                        ui.add_space(space::ROW);
                    }
                    jobs_view::ui(ui, sheet, asks);
                    if let Some(known) = &sheet.known {
                        ui.add_space(space::ROW);
                        form::muted(ui, &known.rests_on);
                    }
                }
                PurchasePanel::Fleet => inputs_view::fleet(ui, sheet, asks),
                PurchasePanel::Firm => inputs_view::firm(ui, sheet, asks),
                PurchasePanel::Ranges => inputs_view::ranges(ui, sheet, asks),
                PurchasePanel::Make => making_view::ui(ui, sheet, asks),
            }
        }
        ChoicesPart::Diagrams => {
            if let Some(known) = &sheet.known {
                match sheet.right {
                    ShownRight::Diagrams => diagrams(ui, known, asks),
                    ShownRight::Working => working_view::ui(ui, known),
                }
            } else if !sheet.lacks.is_empty() {
                leads(ui, sheet, asks);
            }
        }
    });
}

/// The sentence, how sure it is, and the way to its working.
fn answer(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let colors = theme::of(ui);
    if let Some(known) = &sheet.known {
        ui.horizontal_wrapped(|ui| {
            mark::put(ui, sheet.focus);
            ui.label(RichText::new(&known.fleet).font(theme::title()));
            let (text, color) = match known.verdict {
                None => ("what you have", colors.muted),
                // what costs nothing yet would be told as if it paid
                Some(_) if !sheet.at_nothing.is_empty() => ("not an answer yet", colors.muted),
                Some(_) if known.is_same => ("makes no difference", colors.muted),
                Some(true) => ("✔ pays", colors.good),
                Some(false) => ("✖ does not pay", colors.bad),
            };
            ui.label(RichText::new(text).font(theme::title()).color(color));
            if sheet.at_nothing.is_empty() {
                ui.label(RichText::new(&known.beside).color(colors.muted));
            }
            ui.add_space(space::GROUP);
            let (text, hint, other) = match sheet.right {
                ShownRight::Diagrams => {
                    ("How it comes about", "Every term of the difference", ShownRight::Working)
                }
                ShownRight::Working => {
                    ("Back to the diagrams", "In place of the working", ShownRight::Diagrams)
                }
            };
            if !known.working.is_empty() && ui.link(text).on_hover_text(hint).clicked() {
                asks.push(PurchaseAsk::Right(other));
            }
        });
        ui.add(Label::new(RichText::new(&known.sentence).font(theme::headline())).wrap());
        ui.add(Label::new(&known.told).wrap());
        form::muted(ui, NOT_ADVICE);
    } else {
        ui.label(RichText::new(&sheet.portfolio.name).font(theme::headline()));
    }
    progress(ui, sheet, asks);
    if sheet.lacks.is_empty() && sheet.portfolio.fleets.len() < 2 {
        form::colored(ui, &format!("Next: {AGAINST}, under Set up."), colors.accent);
    }
    if sheet.lacks.is_empty() && !sheet.at_nothing.is_empty() {
        let told = format!(
            "▲ Still 0, so the answer is not yet one: {}. Jobs under Set up, aircraft under Fleet, wages under Firm.",
            sheet.at_nothing.join(", ")
        );
        form::colored(ui, &told, colors.warn);
    }
    if let Some(changed) = &sheet.changed {
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(format!("▲ {}", changed.told)).color(colors.warn));
            let hint = "Notes what the scenarios hold now; saved with the portfolio";
            if form::small(ui, "Accept", "Accept the scenarios as they are", hint, Enabled::Yes) {
                asks.push(PurchaseAsk::Edit(PortfolioEdit::Accept));
            }
        });
    }
}

/// What is to be done where there is nothing to hold against what is kept.
const AGAINST: &str = "a fleet to hold against what you have";

/// What is to be done next until there is an answer.
fn leads(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    ui.label(RichText::new("What it takes to an answer").font(theme::title()));
    ui.add_space(space::TIGHT);
    let portfolio = &sheet.portfolio;
    let done = [
        (!portfolio.jobs.is_empty(), "Jobs of a year, each with its scenario, number and price"),
        (!portfolio.aircraft.is_empty(), "Aircraft: those you have and those you might have"),
        (portfolio.fleets.iter().any(|own| !own.members.is_empty()), "The fleet that you have"),
        (portfolio.fleets.len() > 1, "A fleet to hold against it: buy, lease, hire, or somebody else"),
    ];
    for (number, (is_done, text)) in (1..).zip(done) {
        let (sign, color) = if is_done { ("✔", theme::of(ui).good) } else { ("○", theme::of(ui).muted) };
        ui.horizontal(|ui| {
            ui.label(RichText::new(sign).color(color));
            ui.label(format!("{number}  {text}"));
        });
    }
    ui.add_space(space::TIGHT);
    let next = sheet.lacks.first().copied().unwrap_or(AGAINST);
    ui.add(Label::new(RichText::new(format!("Next: {next}.")).font(theme::body_strong())).wrap());
    if sheet.panel != PurchasePanel::Make && ui.button("Set it up").clicked() {
        asks.push(PurchaseAsk::Panel(PurchasePanel::Make));
    }
}

fn progress(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    let earlier = if sheet.known.is_some() { " What stands here is of earlier inputs." } else { "" };
    match &sheet.progress {
        PurchaseProgress::Known => {}
        PurchaseProgress::Failed(why) => form::colored(ui, why, theme::of(ui).bad),
        PurchaseProgress::Runs { tenths } => {
            ui.horizontal_wrapped(|ui| {
                ui.label(format!("Every aircraft flies every job, {} % …{earlier}", 10 * tenths));
                if form::small(ui, "Stop", "Stop flying the jobs", "Leave it as it is", Enabled::Yes) {
                    asks.push(PurchaseAsk::Stop);
                }
            });
        }
        PurchaseProgress::Stopped => {
            ui.horizontal_wrapped(|ui| {
                ui.label(format!("Stopped.{earlier}"));
                if form::small(ui, "Work it out", "Fly the jobs", "It was stopped", Enabled::Yes) {
                    asks.push(PurchaseAsk::Resume);
                }
            });
        }
    }
}

/// What is edited to the left, and what is shown to the right.
fn head(ui: &mut Ui, sheet: &PurchaseSheet, asks: &mut Vec<PurchaseAsk>) {
    const PANELS: [(PurchasePanel, &str, &str); 5] = [
        (PurchasePanel::Jobs, "Jobs", "The fleets, and each kind of job with each of them"),
        (
            PurchasePanel::Fleet,
            "Fleet",
            "How the aircraft of the fleet in focus are had: prices, resale, years",
        ),
        (PurchasePanel::Firm, "Firm", "Days, wages, interest, and what hours saved are worth"),
        (PurchasePanel::Ranges, "Ranges", "How far numbers may lie from what is assumed"),
        (
            PurchasePanel::Make,
            "Set up",
            "Jobs, aircraft and fleets: add, copy, remove, put in order; scenarios, what clients ask for",
        ),
    ];
    // seven of them stand in one row
    ui.spacing_mut().item_spacing.x = space::HAIR;
    ui.spacing_mut().button_padding.x -= 3.0;
    for (panel, text, hint) in PANELS {
        let button = ui.add(Button::selectable(panel == sheet.panel, text)).on_hover_text(hint);
        if button.clicked() {
            asks.push(PurchaseAsk::Panel(panel));
        }
    }
    asks.extend(chart_files::menu(ui).map(PurchaseAsk::SaveCharts));
    let hint = "The whole case as a spreadsheet's workbook (XLSX): its inputs, and formulas that follow them";
    if ui.button("Workbook…").on_hover_text(hint).clicked() {
        asks.push(PurchaseAsk::SaveWorkbook);
    }
}

/// All fleets, and which is in focus.
fn candidates(ui: &mut Ui, sheet: &PurchaseSheet, known: &KnownPurchase, asks: &mut Vec<PurchaseAsk>) {
    form::card(ui, "", "", |ui| {
        let colors = theme::of(ui);
        ui.spacing_mut().interact_size.y = 20.0;
        ui.spacing_mut().button_padding.y = 1.0;
        Grid::new("fleets").num_columns(3).spacing(vec2(space::ROW, 0.0)).show(ui, |ui| {
            let head = |ui: &mut Ui, text: &str, hint: &str| {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    let text = RichText::new(text).font(theme::caption()).color(colors.muted);
                    ui.label(text).on_hover_text(hint);
                });
            };
            ui.label(RichText::new("Fleets").font(theme::title()));
            head(ui, "more a year", "Than keeping what you have; below 0 it costs more");
            head(ui, "chance", "In how many of the draws from the ranges it pays");
            ui.end_row();
            for (fleet, own) in known.candidates.iter().enumerate() {
                ui.horizontal(|ui| {
                    ui.set_width(NAME);
                    mark::put(ui, fleet);
                    let button = Button::selectable(fleet == sheet.focus, &own.name).truncate();
                    let button = ui.add(button);
                    let said = format!("{}: {} {}", own.name, own.gain, own.pays);
                    form::spoken(ui, &button, said.trim());
                    if button.on_hover_text(&own.name).clicked() {
                        asks.push(PurchaseAsk::Focus(fleet));
                    }
                });
                let color = match own.verdict {
                    None => colors.muted,
                    Some(true) => colors.good,
                    Some(false) => colors.bad,
                };
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    ui.label(RichText::new(&own.gain).font(theme::body_strong()).color(color));
                });
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(&own.pays));
                ui.end_row();
            }
        });
        if !sheet.portfolio.unsure.is_empty() {
            form::muted(ui, "Chance: of 100 draws from the ranges, in how many it pays.");
        }
    });
}

/// Width of the fleets' names.
const NAME: f32 = 216.0;

/// A year over the number of jobs, and below it what would turn the answer.
fn diagrams(ui: &mut Ui, known: &KnownPurchase, asks: &mut Vec<PurchaseAsk>) {
    let height = ui.available_height();
    ScrollArea::vertical().id_salt("purchase diagrams").auto_shrink(false).show(ui, |ui| {
        let width = ui.available_width() - space::ROW;
        let rows = known.swings.as_ref().map_or(0, |chart| chart.up.names.len());
        let swings_height = (SWING * rows as f32).max(LEAST_SWINGS);
        let below = if rows == 0 { 0.0 } else { AROUND + swings_height };
        let under = chart::under_height(&known.yearly);
        let alone = rows > 0 && height < below + AROUND + LINE + under + LEAST;
        let shown = if alone { either(ui, known) } else { Diagram::Jobs };
        if let (Diagram::Turns, Some(swings)) = (shown, &known.swings) {
            let room = (height - AROUND - 2.0 * space::GROUP).max(LEAST_SWINGS).min(swings_height);
            turns(ui, swings, vec2(width, room));
            return;
        }
        let below = if alone { 0.0 } else { below };
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("Result of a year over the jobs of").font(theme::body_strong()));
            for (job, row) in known.jobs.iter().enumerate() {
                if ui.add(Button::selectable(job == known.job, &row.name)).clicked() {
                    asks.push(PurchaseAsk::Job(job));
                }
            }
        });
        let above = if alone { space::PAGE + space::GROUP } else { 0.0 };
        let room = height - below - AROUND - LINE - under - above;
        let large = chart::large(ui, &known.yearly, vec2(width, room.max(LEAST)));
        pointed(ui, known, &large);
        chart::under(ui, &known.yearly, &large);
        ui.add(Label::new(&known.foremost).wrap());
        form::muted(ui, "Circle: there it leaves as much as keeping, or the days of the year are full; point at it to read which.");
        let swings = known.swings.as_ref().filter(|chart| !chart.bars.is_empty() && !alone);
        if let Some(swings) = swings {
            ui.add_space(space::TIGHT);
            turns(ui, swings, vec2(width, swings_height));
        }
    });
}

/// One of the two diagrams, where a low window has no room for both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Diagram {
    Jobs,
    Turns,
}

/// Which of both is shown.
fn either(ui: &mut Ui, known: &KnownPurchase) -> Diagram {
    let id = egui::Id::unique("purchase diagram");
    let mut shown = ui.data(|data| data.get_temp(id)).unwrap_or(Diagram::Jobs);
    let title = known.swings.as_ref().map_or("", |chart| chart.title.as_str());
    let choices = [
        ("A year over the jobs", "What a year leaves, by the number of jobs"),
        ("What turns the answer", title),
    ];
    if let Some(other) = form::switch(ui, &choices, usize::from(shown == Diagram::Turns)) {
        shown = if other == 0 { Diagram::Jobs } else { Diagram::Turns };
        ui.data_mut(|data| data.insert_temp(id, shown));
    }
    shown
}

/// What would turn the answer.
fn turns(ui: &mut Ui, swings: &Chart, size: egui::Vec2) {
    ui.label(RichText::new(&swings.title).font(theme::body_strong()));
    form::muted(
        ui,
        "Grey: with a low value of the number, lower one time in ten. Coloured: with a high one, higher one time in ten.",
    );
    chart::large(ui, swings, size);
}

/// What the mark that is pointed at stands for.
fn pointed(ui: &Ui, known: &KnownPurchase, large: &chart::LargeChart) {
    large.show_focus(ui);
    let Some(at) = large.pointed.map(|at| large.place(at)) else { return };
    let marks = known.yearly.marks.iter().map(|mark| (mark.at, &mark.name));
    let numbers = known.yearly.numbers.iter().map(|number| (number.at, &number.name));
    let near = marks.chain(numbers).find(|(place, _)| large.place(*place).distance(at) < 10.0);
    if let Some((_, name)) = near {
        large.response.clone().on_hover_text_at_pointer(name);
    }
}
