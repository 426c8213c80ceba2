//! Neighbouring samples of one face.

use crate::base::SurfaceClass;
use crate::ground::surface::horizon::Horizon;
use glam::DVec3;

/// Most samples in a tile: one bit each in a word.
pub const TILE_LEN: usize = 64;

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

impl Tile {
    /// Area that the sample in lane `k` stands for, in square metres.
    ///
    /// # Units
    /// - returns: square metres
    ///
    /// # References
    /// Derived: area in plan over the cosine of the slope.
    pub fn area_of_m2(&self, k: usize) -> f64 {
        self.sample_area_m2 * self.weight(k)
    }

    /// Area that all its samples stand for, in square metres.
    ///
    /// # Units
    /// - returns: square metres
    pub fn area_m2(&self) -> f64 {
        (0..self.len).map(|k| self.area_of_m2(k)).sum()
    }

    /// A sample's area as a multiple of [`Tile::sample_area_m2`]: 1 over the cosine of its slope on uneven ground.
    pub(crate) fn weight(&self, k: usize) -> f64 {
        self.relief.as_ref().map_or(1.0, |relief| 1.0 / f64::from(relief.z[k]))
    }
}
