//! The set-up card: the values to key into any flight controller, and what to check before, as plain text.

mod words;

use obliquity_planning::{
    Above, Aim, Attitude, Id, OrbitCentre, Outcome, Pass, PassOutcome, Pattern, PatternKind, Scenario,
    Severity, SiteOutline, SpeedBound,
};
use std::fmt::Write;
use words::{azimuth, gigabytes, height, metres, minutes, percent, speed, tilt, wrapped};

/// Width of the labels' column.
const LABEL: usize = 18;

/// The set-up card of one strategy.
///
/// `outcome` must be of a strategy of `scenario`; any depth will do.
pub fn set_up_card(scenario: &Scenario, outcome: &Outcome) -> String {
    let mut card = Card::default();
    card.title(&format!("Set-up card: {}", outcome.name));
    card.line("scenario", &scenario.name);
    card.line("site", &scenario.site.name);
    card.line("aircraft", &outcome.aircraft);
    for reason in &outcome.reasons {
        card.line("CANNOT BE FLOWN", reason);
    }
    for (index, planned) in outcome.passes.iter().enumerate() {
        let title =
            format!("Pass {} of {}: {}", index + 1, outcome.passes.len(), planned.plan.pattern.name());
        card.title(&title);
        pass_lines(&mut card, scenario, outcome, planned);
    }
    card.title("Before you leave");
    on_hand_lines(&mut card, scenario, outcome);
    surroundings_lines(&mut card, scenario, outcome);
    card.title("Time on site");
    time_lines(&mut card, outcome);
    card.title("Cautions");
    caution_lines(&mut card, outcome);
    card.closing();
    card.text
}

/// The text as it grows.
#[derive(Default)]
struct Card {
    text: String,
}

impl Card {
    fn title(&mut self, title: &str) {
        let gap = if self.text.is_empty() { "" } else { "\n" };
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{gap}{title}");
    }

    fn line(&mut self, label: &str, value: &str) {
        let _ = writeln!(self.text, "  {label:<LABEL$}{value}");
    }

    fn paragraph(&mut self, mark: &str, text: &str) {
        for (index, line) in wrapped(text).into_iter().enumerate() {
            let mark = if index == 0 { mark } else { " " };
            let _ = writeln!(self.text, "  {mark} {line}");
        }
    }

    fn closing(&mut self) {
        let line = "Figures are predictions from geometry and physics, not promises. Local rules and the remote pilot decide \
                    whether, where and how to fly.";
        self.text.push('\n');
        for line in wrapped(line) {
            let _ = writeln!(self.text, "{line}");
        }
    }
}

fn pass_lines(card: &mut Card, scenario: &Scenario, outcome: &Outcome, planned: &PassOutcome) {
    if let Some(reason) = &planned.plan.refused {
        card.line("LEFT OUT", reason);
        return;
    }
    let (layout, terms) = (&planned.plan.layout, &planned.plan.speed);
    distance_lines(card, scenario, planned);
    card.line("nominal GSD", &format!("{:.2} cm", layout.vertical_gsd_m * 100.0));
    card.line("speed", &format!("{}, bound by {}", speed(terms.speed_mps), bound(terms.bound_by)));
    let pass = scenario
        .strategy(outcome.strategy)
        .and_then(|strategy| strategy.passes.iter().find(|pass| pass.id == planned.plan.pass));
    if let Some(pass) = pass {
        let (forward, side) = (percent(pass.forward_overlap), percent(pass.sidelap));
        card.line("overlap", &format!("forward {forward}, side {side}"));
    }
    card.line("air base", &format!("{} between {}", metres(layout.air_base_m), between(planned)));
    pattern_lines(card, scenario, pass, planned);
    let skipped = match planned.plan.skipped {
        0 => String::new(),
        n => format!(", {n} more skipped because they would show nothing of the site"),
    };
    card.line("images", &format!("{}{skipped}", planned.image_count));
}

