//! Whether the images of a strategy hold together, and how well they tell the camera and what is measured.

mod graph;
mod model;
mod view;

use self::graph::TieGraph;
use self::model::{BlockProgress, BlockSheet, ControlShown, ControlState};
use crate::app::requests::LEAST_PREVIEWED;
use crate::app::{App, requests};
use crate::chart_files::ChartsAs;
use crate::dialogs::Purpose;
use crate::engine::Failure;
use crate::figures::Freshness;
use crate::jobs::{Key, Lane, Same};
use crate::plan::draw::Tool;
use crate::screen::Screen;
use crate::strategies::Change;
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::chart::{Chart, control_chart, control_text};
use obliquity_exchange::{BlocksChoice, Slots};
use obliquity_planning::what_if::{CONTROL_COUNTS, ControlTrial};
use obliquity_planning::{Depth, Id, Outcome, Scenario};
use std::sync::Arc;

/// The block of a strategy.
#[derive(Debug, Clone, PartialEq)]
struct BlockOf {
    from: Same<Scenario>,
    strategy: Id,
}

/// The ties of a block as they are drawn.
#[derive(Debug, Clone, PartialEq)]
struct Graph {
    of: Same<Outcome>,
}

impl Key for Graph {
    type Reply = Arc<TieGraph>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;
}

/// A strategy's accuracy with a number of control points, at a first look or in full.
#[derive(Debug, Clone, PartialEq)]
struct ControlOf {
    block: BlockOf,
    points: u32,
    depth: Depth,
}

impl Key for ControlOf {
    type Reply = Result<Vec<ControlTrial>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4 * 2 * CONTROL_COUNTS.len();
}

/// Numbers of control points are tried in full without having been asked for in blocks of no more images.
const MOST_REFINED: u32 = 1000;

/// What the screen remembers.
#[derive(Debug, Default)]
pub(in crate::app) struct BlockScreen {
    /// What was asked for before the other blocks, once.
    asked: Option<BlockOf>,
    /// Of which block numbers of control points were asked for.
    tried: Option<BlockOf>,
    /// Of which they were stopped.
    untried: Option<BlockOf>,
}

/// What is asked for on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
enum BlockAsk {
    /// Save the diagrams.
    Save(ChartsAs),
    /// Give up what is being worked out.
    Stop,
    /// Work it out after all.
    Resume,
    /// Try numbers of control points.
    TryControl,
    /// Give that up.
    StopControl,
    /// Place control points on the plan.
    Place,
    /// Show another strategy's.
    Focus(Id),
    /// Add the rows that tie its parts.
    TieRows(Id),
}

/// What was tried, or why it could not be.
fn found(answer: &Result<Result<Vec<ControlTrial>, Failure>, String>) -> Result<&[ControlTrial], &str> {
    requests::found(answer).map(Vec::as_slice)
}

impl App {
    /// Whether the screen is the one about blocks.
    pub(in crate::app) fn is_on_block(&self) -> bool {
        self.side.screen == Screen::BLOCK
    }

    /// Has the block of the strategy in focus adjusted before the others, and its ties drawn.
    pub(super) fn follow_block(&mut self) {
        let Some(strategy) = self.focus() else { return };
        let from = Same::of(self.document.scenario());
        let known = self.figures.known(&from.0, strategy);
        let of = known.and_then(|known| known.block?.ok()).cloned();
        let is_fresh = known.is_some_and(|known| known.whole_freshness == Freshness::Fresh);
        if let Some(outcome) = of {
            let key = Graph { of: Same::of(&outcome) };
            self.jobs.request(key, move |_| Arc::new(TieGraph::new(&outcome)));
        }
        // What has just been edited is asked for with all figures.
        let comes = self.jobs.runs_beside(Lane::Figures)
            && !self.asked_for.as_ref().is_some_and(|asked| from.is(asked));
        let wanted = BlockOf { from, strategy };
        self.jobs.cancel(|own: &ControlOf| own.block != wanted);
        if is_fresh {
            while self.ask_for_next_trial(&wanted) && !self.jobs.runs_beside(Lane::Aside) {}
        }
        if is_fresh || comes || self.block.asked.as_ref() == Some(&wanted) {
            return;
        }
        self.block.asked = Some(wanted);
        self.request_block_first(strategy);
    }

    /// The outcome that is shown, or why there is none, and whether it is of the scenario as it stands.
    fn block_known(&self) -> Option<(Result<&Arc<Outcome>, &str>, Freshness)> {
        let known = self.figures.known(self.document.scenario(), self.focus()?)?;
        Some((known.block?, known.block_freshness))
    }

