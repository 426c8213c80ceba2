//! Wind.

use crate::base::Unit;
use crate::base::wording::{InUnits, against, counted};
use crate::geometry::polygon::azimuth_rad;
use crate::result::caution::{Caution, CautionSource, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::route::LegKind;
use glam::DVec2;

/// Wind above this share of the fastest airspeed is cautioned. Common practice, no source.
const STRONG_WIND: f64 = 2.0 / 3.0;

/// A ground speed cut by less is not worth a word, as a share.
const LEAST_CUT: f64 = 0.01;

pub(super) fn strong(facts: &Facts<'_>) -> Option<Caution> {
    let (wind_mps, fastest_mps) = (facts.conditions.wind.speed_mps, facts.aircraft.airframe.fastest_mps());
    (wind_mps > STRONG_WIND * fastest_mps).then(|| {
        let share = against(Unit::Share, wind_mps / fastest_mps, Some(STRONG_WIND));
        let text = InUnits::of(|units| {
            format!(
                "the wind of {} is {share} of the fastest airspeed, {} (common practice: two thirds at most): gusts may carry \
                 the aircraft off its track, and the way back against the wind is slow",
                units.speed(wind_mps),
                units.speed(fastest_mps)
            )
        });
        check("wind-strong", text, CautionSource::Practice).gauged(wind_mps / fastest_mps, share)
    })
}

/// Strips on which the wind does not let the planned speed be reached.
pub(super) fn slowed(facts: &Facts<'_>) -> Option<Caution> {
    let (wind, fastest_mps) = (facts.flight().wind, facts.aircraft.airframe.fastest_mps());
    if !wind.blows() {
        return None;
    }
    let mut slow: Vec<(f64, usize)> = Vec::new();
    for (k, flown) in facts.flight().legs.iter().enumerate().filter(|(_, f)| f.leg.kind == LegKind::Strip) {
        let tracks = flown.leg.pieces_m().filter_map(|(a, b)| (b - a).truncate().try_normalize());
        let along = |track: DVec2| wind.held(fastest_mps, azimuth_rad(track)).map_or(0.0, |on| on.ground_mps);
        let held_mps = tracks.map(along).fold(f64::INFINITY, f64::min);
        if held_mps < flown.leg.speed_mps * (1.0 - LEAST_CUT) {
            slow.push((held_mps, k));
        }
    }
    let count = slow.len() as u64;
    slow.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (held_mps, leg) = *slow.first()?;
    let from = match (facts.conditions.wind.from_deg, wind.from_deg) {
        (None, Some(from_deg)) => format!("; reckoned from {from_deg:.0}°, its direction being unknown"),
        _ => String::new(),
    };
    let strips = counted(count, "strip", "strips");
    let planned_mps = facts.flight().legs[leg].leg.speed_mps;
    let text = InUnits::of(|units| {
        format!(
            "the wind cuts the ground speed on {strips}, on the slowest from {} to {}{from}",
            units.speed(planned_mps),
            units.speed(held_mps)
        )
    });
    let caution = reminder("wind-slows", text, CautionSource::Plan).placed(facts.walk().of_legs(&slow));
    Some(caution.gauged(-held_mps, InUnits::of(|units| format!("{} on {strips}", units.speed(held_mps)))))
}
