use crate::base::Id;
use crate::geometry::convex::convex_parts;
use crate::geometry::detour::Fences;
use crate::geometry::growth::GrowingRing;
use crate::geometry::lie::{size_m, strips_along};
use crate::geometry::polygon::{
    HULL_EASE_M, azimuth_rad, centroid_m, contains, eased_m, hull_m, lies_inside_convex,
};
use crate::ground::{ResolvedStructure, SiteError, resolved_structures};
use crate::scenario::{KeepOut, Site, Terrain};
use glam::{DVec2, DVec3};

/// Less deep inside a solid is touching it.
const INSIDE_M: f64 = 1e-3;

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
    /// Direction of the fewest strips, clockwise from north; it leads away from the take-off point.
    pub best_strips_rad: f64,
    /// Centroid of the boundary's area.
    pub middle_m: DVec2,
    /// Twice the distance from there to the farthest corner of the boundary.
    pub size_m: f64,
    /// Footprints of the structures that meet the boundary.
    pub footprints_m: Vec<Vec<DVec2>>,
    /// Highest roof of those structures above the reference plane; none where nothing stands.
    pub tallest_roof_m: Option<f64>,
    /// Name of the structure with that roof.
    pub tallest_name: Option<String>,
    /// Highest ground inside the boundary.
    pub highest_ground_z_m: f64,
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
    /// The same, made ready for finding ways.
    pub(crate) fences: Fences,
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
    /// The structure it was made from; nothing for an assumed box, or for several taken as one.
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
    growth: GrowingRing,
}

impl Obstacle {
    /// A solid of a structure, by its index.
    ///
    /// # Units
    /// - `ring_m`: metres, counter-clockwise, open, convex
    /// - `bottom_z_m`, `top_z_m`: metres, where it begins and ends
    pub fn new(structure: usize, ring_m: Vec<DVec2>, bottom_z_m: f64, top_z_m: f64) -> Self {
        let growth = GrowingRing::of(&ring_m);
        Obstacle { structure, ring_m, bottom_z_m, top_z_m, growth }
    }

    /// How its outline grows.
    pub(crate) fn growth(&self) -> &GrowingRing {
        &self.growth
    }
}

