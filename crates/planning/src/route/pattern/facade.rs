//! Rows in front of walls.

use super::PatternPlanner;
use crate::base::choice::least_of;
use crate::geometry::CameraModel;
use crate::geometry::polygon::{azimuth_rad, nearest_on, sides};
use crate::ground::{Obstacle, OutlineStructure, SiteOutline};
use crate::route::blur::before_wall;
use crate::route::counting::whole_up;
use crate::route::free_line::FreeLine;
use crate::route::layout::heading_to_rad;
use crate::route::plain_ways::PlainWays;
use crate::route::refusal::{Count, KEEP_OFF};
use crate::route::section::{LevelLine, Rows};
use crate::route::sections::names_entered;
use crate::route::sheet::Sheet;
use crate::route::stand_off::StandOff;
use crate::route::task::PassTask;
use crate::route::{PassPlan, PlanError, Subject, exposure_count};
use crate::scenario::{Aim, Facade};
use glam::DVec2;

/// Fewest degrees between the axis and the vertical: nearer to it no wall is met.
const FLATTEST_DEG: f64 = 10.0;

/// The line of a wall's rows: parallel to it at the stand-off, lengthened beyond its corners.
struct WallLine {
    ends: (DVec2, DVec2),
    inward_rad: f64,
    levels: Levels,
}

impl PatternPlanner for Facade {
    /// In front of each wall (each side of the ring round several structures) level rows, spread evenly over its height with
    /// the sidelap on the frame's vertical extent, exposures by the forward overlap along them.
    ///
    /// Walls that are listed are flown as listed; all of them from the one nearest to the take-off point, round by way of
    /// that of its neighbours which is the nearer.
    ///
    /// Rows reach beyond the wall's corners by the margin (one air base when absent) and are cut where they would come
    /// nearer to any structure than the clearance. The lowest keeps its height above the ground, the highest is at most
    /// half a spacing below the roof's edge, so that its images show the edge. A tilted camera flies higher by as much as
    /// its axis falls.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let before = BeforeWalls::new(self, task)?;
        let lines = before.lines();
        let count = before.count_of(lines.iter().map(|line| (line.ends, line.levels)));
        count.bounded()?;
        let mut stand_off = before.facing();
        // a link between every two rows, up and down as well between walls
        let legs = 2 * (count.strips as usize + lines.len());
        let ends: Vec<DVec2> = lines.iter().flat_map(|line| <[DVec2; 2]>::from(line.ends)).collect();
        let ways = PlainWays::among(stand_off.airspace, &ends, self.clearance_m);
        let mut sheet = Sheet::with_room(ways, legs, count.exposures as usize);
        let mut rows = 0;
        for (k, line) in lines.iter().enumerate() {
            let mut wall = WallRows::new(&stand_off, self, line);
            let last = line.levels.spaces;
            let mut below = false;
            for level in 0..=last {
                // Up one wall and down the next.
                let level = if k % 2 == 1 { last - level } else { level };
                let flown = wall.fly(line.levels.z_m(level), &mut sheet)?;
                if below && flown {
                    sheet.flown.note_spacing(line.levels.step_m);
                }
                rows += u32::from(flown);
                below = flown;
            }
        }
        if sheet.poses.is_empty() {
            return Err(no_row(self, &lines, task.site));
        }
        let lowest = lines.iter().map(|line| line.levels.lowest_z_m);
        stand_off.note_lowest(lowest.fold(f64::INFINITY, f64::min));
        stand_off.terms.layout.strips = rows;
        Ok(sheet.plan(task, stand_off.camera, stand_off.terms, false))
    }

    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError> {
        let before = BeforeWalls::new(self, task)?;
        Ok(before.count_of(before.levels(|ends, matters_m| before.highest_ground_m(ends, matters_m))))
    }

    /// Derived: ground that lifts the lowest row leaves no more rows above it.
    fn count_at_most(&self, task: PassTask<'_>) -> Option<Count> {
        let before = BeforeWalls::new(self, task).ok()?;
        Some(before.count_of(before.levels(|_, _| f64::NEG_INFINITY)))
    }
}

