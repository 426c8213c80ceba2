//! Passes that come, go and change places.

use crate::strategies::usual_distance;
use obliquity_planning::{
    Aim, Attitude, Distance, Id, Overlaps, Pass, PatternKind, Scenario, Site, SiteChoice, SiteTemplate,
    Strategy, TemplateStart,
};

/// Toward the beginning or the end of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Flown earlier.
    Earlier,
    /// Flown later.
    Later,
}

/// A pass to begin with on the scenario's site, with an identifier that is free. What leads the strategy leads this pass
/// too, except along walls and below decks, which start from the GSD required of them.
///
/// # Errors
/// Why the pattern does not fit the site, in words.
pub fn new_pass(scenario: &Scenario, strategy: &Strategy, kind: PatternKind) -> Result<Pass, String> {
    let aircraft = scenario.equipment.aircraft(strategy.aircraft).ok_or("the strategy has no aircraft")?;
    let distance = usual_distance(strategy);
    let id = scenario.free_id();
    let begun = || begins(kind, &scenario.site, distance).ok_or("the template has no such pass".to_owned());
    let template = TEMPLATES.iter().find(|(of, _)| *of == kind);
    let Some((_, template)) = template else { return Ok(Pass { id, ..begun()? }) };
    let gsd_cm = &scenario.requirement.gsd_cm;
    let start = TemplateStart { first_id: Id(0), aircraft, distance, gsd_cm };
    let laid = template.strategy(&scenario.site, &SiteChoice::default(), &start);
    let pass = match laid.map(|made| made.passes.into_iter().find(|pass| pass.pattern.kind() == kind)) {
        Ok(Some(pass)) => pass,
        Ok(None) => begun()?,
        Err(error) => begun().map_err(|_| error.to_string())?,
    };
    Ok(Pass { id, ..pass })
}

/// The templates that know what stands on the site, by the patterns whose passes are taken from them.
const TEMPLATES: [(PatternKind, SiteTemplate); 4] = [
    (PatternKind::Corridor, SiteTemplate::Corridor),
    (PatternKind::Orbit, SiteTemplate::NadirBlockWithOrbits),
    (PatternKind::Facade, SiteTemplate::FacadeWrap),
    (PatternKind::Underside, SiteTemplate::UndersideSections),
];

/// A pass of a pattern that needs nothing to stand on the site; nothing where it needs that. Overlaps are common practice,
/// no source.
fn begins(kind: PatternKind, site: &Site, distance: Distance) -> Option<Pass> {
    let about = kind.about();
    let look = if about.looks.is_own_tilt() {
        Attitude { tilt_deg: 45.0, aim: Aim::AtSubject { deg: 0.0 } }
    } else {
        Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } }
    };
    let distance = match distance {
        Distance::Height { above, .. } if !kind.flies_over() => Distance::Gsd { cm: 2.0, above },
        led => led,
    };
    Some(Pass {
        id: Id(0),
        pattern: about.begins?(site),
        attitudes: vec![look],
        distance,
        forward_overlap: 0.80,
        sidelap: if about.overlaps == Overlaps::Both { 0.70 } else { 0.60 },
        speed_mps: None,
        margin_m: None,
        hover_s: None,
    })
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
