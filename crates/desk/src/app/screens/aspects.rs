//! Screens that show one of several things: which, and what they are called.

use crate::app::App;
use crate::form;
use crate::screen::Screen;
use egui::Ui;

/// One of the things that a screen shows.
#[derive(Debug, Clone, Copy)]
pub struct AspectRow {
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
pub const ASPECTS: [AspectRow; 2] = [
    AspectRow {
        screen: Screen::named("curves"),
        name: "range",
        title: "Over a range",
        hint: "One input over a range, and what comes of all strategies",
    },
    AspectRow {
        screen: Screen::named("curves"),
        name: "matters",
        title: "What matters",
        hint: "Every input of the strategy in focus a step lower and a step higher, those that matter most on top",
    },
];

fn of(screen: Screen) -> impl Iterator<Item = &'static AspectRow> {
    ASPECTS.iter().filter(move |row| row.screen == screen)
}

impl App {
    /// Which of its things a screen shows, by name; nothing of a screen that shows one.
    pub fn aspect(&self, screen: Screen) -> &'static str {
        let chosen = of(screen).find(|row| self.side.aspects.contains(&row.name));
        chosen.or_else(|| of(screen).next()).map_or("", |row| row.name)
    }

    /// Has a screen show another of its things, by name.
    pub fn show_aspect(&mut self, name: &str) {
        let Some(row) = ASPECTS.iter().find(|row| row.name == name) else { return };
        self.side.aspects.retain(|own| of(row.screen).all(|other| other.name != *own));
        self.side.aspects.push(row.name);
    }

    /// The switch at the head of a screen's choices.
    pub(super) fn aspect_switch(&mut self, ui: &mut Ui, screen: Screen) {
        let choices: Vec<(&str, &str)> = of(screen).map(|row| (row.title, row.hint)).collect();
        let shown = self.aspect(screen);
        let chosen = of(screen).position(|row| row.name == shown).unwrap_or(0);
        if let Some(row) = form::switch(ui, &choices, chosen).and_then(|at| of(screen).nth(at)) {
            self.show_aspect(row.name);
        }
    }
}
