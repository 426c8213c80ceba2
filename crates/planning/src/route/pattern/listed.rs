//! Stations given one by one.

use super::PatternPlanner;
use crate::geometry::motion::YAW_RADPS;
use crate::geometry::polygon::azimuth_rad;
use crate::geometry::{CameraModel, Pose};
use crate::route::blur::{before_wall, over_level, slowed};
use crate::route::layout::speed_over_mps;
use crate::route::reach::{Reach, reach};
use crate::route::refusal::Count;
use crate::route::sheet::Sheet;
use crate::route::stand_off::StandOff;
use crate::route::task::PassTask;
use crate::route::{Leg, LegKind, Nose, PassPlan, PlanError, SAME_PLACE_M, Subject};
use crate::scenario::{Aim, Aircraft, Attitude, Gimbal, Listed};
use glam::DVec3;
use std::f64::consts::PI;

/// A line that turns by more at a station is flown as two, with a stop between them. Common practice, no source.
const SHARPEST_RAD: f64 = 20.5 * PI / 180.0;

/// A heading that changes by less is held.
const HELD_RAD: f64 = 0.5 * PI / 180.0;

/// A camera tilted by less looks at what lies below it.
const DOWN_RAD: f64 = 75.0 * PI / 180.0;

/// Least tilt that the gimbal is asked for: straight down it need not pan, but the image turns with the nose.
const TILTED_DEG: f64 = 1e-6;

impl PatternPlanner for Listed {
    /// From station to station in their order, straight where nothing is in the way, and round or over it elsewhere.
    ///
    /// Stations on a line that turns by less than about 20° at each are flown without stopping, slowly enough for the bend.
    /// The nose points along the line as long as the gimbal pans to all stations of it, and where the camera looks as long
    /// as that stays; a line ends where neither does, and between two stations at one place, unless the aircraft stops to
    /// expose. The stand-off says how far off what they look at is: for the nominal GSD and the blur, which also asks for ground
    /// and roofs that come nearer in any frame.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let mut stand_off = laid(self, task);
        count_of(self).bounded()?;
        let poses: Vec<Pose> = poses(self);
        can_stand(self, &stand_off, &poses)?;
        let (mut sheet, mut noses) = (Sheet::new(stand_off.airspace), Vec::new());
        let mut next = 0;
        while next < poses.len() {
            let line = StationRun::from(self, &stand_off, &poses, next);
            fly_line(&stand_off, &poses, &line, &mut sheet)?;
            noses.push(line.nose);
            next = line.last + 1;
        }
        stand_off.note_lowest(poses.iter().map(|pose| pose.position_m.z).fold(f64::INFINITY, f64::min));
        stand_off.terms.layout.strips = noses.len() as u32;
        let mut plan = sheet.plan(task, stand_off.camera, stand_off.terms, false);
        point(&mut plan.legs, &noses);
        let PassTask { pass, aircraft, site, conditions } = task;
        Ok(slowed(plan, pass, aircraft, site, conditions))
    }

    fn count(&self, _task: PassTask<'_>) -> Result<Count, PlanError> {
        Ok(count_of(self))
    }
}

/// Every bend begins another line.
fn count_of(listed: &Listed) -> Count {
    let at = |k: usize| listed.stations[k].position_m;
    let bends = (2..listed.stations.len()).filter(|k| turn_rad(at(k - 2), at(k - 1), at(*k)) > SHARPEST_RAD);
    let strips = 1.0 + bends.count() as f64;
    Count { exposures: listed.stations.len() as f64, strips, mend: "leave stations out" }
}

fn poses(listed: &Listed) -> Vec<Pose> {
    let pose = |station: &crate::scenario::ListedStation| Pose {
        position_m: station.position_m,
        heading_rad: station.heading_deg.to_radians(),
        tilt_rad: station.tilt_deg.to_radians(),
        roll_rad: station.roll_deg.to_radians(),
    };
    listed.stations.iter().map(pose).collect()
}

/// The stand-off, with the least distance between neighbours as the air base.
fn laid<'a>(listed: &Listed, task: PassTask<'a>) -> StandOff<'a> {
    let sides = |camera: &CameraModel, m: f64| camera.vertical_footprint_m(m);
    let mut stand_off = StandOff::new(task, None, sides);
    let apart = listed.stations.windows(2).map(|pair| pair[0].position_m.distance(pair[1].position_m));
    if let Some(least_m) = apart.filter(|m| *m >= SAME_PLACE_M).reduce(f64::min) {
        stand_off.terms.layout.air_base_m = least_m;
    }
    let camera = stand_off.camera;
    let mut tilts_deg: Vec<f64> = listed.stations.iter().map(|station| station.tilt_deg).collect();
    tilts_deg.sort_by(f64::total_cmp);
    tilts_deg.dedup();
    let fastest = |tilt_deg: &f64| {
        let tilt_rad = tilt_deg.to_radians();
        if tilt_rad < DOWN_RAD {
            over_level(&camera, tilt_rad, 0.0)
        } else {
            before_wall(&camera, tilt_rad, 0.0)
        }
    };
    let fastest = tilts_deg.iter().map(fastest).fold(0.0, f64::max);
    stand_off.facing(None, fastest, Subject::Ground)
}

/// Whether the aircraft can be at every station and look as asked there.
fn can_stand(listed: &Listed, stand_off: &StandOff<'_>, poses: &[Pose]) -> Result<(), PlanError> {
    for (k, pose) in poses.iter().enumerate() {
        let tilt_deg = listed.stations[k].tilt_deg;
        // Rolled over, the gimbal looks back past nadir.
        let gimbal = &stand_off.task.aircraft.gimbal;
        if !(gimbal.tilt_min_deg..=gimbal.tilt_max_deg).contains(&-tilt_deg) || !is_rolled_over(pose) {
            stand_off.can_tilt(tilt_deg)?;
        }
        let at = pose.position_m;
        if let Some(why) = stand_off.obstructed(&[at, at], listed.clearance_m) {
            return Err(PlanError::because(format!("station {} {why}; move it or leave it out", k + 1)));
        }
    }
    Ok(())
}

