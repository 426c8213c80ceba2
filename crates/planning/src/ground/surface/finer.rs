//! Some of a site's surfaces, sampled more densely.

use crate::ground::surface::model::SiteModel;
use crate::ground::surface::tile::{TILE_LEN, Tile};
use crate::scenario::Terrain;
use glam::DVec3;

impl SiteModel {
    /// A model of some of its tiles, each of their samples parted into so many along each side, behind all that hides.
    ///
    /// The parts of a sample fill a square of its area about it, along the lattice of its tile; on uneven ground they lie on the
    /// ground itself.
    ///
    /// # Units
    /// - `tiles`: numbers of tiles, with the parts along each side, ≥ 1
    ///
    /// # Errors
    /// What `ask` answers.
    pub(crate) fn parted<E: Send>(
        &self,
        tiles: &[(usize, usize)],
        ask: impl Fn(u64, u64) -> Result<(), E> + Sync,
    ) -> Result<SiteModel, E> {
        let parted =
            tiles.iter().flat_map(|&(number, parts)| self.tiles[number].parted(parts, &self.terrain));
        let mut made = SiteModel {
            tiles: parted.collect(),
            prisms: self.prisms.clone(),
            terrain: self.terrain.clone(),
            heights: self.heights.clone(),
            ..*self
        };
        made.finish(ask)?;
        Ok(made)
    }
}

impl Tile {
    fn parted(&self, parts: usize, terrain: &Terrain) -> Vec<Tile> {
        let [u, v] = self.sides_m();
        let share = |k: usize| (k as f64 + 0.5) / parts as f64 - 0.5;
        let of_sample = |lane: usize| {
            let middle_m = self.sample(lane).position_m;
            (0..parts * parts).map(move |k| middle_m + u * share(k % parts) + v * share(k / parts))
        };
        let places: Vec<DVec3> = (0..self.len).flat_map(of_sample).collect();
        let area_m2 = self.sample_area_m2 / (parts * parts) as f64;
        let tile = |places: &[DVec3]| match (terrain, &self.relief) {
            (Terrain::Grid(grid), Some(_)) => Tile::on_ground(grid, places, area_m2),
            _ => Tile::new(self.class, self.normal, places, area_m2),
        };
        places.chunks(TILE_LEN).map(tile).collect()
    }

    /// Sides of a square of a sample's area, in the face or, on uneven ground, in plan.
    fn sides_m(&self) -> [DVec3; 2] {
        let up = if self.relief.is_some() { DVec3::Z } else { self.normal };
        let step =
            if self.len > 1 { self.sample(1).position_m - self.sample(0).position_m } else { DVec3::ZERO };
        let along = (step - up * step.dot(up)).try_normalize().unwrap_or_else(|| up.any_orthonormal_vector());
        let side_m = self.sample_area_m2.sqrt();
        [along * side_m, up.cross(along) * side_m]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::SurfaceClass;
    use crate::ground::surface::points::SamplePoint;
    use std::convert::Infallible;

    /// Derived: parts fill what their sample stands for: the same area, the same middle, a lattice of equal steps.
    #[test]
    fn parts_fill_the_sample() {
        let normal = DVec3::new(0.6, 0.0, 0.8);
        let point = SamplePoint {
            class: SurfaceClass::Roof,
            position_m: DVec3::new(3.0, -2.0, 7.0),
            normal,
            area_m2: 4.0,
        };
        let site = SiteModel::from_points(&[point], Vec::new(), Terrain::default());
        let parted = site.parted(&[(0, 4)], |_, _| Ok::<(), Infallible>(())).unwrap();
        let samples: Vec<_> = parted.samples().collect();
        assert_eq!(samples.len(), 16);
        let area_m2: f64 = samples.iter().map(|sample| sample.area_m2).sum();
        assert!((area_m2 - 4.0).abs() < 1e-12); // rounding of a sum
        let middle_m = samples.iter().map(|sample| sample.position_m).sum::<DVec3>() / 16.0;
        assert!(middle_m.distance(point.position_m) < 1e-6); // lanes are kept in single precision
        for sample in &samples {
            assert!((sample.position_m - point.position_m).dot(normal).abs() < 1e-6);
            let nearest = samples
                .iter()
                .map(|other| other.position_m.distance(sample.position_m))
                .filter(|away_m| *away_m > 1e-9)
                .fold(f64::INFINITY, f64::min);
            assert!((nearest - 0.5).abs() < 1e-6);
        }
    }
}
