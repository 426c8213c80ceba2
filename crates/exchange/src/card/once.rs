//! What is keyed in once for all passes, and the day.

use super::given::{CardOf, several_take_offs};
use super::model::{CardFigure, CardFit};
use super::pass::coordinates;
use super::words::{azimuth, length, short, speed};
use glam::DVec2;
use obliquity_planning::light::{DayLight, ExposureBound, LightFigures, SunPosition};
use obliquity_planning::{LegKind, Mission, ReturnHeight, SiteZone, Timing, return_height};

/// Return height, take-off and first point, exposure.
pub(super) fn set_once(card: &CardOf<'_>, timing: &Timing) -> Vec<CardFigure> {
    let site = &card.scenario.site;
    let clearance_m = card.scenario.conditions.clearance_m;
    let home = card.outline.map(|outline| {
        returning(card, &return_height(&timing.flight, outline, clearance_m), outline.assumed.then_some(()))
    });
    let alone = several_take_offs(&timing.flight).is_none();
    let take_off = alone.then(|| place("take-off", card, site.take_off_m));
    let first = first_point_m(timing).map(|at_m| place("first point", card, at_m));
    home.into_iter().chain(take_off).chain(first).chain(exposure(card)).collect()
}

/// Every take-off point that sorties start at, where that is not the site's own alone: where it is, which sorties start
/// there, and how its ground lies, since controllers measure heights from where they start.
pub(super) fn take_offs(card: &CardOf<'_>, timing: &Timing) -> Vec<CardFigure> {
    let flight = &timing.flight;
    let first_z_m = flight.take_offs_m.first().map_or(0.0, |at_m| at_m.z);
    let told = |home: u32| {
        let at_m = flight.take_offs_m[home as usize];
        let (value, note) = coordinates(&card.scenario.site, card.units, at_m.truncate());
        let own = (1..).zip(&flight.sorties).filter(|(_, sortie)| sortie.home == home);
        let numbers: Vec<String> = own.map(|(number, _): (u32, _)| number.to_string()).collect();
        let word = if numbers.len() == 1 { "sortie" } else { "sorties" };
        let above_m = at_m.z - first_z_m;
        let ground = match above_m {
            m if m.abs() < 0.05 => String::new(),
            m => {
                let (over, less) = if m > 0.0 { ("above", "less") } else { ("below", "more") };
                let by = length(card.units, m.abs()).value;
                format!("; ground {by} {over} take-off 1: heights over take-off are so much {less} there")
            }
        };
        CardFigure::new(format!("take-off {}", home + 1), value)
            .note(format!("{word} {}; {note}{ground}", numbers.join(", ")))
    };
    several_take_offs(flight).into_iter().flatten().map(told).collect()
}

/// Over what, and how far over it.
fn returning(card: &CardOf<'_>, home: &ReturnHeight, assumed: Option<()>) -> CardFigure {
    let told = |m: f64| length(card.units, m).value;
    let of = match (&home.tallest, assumed) {
        (Some(_), Some(())) => "the assumed buildings".to_owned(),
        (Some(name), None) => name.clone(),
        (None, _) => "the ground".to_owned(),
    };
    let over = format!(
        "above the take-off point: {} over {of}, the tallest on the way at {}",
        told(home.m - home.tallest_m),
        told(home.tallest_m)
    );
    let note = match home.keep_outs.as_slice() {
        [] => over,
        names => format!("{over}; a straight way home may lead over {}: keep clear of it", names.join(", ")),
    };
    CardFigure::said("return height", length(card.units, home.m)).note(note)
}

fn place(label: &str, card: &CardOf<'_>, at_m: DVec2) -> CardFigure {
    let (value, note) = coordinates(&card.scenario.site, card.units, at_m);
    CardFigure::new(label, value).note(note)
}

/// Where the first pass begins.
fn first_point_m(timing: &Timing) -> Option<DVec2> {
    let strip = timing.flight.legs.iter().find(|flown| flown.leg.kind == LegKind::Strip)?;
    Some(strip.leg.from_m.truncate())
}

/// `1/1600 s`, with a decimal where a second is not cut into many.
fn shutter(exposure_s: f64) -> String {
    let parts = 1.0 / exposure_s;
    if parts >= 10.0 { format!("1/{parts:.0} s") } else { format!("{} s", short(exposure_s)) }
}

