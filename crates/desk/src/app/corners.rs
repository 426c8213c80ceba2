//! Passes begun at other corners: tried beside the window, told, and taken.

use super::App;
use super::requests::{OtherCorners, found};
use crate::amendment::{Amendment, Part};
use crate::corner_advice::{Corners, CornersAsk, State};
use crate::document::Edit;
use crate::jobs::Same;
use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::{Id, Scenario};
use std::sync::Arc;

impl App {
    /// Tries other corners for the strategy in focus.
    pub fn advise_on_corners(&mut self) {
        if let Some(strategy) = self.focus() {
            self.try_corners(strategy);
        }
    }

    /// What is known of the corners of a strategy's passes.
    pub(super) fn corners<'a>(&'a self, scenario: &'a Arc<Scenario>, strategy: Id) -> Corners<'a> {
        let key = OtherCorners { from: Same::of(scenario), strategy };
        let state = match self.jobs.known(&key) {
            Some(known) => State::Found(found(known)),
            None if self.jobs.is_open(|_: &OtherCorners| true) => State::Trying,
            None => State::Unasked,
        };
        let name = scenario.strategy(strategy).map_or("the strategy", |known| known.name.as_str());
        Corners { strategy: name, state }
    }

    pub(super) fn corners_asked(&mut self, ask: CornersAsk) {
        match ask {
            CornersAsk::Try => self.advise_on_corners(),
            CornersAsk::Begin => {
                let Some(strategy) = self.focus() else { return };
                let key = OtherCorners { from: Same::of(self.document.scenario()), strategy };
                let Some(Ok(Ok(CornerAdvice::Begin(other)))) = self.jobs.known(&key) else { return };
                let passes = other.passes.clone();
                let name = self.document.scenario().strategy(strategy).map_or("", |s| s.name.as_str());
                let what = format!("corners of {name}");
                self.document.end_gesture();
                self.edit(&Edit::Amend(Amendment {
                    what: what.into(),
                    part: Part::Passes(strategy, passes),
                }));
                self.document.end_gesture();
            }
        }
    }
}
