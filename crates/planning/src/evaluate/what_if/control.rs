//! How the number of control points bears on accuracy, and what each number takes on site.

use super::quiet::Quiet;
use crate::base::Id;
use crate::evaluate::stages::Extent;
use crate::evaluate::{Evaluator, Stopped};
use crate::geometry::polygon;
use crate::result::{Depth, MeasureId};
use crate::scenario::{Accuracy, ControlPoint, PointRole, Scenario, Site};
use glam::DVec2;
use std::sync::Arc;

/// Numbers of control points that are tried: common practice, no source.
pub const CONTROL_COUNTS: [u32; 6] = [0, 4, 5, 8, 12, 16];

/// Places along the shorter way across a site of which points are chosen.
const ACROSS: f64 = 20.0;

/// What is expected with so many control points, spread over the site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlTrial {
    /// How many.
    pub points: u32,
    /// What placing and measuring them takes on site.
    pub on_site_s: f64,
    /// Root mean square error of places, in metres; nothing where nothing holds the block.
    pub horizontal_m: Option<f64>,
    /// The same of heights.
    pub vertical_m: Option<f64>,
    /// How deep it was tried: [`Depth::Preview`] or [`Depth::Network`].
    pub depth: Depth,
}

impl ControlTrial {
    /// Whether it is as accurate as is asked.
    pub fn meets(&self, asked: &Accuracy) -> bool {
        let within = |limit_m: Option<f64>, error_m: Option<f64>| {
            limit_m.is_none_or(|limit_m| error_m.is_some_and(|error_m| error_m <= limit_m))
        };
        within(asked.horizontal_rmse_m(), self.horizontal_m)
            && within(asked.vertical_rmse_m(), self.vertical_m)
    }
}

/// Places of so many control points on a site: each as far as can be from those before it, the first far from the middle: corners,
/// then sides and the middle. None stands in a structure or where one must not fly over; where there is no room there are fewer.
///
/// # Units
/// - returns: metres in the local frame
///
/// # References
/// Practice: control at the corners, along the edge and in the middle. Derived: farthest points first.
pub fn spread_points(site: &Site, count: u32) -> Vec<DVec2> {
    let places = places(site);
    let middle = polygon::centroid_m(&site.boundary_m);
    let far = |from: &[DVec2], place: DVec2| {
        from.iter().map(|other| other.distance_squared(place)).fold(f64::INFINITY, f64::min)
    };
    let mut chosen: Vec<DVec2> = Vec::new();
    while chosen.len() < count as usize && chosen.len() < places.len() {
        let from = if chosen.is_empty() { &[middle][..] } else { chosen.as_slice() };
        // of equals the last
        let farthest = places.iter().copied().max_by(|a, b| far(from, *a).total_cmp(&far(from, *b)));
        chosen.extend(farthest);
    }
    chosen
}

/// Places on a lattice inside the boundary, half a step and more from its ends.
fn places(site: &Site) -> Vec<DVec2> {
    let nothing = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    let corners = site.boundary_m.iter();
    let (low, high) = corners.fold(nothing, |(low, high), at| (low.min(*at), high.max(*at)));
    let extent = high - low;
    if !(extent.min_element() > 0.0 && extent.is_finite()) {
        return Vec::new();
    }
    let step_m = extent.min_element() / ACROSS;
    // Of a long corridor no more than of a field.
    let step_m = step_m.max((extent.x * extent.y).sqrt() / (2.0 * ACROSS));
    let steps = (extent / step_m).floor().max(DVec2::ONE);
    let step = extent / steps;
    let stands = |at: DVec2| {
        let structures = site.structures.iter().map(|structure| &structure.footprint_m);
        let shut = site.keep_outs.iter().map(|keep_out| &keep_out.outline_m);
        structures.chain(shut).any(|ring| polygon::contains(ring, at))
    };
    let at = |x: u32, y: u32| low + (DVec2::new(f64::from(x), f64::from(y)) + 0.5) * step;
    let lattice = (0..steps.y as u32).flat_map(|y| (0..steps.x as u32).map(move |x| at(x, y)));
    lattice.filter(|at| polygon::contains(&site.boundary_m, *at) && !stands(*at)).collect()
}

