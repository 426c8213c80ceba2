use super::Contours;
use glam::{DVec2, DVec3};
use obliquity_planning::{
    Flight, Id, KeepOut, NetworkFigures, Outcome, PassPlan, Requirement, ResolvedStructure, Scenario,
    SiteModel, SurfaceClass, Terrain, Tile, ViewFigures, polygon, resolved_structures,
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
    /// What the images give when they are adjusted together; nothing until that is known of this sampling of the site.
    pub network: Option<Arc<NetworkFigures>>,
    /// The legs flown.
    pub flight: Arc<Flight>,
    /// The passes with their stations.
    pub plans: Vec<Arc<PassPlan>>,
    /// What the job must deliver.
    pub requirement: Requirement,
    /// The pieces of surface, one for each sample, by number.
    pub patches: Vec<Patch>,
    /// What is to be captured, as an open ring.
    pub boundary_m: Vec<DVec2>,
    /// What must not be flown over, as open rings.
    pub keep_outs: Vec<KeepOut>,
    /// What stands on the site.
    pub outlines: Vec<Outline>,
    /// Lines of equal height on uneven ground.
    pub contours: Option<Contours>,
}

/// The piece of surface that a sample stands for, as four corners round it, counter-clockwise as seen from outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// In order round the sample.
    pub corners_m: [DVec3; 4],
}

/// What an outline belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SolidPart {
    /// What stands on the ground.
    Solid,
    /// The slab of a deck, above the ground.
    Slab,
    /// A pier of a deck.
    Pier,
}

/// The edges of a structure, or of a part of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its name; "assumed building" where it is not modelled.
    pub name: String,
    /// What it is.
    pub part: SolidPart,
    /// Open ring.
    pub ring_m: Vec<DVec2>,
    /// Its lower end.
    pub base_z_m: f64,
    /// Its upper end.
    pub roof_z_m: f64,
}

impl Scene {
    /// The scene of an outcome with coverage; nothing of one without.
    pub fn new(scenario: &Scenario, outcome: &Outcome) -> Option<Scene> {
        let (site, views) = (outcome.site.clone()?, outcome.views.clone()?);
        let patches: Vec<Patch> = patches(&site.tiles, &site.terrain);
        Some(Scene {
            strategy: outcome.strategy,
            boundary_m: scenario.site.boundary_m.clone(),
            keep_outs: scenario.site.keep_outs.clone(),
            outlines: outlines(scenario),
            contours: Contours::new(&site),
            views,
            network: outcome.network.clone(),
            flight: Arc::clone(&outcome.timing.as_ref()?.flight),
            plans: outcome.passes.iter().filter_map(|pass| pass.plan.clone().ok()).collect(),
            requirement: scenario.requirement.clone(),
            patches,
            site,
        })
    }

    /// The same with what the images of another outcome give when they are adjusted together, if that is of the same samples.
    #[must_use]
    pub fn with_block(self: Arc<Self>, block: Option<&Outcome>) -> Arc<Self> {
        let same =
            |outcome: &&Outcome| outcome.site.as_ref().is_some_and(|site| Arc::ptr_eq(site, &self.site));
        let network = block.filter(same).and_then(|outcome| outcome.network.clone());
        let is_own = match (&network, &self.network) {
            (Some(network), Some(own)) => Arc::ptr_eq(network, own),
            (None, None) => true,
            _ => false,
        };
        if is_own { self } else { Arc::new(Scene { network, ..(*self).clone() }) }
    }

    /// Whether it shows this outcome, judged by this requirement.
    pub fn shows(&self, scenario: &Scenario, outcome: &Outcome) -> bool {
        let same = |site: &Arc<SiteModel>| Arc::ptr_eq(site, &self.site);
        outcome.strategy == self.strategy
            && outcome.site.as_ref().is_some_and(same)
            && outcome.views.as_ref().is_some_and(|views| Arc::ptr_eq(views, &self.views))
            && outcome.timing.as_ref().is_some_and(|timing| Arc::ptr_eq(&timing.flight, &self.flight))
            && scenario.requirement == self.requirement
            && scenario.site.keep_outs == self.keep_outs
    }

