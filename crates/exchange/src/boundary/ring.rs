use super::BoundaryChoice;
use crate::{FileError, FileErrorKind, FileFault, LocalFrame, Place};
use glam::DVec2;
use obliquity_planning::{GeoPoint, limits, outline_faults, polygon};

/// Longest side of a boundary, east to west or south to north.
const LONGEST_M: f64 = 20_000.0;

/// Most polygons of one file whose faults are listed.
const MOST_FAULTS: usize = 20;

/// The mend of an outline that metres would mend.
const IN_DEGREES: &str = "draw it at its true size, in degrees of longitude and latitude (WGS 84)";

/// A polygon as a file gives it: closed rings of longitude and latitude.
#[derive(Debug, Default)]
pub(crate) struct RawPolygon {
    /// The name that the file gives it.
    pub(crate) name: Option<String>,
    /// Where it stands, in words: `feature 3`.
    pub(crate) at: String,
    /// Where it stands, if the reader knows.
    pub(crate) place: Option<Place>,
    /// Outer ring: (longitude, latitude), closed.
    pub(crate) outer: Vec<(f64, f64)>,
    /// Its other rings: holes, or what the file wrongly puts beside the outer ring.
    pub(crate) others: Vec<Vec<(f64, f64)>>,
    /// Whether some position has an altitude.
    pub(crate) altitudes: bool,
    /// Attributes that are numbers.
    pub(crate) numbers: Vec<(String, f64)>,
}

/// A point as a file gives it.
#[derive(Debug, Default)]
pub(crate) struct RawPoint {
    /// The name that the file gives it.
    pub(crate) name: Option<String>,
    /// Where it stands, in words: `feature 3`.
    pub(crate) at: String,
    /// Longitude and latitude.
    pub(crate) position: (f64, f64),
}

/// Everything of a file that has a place.
#[derive(Debug, Default)]
pub(crate) struct RawShapes {
    pub(crate) polygons: Vec<RawPolygon>,
    pub(crate) points: Vec<RawPoint>,
}

/// A number that stands in a text, with metres behind it or nothing: `12.5 m`.
pub(crate) fn number_in(text: &str) -> Option<f64> {
    let text = text.trim();
    let number = text.strip_suffix('m').unwrap_or(text).trim_end();
    number.parse::<f64>().ok().filter(|number| number.is_finite())
}

/// Turns the polygons of a file into choices; polygons that cannot be a boundary are left out if another one can.
pub(super) fn choices(file: &str, polygons: Vec<RawPolygon>) -> Result<Vec<BoundaryChoice>, FileError> {
    let mut choices = Vec::new();
    let mut faults = Vec::new();
    for (index, polygon) in polygons.into_iter().enumerate() {
        match choice(&polygon, index) {
            Ok(choice) => choices.push(choice),
            Err(message) => {
                faults
                    .push(FileFault { place: polygon.place, message: format!("{}: {message}", polygon.at) });
            }
        }
    }
    let Some(first) = choices.first_mut() else {
        return Err(if faults.is_empty() { no_polygon(file) } else { no_sound_polygon(file, faults) });
    };
    let more = faults.len().saturating_sub(MOST_FAULTS);
    let listed = faults.into_iter().take(MOST_FAULTS);
    first.notes.extend(listed.map(|fault| format!("left out, {}", fault.message)));
    if more > 0 {
        first.notes.push(format!("left out, {more} more polygons that cannot be a boundary"));
    }
    Ok(choices)
}

fn no_sound_polygon(file: &str, mut faults: Vec<FileFault>) -> FileError {
    let more = faults.len().saturating_sub(MOST_FAULTS);
    faults.truncate(MOST_FAULTS);
    if more > 0 {
        let message = format!("{more} more polygons have faults that are not listed; mend these first");
        faults.push(FileFault { place: None, message });
    }
    FileError { file: file.to_owned(), kind: FileErrorKind::Invalid, faults }
}

fn no_polygon(file: &str) -> FileError {
    let message = "the file must hold at least one polygon, but it has none; draw the boundary as a polygon and export it again";
    FileError::new(file, FileErrorKind::Invalid, message)
}

fn choice(polygon: &RawPolygon, index: usize) -> Result<BoundaryChoice, String> {
    let ring = open_ring(&polygon.outer)?;
    check_degrees(&ring)?;
    let about_first = LocalFrame::new(geo(ring[0]));
    let rough_m: Vec<DVec2> = ring.iter().map(|&at| about_first.to_local(geo(at))).collect();
    check_extent(&rough_m)?;
    let origin = rounded(about_first.to_geo(centre_m(&rough_m)));
    let frame = LocalFrame::new(origin);
    let ring_m: Vec<DVec2> = ring.iter().map(|&at| frame.to_local(geo(at))).collect();
    if let Some(fault) = outline_faults(&ring_m).into_iter().next() {
        return Err(format!("the outline {}", fault.mended_elsewhere(IN_DEGREES).message()));
    }
    Ok(BoundaryChoice {
        name: choice_name(polygon, index),
        origin,
        area_m2: polygon::area_m2(&ring_m),
        ring_m,
        notes: notes(polygon),
    })
}

/// Names come from strangers: one line, not too long.
fn choice_name(polygon: &RawPolygon, index: usize) -> String {
    line_of(polygon.name.as_deref().unwrap_or_default()).unwrap_or_else(|| format!("polygon {}", index + 1))
}

