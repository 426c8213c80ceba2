//! Where aircraft stand, and the ways between: the scenario, the user's library, the built-in catalogue.

use obliquity_exchange::{FileError, parse_equipment};
use obliquity_planning::{Aircraft, Equipment, Id};

const BUILT_IN: &str = include_str!("../../../../assets/equipment.ron");

/// Where aircraft stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shelf {
    /// In the scenario: strategies fly them, and its file keeps them.
    #[default]
    Scenario,
    /// In the user's library: for every scenario of theirs.
    Library,
}

/// The catalogue that the program brings with it: invented aircraft to start from.
///
/// # Errors
/// Never for the catalogue that is built in (a test reads it).
pub fn built_in() -> Result<Equipment, FileError> {
    parse_equipment(BUILT_IN, "the built-in catalogue")
}

/// Adds a copy of an aircraft, under a number and a name of its own; gives the number.
pub fn add(equipment: &mut Equipment, aircraft: &Aircraft) -> Id {
    let id = Id::next_after(equipment.aircraft.iter().map(|known| known.id));
    let name = free_name(equipment, &aircraft.name);
    equipment.aircraft.push(Aircraft { id, name, ..aircraft.clone() });
    id
}

/// Keeps an aircraft in a library: in place of the one of the same name, if there is one.
pub fn keep(library: &mut Equipment, aircraft: &Aircraft) {
    match library.aircraft.iter_mut().find(|known| known.name == aircraft.name) {
        Some(known) => *known = Aircraft { id: known.id, ..aircraft.clone() },
        None => {
            add(library, aircraft);
        }
    }
}

/// The name, with a number behind it where it is taken.
fn free_name(equipment: &Equipment, name: &str) -> String {
    let taken = |name: &str| equipment.aircraft.iter().any(|known| known.name == name);
    if !taken(name) {
        return name.to_owned();
    }
    let mut numbered = (2..).map(|number| format!("{name} {number}"));
    numbered.find(|name| !taken(name)).unwrap_or_else(|| name.to_owned())
}
