//! Height, headings, extents, times between exposures and speed of a pass, from its distance, its attitudes and its aircraft.

use super::blur::Blur;
use super::{ExposureTerms, SpeedBound, SpeedTerms};
use crate::geometry::motion::interval_speed_mps;
use crate::geometry::{CameraModel, Pose};
use crate::ground::SiteOutline;
use crate::scenario::{Aim, Aircraft, Attitude, Distance, Pass, StripDirection};
use glam::{DVec2, DVec3};
use std::f64::consts::TAU;

/// Tilt beyond which a pass is not moved back any further: the cut of the frames.
const FARTHEST_TILT_RAD: f64 = 75.0 * std::f64::consts::PI / 180.0;

/// Height or stand-off, and whether the ceiling cut it.
///
/// # References
/// Textbook relation of the vertical photo, solved for the height: GSD × focal length in pixels.
pub(crate) fn height_m(distance: Distance, camera: &CameraModel, ceiling_m: f64) -> (f64, bool) {
    match distance {
        Distance::Height { m, .. } | Distance::StandOff { m } => (m, false),
        Distance::Gsd { cm, .. } => {
            let asked = cm / 100.0 * camera.focal_length_px;
            (asked.min(ceiling_m), asked > ceiling_m)
        }
    }
}

/// Direction in which strips run, clockwise from north, below a whole turn: with the sense that the site or the user gives it.
pub(crate) fn strips_rad(direction: StripDirection, site: &SiteOutline) -> f64 {
    match direction {
        StripDirection::Automatic { turned_deg } => site.best_strips_rad + turned_deg.to_radians(),
        StripDirection::FromNorth { deg } => deg.to_radians(),
    }
    .rem_euclid(TAU)
}

/// Heading of an attitude's axis on a strip flown along `track_rad`, the pass's strips running along `strips_rad`.
pub(crate) fn heading_rad(aim: Aim, track_rad: f64, strips_rad: f64) -> f64 {
    let heading = match aim {
        Aim::FromTrack { deg } | Aim::AtSubject { deg } => track_rad + deg.to_radians(),
        Aim::FromStrips { deg } => strips_rad + deg.to_radians(),
        Aim::FromNorth { deg } => deg.to_radians(),
    };
    heading.rem_euclid(TAU)
}

/// As [`heading_rad`], where the pass has a subject to look at.
pub(crate) fn heading_to_rad(aim: Aim, track_rad: f64, strips_rad: f64, subject_rad: f64) -> f64 {
    match aim {
        Aim::AtSubject { deg } => (subject_rad + deg.to_radians()).rem_euclid(TAU),
        _ => heading_rad(aim, track_rad, strips_rad),
    }
}

/// Extents of the vertical-equivalent footprint (along, across the track): the chords through its centre, the camera
/// turned by `turned_rad` from the track.
///
/// # References
/// Derived: chords through the middle of a rectangle.
pub(crate) fn extents_m(camera: &CameraModel, height_m: f64, turned_rad: f64) -> DVec2 {
    let sides = camera.vertical_footprint_m(height_m);
    let (sin, cos) = (turned_rad.sin().abs(), turned_rad.cos().abs());
    DVec2::new((sides.y / cos).min(sides.x / sin), (sides.y / sin).min(sides.x / cos))
}

/// H tan t, the distance by which a tilted axis leads or trails.
///
/// # References
/// Derived: a right triangle.
pub(crate) fn lead_m(height_m: f64, tilt_rad: f64) -> f64 {
    height_m * tilt_rad.min(FARTHEST_TILT_RAD).tan()
}

