//! Where an aircraft's nose points while it flies a leg: turning on the spot follows it, not the track.

use super::{LayoutTerms, Leg, LegKind, Nose, SAME_PLACE_M};
use crate::geometry::Pose;
use crate::scenario::{Aim, Looks, Pass, Pattern};
use glam::{DVec2, DVec3};

/// The level direction of a piece; none of an upright one, nor of one so short that its direction is that of rounding.
pub(crate) fn level(a: DVec3, b: DVec3) -> Option<DVec2> {
    let way = (b - a).truncate();
    (way.length() >= SAME_PLACE_M).then_some(way)
}

impl Leg {
    /// Azimuths of the nose where the leg begins and where it ends.
    pub(crate) fn noses_rad(&self) -> [Option<f64>; 2] {
        let first = || self.pieces_m().find_map(|(a, b)| level(a, b));
        let last = || {
            if self.via_m.is_empty() {
                return level(self.from_m, self.to_m);
            }
            let mut to_m = self.to_m;
            let before = self.via_m.iter().rev().chain([&self.from_m]);
            before.copied().find_map(|from_m| level(from_m, std::mem::replace(&mut to_m, from_m)))
        };
        [self.nose.at_rad(self.from_m, first()), self.nose.at_rad(self.to_m, last())]
    }
}

/// Points the nose on all legs of a pass: on exposed ones as their aim asks, on the others as it was before.
pub(super) fn point(legs: &mut [Leg], pass: &Pass, layout: &LayoutTerms, poses: &[Pose]) {
    let mut held = None;
    for leg in legs.iter_mut() {
        if leg.kind == LegKind::Strip {
            if leg.nose == Nose::AlongTrack {
                let station = leg.stops.first().map(|stop| &poses[stop.station as usize]);
                leg.nose = asked(pass, layout, station).or(held).unwrap_or(Nose::AlongTrack);
            }
            held = Some(leg.nose);
        } else if let Some(nose) = held {
            leg.nose = nose;
        }
    }
}

/// The way in which a pass over an area holds the nose, if it does; clockwise from north.
pub(super) fn held_rad(pass: &Pass, layout: &LayoutTerms) -> Option<f64> {
    match asked(pass, layout, None) {
        Some(Nose::Held { azimuth_rad }) => Some(azimuth_rad),
        Some(Nose::AlongTrack | Nose::Toward { .. }) | None => None,
    }
}

/// What a pass asks of the nose where one of its exposures is taken; nothing where that is needed and there is none.
///
/// A camera that looks along the flight, or is panned from it, turns with the track. A look that is held is held by the
/// nose, so that it needs no pan: with the camera straight ahead, or, in a cycle, with the attitudes about the nose.
fn asked(pass: &Pass, layout: &LayoutTerms, station: Option<&Pose>) -> Option<Nose> {
    let held = |azimuth_rad: f64| Some(Nose::Held { azimuth_rad });
    let over_an_area = matches!(pass.pattern, Pattern::Strips(_));
    if let [attitude] = pass.attitudes.as_slice() {
        return match attitude.aim {
            Aim::FromNorth { deg } => held(deg.to_radians()),
            Aim::FromStrips { deg } if over_an_area => held(layout.direction_rad? + deg.to_radians()),
            Aim::FromStrips { .. } => held(station?.heading_rad),
            Aim::AtSubject { .. } if pass.pattern.about().looks == Looks::AtWall => {
                held(station?.heading_rad)
            }
            Aim::FromTrack { .. } | Aim::AtSubject { .. } => Some(Nose::AlongTrack),
        };
    }
    let all = |is: fn(Aim) -> bool| pass.attitudes.iter().all(|attitude| is(attitude.aim));
    if all(|aim| matches!(aim, Aim::FromNorth { .. })) {
        held(0.0)
    } else if over_an_area && all(|aim| matches!(aim, Aim::FromStrips { .. })) {
        held(layout.direction_rad?)
    } else {
        Some(Nose::AlongTrack)
    }
}
