use super::order::{Corner, Run};
use super::{PassPlan, PlanError, corridor, facade, orbit, strips, underside};
use crate::{Aircraft, Conditions, Pass, Pattern, SiteOutline};

/// Lays out one pass: legs, stations and the terms behind them.
///
/// A pass that this aircraft cannot fly here (its gimbal stops too early, there is no room) has a plan without legs
/// that says why; see [`PassPlan::refused`].
///
/// # Errors
/// [`PlanError`] when the pass is beyond counting or keep-outs close it in.
pub fn plan_pass(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    plan_pass_from(pass, aircraft, site, conditions, None)
}

/// How a pass can be run: one way for each corner that it may be begun at. Only strips over an area have a choice; the
/// others are none here and run as their plan does.
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
        Pattern::Strips { direction, counting } => {
            strips::runs(pass, (direction, counting), aircraft, site, conditions)
        }
        _ => Ok(Vec::new()),
    }
}

/// As [`plan_pass`], begun at a corner; absent, at the one nearest to the take-off point.
pub(crate) fn plan_pass_from(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
    begin: Option<Corner>,
) -> Result<PassPlan, PlanError> {
    match &pass.pattern {
        Pattern::Strips { direction, counting } => {
            strips::plan(pass, (direction, counting), aircraft, site, conditions, begin)
        }
        Pattern::Corridor { line_m, width_m, counting } => {
            let corridor = corridor::Corridor { line_m, width_m: *width_m, counting: *counting };
            corridor::plan(pass, &corridor, aircraft, site, conditions)
        }
        Pattern::Orbit { around, radius, rings, target_height_m } => {
            let orbit = orbit::Orbit {
                around: *around,
                radius: *radius,
                heights_m: rings.heights_m(),
                target_height_m: *target_height_m,
            };
            orbit::plan(pass, &orbit, aircraft, site, conditions)
        }
        Pattern::Facade { structure, walls, clearance_m, lowest_m } => {
            let facade = facade::Facade {
                structure: *structure,
                walls: walls.as_deref(),
                clearance_m: *clearance_m,
                lowest_m: *lowest_m,
            };
            facade::plan(pass, &facade, aircraft, site, conditions)
        }
        Pattern::Underside { structure, sections, soffit_clearance_m, ground_clearance_m } => {
            let underside = underside::Underside {
                structure: *structure,
                sections: *sections,
                soffit_clearance_m: *soffit_clearance_m,
                ground_clearance_m: *ground_clearance_m,
            };
            underside::plan(pass, &underside, aircraft, site, conditions)
        }
    }
}
