use super::{Timeline, clock};
use crate::show;
use crate::units::Unit;
use glam::DVec3;
use obliquity_planning::light::LightPeriod;
use obliquity_planning::{Doing, Moment, Movement};

/// What there is to know of one instant of a stay.
#[derive(Debug, Clone, PartialEq)]
pub struct Cursor {
    /// Since the arrival.
    pub at_s: f64,
    /// Where the aircraft is.
    pub at_m: DVec3,
    /// The clock: "10:27:05 (0:27:05 after arriving)".
    pub clock: String,
    /// What is done, in one line.
    pub line: String,
}

impl Cursor {
    pub(super) fn new(timeline: &Timeline, at_s: f64) -> Option<Self> {
        let moment = timeline.timing.moment(&timeline.stay, at_s)?;
        let mut parts = doing(timeline, &moment);
        parts.extend(light(timeline, moment.site_s));
        Some(Cursor {
            at_s: moment.site_s,
            at_m: moment.at_m,
            clock: clock_text(timeline, moment.site_s),
            line: parts.join(", "),
        })
    }
}

impl Timeline {
    /// What there is to know of an instant.
    pub fn cursor(&self, at_s: f64) -> Option<Cursor> {
        Cursor::new(self, at_s)
    }
}

fn clock_text(timeline: &Timeline, at_s: f64) -> String {
    let elapsed = clock(at_s.round() as u64);
    match timeline.local(at_s) {
        Some(local) => format!("{local} local time, {elapsed} after arriving"),
        None => format!("{elapsed} after arriving"),
    }
}

fn doing(timeline: &Timeline, moment: &Moment) -> Vec<String> {
    let on_ground = match moment.doing {
        Doing::SetUp => "set-up".to_owned(),
        Doing::ControlPoints => "control points".to_owned(),
        Doing::Swap { before } => format!("battery change before sortie {}", before + 1),
        Doing::Wait { before } => format!("waiting for a charger before sortie {}", before + 1),
        Doing::Move { before } => {
            let to = timeline.timing.flight.sorties.get(before as usize).map_or(0, |own| own.home + 1);
            format!("moving to take-off point {to} before sortie {}", before + 1)
        }
        Doing::PackUp => "pack-up".to_owned(),
        Doing::Sortie { sortie, .. } => return flying(timeline, moment, sortie),
    };
    vec![on_ground]
}

fn flying(timeline: &Timeline, moment: &Moment, sortie: u32) -> Vec<String> {
    let (outcome, units) = (&timeline.outcome, timeline.units);
    let flown = moment.leg.and_then(|leg| timeline.timing.flight.legs.get(leg));
    let mut parts = Vec::new();
    if let (Some(flown), Some(movement)) = (flown, moment.movement) {
        parts.push(match movement {
            Movement::Turning => "turning on the spot".to_owned(),
            Movement::Standing => "standing still to expose".to_owned(),
            Movement::Moving => flown.leg.kind.name().to_owned(),
        });
        let pass = outcome.passes.iter().position(|own| Some(own.pass) == flown.pass);
        parts.extend(pass.map(|index| format!("pass {} of {}", index + 1, outcome.passes.len())));
    }
    parts.push(format!("sortie {} of {}", sortie + 1, timeline.timing.flight.sorties.len()));
    if let (Some(battery), Some(left)) = (moment.battery, moment.left_ratio) {
        parts.push(format!("battery {battery} at {:.0} %", 100.0 * left));
    }
    parts.push(format!(
        "{} over ground",
        units.text(Unit::MetresPerSecond, (10.0 * moment.speed_mps).round() / 10.0)
    ));
    let height_m = moment.at_m.z - timeline.timing.flight.take_off_of_m(sortie).z;
    parts.push(format!("{} above take-off", units.text(Unit::Metres, (10.0 * height_m).round() / 10.0)));
    parts
}

fn light(timeline: &Timeline, at_s: f64) -> Option<String> {
    let lane = timeline.light.as_ref().ok()?;
    let figures = timeline.outcome.light.as_ref().ok()?;
    let sun = figures.sun_after(at_s).ok()?;
    let period = lane.spans.iter().find(|span| span.from_s <= at_s && at_s <= span.to_s)?.period;
    let height_deg = sun.elevation_rad.to_degrees();
    Some(format!("{}, sun at {}°", period_name(period), show::short(height_deg.round()).replace('-', "−")))
}

/// What a stretch of light is called.
pub(super) fn period_name(period: LightPeriod) -> &'static str {
    match period {
        LightPeriod::Daylight => "daylight",
        LightPeriod::CivilTwilight => "civil twilight",
        LightPeriod::Night => "night",
    }
}
