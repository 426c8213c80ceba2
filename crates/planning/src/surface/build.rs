use super::convex::convex_parts;
use super::error::{SAMPLE_LIMIT, SiteError};
use super::face::Face;
use super::model::{Prism, SiteModel, Tile};
use super::number::{index, whole};
use super::ring::{bounds, clip, to_geo};
use super::structures::{ResolvedStructure, resolved_structures};
use crate::polygon::{centroid_m, sides, signed_area_m2};
use crate::{ByClass, Site, SurfaceClass, Terrain};
use geo::{Area, BooleanOps, InteriorPoint, MultiPolygon, unary_union};
use glam::{DVec2, DVec3};
use rayon::prelude::*;

/// Samples that the automatic spacing aims at.
const AIMED_SAMPLES: f64 = 60_000.0;

/// Bounds of the automatic spacing.
const AUTOMATIC_SPACING_M: (f64, f64) = (0.25, 5.0);

/// How far below the lowest ground at its corners a prism reaches.
const PRISM_ROOT_M: f64 = 1.0;

/// Areas below this are rounding, not surface.
const LEAST_AREA_M2: f64 = 1e-6;

impl SiteModel {
    /// Samples a site's ground, roofs and walls and works out what hides them.
    ///
    /// Every surface gets a lattice of equal cells along its own axes (ground: east and north; roof: its longest side;
    /// wall: along and up), no side longer than the spacing; the cells whose centre is inside are its samples, and
    /// each stands for an equal share of the surface's true area. A surface too small for any gets one sample.
    ///
    /// The spacing is the site's or, where it states none, √(area of ground, roofs and walls / 60 000) within 0.25 to
    /// 5 m: about 60,000 samples.
    ///
    /// # Accuracy
    /// The ground's area less footprints is exact but for corners that the polygon overlay rounds: below 1e-6 m on a
    /// site of 1 km.
    ///
    /// # Errors
    /// [`SiteError`], when a length is unusable or the site would have more than [`SAMPLE_LIMIT`] samples.
    pub fn build(site: &Site) -> Result<SiteModel, SiteError> {
        let resolved = resolved_structures(site)?;
        let structures = &resolved.structures;
        let faces = faces(site, structures);
        let spacing_m = spacing_m(site, &faces)?;
        let mut tiles = Vec::new();
        for face in &faces {
            tiles.extend(face.tiles(spacing_m)?);
        }
        let corners = site.boundary_m.iter().chain(structures.iter().flat_map(|s| &s.footprint_m));
        let mut model = SiteModel {
            tiles,
            prisms: structures.iter().flat_map(prisms_of).collect(),
            area_m2: areas(&faces),
            spacing_m,
            reference_z_m: resolved.reference_z_m,
            sample_count: 0,
            assumed: resolved.assumed,
            terrain: site.terrain.clone(),
            extent_m: bounds(corners.copied()).unwrap_or_default(),
        };
        model.finish();
        if model.sample_count > SAMPLE_LIMIT {
            let count = u64::from(model.sample_count);
            return Err(SiteError::TooManySamples { count, limit: SAMPLE_LIMIT, spacing_m });
        }
        Ok(model)
    }

    /// Numbers the samples and lists each tile's prisms.
    pub(crate) fn finish(&mut self) {
        let mut next = 0;
        for tile in &mut self.tiles {
            tile.first_sample = next;
            next += index(tile.len);
        }
        self.sample_count = next;
        let prisms = &self.prisms;
        self.tiles.par_iter_mut().for_each(|tile| tile.prisms = prisms_near(tile, prisms));
    }
}

