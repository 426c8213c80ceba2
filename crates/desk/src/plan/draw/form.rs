//! Outlines that come from few places: rectangles, circles, notches.

use super::outlines::to_mm;
use glam::DVec2;

/// How far a circle's sides may lie inside it.
const SAGITTA_M: f64 = 0.1;

/// A rectangle on a side, as wide as a third place is from the side's line; nothing without a side.
///
/// # Shape
/// - returns: open ring that begins with the side
pub fn rectangle_m(from: DVec2, to: DVec2, across: DVec2) -> Option<Vec<DVec2>> {
    let out = (to - from).try_normalize()?.perp();
    let wide = out * (across - from).dot(out);
    Some([from, to, to + wide, from + wide].map(to_mm).to_vec())
}

/// A rectangle between two opposite corners, two of its sides along a direction.
///
/// # Units
/// - `along`: a unit vector
///
/// # Shape
/// - returns: open ring from `from`, first along the direction
pub fn box_m(from: DVec2, to: DVec2, along: DVec2) -> Vec<DVec2> {
    let across = along.perp();
    let (on, off) = (along * (to - from).dot(along), across * (to - from).dot(across));
    [from, from + on, to, from + off].map(to_mm).to_vec()
}

/// A circle round a middle through a place, as a ring that begins there.
///
/// # Accuracy
/// Its corners lie on the circle, its sides at most 0.1 m inside, of a radius up to some 20 m.
pub fn circle_m(middle: DVec2, through: DVec2) -> Vec<DVec2> {
    let out = through - middle;
    let radius = out.length();
    let half = (1.0 - SAGITTA_M / radius.max(SAGITTA_M)).acos();
    let quarters = (std::f64::consts::FRAC_PI_2 / (2.0 * half).max(1e-3)).ceil().clamp(3.0, 12.0);
    let count = 4.0 * quarters;
    let mut ring = Vec::new();
    let mut k = 0.0;
    while k < count {
        ring.push(to_mm(middle + DVec2::from_angle(k / count * std::f64::consts::TAU).rotate(out)));
        k += 1.0;
    }
    ring
}

/// A ring with the corner at `at` cut out as far as a place: its sides lie along those of the corner. Nothing where the
/// place is not between them.
pub fn notched_m(ring: &[DVec2], at: usize, to: DVec2) -> Option<Vec<DVec2>> {
    let (before, corner, after) = around(ring, at)?;
    let (back, on) = (before - corner, after - corner);
    let across = back.perp_dot(on);
    if across == 0.0 {
        return None;
    }
    let inner = to - corner;
    let (along_back, along_on) = (inner.perp_dot(on) / across, back.perp_dot(inner) / across);
    let is_between = |share: f64| share > 0.0 && share < 1.0;
    if !is_between(along_back) || !is_between(along_on) {
        return None;
    }
    let notch = [corner + back * along_back, to, corner + on * along_on].map(to_mm);
    let mut ring = ring.to_vec();
    ring.splice(at..=at, notch);
    Some(ring)
}

/// Where a notch ends that reaches so far along the side before a corner and the side after it.
pub(super) fn notch_end_m(ring: &[DVec2], at: usize, (back_m, on_m): (f64, f64)) -> Option<DVec2> {
    let (before, corner, after) = around(ring, at)?;
    Some(corner + (before - corner).try_normalize()? * back_m + (after - corner).try_normalize()? * on_m)
}

fn around(ring: &[DVec2], at: usize) -> Option<(DVec2, DVec2, DVec2)> {
    let count = ring.len();
    (count >= 3 && at < count).then(|| (ring[(at + count - 1) % count], ring[at], ring[(at + 1) % count]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use obliquity_planning::polygon::area_m2;

    // Derived: by hand.
    #[test]
    fn a_rectangle_lies_on_its_side_to_where_the_third_place_is() {
        let at = |x: f64, y: f64| DVec2::new(x, y);
        let ring = rectangle_m(at(0.0, 0.0), at(30.0, 0.0), at(7.0, -12.0)).unwrap();
        assert_eq!(ring, [at(0.0, 0.0), at(30.0, 0.0), at(30.0, -12.0), at(0.0, -12.0)]);
        assert_eq!(rectangle_m(at(1.0, 1.0), at(1.0, 1.0), at(7.0, 3.0)), None);
    }

    // Derived: along 45° the corners of a square of side √2 between (0, 0) and (2, 0) lie at (1, ±1).
    #[test]
    fn a_box_lies_between_its_corners() {
        let at = |x: f64, y: f64| DVec2::new(x, y);
        let ring = box_m(at(10.0, 5.0), at(40.0, -7.0), DVec2::X);
        assert_eq!(ring, [at(10.0, 5.0), at(40.0, 5.0), at(40.0, -7.0), at(10.0, -7.0)]);
        let ring = box_m(DVec2::ZERO, at(2.0, 0.0), DVec2::from_angle(std::f64::consts::FRAC_PI_4));
        assert_eq!(ring, [at(0.0, 0.0), at(1.0, 1.0), at(2.0, 0.0), at(1.0, -1.0)]);
    }

    // Derived: n corners on a circle hold n/2 r² sin(2π/n); of 10 m radius 0.1 m are 8.1° either side, so 6 a quarter.
    #[test]
    fn a_circle_goes_through_its_place() {
        let ring = circle_m(DVec2::new(5.0, 5.0), DVec2::new(15.0, 5.0));
        assert_eq!((ring.len(), ring[0]), (24, DVec2::new(15.0, 5.0)));
        let held_m2 = 12.0 * 100.0 * (std::f64::consts::TAU / 24.0).sin();
        // Corners to the millimetre move each of 24 sides of 2.6 m by half of one.
        assert!((area_m2(&ring) - held_m2).abs() < 24.0 * 2.62 * 5e-4, "{}", area_m2(&ring));
    }

    // Derived: 20 by 10 less 8 by 4.
    #[test]
    fn a_corner_cut_out_leaves_an_l() {
        let ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)].map(DVec2::from);
        let ell = notched_m(&ring, 2, DVec2::new(12.0, 6.0)).unwrap();
        assert_eq!(ell.len(), 6);
        assert!((area_m2(&ell) - 168.0).abs() < 1e-9);
        assert_eq!(notch_end_m(&ring, 2, (4.0, 8.0)), Some(DVec2::new(12.0, 6.0)));
        assert_eq!(notched_m(&ring, 2, DVec2::new(22.0, 6.0)), None, "outside");
    }
}
