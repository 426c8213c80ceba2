use crate::base::limits;
use crate::geometry::polygon::{area_m2, contains, sides};
use crate::scenario::check::check_numbers;
use crate::scenario::check::outline::coordinate_message;
use crate::scenario::check::outline_faults;
use crate::scenario::faults::{Checker, shown};
use crate::scenario::{KeepOut, Pier, Site, Structure, StructureKind, Terrain, TypicalBuilding, knob};
use glam::DVec2;

pub(super) fn check(check: &mut Checker, site: &Site) {
    check.name("site.name", "site", &site.name);
    check_numbers(check, &[&knob::GROUND, &knob::TYPICAL], site, &str::to_owned);
    check_numbers(check, &[&knob::EARTH], site, &str::to_owned);
    if !corners_in_all(check, site) {
        return;
    }
    check.outline("site.boundary_m", "boundary", &site.boundary_m);
    check_take_off(check, "site.take_off_m", "the take-off point", (site, site.take_off_m));
    check_terrain(check, site);
    check_structures(check, site);
    if let Some(building) = site.typical_building {
        check_typical(check, site, building);
    }
    check_keep_outs(check, site);
    check_control_points(check, site);
    if let Some(spacing_m) = site.sample_spacing_m {
        check_spacing(check, site, spacing_m);
    }
}

/// Looking for crossings takes time: refuse absurd sites before it.
fn corners_in_all(check: &mut Checker, site: &Site) -> bool {
    check.at_most("site.structures", "structures", site.structures.len(), limits::STRUCTURES);
    check.at_most("site.keep_outs", "keep-outs", site.keep_outs.len(), limits::STRUCTURES);
    let structures: usize = site.structures.iter().map(corners).sum();
    let keep_outs: usize = site.keep_outs.iter().map(|k| k.outline_m.len()).sum();
    let corners = site.boundary_m.len() + structures + keep_outs;
    check.at_most("site", "corners in all outlines together", corners, limits::CORNERS_IN_ALL);
    corners <= limits::CORNERS_IN_ALL
}

/// Corners of a structure's outlines.
fn corners(structure: &Structure) -> usize {
    let piers: usize = match &structure.kind {
        StructureKind::Extrusion { .. } => 0,
        StructureKind::Deck { piers, .. } => piers.iter().map(|pier| pier.footprint_m.len()).sum(),
    };
    structure.footprint_m.len() + piers
}

/// A place to take off at, the site's or a strategy's.
pub(super) fn check_take_off(check: &mut Checker, path: &str, what: &str, (site, at): (&Site, DVec2)) {
    if !limits::COORDINATE_M.holds(at.x) || !limits::COORDINATE_M.holds(at.y) {
        check.fault(path, format!("{what} {}", coordinate_message(at)));
        return;
    }
    // Inside and outside mean something only of a sound outline; an unsound one is told by itself.
    let holds_it = |keep_out: &&KeepOut| {
        contains(&keep_out.outline_m, at) && outline_faults(&keep_out.outline_m).is_empty()
    };
    for keep_out in site.keep_outs.iter().filter(holds_it) {
        let message = format!(
            "{what} must lie outside every keep-out, but it lies inside \"{}\"; move one of them",
            keep_out.name
        );
        check.fault(path, message);
    }
}

fn check_terrain(check: &mut Checker, site: &Site) {
    let grid = match &site.terrain {
        Terrain::Plane { .. } => return,
        Terrain::Grid(grid) => grid,
    };
    let beyond = |at: &&DVec2| at.is_finite() && !grid.covers(**at);
    let places = site.boundary_m.iter().chain([&site.take_off_m]);
    if let Some(at) = places.clone().find(beyond) {
        let (low, high) = (grid.south_west_m(), grid.north_east_m());
        let message = format!(
            "the terrain must lie under the whole boundary and the take-off point, but it reaches from ({}, {}) to \
             ({}, {}) and ({}, {}) lies outside; import heights of a larger area",
            shown(low.x),
            shown(low.y),
            shown(high.x),
            shown(high.y),
            shown(at.x),
            shown(at.y)
        );
        check.fault("site.terrain", message);
    }
}

fn check_structures(check: &mut Checker, site: &Site) {
    let list = &site.structures;
    check.unique("structure", list.iter().enumerate().map(|(i, s)| (format!("site.structures[{i}]"), s.id)));
    for (index, structure) in list.iter().enumerate() {
        let path = format!("site.structures[{index}]");
        check.name(format!("{path}.name"), "structure", &structure.name);
        let what = format!("footprint of \"{}\"", structure.name);
        check.outline(&format!("{path}.footprint_m"), &what, &structure.footprint_m);
        let place = |field: &str| field.replace("site.structures[]", &path);
        check_numbers(check, &[&knob::STANDING], structure, &place);
        match &structure.kind {
            StructureKind::Extrusion { .. } => {}
            StructureKind::Deck { soffit_m, top_m, piers } => {
                check_deck(check, &format!("{path}.kind"), structure, (*soffit_m, *top_m));
                check_piers(check, &format!("{path}.kind.piers"), structure, piers);
            }
        }
    }
}

