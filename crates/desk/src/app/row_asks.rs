//! What the row and the menus ask in front of the screen: a command to find, an aircraft for all, names.

use super::App;
use crate::amendment::{Amendment, Part, ScenarioNames};
use crate::commands::Command;
use crate::document::Edit;
use crate::shell::{self, FindAnswer, Findable, Finding, FleetAnswer, Naming, NamingAnswer};
use crate::strategies::Change;
use egui::Context;
use std::sync::Arc;

/// A question of the row.
#[derive(Debug)]
pub(super) enum RowQuestion {
    Find(Finding),
    Fleet,
    Names(Naming),
}

impl App {
    /// Asks which command is meant.
    pub(super) fn find_command(&mut self) {
        self.side.question = Some(RowQuestion::Find(Finding::default()));
    }

    /// Asks which aircraft all strategies are to fly.
    pub(super) fn choose_fleet(&mut self) {
        self.side.question = Some(RowQuestion::Fleet);
    }

    /// Asks for names and note.
    pub(super) fn ask_names(&mut self) {
        let names = ScenarioNames::of(self.document.scenario());
        self.side.question = Some(RowQuestion::Names(Naming::new(names)));
    }

    /// Shows the question that is open, and takes its answer.
    pub(super) fn ask_of_row(&mut self, ctx: &Context) {
        let Some(question) = self.side.question.take() else { return };
        match question {
            RowQuestion::Find(mut finding) => match finding.show(ctx, &self.findable(ctx)) {
                None => self.side.question = Some(RowQuestion::Find(finding)),
                Some(FindAnswer::Close) => {}
                Some(FindAnswer::Run(command)) => self.run(command, ctx),
            },
            RowQuestion::Fleet => {
                let scenario = Arc::clone(self.document.scenario());
                let library =
                    self.side.library.as_ref().map(|own| own.aircraft.as_slice()).unwrap_or_default();
                match shell::ask_fleet(ctx, &scenario, library) {
                    None => self.side.question = Some(RowQuestion::Fleet),
                    Some(FleetAnswer::Close) => {}
                    Some(FleetAnswer::Fly(pick)) => self.change(Change::FlyAll(pick)),
                }
            }
            RowQuestion::Names(mut naming) => match naming.show(ctx) {
                None => self.side.question = Some(RowQuestion::Names(naming)),
                Some(NamingAnswer::Close) => {}
                Some(NamingAnswer::Take(names)) => {
                    self.name("name and note", names);
                }
            },
        }
    }

    /// Gives scenario and site other names, or another note: one step to undo.
    pub(super) fn name(&mut self, what: &str, names: ScenarioNames) {
        self.document.end_gesture();
        self.edit(&Edit::Amend(Amendment { what: what.into(), part: Part::Names(names) }));
        self.document.end_gesture();
    }

    /// All commands and screens, as they stand now.
    fn findable(&self, ctx: &Context) -> Vec<Findable> {
        let rows = super::command_rows();
        let rows = rows.iter().filter(|row| row.command != Command::Find);
        rows.map(|row| {
            let now = self.command_now(row);
            let key = row.shortcut.map_or_else(String::new, |key| ctx.format_shortcut(&key));
            let (command, menu, hint) = (row.command, row.menu, row.hint);
            Findable { command, text: now.text, menu, hint, key, refusal: now.refusal }
        })
        .collect()
    }
}
