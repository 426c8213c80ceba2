//! Diagrams as files: vector graphics, a picture, or their values.

use crate::chart;
use crate::menus;
use crate::picture::{self, PictureSize};
use crate::theme::{self, Mode, space};
use egui::{CentralPanel, Frame, Rect, RichText, Ui, UiBuilder, vec2};
use obliquity_exchange::chart::Chart;
use obliquity_exchange::{OutputKind, VALUES_TABLE};

/// What a screen's diagrams are saved as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartsAs {
    /// Vector graphics.
    Svg,
    /// A picture.
    Png,
    /// Their values.
    Csv,
}

impl ChartsAs {
    /// All of them, as they are offered.
    pub const ALL: [ChartsAs; 3] = [ChartsAs::Svg, ChartsAs::Png, ChartsAs::Csv];

    /// The end of its files' names.
    pub fn extension(self) -> &'static str {
        match self {
            ChartsAs::Svg => "svg",
            ChartsAs::Png => "png",
            ChartsAs::Csv => "csv",
        }
    }

    /// What its files are.
    pub fn kind(self) -> OutputKind {
        match self {
            ChartsAs::Svg => OutputKind::DIAGRAM,
            ChartsAs::Png => OutputKind::PICTURE,
            ChartsAs::Csv => VALUES_TABLE,
        }
    }

    fn offer(self) -> (&'static str, &'static str) {
        match self {
            ChartsAs::Svg => ("Diagrams as SVG…", "Vector graphics, for a report"),
            ChartsAs::Png => ("Diagrams as picture…", "A PNG file on white"),
            ChartsAs::Csv => ("Values as CSV…", "Every value of the diagrams, for a spreadsheet"),
        }
    }
}

/// A button that offers to save the diagrams of a screen.
pub fn menu(ui: &mut Ui) -> Option<ChartsAs> {
    let mut chosen = None;
    let button = ui.menu_button("Save…", |ui| {
        menus::items(ui, |ui| {
            ui.set_min_width(180.0);
            for one in ChartsAs::ALL {
                let (text, hint) = one.offer();
                if ui.button(text).on_hover_text(hint).clicked() {
                    chosen = Some(one);
                    ui.close();
                }
            }
        });
    });
    button.response.on_hover_text("Save the diagrams of this screen, or their values");
    chosen
}

/// Width and height of a diagram in a file, and its pixels for each of them.
const EACH: (u32, u32) = (800, 460);
const PICTURE_SCALE: u32 = 2;

fn canvas(charts: &[Chart], scale: u32) -> PictureSize {
    let (columns, rows) = layout(charts.len());
    let [width_px, height_px] = [columns * EACH.0, rows * EACH.1].map(|points| scale * points);
    PictureSize { width_px, height_px, pixels_per_point: scale as f32, mode: Mode::Light }
}

/// Columns and rows of so many diagrams.
fn layout(count: usize) -> (u32, u32) {
    let count = (count as u32).max(1);
    let columns = if count < 3 { 1 } else { 2 };
    (columns, count.div_ceil(columns))
}

/// Diagrams as vector graphics, below and beside each other.
///
/// # Errors
/// Why they could not be written, for people.
pub fn svg(charts: &[Chart]) -> Result<Vec<u8>, String> {
    picture::svg_bytes(&canvas(charts, 1), charts)
}

/// Diagrams as a picture, below and beside each other on white.
///
/// # Errors
/// Why they could not be written, for people.
pub fn png(charts: &[Chart]) -> Result<Vec<u8>, String> {
    let columns = layout(charts.len()).0;
    let image = picture::draw(&canvas(charts, PICTURE_SCALE), |ui| {
        let frame = Frame::new().fill(theme::of(ui).surface);
        CentralPanel::default().frame(frame).show(ui, |ui| {
            let corner = ui.max_rect().min;
            for (k, one) in (0..).zip(charts) {
                let size = vec2(EACH.0 as f32, EACH.1 as f32);
                let by = vec2((k % columns) as f32 * size.x, (k / columns) as f32 * size.y);
                let place = Rect::from_min_size(corner + by, size).shrink(space::PAGE);
                ui.scope_builder(UiBuilder::new().id_salt(k).max_rect(place), |ui| figure(ui, one));
            }
        });
    });
    picture::png_bytes(&image).map_err(|error| error.to_string())
}

/// A diagram with its title, in all of the room.
fn figure(ui: &mut Ui, one: &Chart) {
    const AROUND: f32 = 80.0;
    ui.label(RichText::new(&one.title).font(theme::body_strong()));
    let under = chart::under_height(one);
    let size = vec2(ui.available_width(), (ui.available_height() - AROUND - under).max(AROUND));
    let large = chart::large(ui, one, size);
    chart::under(ui, one, &large);
}