fn check_deck(check: &mut Checker, path: &str, deck: &Structure, (soffit_m, top_m): (f64, f64)) {
    if top_m - soffit_m < limits::DECK_THICKNESS_M {
        let message = format!(
            "the top of \"{}\" must lie at least {} m above its underside, but the top is at {} m and the underside \
             at {} m; give both above the ground",
            deck.name,
            limits::DECK_THICKNESS_M,
            shown(top_m),
            shown(soffit_m)
        );
        check.fault(format!("{path}.top_m"), message);
    }
}

fn check_piers(check: &mut Checker, path: &str, deck: &Structure, piers: &[Pier]) {
    let sound = outline_faults(&deck.footprint_m).is_empty();
    for (index, pier) in piers.iter().enumerate() {
        let (number, path) = (index + 1, format!("{path}[{index}].footprint_m"));
        let name = &deck.name;
        check.outline(&path, &format!("footprint of pier {number} of \"{name}\""), &pier.footprint_m);
        let beyond = |at: &&DVec2| !within(&deck.footprint_m, **at);
        if let Some(at) = pier.footprint_m.iter().find(beyond).filter(|at| sound && at.is_finite()) {
            let message = format!(
                "pier {number} must stand within the footprint of \"{name}\", but its corner ({}, {}) lies outside; \
                 move it, or draw it as a structure of its own",
                shown(at.x),
                shown(at.y)
            );
            check.fault(path, message);
        }
    }
}

/// Whether a place is inside an outline or, to a millimetre, on its edge.
fn within(outline_m: &[DVec2], at: DVec2) -> bool {
    let on_side = |(a, b): (DVec2, DVec2)| {
        let along = ((at - a).dot(b - a) / a.distance_squared(b).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        a.lerp(b, along).distance(at) <= 1e-3
    };
    contains(outline_m, at) || sides(outline_m).any(on_side)
}

fn check_typical(check: &mut Checker, site: &Site, building: TypicalBuilding) {
    let path = "site.typical_building";
    let widest_m = building.width_m.max(building.depth_m);
    if building.spacing_m <= widest_m {
        let message = format!(
            "typical buildings must stand apart, but the spacing of {} m leaves no gap between sides of {} m; \
             give the distance from centre to centre",
            shown(building.spacing_m),
            shown(widest_m)
        );
        check.fault(format!("{path}.spacing_m"), message);
    }
    let count = area_m2(&site.boundary_m) / (building.spacing_m * building.spacing_m);
    if count > limits::TYPICAL_BUILDINGS {
        let message = format!(
            "there must be at most {} typical buildings on the site, but the spacing asks for about {count:.0}; widen it",
            limits::TYPICAL_BUILDINGS
        );
        check.fault(format!("{path}.spacing_m"), message);
    }
}

fn check_keep_outs(check: &mut Checker, site: &Site) {
    for (index, keep_out) in site.keep_outs.iter().enumerate() {
        let path = format!("site.keep_outs[{index}]");
        check.name(format!("{path}.name"), "keep-out", &keep_out.name);
        let what = format!("keep-out \"{}\"", keep_out.name);
        check.outline(&format!("{path}.outline_m"), &what, &keep_out.outline_m);
    }
}

fn check_control_points(check: &mut Checker, site: &Site) {
    let points = &site.control_points;
    let most = limits::CONTROL_POINT_PLACES;
    check.at_most("site.control_points", "places of control points", points.len(), most);
    for (index, point) in points.iter().enumerate().take(most) {
        let path = format!("site.control_points[{index}]");
        check.name(format!("{path}.name"), "control point", &point.name);
        if !limits::COORDINATE_M.holds(point.at_m.x) || !limits::COORDINATE_M.holds(point.at_m.y) {
            let message = format!("control point \"{}\" {}", point.name, coordinate_message(point.at_m));
            check.fault(format!("{path}.at_m"), message);
        }
    }
}

fn check_spacing(check: &mut Checker, site: &Site, spacing_m: f64) {
    let count = area_m2(&site.boundary_m) / (spacing_m * spacing_m);
    if limits::SAMPLE_SPACING_M.holds(spacing_m) && count > limits::SAMPLES {
        let message = format!(
            "sample spacing must ask for at most {} samples on the ground, but {spacing_m} m asks for about {count:.0}; \
             widen it or leave it out to have it chosen",
            limits::SAMPLES
        );
        check.fault("site.sample_spacing_m", message);
    }
}
