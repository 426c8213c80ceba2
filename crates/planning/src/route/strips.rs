//! Parallel strips over an area: where they run, what is exposed on them, in which order they are flown.

use super::counting::{exposure_count, strip_row};
use super::detour::way_round;
use super::layout::{exposure_terms, extents_m, heading_rad, height_m, lead_m, speed_terms};
use super::region::{Growth, Region};
use super::{ExposureTerms, LayoutTerms, Leg, LegKind, PassPlan, SpeedTerms, Stations, Stop};
use crate::footprint::{chord_m, footprint_m};
use crate::polygon::{contains, merged, rings_meet, slice, without};
use crate::{
    Aim, Aircraft, Attitude, CameraModel, Conditions, CountingRule, Pass, Pattern, Pose, PosedCamera,
    SiteOutline, StripDirection,
};
use glam::{DVec2, DVec3};
use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Arc;
use thiserror::Error;

/// Most exposures that one pass may plan, skipped ones included.
const MOST_EXPOSURES: f64 = 200_000.0;

/// A pass that cannot be laid out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    /// Its exposures would be beyond counting.
    #[error(
        "a pass may plan at most {MOST_EXPOSURES} exposures, but this one comes to about {about:.0}; \
         lower its overlaps or raise its height"
    )]
    TooManyExposures {
        /// Roughly how many it would be.
        about: f64,
    },
    /// A keep-out stands in the way and cannot be flown round.
    #[error(
        "no way round the keep-outs was found on a pass; move the take-off point or open a gap between keep-outs"
    )]
    NoWayRound,
}

/// Lays out one strips pass: legs, stations and the terms behind them.
///
/// # Errors
/// [`PlanError`] when the pass is beyond counting or keep-outs close it in.
pub fn plan_pass(
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let frame = StripFrame::new(pass, aircraft, site, conditions);
    let strips = frame.strips()?;
    let mut sheet = Sheet::default();
    for strip in frame.flying_order(&strips) {
        frame.fly(&strip, &mut sheet)?;
    }
    let strips_length_m =
        sheet.legs.iter().filter(|l| l.kind == LegKind::Strip).map(Leg::length_m).sum::<f64>();
    Ok(PassPlan {
        pass: pass.id,
        layout: LayoutTerms { strips: strips.len() as u32, strips_length_m, ..frame.layout },
        speed: frame.speed,
        exposure: frame.exposure,
        legs: sheet.legs,
        stations: Arc::new(Stations { camera: frame.camera, poses: sheet.poses }),
        skipped: sheet.skipped,
    })
}

/// Everything about a pass that all its strips share; the strip frame has x along the strips and y to their right.
struct StripFrame<'a> {
    pass: &'a Pass,
    site: &'a SiteOutline,
    camera: CameraModel,
    flight_z_m: f64,
    layout: LayoutTerms,
    exposure: ExposureTerms,
    speed: SpeedTerms,
    region: Region,
    counting: CountingRule,
    past_nadir: Vec<bool>,
}

/// One strip, as flown: exposed sections from its start to its end, in metres along the strip direction.
struct Strip {
    across_m: f64,
    sections: Vec<(f64, f64)>,
}

/// A strip with its sense of flight.
struct DirectedStrip<'s> {
    strip: &'s Strip,
    reversed: bool,
}

/// What has been flown so far.
#[derive(Default)]
struct Sheet {
    legs: Vec<Leg>,
    poses: Vec<Pose>,
    skipped: u32,
}

