//! The question where a picture lies that nothing places: two of its points, and where they are.

use crate::canvas::{Canvas, zoomed};
use crate::dialogs::meant_unless;
use crate::inputs::{Marked, Number};
use crate::theme::{self, space};
use crate::underlay::ReadyTile;
use crate::units::{Unit, Units};
use egui::{
    Color32, Context, Frame, Id, Key, Label, Mesh, Modal, Pos2, Rect, Response, RichText, Role, ScrollArea,
    Sense, Stroke, TextureHandle, TextureOptions, Ui, UiBuilder, WidgetInfo, vec2,
};
use glam::DVec2;
use obliquity_exchange::LocalFrame;
use obliquity_planning::{GeoPoint, Underlay, UnderlayFrame, limits};
use std::sync::Arc;

/// Points nearer to each other than this on the picture place it too badly.
const LEAST_APART_PX: f64 = 10.0;

/// Points nearer to each other than this on the site do.
const LEAST_APART_M: f64 = 0.1;

/// Width of the numbers beside the picture.
const NUMBERS: f32 = 300.0;

/// Tiles that the screen takes over in one frame.
const TILES_A_FRAME: usize = 2;

/// A point of the picture, and where it is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct KnownPoint {
    /// Column and row, from the centre of the first pixel.
    pub pixel: DVec2,
    /// East and north, in metres of the site's frame.
    pub at_m: DVec2,
}

/// What the numbers of a point are typed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum TypedIn {
    Metres,
    Degrees,
}

/// The question.
pub struct Placing {
    underlay: Underlay,
    origin: Option<GeoPoint>,
    tiles: Vec<ReadyTile>,
    textures: Vec<TextureHandle>,
    points: [KnownPoint; 2],
    /// Which one a click sets.
    next: usize,
    typed_in: TypedIn,
    canvas: Option<Canvas>,
    /// So far from zero its points may lie.
    reach_m: f64,
}

impl std::fmt::Debug for Placing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Placing").field("points", &self.points).finish_non_exhaustive()
    }
}

/// What was answered.
#[derive(Debug, Clone, PartialEq)]
pub enum PlacingAnswer {
    /// The picture lies so.
    Place(Box<Underlay>),
    /// It is left out.
    Cancel,
}

/// A picture turned, scaled and moved so that two of its points lie where they are known to be; nothing where they are too
/// near to each other.
///
/// # References
/// Derived: the one similarity of the plane that takes two points to two others, as a quotient of complex numbers.
pub fn placed_by(underlay: &Underlay, [a, b]: [KnownPoint; 2]) -> Option<Underlay> {
    // Rows count downward.
    let from = (b.pixel - a.pixel) * DVec2::new(1.0, -1.0);
    let to = b.at_m - a.at_m;
    if !(from.length() >= LEAST_APART_PX && to.length() >= LEAST_APART_M) {
        return None;
    }
    let right = DVec2::new(from.dot(to), from.perp_dot(to)) / from.length_squared();
    let down = -right.perp();
    let first = a.at_m - right * a.pixel.x - down * a.pixel.y;
    Some(Underlay { coordinates: UnderlayFrame::Site, first, right, down, ..underlay.clone() })
}

impl Placing {
    /// About a picture that was read, on a site.
    ///
    /// # Units
    /// - `reach_m`: metres, how far from zero its points may lie
    pub fn new(underlay: Underlay, tiles: Vec<ReadyTile>, origin: Option<GeoPoint>, reach_m: f64) -> Self {
        let size = DVec2::new(f64::from(underlay.columns), f64::from(underlay.rows));
        let point = |share: DVec2| KnownPoint { pixel: (size * share).round(), at_m: DVec2::ZERO };
        let points = [point(DVec2::new(0.25, 0.75)), point(DVec2::new(0.75, 0.75))];
        let (textures, canvas, typed_in) = (Vec::new(), None, TypedIn::Metres);
        Placing { underlay, origin, tiles, textures, points, next: 0, typed_in, canvas, reach_m }
    }

    /// Shows the question; an answer closes it.
    pub fn show(&mut self, ctx: &Context, units: Units) -> Option<PlacingAnswer> {
        let room = ctx.content_rect();
        let size = vec2(
            (room.width() - 6.0 * space::PAGE).clamp(320.0, 1400.0),
            (room.height() - 6.0 * space::PAGE).clamp(240.0, 900.0),
        );
        let frame = Frame::popup(&ctx.global_style()).inner_margin(space::PAGE);
        let shown = Modal::new(Id::unique("placing")).frame(frame).show(ctx, |ui| {
            ui.set_width(size.x);
            ui.set_height(size.y);
            ui.spacing_mut().item_spacing.y = space::ROW;
            self.content(ui, units)
        });
        if shown.should_close() { Some(PlacingAnswer::Cancel) } else { shown.inner }
    }

