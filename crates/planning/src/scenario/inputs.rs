//! What of a scenario a stage rests on, as parts of its digest.

use crate::base::digest::Digest;
use crate::geometry::lie::longest_side;
use crate::scenario::{
    Above, Aim, Aircraft, Airframe, Attitude, Camera, Conditions, Distance, Gimbal, KeepOut, Pass, Site,
    Structure, StructureKind, Terrain, TypicalBuilding,
};

impl Digest {
    /// What the ground and the surfaces on it are made from. Of the take-off point no more than which way the lattice lies.
    pub(crate) fn surfaces(&mut self, site: &Site) -> &mut Self {
        let Site {
            name: _,
            origin: _,
            boundary_m,
            take_off_m,
            terrain,
            structures,
            typical_building,
            keep_outs: _,
            control_points: _,
            sample_spacing_m,
        } = site;
        let along = longest_side(boundary_m, *take_off_m);
        self.ring(boundary_m).numbers(&along.to_array());
        match terrain {
            Terrain::Plane { at_origin_m, slope_east, slope_north } => {
                self.whole(0).numbers(&[*at_origin_m, *slope_east, *slope_north])
            }
            Terrain::Grid(grid) => self.whole(1).key(grid.key()),
        };
        self.whole(structures.len() as u64);
        for Structure { id: _, name: _, footprint_m, kind } in structures {
            self.ring(footprint_m).kind(kind);
        }
        let sides = |typical: TypicalBuilding| {
            let TypicalBuilding { width_m, depth_m, height_m, spacing_m } = typical;
            vec![width_m, depth_m, height_m, spacing_m]
        };
        self.numbers(&typical_building.map(sides).unwrap_or_default()).optional(*sample_spacing_m)
    }

    /// What stands on a footprint.
    fn kind(&mut self, kind: &StructureKind) -> &mut Self {
        match kind {
            StructureKind::Extrusion { height_m } => self.whole(0).number(*height_m),
            StructureKind::Deck { soffit_m, top_m, piers } => {
                self.whole(1).numbers(&[*soffit_m, *top_m]).whole(piers.len() as u64);
                piers.iter().fold(self, |digest, pier| digest.ring(&pier.footprint_m))
            }
        }
    }

    /// What a route is laid on: the surfaces with their names, the take-off point and what is flown round.
    pub(crate) fn airspace(&mut self, site: &Site) -> &mut Self {
        let Site {
            name: _,
            origin: _,
            boundary_m: _,
            take_off_m,
            terrain: _,
            structures,
            typical_building: _,
            keep_outs,
            control_points: _,
            sample_spacing_m: _,
        } = site;
        for Structure { id, name, footprint_m: _, kind: _ } in structures {
            self.whole(u64::from(id.0)).text(name);
        }
        self.surfaces(site).numbers(&take_off_m.to_array()).whole(keep_outs.len() as u64);
        let round =
            |digest, KeepOut { name, outline_m }: &KeepOut| Digest::ring(digest, outline_m).text(name);
        keep_outs.iter().fold(self, round)
    }

    fn attitude(&mut self, attitude: &Attitude) -> &mut Self {
        let Attitude { tilt_deg, aim } = *attitude;
        let (from, deg) = match aim {
            Aim::FromTrack { deg } => (0, deg),
            Aim::FromStrips { deg } => (1, deg),
            Aim::FromNorth { deg } => (2, deg),
            Aim::AtSubject { deg } => (3, deg),
        };
        self.number(tilt_deg).whole(from).number(deg)
    }

    fn distance(&mut self, distance: Distance) -> &mut Self {
        let above = |above| match above {
            Above::MeanGround => 0,
            Above::TakeOff => 1,
            Above::Ground => 2,
        };
        let (leads, above, distance) = match distance {
            Distance::Height { m, above: over } => (0, above(over), m),
            Distance::Gsd { cm, above: over } => (1, above(over), cm),
            Distance::StandOff { m } => (2, 0, m),
        };
        self.whole(leads).whole(above).number(distance)
    }

    /// A pass; what else its plan rests on are [`Digest::flown_with`] and [`Digest::airspace`].
    pub(crate) fn pass(&mut self, pass: &Pass) -> &mut Self {
        let Pass { id, pattern, attitudes, distance, forward_overlap, sidelap, speed_mps, margin_m, hover_s } =
            pass;
        self.whole(u64::from(id.0)).pattern(pattern).whole(attitudes.len() as u64);
        attitudes.iter().fold(&mut *self, Digest::attitude);
        self.distance(*distance).numbers(&[*forward_overlap, *sidelap]);
        self.optional(*speed_mps).optional(*margin_m).optional(*hover_s)
    }

    /// What plans rest on of aircraft and conditions: what is left out belongs to the clock, the battery, the light or the load.
    pub(crate) fn flown_with(&mut self, aircraft: &Aircraft, conditions: &Conditions) -> &mut Self {
        let Aircraft { id: _, name: _, camera, gimbal, airframe, on_site: _ } = aircraft;
        self.camera(camera).gimbal(gimbal).airframe(airframe).limits(conditions)
    }

    fn camera(&mut self, camera: &Camera) -> &mut Self {
        let Camera {
            width_px,
            height_px,
            sensor: _,
            focal_length_mm: _,
            shortest_interval_s,
            exposure_s,
            metering: _,
            image_mb: _,
            shutter: _,
            distortion,
            calibration: _,
            image_noise_px: _,
        } = camera;
        // Sensor and lens enter as the focal length in pixels.
        self.whole(u64::from(*width_px)).whole(u64::from(*height_px)).numbers(&[
            camera.model().focal_length_px,
            *shortest_interval_s,
            *exposure_s,
        ]);
        self.lens(distortion)
    }

    fn gimbal(&mut self, gimbal: &Gimbal) -> &mut Self {
        let Gimbal { tilt_min_deg, tilt_max_deg, pan_min_deg, pan_max_deg, slew_dps, settle_s } = *gimbal;
        self.numbers(&[tilt_min_deg, tilt_max_deg, pan_min_deg, pan_max_deg, slew_dps, settle_s])
    }

    fn airframe(&mut self, airframe: &Airframe) -> &mut Self {
        let Airframe {
            top_speed_mps,
            climb_mps,
            descent_mps,
            acceleration_mps2,
            endurance_min: _,
            reserve: _,
            swap_min: _,
            gnss: _,
            top_airspeed_mps: _,
            lateral_mps2: _,
            energy: _,
            corrections: _,
        } = *airframe;
        self.numbers(&[top_speed_mps, climb_mps, descent_mps, acceleration_mps2])
    }

    fn limits(&mut self, conditions: &Conditions) -> &mut Self {
        let Conditions {
            height_ceiling_m,
            clearance_m,
            blur_px,
            height_rule: _,
            pilot_distance_m: _,
            set_up_min: _,
            pack_up_min: _,
            control_points: _,
            per_control_point_min: _,
            survey: _,
            move_min: _,
            battery_sets: _,
            card_gb: _,
            wind: _,
            temperature_c: _,
            altitude_m: _,
            charging: _,
            spread: _,
            mission: _,
            light: _,
        } = conditions;
        self.numbers(&[*height_ceiling_m, *clearance_m, *blur_px])
    }
}
