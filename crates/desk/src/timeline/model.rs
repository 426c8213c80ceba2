use crate::show;
use crate::units::Units;
use obliquity_planning::light::{LightPeriod, LocalTime, Zone};
use obliquity_planning::{Doing, FlownLeg, Id, LegKind, Outcome, Scenario, Stay, Timing};

/// Everything on the timeline of one strategy. Times are seconds since the arrival.
#[derive(Debug, Clone)]
pub struct Timeline {
    /// The strategy.
    pub strategy: Id,
    /// Its name.
    pub name: String,
    /// When the crew leaves.
    pub end_s: f64,
    /// What the crew does.
    pub crew: Vec<TimeBlock>,
    /// The passes as they are flown.
    pub passes: Vec<TimeBlock>,
    /// Every leg, with turning on the spot apart.
    pub legs: Vec<TimeBlock>,
    /// When an image is taken, in order.
    pub exposures_s: Vec<f64>,
    /// The charge of each sortie's battery.
    pub charges: Vec<Charge>,
    /// Share of the charge that is to be left at landing.
    pub reserve: f64,
    /// Where sorties take the route up again.
    pub resumes: Vec<ResumeMark>,
    /// The light, or why nothing is known of it.
    pub light: Result<LightLane, String>,
    /// The site's clock, and when the crew arrives.
    pub(super) local: Option<(Zone, f64)>,
    pub(super) stay: Stay,
    pub(super) outcome: Outcome,
    /// Its clock.
    pub(super) timing: Timing,
    pub(super) units: Units,
}

/// A stretch of a lane.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeBlock {
    /// Its beginning.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// What it is.
    pub kind: BlockKind,
    /// What is written into it where there is room.
    pub text: String,
}

/// What a stretch of a lane is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlockKind {
    /// The crew's work on the ground.
    Work,
    /// Changing batteries.
    Swap,
    /// Waiting for a charger.
    Wait,
    /// Moving to another take-off point.
    Move,
    /// A sortie.
    Sortie,
    /// A pass, by its index.
    Pass(usize),
    /// Along a strip.
    Strip,
    /// From strip to strip or from pass to pass.
    Link,
    /// Turning, on the spot or in a sweep.
    Turn,
    /// To the route and back.
    Transit,
    /// Up or down.
    Vertical,
}

/// The charge of a battery along a sortie.
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    /// The sortie, from 1.
    pub sortie: u32,
    /// The battery set, from 1.
    pub battery: u32,
    /// Time, and share of a full set.
    pub line: Vec<(f64, f64)>,
    /// Share left at landing.
    pub left: f64,
    /// "battery 2: 27 % left".
    pub text: String,
}

/// Where a sortie takes the route up again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResumeMark {
    /// The sortie, from 1.
    pub sortie: u32,
    /// When.
    pub at_s: f64,
}

/// The light while the crew is on site.
#[derive(Debug, Clone, PartialEq)]
pub struct LightLane {
    /// In order; what lies beyond the day of the arrival is left out.
    pub spans: Vec<LightSpan>,
    /// Time, and height of the sun above the horizon in degrees.
    pub sun: Vec<(f64, f64)>,
}

/// A stretch of daylight, twilight or night.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightSpan {
    /// Its beginning.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// What it is in law.
    pub period: LightPeriod,
}

impl LightLane {
    /// Height of the sun at the last place before an instant at which it was worked out.
    pub fn sun_deg(&self, at_s: f64) -> Option<f64> {
        let after = self.sun.iter().position(|(own_s, _)| *own_s > at_s).unwrap_or(self.sun.len());
        self.sun.get(after.checked_sub(1)?).map(|(_, deg)| *deg)
    }
}

/// Places at which the sun's height is worked out.
const SUN_STEPS: u32 = 96;

