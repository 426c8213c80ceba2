//! Wind.

use super::place::Walk;
use super::{Caution, CautionSource, Facts, check, reminder};
use crate::LegKind;
use crate::route::azimuth_rad;
use crate::wording::{counted, speed};
use glam::DVec2;

/// Wind above this share of the fastest airspeed is cautioned. Common practice, no source.
const STRONG_WIND: f64 = 2.0 / 3.0;

/// A ground speed cut by less is not worth a word, as a share.
const LEAST_CUT: f64 = 0.01;

pub(super) fn weather(facts: &Facts<'_>, walk: &Walk) -> Vec<Caution> {
    [strong(facts), slowed(facts, walk)].into_iter().flatten().collect()
}

fn strong(facts: &Facts<'_>) -> Option<Caution> {
    let (wind_mps, fastest_mps) = (facts.conditions.wind.speed_mps, facts.aircraft.airframe.fastest_mps());
    (wind_mps > STRONG_WIND * fastest_mps).then(|| {
        let text = format!(
            "the wind of {} is {:.0} % of the fastest airspeed, {} (common practice: two thirds at most): gusts may carry \
             the aircraft off its track, and the way back against the wind is slow",
            speed(wind_mps),
            wind_mps / fastest_mps * 100.0,
            speed(fastest_mps)
        );
        check("wind-strong", text, CautionSource::Practice)
    })
}

/// Strips on which the wind does not let the planned speed be reached.
fn slowed(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    let (wind, fastest_mps) = (facts.conditions.wind, facts.aircraft.airframe.fastest_mps());
    if wind.speed_mps <= 0.0 || wind.speed_mps >= fastest_mps {
        return None;
    }
    let (mut count, mut slowest) = (0, None);
    for (k, flown) in facts.flight().legs.iter().enumerate().filter(|(_, f)| f.leg.kind == LegKind::Strip) {
        let tracks = flown.leg.pieces_m().filter_map(|(a, b)| (b - a).truncate().try_normalize());
        let along = |track: DVec2| wind.held(fastest_mps, azimuth_rad(track)).map_or(0.0, |on| on.ground_mps);
        let held_mps = tracks.map(along).fold(f64::INFINITY, f64::min);
        if held_mps < flown.leg.speed_mps * (1.0 - LEAST_CUT) {
            count += 1;
            slowest = match slowest {
                Some((kept_mps, _)) if kept_mps <= held_mps => slowest,
                _ => Some((held_mps, k)),
            };
        }
    }
    let (held_mps, leg) = slowest?;
    let text = format!(
        "the wind cuts the ground speed on {}, on the slowest from {} to {}",
        counted(count, "strip", "strips"),
        speed(facts.flight().legs[leg].leg.speed_mps),
        speed(held_mps)
    );
    Some(reminder("wind-slows", text, CautionSource::Plan).placed(vec![walk.of_leg(leg)]))
}