impl<'a> StripFrame<'a> {
    fn new(pass: &'a Pass, aircraft: &'a Aircraft, site: &'a SiteOutline, conditions: &Conditions) -> Self {
        let Pattern::Strips { direction, counting } = pass.pattern;
        let camera = aircraft.camera.model();
        let direction_rad = match direction {
            StripDirection::Automatic { turned_deg } => site.best_strips_rad + turned_deg.to_radians(),
            StripDirection::FromNorth { deg } => deg.to_radians(),
        }
        .rem_euclid(PI);
        let (height_m, capped) = height_m(pass.distance, &camera, conditions.height_ceiling_m);
        let turned = heading_rad(pass.attitudes[0].aim, direction_rad, direction_rad) - direction_rad;
        let extent = extents_m(&camera, height_m, turned);
        let air_base_m = (1.0 - pass.forward_overlap) * extent.x;
        let strip_spacing_m = (1.0 - pass.sidelap) * extent.y;
        let exposure = exposure_terms(pass, aircraft);
        let roof_m = site.tallest_roof_m.unwrap_or(0.0);
        let roof_gsd_m = camera.vertical_gsd_m((height_m - roof_m).max(0.0));
        let speed = speed_terms(pass, aircraft, exposure.cycle_s, air_base_m, roof_gsd_m, conditions.blur_px);
        let margin_m = match pass.attitudes.len() {
            1 => pass.margin_m.unwrap_or(air_base_m.max(extent.y / 4.0)),
            _ => 0.0,
        };
        let growth = growth(pass, height_m, direction_rad, roof_m, margin_m);
        let region = Region::new(&to_frame(&site.boundary_m, direction_rad), &growth);
        let (low, high) = region.across_m();
        let over_roof = |overlap: f64| roof_overlap(overlap, height_m, site.tallest_roof_m);
        let reached =
            axis_overlaps(&camera, &pass.attitudes[0], height_m, turned, [air_base_m, strip_spacing_m]);
        let layout = LayoutTerms {
            height_m,
            capped,
            vertical_gsd_m: camera.vertical_gsd_m(height_m),
            extent_along_m: extent.x,
            extent_across_m: extent.y,
            air_base_m,
            strip_spacing_m,
            counting,
            strips: 0,
            direction_rad,
            margin_m,
            region_width_m: high - low,
            strips_length_m: 0.0,
            roof_forward_overlap: over_roof(pass.forward_overlap),
            roof_sidelap: over_roof(pass.sidelap),
            axis_forward_overlap: reached.map(|r| r.x),
            axis_sidelap: reached.map(|r| r.y),
        };
        let past_nadir = pass
            .attitudes
            .iter()
            .map(|attitude| pass.attitudes.len() > 1 && reached_past_nadir(attitude, aircraft))
            .collect();
        StripFrame {
            pass,
            site,
            camera,
            flight_z_m: site.reference_z_m + height_m,
            layout,
            exposure,
            speed,
            region,
            counting,
            past_nadir,
        }
    }

    /// The strips from the region's left edge to its right one; those that miss the region are left out.
    fn strips(&self) -> Result<Vec<Strip>, PlanError> {
        let (low, high) = self.region.across_m();
        let per_strip = self.site.diameter_m / self.layout.air_base_m * self.pass.attitudes.len() as f64;
        let about = (high - low) / self.layout.strip_spacing_m * per_strip;
        if about.is_nan() || about > MOST_EXPOSURES * 4.0 {
            return Err(PlanError::TooManyExposures { about });
        }
        let row =
            strip_row(self.counting, high - low, self.layout.strip_spacing_m, self.layout.extent_across_m);
        let keep_outs: Vec<Vec<DVec2>> =
            self.site.keep_outs.iter().map(|k| to_frame(&k.outline_m, self.layout.direction_rad)).collect();
        let strips: Vec<Strip> = row
            .offsets_m
            .iter()
            .map(|offset| self.strip(low + offset, &keep_outs))
            .filter(|strip| !strip.sections.is_empty())
            .collect();
        let planned: f64 = strips.iter().map(|strip| self.planned_on(strip)).sum();
        if planned > MOST_EXPOSURES {
            return Err(PlanError::TooManyExposures { about: planned });
        }
        Ok(strips)
    }

    fn planned_on(&self, strip: &Strip) -> f64 {
        let bases = strip.sections.iter().map(|s| (s.1 - s.0) / self.layout.air_base_m + 1.0);
        bases.sum::<f64>() * self.pass.attitudes.len() as f64
    }

