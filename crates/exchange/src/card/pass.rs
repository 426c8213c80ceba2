use super::cameras::cameras;
use super::given::{CardOf, take_off_word};
use super::model::{CardColumn, CardFigure, CardPass};
use super::words::{Said, azimuth, gsd, length, lengths, list, percent, speed};
use crate::units::compass_name;
use crate::{LocalFrame, Units};
use glam::DVec2;
use obliquity_planning::wording::Form;
use obliquity_planning::{
    Above, Id, Margin, MeasureId, Overlaps, Pass, PassOutcome, PassPlan, Pattern, RingTerms, Runs, Scenario,
    Site, SpeedBound, SpeedTerms, Told, ToldValue, together,
};
use std::f64::consts::PI;

/// What a pass of the card is written from.
#[derive(Clone, Copy)]
struct PassSheet<'a> {
    scenario: &'a Scenario,
    plan: &'a PassPlan,
    /// Its settings; nothing where the scenario has lost them.
    pass: Option<&'a Pass>,
    units: Units,
    /// What heights are above.
    take_off: &'static str,
}

pub(super) fn card_pass(
    &CardOf { scenario, outcome, units, .. }: &CardOf<'_>,
    planned: &PassOutcome,
    [number, count, listed]: [usize; 3],
) -> CardPass {
    let pattern = planned.pattern.name();
    let title = format!("Pass {number} of {count}: {pattern}");
    let (refused, to_key_in, cameras_of, follows) = (None, Vec::new(), Vec::new(), Vec::new());
    let listed = (listed != number).then(|| CardFigure::new("listed as", format!("pass {listed}")));
    let empty = CardPass { number, pattern, listed, title, refused, to_key_in, cameras: cameras_of, follows };
    let plan = match &planned.plan {
        Err(reason) => return CardPass { refused: Some(reason.to_string()), ..empty },
        // Nobody is to key in a part of what cannot be flown as a whole.
        Ok(_) if !outcome.feasible() => return empty,
        Ok(plan) => &**plan,
    };
    let pass = scenario
        .strategy(outcome.strategy)
        .and_then(|strategy| strategy.passes.iter().find(|pass| pass.id == plan.pass));
    let sheet = PassSheet { scenario, plan, pass, units, take_off: take_off_word(outcome.flight()) };
    CardPass {
        to_key_in: sheet.keyed_in(),
        cameras: pass.map(|pass| cameras(pass, plan, units)).unwrap_or_default(),
        follows: sheet.follows(),
        ..empty
    }
}

