//! Parallel strips over an area: where they run, what is exposed on them, in which order they are flown.

use super::airspace::legs_along;
use super::basis::Basis;
use super::counting::strip_row;
use super::detour::way_round;
use super::layout::{heading_rad, lead_m, speed_over_mps};
use super::order::{Corner, Link, Run};
use super::profile::Profile;
use super::region::{Growth, Region};
use super::sheet::{Sheet, Terms};
use super::{LayoutTerms, Leg, LegKind, PassPlan, Stop};
use crate::polygon::{contains, merged, slice, without};
use crate::{Aim, Aircraft, Attitude, Conditions, CountingRule, Pass, SiteOutline, StripDirection};
use glam::{DVec2, DVec3};
use std::f64::consts::PI;
use thiserror::Error;

/// Most exposures that one pass may plan, skipped ones included.
pub(super) const MOST_EXPOSURES: f64 = 200_000.0;

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
    /// Keep-outs, structures or rising ground stand in the way and cannot be flown round or over.
    #[error(
        "a pass found no way round keep-outs, structures and ground at the clearance set; lower the clearance, open a gap \
         between them, or change where the pass runs"
    )]
    NoWayRound,
}

/// Lays out a pass of parallel strips over the boundary.
pub(super) fn plan(
    pass: &Pass,
    lines: (&StripDirection, &CountingRule),
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
    begin: Option<Corner>,
) -> Result<PassPlan, PlanError> {
    let frame = StripFrame::new(pass, lines, aircraft, site, conditions);
    let strips = frame.strips()?;
    let mut sheet = Sheet::default();
    for strip in flying_order(&strips, begin.unwrap_or_else(|| frame.nearest_corner(&strips))) {
        frame.fly(&strip, &mut sheet)?;
    }
    let Basis { layout, speed, exposure, camera, follow, .. } = frame.basis;
    let layout = LayoutTerms { strips: strips.len() as u32, ..layout };
    Ok(sheet.plan(pass, camera, Terms { layout, speed, exposure }, follow.is_some(), site))
}

