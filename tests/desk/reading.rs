//! What stands on a screen, read from the shapes that it is drawn of.

use egui::epaint::{ClippedShape, Shape, TextShape};
use egui::{Color32, Context, Pos2, RawInput, Rect, Vec2};
use obliquity::app::App;
use obliquity::theme::{self, Mode};
use obliquity_raster::{Image, Raster};
use std::sync::{Mutex, PoisonError};

/// A text as it was drawn.
#[derive(Debug)]
pub(crate) struct DrawnText {
    pub(crate) text: String,
    pub(crate) color: Color32,
    pub(crate) place: Rect,
    /// What of that place is in sight.
    pub(crate) clip: Rect,
    /// Size of its smallest letters, in points.
    pub(crate) size: f32,
}

/// A screen as it was drawn, one pixel a point.
pub(crate) struct DrawnScreen {
    pub(crate) texts: Vec<DrawnText>,
    pub(crate) image: Image,
}

/// What an app is drawn and read with: one for each, since its textures live here.
pub(crate) struct Reader {
    ctx: Context,
    raster: Raster,
    mode: Mode,
    time_s: f64,
}

/// Panels and scrolled areas learn their sizes in the first frames.
const FRAMES: u32 = 4;

/// Contexts that drew letters before, each at its scale and in its mode: the other one draws all letters anew.
static USED: Mutex<Vec<(f32, Mode, Context)>> = Mutex::new(Vec::new());

/// Draws with a context that knows nothing but the letters that were drawn so before: where panels and
/// scrolled areas stood, what was opened and what was moving is forgotten.
pub(crate) fn on_blank<T>(scale: f32, mode: Mode, draw: impl FnOnce(&Context) -> T) -> T {
    let used = || USED.lock().unwrap_or_else(PoisonError::into_inner);
    let mut pool = used();
    let found = pool.iter().position(|(own, of, _)| *own == scale && *of == mode);
    let ctx = found.map(|at| pool.swap_remove(at).2);
    drop(pool);
    let ctx = ctx.unwrap_or_else(|| {
        let ctx = Context::default();
        ctx.enable_accesskit();
        ctx
    });
    ctx.memory_mut(|memory| *memory = egui::Memory::default());
    ctx.clear_animations();
    theme::install(&ctx, mode);
    let drawn = draw(&ctx);
    used().push((scale, mode, ctx));
    drawn
}

impl Reader {
    pub(crate) fn new(mode: Mode) -> Self {
        let ctx = Context::default();
        theme::install(&ctx, mode);
        Reader { ctx, raster: Raster::default(), mode, time_s: 0.0 }
    }

    /// The texts of the screen that the app shows, once it has settled.
    pub(crate) fn texts(&mut self, app: &mut App, size: (f32, f32)) -> Vec<DrawnText> {
        let mut texts = Vec::new();
        for clipped in &self.shapes(app, size) {
            collect(clipped, &mut texts);
        }
        texts
    }

    /// The same, with the picture that they stand in.
    pub(crate) fn read(&mut self, app: &mut App, size: (f32, f32)) -> DrawnScreen {
        let shapes = self.shapes(app, size);
        let mut texts = Vec::new();
        for clipped in &shapes {
            collect(clipped, &mut texts);
        }
        let meshes = self.ctx.tessellate(shapes, 1.0);
        let background = theme::colors(self.mode).page;
        let image = self.raster.paint(&meshes, (size.0 as usize, size.1 as usize), 1.0, background);
        DrawnScreen { texts, image }
    }

    fn shapes(&mut self, app: &mut App, (width, height): (f32, f32)) -> Vec<ClippedShape> {
        let screen_rect = Some(Rect::from_min_size(Pos2::ZERO, Vec2::new(width, height)));
        let mut shapes = Vec::new();
        for _ in 0..FRAMES {
            self.time_s += 1.0;
            let input = RawInput { screen_rect, time: Some(self.time_s), ..RawInput::default() };
            let mut output = self.ctx.run_ui(input, |ui| app.screen(ui));
            self.raster.set_textures(&mut output.textures_delta);
            self.raster.free_textures(&mut output.textures_delta);
            shapes = output.shapes;
        }
        shapes
    }
}

fn collect(clipped: &ClippedShape, texts: &mut Vec<DrawnText>) {
    fn within(shape: &Shape, clip: Rect, texts: &mut Vec<DrawnText>) {
        match shape {
            Shape::Vec(shapes) => shapes.iter().for_each(|shape| within(shape, clip, texts)),
            Shape::Text(text) => texts.push(drawn(text, clip)),
            _ => {}
        }
    }
    within(&clipped.shape, clipped.clip_rect, texts);
}

fn drawn(shape: &TextShape, clip: Rect) -> DrawnText {
    let section =
        shape.galley.job.sections.first().map_or(Color32::PLACEHOLDER, |section| section.format.color);
    let color = match (shape.override_text_color, section) {
        (None, Color32::PLACEHOLDER) => shape.fallback_color,
        (Some(color), _) | (None, color) => color,
    };
    DrawnText {
        text: shape.galley.text().to_owned(),
        color: color.gamma_multiply(shape.opacity_factor),
        place: shape.visual_bounding_rect(),
        clip,
        size: shape
            .galley
            .job
            .sections
            .iter()
            .map(|section| section.format.font_id.size)
            .fold(f32::INFINITY, f32::min),
    }
}