impl PassSheet<'_> {
    fn long(&self, label: &str, length_m: f64) -> CardFigure {
        CardFigure::said(label, length(self.units, length_m))
    }

    /// One length, or the least and the greatest where they differ.
    fn span(&self, label: &str, range_m: (f64, f64)) -> CardFigure {
        CardFigure::said(label, lengths(self.units, range_m))
    }

    fn keyed_in(&self) -> Vec<CardFigure> {
        let terms = &self.plan.speed;
        let mut figures = match self.plan.layout.flown.ring {
            Some(ring) => self.circle(&ring),
            None => self.distances(),
        };
        figures.extend(self.pass.map(|pass| self.subject(&pass.pattern)).unwrap_or_default());
        let said = speed(self.units, terms.speed_mps);
        let said = CardFigure::said("speed", said)
            .of(MeasureId::FlightTime)
            .note(format!("bound by {}", bound(terms, self.units)));
        figures.push(said.column(CardColumn::Speed));
        figures.extend(self.shot_interval());
        figures.extend(self.set_overlaps());
        figures
    }

    /// What an orbit is flown on: radius and centre, and how far that is from what stands there.
    fn circle(&self, ring: &RingTerms) -> Vec<CardFigure> {
        let at = ring.middle_m;
        let (centre, note) = coordinates(&self.scenario.site, self.units, at);
        let centre = CardFigure::new("centre", centre).note(note);
        let beyond = if ring.circle_m > 0.0 {
            let circle = length(self.units, ring.circle_m).value;
            format!("beyond the circle of {circle} about what stands in the middle")
        } else {
            "from the middle".to_owned()
        };
        let capped = if self.plan.layout.capped { ", cut to the length of the height ceiling" } else { "" };
        let stand_off =
            self.long("stand-off", ring.radius_m - ring.circle_m).note(format!("{beyond}{capped}"));
        let radius = self.long("radius", ring.radius_m).note("from the centre to the aircraft");
        [centre, radius, stand_off].into_iter().chain(self.heights()).collect()
    }

    /// Height or stand-off.
    fn distances(&self) -> Vec<CardFigure> {
        let layout = &self.plan.layout;
        if let Some(stand_off_m) = layout.stand_off_m {
            let stand_off = self.long("stand-off", stand_off_m).of(MeasureId::ImageCount);
            let stand_off = if layout.capped {
                stand_off.note("cut to the length of the height ceiling")
            } else {
                stand_off
            };
            // Nobody keys in a distance where every station has its place.
            let keyed = Some(stand_off).filter(|_| !self.plan.pattern.about().looks.is_given());
            return keyed.into_iter().chain(self.heights()).collect();
        }
        let capped = if layout.capped { ", cut by the height ceiling" } else { "" };
        let above = match layout.above {
            Above::MeanGround => "the mean ground inside the boundary",
            Above::TakeOff => self.take_off,
            Above::Ground => "the ground below, followed",
        };
        let over_ground = self
            .long("height", layout.height_m)
            .of(MeasureId::ImageCount)
            .note(format!("above {above}{capped}"));
        let short = match layout.above {
            Above::MeanGround => "over mean ground",
            Above::TakeOff => "over take-off",
            Above::Ground => "over the ground, followed",
        };
        let feet = over_ground.also.clone().unwrap_or_default();
        let (large, small) = (over_ground.value.clone(), format!("{feet} {short}{capped}"));
        let over_ground = over_ground.keyed(CardColumn::Height, Some(large), small);
        let over_take_off = match layout.above {
            Above::TakeOff => None,
            Above::MeanGround | Above::Ground => self.over_take_off("over take-off").map(|figure| {
                let small = format!("over take-off {}", figure.value);
                figure.keyed(CardColumn::Height, None, small)
            }),
        };
        std::iter::once(over_ground).chain(over_take_off).collect()
    }

    /// The heights of a pass that is not flown at one.
    fn heights(&self) -> Option<CardFigure> {
        self.over_take_off("heights").map(|figure| figure.column(CardColumn::Height))
    }

    /// How often the camera fires at the speed keyed in, so that no overlap falls below the one set: rounded down.
    fn shot_interval(&self) -> Option<CardFigure> {
        const SECONDS: Form = Form::new(1.0, "s", |_| 2);
        let figure = |value: &str| CardFigure::new("shot interval", value);
        if self.plan.legs.iter().any(|leg| leg.standing.is_some()) {
            let stops = figure("at each stop").note("the aircraft stands still to expose");
            return Some(stops.column(CardColumn::Interval));
        }
        if self.plan.pattern.about().overlaps == Overlaps::Neither {
            return None;
        }
        let (base_m, speed_mps) = (self.plan.layout.air_base_m, self.plan.speed.speed_mps);
        let exposures = self.plan.exposure.dwell_s.len();
        let of = if exposures > 1 {
            format!("for each cycle of {exposures}, or every {}", length(self.units, base_m).value)
        } else {
            format!("or every {}", length(self.units, base_m).value)
        };
        Some(figure(&SECONDS.down(base_m / speed_mps)).note(of).column(CardColumn::Interval))
    }

    /// Least and greatest height of the stations over the take-off point: what a flight controller measures from.
    fn over_take_off(&self, label: &str) -> Option<CardFigure> {
        let site = &self.scenario.site;
        let home_z_m = site.terrain.height_m(site.take_off_m);
        let heights = self.plan.stations.poses.iter().map(|pose| pose.position_m.z - home_z_m);
        let range = heights.map(|z| (z, z)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        Some(self.span(label, range).note(format!("above {}", self.take_off)))
    }

    /// What the pass goes round, along or below, and how near.
    fn subject(&self, pattern: &Pattern) -> Vec<CardFigure> {
        let structures = &self.scenario.site.structures;
        let name = |id: &Id| structures.iter().find(|s| s.id == *id).map(|s| s.name.as_str());
        let named = together(pattern.structures().iter().filter_map(name));
        pattern.told(&named).into_iter().map(|told| self.told(told)).collect()
    }

    fn told(&self, told: Told) -> CardFigure {
        let figure = match told.value {
            ToldValue::Text(text) => CardFigure::new(told.label, text),
            ToldValue::Metres(m) => self.long(told.label, m),
            ToldValue::ListMetres(all_m) => CardFigure::said(told.label, list(self.units, all_m)),
        };
        match told.note {
            Some(note) => figure.note(note),
            None => figure,
        }
    }

    /// The overlaps that were set, and what is flown once exposures and strips are spread evenly. Where no strip has a
    /// neighbour there is no sidelap, and rings are set by their heights.
    fn set_overlaps(&self) -> Vec<CardFigure> {
        let Some(pass) = self.pass.filter(|pass| pass.pattern.about().overlaps != Overlaps::Neither) else {
            return Vec::new();
        };
        let layout = &self.plan.layout;
        let flown = |range: Option<(f64, f64)>, extent_m: f64| {
            let (near_m, far_m) = range?;
            let (low, high) = (percent(1.0 - far_m / extent_m), percent(1.0 - near_m / extent_m));
            Some(if low == high { format!("{low} as flown") } else { format!("{low} to {high} as flown") })
        };
        let figure = |label: &str, set: f64, flown: Option<String>| {
            let figure = CardFigure::new(label, percent(set));
            let short = label.trim_end_matches(" overlap");
            let small = flown
                .as_ref()
                .map_or_else(String::new, |flown| format!("{short} {}", flown.trim_end_matches(" as flown")));
            let figure = match flown {
                Some(text) => figure.note(text),
                None => figure,
            };
            figure.keyed(CardColumn::Overlaps, Some(percent(set)), small)
        };
        let forward = flown(layout.flown.air_base_m, layout.extent_along_m);
        let side = flown(layout.flown.spacing_m, layout.extent_across_m);
        let forward = figure("forward overlap", pass.forward_overlap, forward);
        let side = side.filter(|_| layout.flown.ring.is_none());
        std::iter::once(forward).chain(side.map(|side| figure("sidelap", pass.sidelap, Some(side)))).collect()
    }

    fn follows(&self) -> Vec<CardFigure> {
        let (plan, layout) = (self.plan, &self.plan.layout);
        let [lines, spacing] = plan.pattern.about().lines;
        let mut figures: Vec<CardFigure> = self.air_base().into_iter().collect();
        figures.extend(
            layout
                .flown
                .spacing_m
                .map(|range_m| self.span(spacing, range_m).of(MeasureId::ImageCount).note("as flown")),
        );
        figures.push(CardFigure::new(lines, layout.strips.to_string()).of(MeasureId::ImageCount));
        figures.extend(self.run());
        figures.extend(self.begin());
        figures.extend(self.margin());
        let images =
            CardFigure::new("images", plan.stations.poses.len().to_string()).of(MeasureId::ImageCount);
        figures.push(match plan.skipped {
            0 => images,
            n => images.note(format!("{n} more skipped: they show nothing of the site")),
        });
        figures.extend(self.reached_overlaps());
        // What it means over an area is said once, at the end of the card.
        let faces = match (layout.stand_off_m, layout.flown.ring) {
            (Some(_), Some(_)) => Some("of a camera that faces a surface as far away as the stand-off"),
            (Some(_), None) => Some("of a camera that faces the surface at the stand-off"),
            (None, _) => None,
        };
        let nominal =
            CardFigure::new("nominal GSD", gsd(self.units, layout.vertical_gsd_m)).of(MeasureId::ImageCount);
        let nominal = match self.units {
            Units::UsInches => nominal.also(gsd(Units::Metric, layout.vertical_gsd_m)),
            Units::Metric | Units::UsCustomary => nominal,
        };
        figures.push(match faces {
            Some(faces) => nominal.note(faces),
            None => nominal,
        });
        figures.extend(self.over_ground());
        figures
    }

    /// Height, GSD and overlap over the highest and the lowest ground below the exposures, where they differ.
    fn over_ground(&self) -> Vec<CardFigure> {
        let plan = self.plan;
        let flown = plan.ground.filter(|ground| plan.pattern.flies_over() && ground.varies());
        let Some(ground) = flown.filter(|ground| ground.least_m > 0.0) else { return Vec::new() };
        let range_m = (ground.least_m, ground.greatest_m);
        let [finest, coarsest] =
            [range_m.0, range_m.1].map(|m| gsd(self.units, plan.stations.camera.vertical_gsd_m(m)));
        let overlap = |which: &str, height_m: f64| {
            let (forward, side) = plan.layout.overlaps_at(height_m);
            CardFigure::new(format!("overlap, {which}"), both(forward, side))
                .note(format!("forward / side, over the {which} ground, of a nadir camera"))
        };
        vec![
            self.span("above the ground", range_m).note("right below the exposures"),
            CardFigure::new("GSD below", format!("{finest} to {coarsest}"))
                .note("of a nadir camera, over the highest and the lowest ground"),
            overlap("highest", range_m.0),
            overlap("lowest", range_m.1),
        ]
    }

    /// The overlaps really reached over the highest roof and on a tilted axis.
    fn reached_overlaps(&self) -> Vec<CardFigure> {
        let layout = &self.plan.layout;
        let figure = |label: &str, overlaps: (Option<f64>, Option<f64>), note: &str| {
            let (forward, side) = overlaps.0.zip(overlaps.1)?;
            Some(CardFigure::new(label, both(forward, side)).note(format!("forward / side, {note}")))
        };
        let over_roof = (layout.roof_forward_overlap, layout.roof_sidelap);
        let on_axis = (layout.axis_forward_overlap, layout.axis_sidelap);
        let tilted = self.plan.stations.poses.first().is_some_and(|pose| pose.tilt_rad.abs() > 1e-9);
        let axis = tilted.then(|| figure("overlap, tilted", on_axis, "on the tilted axis over level ground"));
        let roof = figure("overlap, roofs", over_roof, "over the highest roof");
        roof.into_iter().chain(axis.flatten()).collect()
    }

    /// Distance between exposures as flown; nothing where none has a neighbour.
    fn air_base(&self) -> Option<CardFigure> {
        let exposure = &self.plan.exposure;
        let (dwells, cycle_s) = (exposure.dwell_s.len(), exposure.cycle_s);
        let base = self.span("air base", self.plan.layout.flown.air_base_m?).of(MeasureId::ImageCount);
        Some(if dwells > 1 {
            base.note(format!("as flown, between cycles of {dwells} exposures, {cycle_s:.1} s each cycle"))
        } else {
            base.note("as flown, between exposures")
        })
    }

    /// Which way the strips run.
    fn run(&self) -> Option<CardFigure> {
        let layout = &self.plan.layout;
        match self.plan.pattern.about().runs? {
            Runs::Straight => {
                let direction_rad = layout.direction_rad?;
                let back = format!("and back {}", azimuth(direction_rad + PI));
                let run = CardFigure::new("strips run", azimuth(direction_rad)).note(back);
                Some(run.column(CardColumn::Course))
            }
            Runs::AlongLine => {
                let Said { value, also } = length(self.units, layout.region_width_m?);
                let along = format!("along the line, {value} wide");
                let small = format!("{value} wide ({also}), and back");
                let run = CardFigure::new("strips run", along).also(also).note("and back");
                Some(run.keyed(CardColumn::Course, Some("along the line".to_owned()), small))
            }
        }
    }

    /// Where strips over an area begin.
    fn begin(&self) -> Option<CardFigure> {
        let corner = compass_name(self.plan.layout.corner_rad?.to_degrees());
        let from_m = self.plan.legs.first()?.from_m.truncate();
        let place = format!("{} of the site's origin", place(self.units, from_m));
        Some(CardFigure::new("begin at", format!("the {corner} corner")).note(place))
    }

    fn margin(&self) -> Option<CardFigure> {
        let Margin { beyond, cycled } = self.plan.pattern.about().margin?;
        match self.plan.layout.margin_m {
            Some(margin_m) => Some(self.long("margin", margin_m).of(MeasureId::ImageCount).note(beyond)),
            None => Some(CardFigure::new("margin", "none of its own").note(cycled?)),
        }
    }
}