/// Height and stand-off.
fn distance_lines(card: &mut Card, scenario: &Scenario, planned: &PassOutcome) {
    let layout = &planned.plan.layout;
    let capped = if layout.capped { ", cut by the height ceiling" } else { "" };
    if let Some(stand_off_m) = layout.stand_off_m {
        card.line("stand-off", &format!("{}{capped}", metres(stand_off_m)));
        let heights = station_heights(scenario, planned);
        let range = heights.map_or_else(String::new, |(low, high)| {
            format!("{} to {} above the take-off point", height(low), height(high))
        });
        card.line("heights", &range);
        return;
    }
    let above = match layout.above {
        Above::MeanGround => "the mean ground inside the boundary",
        Above::TakeOff => "the take-off point",
        Above::Ground => "the ground below, followed",
    };
    card.line("height", &format!("{} above {above}{capped}", height(layout.height_m)));
    match (layout.above, station_heights(scenario, planned)) {
        (Above::Ground, Some((low, high))) => {
            card.line("", &format!("{} to {} above the take-off point", height(low), height(high)));
        }
        (Above::MeanGround, Some((low, _))) => {
            card.line("", &format!("{} above the take-off point", height(low)));
        }
        _ => {}
    }
}

/// What only one pattern or some have.
fn pattern_lines(card: &mut Card, scenario: &Scenario, pass: Option<&Pass>, planned: &PassOutcome) {
    let layout = &planned.plan.layout;
    match planned.plan.pattern {
        PatternKind::Strips | PatternKind::Underside => {
            card.line("strip spacing", &metres(layout.strip_spacing_m));
            let (out_rad, back_rad) = (layout.direction_rad, layout.direction_rad + std::f64::consts::PI);
            card.line("strips run", &format!("{} and back {}", azimuth(out_rad), azimuth(back_rad)));
        }
        PatternKind::Corridor => {
            card.line("strip spacing", &metres(layout.strip_spacing_m));
            card.line(
                "strips run",
                &format!("along the line, {} wide, and back", metres(layout.region_width_m)),
            );
        }
        PatternKind::Facade => card.line("row spacing", &metres(layout.strip_spacing_m)),
        PatternKind::Orbit => {}
    }
    if let Some(pass) = pass {
        pass_settings(card, scenario, pass, planned);
    }
    let margin = match (planned.plan.pattern, planned.plan.exposure.dwell_s.len()) {
        (PatternKind::Strips, 2..) => {
            Some("none of its own: the strips reach as far as the tilted images need".to_owned())
        }
        (PatternKind::Strips, _) => Some(format!("{} beyond the boundary", metres(layout.margin_m))),
        (PatternKind::Corridor, _) => {
            Some(format!("{} beyond the ends of the line", metres(layout.margin_m)))
        }
        (PatternKind::Facade, _) => Some(format!("{} beyond the walls' corners", metres(layout.margin_m))),
        (PatternKind::Orbit | PatternKind::Underside, _) => None,
    };
    if let Some(margin) = margin {
        card.line("margin", &margin);
    }
    let lines = match planned.plan.pattern {
        PatternKind::Orbit => "rings",
        PatternKind::Facade => "rows",
        PatternKind::Strips | PatternKind::Corridor | PatternKind::Underside => "strips",
    };
    card.line(lines, &layout.strips.to_string());
}

