//! What the airframe can do, what its batteries hold, and how well it knows where it is.

use super::fields::{Block, Drawn, Field, Group, LeftOut, field};
use crate::inputs::within;
use crate::units::Unit;
use obliquity_exchange::chart::endurance_min;
use obliquity_planning::{Aircraft, Energy, limits};

/// What carries camera and gimbal.
pub(super) const AIRFRAME: Group = Group {
    name: "Airframe",
    note: "",
    fields: &[
        field!(
            "Top speed",
            "Fastest level speed while mapping, also used on transits.",
            Unit::MetresPerSecond,
            1,
            |_| within(limits::SPEED_MPS),
            |a| Some(a.airframe.top_speed_mps),
            |a, mps| a.airframe.top_speed_mps = mps
        ),
        Field {
            left_out: Some(LeftOut {
                text: "the top speed",
                begins_at: |a| (1.5 * a.airframe.top_speed_mps).round(),
                clear: |a| a.airframe.top_airspeed_mps = None,
            }),
            ..field!(
                "Fastest airspeed",
                "Fastest through the air, against the wind for instance; more than the top speed while mapping.",
                Unit::MetresPerSecond,
                1,
                |_| within(limits::AIRSPEED_MPS),
                |a| a.airframe.top_airspeed_mps,
                |a, mps| a.airframe.top_airspeed_mps = Some(mps)
            )
        },
        field!(
            "Climb",
            "Vertical speed upward.",
            Unit::VerticalMetresPerSecond,
            1,
            |_| within(limits::VERTICAL_SPEED_MPS),
            |a| Some(a.airframe.climb_mps),
            |a, mps| a.airframe.climb_mps = mps
        ),
        field!(
            "Descent",
            "Vertical speed downward.",
            Unit::VerticalMetresPerSecond,
            1,
            |_| within(limits::VERTICAL_SPEED_MPS),
            |a| Some(a.airframe.descent_mps),
            |a, mps| a.airframe.descent_mps = mps
        ),
        field!(
            "Acceleration",
            "Acceleration and braking; time one short strip to find it.",
            Unit::MetresPerSecondSquared,
            1,
            |_| within(limits::ACCELERATION_MPS2),
            |a| Some(a.airframe.acceleration_mps2),
            |a, mps2| a.airframe.acceleration_mps2 = mps2
        ),
        Field {
            left_out: Some(LeftOut {
                text: "stops to turn",
                begins_at: |_| 2.0,
                clear: |a| a.airframe.lateral_mps2 = None,
            }),
            ..field!(
                "Sideways acceleration",
                "Of turns that are flown in one sweep; without it the aircraft stops at every corner to turn.",
                Unit::MetresPerSecondSquared,
                1,
                |_| within(limits::LATERAL_MPS2),
                |a| a.airframe.lateral_mps2,
                |a, mps2| a.airframe.lateral_mps2 = Some(mps2)
            )
        },
        field!(
            "Endurance",
            "Of one battery set while mapping; less than a data sheet says for hovering in still air.",
            Unit::Minutes,
            1,
            |_| within(limits::ENDURANCE_MIN),
            |a| Some(a.airframe.endurance_min),
            |a, min| a.airframe.endurance_min = min
        ),
        field!(
            "Reserve at landing",
            "Share of the endurance that is left when the aircraft lands.",
            Unit::Share,
            0,
            |_| within(limits::RESERVE),
            |a| Some(a.airframe.reserve),
            |a, share| a.airframe.reserve = share
        ),
        field!(
            "Battery change",
            "Time on the ground for one change.",
            Unit::Minutes,
            1,
            |_| within(limits::SWAP_MIN),
            |a| Some(a.airframe.swap_min),
            |a, min| a.airframe.swap_min = min
        ),
    ],
    block: None,
    drawn: Drawn::Nothing,
};

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

fn energy(aircraft: &Aircraft) -> Option<&Energy> {
    aircraft.airframe.energy.as_ref()
}

fn with_energy(aircraft: &mut Aircraft, change: impl FnOnce(&mut Energy)) {
    if let Some(energy) = &mut aircraft.airframe.energy {
        change(energy);
    }
}

