//! The ground in words.

use crate::show;
use crate::units::{Unit, Units};
use obliquity_planning::{Terrain, TerrainGrid};

/// What the ground is: a plane, or a grid with its nodes, spacing, lowest and highest place.
pub fn ground_text(terrain: &Terrain, units: Units) -> String {
    match terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            let at = units.text(Unit::Metres, *at_origin_m);
            if *slope_east == 0.0 && *slope_north == 0.0 {
                format!("Level ground at {at}.")
            } else {
                format!("A sloping plane, {at} at the origin.")
            }
        }
        Terrain::Grid(grid) => grid_text(grid, units),
    }
}

fn grid_text(grid: &TerrainGrid, units: Units) -> String {
    let (columns, rows) = grid.size();
    let heights = grid.heights_mm().iter();
    let (low, high) = heights.fold((i32::MAX, i32::MIN), |(low, high), &mm| (low.min(mm), high.max(mm)));
    let length = |m: f64| units.text(Unit::Metres, m);
    let step = grid.spacing_m();
    let apart = if (step.x - step.y).abs() < 0.005 {
        length(step.x)
    } else {
        format!("{} by {}", length(step.x), length(step.y))
    };
    format!(
        "A grid of {columns} by {rows} nodes ({}), {apart} apart; lowest {}, highest {}.",
        show::count((columns * rows) as f64),
        length(f64::from(low) / 1000.0),
        length(f64::from(high) / 1000.0),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use std::sync::Arc;

    // Derived: by hand.
    #[test]
    fn a_grid_says_what_it_is() {
        let heights = vec![0, 1500, 12_300, 3000, -400, 0];
        let grid = TerrainGrid::new(DVec2::ZERO, DVec2::splat(2.0), (3, 2), heights).unwrap();
        let text = ground_text(&Terrain::Grid(Arc::new(grid)), Units::Metric);
        assert_eq!(text, "A grid of 3 by 2 nodes (6), 2 m apart; lowest -0.4 m, highest 12.3 m.");
    }
}
