//! The areas that passes lay their exposures over, as polygons in longitude and latitude: whatever flies them need not have
//! them drawn again.

use super::route::escaped;
use crate::LocalFrame;
use glam::DVec2;
use obliquity_planning::{GeoPoint, Outcome, RegionPart, Scenario, SiteOutline, pass_region};
use serde_json::{Value, json};
use std::fmt::Write;

/// What the polygons are.
const WHAT: &str = "the area over which a pass exposes: boundary with margin, shift and sweep, keep-outs cut out; positions are WGS 84";

/// The areas of a strategy's passes.
pub(super) struct Regions {
    strategy: String,
    frame: LocalFrame,
    passes: Vec<PassRegion>,
}

/// The area of one pass.
struct PassRegion {
    /// As in `stations.csv`, from 1.
    number: usize,
    /// In which place it is flown, from 1.
    flown: usize,
    pattern: &'static str,
    parts: Vec<RegionPart>,
}

impl Regions {
    /// Also which passes have none.
    pub(super) fn new(scenario: &Scenario, outcome: &Outcome, origin: GeoPoint) -> (Self, Vec<String>) {
        let mut regions =
            Regions { strategy: outcome.name.clone(), frame: LocalFrame::new(origin), passes: Vec::new() };
        let mut notes = Vec::new();
        let order = outcome.flight().map(|flight| flight.order.as_slice()).unwrap_or_default();
        for (index, planned) in outcome.passes.iter().enumerate() {
            let (number, pattern) = (index + 1, planned.pattern.name());
            let parts = parts(scenario, outcome, index).unwrap_or_default();
            if parts.is_empty() {
                notes.push(format!(
                    "pass {number} ({pattern}) has no region: it goes by what it is flown at, not by an area"
                ));
                continue;
            }
            let flown = order.iter().position(|flown| *flown == index).map_or(number, |at| at + 1);
            regions.passes.push(PassRegion { number, flown, pattern, parts });
        }
        (regions, notes)
    }

    fn place(&self, at_m: &DVec2) -> [f64; 2] {
        let place = self.frame.to_geo(*at_m);
        [place.longitude_deg, place.latitude_deg]
    }

    /// A ring that ends where it begins.
    fn ring(&self, ring_m: &[DVec2]) -> Vec<[f64; 2]> {
        ring_m.iter().chain(ring_m.first()).map(|at_m| self.place(at_m)).collect()
    }

    /// GeoJSON as RFC 7946 has it: outlines run counter-clockwise, holes clockwise.
    pub(super) fn geojson(&self) -> Value {
        let polygon = |part: &RegionPart| -> Vec<Vec<[f64; 2]>> {
            std::iter::once(&part.outline_m).chain(&part.holes_m).map(|ring| self.ring(ring)).collect()
        };
        let feature = |pass: &PassRegion| {
            let polygons: Vec<_> = pass.parts.iter().map(polygon).collect();
            let geometry = match polygons.as_slice() {
                [one] => json!({ "type": "Polygon", "coordinates": one }),
                _ => json!({ "type": "MultiPolygon", "coordinates": polygons }),
            };
            json!({
                "type": "Feature",
                "properties": {
                    "name": pass.name(),
                    "strategy": self.strategy,
                    "region_of_pass": pass.number,
                    "flown": pass.flown,
                    "pattern": pass.pattern,
                    "note": WHAT,
                },
                "geometry": geometry,
            })
        };
        let features: Vec<Value> = self.passes.iter().map(feature).collect();
        json!({ "type": "FeatureCollection", "features": features })
    }

    /// KML 2.2, on the ground.
    pub(super) fn kml(&self) -> String {
        let mut text = String::from(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n",
        );
        // Writing to a string cannot fail.
        let name = escaped(&self.strategy);
        let _ =
            writeln!(text, "<name>{name}: regions of the passes</name>\n<description>{WHAT}</description>");
        for pass in &self.passes {
            let _ = writeln!(text, "<Placemark><name>{}</name><MultiGeometry>", escaped(&pass.name()));
            for part in &pass.parts {
                let _ = writeln!(text, "{}", self.kml_polygon(part));
            }
            text.push_str("</MultiGeometry></Placemark>\n");
        }
        text.push_str("</Document>\n</kml>\n");
        text
    }

    fn kml_polygon(&self, part: &RegionPart) -> String {
        let ring = |ring_m: &[DVec2]| {
            let places = self.ring(ring_m);
            let places: Vec<String> = places.iter().map(|[lon, lat]| format!("{lon},{lat}")).collect();
            format!("<LinearRing><coordinates>{}</coordinates></LinearRing>", places.join(" "))
        };
        let holes =
            part.holes_m.iter().map(|hole| format!("<innerBoundaryIs>{}</innerBoundaryIs>", ring(hole)));
        format!(
            "<Polygon><altitudeMode>clampToGround</altitudeMode><outerBoundaryIs>{}</outerBoundaryIs>{}</Polygon>",
            ring(&part.outline_m),
            holes.collect::<String>()
        )
    }
}

impl PassRegion {
    fn name(&self) -> String {
        if self.flown == self.number {
            format!("pass {}: {}", self.number, self.pattern)
        } else {
            format!("pass {} (flown as {}): {}", self.number, self.flown, self.pattern)
        }
    }
}

/// Nothing of a pass that the scenario has lost, or that cannot be laid out.
fn parts(scenario: &Scenario, outcome: &Outcome, index: usize) -> Option<Vec<RegionPart>> {
    let planned = outcome.passes.get(index)?.laid()?;
    let strategy = scenario.strategy(outcome.strategy)?;
    let aircraft = scenario.equipment.aircraft(strategy.aircraft)?;
    let pass = strategy.passes.iter().find(|pass| pass.id == planned.pass)?;
    let outline = SiteOutline::new(&scenario.site).ok()?;
    pass_region(pass, aircraft, &outline, &scenario.conditions).ok()
}
