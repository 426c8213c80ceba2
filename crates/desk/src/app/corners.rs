//! Passes begun at other corners: tried on a thread of their own, told, and taken.

use super::App;
use crate::amendment::{Amendment, Part};
use crate::corner_advice::{Corners, CornersAsk, State};
use crate::document::Edit;
use crate::errand::Errand;
use egui::Context;
use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::{Id, NoWatch, Scenario};
use std::sync::Arc;

/// What was asked about one strategy of one scenario, and what has come of it.
#[derive(Debug)]
pub(super) struct Cornered {
    from: Arc<Scenario>,
    strategy: Id,
    come: Come,
}

#[derive(Debug)]
enum Come {
    Nothing(Errand<CornerAdvice>),
    Found(Result<CornerAdvice, String>),
}

impl App {
    /// Tries other corners for the strategy in focus, on this thread.
    pub fn advise_on_corners(&mut self) {
        let from = Arc::clone(self.document.scenario());
        let Some(strategy) = self.focus() else { return };
        let found = self.engine.corner_advice(&from, strategy, &NoWatch).map_err(|why| why.to_string());
        self.side.cornered = Some(Cornered { from, strategy, come: Come::Found(found) });
    }

    /// Has other corners tried; on this thread where the window has no other.
    fn try_corners(&mut self, ctx: &Context) {
        let (engine, from) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        let Some(strategy) = self.focus() else { return };
        if self.worker.is_none() {
            return self.advise_on_corners();
        }
        let (scenario, repaint) = (Arc::clone(&from), ctx.clone());
        let started = Errand::start(
            move |watch| engine.corner_advice(&scenario, strategy, watch),
            move || repaint.request_repaint(),
        );
        let come = match started {
            Ok(errand) => Come::Nothing(errand),
            Err(error) => Come::Found(Err(format!("the system gives no thread: {error}"))),
        };
        self.side.cornered = Some(Cornered { from, strategy, come });
    }

    /// Hears what has come of the other corners.
    pub(super) fn hear_of_corners(&mut self) {
        let Some(Cornered { come, from, .. }) = &mut self.side.cornered else { return };
        // What is no longer asked about is given up.
        if !Arc::ptr_eq(from, self.document.scenario()) {
            self.side.cornered = None;
            return;
        }
        if let Come::Nothing(errand) = come
            && let Some(result) = errand.poll()
        {
            *come = Come::Found(result.map_err(|why| why.to_string()));
        }
    }

    /// What is known of the corners of a strategy's passes.
    pub(super) fn corners<'a>(&'a self, scenario: &'a Arc<Scenario>, strategy: Id) -> Corners<'a> {
        let fits = |known: &&Cornered| Arc::ptr_eq(&known.from, scenario) && known.strategy == strategy;
        let state = match self.side.cornered.as_ref().filter(fits).map(|known| &known.come) {
            None => State::Unasked,
            Some(Come::Nothing(_)) => State::Trying,
            Some(Come::Found(found)) => State::Found(found.as_ref().map_err(String::as_str)),
        };
        let name = scenario.strategy(strategy).map_or("the strategy", |known| known.name.as_str());
        Corners { strategy: name, state }
    }

    pub(super) fn corners_asked(&mut self, ask: CornersAsk, ctx: &Context) {
        match ask {
            CornersAsk::Try => self.try_corners(ctx),
            CornersAsk::Begin => {
                let Some(Cornered { strategy, come: Come::Found(Ok(CornerAdvice::Begin(other))), .. }) =
                    &self.side.cornered
                else {
                    return;
                };
                let (strategy, passes) = (*strategy, other.passes.clone());
                let name = self.document.scenario().strategy(strategy).map_or("", |s| s.name.as_str());
                let what = format!("corners of {name}");
                self.document.end_gesture();
                self.edit(&Edit::Amend(Amendment { what, part: Part::Passes(strategy, passes) }));
                self.document.end_gesture();
            }
        }
    }
}
