//! What a setting does: one input over a range, and what comes of all strategies; and what matters: every input by a step.

mod matters;
mod model;
mod view;

use self::model::{CurveSheet, Looks, LooksState};
use crate::app::App;
use crate::app::requests::found;
use crate::chart_files::{self, ChartsAs};
use crate::choices::{self, ChoicesPart};
use crate::dialogs::Purpose;
use crate::document::Edit;
use crate::engine::{Engine, Failure};
use crate::jobs::{Key, Lane, Same};
use crate::screen::Screen;
use crate::theme::{self, space};
use egui::{Frame, Ui};
use obliquity_exchange::chart::Chart;
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    SweepPoint, coarse_first, nearer_edges, sweep_values, usual_range, wider_range, with_present,
};
use obliquity_planning::{Depth, Id, Knob, KnobId, MeasureId, Scenario, Scope, knobs, measure};

/// Values that are looked at, both ends included.
const VALUES: u32 = 21;
/// So many of them, evenly spread, are seen from fewer samples before any is from all.
const GLANCED: usize = 6;
/// So many of them, evenly spread, have their blocks looked at: each takes as long as coverage of all values may.
const LOOKED: usize = 9;
const CURVES: Screen = Screen::named("curves");
/// The aspect that is not a range.
const MATTERS: &str = "matters";

/// Every value without coverage.
#[derive(Debug, Clone, PartialEq)]
struct QuickSweep {
    from: Same<Scenario>,
    dial: Dial,
    ends: (f64, f64),
}

impl Key for QuickSweep {
    type Reply = Result<Vec<SweepPoint>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;
}

/// A few values with coverage from fewer samples, so that a curve is there while the others come.
#[derive(Debug, Clone, PartialEq)]
struct FirstLook(QuickSweep);

impl Key for FirstLook {
    type Reply = Result<Vec<SweepPoint>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;
}

/// One value with coverage.
#[derive(Debug, Clone, PartialEq)]
struct SeenPoint {
    from: Same<Scenario>,
    dial: Dial,
    value: f64,
}

impl Key for SeenPoint {
    type Reply = Result<SweepPoint, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 6 * VALUES as usize;
}

/// One value with a first look at what the images give when they are adjusted together.
#[derive(Debug, Clone, PartialEq)]
struct LookedPoint(SeenPoint);

impl Key for LookedPoint {
    type Reply = Result<SweepPoint, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 6 * LOOKED;
}

/// A sweep as far as it is known.
#[derive(Debug, Default)]
struct CurvePoints {
    points: Vec<SweepPoint>,
    /// So many of them with coverage.
    seen: usize,
    /// A value to be looked at, where the requirement begins or ceases to be met.
    unknown_edge: Option<f64>,
    failure: Option<String>,
}

/// Puts in between what is known nearer to where the requirement begins or ceases to be met; gives the first value that would
/// tell more.
fn nearer(
    points: &mut Vec<SweepPoint>,
    dial: &Dial,
    seen: impl Fn(f64) -> Option<SweepPoint>,
) -> Option<f64> {
    let row = dial.knob();
    loop {
        let edges = nearer_edges(points, &row);
        let before = points.len();
        points.extend(edges.iter().filter_map(|value| seen(*value)));
        if points.len() == before {
            return edges.into_iter().next();
        }
        points.sort_by(|a, b| a.value.total_cmp(&b.value));
    }
}

/// What the screen remembers.
#[derive(Debug)]
pub(in crate::app) struct CurvesScreen {
    /// What is turned.
    knob: KnobId,
    /// In this strategy alone; nothing for all.
    only: Option<Id>,
    /// What is looked at.
    figure: MeasureId,
    /// From where to where; nothing for what is usual.
    ends: Option<(f64, f64)>,
    /// The value last clicked.
    picked: Option<f64>,
    /// What was stopped before it was worked out.
    stopped: Option<matters::Matters>,
    /// Of which sweep blocks are not looked at any further.
    unlooked: Option<QuickSweep>,
    /// Its store is its own, so that the board's figures stay.
    engine: Engine,
}

