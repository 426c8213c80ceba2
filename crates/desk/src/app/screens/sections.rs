//! Screens that show one of several things: which, and what they are called.

use crate::app::App;
use crate::form;
use crate::screen::Screen;
use egui::Ui;

/// One of the things that a screen shows.
#[derive(Debug, Clone, Copy)]
pub struct SectionRow {
    /// The screen.
    pub screen: Screen,
    /// Its name on the command line.
    pub name: &'static str,
    /// Its name in the switch.
    pub title: &'static str,
    /// What it shows, in a sentence.
    pub hint: &'static str,
}

/// All of them; the first of a screen is shown until another is chosen.
pub const SECTIONS: [SectionRow; 2] = [
    SectionRow {
        screen: Screen::named("curves"),
        name: "range",
        title: "Over a range",
        hint: "One input over a range, and what comes of all strategies",
    },
    SectionRow {
        screen: Screen::named("curves"),
        name: "matters",
        title: "What matters",
        hint: "Every input of the strategy in focus a step lower and a step higher, those that matter most on top",
    },
];

fn of(screen: Screen) -> impl Iterator<Item = &'static SectionRow> {
    SECTIONS.iter().filter(move |row| row.screen == screen)
}

impl App {
    /// Which of its things a screen shows, by name; nothing of a screen that shows one.
    pub fn section(&self, screen: Screen) -> &'static str {
        let chosen = of(screen).find(|row| self.side.sections.contains(&row.name));
        chosen.or_else(|| of(screen).next()).map_or("", |row| row.name)
    }

    /// Has a screen show another of its things, by name.
    pub fn show_section(&mut self, name: &str) {
        let Some(row) = SECTIONS.iter().find(|row| row.name == name) else { return };
        self.side.sections.retain(|own| of(row.screen).all(|other| other.name != *own));
        self.side.sections.push(row.name);
    }

    /// The switch at the head of a screen's choices.
    pub(super) fn section_switch(&mut self, ui: &mut Ui, screen: Screen) {
        let choices: Vec<(&str, &str)> = of(screen).map(|row| (row.title, row.hint)).collect();
        let shown = self.section(screen);
        let chosen = of(screen).position(|row| row.name == shown).unwrap_or(0);
        if let Some(row) = form::switch(ui, &choices, chosen).and_then(|at| of(screen).nth(at)) {
            self.show_section(row.name);
        }
    }
}
