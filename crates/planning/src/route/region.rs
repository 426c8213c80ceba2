use crate::geometry::polygon::{hull_m, merged, sides, signed_area_m2, slice};
use glam::DVec2;

/// How far a sharp corner of the margin may reach, in margins; sharper ones than 60° are blunted.
const FARTHEST_CORNER: f64 = 2.0;

/// The area that a pass flies over: the boundary, moved and grown.
///
/// It is the union of the boundary's inside and of convex pieces around it, so that a line cuts it exactly and no
/// polygon has to be built: offset and Minkowski sums of an area are the area and those of its sides and corners.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Region {
    /// The boundary, moved, in the strip frame: x along the strips, y across them to the right.
    ring: Vec<DVec2>,
    /// Convex hulls of these points belong to the region, too.
    pieces: Vec<[DVec2; 8]>,
    /// Least and greatest y of the region.
    across_m: (f64, f64),
}

/// What the boundary is moved and grown by, in the strip frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Growth {
    /// Offsets the boundary outward, corners kept square.
    pub(crate) margin_m: f64,
    /// Moves the whole region.
    pub(crate) shift_m: DVec2,
    /// Lengthens it along this vector.
    pub(crate) sweep_m: DVec2,
    /// Extends it to both sides along each axis; instead of margin and sweep.
    pub(crate) half_box_m: DVec2,
}

impl Region {
    pub(crate) fn new(boundary: &[DVec2], growth: &Growth) -> Self {
        let mut ring: Vec<DVec2> = boundary.iter().map(|p| *p + growth.shift_m).collect();
        if signed_area_m2(&ring) < 0.0 {
            ring.reverse();
        }
        let mut pieces = Vec::new();
        if growth.half_box_m != DVec2::ZERO {
            pieces.extend(sides(&ring).map(|(a, b)| boxed(a, b, growth.half_box_m)));
        } else if growth.margin_m > 0.0 || growth.sweep_m != DVec2::ZERO {
            let swept = |quad: [DVec2; 4]| both(quad, growth.sweep_m);
            pieces.extend(sides(&ring).map(|side| swept(band(side, growth.margin_m))));
            let around = sides(&ring).zip(sides(&ring).skip(1).chain(sides(&ring).take(1)));
            pieces.extend(around.filter_map(|(a, b)| corner(a, b, growth.margin_m)).map(swept));
        }
        let points = ring.iter().chain(pieces.iter().flatten());
        let wider = |(low, high): (f64, f64), p: &DVec2| (low.min(p.y), high.max(p.y));
        let across_m = points.fold((f64::INFINITY, f64::NEG_INFINITY), wider);
        Region { ring, pieces, across_m }
    }

    /// Outlines whose union the region is: the boundary, moved, and the hull of each piece around it.
    pub(crate) fn outlines_m(&self) -> Vec<Vec<DVec2>> {
        let pieces = self.pieces.iter().map(|piece| hull_m(piece.iter().copied()));
        std::iter::once(self.ring.clone()).chain(pieces.filter(|hull| hull.len() > 2)).collect()
    }

    /// Least and greatest y of the region.
    pub(crate) fn across_m(&self) -> (f64, f64) {
        self.across_m
    }

    /// Least and greatest x of the region.
    pub(crate) fn along_m(&self) -> (f64, f64) {
        let points = self.ring.iter().chain(self.pieces.iter().flatten());
        points.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p.x), high.max(p.x)))
    }

    /// Where the line y = `level` runs inside the region: sorted, disjoint intervals of x. Where a corner lies nearer to the
    /// line than `near_m`, what is inside just beside the line on either side.
    pub(crate) fn slice_m(&self, level: f64, near_m: f64) -> Vec<(f64, f64)> {
        let corners = self.ring.iter().chain(self.pieces.iter().flatten());
        let beside = [level - near_m, level + near_m];
        let on_corner = corners.into_iter().any(|p| (p.y - level).abs() <= near_m);
        let levels = if on_corner { &beside[..] } else { &[level][..] };
        let parts = levels.iter().flat_map(|&level| {
            let pieces = self.pieces.iter().filter_map(move |piece| hull_slice(piece, level));
            slice(&self.ring, level).into_iter().chain(pieces)
        });
        merged(parts.collect())
    }
}

/// A side with its offset: the band that a margin adds along it.
fn band((a, b): (DVec2, DVec2), margin_m: f64) -> [DVec2; 4] {
    let outward = outward(a, b) * margin_m;
    [a, b, a + outward, b + outward]
}

/// What a margin adds at the corner between two sides, if it turns outward: the offsets of both sides run on until
/// they meet.
fn corner(before: (DVec2, DVec2), after: (DVec2, DVec2), margin_m: f64) -> Option<[DVec2; 4]> {
    let at = before.1;
    if (before.1 - before.0).perp_dot(after.1 - after.0) <= 0.0 || margin_m == 0.0 {
        return None;
    }
    let (n, m) = (outward(before.0, before.1), outward(after.0, after.1));
    let middle = (n + m).normalize_or_zero();
    let reach = (1.0 / middle.dot(n)).min(FARTHEST_CORNER);
    Some([at, at + n * margin_m, at + middle * (reach * margin_m), at + m * margin_m])
}

