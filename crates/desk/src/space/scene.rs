use glam::{DVec2, DVec3};
use obliquity_planning::{
    Flight, Id, Outcome, PassPlan, Requirement, Scenario, SiteModel, SurfaceClass, Tile, ViewFigures,
    polygon, resolved_structures,
};
use std::sync::Arc;

/// Everything that is drawn of one strategy.
#[derive(Debug, Clone)]
pub struct Scene {
    /// The strategy.
    pub strategy: Id,
    /// The site as sampled.
    pub site: Arc<SiteModel>,
    /// What its surfaces get.
    pub views: Arc<ViewFigures>,
    /// The legs flown.
    pub flight: Arc<Flight>,
    /// The passes with their stations.
    pub plans: Vec<Arc<PassPlan>>,
    /// What the job must deliver.
    pub requirement: Requirement,
    /// The pieces of surface, one for each sample, by number.
    pub patches: Vec<Patch>,
    /// What stands on the site.
    pub outlines: Vec<Outline>,
}

/// The piece of surface that a sample stands for, as four corners round it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// In order round the sample.
    pub corners_m: [DVec3; 4],
}

/// A structure's edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its name; "assumed building" where it is not modelled.
    pub name: String,
    /// Open ring.
    pub ring_m: Vec<DVec2>,
    /// Its lower end.
    pub base_z_m: f64,
    /// Its roof.
    pub roof_z_m: f64,
}

impl Scene {
    /// The scene of an outcome with coverage; nothing of one without.
    pub fn new(scenario: &Scenario, outcome: &Outcome) -> Option<Scene> {
        let (site, views) = (outcome.site.clone()?, outcome.views.clone()?);
        let patches: Vec<Patch> = patches(&site.tiles);
        Some(Scene {
            strategy: outcome.strategy,
            outlines: outlines(scenario),
            views,
            flight: Arc::clone(&outcome.flight),
            plans: outcome.passes.iter().map(|pass| Arc::clone(&pass.plan)).collect(),
            requirement: scenario.requirement.clone(),
            patches,
            site,
        })
    }

    /// Whether it shows this outcome, judged by this requirement.
    pub fn shows(&self, scenario: &Scenario, outcome: &Outcome) -> bool {
        let same = |site: &Arc<SiteModel>| Arc::ptr_eq(site, &self.site);
        outcome.strategy == self.strategy
            && outcome.site.as_ref().is_some_and(same)
            && outcome.views.as_ref().is_some_and(|views| Arc::ptr_eq(views, &self.views))
            && Arc::ptr_eq(&outcome.flight, &self.flight)
            && scenario.requirement == self.requirement
    }

    /// Least and greatest coordinates of site, structures and route.
    pub fn bounds_m(&self) -> (DVec3, DVec3) {
        let (low, high) = self.site.extent_m;
        let ground = [low, high].map(|at| at.extend(self.site.terrain.height_m(at)));
        let legs = self.flight.legs.iter().flat_map(|flown| [flown.leg.from_m, flown.leg.to_m]);
        let roofs = self.outlines.iter().map(|outline| low.extend(outline.roof_z_m));
        let points = ground.into_iter().chain(legs).chain(roofs);
        points.fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| (low.min(p), high.max(p)))
    }

    /// The tile and the lane in it of a sample.
    pub fn place_of(&self, sample: u32) -> Option<(usize, usize)> {
        let after = self.site.tiles.partition_point(|tile| tile.first_sample <= sample);
        let tile = after.checked_sub(1)?;
        let lane = (sample - self.site.tiles[tile].first_sample) as usize;
        (lane < self.site.tiles[tile].len).then_some((tile, lane))
    }

    /// "Roof of Shed", "Ground": what a place on a surface belongs to.
    pub fn name_of(&self, class: SurfaceClass, position_m: DVec3, normal: DVec3) -> String {
        let inside_m = (position_m - 0.05 * normal).truncate();
        let of = self.outlines.iter().find(|outline| polygon::contains(&outline.ring_m, inside_m));
        let name = class.name();
        let (first, rest) = name.split_at(1);
        let name = first.to_uppercase() + rest;
        match of.filter(|_| class != SurfaceClass::Ground) {
            Some(outline) => format!("{name} of {}", outline.name),
            None => name,
        }
    }
}

fn outlines(scenario: &Scenario) -> Vec<Outline> {
    // A site that is refused has no outcome with coverage either.
    let Ok(resolved) = resolved_structures(&scenario.site) else { return Vec::new() };
    let outline = |structure: obliquity_planning::ResolvedStructure| {
        let named = scenario.site.structures.iter().find(|own| Some(own.id) == structure.id);
        Outline {
            name: named.map_or_else(|| "assumed building".to_owned(), |own| own.name.clone()),
            ring_m: structure.footprint_m,
            base_z_m: structure.base_z_m,
            roof_z_m: structure.roof_z_m,
        }
    };
    resolved.structures.into_iter().map(outline).collect()
}

/// The patches of all tiles. Those of a face follow each other and share one lattice.
fn patches(tiles: &[Tile]) -> Vec<Patch> {
    let one_face = |a: &Tile, b: &Tile| {
        a.class == b.class && a.normal == b.normal && a.sample_area_m2 == b.sample_area_m2
    };
    let faces = tiles.chunk_by(one_face);
    faces
        .flat_map(|face| {
            let [u, v] = face.iter().max_by_key(|tile| tile.len).map_or([DVec3::ZERO; 2], cell_m);
            let (u, v) = (u / 2.0, v / 2.0);
            let places = face.iter().flat_map(|tile| (0..tile.len).map(|k| tile.sample(k).position_m));
            places.map(move |p| Patch { corners_m: [p - u - v, p + u - v, p + u + v, p - u + v] })
        })
        .collect()
}

/// The two sides of the lattice's cells: the shortest ways between samples, as far as the tile has such; the rest
/// follows from the area that a sample stands for.
fn cell_m(tile: &Tile) -> [DVec3; 2] {
    let places: Vec<DVec3> = (0..tile.len).map(|k| tile.sample(k).position_m).collect();
    let ways = || places.iter().enumerate().flat_map(|(k, &a)| places[k + 1..].iter().map(move |&b| b - a));
    let shortest = |ways: &mut dyn Iterator<Item = DVec3>| {
        ways.min_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))
    };
    let Some(u) = shortest(&mut ways()) else {
        let level = DVec3::Z.cross(tile.normal).normalize_or(DVec3::X);
        let side_m = tile.sample_area_m2.sqrt();
        return [level * side_m, tile.normal.cross(level) * side_m];
    };
    let aside = |way: &DVec3| way.cross(u).length() > 0.3 * way.length() * u.length();
    let across = || tile.normal.cross(u).normalize_or_zero() * (tile.sample_area_m2 / u.length());
    [u, shortest(&mut ways().filter(aside)).unwrap_or_else(across)]
}
