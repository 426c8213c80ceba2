use super::model::{CardFigure, CardPass};
use super::words::{azimuth, height, percent, speed, tilt};
use obliquity_planning::{
    Above, Aim, Attitude, Id, OrbitCentre, Outcome, Pass, PassOutcome, Pattern, PatternKind, Scenario,
    SpeedBound,
};
use std::f64::consts::PI;

pub(super) fn card_pass(
    scenario: &Scenario,
    outcome: &Outcome,
    planned: &PassOutcome,
    (number, count): (usize, usize),
) -> CardPass {
    let plan = &planned.plan;
    let title = format!("Pass {number} of {count}: {}", plan.pattern.name());
    if let Some(reason) = &plan.refused {
        let refused = Some(reason.clone());
        return CardPass { title, refused, to_key_in: Vec::new(), cameras: Vec::new(), follows: Vec::new() };
    }
    let pass = scenario
        .strategy(outcome.strategy)
        .and_then(|strategy| strategy.passes.iter().find(|pass| pass.id == plan.pass));
    CardPass {
        title,
        refused: None,
        to_key_in: to_key_in(scenario, pass, planned),
        cameras: pass.map(|pass| cameras(pass, planned)).unwrap_or_default(),
        follows: follows(planned),
    }
}

fn to_key_in(scenario: &Scenario, pass: Option<&Pass>, planned: &PassOutcome) -> Vec<CardFigure> {
    let terms = &planned.plan.speed;
    let mut figures = distances(scenario, planned);
    if let Some(pass) = pass {
        figures.extend(subject(scenario, &pass.pattern));
    }
    let (value, mph) = speed(terms.speed_mps);
    let bound = format!("bound by {}", bound(terms.bound_by));
    figures.push(CardFigure::new("speed", value).also(mph).note(bound));
    if let Some(pass) = pass {
        figures.push(CardFigure::new("forward overlap", percent(pass.forward_overlap)));
        figures.push(CardFigure::new("sidelap", percent(pass.sidelap)));
    }
    figures
}

/// Height and stand-off.
fn distances(scenario: &Scenario, planned: &PassOutcome) -> Vec<CardFigure> {
    let layout = &planned.plan.layout;
    let flown = station_heights(scenario, planned);
    let over_take_off = |label: &str| flown.map(|range| span(label, range).note("above the take-off point"));
    if let Some(stand_off_m) = layout.stand_off_m {
        let stand_off = CardFigure::long("stand-off", stand_off_m);
        let stand_off =
            if layout.capped { stand_off.note("cut to the length of the height ceiling") } else { stand_off };
        return std::iter::once(stand_off).chain(over_take_off("heights")).collect();
    }
    let capped = if layout.capped { ", cut by the height ceiling" } else { "" };
    let above = match layout.above {
        Above::MeanGround => "the mean ground inside the boundary",
        Above::TakeOff => "the take-off point",
        Above::Ground => "the ground below, followed",
    };
    let over_ground = CardFigure::long("height", layout.height_m).note(format!("above {above}{capped}"));
    let over_take_off = match layout.above {
        Above::TakeOff => None,
        Above::MeanGround | Above::Ground => over_take_off("over take-off"),
    };
    std::iter::once(over_ground).chain(over_take_off).collect()
}

