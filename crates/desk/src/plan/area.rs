use glam::DVec2;
use obliquity_planning::polygon::signed_area_m2;

/// An outline with more corners is drawn without a filling.
const MOST_FILLED: usize = 1_500;

/// An outline with the triangles that fill it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Area {
    /// Open ring.
    pub ring_m: Vec<DVec2>,
    /// Corners of the ring, three by three; empty for an outline of very many corners.
    pub triangles: Vec<[u32; 3]>,
}

impl Area {
    /// Fills an outline.
    pub fn new(ring_m: Vec<DVec2>) -> Self {
        let triangles = if ring_m.len() <= MOST_FILLED { ears(&ring_m) } else { Vec::new() };
        Area { ring_m, triangles }
    }

    /// Least and greatest coordinates; inverted infinities for no corners.
    pub fn bounds_m(&self) -> (DVec2, DVec2) {
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        self.ring_m.iter().fold(start, |(low, high), p| (low.min(*p), high.max(*p)))
    }

    /// Middle of the box around it.
    pub fn middle_m(&self) -> DVec2 {
        let (low, high) = self.bounds_m();
        low.midpoint(high)
    }
}

/// Cuts a simple polygon into triangles: again and again a corner whose triangle holds no other corner is cut off.
///
/// # References
/// Meisters, "Polygons have ears", 1975 (from memory).
fn ears(ring: &[DVec2]) -> Vec<[u32; 3]> {
    let mut left: Vec<usize> = (0..ring.len()).collect();
    if signed_area_m2(ring) < 0.0 {
        left.reverse();
    }
    let mut triangles = Vec::with_capacity(ring.len().saturating_sub(2));
    let mut turn = 0;
    let mut failures = 0;
    while left.len() > 3 && failures < left.len() {
        let n = left.len();
        let at = turn % n;
        let ear = [left[(at + n - 1) % n], left[at], left[(at + 1) % n]];
        if is_ear(ring, &left, ear) {
            triangles.push(indices(ear));
            left.remove(at);
            failures = 0;
        } else {
            turn = at + 1;
            failures += 1;
        }
    }
    if let [a, b, c] = left[..] {
        triangles.push(indices([a, b, c]));
    }
    triangles
}

fn indices(corners: [usize; 3]) -> [u32; 3] {
    corners.map(|corner| u32::try_from(corner).unwrap_or(0))
}

fn is_ear(ring: &[DVec2], left: &[usize], ear: [usize; 3]) -> bool {
    let [a, b, c] = ear.map(|corner| ring[corner]);
    let turn = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    if turn(a, b, c) < 0.0 {
        return false;
    }
    let inside = |p: DVec2| turn(a, b, p) > 0.0 && turn(b, c, p) > 0.0 && turn(c, a, p) > 0.0;
    !left.iter().any(|&corner| !ear.contains(&corner) && inside(ring[corner]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled_m2(area: &Area) -> f64 {
        let twice = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|k| area.ring_m[k as usize]);
            (b - a).perp_dot(c - a).abs()
        };
        area.triangles.iter().map(twice).sum::<f64>() / 2.0
    }

    // Derived: triangles that fill an outline have its area.
    #[test]
    fn the_filling_has_the_outlines_area_whichever_way_it_winds() {
        let corners = [
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 30.0),
            (30.0, 30.0),
            (30.0, 10.0),
            (10.0, 10.0),
            (10.0, 30.0),
            (0.0, 30.0),
        ];
        let mut ring: Vec<DVec2> = corners.map(DVec2::from).to_vec();
        for _ in 0..2 {
            let area = Area::new(ring.clone());
            assert_eq!(area.triangles.len(), 6);
            assert!((filled_m2(&area) - 800.0).abs() < 1e-9, "1,200 less the notch of 20 by 20");
            ring.reverse();
        }
    }

    #[test]
    fn too_few_corners_are_no_area() {
        assert!(Area::new(Vec::new()).triangles.is_empty());
        assert!(Area::new(vec![DVec2::ZERO, DVec2::ONE]).triangles.is_empty());
    }
}
