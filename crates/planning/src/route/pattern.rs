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
use geo::orient::Orient;
use geo::unary_union;
use geo::{LineString, MultiPolygon, Polygon};
use glam::DVec2;

/// What lays out the passes of a pattern, made of its settings.
trait PatternPlanner {
    /// How many exposures and strips a pass comes to, skipped ones included: arithmetic, before anything is laid.
    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError>;

    /// What its count does not exceed, where that is plain from its extent alone.
    fn count_at_most(&self, _task: PassTask<'_>) -> Option<Count> {
        None
    }

    /// Lays out a pass.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError>;

    /// How it can be run: one way for each corner that it may be begun at; none where there are no such corners.
    fn runs(&self, _task: PassTask<'_>) -> Result<Vec<Run>, PlanError> {
        Ok(Vec::new())
    }

    /// Outlines whose union is the area that its exposures are laid over; none where it goes by no area.
    fn region(&self, _task: PassTask<'_>) -> Result<Vec<Vec<DVec2>>, PlanError> {
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

/// An area with what is cut out of it.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionPart {
    /// Its outline.
    pub outline_m: Vec<DVec2>,
    /// What is cut out.
    pub holes_m: Vec<Vec<DVec2>>,
}

/// The area that a pass lays its exposures over: offset, shift, sweep and margin included, keep-outs cut out. None where the
/// pattern goes by no area: in front of walls, below decks, at places of its own.
///
/// # Units
/// - returns: metres of the site's frame
///
/// # Shape
/// Rings are open; outlines run counter-clockwise, holes clockwise.
///
/// # Errors
/// As [`plan_pass`], as far as that is known without laying it out.
pub fn pass_region(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<Vec<RegionPart>, PlanError> {
    let pieces = planner(&pass.pattern).region(PassTask { pass, aircraft, site, conditions })?;
    let polygon = |ring: &Vec<DVec2>| Polygon::new(ring.iter().map(|p| (p.x, p.y)).collect(), Vec::new());
    let pieces: Vec<Polygon> = pieces.iter().map(polygon).collect();
    let shut: Vec<Polygon> = site.keep_outs.iter().map(|keep_out| polygon(&keep_out.outline_m)).collect();
    let region: MultiPolygon = geo::BooleanOps::difference(&unary_union(&pieces), &unary_union(&shut));
    Ok(region.orient(geo::orient::Direction::Default).iter().map(part).collect())
}

fn part(polygon: &Polygon) -> RegionPart {
    let ring = |line: &LineString| -> Vec<DVec2> {
        // The last place is the first one again.
        line.coords().take(line.0.len().saturating_sub(1)).map(|c| DVec2::new(c.x, c.y)).collect()
    };
    RegionPart {
        outline_m: ring(polygon.exterior()),
        holes_m: polygon.interiors().iter().map(ring).collect(),
    }
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

/// What [`pass_count`] does not exceed, where that is plain without counting.
pub(crate) fn pass_count_at_most(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Option<Count> {
    planner(&pass.pattern).count_at_most(PassTask { pass, aircraft, site, conditions })
}
