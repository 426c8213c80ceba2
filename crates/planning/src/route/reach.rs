use super::layout::heading_rad;
use super::refusal::PlanError;
use crate::scenario::{Attitude, Gimbal};
use std::f64::consts::{PI, TAU};

/// How a gimbal reaches an attitude with the nose along the track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// By panning and tilting toward it.
    Direct,
    /// By panning to the opposite side and tilting past nadir: the image is upside down.
    PastNadir,
    /// The tilt stops too early.
    TiltStops,
    /// The pan stops too early.
    PanStops,
}

/// How a gimbal reaches an attitude while the aircraft flies nose first.
///
/// A level or down-looking axis can be reached in two ways: toward it, or from the other side past nadir.
pub fn reach(gimbal: &Gimbal, attitude: &Attitude) -> Reach {
    let tilts = |deg: f64| (gimbal.tilt_min_deg..=gimbal.tilt_max_deg).contains(&deg);
    let pans = |rad: f64| {
        let deg = signed(rad).to_degrees();
        deg >= gimbal.pan_min_deg - 1e-9 && deg <= gimbal.pan_max_deg + 1e-9
    };
    let pan = heading_rad(attitude.aim, 0.0, 0.0);
    if attitude.tilt_deg == 0.0 && tilts(0.0) {
        return Reach::Direct;
    }
    if tilts(attitude.tilt_deg) && pans(pan) {
        return Reach::Direct;
    }
    if tilts(-attitude.tilt_deg) && pans(pan + PI) {
        return Reach::PastNadir;
    }
    if tilts(attitude.tilt_deg) { Reach::PanStops } else { Reach::TiltStops }
}

/// Whether a gimbal can take the attitudes of a pass that flies over its subject. An aircraft that holds a look can yaw
/// for it, so only a cycle needs the pan.
pub(super) fn can_look(attitudes: &[Attitude], gimbal: &Gimbal) -> Result<(), PlanError> {
    if let [attitude] = attitudes {
        return can_tilt(gimbal, attitude.tilt_deg);
    }
    let stops = attitudes.iter().find_map(|attitude| match reach(gimbal, attitude) {
        Reach::Direct | Reach::PastNadir => None,
        Reach::TiltStops => Some(format!(
            "the gimbal stops at {:.0}°, this cycle needs {:.0}°",
            gimbal.tilt_max_deg, attitude.tilt_deg
        )),
        Reach::PanStops => Some(format!(
            "the gimbal pans from {:.0}° to {:.0}° and tilts past nadir to {:.0}°, too little for this cycle",
            gimbal.pan_min_deg, gimbal.pan_max_deg, gimbal.tilt_min_deg
        )),
    });
    stops.map_or(Ok(()), |why| Err(PlanError::because(why)))
}

/// Whether a gimbal comes to a tilt.
pub(super) fn can_tilt(gimbal: &Gimbal, tilt_deg: f64) -> Result<(), PlanError> {
    let stop = if tilt_deg > gimbal.tilt_max_deg + 1e-9 {
        gimbal.tilt_max_deg
    } else if tilt_deg < gimbal.tilt_min_deg - 1e-9 {
        gimbal.tilt_min_deg
    } else {
        return Ok(());
    };
    Err(PlanError::because(format!("the gimbal stops at {stop:.0}°, this pass needs {tilt_deg:.0}°")))
}

/// An angle from −π to below π.
fn signed(angle_rad: f64) -> f64 {
    // A turn of just under half a circle to the right is not half a circle to the left by rounding.
    let wrapped = (angle_rad + PI).rem_euclid(TAU) - PI;
    if wrapped < -PI + 1e-9 { wrapped + TAU } else { wrapped }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Aim;

    fn gimbal(tilt_min: f64, pan: f64) -> Gimbal {
        Gimbal {
            tilt_min_deg: tilt_min,
            tilt_max_deg: 90.0,
            pan_min_deg: -pan,
            pan_max_deg: pan,
            slew_dps: 120.0,
            settle_s: 0.2,
        }
    }

    fn look(tilt_deg: f64, deg: f64) -> Attitude {
        Attitude { tilt_deg, aim: Aim::FromTrack { deg } }
    }

    #[test]
    fn looking_back_goes_past_nadir_when_the_pan_is_short() {
        assert_eq!(reach(&gimbal(-50.0, 60.0), &look(45.0, 45.0)), Reach::Direct);
        assert_eq!(reach(&gimbal(-50.0, 60.0), &look(45.0, 135.0)), Reach::PastNadir);
        assert_eq!(reach(&gimbal(0.0, 60.0), &look(45.0, 135.0)), Reach::PanStops);
        assert_eq!(reach(&gimbal(0.0, 180.0), &look(45.0, 180.0)), Reach::Direct);
        assert_eq!(reach(&gimbal(0.0, 0.0), &look(120.0, 0.0)), Reach::TiltStops);
        assert_eq!(reach(&gimbal(0.0, 0.0), &look(0.0, 135.0)), Reach::Direct);
    }
}
