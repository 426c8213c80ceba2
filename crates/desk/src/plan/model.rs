//! What the plan shows: plain values and finished texts.

use super::PlanSite;
use crate::cautions;
use crate::figures::{Freshness, late_cautions};
use crate::show;
use crate::units::{Unit, Units};
use glam::DVec2;
use obliquity_planning::wind::Wind;
use obliquity_planning::{
    CameraModel, Caution, FlownLeg, Leg, LegKind, Outcome, PassOutcome, Pose, PosedCamera, Scenario,
    Severity, footprint_m,
};
use std::sync::Arc;

/// Everything on the plan of one strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The strategy.
    pub strategy: obliquity_planning::Id,
    /// Its name.
    pub name: String,
    /// What it is flown over.
    pub site: Arc<PlanSite>,
    /// In flying order.
    pub passes: Vec<PlanPass>,
    /// Flown between passes and to and from the take-off point.
    pub transits: Vec<PlanLine>,
    /// Where sorties may start, the site's own take-off point first.
    pub take_offs: Vec<PlanTakeOff>,
    /// Distances from the take-off point; of several only how far the pilot may see.
    pub rings: Vec<Ring>,
    /// How many sorties there are.
    pub sorties: u32,
    /// What to mind here.
    pub notes: Vec<PlanNote>,
    /// Where cautions hold on the route.
    pub marks: Vec<PlanMark>,
    /// Whether the highest roof is to be marked: too little overlap over it, or too little clearance.
    pub roof_marked: bool,
    /// The wind that it is flown in.
    pub wind: Wind,
    /// The units on the screen.
    pub units: Units,
}

/// One pass on the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPass {
    /// Which one it is, its height and its tilt.
    pub title: String,
    /// Strips and links, in flying order.
    pub lines: Vec<PlanLine>,
    /// In flying order.
    pub stations: Vec<PlanStation>,
    /// The camera of its stations; nothing of a pass that is not laid out.
    pub camera: Option<CameraModel>,
}

/// A take-off point on the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanTakeOff {
    /// Where it is.
    pub at_m: DVec2,
    /// The sorties that start there, from 1.
    pub sorties: Vec<u32>,
}

/// A straight piece of the flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanLine {
    /// Where it begins.
    pub from_m: DVec2,
    /// Where it ends.
    pub to_m: DVec2,
    /// What it is for.
    pub kind: LineKind,
    /// From 1; 0 where the strategy cannot be flown.
    pub sortie: u32,
}

/// What a piece of the flight is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// Exposing.
    Strip,
    /// From strip to strip.
    Link,
    /// To or from the take-off point, or between passes.
    Transit,
}

/// One exposure on the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanStation {
    /// Where it is and where it looks.
    pub pose: Pose,
    /// From 1; 0 where the strategy cannot be flown.
    pub sortie: u32,
    /// Since the first take-off, battery changes left out; nothing where the strategy cannot be flown.
    pub time_s: Option<f64>,
    /// Level distance from the take-off point.
    pub distance_m: f64,
    /// Whether that is more than the pilot's distance.
    pub beyond: bool,
}

/// A distance from the take-off point.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// Radius.
    pub radius_m: f64,
    /// The same in words.
    pub text: String,
    /// Whether it is the distance set for the pilot.
    pub limit: bool,
}

/// A caution that has a place on the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanNote {
    /// The caution's stable name.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What to mind.
    pub text: String,
}

/// Where a caution holds on the route.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanMark {
    /// The caution's stable name.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What to mind, and where.
    pub text: String,
    /// Whether it holds of what is drawn.
    pub freshness: Freshness,
    /// Lines over the ground; one of a single place has one point.
    pub lines_m: Vec<Vec<DVec2>>,
}

/// The caution that is about the farthest stations.
const PILOT_DISTANCE: &str = "pilot-distance";

/// Cautions that have a place on the plan; the last two are about the highest roof.
const PLACED: [&str; 3] = [PILOT_DISTANCE, "roof-overlap", "clearance"];