    /// One strip: the region's slice, gaps no longer than an air base closed, keep-outs taken out.
    fn strip(&self, across_m: f64, keep_outs: &[Vec<DVec2>]) -> Strip {
        let mut exposed: Vec<(f64, f64)> = Vec::new();
        for section in self.region.slice_m(across_m) {
            match exposed.last_mut() {
                Some(last) if section.0 - last.1 <= self.layout.air_base_m => last.1 = section.1,
                _ => exposed.push(section),
            }
        }
        let shut = merged(keep_outs.iter().flat_map(|ring| slice(ring, across_m)).collect());
        Strip { across_m, sections: without(&exposed, &shut) }
    }

    /// To and fro, beginning at the corner nearest to the take-off point.
    fn flying_order<'s>(&self, strips: &'s [Strip]) -> Vec<DirectedStrip<'s>> {
        let home = to_frame(&[self.site.take_off_m], self.layout.direction_rad)[0];
        let Some((first, last)) = strips.first().zip(strips.last()) else { return Vec::new() };
        let starts = [(first, false), (first, true), (last, false), (last, true)];
        let distance = |&(strip, reversed): &(&Strip, bool)| strip.start_m(reversed).distance(home);
        let nearest = (0..4).min_by(|&p, &q| distance(&starts[p]).total_cmp(&distance(&starts[q])));
        let chosen = nearest.unwrap_or(0);
        let backward = chosen >= 2;
        let order: Box<dyn Iterator<Item = &Strip>> =
            if backward { Box::new(strips.iter().rev()) } else { Box::new(strips.iter()) };
        order
            .enumerate()
            .map(|(k, strip)| DirectedStrip { strip, reversed: starts[chosen].1 != (k % 2 == 1) })
            .collect()
    }

    /// Flies one strip: a leg for each stretch between keep-outs, joined to what was flown before.
    fn fly(&self, directed: &DirectedStrip<'_>, sheet: &mut Sheet) -> Result<(), PlanError> {
        for stretch in self.stretches(directed) {
            let leg = self.expose(&stretch, directed, sheet);
            if let Some(before) = sheet.legs.last() {
                let links = self.links(before.to_m, leg.from_m)?;
                sheet.legs.extend(links);
            }
            sheet.legs.push(leg);
        }
        Ok(())
    }

    /// The strip's sections in flying order, split where a keep-out stands between them.
    fn stretches(&self, directed: &DirectedStrip<'_>) -> Vec<Vec<(f64, f64)>> {
        let mut sections = directed.strip.sections.clone();
        if directed.reversed {
            sections.reverse();
        }
        let mut stretches: Vec<Vec<(f64, f64)>> = Vec::new();
        for section in sections {
            match stretches.last_mut() {
                Some(stretch) if self.open_between(stretch[stretch.len() - 1], section, directed) => {
                    stretch.push(section);
                }
                _ => stretches.push(vec![section]),
            }
        }
        stretches
    }

    fn open_between(&self, a: (f64, f64), b: (f64, f64), directed: &DirectedStrip<'_>) -> bool {
        let (from, to) = if directed.reversed { (a.0, b.1) } else { (a.1, b.0) };
        let [p, q] = [from, to].map(|along| self.place(along, directed.strip.across_m));
        self.site.keep_outs.iter().all(|k| crate::polygon::length_inside(&k.outline_m, p, q) < 1e-6)
    }

    /// Straight legs from one place to another, round the keep-outs.
    fn links(&self, from: DVec3, to: DVec3) -> Result<Vec<Leg>, PlanError> {
        let way =
            way_round(from.truncate(), to.truncate(), &self.site.keep_outs).ok_or(PlanError::NoWayRound)?;
        Ok(way
            .windows(2)
            .map(|pair| Leg {
                kind: LegKind::Link,
                from_m: pair[0].extend(self.flight_z_m),
                to_m: pair[1].extend(self.flight_z_m),
                speed_mps: self.speed.airframe_mps,
                stops: Vec::new(),
            })
            .collect())
    }

    /// Exposes a stretch and makes its leg.
    fn expose(&self, stretch: &[(f64, f64)], directed: &DirectedStrip<'_>, sheet: &mut Sheet) -> Leg {
        let sense = if directed.reversed { -1.0 } else { 1.0 };
        let start = if directed.reversed { stretch[0].1 } else { stretch[0].0 };
        let end = stretch.last().map_or(start, |s| if directed.reversed { s.0 } else { s.1 });
        let mut reach = (end - start) * sense;
        let mut speed_mps = self.speed.speed_mps;
        let mut stops = Vec::new();
        for section in stretch {
            let near = if directed.reversed { start - section.1 } else { section.0 - start };
            let placed = self.exposures(section.1 - section.0);
            speed_mps = speed_mps.min(placed.base_m / self.exposure.cycle_s);
            for (along, attitude) in placed.at {
                let along_m = near + along;
                let place = self.place(start + sense * along_m, directed.strip.across_m);
                if self.site.keep_outs.iter().any(|k| contains(&k.outline_m, place)) && along_m > reach {
                    continue;
                }
                let pose = self.pose(place, attitude, directed.reversed);
                if self.off_site(&pose) {
                    sheet.skipped += 1;
                } else {
                    stops.push(Stop { along_m, station: sheet.poses.len() as u32 });
                    sheet.poses.push(pose);
                }
                // The last cycle runs on past the section's end, whether or not its exposures are taken.
                reach = reach.max(along_m);
            }
        }
        let at = |along: f64| self.place(along, directed.strip.across_m).extend(self.flight_z_m);
        Leg { kind: LegKind::Strip, from_m: at(start), to_m: at(start + sense * reach), speed_mps, stops }
    }

    /// Where the exposures of a section lie, from its start, with the attitude of each.
    fn exposures(&self, length_m: f64) -> Placed {
        let (air_base_m, attitudes) = (self.layout.air_base_m, self.pass.attitudes.len());
        let (first_m, span_m) = match self.counting {
            CountingRule::FootprintCover => {
                let inside = (self.layout.extent_along_m / 2.0).min(length_m / 2.0);
                (inside, length_m - 2.0 * inside)
            }
            _ => (0.0, length_m),
        };
        let count = exposure_count(span_m, air_base_m, 1);
        let base_m = if count > 1 { span_m / f64::from(count - 1) } else { air_base_m };
        let mut at = Vec::with_capacity(count as usize * attitudes);
        for k in 0..count {
            let mut waited_s = 0.0;
            for attitude in 0..attitudes {
                let share = waited_s / self.exposure.cycle_s;
                at.push((first_m + (f64::from(k) + share) * base_m, attitude));
                waited_s += self.exposure.dwell_s[attitude];
            }
        }
        Placed { base_m, at }
    }

    fn place(&self, along_m: f64, across_m: f64) -> DVec2 {
        let (sin, cos) = self.layout.direction_rad.sin_cos();
        DVec2::new(sin, cos) * along_m + DVec2::new(cos, -sin) * across_m
    }

    fn pose(&self, place: DVec2, attitude: usize, reversed: bool) -> Pose {
        let strips_rad = self.layout.direction_rad;
        let track_rad = if reversed { strips_rad + PI } else { strips_rad };
        let Attitude { tilt_deg, aim } = self.pass.attitudes[attitude];
        Pose {
            position_m: place.extend(self.flight_z_m),
            heading_rad: heading_rad(aim, track_rad, strips_rad),
            tilt_rad: tilt_deg.to_radians(),
            roll_rad: if self.past_nadir[attitude] { PI } else { 0.0 },
        }
    }

    /// Whether a frame shows neither the boundary's inside nor a structure (tilts up to level only).
    fn off_site(&self, pose: &Pose) -> bool {
        if pose.tilt_rad > FRAC_PI_2 {
            return false;
        }
        let posed = PosedCamera::new(self.camera, pose);
        let Some(frame) = footprint_m(&posed, self.site.reference_z_m) else { return false };
        let (low, high) = bounds(&frame);
        if low.cmpgt(self.site.high_m).any() || high.cmplt(self.site.low_m).any() {
            return true;
        }
        !rings_meet(&frame, &self.site.boundary_m)
            && !self.site.footprints_m.iter().any(|ring| rings_meet(&frame, ring))
    }
}

