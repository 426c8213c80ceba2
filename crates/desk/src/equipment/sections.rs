//! All headings of a data sheet.

use obliquity_planning::{
    Aircraft, CameraCalibration, Energy, FlownCorrections, Gnss, KnobGroup, Metering, knob,
};

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

/// One of several ways of which only one has the rows.
#[derive(Debug, Clone, Copy)]
pub struct Ways {
    /// What is chosen.
    pub name: &'static str,
    /// What it does.
    pub hint: &'static str,
    /// What each is called and what it means.
    pub all: &'static [(&'static str, &'static str)],
    /// Which one the aircraft has.
    pub chosen: fn(&Aircraft) -> usize,
    /// Gives it another.
    pub choose: fn(&mut Aircraft, usize),
    /// What holds where it has no rows, in a word or two; nothing where it has them.
    pub without: fn(&Aircraft) -> Option<&'static str>,
}

/// When an aircraft has the rows of a section.
#[derive(Debug, Clone, Copy)]
pub enum Given {
    /// Always.
    Always,
    /// They can be added and removed.
    Block(Block),
    /// By the way that is chosen.
    Ways(Ways),
}

impl Given {
    /// Gives an aircraft the rows, with common numbers where it has none.
    pub fn give(&self, aircraft: &mut Aircraft) {
        match self {
            Given::Always => {}
            Given::Block(block) if (block.has)(aircraft) => {}
            Given::Block(block) => (block.add)(aircraft),
            Given::Ways(ways) => {
                let has_rows = |way: &usize| {
                    let mut other = aircraft.clone();
                    (ways.choose)(&mut other, *way);
                    (ways.without)(&other).is_none()
                };
                let missing = (ways.without)(aircraft).is_some();
                if let Some(way) = (0..ways.all.len()).find(has_rows).filter(|_| missing) {
                    (ways.choose)(aircraft, way);
                }
            }
        }
    }

    /// What holds instead where an aircraft does not have the rows.
    pub fn without(&self, aircraft: &Aircraft) -> Option<&'static str> {
        match self {
            Given::Always => None,
            Given::Block(block) => (!(block.has)(aircraft)).then_some(block.without),
            Given::Ways(ways) => (ways.without)(aircraft),
        }
    }
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
    /// When an aircraft has them.
    pub given: Given,
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

/// Where the adjustment of a block gets its camera from.
const CALIBRATION: Ways = Ways {
    name: "Calibration",
    hint: "What is known of focal length, principal point and distortion before the block is adjusted; the accuracy that is \
           predicted rests on it",
    all: &[
        (
            "none",
            "The block calibrates the camera; it starts from the data sheet, focal length and principal point to 50 px",
        ),
        (
            "earlier job",
            "From an earlier job or a laboratory, refined with the block; how well it still holds stands below",
        ),
        ("fixed", "Held as it is, not refined: an error in it goes into the heights"),
    ],
    chosen: |a| match a.camera.calibration {
        CameraCalibration::Uncalibrated => 0,
        CameraCalibration::EarlierJob { .. } => 1,
        CameraCalibration::Fixed => 2,
    },
    choose: |a, way| {
        a.camera.calibration = match way {
            0 => CameraCalibration::Uncalibrated,
            1 => CameraCalibration::usual_earlier_job(),
            _ => CameraCalibration::Fixed,
        }
    },
    without: |a| match a.camera.calibration {
        CameraCalibration::Uncalibrated => Some("data sheet, to 50 px"),
        CameraCalibration::EarlierJob { .. } => None,
        CameraCalibration::Fixed => Some("held as it is"),
    },
};

/// All numbers of an aircraft, in the order of a data sheet.
pub const SECTIONS: [Section; 11] = [
    Section { group: &knob::CAMERA, given: Given::Always, drawn: DrawnBelow::Nothing },
    Section {
        group: &knob::EXPOSURE,
        given: Given::Block(Block {
            name: "Aperture and ISO",
            hint: "With them, exposure time, motion blur and so the speed follow from the light that the conditions give",
            without: "exposure time as above",
            has: |a| a.camera.metering.is_some(),
            add: |a| a.camera.metering = Some(METERING),
            remove: |a| a.camera.metering = None,
        }),
        drawn: DrawnBelow::Nothing,
    },
    Section { group: &knob::DISTORTION, given: Given::Always, drawn: DrawnBelow::Nothing },
    Section { group: &knob::CALIBRATION, given: Given::Ways(CALIBRATION), drawn: DrawnBelow::Nothing },
    Section { group: &knob::IMAGE_NOISE, given: Given::Always, drawn: DrawnBelow::Nothing },
    Section { group: &knob::GIMBAL, given: Given::Always, drawn: DrawnBelow::Nothing },
    Section { group: &knob::AIRFRAME, given: Given::Always, drawn: DrawnBelow::Nothing },
    Section {
        group: &knob::ENERGY,
        given: Given::Block(Block {
            name: "Energy",
            hint: "With it, sorties follow the energy that speed, wind, climbs and air density take",
            without: "same at every speed",
            has: |a| a.airframe.energy.is_some(),
            add: |a| a.airframe.energy = Some(common_energy(a)),
            remove: |a| a.airframe.energy = None,
        }),
        drawn: DrawnBelow::Power,
    },
    Section {
        group: &knob::CORRECTIONS,
        given: Given::Block(Block {
            name: "Flown corrections",
            hint: "With them, speed, turns and endurance are predicted as your logged flights came out",
            without: "as planned",
            has: |a| a.airframe.corrections.is_some(),
            add: |a| a.airframe.corrections = Some(FlownCorrections::default()),
            remove: |a| a.airframe.corrections = None,
        }),
        drawn: DrawnBelow::Nothing,
    },
    Section {
        group: &knob::POSITIONING,
        given: Given::Block(Block {
            name: "Positioning",
            hint: "How well satellites place the exposures; without it only control points do",
            without: "images not placed",
            has: |a| a.airframe.gnss.is_some(),
            add: |a| a.airframe.gnss = Some(Gnss::default()),
            remove: |a| a.airframe.gnss = None,
        }),
        drawn: DrawnBelow::Nothing,
    },
    Section { group: &knob::AIRCRAFT_ON_SITE, given: Given::Always, drawn: DrawnBelow::Nothing },
];