impl Plan {
    /// The plan of an outcome of a strategy of `scenario`; any depth will do.
    pub fn new(scenario: &Scenario, site: &Arc<PlanSite>, outcome: &Outcome, units: Units) -> Self {
        let limit_m = scenario.conditions.pilot_distance_m;
        let passes = outcome.passes.iter().enumerate();
        let (count, flight) = (outcome.passes.len(), outcome.flight());
        let placed = outcome.cautions.iter().filter(|caution| PLACED.contains(&caution.id));
        let take_offs = take_offs(scenario, site, outcome);
        Plan {
            strategy: outcome.strategy,
            name: outcome.name.clone(),
            site: Arc::clone(site),
            passes: passes
                .map(|(index, planned)| pass(outcome, planned, (index, count), site, limit_m, units))
                .collect(),
            transits: flight.map_or_else(Vec::new, |flight| {
                lines(flight.legs.iter().filter(|flown| flown.pass.is_none()).map(of_flight))
            }),
            rings: rings(flight.map_or(0.0, |flight| flight.farthest_m), limit_m, units, take_offs.len()),
            take_offs,
            sorties: flight.map_or(0, |flight| u32::try_from(flight.sorties.len()).unwrap_or(u32::MAX)),
            roof_marked: placed.clone().any(|caution| caution.id != PILOT_DISTANCE),
            notes: placed
                .map(|caution| PlanNote {
                    id: caution.id,
                    severity: caution.severity,
                    text: caution.text.in_units(units).to_owned(),
                })
                .collect(),
            marks: outcome.cautions.iter().filter_map(|caution| mark(caution, outcome, units)).collect(),
            wind: scenario.conditions.wind,
            units,
        }
    }

    /// Also marks what takes longer than the route where it held in an earlier outcome of the strategy, until it is known of
    /// this one.
    pub fn keep_marks(&mut self, earlier: &Outcome) {
        let marks = late_cautions(earlier).filter_map(|caution| mark(caution, earlier, self.units));
        self.marks.extend(marks.map(|mark| PlanMark {
            text: format!("{}; of earlier settings", mark.text),
            freshness: Freshness::Stale,
            ..mark
        }));
    }

    /// Least and greatest coordinates of the site and everything that is flown.
    pub fn bounds_m(&self) -> (DVec2, DVec2) {
        let lines = self.passes.iter().flat_map(|pass| &pass.lines).chain(&self.transits);
        let points = lines.flat_map(|line| [line.from_m, line.to_m]);
        let points = points.chain(self.take_offs.iter().map(|take_off| take_off.at_m));
        points.fold(self.site.bounds_m(), |(low, high), p| (low.min(p), high.max(p)))
    }

    /// Where the caution of that name holds; nothing where it has no place in this plan.
    pub fn mark(&self, id: Option<&str>) -> Option<&PlanMark> {
        self.marks.iter().find(|mark| Some(mark.id) == id)
    }

    /// The outline of a station's frame on the mean ground.
    ///
    /// # Shape
    /// - returns: open convex ring; nothing for a camera that is not above the ground
    pub fn footprint_m(&self, pass: usize, station: usize) -> Option<Vec<DVec2>> {
        let pass = self.passes.get(pass)?;
        let station = pass.stations.get(station)?;
        // A frame that looks level or up has no useful outline on the ground.
        let low_enough = station.pose.tilt_rad < std::f64::consts::FRAC_PI_2;
        let camera = PosedCamera::new(pass.camera?, &station.pose);
        low_enough.then(|| footprint_m(&camera, self.site.reference_z_m)).flatten()
    }

    /// What there is to know of a structure, line by line.
    pub fn structure_lines(&self, structure: usize) -> Vec<String> {
        let Some(structure) = self.site.structures.get(structure) else { return Vec::new() };
        let text = |m: f64| self.units.text(Unit::Metres, m);
        let mut lines = vec![structure.name.clone(), format!("{} high", text(structure.height_m))];
        if (structure.above_mean_ground_m - structure.height_m).abs() > 0.05 {
            lines.push(format!("{} above the mean ground", text(structure.above_mean_ground_m)));
        }
        if self.roof_marked && structure.tallest {
            lines
                .extend(self.notes.iter().filter(|note| note.is_about_roofs()).map(|note| note.text.clone()));
        }
        lines
    }
}