impl Timeline {
    /// The timeline of an outcome of a strategy of `scenario`; any depth will do.
    /// Nothing of one that cannot be flown.
    pub fn new(scenario: &Scenario, outcome: &Outcome, name: &str, units: Units) -> Option<Self> {
        let timing = outcome.timing.clone()?;
        let stay = timing.stay();
        let aircraft = scenario
            .strategy(outcome.strategy)
            .and_then(|strategy| scenario.equipment.aircraft(strategy.aircraft));
        let end_s = stay.end_s();
        Some(Timeline {
            strategy: outcome.strategy,
            name: name.to_owned(),
            end_s,
            crew: crew(&stay, &timing),
            passes: passes(&stay, outcome, &timing),
            legs: timing.flight.legs.iter().flat_map(|flown| leg_blocks(&stay, flown)).collect(),
            exposures_s: exposures(&stay, &timing),
            charges: charges(&stay, &timing),
            reserve: aircraft.map_or(0.0, |aircraft| aircraft.airframe.reserve),
            resumes: timing
                .resumes()
                .iter()
                .map(|resume| ResumeMark { sortie: resume.sortie + 1, at_s: resume.site_s })
                .collect(),
            light: light(outcome, end_s),
            local: local(scenario),
            outcome: outcome.clone(),
            timing,
            stay,
            units,
        })
    }

    /// What the site's clock shows; nothing without a mission.
    pub fn local(&self, at_s: f64) -> Option<LocalTime> {
        let (zone, arrival_s) = self.local.as_ref()?;
        zone.local(arrival_s + at_s)
    }

    /// Where the cursor stands before anyone has moved it: at the middle one of the exposures.
    pub fn middle_s(&self) -> f64 {
        self.exposures_s.get(self.exposures_s.len() / 2).copied().unwrap_or(0.0)
    }

    /// The whole of it in words.
    pub fn spoken(&self) -> String {
        let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let sorties = show::counted(count(self.charges.len()), "sortie", "sorties");
        let exposures = show::counted(count(self.exposures_s.len()), "exposure", "exposures");
        let left: Vec<&str> = self.charges.iter().map(|charge| charge.text.as_str()).collect();
        format!(
            "Timeline of {}: {} on site, {sorties}, {exposures}; {}",
            self.name,
            show::duration_s(self.end_s),
            left.join(", ")
        )
    }
}

fn local(scenario: &Scenario) -> Option<(Zone, f64)> {
    let mission = scenario.conditions.mission.as_ref()?;
    let zone = Zone::new(&mission.zone).ok()?;
    let arrival_s = zone.utc_s(mission.date, mission.arrival).ok()?;
    Some((zone, arrival_s))
}

fn crew(stay: &Stay, timing: &Timing) -> Vec<TimeBlock> {
    let block = |span: &obliquity_planning::StaySpan| {
        let (kind, text) = match span.doing {
            Doing::SetUp => (BlockKind::Work, "set-up".to_owned()),
            Doing::ControlPoints => (BlockKind::Work, "control points".to_owned()),
            Doing::PackUp => (BlockKind::Work, "pack-up".to_owned()),
            Doing::Swap { .. } => (BlockKind::Swap, "battery change".to_owned()),
            Doing::Wait { .. } => (BlockKind::Wait, "wait".to_owned()),
            Doing::Move { before } => {
                let to = timing.flight.sorties.get(before as usize).map_or(0, |own| own.home + 1);
                (BlockKind::Move, format!("move to take-off {to}"))
            }
            Doing::Sortie { sortie, .. } => {
                let battery = timing.flight.sorties.get(sortie as usize).map_or(0, |own| own.battery);
                (BlockKind::Sortie, format!("sortie {}, battery {battery}", sortie + 1))
            }
        };
        TimeBlock { from_s: span.from_s, to_s: span.to_s, kind, text }
    };
    stay.spans.iter().map(block).collect()
}