impl Default for CurvesScreen {
    fn default() -> Self {
        CurvesScreen {
            knob: KnobId::TILT,
            only: None,
            figure: MeasureId::TimeOnSite,
            ends: None,
            picked: None,
            stopped: None,
            unlooked: None,
            engine: Engine::aside(),
        }
    }
}

impl CurvesScreen {
    /// Uses an engine that others use too.
    pub(in crate::app) fn share(&mut self, engine: &Engine) {
        self.engine = engine.clone();
    }
}

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
enum CurvesAsk {
    /// Turn another input.
    Turn(KnobId),
    /// Turn it in one strategy alone, or in all.
    Only(Option<Id>),
    /// Look at another figure.
    Figure(MeasureId),
    /// Look from here to there; nothing for what is usual.
    Ends(Option<(f64, f64)>),
    /// Look beyond both ends.
    Wider,
    /// Remember a value.
    Pick(f64),
    /// Set the input to the value remembered.
    Adopt(f64),
    /// Save the diagrams.
    Save(ChartsAs),
    /// Give up what is being worked out.
    Stop,
    /// Work it out after all.
    Resume,
    /// Look at no more blocks.
    StopLooks,
    /// Look at them after all.
    ResumeLooks,
}

/// Inputs that can be set to one value at all their places: not the sides of buildings, nor where single cameras look.
fn can_be_swept(row: &Knob) -> bool {
    !matches!(row.scope, Scope::Structure(_) | Scope::Attitude(_))
}

impl App {
    /// What is turned; another input where the scenario has nothing of the one chosen.
    fn curves_dial(&self) -> Option<Dial> {
        let scenario = self.document.scenario();
        let of = |id: KnobId| match self.curves.only {
            Some(strategy) => Dial::of_strategy(scenario, id, strategy),
            None => Dial::everywhere(scenario, id),
        };
        let others = [KnobId::TILT, KnobId::SIDELAP, KnobId::GSD, KnobId::HEIGHT, KnobId::STAND_OFF];
        of(self.curves.knob).or_else(|| others.into_iter().find_map(of))
    }

    fn quick_sweep(&self) -> Option<QuickSweep> {
        let scenario = self.document.scenario();
        let dial = self.curves_dial()?;
        let ends = self.curves.ends.unwrap_or_else(|| usual_range(scenario, &dial));
        Some(QuickSweep { from: Same::of(scenario), dial, ends })
    }

    /// Has the sweep worked out: all without coverage, a few from fewer samples, then point by point from all of them, the
    /// coarse row first.
    pub(super) fn follow_curves(&mut self) {
        if self.aspect(CURVES) == MATTERS {
            return self.follow_matters();
        }
        let Some(key) = self.quick_sweep() else { return };
        let unwanted = |from: &Same<Scenario>, dial: &Dial| *from != key.from || *dial != key.dial;
        self.jobs.cancel(|own: &QuickSweep| *own != key);
        self.jobs.cancel(|FirstLook(own)| *own != key);
        self.jobs.cancel(|own: &SeenPoint| unwanted(&own.from, &own.dial));
        let is_of_block = self.is_of_block();
        self.jobs.cancel(|LookedPoint(own)| !is_of_block || unwanted(&own.from, &own.dial));
        let (engine, QuickSweep { from: Same(scenario), dial, ends }) =
            (self.curves.engine.clone(), key.clone());
        self.jobs.request(key.clone(), move |watch| {
            let values = sweep_values(&scenario, &dial, ends, VALUES);
            let values = values.map_err(|error| Failure::Refused(error.to_string()))?;
            let values = with_present(&scenario, &dial, values);
            engine.sweep(&scenario, (&dial, &values), Depth::Quick, watch)
        });
        if !self.is_first_look_had(&key) {
            return;
        }
        if is_of_block && self.curves.unlooked.as_ref() != Some(&key) {
            while self.ask_for_next_look(&key) && !self.jobs.runs_beside(Lane::Aside) {}
            if self.jobs.is_open(|_: &LookedPoint| true) {
                return;
            }
        }
        while self.ask_for_next_point(&key) && !self.jobs.runs_beside(Lane::Aside) {}
    }

