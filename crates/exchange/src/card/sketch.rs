//! Site and route from above, as outlines and lines.

use super::given::{CardOf, several_take_offs};
use glam::DVec2;
use obliquity_planning::{Flight, LegKind};

/// Site and route from above, in metres of the site's frame (east, north).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CardSketch {
    /// The boundary.
    pub boundary_m: Vec<DVec2>,
    /// What stands, assumed buildings included.
    pub structures_m: Vec<Vec<DVec2>>,
    /// What is flown round.
    pub keep_outs_m: Vec<Vec<DVec2>>,
    /// For each sortie the line flown.
    pub sorties_m: Vec<Vec<DVec2>>,
    /// Where the route is hidden from a pilot at the sortie's take-off point.
    pub hidden_m: Vec<Vec<DVec2>>,
    /// Where the aircraft takes off and lands: number and place, the site's own first.
    pub take_offs_m: Vec<(u32, DVec2)>,
    /// Where the first pass begins; nothing where none is flown.
    pub first_m: Option<DVec2>,
}

/// Corners that lie no farther from the line without them are left out: a hair's breadth on paper.
const OFF_LINE_M: f64 = 0.25;

impl CardSketch {
    pub(super) fn new(&CardOf { scenario, outcome, outline, .. }: &CardOf<'_>) -> Self {
        let site = &scenario.site;
        let standing = outline.map(|outline| outline.structures.as_slice()).unwrap_or_default();
        let flight = outcome.flight();
        let mut sorties_m: Vec<Vec<DVec2>> = vec![Vec::new(); flight.map_or(0, |f| f.sorties.len())];
        let legs = flight.map(|flight| flight.legs.as_slice()).unwrap_or_default();
        for flown in legs {
            if let Some(line) = sorties_m.get_mut(flown.sortie as usize) {
                line.extend(flown.leg.corners_m().map(glam::DVec3::truncate));
            }
        }
        let hidden = outcome.cautions.iter().filter(|caution| caution.id == "line-of-sight");
        let hidden = hidden.flat_map(|caution| &caution.places);
        let strip = legs.iter().find(|flown| flown.leg.kind == LegKind::Strip);
        CardSketch {
            boundary_m: site.boundary_m.clone(),
            structures_m: standing.iter().map(|structure| structure.footprint_m.clone()).collect(),
            keep_outs_m: site.keep_outs.iter().map(|keep_out| keep_out.outline_m.clone()).collect(),
            sorties_m: sorties_m.iter().map(|line| thinned(line)).collect(),
            hidden_m: hidden
                .map(|stretch| thinned(&stretch.line_m.iter().map(|at| at.truncate()).collect::<Vec<_>>()))
                .collect(),
            take_offs_m: flight.map_or_else(|| vec![(1, site.take_off_m)], take_offs_m),
            first_m: strip.map(|flown| flown.leg.from_m.truncate()),
        }
    }

    /// Least and greatest coordinates of all that is drawn.
    ///
    /// # Units
    /// - returns: metres (east, north)
    pub fn bounds_m(&self) -> (DVec2, DVec2) {
        let rings = [&self.structures_m, &self.keep_outs_m, &self.sorties_m].into_iter().flatten().flatten();
        let take_offs = self.take_offs_m.iter().map(|(_, at_m)| at_m);
        let places = rings.chain(&self.boundary_m).chain(take_offs);
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        places.fold(start, |(low, high), at| (low.min(*at), high.max(*at)))
    }
}

/// The take-off points in use.
fn take_offs_m(flight: &Flight) -> Vec<(u32, DVec2)> {
    let used = several_take_offs(flight).unwrap_or_else(|| vec![0]);
    used.into_iter().map(|home| (home + 1, flight.take_offs_m[home as usize].truncate())).collect()
}

/// A line without the corners at which it does not turn.
fn thinned(line: &[DVec2]) -> Vec<DVec2> {
    let mut kept: Vec<DVec2> = Vec::new();
    for &at in line {
        while let [.., before, last] = kept.as_slice() {
            let way = at - *before;
            let along = (*last - *before).dot(way) / way.length_squared().max(f64::MIN_POSITIVE);
            let off_m = (*last - *before - way * along).length();
            if !(0.0..=1.0).contains(&along) || off_m > OFF_LINE_M {
                break;
            }
            kept.pop();
        }
        kept.push(at);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: places on a straight line go, a corner and a way back stay.
    #[test]
    fn corners_stay_and_places_between_them_go() {
        let line = [(0., 0.), (5., 0.1), (10., 0.), (10., 7.), (10., 3.)].map(DVec2::from);
        assert_eq!(thinned(&line), [(0., 0.), (10., 0.), (10., 7.), (10., 3.)].map(DVec2::from));
    }
}
