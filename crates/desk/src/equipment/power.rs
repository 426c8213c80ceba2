//! Power and endurance over airspeed, drawn small.

use crate::chart;
use crate::copied;
use crate::theme::{self, space};
use crate::units::Units;
use egui::{Align2, Rect, Sense, Ui, pos2};
use obliquity_exchange::chart::{power_charts, power_text};
use obliquity_planning::{Aircraft, Unit};

/// Room for both drawings.
pub(super) const HEIGHT: f32 = 172.0;
/// Of one of them, its title included.
const ONE: f32 = 76.0;

/// Draws power and endurance over airspeed into an area.
pub(super) fn draw(ui: &mut Ui, aircraft: &Aircraft, area: Rect, units: Units) {
    let Some((charts, text)) = power_charts(aircraft, units).zip(power_text(aircraft, units)) else { return };
    let colors = theme::of(ui);
    for (k, chart) in charts.iter().enumerate() {
        let top = area.top() + k as f32 * ONE;
        let one = Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + ONE - space::TIGHT));
        chart::small(ui, chart, one);
    }
    let below = area.top() + 2.0 * ONE + 6.0;
    let label = |x, align, text: String| {
        ui.painter().text(pos2(x, below), align, text, theme::caption(), colors.muted);
    };
    let [first, _] = &charts;
    label(area.left(), Align2::LEFT_CENTER, "hover".to_owned());
    label(
        area.right(),
        Align2::RIGHT_CENTER,
        units.speed(units.stored(Unit::MetresPerSecond, first.across.to)),
    );
    let response = ui.interact(area, ui.scope_id().with(("power", aircraft.id.0)), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &first.spoken));
    copied::offer(&response, area, &format!("power and endurance of {}", aircraft.name));
    response.on_hover_text(format!("{text}. Dots are the endurances given."));
}
