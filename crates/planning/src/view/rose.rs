#![expect(clippy::needless_bitwise_bool, reason = "without branches, the compiler makes vector code of it")]

use super::figures::{RING_COUNT, SECTOR_COUNT};
use crate::base::SurfaceClass;
use crate::base::number::narrow;
use crate::ground::Tile;
use glam::DVec2;

/// Bins of a rose.
pub(crate) const BIN_COUNT: usize = RING_COUNT * SECTOR_COUNT;

/// Upper ends of all rings but the last, from straight up.
const RING_ENDS_DEG: [f64; RING_COUNT - 1] = [15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 135.0, 150.0, 165.0];

/// Sorts directions into a rose's bins, seen from one tile.
#[derive(Debug, Clone)]
pub(crate) struct Bins {
    /// Level direction that azimuths start from.
    zero: [f32; 2],
    /// Heights of unit directions at the ends of the rings, descending.
    ring_ends: [f32; RING_COUNT - 1],
    /// Tangents of 30 and 60°.
    tangents: [f32; 2],
}

impl Bins {
    /// Azimuths count from north, on walls from the outward normal.
    pub(crate) fn of(tile: &Tile) -> Bins {
        let normal = tile.normal.truncate().try_normalize();
        let zero = if tile.class == SurfaceClass::Wall { normal.unwrap_or(DVec2::Y) } else { DVec2::Y };
        Bins {
            zero: zero.as_vec2().to_array(),
            ring_ends: RING_ENDS_DEG.map(|end| narrow(end.to_radians().cos())),
            tangents: [30_f64, 60.0].map(|angle| narrow(angle.to_radians().tan())),
        }
    }

    /// Bin of a unit direction: ring × sectors + sector. Straight up and down lie in the first sector.
    #[inline]
    pub(crate) fn of_direction(&self, east: f32, north: f32, up: f32) -> u8 {
        let ahead = north * self.zero[1] + east * self.zero[0];
        let right = east * self.zero[1] - north * self.zero[0];
        self.ring(up) * 12 + self.sector(ahead, right)
    }

    fn ring(&self, up: f32) -> u8 {
        self.ring_ends.iter().map(|&end| u8::from(up <= end)).sum()
    }

    /// Turns the direction back by whole quadrants into the first one, and counts the sectors passed in it.
    fn sector(&self, ahead: f32, right: f32) -> u8 {
        let second = (right > 0.0) & (ahead <= 0.0);
        let third = (right <= 0.0) & (ahead < 0.0);
        let fourth = (right < 0.0) & (ahead >= 0.0);
        let sine = if second {
            -ahead
        } else if third {
            -right
        } else if fourth {
            ahead
        } else {
            right
        };
        let cosine = if second {
            right
        } else if third {
            -ahead
        } else if fourth {
            -right
        } else {
            ahead
        };
        let passed = |tangent: f32| u8::from((sine >= tangent * cosine) & (cosine > 0.0));
        let quadrant = 3 * u8::from(second) + 6 * u8::from(third) + 9 * u8::from(fourth);
        quadrant + passed(self.tangents[0]) + passed(self.tangents[1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;
    use proptest::prelude::*;

    fn tile(class: SurfaceClass, normal: DVec3) -> Tile {
        Tile::new(class, normal, &[DVec3::ZERO], 1.0)
    }

    /// Derived: directions on the bins' own corners belong to the bin that starts there.
    #[test]
    fn bins_are_half_open() {
        let bins = Bins::of(&tile(SurfaceClass::Ground, DVec3::Z));
        assert_eq!(bins.of_direction(0.0, 0.0, 1.0), 0);
        assert_eq!(bins.of_direction(0.0, 1.0, 0.0), 5 * 12);
        assert_eq!(bins.of_direction(1.0, 0.0, 0.0), 5 * 12 + 3);
        assert_eq!(bins.of_direction(0.0, -1.0, 0.0), 5 * 12 + 6);
        assert_eq!(bins.of_direction(-1.0, 0.0, 0.0), 5 * 12 + 9);
        assert_eq!(bins.of_direction(0.0, 0.0, -1.0), 9 * 12);
    }

    /// Derived: on a wall that faces west, west is ahead and north to the right.
    #[test]
    fn walls_count_from_their_normal() {
        let bins = Bins::of(&tile(SurfaceClass::Wall, DVec3::NEG_X));
        assert_eq!(bins.of_direction(-1.0, 0.0, 0.0), 5 * 12);
        assert_eq!(bins.of_direction(0.0, 1.0, 0.0), 5 * 12 + 3);
    }

    proptest! {
        /// Derived: away from the bins' ends, the bin is that of the angles themselves.
        #[test]
        fn bins_agree_with_angles(azimuth in 0.0..360.0_f64, tilt in 0.0..180.0_f64) {
            let clear = |angle: f64, step: f64| (angle / step - (angle / step).round()).abs() * step > 1e-3;
            prop_assume!(clear(azimuth, 30.0) && clear(tilt, 15.0) && tilt > 0.01 && tilt < 179.99);
            let level = tilt.to_radians().sin();
            let direction = [azimuth.to_radians().sin() * level, azimuth.to_radians().cos() * level, tilt.to_radians().cos()];
            let [east, north, up] = direction.map(narrow);
            let ring = RING_ENDS_DEG.iter().filter(|&&end| tilt >= end).count();
            let sector = crate::base::number::whole(azimuth / 30.0);
            let bins = Bins::of(&tile(SurfaceClass::Roof, DVec3::Z));
            prop_assert_eq!(usize::from(bins.of_direction(east, north, up)), ring * 12 + sector);
        }
    }
}
