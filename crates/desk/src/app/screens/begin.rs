//! The ways to begin.

use crate::app::App;
use crate::dialogs::{Purpose, Then};
use crate::document::Document;
use crate::files;
use crate::first_use::{self, rectangle_site};
use crate::new_site::NewSite;
use egui::Ui;

impl App {
    pub(super) fn begin_screen(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let mut asks = Vec::new();
        first_use::ui(ui, self.side.rectangle, self.home.units(), &mut asks);
        for ask in asks {
            match ask {
                first_use::FirstUseAsk::Demo => match files::demo() {
                    Ok(demo) => self.replace_document(Document::new(demo, None)),
                    Err(error) => self.tell("No demo", &error.to_string()),
                },
                first_use::FirstUseAsk::Boundary => self.pick(Purpose::ImportBoundary, &ctx),
                first_use::FirstUseAsk::BoundaryTyped => self.ask_path(Purpose::ImportBoundary, ""),
                first_use::FirstUseAsk::Draw => self.draw_boundary(),
                first_use::FirstUseAsk::Picture => self.pick(Purpose::ImportUnderlay, &ctx),
                first_use::FirstUseAsk::Open => self.unless_unsaved(Then::Open, &ctx),
                first_use::FirstUseAsk::Resize(rectangle) => self.side.rectangle = rectangle,
                first_use::FirstUseAsk::Begin(rectangle) => {
                    let scenario = self.document.scenario();
                    let site = rectangle_site(&scenario.site, rectangle);
                    self.new_site(NewSite::elsewhere(scenario, site), Vec::new());
                }
            }
        }
    }
}