fn no_row(facade: &Facade, lines: &[WallLine], site: &SiteOutline) -> PlanError {
    let lines: Vec<_> = lines.iter().map(|line| line.ends).collect();
    let shut = names_entered(site, &lines).map_or(String::new(), |names| format!(" outside {names}"));
    PlanError::because(format!(
        "no row{shut} keeps {:.1} m from everything; widen the stand-off, lower the clearance or choose other walls",
        facade.clearance_m
    ))
}

/// The stand-off from the walls of a structure, and where their rows run.
struct BeforeWalls<'a> {
    facade: &'a Facade,
    structure: OutlineStructure,
    stand_off: StandOff<'a>,
    /// Toward the wall as far as can be known.
    turned_rad: f64,
    margin_m: f64,
    /// By how much a camera's axis falls on its way to the wall.
    fall_m: f64,
}

impl<'a> BeforeWalls<'a> {
    fn new(facade: &'a Facade, task: PassTask<'a>) -> Result<Self, PlanError> {
        let PassTask { pass, site, .. } = task;
        let extents = |camera: &CameraModel, m: f64| camera.vertical_footprint_m(m);
        let mut stand_off = StandOff::new(task, None, extents);
        let margin_m = pass.margin_m.unwrap_or(stand_off.terms.layout.air_base_m);
        stand_off.terms.layout.margin_m = Some(margin_m);
        let gone = || PlanError::because("the structure with the walls is not on the site");
        let structure = site.group(&facade.structures()).ok_or_else(gone)?;
        can_face(&stand_off, facade)?;
        let turned_rad = match pass.attitudes[0].aim {
            Aim::AtSubject { deg } => deg.to_radians(),
            Aim::FromTrack { .. } | Aim::FromStrips { .. } | Aim::FromNorth { .. } => 0.0,
        };
        let fall_m = stand_off.m / pass.attitudes[0].tilt_deg.to_radians().tan();
        Ok(BeforeWalls { facade, structure, stand_off, turned_rad, margin_m, fall_m })
    }

    /// The lines in front of all walls in the order in which they are flown.
    fn lines(&self) -> Vec<WallLine> {
        let walls = walls(self.facade, &self.structure, self.stand_off.airspace.site).into_iter();
        let line = |wall: (DVec2, DVec2)| {
            let (ends, levels) =
                self.row_levels(wall, |ends, matters_m| self.highest_ground_m(ends, matters_m))?;
            let outward = -(wall.1 - wall.0).normalize_or_zero().perp();
            Some(WallLine { ends, inward_rad: azimuth_rad(-outward), levels })
        };
        walls.filter_map(line).collect()
    }

    /// How high the ground below a line reaches, where that is more than something; else some height that is no greater.
    fn highest_ground_m(&self, (from, to): (DVec2, DVec2), matters_m: f64) -> f64 {
        let terrain = &self.stand_off.airspace.site.terrain;
        if terrain.is_surely_below(from, to, matters_m) {
            return f64::NEG_INFINITY;
        }
        terrain.range_between_m(from, to).1
    }

    /// The ends and levels of the rows before each wall, in no order; `highest_m` says how high the ground below a line reaches
    /// where that matters.
    fn levels(
        &self,
        highest_m: impl Fn((DVec2, DVec2), f64) -> f64,
    ) -> impl Iterator<Item = ((DVec2, DVec2), Levels)> {
        let walls = chosen_walls(self.facade, &self.structure).into_iter();
        walls.filter_map(move |wall| self.row_levels(wall, &highest_m))
    }

    /// The ends and levels of the rows before a wall, nothing where none is.
    fn row_levels(
        &self,
        (a, b): (DVec2, DVec2),
        highest_m: impl Fn((DVec2, DVec2), f64) -> f64,
    ) -> Option<((DVec2, DVec2), Levels)> {
        let BeforeWalls { facade, structure, stand_off, margin_m, fall_m, .. } = self;
        let along = (b - a).normalize_or_zero();
        let (outward, reach) = (-along.perp(), along * *margin_m);
        let (from, to) = (a + outward * stand_off.m - reach, b + outward * stand_off.m + reach);
        let terrain = &stand_off.airspace.site.terrain;
        let foot_z = structure.soffit_z_m.unwrap_or_else(|| terrain.height_m(a).min(terrain.height_m(b)));
        let (spacing_m, top_z) = (stand_off.terms.layout.strip_spacing_m, structure.top_z_m);
        let levels = Levels::new((foot_z + fall_m, top_z + fall_m), spacing_m, |matters_z| {
            highest_m((from, to), matters_z - facade.lowest_m) + facade.lowest_m
        });
        let is_wall = along != DVec2::ZERO && top_z > foot_z;
        is_wall.then_some(((from, to), levels))
    }

