use crate::base::limits;
use crate::geometry::polygon::{area_m2, sides};
use geo::kernels::{Kernel, Orientation, RobustKernel};
use geo::{Coord, coord};
use glam::DVec2;

/// Something wrong with an outline: which corner it shows at, if one, and the sentence without its subject.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutlineFault {
    /// Index of the corner.
    pub corner: Option<usize>,
    /// `must have at least 3 corners, but it has 2`
    pub problem: String,
    /// `add the missing ones`; for outlines in metres.
    pub mend: &'static str,
}

impl OutlineFault {
    /// Problem and mend: `must have at least 3 corners, but it has 2; add the missing ones`.
    pub fn message(&self) -> String {
        format!("{}; {}", self.problem, self.mend)
    }

    /// The fault where the outline was not given in metres: what is mended in metres is mended as `elsewhere` says.
    #[must_use]
    pub fn mended_elsewhere(self, elsewhere: &'static str) -> Self {
        let in_metres = [IN_METRES, limits::COORDINATE_M.mend].contains(&self.mend);
        if in_metres { OutlineFault { mend: elsewhere, ..self } } else { self }
    }

    fn whole(problem: String, mend: &'static str) -> Self {
        OutlineFault { corner: None, problem, mend }
    }

    fn at(corner: usize, problem: String, mend: &'static str) -> Self {
        OutlineFault { corner: Some(corner), problem, mend }
    }
}

/// The mend of an outline whose numbers are perhaps no metres.
const IN_METRES: &str = "give its corners in metres";

/// Everything wrong with an outline: count of corners, coordinates, repeated corners, crossing sides, area.
///
/// Crossings are decided exactly (adaptive-precision orientation), so that a side that just touches another counts.
///
/// # Units
/// - `outline_m`: metres, east and north
///
/// # Shape
/// - `outline_m`: open ring, either winding, in metres
///
/// # Examples
/// A square drawn in the order of an hourglass has one fault: two of its sides cross.
pub fn outline_faults(outline_m: &[DVec2]) -> Vec<OutlineFault> {
    let count = outline_m.len();
    if count < 3 {
        let problem = format!("must have at least 3 corners, but it has {count}");
        return vec![OutlineFault::whole(problem, "add the missing ones")];
    }
    if count > limits::CORNERS {
        let most = limits::CORNERS;
        let problem = format!("must have at most {most} corners, but it has {count}");
        return vec![OutlineFault::whole(problem, "leave out every other one")];
    }
    let mut faults = coordinate_faults(outline_m);
    if faults.is_empty() {
        faults = repeated_corners(outline_m);
    }
    if faults.is_empty() {
        faults.extend(first_crossing(outline_m));
    }
    if faults.is_empty() {
        faults.extend(too_small(outline_m));
    }
    faults
}

fn coordinate_faults(outline_m: &[DVec2]) -> Vec<OutlineFault> {
    let limit = limits::COORDINATE_M;
    let outside = |at: &DVec2| !limit.holds(at.x) || !limit.holds(at.y);
    let bad = outline_m.iter().enumerate().filter(|(_, at)| outside(at));
    bad.map(|(corner, at)| OutlineFault::at(corner, coordinate_problem(*at), limit.mend)).collect()
}

pub(super) fn coordinate_message(at: DVec2) -> String {
    format!("{}; {}", coordinate_problem(at), limits::COORDINATE_M.mend)
}

fn coordinate_problem(at: DVec2) -> String {
    format!(
        "must lie within {} km of the frame's origin in both directions, but it is at ({}, {})",
        limits::COORDINATE_M.most / 1000.0,
        crate::scenario::faults::shown(at.x),
        crate::scenario::faults::shown(at.y)
    )
}

fn repeated_corners(outline_m: &[DVec2]) -> Vec<OutlineFault> {
    let mut order: Vec<usize> = (0..outline_m.len()).collect();
    let key = |i: usize| outline_m[i] + 0.0; // −0 and 0 are the same place
    let by_place = |&i: &usize, &j: &usize| {
        key(i).x.total_cmp(&key(j).x).then(key(i).y.total_cmp(&key(j).y)).then(i.cmp(&j))
    };
    order.sort_by(by_place);
    let repeats = order.windows(2).filter(|pair| key(pair[0]) == key(pair[1]));
    let last = outline_m.len() - 1;
    let fault = |pair: &[usize]| {
        let (first, again) = (pair[0], pair[1]);
        if first == 0 && again == last {
            let problem = "must be an open ring, but its last corner repeats the first".to_owned();
            return OutlineFault::at(again, problem, "leave the last one out");
        }
        let problem =
            format!("must not repeat a corner, but corner {} is corner {} again", again + 1, first + 1);
        OutlineFault::at(again, problem, "leave one out")
    };
    let mut faults: Vec<OutlineFault> = repeats.map(fault).collect();
    faults.sort_by_key(|fault| fault.corner);
    faults
}

/// The first two sides found that touch where they should not, by a sweep along x.
fn first_crossing(outline_m: &[DVec2]) -> Option<OutlineFault> {
    let sides: Vec<(DVec2, DVec2)> = sides(outline_m).collect();
    let count = sides.len();
    let mut order: Vec<usize> = (0..count).collect();
    let west = |i: usize| sides[i].0.x.min(sides[i].1.x);
    order.sort_by(|&i, &j| west(i).total_cmp(&west(j)).then(i.cmp(&j)));
    for (rank, &i) in order.iter().enumerate() {
        let east = sides[i].0.x.max(sides[i].1.x);
        for &j in order[rank + 1..].iter().take_while(|&&j| west(j) <= east) {
            if sides_clash(&sides, i, j) {
                let (i, j) = (i.min(j), i.max(j));
                let problem = format!("must not cross or touch itself, but sides {} and {} do", i + 1, j + 1);
                return Some(OutlineFault::at(i, problem, "put its corners in order along the edge"));
            }
        }
    }
    None
}

