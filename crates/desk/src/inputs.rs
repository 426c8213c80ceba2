//! One way to show and edit a number: in the unit of the screen, within its limits, with a name of its own.

use crate::show::count;
use crate::units::{Quantity, Units};
use egui::{DragValue, Rect, Ui};
use obliquity_planning::limits::Range;
use std::ops::RangeInclusive;

/// A number to edit.
#[derive(Debug, Clone)]
pub struct Number<'a> {
    /// Whole name, for whoever does not see where it stands: "Focal length of Dunnock".
    pub name: &'a str,
    /// What to know when pointing at it.
    pub hint: &'a str,
    /// What it measures.
    pub quantity: Quantity,
    /// Values allowed, as stored.
    pub range: RangeInclusive<f64>,
    /// The value, as stored.
    pub value: f64,
    /// Most decimals shown.
    pub decimals: usize,
    /// Before the number: "1/".
    pub prefix: &'static str,
}

/// The values that a range allows.
pub fn within(range: Range) -> RangeInclusive<f64> {
    range.least..=range.most
}

impl Number<'_> {
    /// Shows the number in an area; gives the value that it was changed to, as stored.
    pub fn put(&self, ui: &mut Ui, units: Units, area: Rect) -> Option<f64> {
        let scale = units.scale(self.quantity).stored_per_shown;
        let (least, most) = (self.range.start() / scale, self.range.end() / scale);
        let before = self.value / scale;
        let mut shown = before;
        let (quantity, decimals, fraction) = (self.quantity, self.decimals, !self.prefix.is_empty());
        let parse = move |text: &str| Some(units.parse(quantity, text).ok()? / scale);
        let widget = DragValue::new(&mut shown)
            .range(least..=most)
            .clamp_existing_to_range(false)
            .update_while_editing(false)
            .speed(self.speed(least, most, before))
            .max_decimals(self.decimals)
            // The number behind 1/ is read digit by digit, as on a camera.
            .custom_formatter(move |value, _| {
                let text = written(value, decimals);
                if fraction { text.replace(',', "") } else { text }
            })
            .prefix(self.prefix)
            .suffix(units.suffix(quantity))
            .custom_parser(parse);
        let style = std::sync::Arc::clone(ui.style());
        ui.spacing_mut().interact_size.y = area.height();
        ui.spacing_mut().button_padding.y = 0.0;
        let response = ui.put(area, widget);
        ui.set_style(style);
        let name = self.name.to_owned();
        // The unit behind the number would be taken for its name.
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
        let limits = self.limits(units, least, most);
        response.on_hover_ui(|ui| {
            ui.set_max_width(320.0);
            ui.label(self.hint);
            ui.label(limits);
        });
        // What is shown alike was looked at, not changed.
        let alike = written(shown, decimals) == written(before, decimals);
        (!alike).then_some((shown * scale).clamp(*self.range.start(), *self.range.end()))
    }

    fn limits(&self, units: Units, least: f64, most: f64) -> String {
        let [least, most] = [least, most].map(|value| written(value, self.decimals));
        format!("From {}{least} to {}{most}{}.", self.prefix, self.prefix, units.suffix(self.quantity))
    }

    /// A drag of a hundred points changes a number by about its half.
    fn speed(&self, least: f64, most: f64, value: f64) -> f64 {
        let finest = 10_f64.powi(-i32::try_from(self.decimals).unwrap_or(0));
        (value.abs() / 200.0).max((most - least) / 1e5).max(finest / 10.0)
    }
}

/// A number with at most so many decimals, thousands set apart, with a minus sign.
fn written(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let part = part.trim_end_matches('0');
    let whole = count(whole.parse().unwrap_or_default());
    let text = if part.is_empty() { whole } else { format!("{whole}.{part}") };
    if value < 0.0 && text != "0" { format!("−{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn numbers_are_written_as_they_are_typed() {
        assert_eq!(written(10720.0, 0), "10,720");
        assert_eq!(written(9.15, 2), "9.15");
        assert_eq!(written(13.0, 2), "13");
        assert_eq!(written(-55.0, 0), "−55");
        assert_eq!(written(-0.001, 2), "0");
        assert_eq!(Units::Metric.parse(Quantity::Angle, &written(-1234.5, 1)), Ok(-1234.5));
    }
}
