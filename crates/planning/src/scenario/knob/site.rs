//! What may be set of the site.

use crate::base::limits::{DECK_THICKNESS_M, Range};
use crate::scenario::knob::{Access, Knob, KnobGroup, Scope, row};
use crate::scenario::{GeoPoint, Structure, StructureKind, Terrain, TypicalBuilding};

fn plane(terrain: &Terrain) -> Option<[f64; 3]> {
    if let Terrain::Plane { at_origin_m, slope_east, slope_north } = terrain {
        Some([*at_origin_m, *slope_east, *slope_north])
    } else {
        None
    }
}

/// Where the site is on the earth.
pub const EARTH: KnobGroup = KnobGroup {
    name: "Place",
    note: "",
    knobs: &[
        row!(
            Site,
            "site.origin.latitude_deg",
            "Latitude",
            "Latitude of the origin",
            "Of the site's origin, north of the equator",
            Degrees,
            7,
            LATITUDE_DEG,
            |s| Some(s.origin?.latitude_deg),
            |s, latitude_deg| s.origin = s.origin.map(|origin| GeoPoint { latitude_deg, ..origin })
        ),
        row!(
            Site,
            "site.origin.longitude_deg",
            "Longitude",
            "Longitude of the origin",
            "Of the site's origin, east of Greenwich",
            Degrees,
            7,
            LONGITUDE_DEG,
            |s| Some(s.origin?.longitude_deg),
            |s, longitude_deg| s.origin = s.origin.map(|origin| GeoPoint { longitude_deg, ..origin })
        ),
    ],
};

/// Where the aircraft takes off.
pub const PLACE: KnobGroup = KnobGroup {
    name: "Take-off point",
    note: "",
    knobs: &[
        row!(
            Site,
            "site.take_off_m[0]",
            "Take-off, east",
            "Take-off point, east",
            "East of the site's origin",
            Metres,
            1,
            COORDINATE_M,
            |s| Some(s.take_off_m.x),
            |s, x| s.take_off_m.x = x
        ),
        row!(
            Site,
            "site.take_off_m[1]",
            "Take-off, north",
            "Take-off point, north",
            "North of the site's origin",
            Metres,
            1,
            COORDINATE_M,
            |s| Some(s.take_off_m.y),
            |s, y| s.take_off_m.y = y
        ),
    ],
};

/// The ground where it is a plane, and how densely all surfaces are sampled.
pub const GROUND: KnobGroup = KnobGroup {
    name: "Ground",
    note: "",
    knobs: &[
        row!(
            Site,
            "site.terrain.Plane.at_origin_m",
            "Height",
            "Height of the ground",
            "Of the ground at the site's origin",
            Metres,
            1,
            TERRAIN_HEIGHT_M,
            |s| plane(&s.terrain).map(|[at, _, _]| at),
            |s, value| if let Terrain::Plane { at_origin_m, .. } = &mut s.terrain {
                *at_origin_m = value;
            }
        ),
        row!(
            Site,
            "site.terrain.Plane.slope_east",
            "Rise to the east",
            "Rise of the ground to the east",
            "For each metre to the east",
            Share,
            1,
            SLOPE,
            |s| plane(&s.terrain).map(|[_, east, _]| east),
            |s, value| if let Terrain::Plane { slope_east, .. } = &mut s.terrain {
                *slope_east = value;
            }
        ),
        row!(
            Site,
            "site.terrain.Plane.slope_north",
            "Rise to the north",
            "Rise of the ground to the north",
            "For each metre to the north",
            Share,
            1,
            SLOPE,
            |s| plane(&s.terrain).map(|[_, _, north]| north),
            |s, value| if let Terrain::Plane { slope_north, .. } = &mut s.terrain {
                *slope_north = value;
            }
        ),
        row!(
            Site,
            "site.sample_spacing_m",
            "Sample spacing",
            "Sample spacing of the site",
            "Distance between samples on ground, roofs, walls and undersides",
            Metres,
            2,
            SAMPLE_SPACING_M,
            |s| s.sample_spacing_m,
            |s, value| s.sample_spacing_m = value,
            "automatic",
            |_| true,
            |_| 1.0
        ),
    ],
};