/// Where the camera looks and what it goes round.
fn pass_settings(card: &mut Card, scenario: &Scenario, pass: &Pass, planned: &PassOutcome) {
    let named = |id: &Id| {
        let found = scenario.site.structures.iter().find(|structure| structure.id == *id);
        found.map_or_else(String::new, |structure| structure.name.clone())
    };
    match &pass.pattern {
        Pattern::Strips { .. } => attitude_lines(card, pass, planned),
        Pattern::Corridor { .. } => corridor_attitude_lines(card, pass),
        Pattern::Orbit { around, rings, target_height_m, .. } => {
            let middle = match around {
                OrbitCentre::Structure(id) => named(id),
                OrbitCentre::Point { x_m, y_m } => format!("{x_m:.1} m east, {y_m:.1} m north of the origin"),
            };
            card.line("around", &middle);
            let heights: Vec<String> = rings.heights_m().iter().map(|m| format!("{m:.1} m")).collect();
            card.line("ring heights", &format!("{} above the ground in the middle", heights.join(", ")));
            let mut tilts: Vec<f64> =
                planned.plan.stations.poses.iter().map(|p| p.tilt_rad.to_degrees()).collect();
            tilts.dedup_by(|a, b| (*a - *b).abs() < 0.05);
            let tilts: Vec<String> = tilts.into_iter().map(tilt).collect();
            card.line("camera", &format!("looks inward at {target_height_m:.1} m: {}", tilts.join("; ")));
        }
        Pattern::Facade { structure, clearance_m, .. } => {
            card.line("in front of", &named(structure));
            card.line("clearance", &format!("{} from every structure", metres(*clearance_m)));
            card.line("camera", &format!("{}, looks at the wall", tilt(pass.attitudes[0].tilt_deg)));
        }
        Pattern::Underside { structure, soffit_clearance_m, ground_clearance_m, .. } => {
            card.line("below", &named(structure));
            let (soffit, ground) = (metres(*soffit_clearance_m), metres(*ground_clearance_m));
            card.line("clearance", &format!("{soffit} to the soffit, {ground} to the ground"));
            attitude_lines(card, pass, planned);
        }
    }
}

fn corridor_attitude_lines(card: &mut Card, pass: &Pass) {
    for (index, attitude) in pass.attitudes.iter().enumerate() {
        let label = match pass.attitudes.len() {
            1 => "camera".to_owned(),
            _ => format!("camera {}", index + 1),
        };
        let deg = attitude.aim.deg();
        let looks = match attitude.aim {
            Aim::FromTrack { .. } | Aim::AtSubject { .. } => format!("looks {deg:.0}° right of the track"),
            Aim::FromStrips { .. } => format!("looks {deg:.0}° right of the line on all strips"),
            Aim::FromNorth { .. } => format!("looks {} on all strips", azimuth(deg.to_radians())),
        };
        card.line(&label, &format!("{}, {looks}", tilt(attitude.tilt_deg)));
    }
}

fn between(planned: &PassOutcome) -> String {
    match planned.plan.exposure.dwell_s.len() {
        0 | 1 => "exposures".to_owned(),
        n => format!("cycles of {n} exposures, {:.1} s each cycle", planned.plan.exposure.cycle_s),
    }
}

/// Least and greatest height of the stations over the take-off point: what a flight controller measures from.
fn station_heights(scenario: &Scenario, planned: &PassOutcome) -> Option<(f64, f64)> {
    let site = &scenario.site;
    let home_z_m = site.terrain.height_m(site.take_off_m);
    let heights = planned.plan.stations.poses.iter().map(|pose| pose.position_m.z - home_z_m);
    heights.fold(None, |range, z| {
        Some(range.map_or((z, z), |(low, high): (f64, f64)| (low.min(z), high.max(z))))
    })
}

fn attitude_lines(card: &mut Card, pass: &Pass, planned: &PassOutcome) {
    let strips_rad = planned.plan.layout.direction_rad;
    for (index, attitude) in pass.attitudes.iter().enumerate() {
        let label = match pass.attitudes.len() {
            1 => "camera".to_owned(),
            _ => format!("camera {}", index + 1),
        };
        card.line(&label, &format!("{}, {}", tilt(attitude.tilt_deg), looks(attitude, strips_rad)));
    }
}

fn looks(attitude: &Attitude, strips_rad: f64) -> String {
    match attitude.aim {
        Aim::FromTrack { deg } | Aim::AtSubject { deg } => {
            let out_rad = strips_rad + deg.to_radians();
            format!(
                "looks {}, on return strips {}",
                azimuth(out_rad),
                azimuth(out_rad + std::f64::consts::PI)
            )
        }
        Aim::FromStrips { deg } => format!("looks {} on all strips", azimuth(strips_rad + deg.to_radians())),
        Aim::FromNorth { deg } => format!("looks {} on all strips", azimuth(deg.to_radians())),
    }
}