/// A caution's stretches; nothing for one without a place.
fn mark(caution: &Caution, outcome: &Outcome, units: Units) -> Option<PlanMark> {
    let first = caution.places.first()?;
    let number = first.pass.and_then(|id| outcome.passes.iter().position(|pass| pass.pass == id));
    let pass = number.map_or_else(|| "between passes".to_owned(), |index| format!("pass {}", index + 1));
    let (from, to) = (units.length(first.from.flown_m), units.length(first.to.flown_m));
    let way = if first.length_m() > 0.0 { format!("{from} to {to} flown") } else { format!("{from} flown") };
    let others = match caution.places.len() {
        1 => String::new(),
        count => format!("{count} places, the longest: "),
    };
    Some(PlanMark {
        id: caution.id,
        severity: caution.severity,
        text: format!(
            "{}: {} ({others}{pass}, sortie {}, {way})",
            cautions::word(caution.severity),
            caution.text.in_units(units),
            first.from.sortie + 1
        ),
        freshness: Freshness::Fresh,
        lines_m: caution.places.iter().map(|s| s.line_m.iter().map(|p| p.truncate()).collect()).collect(),
    })
}

impl PlanNote {
    fn is_about_roofs(&self) -> bool {
        self.id != PILOT_DISTANCE
    }
}

fn pass(
    outcome: &Outcome,
    planned: &PassOutcome,
    (index, count): (usize, usize),
    site: &PlanSite,
    limit_m: f64,
    units: Units,
) -> PlanPass {
    let title = title(planned, (index, count), units);
    let Some(plan) = planned.laid() else {
        return PlanPass { title, lines: Vec::new(), stations: Vec::new(), camera: None };
    };
    let flight = outcome.flight();
    let legs = flight.map(|flight| flight.legs.as_slice()).unwrap_or_default();
    let own: Vec<&FlownLeg> = legs.iter().filter(|leg| leg.pass == Some(plan.pass)).collect();
    let mut sorties = vec![0; plan.stations.poses.len()];
    for flown in &own {
        for stop in &flown.leg.stops {
            if let Some(sortie) = sorties.get_mut(stop.station as usize) {
                *sortie = flown.sortie + 1;
            }
        }
    }
    let times = flight.and_then(|flight| flight.station_time_s.get(index));
    let stations = plan.stations.poses.iter().enumerate().map(|(k, pose)| {
        let own = sorties[k].checked_sub(1).zip(flight);
        let home_m = own.map_or(site.take_off_m, |(sortie, flight)| flight.take_off_of_m(sortie).truncate());
        let distance_m = pose.position_m.truncate().distance(home_m);
        PlanStation {
            pose: *pose,
            sortie: sorties[k],
            time_s: times.and_then(|times| times.get(k)).copied(),
            distance_m,
            beyond: distance_m > limit_m,
        }
    });
    // Where the strategy cannot be flown the pass is drawn as it was laid out.
    let lines = match flight {
        Some(_) => lines(own.into_iter().map(of_flight)),
        None => lines(plan.legs.iter().map(|leg| (leg, 0))),
    };
    PlanPass { title, lines, stations: stations.collect(), camera: Some(plan.stations.camera) }
}

/// "Pass 2 of 5: 73 m, tilt 45°, 312 images", or "Pass 3 of 5: orbit at 15 m, tilt 60°, 96 images".
fn title(planned: &PassOutcome, (index, count): (usize, usize), units: Units) -> String {
    let Some(plan) = planned.laid() else {
        return format!("Pass {} of {count}: {}, left out", index + 1, planned.pattern.name());
    };
    let tilts = plan.stations.poses.iter().map(|pose| pose.tilt_rad.to_degrees().round());
    let tilts = Units::Metric.span(Unit::Degrees, tilts);
    let distance = match plan.layout.stand_off_m {
        Some(m) => format!("{} at {}", plan.pattern.name(), units.text(Unit::Metres, m)),
        None => units.text(Unit::Metres, plan.layout.height_m),
    };
    let images = u32::try_from(plan.stations.poses.len()).unwrap_or(u32::MAX);
    let images = show::counted(images, "image", "images");
    format!("Pass {} of {count}: {distance}, tilt {tilts}, {images}", index + 1)
}

