//! What the job must deliver, how long processing takes, and what the job brings and takes in money.

use crate::amendment::{Subject, Terms};
use crate::board::Headline;
use crate::first_use::beside_or_below;
use crate::form::{self, CARD, NameBeside, Named, Rows};
use crate::theme::{self, space};
use crate::units::Units;
use egui::{Frame, Margin, Panel, ScrollArea, Sense, TextEdit, Ui, vec2};
use obliquity_planning::limits::NAME_CHARS;
use obliquity_planning::{
    Accuracy, AccuracyLevel, At, Job, KnobGroup, KnobId, Part, RateStanding, Rates, Requirement,
    SurfaceClass, knob,
};

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
            let is_wide = ui.available_width() >= 4.0 * (CARD + space::GROUP);
            beside_or_below(ui, 3.0 * (CARD + space::GROUP), |ui| {
                ui.spacing_mut().item_spacing = vec2(space::GROUP, space::GROUP);
                ui.vertical(|ui| {
                    ui.set_width(CARD);
                    requirement(ui, &knob::DELIVERS, given, asks);
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD);
                    accuracy(ui, given, asks);
                    requirement(ui, &knob::VIEWS, given, asks);
                    if !is_wide {
                        job(ui, given, asks);
                    }
                });
                ui.vertical(|ui| {
                    ui.set_width(CARD);
                    rates(ui, given, asks);
                });
                if is_wide {
                    ui.vertical(|ui| {
                        ui.set_width(CARD);
                        job(ui, given, asks);
                    });
                }
            });
        });
    });
}

fn card<T: Part>(ui: &mut Ui, group: &KnobGroup, given: &GivenTerms<'_>, part: &T, put: &mut PutPart<'_, T>) {
    form::card(ui, group.name, group.note, |ui| {
        for knob in group.knobs {
            if let Some(part) = rows(given).knob(ui, knob, part) {
                put(Subject::input(knob, At::Scenario, knob.whole), part);
            }
            let class = SurfaceClass::ALL.into_iter().find(|class| knob.id == KnobId::coverage(*class));
            if let Some(class) = class.filter(|class| given.unmodelled.contains(class)) {
                not_judged(ui, class);
            }
        }
    });
}

fn rows<'a>(given: &GivenTerms<'_>) -> Rows<'a> {
    Rows { beside: NameBeside::WholeName, ..Rows::plain(given.units) }
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

/// A card of the requirement.
fn requirement(ui: &mut Ui, group: &KnobGroup, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    card(ui, group, given, &terms.requirement, &mut |what, requirement| {
        asks.push(put(what, Terms { requirement, ..terms.clone() }));
    });
}

/// How far measured points may be off.
fn accuracy(ui: &mut Ui, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    form::card(ui, knob::ACCURACY.name, knob::ACCURACY.note, |ui| {
        let requirement =
            level(ui, &terms.requirement).map(|requirement| ("level of accuracy".into(), requirement));
        let number = Rows::plain(given.units).group(ui, &knob::ACCURACY, &terms.requirement);
        let number = number.map(|(knob, to)| (Subject::input(&knob, At::Scenario, knob.whole), to));
        if let Some((what, requirement)) = requirement.or(number) {
            asks.push(put(what, Terms { requirement, ..terms.clone() }));
        }
    });
}

/// What the limits of accuracy are of.
fn level(ui: &mut Ui, requirement: &Requirement) -> Option<Requirement> {
    const CHOICES: [(&str, &str); 3] = [
        ("1σ", "One standard deviation: of east and of north each, and of the height"),
        ("RMSE", "Root mean square error: of the horizontal distance, and of the height"),
        ("95 %", "What 95 % of the errors stay below: of the horizontal distance, and of the height"),
    ];
    let chosen = AccuracyLevel::ALL.iter().position(|level| *level == requirement.accuracy.level);
    let hint =
        "What the limits below are of; they are converted for normal errors that are alike in east and north";
    let named = Named { name: "Level", spoken: "Level of accuracy", hint };
    let picked = form::choice(ui, named, &CHOICES, chosen)?;
    let accuracy = Accuracy { level: AccuracyLevel::ALL[picked], ..requirement.accuracy };
    Some(Requirement { accuracy, ..requirement.clone() })
}

