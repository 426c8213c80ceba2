//! Motion blur: how fast images move in the frame, on the nearest surface in view, and the speed that this allows.
//!
//! A point at (X, Y, Z) in camera axes (right, up, forward) has the image (x, y) = (X, Y) / Z, in focal lengths. When the
//! camera moves with the velocity v, its image moves with `(x v_Z − v_X, y v_Z − v_Y) / Z`. On a plane at a distance h in the
//! direction n the depth is Z = h / q, with `q = n_X x + n_Y y + n_Z` (in view where q > 0), so that in pixels
//!
//! ```text
//! speed = f / h × q × N,  N = |(x v_Z − v_X, y v_Z − v_Y)|
//! ```
//!
//! Along the plane, v · n = 0, so that q vanishes where N does, at the point `e = (v_X, v_Y) / v_Z` of the horizon that the
//! camera moves toward: along every line from e both grow in proportion to the way from it. The fastest place therefore lies
//! on the border of the frame. Over level ground, with the tilt t from nadir and the axis turned by φ from the track,
//!
//! ```text
//! q = cos t − y sin t,  N² = (q cos φ)² + (x sin t cos φ − sin φ)²
//! ```
//!
//! and q is greatest on the near edge, y = −b, where N is convex in x: the fastest place is a near corner, (±a, −b). At t = 0
//! the whole frame moves with f / h. At t = 45° with b = 0.5 and φ = 0 the middle of the near edge moves
//! (cos t + b sin t)² = 1.125 times as fast, a near corner with a = 0.75 1.258 times.
//!
//! What is nearer than the plane, as seen by any ray, moves faster; what is farther, more slowly. So the level plane through
//! the highest roof or ground that a pass looks at bounds all of it.

use super::plan::BlurOn;
use super::{LegKind, PassPlan, SAME_PLACE_M, SpeedBound};
use crate::base::choice::EQUAL_RATIO;
use crate::geometry::camera::Turning;
use crate::geometry::motion::blur_speed_mps;
use crate::geometry::polygon::{bounds, distance_m, hull_m, rings_meet};
use crate::geometry::{CameraModel, Pose, PosedCamera};
use crate::ground::{Obstacle, SiteOutline};
use crate::route::Leg;
use crate::scenario::{Aircraft, Conditions, Pass, Terrain};
use glam::{DVec2, DVec3};

/// The ground speed that motion blur allows, and on what.
#[derive(Debug, Clone)]
pub(super) struct Blur {
    pub(super) mps: f64,
    pub(super) on: BlurOn,
}

impl Blur {
    /// On a surface at a distance, of which some place moves `fastest` times as fast as straight before a camera.
    pub(super) fn at(
        distance_m: f64,
        fastest: f64,
        on: BlurOn,
        aircraft: &Aircraft,
        conditions: &Conditions,
    ) -> Self {
        let gsd_m = aircraft.camera.model().vertical_gsd_m(distance_m);
        let facing_mps = blur_speed_mps(conditions.blur_px, gsd_m, aircraft.camera.exposure_s);
        // A frame without any of the surface in it is bound by nothing here.
        Blur { mps: if fastest > 0.0 { facing_mps / fastest } else { f64::INFINITY }, on }
    }
}

/// How many times as fast as straight below the fastest place of a level surface moves in the frame.
///
/// # Units
/// - `turned_rad`: from the track to the heading
///
/// # References
/// Derived at the head of this module.
pub(super) fn over_level(camera: &CameraModel, tilt_rad: f64, turned_rad: f64) -> f64 {
    if tilt_rad == 0.0 {
        return 1.0;
    }
    let view = View::new(camera, tilt_rad, turned_rad);
    view.fastest(view.seen(DVec3::NEG_Z), view.seen(DVec3::Y))
}

/// The same of a wall that is flown along.
///
/// # Units
/// - `turned_rad`: from the direction to the wall to the heading
///
/// # References
/// Derived at the head of this module.
pub(super) fn before_wall(camera: &CameraModel, tilt_rad: f64, turned_rad: f64) -> f64 {
    let view = View::new(camera, tilt_rad, turned_rad);
    view.fastest(view.seen(DVec3::Y), view.seen(DVec3::X))
}

