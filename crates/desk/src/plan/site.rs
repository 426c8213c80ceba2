use super::Area;
use crate::undrawn::is_undrawn;
use glam::DVec2;
use obliquity_planning::{ControlPoint, Site, resolved_structures};

/// The site as it is drawn from above; the same for every strategy.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlanSite {
    /// What is to be captured.
    pub boundary: Area,
    /// What stands there.
    pub structures: Vec<PlanStructure>,
    /// What is flown round.
    pub keep_outs: Vec<PlanKeepOut>,
    /// Where the aircraft takes off and lands.
    pub take_off_m: DVec2,
    /// Where control points and check points are to be.
    pub control_points: Vec<ControlPoint>,
    /// Mean ground inside the boundary: what heights are above.
    pub reference_z_m: f64,
    /// Whether the structures are assumed ones.
    pub assumed: bool,
    /// Whether its boundary waits to be drawn: the square that stands for it is not shown.
    pub undrawn: bool,
}

/// A structure as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanStructure {
    /// Its name; "Assumed building" where it is not modelled.
    pub name: String,
    /// Its outline.
    pub area: Area,
    /// Height of its roof above the ground under it.
    pub height_m: f64,
    /// Height of its roof above the mean ground inside the boundary.
    pub above_mean_ground_m: f64,
    /// From 0 (flat) to 1 (the tallest).
    pub shade: f64,
    /// Whether it is the tallest of those whose surfaces count.
    pub tallest: bool,
}

/// A keep-out as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanKeepOut {
    /// Its name.
    pub name: String,
    /// Its outline.
    pub area: Area,
}

impl PlanSite {
    /// The site as it is drawn. A site that the evaluation refuses is drawn without its structures.
    pub fn new(site: &Site) -> Self {
        let keep_outs = site.keep_outs.iter().map(|keep_out| PlanKeepOut {
            name: keep_out.name.clone(),
            area: Area::new(keep_out.outline_m.clone()),
        });
        let drawn = PlanSite {
            boundary: Area::new(site.boundary_m.clone()),
            keep_outs: keep_outs.collect(),
            take_off_m: site.take_off_m,
            undrawn: is_undrawn(site),
            control_points: site.control_points.clone(),
            ..PlanSite::default()
        };
        let Ok(resolved) = resolved_structures(site) else { return drawn };
        let reference_z_m = resolved.reference_z_m;
        let mut structures: Vec<PlanStructure> = resolved
            .structures
            .into_iter()
            .map(|structure| {
                let named = site.structures.iter().find(|own| Some(own.id) == structure.id);
                let area = Area::new(structure.footprint_m);
                let ground_m = site.terrain.height_m(area.middle_m());
                PlanStructure {
                    name: named.map_or_else(|| "Assumed building".to_owned(), |own| own.name.clone()),
                    height_m: structure.roof_z_m - ground_m,
                    above_mean_ground_m: structure.roof_z_m - reference_z_m,
                    shade: 0.0,
                    tallest: structure.counts,
                    area,
                }
            })
            .collect();
        shade(&mut structures);
        PlanSite { structures, reference_z_m, assumed: resolved.assumed, ..drawn }
    }

    /// Least and greatest coordinates of what has been drawn on a site without a boundary, one by one.
    pub fn drawn_bounds_m(&self) -> Vec<(DVec2, DVec2)> {
        let areas = self.structures.iter().map(|structure| &structure.area);
        let areas = areas.chain(self.keep_outs.iter().map(|keep_out| &keep_out.area));
        let points = self.control_points.iter().map(|point| (point.at_m, point.at_m));
        areas.map(Area::bounds_m).chain(points).collect()
    }

    /// Least and greatest coordinates of everything on it.
    pub fn bounds_m(&self) -> (DVec2, DVec2) {
        let areas = self.structures.iter().map(|structure| &structure.area);
        let areas = areas.chain(self.keep_outs.iter().map(|keep_out| &keep_out.area));
        let points = self.control_points.iter().map(|point| point.at_m);
        let start = points.fold((self.take_off_m, self.take_off_m), |(l, h), p| (l.min(p), h.max(p)));
        areas
            .chain([&self.boundary])
            .map(Area::bounds_m)
            .fold(start, |(low, high), (l, h)| (low.min(l), high.max(h)))
    }
}

/// Shades by height, and marks the tallest of the structures that count (marked so far).
fn shade(structures: &mut [PlanStructure]) {
    let highest = |found: f64, of: f64| if of > found { of } else { found };
    let tallest_m = structures.iter().map(|s| s.height_m).fold(0.0, highest);
    let counting = structures.iter().filter(|s| s.tallest).map(|s| s.above_mean_ground_m);
    let highest_roof_m = counting.fold(f64::NEG_INFINITY, highest);
    let mut found = false;
    for structure in structures {
        structure.shade = (structure.height_m / tallest_m).clamp(0.0, 1.0);
        structure.tallest = structure.tallest && !found && structure.above_mean_ground_m >= highest_roof_m;
        found |= structure.tallest;
    }
}
