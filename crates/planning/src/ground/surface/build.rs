use crate::base::ByClass;
use crate::base::number::{index, whole};
use crate::geometry::convex::convex_parts;
use crate::geometry::ring::bounds;
use crate::ground::surface::error::{SAMPLE_LIMIT, SiteError};
use crate::ground::surface::face::Face;
use crate::ground::surface::faces::faces;
use crate::ground::surface::heights::heights_of;
use crate::ground::surface::model::{Prism, SiteModel};
use crate::ground::surface::structures::{ResolvedStructure, resolved_structures};
use crate::ground::surface::tile::Tile;
use crate::scenario::Site;
use glam::DVec2;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Tiles between two questions whether to go on.
const GROUP_LEN: usize = 64;

/// Samples that the automatic spacing aims at.
const AIMED_SAMPLES: f64 = 60_000.0;

/// Bounds of the automatic spacing.
const AUTOMATIC_SPACING_M: (f64, f64) = (0.25, 5.0);

/// How far below the lowest ground at its corners a prism reaches.
const PRISM_ROOT_M: f64 = 1.0;

impl SiteModel {
    /// Samples a site's ground, roofs and walls and works out what hides them.
    ///
    /// Every surface gets a lattice of equal cells along its own axes (ground: the boundary's longest side; roof: its
    /// longest side; wall: along and up), no side longer than the spacing; the cells whose centre is inside are its
    /// samples, and each stands for an equal share of the surface's true area. A surface too small for any gets one sample.
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
        SiteModel::build_asking(site, |_, _| Ok(()))
    }

    /// As [`SiteModel::build`], asking for each face and each group of tiles (done, of how many) whether to go on.
    ///
    /// # Errors
    /// As [`SiteModel::build`], and what `ask` answers.
    pub fn build_asking<E>(
        site: &Site,
        ask: impl Fn(u64, u64) -> Result<(), E> + Sync,
    ) -> Result<SiteModel, E>
    where
        E: From<SiteError> + Send,
    {
        let resolved = resolved_structures(site)?;
        let structures = &resolved.structures;
        let faces = faces(site, structures);
        let spacing_m = spacing_m(site, &faces)?;
        let mut tiles = Vec::new();
        for face in &faces {
            tiles.extend(face.tiles(spacing_m, &|| ask(0, 1))?);
        }
        let corners = site.boundary_m.iter().chain(structures.iter().flat_map(|s| &s.footprint_m));
        let mut model = SiteModel {
            tiles,
            prisms: structures.iter().flat_map(prisms_of).collect(),
            area_m2: ByClass::from_fn(|_| 0.0),
            spacing_m,
            reference_z_m: resolved.reference_z_m,
            sample_count: 0,
            assumed: resolved.assumed,
            terrain: site.terrain.clone(),
            heights: heights_of(&site.terrain),
            extent_m: bounds(corners.copied()).unwrap_or_default(),
        };
        model.finish(ask)?;
        model.area_m2 = areas(&faces, &model.tiles);
        if model.sample_count > SAMPLE_LIMIT {
            let count = u64::from(model.sample_count);
            return Err(SiteError::TooManySamples { count, limit: SAMPLE_LIMIT, spacing_m }.into());
        }
        Ok(model)
    }

    /// Numbers the samples and lists each tile's prisms.
    pub(crate) fn finish<E: Send>(
        &mut self,
        ask: impl Fn(u64, u64) -> Result<(), E> + Sync,
    ) -> Result<(), E> {
        let mut next = 0;
        for tile in &mut self.tiles {
            tile.first_sample = next;
            next += index(tile.len);
        }
        self.sample_count = next;
        let prisms = &self.prisms;
        let heights = self.heights.as_deref();
        let (done, total) = (AtomicU64::new(0), self.tiles.len() as u64);
        self.tiles.par_chunks_mut(GROUP_LEN).try_for_each(|group| {
            ask(done.fetch_add(group.len() as u64, Ordering::Relaxed), total)?;
            for tile in group {
                tile.prisms = prisms_near(tile, prisms);
                tile.horizon = heights.map(|heights| Box::new(heights.horizon(tile)));
            }
            Ok(())
        })
    }
}

