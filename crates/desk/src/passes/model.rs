//! What the screen of the passes shows: plain values and finished texts.

use crate::corner_advice::Corners;
use crate::show;
use crate::units::{Unit, Units};
use crate::wind_advice::Advice;
use obliquity_planning::{
    Above, Airframe, Attitude, FlyingOrder, Id, MeasureId, Outcome, OutlineStructure, Pass, PassOutcome,
    PassPlan, Scenario, SiteOutline, SpeedBound, Strategy, together,
};

/// What the screen is made from.
#[derive(Debug, Clone, Copy)]
pub struct GivenPasses<'a> {
    /// The scenario as it stands.
    pub scenario: &'a Scenario,
    /// Whose passes.
    pub strategy: Id,
    /// What is known of it at once; nothing before it was worked out.
    pub quick: Option<Result<&'a Outcome, &'a str>>,
    /// The site as passes see it; nothing where it is not sound.
    pub outline: Option<&'a SiteOutline>,
    /// Whether the strategy's strips are best turned in the wind.
    pub advice: Advice<'a>,
    /// Whether its passes are best begun at other corners.
    pub corners: Corners<'a>,
    /// The units that its reader prefers.
    pub units: Units,
}

/// One pass in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassRow {
    /// The pass.
    pub id: Id,
    /// Pattern and what it is flown at: "Orbit about Silo 1".
    pub name: String,
    /// What it costs: images, flight time.
    pub costs: String,
    /// Why it is left out, where it cannot be flown.
    pub refused: Option<String>,
}

/// A figure that follows from the settings of a pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Follow {
    /// What it is.
    pub name: String,
    /// The figure with its unit.
    pub text: String,
    /// In whose working it is told how it comes about; nothing where that is said nowhere.
    pub measure: Option<MeasureId>,
}

impl Follow {
    fn new(name: impl Into<String>, text: String, measure: Option<MeasureId>) -> Self {
        Follow { name: name.into(), text, measure }
    }
}

/// Everything on the screen.
#[derive(Debug)]
pub struct Passes<'a> {
    /// What it was made from.
    pub given: GivenPasses<'a>,
    /// The strategy.
    pub strategy: &'a Strategy,
    /// As they are listed.
    pub rows: Vec<PassRow>,
    /// In which order they are flown, in words; nothing before it was worked out.
    pub flown: Option<String>,
    /// Which of them is chosen.
    pub selected: usize,
    /// Why the strategy as a whole cannot be worked out.
    pub failure: Option<String>,
    /// What follows from the settings of the pass that is chosen.
    pub follows: Vec<Follow>,
    /// How its heights follow the ground, where they do.
    pub climb_note: Option<String>,
}

impl<'a> Passes<'a> {
    /// The screen for a strategy; nothing where the strategy or all its passes are missing.
    pub fn of(given: &GivenPasses<'a>, selected: Option<Id>) -> Option<Self> {
        let strategy = given.scenario.strategy(given.strategy)?;
        let selected = strategy.passes.iter().position(|pass| Some(pass.id) == selected).unwrap_or(0);
        let pass = strategy.passes.get(selected)?;
        let planned = planned(given, pass.id);
        let airframe =
            given.scenario.equipment.aircraft(strategy.aircraft).map(|aircraft| &aircraft.airframe);
        Some(Passes {
            rows: strategy.passes.iter().map(|pass| row(given, pass)).collect(),
            flown: given.quick.and_then(Result::ok).map(|outcome| flown(outcome, strategy)),
            failure: given.quick.and_then(Result::err).map(ToOwned::to_owned),
            follows: planned.map(|planned| follows(given, pass, planned)).unwrap_or_default(),
            climb_note: climb_note(pass, planned, airframe, given.units),
            given: *given,
            strategy,
            selected,
        })
    }

    /// The pass that is chosen.
    pub fn pass(&self) -> &'a Pass {
        &self.strategy.passes[self.selected]
    }

    /// What was worked out for the pass that is chosen.
    pub fn planned(&self) -> Option<&'a PassOutcome> {
        planned(&self.given, self.pass().id)
    }
}