    /// Every row from end to end, as if nothing cut it.
    fn count_of(&self, lines: impl Iterator<Item = ((DVec2, DVec2), Levels)>) -> Count {
        let base_m = self.stand_off.terms.layout.air_base_m;
        let on_row = |(from, to): (DVec2, DVec2)| f64::from(exposure_count(from.distance(to), base_m, 1));
        let each = lines.map(|(ends, levels)| (f64::from(levels.rows()), on_row(ends)));
        let (strips, exposures) =
            each.fold((0.0, 0.0), |(strips, all), (rows, on_row)| (strips + rows, all + rows * on_row));
        Count { exposures, strips, mend: KEEP_OFF }
    }

    /// The stand-off with what the walls ask of the speed.
    fn facing(self) -> StandOff<'a> {
        let BeforeWalls { structure, stand_off, turned_rad, .. } = self;
        let tilt_rad = stand_off.task.pass.attitudes[0].tilt_deg.to_radians();
        let fastest = before_wall(&stand_off.camera, tilt_rad, turned_rad);
        let subject = Subject::Wall { stand_off_m: stand_off.m, turned_rad };
        stand_off.facing(Some(structure.name), fastest, subject)
    }
}

fn can_face(stand_off: &StandOff<'_>, facade: &Facade) -> Result<(), PlanError> {
    if stand_off.m < facade.clearance_m {
        return Err(PlanError::because(format!(
            "its stand-off of {:.1} m is less than its clearance of {:.1} m; widen the one or lower the other",
            stand_off.m, facade.clearance_m
        )));
    }
    let tilt_deg = stand_off.task.pass.attitudes[0].tilt_deg;
    if !(FLATTEST_DEG..=180.0 - FLATTEST_DEG).contains(&tilt_deg) {
        let reason = format!("a camera tilted to {tilt_deg:.0}° meets no wall; tilt it toward 90°");
        return Err(PlanError::because(reason));
    }
    stand_off.can_tilt(tilt_deg)
}

/// The walls in the order in which they are flown.
fn walls(facade: &Facade, structure: &OutlineStructure, site: &SiteOutline) -> Vec<(DVec2, DVec2)> {
    let walls = chosen_walls(facade, structure);
    if facade.walls.is_some() { walls } else { round_from_nearest(&walls, site) }
}

/// The walls as they are listed, all of them where none are.
fn chosen_walls(facade: &Facade, structure: &OutlineStructure) -> Vec<(DVec2, DVec2)> {
    let walls: Vec<(DVec2, DVec2)> = sides(&structure.walls_m()).collect();
    match &facade.walls {
        Some(chosen) => chosen.iter().filter_map(|wall| walls.get(*wall as usize).copied()).collect(),
        None => walls,
    }
}

/// All walls, from the one nearest to the take-off point round the structure.
fn round_from_nearest(walls: &[(DVec2, DVec2)], site: &SiteOutline) -> Vec<(DVec2, DVec2)> {
    let (home, middle, count) = (site.take_off_m, site.middle_m, walls.len());
    let key = |(a, b): (DVec2, DVec2)| {
        let at = a.midpoint(b);
        [nearest_on(a, b, home).distance(home), at.distance(home), at.distance(middle), -a.distance(b)]
    };
    let first = least_of(&walls.iter().map(|wall| key(*wall)).collect::<Vec<_>>(), site.size_m).unwrap_or(0);
    let beside = [1, count.saturating_sub(1)].map(|step| key(walls[(first + step) % count]));
    let step = if least_of(&beside, site.size_m) == Some(1) { count - 1 } else { 1 };
    (0..count).map(|k| walls[(first + k * step) % count]).collect()
}

/// Levels of the rows of a wall.
#[derive(Debug, Clone, Copy)]
struct Levels {
    lowest_z_m: f64,
    step_m: f64,
    spaces: u32,
}

