//! Parallel strips over an area: where they run, what is exposed on them, in which order they are flown.

use super::PatternPlanner;
use crate::base::choice::{EQUAL_RATIO, least};
use crate::base::side_by_side::side_by_side;
use crate::geometry::lie::to_the_right_m;
use crate::geometry::polygon::{bounds, slices_beside, without};
use crate::ground::SiteOutline;
use crate::route::basis::Basis;
use crate::route::counting::{strip_count, strip_row};
use crate::route::layout::{heading_rad, lead_m, strips_rad};
use crate::route::order::{Corner, Link, Run};
use crate::route::plain_ways::PlainWays;
use crate::route::refusal::{Count, FLY_HIGHER, PlanError};
use crate::route::region::{Growth, Region};
use crate::route::section::{Flier, LaidSection, Section, join, lay};
use crate::route::sections::all_shut;
use crate::route::sheet::{Sheet, Terms};
use crate::route::task::PassTask;
use crate::route::{LayoutTerms, PassPlan, SAME_PLACE_M, Subject, nose};
use crate::scenario::{Aim, Attitude, BeginAt, CountingRule, Pass, Strips};
use glam::DVec2;
use std::f64::consts::{FRAC_PI_4, PI, TAU};

impl PatternPlanner for Strips {
    /// Parallel strips over the boundary, begun at a corner as seen from the one nearest to the take-off point.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let frame = StripFrame::new(self, task)?;
        let strips = frame.strips()?;
        let corner = frame.nearest_corner(&strips).seen(self.begin);
        // strips are laid side by side, then joined in their order
        let order = flying_order(&strips, corner);
        let laid = side_by_side(order.len(), |k| frame.lay(&order[k]));
        let exposures = laid.iter().flatten().map(LaidSection::exposures).sum();
        // a link between every two sections
        let ways = PlainWays::anywhere(frame.basis.airspace);
        let mut sheet = Sheet::with_room(ways, 2 * laid.iter().map(Vec::len).sum::<usize>(), exposures);
        // A strip that misses the region is left out between two that do not.
        let apart_m = strips.windows(2).map(|pair| pair[1].across_m - pair[0].across_m).reduce(f64::min);
        if let Some(apart_m) = apart_m {
            sheet.flown.note_spacing(apart_m);
        }
        for section in laid.into_iter().flatten() {
            join(&frame.basis, section, &mut sheet)?;
        }
        let corner_rad = (!strips.is_empty()).then(|| frame.azimuth_rad(corner));
        let Basis { layout, speed, exposure, camera, follow, .. } = frame.basis;
        let layout = LayoutTerms { strips: strips.len() as u32, corner_rad, ..layout };
        let terms = Terms { layout, speed, exposure, subject: Subject::Ground };
        Ok(sheet.plan(task, camera, terms, follow.is_some()))
    }

    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError> {
        let frame = StripFrame::new(self, task)?;
        Ok(frame.count(&frame.strips()?))
    }

    fn count_at_most(&self, task: PassTask<'_>) -> Option<Count> {
        let frame = StripFrame::new(self, task).ok()?;
        task.site.keep_outs.is_empty().then(|| frame.count_at_most())
    }

    fn runs(&self, task: PassTask<'_>) -> Result<Vec<Run>, PlanError> {
        let frame = StripFrame::new(self, task)?;
        let strips = frame.strips()?;
        let nearest = frame.nearest_corner(&strips);
        Ok(BeginAt::ALL.iter().filter_map(|begin| frame.run(&strips, nearest, *begin)).collect())
    }

    fn region(&self, task: PassTask<'_>) -> Result<Vec<Vec<DVec2>>, PlanError> {
        let frame = StripFrame::new(self, task)?;
        // The strip frame is a mirror image, and so the way back is the way there.
        let back = |ring: Vec<DVec2>| to_frame(&ring, frame.direction_rad);
        Ok(frame.region.outlines_m().into_iter().map(back).collect())
    }
}

