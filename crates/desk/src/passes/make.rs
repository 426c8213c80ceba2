//! Passes that come, go and change places.

use crate::strategies::usual_distance;
use obliquity_planning::{
    Aim, Attitude, CountingRule, Distance, Id, OrbitCentre, OrbitRadius, Pass, Pattern, PatternKind, Rings,
    Scenario, SiteChoice, SiteTemplate, Strategy, StripDirection, polygon,
};

/// Toward the beginning or the end of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Flown earlier.
    Earlier,
    /// Flown later.
    Later,
}

/// The pattern as buttons and lists begin with it.
pub fn kind_name(kind: PatternKind) -> &'static str {
    match kind {
        PatternKind::Strips => "Strips",
        PatternKind::Corridor => "Corridor",
        PatternKind::Orbit => "Orbit",
        PatternKind::Facade => "Facade",
        PatternKind::Underside => "Underside",
    }
}

/// A pass to begin with on the scenario's site, with an identifier that is free. A GSD that leads the strategy leads
/// this pass too.
///
/// # Errors
/// Why the pattern does not fit the site, in words.
pub fn new_pass(scenario: &Scenario, strategy: &Strategy, kind: PatternKind) -> Result<Pass, String> {
    let aircraft = scenario.equipment.aircraft(strategy.aircraft).ok_or("the strategy has no aircraft")?;
    let distance = usual_distance(strategy);
    let template = match kind {
        PatternKind::Strips => return Ok(strips(scenario.free_id(), distance)),
        PatternKind::Corridor => SiteTemplate::Corridor,
        PatternKind::Orbit => SiteTemplate::NadirBlockWithOrbits,
        PatternKind::Facade => SiteTemplate::FacadeWrap,
        PatternKind::Underside => SiteTemplate::UndersideSections,
    };
    let laid = template.strategy(&scenario.site, &SiteChoice::default(), Id(0), aircraft, distance);
    let found = laid.map(|made| made.passes.into_iter().find(|pass| pass.pattern.kind() == kind));
    let pass = match found {
        Ok(Some(pass)) => pass,
        // A place can be gone round where nothing stands.
        Ok(None) | Err(_) if kind == PatternKind::Orbit => orbit_of_a_place(scenario, distance),
        Ok(None) => return Err("the template has no such pass".to_owned()),
        Err(error) => return Err(error.to_string()),
    };
    Ok(Pass { id: scenario.free_id(), ..pass })
}

fn strips(id: Id, distance: Distance) -> Pass {
    let direction = StripDirection::Automatic { turned_deg: 0.0 };
    Pass {
        id,
        pattern: Pattern::Strips { direction, counting: CountingRule::default() },
        attitudes: vec![Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } }],
        distance,
        forward_overlap: 0.80,
        sidelap: 0.70,
        speed_mps: None,
        margin_m: None,
        hover_s: None,
    }
}

/// Overlaps, height and what is looked at are common practice, no source.
fn orbit_of_a_place(scenario: &Scenario, distance: Distance) -> Pass {
    let middle = polygon::centroid_m(&scenario.site.boundary_m);
    let distance = match distance {
        Distance::Height { above, .. } => Distance::Gsd { cm: 2.0, above },
        led => led,
    };
    Pass {
        pattern: Pattern::Orbit {
            around: OrbitCentre::Point { x_m: middle.x.round(), y_m: middle.y.round() },
            radius: OrbitRadius::StandOff,
            rings: Rings::Evenly { count: 1, lowest_m: 40.0, step_m: 10.0 },
            target_height_m: 0.0,
        },
        attitudes: vec![Attitude { tilt_deg: 45.0, aim: Aim::AtSubject { deg: 0.0 } }],
        sidelap: 0.60,
        ..strips(Id(0), distance)
    }
}

/// The passes with one more after the one that is chosen.
pub fn added(passes: &[Pass], after: Option<Id>, pass: Pass) -> Vec<Pass> {
    let at = after.and_then(|id| place(passes, id)).map_or(passes.len(), |at| at + 1);
    let mut passes = passes.to_vec();
    passes.insert(at, pass);
    passes
}

/// The passes with a copy of one after it.
pub fn duplicated(passes: &[Pass], of: Id, free: Id) -> Vec<Pass> {
    let copy = passes.iter().find(|pass| pass.id == of).map(|pass| Pass { id: free, ..pass.clone() });
    copy.map_or_else(|| passes.to_vec(), |copy| added(passes, Some(of), copy))
}

/// The passes without one; the last one stays.
pub fn removed(passes: &[Pass], id: Id) -> Vec<Pass> {
    let rest: Vec<Pass> = passes.iter().filter(|pass| pass.id != id).cloned().collect();
    if rest.is_empty() { passes.to_vec() } else { rest }
}

/// The passes with one past its neighbour; at the end it stays.
pub fn moved(passes: &[Pass], id: Id, order: Order) -> Vec<Pass> {
    let mut passes = passes.to_vec();
    if let Some(at) = place(&passes, id) {
        let to = match order {
            Order::Earlier => at.saturating_sub(1),
            Order::Later => (at + 1).min(passes.len() - 1),
        };
        passes.swap(at, to);
    }
    passes
}

fn place(passes: &[Pass], id: Id) -> Option<usize> {
    passes.iter().position(|pass| pass.id == id)
}
