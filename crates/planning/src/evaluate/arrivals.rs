//! What the hours of a day are worth: the light and the shade of one strategy, for every hour of arrival.

use super::{Evaluator, Stopped};
use crate::base::Id;
use crate::geometry::polygon::sides;
use crate::ground::SiteOutline;
use crate::light::{CastShade, LightFigures, NoLight, StructureShade, structure_shades};
use crate::result::{Depth, Outcome};
use crate::scenario::{LocalClock, Scenario};

/// Hours of arrival that are looked at.
pub const ARRIVALS: usize = 24;

/// One hour of arrival.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrival {
    /// When the crew arrives, by the site's clock.
    pub clock: LocalClock,
    /// The light from first take-off to last landing, and what it does to walls, or why nothing is known of it.
    pub lit: Result<LitArrival, NoLight>,
}

/// What an arrival gets of the light.
#[derive(Debug, Clone, PartialEq)]
pub struct LitArrival {
    /// From first take-off to last landing.
    pub light: LightFigures,
    /// Arriving to leaving, exposing as that light asks for.
    pub time_on_site_s: f64,
    /// Share of the walls' area times the flying that lies in shade; nothing where there are no walls.
    pub shaded_ratio: Option<f64>,
    /// Whether shade cast by others was looked for.
    pub cast: CastShade,
}

impl Evaluator<'_> {
    /// One strategy for every full hour of arrival on the day that the conditions name, all else the same. `walls_of` is the
    /// structure whose walls matter; nothing for all of them.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn arrivals(
        &self,
        scenario: &Scenario,
        strategy: Id,
        walls_of: Option<Id>,
    ) -> Result<Vec<Arrival>, Stopped> {
        let outline = self.outline(scenario)?;
        let mut tried = scenario.clone();
        let mut found = Vec::with_capacity(ARRIVALS);
        for hour in 0..ARRIVALS {
            self.watch.step(hour as u64, ARRIVALS as u64)?;
            let clock = LocalClock { hour: hour as u8, minute: 0 };
            let Some(mission) = &mut tried.conditions.mission else { return Ok(Vec::new()) };
            mission.arrival = clock;
            let outcome = self.evaluate(&tried, strategy, Depth::Quick)?;
            found.push(Arrival { clock, lit: lit(&outcome, &outline, walls_of) });
        }
        Ok(found)
    }
}

fn lit(outcome: &Outcome, outline: &SiteOutline, walls_of: Option<Id>) -> Result<LitArrival, NoLight> {
    let light = outcome.light.clone()?;
    let timing = outcome.timing.as_ref().ok_or(NoLight::NotFlown)?;
    let shades = structure_shades(outline, &light)?;
    let cast = shades.first().map_or(CastShade::Included, |shade| shade.cast);
    let shaded_ratio = shaded_ratio(outline, &shades, walls_of);
    Ok(LitArrival { light, time_on_site_s: timing.time.time_on_site_s(), shaded_ratio, cast })
}

/// Share of the walls' area that lies in shade, on average over the flying; nothing where there are no walls.
///
/// # Units
/// - returns: ratio
///
/// # References
/// Derived: the mean of the walls' shares, each weighted by its area above the ground at its foot.
pub fn shaded_ratio(outline: &SiteOutline, shades: &[StructureShade], walls_of: Option<Id>) -> Option<f64> {
    let (mut shaded_m2, mut whole_m2) = (0.0, 0.0);
    let matter = |id: Option<Id>| walls_of.is_none() || walls_of == id;
    for (structure, shade) in outline.structures.iter().zip(shades).filter(|(s, _)| matter(s.id)) {
        let height_m = structure.top_z_m - structure.soffit_z_m.unwrap_or(structure.base_z_m);
        for ((a, b), wall) in sides(&structure.footprint_m).zip(&shade.walls) {
            let area_m2 = a.distance(b) * height_m;
            shaded_m2 += area_m2 * wall.shaded_ratio;
            whole_m2 += area_m2;
        }
    }
    (whole_m2 > 0.0).then(|| shaded_m2 / whole_m2)
}
