//! Straight lines with some room about each, found by where they lie.

use glam::DVec2;
use rstar::{AABB, Envelope, RTree, RTreeObject, SelectionFunction};

/// Lines that are asked for by segment.
#[derive(Debug)]
pub(super) struct Lines {
    tree: RTree<Line>,
}

/// A straight line, and how near to it is too near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub(super) from_m: DVec2,
    pub(super) to_m: DVec2,
    pub(super) room_m: f64,
    /// Index of the outline that it belongs to.
    pub(super) ring: usize,
}

impl Lines {
    pub(super) fn new(lines: Vec<Line>) -> Self {
        Lines { tree: RTree::bulk_load(lines) }
    }

    /// The lines that a segment comes as near to as their room.
    pub(super) fn near(&self, a: DVec2, b: DVec2) -> impl Iterator<Item = &Line> {
        self.tree.locate_with_selection_function(Segment { a, b })
    }

    /// Whether a segment keeps more than the room from every line.
    pub(super) fn clear(&self, a: DVec2, b: DVec2) -> bool {
        self.near(a, b).next().is_none()
    }
}

impl RTreeObject for Line {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> AABB<[f64; 2]> {
        let low = self.from_m.min(self.to_m) - self.room_m;
        let high = self.from_m.max(self.to_m) + self.room_m;
        AABB::from_corners(low.to_array(), high.to_array())
    }
}

struct Segment {
    a: DVec2,
    b: DVec2,
}

impl SelectionFunction<Line> for Segment {
    /// By the axes that may part a segment from a box: the box's own two, and the one across the segment.
    fn should_unpack_parent(&self, envelope: &AABB<[f64; 2]>) -> bool {
        looked();
        let half = (DVec2::from(envelope.upper()) - DVec2::from(envelope.lower())) / 2.0;
        let from_centre = (self.a + self.b) / 2.0 - DVec2::from(envelope.center());
        let reach = (self.b - self.a) / 2.0;
        from_centre.abs().cmple(half + reach.abs()).all()
            && reach.perp_dot(from_centre).abs() <= half.x * reach.y.abs() + half.y * reach.x.abs()
    }

    fn should_unpack_leaf(&self, line: &Line) -> bool {
        looked();
        apart_at_most(line.room_m, (self.a, self.b), (line.from_m, line.to_m))
    }
}

impl Line {
    /// The share of a segment, from and to, that is as near as the room.
    ///
    /// What lies within a distance of a line is convex, so it is one stretch: from the first to the last of what lies
    /// within the distance of either end, or beside the line.
    pub(super) fn share_near(&self, a: DVec2, b: DVec2) -> Option<(f64, f64)> {
        let way = b - a;
        if way == DVec2::ZERO {
            return apart_at_most(self.room_m, (a, b), (self.from_m, self.to_m)).then_some((0.0, 1.0));
        }
        let about_ends = [self.from_m, self.to_m].map(|end| share_about(end, self.room_m, a, way));
        let stretches = about_ends.into_iter().chain([self.share_beside(a, way)]).flatten();
        let (low, high) = stretches.reduce(|p, q| (p.0.min(q.0), p.1.max(q.1)))?;
        let (low, high) = (low.max(0.0), high.min(1.0));
        (low <= high).then_some((low, high))
    }

    fn share_beside(&self, a: DVec2, way: DVec2) -> Option<(f64, f64)> {
        let length_m = self.from_m.distance(self.to_m);
        let along = (self.to_m - self.from_m).try_normalize()?;
        let beside =
            share_between(along.perp_dot(a - self.from_m), along.perp_dot(way), -self.room_m, self.room_m)?;
        let between = share_between(along.dot(a - self.from_m), along.dot(way), 0.0, length_m)?;
        let (low, high) = (beside.0.max(between.0), beside.1.min(between.1));
        (low <= high).then_some((low, high))
    }
}

/// Where on a line a + t way it is as near to a place as that.
fn share_about(centre: DVec2, radius_m: f64, a: DVec2, way: DVec2) -> Option<(f64, f64)> {
    let (square, off) = (way.length_squared(), way.perp_dot(centre - a));
    let left = radius_m * radius_m - off * off / square;
    let middle = (centre - a).dot(way) / square;
    (left >= 0.0).then(|| (middle - (left / square).sqrt(), middle + (left / square).sqrt()))
}

/// Where `start + t rate` lies between two values.
fn share_between(start: f64, rate: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if rate == 0.0 {
        return (low..=high).contains(&start).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (p, q) = ((low - start) / rate, (high - start) / rate);
    Some((p.min(q), p.max(q)))
}

/// Whether two segments cross or come as near to each other as that.
fn apart_at_most(room_m: f64, (a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> bool {
    let (ab, cd) = (b - a, d - c);
    let (abc, abd) = (ab.perp_dot(c - a), ab.perp_dot(d - a));
    let (cda, cdb) = (cd.perp_dot(a - c), cd.perp_dot(b - c));
    if abc * abd < 0.0 && cda * cdb < 0.0 {
        return true;
    }
    let square = room_m * room_m;
    let near = |p: DVec2, from: DVec2, way: DVec2| from_line_squared(p, from, way) <= square;
    near(c, a, ab) || near(d, a, ab) || near(a, c, cd) || near(b, c, cd)
}

/// Square of the distance of a place from the segment `from` to `from + way`.
fn from_line_squared(p: DVec2, from: DVec2, way: DVec2) -> f64 {
    let share = ((p - from).dot(way) / way.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    p.distance_squared(from + way * share)
}

/// Distance of a place from a segment.
pub(super) fn from_line_m(p: DVec2, (a, b): (DVec2, DVec2)) -> f64 {
    from_line_squared(p, a, b - a).sqrt()
}

#[cfg(not(test))]
fn looked() {}

#[cfg(test)]
thread_local! {
    /// Boxes and lines that were looked at.
    pub(super) static LOOKED: std::cell::Cell<u64> = const { std::cell::Cell::new(0) };
}

#[cfg(test)]
fn looked() {
    LOOKED.with(|count| count.set(count.get() + 1));
}