    fn content(&mut self, ui: &mut Ui, units: Units) -> Option<PlacingAnswer> {
        let room = ui.available_rect_before_wrap();
        let beside = NUMBERS.min(0.5 * room.width());
        let picture = room.with_max_x(room.right() - beside - space::PAGE);
        let response = ui.interact(picture, ui.scope_id().with("picture"), Sense::click_and_drag());
        self.listen(ui, &response);
        self.paint(ui, picture);
        let name = self.underlay.file.clone();
        response.widget_info(|| {
            WidgetInfo::labeled(Role::Image, true, format!("Picture {name}: click where a point is"))
        });
        let right = room.with_min_x(picture.right() + space::PAGE);
        ui.scope_builder(UiBuilder::new().max_rect(right), |ui| self.numbers(ui, units)).inner
    }

    /// The place of a pixel on a canvas whose metres are pixels.
    fn on_canvas(pixel: DVec2) -> DVec2 {
        pixel * DVec2::new(1.0, -1.0)
    }

    fn fitted(&self, area: Rect) -> Canvas {
        let size = DVec2::new(f64::from(self.underlay.columns), f64::from(self.underlay.rows));
        Canvas::fitted((DVec2::new(0.0, -size.y), DVec2::new(size.x, 0.0)), area)
    }

