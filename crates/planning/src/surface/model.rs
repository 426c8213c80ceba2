use super::heights::{Heights, Horizon};
use crate::{ByClass, SurfaceClass, Terrain};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Most samples in a tile: one bit each in a word.
pub const TILE_LEN: usize = 64;

/// The samples of a site in tiles, and what hides them. Made once for a site.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteModel {
    /// All samples; those of a tile lie on one face or are neighbours on uneven ground.
    pub tiles: Vec<Tile>,
    /// Convex solids that hide what is behind them.
    pub prisms: Vec<Prism>,
    /// Area of each class, in square metres; 0 where the site has none.
    pub area_m2: ByClass<f64>,
    /// Distance between samples.
    pub spacing_m: f64,
    /// Mean ground inside the boundary: what heights are above.
    pub reference_z_m: f64,
    /// Number of samples in all tiles.
    pub sample_count: u32,
    /// Whether the structures are assumed ones.
    pub assumed: bool,
    /// The ground, which hides what is behind it.
    pub terrain: Terrain,
    /// Uneven ground, laid out for rays.
    pub(crate) heights: Option<Arc<Heights>>,
    /// South-west and north-east corner of everything on the site.
    pub extent_m: (DVec2, DVec2),
}

/// Up to [`TILE_LEN`] neighbouring samples of one face.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// What the face is.
    pub class: SurfaceClass,
    /// The face's normal; on uneven ground the mean of the samples' own.
    pub normal: DVec3,
    /// What the coordinates are relative to; it lies on the face's plane where there is one.
    pub centre_m: DVec3,
    /// No sample is farther from the centre.
    pub radius_m: f64,
    /// Samples used; the lanes beyond repeat the last one.
    pub len: usize,
    /// Sample coordinates relative to the centre.
    pub x_m: [f32; TILE_LEN],
    /// As `x_m`.
    pub y_m: [f32; TILE_LEN],
    /// As `x_m`.
    pub z_m: [f32; TILE_LEN],
    /// Area that each sample stands for; on uneven ground its area in plan.
    pub sample_area_m2: f64,
    /// Number of its first sample; the others follow.
    pub first_sample: u32,
    /// Indices of the prisms whose shadow can reach the tile, the nearest first.
    pub prisms: Vec<u32>,
    /// The samples' own normals, on uneven ground.
    pub relief: Option<Box<Relief>>,
    /// What uneven ground can hide, by direction.
    pub horizon: Option<Box<Horizon>>,
}

/// Unit normals of the samples of a tile on uneven ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// To the east.
    pub x: [f32; TILE_LEN],
    /// To the north.
    pub y: [f32; TILE_LEN],
    /// Upward, above 0.
    pub z: [f32; TILE_LEN],
}

/// An upright convex solid.
#[derive(Debug, Clone, PartialEq)]
pub struct Prism {
    /// Convex footprint, counter-clockwise, open ring.
    pub footprint_m: Vec<DVec2>,
    /// Its lower end.
    pub bottom_m: f64,
    /// Its upper end.
    pub top_m: f64,
}

impl SiteModel {
    /// Memory it takes, about.
    pub fn bytes(&self) -> usize {
        let lists: usize = self.tiles.iter().map(|tile| tile.prisms.len() * size_of::<u32>()).sum();
        let reliefs = self.tiles.iter().filter(|tile| tile.relief.is_some()).count() * size_of::<Relief>();
        let horizons = self.tiles.iter().filter(|tile| tile.horizon.is_some()).count() * size_of::<Horizon>();
        let ground = self.heights.as_ref().map_or(0, |heights| heights.bytes());
        self.tiles.len() * size_of::<Tile>()
            + lists
            + reliefs
            + horizons
            + ground
            + self.prisms.len() * size_of::<Prism>()
    }
}

impl Tile {
    /// Area that the sample in lane `k` stands for, in square metres.
    pub fn area_of_m2(&self, k: usize) -> f64 {
        self.sample_area_m2 * self.weight(k)
    }

    /// Area that all its samples stand for, in square metres.
    pub fn area_m2(&self) -> f64 {
        (0..self.len).map(|k| self.area_of_m2(k)).sum()
    }

    /// A sample's area as a multiple of [`Tile::sample_area_m2`]: 1 over the cosine of its slope on uneven ground.
    pub(crate) fn weight(&self, k: usize) -> f64 {
        self.relief.as_ref().map_or(1.0, |relief| 1.0 / f64::from(relief.z[k]))
    }
}
