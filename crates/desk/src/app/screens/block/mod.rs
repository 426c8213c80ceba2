//! Whether the images of a strategy hold together, and how well they tell the camera and what is measured.

mod graph;
mod model;
mod view;

use self::graph::TieGraph;
use self::model::BlockSheet;
use crate::app::App;
use crate::app::requests::found;
use crate::chart_files::ChartsAs;
use crate::dialogs::Purpose;
use crate::engine::Failure;
use crate::jobs::{Key, Lane, Same};
use crate::screen::Screen;
use crate::theme::{self, space};
use crate::tsv;
use egui::{Frame, Ui};
use obliquity_exchange::Slots;
use obliquity_exchange::chart::Chart;
use obliquity_planning::{Depth, Id, Outcome, Scenario};
use std::sync::Arc;

/// What the images of a strategy tell if they are adjusted together.
#[derive(Debug, Clone, PartialEq)]
struct BlockOf {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for BlockOf {
    type Reply = Result<(Outcome, Arc<TieGraph>), Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;

    fn told(&self) -> Option<&'static str> {
        Some("adjusting the block")
    }
}

/// What the screen remembers.
#[derive(Debug, Default)]
pub(in crate::app) struct BlockScreen {
    /// What was stopped before it was worked out.
    stopped: Option<BlockOf>,
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
}

impl App {
    fn block_wanted(&self) -> Option<BlockOf> {
        let scenario = self.document.scenario();
        Some(BlockOf { from: Same::of(scenario), strategy: self.focus()? })
    }

    /// Has the block of the strategy in focus worked out.
    pub(super) fn follow_block(&mut self) {
        let Some(key) = self.block_wanted() else { return };
        if self.block.stopped.as_ref() == Some(&key) {
            return;
        }
        self.block.stopped = None;
        self.jobs.cancel(|own: &BlockOf| *own != key);
        let (engine, of) = (self.engine.clone(), key.clone());
        self.jobs.request(key, move |watch| {
            let outcome = engine.evaluate(&of.from.0, of.strategy, Depth::Network, watch)?;
            let graph = Arc::new(TieGraph::new(&outcome));
            Ok((outcome, graph))
        });
    }

    fn block_known(&self) -> Option<Result<&(Outcome, Arc<TieGraph>), &str>> {
        let answer = self.jobs.known(&self.block_wanted()?)?;
        Some(found(answer))
    }

    /// The diagrams as they are shown.
    pub(super) fn block_charts(&self) -> Vec<Chart> {
        let Some(Ok((outcome, _))) = self.block_known() else { return Vec::new() };
        let slot = Slots::of(self.document.scenario()).slot(outcome.strategy);
        obliquity_exchange::chart::block_charts(outcome, slot, model::reach_m(outcome), self.home.units())
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
        let key = self.block_wanted()?;
        let known = self.block_known();
        let given = model::GivenBlock {
            scenario: self.document.scenario(),
            strategy: key.strategy,
            outcome: known.map(|known| known.map(|(outcome, _)| outcome)),
            is_stopped: self.block.stopped.as_ref() == Some(&key),
            graph: known.and_then(Result::ok).map(|(_, graph)| Arc::clone(graph)),
            charts: self.block_charts(),
            units: self.home.units(),
        };
        BlockSheet::new(given)
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
                    self.jobs.cancel(|_: &BlockOf| true);
                    self.block.stopped = self.block_wanted();
                }
                BlockAsk::Resume => self.block.stopped = None,
            }
        }
    }
}
