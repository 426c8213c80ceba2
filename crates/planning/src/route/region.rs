use crate::polygon::{merged, slice};
use glam::DVec2;

/// The area that a pass flies over: the boundary, moved and grown.
///
/// The growth is a Minkowski sum, so a line cuts the region exactly, without rounded corners being approximated:
/// the sum of an area and a convex body is the area itself, moved by any point of the body, and the sums of its sides
/// with the body.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Region {
    /// The boundary in the strip frame: x along the strips, y across them to the right.
    ring: Vec<DVec2>,
    growth: Growth,
}

/// What the boundary is moved and grown by, in the strip frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Growth {
    /// Moves the whole region.
    pub(crate) shift_m: DVec2,
    /// Lengthens it along this vector.
    pub(crate) sweep_m: DVec2,
    /// Extends it to both sides along each axis.
    pub(crate) half_box_m: DVec2,
    /// Grows it outward on all sides, corners rounded.
    pub(crate) margin_m: f64,
}

impl Region {
    pub(crate) fn new(ring: Vec<DVec2>, growth: Growth) -> Self {
        Region { ring, growth }
    }

    /// Least and greatest y of the region.
    pub(crate) fn across_m(&self) -> (f64, f64) {
        let g = &self.growth;
        let reach = g.half_box_m.y + g.margin_m;
        let low = self.ring.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
        let high = self.ring.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
        (low + g.shift_m.y + g.sweep_m.y.min(0.0) - reach, high + g.shift_m.y + g.sweep_m.y.max(0.0) + reach)
    }

    /// Where the line y = `level` runs inside the region: sorted, disjoint intervals of x.
    pub(crate) fn slice_m(&self, level: f64) -> Vec<(f64, f64)> {
        let moved = |x: (f64, f64)| (x.0 + self.growth.shift_m.x, x.1 + self.growth.shift_m.x);
        let mut parts: Vec<_> =
            slice(&self.ring, level - self.growth.shift_m.y).into_iter().map(moved).collect();
        if self.growth.sweep_m == DVec2::ZERO
            && self.growth.half_box_m == DVec2::ZERO
            && self.growth.margin_m == 0.0
        {
            return parts;
        }
        parts.extend(crate::polygon::sides(&self.ring).filter_map(|(a, b)| self.side_slice(a, b, level)));
        merged(parts)
    }

    /// Where the line cuts the sum of one side and the growth.
    fn side_slice(&self, a: DVec2, b: DVec2, level: f64) -> Option<(f64, f64)> {
        let g = &self.growth;
        let hull = zonotope(
            a + g.shift_m - g.half_box_m,
            [b - a, g.sweep_m, DVec2::new(2.0 * g.half_box_m.x, 0.0), DVec2::new(0.0, 2.0 * g.half_box_m.y)],
        );
        rounded_slice(&hull, g.margin_m, level)
    }
}

/// Corners, counter-clockwise, of the sum of a point and segments from the origin to each of `generators`.
fn zonotope(base: DVec2, generators: [DVec2; 4]) -> [DVec2; 8] {
    let mut start = base;
    let mut upward = generators;
    for g in &mut upward {
        if g.y < 0.0 || (g.y == 0.0 && g.x < 0.0) {
            start += *g;
            *g = -*g;
        }
    }
    upward.sort_by(|p, q| p.y.atan2(p.x).total_cmp(&q.y.atan2(q.x)));
    let mut corners = [start; 8];
    for k in 0..4 {
        corners[k + 1] = corners[k] + upward[k];
    }
    for k in 0..3 {
        corners[k + 5] = corners[k + 4] - upward[k];
    }
    corners
}

/// Where the line y = `level` cuts a convex polygon (counter-clockwise) grown by a disc.
fn rounded_slice(corners: &[DVec2; 8], radius: f64, level: f64) -> Option<(f64, f64)> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut admit = |x: f64| {
        low = low.min(x);
        high = high.max(x);
    };
    for (a, b) in crate::polygon::sides(corners) {
        let dy = level - a.y;
        if dy.abs() <= radius {
            let half = (radius * radius - dy * dy).sqrt();
            admit(a.x - half);
            admit(a.x + half);
        }
        let outward = -(b - a).perp().normalize_or_zero() * radius;
        let (p, q) = (a + outward, b + outward);
        if p.y != q.y && (p.y.min(q.y)..=p.y.max(q.y)).contains(&level) {
            admit(p.x + (level - p.y) / (q.y - p.y) * (q.x - p.x));
        }
    }
    (low <= high).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn square() -> Vec<DVec2> {
        [(0., 0.), (100., 0.), (100., 100.), (0., 100.)].map(|(x, y)| DVec2::new(x, y)).to_vec()
    }

    /// Derived: a square grown by 10 m has rounded corners; 8 m above its edge the disc reaches 6 m further.
    #[test]
    fn a_margin_rounds_corners() {
        let region = Region::new(square(), Growth { margin_m: 10.0, ..Growth::default() });
        assert_eq!(region.across_m(), (-10.0, 110.0));
        assert_eq!(region.slice_m(50.0), vec![(-10.0, 110.0)]);
        let edge = region.slice_m(108.0);
        assert_relative_eq!(edge[0].0, -6.0, epsilon = 1e-12);
        assert_relative_eq!(edge[0].1, 106.0, epsilon = 1e-12);
    }

    /// Derived: moved back 70 m and lengthened 38 m along x.
    #[test]
    fn an_oblique_block_is_moved_back_and_lengthened() {
        let growth =
            Growth { shift_m: DVec2::new(-70., 0.), sweep_m: DVec2::new(38., 0.), ..Growth::default() };
        let region = Region::new(square(), growth);
        assert_eq!(region.slice_m(50.0), vec![(-70.0, 68.0)]);
        assert_eq!(region.across_m(), (0.0, 100.0));
    }

    /// Derived: a box keeps square corners and fills a notch narrower than itself.
    #[test]
    fn a_box_extends_along_each_axis() {
        let notched =
            [(0., 0.), (40., 0.), (40., 60.), (50., 60.), (50., 0.), (100., 0.), (100., 100.), (0., 100.)]
                .map(|(x, y)| DVec2::new(x, y));
        let growth = Growth { half_box_m: DVec2::new(20., 5.), ..Growth::default() };
        let region = Region::new(notched.to_vec(), growth);
        assert_eq!(region.slice_m(30.0), vec![(-20.0, 120.0)]);
        assert_eq!(region.slice_m(104.0), vec![(-20.0, 120.0)]);
        assert_eq!(region.slice_m(106.0), vec![]);
    }

    /// Derived: a slanted sweep shears the edge.
    #[test]
    fn a_slanted_sweep_moves_the_far_edge() {
        let growth = Growth { sweep_m: DVec2::new(10., 20.), ..Growth::default() };
        let region = Region::new(square(), growth);
        assert_eq!(region.across_m(), (0.0, 120.0));
        let top = region.slice_m(110.0);
        assert_relative_eq!(top[0].0, 5.0, epsilon = 1e-9);
        assert_relative_eq!(top[0].1, 110.0, epsilon = 1e-9);
    }
}
