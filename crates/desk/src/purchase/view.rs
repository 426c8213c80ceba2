//! The screen of a purchase as it is drawn: the answer on top, fleets and inputs to the left, diagrams or the working to the right.

use super::ask::PurchaseAsk;
use super::document::PortfolioEdit;
use super::model::{KnownPurchase, PurchasePanel, PurchaseProgress, PurchaseSheet, ShownRight};
use super::{inputs_view, jobs_view, working_view};
use crate::chart;
use crate::chart_files;
use crate::choices::{self, ChoicesPart};
use crate::form::{self, Enabled};
use crate::mark;
use crate::theme::{self, space};
use egui::{Align, Button, Grid, Label, Layout, RichText, ScrollArea, Ui, vec2};
use obliquity_exchange::NOT_ADVICE;

/// The large diagram is no lower.
const LEAST: f32 = 150.0;
/// Height of a row of the diagram below.
const SWING: f32 = 30.0;
/// Lower, the plot would leave names out or make them pale.
const LEAST_SWINGS: f32 = 168.0;
/// Height that titles and axes of a diagram take.
const AROUND: f32 = 84.0;

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
            }
        }
        ChoicesPart::Diagrams => {
            if let Some(known) = &sheet.known {
                match sheet.right {
                    ShownRight::Diagrams => diagrams(ui, known, asks),
                    ShownRight::Working => working_view::ui(ui, known),
                }
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
                Some(true) => ("✔ pays", colors.good),
                Some(false) => ("✖ does not pay", colors.bad),
            };
            ui.label(RichText::new(text).font(theme::title()).color(color));
            ui.label(RichText::new(&known.beside).color(colors.muted));
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
    const PANELS: [(PurchasePanel, &str, &str); 4] = [
        (PurchasePanel::Jobs, "Jobs", "The fleets, and each kind of job with each of them"),
        (
            PurchasePanel::Fleet,
            "Fleet",
            "How the aircraft of the fleet in focus are had: prices, resale, years",
        ),
        (PurchasePanel::Firm, "Firm", "Days, wages, interest, and what hours saved are worth"),
        (PurchasePanel::Ranges, "Ranges", "How far numbers may lie from what is assumed"),
    ];
    ui.spacing_mut().item_spacing.x = space::TIGHT;
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
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("Result of a year over the jobs of").font(theme::body_strong()));
            for (job, row) in known.jobs.iter().enumerate() {
                if ui.add(Button::selectable(job == known.job, &row.name)).clicked() {
                    asks.push(PurchaseAsk::Job(job));
                }
            }
        });
        let room = height - below - AROUND - chart::under_height(&known.yearly);
        let large = chart::large(ui, &known.yearly, vec2(width, room.max(LEAST)));
        pointed(ui, known, &large);
        chart::under(ui, &known.yearly, &large);
        form::muted(ui, "Circles: as good as keeping, or the days of the year full.");
        let Some(swings) = known.swings.as_ref().filter(|chart| !chart.bars.is_empty()) else { return };
        ui.add_space(space::TIGHT);
        ui.label(RichText::new(&swings.title).font(theme::body_strong()));
        chart::large(ui, swings, vec2(width, swings_height));
        let note =
            "Grey: the number so low that it is lower one time in ten; coloured: so high that it is higher one time in ten.";
        form::muted(ui, note);
    });
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
