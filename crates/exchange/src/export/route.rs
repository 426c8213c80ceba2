//! The route in longitude and latitude, one line for each sortie.
//!
//! A site's heights are in its own datum, which no other program knows. What is right over anyone's terrain is the height
//! above the ground: that is what these files hold.

use crate::LocalFrame;
use glam::DVec3;
use obliquity_planning::{Flight, GeoPoint, Scenario, Terrain};
use serde_json::{Value, json};
use std::fmt::Write;

/// What the heights are.
const HEIGHTS: &str = "heights are metres above the ground below each vertex, as the site was planned with it; positions are \
                       WGS 84";

/// Longest stretch without a vertex, over ground: between two of them a line is straight whatever the ground does.
const LONGEST_M: f64 = 20.0;

/// Farthest that a line may lie from the route flown, over the ground it was planned with: there is a vertex wherever the
/// ground bends more than this away from the straight line between its neighbours.
const SAG_M: f64 = 0.5;

/// A strategy's route on the earth.
pub(super) struct Route {
    name: String,
    /// Where sorties may start, the site's own place first.
    take_offs: Vec<[f64; 2]>,
    sorties: Vec<Sortie>,
}

/// The flying between two battery changes.
struct Sortie {
    line: Vec<Vertex>,
    /// Number of the take-off point that it starts at, where there are several.
    from: Option<u32>,
}

/// A place of the route.
struct Vertex {
    longitude_latitude: [f64; 2],
    above_ground_m: f64,
}

impl Route {
    pub(super) fn new(scenario: &Scenario, name: &str, flight: &Flight, origin: GeoPoint) -> Self {
        let frame = LocalFrame::new(origin);
        let place = |at_m| {
            let place = frame.to_geo(at_m);
            [place.longitude_deg, place.latitude_deg]
        };
        let terrain = &scenario.site.terrain;
        let vertex = |at_m: DVec3| Vertex {
            longitude_latitude: place(at_m.truncate()),
            // −0 is written as 0.
            above_ground_m: at_m.z - terrain.height_m(at_m.truncate()) + 0.0,
        };
        let lines = sortie_corners(flight).into_iter().map(|corners| along_ground(terrain, &corners));
        Route {
            name: name.to_owned(),
            take_offs: flight.take_offs_m.iter().map(|at_m| place(at_m.truncate())).collect(),
            sorties: lines
                .zip(&flight.sorties)
                .map(|(line, sortie)| Sortie {
                    line: line.into_iter().map(vertex).collect(),
                    from: (flight.take_offs_m.len() > 1).then_some(sortie.home + 1),
                })
                .collect(),
        }
    }

    /// Each with its name: the first one is the site's.
    fn named_take_offs(&self) -> impl Iterator<Item = (String, [f64; 2])> {
        let name = |at: usize| if at == 0 { "take-off".to_owned() } else { format!("take-off {}", at + 1) };
        self.take_offs.iter().enumerate().map(move |(at, place)| (name(at), *place))
    }

    /// GeoJSON as RFC 7946 has it: a point for each take-off and a line for each sortie. Its section 4 keeps the third
    /// number of a position for heights above the ellipsoid, which nobody knows here: positions are without, and the
    /// heights above the ground stand beside them, one for each.
    pub(super) fn geojson(&self) -> Value {
        let feature = |name: String, geometry: Value| {
            json!({
                "type": "Feature",
                "properties": { "name": name, "strategy": self.name, "note": HEIGHTS },
                "geometry": geometry,
            })
        };
        let take_offs = self
            .named_take_offs()
            .map(|(name, place)| feature(name, json!({ "type": "Point", "coordinates": place })));
        let sortie = |(index, Sortie { line, from }): (usize, &Sortie)| {
            let places: Vec<[f64; 2]> = line.iter().map(|vertex| vertex.longitude_latitude).collect();
            let heights: Vec<f64> = line.iter().map(|vertex| vertex.above_ground_m).collect();
            let mut sortie = feature(
                format!("sortie {}", index + 1),
                json!({ "type": "LineString", "coordinates": places }),
            );
            sortie["properties"]["height_above_ground_m"] = json!(heights);
            if let Some(from) = from {
                sortie["properties"]["take_off"] = json!(from);
            }
            sortie
        };
        let features: Vec<Value> = take_offs.chain(self.sorties.iter().enumerate().map(sortie)).collect();
        json!({ "type": "FeatureCollection", "features": features })
    }