/// Everything about a pass that all its strips share; the strip frame has x along the strips and y to their right.
struct StripFrame<'a> {
    basis: Basis<'a>,
    site: &'a SiteOutline,
    region: Region,
    direction_rad: f64,
    /// The strip direction.
    ahead: DVec2,
    counting: CountingRule,
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
    fn new(strips: &Strips, task: PassTask<'a>) -> Result<Self, PlanError> {
        let PassTask { pass, site, .. } = task;
        let direction_rad = strips_rad(strips.direction, site);
        let mut basis = Basis::new(task, &[direction_rad], strips.counting)?;
        let layout = &mut basis.layout;
        let usual_m = layout.air_base_m.max(layout.extent_across_m / 4.0);
        // A cycle reaches as far as its tilted images need.
        layout.margin_m = (pass.attitudes.len() == 1).then(|| pass.margin_m.unwrap_or(usual_m));
        let margin_m = layout.margin_m.unwrap_or_default();
        let growth = growth(pass, layout.height_m, direction_rad, basis.roof_m, margin_m);
        let boundary_m = to_frame(&site.boundary_m, direction_rad);
        let (first_m, last_m) = bounds(&boundary_m);
        layout.boundary_width_m = Some(last_m.y - first_m.y);
        let region = Region::new(&boundary_m, &growth);
        let (low, high) = region.across_m();
        layout.region_width_m = Some(high - low);
        let ahead = DVec2::from(direction_rad.sin_cos());
        Ok(StripFrame { basis, site, region, direction_rad, ahead, counting: strips.counting })
    }

    /// The strips from the region's left edge to its right one; those that miss the region are left out.
    fn strips(&self) -> Result<Vec<Strip>, PlanError> {
        let (low, high) = self.region.across_m();
        let layout = &self.basis.layout;
        let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
        let strips = f64::from(strip_count(self.counting, high - low, spacing_m, swath_m));
        // Each has one exposure at least.
        let attitudes = self.basis.task.pass.attitudes.len() as f64;
        Count { exposures: strips * attitudes, strips, mend: FLY_HIGHER }.bounded()?;
        let row = strip_row(self.counting, high - low, spacing_m, swath_m);
        let keep_outs: Vec<Vec<DVec2>> =
            self.site.keep_outs.iter().map(|k| to_frame(&k.outline_m, self.direction_rad)).collect();
        let across_m: Vec<f64> = row.offsets_m.iter().map(|offset| low + offset).collect();
        let shut = slices_beside(&keep_outs, &across_m, EQUAL_RATIO * (high - low) / 2.0);
        let strips: Vec<Strip> = across_m.iter().zip(&shut).map(|(m, shut)| self.strip(*m, shut)).collect();
        let (open, closed): (Vec<Strip>, Vec<Strip>) =
            strips.into_iter().partition(|strip| !strip.sections.is_empty());
        if open.is_empty() {
            let whole = closed.iter().map(|strip| self.whole(strip.across_m));
            return Err(all_shut(self.site, whole.flatten()));
        }
        self.count(&open).bounded()?;
        Ok(open)
    }

    fn count(&self, strips: &[Strip]) -> Count {
        let sections = strips.iter().flat_map(|strip| &strip.sections);
        let exposures = sections.map(|section| self.basis.planned_on(section.1 - section.0)).sum();
        Count { exposures, strips: strips.len() as f64, mend: FLY_HIGHER }
    }

    /// What strips without keep-outs do not exceed, by the region's extent.
    ///
    /// # References
    /// Derived: sections of a strip lie more than an air base B apart, so that on an extent L there are 1 + L ÷ B of them at
    /// most; each has one exposure more than it has bases, rounded up, and all bases and gaps together are L ÷ B.
    fn count_at_most(&self) -> Count {
        let ((low, high), layout) = (self.region.across_m(), &self.basis.layout);
        let strips = strip_count(self.counting, high - low, layout.strip_spacing_m, layout.extent_across_m);
        let (strips, attitudes) = (f64::from(strips), self.basis.task.pass.attitudes.len() as f64);
        let (near, far) = self.region.along_m();
        let exposures = strips * attitudes * (2.0 * (far - near) / layout.air_base_m + 3.0);
        Count { exposures, strips, mend: FLY_HIGHER }
    }

    /// One strip: the region's slice, keep-outs taken out.
    fn strip(&self, across_m: f64, shut: &[(f64, f64)]) -> Strip {
        let (low, high) = self.region.across_m();
        let mut sections = without(&self.exposed(across_m), shut);
        sections.retain(|section| section.1 - section.0 > EQUAL_RATIO * (high - low));
        Strip { across_m, sections }
    }

    /// The region's slice, gaps no longer than an air base closed.
    fn exposed(&self, across_m: f64) -> Vec<(f64, f64)> {
        // A strip on the region's edge, or spare beside it, is as long as the region is just inside.
        let (low, high) = self.region.across_m();
        let hair = EQUAL_RATIO * (high - low);
        let longest_gap_m = self.basis.layout.air_base_m + hair;
        let mut exposed: Vec<(f64, f64)> = Vec::new();
        for section in self.region.slice_m(across_m.clamp(low + hair, high - hair), hair / 2.0) {
            match exposed.last_mut() {
                Some(last) if section.0 - last.1 <= longest_gap_m => last.1 = section.1,
                _ => exposed.push(section),
            }
        }
        exposed
    }

    /// A strip as it were without keep-outs, from its start to its end.
    fn whole(&self, across_m: f64) -> Option<(DVec2, DVec2)> {
        let exposed = self.exposed(across_m);
        let (first, last) = exposed.first().zip(exposed.last())?;
        Some((self.place(first.0, across_m), self.place(last.1, across_m)))
    }

    /// The corner nearest to the take-off point; of several, the one nearest to the boundary's middle, then the one on the
    /// left.
    fn nearest_corner(&self, strips: &[Strip]) -> Corner {
        let (home, middle) = (self.site.take_off_m, self.site.middle_m);
        let keys = Corner::ALL.map(|corner| {
            let strip = if corner.is_last_strip() { strips.last() } else { strips.first() };
            let start = strip.map_or(DVec2::ZERO, |strip| strip.start_m(corner.is_far_end()));
            let at = self.place(start.x, start.y);
            [at.distance(home), at.distance(middle), to_the_right_m(home, middle, at)]
        });
        least(keys, self.site.size_m).map_or(Corner::ALL[0], |k| Corner::ALL[k])
    }

    /// Where a corner lies, seen from the middle of strips as long as they are wide together.
    fn azimuth_rad(&self, corner: Corner) -> f64 {
        let behind = if corner.is_far_end() { 0.0 } else { PI };
        // The first strip is the leftmost.
        let beside = if corner.is_far_end() == corner.is_last_strip() { FRAC_PI_4 } else { -FRAC_PI_4 };
        (self.direction_rad + behind + beside).rem_euclid(TAU)
    }

    /// How the pass runs from a corner, none without strips.
    fn run(&self, strips: &[Strip], nearest: Corner, begin: BeginAt) -> Option<Run> {
        let order = flying_order(strips, nearest.seen(begin));
        let (first, last) = order.first().zip(order.last())?;
        let track = |strip: &DirectedStrip<'_>| self.track(strip.reversed);
        let ends = |strip: &DirectedStrip<'_>| {
            let (near, far) = strip.strip.reach_m();
            let (from, to) = if strip.reversed { (far, near) } else { (near, far) };
            let ran_on_m = self.ran_on_m(strip);
            [
                self.place(from, strip.strip.across_m),
                self.place(to, strip.strip.across_m) + track(strip) * ran_on_m,
            ]
        };
        let held = nose::held_rad(self.basis.task.pass, &self.basis.layout);
        let links = order.windows(2).map(|pair| {
            let (from, to) = (ends(&pair[0])[1], ends(&pair[1])[0]);
            let noses = if held.is_some() { [DVec2::ZERO; 2] } else { [track(&pair[0]), track(&pair[1])] };
            Link { way_m: to - from, noses }
        });
        let nose = |strip| held.map_or_else(|| track(strip), |rad| DVec2::new(rad.sin(), rad.cos()));
        let up = |at: DVec2| at.extend(self.basis.follow_z_m(at));
        Some(Run {
            begin,
            from_m: up(ends(first)[0]),
            to_m: up(ends(last)[1]),
            noses: [nose(first), nose(last)],
            links: links.collect(),
        })
    }

    /// How far the last cycle of a strip runs on past its end.
    fn ran_on_m(&self, strip: &DirectedStrip<'_>) -> f64 {
        let sections = &strip.strip.sections;
        let last = if strip.reversed { sections.first() } else { sections.last() };
        let Some(&(low, high)) = last else { return 0.0 };
        let end = self.place(if strip.reversed { low } else { high }, strip.strip.across_m);
        let most_m = self.basis.beyond_end_m(end, self.track(strip.reversed));
        let past = self.basis.placed(high - low).at.into_iter().map(|at| at.0 - (high - low));
        past.filter(|past_m| *past_m <= most_m + SAME_PLACE_M).fold(0.0, f64::max)
    }

    /// Lays one strip: a section for each stretch between keep-outs.
    fn lay(&self, directed: &DirectedStrip<'_>) -> Vec<LaidSection> {
        let (reversed, across_m) = (directed.reversed, directed.strip.across_m);
        let sense = if reversed { -1.0 } else { 1.0 };
        let ahead_rad = self.direction_rad;
        let track_rad = if reversed { ahead_rad + PI } else { ahead_rad };
        let lay_stretch = |stretch: Vec<(f64, f64)>| {
            let start = if reversed { stretch[0].1 } else { stretch[0].0 };
            let end = stretch.last().map_or(start, |s| if reversed { s.0 } else { s.1 });
            let near = |part: &(f64, f64)| if reversed { start - part.1 } else { part.0 - start };
            let parts: Vec<(f64, f64)> = stretch.iter().map(|part| (near(part), part.1 - part.0)).collect();
            let section = Section {
                place: &|along| self.place(start + sense * along, across_m),
                direction: self.track(reversed),
                length_m: (end - start) * sense,
                parts: &parts,
                level_z_m: self.basis.flight_z_m,
                pose: &|at, attitude| self.basis.pose(at, attitude, track_rad, ahead_rad),
            };
            lay(&self.basis, &section)
        };
        self.stretches(directed).into_iter().map(lay_stretch).collect()
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
        self.site.fences.entered(p, q).is_none()
    }

    /// Direction in which a strip is flown.
    fn track(&self, reversed: bool) -> DVec2 {
        if reversed { -self.ahead } else { self.ahead }
    }

    fn place(&self, along_m: f64, across_m: f64) -> DVec2 {
        self.ahead * along_m - self.ahead.perp() * across_m
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