/// What the job brings and takes in money.
fn job(ui: &mut Ui, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    form::card(ui, knob::JOB.name, knob::JOB.note, |ui| {
        let mut name = terms.job.currency.clone();
        let hint = "What amounts are in, by its name; nothing is converted";
        let named = Named { name: "Currency", spoken: "Currency", hint };
        let area = form::place(ui, named);
        let field =
            ui.put(area, TextEdit::singleline(&mut name).hint_text("its name").char_limit(NAME_CHARS));
        form::spoken(ui, &field, named.spoken);
        if field.on_hover_text(hint).changed() {
            let currency = name.trim_start().to_owned();
            let job = Job { currency, ..terms.job.clone() };
            asks.push(put("currency".into(), Terms { job, ..terms.clone() }));
        }
        if let Some((knob, job)) = rows(given).group(ui, &knob::JOB, &terms.job) {
            asks.push(put(Subject::input(&knob, At::Scenario, knob.whole), Terms { job, ..terms.clone() }));
        }
    });
}

fn put(what: Subject, terms: Terms) -> RequirementAsk {
    RequirementAsk::Put { what, terms: Box::new(terms) }
}

/// What the rates rest on; gives other ones, with what the edit is called.
fn calibration(ui: &mut Ui, rates: &Rates) -> Option<(&'static str, Rates)> {
    let Some(own) = rates.calibration else {
        let mut fitted = rates.fitted;
        let hint = "Until this is ticked, or a logbook is fitted on the screen Logs, every hour shown says that it is not calibrated";
        let ticked = ui.checkbox(&mut fitted, "Calibrated on logged jobs").on_hover_text(hint).changed();
        return ticked.then(|| ("calibrated rates", Rates { fitted, ..rates.clone() }));
    };
    let is_changed = matches!(rates.standing(), RateStanding::ChangedSince(_));
    let since =
        if is_changed { "; changed by hand since, so hours say that they are not calibrated" } else { "" };
    form::muted(ui, &format!("Calibrated on {}, {}{since}", own.rests_on(), own.by.told()));
    ui.horizontal(|ui| {
        let back = is_changed && ui.button("Back to the calibrated rates").clicked();
        let forget = ui
            .button("Forget calibration")
            .on_hover_text("The rates stay; hours say that they are not calibrated");
        if back {
            return Some(("back to calibrated rates", Rates { stages: own.stages, ..rates.clone() }));
        }
        let forgotten = || Rates { fitted: false, calibration: None, ..rates.clone() };
        forget.clicked().then(|| ("forget calibration", forgotten()))
    })
    .inner
}

fn rates(ui: &mut Ui, given: &GivenTerms<'_>, asks: &mut Vec<RequirementAsk>) {
    let terms = given.terms;
    form::card(ui, knob::STAGES.name, knob::STAGES.note, |ui| {
        if let Some((knob, rates)) = rows(given).group(ui, &knob::STAGES, &terms.rates) {
            asks.push(put(Subject::input(&knob, At::Scenario, knob.whole), Terms { rates, ..terms.clone() }));
        }
        if let Some((what, rates)) = calibration(ui, &terms.rates) {
            asks.push(put(what.into(), Terms { rates, ..terms.clone() }));
        }
    });
    form::card(ui, knob::ATTENDED.name, knob::ATTENDED.note, |ui| {
        if let Some((knob, rates)) = rows(given).group(ui, &knob::ATTENDED, &terms.rates) {
            asks.push(put(Subject::input(&knob, At::Scenario, knob.whole), Terms { rates, ..terms.clone() }));
        }
    });
}
