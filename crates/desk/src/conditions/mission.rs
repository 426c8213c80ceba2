//! When the job is flown, by which clock, and in what light.

use super::given::{ConditionsForm, Put};
use super::light::{offset_min, offset_text};
use crate::clock;
use crate::form::{self, Enabled, Kind, Named};
use crate::inputs::{Entry, within};
use crate::theme::{self, space};
use crate::units::{Unit, Units};
use egui::{Key, Rect, TextEdit, Ui, vec2};
use obliquity_exchange::{EntryField, EntryKind};
use obliquity_planning::light::Zone;
use obliquity_planning::limits::{self, Range};
use obliquity_planning::{Conditions, LightLevel, LocalClock, LocalDate, Mission, Site, SiteZone, Sky};

/// Zones offered for what is typed.
const OFFERED: usize = 6;

/// Date, arrival and clock; or that they are not known.
pub(super) fn mission(ui: &mut Ui, of: ConditionsForm<'_>, put: &mut Put<'_>) {
    let conditions = of.conditions;
    let mut known = conditions.mission.is_some();
    let hint = "Without a date, a time and a clock nothing is said about the light";
    if ui.checkbox(&mut known, "Plan for a date").on_hover_text(hint).changed() {
        let mission = known.then(|| begun(of.site));
        let what = if known { "Date of the mission" } else { "No date of the mission" };
        put(what.into(), Conditions { mission, ..conditions.clone() });
    }
    let Some(mission) = &conditions.mission else { return };
    let mut change = |what: &str, mission: Mission| {
        put(what.into(), Conditions { mission: Some(mission), ..conditions.clone() });
    };
    if let Some(date) = date(ui, mission.date) {
        change("Date of the mission", Mission { date, ..mission.clone() });
    }
    if let Some(arrival) = arrival(ui, mission.arrival) {
        change("Arrival", Mission { arrival, ..mission.clone() });
    }
    if let Some(zone) = zone(ui, mission) {
        change("Clock of the site", Mission { zone, ..mission.clone() });
    }
}

/// The next morning, by a clock that fits the site's longitude; by the computer's where the site is nowhere.
fn begun(site: &Site) -> Mission {
    let next = clock::next_mission(LocalClock { hour: 9, minute: 0 });
    let zone = site
        .origin
        .map(|origin| SiteZone::Offset { minutes: 60 * (origin.longitude_deg / 15.0).round() as i32 });
    Mission { zone: zone.unwrap_or(next.zone), ..next }
}

fn date(ui: &mut Ui, date: LocalDate) -> Option<LocalDate> {
    let last = date.days_in_month().map_or(31.0, f64::from);
    let days = Range { what: "day", least: 1.0, most: last, mend: "" };
    let parts = [
        DatePart {
            spoken: "Year",
            value: f64::from(date.year),
            range: limits::YEAR,
            width: 58.0,
            write: four_digits,
        },
        DatePart {
            spoken: "Month",
            value: f64::from(date.month),
            range: limits::MONTH,
            width: 40.0,
            write: two_digits,
        },
        DatePart { spoken: "Day", value: f64::from(date.day), range: days, width: 40.0, write: two_digits },
    ];
    let named = Named { name: "Date", spoken: "Date", hint: "By the site's calendar: year, month, day" };
    let (at, value) = several(ui, named, &parts, "–")?;
    let mut changed = date;
    match at {
        0 => changed.year = value as i16,
        1 => changed.month = value as u8,
        _ => changed.day = value as u8,
    }
    // The month may have fewer days.
    changed.day = changed.day.clamp(1, changed.days_in_month().unwrap_or(28));
    Some(changed)
}

fn arrival(ui: &mut Ui, arrival: LocalClock) -> Option<LocalClock> {
    let parts = [
        DatePart {
            spoken: "Hour of arrival",
            value: f64::from(arrival.hour),
            range: limits::HOUR,
            width: 40.0,
            write: two_digits,
        },
        DatePart {
            spoken: "Minute of arrival",
            value: f64::from(arrival.minute),
            range: limits::MINUTE,
            width: 40.0,
            write: two_digits,
        },
    ];
    let hint = "When the crew arrives, by the site's clock; the set-up begins then";
    let (at, value) = several(ui, Named { name: "Arrival", spoken: "Arrival", hint }, &parts, ":")?;
    let value = value as u8;
    Some(if at == 0 {
        LocalClock { hour: value, ..arrival }
    } else {
        LocalClock { minute: value, ..arrival }
    })
}

/// One of several whole numbers in a row.
struct DatePart<'a> {
    spoken: &'a str,
    value: f64,
    range: Range,
    width: f32,
    write: fn(f64) -> String,
}

fn two_digits(value: f64) -> String {
    format!("{value:02.0}")
}

fn four_digits(value: f64) -> String {
    format!("{value:04.0}")
}

/// Hours ahead of UTC: "+05", "−07".
fn signed_hours(value: f64) -> String {
    format!("{}{:02.0}", if value < 0.0 { '−' } else { '+' }, value.abs())
}

