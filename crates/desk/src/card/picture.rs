//! The card as a picture: dark on white, whatever the screen looks like.

use super::page;
use crate::long;
use crate::picture::{self, PictureSize};
use crate::theme::{self, Mode};
use egui::{CentralPanel, Frame};
use obliquity_exchange::CardSheet;
use obliquity_raster::Image;

/// Width of a page, in points of 1/96 inch: that of A4.
pub const PAPER_POINTS: f32 = 794.0;
/// Of more pages than this the picture shows the first ones; the PDF has all.
const MOST_PAGES: usize = 7;
/// Between two pages.
const APART: f32 = 12.0;
/// Pixels for each point: 192 an inch.
const SHARP: f32 = 2.0;

/// Draws the pages on white, one below the other. `slot` is the strategy's colour.
pub fn picture(sheet: &CardSheet, slot: usize) -> Image {
    long::begins("drawing a card");
    let (wide, high) = sheet.paper.size_pt();
    let shown = CardSheet { pages: sheet.pages.iter().take(MOST_PAGES).cloned().collect(), ..sheet.clone() };
    let count = shown.pages.len().max(1) as f32;
    let height = count * high / wide * PAPER_POINTS + (count - 1.0) * APART;
    let canvas = PictureSize {
        width_px: whole(PAPER_POINTS * SHARP),
        height_px: whole(height * SHARP),
        pixels_per_point: SHARP,
        mode: Mode::Light,
    };
    picture::draw(&canvas, |ui| {
        let frame = Frame::new().fill(theme::of(ui).surface);
        CentralPanel::default().frame(frame).show(ui, |ui| {
            ui.spacing_mut().item_spacing = egui::Vec2::ZERO;
            page::pages(ui, &shown, slot, PAPER_POINTS, &mut Vec::new());
        });
    })
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a size in pixels, above 0")]
fn whole(size: f32) -> u32 {
    size.ceil().max(1.0) as u32
}

/// A file name for the card of a strategy.
pub fn short_file_name(strategy: &str, extension: &str) -> String {
    let plain: String =
        strategy.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
    format!("card_{plain}.{extension}")
}
