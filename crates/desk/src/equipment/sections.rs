//! All headings of a data sheet.

use obliquity_planning::{Aircraft, Energy, KnobGroup, Metering, knob};

/// Rows that an aircraft has all of, or none.
#[derive(Debug, Clone, Copy)]
pub struct Block {
    /// What is added and removed.
    pub name: &'static str,
    /// What it does.
    pub hint: &'static str,
    /// What holds without it, in a word or two.
    pub without: &'static str,
    /// Whether the aircraft has it.
    pub has: fn(&Aircraft) -> bool,
    /// Gives it to the aircraft, with common numbers.
    pub add: fn(&mut Aircraft),
    /// Takes it away.
    pub remove: fn(&mut Aircraft),
}

/// What is drawn below the rows of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawnBelow {
    /// Nothing.
    Nothing,
    /// Power and endurance over airspeed.
    Power,
}

/// Rows under one heading.
#[derive(Debug, Clone, Copy)]
pub struct Section {
    /// The rows.
    pub group: &'static KnobGroup,
    /// Whether the aircraft may be without all of them.
    pub block: Option<Block>,
    /// What is drawn below them.
    pub drawn: DrawnBelow,
}

/// A camera whose settings nobody has said: common practice, no source.
const METERING: Metering = Metering { f_number: 4.0, iso: 200.0, shortest_s: 1.0 / 4000.0 };

/// An aircraft whose batteries nobody has described: common practice for a light one with four rotors, no source.
fn common_energy(aircraft: &Aircraft) -> Energy {
    Energy {
        battery_wh: 65.0,
        endurance_at_mps: (0.8 * aircraft.airframe.top_speed_mps).round(),
        hover_min: None,
        top_speed_min: None,
        mass_kg: 1.1,
        rotors: 4,
        rotor_diameter_m: 0.24,
        health: 0.95,
        cold_loss_per_c: 0.008,
    }
}

/// All numbers of an aircraft, in the order of a data sheet.
pub const SECTIONS: [Section; 7] = [
    Section { group: &knob::CAMERA, block: None, drawn: DrawnBelow::Nothing },
    Section {
        group: &knob::EXPOSURE,
        block: Some(Block {
            name: "Aperture and ISO",
            hint: "With them, exposure time, motion blur and so the speed follow from the light that the conditions give",
            without: "exposure time as above",
            has: |a| a.camera.metering.is_some(),
            add: |a| a.camera.metering = Some(METERING),
            remove: |a| a.camera.metering = None,
        }),
        drawn: DrawnBelow::Nothing,
    },
    Section { group: &knob::GIMBAL, block: None, drawn: DrawnBelow::Nothing },
    Section { group: &knob::AIRFRAME, block: None, drawn: DrawnBelow::Nothing },
    Section {
        group: &knob::ENERGY,
        block: Some(Block {
            name: "Energy",
            hint: "With it, sorties follow the energy that speed, wind, climbs and air density take",
            without: "same at every speed",
            has: |a| a.airframe.energy.is_some(),
            add: |a| a.airframe.energy = Some(common_energy(a)),
            remove: |a| a.airframe.energy = None,
        }),
        drawn: DrawnBelow::Power,
    },
    Section { group: &knob::POSITIONING, block: None, drawn: DrawnBelow::Nothing },
    Section { group: &knob::AIRCRAFT_ON_SITE, block: None, drawn: DrawnBelow::Nothing },
];
