use crate::base::Id;
use crate::base::choice::{EQUAL_RATIO, down};
use crate::base::number::whole;
use crate::geometry::lie::{longest_side, on_axes};
use crate::geometry::polygon::centroid_m;
use crate::geometry::ring::{bounds, counter_clockwise, to_geo};
use crate::ground::surface::error::{ASSUMED_LIMIT, SiteError};
use crate::scenario::{Pier, Site, Structure, StructureKind, Terrain, TypicalBuilding};
use geo::{Contains, Intersects, Polygon};
use glam::DVec2;

/// What stands on a site, with heights of the local frame.
#[derive(Debug, Clone, PartialEq)]
pub struct ResolvedStructures {
    /// The site's own structures, or the assumed boxes.
    pub structures: Vec<ResolvedStructure>,
    /// Whether they are assumed.
    pub assumed: bool,
    /// Mean ground inside the boundary: what heights are above.
    pub reference_z_m: f64,
}

/// One structure with heights of the local frame.
#[derive(Debug, Clone, PartialEq)]
pub struct ResolvedStructure {
    /// The structure it was made from; nothing for an assumed box.
    pub id: Option<Id>,
    /// Footprint, counter-clockwise, open ring.
    pub footprint_m: Vec<DVec2>,
    /// Height of its flat roof, or of a deck's top.
    pub roof_z_m: f64,
    /// Height of a deck's underside; nothing for what stands on the ground.
    pub soffit_z_m: Option<f64>,
    /// Footprints of a deck's piers, counter-clockwise, open rings.
    pub piers_m: Vec<Vec<DVec2>>,
    /// Lowest ground under its footprint.
    pub base_z_m: f64,
    /// Whether its footprint meets the boundary: only then are its surfaces asked for. It hides in any case.
    pub counts: bool,
}

impl ResolvedStructures {
    /// Height of the highest roof among the structures that count, above the reference plane, in metres; nothing where
    /// none counts.
    ///
    /// # Units
    /// - returns: metres
    pub fn highest_roof_m(&self) -> Option<f64> {
        let roofs = self.structures.iter().filter(|s| s.counts).map(|s| s.roof_z_m - self.reference_z_m);
        roofs.reduce(f64::max)
    }
}

/// Mean ground inside the boundary, in metres: of a plane, its height at the boundary's area centroid; of a grid, the
/// mean over a lattice of places inside.
pub(crate) fn reference_z_m(site: &Site) -> f64 {
    site.terrain.mean_height_m(&site.boundary_m)
}

/// Works out what stands on a site: its structures or, where it has none, copies of its typical building.
///
/// A roof is level, at the mean ground under the footprint plus the structure's height; so are a deck's underside and
/// top. Copies of the typical building stand on a square lattice along the boundary's longest side, as many as a rectangle
/// about the boundary holds that lies that way, centred in it; those that are not wholly inside the boundary are left out.
///
/// # Errors
/// - [`SiteError::NotFinite`] for a coordinate, height or slope that is no finite number
/// - [`SiteError::NotPositive`] for a side or spacing of the typical building that is not above 0
/// - [`SiteError::TooManyStructures`] for a typical building with too small a spacing
pub fn resolved_structures(site: &Site) -> Result<ResolvedStructures, SiteError> {
    check_finite(site)?;
    let boundary = to_geo(&site.boundary_m);
    let resolve = |id: Option<Id>, ring: &[DVec2], kind: &StructureKind| {
        resolved(id, counter_clockwise(ring), kind, &site.terrain, &boundary)
    };
    let own = |s: &Structure| resolve(Some(s.id), &s.footprint_m, &s.kind);
    let mut structures: Vec<_> = site.structures.iter().map(own).collect();
    let assumed = structures.is_empty() && site.typical_building.is_some();
    if let (true, Some(typical)) = (assumed, site.typical_building) {
        let rings = assumed_footprints(site, &typical)?;
        let kind = StructureKind::Extrusion { height_m: typical.height_m };
        structures = rings.iter().map(|ring| resolve(None, ring, &kind)).collect();
    }
    Ok(ResolvedStructures { structures, assumed, reference_z_m: reference_z_m(site) })
}

