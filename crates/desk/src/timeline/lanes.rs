//! Draws the lanes.

use super::cursor::period_name;
use super::model::{BlockKind, Charge, LightLane, TimeBlock, Timeline};
use super::{Stretch, clock};
use crate::theme::{self, Colors, space};
use egui::{Align2, Color32, Mesh, Painter, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};
use obliquity_planning::light::LightPeriod;

/// Room at the left for the lanes' names.
pub(super) const MARGIN: f32 = 92.0;
const AXIS: f32 = 34.0;
const CREW: f32 = 22.0;
const PASSES: f32 = 20.0;
const LEGS: f32 = 22.0;
const EXPOSURES: f32 = 14.0;
/// Of the light, and in a small window.
const LIGHT: f32 = 40.0;
const LEAST_LIGHT: f32 = 30.0;
const GAP: f32 = 7.0;
const BATTERY: f32 = 60.0;
/// Of the batteries in a small window.
const LEAST_BATTERY: f32 = 50.0;
/// Height of everything but batteries and light.
const FIXED: f32 = AXIS + CREW + PASSES + LEGS + EXPOSURES + 6.0 * GAP;
/// Times on the axis are at least this far apart.
const TICK: f32 = 74.0;
/// Exposures nearer than this run together.
const RUN: f32 = 3.0;

/// The least height of the lanes.
pub(super) const LEAST: f32 = FIXED + LEAST_LIGHT + LEAST_BATTERY;

/// What the lanes are drawn with.
pub(super) struct LanePen<'a> {
    pub(super) painter: &'a Painter,
    pub(super) colors: &'a Colors,
    /// The strategy's.
    pub(super) color: Color32,
    /// Of the lanes, the names at their left apart.
    pub(super) area: Rect,
    pub(super) stretch: Stretch,
}

/// Where each lane is.
struct Lanes {
    axis: Rect,
    crew: Rect,
    passes: Rect,
    legs: Rect,
    exposures: Rect,
    battery: Rect,
    light: Rect,
}

impl Lanes {
    fn new(area: Rect) -> Self {
        let mut top = area.top();
        let mut lane = |height: f32| {
            let place = Rect::from_x_y_ranges(area.x_range(), top..=top + height);
            top += height + GAP;
            place
        };
        let spare = area.height() - FIXED;
        let light = (spare - BATTERY).clamp(LEAST_LIGHT, LIGHT);
        let battery = (spare - light).max(LEAST_BATTERY);
        Lanes {
            axis: lane(AXIS),
            crew: lane(CREW),
            passes: lane(PASSES),
            legs: lane(LEGS),
            exposures: lane(EXPOSURES),
            battery: lane(battery),
            light: lane(light),
        }
    }
}

