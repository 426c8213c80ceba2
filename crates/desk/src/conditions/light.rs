//! What is said about the light of a strategy: finished texts.

use crate::show::{self, compass_name};
use obliquity_planning::light::{
    DayLight, ExposureBound, ExposureFigures, LightFigures, LightPeriod, LightSource, SunPosition,
    TwilightRule, Zone,
};
use obliquity_planning::{Outcome, Sky};

/// A figure and its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What it is.
    pub name: &'static str,
    /// The figure.
    pub text: String,
}

fn fact(name: &'static str, text: String) -> Fact {
    Fact { name, text }
}

/// An instant by the site's clock, hours and minutes; with the date where it is not the day's.
pub(super) fn clock(day: &DayLight, utc_s: f64) -> String {
    match day.zone.local_to_minute(utc_s) {
        Some(local) if local.date == day.date => local.hour_minute(),
        Some(local) => format!(
            "{} ({}-{:02}-{:02})",
            local.hour_minute(),
            local.date.year,
            local.date.month,
            local.date.day
        ),
        None => "–".to_owned(),
    }
}

fn span(day: &DayLight, from_s: f64, to_s: f64) -> String {
    format!("{} to {}", clock(day, from_s), clock(day, to_s))
}

/// Sunrise to landing, in the order of the day.
pub fn light_facts(light: &LightFigures) -> Vec<Fact> {
    let day = &*light.day;
    let mut facts = vec![
        fact("Sunrise", day.sun.rise_s().map_or_else(|| none(day), |s| clock(day, s))),
        fact("Sunset", day.sun.set_s().map_or_else(|| none(day), |s| clock(day, s))),
        fact("Civil twilight", twilight(day)),
    ];
    facts.push(fact(
        "Suggested",
        day.window.map_or_else(
            || "at no time: the sun stays down".to_owned(),
            |window| format!("{}: {}", span(day, window.from_s, window.to_s), window.basis.text()),
        ),
    ));
    facts.push(fact("Take-off", moment(day, light.take_off_s, light.at_take_off)));
    let middle_s = f64::midpoint(light.take_off_s, light.landing_s);
    facts.push(fact("Middle", moment(day, middle_s, light.at_middle)));
    facts.push(fact("Last landing", moment(day, light.landing_s, light.at_landing)));
    facts.push(fact("Flown in", shares(light)));
    if let Some(note) = beside_window(light) {
        facts.push(fact("", note));
    }
    facts
}

fn none(day: &DayLight) -> String {
    let up = day.period(f64::midpoint(day.from_s, day.to_s)) == Some(LightPeriod::Daylight);
    if up { "none that day: the sun is up".to_owned() } else { "none that day".to_owned() }
}

fn twilight(day: &DayLight) -> String {
    let rule = match day.rule {
        TwilightRule::ThirtyMinutes => "30 min beside sunrise and sunset, 14 CFR 107.29",
        TwilightRule::SunSixBelow => "until the sun is 6° below the horizon",
    };
    let lit: Vec<_> = day.periods.iter().filter(|span| span.period != LightPeriod::Night).collect();
    match (lit.first(), lit.last()) {
        (Some(first), Some(last)) => {
            format!("begins {}, ends {} ({rule})", clock(day, first.from_s), clock(day, last.to_s))
        }
        _ => format!("none that day ({rule})"),
    }
}

fn moment(day: &DayLight, utc_s: f64, sun: SunPosition) -> String {
    let deg = sun.elevation_rad.to_degrees();
    let azimuth_deg = sun.azimuth_rad.to_degrees();
    let clock = clock(day, utc_s);
    if deg < 0.0 {
        return format!("{clock}, sun {:.0}° below the horizon", -deg);
    }
    format!("{clock}, sun {deg:.0}° high in the {} ({azimuth_deg:.0}°)", compass_name(azimuth_deg))
}

fn shares(light: &LightFigures) -> String {
    let parts = [
        (light.shares.daylight, "daylight"),
        (light.shares.civil_twilight, "civil twilight"),
        (light.shares.night, "night"),
    ];
    let some: Vec<_> = parts.into_iter().filter(|(share, _)| *share > 0.0).collect();
    if let [(_, only)] = some[..] {
        return (*only).to_owned();
    }
    let texts: Vec<String> =
        some.into_iter().map(|(share, name)| format!("{} {name}", show::percent(share, None))).collect();
    texts.join(", ")
}

/// How the flying lies to the window that is suggested.
fn beside_window(light: &LightFigures) -> Option<String> {
    let window = light.day.window?;
    let (early, late) = (light.take_off_s < window.from_s, light.landing_s > window.to_s);
    let text = match (early, late) {
        (false, false) => "The flying lies in the suggested window.",
        (true, false) => "The flying begins before the suggested window; shadows are longer then.",
        (false, true) => "The flying ends after the suggested window; shadows are longer then.",
        (true, true) => "The flying reaches beyond the suggested window on both sides.",
    };
    Some(text.to_owned())
}

/// What the exposure follows from, or why the camera's own time stands.
pub fn exposure_text(outcome: &Outcome) -> String {
    match &outcome.exposure {
        Ok(exposure) => exposed(exposure),
        Err(why) => sentence(&why.to_string()),
    }
}

fn exposed(exposure: &ExposureFigures) -> String {
    let source = match exposure.source {
        LightSource::Metered => "metered".to_owned(),
        LightSource::Estimated { sky: Sky::Clear, .. } => "estimated for a clear sky".to_owned(),
        LightSource::Estimated { sky: Sky::Overcast, .. } => "estimated for an overcast sky".to_owned(),
    };
    let mut text = format!(
        "1/{} s at f/{} and ISO {}, for EV {:.1} ({source})",
        show::count(1.0 / exposure.exposure_s),
        show::short(exposure.f_number),
        show::count(exposure.iso),
        exposure.ev100,
    );
    if exposure.bound_by == ExposureBound::ShortestTime {
        text.push_str(
            "; the shutter's shortest time, images come out too bright: close the aperture or lower the ISO",
        );
    }
    match exposure.darkest_ev100 {
        Some(darkest) if darkest < exposure.ev100 - 0.05 => {
            text = format!("{text}; it gets as dark as EV {darkest:.1} before the last landing");
        }
        None => text.push_str("; it gets too dark for an estimate before the last landing"),
        Some(_) => {}
    }
    text
}

/// With a capital and a full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

/// What the site's clock is ahead of UTC at an instant, in words: "UTC+05:30".
pub(super) fn offset_text(minutes: i32) -> String {
    let (sign, size) = (if minutes < 0 { '−' } else { '+' }, minutes.abs());
    format!("UTC{sign}{:02}:{:02}", size / 60, size % 60)
}

/// The date and the offset from UTC that a zone shows at an instant.
pub(super) fn offset_min(zone: &Zone, utc_s: f64) -> Option<i32> {
    zone.local(utc_s).map(|local| local.utc_offset_min)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn offsets_are_said_as_clocks_say_them() {
        assert_eq!([330, -420, 0].map(offset_text), ["UTC+05:30", "UTC−07:00", "UTC+00:00"]);
    }

    // Derived: by hand.
    #[test]
    fn reasons_become_sentences() {
        assert_eq!(sentence("no light level is set"), "No light level is set.");
    }
}