    /// KML 2.2 with altitudes relative to the ground.
    pub(super) fn kml(&self) -> String {
        let mut text = String::from(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n",
        );
        // Writing to a string cannot fail.
        let _ = writeln!(text, "<name>{}</name>\n<description>{HEIGHTS}</description>", escaped(&self.name));
        for (name, [longitude, latitude]) in self.named_take_offs() {
            let _ = writeln!(
                text,
                "<Placemark><name>{name}</name><Point><altitudeMode>clampToGround</altitudeMode><coordinates>{longitude},{latitude}</coordinates></Point></Placemark>",
            );
        }
        for (index, Sortie { line, from }) in self.sorties.iter().enumerate() {
            let from = from.map_or_else(String::new, |from| {
                format!("<description>starts and lands at take-off {from}</description>")
            });
            let _ = writeln!(
                text,
                "<Placemark><name>sortie {}</name>{from}<LineString><altitudeMode>relativeToGround</altitudeMode><coordinates>{}</coordinates></LineString></Placemark>",
                index + 1,
                coordinates(line)
            );
        }
        text.push_str("</Document>\n</kml>\n");
        text
    }
}

/// The corners of each sortie in flying order.
fn sortie_corners(flight: &Flight) -> Vec<Vec<DVec3>> {
    let mut sorties: Vec<Vec<DVec3>> = vec![Vec::new(); flight.sorties.len()];
    for flown in &flight.legs {
        let Some(line) = sorties.get_mut(flown.sortie as usize) else { continue };
        for at_m in flown.leg.corners_m() {
            if line.last() != Some(&at_m) {
                line.push(at_m);
            }
        }
    }
    // A line has at least two positions.
    sorties.retain(|line| line.len() > 1);
    sorties
}

/// A line with as many places more as it takes to stay beside itself when its heights are given above the ground.
fn along_ground(terrain: &Terrain, corners_m: &[DVec3]) -> Vec<DVec3> {
    let mut line: Vec<DVec3> = corners_m.first().copied().into_iter().collect();
    for pair in corners_m.windows(2) {
        let (from_m, to_m) = (pair[0], pair[1]);
        let steps = (from_m.truncate().distance(to_m.truncate()) / LONGEST_M).ceil().max(1.0) as usize;
        for step in 0..steps {
            let at = |k: usize| if k == steps { to_m } else { from_m.lerp(to_m, k as f64 / steps as f64) };
            follow(terrain, at(step), at(step + 1), &mut line);
        }
    }
    line
}

/// Adds the end of a straight piece to a line, and before it the places where the ground bends.
fn follow(terrain: &Terrain, from_m: DVec3, to_m: DVec3, line: &mut Vec<DVec3>) {
    let shares = terrain.breaks(from_m.truncate(), to_m.truncate());
    let ground_m = |share: &f64| (*share, terrain.height_m(from_m.truncate().lerp(to_m.truncate(), *share)));
    let profile: Vec<(f64, f64)> = shares.iter().map(ground_m).collect();
    let mut kept = Vec::new();
    bends(&profile, &mut kept);
    line.extend(kept.into_iter().map(|share| from_m.lerp(to_m, share)));
    line.push(to_m);
}

/// The shares at which a profile has to be broken to stay within [`SAG_M`] of straight pieces: always the farthest place
/// first, as Douglas and Peucker have it.
fn bends(profile: &[(f64, f64)], kept: &mut Vec<f64>) {
    let (Some(&(start, first_m)), Some(&(end, last_m))) = (profile.first(), profile.last()) else { return };
    let off_m = |&(share, height_m): &(f64, f64)| {
        (height_m - first_m - (last_m - first_m) * (share - start) / (end - start)).abs()
    };
    let inner = 1..profile.len().saturating_sub(1);
    let Some(farthest) = inner.max_by(|&a, &b| off_m(&profile[a]).total_cmp(&off_m(&profile[b]))) else {
        return;
    };
    if off_m(&profile[farthest]) > SAG_M {
        bends(&profile[..=farthest], kept);
        kept.push(profile[farthest].0);
        bends(&profile[farthest..], kept);
    }
}

fn coordinates(line: &[Vertex]) -> String {
    let position = |Vertex { longitude_latitude: [longitude, latitude], above_ground_m }: &Vertex| {
        format!("{longitude},{latitude},{above_ground_m}")
    };
    line.iter().map(position).collect::<Vec<_>>().join(" ")
}

pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