/// In which order the passes are flown, in words.
fn flown(outcome: &Outcome, strategy: &Strategy) -> String {
    let Some(flight) = outcome.flight() else {
        return format!("Cannot be flown as set: {}.", outcome.reasons.join("; "));
    };
    let numbers: Vec<String> = flight.order.iter().map(|index| (index + 1).to_string()).collect();
    let mut text = match numbers.as_slice() {
        [_] if strategy.passes.len() == 1 => "1 pass".to_owned(),
        [only] => format!("Only pass {only} is flown"),
        _ => format!("Flown: pass {}", numbers.join(", then ")),
    };
    if strategy.order == FlyingOrder::Quickest && strategy.passes.len() > MOST_ORDERED {
        text.push_str("; with more than eight passes no order is tried, they are flown as listed");
    }
    text + "."
}

/// The quickest order is looked for among so many passes.
const MOST_ORDERED: usize = 8;

fn planned<'a>(given: &GivenPasses<'a>, pass: Id) -> Option<&'a PassOutcome> {
    given.quick?.ok()?.passes.iter().find(|planned| planned.pass == pass)
}

/// A structure of the site by its name.
pub(super) fn structure_name(scenario: &Scenario, id: Id) -> String {
    let found = scenario.site.structures.iter().find(|structure| structure.id == id);
    found.map_or_else(|| "a structure that is gone".to_owned(), |structure| structure.name.clone())
}

/// A tilt both ways: "30° (gimbal −60°)".
pub fn tilt_text(tilt_deg: f64) -> String {
    format!("{} {}", angle_text(tilt_deg), gimbal_text(tilt_deg))
}

/// The gimbal's pitch at a tilt: "(gimbal −60°)".
pub(super) fn gimbal_text(tilt_deg: f64) -> String {
    format!("(gimbal {})", angle_text(tilt_deg - 90.0))
}

fn angle_text(deg: f64) -> String {
    format!("{}°", show::short((10.0 * deg).round() / 10.0).replace('-', "−"))
}

fn row(given: &GivenPasses<'_>, pass: &Pass) -> PassRow {
    let planned = planned(given, pass.id);
    let flown = planned.and_then(|planned| Some((planned.laid()?, planned.flight_time_s?)));
    let costs = flown.map_or_else(String::new, |(plan, flight_time_s)| {
        let images = u32::try_from(plan.stations.poses.len()).unwrap_or(u32::MAX);
        format!("{}, {}", show::counted(images, "image", "images"), show::duration_s(flight_time_s))
    });
    let refused = planned.and_then(|planned| planned.plan.as_ref().err()).map(ToString::to_string);
    PassRow { id: pass.id, name: name(given, pass), costs, refused }
}

/// Pattern and what it is flown at.
fn name(given: &GivenPasses<'_>, pass: &Pass) -> String {
    let ids = pass.pattern.structures();
    let names: Vec<String> = ids.iter().map(|id| structure_name(given.scenario, *id)).collect();
    let subject = together(names.iter().map(String::as_str));
    pass.pattern.title(&subject, &looks(&pass.attitudes), &|m| given.units.length(m))
}

fn looks(attitudes: &[Attitude]) -> String {
    match attitudes {
        [only] if only.tilt_deg == 0.0 => "straight down".to_owned(),
        [only] => format!("tilt {}", tilt_text(only.tilt_deg)),
        several => format!("{} attitudes in turn", several.len()),
    }
}

