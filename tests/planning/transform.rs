//! The same scenario told otherwise: moved, turned, mirrored, its outline begun elsewhere or run the other way round.

use glam::DVec2;
use obliquity_planning::*;
use std::sync::Arc;

/// Every place moved by the same vector.
pub(crate) fn moved(scenario: &Scenario, by_m: DVec2) -> Scenario {
    let mut moved = placed(scenario, |at| at + by_m);
    let terrain = match &scenario.site.terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            let at_origin_m = at_origin_m - by_m.dot(DVec2::new(*slope_east, *slope_north));
            Terrain::Plane { at_origin_m, slope_east: *slope_east, slope_north: *slope_north }
        }
        Terrain::Grid(grid) => {
            let heights = grid.heights_mm().to_vec();
            laid(grid, grid.south_west_m() + by_m, heights)
        }
    };
    site_of(&mut moved).terrain = terrain;
    moved
}

/// Everything turned clockwise about the frame's origin; over a grid of heights by half a turn only.
pub(crate) fn turned(scenario: &Scenario, deg: f64) -> Scenario {
    let turn = DVec2::from_angle(-deg.to_radians());
    let mut turned = placed(scenario, |at| turn.rotate(at));
    let terrain = match &scenario.site.terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            let slope = turn.rotate(DVec2::new(*slope_east, *slope_north));
            Terrain::Plane { at_origin_m: *at_origin_m, slope_east: slope.x, slope_north: slope.y }
        }
        Terrain::Grid(grid) => {
            assert!((deg - 180.0).abs() < 1e-12, "a grid of heights is turned by half a turn");
            laid(grid, -grid.north_east_m(), grid.heights_mm().iter().rev().copied().collect())
        }
    };
    site_of(&mut turned).terrain = terrain;
    turned.conditions.wind.from_deg =
        turned.conditions.wind.from_deg.map(|from| (from + deg).rem_euclid(360.0));
    each_pass(&mut turned, |pass| {
        if let Pattern::Strips(Strips { direction: StripDirection::FromNorth { deg: north }, .. }) =
            &mut pass.pattern
        {
            *north = (*north + deg).rem_euclid(360.0);
        }
        for attitude in &mut pass.attitudes {
            if let Aim::FromNorth { deg: north } = &mut attitude.aim {
                *north = (*north + deg).rem_euclid(360.0);
            }
        }
    });
    turned
}

/// East and west exchanged, and with them clockwise and counter-clockwise; over plane ground.
pub(crate) fn mirrored(scenario: &Scenario) -> Scenario {
    let mut mirrored = placed(scenario, |at| DVec2::new(-at.x, at.y));
    let site = site_of(&mut mirrored);
    let Terrain::Plane { slope_east, .. } = &mut site.terrain else {
        panic!("only plane ground is mirrored")
    };
    *slope_east = -*slope_east;
    mirrored.conditions.wind.from_deg =
        mirrored.conditions.wind.from_deg.map(|from| (-from).rem_euclid(360.0));
    let sides: Vec<(Id, u32)> =
        mirrored.site.structures.iter().map(|s| (s.id, s.footprint_m.len() as u32)).collect();
    each_pass(&mut mirrored, |pass| {
        match &mut pass.pattern {
            Pattern::Strips(Strips { direction, .. }) => {
                let (StripDirection::Automatic { turned_deg: deg } | StripDirection::FromNorth { deg }) =
                    direction;
                *deg = -*deg;
            }
            Pattern::Facade(Facade { structure, walls: Some(walls), .. }) => {
                // A footprint is counted counter-clockwise, the mirrored one from its other end.
                let count = sides.iter().find(|(id, _)| id == structure).map_or(0, |(_, count)| *count);
                for wall in walls {
                    *wall = (2 * count - 2 - *wall) % count;
                }
            }
            _ => {}
        }
        for attitude in &mut pass.attitudes {
            let (Aim::FromTrack { deg }
            | Aim::FromStrips { deg }
            | Aim::FromNorth { deg }
            | Aim::AtSubject { deg }) = &mut attitude.aim;
            *deg = -*deg;
        }
    });
    mirrored
}

/// The boundary begun at another corner.
pub(crate) fn begun_elsewhere(scenario: &Scenario, corner: usize) -> Scenario {
    let mut begun = scenario.clone();
    let boundary_m = &mut site_of(&mut begun).boundary_m;
    let corner = corner % boundary_m.len();
    boundary_m.rotate_left(corner);
    begun
}

/// Every outline run the other way round; the sides of a footprint keep their numbers, which are counted
/// counter-clockwise from the last corner of a clockwise ring.
pub(crate) fn reversed(scenario: &Scenario) -> Scenario {
    let mut reversed = scenario.clone();
    let site = site_of(&mut reversed);
    site.boundary_m.reverse();
    for structure in &mut site.structures {
        structure.footprint_m.reverse();
    }
    for keep_out in &mut site.keep_outs {
        keep_out.outline_m.reverse();
    }
    reversed
}

/// The scenario's own site, to be changed.
pub(crate) fn site_of(scenario: &mut Scenario) -> &mut Site {
    Arc::make_mut(&mut scenario.site)
}

pub(crate) fn each_pass(scenario: &mut Scenario, change: impl Fn(&mut Pass)) {
    scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes).for_each(change);
}

/// Every place put elsewhere; ground and directions stay.
fn placed(scenario: &Scenario, to: impl Fn(DVec2) -> DVec2) -> Scenario {
    let mut placed = scenario.clone();
    let each = |ring: &mut Vec<DVec2>| ring.iter_mut().for_each(|at| *at = to(*at));
    let site = site_of(&mut placed);
    each(&mut site.boundary_m);
    site.take_off_m = to(site.take_off_m);
    for structure in &mut site.structures {
        each(&mut structure.footprint_m);
        if let StructureKind::Deck { piers, .. } = &mut structure.kind {
            for pier in piers {
                each(&mut pier.footprint_m);
            }
        }
    }
    site.keep_outs.iter_mut().for_each(|keep_out| each(&mut keep_out.outline_m));
    placed.strategies.iter_mut().for_each(|strategy| each(&mut strategy.take_offs_m));
    each_pass(&mut placed, |pass| match &mut pass.pattern {
        Pattern::Corridor(Corridor { line_m, .. }) => each(line_m),
        Pattern::Orbit(Orbit { around: OrbitCentre::Point { x_m, y_m }, .. }) => {
            DVec2 { x: *x_m, y: *y_m } = to(DVec2::new(*x_m, *y_m));
        }
        _ => {}
    });
    placed
}

fn laid(grid: &TerrainGrid, south_west_m: DVec2, heights_mm: Vec<i32>) -> Terrain {
    let laid = TerrainGrid::new(south_west_m, grid.spacing_m(), grid.size(), heights_mm);
    Terrain::Grid(Arc::new(laid.expect("as sound as the grid that it was")))
}
