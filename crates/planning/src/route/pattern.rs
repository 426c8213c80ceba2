//! From the settings of a pattern to its plan: one planner a pattern; everything outside asks them here.

mod corridor;
mod facade;
mod listed;
mod orbit;
mod strips;
mod underside;

use super::blur::slowed;
use super::order::Run;
use super::refusal::Count;
use super::sound::sound;
use super::task::PassTask;
use super::{PassPlan, PlanError};
use crate::ground::SiteOutline;
use crate::scenario::{Above, Aircraft, Conditions, Pass, Pattern};

/// What lays out the passes of a pattern, made of its settings.
trait PatternPlanner {
    /// How many exposures and strips a pass comes to, skipped ones included: arithmetic, before anything is laid.
    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError>;

    /// Lays out a pass.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError>;

    /// How it can be run: one way for each corner that it may be begun at; none where there are no such corners.
    fn runs(&self, _task: PassTask<'_>) -> Result<Vec<Run>, PlanError> {
        Ok(Vec::new())
    }
}

fn planner(pattern: &Pattern) -> &dyn PatternPlanner {
    match pattern {
        Pattern::Strips(strips) => strips,
        Pattern::Corridor(corridor) => corridor,
        Pattern::Orbit(orbit) => orbit,
        Pattern::Facade(facade) => facade,
        Pattern::Underside(underside) => underside,
        Pattern::Listed(listed) => listed,
    }
}

/// How a pass of strips can be run: one way for each corner that it may be begun at; none where there are no strips.
///
/// # Errors
/// As [`plan_pass`].
pub(crate) fn pass_runs(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<Vec<Run>, PlanError> {
    planner(&pass.pattern).runs(PassTask { pass, aircraft, site, conditions })
}

/// Lays out one pass: legs, stations and the terms behind them.
///
/// # Errors
/// [`PlanError`] when this aircraft cannot fly it here (its gimbal stops too early, there is no room, it would fly into
/// something), when it comes to more than a strategy may have, or when keep-outs close it in.
pub fn plan_pass(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let plan = planner(&pass.pattern).plan(PassTask { pass, aircraft, site, conditions })?;
    let plan = sound(plan, site)?;
    let follows = plan.layout.above == Above::Ground && plan.pattern.flies_over();
    Ok(if follows { slowed(plan, pass, aircraft, site, conditions) } else { plan })
}

/// How many exposures and strips a pass comes to, skipped ones included: arithmetic on its settings and the boundary,
/// before anything is laid out.
///
/// # Errors
/// As [`plan_pass`], as far as that is known without laying it out.
pub(crate) fn pass_count(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<Count, PlanError> {
    planner(&pass.pattern).count(PassTask { pass, aircraft, site, conditions })
}