fn is_rolled_over(pose: &Pose) -> bool {
    pose.roll_rad.cos() < 0.0
}

/// Stations that are flown without stopping.
struct StationRun {
    first: usize,
    last: usize,
    nose: Nose,
    /// Least radius of its bends; infinite where it has none.
    bend_m: f64,
}

impl StationRun {
    /// The longest one from a station on.
    fn from(listed: &Listed, stand_off: &StandOff<'_>, poses: &[Pose], first: usize) -> StationRun {
        let gimbal = &stand_off.task.aircraft.gimbal;
        let at = |k: usize| poses[k].position_m;
        let held_rad = poses[first].heading_rad;
        let mut line = StationRun {
            first,
            last: first,
            nose: Nose::Held { azimuth_rad: held_rad },
            bend_m: f64::INFINITY,
        };
        let hovers = stand_off.task.pass.hover_s.is_some();
        let (mut along, mut held, mut before_rad) = (true, true, None);
        while line.last + 1 < poses.len() {
            let (here, next) = (line.last, line.last + 1);
            let stands = at(here).distance(at(next)) < SAME_PLACE_M;
            let bend = (here > first && !stands).then(|| turn_rad(at(here - 1), at(here), at(next)));
            let free = || stand_off.obstructed(&[at(here), at(next)], listed.clearance_m).is_none();
            if (stands && !hovers) || bend.is_some_and(|turn_rad| turn_rad > SHARPEST_RAD) || !free() {
                break;
            }
            let track_rad =
                if stands { before_rad } else { Some(azimuth_rad((at(next) - at(here)).truncate())) };
            if let Some(track_rad) = track_rad {
                // Those that stood before the first way was known are asked with it.
                let since = if before_rad.is_none() { first } else { here };
                along &= (since..=next).all(|k| pans(gimbal, &poses[k], track_rad));
            }
            held &= turned_rad(poses[next].heading_rad, held_rad).abs() < HELD_RAD;
            if !along && !held {
                break;
            }
            if let Some(turn_rad) = bend {
                let bend_m = at(here).distance(at(next)) / (2.0 * (turn_rad / 2.0).sin());
                line.bend_m = line.bend_m.min(bend_m);
            }
            line.last = next;
            before_rad = track_rad;
            line.nose = if along { Nose::AlongTrack } else { Nose::Held { azimuth_rad: held_rad } };
        }
        line
    }
}

/// Whether a gimbal pans to a pose from a nose along the track.
fn pans(gimbal: &Gimbal, pose: &Pose, track_rad: f64) -> bool {
    let deg = turned_rad(pose.heading_rad, track_rad).to_degrees();
    let tilt_deg = pose.tilt_rad.to_degrees().max(TILTED_DEG);
    matches!(
        reach(gimbal, &Attitude { tilt_deg, aim: Aim::FromTrack { deg } }),
        Reach::Direct | Reach::PastNadir
    )
}

/// From one azimuth to another, from −π to π.
fn turned_rad(a_rad: f64, b_rad: f64) -> f64 {
    let (sin, cos) = (a_rad - b_rad).sin_cos();
    sin.atan2(cos)
}

/// By how much a way turns at a place; nothing where it stays there.
fn turn_rad(a: DVec3, b: DVec3, c: DVec3) -> f64 {
    let (before, after) = (b - a, c - b);
    if before.length().min(after.length()) < SAME_PLACE_M { 0.0 } else { before.angle_between(after) }
}

/// Flies a line: goes to its first station and through all of them.
fn fly_line(
    stand_off: &StandOff<'_>,
    poses: &[Pose],
    line: &StationRun,
    sheet: &mut Sheet<'_>,
) -> Result<(), PlanError> {
    let Aircraft { airframe, .. } = stand_off.task.aircraft;
    let of_line = &poses[line.first..=line.last];
    let from_m = sheet.link_to(of_line[0].position_m, airframe)?;
    let mut corners = vec![from_m];
    let (mut shots, mut passed_m) = (vec![(0.0, of_line[0])], 0.0);
    let mut least_m = f64::INFINITY;
    for pair in of_line.windows(2) {
        let apart_m = pair[0].position_m.distance(pair[1].position_m);
        passed_m += apart_m;
        shots.push((passed_m, pair[1]));
        if apart_m >= SAME_PLACE_M {
            corners.push(pair[1].position_m);
            sheet.flown.note_base(apart_m);
            least_m = least_m.min(apart_m);
        }
    }
    if corners.len() == 1 {
        corners.push(from_m);
    }
    let terms = &stand_off.terms;
    let bend_mps = (airframe.acceleration_mps2 * line.bend_m).sqrt().min(YAW_RADPS * line.bend_m);
    let speed_mps = speed_over_mps(terms.speed.speed_mps, least_m, &terms.exposure, stand_off.task.pass);
    sheet.run(&corners, shots, speed_mps.min(bend_mps));
    Ok(())
}

/// Points the nose on each line as it asks, and between them as it was.
fn point(legs: &mut [Leg], noses: &[Nose]) {
    let (mut asked, mut now) = (noses.iter(), None);
    for leg in legs {
        if leg.kind == LegKind::Strip {
            now = asked.next().copied().or(now);
        }
        leg.nose = now.unwrap_or(leg.nose);
    }
}