/// Pieces of the frame along each side.
const PIECES: u32 = 8;

/// A camera's axes and frame.
struct View {
    right: DVec3,
    up: DVec3,
    forward: DVec3,
    half: DVec2,
    pieces: u32,
}

impl View {
    fn new(camera: &CameraModel, tilt_rad: f64, heading_rad: f64) -> Self {
        let pose = Pose { position_m: DVec3::ZERO, heading_rad, tilt_rad, roll_rad: 0.0 };
        View::of(&PosedCamera::new(*camera, &pose), PIECES)
    }

    fn of(camera: &PosedCamera, pieces: u32) -> Self {
        let PosedCamera { model, right, down, forward, .. } = *camera;
        View { right, up: -down, forward, half: model.half_extent(), pieces }
    }

    /// A direction in camera axes.
    fn seen(&self, direction: DVec3) -> DVec3 {
        DVec3::new(direction.dot(self.right), direction.dot(self.up), direction.dot(self.forward))
    }

    /// Greatest q × N over the frame, piece by piece: q is linear and N convex, so that each is greatest at a corner of the
    /// piece, and their product no greater than that of both. Where both grow toward one corner of the frame, as over level
    /// ground, that is exact; else it is too large by what they change over a piece.
    fn fastest(&self, normal: DVec3, velocity: DVec3) -> f64 {
        // both are sums of what each coordinate adds: greatest where each of these is
        let added = |at: f64, normal: f64, moved: f64| (normal * at, (at * velocity.z - moved).powi(2));
        let greatest = |half: f64, normal: f64, moved: f64| {
            let at = move |k: u32| half * (f64::from(k) / f64::from(self.pieces) * 2.0 - 1.0);
            (0..self.pieces).map(move |k| {
                let (low, high) = (added(at(k), normal, moved), added(at(k + 1), normal, moved));
                (low.0.max(high.0), low.1.max(high.1))
            })
        };
        let columns: Vec<(f64, f64)> = greatest(self.half.x, normal.x, velocity.x).collect();
        let mut fastest = 0.0_f64;
        for row in greatest(self.half.y, normal.y, velocity.y) {
            for column in &columns {
                let (q, moved2) = (column.0 + row.0 + normal.z, column.1 + row.1);
                fastest = fastest.max(q.max(0.0) * moved2.sqrt());
            }
        }
        fastest
    }

    /// Every piece of the frame while the camera moves along a direction.
    fn along(&self, along: DVec3) -> impl Iterator<Item = FramePiece> + '_ {
        let velocity = self.seen(along);
        self.corners().map(move |corners| FramePiece {
            rays: corners.map(|at| self.forward + self.right * at.x + self.up * at.y),
            fastest: corners.map(|at| moved(velocity, at)).into_iter().fold(0.0, f64::max),
        })
    }

    /// The corners of every piece of the frame, in focal lengths.
    fn corners(&self) -> impl Iterator<Item = [DVec2; 4]> + '_ {
        let at = |x: u32, y: u32| {
            let share = DVec2::new(f64::from(x), f64::from(y)) / f64::from(self.pieces);
            self.half * (share * 2.0 - 1.0)
        };
        let pieces = self.pieces;
        (0..pieces * pieces)
            .map(move |k| (k % pieces, k / pieces))
            .map(move |(x, y)| [at(x, y), at(x + 1, y), at(x, y + 1), at(x + 1, y + 1)])
    }
}

/// A piece of a frame while its camera moves along a direction.
struct FramePiece {
    /// The rays through its corners down to unit depth.
    rays: [DVec3; 4],
    /// How fast its fastest corner moves.
    fastest: f64,
}

/// N at an image point.
fn moved(velocity: DVec3, at: DVec2) -> f64 {
    (at * velocity.z - velocity.truncate()).length()
}

/// Pieces of the frame along each side in which ground is looked for that rises beside the line.
const PIECES_ON_GROUND: u32 = 4;

/// Halvings of the speed where something is too near: the speed does not depend on which of several like frames is looked at
/// first.
const HALVINGS: u32 = 40;

