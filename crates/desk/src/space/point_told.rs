use super::{Look, Space};
use crate::mark;
use crate::rose::{self, Roses};
use crate::show;
use crate::theme;
use crate::units::Units;
use egui::{Label, RichText, Role, Ui, UiBuilder, WidgetInfo};
use obliquity_planning::SurfaceClass;

impl Space {
    /// What is told about the point that was clicked.
    pub(crate) fn told(&mut self, ui: &mut Ui, look: Look, units: Units) {
        let colors = theme::of(ui);
        let Some((strategy, picked)) = &self.picked else {
            ui.label(RichText::new("One point in full").font(theme::body_strong()));
            let what = "Click a surface to read what it gets there, why it is not covered, and which exposures see it.";
            let text = format!("{what}\n\n{}", ways(look));
            ui.add(Label::new(RichText::new(text).color(colors.muted)).wrap());
            return;
        };
        let shown = self.shown.iter().find(|shown| shown.strategy == *strategy);
        let (name, slot) = shown.map_or(("the strategy", 0), |shown| (shown.name.as_str(), shown.slot));
        let mut forget = false;
        ui.horizontal(|ui| {
            mark::put(ui, slot);
            let width = ui.available_width() - 34.0;
            let title = Label::new(RichText::new(&picked.name).font(theme::body_strong())).truncate();
            ui.scope(|ui| {
                ui.set_width(width);
                ui.add(title);
            });
            let close = ui.button("×").on_hover_text("Tell about no point");
            close.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Forget the point"));
            forget = close.clicked();
        });
        let (verdict, color) = match picked.why(units) {
            None => (format!("Covered by {name}"), colors.good),
            Some(why) => (format!("Not covered by {name}: {why}"), colors.bad),
        };
        ui.add(Label::new(RichText::new(show::unbroken(&verdict)).color(color)).wrap());
        for line in picked.lines(units) {
            ui.add(Label::new(RichText::new(show::unbroken(&line)).font(theme::caption())).wrap());
        }
        if let Some(rose) = &picked.rose {
            let roses = Roses { classes: vec![rose.clone()], freshness: None, empty: None };
            let mut class: SurfaceClass = picked.class;
            let room = ui.available_rect_before_wrap();
            let room = room.with_max_y(room.bottom().min(room.top() + 330.0));
            ui.scope_builder(UiBuilder::new().id_salt("its rose").max_rect(room), |ui| {
                rose::ui(ui, &roses, "the point", colors.strategy(slot), &mut class);
            });
        }
        if forget {
            self.picked = None;
        }
    }
}

/// How one moves about.
fn ways(look: Look) -> &'static str {
    match look {
        Look::Solid => {
            "Drag to turn (far down to look up at an underside), drag with Shift or the right button to move, wheel to \
             zoom in. Keys: arrows, with Shift to move; + and −; 0 for the whole site."
        }
        Look::Flat => {
            "Each wall is drawn as it is seen from outside; those of one structure stand in the order of walking round \
             it. All are drawn to one scale.\n\nWheel or drag to scroll, wheel with Ctrl to zoom in. Keys: up and \
             down; + and −; 0 for all of them."
        }
    }
}