/// Exposures laid on a section.
struct Placed {
    base_m: f64,
    at: Vec<(f64, usize)>,
}

impl Strip {
    /// Where it begins when flown in one sense, in the strip frame.
    fn start_m(&self, reversed: bool) -> DVec2 {
        let along =
            if reversed { self.sections.last().map(|s| s.1) } else { self.sections.first().map(|s| s.0) };
        DVec2::new(along.unwrap_or_default(), self.across_m)
    }
}

/// Least and greatest coordinates of a ring.
pub(crate) fn bounds(ring: &[DVec2]) -> (DVec2, DVec2) {
    ring.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(*p), high.max(*p)))
}

/// Points in the strip frame: x along the strips, y to their right.
fn to_frame(ring: &[DVec2], direction_rad: f64) -> Vec<DVec2> {
    let (sin, cos) = direction_rad.sin_cos();
    ring.iter().map(|p| DVec2::new(p.x * sin + p.y * cos, p.x * cos - p.y * sin)).collect()
}

/// How a pass's region grows out of the boundary, in the strip frame.
///
/// A pass that holds its look is an oblique block: moved back by H tan t, and lengthened so that roofs and near walls
/// at the edge are seen. A cycled pass reaches as far as its tilted images lead, along each axis.
fn growth(pass: &Pass, height_m: f64, direction_rad: f64, roof_m: f64, margin_m: f64) -> Growth {
    let lead = |attitude: &Attitude, over_m: f64| {
        let look = heading_rad(attitude.aim, direction_rad, direction_rad) - direction_rad;
        DVec2::new(look.cos(), look.sin()) * lead_m(over_m, attitude.tilt_deg.to_radians())
    };
    if let [attitude] = pass.attitudes.as_slice() {
        return match attitude.aim {
            Aim::FromTrack { .. } => Growth { margin_m, ..Growth::default() },
            Aim::FromStrips { .. } | Aim::FromNorth { .. } => Growth {
                shift_m: -lead(attitude, height_m),
                sweep_m: lead(attitude, roof_m),
                margin_m,
                ..Growth::default()
            },
        };
    }
    let reach = pass.attitudes.iter().map(|a| lead(a, height_m).abs()).fold(DVec2::ZERO, DVec2::max);
    Growth { half_box_m: reach, margin_m, ..Growth::default() }
}

