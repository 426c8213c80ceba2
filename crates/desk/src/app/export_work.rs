//! Route, stations, regions and samples of a strategy, written into a folder.

use super::App;
use super::requests::whole;
use crate::dialogs::{Dialog, Purpose, Refusal};
use crate::engine::{Engine, Failure};
use crate::files;
use crate::jobs::{Key, Lane, Same};
use crate::long;
use obliquity_exchange::{
    ExportTo, Exported, FileErrorKind, Replace, ViewRows, check_export, export_strategy,
};
use obliquity_planning::{Depth, Id, Scenario, Watch};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// An export on its way to a folder.
#[derive(Debug, Clone, PartialEq)]
struct ExportFiles {
    from: Same<Scenario>,
    strategy: Id,
    folder: PathBuf,
    replace: Replace,
}

impl Key for ExportFiles {
    type Reply = Result<Exported, String>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        Some("exporting route and stations")
    }
}

const NOT_EXPORTED: &str = "Nothing was exported";

impl App {
    /// Why there is nothing to export; nothing where there is.
    pub(super) fn export_refusal(&self) -> Option<String> {
        let known = self.focus().and_then(|id| self.figures.known(self.document.scenario(), id));
        match known.map(|known| known.quick) {
            Some(Ok(outcome)) if outcome.feasible() => None,
            Some(Ok(outcome)) => Some(format!("It cannot be flown as set: {}", outcome.reasons.join("; "))),
            Some(Err(why)) => Some(why.to_owned()),
            None => Some("There is no strategy".to_owned()),
        }
    }

    /// A name for the folder of an export.
    pub(super) fn export_folder_name(&self) -> String {
        let strategy = self.focus().and_then(|id| self.document.scenario().strategy(id));
        let name = strategy.map_or("strategy", |strategy| strategy.name.as_str()).to_lowercase();
        let plain: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
        format!("export_{plain}")
    }

    /// Exports into a folder, unless an earlier export is there: then it asks. The system's dialog for folders does not ask.
    pub(super) fn export_into(&mut self, folder: &Path) -> Result<(), Refusal> {
        if let Some(why) = self.export_refusal() {
            return Err(Refusal::new(NOT_EXPORTED, &why));
        }
        let inputs: Vec<&Path> = self.document.path().into_iter().collect();
        match check_export(&ExportTo { folder, replace: Replace::Nothing, inputs: &inputs }) {
            Ok(()) => self.export(folder, Replace::Nothing),
            Err(error) if error.kind == FileErrorKind::Exists => {
                self.dialog = Some(Dialog::Replace { purpose: Purpose::Export, path: folder.to_owned() });
            }
            Err(error) => return Err(Refusal::new(NOT_EXPORTED, &error)),
        }
        Ok(())
    }

    /// Exports the strategy in focus beside the window.
    pub(super) fn export(&mut self, folder: &Path, replace: Replace) {
        let Some(strategy) = self.focus() else { return };
        let (engine, scenario) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        let key = ExportFiles { from: Same::of(&scenario), strategy, folder: folder.to_owned(), replace };
        let input = self.document.path().map(Path::to_owned);
        let work = ExportWork { engine, scenario, strategy, folder: folder.to_owned(), replace, input };
        self.jobs.request(key, move |watch| work.run(watch));
        self.hear_files();
    }

    pub(super) fn is_exporting(&self) -> bool {
        self.jobs.is_open(|_: &ExportFiles| true)
    }

    /// Says what was written, or why nothing was.
    pub(super) fn hear_exports(&mut self) {
        for (ExportFiles { folder, .. }, answer) in self.jobs.take::<ExportFiles>() {
            match whole(answer) {
                Ok(exported) => self.tell("Exported", &told(&folder, &exported)),
                Err(why) => self.ask_again(Refusal::new(NOT_EXPORTED, &why)),
            }
        }
    }
}

fn told(folder: &Path, exported: &Exported) -> String {
    let names: Vec<String> = exported.files.iter().map(|path| files::short_name(path)).collect();
    let files = format!("{}: {}", folder.display(), names.join(", "));
    std::iter::once(files).chain(exported.notes.iter().cloned()).collect::<Vec<_>>().join("\n\n")
}

/// What an export is made of.
struct ExportWork {
    engine: Engine,
    scenario: Arc<Scenario>,
    strategy: Id,
    folder: PathBuf,
    replace: Replace,
    /// The file that the scenario was read from.
    input: Option<PathBuf>,
}

impl ExportWork {
    fn run(&self, watch: &dyn Watch) -> Result<Exported, String> {
        let outcome = self.engine.evaluate(&self.scenario, self.strategy, Depth::Views, watch);
        let outcome = outcome.map_err(|failure| match failure {
            Failure::Cancelled => "it was called off".to_owned(),
            Failure::Refused(why) => why,
        })?;
        long::begins("exporting");
        let inputs: Vec<&Path> = self.input.as_deref().into_iter().collect();
        let to = ExportTo { folder: &self.folder, replace: self.replace, inputs: &inputs };
        export_strategy(&to, &self.scenario, &outcome, ViewRows::LeftOut, watch)
            .map_err(|error| error.to_string())
    }
}
