use super::render::EDGE;
use super::{Paper, Picked, Scene, Sheet};
use egui::{Color32, Pos2, Rect, Vec2, pos2, vec2};
use obliquity_raster::depth::{Corner, Frame, Shape, draw};

/// How walls drawn flat are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flat {
    /// How large a metre is drawn; nothing for as large as all of them have room.
    pub points_per_m: Option<f64>,
    /// How far the sheet is scrolled down, in points.
    pub scrolled: f32,
}

/// Room over a group for its name.
const HEAD: f32 = 20.0;
/// Room over a row of panels for what is written of each.
pub(super) const LABEL: f32 = 32.0;
/// Between groups.
const GAP: Vec2 = vec2(16.0, 12.0);
/// Between rows of one group.
const ROW_GAP: f32 = 6.0;
/// Nothing can be written of a panel that is narrower.
pub(super) const LEAST_LABELLED: f32 = 20.0;
/// A group is no narrower than this, so that its name has room.
const LEAST_WIDTH: f32 = 126.0;
/// Lines between narrower panels would hide them.
const LEAST_LINED: f32 = 12.0;
/// How large and how small a metre can be drawn.
const SCALES: (f64, f64) = (0.2, 400.0);
/// A sheet that does not fit is drawn so large that its highest panel has this height.
const LEAST_HEIGHT: f64 = 64.0;

/// Where everything is on a sheet, in points from its upper left corner.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// How large a metre is.
    pub points_per_m: f64,
    /// Group and its name's place.
    pub heads: Vec<(usize, Rect)>,
    /// Group, panel in it, and its place.
    pub panels: Vec<(usize, usize, Rect)>,
    /// Lower end of everything.
    pub height: f32,
}

impl Layout {
    /// Lays a sheet out on a width, with a metre so large.
    pub fn new(sheet: &Sheet, width: f32, points_per_m: f64) -> Layout {
        let mut layout = Layout { points_per_m, ..Layout::default() };
        let (mut at, mut line) = (Pos2::ZERO, 0.0_f32);
        for group in 0..sheet.groups.len() {
            let mut own = Layout::of_group(sheet, group, width, points_per_m);
            let size = own.extent();
            if at.x > 0.0 && at.x + size.x > width {
                at = pos2(0.0, at.y + line + GAP.y);
                line = 0.0;
            }
            own.shift(at.to_vec2());
            layout.heads.append(&mut own.heads);
            layout.panels.append(&mut own.panels);
            line = line.max(size.y);
            at.x += size.x + GAP.x;
            layout.height = at.y + line;
        }
        layout
    }

    /// The layout with the largest metre of which all has room, or one that has to be scrolled.
    pub fn fitted(sheet: &Sheet, room: Vec2) -> Layout {
        let highest_m = sheet.groups.iter().flat_map(|group| &group.panels).map(|panel| panel.size_m.y);
        let highest_m = highest_m.fold(1.0, f64::max);
        let (mut small, mut large) = SCALES;
        for _ in 0..24 {
            let scale = (small * large).sqrt();
            let layout = Layout::new(sheet, room.x, scale);
            let wide = layout.panels.iter().all(|(.., place)| place.right() <= room.x);
            if layout.height <= room.y && wide { small = scale } else { large = scale }
        }
        Layout::new(sheet, room.x, small.max(LEAST_HEIGHT.min(f64::from(room.y) / 2.0) / highest_m))
    }

    /// Another scale, within what can be drawn.
    pub fn scaled(&self, factor: f64) -> f64 {
        (self.points_per_m * factor).clamp(SCALES.0, SCALES.1)
    }

    /// One group from the corner on, in rows.
    fn of_group(sheet: &Sheet, group: usize, width: f32, points_per_m: f64) -> Layout {
        let mut layout = Layout { points_per_m, ..Layout::default() };
        let panels = &sheet.groups[group].panels;
        let length = |m: f64| (m * points_per_m) as f32;
        let (mut first, mut top) = (0, HEAD);
        while first < panels.len() {
            let mut x = 0.0;
            let fits = panels[first..].iter().enumerate().take_while(|(k, panel)| {
                x += length(panel.size_m.x);
                *k == 0 || x <= width
            });
            let row = &panels[first..first + fits.count()];
            let low_m = row.iter().map(|panel| panel.low_m.y).fold(f64::INFINITY, f64::min);
            let high_m = row.iter().map(|panel| panel.low_m.y + panel.size_m.y).fold(low_m, f64::max);
            let is_labelled = row.iter().any(|panel| length(panel.size_m.x) >= LEAST_LABELLED);
            let label = if is_labelled { LABEL } else { 0.0 };
            let bottom = top + label + length(high_m - low_m);
            let mut left = 0.0;
            for (k, panel) in row.iter().enumerate() {
                let foot = bottom - length(panel.low_m.y - low_m);
                let size = vec2(length(panel.size_m.x), length(panel.size_m.y));
                layout.panels.push((group, first + k, Rect::from_min_size(pos2(left, foot - size.y), size)));
                left += size.x;
            }
            first += row.len();
            top = bottom + ROW_GAP;
        }
        let wide = layout.extent().x.max(LEAST_WIDTH).min(width);
        layout.heads.push((group, Rect::from_min_size(Pos2::ZERO, vec2(wide, HEAD))));
        layout
    }

