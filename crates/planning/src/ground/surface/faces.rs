//! Which surfaces a site has: the ground, and what stands on it.

use crate::base::SurfaceClass;
use crate::geometry::lie::{longest_side, on_axes};
use crate::geometry::polygon::{centroid_m, sides, signed_area_m2};
use crate::geometry::ring::{clip, to_geo};
use crate::ground::surface::face::Face;
use crate::ground::surface::structures::ResolvedStructure;
use crate::scenario::{Site, Terrain};
use geo::{Area, BooleanOps, InteriorPoint, MultiPolygon, unary_union};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Areas below this are rounding, not surface.
const LEAST_AREA_M2: f64 = 1e-6;

/// Rows and columns in which a level surface that uneven ground cuts is measured.
const CUT_PLACES: usize = 64;

/// Every surface that is asked for: the ground, then each structure's roof, walls and underside.
pub(crate) fn faces(site: &Site, structures: &[ResolvedStructure]) -> Vec<Face> {
    let counting = structures.iter().filter(|s| s.counts);
    let standing = counting.flat_map(|s| standing(s, site)).collect::<Vec<_>>();
    ground(site, structures).into_iter().chain(standing).collect()
}

fn standing(structure: &ResolvedStructure, site: &Site) -> Vec<Face> {
    let (top, terrain) = (structure.roof_z_m, &site.terrain);
    let mut faces = Vec::new();
    faces.extend(level_face(SurfaceClass::Roof, structure, top, &[], site));
    faces.extend(walls(&structure.footprint_m, structure.soffit_z_m, top, terrain));
    if let Some(soffit_z_m) = structure.soffit_z_m {
        let piers = &structure.piers_m;
        faces.extend(piers.iter().flat_map(|pier| walls(pier, None, soffit_z_m, terrain)));
        faces.extend(level_face(SurfaceClass::Underside, structure, soffit_z_m, piers, site));
    }
    faces
}

/// Footprints that a structure takes from the ground: its own or, of a deck, those of its piers.
fn stands_on(structure: &ResolvedStructure) -> &[Vec<DVec2>] {
    match structure.soffit_z_m {
        None => std::slice::from_ref(&structure.footprint_m),
        Some(_) => &structure.piers_m,
    }
}

fn ground(site: &Site, structures: &[ResolvedStructure]) -> Option<Face> {
    let along = longest_side(&site.boundary_m, site.take_off_m);
    let axes = [along, along.perp()];
    let holes = structures.iter().filter(|s| s.counts).flat_map(stands_on);
    let holes: Vec<_> = holes.map(|ring| on_axes(ring, along)).collect();
    let outline = on_axes(&site.boundary_m, along);
    let (plan_m2, inside) = open_area(&outline, &holes)?;
    let (origin_m, steps, upward, relief) = match &site.terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            let slope = DVec2::new(*slope_east, *slope_north);
            let steps = axes.map(|axis| axis.extend(axis.dot(slope)));
            (DVec3::new(0.0, 0.0, *at_origin_m), steps, (-slope).extend(1.0), None)
        }
        Terrain::Grid(grid) => {
            (DVec3::ZERO, axes.map(|axis| axis.extend(0.0)), DVec3::Z, Some(Arc::clone(grid)))
        }
    };
    Some(Face {
        class: SurfaceClass::Ground,
        origin_m,
        steps,
        normal: upward.normalize(),
        outline,
        holes,
        area_m2: plan_m2 * upward.length(),
        inside,
        relief,
    })
}

/// Area of an outline less holes, and a place in the largest part of it; nothing where nothing is left.
fn open_area(outline: &[DVec2], holes: &[Vec<DVec2>]) -> Option<(f64, DVec2)> {
    let holes: Vec<_> = holes.iter().map(|ring| to_geo(ring)).collect();
    let whole = MultiPolygon::new(vec![to_geo(outline)]);
    let open = if holes.is_empty() { whole } else { whole.difference(&unary_union(&holes)) };
    let largest = open.0.iter().max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let inside = largest.interior_point().map(|p| DVec2::new(p.x(), p.y()))?;
    let area_m2 = open.unsigned_area();
    (area_m2 > LEAST_AREA_M2).then_some((area_m2, inside))
}

/// The part of a level surface over the whole footprint, less holes, that is above ground.
fn level_face(
    class: SurfaceClass,
    structure: &ResolvedStructure,
    z_m: f64,
    holes: &[Vec<DVec2>],
    site: &Site,
) -> Option<Face> {
    let (terrain, middle_m) = (&site.terrain, centroid_m(&site.boundary_m));
    let along = longest_side(&structure.footprint_m, middle_m);
    let above = above_ground(&structure.footprint_m, z_m, terrain)?;
    let outline = on_axes(&above.ring, along);
    let holes: Vec<_> = holes.iter().map(|ring| on_axes(ring, along)).collect();
    let (area_m2, inside) = if holes.is_empty() {
        (signed_area_m2(&outline).abs(), inside(&outline))
    } else {
        open_area(&outline, &holes)?
    };
    let normal = if class == SurfaceClass::Underside { DVec3::NEG_Z } else { DVec3::Z };
    (area_m2 * above.share >= LEAST_AREA_M2).then(|| Face {
        class,
        origin_m: DVec3::new(0.0, 0.0, z_m),
        steps: [along.extend(0.0), along.perp().extend(0.0)],
        normal,
        outline,
        holes,
        area_m2: area_m2 * above.share,
        inside,
        relief: above.cut_by.clone(),
    })
}

