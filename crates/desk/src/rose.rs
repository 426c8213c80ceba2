//! The view-angle rose: from which directions the surfaces of a class are seen, and how often.

use crate::figures::{Freshness, Known};
use crate::show;
use crate::theme::{self, Colors, space};
use egui::{
    Align2, Color32, Mesh, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use obliquity_planning::{RING_COUNT, SECTOR_COUNT, SurfaceClass};

/// Rings above the horizon, from straight up to level; as many lie below.
pub const RINGS: usize = RING_COUNT / 2;

/// Where the rings end, from the vertical.
const ENDS_DEG: [u16; RINGS + 1] = [0, 15, 30, 45, 60, 90];

/// The roses of one strategy, one for each surface class that the site has.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Roses {
    /// In the order of reports.
    pub classes: Vec<Rose>,
    /// Whether they belong to the scenario as it stands.
    pub freshness: Option<Freshness>,
    /// Why there is nothing to draw.
    pub empty: Option<String>,
}

/// One class's rose.
#[derive(Debug, Clone, PartialEq)]
pub struct Rose {
    /// The class.
    pub class: SurfaceClass,
    /// Mean number of views by ring (the first one around the vertical) and sector (the first one from north, on walls
    /// from the outward normal, clockwise).
    pub cells: [[f64; SECTOR_COUNT]; RINGS],
    /// Whether the views come from below.
    pub from_below: bool,
    /// What the fullest colour stands for.
    pub full: f64,
    /// The whole in a sentence.
    pub summary: String,
}

impl Roses {
    /// The roses of what is known of a strategy.
    pub fn new(known: Option<Known<'_>>) -> Self {
        let freshness = known.map(|known| known.freshness);
        let empty = |text: &str| Roses { empty: Some(text.to_owned()), freshness, ..Roses::default() };
        let Some(known) = known else { return empty("There is no strategy in focus.") };
        if let Some(why) = known.quick.err().or(known.failure) {
            return empty(&format!("It could not be worked out: {why}"));
        }
        let Some(views) = known.views.and_then(|outcome| outcome.views.as_ref()) else {
            return empty(
                "The views of every surface are being counted. Then this shows from which directions \
                 ground, roofs and walls are seen, and how often.",
            );
        };
        let classes = views.classes.iter().filter_map(|(class, figures)| {
            figures.as_ref().map(|figures| Rose::new(class, &figures.rose.mean_views))
        });
        Roses { classes: classes.collect(), freshness, empty: None }
    }

    /// The rose of a class, or the first one where the site has no such class.
    pub fn of(&self, class: SurfaceClass) -> Option<&Rose> {
        self.classes.iter().find(|rose| rose.class == class).or(self.classes.first())
    }
}

impl Rose {
    /// A rose from the mean views by all rings, straight up first. What is seen from below is drawn from below.
    pub fn new(class: SurfaceClass, mean_views: &[[f64; SECTOR_COUNT]; RING_COUNT]) -> Self {
        let sum = |rings: &[[f64; SECTOR_COUNT]]| rings.iter().flatten().sum::<f64>();
        let (above, below) = (sum(&mean_views[..RINGS]), sum(&mean_views[RINGS..]));
        let from_below = below > above;
        let ring = |k: usize| if from_below { mean_views[RING_COUNT - 1 - k] } else { mean_views[k] };
        let cells: [[f64; SECTOR_COUNT]; RINGS] = std::array::from_fn(ring);
        let greatest = cells.iter().flatten().copied().fold(0.0, f64::max);
        let other = above.min(below);
        let rest = match other {
            other if other < 0.05 => String::new(),
            _ if from_below => format!(", {} from above", show::short(other)),
            _ => format!(", {} from below", show::short(other)),
        };
        let side = if from_below || !rest.is_empty() {
            [" from above", " from below"][usize::from(from_below)]
        } else {
            ""
        };
        let mean = show::short(above.max(below));
        Rose {
            class,
            cells,
            from_below,
            full: rounded_up(greatest),
            summary: format!("{mean} views per point{side}{rest}"),
        }
    }