    fn listen(&mut self, ui: &Ui, response: &Response) {
        let area = response.rect;
        let mut canvas = self.canvas.unwrap_or_else(|| self.fitted(area));
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
        {
            let pixel = Self::on_canvas(canvas.to_site(at, area));
            // Half a pixel is as near as one can point.
            self.points[self.next].pixel = (2.0 * pixel).round() / 2.0;
            self.next = 1 - self.next;
        }
        if response.dragged() {
            canvas.pan(response.drag_delta());
        }
        if let Some(at) = response.hover_pos() {
            let factor = ui.input(zoomed);
            if (factor - 1.0).abs() > 1e-4 {
                canvas.zoom(factor, at, area);
            }
            if ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, Key::Num0)) {
                canvas = self.fitted(area);
            }
        }
        self.canvas = Some(canvas);
    }

    fn paint(&mut self, ui: &Ui, area: Rect) {
        for tile in self.tiles.iter().skip(self.textures.len()).take(TILES_A_FRAME) {
            let name = format!("placing {}", self.textures.len());
            self.textures.push(ui.ctx().load_texture(name, Arc::clone(tile.image()), TextureOptions::LINEAR));
        }
        if self.textures.len() < self.tiles.len() {
            ui.ctx().request_repaint();
        }
        let painter = ui.painter_at(area);
        let colors = theme::of(ui);
        painter.rect_filled(area, 4.0, colors.trough);
        let canvas = self.canvas.unwrap_or_else(|| self.fitted(area));
        let at = |pixel: DVec2| canvas.to_screen(Self::on_canvas(pixel), area);
        for (texture, tile) in self.textures.iter().zip(&self.tiles) {
            let [left, top, right, bottom] = tile.edges();
            let place = Rect::from_min_max(at(DVec2::new(left, top)), at(DVec2::new(right, bottom)));
            let mut mesh = Mesh::with_texture(texture.id());
            mesh.add_rect_with_uv(place, Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0)), Color32::WHITE);
            painter.add(mesh);
        }
        for (k, point) in self.points.iter().enumerate() {
            let place = at(point.pixel);
            let color = if k == self.next { colors.accent } else { colors.ink };
            for (width, color) in [(4.0, colors.surface), (1.5, color)] {
                let stroke = Stroke::new(width, color);
                painter.circle_stroke(place, 9.0, stroke);
                painter.line_segment([place - vec2(14.0, 0.0), place + vec2(14.0, 0.0)], stroke);
                painter.line_segment([place - vec2(0.0, 14.0), place + vec2(0.0, 14.0)], stroke);
            }
            let text = painter.layout_no_wrap(NAMES[k].to_owned(), theme::body_strong(), color);
            let corner = place + vec2(12.0, -14.0 - text.size().y);
            painter.rect_filled(Rect::from_min_size(corner, text.size()).expand(3.0), 3.0, colors.surface);
            painter.galley(corner, text, color);
        }
    }

    fn numbers(&mut self, ui: &mut Ui, units: Units) -> Option<PlacingAnswer> {
        ui.add(Label::new(RichText::new("Place the picture by two points").font(theme::title())).wrap());
        let marked = Marked::before(ui);
        // The answers stay in sight; what is above them is scrolled in a small window.
        let most = (ui.available_height() - ANSWERS).max(60.0);
        let scroll = ScrollArea::vertical().id_salt("points").max_height(most).min_scrolled_height(most);
        scroll.auto_shrink([false, true]).show(ui, |ui| self.known_points(ui, units));
        ui.add_space(space::ROW);
        let placed = placed_by(&self.underlay, self.points);
        let color = if placed.is_some() { theme::of(ui).ink } else { theme::of(ui).warn };
        let told = placed.as_ref().map_or_else(|| TOO_NEAR.to_owned(), |placed| said(placed, units));
        ui.add(Label::new(RichText::new(told).color(color)).wrap());
        let mut answer = None;
        ui.horizontal(|ui| {
            match placed {
                Some(placed) if meant_unless(ui, "Place", marked) => {
                    answer = Some(PlacingAnswer::Place(Box::new(placed)));
                }
                None => {
                    ui.add_enabled(false, egui::Button::new("Place")).on_disabled_hover_text(TOO_NEAR);
                }
                Some(_) => {}
            }
            if ui.button("Cancel").clicked() {
                answer = Some(PlacingAnswer::Cancel);
            }
        });
        answer
    }

    /// What is to be done, and the numbers of both points.
    fn known_points(&mut self, ui: &mut Ui, units: Units) {
        let why = "Click two places on the picture that you know, far from each other, and say where they are. Drag moves the \
                   picture, the wheel zooms, 0 shows all of it.";
        ui.add(Label::new(RichText::new(why).color(theme::of(ui).muted)).wrap());
        self.choose_coordinates(ui);
        let mut places = [[Rect::NOTHING; 4]; 2];
        for (k, name) in NAMES.into_iter().enumerate() {
            ui.add_space(space::TIGHT);
            let next = self.next == k;
            let text = format!("Point {name}");
            if ui.radio(next, text).on_hover_text("The next click on the picture sets it").clicked() {
                self.next = k;
            }
            places[k] = self.rows(ui, k);
        }
        // What is typed goes from point to point; the pixels are clicked, and come after.
        for part in [Typed::Place, Typed::Pixel] {
            for (k, at) in places.into_iter().enumerate() {
                match part {
                    Typed::Place => self.place(ui, k, [at[0], at[1]], units),
                    Typed::Pixel => self.pixel(ui, k, [at[2], at[3]], units),
                }
            }
        }
    }

    fn choose_coordinates(&mut self, ui: &mut Ui) {
        if self.origin.is_none() {
            return;
        }
        ui.horizontal_wrapped(|ui| {
            for (way, text) in
                [(TypedIn::Metres, "The site's metres"), (TypedIn::Degrees, "Degrees (WGS 84)")]
            {
                if ui.radio(self.typed_in == way, text).clicked() {
                    self.typed_in = way;
                }
            }
        });
    }

    /// The rows of a point: names, and where its numbers go.
    fn rows(&self, ui: &mut Ui, k: usize) -> [Rect; 4] {
        let [first, second] = if self.frame().is_some() { IN_DEGREES } else { IN_METRES };
        let names = [first, second, "Column", "Row"];
        let grid = egui::Grid::new(("point", k)).num_columns(2).spacing([space::PAGE, space::TIGHT]).show(
            ui,
            |ui| {
                names.map(|name| {
                    ui.label(name);
                    let (area, _) = ui.allocate_exact_size(vec2(118.0, 22.0), Sense::hover());
                    ui.end_row();
                    area
                })
            },
        );
        grid.inner
    }

    /// Between degrees and the site's metres, where degrees are typed.
    fn frame(&self) -> Option<LocalFrame> {
        self.origin.filter(|_| self.typed_in == TypedIn::Degrees).map(LocalFrame::new)
    }

    /// Where a point lies.
    fn place(&mut self, ui: &mut Ui, k: usize, [first, second]: [Rect; 2], units: Units) {
        let at_m = self.points[k].at_m;
        let Some(frame) = self.frame() else {
            let metres = Field { unit: Unit::Metres, range: -self.reach_m..=self.reach_m, decimals: 3 };
            let [east, north] = IN_METRES;
            self.points[k].at_m.x = metres.put(ui, first, &of_point(east, k), at_m.x, units);
            self.points[k].at_m.y = metres.put(ui, second, &of_point(north, k), at_m.y, units);
            return;
        };
        let degrees =
            |of: limits::Range| Field { unit: Unit::Degrees, range: of.least..=of.most, decimals: 8 };
        let place = frame.to_geo(at_m);
        let [north, east] = IN_DEGREES;
        let (latitude, longitude) = (degrees(limits::LATITUDE_DEG), degrees(limits::LONGITUDE_DEG));
        let typed = GeoPoint {
            latitude_deg: latitude.put(ui, first, &of_point(north, k), place.latitude_deg, units),
            longitude_deg: longitude.put(ui, second, &of_point(east, k), place.longitude_deg, units),
        };
        if typed != place {
            self.points[k].at_m = frame.to_local(typed);
        }
    }

    /// Which pixel it is.
    fn pixel(&mut self, ui: &mut Ui, k: usize, [first, second]: [Rect; 2], units: Units) {
        let side = f64::from(self.underlay.columns.max(self.underlay.rows));
        let pixels = Field { unit: Unit::Pixels, range: -side..=2.0 * side, decimals: 1 };
        let pixel = self.points[k].pixel;
        self.points[k].pixel.x = pixels.put(ui, first, &of_point("Column", k), pixel.x, units);
        self.points[k].pixel.y = pixels.put(ui, second, &of_point("Row", k), pixel.y, units);
    }
}