/// Whether two different sides of a ring meet elsewhere than in the corner that neighbours share.
fn sides_clash(sides: &[(DVec2, DVec2)], i: usize, j: usize) -> bool {
    let count = sides.len();
    let (before, after) = if (i + 1) % count == j {
        (sides[i], sides[j])
    } else if (j + 1) % count == i {
        (sides[j], sides[i])
    } else {
        return segments_meet(sides[i], sides[j]);
    };
    // Neighbours share a corner; they clash only when the second runs back along the first.
    orientation(before.0, before.1, after.1) == Orientation::Collinear
        && (before.0 - before.1).dot(after.1 - after.0) > 0.0
}

fn segments_meet((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> bool {
    if a.y.max(b.y) < c.y.min(d.y) || c.y.max(d.y) < a.y.min(b.y) {
        return false;
    }
    let (abc, abd) = (orientation(a, b, c), orientation(a, b, d));
    let (cda, cdb) = (orientation(c, d, a), orientation(c, d, b));
    if abc == Orientation::Collinear && abd == Orientation::Collinear {
        let overlap = |a: f64, b: f64, c: f64, d: f64| a.max(b) >= c.min(d) && c.max(d) >= a.min(b);
        return overlap(a.x, b.x, c.x, d.x) && overlap(a.y, b.y, c.y, d.y);
    }
    abc != abd && cda != cdb
}

/// Which side of the line from a to b the place c lies on, exactly: plain arithmetic where its rounding error cannot
/// change the sign (Shewchuk 1997, Adaptive precision floating-point arithmetic, bound A), else the robust kernel.
fn orientation(a: DVec2, b: DVec2, c: DVec2) -> Orientation {
    const BOUND_A: f64 = 3.330_669_073_875_471_6e-16;
    let (left, right) = ((a.x - c.x) * (b.y - c.y), (a.y - c.y) * (b.x - c.x));
    let determinant = left - right;
    if determinant.abs() > BOUND_A * (left.abs() + right.abs()) {
        return if determinant > 0.0 { Orientation::CounterClockwise } else { Orientation::Clockwise };
    }
    let at = |p: DVec2| -> Coord<f64> {
        coord! { x: p.x, y: p.y }
    };
    RobustKernel::orient2d(at(a), at(b), at(c))
}

fn too_small(outline_m: &[DVec2]) -> Option<OutlineFault> {
    let area = area_m2(outline_m);
    (area <= limits::AREA_M2).then(|| {
        let problem = format!(
            "must enclose more than {} m², but it encloses {}",
            limits::AREA_M2,
            crate::scenario::faults::shown(area)
        );
        OutlineFault::whole(problem, IN_METRES)
    })
}

#[cfg(test)]
mod tests {
    use crate::scenario::check::outline::*;

    fn ring(corners: &[(f64, f64)]) -> Vec<DVec2> {
        corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect()
    }

    fn messages(corners: &[(f64, f64)]) -> String {
        outline_faults(&ring(corners)).iter().map(OutlineFault::message).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn an_l_shape_is_fine_in_either_winding() {
        let mut corners =
            vec![(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)];
        assert_eq!(messages(&corners), "");
        corners.reverse();
        assert_eq!(messages(&corners), "");
        // Derived: 30 × 10 + 10 × 20.
        assert!((area_m2(&ring(&corners)) - 500.0).abs() < 1e-9, "exact in binary but for the sum");
    }

    #[test]
    fn an_hourglass_a_spike_and_a_touch_are_refused() {
        assert!(messages(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]).contains("cross"));
        assert!(
            messages(&[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (10.0, 0.0), (5.0, 9.0)]).contains("repeat")
        );
        assert!(messages(&[(0.0, 0.0), (20.0, 0.0), (12.0, 0.0), (5.0, 9.0)]).contains("cross or touch"));
        let touching = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 0.0), (0.0, 10.0)];
        assert!(messages(&touching).contains("cross or touch"));
    }

    #[test]
    fn a_closed_ring_a_far_one_and_a_tiny_one_say_so() {
        let closed = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 0.0)];
        assert!(messages(&closed).contains("leave the last one out"));
        assert!(messages(&[(0.0, 0.0), (3e4, 0.0), (0.0, 10.0)]).contains("within 20 km"));
        assert!(messages(&[(0.0, 0.0), (f64::NAN, 0.0), (0.0, 10.0)]).contains("NaN"));
        assert!(messages(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]).contains("more than 1 m²"));
        assert!(messages(&[(0.0, 0.0), (1.0, 0.0)]).contains("at least 3 corners"));
    }

    #[test]
    fn inside_follows_a_concave_outline() {
        let l = ring(&[(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)]);
        assert!(crate::geometry::polygon::contains(&l, DVec2::new(5.0, 25.0)));
        assert!(!crate::geometry::polygon::contains(&l, DVec2::new(20.0, 20.0)));
        assert!(!crate::geometry::polygon::contains(&l, DVec2::new(-1.0, 5.0)));
    }
}