/// One length, or the least and the greatest where they differ.
fn span(label: &str, (low_m, high_m): (f64, f64)) -> CardFigure {
    let (low, high) = (height(low_m), height(high_m));
    if low == high {
        return CardFigure::new(label, low.0).also(low.1);
    }
    CardFigure::new(label, format!("{} to {}", low.0, high.0)).also(format!("{} to {}", low.1, high.1))
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

/// What the pass goes round, along or below, and how near.
fn subject(scenario: &Scenario, pattern: &Pattern) -> Vec<CardFigure> {
    let named = |id: Id| {
        let found = scenario.site.structures.iter().find(|structure| structure.id == id);
        found.map_or_else(String::new, |structure| structure.name.clone())
    };
    match pattern {
        Pattern::Strips { .. } | Pattern::Corridor { .. } => Vec::new(),
        Pattern::Orbit { around, rings, .. } => {
            let middle = match around {
                OrbitCentre::Structure(id) => named(*id),
                OrbitCentre::Point { x_m, y_m } => format!("{x_m:.1} m east, {y_m:.1} m north of the origin"),
            };
            let (metres, feet): (Vec<_>, Vec<_>) = rings.heights_m().into_iter().map(height).unzip();
            let heights = CardFigure::new("ring heights", metres.join(", ")).also(feet.join(", "));
            vec![CardFigure::new("around", middle), heights.note("above the ground in the middle")]
        }
        Pattern::Facade { structure, clearance_m, .. } => vec![
            CardFigure::new("in front of", named(*structure)),
            CardFigure::long("clearance", *clearance_m).note("from every structure"),
        ],
        Pattern::Underside { structure, soffit_clearance_m, ground_clearance_m, sections } => vec![
            CardFigure::new("below", named(*structure)),
            CardFigure::new("sections", sections.to_string()).note("each flown to its end before the next"),
            CardFigure::long("soffit clearance", *soffit_clearance_m),
            CardFigure::long("ground clearance", *ground_clearance_m),
        ],
    }
}

fn follows(planned: &PassOutcome) -> Vec<CardFigure> {
    let (plan, layout) = (&planned.plan, &planned.plan.layout);
    let mut figures = vec![air_base(planned)];
    match plan.pattern {
        PatternKind::Facade => figures.push(CardFigure::long("row spacing", layout.strip_spacing_m)),
        PatternKind::Orbit => {}
        PatternKind::Strips | PatternKind::Corridor | PatternKind::Underside => {
            figures.push(CardFigure::long("strip spacing", layout.strip_spacing_m));
        }
    }
    let lines = match plan.pattern {
        PatternKind::Orbit => "rings",
        PatternKind::Facade => "rows",
        PatternKind::Strips | PatternKind::Corridor | PatternKind::Underside => "strips",
    };
    figures.push(CardFigure::new(lines, layout.strips.to_string()));
    figures.extend(run(planned));
    figures.extend(margin(planned));
    let images = CardFigure::new("images", planned.image_count.to_string());
    figures.push(match plan.skipped {
        0 => images,
        n => images.note(format!("{n} more skipped: they show nothing of the site")),
    });
    figures.extend(overlaps(planned));
    let faces = match layout.stand_off_m {
        Some(_) => "of a camera that faces the surface at the stand-off",
        None => "of a level camera over level ground",
    };
    let nominal = CardFigure::new("nominal GSD", format!("{:.2} cm", layout.vertical_gsd_m * 100.0));
    figures.push(nominal.note(faces));
    figures.extend(over_ground(planned));
    figures
}

/// Height, GSD and overlap over the highest and the lowest ground below the exposures, where they differ.
fn over_ground(planned: &PassOutcome) -> Vec<CardFigure> {
    let plan = &planned.plan;
    let flown = plan.ground.filter(|ground| plan.pattern.flies_over() && ground.varies());
    let Some(ground) = flown.filter(|ground| ground.least_m > 0.0) else { return Vec::new() };
    let range_m = (ground.least_m, ground.greatest_m);
    let gsd_cm = |height_m: f64| plan.stations.camera.vertical_gsd_m(height_m) * 100.0;
    let gsd = format!("{:.2} to {:.2} cm", gsd_cm(range_m.0), gsd_cm(range_m.1));
    let overlap = |which: &str, height_m: f64| {
        let (forward, side) = plan.layout.overlaps_at(height_m);
        CardFigure::new(format!("overlap, {which}"), both(forward, side))
            .note(format!("forward / side, over the {which} ground, of a level camera"))
    };
    vec![
        span("above the ground", range_m).note("right below the exposures"),
        CardFigure::new("GSD below", gsd).note("of a level camera, over the highest and the lowest ground"),
        overlap("highest", range_m.0),
        overlap("lowest", range_m.1),
    ]
}

/// The overlaps really reached over the highest roof and on a tilted axis.
fn overlaps(planned: &PassOutcome) -> Vec<CardFigure> {
    let layout = &planned.plan.layout;
    let figure = |label: &str, overlaps: (Option<f64>, Option<f64>), note: &str| {
        let (forward, side) = overlaps.0.zip(overlaps.1)?;
        Some(CardFigure::new(label, both(forward, side)).note(format!("forward / side, {note}")))
    };
    let over_roof = (layout.roof_forward_overlap, layout.roof_sidelap);
    let on_axis = (layout.axis_forward_overlap, layout.axis_sidelap);
    let tilted = planned.plan.stations.poses.first().is_some_and(|pose| pose.tilt_rad.abs() > 1e-9);
    let axis = tilted.then(|| figure("overlap, tilted", on_axis, "on the tilted axis over level ground"));
    let roof = figure("overlap, roofs", over_roof, "over the highest roof");
    roof.into_iter().chain(axis.flatten()).collect()
}

fn both(forward: f64, side: f64) -> String {
    format!("{} / {}", percent(forward.max(0.0)), percent(side.max(0.0)))
}

fn air_base(planned: &PassOutcome) -> CardFigure {
    let exposure = &planned.plan.exposure;
    let (dwells, cycle_s) = (exposure.dwell_s.len(), exposure.cycle_s);
    let base = CardFigure::long("air base", planned.plan.layout.air_base_m);
    if dwells > 1 {
        base.note(format!("between cycles of {dwells} exposures, {cycle_s:.1} s each cycle"))
    } else {
        base.note("between exposures")
    }
}

/// Which way the strips run.
fn run(planned: &PassOutcome) -> Option<CardFigure> {
    let layout = &planned.plan.layout;
    match planned.plan.pattern {
        PatternKind::Strips | PatternKind::Underside => {
            let back = format!("and back {}", azimuth(layout.direction_rad + PI));
            Some(CardFigure::new("strips run", azimuth(layout.direction_rad)).note(back))
        }
        PatternKind::Corridor => {
            let (width, feet) = height(layout.region_width_m);
            let along = format!("along the line, {width} wide");
            Some(CardFigure::new("strips run", along).also(feet).note("and back"))
        }
        PatternKind::Orbit | PatternKind::Facade => None,
    }
}

fn margin(planned: &PassOutcome) -> Option<CardFigure> {
    let margin = CardFigure::long("margin", planned.plan.layout.margin_m);
    match (planned.plan.pattern, planned.plan.exposure.dwell_s.len()) {
        (PatternKind::Strips, 2..) => {
            let note = "the strips reach as far as the tilted images need";
            Some(CardFigure::new("margin", "none of its own").note(note))
        }
        (PatternKind::Strips, _) => Some(margin.note("beyond the boundary")),
        (PatternKind::Corridor, _) => Some(margin.note("beyond the ends of the line")),
        (PatternKind::Facade, _) => Some(margin.note("beyond the walls' corners")),
        (PatternKind::Orbit | PatternKind::Underside, _) => None,
    }
}

fn cameras(pass: &Pass, planned: &PassOutcome) -> Vec<CardFigure> {
    if let Pattern::Orbit { target_height_m, .. } = pass.pattern {
        return ring_cameras(planned, target_height_m);
    }
    let figure = |(index, attitude): (usize, &Attitude)| {
        let label = match pass.attitudes.len() {
            1 => "camera".to_owned(),
            _ => format!("camera {}", index + 1),
        };
        let (value, gimbal) = tilt(attitude.tilt_deg);
        let looks = match pass.pattern {
            Pattern::Corridor { .. } => looks_from_line(attitude.aim),
            Pattern::Facade { .. } => "looks at the wall".to_owned(),
            Pattern::Strips { .. } | Pattern::Orbit { .. } | Pattern::Underside { .. } => {
                looks(attitude.aim, planned.plan.layout.direction_rad)
            }
        };
        CardFigure::new(label, value).also(gimbal).note(looks)
    };
    pass.attitudes.iter().enumerate().map(figure).collect()
}

/// One for each tilt: rings at different heights look at the same place.
fn ring_cameras(planned: &PassOutcome, target_height_m: f64) -> Vec<CardFigure> {
    let mut tilts: Vec<f64> = planned.plan.stations.poses.iter().map(|p| p.tilt_rad.to_degrees()).collect();
    tilts.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let each = tilts.len() == planned.plan.layout.strips as usize;
    let alone = tilts.len() == 1;
    let figure = |(index, tilt_deg): (usize, f64)| {
        let label = match (alone, each) {
            (true, _) => "camera".to_owned(),
            (false, true) => format!("camera, ring {}", index + 1),
            (false, false) => format!("camera {}", index + 1),
        };
        let (value, gimbal) = tilt(tilt_deg);
        let target = height(target_height_m).0;
        CardFigure::new(label, value).also(gimbal).note(format!("looks inward at {target}"))
    };
    tilts.into_iter().enumerate().map(figure).collect()
}

fn looks(aim: Aim, strips_rad: f64) -> String {
    match aim {
        Aim::FromTrack { deg } | Aim::AtSubject { deg } => {
            let out_rad = strips_rad + deg.to_radians();
            format!("looks {}, on return strips {}", azimuth(out_rad), azimuth(out_rad + PI))
        }
        Aim::FromStrips { deg } => format!("looks {} on all strips", azimuth(strips_rad + deg.to_radians())),
        Aim::FromNorth { deg } => format!("looks {} on all strips", azimuth(deg.to_radians())),
    }
}

/// As [`looks`], along a line with corners.
fn looks_from_line(aim: Aim) -> String {
    let deg = aim.deg();
    match aim {
        Aim::FromTrack { .. } | Aim::AtSubject { .. } => format!("looks {deg:.0}° right of the track"),
        Aim::FromStrips { .. } => format!("looks {deg:.0}° right of the line on all strips"),
        Aim::FromNorth { .. } => format!("looks {} on all strips", azimuth(deg.to_radians())),
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
