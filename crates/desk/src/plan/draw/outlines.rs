//! What can be drawn, as plain values in metres of the site, and every edit of it: each gives another site or line.

use crate::site_panel::{free_name, free_structure_id};
use crate::target::Target;
use crate::undrawn::is_undrawn;
use glam::DVec2;
use obliquity_exchange::first_take_off;
use obliquity_planning::{
    ControlPoint, Id, KeepOut, Pattern, PointRole, Scenario, Site, Structure, StructureKind, limits, polygon,
};
use std::sync::Arc;

/// The site, and of the strategy in focus the corridor lines and further take-off points.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlines {
    /// The site.
    pub site: Arc<Site>,
    /// The strategy whose lines these are; nothing where there is none.
    pub strategy: Option<Id>,
    /// Its corridor passes with their lines.
    pub lines: Vec<(Id, Vec<DVec2>)>,
    /// Its take-off points besides the site's.
    pub take_offs_m: Vec<DVec2>,
}

/// What is raised on an outline that is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AreaKind {
    /// The site's edge in place of the present one.
    Boundary,
    /// A building or a tank.
    Building,
    /// A deck.
    Deck,
    /// What is flown round.
    KeepOut,
}

/// A new building stands as high until its height is typed. Common practice, no source: two storeys.
pub const USUAL_HEIGHT_M: f64 = 8.0;

/// A new deck is as thick as this.
const DECK_M: f64 = 1.0;

/// The same place, to the millimetre, as files hold it.
pub fn to_mm(at_m: DVec2) -> DVec2 {
    (at_m * 1000.0).round() / 1000.0 + DVec2::ZERO
}

impl Outlines {
    /// What can be drawn of a scenario while a strategy is in focus.
    pub fn of(scenario: &Scenario, focus: Option<Id>) -> Self {
        let strategy = focus.and_then(|id| scenario.strategy(id));
        let passes = strategy.map(|strategy| strategy.passes.as_slice()).unwrap_or_default();
        let lines = passes.iter().filter_map(|pass| match &pass.pattern {
            Pattern::Corridor(corridor) => Some((pass.id, corridor.line_m.clone())),
            _ => None,
        });
        Outlines {
            site: Arc::clone(&scenario.site),
            strategy: strategy.map(|strategy| strategy.id),
            lines: lines.collect(),
            take_offs_m: strategy.map(|strategy| strategy.take_offs_m.clone()).unwrap_or_default(),
        }
    }

    /// Whether the boundary waits to be drawn; what stands for it, and the take-off point with it, is nothing to draw on.
    pub fn is_undrawn(&self) -> bool {
        is_undrawn(&self.site)
    }

    /// Everything on it, in the order in which it is gone through.
    pub fn targets(&self) -> Vec<Target> {
        let site = &self.site;
        let structures = site.structures.iter().map(|structure| Target::Structure(structure.id));
        let lines = self.strategy.into_iter().flat_map(|strategy| {
            self.lines.iter().map(move |(pass, _)| Target::Line { strategy, pass: *pass })
        });
        let further = self
            .strategy
            .into_iter()
            .flat_map(|strategy| (0..self.take_offs_m.len()).map(move |at| Target::Further { strategy, at }));
        let undrawn = self.is_undrawn();
        let own = [Target::Boundary].into_iter().filter(move |_| !undrawn);
        let take_off = [Target::TakeOff].into_iter().filter(move |_| !undrawn);
        own.chain(structures)
            .chain((0..site.keep_outs.len()).map(Target::KeepOut))
            .chain(lines)
            .chain(take_off)
            .chain(further)
            .chain((0..site.control_points.len()).map(Target::ControlPoint))
            .collect()
    }

