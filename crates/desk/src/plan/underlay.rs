//! How the picture below the plan is looked at: whether it is shown, and how strong.

use crate::theme::{self, space};
use egui::{Label, RichText, Role, Slider, Ui, WidgetInfo};
use glam::DVec2;
use obliquity_planning::limits;

/// What the plan says of its picture, and how it is looked at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct UnderlayLook {
    /// Its file's name; nothing where there is none.
    pub name: Option<String>,
    /// Why it is not shown, or that it is being read.
    pub told: Option<String>,
    /// Whether it is shown.
    pub switch: UnderlaySwitch,
    /// From 0, not to be seen, to 1, as the document has it.
    pub opacity: f64,
    /// How strong it is to be from now on; nothing where nobody has moved the slider.
    pub asked: Option<f64>,
    /// Its least and greatest coordinates on the site, where it has a place there.
    pub bounds_m: Option<(DVec2, DVec2)>,
}

/// Whether a picture is shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum UnderlaySwitch {
    /// It is.
    #[default]
    On,
    /// It stays where it is, unseen.
    Off,
}

/// The switch and the slider, where there is a picture.
pub(super) fn controls(ui: &mut Ui, look: &mut UnderlayLook) {
    let Some(name) = &look.name else { return };
    let mut on = look.switch == UnderlaySwitch::On;
    ui.checkbox(&mut on, "Picture").on_hover_text(format!("{name}, below everything on the plan"));
    look.switch = if on { UnderlaySwitch::On } else { UnderlaySwitch::Off };
    if let Some(told) = &look.told {
        let text = RichText::new(told).font(theme::caption()).color(theme::of(ui).warn);
        ui.add(Label::new(text).truncate()).on_hover_text(told);
        return;
    }
    ui.spacing_mut().slider_width = 64.0;
    ui.add_space(-space::TIGHT);
    let mut opacity = look.opacity;
    let range = limits::OPACITY.least..=limits::OPACITY.most;
    let slider = ui.add_enabled(on, Slider::new(&mut opacity, range).step_by(0.01).show_value(false));
    look.asked = slider.changed().then_some(opacity).or(look.asked);
    let percent = (100.0 * look.opacity).round();
    slider.widget_info(|| WidgetInfo::labeled(Role::Slider, on, "Opacity of the picture"));
    slider.on_hover_text(format!("Opacity of the picture: {percent} %"));
}