    fn block_wanted(&self) -> Option<BlockOf> {
        Some(BlockOf { from: Same::of(self.document.scenario()), strategy: self.focus()? })
    }

    /// Has numbers of control points tried, in full.
    pub fn try_control(&mut self) {
        self.block.tried = self.block_wanted();
        self.block.untried = None;
        self.follow_block();
    }

    /// Which depths numbers of control points are tried at: at a first look where that is faster, in full where it is asked for or
    /// takes no long time; none where the user prefers to ask, or has stopped it.
    fn control_depths(&self, of: &BlockOf) -> Vec<Depth> {
        let is_asked = self.block.tried.as_ref() == Some(of);
        let is_free = self.home.preferences.blocks == BlocksChoice::Beside;
        if self.block.untried.as_ref() == Some(of) || !(is_asked || is_free) {
            return Vec::new();
        }
        let images = self.image_count(&of.from.0, of.strategy).unwrap_or_default();
        let preview = (images > LEAST_PREVIEWED).then_some(Depth::Preview);
        let whole = (is_asked || images <= MOST_REFINED).then_some(Depth::Network);
        preview.into_iter().chain(whole).collect()
    }

    /// What is tried, in its order.
    fn trials_wanted(&self, of: &BlockOf) -> Vec<ControlOf> {
        let depths = self.control_depths(of).into_iter();
        let key = |points, depth| ControlOf { block: of.clone(), points, depth };
        depths.flat_map(|depth| CONTROL_COUNTS.map(|points| key(points, depth))).collect()
    }

    /// Asks for the next number of control points; says whether there was one to ask for.
    fn ask_for_next_trial(&mut self, of: &BlockOf) -> bool {
        if self.jobs.is_open(|_: &ControlOf| true) {
            return false;
        }
        let wanted = self.trials_wanted(of).into_iter().find(|key| self.jobs.known(key).is_none());
        let Some(key) = wanted else { return false };
        let (engine, own) = (self.engine.clone(), key.clone());
        self.jobs.request(key, move |watch| {
            let BlockOf { from, strategy } = own.block;
            engine.control_trials(&from.0, strategy, (&[own.points], own.depth), watch)
        });
        true
    }

    /// What numbers of control points come to, as far as that is known.
    fn control_known(&self) -> ControlShown {
        let Some(of) = self.block_wanted() else { return ControlShown::default() };
        let wanted = self.trials_wanted(&of);
        let known = |key: &ControlOf| self.jobs.known(key).map(found);
        let why = wanted.iter().find_map(|key| known(key)?.err());
        let done = wanted.iter().filter(|key| known(key).is_some()).count() as u64;
        let running = self.jobs.tenths(|own: &ControlOf| own.block == of).unwrap_or_default();
        let state = match why {
            Some(why) => ControlState::Failed(why.to_owned()),
            None if wanted.is_empty() => ControlState::Unasked,
            None if done < wanted.len() as u64 => {
                ControlState::Runs { tenths: (10 * done + running) / wanted.len() as u64 }
            }
            None if wanted.iter().any(|key| key.depth == Depth::Network) => ControlState::Whole,
            None => ControlState::Preview,
        };
        // What was tried stays though it is not tried any further.
        let of_points = |points: u32| {
            [Depth::Network, Depth::Preview].into_iter().find_map(|depth| {
                let trials = known(&ControlOf { block: of.clone(), points, depth })?.ok()?;
                trials.first().copied()
            })
        };
        let trials: Vec<ControlTrial> = CONTROL_COUNTS.into_iter().filter_map(of_points).collect();
        if trials.len() < 2 {
            return ControlShown { state, known: None };
        }
        let scenario = self.document.scenario();
        let (asked, units) = (scenario.requirement.accuracy, self.home.units());
        let placed = scenario.site.control_points.iter().filter(|point| point.role.is_control());
        let placed = u32::try_from(placed.count()).unwrap_or(u32::MAX);
        let chart = control_chart(&trials, &asked, placed, units);
        ControlShown { state, known: Some((control_text(&trials, &asked, units), Box::new(chart))) }
    }

    /// What is known of the blocks of the other strategies.
    fn others_known(&self, strategy: Id) -> Vec<(Id, Arc<Outcome>)> {
        let scenario = self.document.scenario();
        let others = scenario.strategies.iter().map(|own| own.id).filter(|id| *id != strategy);
        let known = |id| Some((id, Arc::clone(self.figures.known(scenario, id)?.block?.ok()?)));
        others.filter_map(known).collect()
    }

