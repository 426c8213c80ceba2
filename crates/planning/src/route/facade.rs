//! Rows in front of walls.

use super::airspace::highest_ground_m;
use super::counting::whole_up;
use super::layout::{azimuth_rad, heading_to_rad};
use super::sections::free_sections;
use super::sheet::{Sheet, refused};
use super::stand_off::StandOff;
use super::strips::MOST_EXPOSURES;
use super::{PassPlan, PlanError, exposure_count};
use crate::{Aircraft, CameraModel, Conditions, Id, OutlineStructure, Pass, Pose, SiteOutline};
use glam::{DVec2, DVec3};

/// Fewest degrees between the axis and the vertical: nearer to it no wall is met.
const FLATTEST_DEG: f64 = 10.0;

/// The pattern's settings.
pub(super) struct Facade<'a> {
    pub(super) structure: Id,
    pub(super) walls: Option<&'a [u32]>,
    pub(super) clearance_m: f64,
    pub(super) lowest_m: f64,
}

/// The line of a wall's rows: parallel to it at the stand-off, lengthened beyond its corners.
struct Line {
    from: DVec2,
    to: DVec2,
    inward_rad: f64,
    /// Levels of the rows, from the lowest up.
    levels_z_m: Vec<f64>,
}

/// Lays out a facade pass: in front of each wall level rows, spread evenly over its height with the sidelap on the
/// frame's vertical extent, exposures by the forward overlap along them.
///
/// Rows reach beyond the wall's corners by the margin (one air base when absent) and are cut where they would come
/// nearer to any structure than the clearance. The lowest keeps its height above the ground, the highest is at most half
/// a spacing below the roof's edge, so that its images show the edge. A tilted camera flies higher by as much as its
/// axis falls.
pub(super) fn plan(
    pass: &Pass,
    facade: &Facade<'_>,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let sides = |camera: &CameraModel, m: f64| camera.vertical_footprint_m(m);
    let mut stand_off = StandOff::new(pass, aircraft, site, conditions, None, sides);
    stand_off.terms.layout.margin_m = pass.margin_m.unwrap_or(stand_off.terms.layout.air_base_m);
    let structure = site.structure(facade.structure);
    let (Some(structure), None) = (structure, cannot(&stand_off, facade, structure)) else {
        let reason = cannot(&stand_off, facade, structure).unwrap_or_default();
        return Ok(refused(pass, stand_off.camera, stand_off.terms, reason));
    };
    let lines: Vec<Line> =
        walls(facade, structure).filter_map(|wall| line(&stand_off, facade, structure, wall)).collect();
    let reach_m: f64 =
        lines.iter().map(|line| line.from.distance(line.to) * line.levels_z_m.len() as f64).sum();
    let about = reach_m / stand_off.terms.layout.air_base_m;
    if about.is_nan() || about > MOST_EXPOSURES {
        return Err(PlanError::TooManyExposures { about });
    }
    let mut sheet = Sheet::default();
    let mut rows = 0;
    for (k, line) in lines.iter().enumerate() {
        let mut levels = line.levels_z_m.clone();
        // Up one wall and down the next.
        if k % 2 == 1 {
            levels.reverse();
        }
        for z in levels {
            rows += u32::from(fly_row(&stand_off, facade, line, z, &mut sheet)?);
        }
    }
    if sheet.poses.is_empty() {
        let reason = format!(
            "no row keeps {:.1} m from everything; widen the stand-off, lower the clearance or choose other walls",
            facade.clearance_m
        );
        return Ok(refused(pass, stand_off.camera, stand_off.terms, reason));
    }
    let levels = lines.iter().flat_map(|line| &line.levels_z_m).copied();
    stand_off.note_lowest(levels.fold(f64::INFINITY, f64::min));
    stand_off.terms.layout.strips = rows;
    let StandOff { camera, terms, .. } = stand_off;
    Ok(sheet.plan(pass, camera, terms, false, site))
}

fn cannot(
    stand_off: &StandOff<'_>,
    facade: &Facade<'_>,
    structure: Option<&OutlineStructure>,
) -> Option<String> {
    if structure.is_none() {
        return Some("the structure with the walls is not on the site".to_owned());
    }
    if stand_off.m < facade.clearance_m {
        return Some(format!(
            "its stand-off of {:.1} m is less than its clearance of {:.1} m; widen the one or lower the other",
            stand_off.m, facade.clearance_m
        ));
    }
    let tilt_deg = stand_off.pass.attitudes[0].tilt_deg;
    if !(FLATTEST_DEG..=180.0 - FLATTEST_DEG).contains(&tilt_deg) {
        return Some(format!("a camera tilted to {tilt_deg:.0}° meets no wall; tilt it toward 90°"));
    }
    stand_off.gimbal_stops(tilt_deg)
}

