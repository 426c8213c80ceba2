//! Power and endurance over airspeed.

use super::{Axis, Chart, Mark, Series, Tone};
use obliquity_planning::atmosphere::Air;
use obliquity_planning::power::PowerCurve;
use obliquity_planning::{Aircraft, Unit, Units};

const STEPS: u32 = 60;
/// Warm enough for a full battery.
const WARM_C: f64 = 20.0;
const SECONDS_PER_HOUR: f64 = 3600.0;

/// One place on the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerPoint {
    /// Through the air.
    pub airspeed_mps: f64,
    /// Drawn from the battery.
    pub power_w: f64,
    /// Of a new battery set, flown until it is empty.
    pub endurance_min: f64,
}

/// The curve in still air at sea level in the standard atmosphere; nothing where the energy is not known.
fn curve(aircraft: &Aircraft) -> Option<(PowerCurve, f64)> {
    let energy = aircraft.airframe.energy.as_ref()?;
    Some((PowerCurve::new(&aircraft.airframe, &Air::standard(0.0), WARM_C), energy.battery_wh))
}

fn point(curve: &PowerCurve, battery_wh: f64, airspeed_mps: f64) -> PowerPoint {
    let power_w = curve.level_w(airspeed_mps);
    PowerPoint { airspeed_mps, power_w, endurance_min: battery_wh * SECONDS_PER_HOUR / power_w / 60.0 }
}

/// Endurance of a new battery set at an airspeed, in still air at sea level; nothing where the energy is not known.
pub fn endurance_min(aircraft: &Aircraft, airspeed_mps: f64) -> Option<f64> {
    let (curve, battery_wh) = curve(aircraft)?;
    Some(point(&curve, battery_wh, airspeed_mps).endurance_min)
}

/// The places that the curve is bent through: airspeeds of the endurances given.
fn known_mps(aircraft: &Aircraft) -> Vec<f64> {
    let Some(energy) = &aircraft.airframe.energy else { return Vec::new() };
    let hover = energy.hover_min.map(|_| 0.0);
    let fastest = energy.top_speed_min.map(|_| aircraft.airframe.fastest_mps());
    hover.into_iter().chain([energy.endurance_at_mps]).chain(fastest).collect()
}

/// The curve in words: in hover, at the airspeed of the endurance, at the fastest.
pub fn power_text(aircraft: &Aircraft, units: Units) -> Option<String> {
    let (curve, battery_wh) = curve(aircraft)?;
    let at = |mps: f64| {
        let found = point(&curve, battery_wh, mps);
        let place = if mps > 0.0 { format!("at {}", units.speed(mps)) } else { "in hover".to_owned() };
        format!("{:.0} W and {:.1} min {place}", found.power_w, found.endurance_min)
    };
    let energy = aircraft.airframe.energy.as_ref()?;
    let mut speeds = vec![0.0, energy.endurance_at_mps, aircraft.airframe.fastest_mps()];
    speeds.dedup();
    Some(speeds.into_iter().map(at).collect::<Vec<_>>().join(", "))
}

/// What is drawn over airspeed.
struct Drawn {
    title: &'static str,
    unit: &'static str,
    of: fn(&PowerPoint) -> f64,
    tone: Tone,
}

const DRAWN: [Drawn; 2] = [
    Drawn { title: "Power", unit: "W", of: |p| p.power_w, tone: Tone::Accent },
    Drawn { title: "Endurance", unit: "min", of: |p| p.endurance_min, tone: Tone::Ink },
];

/// Power and endurance over airspeed; the endurances given are marked. Nothing where the energy is not known.
pub fn power_charts(aircraft: &Aircraft, units: Units) -> Option<[Chart; 2]> {
    let ((curve, battery_wh), text) = (curve(aircraft)?, power_text(aircraft, units)?);
    let fastest_mps =
        aircraft.airframe.fastest_mps().max(aircraft.airframe.energy.map_or(0.0, |e| e.endurance_at_mps));
    let at = |mps: f64| point(&curve, battery_wh, mps);
    let points: Vec<PowerPoint> =
        (0..=STEPS).map(|k| at(fastest_mps * f64::from(k) / f64::from(STEPS))).collect();
    let known: Vec<PowerPoint> = known_mps(aircraft).into_iter().map(at).collect();
    let said = format!("Power over airspeed of {}: {text}", aircraft.name);
    Some(DRAWN.map(|drawn| chart(&drawn, (&points, &known), units, &said)))
}

fn chart(drawn: &Drawn, (points, known): (&[PowerPoint], &[PowerPoint]), units: Units, said: &str) -> Chart {
    let Drawn { title, unit, of, tone } = *drawn;
    let values = || points.iter().map(of);
    let (least, most) = values().fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    let speed = |mps| units.shown(Unit::MetresPerSecond, mps);
    let end = points.last().map_or(1.0, |point| point.airspeed_mps).max(0.1);
    let across = Axis::new("Airspeed", units.scale(Unit::MetresPerSecond).sign, 0.0, speed(end));
    // From 0, so that what looks twice as much is twice as much.
    let up = Axis::new(title, unit, 0.0, most.max(1e-9));
    let place = |point: &PowerPoint| [speed(point.airspeed_mps), of(point)];
    let mut chart =
        Chart::new(format!("{title} {least:.0} to {most:.0} {unit}"), said.to_owned(), across, up);
    chart.series.push(Series { name: title.to_owned(), tone, points: points.iter().map(place).collect() });
    chart.marks.extend(known.iter().map(|point| Mark {
        name: format!("{:.1} min at {}, given", point.endurance_min, units.speed(point.airspeed_mps)),
        tone,
        at: place(point),
    }));
    chart
}