/// A frame that asks for less than so much of the speed asks for nothing.
const SPEED_RATIO: f64 = 1e-9;

/// Slows a pass that follows the ground, where ground that rises or a roof comes nearer in some frame than it is below the
/// line: a pass has one speed, and the nearest of all decides.
pub(super) fn slowed(
    mut plan: PassPlan,
    pass: &Pass,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> PassPlan {
    if pass.hover_s.is_some() {
        return plan;
    }
    let per_mps = plan.stations.camera.focal_length_px * aircraft.camera.exposure_s / conditions.blur_px;
    let mut watch = Nearest::new(plan.stations.camera, site, per_mps);
    let (mut speed_mps, mut on) = (plan.speed.speed_mps, None);
    let shots = shots(&plan);
    let one_way = shots.chunk_by(|(_, along), (_, next)| along.dot(*next) > ONE_WAY_COSINE);
    for few in one_way.flat_map(|run| run.chunks(LOOKED_AT_TOGETHER)) {
        if watch.all_clear(few, speed_mps) {
            continue;
        }
        for (pose, along) in few {
            if let Some((slower_mps, what)) = watch.allowed(pose, *along, speed_mps) {
                (speed_mps, on) = (slower_mps, Some(what));
            }
        }
    }
    if let Some(on) = on {
        let blur_mps = plan.speed.blur_mps.min(speed_mps);
        plan.speed.blur_on = on;
        (plan.speed.blur_mps, plan.speed.speed_mps, plan.speed.bound_by) =
            (blur_mps, speed_mps, SpeedBound::Blur);
        let strips = plan.legs.iter_mut().filter(|leg| leg.kind == LegKind::Strip);
        strips.for_each(|leg| leg.speed_mps = leg.speed_mps.min(speed_mps));
    }
    plan
}

/// The poses of a plan with the direction of flight at each; both directions of one at a corner.
fn shots(plan: &PassPlan) -> Vec<(&Pose, DVec3)> {
    let mut found = Vec::with_capacity(plan.stations.poses.len());
    let of_leg = |leg: &Leg| {
        let pieces: Vec<(f64, DVec3)> = leg.pieces_m().map(|(a, b)| (a.distance(b), b - a)).collect();
        let mut passed_m = 0.0;
        let mut k = 0;
        for stop in &leg.stops {
            let pose = &plan.stations.poses[stop.station as usize];
            while k + 1 < pieces.len() && passed_m + pieces[k].0 < stop.along_m - SAME_PLACE_M {
                passed_m += pieces[k].0;
                k += 1;
            }
            found.push((pose, pieces[k].1.normalize_or_zero()));
            let (mut ends_m, mut next) = (passed_m + pieces[k].0, k + 1);
            while next < pieces.len() && ends_m < stop.along_m + SAME_PLACE_M {
                found.push((pose, pieces[next].1.normalize_or_zero()));
                (ends_m, next) = (ends_m + pieces[next].0, next + 1);
            }
        }
    };
    plan.legs.iter().filter(|leg| !leg.stops.is_empty()).for_each(of_leg);
    found
}

/// Ways to look that are kept from frame to frame: an oblique camera has five attitudes and flies strips there and back.
const MOST_FRAMES: usize = 10;

/// Frames one after the other that are looked at as one where nothing is near any of them.
const LOOKED_AT_TOGETHER: usize = 16;

/// Directions of flight that differ by less are about one.
const ONE_WAY_COSINE: f64 = 0.9;

/// A frame as a whole: what is the same for all that look one way.
#[derive(Clone, Copy)]
struct WholeFrame {
    angles_rad: [f64; 3],
    right: DVec3,
    up: DVec3,
    forward: DVec3,
    /// Its corners, in focal lengths.
    corners: [DVec2; 4],
    /// The box about the rays through them down to unit depth, and their start.
    rays: (DVec3, DVec3),
}

impl WholeFrame {
    fn new(camera: &PosedCamera, pose: &Pose) -> Self {
        let view = View::of(camera, 1);
        let half = view.half;
        let corners = [-half, DVec2::new(half.x, -half.y), DVec2::new(-half.x, half.y), half];
        let rays = corners.map(|at| view.forward + view.right * at.x + view.up * at.y);
        let rays = rays
            .into_iter()
            .fold((DVec3::ZERO, DVec3::ZERO), |(low, high), ray| (low.min(ray), high.max(ray)));
        let View { right, up, forward, .. } = view;
        WholeFrame { angles_rad: angles_rad(pose), right, up, forward, corners, rays }
    }

    /// How fast the fastest corner moves when the camera moves along a direction.
    fn fastest(&self, along: DVec3) -> f64 {
        let velocity = DVec3::new(along.dot(self.right), along.dot(self.up), along.dot(self.forward));
        let square = |at: DVec2| (at * velocity.z - velocity.truncate()).length_squared();
        self.corners.map(square).into_iter().fold(0.0, f64::max).sqrt()
    }

    /// A box about all that may be too near, at a speed along a direction: about the pyramid down to the depth at which the
    /// fastest corner is as blurred as allowed.
    fn bounds_m(&self, from_m: DVec3, along: DVec3, sharp_m: f64) -> (DVec3, DVec3) {
        let depth_m = sharp_m * self.fastest(along);
        (from_m + self.rays.0 * depth_m, from_m + self.rays.1 * depth_m)
    }

    /// No corner moves faster than that along any direction that differs by no more than so much from one.
    ///
    /// # References
    /// Derived: what a corner at (x, y) moves by for a direction that is added is no longer than √(x² + y² + 1) times that.
    fn fastest_about(&self, along: DVec3, differs: f64) -> f64 {
        let farthest = self.corners.map(DVec2::length_squared).into_iter().fold(0.0, f64::max);
        (self.fastest(along) + differs * (farthest + 1.0).sqrt()) * (1.0 + EQUAL_RATIO)
    }
}

fn angles_rad(pose: &Pose) -> [f64; 3] {
    [pose.heading_rad, pose.tilt_rad, pose.roll_rad]
}

/// Looks for what comes too near in a frame.
struct Nearest<'a> {
    turning: Turning,
    /// Of the ways to look that came last.
    frames: Vec<WholeFrame>,
    site: &'a SiteOutline,
    /// Its obstacles by their index with the boxes about them, seen from above; the highest first.
    solids: Vec<(usize, (DVec2, DVec2))>,
    /// Depth at which images are as blurred as they may be, for 1 m/s and N = 1.
    per_mps: f64,
}

