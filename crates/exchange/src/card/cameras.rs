//! Where the cameras of a pass look.

use super::model::CardFigure;
use super::words::{azimuth, length, short, tilt};
use crate::Units;
use obliquity_planning::{Aim, Attitude, Looks, Pass, PassPlan};
use std::f64::consts::PI;

/// Tilt, gimbal pitch and heading of every attitude.
pub(super) fn cameras(pass: &Pass, plan: &PassPlan, units: Units) -> Vec<CardFigure> {
    if let Some(aimed) = pass.pattern.aimed(&|m| length(units, m).value) {
        return own_cameras(pass, plan, &aimed);
    }
    let figure = |(index, attitude): (usize, &Attitude)| {
        let label = match pass.attitudes.len() {
            1 => "camera".to_owned(),
            _ => format!("camera {}", index + 1),
        };
        let (value, gimbal) = tilt(attitude.tilt_deg);
        let looks = match (pass.pattern.about().looks, plan.layout.direction_rad) {
            (Looks::AtWall, _) => looks_along_walls(attitude.aim),
            (Looks::ByStrips, Some(strips_rad)) => looks(attitude.aim, strips_rad),
            (Looks::ByStrips | Looks::ByLine | Looks::ByItself { .. } | Looks::AsGiven { .. }, _) => {
                looks_from_line(attitude.aim)
            }
        };
        CardFigure::new(label, value).also(gimbal).note(looks)
    };
    pass.attitudes.iter().enumerate().map(figure).collect()
}

/// One for each tilt where the pattern aims the camera: rings at different heights look at the same place.
fn own_cameras(pass: &Pass, plan: &PassPlan, aimed: &str) -> Vec<CardFigure> {
    let mut tilts: Vec<f64> = plan.stations.poses.iter().map(|p| p.tilt_rad.to_degrees()).collect();
    tilts.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    if pass.pattern.about().looks.is_given() {
        return vec![given_cameras(&tilts, aimed)];
    }
    let each = tilts.len() == plan.layout.strips as usize;
    let alone = tilts.len() == 1;
    let turned = match pass.attitudes.first().map(|attitude| attitude.aim) {
        Some(Aim::AtSubject { deg }) if deg != 0.0 => turned(deg, "of the middle"),
        _ => String::new(),
    };
    let figure = |(index, tilt_deg): (usize, f64)| {
        let label = match (alone, each) {
            (true, _) => "camera".to_owned(),
            (false, true) => format!("camera, ring {}", index + 1),
            (false, false) => format!("camera {}", index + 1),
        };
        let (value, gimbal) = tilt(tilt_deg);
        CardFigure::new(label, value).also(gimbal).note(format!("{aimed}{turned}"))
    };
    tilts.into_iter().enumerate().map(figure).collect()
}

/// The least and the greatest tilt, where every exposure has its own.
fn given_cameras(tilts: &[f64], aimed: &str) -> CardFigure {
    let (low, high) =
        tilts.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), t| (low.min(*t), high.max(*t)));
    let (first, gimbal) = tilt(low);
    if high - low < 0.05 {
        return CardFigure::new("camera", first).also(gimbal).note(aimed.to_owned());
    }
    CardFigure::new("camera", format!("{first} to {}", tilt(high).0)).note(aimed.to_owned())
}

/// ", 20° right of the middle".
fn turned(deg: f64, of: &str) -> String {
    let side = if deg < 0.0 { "left" } else { "right" };
    format!(", {}° {side} {of}", short(deg.abs()))
}

fn looks(aim: Aim, strips_rad: f64) -> String {
    match aim {
        Aim::FromTrack { deg } | Aim::AtSubject { deg } => {
            let out_rad = strips_rad + deg.to_radians();
            format!("looks {}, on return strips {}", azimuth(out_rad), azimuth(out_rad + PI))
        }
        Aim::FromStrips { deg } => format!("looks {} on all strips", azimuth(strips_rad + deg.to_radians())),
        Aim::FromNorth { deg } => format!("looks {} on all strips", azimuth(deg.to_radians())),
    }
}

/// As [`looks`], along a line with corners.
fn looks_from_line(aim: Aim) -> String {
    let deg = short(aim.deg());
    match aim {
        Aim::FromTrack { .. } | Aim::AtSubject { .. } => format!("looks {deg}° right of the track"),
        Aim::FromStrips { .. } => format!("looks {deg}° right of the line on all strips"),
        Aim::FromNorth { .. } => format!("looks {} on all strips", azimuth(aim.deg().to_radians())),
    }
}

/// As [`looks`], in front of walls.
fn looks_along_walls(aim: Aim) -> String {
    match aim {
        Aim::AtSubject { deg: 0.0 } => "looks at the wall".to_owned(),
        Aim::AtSubject { deg } => format!("looks at the wall{}", turned(deg, "of it")),
        Aim::FromTrack { deg } | Aim::FromStrips { deg } => {
            format!("looks {}° right of the track", short(deg))
        }
        Aim::FromNorth { deg } => format!("looks {} on all rows", azimuth(deg.to_radians())),
    }
}