macro_rules! typical {
    ($field:ident, $name:literal, $whole:literal, $explanation:literal, $range:ident) => {
        row!(
            Site,
            concat!("site.typical_building.", stringify!($field)),
            $name,
            $whole,
            $explanation,
            Metres,
            1,
            $range,
            |s| Some(s.typical_building?.$field),
            |s, $field| s.typical_building =
                s.typical_building.map(|typical| TypicalBuilding { $field, ..typical })
        )
    };
}

/// Boxes assumed where nothing is modelled.
pub const TYPICAL: KnobGroup = KnobGroup {
    name: "Typical building",
    note: "",
    knobs: &[
        typical!(
            width_m,
            "Width",
            "Width of the typical building",
            "Along the longest side of the boundary",
            BUILDING_SIDE_M
        ),
        typical!(depth_m, "Depth", "Depth of the typical building", "Across that", BUILDING_SIDE_M),
        typical!(height_m, "Height", "Height of the typical building", "Of its roof", BUILDING_HEIGHT_M),
        typical!(
            spacing_m,
            "Spacing",
            "Spacing of typical buildings",
            "From centre to centre",
            BUILDING_SPACING_M
        ),
    ],
};

/// An input whose range other numbers of the structure narrow.
const fn narrowed(knob: Knob, narrowed: fn(&Structure, Range) -> (f64, f64)) -> Knob {
    let Scope::Structure(access) = knob.scope else { return knob };
    Knob { scope: Scope::Structure(Access { narrowed, ..access }), ..knob }
}

/// Heights of a deck's underside and of its top.
fn deck(structure: &Structure) -> Option<(f64, f64)> {
    if let StructureKind::Deck { soffit_m, top_m, .. } = structure.kind {
        Some((soffit_m, top_m))
    } else {
        None
    }
}

/// How high a structure is.
pub const STANDING: KnobGroup = KnobGroup {
    name: "Structure",
    note: "",
    knobs: &[
        row!(
            Structure,
            "site.structures[].kind.Extrusion.height_m",
            "Height",
            "Height",
            "Of the roof above the mean ground under the footprint",
            Metres,
            1,
            STRUCTURE_HEIGHT_M,
            |s| if let StructureKind::Extrusion { height_m } = s.kind { Some(height_m) } else { None },
            |s, value| if let StructureKind::Extrusion { height_m } = &mut s.kind {
                *height_m = value;
            }
        ),
        narrowed(
            row!(
                Structure,
                "site.structures[].kind.Deck.soffit_m",
                "Soffit",
                "Soffit",
                "Height of the underside above the mean ground under the footprint",
                Metres,
                1,
                SOFFIT_M,
                |s| deck(s).map(|(soffit_m, _)| soffit_m),
                |s, value| if let StructureKind::Deck { soffit_m, .. } = &mut s.kind {
                    *soffit_m = value;
                }
            ),
            |s, range| {
                (
                    range.least,
                    deck(s).map_or(range.most, |(_, top_m)| (top_m - DECK_THICKNESS_M).min(range.most)),
                )
            },
        ),
        narrowed(
            row!(
                Structure,
                "site.structures[].kind.Deck.top_m",
                "Top",
                "Top",
                "Height of the top above the mean ground under the footprint",
                Metres,
                1,
                STRUCTURE_HEIGHT_M,
                |s| deck(s).map(|(_, top_m)| top_m),
                |s, value| if let StructureKind::Deck { top_m, .. } = &mut s.kind {
                    *top_m = value;
                }
            ),
            |s, range| {
                (
                    deck(s)
                        .map_or(range.least, |(soffit_m, _)| (soffit_m + DECK_THICKNESS_M).max(range.least)),
                    range.most,
                )
            },
        ),
    ],
};
