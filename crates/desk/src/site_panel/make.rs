//! Structures that come and change.

use glam::DVec2;
use obliquity_planning::{Id, Pier, Site, Structure, StructureKind, limits};

/// A deck that an extrusion turns into is this thick, where its height allows.
const DECK_M: f64 = 1.0;

/// A rectangle to be drawn by its numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewRectangle {
    /// Its middle.
    pub middle_m: DVec2,
    /// Its long side.
    pub length_m: f64,
    /// Its other side.
    pub width_m: f64,
    /// Which way the long side runs, clockwise from north.
    pub direction_deg: f64,
}

/// The corners of a rectangle, counter-clockwise.
pub fn rectangle_m(of: &NewRectangle) -> Vec<DVec2> {
    let (sin, cos) = of.direction_deg.to_radians().sin_cos();
    let (along, across) =
        (DVec2::new(sin, cos) * of.length_m / 2.0, DVec2::new(cos, -sin) * of.width_m / 2.0);
    let corners = [-along - across, -along + across, along + across, along - across];
    corners.map(|corner| ((of.middle_m + corner) * 1000.0).round() / 1000.0).to_vec()
}

/// An identifier that no structure of the site has.
pub fn free_structure_id(site: &Site) -> Id {
    Id(site.structures.iter().map(|structure| structure.id.0).max().unwrap_or(0) + 1)
}

/// The site with one more structure.
pub fn with_structure(site: &Site, structure: Structure) -> Site {
    let mut site = site.clone();
    site.structures.push(structure);
    site
}

/// The site with a name that no other structure has: the name itself, or with a number.
pub fn free_name(site: &Site, name: &str) -> String {
    let taken = |wanted: &str| site.structures.iter().any(|structure| structure.name == wanted);
    let numbered = (1..).map(|number: u32| format!("{name} {number}"));
    numbered.into_iter().find(|wanted| !taken(wanted)).unwrap_or_else(|| name.to_owned())
}

/// What a structure is, in words.
pub fn kind_text(kind: &StructureKind) -> &'static str {
    match kind {
        StructureKind::Extrusion { .. } => "building or tank",
        StructureKind::Deck { .. } => "deck",
    }
}

/// The same footprint as a deck (`deck`) or raised from the ground: the top stays where it is. A deck's piers go with it.
pub fn with_kind(structure: &Structure, wanted: &str) -> Structure {
    let kind = match (&structure.kind, wanted) {
        (StructureKind::Extrusion { height_m }, "deck") => {
            let top_m = height_m.max(limits::SOFFIT_M.least + limits::DECK_THICKNESS_M);
            let soffit_m = (top_m - DECK_M).max(limits::SOFFIT_M.least);
            StructureKind::Deck { soffit_m, top_m, piers: Vec::new() }
        }
        (StructureKind::Deck { top_m, .. }, "building or tank") => {
            StructureKind::Extrusion { height_m: *top_m }
        }
        (kind, _) => kind.clone(),
    };
    Structure { kind, ..structure.clone() }
}

/// A deck with one more pier; other structures stay as they are.
pub(super) fn with_pier(structure: &Structure, pier: Vec<DVec2>) -> Structure {
    let mut structure = structure.clone();
    if let StructureKind::Deck { piers, .. } = &mut structure.kind {
        piers.push(Pier { footprint_m: pier });
    }
    structure
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand; a long side that runs east.
    #[test]
    fn a_rectangle_has_its_corners_counter_clockwise() {
        let of = NewRectangle {
            middle_m: DVec2::new(100.0, 50.0),
            length_m: 20.0,
            width_m: 10.0,
            direction_deg: 90.0,
        };
        let corners = rectangle_m(&of);
        let expected = [(90.0, 55.0), (90.0, 45.0), (110.0, 45.0), (110.0, 55.0)].map(DVec2::from);
        assert_eq!(corners, expected);
        assert!(obliquity_planning::polygon::signed_area_m2(&corners) > 0.0);
    }

    // Derived: by the rule; the top stays.
    #[test]
    fn an_extrusion_turns_into_a_deck_and_back() {
        let kind = StructureKind::Extrusion { height_m: 8.0 };
        let shed = Structure { id: Id(1), name: "Shed".to_owned(), footprint_m: Vec::new(), kind };
        let deck = with_kind(&shed, "deck");
        assert_eq!(deck.kind, StructureKind::Deck { soffit_m: 7.0, top_m: 8.0, piers: Vec::new() });
        assert_eq!(with_kind(&deck, "building or tank"), shed);
        let low = Structure { kind: StructureKind::Extrusion { height_m: 0.3 }, ..shed };
        let StructureKind::Deck { soffit_m, top_m, .. } = with_kind(&low, "deck").kind else {
            panic!("a deck")
        };
        assert!(
            top_m - soffit_m >= limits::DECK_THICKNESS_M - 1e-12,
            "thick enough to be allowed: {top_m} {soffit_m}"
        );
    }
}
