use crate::light::TwilightRule;
use crate::{Above, Aim, CountingRule, Distance, OrbitCentre, OrbitRadius, Pattern, StripDirection};
use crate::{Aircraft, Conditions, GeoPoint, LocalDate, Pass, Pose, Site, SiteZone, StructureKind, Terrain};
use glam::DVec2;
use siphasher::sip128::{Hasher128, SipHasher13};
use std::hash::Hasher;

/// A digest of one stage's whole input: equal inputs have equal keys, whatever else the scenario holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Key(u128);

/// Collects the parts of an input in order.
pub(crate) struct Digest(SipHasher13);

impl Digest {
    /// A digest for one stage; stages with equal inputs still have different keys.
    pub(crate) fn of_stage(stage: u8) -> Self {
        let mut digest = Digest(SipHasher13::new());
        digest.0.write_u8(stage);
        digest
    }

    pub(crate) fn whole(&mut self, value: u64) -> &mut Self {
        self.0.write_u64(value);
        self
    }

    /// Negative zero equals zero.
    pub(crate) fn number(&mut self, value: f64) -> &mut Self {
        self.0.write_u64((value + 0.0).to_bits());
        self
    }

    pub(crate) fn optional(&mut self, value: Option<f64>) -> &mut Self {
        self.whole(u64::from(value.is_some())).number(value.unwrap_or_default())
    }

    pub(crate) fn numbers(&mut self, values: &[f64]) -> &mut Self {
        self.whole(values.len() as u64);
        values.iter().fold(self, |digest, value| digest.number(*value))
    }

    pub(crate) fn text(&mut self, text: &str) -> &mut Self {
        self.whole(text.len() as u64).0.write(text.as_bytes());
        self
    }

    pub(crate) fn wholes(&mut self, values: &[i32]) -> &mut Self {
        self.whole(values.len() as u64);
        for value in values {
            self.0.write_i32(*value);
        }
        self
    }

    pub(crate) fn key(&mut self, key: Key) -> &mut Self {
        self.0.write_u128(key.0);
        self
    }

    pub(crate) fn ring(&mut self, ring: &[DVec2]) -> &mut Self {
        self.whole(ring.len() as u64);
        ring.iter().fold(self, |digest, p| digest.number(p.x).number(p.y))
    }

    pub(crate) fn finish(&self) -> Key {
        Key(self.0.finish128().as_u128())
    }

    /// What the ground and the surfaces on it are made from.
    pub(crate) fn surfaces(&mut self, site: &Site) -> &mut Self {
        self.ring(&site.boundary_m);
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
        site.keep_outs.iter().fold(self, |digest, keep_out| digest.ring(&keep_out.outline_m))
    }

    fn pattern(&mut self, pattern: &Pattern) -> &mut Self {
        match pattern {
            Pattern::Strips { direction, counting } => {
                let (way, deg) = match direction {
                    StripDirection::Automatic { turned_deg } => (0, turned_deg),
                    StripDirection::FromNorth { deg } => (1, deg),
                };
                self.whole(0).whole(way).number(*deg).whole(counting_code(*counting))
            }
            Pattern::Corridor { line_m, width_m, counting } => {
                self.whole(1).ring(line_m).number(*width_m).whole(counting_code(*counting))
            }
            Pattern::Orbit { around, radius, rings, target_height_m } => {
                match around {
                    OrbitCentre::Structure(id) => self.whole(2).whole(0).whole(u64::from(id.0)),
                    OrbitCentre::Point { x_m, y_m } => self.whole(2).whole(1).numbers(&[*x_m, *y_m]),
                };
                let set = match radius {
                    OrbitRadius::StandOff => None,
                    OrbitRadius::Set { m } => Some(*m),
                };
                self.optional(set).numbers(&rings.heights_m()).number(*target_height_m)
            }
            Pattern::Facade { structure, walls, clearance_m, lowest_m } => {
                self.whole(3).whole(u64::from(structure.0)).whole(u64::from(walls.is_some()));
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

    /// What the sun on one day of a site's clock rests on.
    pub(crate) fn day(
        &mut self,
        place: GeoPoint,
        date: LocalDate,
        zone: &SiteZone,
        rule: TwilightRule,
    ) -> &mut Self {
        self.numbers(&[place.latitude_deg, place.longitude_deg]).wholes(&[
            i32::from(date.year),
            i32::from(date.month),
            i32::from(date.day),
        ]);
        match zone {
            SiteZone::Named { name } => self.whole(0).text(name),
            SiteZone::Offset { minutes } => self.whole(1).wholes(&[*minutes]),
        };
        self.whole(u64::from(rule == TwilightRule::ThirtyMinutes))
    }

    pub(crate) fn pose(&mut self, pose: &Pose) -> &mut Self {
        let p = pose.position_m;
        self.numbers(&[p.x, p.y, p.z, pose.heading_rad, pose.tilt_rad, pose.roll_rad])
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn negative_zero_is_zero_and_stages_differ() {
        let key = |stage, value| Digest::of_stage(stage).number(value).finish();
        assert_eq!(key(1, 0.0), key(1, -0.0));
        assert_ne!(key(1, 0.0), key(2, 0.0));
        assert_ne!(key(1, 0.0), key(1, f64::MIN_POSITIVE));
    }

    #[test]
    fn lists_do_not_run_into_each_other() {
        let two = Digest::of_stage(0).numbers(&[1.0]).numbers(&[2.0, 3.0]).finish();
        assert_ne!(two, Digest::of_stage(0).numbers(&[1.0, 2.0]).numbers(&[3.0]).finish());
    }
}
