//! Whether the images of a strategy hold together, and how well they tell the camera and what is measured.

mod graph;
mod model;
mod view;

use self::graph::TieGraph;
use self::model::{BlockProgress, BlockSheet, ControlShown};
use crate::app::App;
use crate::app::requests::found;
use crate::chart_files::ChartsAs;
use crate::dialogs::Purpose;
use crate::engine::Failure;
use crate::figures::Freshness;
use crate::jobs::{Key, Lane, Same};
use crate::screen::Screen;
use crate::strategies::Change;
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::Slots;
use obliquity_exchange::chart::{Chart, control_chart, control_text};
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

/// A strategy's accuracy with some numbers of control points.
#[derive(Debug, Clone, PartialEq)]
struct ControlOf {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for ControlOf {
    type Reply = Result<Vec<ControlTrial>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;

    fn told(&self) -> Option<&'static str> {
        Some("trying numbers of control points")
    }
}

/// What the screen remembers.
#[derive(Debug, Default)]
pub(in crate::app) struct BlockScreen {
    /// What was asked for before the other blocks, once.
    asked: Option<BlockOf>,
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
    /// Add the rows that tie its parts.
    TieRows(Id),
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
        let is_fresh = known.is_some_and(|known| known.block_freshness == Freshness::Fresh);
        if let Some(outcome) = of {
            let key = Graph { of: Same::of(&outcome) };
            self.jobs.request(key, move |_| Arc::new(TieGraph::new(&outcome)));
        }
        // What has just been edited is asked for with all figures.
        let comes = self.jobs.runs_beside(Lane::Figures)
            && !self.asked_for.as_ref().is_some_and(|asked| from.is(asked));
        let wanted = BlockOf { from, strategy };
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

    fn control_wanted(&self) -> Option<ControlOf> {
        Some(ControlOf { from: Same::of(self.document.scenario()), strategy: self.focus()? })
    }

    /// Has numbers of control points tried.
    pub fn try_control(&mut self) {
        let Some(key) = self.control_wanted() else { return };
        self.jobs.cancel(|own: &ControlOf| *own != key);
        let (engine, of) = (self.engine.clone(), key.clone());
        self.jobs.request(key, move |watch| {
            engine.control_trials(&of.from.0, of.strategy, (&CONTROL_COUNTS, Depth::Network), watch)
        });
    }

    /// What numbers of control points come to, as far as that is known.
    fn control_known(&self) -> ControlShown {
        let Some(key) = self.control_wanted() else { return ControlShown::Unasked };
        let scenario = self.document.scenario();
        let asked = scenario.requirement.accuracy;
        match self.jobs.known(&key).map(found) {
            Some(Ok(trials)) => {
                let placed = scenario.site.control_points.iter().filter(|point| point.role.is_control());
                let placed = u32::try_from(placed.count()).unwrap_or(u32::MAX);
                let units = self.home.units();
                ControlShown::Known {
                    text: control_text(trials, &asked, units),
                    chart: Box::new(control_chart(trials, &asked, placed, units)),
                }
            }
            Some(Err(why)) => ControlShown::Failed(why.to_owned()),
            None => match self.jobs.tenths(|own: &ControlOf| *own == key) {
                Some(tenths) => ControlShown::Runs { tenths },
                None => ControlShown::Unasked,
            },
        }
    }

    /// The diagrams as they are shown.
    pub(super) fn block_charts(&self) -> Vec<Chart> {
        let Some((Ok(outcome), _)) = self.block_known() else { return Vec::new() };
        let slot = Slots::of(self.document.scenario()).slot(outcome.strategy);
        let units = self.home.units();
        let mut charts =
            obliquity_exchange::chart::block_charts(outcome, slot, model::reach_m(outcome), units);
        if let ControlShown::Known { chart, .. } = self.control_known() {
            charts.push(*chart);
        }
        charts
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
            Some((Ok(outcome), Freshness::Fresh)) => match outcome.network {
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
            charts: self.block_charts(),
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
                BlockAsk::StopControl => self.jobs.cancel(|_: &ControlOf| true),
                BlockAsk::TieRows(strategy) => self.change(Change::TieRows(strategy)),
            }
        }
    }
}
