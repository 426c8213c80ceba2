use super::BoundaryChoice;
use crate::{FileError, FileErrorKind, FileFault, LocalFrame, Place};
use glam::DVec2;
use obliquity_planning::{GeoPoint, limits, outline_faults, polygon};

/// Longest side of a boundary, east to west or south to north.
const LONGEST_M: f64 = 20_000.0;

/// A polygon as a file gives it: closed rings of longitude and latitude.
#[derive(Debug, Default)]
pub(super) struct RawPolygon {
    /// The name that the file gives it.
    pub(super) name: Option<String>,
    /// Where it stands, in words: `feature 3`.
    pub(super) at: String,
    /// Where it stands, if the reader knows.
    pub(super) place: Option<Place>,
    /// Outer ring: (longitude, latitude), closed.
    pub(super) outer: Vec<(f64, f64)>,
    /// Inner rings.
    pub(super) holes: usize,
    /// Whether some position has an altitude.
    pub(super) altitudes: bool,
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
        return Err(if faults.is_empty() {
            no_polygon(file)
        } else {
            FileError { file: file.to_owned(), kind: FileErrorKind::Invalid, faults }
        });
    };
    first.notes.extend(faults.into_iter().map(|fault| format!("left out, {}", fault.message)));
    Ok(choices)
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
        return Err(format!("the outline {}", fault.message));
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
    let name = polygon.name.as_deref().unwrap_or_default();
    let words = name.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty());
    let line: String = words.collect::<Vec<_>>().join(" ").chars().take(limits::NAME_CHARS).collect();
    if line.is_empty() { format!("polygon {}", index + 1) } else { line }
}

fn notes(polygon: &RawPolygon) -> Vec<String> {
    let mut notes = Vec::new();
    match polygon.holes {
        0 => {}
        1 => notes.push("its hole is not used: what lies inside belongs to the site".to_owned()),
        n => notes.push(format!("its {n} holes are not used: what lies inside belongs to the site")),
    }
    if polygon.altitudes {
        notes.push("its altitudes are not used: the ground starts level".to_owned());
    }
    notes
}

/// Checks that the ring is closed, and leaves out its closing position and exact repeats.
fn open_ring(closed: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, String> {
    let count = closed.len();
    if count < 4 {
        return Err(format!(
            "a ring must have at least 4 positions, the last repeating the first, but it has {count}; add the missing ones"
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

fn check_degrees(ring: &[(f64, f64)]) -> Result<(), String> {
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
