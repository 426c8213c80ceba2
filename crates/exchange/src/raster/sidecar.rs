//! The `.prj` file beside an Esri ASCII grid, which says what its coordinates are.

use super::RasterFrame;
use crate::files::read_bounded;
use std::path::Path;

/// Longest sidecar that is read; they are a few hundred bytes.
const MOST_BYTES: u64 = 1 << 16;

/// What a sidecar says, as far as it is understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SidecarSays {
    /// Longitude and latitude in degrees.
    Degrees,
    /// Metres or feet of a projection.
    Projected,
}

/// What the sidecar of a raster says; nothing where there is none, or none that is understood.
pub(super) fn said(raster: &Path) -> Option<SidecarSays> {
    let read = |extension: &str| read_bounded(&raster.with_extension(extension), MOST_BYTES).ok();
    let bytes = read("prj").or_else(|| read("PRJ"))?;
    understood(&String::from_utf8_lossy(&bytes))
}

/// Well-known text begins with the kind of system; the older form has a line `Projection GEOGRAPHIC`.
fn understood(text: &str) -> Option<SidecarSays> {
    let words = text.to_ascii_uppercase();
    let starts = |kinds: &[&str]| kinds.iter().any(|kind| words.trim_start().starts_with(kind));
    if starts(&["GEOGCS", "GEOGCRS", "GEODCRS", "GEOGRAPHICCRS"]) {
        return Some(SidecarSays::Degrees);
    }
    if starts(&["PROJCS", "PROJCRS", "PROJECTEDCRS"]) {
        return Some(SidecarSays::Projected);
    }
    let mut lines = words.lines().map(|line| line.split_ascii_whitespace().collect::<Vec<_>>());
    let projection = lines.find(|line| line.first() == Some(&"PROJECTION"))?;
    Some(if projection.get(1) == Some(&"GEOGRAPHIC") { SidecarSays::Degrees } else { SidecarSays::Projected })
}

/// The frame to take a raster in, and what to say about it.
pub(super) fn frame_and_note(said: Option<SidecarSays>, asked: RasterFrame) -> (RasterFrame, Option<String>) {
    match (said, asked) {
        (Some(SidecarSays::Degrees), RasterFrame::OfFile) => {
            let told =
                "the .prj file beside the grid says longitude and latitude: taken as degrees on WGS 84";
            (RasterFrame::Geographic, Some(told.to_owned()))
        }
        (
            Some(SidecarSays::Degrees),
            RasterFrame::Local | RasterFrame::UtmNorth(_) | RasterFrame::UtmSouth(_),
        ) => {
            let told = "the .prj file beside the grid says longitude and latitude, but it was taken as metres: check \
                        which is true";
            (asked, Some(told.to_owned()))
        }
        (Some(SidecarSays::Projected), RasterFrame::Geographic) => {
            let told = "the .prj file beside the grid says a projection, but it was taken as degrees: check which is true";
            (asked, Some(told.to_owned()))
        }
        _ => (asked, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Memory: how well-known text, old and new, and the older keyword form begin.
    #[test]
    fn kinds_of_systems_are_told_apart() {
        let cases = [
            ("GEOGCS[\"x\",DATUM[\"y\"]]", Some(SidecarSays::Degrees)),
            ("\n geogcrs[\"x\"]", Some(SidecarSays::Degrees)),
            ("PROJCS[\"x\",GEOGCS[\"y\"]]", Some(SidecarSays::Projected)),
            ("Projection    GEOGRAPHIC\nUnits DD\n", Some(SidecarSays::Degrees)),
            ("Projection UTM\nZone 32\n", Some(SidecarSays::Projected)),
            ("nothing of the kind", None),
            ("", None),
        ];
        for (text, expected) in cases {
            assert_eq!(understood(text), expected, "{text}");
        }
    }
}
