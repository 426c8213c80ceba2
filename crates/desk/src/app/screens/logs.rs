//! Logs of jobs: how far predictions were off, and what is fitted to them.

use crate::amendment::{Amendment, Part, Terms};
use crate::app::App;
use crate::dialogs::{Purpose, Then};
use crate::document::Edit;
use crate::jobs::{Key, Lane, Same};
use crate::logs::{self, EditedCell, GivenLog, LogAsk, LogDocument, LogEdit, LogFigures, LogsSheet};
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::chart::Chart;
use obliquity_exchange::{LogKind, LogSheet};
use obliquity_planning::{Equipment, Id, Scenario, StageRates};
use std::sync::Arc;

/// What is fitted to a log.
#[derive(Debug, Clone, PartialEq)]
struct LogFitted {
    sheet: Same<LogSheet>,
    /// Of flown jobs, the aircraft whose flights count, where one is chosen.
    aircraft: Option<String>,
    /// Rates that hold where jobs do not tell.
    assumed: StageRates,
}

impl Key for LogFitted {
    type Reply = Arc<LogFigures>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 2;

    fn told(&self) -> Option<&'static str> {
        Some("fitting the log")
    }
}

/// What the screen remembers of one log.
#[derive(Debug, Default)]
pub(in crate::app) struct OneLog {
    /// What is open.
    pub(in crate::app) document: Option<LogDocument>,
    last: Option<Arc<LogFigures>>,
    counted: Option<String>,
    into: Option<Id>,
}

/// What the screen remembers.
#[derive(Debug)]
pub(in crate::app) struct LogsScreen {
    shown: LogKind,
    of: [OneLog; 2],
    editing: Option<EditedCell>,
    /// Whether the last step that was made here is one of the scenario: undo takes that back.
    took_over: bool,
}

impl Default for LogsScreen {
    fn default() -> Self {
        LogsScreen {
            shown: LogKind::Flown,
            of: [OneLog::default(), OneLog::default()],
            editing: None,
            took_over: false,
        }
    }
}

/// Where a kind stands among the logs.
pub(in crate::app) fn slot(kind: LogKind) -> usize {
    match kind {
        LogKind::Processed => 0,
        LogKind::Flown => 1,
    }
}

impl LogsScreen {
    /// The kind that is shown.
    pub(in crate::app) fn shown(&self) -> LogKind {
        self.shown
    }

    /// Whether undo and redo are the scenario's, which was edited last.
    pub(in crate::app) fn took_over(&self) -> bool {
        self.took_over
    }

    /// A log of a kind.
    pub(in crate::app) fn log(&self, kind: LogKind) -> Option<&LogDocument> {
        self.of[slot(kind)].document.as_ref()
    }

    /// The same, to be changed.
    pub(in crate::app) fn log_mut(&mut self, kind: LogKind) -> Option<&mut LogDocument> {
        self.of[slot(kind)].document.as_mut()
    }

    /// Puts a log in place of the one of its kind, and shows it.
    pub(in crate::app) fn put(&mut self, document: LogDocument) {
        let kind = document.kind();
        self.of[slot(kind)] = OneLog { document: Some(document), ..OneLog::default() };
        (self.shown, self.editing, self.took_over) = (kind, None, false);
    }

    /// The cell that is being edited, which is then left.
    pub(in crate::app) fn take_editing(&mut self) -> Option<EditedCell> {
        self.editing.take()
    }

    /// Ends what was begun in a cell: another step comes.
    pub(in crate::app) fn step_made(&mut self) {
        (self.editing, self.took_over) = (None, false);
    }

    /// Something was changed beside the cell that is being edited.
    pub(in crate::app) fn changed_beside(&mut self) {
        self.took_over = false;
    }

    fn one(&self) -> &OneLog {
        &self.of[slot(self.shown)]
    }
}

impl App {
    /// The log that is shown.
    pub fn log_shown(&self) -> Option<&LogDocument> {
        self.logs.log(self.logs.shown)
    }

    /// Has a log fitted where that is not known.
    pub(super) fn follow_logs(&mut self) {
        let one = self.logs.one();
        let Some(document) = &one.document else { return };
        let (sheet, aircraft) = (Arc::clone(document.sheet()), one.counted.clone());
        let assumed = self.document.scenario().rates.stages;
        let key = LogFitted { sheet: Same::of(&sheet), aircraft: aircraft.clone(), assumed };
        if self.jobs.known(&key).is_none() && !self.jobs.is_open(|_: &LogFitted| true) {
            self.jobs.request(key.clone(), move |_| {
                crate::long::begins("fitting a log");
                Arc::new(LogFigures::new(&sheet, aircraft.as_deref(), &assumed))
            });
        }
        if let Some(Ok(figures)) = self.jobs.known(&key) {
            let figures = Arc::clone(figures);
            self.logs.of[slot(self.logs.shown)].last = Some(figures);
        }
    }

    /// Has the log that is shown fitted, on this thread where there is no other.
    pub fn fit_log(&mut self) {
        self.follow_logs();
    }

