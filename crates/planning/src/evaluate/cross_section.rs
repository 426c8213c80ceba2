//! A cut through ground, structures and strips along a line: how high a pass is flown there, and what that does to what is below.

use super::{Evaluator, Stopped, find};
use crate::base::Id;
use crate::ground::SiteOutline;
use crate::result::{Depth, Outcome};
use crate::route::{Leg, LegKind, PassPlan, PlanError};
use crate::scenario::pattern::Overlaps;
use crate::scenario::{Above, Distance, Pass, Scenario};
use glam::DVec2;
use thiserror::Error;

/// Lines shorter than this are none.
const SHORTEST_M: f64 = 1.0;

/// Distance of places along a line.
const STEP_M: f64 = 2.0;

/// Distances along a line that differ by less are one.
const SAME_M: f64 = 1e-6;

/// Most such places; a longer line has them farther apart.
const MOST_PLACES: f64 = 600.0;

/// Where a cut runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cut {
    /// Along a strip of the pass, by its place in flying order from 0.
    Strip(usize),
    /// From one place to another, in metres east and north.
    Line(DVec2, DVec2),
}

/// A cut through a site and a pass. Heights are above the reference plane: the mean ground inside the boundary.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossSection {
    /// Where it begins.
    pub from_m: DVec2,
    /// Where it ends.
    pub to_m: DVec2,
    /// The ground: distance along the line and height, straight between them.
    pub ground_m: Vec<[f64; 2]>,
    /// What stands across it.
    pub solids: Vec<CutSolid>,
    /// The pass as it is set first, then as it would be flown otherwise.
    pub flown: Vec<FlownAbove>,
}

/// A piece of what stands across a cut.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSolid {
    /// The structure's name.
    pub name: String,
    /// From where to where along the line.
    pub along_m: (f64, f64),
    /// Its lower end; nothing for what stands on the ground.
    pub bottom_m: Option<f64>,
    /// Its upper end.
    pub top_m: f64,
}

/// A pass along a cut, with its heights above one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownAbove {
    /// What its heights are above.
    pub above: Above,
    /// The strip that the cut runs along: distance along the line and height, straight between them; it may end before the
    /// line. Empty for a cut across.
    pub line_m: Vec<[f64; 2]>,
    /// Where strips cross a line that was drawn.
    pub crossings_m: Vec<[f64; 2]>,
    /// What is below, along the line; where a solid begins or ends there are two places.
    pub below: Vec<Below>,
}

/// What a pass delivers straight below one place of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Below {
    /// Distance along the line.
    pub along_m: f64,
    /// Height of what is hit first from above, above the reference plane.
    pub surface_m: f64,
    /// Height flown above that: at the strip itself, or at the strip that crosses nearest.
    pub above_m: f64,
    /// GSD of a camera that looks straight down from there.
    pub gsd_m: f64,
    /// Forward overlap and sidelap there, by the pass's distances between exposures and strips; nothing for patterns without.
    pub overlaps: Option<(f64, f64)>,
}

/// Why there is no cut.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NoCut {
    /// The strategy has no such pass.
    #[error("the strategy has no such pass")]
    NoSuchPass,
    /// The pass cannot be flown.
    #[error("the pass cannot be flown: {0}")]
    NotFlown(#[from] PlanError),
    /// It keeps a distance from walls or undersides, not a height above ground.
    #[error(
        "a pass that keeps a stand-off has no height above the ground to compare; choose a pass over an area or a line"
    )]
    KeepsStandOff,
    /// There is no such strip.
    #[error("the pass has {strips} strips, but strip {asked} was asked for")]
    NoSuchStrip {
        /// So many there are.
        strips: usize,
        /// The one asked for, from 1.
        asked: usize,
    },
    /// Its ends are one place.
    #[error("the line is {length_m:.1} m long, but a cut needs at least {SHORTEST_M} m; draw it longer")]
    TooShort {
        /// Its length.
        length_m: f64,
    },
    /// Nothing is flown across it.
    #[error("no strip of the pass crosses the line; draw it across the strips")]
    NothingCrosses,
}

