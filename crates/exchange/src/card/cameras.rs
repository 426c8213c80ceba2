//! Where the cameras of a pass look.

use super::model::{CardColumn, CardFigure};
use super::words::{azimuth, length, pitch, short, tilt};
use crate::Units;
use obliquity_planning::{Aim, Attitude, LegKind, Looks, Nose, Pass, PassPlan};
use std::f64::consts::PI;

/// Tilt, gimbal pitch and heading of every attitude, and where the nose points.
pub(super) fn cameras(pass: &Pass, plan: &PassPlan, units: Units) -> Vec<CardFigure> {
    let mut cameras = each_camera(pass, plan, units);
    let looks = match cameras.as_slice() {
        [one] => one.note.clone().unwrap_or_default(),
        _ => "each camera as below".to_owned(),
    };
    let pitches = pitches(plan);
    match cameras.as_mut_slice() {
        [one] => {
            let key = std::mem::replace(one, CardFigure::new("", ""));
            let tilt = key.value.clone();
            *one = key.keyed(CardColumn::Gimbal, Some(pitches), tilt);
        }
        more => {
            let count = format!("{} attitudes, as below", more.len());
            let all = CardFigure::new("gimbal pitch", pitches.clone()).note(count.clone());
            cameras.insert(0, all.keyed(CardColumn::Gimbal, Some(pitches), count));
        }
    }
    let nose = nose(plan);
    let heading = CardFigure::new("heading", nose.clone());
    cameras.push(heading.keyed(CardColumn::Heading, Some(nose), looks));
    cameras
}

/// The pitch of every attitude, each once: "−90°, −45°"; of many the two ends.
fn pitches(plan: &PassPlan) -> String {
    let mut texts: Vec<(f64, String)> = Vec::new();
    for pose in &plan.stations.poses {
        let pitch_deg = pose.tilt_rad.to_degrees() - 90.0;
        if !texts.iter().any(|(deg, _)| (deg - pitch_deg).abs() < 0.05) {
            texts.push((pitch_deg, pitch(pitch_deg)));
        }
    }
    if texts.len() > 3 {
        texts.sort_by(|a, b| a.0.total_cmp(&b.0));
        return format!("{} to {}", texts[0].1, texts[texts.len() - 1].1);
    }
    texts.into_iter().map(|(_, text)| text).collect::<Vec<_>>().join(", ")
}

/// Where the nose points while the camera fires.
fn nose(plan: &PassPlan) -> String {
    let strips = || plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
    let mut held = Vec::new();
    for leg in strips() {
        match leg.nose {
            Nose::Held { azimuth_rad } => held.push(azimuth(azimuth_rad)),
            Nose::Toward { turned_rad: 0.0, .. } => return "to the centre".to_owned(),
            Nose::Toward { .. } => return "to the side of the centre".to_owned(),
            Nose::AlongTrack => {}
        }
    }
    if held.is_empty() {
        return "along the track".to_owned();
    }
    let all_held = held.len() == strips().count();
    held.dedup();
    match (held.as_slice(), all_held) {
        ([one], true) => format!("held at {one}"),
        _ if plan.pattern.about().looks == Looks::AtWall => "square to each wall".to_owned(),
        _ => "held, line by line".to_owned(),
    }
}

/// Tilt, gimbal pitch and heading of every attitude.
fn each_camera(pass: &Pass, plan: &PassPlan, units: Units) -> Vec<CardFigure> {
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
