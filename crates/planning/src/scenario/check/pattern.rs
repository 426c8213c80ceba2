use crate::base::Id;
use crate::geometry::polygon::{HULL_EASE_M, eased_m, hull_m};
use crate::scenario::check::{Checker, limits, shown};
use crate::scenario::{OrbitCentre, OrbitRadius, Pattern, Rings, Site, StripDirection};
use glam::DVec2;

/// Shortest leg of a corridor's line.
const LEG_M: f64 = 1.0;

pub(super) fn check(check: &mut Checker, site: &Site, path: &str, pattern: &Pattern) {
    match pattern {
        Pattern::Strips { direction, .. } => {
            let (field, deg) = match direction {
                StripDirection::Automatic { turned_deg } => ("turned_deg", turned_deg),
                StripDirection::FromNorth { deg } => ("deg", deg),
            };
            check.number(format!("{path}.direction.{field}"), *deg, limits::DIRECTION_DEG);
        }
        Pattern::Corridor { line_m, width_m, .. } => {
            check_line(check, &format!("{path}.line_m"), line_m);
            check.number(format!("{path}.width_m"), *width_m, limits::CORRIDOR_WIDTH_M);
        }
        Pattern::Orbit { around, radius, rings, target_height_m } => {
            check_centre(check, site, &format!("{path}.around"), around);
            if let OrbitRadius::Set { m } = radius {
                check.number(format!("{path}.radius.m"), *m, limits::ORBIT_RADIUS_M);
            }
            check_rings(check, &format!("{path}.rings"), rings);
            check.number(format!("{path}.target_height_m"), *target_height_m, limits::TARGET_HEIGHT_M);
        }
        Pattern::Facade { structure, others, walls, clearance_m, lowest_m } => {
            check_structure(check, site, &format!("{path}.structure"), *structure);
            check_structures(check, site, &format!("{path}.others"), others, &[*structure]);
            check_walls(check, site, path, &pattern.structures(), walls.as_deref());
            check.number(format!("{path}.clearance_m"), *clearance_m, limits::CLEARANCE_M);
            check.number(format!("{path}.lowest_m"), *lowest_m, limits::CLEARANCE_M);
        }
        Pattern::Underside { structure, sections, soffit_clearance_m, ground_clearance_m } => {
            check_structure(check, site, &format!("{path}.structure"), *structure);
            check.number(format!("{path}.sections"), f64::from(*sections), limits::SECTIONS);
            check.number(format!("{path}.soffit_clearance_m"), *soffit_clearance_m, limits::CLEARANCE_M);
            check.number(format!("{path}.ground_clearance_m"), *ground_clearance_m, limits::CLEARANCE_M);
        }
    }
}

fn check_structure(check: &mut Checker, site: &Site, path: &str, id: Id) {
    if !site.structures.iter().any(|structure| structure.id == id) {
        let message = format!(
            "the structure must be the id of one on the site, but none there has the id {id}; take one of them or add it"
        );
        check.fault(path, message);
    }
}

/// Structures that are taken as one with those `before`: each there, and none twice.
fn check_structures(check: &mut Checker, site: &Site, path: &str, ids: &[Id], before: &[Id]) {
    check.at_most(path, "structures taken as one", ids.len(), limits::STRUCTURES);
    for (index, id) in ids.iter().enumerate() {
        let path = format!("{path}[{index}]");
        check_structure(check, site, &path, *id);
        if before.contains(id) || ids[..index].contains(id) {
            let message = format!("each structure must be named once, but {id} comes again; leave one out");
            check.fault(path, message);
        }
    }
}

/// Sides of what the walls are those of: the footprint, or the ring round several structures; nothing where one is missing.
fn sides_of(site: &Site, ids: &[Id]) -> Option<usize> {
    let ring = |id: &Id| site.structures.iter().find(|s| s.id == *id).map(|s| s.footprint_m.as_slice());
    match ids.iter().map(ring).collect::<Option<Vec<_>>>()?.as_slice() {
        [one] => Some(one.len()),
        several => {
            Some(eased_m(&hull_m(several.iter().flat_map(|ring| ring.iter().copied())), HULL_EASE_M).len())
        }
    }
}

