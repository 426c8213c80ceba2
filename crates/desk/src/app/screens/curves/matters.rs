//! What matters: every input of a strategy alone, a step lower and a step higher.

use super::CurvesAsk;
use crate::app::App;
use crate::app::requests::found;
use crate::engine::Failure;
use crate::form::{self, Enabled, Named};
use crate::jobs::{Key, Lane, Same};
use crate::theme::{self, space};
use crate::{chart, mark, tsv};
use egui::{Label, RichText, ScrollArea, Ui, vec2};
use obliquity_exchange::Slots;
use obliquity_exchange::chart::{Chart, nudge_charts, nudge_text};
use obliquity_planning::what_if::{NudgeGap, NudgeSide, Nudged, Tried, nudge_gaps};
use obliquity_planning::wording::{listed, within};
use obliquity_planning::{Depth, Id, Measure, MeasureId, Scenario, Units, measure, swept_measures};

/// Height of a bar's row, and of what else there is of a diagram.
const BAR: f32 = 30.0;
const AROUND: f32 = 92.0;

/// Every input of one strategy, nudged.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Matters {
    from: Same<Scenario>,
    strategy: Id,
    depth: Depth,
}

/// The strategy as it stands, and with each input nudged.
type Found = (Tried, Vec<Nudged>);

impl Key for Matters {
    type Reply = Result<Found, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 6;
}

/// What is shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MatterSheet {
    slot: usize,
    strategy: String,
    figure: MeasureId,
    /// What is chosen, and what happens to one; nothing until it is known.
    charts: Vec<Chart>,
    /// What has no bar, and why.
    notes: Vec<String>,
    /// How far it is; nothing once it is done.
    working: Option<String>,
    /// Why there is nothing.
    failure: Option<String>,
    stopped: Enabled,
}

impl App {
    fn matters(&self) -> Option<Matters> {
        let scenario = self.document.scenario();
        let depth = measure(self.curves.figure).depth;
        Some(Matters { from: Same::of(scenario), strategy: self.focus()?, depth })
    }

    /// Has it worked out beside the window, unless it was stopped.
    pub(super) fn follow_matters(&mut self) {
        let Some(key) = self.matters() else { return };
        self.jobs.cancel(|own: &Matters| *own != key);
        if self.curves.stopped.as_ref() == Some(&key) {
            return;
        }
        let (engine, Same(scenario)) = (self.curves.engine.clone(), key.from.clone());
        let Matters { strategy, depth, .. } = key;
        self.jobs.request(key, move |watch| {
            let now = engine.evaluate(&scenario, strategy, depth, watch)?;
            Ok((Tried::of(&now), engine.nudges(&scenario, strategy, depth, watch)?))
        });
    }

    pub(super) fn stop_matters(&mut self) {
        self.jobs.cancel(|_: &Matters| true);
        self.curves.stopped = self.matters();
    }

    fn found_matters(&self) -> Option<Result<&Found, &str>> {
        self.jobs.known(&self.matters()?).map(found)
    }

    pub(super) fn matter_charts(&self) -> Vec<Chart> {
        let Some(Ok((now, nudged))) = self.found_matters() else { return Vec::new() };
        let figure = self.curves.figure;
        let Some(now) = now.figure(figure) else { return Vec::new() };
        nudge_charts(nudged, figure, now, self.home.units()).into()
    }

    fn matter_sheet(&self) -> Option<MatterSheet> {
        let (key, scenario, units) = (self.matters()?, self.document.scenario(), self.home.units());
        let strategy = scenario.strategy(key.strategy)?;
        let row = measure(self.curves.figure);
        let (mut notes, mut failure, mut working) = (Vec::new(), None, None);
        match self.found_matters() {
            None => {
                let done = self.jobs.progress::<Matters>().map_or(0, |progress| progress.tenths);
                working = Some(format!("Working out each input: {} %", 10 * done));
            }
            Some(Err(why)) => failure = Some(why.to_owned()),
            Some(Ok((now, _))) if !now.is_flown() => {
                failure = Some(format!("Cannot be flown as set: {}.", now.reasons.join("; ")));
            }
            Some(Ok((now, nudged))) => match now.figure(row.id) {
                None => failure = Some(format!("{} is not known of this strategy.", row.name)),
                Some(now) => notes = told_notes(nudged, (row.id, now), (scenario, key.strategy), units),
            },
        }
        Some(MatterSheet {
            slot: Slots::of(scenario).slot(strategy.id),
            strategy: strategy.name.clone(),
            figure: row.id,
            charts: self.matter_charts(),
            notes,
            working,
            failure,
            stopped: Enabled::when(|| self.curves.stopped.as_ref() == Some(&key)),
        })
    }