/// Where a pass of strips begins and ends when it is begun at each of its corners.
pub(super) fn runs(
    pass: &Pass,
    lines: (&StripDirection, &CountingRule),
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<Vec<Run>, PlanError> {
    let frame = StripFrame::new(pass, lines, aircraft, site, conditions);
    let strips = frame.strips()?;
    Ok(Corner::ALL.iter().filter_map(|corner| frame.run(&strips, *corner)).collect())
}

/// Everything about a pass that all its strips share; the strip frame has x along the strips and y to their right.
struct StripFrame<'a> {
    basis: Basis<'a>,
    site: &'a SiteOutline,
    region: Region,
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

impl<'a> StripFrame<'a> {
    fn new(
        pass: &'a Pass,
        (direction, counting): (&StripDirection, &CountingRule),
        aircraft: &'a Aircraft,
        site: &'a SiteOutline,
        conditions: &Conditions,
    ) -> Self {
        let direction_rad = match *direction {
            StripDirection::Automatic { turned_deg } => site.best_strips_rad + turned_deg.to_radians(),
            StripDirection::FromNorth { deg } => deg.to_radians(),
        }
        .rem_euclid(PI);
        let mut basis = Basis::new(pass, aircraft, site, conditions, direction_rad, *counting);
        let layout = &mut basis.layout;
        layout.margin_m = match pass.attitudes.len() {
            1 => pass.margin_m.unwrap_or(layout.air_base_m.max(layout.extent_across_m / 4.0)),
            _ => 0.0,
        };
        let growth = growth(pass, layout.height_m, direction_rad, basis.roof_m, layout.margin_m);
        let region = Region::new(&to_frame(&site.boundary_m, direction_rad), &growth);
        let (low, high) = region.across_m();
        layout.region_width_m = high - low;
        StripFrame { basis, site, region }
    }

    /// The strips from the region's left edge to its right one; those that miss the region are left out.
    fn strips(&self) -> Result<Vec<Strip>, PlanError> {
        let (low, high) = self.region.across_m();
        let per_strip =
            self.site.diameter_m / self.basis.layout.air_base_m * self.basis.pass.attitudes.len() as f64;
        let about = (high - low) / self.basis.layout.strip_spacing_m * per_strip;
        if about.is_nan() || about > MOST_EXPOSURES * 4.0 {
            return Err(PlanError::TooManyExposures { about });
        }
        let row = strip_row(
            self.basis.layout.counting,
            high - low,
            self.basis.layout.strip_spacing_m,
            self.basis.layout.extent_across_m,
        );
        let keep_outs: Vec<Vec<DVec2>> = self
            .site
            .keep_outs
            .iter()
            .map(|k| to_frame(&k.outline_m, self.basis.layout.direction_rad))
            .collect();
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
        let bases = strip.sections.iter().map(|s| (s.1 - s.0) / self.basis.layout.air_base_m + 1.0);
        bases.sum::<f64>() * self.basis.pass.attitudes.len() as f64
    }

    /// One strip: the region's slice, gaps no longer than an air base closed, keep-outs taken out.
    fn strip(&self, across_m: f64, keep_outs: &[Vec<DVec2>]) -> Strip {
        // A strip on the region's edge, or spare beside it, is as long as the region is just inside.
        let (low, high) = self.region.across_m();
        let hair = 1e-6 * (high - low);
        let mut exposed: Vec<(f64, f64)> = Vec::new();
        for section in self.region.slice_m(across_m.clamp(low + hair, high - hair)) {
            match exposed.last_mut() {
                Some(last) if section.0 - last.1 <= self.basis.layout.air_base_m => last.1 = section.1,
                _ => exposed.push(section),
            }
        }
        let shut = merged(keep_outs.iter().flat_map(|ring| slice(ring, across_m)).collect());
        Strip { across_m, sections: without(&exposed, &shut) }
    }

    /// The corner nearest to the take-off point.
    fn nearest_corner(&self, strips: &[Strip]) -> Corner {
        let home = to_frame(&[self.site.take_off_m], self.basis.layout.direction_rad)[0];
        let distance = |corner: &Corner| {
            let strip = if corner.is_last_strip() { strips.last() } else { strips.first() };
            strip.map_or(0.0, |strip| strip.start_m(corner.is_far_end()).distance(home))
        };
        let near = |a: &&Corner, b: &&Corner| distance(a).total_cmp(&distance(b));
        Corner::ALL.iter().min_by(near).copied().unwrap_or(Corner::ALL[0])
    }

    /// How the pass runs from a corner, none without strips.
    fn run(&self, strips: &[Strip], begin: Corner) -> Option<Run> {
        let order = flying_order(strips, begin);
        let (first, last) = order.first().zip(order.last())?;
        let along = DVec2::new(self.basis.layout.direction_rad.sin(), self.basis.layout.direction_rad.cos());
        let track = |strip: &DirectedStrip<'_>| if strip.reversed { -along } else { along };
        let ends = |strip: &DirectedStrip<'_>| {
            let (near, far) = strip.strip.reach_m();
            let (from, to) = if strip.reversed { (far, near) } else { (near, far) };
            let ran_on_m = self.ran_on_m(strip);
            [
                self.place(from, strip.strip.across_m),
                self.place(to, strip.strip.across_m) + track(strip) * ran_on_m,
            ]
        };
        let links = order.windows(2).map(|pair| {
            let (from, to) = (ends(&pair[0])[1], ends(&pair[1])[0]);
            Link { way_m: to - from, tracks: [track(&pair[0]), track(&pair[1])] }
        });
        let up = |at: DVec2| at.extend(self.basis.follow_z_m(at));
        Some(Run {
            begin,
            from_m: up(ends(first)[0]),
            to_m: up(ends(last)[1]),
            tracks: [track(first), track(last)],
            links: links.collect(),
        })
    }

    /// How far the last cycle of a strip runs on past its end.
    fn ran_on_m(&self, strip: &DirectedStrip<'_>) -> f64 {
        let sections = &strip.strip.sections;
        let last = if strip.reversed { sections.first() } else { sections.last() };
        match last {
            Some(section) if self.basis.pass.attitudes.len() > 1 => {
                let length_m = section.1 - section.0;
                self.basis.exposures(length_m).at.iter().fold(0.0, |most, at| most.max(at.0 - length_m))
            }
            _ => 0.0,
        }
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

    /// Legs from one place to another: straight and round the keep-outs above everything that stands, else over or round
    /// that as well.
    fn links(&self, from: DVec3, to: DVec3) -> Result<Vec<Leg>, PlanError> {
        let speed_mps = self.basis.speed.airframe_mps;
        if self.basis.follow.is_some() || self.basis.flight_z_m <= self.site.highest_z_m {
            let way = self.basis.airspace.way(from, to).ok_or(PlanError::NoWayRound)?;
            return Ok(legs_along(&way, LegKind::Link, &self.basis.aircraft.airframe));
        }
        let rings: Vec<&[DVec2]> = self.site.keep_outs.iter().map(|k| k.outline_m.as_slice()).collect();
        let way = way_round(from.truncate(), to.truncate(), &rings).ok_or(PlanError::NoWayRound)?;
        let at = |place: DVec2| place.extend(self.basis.flight_z_m);
        Ok(way
            .windows(2)
            .map(|pair| Leg::straight(LegKind::Link, at(pair[0]), at(pair[1]), speed_mps))
            .collect())
    }

    /// Exposes a stretch and makes its leg.
    fn expose(&self, stretch: &[(f64, f64)], directed: &DirectedStrip<'_>, sheet: &mut Sheet) -> Leg {
        let sense = if directed.reversed { -1.0 } else { 1.0 };
        let start = if directed.reversed { stretch[0].1 } else { stretch[0].0 };
        let end = stretch.last().map_or(start, |s| if directed.reversed { s.0 } else { s.1 });
        let mut reach = (end - start) * sense;
        let mut speed_mps = self.basis.speed.speed_mps;
        let mut stops = Vec::new();
        let at = |along: f64| self.place(start + sense * along, directed.strip.across_m);
        let longest_m = reach + self.basis.beyond_end_m();
        let profile =
            self.basis.follow.map(|f| Profile::new(&self.basis.airspace, at(0.0), at(longest_m), &f));
        let z_at = |along: f64| profile.as_ref().map_or(self.basis.flight_z_m, |p| p.z_at(along));
        let strips_rad = self.basis.layout.direction_rad;
        let track_rad = if directed.reversed { strips_rad + PI } else { strips_rad };
        for section in stretch {
            let near = if directed.reversed { start - section.1 } else { section.0 - start };
            let placed = self.basis.exposures(section.1 - section.0);
            speed_mps = speed_over_mps(speed_mps, placed.base_m, &self.basis.exposure, self.basis.pass);
            for (along, attitude) in placed.at {
                let along_m = near + along;
                let place = at(along_m);
                if self.site.keep_outs.iter().any(|k| contains(&k.outline_m, place)) && along_m > reach {
                    continue;
                }
                let pose = self.basis.pose(place.extend(z_at(along_m)), attitude, track_rad, strips_rad);
                if self.basis.off_site(&pose) {
                    sheet.skipped += 1;
                } else {
                    stops.push(Stop { along_m, station: sheet.poses.len() as u32 });
                    sheet.poses.push(pose);
                }
                // The last cycle runs on past the section's end, whether or not its exposures are taken.
                reach = reach.max(along_m);
            }
        }
        if let Some(profile) = profile {
            return profile.leg(reach, speed_mps, stops);
        }
        let ends = [0.0, reach].map(|along| at(along).extend(self.basis.flight_z_m));
        Leg { stops, ..Leg::straight(LegKind::Strip, ends[0], ends[1], speed_mps) }
    }

    fn place(&self, along_m: f64, across_m: f64) -> DVec2 {
        let (sin, cos) = self.basis.layout.direction_rad.sin_cos();
        DVec2::new(sin, cos) * along_m + DVec2::new(cos, -sin) * across_m
    }
}

/// To and fro, beginning at a corner.
fn flying_order(strips: &[Strip], begin: Corner) -> Vec<DirectedStrip<'_>> {
    let order: Box<dyn Iterator<Item = &Strip>> =
        if begin.is_last_strip() { Box::new(strips.iter().rev()) } else { Box::new(strips.iter()) };
    order
        .enumerate()
        .map(|(k, strip)| DirectedStrip { strip, reversed: begin.is_far_end() != (k % 2 == 1) })
        .collect()
}

impl Strip {
    /// Where it begins and ends along the strip direction.
    fn reach_m(&self) -> (f64, f64) {
        let (first, last) = (self.sections.first(), self.sections.last());
        (first.map_or(0.0, |s| s.0), last.map_or(0.0, |s| s.1))
    }

    /// Where it begins when flown in one sense, in the strip frame.
    fn start_m(&self, reversed: bool) -> DVec2 {
        let along =
            if reversed { self.sections.last().map(|s| s.1) } else { self.sections.first().map(|s| s.0) };
        DVec2::new(along.unwrap_or_default(), self.across_m)
    }
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
            Aim::FromTrack { .. } | Aim::AtSubject { .. } => Growth { margin_m, ..Growth::default() },
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