    /// Its corners; nothing where it is not there any more.
    pub fn corners_m(&self, of: Target) -> Option<Vec<DVec2>> {
        let site = &self.site;
        match of {
            Target::Boundary => Some(site.boundary_m.clone()),
            Target::Structure(id) => self.structure(id).map(|structure| structure.footprint_m.clone()),
            Target::KeepOut(at) => site.keep_outs.get(at).map(|keep_out| keep_out.outline_m.clone()),
            Target::Line { strategy, pass } => self
                .lines
                .iter()
                .find(|(id, _)| *id == pass && self.strategy == Some(strategy))
                .map(|(_, line_m)| line_m.clone()),
            Target::TakeOff => Some(vec![site.take_off_m]),
            Target::Further { strategy, at } => {
                let at_m = self.take_offs_m.get(at).filter(|_| self.strategy == Some(strategy));
                at_m.map(|at_m| vec![*at_m])
            }
            Target::ControlPoint(at) => site.control_points.get(at).map(|point| vec![point.at_m]),
        }
    }

    /// A structure of the site.
    pub fn structure(&self, id: Id) -> Option<&Structure> {
        self.site.structures.iter().find(|structure| structure.id == id)
    }

    /// What it is called within a sentence: "Shed", "the boundary", "keep-out Pond".
    pub fn name(&self, of: Target) -> String {
        match of {
            Target::Boundary => "the boundary".to_owned(),
            Target::Structure(id) => self.structure(id).map_or_else(String::new, |s| s.name.clone()),
            Target::KeepOut(at) => {
                let name = self.site.keep_outs.get(at).map(|keep_out| keep_out.name.clone());
                name.map_or_else(String::new, |name| {
                    if name.to_lowercase().starts_with("keep-out") {
                        name
                    } else {
                        format!("keep-out {name}")
                    }
                })
            }
            Target::Line { .. } => "the corridor line".to_owned(),
            Target::TakeOff => "the take-off point".to_owned(),
            // the site's own is the first one
            Target::Further { at, .. } => format!("take-off point {}", at + 2),
            Target::ControlPoint(at) => {
                let point = self.site.control_points.get(at);
                point.map_or_else(String::new, |point| format!("{} {}", point.role.name(), point.name))
            }
        }
    }

    /// With other corners of one of them. Piers go with their deck where all of it is moved or turned alike.
    #[must_use]
    pub fn with_corners(&self, of: Target, corners_m: &[DVec2]) -> Outlines {
        let mut next = self.clone();
        let Some(&first) = corners_m.first() else { return next };
        if let Target::Line { pass, .. } = of {
            for (id, line_m) in &mut next.lines {
                if *id == pass {
                    *line_m = corners_m.to_vec();
                }
            }
            return next;
        }
        if let Target::Further { at, .. } = of {
            if let Some(at_m) = next.take_offs_m.get_mut(at) {
                *at_m = first;
            }
            return next;
        }
        let mut site = (*self.site).clone();
        match of {
            Target::Boundary => put_boundary(&mut site, corners_m),
            Target::Structure(id) => {
                if let Some(structure) = site.structures.iter_mut().find(|structure| structure.id == id) {
                    carry_piers(structure, corners_m);
                    structure.footprint_m = corners_m.to_vec();
                }
            }
            Target::KeepOut(at) => {
                if let Some(keep_out) = site.keep_outs.get_mut(at) {
                    keep_out.outline_m = corners_m.to_vec();
                }
            }
            Target::TakeOff => site.take_off_m = first,
            Target::ControlPoint(at) => {
                if let Some(point) = site.control_points.get_mut(at) {
                    point.at_m = first;
                }
            }
            Target::Line { .. } | Target::Further { .. } => {}
        }
        next.site = Arc::new(site);
        next
    }