/// A place as it is keyed in, and what that is: latitude and longitude where the site has an origin.
pub(super) fn coordinates(site: &Site, units: Units, at_m: DVec2) -> (String, String) {
    let local = place(units, at_m);
    let Some(origin) = site.origin else { return (local, "of the site's origin".to_owned()) };
    let place = LocalFrame::new(origin).to_geo(at_m);
    let degrees = format!("{:.6}°, {:.6}°", place.latitude_deg, place.longitude_deg);
    (degrees.replace('-', "−"), format!("latitude and longitude, WGS 84; {local} of the site's origin"))
}

/// A place of the site's frame: "65.0 m east, 60.0 m north".
fn place(units: Units, at_m: DVec2) -> String {
    let side = |m: f64, [positive, negative]: [&str; 2]| {
        format!("{} {}", length(units, m.abs()).value, if m < 0.0 { negative } else { positive })
    };
    format!("{}, {}", side(at_m.x, ["east", "west"]), side(at_m.y, ["north", "south"]))
}

fn both(forward: f64, side: f64) -> String {
    format!("{} / {}", percent(forward.max(0.0)), percent(side.max(0.0)))
}

fn bound(terms: &SpeedTerms, units: Units) -> String {
    let by = match terms.bound_by {
        SpeedBound::Blur => return terms.bound_text(|m| length(units, m).value),
        SpeedBound::User => "your own limit",
        SpeedBound::Airframe => "the airframe's top speed",
        SpeedBound::ShotInterval => "the camera's shot interval",
        SpeedBound::GimbalCycle => "the gimbal's cycle",
        SpeedBound::Curve => "the curve of the ring",
        SpeedBound::Pattern => "the pattern: no limit of your own is set",
    };
    by.to_owned()
}