fn bound(by: SpeedBound) -> &'static str {
    match by {
        SpeedBound::User => "your own limit",
        SpeedBound::Airframe => "the airframe's top speed",
        SpeedBound::ShotInterval => "the camera's shot interval",
        SpeedBound::GimbalCycle => "the gimbal's cycle",
        SpeedBound::Blur => "motion blur",
        SpeedBound::Curve => "the curve of the ring",
        SpeedBound::Pattern => "the pattern: no limit of your own is set",
    }
}

fn on_hand_lines(card: &mut Card, scenario: &Scenario, outcome: &Outcome) {
    let sorties = u32::try_from(outcome.flight.sorties.len()).unwrap_or(u32::MAX);
    let sets = scenario.conditions.battery_sets;
    let verdict = match sorties.saturating_sub(sets) {
        0 => "enough".to_owned(),
        short => format!("{short} short: charge on site or bring more"),
    };
    card.line("batteries", &format!("{sorties} needed (one a sortie), {sets} on hand: {verdict}"));
    for (index, sortie) in outcome.flight.sorties.iter().enumerate() {
        let (duration, usable) = (minutes(sortie.duration_s), minutes(sortie.usable_s));
        let usable = if sortie.usable_s.is_finite() {
            format!(" of {usable} before the reserve")
        } else {
            String::new()
        };
        card.line(
            &format!("sortie {}", index + 1),
            &format!("{duration}{usable}, {} images", sortie.exposures),
        );
    }
    let (need, have) = (outcome.storage_gb, scenario.conditions.card_gb);
    let verdict = if need <= have { "enough" } else { "too little: bring more" };
    card.line("card space", &format!("{} needed, {} on hand: {verdict}", gigabytes(need), gigabytes(have)));
}

fn surroundings_lines(card: &mut Card, scenario: &Scenario, outcome: &Outcome) {
    let (farthest_m, limit_m) = (outcome.flight.farthest_m, scenario.conditions.pilot_distance_m);
    let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
    card.line(
        "farthest",
        &format!("{farthest_m:.0} m from the take-off point, {beyond} the {limit_m:.0} m set for the pilot"),
    );
    let tallest_m = SiteOutline::new(&scenario.site).ok().and_then(|outline| outline.tallest_anywhere_m);
    let Some(tallest_m) = tallest_m else {
        card.line("tallest structure", "none drawn: look for what stands there");
        return;
    };
    let assumed = if outcome.assumed { " (assumed, not surveyed)" } else { "" };
    card.line("tallest structure", &format!("{} above the mean ground{assumed}", height(tallest_m)));
    let at_a_height = outcome.passes.iter().map(|pass| &pass.plan).filter(|plan| {
        plan.pattern.flies_over() && plan.layout.above != Above::Ground && plan.refused.is_none()
    });
    let lowest = at_a_height.map(|plan| plan.layout.lowest_m).min_by(f64::total_cmp);
    if let Some(lowest_m) = lowest {
        card.line("clearance", &format!("{} from the lowest pass to its top", metres(lowest_m - tallest_m)));
    }
}

fn time_lines(card: &mut Card, outcome: &Outcome) {
    let time = outcome.time;
    let terms = [
        ("set-up", time.set_up_s),
        ("flight", time.flight_s),
        ("battery changes", time.swaps_s),
        ("control points", time.control_s),
        ("pack-up", time.pack_up_s),
        ("together", time.time_on_site_s()),
    ];
    for (label, seconds) in terms {
        card.line(label, &minutes(seconds));
    }
}

fn caution_lines(card: &mut Card, outcome: &Outcome) {
    for caution in &outcome.cautions {
        let mark = match caution.severity {
            Severity::Limit => "!!",
            Severity::Check => "! ",
            Severity::Reminder => "- ",
        };
        card.paragraph(mark, &caution.text);
    }
}
