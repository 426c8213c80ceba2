use crate::geometry::footprint::footprint_m;
use crate::geometry::{Pose, PosedCamera};
use glam::{DVec2, DVec3};

/// What the images of a pass look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subject {
    /// The ground, taken as level.
    Ground,
    /// A wall in front of the camera.
    Wall {
        /// Level distance to it.
        stand_off_m: f64,
        /// From the direction to the wall to the camera's heading, clockwise.
        turned_rad: f64,
    },
    /// The underside of a deck above the camera.
    Soffit {
        /// Height of it above the camera.
        stand_off_m: f64,
    },
}

impl Subject {
    /// The plane that a camera at a pose looks at.
    pub(crate) fn plane(&self, pose: &Pose, ground_z_m: f64) -> Plane {
        match *self {
            Subject::Ground => Plane { kind: Kind::Ground, x: DVec3::X, y: DVec3::Y, level_m: ground_z_m },
            Subject::Soffit { stand_off_m } => {
                let level_m = -(pose.position_m.z + stand_off_m);
                Plane { kind: Kind::Soffit, x: DVec3::X, y: DVec3::NEG_Y, level_m }
            }
            Subject::Wall { stand_off_m, turned_rad } => {
                let (sin, cos) = (pose.heading_rad - turned_rad).sin_cos();
                let (x, outward) = (DVec3::new(cos, -sin, 0.0), DVec3::new(-sin, -cos, 0.0));
                let level_m = pose.position_m.dot(outward) - stand_off_m;
                Plane { kind: Kind::Wall, x, y: DVec3::Z, level_m }
            }
        }
    }
}

/// A plane with axes of its own; its normal x × y points to the cameras.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plane {
    kind: Kind,
    x: DVec3,
    y: DVec3,
    /// Where it lies along its normal.
    level_m: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Ground,
    Soffit,
    Wall,
}

/// Planes that lie and turn less apart than this are one.
const ONE_PLANE: f64 = 1e-6;

impl Plane {
    pub(crate) fn is_wall(&self) -> bool {
        self.kind == Kind::Wall
    }

    pub(crate) fn is_one_with(&self, other: &Plane) -> bool {
        let apart = (self.x - other.x).abs().max_element().max((self.level_m - other.level_m).abs());
        self.kind == other.kind && apart < ONE_PLANE
    }

    /// Outline of a frame on it, in its own axes; nothing for a camera behind it.
    pub(crate) fn footprint_m(&self, camera: &PosedCamera) -> Option<Vec<DVec2>> {
        let normal = self.x.cross(self.y);
        let own = |v: DVec3| DVec3::new(v.dot(self.x), v.dot(self.y), v.dot(normal));
        let turned = PosedCamera {
            model: camera.model,
            centre_m: own(camera.centre_m),
            right: own(camera.right),
            down: own(camera.down),
            forward: own(camera.forward),
        };
        footprint_m(&turned, self.level_m)
    }
}