    /// Whether the figure looked at takes the adjustment of the block.
    fn is_of_block(&self) -> bool {
        measure(self.curves.figure).depth > Depth::Views
    }

    /// The values at which blocks are looked at, in their order; none before there are values.
    fn looked_points(&self, key: &QuickSweep) -> Vec<LookedPoint> {
        let Some(Ok(Ok(quick))) = self.jobs.known(key) else { return Vec::new() };
        let order = coarse_first(quick.len()).into_iter().take(LOOKED);
        let at = |value| SeenPoint { from: key.from.clone(), dial: key.dial.clone(), value };
        order.map(|place| LookedPoint(at(quick[place].value))).collect()
    }

    /// Asks for the next value with a first look at the blocks; says whether there was one to ask for.
    fn ask_for_next_look(&mut self, key: &QuickSweep) -> bool {
        if self.jobs.is_open(|_: &LookedPoint| true) {
            return false;
        }
        let next = self.looked_points(key).into_iter().find(|point| self.jobs.known(point).is_none());
        let Some(next) = next else { return false };
        let (engine, LookedPoint(at)) = (self.curves.engine.clone(), next.clone());
        self.jobs.request(next, move |watch| {
            engine.sweep_point(&at.from.0, (&at.dial, at.value), Depth::Preview, watch)
        });
        true
    }

    /// The values at which blocks were looked at, and how far that is.
    fn looks(&self, key: &QuickSweep) -> (Vec<SweepPoint>, Looks) {
        let wanted = self.looked_points(key);
        let known: Vec<_> = wanted.iter().filter_map(|point| self.jobs.known(point)).collect();
        let failure = known.iter().find_map(|answer| found(answer).err()).map(ToOwned::to_owned);
        let mut points: Vec<SweepPoint> =
            known.iter().filter_map(|answer| found(answer).ok()).cloned().collect();
        points.sort_by(|a, b| a.value.total_cmp(&b.value));
        let state = if known.len() == wanted.len() && !wanted.is_empty() {
            LooksState::Done
        } else if self.curves.unlooked.as_ref() == Some(key) {
            LooksState::Stopped
        } else {
            LooksState::Run
        };
        (points, Looks { done: known.len(), of: wanted.len(), state, failure })
    }

    /// Asks for the first look; says whether it has come, or cannot.
    fn is_first_look_had(&mut self, key: &QuickSweep) -> bool {
        let Some(Ok(Ok(quick))) = self.jobs.known(key) else { return false };
        let first = coarse_first(quick.len()).into_iter().take(GLANCED);
        let values: Vec<f64> = first.map(|place| quick[place].value).collect();
        let (engine, QuickSweep { from: Same(scenario), dial, .. }) =
            (self.curves.engine.clone(), key.clone());
        let look = FirstLook(key.clone());
        self.jobs.request(look.clone(), move |watch| engine.first_look(&scenario, (&dial, &values), watch));
        self.jobs.known(&look).is_some()
    }

    /// Asks for the next value with coverage; says whether there was one to ask for.
    fn ask_for_next_point(&mut self, key: &QuickSweep) -> bool {
        if self.jobs.is_open(|_: &SeenPoint| true) {
            return false;
        }
        let Some(next) = self.next_seen_value(key) else { return false };
        let next = SeenPoint { from: key.from.clone(), dial: key.dial.clone(), value: next };
        let (engine, Same(scenario)) = (self.curves.engine.clone(), key.from.clone());
        self.jobs.request(next.clone(), move |watch| {
            engine.sweep_point(&scenario, (&next.dial, next.value), Depth::Views, watch)
        });
        true
    }

    /// The value to be looked at with coverage next: the coarse row first, at last where the requirement begins or ceases
    /// to be met.
    fn next_seen_value(&self, key: &QuickSweep) -> Option<f64> {
        let Some(Ok(Ok(quick))) = self.jobs.known(key) else { return None };
        let is_known = |value: f64| {
            let at = SeenPoint { from: key.from.clone(), dial: key.dial.clone(), value };
            self.jobs.known(&at).is_some()
        };
        let mut order = coarse_first(quick.len()).into_iter().map(|place| quick[place].value);
        order.find(|value| !is_known(*value)).or_else(|| self.curve_points(key).unknown_edge)
    }

