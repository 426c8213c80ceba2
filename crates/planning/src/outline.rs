use crate::polygon::least_width;
use crate::{KeepOut, Site, SiteError, resolved_structures};
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
        })
    }
}