/// Unit vector to the right of a side: outward on a counter-clockwise ring.
fn outward(a: DVec2, b: DVec2) -> DVec2 {
    -(b - a).perp().normalize_or_zero()
}

fn both(quad: [DVec2; 4], sweep: DVec2) -> [DVec2; 8] {
    std::array::from_fn(|k| if k < 4 { quad[k] } else { quad[k - 4] + sweep })
}

fn boxed(a: DVec2, b: DVec2, half: DVec2) -> [DVec2; 8] {
    let corners = [half, -half, DVec2::new(half.x, -half.y), DVec2::new(-half.x, half.y)];
    std::array::from_fn(|k| if k < 4 { a + corners[k] } else { b + corners[k - 4] })
}

/// Where the line y = `level` cuts the convex hull of some points.
fn hull_slice(points: &[DVec2; 8], level: f64) -> Option<(f64, f64)> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let (bottom, top) = points.iter().fold((low, high), |(low, high), p| (low.min(p.y), high.max(p.y)));
    if !(bottom..=top).contains(&level) {
        return None;
    }
    for below in points.iter().filter(|p| p.y <= level) {
        for above in points.iter().filter(|p| p.y >= level) {
            let rise = above.y - below.y;
            let x =
                if rise > 0.0 { below.x + (level - below.y) / rise * (above.x - below.x) } else { below.x };
            low = low.min(x);
            high = high.max(x);
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

    /// Derived: a square grown by 10 m is a square of 120 m.
    #[test]
    fn a_margin_keeps_corners_square() {
        let region = Region::new(&square(), &Growth { margin_m: 10.0, ..Growth::default() });
        assert_eq!(region.across_m(), (-10.0, 110.0));
        for level in [-9.0, 50.0, 108.0] {
            let cut = region.slice_m(level, 1e-6);
            assert_eq!(cut.len(), 1);
            assert_relative_eq!(cut[0].0, -10.0, epsilon = 1e-9);
            assert_relative_eq!(cut[0].1, 110.0, epsilon = 1e-9);
        }
    }

    /// Derived: a needle's tip reaches two margins and no more.
    #[test]
    fn sharp_corners_are_blunted() {
        let needle = [(0., 0.), (100., 1.), (0., 2.)].map(|(x, y)| DVec2::new(x, y));
        let region = Region::new(&needle, &Growth { margin_m: 10.0, ..Growth::default() });
        assert_relative_eq!(region.slice_m(1.0, 1e-9)[0].1, 120.0, epsilon = 1e-6);
    }

    /// Derived: moved back 70 m and lengthened 38 m along x, whichever way the ring runs.
    #[test]
    fn an_oblique_block_is_moved_back_and_lengthened() {
        let growth =
            Growth { shift_m: DVec2::new(-70., 0.), sweep_m: DVec2::new(38., 0.), ..Growth::default() };
        let mut clockwise = square();
        clockwise.reverse();
        for ring in [square(), clockwise] {
            let region = Region::new(&ring, &growth);
            assert_eq!(region.slice_m(50.0, 1e-6), vec![(-70.0, 68.0)]);
            assert_eq!(region.across_m(), (0.0, 100.0));
        }
    }

    /// Derived: a box keeps square corners and fills a notch narrower than itself.
    #[test]
    fn a_box_extends_along_each_axis() {
        let notched =
            [(0., 0.), (40., 0.), (40., 60.), (50., 60.), (50., 0.), (100., 0.), (100., 100.), (0., 100.)]
                .map(|(x, y)| DVec2::new(x, y));
        let growth = Growth { half_box_m: DVec2::new(20., 5.), ..Growth::default() };
        let region = Region::new(&notched, &growth);
        assert_eq!(region.slice_m(30.0, 1e-6), vec![(-20.0, 120.0)]);
        assert_eq!(region.slice_m(104.0, 1e-6), vec![(-20.0, 120.0)]);
        assert_eq!(region.slice_m(106.0, 1e-6), vec![]);
    }

    /// Derived: a slanted sweep shears the edge.
    #[test]
    fn a_slanted_sweep_moves_the_far_edge() {
        let growth = Growth { sweep_m: DVec2::new(10., 20.), ..Growth::default() };
        let region = Region::new(&square(), &growth);
        assert_eq!(region.across_m(), (0.0, 120.0));
        let top = region.slice_m(110.0, 1e-6);
        assert_relative_eq!(top[0].0, 5.0, epsilon = 1e-9);
        assert_relative_eq!(top[0].1, 110.0, epsilon = 1e-9);
    }
}