    /// Walls are seen from the half-space in front of them only.
    pub fn is_half(&self) -> bool {
        self.class == SurfaceClass::Wall
    }

    /// What there is to know of a cell.
    pub fn cell_text(&self, ring: usize, sector: usize) -> String {
        let views = self.cells[ring][sector];
        let shown =
            if views > 0.0 && views < 0.05 { "fewer than 0.1".to_owned() } else { show::short(views) };
        let vertical = if self.from_below { "straight down" } else { "straight up" };
        let azimuth = if self.is_half() && sector >= SECTOR_COUNT / 2 {
            let from_left = 30 * (SECTOR_COUNT - sector);
            format!("{}–{from_left}° to the left of square on", from_left - 30)
        } else {
            let from = if self.is_half() { "to the right of square on" } else { "clockwise from north" };
            format!("{}–{}° {from}", 30 * sector, 30 * sector + 30)
        };
        format!(
            "{shown} views on average\nfrom {azimuth},\n{}–{}° from {vertical}",
            ENDS_DEG[ring],
            ENDS_DEG[ring + 1]
        )
    }

    /// The cell in a direction from the middle: `out` from 0 to 1, `azimuth_deg` clockwise from the top.
    fn cell_at(&self, out: f64, azimuth_deg: f64) -> Option<(usize, usize)> {
        let degrees = 90.0 * out;
        let ring = (0..RINGS).find(|&ring| degrees < f64::from(ENDS_DEG[ring + 1]))?;
        let azimuth = azimuth_deg.rem_euclid(360.0);
        let sector = (0..SECTOR_COUNT).find(|&sector| azimuth < 30.0 * (sector as f64 + 1.0))?;
        let behind = self.is_half() && (3..9).contains(&sector);
        (!behind).then_some((ring, sector))
    }
}

/// The nearest of 1, 2, 3, 5 times a power of ten that is not less; 1 for nothing.
fn rounded_up(value: f64) -> f64 {
    if value <= 0.0 {
        return 1.0;
    }
    let power = 10_f64.powf(value.log10().floor());
    [1.0, 2.0, 3.0, 5.0]
        .map(|step| step * power)
        .into_iter()
        .find(|step| *step >= value)
        .unwrap_or(10.0 * power)
}

/// Where a rose stands.
#[derive(Debug, Clone, Copy)]
struct Disc {
    centre: Pos2,
    radius: f32,
    half: bool,
}

/// Each class has its own rose where there is this much height for it.
const ROOM_FOR_ONE: f32 = 210.0;

/// Draws the roses into what is left of `ui`: one under the other where there is room, and else one with a chooser.
pub fn ui(ui: &mut Ui, roses: &Roses, strategy: &str, color: Color32, class: &mut SurfaceClass) {
    let count = roses.classes.len();
    let all = count > 1 && ui.available_height() >= ROOM_FOR_ONE * count as f32;
    head(ui, roses, class, if all { &[] } else { &roses.classes });
    let colors = theme::of(ui);
    let stale = roses.freshness == Some(Freshness::Stale);
    let color = if stale { color.gamma_multiply(0.45) } else { color };
    let (text, ink) = if stale { (" (updating…)", colors.muted) } else { ("", colors.ink) };
    let shown: Vec<&Rose> =
        if all { roses.classes.iter().collect() } else { roses.of(*class).into_iter().collect() };
    if shown.is_empty() {
        let text = roses.empty.as_deref().unwrap_or("The site has no surfaces.");
        ui.add(egui::Label::new(egui::RichText::new(text).color(colors.muted)).wrap());
        return;
    }
    let height = ui.available_height() / shown.len() as f32;
    for rose in shown {
        let end = ui.cursor().top() + height;
        let class = if all { format!("{}: ", rose.class.plural()) } else { String::new() };
        let summary = egui::RichText::new(format!("{class}{}{text}", rose.summary));
        ui.add(egui::Label::new(summary.font(theme::caption()).color(ink)).wrap());
        drawing(ui, rose, strategy, color, end - ui.cursor().top() - space::ROW);
    }
}

