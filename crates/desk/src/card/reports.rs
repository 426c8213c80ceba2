//! The fields for what the controller reports.

use super::ask::{CardAsk, CardView};
use crate::inputs::{self, within};
use crate::theme;
use crate::theme::space;
use crate::units::{Unit, Units};
use egui::{Color32, Key, Label, RichText, TextEdit, Ui};
use obliquity_exchange::{Card, CardReport, EntryField, EntryKind, Misread};
use obliquity_planning::Reported;
use obliquity_planning::limits::{REPORTED_FLIGHT_MIN, REPORTED_IMAGES};

/// The field for one figure that the controller reports, with the prediction beside it.
pub(super) fn field(
    ui: &mut Ui,
    card: &Card,
    view: &CardView<'_>,
    row: &CardReport,
    index: usize,
    asks: &mut Vec<CardAsk>,
) {
    let colors = theme::of(ui);
    let minutes = index == 0;
    let (unit, present) = if minutes {
        ("min", view.reported.flight_time_min.map(|min| format!("{}", (min * 1000.0).round() / 1000.0)))
    } else {
        ("", view.reported.image_count.map(|count| count.to_string()))
    };
    let mut refused = None;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::TIGHT;
        let (place, _) = ui.allocate_exact_size(egui::vec2(76.0, 20.0), egui::Sense::hover());
        let middle = place.left_center();
        ui.painter().text(middle, egui::Align2::LEFT_CENTER, row.label, theme::caption(), colors.muted);
        let name = format!("{} that the controller reports for {}", capital(row.label), card.strategy);
        let id = ui.scope_id().with(("reported", card.id.0, index));
        let kept = ui.data(|data| data.get_temp::<String>(id));
        let mut text = kept.clone().unwrap_or_else(|| present.clone().unwrap_or_default());
        let edit =
            TextEdit::singleline(&mut text).id(id.with("field")).desired_width(64.0).hint_text("not yet");
        let response = ui.add(edit);
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
        ui.label(RichText::new(unit).font(theme::caption()).color(colors.muted));
        if response.changed() {
            ui.data_mut(|data| data.insert_temp(id, text.clone()));
        }
        let entered = response.has_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let given_up = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape));
        let typed = ui.data(|data| data.get_temp::<String>(id));
        let read = typed.map(|typed| read(&typed, minutes.then_some(()), view.reported));
        match read {
            Some(_) if given_up => ui.data_mut(|data| data.remove::<String>(id)),
            Some(Ok(reported)) if response.lost_focus() || entered => {
                ui.data_mut(|data| data.remove::<String>(id));
                asks.push(CardAsk::Report(card.id, reported));
            }
            // What cannot be read stays where it was typed, marked, until it is mended.
            Some(Err(misread)) if !response.has_focus() || entered => {
                inputs::mark(ui, response.rect, response.id, &misread);
                refused = Some(misread);
            }
            _ => {}
        }
    });
    if let Some(misread) = refused {
        ui.add(Label::new(RichText::new(misread.reason).font(theme::caption()).color(colors.bad)).wrap());
    }
    let difference = row.difference.as_ref().map_or_else(String::new, |text| format!(": reported {text}"));
    let beside = format!("predicted here {}{difference}", row.predicted);
    let color = difference_color(row, colors);
    ui.add(Label::new(RichText::new(beside).font(theme::caption()).color(color)).wrap());
    ui.add_space(space::TIGHT);
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn difference_color(row: &CardReport, colors: &theme::Colors) -> Color32 {
    if row.difference.is_some() { colors.ink } else { colors.muted }
}

/// What was typed; an empty field takes the report back.
fn read(text: &str, minutes: Option<()>, present: Reported) -> Result<Reported, Misread> {
    let field = |unit, range, decimals, kind| EntryField {
        unit,
        units: Units::Metric,
        range: within(range),
        decimals,
        kind,
    };
    let number = |field: EntryField| {
        if text.trim().is_empty() { Ok(None) } else { field.read(text).map(Some) }
    };
    if minutes.is_some() {
        let flight_time_min = number(field(Unit::Minutes, REPORTED_FLIGHT_MIN, 3, EntryKind::Any))?;
        return Ok(Reported { flight_time_min, ..present });
    }
    let images = number(field(Unit::Count, REPORTED_IMAGES, 0, EntryKind::Whole))?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within its range")]
    let image_count = images.map(|count: f64| count.round() as u32);
    Ok(Reported { image_count, ..present })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand.
    #[test]
    fn reports_are_read_as_they_are_typed() {
        let present = Reported { flight_time_min: Some(20.0), image_count: Some(600) };
        let minutes =
            |text: &str| read(text, Some(()), present).map(|r| (r.flight_time_min, r.image_count)).ok();
        assert_eq!(minutes(" 31,5 min"), Some((Some(31.5), Some(600))));
        assert_eq!(minutes("1 h 30 min"), Some((Some(90.0), Some(600))));
        assert_eq!(minutes(""), Some((None, Some(600))));
        assert_eq!([minutes("soon"), minutes("-3")], [None, None]);
        let images = |text: &str| read(text, None, present).map(|r| r.image_count);
        assert_eq!(images("1 204"), Ok(Some(1204)));
        assert_eq!(images("1,204").unwrap_err().readings, [1204.0, 1.204], "asked");
        assert!(images("1e12").is_err() && images("12.5").is_err());
    }
}
