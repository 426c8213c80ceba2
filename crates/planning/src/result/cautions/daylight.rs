//! Twilight, night, a low sun, and light that changes while flying.

use crate::base::Unit;
use crate::base::wording::{held, percent, trimmed};
use crate::light::{LightFigures, LightPeriod};
use crate::result::caution::{Caution, CautionSource, RoutePoint, Stretch, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::rules;
use crate::scenario::{HeightRule, Terrain};
use std::collections::BTreeMap;

/// The sun stands lower than this: long shadows. Common practice; a mission checklist has it, its origin is unclear.
const LOW_SUN_DEG: f64 = 30.0;

/// Clocks that are set by law lie this near to the sun's, in hours, but for a few large countries with one zone.
/// Common practice, no source.
const MOST_OFF_SUN_H: f64 = 1.5;

/// Light that falls by less is not worth a word, as an exposure value: a third, the step of cameras' dials.
const LEAST_FALL_EV: f64 = 1.0 / 3.0;

/// When each sortie begins, less the flying clock at its start: a place's clock plus this is its instant.
fn begun_s(facts: &Facts<'_>, light: &LightFigures) -> Vec<f64> {
    let swap_s = facts.aircraft.airframe.swap_min * 60.0;
    let mut wait_s = 0.0;
    let before = facts.flight().sorties.iter().enumerate().map(|(k, sortie)| {
        wait_s += sortie.wait_s + sortie.move_s;
        light.take_off_s + swap_s * k as f64 + wait_s
    });
    before.collect()
}

/// The instant at which a place is flown.
fn instant_s(point: &RoutePoint, light: &LightFigures, begun_s: &[f64]) -> f64 {
    begun_s.get(point.sortie as usize).copied().unwrap_or(light.take_off_s) + point.time_s
}

/// The stretches that are flown in a period of the arrival's day.
fn flown_in(facts: &Facts<'_>, light: &LightFigures, period: LightPeriod) -> Vec<Stretch> {
    let walk = facts.walk();
    let begun_s = begun_s(facts, light);
    let within = |point: &RoutePoint| light.day.period(instant_s(point, light, &begun_s)) == Some(period);
    walk.longest_first(&walk.runs(within))
}

pub(super) fn twilight(facts: &Facts<'_>) -> Option<Caution> {
    let light = facts.light()?;
    let part = light.shares.civil_twilight;
    if part <= 0.0 {
        return None;
    }
    let share = percent(part);
    let (what, source) = match facts.conditions.height_rule {
        HeightRule::UsPart107 => (
            "lighted anti-collision lighting is needed, visible for 3 statute miles (4.8 km) and more, with a flash rate \
             sufficient to avoid a collision; in Alaska twilight is reckoned otherwise",
            CautionSource::Rule(rules::us::NIGHT),
        ),
        HeightRule::EuOpen | HeightRule::Custom { .. } => (
            "the aircraft is hard to see and the light falls fast; local rules say what lights it needs",
            CautionSource::Practice,
        ),
    };
    let text = format!("{share} of the time in the field from take-off to landing is civil twilight: {what}");
    let places = flown_in(facts, light, LightPeriod::CivilTwilight);
    Some(check("twilight", text, source).placed(places).gauged(part, share))
}

pub(super) fn night(facts: &Facts<'_>) -> Option<Caution> {
    let light = facts.light()?;
    let part = light.shares.night;
    if part <= 0.0 {
        return None;
    }
    let share = percent(part);
    let (what, source) = match facts.conditions.height_rule {
        HeightRule::UsPart107 => (
            "the remote pilot needs initial test or training completed after 6 April 2021, and the aircraft lighted \
             anti-collision lighting, visible for 3 statute miles (4.8 km) and more, with a flash rate sufficient to avoid \
             a collision",
            CautionSource::Rule(rules::us::NIGHT),
        ),
        HeightRule::EuOpen => (
            "local rules decide whether that is allowed; the open category asks for a green flashing light (from memory)",
            CautionSource::Rule(rules::eu::NIGHT),
        ),
        HeightRule::Custom { .. } => {
            ("local rules decide whether that is allowed, and with what lights", CautionSource::Practice)
        }
    };
    let text = format!("{share} of the time in the field from take-off to landing is night: {what}");
    let places = flown_in(facts, light, LightPeriod::Night);
    Some(check("night", text, source).placed(places).gauged(part, share))
}

pub(super) fn low_sun(facts: &Facts<'_>) -> Option<Caution> {
    let light = facts.light()?;
    let suns = [light.at_take_off, light.at_middle, light.at_landing];
    let lowest_deg = suns.map(|sun| sun.elevation_rad.to_degrees()).into_iter().fold(f64::INFINITY, f64::min);
    (lowest_deg < LOW_SUN_DEG && light.shares.daylight > 0.0).then(|| {
        let low = if lowest_deg > 0.0 { format!("as low as {lowest_deg:.0}°") } else { "below the horizon".to_owned() };
        let text = format!(
            "the sun stands {low} while flying, below 30°: long shadows and uneven light (common practice, where it comes \
             from is unclear)"
        );
        reminder("low-sun", text, CautionSource::Practice).gauged(-lowest_deg, low)
    })
}

/// The site's clock is so far from the sun's that it may be another place's: a zone that was never set.
pub(super) fn far_clock(facts: &Facts<'_>) -> Option<Caution> {
    let light = facts.light()?;
    let (day, longitude_deg) = (&light.day, light.day.observer.place.longitude_deg);
    let offset_h = day.zone.winter_offset_h(day.date.year).ok()?;
    let ahead_h = (offset_h - longitude_deg / 15.0 + 12.0).rem_euclid(24.0) - 12.0;
    (ahead_h.abs() > MOST_OFF_SUN_H).then(|| {
        let side = if ahead_h > 0.0 { "ahead of" } else { "behind" };
        let noon = day.noon_s.and_then(|noon_s| day.zone.local_to_minute(noon_s));
        let noon = noon.map_or_else(String::new, |noon| {
            format!(" (it stands highest at {} by this clock)", noon.hour_minute())
        });
        let text = format!(
            "the site's clock is {} h {side} the sun's{noon}: check that the time zone is the site's",
            trimmed(ahead_h.abs(), 1)
        );
        check("clock-off-sun", text, CautionSource::Practice)
    })
}

/// Shade moves too far for images of one place to be matched well after this long. Common practice, no source.
const LONGEST_GAP_S: f64 = 30.0 * 60.0;

/// Places are the same within such a part of the smallest footprint's sides: their images show the same ground.
const SAME_PLACE: f64 = 0.5;

/// Images of the same place lie so far apart in time that what throws a shade throws it elsewhere.
pub(super) fn shade_moves(facts: &Facts<'_>) -> Option<Caution> {
    let light = facts.light()?;
    let throws = !facts.site.structures.is_empty() || matches!(facts.site.terrain, Terrain::Grid(_));
    let suns = [light.at_take_off, light.at_middle, light.at_landing];
    if !throws || light.shares.daylight <= 0.0 || suns.iter().all(|sun| sun.elevation_rad <= 0.0) {
        return None;
    }
    let sides_m = facts.plans().map(|plan| plan.layout.extent_along_m.min(plan.layout.extent_across_m));
    let cell_m = sides_m.fold(f64::INFINITY, f64::min) * SAME_PLACE;
    let (walk, begun_s) = (facts.walk(), begun_s(facts, light));
    // places come as they are flown: nothing lies farther apart than the first and the last
    let mut exposing = walk.points.iter().filter(|point| point.pass.is_some());
    let (first, last) = (exposing.next()?, exposing.next_back());
    let flown_s =
        last.map_or(0.0, |last| instant_s(last, light, &begun_s) - instant_s(first, light, &begun_s));
    if flown_s <= LONGEST_GAP_S {
        return None;
    }
    let cell_of = |point: &RoutePoint| {
        let cell = point.position_m.truncate() / cell_m;
        (whole_down(cell.x), whole_down(cell.y))
    };
    // whoever stays in a cell is looked at once for it
    let mut stays: Vec<((i64, i64), (f64, f64))> = Vec::new();
    for point in walk.points.iter().filter(|point| point.pass.is_some()) {
        let (at_s, cell) = (instant_s(point, light, &begun_s), cell_of(point));
        match stays.last_mut() {
            Some((last, span)) if *last == cell => *span = (span.0.min(at_s), span.1.max(at_s)),
            _ => stays.push((cell, (at_s, at_s))),
        }
    }
    let mut shots_s: BTreeMap<(i64, i64), (f64, f64)> = BTreeMap::new();
    for (cell, (from_s, to_s)) in stays {
        let span = shots_s.entry(cell).or_insert((from_s, to_s));
        *span = (span.0.min(from_s), span.1.max(to_s));
    }
    let gap_s = |span: &(f64, f64)| span.1 - span.0;
    let longest_s = shots_s.values().map(gap_s).fold(0.0, f64::max);
    (longest_s > LONGEST_GAP_S).then(|| {
        let far = |point: &RoutePoint| {
            point.pass.is_some() && shots_s.get(&cell_of(point)).is_some_and(|s| gap_s(s) > LONGEST_GAP_S)
        };
        let told = held(Unit::Seconds, longest_s, LONGEST_GAP_S);
        let text = format!(
            "up to {} lie between images of the same place, more than {}: shade moves meanwhile, and matching and texture \
             suffer; fly what belongs together in one go, or under even cloud",
            told.value, told.limit
        );
        let places = walk.longest_first(&walk.runs(far));
        check("shade-moves", text, CautionSource::Practice).placed(places).gauged(longest_s, told.value)
    })
}

/// The whole number below; without the library call that rounding down is on the processors that a build is for.
fn whole_down(value: f64) -> i64 {
    let toward_zero = value as i64;
    toward_zero - i64::from(toward_zero as f64 > value)
}

/// The light falls so far that images want a longer exposure than the plan's speeds allow for.
pub(super) fn falling(facts: &Facts<'_>) -> Option<Caution> {
    let exposure = facts.light().and(facts.exposure.as_ref().ok())?;
    let Some(darkest) = exposure.darkest_ev100 else {
        let text = "it gets too dark while flying to estimate an exposure: meter the light, or fly earlier"
            .to_owned();
        return Some(check("light-falls", text, CautionSource::Plan).gauged(f64::INFINITY, "too dark"));
    };
    let fall = exposure.ev100 - darkest;
    let longest_s = facts.aircraft.camera.exposure_s_in(darkest);
    if fall < LEAST_FALL_EV || longest_s <= exposure.exposure_s {
        return None;
    }
    let text = format!(
        "the light is estimated to fall by {} EV below that at take-off while flying, so the exposure grows from 1/{:.0} s \
         to 1/{:.0} s: images blur more or come out darker, unless ISO is raised or the speed lowered",
        trimmed(fall, 1),
        1.0 / exposure.exposure_s,
        1.0 / longest_s
    );
    Some(check("light-falls", text, CautionSource::Plan).gauged(fall, format!("{} EV", trimmed(fall, 1))))
}