/// Prisms whose shadow can reach a tile, the nearest first: those not wholly behind its plane (then no camera that the
/// tile faces has them in the way); for a level tile, whose cameras are all higher, only those higher than itself; on
/// uneven ground, all of them.
fn prisms_near(tile: &Tile, prisms: &[Prism]) -> Vec<u32> {
    let uneven = tile.relief.is_some();
    let level = !uneven && tile.normal.z > 1.0 - 1e-12;
    let lowest_m = if level { tile.centre_m.z } else { f64::NEG_INFINITY };
    let mut near: Vec<(f64, u32)> = prisms
        .iter()
        .enumerate()
        .filter(|(_, prism)| prism.top_m > lowest_m && (uneven || reaches_before(prism, tile)))
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

/// A structure's solids: from the ground to the roof, or a deck and the piers below it.
fn prisms_of(structure: &ResolvedStructure) -> Vec<Prism> {
    let root_m = structure.base_z_m - PRISM_ROOT_M;
    let solid = |ring: &[DVec2], bottom_m: f64, top_m: f64| {
        let prism = move |footprint_m| Prism { footprint_m, bottom_m, top_m };
        convex_parts(ring).into_iter().map(prism).collect::<Vec<_>>()
    };
    let Some(soffit_z_m) = structure.soffit_z_m else {
        return solid(&structure.footprint_m, root_m, structure.roof_z_m);
    };
    let piers = structure.piers_m.iter().flat_map(|ring| solid(ring, root_m, soffit_z_m));
    solid(&structure.footprint_m, soffit_z_m, structure.roof_z_m).into_iter().chain(piers).collect()
}

/// Areas of the classes: of plane surfaces as drawn, of uneven ground what its samples stand for.
fn areas(faces: &[Face], tiles: &[Tile]) -> ByClass<f64> {
    ByClass::from_fn(|class| {
        let own = faces.iter().filter(|face| face.class == class);
        if own.clone().any(|face| face.relief.is_some()) {
            return tiles.iter().filter(|tile| tile.class == class).map(Tile::area_m2).sum();
        }
        own.map(|face| face.area_m2).sum()
    })
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

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use crate::base::{Id, SurfaceClass};
    use crate::geometry::polygon::signed_area_m2;
    use crate::ground::surface::build::*;
    use crate::scenario::{Structure, StructureKind, Terrain, TypicalBuilding};
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
            control_points: Vec::new(),
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
        let buried = |s: &crate::ground::Sample| {
            s.position_m.z < site.terrain.height_m(s.position_m.truncate()) - 1e-5
        };
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

    /// Derived: 100 m hold four boxes of 20 m at 25 m; a triangle keeps those wholly inside, two of which touch its longest
    /// side, and turned it keeps the same.
    #[test]
    fn typical_buildings_are_spread_and_marked() {
        let mut site = site(square(0.0, 100.0), Vec::new(), 2.0);
        site.typical_building =
            Some(TypicalBuilding { width_m: 20.0, depth_m: 10.0, height_m: 8.0, spacing_m: 25.0 });
        let model = SiteModel::build(&site).unwrap();
        assert!(model.assumed);
        assert_eq!(model.prisms.len(), 16);
        assert_areas(&model, [10_000.0 - 3200.0, 3200.0, 16.0 * 480.0]);
        for turned in 0..12 {
            let turn = DVec2::from_angle(f64::from(turned));
            site.boundary_m = ring([(0.0, 0.0), (100.0, 0.0), (30.0, 60.0)]);
            site.boundary_m.iter_mut().for_each(|at| *at = turn.rotate(*at));
            assert_eq!(SiteModel::build(&site).unwrap().prisms.len(), 3);
        }
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