/// Prisms whose shadow can reach a tile, the nearest first: those not wholly behind its plane (then no camera that the
/// tile faces has them in the way); for a level tile, whose cameras are all higher, only those higher than itself.
fn prisms_near(tile: &Tile, prisms: &[Prism]) -> Vec<u32> {
    let level = tile.normal.z > 1.0 - 1e-12;
    let lowest_m = if level { tile.centre_m.z } else { f64::NEG_INFINITY };
    let mut near: Vec<(f64, u32)> = prisms
        .iter()
        .enumerate()
        .filter(|(_, prism)| prism.top_m > lowest_m && reaches_before(prism, tile))
        .map(|(k, prism)| (prism.gap_m(tile.centre_m.truncate()), index(k)))
        .collect();
    near.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    near.into_iter().map(|(_, k)| k).collect()
}

/// Whether some of a prism is in front of a tile's plane, 5 mm (half the start of a ray) or more.
fn reaches_before(prism: &Prism, tile: &Tile) -> bool {
    let before = |at: DVec2, z: f64| (at.extend(z) - tile.centre_m).dot(tile.normal) > 0.005;
    prism.footprint_m.iter().any(|&at| before(at, prism.top_m) || before(at, prism.bottom_m))
}

fn prisms_of(structure: &ResolvedStructure) -> impl Iterator<Item = Prism> {
    let (bottom_m, top_m) = (structure.base_z_m - PRISM_ROOT_M, structure.roof_z_m);
    convex_parts(&structure.footprint_m).into_iter().map(move |part| Prism {
        footprint_m: part,
        bottom_m,
        top_m,
    })
}

fn areas(faces: &[Face]) -> ByClass<f64> {
    ByClass::from_fn(|class| faces.iter().filter(|face| face.class == class).map(|face| face.area_m2).sum())
}

fn spacing_m(site: &Site, faces: &[Face]) -> Result<f64, SiteError> {
    let area_m2: f64 = faces.iter().map(|face| face.area_m2).sum();
    let automatic = (area_m2 / AIMED_SAMPLES).sqrt().clamp(AUTOMATIC_SPACING_M.0, AUTOMATIC_SPACING_M.1);
    let spacing_m = site.sample_spacing_m.unwrap_or(automatic);
    if !(spacing_m > 0.0 && spacing_m.is_finite()) {
        return Err(SiteError::NotPositive { what: "sample_spacing_m", got_m: spacing_m });
    }
    let expected: f64 = faces.iter().map(|face| face.expected_samples(spacing_m)).sum();
    if expected > f64::from(SAMPLE_LIMIT) {
        let count = whole(expected) as u64;
        return Err(SiteError::TooManySamples { count, limit: SAMPLE_LIMIT, spacing_m });
    }
    Ok(spacing_m)
}

/// Every surface that is asked for: the ground, then each structure's roof and walls.
fn faces(site: &Site, structures: &[ResolvedStructure]) -> Vec<Face> {
    let counting = structures.iter().filter(|s| s.counts);
    let standing = counting
        .flat_map(|s| roof(s, &site.terrain).into_iter().chain(walls(s, &site.terrain)))
        .collect::<Vec<_>>();
    ground(site, structures).into_iter().chain(standing).collect()
}

fn ground(site: &Site, structures: &[ResolvedStructure]) -> Option<Face> {
    let footprints: Vec<_> = structures.iter().filter(|s| s.counts).map(|s| to_geo(&s.footprint_m)).collect();
    let boundary = MultiPolygon::new(vec![to_geo(&site.boundary_m)]);
    let open = if footprints.is_empty() { boundary } else { boundary.difference(&unary_union(&footprints)) };
    let largest = open.0.iter().max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let inside = largest.interior_point().map(|p| DVec2::new(p.x(), p.y()))?;
    let Terrain::Plane { at_origin_m, slope_east, slope_north } = site.terrain;
    let upward = DVec3::new(-slope_east, -slope_north, 1.0);
    let area_m2 = open.unsigned_area() * upward.length();
    (area_m2 > LEAST_AREA_M2).then(|| Face {
        class: SurfaceClass::Ground,
        origin_m: DVec3::new(0.0, 0.0, at_origin_m),
        steps: [DVec3::new(1.0, 0.0, slope_east), DVec3::new(0.0, 1.0, slope_north)],
        normal: upward.normalize(),
        outline: site.boundary_m.clone(),
        holes: structures.iter().filter(|s| s.counts).map(|s| s.footprint_m.clone()).collect(),
        area_m2,
        inside,
    })
}