/// Names of things that are taken as one: `Silo 1 and Silo 2`, `Silo 1 and 5 more`.
pub fn together<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [one, other] => format!("{one} and {other}"),
        [one, rest @ ..] => format!("{one} and {} more", rest.len()),
    }
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
        // Nobody takes off inside a building: one that is only assumed does not stand there.
        let stands = |s: &&ResolvedStructure| !assumed || !contains(&s.footprint_m, site.take_off_m);
        let tallest_anywhere_m = resolved.structures.iter().map(|s| above(s.roof_z_m)).max_by(f64::total_cmp);
        let structures: Vec<OutlineStructure> =
            resolved.structures.iter().filter(stands).map(|s| OutlineStructure::new(s, site)).collect();
        let counting = resolved.structures.iter().filter(|s| s.counts);
        let tallest = counting.max_by(|a, b| a.roof_z_m.total_cmp(&b.roof_z_m));
        let tallest_name = tallest.map(|s| OutlineStructure::new(s, site).name);
        let obstacles: Vec<Obstacle> =
            structures.iter().enumerate().flat_map(|(index, s)| s.obstacles(index)).collect();
        let highest_z_m = obstacles.iter().map(|o| o.top_z_m).fold(f64::NEG_INFINITY, f64::max);
        let inside = resolved.structures.into_iter().filter(|s| s.counts);
        let footprints_m: Vec<Vec<DVec2>> = inside.map(|s| s.footprint_m).collect();
        let corners = site.boundary_m.iter().chain(footprints_m.iter().flatten());
        let (low_m, high_m) = corners
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(*p), high.max(*p)));
        Ok(SiteOutline {
            best_strips_rad: azimuth_rad(strips_along(&site.boundary_m, site.take_off_m)),
            middle_m: centroid_m(&site.boundary_m),
            size_m: size_m(&site.boundary_m),
            boundary_m: site.boundary_m.clone(),
            diameter_m: low_m.distance(high_m),
            low_m,
            high_m,
            footprints_m,
            tallest_roof_m,
            tallest_name,
            highest_ground_z_m: site.terrain.range_m(&site.boundary_m).1,
            tallest_anywhere_m,
            reference_z_m,
            take_off_m: site.take_off_m,
            take_off_z_m: site.terrain.height_m(site.take_off_m),
            fences: Fences::new(site.keep_outs.iter().map(|k| k.outline_m.as_slice()), site.take_off_m),
            keep_outs: site.keep_outs.clone(),
            assumed,
            terrain: site.terrain.clone(),
            structures,
            obstacles,
            highest_z_m,
        })
    }

    /// The structures that a pass names, as one; nothing where there are none or one of them is not on the site.
    ///
    /// Several become their hull, from the lowest ground under one of them to the highest top; a soffit has only what
    /// hangs in the air altogether.
    pub fn group(&self, ids: &[Id]) -> Option<OutlineStructure> {
        let members: Option<Vec<&OutlineStructure>> = ids.iter().map(|id| self.structure(*id)).collect();
        match members?.as_slice() {
            [] => None,
            [one] => Some((*one).clone()),
            several => Some(OutlineStructure::of_several(several)),
        }
    }

    /// The structure that a pass names.
    pub(crate) fn structure(&self, id: Id) -> Option<&OutlineStructure> {
        self.structures.iter().find(|structure| structure.id == Some(id))
    }

    /// The structure that a place lies inside.
    pub(crate) fn solid_at(&self, at: DVec3) -> Option<&OutlineStructure> {
        let holds = |o: &&Obstacle| {
            at.z > o.bottom_z_m + INSIDE_M
                && at.z < o.top_z_m - INSIDE_M
                && o.growth.may_hold(at.truncate())
                && lies_inside_convex(&o.ring_m, at.truncate(), INSIDE_M)
        };
        self.obstacles.iter().find(holds).map(|o| &self.structures[o.structure])
    }

    /// Why nobody can take off and land at a place on the ground, which is called `what`.
    pub(crate) fn take_off_shut(&self, what: &str, at_m: DVec3) -> Option<String> {
        let at = at_m.truncate();
        let keep_out = self.fences.entered(at, at).map(|k| &self.keep_outs[k].name);
        let inside = keep_out.or_else(|| self.solid_at(at_m).map(|structure| &structure.name))?;
        Some(format!("{what} lies inside \"{inside}\"; move one of them"))
    }

    /// The structure that stands highest above the ground under it, and how high that is.
    pub(crate) fn tallest_above_ground(&self) -> Option<(&OutlineStructure, f64)> {
        let stands = self.structures.iter().map(|s| (s, s.top_z_m - s.base_z_m));
        stands.max_by(|a, b| a.1.total_cmp(&b.1))
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

    fn of_several(members: &[&OutlineStructure]) -> Self {
        let low = |value: fn(&OutlineStructure) -> f64| {
            members.iter().map(|member| value(member)).fold(f64::INFINITY, f64::min)
        };
        let soffits: Option<Vec<f64>> = members.iter().map(|member| member.soffit_z_m).collect();
        OutlineStructure {
            id: None,
            name: together(members.iter().map(|member| member.name.as_str())),
            footprint_m: hull_m(members.iter().flat_map(|member| member.footprint_m.iter().copied())),
            base_z_m: low(|member| member.base_z_m),
            top_z_m: -low(|member| -member.top_z_m),
            soffit_z_m: soffits.map(|all| all.into_iter().fold(f64::INFINITY, f64::min)),
            piers_m: Vec::new(),
        }
    }

    /// The ring whose sides are its walls, from 0: the footprint of one structure; of several their hull, without the
    /// short sides of round corners, whose place the neighbours take by reaching at most [`HULL_EASE_M`] farther.
    ///
    /// # Units
    /// - returns: metres, east and north
    pub fn walls_m(&self) -> Vec<DVec2> {
        match self.id {
            Some(_) => self.footprint_m.clone(),
            None => eased_m(&self.footprint_m, HULL_EASE_M),
        }
    }

    /// The solids that it is made of.
    pub(crate) fn obstacles(&self, index: usize) -> Vec<Obstacle> {
        let bottom_z_m = self.soffit_z_m.unwrap_or(f64::NEG_INFINITY);
        let solid = |ring_m, bottom_z_m, top_z_m| Obstacle::new(index, ring_m, bottom_z_m, top_z_m);
        let body = convex_parts(&self.footprint_m).into_iter();
        let body = body.map(|ring_m| solid(ring_m, bottom_z_m, self.top_z_m));
        let pier_top_z_m = self.soffit_z_m.unwrap_or(self.top_z_m);
        let piers = self.piers_m.iter().flat_map(|pier| convex_parts(pier));
        body.chain(piers.map(|ring_m| solid(ring_m, f64::NEG_INFINITY, pier_top_z_m))).collect()
    }
}