    fn extent(&self) -> Vec2 {
        let places = self.panels.iter().map(|(.., place)| place);
        let all = places.chain(self.heads.iter().map(|(_, place)| place));
        all.fold(Vec2::ZERO, |size, place| size.max(place.max.to_vec2()))
    }

    fn shift(&mut self, by: Vec2) {
        for (_, place) in &mut self.heads {
            *place = place.translate(by);
        }
        for (.., place) in &mut self.panels {
            *place = place.translate(by);
        }
    }
}

/// What one picture of walls drawn flat shows.
#[derive(Debug, Clone, Copy)]
pub struct FlatPane<'a> {
    /// The strategy and its site.
    pub scene: &'a Scene,
    /// Its walls.
    pub sheet: &'a Sheet,
    /// Where they are.
    pub layout: &'a Layout,
    /// How far they are scrolled down, in points.
    pub scrolled: f32,
    /// The samples' colours, by number.
    pub colors: &'a [Color32],
    /// The sample that is told about.
    pub picked: Option<&'a Picked>,
    /// The other colours.
    pub paper: Paper,
    /// Width and height.
    pub size_px: (usize, usize),
    /// Pixels for each point.
    pub pixels_per_point: f32,
}

/// Draws the panels that are in sight; what is written on them is left out.
pub fn render_flat(pane: &FlatPane<'_>) -> Frame {
    let mut shapes = Vec::new();
    let (scale, height) = (pane.pixels_per_point, pane.size_px.1 as f32);
    for &(group, panel, place) in &pane.layout.panels {
        let place = place.translate(vec2(0.0, -pane.scrolled));
        let place = Rect::from_min_max((place.min * scale).round(), (place.max * scale).round());
        if place.bottom() < 0.0 || place.top() > height {
            continue;
        }
        panel_shapes(pane, &pane.sheet.groups[group].panels[panel], place, &mut shapes);
    }
    draw(&shapes, pane.size_px, pane.paper.sky)
}

fn panel_shapes(pane: &FlatPane<'_>, panel: &super::Panel, place: Rect, shapes: &mut Vec<Shape>) {
    let scale = pane.layout.points_per_m as f32 * pane.pixels_per_point;
    let corner = |at: Pos2, near: f32| -> Corner { [at.x, at.y, near] };
    let ring = |place: Rect| [place.left_bottom(), place.right_bottom(), place.right_top(), place.left_top()];
    let behind = ring(place).map(|at| corner(at, 0.5)).to_vec();
    shapes.push(Shape::Face { corners: behind, color: pane.paper.solid, item: 0 });
    let flat = |at_m: glam::DVec3| {
        let at = panel.flat_m(at_m).as_vec2() * scale;
        pos2(place.left() + at.x, place.bottom() - at.y).clamp(place.min, place.max)
    };
    for number in panel.samples.clone() {
        let (patch, color) = (&pane.scene.patches[number as usize], pane.colors[number as usize]);
        let corners = patch.corners_m.map(|at| corner(flat(at), 1.0)).to_vec();
        shapes.push(Shape::Face { corners, color, item: number + 1 });
    }
    let corners = ring(place.expand(-0.5)).map(|at| corner(at, 2.0));
    let sides: &[usize] = if place.width() < LEAST_LINED { &[0, 2] } else { &[0, 1, 2, 3] };
    for &k in sides {
        let ends = [corners[k], corners[(k + 1) % 4]];
        shapes.push(Shape::Line { ends, color: EDGE });
    }
    if let Some(picked) = pane.picked.filter(|picked| panel.samples.contains(&picked.sample)) {
        let at = corner(flat(picked.position_m), 3.0);
        for (radius, color) in [(6.0, pane.paper.sky), (4.0, pane.paper.ink)] {
            shapes.push(Shape::Dot { at, radius_px: radius * pane.pixels_per_point, color });
        }
    }
}
