//! How an outline lies: directions fixed by its own shape and the take-off point.
//!
//! They move, turn and mirror with the site, whatever frame it is drawn in, whichever corner its outline begins at and
//! whichever way round it runs. Only where the site is symmetric does something else decide: the left-hand side as seen
//! from the take-off point, and at last the compass.

use crate::base::choice::{EQUAL_RATIO, first_that_tells, least};
use crate::geometry::polygon::{centroid_m, sides, sweeps};
use glam::DVec2;

/// The direction in which strips over an outline are fewest: parallel to the side of its hull across which it is least
/// wide; of several, the one whose middle is nearest to the take-off point. It leads away from the take-off point.
pub(crate) fn strips_along(ring: &[DVec2], home_m: DVec2) -> DVec2 {
    let (size_m, middle) = (size_m(ring), centroid_m(ring));
    let found = sweeps(ring);
    let keys = found.iter().map(|sweep| {
        let (at, length_m) = (sweep.from_m.midpoint(sweep.to_m), sweep.from_m.distance(sweep.to_m));
        [sweep.width_m, at.distance(home_m), -length_m, to_the_right_m(home_m, middle, at)]
    });
    let best = least(keys, size_m).map(|k| (found[k].to_m - found[k].from_m).normalize_or_zero());
    away_from(home_m, ring, best.unwrap_or(DVec2::Y))
}

/// A line's direction with a sense: away from the take-off point; abeam of it, toward the heavier end of the outline.
pub(crate) fn away_from(home_m: DVec2, ring: &[DVec2], along: DVec2) -> DVec2 {
    let (size_m, middle) = (size_m(ring), centroid_m(ring));
    let away = middle - home_m;
    let beyond = away.dot(along.perp());
    let side = if beyond.abs() > EQUAL_RATIO * size_m { beyond.signum() } else { 0.0 };
    let places =
        || ring.iter().map(|p| DVec2::new((*p - middle).dot(along), (*p - middle).dot(along.perp())));
    let (low, high) =
        places().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p.x), high.max(p.x)));
    let slanting = places().map(|p| p.x * p.y).sum::<f64>() / (size_m * ring.len() as f64);
    let northward = if along.y.abs() > EQUAL_RATIO { along.y } else { along.x };
    let tells = [away.dot(along), -(low + high), side * slanting, -beyond];
    let sense = first_that_tells(tells, size_m).unwrap_or(northward);
    if sense < 0.0 { -along } else { along }
}

/// The direction of an outline's longest side, as a line; of several that differ, the one whose middle is nearest to the
/// take-off point.
pub(crate) fn longest_side(ring: &[DVec2], home_m: DVec2) -> DVec2 {
    let (size_m, middle) = (size_m(ring), centroid_m(ring));
    let found: Vec<(DVec2, DVec2)> = sides(ring).collect();
    let longest_m = found.iter().map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
    let is_longest = |(a, b): &(DVec2, DVec2)| a.distance(*b) >= longest_m - EQUAL_RATIO * size_m;
    let equal: Vec<(DVec2, DVec2)> = found.into_iter().filter(is_longest).collect();
    let Some(first) = equal.first().map(|(a, b)| (*b - *a).normalize_or_zero()) else { return DVec2::X };
    // Where all of them are parallel the take-off point has no say.
    let parallel = equal.iter().all(|(a, b)| (*b - *a).perp_dot(first).abs() <= EQUAL_RATIO * size_m);
    let keys = equal.iter().map(|(a, b)| {
        let at = a.midpoint(*b);
        [at.distance(home_m), at.distance(middle), to_the_right_m(home_m, middle, at)]
    });
    let chosen = if parallel { Some(first) } else { least(keys, size_m).map(|k| equal[k].1 - equal[k].0) };
    let along = chosen.map_or(DVec2::X, DVec2::normalize_or_zero);
    if (if along.y.abs() > EQUAL_RATIO { along.y } else { along.x }) < 0.0 { -along } else { along }
}

/// Places on axes along and across a direction.
pub(crate) fn on_axes(ring: &[DVec2], along: DVec2) -> Vec<DVec2> {
    ring.iter().map(|at| DVec2::new(at.dot(along), at.dot(along.perp()))).collect()
}

/// How far a place lies to the right of the way from the take-off point to the middle; below 0 to the left.
pub(crate) fn to_the_right_m(home_m: DVec2, middle_m: DVec2, at_m: DVec2) -> f64 {
    -(middle_m - home_m).normalize_or_zero().perp_dot(at_m - home_m)
}

/// Size of an outline for telling what is equal on it: twice the distance from its middle to its farthest corner.
pub(crate) fn size_m(ring: &[DVec2]) -> f64 {
    let middle = centroid_m(ring);
    2.0 * ring.iter().map(|p| p.distance(middle)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use crate::geometry::lie::*;

    fn ring(corners: &[(f64, f64)]) -> Vec<DVec2> {
        corners.iter().copied().map(DVec2::from).collect()
    }

    fn assert_along(found: DVec2, expected: (f64, f64)) {
        assert!(found.distance(DVec2::from(expected).normalize()) < 1e-9, "{found}");
    }

    /// Derived: strips of a square run along the side that the take-off point is nearest to, away from it.
    #[test]
    fn a_square_is_decided_by_the_take_off_point() {
        let square = ring(&[(0., 0.), (100., 0.), (100., 100.), (0., 100.)]);
        for start in 0..4 {
            let mut begun = square.clone();
            begun.rotate_left(start);
            assert_along(strips_along(&begun, DVec2::new(20., -10.)), (1., 0.));
            assert_along(strips_along(&begun, DVec2::new(80., -10.)), (-1., 0.));
            assert_along(strips_along(&begun, DVec2::new(-10., 80.)), (0., -1.));
            assert_along(longest_side(&begun, DVec2::new(-10., 80.)), (0., 1.));
            begun.reverse();
            assert_along(strips_along(&begun, DVec2::new(110., 20.)), (0., 1.));
        }
    }

    /// Derived: abeam of the take-off point the heavier end decides, and of a slanting outline its slant.
    #[test]
    fn abeam_the_outline_decides() {
        // The centroid of this wedge lies at 300 · (2 · 80 + 40) / (3 · 120) = 166.7 m along.
        let wedge = ring(&[(0., 0.), (300., 0.), (300., 80.), (0., 40.)]);
        let home = DVec2::new(centroid_m(&wedge).x, -50.0);
        assert_along(away_from(home, &wedge, DVec2::X), (1., 0.));
        assert_along(away_from(home, &wedge, -DVec2::X), (1., 0.));
        let slanting = ring(&[(0., 0.), (300., 0.), (340., 80.), (40., 80.)]);
        let below = DVec2::new(170., -50.);
        assert_along(away_from(below, &slanting, DVec2::X), (1., 0.));
        assert_along(away_from(DVec2::new(170., 130.), &slanting, DVec2::X), (-1., 0.));
    }
}