    /// Places at the ends of everything that is drawn: boundary, structures, route.
    pub fn ends_m(&self) -> Vec<DVec3> {
        let ground = self.boundary_m.iter().map(|at| at.extend(self.site.terrain.height_m(*at)));
        let pieces = self.flight.legs.iter().flat_map(|flown| flown.leg.pieces_m());
        let legs = pieces.flat_map(|(from_m, to_m)| [from_m, to_m]);
        let corners = self.outlines.iter().flat_map(|outline| {
            let ends = [outline.base_z_m, outline.roof_z_m];
            outline.ring_m.iter().flat_map(move |at| ends.map(|z| at.extend(z)))
        });
        ground.chain(legs).chain(corners).collect()
    }

    /// The tile and the lane in it of a sample.
    pub fn place_of(&self, sample: u32) -> Option<(usize, usize)> {
        let after = self.site.tiles.partition_point(|tile| tile.first_sample <= sample);
        let tile = after.checked_sub(1)?;
        let lane = (sample - self.site.tiles[tile].first_sample) as usize;
        (lane < self.site.tiles[tile].len).then_some((tile, lane))
    }

    /// Which outline a place on a surface that is not the ground belongs to.
    pub fn outline_at(&self, position_m: DVec3, normal: DVec3) -> Option<usize> {
        const REACH_M: f64 = 0.05;
        let inside = position_m - REACH_M * normal;
        let holds = |outline: &Outline| {
            let z = outline.base_z_m - REACH_M..outline.roof_z_m + REACH_M;
            z.contains(&position_m.z) && polygon::contains(&outline.ring_m, inside.truncate())
        };
        self.outlines.iter().position(holds)
    }

    /// "Roof of Shed", "Edge of Bridge", "Ground": what a place on a surface belongs to.
    pub fn name_of(&self, class: SurfaceClass, position_m: DVec3, normal: DVec3) -> String {
        let of = self.outline_at(position_m, normal).map(|k| &self.outlines[k]);
        let of = of.filter(|_| class != SurfaceClass::Ground);
        let name = match (class, of.map(|outline| outline.part)) {
            (SurfaceClass::Ground, _) => "Ground",
            (SurfaceClass::Roof, Some(SolidPart::Slab)) => "Top",
            (SurfaceClass::Roof, _) => "Roof",
            (SurfaceClass::Wall, Some(SolidPart::Slab)) => "Edge",
            (SurfaceClass::Wall, _) => "Wall",
            (SurfaceClass::Underside, _) => "Underside",
        };
        of.map_or_else(|| name.to_owned(), |outline| format!("{name} of {}", outline.name))
    }
}

fn outlines(scenario: &Scenario) -> Vec<Outline> {
    // A site that is refused has no outcome with coverage either.
    let Ok(resolved) = resolved_structures(&scenario.site) else { return Vec::new() };
    let named = |structure: &ResolvedStructure| {
        let own = scenario.site.structures.iter().find(|own| Some(own.id) == structure.id);
        own.map_or_else(|| "assumed building".to_owned(), |own| own.name.clone())
    };
    resolved.structures.iter().flat_map(|structure| parts(structure, &named(structure))).collect()
}

/// A structure's outline or, of a deck, those of its slab and its piers.
fn parts(structure: &ResolvedStructure, name: &str) -> Vec<Outline> {
    let (base_z_m, roof_z_m) = (structure.base_z_m, structure.roof_z_m);
    let outline = |name: String, part, ring_m: &[DVec2], base_z_m, roof_z_m| Outline {
        name,
        part,
        ring_m: ring_m.to_vec(),
        base_z_m,
        roof_z_m,
    };
    let Some(soffit_z_m) = structure.soffit_z_m else {
        return vec![outline(name.to_owned(), SolidPart::Solid, &structure.footprint_m, base_z_m, roof_z_m)];
    };
    let slab = outline(name.to_owned(), SolidPart::Slab, &structure.footprint_m, soffit_z_m, roof_z_m);
    let piers = structure.piers_m.iter().zip(1..).map(|(ring, number): (_, u32)| {
        outline(format!("{name}, pier {number}"), SolidPart::Pier, ring, base_z_m, soffit_z_m)
    });
    std::iter::once(slab).chain(piers).collect()
}

