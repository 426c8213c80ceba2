use super::Plan;
use crate::show;
use crate::units::Unit;
use glam::DVec3;
use obliquity_planning::PosedCamera;

/// Beyond this tilt the middle of a frame is on no useful ground.
const MOST_TILT_DEG: f64 = 75.0;

impl Plan {
    /// What there is to know of a station, line by line.
    pub fn station_lines(&self, pass: usize, station: usize) -> Vec<String> {
        lines(self, pass, station).unwrap_or_default()
    }
}

fn lines(plan: &Plan, pass: usize, station: usize) -> Option<Vec<String>> {
    let of = plan.passes.get(pass)?;
    let at = of.stations.get(station)?;
    let units = plan.units;
    let height_m = at.pose.position_m.z - plan.site.reference_z_m;
    let tilt_deg = at.pose.tilt_rad.to_degrees();
    let tilt = show::short(tilt_deg.round());
    let gimbal = show::short((tilt_deg - 90.0).round()).replace('-', "−");
    let heading_deg = at.pose.heading_rad.to_degrees().round().rem_euclid(360.0);
    let mut lines = vec![
        format!("Pass {}, exposure {} of {}", pass + 1, station + 1, of.stations.len()),
        format!("{} above the mean ground", units.text(Unit::Metres, height_m)),
        format!("looks {heading_deg:03.0}°, tilt {tilt}° (gimbal {gimbal}°)"),
        centre(plan, pass, station),
    ];
    if let Some(time_s) = at.time_s {
        lines.insert(1, format!("{} into the flight, sortie {}", show::duration_s(time_s), at.sortie));
    }
    let distance = units.length(at.distance_m);
    lines.push(if at.beyond {
        format!("{distance} from take-off: beyond the pilot's distance")
    } else {
        format!("{distance} from take-off")
    });
    Some(lines)
}

fn centre(plan: &Plan, pass: usize, station: usize) -> String {
    match centre_gsd_m(plan, pass, station) {
        Some(gsd_m) => format!("GSD {} on level ground at the centre", plan.units.gsd(gsd_m)),
        None => "the centre is on no useful ground".to_owned(),
    }
}

/// Ground sample distance on the mean ground where the optical axis meets it, in metres per pixel.
pub(super) fn centre_gsd_m(plan: &Plan, pass: usize, station: usize) -> Option<f64> {
    let of = plan.passes.get(pass)?;
    let pose = of.stations.get(station)?.pose;
    let height_m = pose.position_m.z - plan.site.reference_z_m;
    if height_m <= 0.0 || pose.tilt_rad.to_degrees() > MOST_TILT_DEG {
        return None;
    }
    let centre_m = pose.position_m + pose.axis() * (height_m / pose.tilt_rad.cos());
    PosedCamera::new(of.camera?, &pose).gsd_m(centre_m, DVec3::Z)
}