impl Evaluator<'_> {
    /// What is expected of a strategy with each of some numbers of control points, spread over the site in place of its own.
    /// Check points stay as they are.
    ///
    /// # Errors
    /// [`Stopped::Cancelled`] when the watch says so; [`Stopped::Refused`] when the scenario cannot be evaluated.
    pub fn control_trials(
        &self,
        scenario: &Scenario,
        strategy: Id,
        (counts, depth): (&[u32], Depth),
    ) -> Result<Vec<ControlTrial>, Stopped> {
        let per_point_s = 60.0 * scenario.conditions_of(strategy).per_control_point_min;
        let trial = |(done, count): (usize, &u32)| {
            let watch = Quiet { watch: self.watch, done: done as u64, total: counts.len() as u64 };
            watch.watch.step(watch.done, watch.total)?;
            let set = with_control(scenario, *count);
            let evaluator = Evaluator { store: self.store, watch: &watch };
            let tried = evaluator.try_out(&set, strategy, depth, Extent::Judgements)?;
            let metres = |of: MeasureId| tried.figure(of).map(|mm| mm / 1000.0);
            Ok(ControlTrial {
                points: *count,
                on_site_s: f64::from(*count) * per_point_s,
                horizontal_m: metres(MeasureId::AccuracyHorizontal),
                vertical_m: metres(MeasureId::AccuracyVertical),
                depth,
            })
        };
        counts.iter().enumerate().map(trial).collect()
    }
}

/// A scenario with so many control points spread over its site in place of its own.
fn with_control(scenario: &Scenario, count: u32) -> Scenario {
    let mut set = scenario.clone();
    let spread = spread_points(&scenario.site, count);
    let site = Arc::make_mut(&mut set.site);
    site.control_points.retain(|point| !point.role.is_control());
    site.control_points.extend((1..).zip(spread).map(|(number, at_m): (u32, DVec2)| ControlPoint {
        name: format!("spread {number}"),
        at_m,
        role: PointRole::Control,
    }));
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(corners: &[(f64, f64)]) -> Site {
        Site {
            name: String::new(),
            origin: None,
            boundary_m: corners.iter().copied().map(DVec2::from).collect(),
            take_off_m: DVec2::ZERO,
            terrain: crate::scenario::Terrain::default(),
            structures: Vec::new(),
            typical_building: None,
            keep_outs: Vec::new(),
            control_points: Vec::new(),
            sample_spacing_m: None,
        }
    }

    /// Derived: of a square the four corners come first, then its middle, each but half a step of the lattice from there, by hand:
    /// 20 steps of 10 m.
    #[test]
    fn points_stand_in_corners_and_then_in_the_middle() {
        let square = field(&[(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0)]);
        let five = spread_points(&square, 5);
        let mut corners = five[..4].to_vec();
        corners.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        let expected = [(5.0, 5.0), (5.0, 195.0), (195.0, 5.0), (195.0, 195.0)].map(DVec2::from);
        assert_eq!(corners, expected);
        assert!(five[4].distance(DVec2::splat(100.0)) < 8.0, "{}", five[4]);
        assert_eq!(spread_points(&square, 4), five[..4], "more leaves the first where they are");
        assert!(spread_points(&square, 0).is_empty());
    }

    #[test]
    fn no_point_stands_outside_or_in_what_is_shut() {
        let mut bent =
            field(&[(0.0, 0.0), (300.0, 0.0), (300.0, 40.0), (40.0, 40.0), (40.0, 200.0), (0.0, 200.0)]);
        bent.keep_outs.push(crate::scenario::KeepOut {
            name: "pond".to_owned(),
            outline_m: [(250.0, 0.0), (300.0, 0.0), (300.0, 40.0), (250.0, 40.0)].map(DVec2::from).to_vec(),
        });
        let points = spread_points(&bent, 12);
        assert_eq!(points.len(), 12);
        for at in points {
            assert!(polygon::contains(&bent.boundary_m, at), "{at}");
            assert!(!polygon::contains(&bent.keep_outs[0].outline_m, at), "{at}");
        }
    }

    /// Derived: a limit is met by what is as small; what nothing holds meets no limit; where none is asked all is met.
    #[test]
    fn what_is_not_held_meets_nothing_that_is_asked() {
        let trial = |vertical_m| ControlTrial {
            points: 4,
            on_site_s: 0.0,
            horizontal_m: Some(0.02),
            vertical_m,
            depth: Depth::Network,
        };
        let asked = Accuracy { vertical_m: Some(0.03), ..Accuracy::default() };
        assert!(trial(Some(0.03)).meets(&asked) && !trial(Some(0.031)).meets(&asked));
        assert!(!trial(None).meets(&asked) && trial(None).meets(&Accuracy::default()));
    }
}
