//! Another boundary under a site: what of it stays, and what would go.

use crate::units::{Unit, Units};
use glam::DVec2;
use obliquity_exchange::{BoundaryChoice, LocalFrame, first_take_off, site_from_boundary};
use obliquity_planning::{GeoPoint, Pattern, Scenario, Site, Terrain, TerrainGrid, limits, polygon};

/// What stands farther from the boundary than this matters to no plan: an oblique pass at the usual ceiling of 110 m and a
/// tilt of 45° flies 110 m beyond it, looks as far back as it stands high, and turns within some tens of metres.
const NEAR_M: f64 = 200.0;

/// Whether the coordinates of the present site hold on the new one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SiteFrame {
    /// The new boundary lies in the present frame: a correction.
    Kept,
    /// The site is somewhere else: coordinates of the present one mean nothing there.
    Another,
}

/// A site to put in place of the present one.
#[derive(Debug, Clone, PartialEq)]
pub struct NewSite {
    /// The site, with what stays.
    pub site: Site,
    /// In which frame.
    pub frame: SiteFrame,
    /// What would go, in the order of the site; empty when nothing would.
    pub goes: Vec<Gone>,
}

/// Something that would go.
#[derive(Debug, Clone, PartialEq)]
pub struct Gone {
    /// What, with its name.
    pub what: String,
    /// How far outside the new boundary it lies, where that is why.
    pub outside_m: Option<f64>,
}

impl Gone {
    /// In words: "Silo 1, 340 m outside".
    pub fn text(&self, units: Units) -> String {
        let what = match self.outside_m {
            Some(outside_m) => format!("{}, {} outside", self.what, units.text(Unit::Metres, outside_m)),
            None => self.what.clone(),
        };
        if self.what == TAKE_OFF {
            return format!("{what}: it is put at the corner nearest the south-west until you move it");
        }
        what
    }
}

impl NewSite {
    /// The present site with a file's boundary: where the two are near each other what lies inside or near stays, in the
    /// present frame; else nothing does.
    pub fn of_boundary(scenario: &Scenario, choice: &BoundaryChoice) -> NewSite {
        let present = &scenario.site;
        let corrected = present.origin.and_then(|origin| corrected(scenario, origin, choice));
        corrected.unwrap_or_else(|| {
            let typical_building = present.typical_building;
            NewSite::elsewhere(scenario, Site { typical_building, ..site_from_boundary(choice) })
        })
    }

    /// Another site altogether: nothing of the present one stays.
    pub fn elsewhere(scenario: &Scenario, site: Site) -> NewSite {
        let present = &scenario.site;
        let gone = |what: String| Gone { what, outside_m: None };
        let structures = present.structures.iter().map(|structure| gone(structure.name.clone()));
        let keep_outs = present.keep_outs.iter().map(|keep_out| gone(keep_out_text(&keep_out.name)));
        let mut goes: Vec<Gone> = structures.chain(keep_outs).collect();
        if is_placed(present) {
            goes.push(gone(TAKE_OFF.to_owned()));
        }
        if present.terrain != Terrain::default() {
            goes.push(gone("the terrain".to_owned()));
        }
        goes.extend(take_offs_that_go(scenario, &site, SiteFrame::Another).into_iter().map(gone));
        goes.extend(passes_that_go(scenario, &site, SiteFrame::Another).into_iter().map(gone));
        NewSite { site, frame: SiteFrame::Another, goes }
    }
}

const TAKE_OFF: &str = "the take-off point";

fn keep_out_text(name: &str) -> String {
    format!("keep-out {name}")
}

/// Whether someone has put the take-off point where it is; where the program guessed it, it is guessed again.
fn is_placed(site: &Site) -> bool {
    site.take_off_m != first_take_off(&site.boundary_m)
}

