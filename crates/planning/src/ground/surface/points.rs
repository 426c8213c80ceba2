use crate::base::{ByClass, SurfaceClass};
use crate::geometry::ring::bounds;
use crate::ground::surface::heights::heights_of;
use crate::ground::surface::model::{Prism, SiteModel};
use crate::ground::surface::tile::{Relief, Tile};
use crate::scenario::Terrain;
use glam::DVec3;

/// A place on a surface, given one by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SamplePoint {
    /// What the surface is.
    pub class: SurfaceClass,
    /// The place.
    pub position_m: DVec3,
    /// The surface's unit normal.
    pub normal: DVec3,
    /// Area that the point stands for.
    pub area_m2: f64,
}

/// A sample of a site model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Its number, from 0.
    pub number: u32,
    /// What the surface is.
    pub class: SurfaceClass,
    /// The place.
    pub position_m: DVec3,
    /// The surface's unit normal.
    pub normal: DVec3,
    /// Area that the sample stands for.
    pub area_m2: f64,
}

impl SiteModel {
    /// A model of points given one by one, each a tile of its own, on a terrain with prisms that hide.
    ///
    /// The reference plane lies at the terrain's height at the origin.
    pub fn from_points(points: &[SamplePoint], prisms: Vec<Prism>, terrain: Terrain) -> SiteModel {
        let tiles = points.iter().map(|p| Tile::new(p.class, p.normal, &[p.position_m], p.area_m2)).collect();
        let area = |class| points.iter().filter(|p| p.class == class).map(|p| p.area_m2).sum();
        let corners = prisms.iter().flat_map(|prism| prism.footprint_m.iter().copied());
        let extent_m =
            bounds(points.iter().map(|p| p.position_m.truncate()).chain(corners)).unwrap_or_default();
        let mut model = SiteModel {
            tiles,
            area_m2: ByClass::from_fn(area),
            spacing_m: 0.0,
            reference_z_m: terrain.height_m(glam::DVec2::ZERO),
            sample_count: 0,
            assumed: false,
            extent_m,
            prisms,
            heights: heights_of(&terrain),
            terrain,
        };
        let Ok(()) = model.finish(|_, _| Ok::<(), std::convert::Infallible>(()));
        model
    }

    /// All samples, by number.
    pub fn samples(&self) -> impl Iterator<Item = Sample> {
        self.tiles.iter().flat_map(|tile| (0..tile.len).map(|k| tile.sample(k)))
    }
}

impl Tile {
    /// The normal of the sample in lane `k`.
    fn normal_of(&self, k: usize) -> DVec3 {
        let own = |r: &Relief| DVec3::new(f64::from(r.x[k]), f64::from(r.y[k]), f64::from(r.z[k]));
        self.relief.as_ref().map_or(self.normal, |relief| own(relief))
    }

    /// The tile's sample in lane `k`, below the tile's length.
    pub fn sample(&self, k: usize) -> Sample {
        let offset = DVec3::new(f64::from(self.x_m[k]), f64::from(self.y_m[k]), f64::from(self.z_m[k]));
        Sample {
            number: self.first_sample + crate::base::number::index(k),
            class: self.class,
            position_m: self.centre_m + offset,
            normal: self.normal_of(k),
            area_m2: self.area_of_m2(k),
        }
    }
}
