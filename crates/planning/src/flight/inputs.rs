//! What of a scenario the clock and its draws rest on besides the route, as parts of their digests.

use crate::base::digest::Digest;
use crate::scenario::wind::Wind;
use crate::scenario::{Airframe, Charging, Conditions, Energy, FlownCorrections, Spread};

impl Digest {
    /// What a route is flown with and in.
    pub(crate) fn flown(&mut self, airframe: &Airframe, conditions: &Conditions) -> &mut Self {
        self.flying(airframe);
        let Conditions {
            height_rule: _,
            height_ceiling_m: _,
            pilot_distance_m: _,
            clearance_m,
            blur_px: _,
            set_up_min: _,
            pack_up_min: _,
            control_points: _,
            per_control_point_min: _,
            survey: _,
            move_min: _,
            battery_sets,
            card_gb: _,
            wind: Wind { speed_mps, from_deg },
            temperature_c,
            altitude_m,
            charging,
            spread: _,
            mission: _,
            light: _,
        } = conditions;
        self.numbers(&[*clearance_m, *speed_mps, *temperature_c, *altitude_m]).optional(*from_deg);
        self.whole(u64::from(*battery_sets));
        let of = |charging: &Charging| {
            let Charging { supply: _, charge_min, at_once } = *charging;
            vec![charge_min, f64::from(at_once)]
        };
        self.numbers(&charging.as_ref().map(of).unwrap_or_default())
    }

    fn flying(&mut self, airframe: &Airframe) -> &mut Self {
        let Airframe {
            top_speed_mps,
            climb_mps,
            descent_mps,
            acceleration_mps2,
            endurance_min,
            reserve,
            swap_min,
            gnss: _,
            top_airspeed_mps,
            lateral_mps2,
            energy,
            corrections,
        } = airframe;
        self.numbers(&[*top_speed_mps, *climb_mps, *descent_mps, *acceleration_mps2]);
        self.numbers(&[*endurance_min, *reserve, *swap_min]);
        self.optional(*top_airspeed_mps).optional(*lateral_mps2).whole(u64::from(energy.is_some()));
        let of = |own: &FlownCorrections| {
            let FlownCorrections { speed_ratio, turn_ratio, endurance_ratio } = *own;
            vec![speed_ratio, turn_ratio, endurance_ratio]
        };
        self.numbers(&corrections.as_ref().map(of).unwrap_or_default());
        energy.iter().fold(self, Digest::energy)
    }

    fn energy<'a>(&'a mut self, energy: &Energy) -> &'a mut Self {
        let Energy {
            battery_wh,
            endurance_at_mps,
            hover_min,
            top_speed_min,
            mass_kg,
            rotors,
            rotor_diameter_m,
            health,
            cold_loss_per_c,
        } = *energy;
        self.numbers(&[battery_wh, endurance_at_mps, mass_kg, rotor_diameter_m, health, cold_loss_per_c]);
        self.optional(hover_min).optional(top_speed_min).whole(u64::from(rotors))
    }

    /// What the draws of a flight vary besides the flight itself.
    pub(crate) fn drawn(&mut self, conditions: &Conditions) -> &mut Self {
        let Conditions {
            height_rule: _,
            height_ceiling_m: _,
            pilot_distance_m: _,
            clearance_m: _,
            blur_px: _,
            set_up_min,
            pack_up_min,
            control_points,
            per_control_point_min,
            survey: _,
            move_min: _,
            battery_sets: _,
            card_gb: _,
            wind: _,
            temperature_c: _,
            altitude_m: _,
            charging: _,
            spread,
            mission: _,
            light: _,
        } = conditions;
        let Spread {
            wind_mps,
            wind_deg,
            speed_ratio,
            turn_ratio,
            battery_ratio,
            swap_ratio,
            crew_ratio,
            seed,
        } = *spread;
        self.numbers(&[*set_up_min, *pack_up_min, *per_control_point_min]).whole(u64::from(*control_points));
        self.numbers(&[wind_mps, wind_deg, speed_ratio, turn_ratio, battery_ratio, swap_ratio, crew_ratio]);
        self.whole(seed)
    }
}
