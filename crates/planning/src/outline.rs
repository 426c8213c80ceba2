use crate::polygon::least_width;
use crate::surface::convex_parts;
use crate::{Id, KeepOut, ResolvedStructure, Site, SiteError, Terrain, resolved_structures};
use glam::DVec2;

/// What routes need to know of a site, worked out once.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteOutline {
    /// The boundary.
    pub boundary_m: Vec<DVec2>,
    /// Least coordinates of the boundary and of the structures that meet it.
    pub low_m: DVec2,
    /// Greatest coordinates of the boundary and of the structures that meet it.
    pub high_m: DVec2,
    /// Diagonal of that box.
    pub diameter_m: f64,
    /// Direction of the fewest strips, clockwise from north.
    pub best_strips_rad: f64,
    /// Footprints of the structures that meet the boundary.
    pub footprints_m: Vec<Vec<DVec2>>,
    /// Highest roof of those structures above the reference plane; none where nothing stands.
    pub tallest_roof_m: Option<f64>,
    /// Highest roof of all structures above the reference plane, those outside the boundary included.
    pub tallest_anywhere_m: Option<f64>,
    /// Mean ground inside the boundary.
    pub reference_z_m: f64,
    /// Where the aircraft takes off and lands.
    pub take_off_m: DVec2,
    /// Ground at the take-off point.
    pub take_off_z_m: f64,
    /// What is flown round.
    pub keep_outs: Vec<KeepOut>,
    /// Whether the structures are assumed ones.
    pub assumed: bool,
    /// The ground.
    pub terrain: Terrain,
    /// What passes go round, along or below: the site's own structures, or the assumed boxes.
    pub structures: Vec<OutlineStructure>,
    /// What nothing flies through: the structures cut into convex solids.
    pub obstacles: Vec<Obstacle>,
    /// Top of the highest of them; below everything where nothing stands.
    pub highest_z_m: f64,
}

/// A structure as passes see it, with heights of the local frame.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlineStructure {
    /// The structure it was made from; nothing for an assumed box.
    pub id: Option<Id>,
    /// Its name.
    pub name: String,
    /// Footprint, counter-clockwise, open ring; its sides are the walls, from 0.
    pub footprint_m: Vec<DVec2>,
    /// Lowest ground at its footprint's corners.
    pub base_z_m: f64,
    /// Its roof, or the top of a deck.
    pub top_z_m: f64,
    /// Underside of a deck; nothing for what stands on the ground.
    pub soffit_z_m: Option<f64>,
    /// Footprints of a deck's piers, counter-clockwise, open rings.
    pub piers_m: Vec<Vec<DVec2>>,
}

/// A convex upright solid that nothing flies through.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// Index into the outline's structures.
    pub structure: usize,
    /// Outline, counter-clockwise, open, convex.
    pub ring_m: Vec<DVec2>,
    /// Where it begins: a soffit, or below everything for what stands on the ground.
    pub bottom_z_m: f64,
    /// Where it ends.
    pub top_z_m: f64,
}

impl SiteOutline {
    /// Works the outline of a site out.
    ///
    /// # Errors
    /// Those of [`resolved_structures`].
    pub fn new(site: &Site) -> Result<Self, SiteError> {
        let resolved = resolved_structures(site)?;
        let (reference_z_m, assumed) = (resolved.reference_z_m, resolved.assumed);
        let above = |roof_z_m: f64| (roof_z_m - reference_z_m).max(0.0);
        let tallest_roof_m = resolved.highest_roof_m().map(|h| h.max(0.0));
        let tallest_anywhere_m = resolved.structures.iter().map(|s| above(s.roof_z_m)).max_by(f64::total_cmp);
        let structures: Vec<OutlineStructure> =
            resolved.structures.iter().map(|structure| OutlineStructure::new(structure, site)).collect();
        let obstacles: Vec<Obstacle> =
            structures.iter().enumerate().flat_map(|(index, s)| s.obstacles(index)).collect();
        let highest_z_m = obstacles.iter().map(|o| o.top_z_m).fold(f64::NEG_INFINITY, f64::max);
        let inside = resolved.structures.into_iter().filter(|s| s.counts);
        let footprints_m: Vec<Vec<DVec2>> = inside.map(|s| s.footprint_m).collect();
        let corners = site.boundary_m.iter().chain(footprints_m.iter().flatten());
        let (low_m, high_m) = corners
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(*p), high.max(*p)));
        Ok(SiteOutline {
            best_strips_rad: least_width(&site.boundary_m).0,
            boundary_m: site.boundary_m.clone(),
            diameter_m: low_m.distance(high_m),
            low_m,
            high_m,
            footprints_m,
            tallest_roof_m,
            tallest_anywhere_m,
            reference_z_m,
            take_off_m: site.take_off_m,
            take_off_z_m: site.terrain.height_m(site.take_off_m),
            keep_outs: site.keep_outs.clone(),
            assumed,
            terrain: site.terrain.clone(),
            structures,
            obstacles,
            highest_z_m,
        })
    }

    /// The structure that a pass names.
    pub(crate) fn structure(&self, id: Id) -> Option<&OutlineStructure> {
        self.structures.iter().find(|structure| structure.id == Some(id))
    }

    /// Most that any structure stands above the ground under it; 0 where none does.
    pub(crate) fn tallest_above_ground_m(&self) -> f64 {
        self.structures.iter().map(|s| s.top_z_m - s.base_z_m).fold(0.0, f64::max)
    }
}

impl OutlineStructure {
    fn new(resolved: &ResolvedStructure, site: &Site) -> Self {
        let named = site.structures.iter().find(|structure| Some(structure.id) == resolved.id);
        OutlineStructure {
            id: resolved.id,
            name: named.map_or_else(|| "a typical building".to_owned(), |structure| structure.name.clone()),
            footprint_m: resolved.footprint_m.clone(),
            base_z_m: resolved.base_z_m,
            top_z_m: resolved.roof_z_m,
            soffit_z_m: resolved.soffit_z_m,
            piers_m: resolved.piers_m.clone(),
        }
    }

    /// The solids that it is made of.
    pub(crate) fn obstacles(&self, index: usize) -> Vec<Obstacle> {
        let bottom_z_m = self.soffit_z_m.unwrap_or(f64::NEG_INFINITY);
        let solid = |ring_m, bottom_z_m, top_z_m| Obstacle { structure: index, ring_m, bottom_z_m, top_z_m };
        let body = convex_parts(&self.footprint_m).into_iter();
        let body = body.map(|ring_m| solid(ring_m, bottom_z_m, self.top_z_m));
        let pier_top_z_m = self.soffit_z_m.unwrap_or(self.top_z_m);
        let piers = self.piers_m.iter().flat_map(|pier| convex_parts(pier));
        body.chain(piers.map(|ring_m| solid(ring_m, f64::NEG_INFINITY, pier_top_z_m))).collect()
    }
}