impl<'a> Nearest<'a> {
    fn new(camera: CameraModel, site: &'a SiteOutline, per_mps: f64) -> Self {
        let bounds = |solid: &Obstacle| bounds(&solid.ring_m);
        let mut solids: Vec<_> = site.obstacles.iter().map(bounds).enumerate().collect();
        solids.sort_by(|(a, _), (b, _)| site.obstacles[*b].top_z_m.total_cmp(&site.obstacles[*a].top_z_m));
        Nearest { turning: Turning::new(camera), frames: Vec::new(), site, solids, per_mps }
    }

    /// The frame of a pose, by its index.
    fn frame(&mut self, pose: &Pose) -> usize {
        let known = self.frames.iter().position(|frame| frame.angles_rad == angles_rad(pose));
        known.unwrap_or_else(|| {
            self.frames.push(WholeFrame::new(&self.turning.at(pose), pose));
            self.frames.len() - 1
        })
    }

    /// Whether nothing reaches into a box about the boxes of some frames: then [`Nearest::allowed`] finds nothing in any.
    fn all_clear(&mut self, shots: &[(&Pose, DVec3)], speed_mps: f64) -> bool {
        let Some((first, along)) = shots.first().copied() else { return true };
        let (mut low_m, mut high_m, mut differs) = (first.position_m, first.position_m, 0.0_f64);
        for (pose, other) in shots {
            (low_m, high_m) = (low_m.min(pose.position_m), high_m.max(pose.position_m));
            differs = differs.max(other.distance_squared(along));
        }
        if self.frames.len() > MOST_FRAMES {
            self.frames.clear();
        }
        let (mut rays, mut looked_at) =
            ((DVec3::ZERO, DVec3::ZERO), [false; MOST_FRAMES + LOOKED_AT_TOGETHER]);
        for (pose, _) in shots {
            let frame = self.frame(pose);
            if std::mem::replace(&mut looked_at[frame], true) {
                continue;
            }
            let frame = &self.frames[frame];
            let depth_m = self.per_mps * speed_mps * frame.fastest_about(along, differs.sqrt());
            rays = (rays.0.min(frame.rays.0 * depth_m), rays.1.max(frame.rays.1 * depth_m));
        }
        let bounds = (low_m + rays.0, high_m + rays.1);
        !self.ground_reaches(bounds) && self.tall_in(bounds).next().is_none()
    }