    /// The diagrams as they are shown.
    pub(super) fn block_charts(&self) -> Vec<Chart> {
        let Some((Ok(outcome), _)) = self.block_known() else { return Vec::new() };
        let mut charts = self.charts_of(outcome);
        charts.extend(self.control_known().known.map(|(_, chart)| *chart));
        charts
    }

    /// Those of the camera and the dome.
    fn charts_of(&self, outcome: &Outcome) -> Vec<Chart> {
        let slot = Slots::of(self.document.scenario()).slot(outcome.strategy);
        let units = self.home.units();
        obliquity_exchange::chart::block_charts(outcome, slot, model::reach_m(outcome), units)
    }

    /// What is told of the block, as a table.
    pub(super) fn block_table(&self) -> Option<String> {
        let sheet = self.block_sheet()?;
        let heads = tsv::line(["surface", "horizontal", "vertical", "along the normal"]);
        let rows = sheet
            .precision
            .iter()
            .map(|row| tsv::line([&row.name, &row.horizontal, &row.vertical, &row.normal]));
        Some(
            heads
                + &rows.collect::<String>()
                + &sheet.told.iter().map(|line| tsv::line([&line.text])).collect::<String>(),
        )
    }

    fn block_sheet(&self) -> Option<BlockSheet> {
        let strategy = self.focus()?;
        let known = self.block_known();
        let outcome = known.and_then(|(known, _)| known.ok());
        let progress = match known {
            Some((Err(why), Freshness::Fresh)) => BlockProgress::Failed(why.to_owned()),
            Some((Ok(outcome), Freshness::Fresh)) if outcome.depth != Depth::Preview => match outcome.network
            {
                Some(_) => BlockProgress::Known,
                None => BlockProgress::Failed(format!("cannot be flown: {}", outcome.reasons.join("; "))),
            },
            _ => {
                let wanted = BlockOf { from: Same::of(self.document.scenario()), strategy };
                let is_stopped = self.block.asked.as_ref() == Some(&wanted);
                match self.block_progress(strategy) {
                    Some(tenths) => BlockProgress::Runs { tenths },
                    None if is_stopped => BlockProgress::Stopped,
                    None => BlockProgress::Runs { tenths: 0 },
                }
            }
        };
        let graph =
            outcome.and_then(|outcome| self.jobs.known(&Graph { of: Same::of(outcome) })?.as_ref().ok());
        BlockSheet::new(model::GivenBlock {
            scenario: self.document.scenario(),
            strategy,
            outcome: outcome.map(Arc::as_ref),
            progress,
            graph: graph.cloned(),
            is_earlier: known.is_some_and(|(_, freshness)| freshness != Freshness::Fresh),
            others: self.others_known(strategy),
            charts: outcome.map_or_else(Vec::new, |outcome| self.charts_of(outcome)),
            control: self.control_known(),
            units: self.home.units(),
        })
    }

    /// What is told of the block to the left, its ties and diagrams beside.
    pub(super) fn block_screen(&mut self, ui: &mut Ui) {
        let Some(sheet) = self.block_sheet() else {
            self.turn_to(Screen::BOARD);
            return;
        };
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let outline = self.side.known.as_ref().and_then(|known| known.outline());
        let mut asks = Vec::new();
        egui::CentralPanel::default()
            .frame(frame)
            .show(ui, |ui| view::ui(ui, &sheet, outline.map(|own| &**own), &mut asks));
        let ctx = ui.ctx().clone();
        for ask in asks {
            match ask {
                BlockAsk::Save(how) => self.pick(Purpose::Charts(how), &ctx),
                BlockAsk::Stop => {
                    if let Some(strategy) = self.focus() {
                        self.cancel_block(strategy);
                    }
                }
                BlockAsk::Resume => self.block.asked = None,
                BlockAsk::TryControl => self.try_control(),
                BlockAsk::StopControl => {
                    self.block.untried = self.block_wanted();
                    self.jobs.cancel(|_: &ControlOf| true);
                }
                BlockAsk::Place => {
                    self.turn_to(Screen::PLAN);
                    self.beside.state.draw.take_up(Tool::ControlPoint);
                }
                BlockAsk::Focus(strategy) => self.focus_on(strategy),
                BlockAsk::TieRows(strategy) => self.change(Change::TieRows(strategy)),
            }
        }
    }
}