/// What of a level surface is above ground.
struct AboveGround {
    ring: Vec<DVec2>,
    /// Share of the ring that is above ground.
    share: f64,
    /// Ground that still has to be asked for each sample.
    cut_by: Option<Arc<crate::geometry::TerrainGrid>>,
}

/// A plane cuts the ring in a straight line. A grid that reaches above the surface leaves the ring whole, with the
/// share of places on a lattice inside it that are above ground.
fn above_ground(ring: &[DVec2], z_m: f64, terrain: &Terrain) -> Option<AboveGround> {
    let Terrain::Grid(grid) = terrain else {
        let ring = clip(ring, |at| z_m - terrain.height_m(at));
        return Some(AboveGround { ring, share: 1.0, cut_by: None });
    };
    let whole = |share, cut_by| AboveGround { ring: ring.to_vec(), share, cut_by };
    if grid.range_m(ring).1 <= z_m {
        return Some(whole(1.0, None));
    }
    let share = grid.share_below(ring, z_m, CUT_PLACES);
    (share > 0.0).then(|| whole(share, Some(Arc::clone(grid))))
}

/// The parts of the sides of a footprint that are above ground, up to a height; one face for each side.
fn walls(ring: &[DVec2], from_z_m: Option<f64>, to_z_m: f64, terrain: &Terrain) -> Vec<Face> {
    sides(ring).filter_map(|(from, to)| wall((from, to), from_z_m, to_z_m, terrain)).collect()
}

fn wall((from, to): (DVec2, DVec2), from_z_m: Option<f64>, to_z_m: f64, terrain: &Terrain) -> Option<Face> {
    let along = (to - from).try_normalize()?;
    let foot = foot((from, to), from_z_m.unwrap_or(f64::NEG_INFINITY), terrain);
    let outline = under_top(&foot, to_z_m);
    let steps = [along.extend(0.0), DVec3::Z];
    let outward = DVec2::new(along.y, -along.x).extend(0.0);
    polygon_face(SurfaceClass::Wall, from.extend(0.0), steps, outward, outline)
}

/// The foot line of a wall as (distance along it, height): the ground, or the lower edge where that is higher.
fn foot((from, to): (DVec2, DVec2), least_z_m: f64, terrain: &Terrain) -> Vec<DVec2> {
    let length_m = from.distance(to);
    let place = |share: f64| DVec2::new(share * length_m, terrain.height_m(from.lerp(to, share)));
    let ground: Vec<DVec2> = terrain.breaks(from, to).into_iter().map(place).collect();
    with_crossings(&ground, least_z_m).into_iter().map(|p| DVec2::new(p.x, p.y.max(least_z_m))).collect()
}

/// The line with a corner wherever it crosses a height.
fn with_crossings(line: &[DVec2], z_m: f64) -> Vec<DVec2> {
    let mut corners = Vec::with_capacity(line.len());
    for pair in line.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        corners.push(a);
        if (a.y - z_m) * (b.y - z_m) < 0.0 {
            corners.push(a.lerp(b, (z_m - a.y) / (b.y - a.y)));
        }
    }
    corners.extend(line.last());
    corners
}

/// The area between a foot line and a level top; where the line is higher, the outline runs along the top, but not
/// beyond the first and last place at which there is some wall.
fn under_top(foot: &[DVec2], top_z_m: f64) -> Vec<DVec2> {
    let line: Vec<DVec2> =
        with_crossings(foot, top_z_m).into_iter().map(|p| DVec2::new(p.x, p.y.min(top_z_m))).collect();
    let (Some(first), Some(last)) =
        (line.iter().position(|p| p.y < top_z_m), line.iter().rposition(|p| p.y < top_z_m))
    else {
        return Vec::new();
    };
    let mut outline = line[first.saturating_sub(1)..line.len().min(last + 2)].to_vec();
    let ends = [outline.last().copied(), outline.first().copied()];
    outline.extend(ends.into_iter().flatten().map(|p| DVec2::new(p.x, top_z_m)));
    outline.dedup();
    outline
}

fn polygon_face(
    class: SurfaceClass,
    origin_m: DVec3,
    steps: [DVec3; 2],
    normal: DVec3,
    outline: Vec<DVec2>,
) -> Option<Face> {
    let area_m2 = signed_area_m2(&outline).abs();
    if area_m2 < LEAST_AREA_M2 {
        return None;
    }
    let inside = inside(&outline);
    Some(Face { class, origin_m, steps, normal, outline, holes: Vec::new(), area_m2, inside, relief: None })
}

fn inside(outline: &[DVec2]) -> DVec2 {
    to_geo(outline).interior_point().map_or(centroid_m(outline), |p| DVec2::new(p.x(), p.y()))
}