/// Times of the attitudes: each waits for the shot interval, or for the slew from the one before and the settling.
///
/// # References
/// Derived: the angle between axes over the slew rate. That slewing and waiting go on at once is common practice, no source.
pub(crate) fn exposure_terms(pass: &Pass, aircraft: &Aircraft) -> ExposureTerms {
    let interval = aircraft.camera.shortest_interval_s;
    let count = pass.attitudes.len();
    if count < 2 {
        return ExposureTerms { dwell_s: vec![interval], cycle_s: interval };
    }
    let axes: Vec<DVec3> = pass.attitudes.iter().map(axis_from_track).collect();
    let rate = aircraft.gimbal.slew_dps.to_radians();
    let dwell_s: Vec<f64> = (0..count)
        .map(|k| {
            // An exposure's own time: until the gimbal has reached the next attitude.
            let slew = axes[k].angle_between(axes[(k + 1) % count]);
            interval.max(slew / rate + aircraft.gimbal.settle_s)
        })
        .collect();
    ExposureTerms { cycle_s: dwell_s.iter().sum(), dwell_s }
}

/// The optical axis with the track as north.
fn axis_from_track(attitude: &Attitude) -> DVec3 {
    let heading = heading_rad(attitude.aim, 0.0, 0.0);
    let tilt_rad = attitude.tilt_deg.to_radians();
    Pose { position_m: DVec3::ZERO, heading_rad: heading, tilt_rad, roll_rad: 0.0 }.axis()
}

/// The speed of a pass on a section whose evened-out base may be shorter than the pass's.
pub(crate) fn speed_over_mps(speed_mps: f64, base_m: f64, exposure: &ExposureTerms, pass: &Pass) -> f64 {
    if pass.hover_s.is_some() { speed_mps } else { speed_mps.min(base_m / exposure.cycle_s) }
}

/// Speed terms with one more limit.
pub(crate) fn also_bound(terms: SpeedTerms, limit_mps: f64, by: SpeedBound) -> SpeedTerms {
    if limit_mps < terms.speed_mps {
        SpeedTerms { pattern_mps: Some(limit_mps), speed_mps: limit_mps, bound_by: by, ..terms }
    } else {
        terms
    }
}

/// The limits on the ground speed of a pass and the least of them.
///
/// # References
/// Derived: the least of the limits; each as in [`crate::geometry::motion`].
pub(crate) fn speed_terms(
    pass: &Pass,
    aircraft: &Aircraft,
    cycle_s: f64,
    air_base_m: f64,
    blur: Blur,
) -> SpeedTerms {
    let airframe_mps = aircraft.airframe.top_speed_mps;
    let interval_mps = interval_speed_mps(air_base_m, cycle_s);
    let interval_bound =
        if pass.attitudes.len() > 1 { SpeedBound::GimbalCycle } else { SpeedBound::ShotInterval };
    // An aircraft that stops to expose need not mind the interval nor the blur on its way.
    let moving = |limit_mps: f64| if pass.hover_s.is_some() { f64::INFINITY } else { limit_mps };
    let limits = [
        (pass.speed_mps.unwrap_or(f64::INFINITY), SpeedBound::User),
        (airframe_mps, SpeedBound::Airframe),
        (moving(interval_mps), interval_bound),
        (moving(blur.mps), SpeedBound::Blur),
    ];
    let (speed_mps, bound_by) =
        limits.into_iter().fold((f64::INFINITY, SpeedBound::Airframe), |least, limit| {
            if limit.0 < least.0 { limit } else { least }
        });
    SpeedTerms {
        user_mps: pass.speed_mps,
        airframe_mps,
        interval_mps,
        blur_mps: blur.mps,
        blur_on: blur.on,
        pattern_mps: None,
        speed_mps,
        bound_by,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn camera() -> CameraModel {
        CameraModel::pinhole(5472, 3648, 3648.0)
    }

    /// Derived: level camera, 100 m: 100 m along and 150 m across; turned a quarter the other way round.
    #[test]
    fn extents_turn_with_the_camera() {
        assert_eq!(extents_m(&camera(), 100.0, 0.0), DVec2::new(100.0, 150.0));
        let quarter = extents_m(&camera(), 100.0, std::f64::consts::FRAC_PI_2);
        assert_relative_eq!(quarter.x, 150.0);
        assert_relative_eq!(quarter.y, 100.0);
        // The chord at 45° through a 150 × 100 rectangle leaves by the long side.
        assert_relative_eq!(
            extents_m(&camera(), 100.0, std::f64::consts::FRAC_PI_4).x,
            100.0 * 2.0_f64.sqrt()
        );
    }
}