impl Evaluator<'_> {
    /// Cuts through the site along a strip of a pass or a line, with the pass as it is set and as it would be flown with its
    /// heights above the ground, or above the mean ground where it follows the ground already.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`]; within, [`NoCut`] where there is nothing to cut.
    pub fn cross_section(
        &self,
        scenario: &Scenario,
        (strategy, pass): (Id, Id),
        cut: Cut,
    ) -> Result<Result<CrossSection, NoCut>, Stopped> {
        let outline = self.outline(scenario)?;
        let of_pass = |outcome: &Outcome| {
            let own = outcome.passes.iter().find(|own| own.pass == pass).ok_or(NoCut::NoSuchPass)?;
            Ok(own.plan.clone()?)
        };
        let as_set = match of_pass(&self.evaluate(scenario, strategy, Depth::Quick)?) {
            Ok(plan) => plan,
            Err(why) => return Ok(Err(why)),
        };
        let (from_m, to_m) = match ends(&as_set, cut) {
            Ok(ends) => ends,
            Err(why) => return Ok(Err(why)),
        };
        let line = CutLine::new(&outline, from_m, to_m);
        let set = find(scenario, strategy)?.0.passes.iter().find(|own| own.id == pass);
        let above = set.map_or(Above::default(), |own| own.distance.above());
        let mut flown = vec![line.flown(&as_set, above, cut)];
        if flown[0].line_m.is_empty() && flown[0].crossings_m.is_empty() {
            return Ok(Err(NoCut::NothingCrosses));
        }
        let other = if above == Above::Ground { Above::MeanGround } else { Above::Ground };
        let otherwise =
            self.evaluate(&with_heights(scenario, strategy, pass, other), strategy, Depth::Quick)?;
        // What cannot be flown otherwise is not shown.
        flown.extend(of_pass(&otherwise).ok().map(|plan| line.flown(&plan, other, cut)));
        flown.retain(|one| !one.below.is_empty());
        Ok(Ok(CrossSection { from_m, to_m, ground_m: line.ground_m(), solids: line.solids, flown }))
    }
}

/// The scenario with the heights of one pass above something else.
fn with_heights(scenario: &Scenario, strategy: Id, pass: Id, above: Above) -> Scenario {
    let mut other = scenario.clone();
    let own = other.strategies.iter_mut().filter(|own| own.id == strategy);
    let passes = own.flat_map(|own| &mut own.passes).filter(|own| own.id == pass);
    for Pass { distance, .. } in passes {
        *distance = match *distance {
            Distance::Height { m, .. } => Distance::Height { m, above },
            Distance::Gsd { cm, .. } => Distance::Gsd { cm, above },
            kept @ Distance::StandOff { .. } => kept,
        };
    }
    other
}

/// The strips of a pass in flying order.
fn strips(plan: &PassPlan) -> impl Iterator<Item = &Leg> {
    plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip)
}

fn ends(plan: &PassPlan, cut: Cut) -> Result<(DVec2, DVec2), NoCut> {
    if plan.layout.stand_off_m.is_some() {
        return Err(NoCut::KeepsStandOff);
    }
    let (from_m, to_m) = match cut {
        Cut::Line(from_m, to_m) => (from_m, to_m),
        Cut::Strip(k) => {
            let no_strip = || NoCut::NoSuchStrip { strips: strips(plan).count(), asked: k + 1 };
            let strip = strips(plan).nth(k).ok_or_else(no_strip)?;
            (strip.from_m.truncate(), strip.to_m.truncate())
        }
    };
    let length_m = from_m.distance(to_m);
    // also what is no number
    if length_m.partial_cmp(&SHORTEST_M).is_none_or(std::cmp::Ordering::is_lt) {
        return Err(NoCut::TooShort { length_m });
    }
    Ok((from_m, to_m))
}

/// A line over a site, and what it meets.
struct CutLine<'a> {
    outline: &'a SiteOutline,
    from_m: DVec2,
    along: DVec2,
    length_m: f64,
    solids: Vec<CutSolid>,
}