    /// Every step of every input, as a table.
    pub(super) fn matter_table(&self) -> Option<String> {
        let (Ok((now, nudged)), units) = (self.found_matters()?, self.home.units()) else { return None };
        let row = measure(self.curves.figure);
        let now = now.figure(row.id)?;
        let mut text = tsv::line(["", "input", "now", "step", row.name, "what it does"]);
        text += &tsv::line(["now", "", "", "", &units.text(row.unit, now), ""]);
        for one in nudged {
            let (knob, side) = (one.dial.knob(), side_name(one.side));
            for (value, tried) in [&one.lower, &one.higher].into_iter().flatten() {
                let figure = tried.figure(row.id);
                text += &tsv::line([
                    side,
                    knob.whole,
                    &units.text(knob.unit, one.present),
                    &units.text(knob.unit, *value),
                    &figure.map(|figure| units.text(row.unit, figure)).unwrap_or_default(),
                    &nudge_text(one, *value, tried, (row, now), units),
                ]);
            }
        }
        Some(text)
    }

    /// The choices of this aspect.
    pub(super) fn matter_choices(&self, ui: &mut Ui, asks: &mut Vec<CurvesAsk>) {
        let Some(sheet) = self.matter_sheet() else { return };
        form::card(ui, "What matters", "Each input alone: a step lower (grey) and a step higher.", |ui| {
            ui.horizontal(|ui| {
                mark::put(ui, sheet.slot);
                ui.add(Label::new(RichText::new(&sheet.strategy).font(theme::body_strong())).truncate());
            });
            let rows: Vec<&Measure> = swept_measures().collect();
            let figures: Vec<(&str, &str)> = rows.iter().map(|row| (row.name, row.explanation)).collect();
            let chosen = rows.iter().position(|row| row.id == sheet.figure);
            let named =
                Named { name: "Show", spoken: "Figure shown", hint: "The figure that the bars are of" };
            if let Some(at) = form::choice(ui, named, &figures, chosen) {
                asks.push(CurvesAsk::Figure(rows[at].id));
            }
        });
        ui.add_space(space::ROW);
        for note in &sheet.notes {
            form::muted(ui, note);
        }
    }

    /// Both diagrams, below each other, on one scale.
    pub(super) fn matter_diagrams(&self, ui: &mut Ui, asks: &mut Vec<CurvesAsk>) {
        let Some(sheet) = self.matter_sheet() else {
            ui.label("There is no strategy to show.");
            return;
        };
        if let Some(why) = &sheet.failure {
            form::muted(ui, why);
        }
        if let Some(working) = &sheet.working {
            ui.horizontal(|ui| progress(ui, working, sheet.stopped, asks));
        }
        let rows: usize = sheet.charts.iter().map(|chart| chart.up.names.len().max(1)).sum();
        let around = AROUND * sheet.charts.len() as f32;
        let each = ((ui.available_height() - around) / rows.max(1) as f32).clamp(BAR, 1.6 * BAR);
        let margin = sheet.charts.iter().map(|one| chart::margin(ui, one)).fold(0.0, f32::max);
        ScrollArea::vertical().id_salt("what matters").auto_shrink(false).show(ui, |ui| {
            for one in &sheet.charts {
                ui.label(RichText::new(&one.title).font(theme::body_strong()));
                if one.bars.is_empty() {
                    form::muted(ui, "No step changes it.");
                    continue;
                }
                let height = each * one.up.names.len() as f32 + space::PAGE;
                chart::large_within(ui, one, vec2(ui.available_width() - space::PAGE, height), margin);
            }
        });
    }
}

fn progress(ui: &mut Ui, working: &str, stopped: Enabled, asks: &mut Vec<CurvesAsk>) {
    if stopped == Enabled::Yes {
        ui.label("Stopped.");
        if form::small(ui, "Work it out", "Work out what matters", "", Enabled::Yes) {
            asks.push(CurvesAsk::Resume);
        }
        return;
    }
    ui.spinner();
    ui.label(working);
    if form::small(ui, "Stop", "Stop working out what matters", "", Enabled::Yes) {
        asks.push(CurvesAsk::Stop);
    }
}

fn side_name(side: NudgeSide) -> &'static str {
    match side {
        NudgeSide::Chosen => "I choose",
        NudgeSide::Befalls => "happens to me",
    }
}

/// What has no bar: inputs that change nothing, that stop the flight, and those without one value to step from.
fn told_notes(
    nudged: &[Nudged],
    (of, now): (MeasureId, f64),
    (scenario, strategy): (&Scenario, Id),
    units: Units,
) -> Vec<String> {
    let row = measure(of);
    let mut notes = Vec::new();
    let idle = |one: &&Nudged| one.reach(of, now).is_none_or(|reach| reach == 0.0);
    let idle: Vec<String> = nudged.iter().filter(idle).map(|one| within(one.dial.knob().whole)).collect();
    if !idle.is_empty() {
        let idle: Vec<&str> = idle.iter().map(String::as_str).collect();
        notes.push(format!("A step changes nothing: {}.", listed(&idle)));
    }
    for one in nudged {
        let steps = [&one.lower, &one.higher].into_iter().flatten();
        for (value, tried) in steps.filter(|(_, tried)| !tried.is_flown()) {
            notes.push(format!("{}.", nudge_text(one, *value, tried, (row, now), units)));
        }
    }
    for (dial, gap) in nudge_gaps(scenario, strategy) {
        let why = match gap {
            NudgeGap::Differs => "differs from pass to pass",
            NudgeGap::Automatic => "is automatic",
        };
        notes.push(format!("Left out: {} {why}.", within(dial.knob().whole)));
    }
    notes
}
