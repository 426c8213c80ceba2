use super::blur::slowed;
use super::order::Run;
use super::refusal::Count;
use super::sound::sound;
use super::{PassPlan, PlanError, corridor, facade, orbit, strips, underside};
use crate::ground::SiteOutline;
use crate::scenario::{Above, Aircraft, Conditions, Pass, Pattern};

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
    match &pass.pattern {
        Pattern::Strips { direction, counting, .. } => {
            strips::runs(pass, (direction, counting), aircraft, site, conditions)
        }
        _ => Ok(Vec::new()),
    }
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
    let plan = match Layout::of(pass) {
        Layout::Strips(lines, begin) => strips::plan(pass, lines, begin, aircraft, site, conditions),
        Layout::Corridor(corridor) => corridor::plan(pass, &corridor, aircraft, site, conditions),
        Layout::Orbit(orbit) => orbit::plan(pass, &orbit, aircraft, site, conditions),
        Layout::Facade(facade) => facade::plan(pass, &facade, aircraft, site, conditions),
        Layout::Underside(underside) => underside::plan(pass, &underside, aircraft, site, conditions),
    }?;
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
    match Layout::of(pass) {
        Layout::Strips(lines, _) => strips::count(pass, lines, aircraft, site, conditions),
        Layout::Corridor(corridor) => corridor::count(pass, &corridor, aircraft, site, conditions),
        Layout::Orbit(orbit) => orbit::count(pass, &orbit, aircraft, site, conditions),
        Layout::Facade(facade) => facade::count(pass, &facade, aircraft, site, conditions),
        Layout::Underside(underside) => underside::count(pass, &underside, aircraft, site, conditions),
    }
}

/// The settings of a pattern as its planner takes them.
enum Layout<'a> {
    Strips(
        (&'a crate::scenario::StripDirection, &'a crate::scenario::CountingRule),
        crate::scenario::BeginAt,
    ),
    Corridor(corridor::Corridor<'a>),
    Orbit(orbit::Orbit),
    Facade(facade::Facade<'a>),
    Underside(underside::Underside),
}

impl<'a> Layout<'a> {
    fn of(pass: &'a Pass) -> Self {
        match &pass.pattern {
            Pattern::Strips { direction, counting, begin } => Layout::Strips((direction, counting), *begin),
            Pattern::Corridor { line_m, width_m, counting } => {
                Layout::Corridor(corridor::Corridor { line_m, width_m: *width_m, counting: *counting })
            }
            Pattern::Orbit { around, radius, rings, target_height_m } => Layout::Orbit(orbit::Orbit {
                around: around.clone(),
                radius: *radius,
                heights_m: rings.heights_m(),
                target_height_m: *target_height_m,
            }),
            Pattern::Facade { walls, clearance_m, lowest_m, .. } => Layout::Facade(facade::Facade {
                structures: pass.pattern.structures(),
                walls: walls.as_deref(),
                clearance_m: *clearance_m,
                lowest_m: *lowest_m,
            }),
            Pattern::Underside { structure, sections, soffit_clearance_m, ground_clearance_m } => {
                Layout::Underside(underside::Underside {
                    structure: *structure,
                    sections: *sections,
                    soffit_clearance_m: *soffit_clearance_m,
                    ground_clearance_m: *ground_clearance_m,
                })
            }
        }
    }
}
