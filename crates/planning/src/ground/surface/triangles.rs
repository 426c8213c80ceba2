use crate::geometry::polygon::sides;
use crate::ground::surface::model::{Prism, SiteModel};
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};

/// How far the ground's triangles reach beyond everything else.
const GROUND_MARGIN_M: f64 = 2000.0;

impl SiteModel {
    /// All triangles that hide: roofs and walls of the prisms (walls go into the ground), and the ground: a
    /// plane as two triangles that reach 2 km beyond boundary and structures, a grid as two for each of its cells.
    ///
    /// A view is hidden when the open segment from 1 cm before its sample, along the normal, to the projection centre
    /// meets one of them. A structure with a concave footprint has walls inside, between its convex parts; they hide
    /// nothing that its outer ones do not.
    ///
    /// # Units
    /// - returns: corners in metres of the local frame, counter-clockwise seen from outside
    pub fn triangles(&self) -> Vec<[DVec3; 3]> {
        let prisms = self.prisms.iter().flat_map(Prism::triangles);
        prisms.chain(self.ground_triangles()).collect()
    }

    fn ground_triangles(&self) -> Vec<[DVec3; 3]> {
        if let Terrain::Grid(grid) = &self.terrain {
            return grid.triangles().collect();
        }
        let (low, high) = self.extent_m;
        let (low, high) = (low - GROUND_MARGIN_M, high + GROUND_MARGIN_M);
        let at = |x: f64, y: f64| DVec2::new(x, y).extend(self.terrain.height_m(DVec2::new(x, y)));
        let (sw, se, ne, nw) = (at(low.x, low.y), at(high.x, low.y), at(high.x, high.y), at(low.x, high.y));
        vec![[sw, se, ne], [sw, ne, nw]]
    }
}

impl Prism {
    /// The prism's top, bottom and sides.
    fn triangles(&self) -> Vec<[DVec3; 3]> {
        let (top, bottom) = (|at: DVec2| at.extend(self.top_m), |at: DVec2| at.extend(self.bottom_m));
        let ring = &self.footprint_m;
        let fans = (2..ring.len()).flat_map(|k| {
            let (a, b, c) = (ring[0], ring[k - 1], ring[k]);
            [[top(a), top(b), top(c)], [bottom(a), bottom(c), bottom(b)]]
        });
        let walls =
            sides(ring).flat_map(|(a, b)| [[bottom(a), bottom(b), top(b)], [bottom(a), top(b), top(a)]]);
        fans.chain(walls).collect()
    }

    /// Least level distance that the prism can have from a place, from its bounding circle; below 0 inside that.
    pub(crate) fn gap_m(&self, from: DVec2) -> f64 {
        let (centre, radius_m) = self.circle();
        centre.distance(from) - radius_m
    }

    /// A circle round the footprint: centre and radius in metres.
    pub(crate) fn circle(&self) -> (DVec2, f64) {
        let centre = self.footprint_m.iter().sum::<DVec2>() / self.footprint_m.len().max(1) as f64;
        (centre, self.footprint_m.iter().map(|p| p.distance(centre)).fold(0.0, f64::max))
    }
}