/// Whole numbers beside each other, as dates and clocks have them; gives the place of the one that was changed.
fn several(ui: &mut Ui, named: Named<'_>, parts: &[DatePart<'_>], between: &str) -> Option<(usize, f64)> {
    let input = form::place(ui, named);
    let mut left = input.left();
    let mut changed = None;
    for (at, part) in parts.iter().enumerate() {
        if at > 0 {
            let middle = egui::pos2(left + 4.0, input.center().y);
            let ink = theme::of(ui).muted;
            ui.painter().text(middle, egui::Align2::CENTER_CENTER, between, theme::body(), ink);
            left += 8.0;
        }
        let area = Rect::from_min_size(egui::pos2(left, input.top()), vec2(part.width, input.height()));
        left += part.width;
        let write = part.write;
        let field = EntryField {
            unit: Unit::Count,
            units: Units::Metric,
            range: within(part.range),
            decimals: 0,
            kind: EntryKind::Whole,
        };
        let Range { least, most, .. } = part.range;
        let hint = format!("{}. From {least:.0} to {most:.0}.", named.hint);
        let (value, speed) = (part.value, Some(0.05));
        let entry = Entry { name: part.spoken, hint: &hint, field: &field, value, write: &write, speed };
        let padding = ui.spacing().button_padding.x;
        ui.spacing_mut().button_padding.x = 2.0;
        if let Some(value) = entry.put(ui, area) {
            changed = Some((at, value.round()));
        }
        ui.spacing_mut().button_padding.x = padding;
    }
    changed
}

fn zone(ui: &mut Ui, mission: &Mission) -> Option<SiteZone> {
    let choices = [
        ("by zone", "A zone of the IANA time zone database, summer time included"),
        ("fixed offset", "The same difference from UTC all year"),
    ];
    let at = usize::from(matches!(mission.zone, SiteZone::Offset { .. }));
    let named = Named { name: "Clock", spoken: "Clock of the site", hint: "What the site's clock shows" };
    let picked = form::choice(ui, named, &choices, Some(at));
    let present = offset_of(mission);
    let switched = picked.map(|place| match place {
        0 => SiteZone::Named { name: "UTC".to_owned() },
        _ => SiteZone::Offset { minutes: present.unwrap_or(0) },
    });
    let set = match &mission.zone {
        SiteZone::Named { name } => named_zone(ui, name, present),
        SiteZone::Offset { minutes } => offset(ui, *minutes),
    };
    switched.or(set)
}

/// Minutes that the clock is ahead of UTC at the arrival.
fn offset_of(mission: &Mission) -> Option<i32> {
    let zone = Zone::new(&mission.zone).ok()?;
    let utc_s = zone.utc_s(mission.date, mission.arrival).ok()?;
    offset_min(&zone, utc_s)
}

/// Hours and minutes ahead of UTC, as clocks write them.
fn offset(ui: &mut Ui, minutes: i32) -> Option<SiteZone> {
    let named = Named {
        name: "UTC offset",
        spoken: "Offset from UTC",
        hint: "How far the site's clock is ahead of UTC, as UTC±hh:mm; below 0 west of Greenwich",
    };
    let hours = Range { what: "hours ahead of UTC", least: -12.0, most: 14.0, mend: "" };
    let (hour, minute) = (f64::from(minutes / 60), f64::from(minutes.abs() % 60));
    let parts = [
        DatePart {
            spoken: "Hours ahead of UTC",
            value: hour,
            range: hours,
            width: 46.0,
            write: signed_hours,
        },
        DatePart {
            spoken: "Minutes of the offset from UTC",
            value: minute,
            range: limits::MINUTE,
            width: 40.0,
            write: two_digits,
        },
    ];
    let (at, value) = several(ui, named, &parts, ":")?;
    let (hour, minute) = if at == 0 { (value, minute) } else { (hour, value) };
    let minutes = limits::OFFSET_MIN.nearest(60.0 * hour + minute.copysign(hour));
    Some(SiteZone::Offset { minutes: minutes.round() as i32 })
}