/// The present site with a boundary that is near it; nothing where it is not.
fn corrected(scenario: &Scenario, origin: GeoPoint, choice: &BoundaryChoice) -> Option<NewSite> {
    let present = &scenario.site;
    let (there, here) = (LocalFrame::new(choice.origin), LocalFrame::new(origin));
    let boundary_m: Vec<DVec2> =
        choice.ring_m.iter().map(|&at_m| here.to_local(there.to_geo(at_m))).collect();
    let in_frame = |at: &DVec2| limits::COORDINATE_M.holds(at.x) && limits::COORDINATE_M.holds(at.y);
    if !boundary_m.iter().all(in_frame) {
        return None;
    }
    let outside_m = |ring: &[DVec2]| apart_m(&boundary_m, ring);
    let footprints = present.structures.iter().map(|structure| &structure.footprint_m);
    let outlines = footprints.chain(present.keep_outs.iter().map(|keep_out| &keep_out.outline_m));
    if outlines.chain([&present.boundary_m]).all(|ring| outside_m(ring) > NEAR_M) {
        return None;
    }
    let mut site = Site { boundary_m: boundary_m.clone(), ..(**present).clone() };
    let mut goes = Vec::new();
    let mut stays = |what: String, ring: &[DVec2]| {
        let outside_m = outside_m(ring);
        if outside_m > NEAR_M {
            goes.push(Gone { what, outside_m: Some(outside_m) });
        }
        outside_m <= NEAR_M
    };
    site.structures.retain(|structure| stays(structure.name.clone(), &structure.footprint_m));
    site.keep_outs.retain(|keep_out| stays(keep_out_text(&keep_out.name), &keep_out.outline_m));
    if !is_placed(present) || !stays(TAKE_OFF.to_owned(), &[present.take_off_m]) {
        site.take_off_m = first_take_off(&boundary_m);
    }
    if let Terrain::Grid(grid) = &present.terrain
        && let Some(level) = level_instead(grid, &site)
    {
        site.terrain = level;
        let what = "the terrain, which does not reach under the new boundary".to_owned();
        goes.push(Gone { what, outside_m: None });
    }
    let take_offs = take_offs_that_go(scenario, &site, SiteFrame::Kept);
    let passes = passes_that_go(scenario, &site, SiteFrame::Kept);
    goes.extend(take_offs.into_iter().chain(passes).map(|what| Gone { what, outside_m: None }));
    Some(NewSite { site, frame: SiteFrame::Kept, goes })
}

/// Level ground at the height in the middle, for a grid that does not reach under a site.
fn level_instead(grid: &TerrainGrid, site: &Site) -> Option<Terrain> {
    let reaches = site.boundary_m.iter().chain([&site.take_off_m]).all(|&at_m| grid.covers(at_m));
    let at_origin_m = grid.height_m(polygon::centroid_m(&site.boundary_m));
    (!reaches).then_some(Terrain::Plane { at_origin_m, slope_east: 0.0, slope_north: 0.0 })
}

/// What can be flown of a pattern on another site: at those of its structures that are there, and nothing along coordinates
/// of another frame.
pub(crate) fn left_of(pattern: &Pattern, site: &Site, frame: SiteFrame) -> Option<Pattern> {
    let there = |id| site.structures.iter().any(|structure| structure.id == id);
    let lost = pattern.has_places() && frame == SiteFrame::Another;
    if lost { None } else { pattern.at_those(there) }
}

/// Whether a strategy's take-off point is of use on another site: near it, in its frame and on its ground.
pub(crate) fn take_off_stays(at_m: DVec2, site: &Site, frame: SiteFrame) -> bool {
    let on_ground = match &site.terrain {
        Terrain::Plane { .. } => true,
        Terrain::Grid(grid) => grid.covers(at_m),
    };
    frame == SiteFrame::Kept && on_ground && apart_m(&site.boundary_m, &[at_m]) <= NEAR_M
}

fn take_offs_that_go(scenario: &Scenario, site: &Site, frame: SiteFrame) -> Vec<String> {
    let of = |strategy: &obliquity_planning::Strategy| {
        let own = strategy.take_offs_m.iter().enumerate();
        let goes = own.filter(|(_, at_m)| !take_off_stays(**at_m, site, frame));
        goes.map(|(at, _)| format!("take-off point {} of {}", at + 2, strategy.name)).collect::<Vec<_>>()
    };
    scenario.strategies.iter().flat_map(of).collect()
}

fn passes_that_go(scenario: &Scenario, site: &Site, frame: SiteFrame) -> Vec<String> {
    let mut goes = Vec::new();
    for strategy in &scenario.strategies {
        let gone: Vec<usize> = (0..strategy.passes.len())
            .filter(|&at| left_of(&strategy.passes[at].pattern, site, frame).is_none())
            .collect();
        if gone.len() == strategy.passes.len() {
            goes.push(format!("the strategy {}, with all its passes", strategy.name));
        } else {
            goes.extend(gone.iter().map(|at| format!("pass {} of {}", at + 1, strategy.name)));
        }
    }
    goes
}

/// How far two areas are from each other; 0 where they meet. A single place is an area of no size.
pub(crate) fn apart_m(ring: &[DVec2], other: &[DVec2]) -> f64 {
    if polygon::rings_meet(ring, other) {
        return 0.0;
    }
    let from = |places: &[DVec2], ring: &[DVec2]| {
        places.iter().map(|&at_m| from_outline_m(at_m, ring)).fold(f64::INFINITY, f64::min)
    };
    from(ring, other).min(from(other, ring))
}

fn from_outline_m(at_m: DVec2, ring: &[DVec2]) -> f64 {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let from_side = |(&a, &b): (&DVec2, &DVec2)| {
        let along = b - a;
        let share = ((at_m - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        at_m.distance(a + along * share)
    };
    sides.map(from_side).fold(f64::INFINITY, f64::min)
}
