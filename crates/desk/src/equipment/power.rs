//! Power and endurance over airspeed, drawn small.

use crate::theme::{self, space};
use crate::units::Units;
use egui::{Align2, Color32, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use obliquity_planning::Aircraft;
use obliquity_planning::atmosphere::Air;
use obliquity_planning::power::PowerCurve;

/// Room for both drawings.
pub(super) const HEIGHT: f32 = 172.0;
/// Of one of them, its title included.
const ONE: f32 = 76.0;
const TITLE: f32 = 17.0;
const STEPS: u32 = 60;
/// Warm enough for a full battery.
const WARM_C: f64 = 20.0;
const SECONDS_PER_HOUR: f64 = 3600.0;

/// One place on the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerPoint {
    /// Through the air.
    pub airspeed_mps: f64,
    /// Drawn from the battery.
    pub power_w: f64,
    /// Of a new battery set, flown until it is empty.
    pub endurance_min: f64,
}

/// The curve in still air at sea level in the standard atmosphere; nothing where the energy is not known.
fn curve(aircraft: &Aircraft) -> Option<(PowerCurve, f64)> {
    let energy = aircraft.airframe.energy.as_ref()?;
    Some((PowerCurve::new(&aircraft.airframe, &Air::standard(0.0), WARM_C), energy.battery_wh))
}

fn point(curve: &PowerCurve, battery_wh: f64, airspeed_mps: f64) -> PowerPoint {
    let power_w = curve.level_w(airspeed_mps);
    PowerPoint { airspeed_mps, power_w, endurance_min: battery_wh * SECONDS_PER_HOUR / power_w / 60.0 }
}

/// Endurance of a new battery set at an airspeed, in still air at sea level; nothing where the energy is not known.
pub fn endurance_min(aircraft: &Aircraft, airspeed_mps: f64) -> Option<f64> {
    let (curve, battery_wh) = curve(aircraft)?;
    Some(point(&curve, battery_wh, airspeed_mps).endurance_min)
}

/// The places that the curve is bent through: airspeeds of the endurances given.
fn known_mps(aircraft: &Aircraft) -> Vec<f64> {
    let Some(energy) = &aircraft.airframe.energy else { return Vec::new() };
    let hover = energy.hover_min.map(|_| 0.0);
    let fastest = energy.top_speed_min.map(|_| aircraft.airframe.fastest_mps());
    hover.into_iter().chain([energy.endurance_at_mps]).chain(fastest).collect()
}

/// The curve in words: in hover, at the airspeed of the endurance, at the fastest.
pub fn power_text(aircraft: &Aircraft, units: Units) -> Option<String> {
    let (curve, battery_wh) = curve(aircraft)?;
    let at = |mps: f64| {
        let found = point(&curve, battery_wh, mps);
        let place = if mps > 0.0 { format!("at {}", units.speed(mps)) } else { "in hover".to_owned() };
        format!("{:.0} W and {:.1} min {place}", found.power_w, found.endurance_min)
    };
    let energy = aircraft.airframe.energy.as_ref()?;
    let mut speeds = vec![0.0, energy.endurance_at_mps, aircraft.airframe.fastest_mps()];
    speeds.dedup();
    Some(speeds.into_iter().map(at).collect::<Vec<_>>().join(", "))
}

/// One line of the drawing.
struct Line<'a> {
    title: &'a str,
    unit: &'a str,
    of: fn(&PowerPoint) -> f64,
    color: Color32,
}

/// Draws power and endurance over airspeed into an area.
pub(super) fn draw(ui: &mut Ui, aircraft: &Aircraft, area: Rect, units: Units) {
    let (Some((curve, battery_wh)), Some(text)) = (curve(aircraft), power_text(aircraft, units)) else {
        return;
    };
    let fastest_mps =
        aircraft.airframe.fastest_mps().max(aircraft.airframe.energy.map_or(0.0, |e| e.endurance_at_mps));
    let at = |mps: f64| point(&curve, battery_wh, mps);
    let points: Vec<PowerPoint> =
        (0..=STEPS).map(|k| at(fastest_mps * f64::from(k) / f64::from(STEPS))).collect();
    let known: Vec<PowerPoint> = known_mps(aircraft).into_iter().map(at).collect();
    let colors = theme::of(ui);
    let lines = [
        Line { title: "Power", unit: "W", of: |p| p.power_w, color: colors.accent },
        Line { title: "Endurance", unit: "min", of: |p| p.endurance_min, color: colors.ink },
    ];
    for (k, line) in lines.iter().enumerate() {
        let top = area.top() + k as f32 * ONE;
        let one = Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + ONE - space::TIGHT));
        one_line(ui, line, one, (&points, &known));
    }
    let below = area.top() + 2.0 * ONE + 6.0;
    let label = |x, align, text: String| {
        ui.painter().text(pos2(x, below), align, text, theme::caption(), colors.muted);
    };
    label(area.left(), Align2::LEFT_CENTER, "hover".to_owned());
    label(area.right(), Align2::RIGHT_CENTER, units.speed(fastest_mps));
    let response = ui.interact(area, ui.scope_id().with(("power", aircraft.id.0)), Sense::hover());
    let said = format!("Power over airspeed of {}: {text}", aircraft.name);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
    response.on_hover_text(format!("{text}. Dots are the endurances given."));
}

fn one_line(ui: &Ui, line: &Line<'_>, area: Rect, (points, known): (&[PowerPoint], &[PowerPoint])) {
    let colors = theme::of(ui);
    let values = || points.iter().map(line.of);
    let (least, most) = values().fold((f64::INFINITY, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    let end_mps = points.last().map_or(1.0, |point| point.airspeed_mps).max(0.1);
    let plot = Rect::from_min_max(area.min + vec2(0.0, TITLE), area.max);
    let title = format!("{} {least:.0} to {most:.0} {}", line.title, line.unit);
    ui.painter().text(area.left_top(), Align2::LEFT_TOP, title, theme::caption(), colors.muted);
    ui.painter().hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, colors.rule));
    // From 0, so that what looks twice as much is twice as much.
    let place = |point: &PowerPoint| -> Pos2 {
        let across = (point.airspeed_mps / end_mps) as f32;
        let up = ((line.of)(point) / most.max(1e-9)) as f32;
        pos2(plot.left() + across * plot.width(), plot.bottom() - up * (plot.height() - 4.0))
    };
    ui.painter().add(Shape::line(points.iter().map(place).collect(), Stroke::new(1.6, line.color)));
    for point in known {
        ui.painter().circle(place(point), 3.5, colors.surface, Stroke::new(1.6, line.color));
    }
}