    /// What is known so far, each value as deep as it has come.
    fn curve_points(&self, key: &QuickSweep) -> CurvePoints {
        let quick = match self.jobs.known(key) {
            None => return CurvePoints::default(),
            Some(Ok(Ok(quick))) => quick,
            Some(answer) => {
                let why = found(answer).err().unwrap_or_default();
                return CurvePoints { failure: Some(why.to_owned()), ..CurvePoints::default() };
            }
        };
        let seen = |value: f64| {
            let key = SeenPoint { from: key.from.clone(), dial: key.dial.clone(), value };
            match self.jobs.known(&key) {
                Some(Ok(Ok(point))) => Some(point.clone()),
                _ => None,
            }
        };
        let mut points = quick.clone();
        let mut known = 0;
        for point in &mut points {
            if let Some(seen) = seen(point.value) {
                *point = seen;
                known += 1;
            }
        }
        if known < points.len() {
            return CurvePoints { points, seen: known, ..CurvePoints::default() };
        }
        let unknown_edge = nearer(&mut points, &key.dial, seen);
        CurvePoints { seen: points.len(), points, unknown_edge, failure: None }
    }

    /// What a first look told, where no more is known yet.
    fn fill_with_first_look(&self, key: &QuickSweep, points: &mut [SweepPoint]) {
        let Some(Ok(Ok(first))) = self.jobs.known(&FirstLook(key.clone())) else { return };
        let is_quick = |point: &SweepPoint| {
            point.tried.as_ref().is_ok_and(|tried| tried.iter().all(|tried| tried.depth < Depth::Views))
        };
        for point in points.iter_mut().filter(|point| is_quick(point)) {
            if let Some(glanced) = first.iter().find(|glanced| glanced.value == point.value) {
                *point = glanced.clone();
            }
        }
    }

    /// A figure of each strategy as it stands, where it is known.
    fn figures_now(&self, of: MeasureId) -> Vec<Option<f64>> {
        if self.is_of_block() {
            let scenario = self.document.scenario();
            let of_strategy = |id: Id| {
                let (outcome, _) = self.figures.known(scenario, id)?.read_from(measure(of));
                measure(of).read(outcome?)
            };
            return scenario.strategies.iter().map(|strategy| of_strategy(strategy.id)).collect();
        }
        let known = self.surest_of_all();
        let of_strategy = |id: Id| {
            let outcome = known.iter().find(|outcome| outcome.strategy == id)?;
            measure(of).read(outcome)
        };
        self.document.scenario().strategies.iter().map(|strategy| of_strategy(strategy.id)).collect()
    }

    fn curve_sheet(&self) -> Option<CurveSheet> {
        let key = self.quick_sweep()?;
        let CurvePoints { mut points, seen, unknown_edge, failure } = self.curve_points(&key);
        self.fill_with_first_look(&key, &mut points);
        let (looked, looks) = self.is_of_block().then(|| self.looks(&key)).unzip();
        let given = model::GivenCurves {
            scenario: self.document.scenario(),
            dial: &key.dial,
            ends: key.ends,
            points: &points,
            looked: looked.as_deref().unwrap_or_default(),
            seen,
            nearer: unknown_edge.is_some(),
            failure: failure.or_else(|| looks.as_ref()?.failure.clone()),
            looks,
            figure: self.curves.figure,
            now: self.figures_now(self.curves.figure),
            only: self.curves.only,
            picked: self.curves.picked,
            units: self.home.units(),
        };
        Some(CurveSheet::new(&given))
    }

    /// The diagrams as they are shown.
    pub(super) fn curve_charts(&self) -> Vec<Chart> {
        if self.aspect(CURVES) == MATTERS {
            return self.matter_charts();
        }
        self.curve_sheet().map(|sheet| [vec![sheet.chart], sheet.beside].concat()).unwrap_or_default()
    }