/// A name as one line, not too long; nothing for an empty one.
pub(crate) fn line_of(name: &str) -> Option<String> {
    let words = name.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty());
    let line: String = words.collect::<Vec<_>>().join(" ").chars().take(limits::NAME_CHARS).collect();
    (!line.is_empty()).then_some(line)
}

fn notes(polygon: &RawPolygon) -> Vec<String> {
    let mut notes = Vec::new();
    let (holes, beside): (Vec<_>, Vec<_>) =
        polygon.others.iter().partition(|ring| lies_in(ring, &polygon.outer));
    match holes.len() {
        0 => {}
        1 => notes.push("its hole is not used: what lies inside belongs to the site".to_owned()),
        n => notes.push(format!("its {n} holes are not used: what lies inside belongs to the site")),
    }
    match beside.len() {
        0 => {}
        1 => notes.push(format!("its second outer ring is not used: {ITS_OWN}")),
        n => notes.push(format!("its {n} further outer rings are not used: {ITS_OWN}")),
    }
    if polygon.altitudes {
        notes.push("its altitudes are not used: the ground starts level".to_owned());
    }
    notes
}

/// Why only one ring is the boundary, and the mend.
const ITS_OWN: &str = "a polygon has one; draw the others as polygons of their own";

/// Whether a ring is a hole of another one: most of its corners lie inside. A ring beside it has none there, and one that
/// crosses it is neither.
fn lies_in(ring: &[(f64, f64)], outer: &[(f64, f64)]) -> bool {
    let place = |&(lon, lat): &(f64, f64)| DVec2::new(lon, lat);
    let outer: Vec<DVec2> = outer.iter().map(place).collect();
    let inside = ring.iter().map(place).filter(|&at| polygon::contains(&outer, at)).count();
    2 * inside > ring.len()
}

/// Checks that the ring is closed, and leaves out its closing position and exact repeats.
pub(crate) fn open_ring(closed: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, String> {
    let count = closed.len();
    if count < 4 {
        return Err(format!(
            "a ring must have at least 4 positions, the last repeating the first, but it has {count}; add the missing ones"
        ));
    }
    if let Some(at) = closed.iter().position(|(lon, lat)| lon.is_nan() || lat.is_nan()) {
        let (lon, lat) = closed[at];
        return Err(format!(
            "every position must have a longitude and a latitude, but those of position {} are {lon} and {lat}; export it again",
            at + 1
        ));
    }
    let (first, last) = (closed[0], closed[count - 1]);
    if first != last {
        return Err(format!(
            "a ring must end where it begins, but it begins at {first:?} and ends at {last:?}; repeat the first position at the end"
        ));
    }
    let mut ring = closed.to_vec();
    ring.dedup();
    if ring.len() > 1 {
        ring.pop();
    }
    Ok(ring)
}

pub(crate) fn check_degrees(ring: &[(f64, f64)]) -> Result<(), String> {
    let outside =
        |&&(lon, lat): &&(f64, f64)| !limits::LONGITUDE_DEG.holds(lon) || !limits::LATITUDE_DEG.holds(lat);
    if let Some(&(lon, lat)) = ring.iter().find(outside) {
        let all_swapped = ring
            .iter()
            .all(|&(lon, lat)| limits::LONGITUDE_DEG.holds(lat) && limits::LATITUDE_DEG.holds(lon));
        let mend = if all_swapped {
            "perhaps they are swapped: longitude comes first"
        } else {
            "export it in degrees of longitude and latitude (WGS 84)"
        };
        return Err(format!(
            "longitude must lie within ±180 and latitude within ±90, but they are {lon} and {lat}; {mend}"
        ));
    }
    let (west, east) = ring.iter().fold((f64::MAX, f64::MIN), |(w, e), &(lon, _)| (w.min(lon), e.max(lon)));
    if east - west > 180.0 {
        return Err(format!(
            "a boundary must not cross the 180° meridian, but it reaches from {west} to {east}; split it there"
        ));
    }
    Ok(())
}

fn check_extent(ring_m: &[DVec2]) -> Result<(), String> {
    let least = ring_m.iter().copied().reduce(DVec2::min).unwrap_or_default();
    let most = ring_m.iter().copied().reduce(DVec2::max).unwrap_or_default();
    let extent_m = most - least;
    if extent_m.max_element() > LONGEST_M {
        return Err(format!(
            "a boundary must be at most {} km wide and high, but it is about {:.0} by {:.0} km; draw one site at a time",
            LONGEST_M / 1000.0,
            extent_m.x / 1000.0,
            extent_m.y / 1000.0
        ));
    }
    Ok(())
}

/// Centroid of the area inside a ring, or the mean of its corners where there is none.
fn centre_m(ring_m: &[DVec2]) -> DVec2 {
    let next = ring_m.iter().cycle().skip(1);
    let (mut twice_area, mut moment) = (0.0, DVec2::ZERO);
    for (&a, &b) in ring_m.iter().zip(next) {
        let cross = a.perp_dot(b);
        twice_area += cross;
        moment += (a + b) * cross;
    }
    if twice_area.abs() > 2.0 * limits::AREA_M2 {
        return moment / (3.0 * twice_area);
    }
    ring_m.iter().sum::<DVec2>() / ring_m.len().max(1) as f64
}

fn rounded(place: GeoPoint) -> GeoPoint {
    let round = |deg: f64| (deg * 1e6).round() / 1e6;
    GeoPoint { latitude_deg: round(place.latitude_deg), longitude_deg: round(place.longitude_deg) }
}

fn geo((longitude_deg, latitude_deg): (f64, f64)) -> GeoPoint {
    GeoPoint { latitude_deg, longitude_deg }
}