/// A zone by its name: what is typed is looked up, and what fits it is offered.
fn named_zone(ui: &mut Ui, name: &str, offset_min: Option<i32>) -> Option<SiteZone> {
    let hint = "Type a part of the city or region and choose; Enter takes the first one offered";
    let area = form::place(ui, Named { name: "Time zone", spoken: "Time zone", hint });
    let id = ui.scope_id().with("typed zone");
    let before = ui.data(|data| data.get_temp::<String>(id));
    let mut typed = before.clone().unwrap_or_else(|| name.to_owned());
    let response = ui.put(area, TextEdit::singleline(&mut typed).char_limit(64).font(theme::body()));
    form::spoken(ui, &response, "Time zone");
    let response = response.on_hover_text(hint);
    if before.is_none() && typed == name {
        if let Some(minutes) = offset_min {
            form::muted(ui, &format!("{} at the arrival.", offset_text(minutes)));
        }
        if is_of_no_place(name) {
            form::colored(ui, OF_NO_PLACE, theme::of(ui).warn);
        }
        return None;
    }
    let pressed = |key| response.lost_focus() && ui.input(|input| input.key_pressed(key));
    let (entered, left) = (pressed(Key::Enter), pressed(Key::Escape));
    let fitting = fitting(&typed);
    let mut chosen = if entered { fitting.first().cloned() } else { None };
    if fitting.is_empty() {
        form::colored(ui, "No zone is called so; type a part of its city or region.", theme::of(ui).warn);
    }
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
        for offered in fitting.iter().take(OFFERED) {
            let spoken = format!("Choose the zone {offered}");
            if form::small(ui, offered, &spoken, "Take this zone for the site's clock", Enabled::Yes) {
                chosen = Some(offered.clone());
            }
        }
        let more = fitting.len().saturating_sub(OFFERED);
        if more > 0 {
            form::muted(ui, &format!("and {more} more"));
        }
    });
    if chosen.is_some() || left || typed == name {
        ui.data_mut(|data| data.remove::<String>(id));
    } else {
        ui.data_mut(|data| data.insert_temp(id, typed));
    }
    chosen.filter(|chosen| chosen != name).map(|name| SiteZone::Named { name })
}

/// Said of a zone that is nowhere's.
const OF_NO_PLACE: &str = "UTC is the clock of few places: set the zone of the site, or arrival, light and twilight are not by its clock.";

/// Whether a zone is that of no place: what computers have to which nobody has said where they are.
fn is_of_no_place(name: &str) -> bool {
    let name = name.strip_prefix("Etc/").unwrap_or(name);
    ["UTC", "UCT", "Universal", "Zulu", "GMT", "Greenwich", "Unknown"].contains(&name)
}

/// Zones with what was typed in their name: first the one that is called so, then those whose city begins so.
fn fitting(typed: &str) -> Vec<String> {
    let plain = |text: &str| text.trim().to_lowercase().replace(' ', "_");
    let typed = plain(typed);
    if typed.is_empty() {
        return Vec::new();
    }
    let rank = |name: &String| {
        let name = plain(name);
        let city = name.rsplit('/').next().unwrap_or_default();
        match () {
            () if name == typed => Some(0),
            () if city.starts_with(&typed) => Some(1),
            () if name.contains(&typed) => Some(2),
            () => None,
        }
    };
    let mut found: Vec<(i32, String)> =
        Zone::names().into_iter().filter_map(|name| Some((rank(&name)?, name))).collect();
    found.sort();
    found.into_iter().map(|(_, name)| name).collect()
}

/// How much light there is to expose by.
pub(super) fn light_level(ui: &mut Ui, of: ConditionsForm<'_>, put: &mut Put<'_>) {
    let conditions = of.conditions;
    let choices = [
        ("as set on cameras", "Every camera exposes as long as its equipment says"),
        ("metered", "An exposure value that was measured on site"),
        ("by the sun, clear sky", "Estimated from the sun's height at the first take-off"),
        ("by the sun, overcast", "Estimated from the sun's height at the first take-off"),
    ];
    let at = match conditions.light {
        None => 0,
        Some(LightLevel::Metered { .. }) => 1,
        Some(LightLevel::BySun { sky: Sky::Clear }) => 2,
        Some(LightLevel::BySun { sky: Sky::Overcast }) => 3,
    };
    let hint = "What exposure times follow from, for cameras whose aperture and ISO are known; with the motion blur they \
                limit the speed";
    let named = Named { name: "Exposure", spoken: "Light to expose by", hint };
    if let Some(place) = form::choice(ui, named, &choices, Some(at)) {
        let light = match place {
            0 => None,
            1 => Some(LightLevel::Metered { ev100: 14.0 }),
            2 => Some(LightLevel::BySun { sky: Sky::Clear }),
            _ => Some(LightLevel::BySun { sky: Sky::Overcast }),
        };
        put("Light to expose by".into(), Conditions { light, ..conditions.clone() });
    }
    let Some(LightLevel::Metered { ev100 }) = conditions.light else { return };
    let hint = "Exposure value at ISO 100: about 15 in full sun, 12 under an overcast sky";
    let named = Named { name: "EV at ISO 100", spoken: "Exposure value", hint };
    let kind = Kind { unit: Unit::ExposureValue, decimals: 1, range: limits::EV100 };
    if let Some(ev100) = form::number(ui, named, kind, ev100, of.units) {
        put(
            "Exposure value".into(),
            Conditions { light: Some(LightLevel::Metered { ev100 }), ..conditions.clone() },
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: the names of the IANA time zone database.
    #[test]
    fn zones_are_found_by_city_and_by_region() {
        assert_eq!(fitting("europe/oslo")[0], "Europe/Oslo");
        assert_eq!(fitting("buenos a")[0], "America/Argentina/Buenos_Aires");
        assert!(fitting("Atlantic").len() > 5);
        assert!(fitting("nowhere at all").is_empty() && fitting(" ").is_empty());
    }
}