    /// All figures at all values, as a table.
    pub(super) fn curve_table(&self) -> Option<String> {
        if self.aspect(CURVES) == MATTERS {
            return self.matter_table();
        }
        let csv = self.sweep_values_csv()?;
        Some(csv.lines().map(|line| line.replace(',', "\t") + "\n").collect())
    }

    /// All figures at all values of the sweep that is shown; nothing where none is.
    pub(in crate::app) fn sweep_values_csv(&self) -> Option<String> {
        if self.screen_shown() != CURVES || self.aspect(CURVES) == MATTERS {
            return None;
        }
        let key = self.quick_sweep()?;
        let CurvePoints { points, .. } = self.curve_points(&key);
        Some(obliquity_exchange::sweep_csv(self.document.scenario(), &key.dial, &points))
    }

    /// What a setting does, and what matters: choices to the left, diagrams beside them.
    pub(super) fn curves_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            choices::beside(ui, "curves", |ui, part| match part {
                ChoicesPart::Head => {
                    self.aspect_switch(ui, CURVES);
                    asks.extend(chart_files::menu(ui).map(CurvesAsk::Save));
                }
                ChoicesPart::Choices => {
                    ui.add_space(space::ROW);
                    self.curves_choices(ui, &mut asks);
                }
                ChoicesPart::Diagrams => self.curves_diagrams(ui, &mut asks),
            });
        });
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                CurvesAsk::Save(how) => self.pick(Purpose::Charts(how), &ctx),
                ask => self.curves_asked(ask),
            }
        }
    }

    fn curves_choices(&self, ui: &mut Ui, asks: &mut Vec<CurvesAsk>) {
        if self.aspect(CURVES) == MATTERS {
            return self.matter_choices(ui, asks);
        }
        let Some(sheet) = self.curve_sheet() else { return };
        let swept: Vec<Knob> = knobs()
            .filter(can_be_swept)
            .filter(|row| Dial::everywhere(self.document.scenario(), row.id).is_some())
            .collect();
        view::ui(ui, &sheet, &swept, asks);
    }

    fn curves_diagrams(&self, ui: &mut Ui, asks: &mut Vec<CurvesAsk>) {
        if self.aspect(CURVES) == MATTERS {
            return self.matter_diagrams(ui, asks);
        }
        match self.curve_sheet() {
            Some(sheet) => view::diagrams(ui, &sheet, asks),
            None => {
                ui.label("There is nothing to turn: add a strategy first.");
            }
        }
    }

    fn curves_asked(&mut self, ask: CurvesAsk) {
        match ask {
            CurvesAsk::Turn(knob) => {
                (self.curves.knob, self.curves.ends, self.curves.picked) = (knob, None, None);
            }
            CurvesAsk::Only(only) => (self.curves.only, self.curves.picked) = (only, None),
            CurvesAsk::Figure(figure) => self.curves.figure = figure,
            CurvesAsk::Ends(ends) => self.curves.ends = ends,
            CurvesAsk::Wider => {
                let Some(QuickSweep { dial, ends, .. }) = self.quick_sweep() else { return };
                self.curves.ends = Some(wider_range(self.document.scenario(), &dial, ends));
            }
            CurvesAsk::Pick(value) => self.curves.picked = Some(value),
            CurvesAsk::Save(_) => {}
            CurvesAsk::Stop => self.stop_matters(),
            CurvesAsk::Resume => self.curves.stopped = None,
            CurvesAsk::StopLooks => {
                self.curves.unlooked = self.quick_sweep();
                self.jobs.cancel(|_: &LookedPoint| true);
            }
            CurvesAsk::ResumeLooks => self.curves.unlooked = None,
            CurvesAsk::Adopt(value) => {
                let Some(dial) = self.curves_dial() else { return };
                let what = match self.curves.only.and_then(|id| self.document.scenario().strategy(id)) {
                    Some(strategy) => format!("{} of {}", dial.knob().whole, strategy.name),
                    None => format!("{} of all", dial.knob().whole),
                };
                self.edit(&Edit::Turn { what, set: vec![(dial, value)] });
            }
        }
    }
}
