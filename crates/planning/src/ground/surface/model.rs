use crate::base::ByClass;
use crate::ground::surface::heights::Heights;
use crate::ground::surface::horizon::Horizon;
use crate::ground::surface::tile::{Relief, Tile};
use crate::scenario::Terrain;
use glam::DVec2;
use std::sync::Arc;

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