    /// What the screen shows of the log; nothing where none is open.
    pub fn logs_sheet(&self) -> Option<LogsSheet> {
        let (one, scenario) = (self.logs.one(), self.document.scenario());
        let focus = self.focus().and_then(|id| scenario.strategy(id)).map(|strategy| strategy.name.as_str());
        Some(LogsSheet::new(&GivenLog {
            document: one.document.as_ref()?,
            figures: one.last.as_ref(),
            scenario,
            focus,
            counted: one.counted.as_deref(),
            into: one.into,
        }))
    }

    fn log_figures(&self) -> Option<&Arc<LogFigures>> {
        let one = self.logs.one();
        let sheet = one.document.as_ref()?.sheet();
        one.last.as_ref().filter(|last| Arc::ptr_eq(&last.sheet, sheet))
    }

    /// The diagram as it is shown.
    pub(super) fn log_charts(&self) -> Vec<Chart> {
        self.log_figures().and_then(|figures| figures.chart.clone()).into_iter().collect()
    }

    /// What is fitted, and every job.
    pub(super) fn log_table(&self) -> Option<String> {
        let (document, figures) = (self.log_shown()?, self.log_figures()?);
        let mut text = tsv::line(["", "value", "95 % interval", "jobs"]);
        for line in &figures.lines {
            text += &tsv::line([&line.name, &line.value, &line.sure, &line.jobs.to_string()]);
        }
        text += &tsv::line(document.sheet().names.iter().copied());
        for row in &document.sheet().rows {
            text += &tsv::line(row.iter().map(String::as_str));
        }
        Some(text)
    }

    /// The table to the left; the fit and the diagram to the right.
    pub(super) fn logs_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let sheet = self.logs_sheet();
        let mut asks = Vec::new();
        let mut editing = self.logs.editing.take();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| match (&sheet, self.log_shown()) {
            (Some(sheet), Some(document)) => logs::ui(ui, (document, sheet), &mut editing, &mut asks),
            _ => logs::empty(ui, self.logs.shown, &mut asks),
        });
        self.logs.editing = editing;
        let ctx = ui.ctx().clone();
        // What was typed goes into its own row before rows come or go.
        asks.sort_by_key(|ask| !matches!(ask, LogAsk::Edit(LogEdit::Cell { .. })));
        for ask in asks {
            if !matches!(ask, LogAsk::Edit(LogEdit::Cell { .. })) {
                self.take_cell();
            }
            match ask {
                LogAsk::Show(kind) => {
                    (self.logs.shown, self.logs.editing, self.logs.took_over) = (kind, None, false);
                }
                LogAsk::Open => self.pick(Purpose::OpenLog, &ctx),
                LogAsk::Example => self.unless_unsaved(Then::ExampleLog(self.logs.shown), &ctx),
                LogAsk::Begin => self.unless_unsaved(Then::BeginLog(self.logs.shown), &ctx),
                LogAsk::Edit(edit) => self.edit_log(&edit),
                LogAsk::AddPlanned => self.add_planned(),
                LogAsk::Count(name) => self.logs.of[slot(self.logs.shown)].counted = Some(name),
                LogAsk::Into(aircraft) => self.logs.of[slot(self.logs.shown)].into = Some(aircraft),
                LogAsk::TakeOver => self.take_over_fit(),
                LogAsk::SaveCharts(how) => self.pick(Purpose::Charts(how), &ctx),
            }
        }
    }

    /// Puts what is fitted into the scenario, as one edit.
    pub fn take_over_fit(&mut self) {
        let Some(figures) = self.log_figures().map(Arc::clone) else { return };
        let scenario = Arc::clone(self.document.scenario());
        let edit = match self.logs.shown {
            LogKind::Processed => taken_rates(&scenario, &figures),
            LogKind::Flown => self.taken_corrections(&scenario, &figures),
        };
        let Some(edit) = edit else { return };
        self.edit(&Edit::Amend(edit));
        self.document.end_gesture();
        (self.logs.editing, self.logs.took_over) = (None, true);
    }

    fn taken_corrections(&self, scenario: &Scenario, figures: &LogFigures) -> Option<Amendment> {
        let one = self.logs.one();
        let aircraft = logs::into_aircraft(figures, scenario, one.counted.as_deref(), one.into)?;
        let corrections = logs::corrections_taken(figures, aircraft)?;
        let mut equipment = Equipment::clone(&scenario.equipment);
        for own in equipment.aircraft.iter_mut().filter(|own| own.id == aircraft.id) {
            own.airframe.corrections = Some(corrections);
        }
        let what = format!("corrections of {} from logged flights", aircraft.name).into();
        Some(Amendment { what, part: Part::Equipment(Arc::new(equipment)) })
    }
}

fn taken_rates(scenario: &Scenario, figures: &LogFigures) -> Option<Amendment> {
    let rates = logs::rates_taken(figures, &scenario.rates)?;
    let terms = Terms { rates, ..Terms::of(scenario) };
    Some(Amendment { what: "processing rates from logged jobs".into(), part: Part::Terms(Box::new(terms)) })
}