    /// With an outline that was drawn, and what that is.
    pub fn with_area(&self, area: AreaKind, ring_m: &[DVec2]) -> (Outlines, Target) {
        let mut site = (*self.site).clone();
        let target = match area {
            AreaKind::Boundary => {
                put_boundary(&mut site, ring_m);
                Target::Boundary
            }
            AreaKind::KeepOut => {
                let count = site.keep_outs.len();
                let taken = |name: &str| site.keep_outs.iter().any(|keep_out| keep_out.name == name);
                let name = numbered("Keep-out", count + 1, taken);
                site.keep_outs.push(KeepOut { name, outline_m: ring_m.to_vec() });
                Target::KeepOut(count)
            }
            AreaKind::Building | AreaKind::Deck => {
                let id = free_structure_id(&site);
                let (word, kind) = if area == AreaKind::Deck {
                    let (soffit_m, top_m) = (USUAL_HEIGHT_M - DECK_M, USUAL_HEIGHT_M);
                    ("Deck", StructureKind::Deck { soffit_m, top_m, piers: Vec::new() })
                } else {
                    ("Building", StructureKind::Extrusion { height_m: USUAL_HEIGHT_M })
                };
                let name = free_name(&site, word);
                site.structures.push(Structure { id, name, footprint_m: ring_m.to_vec(), kind });
                // Boxes are assumed only where nothing is modelled.
                site.typical_building = None;
                Target::Structure(id)
            }
        };
        (Outlines { site: Arc::new(site), ..self.clone() }, target)
    }

    /// With one more take-off point of the strategy in focus; nothing where there is none.
    pub fn with_take_off(&self, at_m: DVec2) -> Option<(Outlines, Target)> {
        let target = Target::Further { strategy: self.strategy?, at: self.take_offs_m.len() };
        let mut next = self.clone();
        next.take_offs_m.push(at_m);
        Some((next, target))
    }

    /// With one more control point.
    pub fn with_control_point(&self, at_m: DVec2) -> (Outlines, Target) {
        let mut site = (*self.site).clone();
        let count = site.control_points.len();
        let taken = |name: &str| site.control_points.iter().any(|point| point.name == name);
        let name = numbered("", count + 1, taken);
        site.control_points.push(ControlPoint { name, at_m, role: PointRole::Control });
        (Outlines { site: Arc::new(site), ..self.clone() }, Target::ControlPoint(count))
    }

    /// Without one of them; nothing where it has to stay.
    pub fn without(&self, target: Target) -> Option<Outlines> {
        if let Target::Further { at, .. } = target {
            let mut next = self.clone();
            let is_there = at < next.take_offs_m.len();
            return is_there.then(|| {
                next.take_offs_m.remove(at);
                next
            });
        }
        let mut site = (*self.site).clone();
        match target {
            Target::Structure(id) => site.structures.retain(|structure| structure.id != id),
            Target::KeepOut(at) if at < site.keep_outs.len() => {
                site.keep_outs.remove(at);
            }
            Target::ControlPoint(at) if at < site.control_points.len() => {
                site.control_points.remove(at);
            }
            _ => return None,
        }
        Some(Outlines { site: Arc::new(site), ..self.clone() })
    }

    /// With a copy of one of them, so far from it; nothing for what there is one of.
    pub fn with_copy(&self, of: Target, by_m: DVec2) -> Option<(Outlines, Target)> {
        let corners_m: Vec<DVec2> = self.corners_m(of)?.iter().map(|at_m| to_mm(*at_m + by_m)).collect();
        let (copied, target) = match of {
            Target::Structure(from) => {
                let mut site = (*self.site).clone();
                let structure = self.structure(from)?;
                let (id, name) = (free_structure_id(&site), free_name(&site, stem(&structure.name)));
                site.structures.push(Structure { id, name, ..structure.clone() });
                (Outlines { site: Arc::new(site), ..self.clone() }, Target::Structure(id))
            }
            Target::KeepOut(_) => return Some(self.with_area(AreaKind::KeepOut, &corners_m)),
            Target::ControlPoint(_) => return Some(self.with_control_point(corners_m[0])),
            Target::Further { .. } => return self.with_take_off(corners_m[0]),
            Target::Boundary | Target::Line { .. } | Target::TakeOff => return None,
        };
        Some((copied.with_corners(target, &corners_m), target))
    }