fn walls<'s>(
    facade: &Facade<'_>,
    structure: &'s OutlineStructure,
) -> impl Iterator<Item = (DVec2, DVec2)> + 's {
    let ring = &structure.footprint_m;
    let all = || (0..ring.len() as u32).collect();
    let chosen: Vec<u32> = facade.walls.map_or_else(all, <[u32]>::to_vec);
    chosen.into_iter().filter(|wall| (*wall as usize) < ring.len()).map(move |wall| {
        let k = wall as usize;
        (ring[k], ring[(k + 1) % ring.len()])
    })
}

fn line(
    stand_off: &StandOff<'_>,
    facade: &Facade<'_>,
    structure: &OutlineStructure,
    (a, b): (DVec2, DVec2),
) -> Option<Line> {
    let along = (b - a).normalize_or_zero();
    let outward = -along.perp();
    let layout = &stand_off.terms.layout;
    let reach = along * layout.margin_m;
    let (from, to) = (a + outward * stand_off.m - reach, b + outward * stand_off.m + reach);
    let terrain = &stand_off.airspace.site.terrain;
    let foot_z = structure.soffit_z_m.unwrap_or_else(|| terrain.height_m(a).min(terrain.height_m(b)));
    let least_z = highest_ground_m(terrain, &[from, to]) + facade.lowest_m;
    let fall_m = stand_off.m / stand_off.pass.attitudes[0].tilt_deg.to_radians().tan();
    let levels_z_m = levels((foot_z + fall_m, structure.top_z_m + fall_m), least_z, layout.strip_spacing_m);
    let is_wall = along != DVec2::ZERO && structure.top_z_m > foot_z;
    is_wall.then(|| Line { from, to, inward_rad: azimuth_rad(-outward), levels_z_m })
}

/// Levels of the rows of a wall: half a spacing inside its foot and its top where the ground allows it.
fn levels((foot_z, top_z): (f64, f64), least_z: f64, spacing_m: f64) -> Vec<f64> {
    let half_m = (spacing_m / 2.0).min((top_z - foot_z) / 2.0);
    let low_z = (foot_z + half_m).max(least_z);
    let high_z = (top_z - half_m).max(low_z);
    let spaces = whole_up((high_z - low_z) / spacing_m);
    let step_m = (high_z - low_z) / f64::from(spaces.max(1));
    (0..=spaces).map(|k| low_z + f64::from(k) * step_m).collect()
}

/// Flies one row, from the end nearest to where the aircraft is; says whether anything of it could be flown.
fn fly_row(
    stand_off: &StandOff<'_>,
    facade: &Facade<'_>,
    line: &Line,
    z: f64,
    sheet: &mut Sheet,
) -> Result<bool, PlanError> {
    let site = stand_off.airspace.site;
    let here = sheet.legs.last().map_or(site.take_off_m, |leg| leg.to_m.truncate());
    let reversed = line.to.distance(here) < line.from.distance(here);
    let (from, to) = if reversed { (line.to, line.from) } else { (line.from, line.to) };
    let direction = (to - from).normalize_or_zero();
    let track_rad = azimuth_rad(direction);
    let aim = stand_off.pass.attitudes[0].aim;
    let heading_rad = heading_to_rad(aim, track_rad, track_rad, line.inward_rad);
    let tilt_rad = stand_off.pass.attitudes[0].tilt_deg.to_radians();
    let sections = free_sections(site, (from, to), z, facade.clearance_m);
    for (start, end) in &sections {
        let at = |along: f64| (from + direction * (start + along)).extend(z);
        let length_m = end - start;
        let count = exposure_count(length_m, stand_off.terms.layout.air_base_m, 1);
        let base_m = length_m / f64::from(count.max(2) - 1);
        let pose = |k: u32| {
            let position_m = at(f64::from(k) * base_m);
            (f64::from(k) * base_m, Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 })
        };
        let ends: [DVec3; 2] = [at(0.0), at(length_m)];
        sheet.link_to(ends[0], &stand_off.airspace, &stand_off.aircraft.airframe)?;
        sheet.run(&ends, (0..count).map(pose).collect(), stand_off.speed_over_mps(base_m));
    }
    Ok(!sections.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: 30 m of wall with rows 8 m apart: 4 m inside, 22 m between in three steps.
    #[test]
    fn rows_are_spread_over_the_height() {
        let rows = levels((0.0, 30.0), 2.0, 8.0);
        assert_eq!(rows.len(), 4);
        assert!((rows[0] - 4.0).abs() < 1e-9 && (rows[3] - 26.0).abs() < 1e-9);
        // The ground lifts the lowest; a low wall has one row.
        assert!((levels((0.0, 30.0), 9.0, 8.0)[0] - 9.0).abs() < 1e-9);
        assert_eq!(levels((0.0, 3.0), 2.0, 8.0), vec![2.0]);
    }
}
