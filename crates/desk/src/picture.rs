//! Draws a screen into an image file, without a window.

use crate::chart::palette;
use crate::long;
use crate::theme::{self, Mode};
use egui::{Color32, Pos2, RawInput, Rect, Vec2, ViewportId};
use obliquity_exchange::chart::{Chart, svg};
use obliquity_raster::{Image, Raster};
use std::io::Write;

/// Panels and scrolled areas learn their sizes in the first passes.
const PASSES: u32 = 4;

/// How large a picture is and what it looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PictureSize {
    /// Pixels of the image.
    pub width_px: u32,
    /// Pixels of the image.
    pub height_px: u32,
    /// Pixels for each point: 2 draws everything twice as large.
    pub pixels_per_point: f32,
    /// Light or dark.
    pub mode: Mode,
}

/// A picture could not be written.
#[derive(Debug, thiserror::Error)]
#[error("the picture could not be encoded: {0}")]
pub struct PictureError(#[from] png::EncodingError);

/// Draws what `screen` puts on the canvas, in the program's own look.
pub fn draw(canvas: &PictureSize, mut screen: impl FnMut(&mut egui::Ui)) -> Image {
    let ctx = egui::Context::default();
    theme::install(&ctx, canvas.mode);
    let mut raster = Raster::default();
    let mut image = None;
    for pass in 0..PASSES {
        let mut output = ctx.run_ui(input(canvas, pass), &mut screen);
        raster.set_textures(&mut output.textures_delta);
        if pass + 1 == PASSES {
            let meshes = ctx.tessellate(std::mem::take(&mut output.shapes), output.pixels_per_point);
            let size = (canvas.width_px as usize, canvas.height_px as usize);
            let background = theme::colors(canvas.mode).page;
            image = Some(raster.paint(&meshes, size, output.pixels_per_point, background));
        }
        raster.free_textures(&mut output.textures_delta);
    }
    image.unwrap_or(Image { width_px: 0, height_px: 0, pixels: Vec::new() })
}

/// Encodes an image as PNG.
///
/// # Errors
/// [`PictureError`] if the encoder refuses the image, for instance one without pixels.
pub fn png_bytes(image: &Image) -> Result<Vec<u8>, PictureError> {
    long::begins("encoding a picture");
    let mut bytes = Vec::new();
    #[expect(clippy::cast_possible_truncation, reason = "sizes come from u32")]
    let (width, height) = (image.width_px as u32, image.height_px as u32);
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    // Flat areas and letters that come again compress best as they are.
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::NoFilter);
    // Row by row, so that the picture is not held twice.
    let mut writer = encoder.write_header()?;
    let mut rows = writer.stream_writer()?;
    for row in image.pixels.chunks(image.width_px.max(1)) {
        let row: Vec<u8> = row.iter().flat_map(Color32::to_array).collect();
        rows.write_all(&row).map_err(png::EncodingError::from)?;
    }
    rows.finish()?;
    writer.finish()?;
    Ok(bytes)
}

/// Writes diagrams as vector graphics.
///
/// # Errors
/// Why they could not be written, for people.
pub fn svg_bytes(canvas: &PictureSize, charts: &[Chart]) -> Result<Vec<u8>, String> {
    let size_px = (canvas.width_px, canvas.height_px);
    svg(charts, size_px, &palette(canvas.mode)).map(String::into_bytes).map_err(|error| error.to_string())
}

fn input(canvas: &PictureSize, pass: u32) -> RawInput {
    let size = Vec2::new(canvas.width_px as f32, canvas.height_px as f32) / canvas.pixels_per_point;
    let mut input = RawInput {
        screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)),
        time: Some(f64::from(pass)),
        ..RawInput::default()
    };
    if let Some(viewport) = input.viewports.get_mut(&ViewportId::ROOT) {
        viewport.native_pixels_per_point = Some(canvas.pixels_per_point);
    }
    input
}
