//! The route in longitude and latitude, one line for each sortie. Altitudes are heights of the site's frame.

use crate::LocalFrame;
use glam::DVec3;
use obliquity_planning::{GeoPoint, Outcome, Scenario};
use serde_json::{Value, json};
use std::fmt::Write;

/// What the altitudes are.
const ALTITUDES: &str = "altitudes are heights in the site's own frame, in metres";

/// A strategy's route on the earth.
pub(super) struct Route {
    name: String,
    take_off: [f64; 3],
    /// For each sortie, its corners: longitude, latitude, height.
    sorties: Vec<Vec<[f64; 3]>>,
}

impl Route {
    pub(super) fn new(scenario: &Scenario, outcome: &Outcome, origin: GeoPoint) -> Self {
        let frame = LocalFrame::new(origin);
        let place = |at_m: DVec3| {
            let place = frame.to_geo(at_m.truncate());
            [place.longitude_deg, place.latitude_deg, at_m.z]
        };
        let site = &scenario.site;
        let take_off_m = site.take_off_m.extend(site.terrain.height_m(site.take_off_m));
        let corners = sortie_corners(outcome);
        Route {
            name: outcome.name.clone(),
            take_off: place(take_off_m),
            sorties: corners.iter().map(|line| line.iter().map(|&at_m| place(at_m)).collect()).collect(),
        }
    }

    /// GeoJSON as RFC 7946 has it: a point for the take-off and a line for each sortie.
    pub(super) fn geojson(&self) -> Value {
        let feature = |name: String, geometry: Value| {
            json!({
                "type": "Feature",
                "properties": { "name": name, "strategy": self.name, "note": ALTITUDES },
                "geometry": geometry,
            })
        };
        let take_off =
            feature("take-off".to_owned(), json!({ "type": "Point", "coordinates": self.take_off }));
        let sortie = |(index, line): (usize, &Vec<[f64; 3]>)| {
            feature(format!("sortie {}", index + 1), json!({ "type": "LineString", "coordinates": line }))
        };
        let features: Vec<Value> =
            std::iter::once(take_off).chain(self.sorties.iter().enumerate().map(sortie)).collect();
        json!({ "type": "FeatureCollection", "features": features })
    }

    /// KML 2.2 with absolute altitudes.
    pub(super) fn kml(&self) -> String {
        let mut text = String::from(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n",
        );
        // Writing to a string cannot fail.
        let _ =
            writeln!(text, "<name>{}</name>\n<description>{ALTITUDES}</description>", escaped(&self.name));
        let _ = writeln!(
            text,
            "<Placemark><name>take-off</name><Point><coordinates>{}</coordinates></Point></Placemark>",
            coordinates(&[self.take_off])
        );
        for (index, line) in self.sorties.iter().enumerate() {
            let _ = writeln!(
                text,
                "<Placemark><name>sortie {}</name><LineString><altitudeMode>absolute</altitudeMode><coordinates>{}</coordinates></LineString></Placemark>",
                index + 1,
                coordinates(line)
            );
        }
        text.push_str("</Document>\n</kml>\n");
        text
    }
}

/// The corners of each sortie in flying order.
fn sortie_corners(outcome: &Outcome) -> Vec<Vec<DVec3>> {
    let mut sorties: Vec<Vec<DVec3>> = vec![Vec::new(); outcome.flight.sorties.len()];
    for flown in &outcome.flight.legs {
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

fn coordinates(line: &[[f64; 3]]) -> String {
    line.iter().map(|[lon, lat, z]| format!("{lon},{lat},{z}")).collect::<Vec<_>>().join(" ")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