fn resolved(
    id: Option<Id>,
    footprint_m: Vec<DVec2>,
    kind: &StructureKind,
    terrain: &Terrain,
    boundary: &Polygon<f64>,
) -> ResolvedStructure {
    // One that touches the boundary counts, whatever the last bit.
    let middle = centroid_m(&footprint_m);
    let counts = boundary.intersects(&to_geo(&drawn_out(&footprint_m, middle)));
    let ground_z_m = terrain.mean_height_m(&footprint_m);
    let (top_m, soffit_m, piers) = match kind {
        StructureKind::Extrusion { height_m } => (*height_m, None, [].as_slice()),
        StructureKind::Deck { soffit_m, top_m, piers } => (*top_m, Some(*soffit_m), piers.as_slice()),
    };
    let roof_z_m = ground_z_m + top_m;
    let base_z_m = terrain.range_m(&footprint_m).0.min(roof_z_m);
    ResolvedStructure {
        id,
        footprint_m,
        roof_z_m,
        soffit_z_m: soffit_m.map(|soffit_m| ground_z_m + soffit_m),
        piers_m: piers.iter().map(|pier| counter_clockwise(&pier.footprint_m)).collect(),
        base_z_m,
        counts,
    }
}

fn drawn_out(ring: &[DVec2], middle: DVec2) -> Vec<DVec2> {
    ring.iter().map(|corner| middle + (*corner - middle) * (1.0 + EQUAL_RATIO)).collect()
}

fn check_finite(site: &Site) -> Result<(), SiteError> {
    let all = |ring: &[DVec2]| ring.iter().all(|p| p.is_finite());
    let terrain = match site.terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => at_origin_m + slope_east + slope_north,
        Terrain::Grid(_) => 0.0,
    };
    let checks = [
        ("boundary_m", all(&site.boundary_m)),
        ("terrain", terrain.is_finite()),
        ("footprint_m", site.structures.iter().all(|s| all(&s.footprint_m))),
        ("kind", site.structures.iter().all(|s| finite(&s.kind))),
        ("typical_building", site.typical_building.is_none_or(|t| t.height_m.is_finite())),
    ];
    checks.iter().find(|check| !check.1).map_or(Ok(()), |&(what, _)| Err(SiteError::NotFinite { what }))
}

fn finite(kind: &StructureKind) -> bool {
    let pier = |pier: &Pier| pier.footprint_m.iter().all(|p| p.is_finite());
    match kind {
        StructureKind::Extrusion { height_m } => height_m.is_finite(),
        StructureKind::Deck { soffit_m, top_m, piers } => {
            soffit_m.is_finite() && top_m.is_finite() && piers.iter().all(pier)
        }
    }
}

/// Footprints of the boxes to assume.
fn assumed_footprints(site: &Site, typical: &TypicalBuilding) -> Result<Vec<Vec<DVec2>>, SiteError> {
    let spacing_m = typical.spacing_m;
    let lengths = [
        ("width_m", typical.width_m),
        ("depth_m", typical.depth_m),
        ("height_m", typical.height_m),
        ("spacing_m", spacing_m),
    ];
    if let Some(&(what, got_m)) = lengths.iter().find(|(_, v)| !(*v > 0.0 && v.is_finite())) {
        return Err(SiteError::NotPositive { what, got_m });
    }
    let along = longest_side(&site.boundary_m, site.take_off_m);
    let on_site = on_axes(&site.boundary_m, along);
    let Some((low, high)) = bounds(on_site.iter().copied()) else { return Ok(Vec::new()) };
    let size = DVec2::new(typical.width_m, typical.depth_m);
    let spaces = (high - low - size) / spacing_m;
    let fitting = (DVec2::new(down(spaces.x), down(spaces.y)) + 1.0).max(DVec2::ZERO);
    if fitting.x * fitting.y > f64::from(ASSUMED_LIMIT) {
        let count = whole(fitting.x * fitting.y) as u64;
        return Err(SiteError::TooManyStructures { count, limit: ASSUMED_LIMIT, spacing_m });
    }
    let boundary = to_geo(&on_site);
    let first = (low + high) / 2.0 - (fitting - 1.0) / 2.0 * spacing_m;
    let (columns, rows) = (whole(fitting.x), whole(fitting.y));
    let centres =
        (0..rows).flat_map(|row| (0..columns).map(move |column| DVec2::new(column as f64, row as f64)));
    let centres = centres.map(|at| first + at * spacing_m);
    // A box that touches the boundary is inside, whatever the last bit.
    let inside = |at: &DVec2| boundary.contains(&to_geo(&box_around(*at, size * (1.0 - EQUAL_RATIO))));
    let in_frame = |at: DVec2| along * at.x + along.perp() * at.y;
    let footprint = |at: DVec2| box_around(at, size).into_iter().map(in_frame).collect();
    Ok(centres.filter(inside).map(footprint).collect())
}

fn box_around(centre: DVec2, size: DVec2) -> Vec<DVec2> {
    let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
    corners.map(|corner| centre + DVec2::from(corner) * size).to_vec()
}