/// What the roses are, and which class to choose from.
fn head(ui: &mut Ui, roses: &Roses, class: &mut SurfaceClass, choice: &[Rose]) {
    ui.horizontal_wrapped(|ui| {
        let hint = "Counted views: in the frame, not hidden, not too slanted and not too coarse. The middle of the \
                    rose is straight up from the surface, its edge the horizon; on walls the top is square on.";
        let title = if choice.is_empty() { "View angles" } else { "Views of" };
        ui.label(egui::RichText::new(title).font(theme::body_strong())).on_hover_text(hint);
        for rose in choice {
            let chosen = roses.of(*class).is_some_and(|shown| shown.class == rose.class);
            let button = ui.selectable_label(chosen, rose.class.plural());
            button.widget_info(|| {
                let name = format!("View angles of {}", rose.class.plural());
                WidgetInfo::selected(Role::Button, true, chosen, name)
            });
            if button.clicked() {
                *class = rose.class;
            }
        }
    });
}

/// Room for the words around the disc and the scale under it.
const WORDS: f32 = 20.0;
const SCALE: f32 = 40.0;

fn drawing(ui: &mut Ui, rose: &Rose, strategy: &str, color: Color32, height: f32) {
    let size = vec2(ui.available_width(), height.clamp(150.0, 460.0));
    let (response, painter) = ui.allocate_painter(size, Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Image,
            true,
            format!("View angles of the {} of {strategy}: {}", rose.class.plural(), rose.summary),
        )
    });
    let colors = theme::of(ui);
    let room =
        response.rect.shrink2(vec2(2.0 * WORDS, WORDS)).with_max_y(response.rect.bottom() - WORDS - SCALE);
    let half = rose.is_half();
    let radius = if half { room.height().min(room.width() / 2.0) } else { room.size().min_elem() / 2.0 };
    let centre = pos2(room.center().x, room.top() + radius);
    let disc = Disc { centre, radius, half };
    let pointed = response.hover_pos().and_then(|at| disc.pointed(rose, at));
    disc.cells(&painter, rose, color, colors, pointed);
    disc.words(&painter, colors);
    let scale_top = if half { centre.y + WORDS } else { centre.y + radius + WORDS };
    scale(&painter, pos2(response.rect.center().x, scale_top), rose, color, colors);
    if let Some((ring, sector)) = pointed {
        response.on_hover_text_at_pointer(rose.cell_text(ring, sector));
    }
}

/// The fullest cells have the strategy's own colour, the emptiest are nearly the paper: lightness alone tells them apart.
fn shade(share: f64, color: Color32, colors: &Colors) -> Color32 {
    #[expect(clippy::cast_possible_truncation, reason = "a share")]
    let share = (0.12 + 0.88 * share.clamp(0.0, 1.0)) as f32;
    colors.trough.lerp_to_gamma(color, share)
}

impl Disc {
    fn at(&self, out: f32, azimuth_deg: f32) -> Pos2 {
        let (sin, cos) = azimuth_deg.to_radians().sin_cos();
        self.centre + self.radius * out * vec2(sin, -cos)
    }

    fn pointed(&self, rose: &Rose, at: Pos2) -> Option<(usize, usize)> {
        let from_centre = (at - self.centre) / self.radius;
        let azimuth_deg = f64::from(from_centre.x.atan2(-from_centre.y)).to_degrees();
        rose.cell_at(f64::from(from_centre.length()), azimuth_deg)
    }

