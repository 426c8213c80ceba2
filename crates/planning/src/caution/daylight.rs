//! Twilight, night, a low sun, and light that changes while flying.

use super::place::{RoutePoint, Stretch, Walk};
use super::{Caution, CautionSource, Facts, check, reminder, rules};
use crate::HeightRule;
use crate::light::{ExposureFigures, LightFigures, LightPeriod};
use crate::wording::{percent, trimmed};

/// The sun stands lower than this: long shadows. Common practice; a mission checklist has it, its origin is unclear.
const LOW_SUN_DEG: f64 = 30.0;

/// Light that falls by less is not worth a word, as an exposure value: a third, the step of cameras' dials.
const LEAST_FALL_EV: f64 = 1.0 / 3.0;

pub(super) fn daylight(facts: &Facts<'_>, walk: &Walk) -> Vec<Caution> {
    let Ok(light) = &facts.outcome.light else { return Vec::new() };
    let exposure = facts.outcome.exposure.as_ref().ok();
    let found = [
        twilight(facts, light, walk),
        night(facts, light, walk),
        low_sun(light),
        exposure.and_then(|exposure| falling(facts, exposure)),
    ];
    found.into_iter().flatten().collect()
}

/// The longest and the first stretch that is flown in a period of the arrival's day.
fn flown_in(facts: &Facts<'_>, light: &LightFigures, walk: &Walk, period: LightPeriod) -> Vec<Stretch> {
    let swap_s = facts.aircraft.airframe.swap_min * 60.0;
    let mut wait_s = 0.0;
    let before = facts.flight().sorties.iter().enumerate().map(|(k, sortie)| {
        wait_s += sortie.wait_s;
        light.take_off_s + swap_s * k as f64 + wait_s
    });
    let before: Vec<f64> = before.collect();
    let within = |point: &RoutePoint| {
        let begun_s = before.get(point.sortie as usize).copied().unwrap_or(light.take_off_s);
        light.day.period(begun_s + point.time_s) == Some(period)
    };
    walk.longest_and_first(&walk.runs(within))
}

fn twilight(facts: &Facts<'_>, light: &LightFigures, walk: &Walk) -> Option<Caution> {
    let share = light.shares.civil_twilight;
    if share <= 0.0 {
        return None;
    }
    let share = percent(share, 0.0);
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
    let text =
        format!("{share} % of the time in the field from take-off to landing is civil twilight: {what}");
    let places = flown_in(facts, light, walk, LightPeriod::CivilTwilight);
    Some(check("twilight", text, source).placed(places))
}

fn night(facts: &Facts<'_>, light: &LightFigures, walk: &Walk) -> Option<Caution> {
    let share = light.shares.night;
    if share <= 0.0 {
        return None;
    }
    let share = percent(share, 0.0);
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
    let text = format!("{share} % of the time in the field from take-off to landing is night: {what}");
    let places = flown_in(facts, light, walk, LightPeriod::Night);
    Some(check("night", text, source).placed(places))
}

fn low_sun(light: &LightFigures) -> Option<Caution> {
    let suns = [light.at_take_off, light.at_middle, light.at_landing];
    let lowest_deg = suns.map(|sun| sun.elevation_rad.to_degrees()).into_iter().fold(f64::INFINITY, f64::min);
    (lowest_deg < LOW_SUN_DEG && light.shares.daylight > 0.0).then(|| {
        let low = if lowest_deg > 0.0 { format!("as low as {lowest_deg:.0}°") } else { "below the horizon".to_owned() };
        let text = format!(
            "the sun stands {low} while flying, below 30°: long shadows and uneven light (common practice, where it comes \
             from is unclear)"
        );
        reminder("low-sun", text, CautionSource::Practice)
    })
}

/// The light falls so far that images want a longer exposure than the plan's speeds allow for.
fn falling(facts: &Facts<'_>, exposure: &ExposureFigures) -> Option<Caution> {
    let Some(darkest) = exposure.darkest_ev100 else {
        let text = "it gets too dark while flying to estimate an exposure: meter the light, or fly earlier"
            .to_owned();
        return Some(check("light-falls", text, CautionSource::Plan));
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
    Some(check("light-falls", text, CautionSource::Plan))
}
