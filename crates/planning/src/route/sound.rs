//! Whether what was laid out can be flown.

use super::refusal::SHOWS_NOTHING;
use super::{Airspace, Leg, LegKind, PassPlan, PlanError};
use crate::ground::SiteOutline;
use glam::DVec3;

/// A pass at a height that comes nearer to the ground flies into it. Common practice, no source.
const LEAST_ABOVE_GROUND_M: f64 = 2.0;

/// The plan itself, where it shows anything of the site and flies into nothing. Passes that keep a stand-off have seen
/// to that while they were laid out.
///
/// # Errors
/// [`PlanError::CannotBeFlown`]
pub(super) fn sound(plan: PassPlan, site: &SiteOutline) -> Result<PassPlan, PlanError> {
    if !plan.pattern.flies_over() {
        return Ok(plan);
    }
    if plan.stations.poses.is_empty() {
        return Err(PlanError::because(SHOWS_NOTHING));
    }
    match collision(&plan, site) {
        Some(reason) => Err(PlanError::because(reason)),
        None => Ok(plan),
    }
}

/// What a pass at a height flies into: something that stands beyond the boundary, or the ground.
fn collision(plan: &PassPlan, site: &SiteOutline) -> Option<String> {
    let airspace = Airspace { site, clearance_m: 0.0 };
    if plan.layout.lowest_m + site.reference_z_m <= site.highest_z_m {
        let strips = plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
        let corners = |leg: &Leg| leg.corners_m().collect::<Vec<DVec3>>();
        let into = strips.map(corners).find_map(|corners| Some(airspace.too_near(&corners, 0.0)?.to_owned()));
        if let Some(name) = into {
            return Some(format!("flies into \"{name}\"; raise it"));
        }
    }
    let least_m = plan.ground.map_or(f64::INFINITY, |ground| ground.lowest_m);
    (least_m < LEAST_ABOVE_GROUND_M)
        .then(|| format!("comes to {least_m:.0} m above the ground; raise it or have it follow the ground"))
}