    /// The speed at which a frame is sharp, and what bounds it; nothing where a speed is slow enough.
    fn allowed(&mut self, pose: &Pose, along: DVec3, speed_mps: f64) -> Option<(f64, BlurOn)> {
        let just_below_mps = speed_mps * (1.0 - SPEED_RATIO);
        let frame = self.frame(pose);
        let bounds = self.frames[frame].bounds_m(pose.position_m, along, self.per_mps * just_below_mps);
        if !self.ground_reaches(bounds) && self.tall_in(bounds).next().is_none() {
            return None;
        }
        let camera = self.turning.at(pose);
        let too_near = |piece: &FramePiece, speed_mps: f64| self.too_near(piece, pose.position_m, speed_mps);
        let whole = View::of(&camera, 1);
        whole.along(along).find_map(|frame| too_near(&frame, just_below_mps))?;
        let view = View::of(&camera, PIECES_ON_GROUND);
        let of_piece = |piece| Some((too_near(&piece, just_below_mps)?, piece));
        // at a lower speed the pyramid below a piece is the upper part of this one: what is clear stays so
        let (on, pieces): (Vec<BlurOn>, Vec<FramePiece>) = view.along(along).filter_map(of_piece).unzip();
        let mut found = on.into_iter().next()?;
        // Nothing lies nearer than the closest of all, whatever the direction.
        let (mut low_mps, mut high_mps) = (self.surely_mps(&whole, pose, along).min(speed_mps), speed_mps);
        for _ in 0..HALVINGS {
            let middle_mps = f64::midpoint(low_mps, high_mps);
            match pieces.iter().find_map(|piece| too_near(piece, middle_mps)) {
                Some(on) => (high_mps, found) = (middle_mps, on),
                None => low_mps = middle_mps,
            }
        }
        Some((low_mps, found))
    }

    /// What may lie nearer, somewhere in a piece of the frame, than images are sharp at a speed.
    ///
    /// Nothing is too near beyond the depth Z at which the fastest place of the piece is as blurred as allowed. What lies
    /// nearer lies in the pyramid of its rays down to that depth: over it, and higher than its lowest corner.
    fn too_near(&self, piece: &FramePiece, from_m: DVec3, speed_mps: f64) -> Option<BlurOn> {
        let depth_m = self.per_mps * speed_mps * piece.fastest;
        let [a, b, c, d] = piece.rays.map(|ray| from_m + ray * depth_m);
        self.reaches([from_m, a, b, c, d])
    }