/// A leg with its sortie, from 1.
fn of_flight(flown: &FlownLeg) -> (&Leg, u32) {
    (&*flown.leg, flown.sortie + 1)
}

fn lines<'a>(legs: impl Iterator<Item = (&'a Leg, u32)>) -> Vec<PlanLine> {
    let of = |(leg, sortie): (&'a Leg, u32)| {
        let kind = match leg.kind {
            LegKind::Strip => LineKind::Strip,
            LegKind::Link | LegKind::Turn => LineKind::Link,
            LegKind::Transit | LegKind::Climb | LegKind::Descent => LineKind::Transit,
        };
        leg.pieces_m().map(move |(from, to)| {
            let (from_m, to_m) = (from.truncate(), to.truncate());
            PlanLine { from_m, to_m, kind, sortie }
        })
    };
    legs.flat_map(of).filter(|line| line.from_m.distance_squared(line.to_m) > 1e-6).collect()
}

impl PlanTakeOff {
    /// In words: "take-off 2: sorties 3, 4".
    pub fn text(&self, number: usize) -> String {
        let sorties: Vec<String> = self.sorties.iter().map(u32::to_string).collect();
        match sorties.as_slice() {
            [] => format!("take-off {number}: not used"),
            [one] => format!("take-off {number}: sortie {one}"),
            several => format!("take-off {number}: sorties {}", several.join(", ")),
        }
    }
}

/// Where sorties may start, and which do.
fn take_offs(scenario: &Scenario, site: &PlanSite, outcome: &Outcome) -> Vec<PlanTakeOff> {
    let strategy = scenario.strategy(outcome.strategy);
    let places = strategy.map_or_else(|| vec![site.take_off_m], |strategy| scenario.take_offs_m(strategy));
    let flown = outcome.flight().map(|flight| flight.sorties.as_slice()).unwrap_or_default();
    let starting = |home: usize| {
        let own = (1..).zip(flown).filter(|(_, sortie)| sortie.home as usize == home);
        own.map(|(number, _)| number).collect()
    };
    let places = places.into_iter().enumerate();
    places.map(|(home, at_m)| PlanTakeOff { at_m, sorties: starting(home) }).collect()
}

/// Some round distances up to the farthest flown, and the one set for the pilot where it is near enough to matter. Round
/// several take-off points there is only that one.
fn rings(farthest_m: f64, limit_m: f64, units: Units, take_offs: usize) -> Vec<Ring> {
    let unit_m = units.stored(Unit::Metres, 1.0);
    let step_m = units.stored(Unit::Metres, round_step(farthest_m / unit_m / 4.0));
    let ring = |radius_m: f64, limit: Option<()>| {
        let text = units.length(radius_m);
        let text = if limit.is_some() { format!("{text} from the pilot") } else { text };
        Ring { radius_m, text, limit: limit.is_some() }
    };
    let steps = (1..=if take_offs > 1 { 0 } else { 6 })
        .map(|k| step_m * f64::from(k))
        .filter(|r| *r < farthest_m + step_m);
    let away = |r: &f64| (r - limit_m).abs() > 0.3 * step_m;
    let mut rings: Vec<Ring> = steps.filter(away).map(|r| ring(r, None)).collect();
    if limit_m < 1.5 * farthest_m {
        rings.push(ring(limit_m, Some(())));
    }
    rings
}

/// The nearest of 1, 2 and 5 times a power of ten that is not less.
pub(super) fn round_step(least: f64) -> f64 {
    if !least.is_finite() || least <= 0.0 {
        return 1.0;
    }
    let power = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    steps
        .map(|step| step * power)
        .into_iter()
        .find(|step| *step >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}