/// Time, aperture and ISO; the camera's own time where the light decides none.
fn exposure(card: &CardOf<'_>) -> Vec<CardFigure> {
    let scenario = card.scenario;
    let strategy = scenario.strategy(card.outcome.strategy);
    let Some(aircraft) = strategy.and_then(|strategy| scenario.equipment.aircraft(strategy.aircraft)) else {
        return Vec::new();
    };
    let camera = &aircraft.camera;
    let time = match &card.outcome.exposure {
        Ok(exposure) => {
            let time = CardFigure::new("exposure time", shutter(exposure.exposure_s));
            match exposure.bound_by {
                ExposureBound::Light => time.note(format!("for EV {:.1}", exposure.ev100)),
                ExposureBound::ShortestTime => time
                    .note(format!(
                        "the shutter's shortest, for EV {:.1}: too bright, close the aperture",
                        exposure.ev100
                    ))
                    .fits(CardFit::Short),
            }
        }
        Err(why) => CardFigure::new("exposure time", shutter(camera.exposure_s)).note(why.to_string()),
    };
    let metering = camera.metering.map(|metering| {
        [
            CardFigure::new("aperture", format!("f/{}", short(metering.f_number))),
            CardFigure::new("ISO", short(metering.iso)),
        ]
    });
    std::iter::once(time).chain(metering.into_iter().flatten()).collect()
}

/// Arrival, light and wind.
pub(super) fn day(card: &CardOf<'_>, timing: &Timing) -> Vec<CardFigure> {
    let arrival = match &card.scenario.conditions.mission {
        Some(mission) => arrival(mission),
        None => CardFigure::new("arrival", "not set"),
    };
    let light = match &card.outcome.light {
        Ok(light) => sun(light),
        Err(why) => CardFigure::new("light", "not known").note(why.to_string()),
    };
    vec![arrival, light, wind(card, timing)]
}

fn arrival(mission: &Mission) -> CardFigure {
    let Mission { date, arrival, zone } = mission;
    let value =
        format!("{}-{:02}-{:02} {:02}:{:02}", date.year, date.month, date.day, arrival.hour, arrival.minute);
    let zone = match zone {
        SiteZone::Named { name } => name.clone(),
        SiteZone::Offset { minutes } => {
            let sign = if *minutes < 0 { "−" } else { "+" };
            format!("UTC{sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60)
        }
    };
    CardFigure::new("arrival", value).note(format!("by the clock of {zone}"))
}

/// An instant by the site's clock.
fn clock(day: &DayLight, utc_s: f64) -> String {
    day.zone.local_to_minute(utc_s).map_or_else(|| "–".to_owned(), |local| local.hour_minute())
}

fn height(sun: SunPosition) -> String {
    let deg = sun.elevation_rad.to_degrees();
    if deg < 0.0 {
        return format!("{:.0}° below the horizon", -deg);
    }
    format!("{deg:.0}° high at {}", azimuth(sun.azimuth_rad))
}

/// When it is flown, and where the sun stands then.
fn sun(light: &LightFigures) -> CardFigure {
    let day = &*light.day;
    let span = format!("{} to {}", clock(day, light.take_off_s), clock(day, light.landing_s));
    let shares = light.shares;
    let parts =
        [(shares.daylight, "daylight"), (shares.civil_twilight, "civil twilight"), (shares.night, "night")];
    let parts: Vec<&str> = parts.iter().filter(|(share, _)| *share > 0.0).map(|(_, name)| *name).collect();
    let note = format!(
        "first take-off to last landing, in {}; sun {}, then {}",
        parts.join(" and "),
        height(light.at_take_off),
        height(light.at_landing)
    );
    CardFigure::new("flying", span).note(note)
}

/// The wind that the figures are for.
fn wind(card: &CardOf<'_>, timing: &Timing) -> CardFigure {
    let given = card.scenario.conditions.wind;
    if !given.blows() {
        return CardFigure::new("wind", "none").note("at flying height");
    }
    let azimuth = |deg: f64| format!("{:03.0}°", deg.rem_euclid(360.0));
    let from = match (given.from_deg, timing.flight.wind.from_deg) {
        (Some(from_deg), _) => format!("from {}", azimuth(from_deg)),
        (None, Some(from_deg)) => format!("direction unknown, predicted from {}", azimuth(from_deg)),
        (None, None) => "direction unknown".to_owned(),
    };
    CardFigure::said("wind", speed(card.units, given.speed_mps)).note(format!("at flying height, {from}"))
}