    /// What reaches up into the pyramid over a camera's rays, by its apex and its corners.
    fn reaches(&self, places: [DVec3; 5]) -> Option<BlurOn> {
        let bounds = places
            .iter()
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), at| (low.min(*at), high.max(*at)));
        let ground = match &self.site.terrain {
            // A plane reaches into what is convex where it reaches a corner.
            plane @ Terrain::Plane { .. } => places.iter().any(|at| plane.height_m(at.truncate()) > at.z),
            Terrain::Grid(_) => self.ground_reaches(bounds),
        };
        if ground {
            return Some(BlurOn::RisingGround);
        }
        let mut below: Option<Vec<DVec2>> = None;
        let met = self.tall_in(bounds).filter(|solid| {
            let below = below.get_or_insert_with(|| hull_m(places.map(DVec3::truncate)));
            rings_meet(below, &self.site.obstacles[*solid].ring_m)
        });
        // of several the one that the site has first
        let solid = &self.site.obstacles[met.min()?];
        let name = self.site.structures[solid.structure].name.clone();
        Some(BlurOn::Roof { name, height_m: solid.top_z_m - self.site.reference_z_m })
    }

    /// Whether some ground may reach into a box.
    fn ground_reaches(&self, (low, high): (DVec3, DVec3)) -> bool {
        match &self.site.terrain {
            plane @ Terrain::Plane { .. } => {
                let corners =
                    [low.truncate(), DVec2::new(high.x, low.y), DVec2::new(low.x, high.y), high.truncate()];
                corners.iter().any(|at| plane.height_m(*at) > low.z)
            }
            Terrain::Grid(grid) => {
                let (from, to) = (low.truncate(), high.truncate());
                grid.bounds_m().1 > low.z
                    && !grid.surely_below(from, to, low.z)
                    && grid.highest_in_m(from, to) > low.z
            }
        }
    }

    /// The solids that may reach into a box, by their index, the highest first.
    fn tall_in(&self, (low, high): (DVec3, DVec3)) -> impl Iterator<Item = usize> {
        let beside = move |(from, to): (DVec2, DVec2)| {
            from.cmpgt(high.truncate()).any() || to.cmplt(low.truncate()).any()
        };
        let is_tall = move |solid: usize| self.site.obstacles[solid].top_z_m > low.z;
        let tall = self.solids.iter().take_while(move |(solid, _)| is_tall(*solid));
        tall.filter(move |(_, bounds)| !beside(*bounds)).map(|(solid, _)| *solid)
    }

    /// A speed at which even what is closest, were it in the fastest place of the frame, is sharp: `frame` is all of it in one
    /// piece, as what grows away from a place of the frame is greatest at one of its corners.
    fn surely_mps(&self, frame: &View, pose: &Pose, along: DVec3) -> f64 {
        let closest_m = self.closest_m(pose.position_m);
        let velocity = frame.seen(along);
        let most = |worth: &dyn Fn(DVec2) -> f64| frame.corners().flatten().map(worth).fold(0.0, f64::max);
        let ray = most(&|at: DVec2| at.extend(1.0).length());
        closest_m / ray / (self.per_mps * most(&|at: DVec2| moved(velocity, at)))
    }

    /// How far the closest of all that there is, ground or solid, is from a place.
    fn closest_m(&self, at: DVec3) -> f64 {
        let from_solid_m = |solid: &Obstacle| {
            let above_m = (at.z - solid.top_z_m).max(solid.bottom_z_m - at.z).max(0.0);
            distance_m(&solid.ring_m, at.truncate()).hypot(above_m)
        };
        let solid_m = self.site.obstacles.iter().map(from_solid_m).fold(f64::INFINITY, f64::min);
        // ground that does not reach into the box about all places so close is no closer; to find it takes longer
        let about_m = DVec3::splat(solid_m * (1.0 + EQUAL_RATIO));
        if solid_m < f64::INFINITY && !self.ground_reaches((at - about_m, at + about_m)) {
            return solid_m;
        }
        self.site.terrain.closest_m(at, 0.0).min(solid_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::generated::{Lots, SIDE_M, site};
    use glam::DQuat as Quat;
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

    fn camera() -> CameraModel {
        CameraModel::pinhole(5472, 3648, 3648.0)
    }

    /// Derived: the closed form of this module's head, at the near corner (0.75, −0.5).
    #[test]
    fn the_near_corner_moves_fastest() {
        let closed = |tilt: f64, turned: f64| {
            let q = tilt.cos() + 0.5 * tilt.sin();
            q * (q * turned.cos()).hypot(0.75 * tilt.sin() * turned.cos().abs() + turned.sin().abs())
        };
        for (tilt, turned) in [(0.3, 0.0), (FRAC_PI_4, 0.0), (FRAC_PI_4, 1.0), (0.9, FRAC_PI_2), (0.5, 4.0)] {
            let found = over_level(&camera(), tilt, turned);
            assert!((found - closed(tilt, turned)).abs() < 1e-12, "{tilt} {turned}: {found}");
        }
        assert!((closed(FRAC_PI_4, 0.0) - 1.0607 * 1.0607_f64.hypot(0.5303)).abs() < 1e-3);
        assert_eq!(over_level(&camera(), 0.0, 2.0), 1.0);
    }

    /// Derived: the box about a frame looked at as a whole is that about the pyramid of its rays, to the last bit, so that what
    /// is decided by it is decided as by the pyramid itself.
    #[test]
    fn a_whole_frame_has_the_box_of_its_pyramid() {
        for k in 0..400 {
            let part = |of: u32| f64::from(k * of % 97) / 97.0;
            let position_m = DVec3::new(300.0 * part(5), -200.0 * part(7), 40.0 + 90.0 * part(11));
            let (heading_rad, tilt_rad) = (6.3 * part(13), 1.6 * part(17));
            let pose =
                Pose { position_m, heading_rad, tilt_rad, roll_rad: if k % 5 == 0 { PI } else { 0.0 } };
            let along = DVec3::new(part(19) - 0.5, part(23) - 0.5, 0.4 * part(29) - 0.2).normalize();
            let (posed, sharp_m) = (PosedCamera::new(camera(), &pose), 3.0 + 80.0 * part(31));
            let view = View::of(&posed, 1);
            let corners = view.corners().next().expect("one piece");
            let velocity = view.seen(along);
            let depth_m = sharp_m * corners.map(|at| moved(velocity, at)).into_iter().fold(0.0, f64::max);
            let ray = |at: DVec2| (view.forward + view.right * at.x + view.up * at.y) * depth_m;
            let places = corners.map(|at| position_m + ray(at));
            let low = places.into_iter().fold(position_m, DVec3::min);
            let high = places.into_iter().fold(position_m, DVec3::max);
            assert_eq!(
                WholeFrame::new(&posed, &pose).bounds_m(position_m, along, sharp_m),
                (low, high),
                "{k}"
            );
        }
    }

    /// Derived: where nothing reaches into the box about some frames, nothing is too near in any of them: on generated sites,
    /// along slopes up and down, of cameras that look one way or five.
    #[test]
    fn frames_that_are_clear_together_are_clear_each() {
        let (mut together, mut alone, mut near) = (0, 0, 0);
        for seed in 0..8 {
            let site = site(seed, 4.0, 0);
            let mut drawn = Lots(seed + 7);
            for k in 0..60 {
                let (from_m, level) = (drawn.place(SIDE_M), DVec2::from_angle(drawn.next() * 6.3));
                let (above_m, slope) = (30.0 + 70.0 * drawn.next(), 0.4 * (drawn.next() - 0.5));
                let ways_to_look = if k % 2 == 0 { 1 } else { 5 };
                let poses: Vec<(Pose, DVec3)> = (0..LOOKED_AT_TOGETHER)
                    .map(|shot| {
                        let along = level.extend(slope * (0.5 + drawn.next())).normalize();
                        let position_m = from_m.extend(above_m) + along * (shot as f64 * 6.0);
                        let look = (shot % ways_to_look) as f64;
                        let (heading_rad, tilt_rad) = (1.2 * look, if look == 0.0 { 0.3 } else { 0.8 });
                        (Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 }, along)
                    })
                    .collect();
                let shots: Vec<(&Pose, DVec3)> = poses.iter().map(|(pose, along)| (pose, *along)).collect();
                let mut watch = Nearest::new(camera(), &site, 4.0);
                let speed_mps = 2.0 + 8.0 * drawn.next();
                let clear = watch.all_clear(&shots, speed_mps);
                let mut is_near =
                    |(pose, along): &(&Pose, DVec3)| watch.allowed(pose, *along, speed_mps).is_some();
                let each_clear = !shots.iter().any(&mut is_near);
                assert!(!clear || each_clear, "{seed} {k}");
                together += u32::from(clear);
                alone += u32::from(each_clear && !clear);
                near += u32::from(!each_clear);
            }
        }
        assert!(together > 60 && near > 60 && alone < together, "{together} {alone} {near}");
    }

    /// Derived: what is closest is the closest of the ground and of all solids, to the last bit, whether ground has to be looked
    /// for or not, on a site without solids, and of a plane.
    #[test]
    fn the_closest_is_that_of_ground_and_solids() {
        let (mut ground, mut solid) = (0, 0);
        for seed in 0..12 {
            let mut site = site(seed, 5.0 * f64::from(seed % 4), 0);
            if seed % 4 == 3 {
                site.obstacles.clear();
            }
            if seed % 4 == 2 {
                site.terrain = Terrain::Plane { at_origin_m: -3.0, slope_east: 0.1, slope_north: -0.05 };
            }
            let (mut drawn, watch) = (Lots(seed + 3), Nearest::new(camera(), &site, 4.0));
            for _ in 0..60 {
                let at = drawn.place(SIDE_M);
                let at = at.extend(site.terrain.height_m(at) + 90.0 * drawn.next());
                let ground_m = site.terrain.closest_m(at, 0.0);
                let of_solid_m = |solid: &Obstacle| {
                    let above_m = (at.z - solid.top_z_m).max(solid.bottom_z_m - at.z).max(0.0);
                    distance_m(&solid.ring_m, at.truncate()).hypot(above_m)
                };
                let all_m = site.obstacles.iter().map(of_solid_m).fold(ground_m, f64::min);
                assert_eq!(watch.closest_m(at), all_m, "{seed} {at}");
                (ground, solid) =
                    (ground + u32::from(all_m == ground_m), solid + u32::from(all_m < ground_m));
            }
        }
        assert!(ground > 100 && solid > 100, "{ground} {solid}");
    }

    /// Derived: what a corner of a piece moves by, and how long its ray is, is greatest at one of the frame's own corners, to
    /// the last bit.
    #[test]
    fn the_corners_of_a_frame_are_its_extremes() {
        let mut drawn = Lots(23);
        for k in 0..300 {
            let position_m = DVec3::new(0.0, 0.0, 50.0);
            let (heading_rad, tilt_rad) = (6.3 * drawn.next(), 1.6 * drawn.next());
            let camera =
                PosedCamera::new(camera(), &Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 });
            let along = DVec3::new(drawn.next() - 0.5, drawn.next() - 0.5, 0.4 * drawn.next()).normalize();
            let greatest = |pieces: u32| {
                let view = View::of(&camera, pieces);
                let velocity = view.seen(along);
                let corners = || view.corners().flatten();
                let ray = corners().map(|at| at.extend(1.0).length()).fold(0.0, f64::max);
                (ray, corners().map(|at| moved(velocity, at)).fold(0.0, f64::max))
            };
            assert_eq!(greatest(1), greatest(PIECES_ON_GROUND), "{k}");
        }
    }

    /// Derived: square before a wall the whole frame moves alike; tilted by 30° from level its upper edge, at 30° from the
    /// axis less what the frame spans, comes nearer: cos 30° + b sin 30° times.
    #[test]
    fn walls_come_nearer_where_the_frame_looks_squarely() {
        assert!((before_wall(&camera(), FRAC_PI_2, 0.0) - 1.0).abs() < 1e-12);
        let tilted = before_wall(&camera(), PI / 3.0, 0.0);
        let expected = (PI / 6.0).cos() + 0.5 * (PI / 6.0).sin();
        assert!((tilted - expected).abs() < 1e-12, "{tilted} {expected}");
    }

    /// Derived: what is put together of what each coordinate adds is what the corners of every piece give, taken one by one, to
    /// the last bit.
    #[test]
    fn the_fastest_piece_is_that_of_all_corners() {
        let mut drawn = Lots(11);
        for _ in 0..300 {
            let view = View::new(&camera(), 3.0 * drawn.next(), 6.3 * drawn.next());
            let [normal, velocity] =
                [DVec3::Y, DVec3::X].map(|way| view.seen(Quat::from_rotation_z(6.3 * drawn.next()) * way));
            let q = |at: DVec2| normal.x * at.x + normal.y * at.y + normal.z;
            let most = |corners: [DVec2; 4]| {
                let greatest =
                    |worth: &dyn Fn(DVec2) -> f64| corners.map(worth).into_iter().fold(0.0, f64::max);
                greatest(&q) * greatest(&|at| moved(velocity, at))
            };
            assert_eq!(view.fastest(normal, velocity), view.corners().map(most).fold(0.0, f64::max));
        }
    }
}
