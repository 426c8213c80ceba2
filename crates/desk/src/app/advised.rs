//! Advice that was found for one strategy of one scenario.

use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{Id, Scenario};
use std::sync::Arc;

/// What was found when strips were turned.
#[derive(Debug)]
pub(super) struct Advised {
    pub(super) from: Arc<Scenario>,
    pub(super) strategy: Id,
    pub(super) found: Result<WindAdvice, String>,
}

impl Advised {
    pub(super) fn new(from: Arc<Scenario>, strategy: Id, found: Result<WindAdvice, String>) -> Self {
        Advised { from, strategy, found }
    }
}

/// What was found when passes were begun at other corners.
#[derive(Debug)]
pub(super) struct Cornered {
    pub(super) from: Arc<Scenario>,
    pub(super) strategy: Id,
    pub(super) found: Result<CornerAdvice, String>,
}