/// In which order the numbers are gone through.
#[derive(Debug, Clone, Copy)]
enum Typed {
    Place,
    Pixel,
}

const IN_METRES: [&str; 2] = ["East", "North"];
const IN_DEGREES: [&str; 2] = ["Latitude", "Longitude"];

fn of_point(text: &str, k: usize) -> String {
    format!("{text} of point {}", NAMES[k])
}

/// A number of a point.
struct Field {
    unit: Unit,
    range: std::ops::RangeInclusive<f64>,
    decimals: usize,
}

impl Field {
    /// Shows it; gives what it is now.
    fn put(&self, ui: &mut Ui, area: Rect, name: &str, value: f64, units: Units) -> f64 {
        let Field { unit, ref range, decimals } = *self;
        let number = Number { name, hint: "", unit, range: range.clone(), value, decimals };
        number.put(ui, units, area).unwrap_or(value)
    }
}

const NAMES: [&str; 2] = ["A", "B"];

/// Room for what the points come to, and for the answers.
const ANSWERS: f32 = 92.0;
const TOO_NEAR: &str = "The two points must be at least ten pixels and ten centimetres from each other.";

/// What placing comes to: size of a pixel, of the picture, and how it is turned.
fn said(placed: &Underlay, units: Units) -> String {
    let pixel_m = placed.right.length();
    let size = |pixels: u32| units.length(f64::from(pixels) * pixel_m);
    let turned = -placed.right.y.atan2(placed.right.x).to_degrees();
    let way = match turned {
        turned if turned.abs() < 0.05 => "north up".to_owned(),
        turned if turned > 0.0 => format!("turned {turned:.1}° clockwise"),
        turned => format!("turned {:.1}° anticlockwise", -turned),
    };
    format!(
        "A pixel is {} wide; the picture is {} by {}, {way}.",
        units.text(Unit::GsdMetres, pixel_m),
        size(placed.columns),
        size(placed.rows)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture() -> Underlay {
        Underlay {
            file: "scan.png".to_owned(),
            bytes: 1,
            digest: "00".to_owned(),
            columns: 400,
            rows: 300,
            coordinates: UnderlayFrame::Site,
            first: DVec2::ZERO,
            right: DVec2::X,
            down: DVec2::NEG_Y,
            opacity: Underlay::USUAL_OPACITY,
        }
    }

    /// Derived: both points come to lie where they were said to be, right angles stay right, and nothing is mirrored.
    #[test]
    fn two_points_place_a_picture() {
        let known =
            |pixel: (f64, f64), at_m: (f64, f64)| KnownPoint { pixel: pixel.into(), at_m: at_m.into() };
        // 100 pixels to the right are 50 m to the east: half a metre a pixel, north up.
        let plain =
            placed_by(&picture(), [known((10.0, 20.0), (0.0, 0.0)), known((110.0, 20.0), (50.0, 0.0))])
                .unwrap();
        assert!((plain.right - DVec2::new(0.5, 0.0)).length() < 1e-12);
        assert!((plain.down - DVec2::new(0.0, -0.5)).length() < 1e-12);
        assert!(said(&plain, Units::Metric).contains("north up"));
        // 100 pixels to the right are 100 m to the south: a quarter turn clockwise.
        let points = [known((10.0, 20.0), (7.0, 3.0)), known((110.0, 20.0), (7.0, -97.0))];
        let turned = placed_by(&picture(), points).unwrap();
        assert!(said(&turned, Units::Metric).contains("90.0° clockwise"), "{}", said(&turned, Units::Metric));
        for point in points {
            assert!(turned.at(point.pixel).distance(point.at_m) < 1e-9);
        }
        assert!(turned.right.dot(turned.down).abs() < 1e-12 && turned.right.perp_dot(turned.down) < 0.0);
        assert!(placed_by(&picture(), [points[0], known((15.0, 20.0), (0.0, 0.0))]).is_none());
        assert!(placed_by(&picture(), [points[0], KnownPoint { pixel: DVec2::ZERO, ..points[0] }]).is_none());
    }
}