    /// With another height of a structure: of a building its roof's, of a deck its top's, which keeps its thickness.
    pub fn with_height(&self, id: Id, new_m: f64) -> Option<Outlines> {
        let mut site = (*self.site).clone();
        match &mut site.structures.iter_mut().find(|structure| structure.id == id)?.kind {
            StructureKind::Extrusion { height_m } => *height_m = new_m,
            StructureKind::Deck { soffit_m, top_m, .. } => {
                let thick_m = *top_m - *soffit_m;
                *soffit_m = (new_m - thick_m).max(limits::SOFFIT_M.least);
                *top_m = new_m;
            }
        }
        Some(Outlines { site: Arc::new(site), ..self.clone() })
    }

    /// How high a structure stands.
    pub fn height_m(&self, id: Id) -> Option<f64> {
        self.structure(id).map(|structure| match structure.kind {
            StructureKind::Extrusion { height_m } => height_m,
            StructureKind::Deck { top_m, .. } => top_m,
        })
    }
}

/// The take-off point goes with the boundary where nobody has put it anywhere.
fn put_boundary(site: &mut Site, ring_m: &[DVec2]) {
    if site.take_off_m == first_take_off(&site.boundary_m) {
        site.take_off_m = first_take_off(ring_m);
    }
    site.boundary_m = ring_m.to_vec();
}

/// Moves and turns a deck's piers as its footprint is: what takes the first side there takes them too.
fn carry_piers(structure: &mut Structure, to_m: &[DVec2]) {
    let from_m = &structure.footprint_m;
    let StructureKind::Deck { piers, .. } = &mut structure.kind else { return };
    if piers.is_empty() || from_m.len() != to_m.len() || from_m.len() < 2 {
        return;
    }
    let turn = (from_m[1] - from_m[0]).angle_to(to_m[1] - to_m[0]);
    let turn = DVec2::from_angle(turn);
    let carried = |at_m: DVec2| to_m[0] + turn.rotate(at_m - from_m[0]);
    let is_rigid = from_m.iter().zip(to_m).all(|(from, to)| carried(*from).distance(*to) < 5e-3);
    if is_rigid {
        for at_m in piers.iter_mut().flat_map(|pier| &mut pier.footprint_m) {
            *at_m = to_mm(carried(*at_m));
        }
    }
}

/// A name with a number that nothing has yet.
fn numbered(word: &str, first: usize, taken: impl Fn(&str) -> bool) -> String {
    let name = |number: usize| format!("{word} {number}").trim().to_owned();
    // One of so many is free: there are not as many of them.
    (first..first + 2 * limits::STRUCTURES).map(name).find(|name| !taken(name)).unwrap_or_default()
}

/// A name without the number behind it.
fn stem(name: &str) -> &str {
    let stem = name.trim_end_matches(|letter: char| letter.is_ascii_digit()).trim_end();
    if stem.is_empty() { name } else { stem }
}

/// The corners moved.
pub fn moved(corners_m: &[DVec2], by_m: DVec2) -> Vec<DVec2> {
    corners_m.iter().map(|at_m| to_mm(*at_m + by_m)).collect()
}

/// The corners turned about the middle of their area, clockwise as bearings are.
pub fn turned(corners_m: &[DVec2], by_deg: f64) -> Vec<DVec2> {
    let (middle_m, turn) = (middle_m(corners_m), DVec2::from_angle(-by_deg.to_radians()));
    corners_m.iter().map(|at_m| to_mm(middle_m + turn.rotate(*at_m - middle_m))).collect()
}

/// What corners are turned about.
pub(super) fn middle_m(corners_m: &[DVec2]) -> DVec2 {
    match corners_m {
        [] => DVec2::ZERO,
        [_] | [_, _] => corners_m.iter().sum::<DVec2>() / corners_m.len() as f64,
        _ => polygon::centroid_m(corners_m),
    }
}