/// One block for each stretch on which one pass is flown without another sortie or pass between.
fn passes(stay: &Stay, outcome: &Outcome, timing: &Timing) -> Vec<TimeBlock> {
    let mut blocks: Vec<TimeBlock> = Vec::new();
    let mut last: Option<(u32, Id)> = None;
    for flown in &timing.flight.legs {
        let Some(pass) = flown.pass else { continue };
        let (Some(from_s), Some(to_s)) =
            (stay.site_s(flown.sortie, flown.start_s), stay.site_s(flown.sortie, flown.end_s()))
        else {
            continue;
        };
        if last == Some((flown.sortie, pass))
            && let Some(block) = blocks.last_mut()
        {
            block.to_s = to_s;
            continue;
        }
        last = Some((flown.sortie, pass));
        let index = outcome.passes.iter().position(|own| own.pass == pass).unwrap_or(0);
        blocks.push(TimeBlock {
            from_s,
            to_s,
            kind: BlockKind::Pass(index),
            text: pass_text(outcome, index),
        });
    }
    blocks
}

/// "pass 2: strips".
fn pass_text(outcome: &Outcome, index: usize) -> String {
    let pattern = outcome.passes.get(index).map_or("", |pass| pass.pattern.name());
    match outcome.passes.len() {
        1 => pattern.to_owned(),
        _ => format!("pass {}: {pattern}", index + 1),
    }
}

fn leg_blocks(stay: &Stay, flown: &FlownLeg) -> Vec<TimeBlock> {
    let kind = match flown.leg.kind {
        LegKind::Strip => BlockKind::Strip,
        LegKind::Link => BlockKind::Link,
        LegKind::Turn => BlockKind::Turn,
        LegKind::Transit => BlockKind::Transit,
        LegKind::Climb | LegKind::Descent => BlockKind::Vertical,
    };
    let turned_s = flown.start_s + flown.turn_s;
    let parts = [(BlockKind::Turn, flown.start_s, turned_s), (kind, turned_s, flown.end_s())];
    let block = |(kind, from_s, to_s): (BlockKind, f64, f64)| {
        let at = |flying_s| stay.site_s(flown.sortie, flying_s);
        // A strip that is broken off at its first exposure takes no time, but it is flown.
        (to_s > from_s || kind == BlockKind::Strip).then_some(())?;
        Some(TimeBlock { from_s: at(from_s)?, to_s: at(to_s)?, kind, text: String::new() })
    };
    parts.into_iter().filter_map(block).collect()
}

fn exposures(stay: &Stay, timing: &Timing) -> Vec<f64> {
    let of_leg = |flown: &FlownLeg| {
        let pass = timing.passes.iter().position(|own| Some(*own) == flown.pass);
        let times = pass.and_then(|pass| timing.flight.station_time_s.get(pass));
        let at =
            |stop: &obliquity_planning::Stop| stay.site_s(flown.sortie, *times?.get(stop.station as usize)?);
        flown.leg.stops.iter().filter_map(at).collect::<Vec<f64>>()
    };
    let mut all: Vec<f64> = timing.flight.legs.iter().flat_map(of_leg).collect();
    all.sort_by(f64::total_cmp);
    all
}

fn charges(stay: &Stay, timing: &Timing) -> Vec<Charge> {
    let charge = |(number, sortie): (u32, &obliquity_planning::Sortie)| {
        let left = sortie.left_ratio(timing.flight.capacity_j);
        Charge {
            sortie: number + 1,
            battery: sortie.battery,
            line: timing.charge_along(stay, number),
            left,
            text: format!("battery {}: {:.0} % left", sortie.battery, 100.0 * left),
        }
    };
    (0..).zip(&timing.flight.sorties).map(charge).collect()
}

fn light(outcome: &Outcome, end_s: f64) -> Result<LightLane, String> {
    let light = outcome.light.as_ref().map_err(ToString::to_string)?;
    let since = |utc_s: f64| (utc_s - light.arrival_s).clamp(0.0, end_s);
    let spans = light.day.periods.iter().map(|span| LightSpan {
        from_s: since(span.from_s),
        to_s: since(span.to_s),
        period: span.period,
    });
    let times = (0..=SUN_STEPS).map(|k| end_s * f64::from(k) / f64::from(SUN_STEPS));
    let sun = times.filter_map(|at_s| Some((at_s, light.sun_after(at_s).ok()?.elevation_rad.to_degrees())));
    Ok(LightLane { spans: spans.filter(|span| span.to_s > span.from_s).collect(), sun: sun.collect() })
}