/// The part of a roof that is above ground.
fn roof(structure: &ResolvedStructure, terrain: &Terrain) -> Option<Face> {
    let above = clip(&structure.footprint_m, |at| structure.roof_z_m - terrain.height_m(at));
    let longest = |a: &(DVec2, DVec2), b: &(DVec2, DVec2)| a.0.distance(a.1).total_cmp(&b.0.distance(b.1));
    let (from, to) = sides(&structure.footprint_m).max_by(longest)?;
    let along = (to - from).try_normalize()?;
    let outline: Vec<_> = above.iter().map(|at| DVec2::new(at.dot(along), at.dot(along.perp()))).collect();
    let origin_m = DVec3::new(0.0, 0.0, structure.roof_z_m);
    let steps = [along.extend(0.0), along.perp().extend(0.0)];
    polygon_face(SurfaceClass::Roof, origin_m, steps, DVec3::Z, outline)
}

/// The parts of the walls that are above ground, one face for each side of the footprint.
fn walls(structure: &ResolvedStructure, terrain: &Terrain) -> Vec<Face> {
    sides(&structure.footprint_m)
        .filter_map(|(from, to)| wall(from, to, structure.roof_z_m, terrain))
        .collect()
}

fn wall(from: DVec2, to: DVec2, roof_z_m: f64, terrain: &Terrain) -> Option<Face> {
    let along = (to - from).try_normalize()?;
    let length_m = from.distance(to);
    let (low, high) = (terrain.height_m(from), terrain.height_m(to));
    let lowest = low.min(high).min(roof_z_m);
    let corners = [(0.0, lowest), (length_m, lowest), (length_m, roof_z_m), (0.0, roof_z_m)].map(DVec2::from);
    let outline = clip(&corners, |at| at.y - (low + (high - low) * at.x / length_m));
    let steps = [along.extend(0.0), DVec3::Z];
    let outward = DVec2::new(along.y, -along.x).extend(0.0);
    polygon_face(SurfaceClass::Wall, from.extend(0.0), steps, outward, outline)
}