/// What a battery set holds and what flying draws.
pub(super) const ENERGY: Group = Group {
    name: "Energy",
    note: "",
    fields: &[
        field!(
            "Battery set",
            "What a new set holds: volts times ampere-hours, all packs of the set together.",
            Unit::WattHours,
            1,
            |_| within(limits::BATTERY_WH),
            |a| Some(energy(a)?.battery_wh),
            |a, wh| with_energy(a, |energy| energy.battery_wh = wh)
        ),
        field!(
            "Battery health",
            "What is left of the capacity with age.",
            Unit::Share,
            0,
            |_| within(limits::HEALTH),
            |a| Some(energy(a)?.health),
            |a, share| with_energy(a, |energy| energy.health = share)
        ),
        field!(
            "Cold loss per °C",
            "Share of the capacity lost for each degree that the air is colder than 20 °C.",
            Unit::Share,
            2,
            |_| within(limits::COLD_LOSS),
            |a| Some(energy(a)?.cold_loss_per_c),
            |a, share| with_energy(a, |energy| energy.cold_loss_per_c = share)
        ),
        field!(
            "Take-off mass",
            "With battery and camera.",
            Unit::Kilograms,
            2,
            |_| within(limits::MASS_KG),
            |a| Some(energy(a)?.mass_kg),
            |a, kg| with_energy(a, |energy| energy.mass_kg = kg)
        ),
        field!(
            "Rotors",
            "How many there are.",
            Unit::Count,
            0,
            |_| within(limits::ROTORS),
            |a| Some(f64::from(energy(a)?.rotors)),
            |a, count| with_energy(a, |energy| energy.rotors = count.round() as u32)
        ),
        field!(
            "Rotor diameter",
            "From blade tip to blade tip.",
            Unit::SizeMetres,
            1,
            |_| within(limits::ROTOR_DIAMETER_M),
            |a| Some(energy(a)?.rotor_diameter_m),
            |a, m| with_energy(a, |energy| energy.rotor_diameter_m = m)
        ),
        field!(
            "Endurance holds at",
            "Airspeed at which the endurance above holds, new battery and still air at sea level; 0 in hover.",
            Unit::MetresPerSecond,
            1,
            |a| 0.0..=a.airframe.fastest_mps().min(limits::AIRSPEED_MPS.most),
            |a| Some(energy(a)?.endurance_at_mps),
            |a, mps| with_energy(a, |energy| energy.endurance_at_mps = mps)
        ),
        Field {
            left_out: Some(LeftOut {
                text: "estimated",
                begins_at: |a| endurance_min(a, 0.0).map_or(25.0, f64::round),
                clear: |a| with_energy(a, |energy| energy.hover_min = None),
            }),
            ..field!(
                "Endurance in hover",
                "Where it is known besides; the power curve is bent to go through it.",
                Unit::Minutes,
                1,
                |_| within(limits::ENDURANCE_MIN),
                |a| energy(a)?.hover_min,
                |a, min| with_energy(a, |energy| energy.hover_min = Some(min))
            )
        },
        Field {
            left_out: Some(LeftOut {
                text: "estimated",
                begins_at: |a| endurance_min(a, a.airframe.fastest_mps()).map_or(20.0, f64::round),
                clear: |a| with_energy(a, |energy| energy.top_speed_min = None),
            }),
            ..field!(
                "Endurance at fastest",
                "At the fastest airspeed, where it is known besides; the power curve is bent to go through it.",
                Unit::Minutes,
                1,
                |_| within(limits::ENDURANCE_MIN),
                |a| energy(a)?.top_speed_min,
                |a, min| with_energy(a, |energy| energy.top_speed_min = Some(min))
            )
        },
    ],
    block: Some(Block {
        name: "Energy",
        hint: "With it, sorties follow the energy that speed, wind, climbs and air density take",
        without: "same at every speed",
        has: |a| a.airframe.energy.is_some(),
        add: |a| a.airframe.energy = Some(common_energy(a)),
        remove: |a| a.airframe.energy = None,
    }),
    drawn: Drawn::Power,
};

/// How well the aircraft knows where it is.
pub(super) const POSITIONING: Group = Group {
    name: "Positioning",
    note: "no figure uses these yet",
    fields: &[
        field!(
            "Horizontal, random",
            "One sigma; the part that averages over images.",
            Unit::SizeMetres,
            1,
            |_| within(limits::GNSS_M),
            |a| Some(a.airframe.gnss.random_horizontal_m),
            |a, m| a.airframe.gnss.random_horizontal_m = m
        ),
        field!(
            "Vertical, random",
            "One sigma; the part that averages over images.",
            Unit::SizeMetres,
            1,
            |_| within(limits::GNSS_M),
            |a| Some(a.airframe.gnss.random_vertical_m),
            |a, m| a.airframe.gnss.random_vertical_m = m
        ),
        field!(
            "Horizontal, constant",
            "One sigma; common to a whole base set-up, so it never averages.",
            Unit::SizeMetres,
            1,
            |_| within(limits::GNSS_M),
            |a| Some(a.airframe.gnss.constant_horizontal_m),
            |a, m| a.airframe.gnss.constant_horizontal_m = m
        ),
        field!(
            "Vertical, constant",
            "One sigma; common to a whole base set-up, so it never averages.",
            Unit::SizeMetres,
            1,
            |_| within(limits::GNSS_M),
            |a| Some(a.airframe.gnss.constant_vertical_m),
            |a, m| a.airframe.gnss.constant_vertical_m = m
        ),
    ],
    block: None,
    drawn: Drawn::Nothing,
};