impl<'a> CutLine<'a> {
    fn new(outline: &'a SiteOutline, from_m: DVec2, to_m: DVec2) -> Self {
        let (along, length_m) = ((to_m - from_m).normalize(), from_m.distance(to_m));
        let mut line = CutLine { outline, from_m, along, length_m, solids: Vec::new() };
        let cut = |obstacle: &crate::ground::Obstacle| {
            let along_m = line.inside_m(&obstacle.ring_m)?;
            let structure = &outline.structures[obstacle.structure];
            let on_ground = obstacle.bottom_z_m < structure.base_z_m;
            Some(CutSolid {
                name: structure.name.clone(),
                along_m,
                bottom_m: (!on_ground).then_some(obstacle.bottom_z_m - outline.reference_z_m),
                top_m: obstacle.top_z_m - outline.reference_z_m,
            })
        };
        let mut solids: Vec<CutSolid> = outline.obstacles.iter().filter_map(cut).collect();
        solids.sort_by(|a, b| a.along_m.0.total_cmp(&b.along_m.0).then(a.along_m.1.total_cmp(&b.along_m.1)));
        line.solids = solids;
        line
    }

    /// From where to where the line is inside a convex ring, counter-clockwise; nothing where it is not.
    fn inside_m(&self, ring_m: &[DVec2]) -> Option<(f64, f64)> {
        let (mut enters_m, mut leaves_m) = (0.0_f64, self.length_m);
        for (k, corner) in ring_m.iter().enumerate() {
            let side = ring_m[(k + 1) % ring_m.len()] - corner;
            // how far inside of this side the line begins, and how fast it goes inward
            let (depth, inward) = (side.perp_dot(self.from_m - corner), side.perp_dot(self.along));
            if inward == 0.0 {
                if depth < 0.0 {
                    return None;
                }
                continue;
            }
            let meets_m = -depth / inward;
            if inward > 0.0 {
                enters_m = enters_m.max(meets_m);
            } else {
                leaves_m = leaves_m.min(meets_m);
            }
        }
        (leaves_m > enters_m).then_some((enters_m, leaves_m))
    }

    fn at_m(&self, along_m: f64) -> DVec2 {
        self.from_m + self.along * along_m
    }

    /// Height of the ground above the reference plane.
    fn ground_at_m(&self, along_m: f64) -> f64 {
        self.outline.terrain.height_m(self.at_m(along_m)) - self.outline.reference_z_m
    }

    fn ground_m(&self) -> Vec<[f64; 2]> {
        let breaks = self.outline.terrain.breaks(self.from_m, self.at_m(self.length_m));
        let places = breaks.into_iter().map(|share| share * self.length_m);
        places.map(|along_m| [along_m, self.ground_at_m(along_m)]).collect()
    }

    /// Where what is below changes its slope or its height, with equal steps between.
    fn places_m(&self) -> Vec<f64> {
        let steps = (self.length_m / STEP_M).min(MOST_PLACES).ceil();
        let even = (0..=steps as usize).map(|k| self.length_m * k as f64 / steps);
        let ends = self.solids.iter().flat_map(|solid| [solid.along_m.0, solid.along_m.1]);
        let mut places_m: Vec<f64> = even.chain(ends).collect();
        places_m.sort_by(f64::total_cmp);
        places_m.dedup_by(|a, b| *a - *b < 1e-9);
        places_m
    }

    fn flown(&self, plan: &PassPlan, above: Above, cut: Cut) -> FlownAbove {
        let (line_m, crossings_m) = match cut {
            Cut::Strip(_) => (self.beside_m(plan), Vec::new()),
            Cut::Line(..) => (Vec::new(), self.crossings_m(plan)),
        };
        let height_at_m = |along_m: f64| match cut {
            Cut::Strip(_) => on_line(&line_m, along_m),
            Cut::Line(..) => nearest(&crossings_m, along_m),
        };
        let mut below = Vec::new();
        for piece in self.places_m().windows(2) {
            let middle_m = piece[0].midpoint(piece[1]);
            let tops = self.solids.iter().filter(|s| s.along_m.0 < middle_m && middle_m < s.along_m.1);
            let top_m = tops.map(|solid| solid.top_m).reduce(f64::max);
            for along_m in [piece[0], piece[1]] {
                let ground_m = self.ground_at_m(along_m);
                let surface_m = top_m.map_or(ground_m, |top_m| top_m.max(ground_m));
                let Some(height_m) = height_at_m(along_m) else { continue };
                let place = below_at(plan, along_m, surface_m, height_m);
                if below.last() != Some(&place) {
                    below.push(place);
                }
            }
        }
        FlownAbove { above, line_m, crossings_m, below }
    }