    fn cells(
        &self,
        painter: &Painter,
        rose: &Rose,
        color: Color32,
        colors: &Colors,
        pointed: Option<(usize, usize)>,
    ) {
        let mut mesh = Mesh::default();
        for (ring, sectors) in rose.cells.iter().enumerate() {
            for (sector, &views) in sectors.iter().enumerate() {
                if self.half && (3..9).contains(&sector) {
                    continue;
                }
                let fill = if views > 0.0 { shade(views / rose.full, color, colors) } else { colors.surface };
                self.cell(&mut mesh, ring, sector, fill);
            }
        }
        painter.add(mesh);
        let line = Stroke::new(1.0, colors.rule);
        for end in ENDS_DEG.iter().skip(1) {
            painter.add(Shape::line(self.arc(out(*end), self.sweep()), line));
        }
        for spoke in 0..SECTOR_COUNT {
            if self.half && (4..9).contains(&spoke) {
                continue;
            }
            let azimuth = sector_deg(spoke);
            painter.line_segment([self.at(0.0, 0.0), self.at(1.0, azimuth)], line);
        }
        if let Some((ring, sector)) = pointed {
            painter.add(Shape::closed_line(self.ring_piece(ring, sector), Stroke::new(2.0, colors.ink)));
        }
    }

    fn sweep(&self) -> [f32; 2] {
        if self.half { [-90.0, 90.0] } else { [0.0, 360.0] }
    }

    fn arc(&self, out: f32, [from, to]: [f32; 2]) -> Vec<Pos2> {
        const PIECES: u16 = 96;
        (0..=PIECES).map(|k| self.at(out, from + (to - from) * f32::from(k) / f32::from(PIECES))).collect()
    }

    fn ring_piece(&self, ring: usize, sector: usize) -> Vec<Pos2> {
        const PIECES: u16 = 8;
        let from = sector_deg(sector);
        let azimuth = |k: u16| from + 30.0 * f32::from(k) / f32::from(PIECES);
        let inner = out(ENDS_DEG[ring]);
        let outer = out(ENDS_DEG[ring + 1]);
        let there = (0..=PIECES).map(|k| self.at(outer, azimuth(k)));
        let back = (0..=PIECES).rev().map(|k| self.at(inner, azimuth(k)));
        there.chain(back).collect()
    }

    fn cell(&self, mesh: &mut Mesh, ring: usize, sector: usize, fill: Color32) {
        let points = self.ring_piece(ring, sector);
        let first = u32::try_from(mesh.vertices.len()).unwrap_or(0);
        for point in &points {
            mesh.colored_vertex(*point, fill);
        }
        let count = u32::try_from(points.len()).unwrap_or(0);
        for k in 0..count / 2 - 1 {
            let (a, b) = (first + k, first + count - 1 - k);
            mesh.add_triangle(a, a + 1, b);
            mesh.add_triangle(a + 1, b - 1, b);
        }
    }

    /// Which way is which.
    fn words(&self, painter: &Painter, colors: &Colors) {
        let put = |at: Pos2, align: Align2, text: &str| {
            painter.text(at, align, text, theme::caption_strong(), colors.ink);
        };
        let gap = 1.0 + space::TIGHT / self.radius;
        let (top, right, left) = (self.at(gap, 0.0), self.at(gap, 90.0), self.at(gap, -90.0));
        if self.half {
            put(top, Align2::CENTER_BOTTOM, "facing the wall");
            put(right, Align2::LEFT_CENTER, "right");
            put(left, Align2::RIGHT_CENTER, "left");
        } else {
            put(top, Align2::CENTER_BOTTOM, "N");
            put(right, Align2::LEFT_CENTER, "E");
            put(self.at(gap, 180.0), Align2::CENTER_TOP, "S");
            put(left, Align2::RIGHT_CENTER, "W");
        }
        let spoke = if self.half { 60.0 } else { 45.0 };
        let mut last = f32::INFINITY;
        for end in ENDS_DEG[1..].iter().rev() {
            let apart = self.radius * (last - out(*end));
            if apart < LEAST_APART {
                continue;
            }
            last = out(*end);
            let text = format!("{end}°");
            let at = self.at(out(*end), spoke);
            let galley = painter.layout_no_wrap(text, theme::caption(), colors.ink);
            let place = Align2::CENTER_CENTER.anchor_size(at, galley.size());
            painter.rect_filled(place.expand(1.0), 3.0, colors.surface.gamma_multiply(0.8));
            painter.galley(place.min, galley, colors.ink);
        }
    }
}