fn polygon_face(
    class: SurfaceClass,
    origin_m: DVec3,
    steps: [DVec3; 2],
    normal: DVec3,
    outline: Vec<DVec2>,
) -> Option<Face> {
    let area_m2 = signed_area_m2(&outline).abs();
    if area_m2 < LEAST_AREA_M2 {
        return None;
    }
    let inside = to_geo(&outline).interior_point().map_or(centroid_m(&outline), |p| DVec2::new(p.x(), p.y()));
    Some(Face { class, origin_m, steps, normal, outline, holes: Vec::new(), area_m2, inside })
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use super::*;
    use crate::{Id, Structure, StructureKind, TypicalBuilding};
    use proptest::prelude::*;

    fn ring<const N: usize>(corners: [(f64, f64); N]) -> Vec<DVec2> {
        corners.map(DVec2::from).to_vec()
    }

    fn square(low: f64, high: f64) -> Vec<DVec2> {
        ring([(low, low), (high, low), (high, high), (low, high)])
    }

    fn site(boundary_m: Vec<DVec2>, structures: Vec<(Vec<DVec2>, f64)>, spacing_m: f64) -> Site {
        let structures = structures.into_iter().map(|(footprint_m, height_m)| Structure {
            id: Id(1),
            name: String::new(),
            footprint_m,
            kind: StructureKind::Extrusion { height_m },
        });
        Site {
            name: String::new(),
            origin: None,
            boundary_m,
            take_off_m: DVec2::ZERO,
            terrain: Terrain::default(),
            structures: structures.collect(),
            typical_building: None,
            keep_outs: Vec::new(),
            sample_spacing_m: Some(spacing_m),
        }
    }

    fn sampled_area_m2(model: &SiteModel, class: SurfaceClass) -> f64 {
        model.samples().filter(|s| s.class == class).map(|s| s.area_m2).sum()
    }

    fn assert_areas(model: &SiteModel, [ground, roof, wall]: [f64; 3]) {
        let expected =
            [(SurfaceClass::Ground, ground), (SurfaceClass::Roof, roof), (SurfaceClass::Wall, wall)];
        for (class, expected_m2) in expected {
            // the overlay rounds corners to a billionth of the site
            assert!((model.area_m2[class] - expected_m2).abs() < 1e-4, "{class:?}: {}", model.area_m2[class]);
            assert!((sampled_area_m2(model, class) - expected_m2).abs() < 1e-4, "{class:?} sampled");
        }
    }

    /// Derived: 100 m square less a 20 × 20 × 15 m box; no 2 m cell is cut by an edge, so its samples
    /// can be counted: 2,500 − 100 on the ground, 100 on the roof, 4 × 10 × 8 on walls.
    #[test]
    fn a_box_on_a_square() {
        let model =
            SiteModel::build(&site(square(0.0, 100.0), vec![(square(40.0, 60.0), 15.0)], 2.0)).unwrap();
        assert_areas(&model, [9600.0, 400.0, 1200.0]);
        let count = |class| model.samples().filter(|s| s.class == class).count();
        assert_eq!(SurfaceClass::ALL.map(count), [2400, 100, 320, 0]);
        assert!(model.samples().enumerate().all(|(k, s)| s.number as usize == k));
    }

    /// Derived: an L of 12 m² and 16 m round, 3 m high, half outside the boundary: it counts whole, the ground less what
    /// it covers.
    #[test]
    fn a_concave_structure_across_the_boundary() {
        let l = ring([(8.0, 4.0), (12.0, 4.0), (12.0, 6.0), (10.0, 6.0), (10.0, 8.0), (8.0, 8.0)]);
        let model = SiteModel::build(&site(square(0.0, 10.0), vec![(l, 3.0)], 0.3)).unwrap();
        assert_areas(&model, [92.0, 12.0, 48.0]);
        assert_eq!(model.prisms.len(), 2);
    }

    /// Derived: a structure that does not meet the boundary is not sampled, and hides all the same.
    #[test]
    fn a_structure_beside_the_site_only_hides() {
        let model = SiteModel::build(&site(square(0.0, 10.0), vec![(square(12.0, 20.0), 3.0)], 1.0)).unwrap();
        assert_areas(&model, [100.0, 0.0, 0.0]);
        assert_eq!(model.prisms.len(), 1);
    }

    /// Derived: on a slope of 0.75 a square metre of plan has 1.25 m² of ground. A 4 m box whose roof is 1 m above the
    /// ground at its middle is cut by the ground 4/3 m east of that: roof 4 × 10/3 m²; walls: west 4 × 2.5 m²,
    /// north and south triangles of 10/3 × 2.5 / 2 m² each, east none.
    #[test]
    fn a_slope_cuts_what_stands_on_it() {
        let mut site = site(square(-10.0, 10.0), vec![(square(-2.0, 2.0), 1.0)], 0.5);
        site.terrain = Terrain::Plane { at_origin_m: 3.0, slope_east: 0.75, slope_north: 0.0 };
        let model = SiteModel::build(&site).unwrap();
        assert_areas(&model, [(400.0 - 16.0) * 1.25, 40.0 / 3.0, 10.0 + 2.5 * 10.0 / 3.0]);
        assert!((model.reference_z_m - 3.0).abs() < 1e-12); // rounding only
        let buried =
            |s: &crate::Sample| s.position_m.z < site.terrain.height_m(s.position_m.truncate()) - 1e-5;
        assert!(!model.samples().any(|s| buried(&s)));
    }

    /// Derived: a hostile spacing is refused before memory is taken; so is one that is no length.
    #[test]
    fn hostile_spacings_are_refused() {
        let built = |spacing_m| SiteModel::build(&site(square(0.0, 100.0), Vec::new(), spacing_m));
        assert!(matches!(built(1e-6), Err(SiteError::TooManySamples { .. })));
        assert!(matches!(built(1e-300), Err(SiteError::TooManySamples { .. })));
        assert!(matches!(built(0.0), Err(SiteError::NotPositive { .. })));
        assert!(matches!(built(f64::NAN), Err(SiteError::NotPositive { .. })));
        let sliver = ring([(0.0, 0.0), (1e4, 1e4), (0.0, 1e-9)]);
        assert!(matches!(
            SiteModel::build(&site(sliver, Vec::new(), 1e-3)),
            Err(SiteError::TooManySamples { .. })
        ));
    }

    /// Derived: 100 m hold four boxes of 20 m at 25 m; a triangle keeps those wholly inside.
    #[test]
    fn typical_buildings_are_spread_and_marked() {
        let mut site = site(square(0.0, 100.0), Vec::new(), 2.0);
        site.typical_building =
            Some(TypicalBuilding { width_m: 20.0, depth_m: 10.0, height_m: 8.0, spacing_m: 25.0 });
        let model = SiteModel::build(&site).unwrap();
        assert!(model.assumed);
        assert_eq!(model.prisms.len(), 16);
        assert_areas(&model, [10_000.0 - 3200.0, 3200.0, 16.0 * 480.0]);
        site.boundary_m = ring([(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)]);
        assert_eq!(SiteModel::build(&site).unwrap().prisms.len(), 6);
    }

    /// Derived: the automatic spacing gives about 60,000 samples, and keeps to its bounds.
    #[test]
    fn the_automatic_spacing_aims_at_a_count() {
        let automatic = |side_m: f64| {
            let mut site = site(square(0.0, side_m), Vec::new(), 1.0);
            site.sample_spacing_m = None;
            SiteModel::build(&site).unwrap()
        };
        let middling = automatic(470.0).sample_count;
        assert!((58_000..=62_000).contains(&middling), "{middling}");
        assert_eq!(automatic(10.0).sample_count, 1600);
        assert!((automatic(3000.0).spacing_m - 5.0).abs() < 1e-12); // rounding only
    }

    proptest! {
        /// Derived: whatever the outline and spacing, areas add up, tiles are small and lie on their face.
        #[test]
        fn tiles_keep_area_and_plane(
            radii in prop::collection::vec(8.0..40.0_f64, 3..12),
            spacing in 0.4..9.0_f64,
            slope in -0.3..0.3_f64,
        ) {
            let step = std::f64::consts::TAU / radii.len() as f64;
            let corner = |(k, r): (usize, &f64)| DVec2::from_angle(k as f64 * step) * *r;
            let outline: Vec<_> = radii.iter().enumerate().map(corner).collect();
            prop_assume!(signed_area_m2(&outline) > 1.0);
            let small = outline.iter().map(|at| *at * 0.2).collect();
            let mut site = site(outline, vec![(small, 12.0)], spacing);
            site.terrain = Terrain::Plane { at_origin_m: 0.0, slope_east: slope, slope_north: 0.1 };
            let model = SiteModel::build(&site).unwrap();
            for (class, area) in model.area_m2.iter() {
                // the sum of up to 10,000 equal shares
                prop_assert!((sampled_area_m2(&model, class) - area).abs() < 1e-8 * (1.0 + area));
            }
            for tile in &model.tiles {
                // eight by eight cells, on a slope of up to 0.32
                prop_assert!(tile.radius_m <= 8.0 * spacing * 1.06);
                let off = (0..tile.len).map(|k| (tile.sample(k).position_m - tile.centre_m).dot(tile.normal).abs());
                prop_assert!(off.fold(0.0, f64::max) < 1e-5); // single precision of tens of metres
            }
        }
    }
}
