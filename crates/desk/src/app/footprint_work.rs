//! Footprints and points from files onto the site.

use super::App;
use super::requests::whole;
use crate::dialogs::Refusal;
use crate::files;
use crate::footprints::{FootprintAnswer, FootprintQuestion};
use crate::jobs::{Key, Lane};
use egui::Context;
use obliquity_exchange::{FileError, FootprintFile};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a file holds that has a place.
#[derive(Debug, Clone, PartialEq)]
struct FootprintsRead {
    path: PathBuf,
}

impl Key for FootprintsRead {
    type Reply = Result<FootprintFile, FileError>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("reading footprints")
    }
}

impl App {
    /// Reads footprints, to ask what of them becomes what.
    pub(super) fn import_footprints(&mut self, path: &Path) {
        self.jobs.cancel(|_: &FootprintsRead| true);
        let path = path.to_owned();
        self.jobs.request(FootprintsRead { path: path.clone() }, move |_| files::footprints(&path));
        self.hear_files();
    }

    /// Whether footprints are read that a question may come back for.
    pub(super) fn is_at_footprints(&self) -> bool {
        self.jobs.is_open(|_: &FootprintsRead| true)
    }

    /// Takes in footprints that were read.
    pub(super) fn hear_footprints(&mut self) {
        for (FootprintsRead { path }, answer) in self.jobs.take::<FootprintsRead>() {
            if let Err(why) = whole(answer).and_then(|found| self.ask_about(&path, &found)) {
                self.ask_again(Refusal::new("The footprints were not imported", &why));
            }
        }
    }

    fn ask_about(&mut self, path: &Path, found: &FootprintFile) -> Result<(), String> {
        let site = Arc::clone(&self.document.scenario().site);
        let Some(origin) = site.origin else {
            return Err("Footprints lie on the earth, but the site is nowhere. Import its boundary or a picture that lies on the \
                        earth first, or give its origin on the screen of the site."
                .to_owned());
        };
        let question = FootprintQuestion::new(files::short_name(path), found, &site, origin);
        if let Some(why) = question.refusal() {
            return Err(why);
        }
        self.footprints = Some(question);
        Ok(())
    }

    /// Shows the question what becomes what, and does what is answered.
    pub(super) fn ask_footprints(&mut self, ctx: &Context) {
        let units = self.units;
        let Some(answer) = self.footprints.as_mut().and_then(|question| question.show(ctx, units)) else {
            return;
        };
        self.footprints = None;
        if let FootprintAnswer::Take(site) = answer {
            self.document.end_gesture();
            self.put_site("import of footprints".to_owned(), *site);
            self.document.end_gesture();
        }
    }
}