impl LanePen<'_> {
    /// Where an instant is.
    pub(super) fn x(&self, at_s: f64) -> f32 {
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let share = self.stretch.share(at_s) as f32;
        self.area.left() + share * self.area.width()
    }

    /// All lanes.
    pub(super) fn timeline(&self, timeline: &Timeline) {
        let lanes = Lanes::new(self.area);
        self.axis(timeline, &lanes);
        self.names(timeline, &lanes);
        for block in &timeline.crew {
            self.crew(block, lanes.crew);
        }
        for block in &timeline.passes {
            let resumed = timeline.resumes.iter().any(|mark| (mark.at_s - block.from_s).abs() < 1e-6);
            self.pass(block, lanes.passes, if resumed { 2.0 * space::ROW } else { 0.0 });
        }
        self.legs(timeline, lanes.legs);
        self.exposures(timeline, lanes.exposures);
        self.batteries(timeline, lanes.battery);
        match &timeline.light {
            Ok(light) => self.light(light, lanes.light),
            Err(why) => self.no_light(why, lanes.light),
        }
        for mark in &timeline.resumes {
            self.resume(mark.sortie, pos2(self.x(mark.at_s), lanes.passes.center().y));
        }
    }

    fn inside(&self) -> Painter {
        self.painter.with_clip_rect(self.area.intersect(self.painter.clip_rect()))
    }

    fn axis(&self, timeline: &Timeline, lanes: &Lanes) {
        let painter = self.inside();
        let step_s = tick_step_s(self.stretch.length_s(), self.area.width());
        let first = (self.stretch.from_s / step_s).ceil().max(0.0) as u32;
        let line = Stroke::new(1.0, self.colors.rule);
        for k in first.. {
            let at_s = f64::from(k) * step_s;
            if at_s > self.stretch.to_s.min(timeline.end_s) {
                break;
            }
            let x = self.x(at_s);
            painter.vline(x, lanes.crew.top() - 4.0..=lanes.light.bottom(), line);
            let seconds = |text: String| {
                let cut = if step_s < 60.0 { text.len() } else { text.len().saturating_sub(3) };
                text[..cut].to_owned()
            };
            let mut texts = vec![(seconds(clock(at_s.round() as u64)), self.colors.ink)];
            if let Some(local) = timeline.local(at_s) {
                texts.push((seconds(local.to_string()), self.colors.muted));
            }
            for ((text, color), row) in texts.into_iter().zip([0.0_f32, 15.0]) {
                let galley = painter.layout_no_wrap(text, theme::caption(), color);
                let left = x - galley.size().x / 2.0;
                // Beside an edge a time would be cut: it stands within.
                let left = left.clamp(self.area.left(), self.area.right() - galley.size().x);
                painter.galley(pos2(left, lanes.axis.top() + row), galley, color);
            }
        }
    }

    fn names(&self, timeline: &Timeline, lanes: &Lanes) {
        let name = |at: f32, text: &str, color: Color32| {
            let at = pos2(self.area.left() - space::ROW, at);
            self.painter.text(at, Align2::RIGHT_CENTER, text, theme::caption(), color);
        };
        let ink = self.colors.ink;
        name(lanes.axis.top() + 7.0, "after arriving", ink);
        if timeline.local(0.0).is_some() {
            name(lanes.axis.top() + 22.0, "local time", self.colors.muted);
        }
        for (lane, text) in [
            (lanes.crew, "crew"),
            (lanes.passes, "passes"),
            (lanes.legs, "legs"),
            (lanes.exposures, "exposures"),
            (lanes.light, "light"),
        ] {
            name(lane.center().y, text, ink);
        }
        let battery = lanes.battery;
        name(battery.center().y - 8.0, "battery charge", ink);
        name(battery.top() + 5.0, "100 %", self.colors.muted);
        name(battery.bottom() - 5.0, "0 %", self.colors.muted);
    }

    /// The part of a lane that a block takes; nothing where it is not seen.
    fn place(&self, from_s: f64, to_s: f64, lane: Rect) -> Option<Rect> {
        let (left, right) = (self.x(from_s), self.x(to_s));
        let place = Rect::from_x_y_ranges(left..=right, lane.y_range()).intersect(lane);
        (place.width() > 0.0).then_some(place)
    }

    /// Writes a text into a place where it has room, `inset` from its left.
    fn write(&self, text: &str, place: Rect, inset: f32, color: Color32) {
        let painter = self.inside();
        let galley = painter.layout_no_wrap(text.to_owned(), theme::caption(), color);
        if galley.size().x + 6.0 + inset > place.width() {
            return;
        }
        let at = pos2(place.left() + 3.0 + inset, place.center().y - galley.size().y / 2.0);
        painter.galley(at, galley, color);
    }

    fn crew(&self, block: &TimeBlock, lane: Rect) {
        let Some(place) = self.place(block.from_s, block.to_s, lane) else { return };
        let colors = self.colors;
        let fill = match block.kind {
            BlockKind::Sortie => colors.surface.lerp_to_gamma(self.color, 0.25),
            BlockKind::Move => moving(colors),
            BlockKind::Wait => colors.surface.lerp_to_gamma(colors.warn, 0.35),
            BlockKind::Swap => colors.muted,
            _ => colors.trough,
        };
        let painter = self.inside();
        painter.rect_filled(place, 2.0, fill);
        painter.rect_stroke(place, 2.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
        let ink = if block.kind == BlockKind::Swap { colors.page } else { colors.ink };
        self.write(&block.text, place, 0.0, ink);
    }

    fn pass(&self, block: &TimeBlock, lane: Rect, inset: f32) {
        let Some(place) = self.place(block.from_s, block.to_s, lane) else { return };
        let BlockKind::Pass(index) = block.kind else { return };
        // Passes beside each other are told apart by their shade.
        let shade = if index % 2 == 0 { 0.32 } else { 0.16 };
        let fill = self.colors.surface.lerp_to_gamma(self.color, shade);
        self.inside().rect_filled(place, 2.0, fill);
        self.write(&block.text, place, inset, self.colors.ink);
    }

    fn legs(&self, timeline: &Timeline, lane: Rect) {
        let mut mesh = Mesh::default();
        for block in &timeline.legs {
            let Some(place) = self.place(block.from_s, block.to_s, lane) else { continue };
            let (share, color) = leg_look(block.kind, self.color, self.colors);
            mesh.add_colored_rect(place.with_min_y(lane.bottom() - share * lane.height()), color);
        }
        self.inside().add(Shape::mesh(mesh));
        self.painter.hline(lane.x_range(), lane.bottom(), Stroke::new(1.0, self.colors.rule));
    }

    fn exposures(&self, timeline: &Timeline, lane: Rect) {
        let mut mesh = Mesh::default();
        let color = self.colors.ink.gamma_multiply(0.75);
        let mut run: Option<(f32, f32)> = None;
        let mut put = |run: Option<(f32, f32)>| {
            if let Some((from, to)) = run {
                mesh.add_colored_rect(Rect::from_x_y_ranges(from - 0.6..=to + 0.6, lane.y_range()), color);
            }
        };
        for &at_s in &timeline.exposures_s {
            let x = self.x(at_s);
            run = match run {
                Some((from, to)) if x - to < RUN => Some((from, x)),
                before => {
                    put(before);
                    Some((x, x))
                }
            };
        }
        put(run);
        self.inside().add(Shape::mesh(mesh));
    }

    fn batteries(&self, timeline: &Timeline, lane: Rect) {
        let (painter, colors) = (self.inside(), self.colors);
        painter.rect_filled(lane, 2.0, colors.surface);
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let y = |share: f64| lane.bottom() - share.clamp(0.0, 1.0) as f32 * lane.height();
        let below = lane.with_min_y(y(timeline.reserve));
        painter.rect_filled(below, 2.0, colors.surface.lerp_to_gamma(colors.warn, 0.14));
        painter.extend(Shape::dashed_line(
            &[below.left_top(), below.right_top()],
            Stroke::new(1.2, colors.warn),
            5.0,
            4.0,
        ));
        for charge in &timeline.charges {
            let points = charge.line.iter().map(|&(at_s, share)| pos2(self.x(at_s), y(share)));
            painter.add(Shape::line(points.collect(), Stroke::new(2.0, self.color)));
            if let Some(&(at_s, share)) = charge.line.last() {
                painter.circle_filled(pos2(self.x(at_s), y(share)), 3.0, self.color);
            }
            self.charge_text(charge, lane);
        }
        let text = format!("reserve {:.0} %", 100.0 * timeline.reserve);
        let at = pos2(self.area.left() - space::ROW, below.top());
        let free = below.top() > lane.center().y + 6.0 && below.top() < lane.bottom() - 18.0;
        if free {
            self.painter.text(at, Align2::RIGHT_CENTER, text, theme::caption(), colors.warn);
        }
        painter.rect_stroke(lane, 2.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
    }

    /// Number and charge left, under the line.
    fn charge_text(&self, charge: &Charge, lane: Rect) {
        let (Some(&(from_s, _)), Some(&(to_s, _))) = (charge.line.first(), charge.line.last()) else {
            return;
        };
        let Some(place) = self.place(from_s, to_s, lane) else { return };
        let place = place.with_min_y(lane.bottom() - 18.0);
        let short = format!("{}: {:.0} %", charge.battery, 100.0 * charge.left);
        let long = self.painter.layout_no_wrap(charge.text.clone(), theme::caption(), self.colors.ink);
        let text = if long.size().x + 8.0 < place.width() { &charge.text } else { &short };
        self.write(text, place, 1.0, self.colors.ink);
    }

    fn light(&self, light: &LightLane, lane: Rect) {
        let (painter, colors) = (self.inside(), self.colors);
        painter.rect_filled(lane, 2.0, colors.surface);
        for span in &light.spans {
            let Some(place) = self.place(span.from_s, span.to_s, lane) else { continue };
            let (fill, ink) = match span.period {
                LightPeriod::Daylight => (colors.surface.lerp_to_gamma(SUNLIGHT, 0.35), colors.ink),
                LightPeriod::CivilTwilight => (TWILIGHT, Color32::WHITE),
                LightPeriod::Night => (NIGHT, Color32::WHITE),
            };
            painter.rect_filled(place, 0.0, fill);
            // Out of the way of the sun's line.
            let low = light.sun_deg(span.from_s).is_none_or(|deg| deg < 45.0);
            let (top, bottom) = (lane.top() + 18.0, lane.bottom() - 18.0);
            let line = if low { place.with_max_y(top) } else { place.with_min_y(bottom) };
            self.write(period_name(span.period), line, 1.0, ink);
        }
        // From the horizon at the foot of the lane to the zenith at its top.
        let y = |deg: f64| {
            #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
            let share = (deg / 90.0).clamp(0.0, 1.0) as f32;
            lane.bottom() - share * lane.height()
        };
        let points: Vec<_> = light.sun.iter().map(|&(at_s, deg)| pos2(self.x(at_s), y(deg))).collect();
        painter.add(Shape::line(points, Stroke::new(1.6, SUN)));
        painter.rect_stroke(lane, 2.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
    }

    fn no_light(&self, why: &str, lane: Rect) {
        let colors = self.colors;
        self.painter.rect_filled(lane, 2.0, colors.trough);
        let text = format!("not known: {why}");
        let galley = self.painter.layout(text, theme::caption(), colors.muted, lane.width() - 12.0);
        let at = pos2(lane.left() + 6.0, lane.center().y - galley.size().y / 2.0);
        self.painter.with_clip_rect(lane).galley(at, galley, colors.muted);
    }

    fn resume(&self, sortie: u32, at: egui::Pos2) {
        if !self.area.expand2(vec2(4.0, 0.0)).contains(at) {
            return;
        }
        self.painter.circle(at, 8.0, self.colors.surface, Stroke::new(1.5, self.color));
        let font = theme::caption_strong();
        self.painter.text(at, Align2::CENTER_CENTER, sortie.to_string(), font, self.colors.ink);
    }

    /// A line through all lanes.
    pub(super) fn cursor(&self, at_s: f64) {
        let x = self.x(at_s);
        if x < self.area.left() - 1.0 || x > self.area.right() + 1.0 {
            return;
        }
        let top = self.area.top() + AXIS - 4.0;
        let color = self.colors.accent;
        self.painter.vline(x, top..=self.area.bottom(), Stroke::new(4.0, self.colors.page));
        self.painter.vline(x, top..=self.area.bottom(), Stroke::new(2.0, color));
        let grip = Rect::from_center_size(pos2(x, top), Vec2::splat(9.0));
        self.painter.rect(grip, 3.0, color, Stroke::new(1.5, self.colors.page), StrokeKind::Outside);
    }
}

/// Daylight and the sun's line; the same in both modes.
const SUNLIGHT: Color32 = Color32::from_rgb(0xf2, 0xc1, 0x4e);
pub(super) const SUN: Color32 = Color32::from_rgb(0xc8, 0x7a, 0x0a);
const TWILIGHT: Color32 = Color32::from_rgb(0x4d, 0x5a, 0x86);
const NIGHT: Color32 = Color32::from_rgb(0x20, 0x25, 0x3c);

/// The colour of moves between take-off points.
pub(super) fn moving(colors: &Colors) -> Color32 {
    colors.surface.lerp_to_gamma(colors.accent, 0.45)
}

/// How high a leg's block is, and its colour: what exposes is the highest.
pub(super) fn leg_look(kind: BlockKind, color: Color32, colors: &Colors) -> (f32, Color32) {
    match kind {
        BlockKind::Strip => (1.0, color),
        BlockKind::Link => (0.62, colors.surface.lerp_to_gamma(color, 0.55)),
        BlockKind::Turn => (0.62, colors.ink),
        BlockKind::Vertical => (0.38, colors.ink.lerp_to_gamma(colors.surface, 0.35)),
        _ => (0.38, colors.muted.lerp_to_gamma(colors.surface, 0.4)),
    }
}

/// Between the times on an axis: a round time.
fn tick_step_s(length_s: f64, width: f32) -> f64 {
    const STEPS_S: [f64; 16] = [
        1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 21600.0,
        86400.0,
    ];
    let least_s = length_s * f64::from(TICK / width.max(TICK));
    STEPS_S.into_iter().find(|step| *step >= least_s).unwrap_or(86400.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: two hours on 900 points have room for twelve times: every ten minutes.
    #[test]
    fn times_on_the_axis_are_round_and_apart() {
        assert!((tick_step_s(7200.0, 900.0) - 600.0).abs() < 1e-9);
        assert!((tick_step_s(60.0, 900.0) - 5.0).abs() < 1e-9);
        assert!((tick_step_s(7200.0, 10.0) - 7200.0).abs() < 1e-9);
    }
}