/// The patches of all tiles. Those of a face follow each other and share one lattice.
fn patches(tiles: &[Tile], terrain: &Terrain) -> Vec<Patch> {
    let one_face = |a: &Tile, b: &Tile| {
        a.relief.is_some() && b.relief.is_some()
            || a.class == b.class && a.normal == b.normal && a.sample_area_m2 == b.sample_area_m2
    };
    tiles
        .chunk_by(one_face)
        .flat_map(|face| match &face[0].relief {
            None => plane_patches(face),
            Some(_) => ground_patches(face, terrain),
        })
        .collect()
}

fn places_m(tile: &Tile) -> impl Iterator<Item = DVec3> + '_ {
    (0..tile.len).map(|k| tile.sample(k).position_m)
}

fn plane_patches(face: &[Tile]) -> Vec<Patch> {
    let Some(fullest) = face.iter().max_by_key(|tile| tile.len) else { return Vec::new() };
    let [u, v] = cell_m(fullest).map(|side| side / 2.0);
    let v = if u.cross(v).dot(fullest.normal) < 0.0 { -v } else { v };
    let places = face.iter().flat_map(places_m);
    places.map(|p| Patch { corners_m: [p - u - v, p + u - v, p + u + v, p - u + v] }).collect()
}

/// Patches of uneven ground: cells of the lattice, whose corners lie on the ground.
fn ground_patches(face: &[Tile], terrain: &Terrain) -> Vec<Patch> {
    let Some(fullest) = face.iter().max_by_key(|tile| tile.len) else { return Vec::new() };
    let in_plan: Vec<DVec3> = places_m(fullest).map(|p| p.with_z(0.0)).collect();
    let [u, v] = lattice_m(&in_plan, DVec3::Z, fullest.sample_area_m2).map(|side| side.truncate() / 2.0);
    let v = if u.perp_dot(v) < 0.0 { -v } else { v };
    let corners = [-u - v, u - v, u + v, v - u];
    let on_ground = |at: DVec2| at.extend(terrain.height_m(at));
    let places = face.iter().flat_map(places_m);
    places.map(|p| Patch { corners_m: corners.map(|corner| on_ground(p.truncate() + corner)) }).collect()
}

/// The two sides of the lattice's cells: the shortest ways between samples, as far as the tile has such; the rest
/// follows from the area that a sample stands for.
fn cell_m(tile: &Tile) -> [DVec3; 2] {
    lattice_m(&places_m(tile).collect::<Vec<_>>(), tile.normal, tile.sample_area_m2)
}

/// As [`cell_m`], of places on a plane.
fn lattice_m(places: &[DVec3], normal: DVec3, area_m2: f64) -> [DVec3; 2] {
    let ways = || places.iter().enumerate().flat_map(|(k, &a)| places[k + 1..].iter().map(move |&b| b - a));
    let shortest = |ways: &mut dyn Iterator<Item = DVec3>| {
        ways.min_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))
    };
    let Some(u) = shortest(&mut ways()) else {
        let level = DVec3::Z.cross(normal).normalize_or(DVec3::X);
        let side_m = area_m2.sqrt();
        return [level * side_m, normal.cross(level) * side_m];
    };
    let aside = |way: &DVec3| way.cross(u).length() > 0.3 * way.length() * u.length();
    let across = || normal.cross(u).normalize_or_zero() * (area_m2 / u.length());
    [u, shortest(&mut ways().filter(aside)).unwrap_or_else(across)]
}
