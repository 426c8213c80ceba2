//! Draws egui's tessellated meshes into an image without a window or a graphics card, and what is seen in perspective
//! (`depth`).
//!
//! Triangles are filled by half-open scanlines, so that two that share an edge neither overlap nor leave a seam;
//! colours are blended premultiplied and in gamma space, as the window's renderer does; textures are sampled
//! bilinearly. Bands of rows are drawn on several threads, and the image does not depend on how many.

pub mod depth;
mod fill;
mod texture;

use egui::epaint::{ClippedPrimitive, Primitive};
use egui::{Color32, TexturesDelta};
use rayon::prelude::*;
use texture::Textures;

/// Rows that one thread draws at a time.
const BAND_ROWS: usize = 32;

/// An image, row by row from the top; opaque.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// Pixels in a row.
    pub width_px: usize,
    /// Rows.
    pub height_px: usize,
    /// Premultiplied colours in gamma space.
    pub pixels: Vec<Color32>,
}

impl Image {
    /// The pixel in a column and a row, both from the top left.
    ///
    /// # Panics
    /// Outside the image.
    pub fn at(&self, column: usize, row: usize) -> Color32 {
        self.pixels[row * self.width_px + column]
    }
}

/// A renderer: the textures that egui has sent so far.
#[derive(Debug, Default)]
pub struct Raster {
    textures: Textures,
}

impl Raster {
    /// Takes over new and changed textures. Call it before [`Raster::paint`].
    pub fn set_textures(&mut self, delta: &mut TexturesDelta) {
        self.textures.set(delta);
    }

    /// Drops the textures that are no longer used. Call it after [`Raster::paint`].
    pub fn free_textures(&mut self, delta: &mut TexturesDelta) {
        self.textures.free(delta);
    }

    /// Draws the meshes in order over a background. Paint callbacks are left out: they need a graphics card.
    ///
    /// # Units
    /// - `width_px`, `height_px`: pixels of the image
    /// - `pixels_per_point`: pixels for each of egui's points
    pub fn paint(
        &self,
        primitives: &[ClippedPrimitive],
        (width_px, height_px): (usize, usize),
        pixels_per_point: f32,
        background: Color32,
    ) -> Image {
        let mut pixels = vec![background; width_px * height_px];
        if width_px > 0 {
            pixels.par_chunks_mut(width_px * BAND_ROWS).enumerate().for_each(|(index, band)| {
                let mut band = fill::RowBand::new(band, width_px, index * BAND_ROWS);
                for primitive in primitives {
                    if let Primitive::Mesh(mesh) = &primitive.primitive {
                        let texture = self.textures.get(mesh.texture_id);
                        band.draw(mesh, texture, primitive.clip_rect, pixels_per_point);
                    }
                }
            });
        }
        Image { width_px, height_px, pixels }
    }
}