/// Rings whose texts would stand nearer than this go without.
const LEAST_APART: f32 = 24.0;

/// How far out from the middle an angle from the vertical is, as a share of the disc's radius.
fn out(deg: u16) -> f32 {
    f32::from(deg) / 90.0
}

fn sector_deg(sector: usize) -> f32 {
    30.0 * f32::from(u8::try_from(sector).unwrap_or(0))
}

/// What the colours stand for, under the disc.
fn scale(painter: &Painter, top: Pos2, rose: &Rose, color: Color32, colors: &Colors) {
    const STEPS: u8 = 8;
    const STEP: Vec2 = vec2(16.0, 8.0);
    let left = top.x - STEP.x * f32::from(STEPS) / 2.0;
    for step in 0..STEPS {
        let share = (f64::from(step) + 0.5) / f64::from(STEPS);
        let place = Rect::from_min_size(pos2(left + STEP.x * f32::from(step), top.y), STEP);
        painter.rect_filled(place, 0.0, shade(share, color, colors));
    }
    let right = left + STEP.x * f32::from(STEPS);
    let text = |at: Pos2, align: Align2, text: &str| {
        painter.text(at, align, text, theme::caption(), colors.muted);
    };
    text(pos2(left - 5.0, top.y + 4.0), Align2::RIGHT_CENTER, "0");
    text(pos2(right + 5.0, top.y + 4.0), Align2::LEFT_CENTER, &show::short(rose.full));
    text(pos2(top.x, top.y + STEP.y + 2.0), Align2::CENTER_TOP, "mean number of views in each direction");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn views(cells: &[(usize, usize, f64)]) -> [[f64; SECTOR_COUNT]; RING_COUNT] {
        let mut all = [[0.0; SECTOR_COUNT]; RING_COUNT];
        for &(ring, sector, value) in cells {
            all[ring][sector] = value;
        }
        all
    }

    // Derived: by hand.
    #[test]
    fn what_is_seen_from_below_is_drawn_from_below() {
        let rose = Rose::new(SurfaceClass::Underside, &views(&[(9, 2, 1.5), (8, 3, 0.5)]));
        assert!(rose.from_below);
        assert!((rose.cells[0][2] - 1.5).abs() < 1e-12 && (rose.cells[1][3] - 0.5).abs() < 1e-12);
        assert!(rose.summary.starts_with("2 views per point"), "{}", rose.summary);
        assert!(rose.cell_text(0, 2).contains("straight down"));
    }

    // Derived: 40° from the vertical is in the ring 30–45, azimuth 100 in the sector 90–120.
    #[test]
    fn a_place_on_the_disc_is_its_cell() {
        let ground = Rose::new(SurfaceClass::Ground, &views(&[(2, 3, 0.7)]));
        assert_eq!(ground.cell_at(40.0 / 90.0, 100.0), Some((2, 3)));
        assert_eq!(ground.cell_at(0.1, -10.0), Some((0, 11)));
        assert_eq!(ground.cell_at(1.01, 0.0), None);
        assert!(
            ground.cell_text(2, 3).starts_with("0.7 views on average\nfrom 90–120° clockwise from north")
        );
        let wall = Rose::new(SurfaceClass::Wall, &views(&[(4, 11, 0.7)]));
        assert_eq!(wall.cell_at(0.9, 180.0), None, "nothing is seen from behind a wall");
        assert!(
            wall.cell_text(4, 11).contains("0–30° to the left of square on"),
            "{}",
            wall.cell_text(4, 11)
        );
    }

    // Derived: by hand.
    #[test]
    fn scales_end_on_round_numbers() {
        let found = [0.0, 0.7, 1.0, 2.1, 4.0, 7.0, 31.0].map(rounded_up);
        for (found, expected) in found.into_iter().zip([1.0, 1.0, 1.0, 3.0, 5.0, 10.0, 50.0]) {
            assert!((found - expected).abs() < 1e-9, "{found} {expected}");
        }
    }
}
