//! What was known before a setting was touched, so that a thin mark shows where it all stood while it is dragged.

use crate::figures::Figures;
use crate::settings::{Reading, Setting, readings};
use obliquity_planning::{Id, MEASURES, Measure, MeasureId, Scenario};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What was known before a setting was touched.
#[derive(Debug, Clone)]
pub struct Before {
    scenario: Arc<Scenario>,
    figures: BTreeMap<(Id, MeasureId), f64>,
}

impl Before {
    /// What is known of a scenario now.
    pub fn of(scenario: &Arc<Scenario>, figures: &Figures) -> Self {
        let of_strategy = |strategy: Id| {
            MEASURES.iter().filter_map(move |measure| {
                Some(((strategy, measure.id), read(figures, scenario, strategy, measure)?))
            })
        };
        let figures = scenario.strategies.iter().flat_map(|strategy| of_strategy(strategy.id)).collect();
        Before { scenario: Arc::clone(scenario), figures }
    }

    /// A figure of a strategy.
    ///
    /// # Units
    /// - returns: the measure's own
    pub(super) fn figure(&self, strategy: Id, measure: MeasureId) -> Option<f64> {
        self.figures.get(&(strategy, measure)).copied()
    }

    /// A setting of a strategy, in its knob's unit.
    pub(super) fn setting(&self, strategy: Id, setting: Setting) -> Option<f64> {
        let strategy = self.scenario.strategy(strategy)?;
        let own = |reading: &Reading| reading.setting == setting;
        readings(&self.scenario, strategy).into_iter().find(own).map(|reading| reading.value)
    }
}

/// A figure as the board shows it.
fn read(figures: &Figures, scenario: &Scenario, strategy: Id, measure: &Measure) -> Option<f64> {
    measure.read(figures.known(scenario, strategy)?.read_from(measure).0?)
}