impl Levels {
    /// Half a spacing inside the wall's foot and its top where the ground allows it: `least_z` says how low a row may be, where
    /// that is higher than something.
    fn new((foot_z, top_z): (f64, f64), spacing_m: f64, least_z: impl FnOnce(f64) -> f64) -> Self {
        let half_m = (spacing_m / 2.0).min((top_z - foot_z) / 2.0);
        let lowest_z_m = (foot_z + half_m).max(least_z(foot_z + half_m));
        let high_z = (top_z - half_m).max(lowest_z_m);
        let spaces = whole_up((high_z - lowest_z_m) / spacing_m);
        Levels { lowest_z_m, step_m: (high_z - lowest_z_m) / f64::from(spaces.max(1)), spaces }
    }

    fn rows(&self) -> u32 {
        self.spaces + 1
    }

    /// That of a row, counted from the lowest.
    fn z_m(&self, row: u32) -> f64 {
        self.lowest_z_m + f64::from(row) * self.step_m
    }
}

/// The rows before a wall.
struct WallRows<'a> {
    stand_off: &'a StandOff<'a>,
    facade: &'a Facade,
    line: &'a WallLine,
    /// Those along the line and those back, with where they are free.
    ways: [Option<(FreeLine, Rows<'a, StandOff<'a>>)>; 2],
}

impl<'a> WallRows<'a> {
    fn new(stand_off: &'a StandOff<'a>, facade: &'a Facade, line: &'a WallLine) -> Self {
        WallRows { stand_off, facade, line, ways: [None, None] }
    }

    /// Flies one row, from the end nearest to where the aircraft is or, from the middle between them, nearest to the middle of
    /// the site; says whether anything of it could be flown.
    fn fly(&mut self, z: f64, sheet: &mut Sheet<'_>) -> Result<bool, PlanError> {
        let (site, (from, to)) = (self.stand_off.airspace.site, self.line.ends);
        let here = sheet.legs.last().map_or(site.take_off_m, |leg| leg.to_m.truncate());
        let keys = [from, to].map(|end| [end.distance(here), end.distance(site.middle_m)]);
        let reversed = least_of(&keys, site.size_m) == Some(1);
        let ends = if reversed { (to, from) } else { (from, to) };
        let (free, rows) = match &mut self.ways[usize::from(reversed)] {
            Some(way) => way,
            way => way.insert(one_way(self.stand_off, self.facade, self.line, ends, sheet.ways.near())),
        };
        rows.fly(z, &free.at(z), sheet)
    }
}

/// The rows before a wall from one end to the other, past what stands near.
fn one_way<'a>(
    stand_off: &'a StandOff<'a>,
    facade: &Facade,
    line: &WallLine,
    ends: (DVec2, DVec2),
    near: &[&Obstacle],
) -> (FreeLine, Rows<'a, StandOff<'a>>) {
    let (from, to) = ends;
    let track_rad = azimuth_rad((to - from).normalize_or_zero());
    let attitude = stand_off.task.pass.attitudes[0];
    let heading_rad = heading_to_rad(attitude.aim, track_rad, track_rad, line.inward_rad);
    let row = LevelLine { from, to, heading_rad, tilt_rad: attitude.tilt_deg.to_radians() };
    let levels_z_m = (line.levels.lowest_z_m, line.levels.z_m(line.levels.spaces));
    let free = FreeLine::new(stand_off.airspace.site, near, ends, levels_z_m, facade.clearance_m);
    (free, Rows::new(stand_off, row))
}

#[cfg(test)]
mod tests {
    use crate::route::pattern::facade::*;

    /// Derived: 30 m of wall with rows 8 m apart: 4 m inside, 22 m between in three steps.
    #[test]
    fn rows_are_spread_over_the_height() {
        let levels = |wall, least_z, spacing_m| -> Vec<f64> {
            let levels = Levels::new(wall, spacing_m, |_| least_z);
            (0..levels.rows()).map(|row| levels.z_m(row)).collect()
        };
        let rows = levels((0.0, 30.0), 2.0, 8.0);
        assert_eq!(rows.len(), 4);
        assert!((rows[0] - 4.0).abs() < 1e-9 && (rows[3] - 26.0).abs() < 1e-9);
        // The ground lifts the lowest; a low wall has one row.
        assert!((levels((0.0, 30.0), 9.0, 8.0)[0] - 9.0).abs() < 1e-9);
        assert_eq!(levels((0.0, 3.0), 2.0, 8.0), vec![2.0]);
    }
}