/// Overlap over a roof of height h: 1 − (1 − o) H / (H − h); none where nothing stands or the roof is not below.
fn roof_overlap(overlap: f64, height_m: f64, roof_m: Option<f64>) -> Option<f64> {
    let roof_m = roof_m?;
    (height_m > roof_m).then(|| 1.0 - (1.0 - overlap) * height_m / (height_m - roof_m))
}

/// Overlaps really reached where the tilted axis meets level ground: (forward, side), each measured on the chord of
/// the frame's outline through that point. None when the axis itself is beyond the cut of the frames.
fn axis_overlaps(
    camera: &CameraModel,
    attitude: &Attitude,
    height_m: f64,
    turned_rad: f64,
    [base_m, spacing_m]: [f64; 2],
) -> Option<DVec2> {
    let tilt_rad = attitude.tilt_deg.to_radians();
    let position_m = DVec3::new(0.0, 0.0, height_m);
    let pose = Pose { position_m, heading_rad: turned_rad, tilt_rad, roll_rad: 0.0 };
    let axis = pose.axis();
    if height_m <= 0.0 || axis.z >= -(75.0_f64.to_radians().cos()) {
        return None;
    }
    let frame = footprint_m(&PosedCamera::new(*camera, &pose), 0.0)?;
    let hit = axis.truncate() * (height_m / -axis.z);
    // With heading measured from the track, north is along it and east across.
    let chords = DVec2::new(chord_m(&frame, hit, DVec2::Y), chord_m(&frame, hit, DVec2::X));
    Some(DVec2::ONE - DVec2::new(base_m, spacing_m) / chords)
}

/// Whether a gimbal reaches an attitude only by tilting past nadir, which turns the image upside down.
fn reached_past_nadir(attitude: &Attitude, aircraft: &Aircraft) -> bool {
    use super::reach::{Reach, reach};
    reach(&aircraft.gimbal, attitude) == Reach::PastNadir
}