fn check_walls(check: &mut Checker, site: &Site, path: &str, ids: &[Id], walls: Option<&[u32]>) {
    let Some(walls) = walls else { return };
    let path = format!("{path}.walls");
    if walls.is_empty() {
        let message =
            "the walls must be at least one, but there are none; leave them out to take all".to_owned();
        check.fault(path.as_str(), message);
    }
    let Some(sides) = sides_of(site, ids) else { return };
    for (index, wall) in walls.iter().enumerate() {
        if *wall as usize >= sides {
            let message = format!(
                "a wall must be a side of the footprint or the hull, 0 to {}, but it is {wall}; take one of these",
                sides.saturating_sub(1)
            );
            check.fault(format!("{path}[{index}]"), message);
        } else if walls[..index].contains(wall) {
            let message = format!("each wall must be named once, but {wall} comes again; leave one out");
            check.fault(format!("{path}[{index}]"), message);
        }
    }
}

fn check_centre(check: &mut Checker, site: &Site, path: &str, around: &OrbitCentre) {
    match around {
        OrbitCentre::Structure(id) => check_structure(check, site, path, *id),
        OrbitCentre::Structures(ids) => {
            if ids.is_empty() {
                let message = "an orbit must go round at least one structure, but it names none; name one or give a place";
                check.fault(path, message.to_owned());
            }
            check_structures(check, site, path, ids, &[]);
        }
        OrbitCentre::Point { x_m, y_m } => {
            check.number(format!("{path}.x_m"), *x_m, limits::COORDINATE_M);
            check.number(format!("{path}.y_m"), *y_m, limits::COORDINATE_M);
        }
    }
}

fn check_rings(check: &mut Checker, path: &str, rings: &Rings) {
    match rings {
        Rings::At { heights_m } => {
            let path = format!("{path}.heights_m");
            if heights_m.is_empty() {
                let message =
                    "an orbit must have at least one ring, but it has none; add a height".to_owned();
                check.fault(path.as_str(), message);
            }
            check.at_most(path.as_str(), "rings in an orbit", heights_m.len(), limits::RINGS.most as usize);
            for (index, height_m) in heights_m.iter().enumerate() {
                check.number(format!("{path}[{index}]"), *height_m, limits::RING_HEIGHT_M);
            }
        }
        Rings::Evenly { count, lowest_m, step_m } => {
            check.number(format!("{path}.count"), f64::from(*count), limits::RINGS);
            check.number(format!("{path}.lowest_m"), *lowest_m, limits::RING_HEIGHT_M);
            check.number(format!("{path}.step_m"), *step_m, limits::RING_STEP_M);
        }
    }
}

fn check_line(check: &mut Checker, path: &str, line_m: &[DVec2]) {
    if line_m.len() < 2 {
        let message = format!(
            "a corridor's line must have at least 2 corners, but it has {}; add where it runs",
            line_m.len()
        );
        check.fault(path, message);
    }
    check.at_most(path, "corners in a corridor's line", line_m.len(), limits::LINE_CORNERS);
    for (index, corner) in line_m.iter().enumerate() {
        check.number(format!("{path}[{index}]"), corner.x, limits::COORDINATE_M);
        check.number(format!("{path}[{index}]"), corner.y, limits::COORDINATE_M);
    }
    for (index, pair) in line_m.windows(2).enumerate() {
        let length_m = pair[0].distance(pair[1]);
        if length_m < LEG_M {
            let message = format!(
                "corners of a corridor's line must be at least {LEG_M} m apart, but these are {} m; leave one out",
                shown(length_m)
            );
            check.fault(format!("{path}[{}]", index + 1), message);
        }
    }
    for (index, three) in line_m.windows(3).enumerate() {
        let turn_deg = (three[1] - three[0]).angle_to(three[2] - three[1]).to_degrees().abs();
        if turn_deg > limits::LINE_TURN_DEG {
            let message = format!(
                "a corridor's line must turn by at most {}° at a corner, but it turns by {turn_deg:.0}°; make two passes",
                limits::LINE_TURN_DEG
            );
            check.fault(format!("{path}[{}]", index + 1), message);
        }
    }
}
