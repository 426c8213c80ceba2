use super::outline::coordinate_message;
use super::{Checker, limits, outline_area_m2, outline_contains, shown};
use crate::{Site, StructureKind, Terrain, TypicalBuilding};

pub(super) fn check(check: &mut Checker, site: &Site) {
    check.name("site.name", "site", &site.name);
    if let Some(origin) = site.origin {
        check.number("site.origin.latitude_deg", origin.latitude_deg, limits::LATITUDE_DEG);
        check.number("site.origin.longitude_deg", origin.longitude_deg, limits::LONGITUDE_DEG);
    }
    if !corners_in_all(check, site) {
        return;
    }
    check.outline("site.boundary_m", "boundary", &site.boundary_m);
    check_take_off(check, site);
    let Terrain::Plane { at_origin_m, slope_east, slope_north } = site.terrain;
    check.number("site.terrain.at_origin_m", at_origin_m, limits::TERRAIN_HEIGHT_M);
    check.number("site.terrain.slope_east", slope_east, limits::SLOPE);
    check.number("site.terrain.slope_north", slope_north, limits::SLOPE);
    check_structures(check, site);
    if let Some(building) = site.typical_building {
        check_typical(check, site, building);
    }
    check_keep_outs(check, site);
    if let Some(spacing_m) = site.sample_spacing_m {
        check_spacing(check, site, spacing_m);
    }
}

/// Looking for crossings takes time: refuse absurd sites before it.
fn corners_in_all(check: &mut Checker, site: &Site) -> bool {
    check.at_most("site.structures", "structures", site.structures.len(), limits::STRUCTURES);
    check.at_most("site.keep_outs", "keep-outs", site.keep_outs.len(), limits::STRUCTURES);
    let structures: usize = site.structures.iter().map(|s| s.footprint_m.len()).sum();
    let keep_outs: usize = site.keep_outs.iter().map(|k| k.outline_m.len()).sum();
    let corners = site.boundary_m.len() + structures + keep_outs;
    check.at_most("site", "corners in all outlines together", corners, limits::CORNERS_IN_ALL);
    corners <= limits::CORNERS_IN_ALL
}

fn check_take_off(check: &mut Checker, site: &Site) {
    let at = site.take_off_m;
    if !limits::COORDINATE_M.holds(at.x) || !limits::COORDINATE_M.holds(at.y) {
        check.fault("site.take_off_m", format!("the take-off point {}", coordinate_message(at)));
        return;
    }
    for keep_out in site.keep_outs.iter().filter(|keep_out| outline_contains(&keep_out.outline_m, at)) {
        let message = format!(
            "the take-off point must lie outside every keep-out, but it lies inside \"{}\"; move one of them",
            keep_out.name
        );
        check.fault("site.take_off_m", message);
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
        match structure.kind {
            StructureKind::Extrusion { height_m } => {
                check.number(format!("{path}.kind.height_m"), height_m, limits::STRUCTURE_HEIGHT_M);
            }
        }
    }
}

fn check_typical(check: &mut Checker, site: &Site, building: TypicalBuilding) {
    let path = "site.typical_building";
    check.number(format!("{path}.width_m"), building.width_m, limits::BUILDING_SIDE_M);
    check.number(format!("{path}.depth_m"), building.depth_m, limits::BUILDING_SIDE_M);
    check.number(format!("{path}.height_m"), building.height_m, limits::BUILDING_HEIGHT_M);
    check.number(format!("{path}.spacing_m"), building.spacing_m, limits::BUILDING_SPACING_M);
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
    let count = outline_area_m2(&site.boundary_m) / (building.spacing_m * building.spacing_m);
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

fn check_spacing(check: &mut Checker, site: &Site, spacing_m: f64) {
    check.number("site.sample_spacing_m", spacing_m, limits::SAMPLE_SPACING_M);
    let count = outline_area_m2(&site.boundary_m) / (spacing_m * spacing_m);
    if limits::SAMPLE_SPACING_M.holds(spacing_m) && count > limits::SAMPLES {
        let message = format!(
            "sample spacing must ask for at most {} samples on the ground, but {spacing_m} m asks for about {count:.0}; \
             widen it or leave it out to have it chosen",
            limits::SAMPLES
        );
        check.fault("site.sample_spacing_m", message);
    }
}