    /// Heights of the strip that runs along the line: the one whose middle is nearest to the line's.
    fn beside_m(&self, plan: &PassPlan) -> Vec<[f64; 2]> {
        let middle_m = self.at_m(self.length_m / 2.0);
        let off_m = |leg: &Leg| leg.from_m.truncate().midpoint(leg.to_m.truncate()).distance(middle_m);
        let nearest = strips(plan).min_by(|a, b| off_m(a).total_cmp(&off_m(b)));
        let within = nearest.filter(|leg| off_m(leg) < plan.layout.strip_spacing_m / 2.0);
        let place = |corner: glam::DVec3| {
            let along_m = (corner.truncate() - self.from_m).dot(self.along);
            [along_m, corner.z - self.outline.reference_z_m]
        };
        let mut line_m: Vec<_> = within.into_iter().flat_map(Leg::corners_m).map(place).collect();
        line_m.sort_by(|a, b| a[0].total_cmp(&b[0]));
        line_m
    }

    /// Where strips cross the line, and how high.
    fn crossings_m(&self, plan: &PassPlan) -> Vec<[f64; 2]> {
        let across = |(a, b): (glam::DVec3, glam::DVec3)| {
            let (near, way) = (a.truncate() - self.from_m, (b - a).truncate());
            let turn = self.along.perp_dot(way);
            if turn == 0.0 {
                return None;
            }
            let along_m = near.perp_dot(way) / turn;
            let share = near.perp_dot(self.along) / turn;
            let meets = (0.0..=self.length_m).contains(&along_m) && (0.0..=1.0).contains(&share);
            meets.then_some([along_m, a.z + (b.z - a.z) * share - self.outline.reference_z_m])
        };
        let mut found: Vec<_> = strips(plan).flat_map(Leg::pieces_m).filter_map(across).collect();
        found.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        // a strip that bends on the line meets it with two pieces
        found.dedup_by(|a, b| a[0] - b[0] < SAME_M && (a[1] - b[1]).abs() < SAME_M);
        found
    }
}

fn below_at(plan: &PassPlan, along_m: f64, surface_m: f64, height_m: f64) -> Below {
    let above_m = height_m - surface_m;
    let both = plan.pattern.about().overlaps == Overlaps::Both && above_m > 0.0;
    Below {
        along_m,
        surface_m,
        above_m,
        gsd_m: plan.stations.camera.vertical_gsd_m(above_m),
        overlaps: both.then(|| plan.layout.overlaps_at(above_m)),
    }
}

/// The value of a line through places, from left to right, at one between its ends; nothing beyond them.
fn on_line(line_m: &[[f64; 2]], along_m: f64) -> Option<f64> {
    let ends = [line_m.first()?[0], line_m.last()?[0]];
    if along_m < ends[0] - SAME_M || along_m > ends[1] + SAME_M || line_m.len() < 2 {
        return None;
    }
    let after = line_m.partition_point(|place| place[0] < along_m).clamp(1, line_m.len() - 1);
    let (a, b) = (line_m[after - 1], line_m[after]);
    Some(a[1] + (b[1] - a[1]) * (along_m - a[0]) / (b[0] - a[0]))
}

fn nearest(places_m: &[[f64; 2]], along_m: f64) -> Option<f64> {
    let off_m = |place: &&[f64; 2]| (place[0] - along_m).abs();
    places_m.iter().min_by(|a, b| off_m(a).total_cmp(&off_m(b))).map(|place| place[1])
}
