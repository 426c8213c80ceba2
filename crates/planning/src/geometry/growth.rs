//! Convex rings with a clearance round them, made ready for being grown again and again.

use crate::geometry::polygon::bounds;
use glam::DVec2;

/// How a convex counter-clockwise ring grows: what of it depends on no clearance.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct GrowingRing {
    corners: Vec<GrownCorner>,
    /// A circle about the ring.
    middle_m: DVec2,
    radius_m: f64,
}

#[derive(Debug, Clone, PartialEq)]
struct GrownCorner {
    at_m: DVec2,
    /// Out of the side that begins here.
    outward: DVec2,
    /// Between that and the one out of the side before.
    middle: DVec2,
    /// Where the two corners that it grows to lie for each metre that a side moves by this share of.
    grown: [(DVec2, f64); 2],
}

impl GrowingRing {
    pub(crate) fn of(ring: &[DVec2]) -> Self {
        let n = ring.len();
        let outward = |k: usize| -(ring[(k + 1) % n] - ring[k]).perp().normalize_or_zero();
        let corner = |k: usize| {
            let (before, after) = (outward((k + n - 1) % n), outward(k));
            let middle = (before + after).normalize_or_zero();
            let grown = [before, after].map(|side| {
                let toward = (side + middle).normalize_or_zero();
                (toward, toward.dot(side).max(0.1))
            });
            GrownCorner { at_m: ring[k], outward: after, middle, grown }
        };
        let (low, high) = bounds(ring);
        GrowingRing {
            corners: (0..n).map(corner).collect(),
            middle_m: low.midpoint(high),
            radius_m: low.distance(high) / 2.0,
        }
    }

    /// The ring with a clearance round it: the sides' offsets exactly, corners cut outside the clearance's circle.
    pub(crate) fn by(&self, clearance_m: f64) -> Vec<DVec2> {
        if clearance_m <= 0.0 {
            return self.corners.iter().map(|corner| corner.at_m).collect();
        }
        let mut ring = Vec::with_capacity(2 * self.corners.len());
        for corner in &self.corners {
            ring.extend(corner.grown.map(|(toward, share)| corner.at_m + toward * (clearance_m / share)));
        }
        ring
    }

    /// The clearance with which the grown ring just reaches a place, 0 inside, where it is less than enough; else some that
    /// is no less than that.
    pub(crate) fn room_m(&self, at: DVec2, enough_m: f64) -> f64 {
        let mut room_m = 0.0_f64;
        for corner in &self.corners {
            let from_corner = at - corner.at_m;
            room_m = room_m.max(corner.outward.dot(from_corner).max(corner.middle.dot(from_corner)));
            if room_m >= enough_m {
                break;
            }
        }
        room_m
    }

    /// Whether no way between two places, no longer than that, comes to the ring with a clearance round it.
    pub(crate) fn out_of_reach(&self, (from, to): (DVec2, DVec2), clearance_m: f64, most_m: f64) -> bool {
        let (middle_m, radius_m) = self.circle_m(clearance_m);
        middle_m.distance(from) + middle_m.distance(to) - 2.0 * radius_m > most_m
    }

    /// Whether a segment stays outside a circle about the ring with a clearance round it: the quick answer for most.
    pub(crate) fn surely_clear_of(&self, (a, b): (DVec2, DVec2), clearance_m: f64) -> bool {
        let (middle_m, radius_m) = self.circle_m(clearance_m);
        let (way, to_middle, radius_m2) = (b - a, middle_m - a, radius_m * radius_m);
        let (along, way_m2) = (way.dot(to_middle), way.length_squared());
        if along <= 0.0 {
            to_middle.length_squared() > radius_m2
        } else if along >= way_m2 {
            middle_m.distance_squared(b) > radius_m2
        } else {
            let across = way.perp_dot(to_middle);
            across * across > radius_m2 * way_m2
        }
    }

    /// The same of a place.
    pub(crate) fn surely_off(&self, at: DVec2, clearance_m: f64) -> bool {
        let (middle_m, radius_m) = self.circle_m(clearance_m);
        at.distance_squared(middle_m) > radius_m * radius_m
    }

    /// Whether a place lies in a circle about the ring: outside it it does not lie in the ring.
    pub(crate) fn may_hold(&self, at: DVec2) -> bool {
        at.distance_squared(self.middle_m) <= self.radius_m * self.radius_m
    }

    /// A circle that the ring with a clearance round it does not leave: its middle and radius.
    pub(crate) fn circle_m(&self, clearance_m: f64) -> (DVec2, f64) {
        (self.middle_m, self.radius_m + CUT_RATIO * clearance_m.max(0.0))
    }

    /// Least and greatest distances of the ring with up to a clearance round it, along a direction from a place and to its
    /// left.
    pub(crate) fn box_along(&self, from: DVec2, along: DVec2, clearance_m: f64) -> (DVec2, DVec2) {
        let corners = self.corners.iter().flat_map(|corner| {
            let grown = corner.grown.map(|(toward, share)| toward * (clearance_m.max(0.0) / share));
            [DVec2::ZERO, grown[0], grown[1]].map(|moved| corner.at_m + moved - from)
        });
        corners.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| {
            let place = DVec2::new(along.dot(at), along.perp_dot(at));
            (low.min(place), high.max(place))
        })
    }

    /// Corners of the grown ring.
    pub(crate) fn corners(&self) -> usize {
        2 * self.corners.len()
    }
}

/// Corners are cut at most at √2 times the clearance from where they were.
pub(crate) const CUT_RATIO: f64 = 1.5;
