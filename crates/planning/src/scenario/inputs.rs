//! What of a scenario a stage rests on, as parts of its digest.

use crate::base::digest::Digest;
use crate::geometry::lie::longest_side;
use crate::scenario::{
    Above, Aim, Aircraft, Conditions, CountingRule, Distance, OrbitCentre, OrbitRadius, Pass, Pattern, Site,
    StripDirection, StructureKind, Terrain,
};

impl Digest {
    /// What the ground and the surfaces on it are made from. Of the take-off point no more than which way the lattice lies.
    pub(crate) fn surfaces(&mut self, site: &Site) -> &mut Self {
        let along = longest_side(&site.boundary_m, site.take_off_m);
        self.ring(&site.boundary_m).numbers(&along.to_array());
        match &site.terrain {
            Terrain::Plane { at_origin_m, slope_east, slope_north } => {
                self.whole(0).numbers(&[*at_origin_m, *slope_east, *slope_north])
            }
            Terrain::Grid(grid) => self.whole(1).key(grid.key()),
        };
        self.whole(site.structures.len() as u64);
        for structure in &site.structures {
            self.ring(&structure.footprint_m).kind(&structure.kind);
        }
        let typical = site.typical_building;
        self.numbers(&typical.map_or(Vec::new(), |t| vec![t.width_m, t.depth_m, t.height_m, t.spacing_m]))
            .optional(site.sample_spacing_m)
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

    /// What a route is laid on: the surfaces, the take-off point and what is flown round.
    pub(crate) fn airspace(&mut self, site: &Site) -> &mut Self {
        for structure in &site.structures {
            self.whole(u64::from(structure.id.0)).text(&structure.name);
        }
        self.surfaces(site).numbers(&site.take_off_m.to_array()).whole(site.keep_outs.len() as u64);
        site.keep_outs.iter().fold(self, |digest, k| digest.ring(&k.outline_m).text(&k.name))
    }

    fn pattern(&mut self, pattern: &Pattern) -> &mut Self {
        match pattern {
            Pattern::Strips { direction, counting, begin } => {
                let (way, deg) = match direction {
                    StripDirection::Automatic { turned_deg } => (0, turned_deg),
                    StripDirection::FromNorth { deg } => (1, deg),
                };
                self.whole(0).whole(way).number(*deg).whole(counting_code(*counting)).whole(*begin as u64)
            }
            Pattern::Corridor { line_m, width_m, counting } => {
                self.whole(1).ring(line_m).number(*width_m).whole(counting_code(*counting))
            }
            Pattern::Orbit { around, radius, rings, target_height_m } => {
                match around {
                    OrbitCentre::Structure(id) => self.whole(2).whole(0).whole(u64::from(id.0)),
                    OrbitCentre::Point { x_m, y_m } => self.whole(2).whole(1).numbers(&[*x_m, *y_m]),
                    OrbitCentre::Structures(ids) => self.whole(2).whole(2).ids(ids),
                };
                let set = match radius {
                    OrbitRadius::StandOff => None,
                    OrbitRadius::Set { m } => Some(*m),
                };
                self.optional(set).numbers(&rings.heights_m()).number(*target_height_m)
            }
            Pattern::Facade { structure, others, walls, clearance_m, lowest_m } => {
                self.whole(3).whole(u64::from(structure.0)).ids(others).whole(u64::from(walls.is_some()));
                let walls: Vec<f64> = walls.iter().flatten().map(|wall| f64::from(*wall)).collect();
                self.numbers(&walls).numbers(&[*clearance_m, *lowest_m])
            }
            Pattern::Underside { structure, sections, soffit_clearance_m, ground_clearance_m } => self
                .whole(4)
                .whole(u64::from(structure.0))
                .whole(u64::from(*sections))
                .numbers(&[*soffit_clearance_m, *ground_clearance_m]),
        }
    }

    /// A pass with everything of aircraft and conditions that its plan rests on.
    pub(crate) fn pass(&mut self, pass: &Pass, aircraft: &Aircraft, conditions: &Conditions) -> &mut Self {
        self.whole(u64::from(pass.id.0)).pattern(&pass.pattern);
        self.whole(pass.attitudes.len() as u64);
        for attitude in &pass.attitudes {
            let aim = match attitude.aim {
                Aim::FromTrack { .. } => 0,
                Aim::FromStrips { .. } => 1,
                Aim::FromNorth { .. } => 2,
                Aim::AtSubject { .. } => 3,
            };
            self.number(attitude.tilt_deg).whole(aim).number(attitude.aim.deg());
        }
        let (leads, distance) = match pass.distance {
            Distance::Height { m, .. } => (0, m),
            Distance::Gsd { cm, .. } => (1, cm),
            Distance::StandOff { m } => (2, m),
        };
        let above = match pass.distance.above() {
            Above::MeanGround => 0,
            Above::TakeOff => 1,
            Above::Ground => 2,
        };
        self.whole(leads).whole(above).numbers(&[distance, pass.forward_overlap, pass.sidelap]);
        self.optional(pass.speed_mps).optional(pass.margin_m).optional(pass.hover_s);
        let (camera, gimbal) = (&aircraft.camera, &aircraft.gimbal);
        self.whole(u64::from(camera.width_px)).whole(u64::from(camera.height_px)).numbers(&[
            camera.model().focal_length_px,
            camera.shortest_interval_s,
            camera.exposure_s,
            gimbal.tilt_min_deg,
            gimbal.tilt_max_deg,
            gimbal.pan_min_deg,
            gimbal.pan_max_deg,
            gimbal.slew_dps,
            gimbal.settle_s,
            aircraft.airframe.top_speed_mps,
            aircraft.airframe.climb_mps,
            aircraft.airframe.descent_mps,
            aircraft.airframe.acceleration_mps2,
            conditions.height_ceiling_m,
            conditions.clearance_m,
            conditions.blur_px,
        ])
    }
}

fn counting_code(rule: CountingRule) -> u64 {
    match rule {
        CountingRule::HalfSpacingInside => 0,
        CountingRule::CentredAtSpacing => 1,
        CountingRule::FootprintCover => 2,
        CountingRule::EdgeToEdge => 3,
        CountingRule::SidelapBeyondEdge => 4,
        CountingRule::SpareStripEachSide => 5,
    }
}