fn follows(given: &GivenPasses<'_>, pass: &Pass, planned: &PassOutcome) -> Vec<Follow> {
    let units = given.units;
    let Some(plan) = planned.laid() else { return Vec::new() };
    let layout = &plan.layout;
    let length = |m: f64| units.text(Unit::Metres, m);
    let about = pass.pattern.about();
    let (images, flight) = (Some(MeasureId::ImageCount), Some(MeasureId::FlightTime));
    let row = |name: &str, text: String| Follow::new(name, text, images);
    let mut rows = Vec::new();
    if let Some(ring) = layout.flown.ring {
        rows.push(Follow::new("Radius", length(ring.radius_m), None));
    }
    match layout.stand_off_m {
        Some(m) => {
            rows.push(row("Stand-off", length(m)));
            rows.push(Follow::new("Lowest flown", length(layout.lowest_m), None));
        }
        None => rows.push(row("Height", length(layout.height_m))),
    }
    let ceiling = if layout.capped { ", held down by the height ceiling" } else { "" };
    rows.push(row("Nominal GSD", format!("{}{ceiling}", units.gsd(layout.vertical_gsd_m))));
    let span = |(low_m, high_m): (f64, f64)| units.span(Unit::Metres, [low_m, high_m]);
    rows.extend(layout.flown.air_base_m.map(|range_m| row("Air base", span(range_m))));
    let [lines, spacing] = about.lines;
    rows.extend(
        layout.flown.spacing_m.map(|range_m| Follow::new(show::begun(spacing), span(range_m), images)),
    );
    rows.push(Follow::new(show::begun(lines), show::count(f64::from(layout.strips)), images));
    if let Some(corner_rad) = layout.corner_rad {
        let corner = format!("{} corner", show::compass_name(corner_rad.to_degrees()));
        rows.push(Follow::new("Begins at", corner, None));
    }
    if about.looks.is_own_tilt() {
        rows.push(Follow::new("Tilt", own_tilts(plan), None));
    }
    let bound = match plan.speed.bound_by {
        SpeedBound::User => "your limit".to_owned(),
        _ => plan.speed.bound_text(|m| units.length(m)),
    };
    let speed = format!("{}, bound by {bound}", units.speed(plan.speed.speed_mps));
    rows.push(Follow::new("Speed", speed, flight));
    rows.push(row("Images", show::count(plan.stations.poses.len() as f64)));
    rows.extend(
        planned
            .flight_time_s
            .map(|flight_time_s| Follow::new("Flight time", show::duration_s(flight_time_s), flight)),
    );
    rows
}

/// The tilts where the pattern aims the camera, from the first to the last.
fn own_tilts(plan: &PassPlan) -> String {
    let poses = &plan.stations.poses;
    let tilts = [poses.first(), poses.last()].map(|pose| pose.map(|pose| pose.tilt_rad.to_degrees()));
    match tilts {
        [Some(first), Some(last)] if (first - last).abs() > 0.05 => {
            format!("{} to {}", tilt_text(first), tilt_text(last))
        }
        [Some(first), _] => tilt_text(first),
        [None, _] => "–".to_owned(),
    }
}

fn climb_note(
    pass: &Pass,
    planned: Option<&PassOutcome>,
    airframe: Option<&Airframe>,
    units: Units,
) -> Option<String> {
    let airframe = airframe.filter(|_| pass.distance.above() == Above::Ground)?;
    let speed_mps =
        planned.and_then(PassOutcome::laid).map_or(airframe.top_speed_mps, |plan| plan.speed.speed_mps);
    let slope = |mps: f64| format!("{:.0} %", 100.0 * mps / speed_mps);
    Some(format!(
        "Follows the ground along each strip, never lower. At {} this aircraft keeps up with rises of {} (climb {}) and \
         falls of {} (descent {}); on steeper ground, and over structures, it flies higher.",
        units.speed(speed_mps),
        slope(airframe.climb_mps),
        units.text(Unit::VerticalMetresPerSecond, airframe.climb_mps),
        slope(airframe.descent_mps),
        units.text(Unit::VerticalMetresPerSecond, airframe.descent_mps),
    ))
}

/// A wall of a structure in words: its number on the screen, its length, and which way it faces.
pub(super) fn wall_text(structure: &OutlineStructure, wall: usize, units: Units) -> String {
    let ring = structure.walls_m();
    let (a, b) = (ring[wall], ring[(wall + 1) % ring.len()]);
    let outward = -(b - a).perp();
    let azimuth_deg = outward.x.atan2(outward.y).to_degrees().rem_euclid(360.0);
    let length = units.text(Unit::Metres, a.distance(b));
    format!("Wall {}: {length}, faces {} ({azimuth_deg:.0}°)", wall + 1, show::compass_name(azimuth_deg))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: the gimbal's pitch is 0 level and −90° straight down, the tilt 90° and 0.
    #[test]
    fn a_tilt_is_said_both_ways() {
        assert_eq!(tilt_text(30.0), "30° (gimbal −60°)");
        assert_eq!(tilt_text(120.0), "120° (gimbal 30°)");
        assert_eq!(tilt_text(0.0), "0° (gimbal −90°)");
        assert_eq!(tilt_text(90.0), "90° (gimbal 0°)");
    }
}
