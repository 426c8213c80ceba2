//! What of the drawn is under the pointer.

use super::outlines::{Outlines, middle_m};
use super::snap::{Closed, nearest_on, sides};
use crate::target::Target;
use glam::DVec2;
use obliquity_planning::polygon;

/// What is under the pointer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Under {
    /// A corner of what is chosen.
    Corner(Target, usize),
    /// The middle of the side after a corner of what is chosen.
    Middle(Target, usize),
    /// What turns it.
    Turn(Target),
    /// A shape.
    Shape(Target),
    /// Nothing that is drawn.
    Nothing,
}

/// How far beyond a shape its turning handle stands, in times of the reach.
const HANDLE: f64 = 3.5;

/// A side whose middle is nearer to its ends than this many times the reach has no handle there.
const LEAST_SIDE: f64 = 4.0;

impl Outlines {
    /// What is under a place, as near as `reach_m`. Handles of what is chosen go before everything else; of areas that lie
    /// over each other the smallest counts.
    pub fn under(&self, at_m: DVec2, reach_m: f64, chosen: Option<Target>) -> Under {
        chosen
            .and_then(|target| self.handle_at(target, at_m, reach_m))
            .unwrap_or_else(|| self.shape_at(at_m, reach_m).map_or(Under::Nothing, Under::Shape))
    }

    fn handle_at(&self, of: Target, at_m: DVec2, reach_m: f64) -> Option<Under> {
        let corners_m = self.corners_m(of)?;
        if of.is_point() {
            return None;
        }
        let near = |place_m: DVec2| place_m.distance(at_m) <= reach_m;
        let corner = nearest(&corners_m, at_m).filter(|at| near(corners_m[*at]));
        if let Some(at) = corner {
            return Some(Under::Corner(of, at));
        }
        if near(turn_handle_m(&corners_m, reach_m)) {
            return Some(Under::Turn(of));
        }
        middles_m(of, &corners_m, reach_m)
            .into_iter()
            .find(|(_, place_m)| near(*place_m))
            .map(|(at, _)| Under::Middle(of, at))
    }

    /// The shape under a place: points first, then lines, areas, and the boundary by its edge.
    pub fn shape_at(&self, at_m: DVec2, reach_m: f64) -> Option<Target> {
        let shapes: Vec<(Target, Vec<DVec2>)> =
            self.targets().into_iter().filter_map(|target| Some((target, self.corners_m(target)?))).collect();
        let apart_m = |(target, corners_m): &(Target, Vec<DVec2>)| edge_distance_m(*target, corners_m, at_m);
        let points = shapes.iter().filter(|(target, _)| target.is_point());
        let near =
            points.map(|shape| (apart_m(shape), shape.0)).filter(|(apart_m, _)| *apart_m <= 1.4 * reach_m);
        if let Some((_, target)) = near.min_by(|a, b| a.0.total_cmp(&b.0)) {
            return Some(target);
        }
        let lines = shapes.iter().filter(|(target, _)| !target.is_point() && !target.is_closed());
        if let Some((target, _)) = lines.clone().find(|shape| apart_m(shape) <= reach_m) {
            return Some(*target);
        }
        let areas = shapes.iter().filter(|(target, _)| target.is_closed() && *target != Target::Boundary);
        let holding =
            areas.filter(|shape| polygon::contains(&shape.1, at_m) || apart_m(shape) <= reach_m / 2.0);
        let smallest = holding.min_by(|a, b| polygon::area_m2(&a.1).total_cmp(&polygon::area_m2(&b.1)));
        if let Some((target, _)) = smallest {
            return Some(*target);
        }
        shapes
            .iter()
            .find(|shape| shape.0 == Target::Boundary && apart_m(shape) <= reach_m)
            .map(|shape| shape.0)
    }
}

fn edge_distance_m(of: Target, corners_m: &[DVec2], at_m: DVec2) -> f64 {
    if let [only] = corners_m {
        return only.distance(at_m);
    }
    let closed = if of.is_closed() { Closed::Yes } else { Closed::No };
    sides(corners_m, closed).map(|(a, b)| nearest_on(a, b, at_m).distance(at_m)).fold(f64::INFINITY, f64::min)
}

/// The corner nearest to a place.
pub(super) fn nearest(corners_m: &[DVec2], at_m: DVec2) -> Option<usize> {
    let apart = |at: &usize| corners_m[*at].distance_squared(at_m);
    (0..corners_m.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)))
}

/// The middles of the sides that are long enough to hold a handle, with the corner before each.
pub fn middles_m(of: Target, corners_m: &[DVec2], reach_m: f64) -> Vec<(usize, DVec2)> {
    let closed = if of.is_closed() { Closed::Yes } else { Closed::No };
    sides(corners_m, closed)
        .enumerate()
        .filter(|(_, (a, b))| a.distance(*b) >= LEAST_SIDE * reach_m)
        .map(|(at, (a, b))| (at, a.midpoint(b)))
        .collect()
}

/// Where the handle stands that turns a shape: beyond its northern end.
pub fn turn_handle_m(corners_m: &[DVec2], reach_m: f64) -> DVec2 {
    let north_m = corners_m.iter().map(|at_m| at_m.y).fold(f64::NEG_INFINITY, f64::max);
    DVec2::new(middle_m(corners_m).x, north_m + HANDLE * reach_m)
}
