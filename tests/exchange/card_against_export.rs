//! The set-up card against the export of the same strategy: what is to be keyed in is what is flown.
//!
//! The checks know the card's text, `stations.csv`, `camera.json` and `route.geojson`, and the site; nothing of how a pass
//! is laid out. Figures are printed to a tenth of a metre, so that half of that is allowed, and rounding.

use crate::generate;
use glam::{DVec2, DVec3};
use obliquity_exchange::{
    Card, ExportTo, LocalFrame, Replace, Units, ViewRows, export_strategy, set_up_card,
};
use obliquity_planning::*;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Half a tenth of a metre, and rounding.
const TENTH_M: f64 = 0.0501;
const ORIGIN: GeoPoint = GeoPoint { latitude_deg: -31.4, longitude_deg: -98.7 };

/// Width of the column of labels.
const LABEL: usize = 22;

/// What stands behind each label of one pass, and of what is below the passes.
type Lines = BTreeMap<String, String>;

struct CardText {
    /// Pattern and lines, in the order in which the passes are listed.
    passes: Vec<(String, Lines)>,
    below: Lines,
}

fn read_card(text: &str) -> CardText {
    let mut card = CardText { passes: Vec::new(), below: Lines::new() };
    let mut in_pass = false;
    for line in text.lines() {
        if let Some(title) = line.strip_prefix("Pass ") {
            let kind = title.split(": ").nth(1).unwrap();
            card.passes.push((kind.to_owned(), Lines::new()));
            in_pass = true;
        } else if !line.starts_with(' ') && !line.is_empty() {
            in_pass = false;
        } else if let Some(row) = line.strip_prefix("  ").filter(|row| row.is_char_boundary(LABEL)) {
            let (label, value) = (row[..LABEL].trim().to_owned(), row[LABEL..].trim().to_owned());
            let lines = match card.passes.last_mut().filter(|_| in_pass) {
                Some((_, lines)) => lines,
                None => &mut card.below,
            };
            lines.entry(label).or_insert(value);
        }
    }
    // The card numbers passes as they are flown, and says which of the list it is where that differs.
    let listed = |(at, (_, lines)): (usize, &(String, Lines))| -> usize {
        lines.get("listed as").map_or(at + 1, |as_| as_.strip_prefix("pass ").unwrap().parse().unwrap())
    };
    let order: Vec<usize> = card.passes.iter().enumerate().map(listed).collect();
    let mut passes: Vec<_> = order.into_iter().zip(card.passes).collect();
    passes.sort_by_key(|(listed, _)| *listed);
    assert!(passes.iter().enumerate().all(|(at, (listed, _))| *listed == at + 1), "each once");
    card.passes = passes.into_iter().map(|(_, pass)| pass).collect();
    card
}

/// The numbers before a unit in the first part of a figure, before its other value and its note.
fn numbers(value: &str, unit: &str) -> Vec<f64> {
    let first = value.split(['(', ',']).next().unwrap().replace('−', "-");
    let words: Vec<&str> = first.split_whitespace().collect();
    let before = words.windows(2).filter(|pair| pair[1] == unit);
    before.map(|pair| pair[0].parse().unwrap_or_else(|_| panic!("no number in {value:?}"))).collect()
}

fn one(lines: &Lines, label: &str, unit: &str) -> f64 {
    let value = lines.get(label).unwrap_or_else(|| panic!("no {label} in {lines:#?}"));
    *numbers(value, unit).first().unwrap_or_else(|| panic!("no {unit} in {value:?}"))
}

/// A figure that is one length or two.
fn range(lines: &Lines, label: &str) -> Option<(f64, f64)> {
    let found = numbers(lines.get(label)?, "m");
    Some((found[0], *found.last().unwrap()))
}

#[derive(Debug, Clone, Copy)]
struct Station {
    time_s: f64,
    at_m: DVec3,
    heading_deg: f64,
    tilt_deg: f64,
}

struct Exported {
    passes: BTreeMap<usize, Vec<Station>>,
    camera: Value,
    route: Value,
}

fn export(scenario: &Scenario, outcome: &Outcome) -> Exported {
    let folder = tempfile::tempdir().unwrap();
    let into = ExportTo { folder: folder.path(), replace: Replace::Nothing, inputs: &[] };
    export_strategy(&into, scenario, outcome, ViewRows::LeftOut, &NoWatch).unwrap();
    let read = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    let mut passes: BTreeMap<usize, Vec<Station>> = BTreeMap::new();
    for row in read("stations.csv").lines().skip(1) {
        let f: Vec<f64> = row.split(',').map(|field| field.parse().unwrap()).collect();
        passes.entry(f[0] as usize).or_default().push(Station {
            time_s: f[2],
            at_m: DVec3::new(f[3], f[4], f[5]),
            heading_deg: f[6],
            tilt_deg: f[7],
        });
    }
    let json = |name: &str| serde_json::from_str(&read(name)).unwrap();
    Exported { passes, camera: json("camera.json"), route: json("route.geojson") }
}

/// One pass of the card against its stations.
struct Check<'a> {
    which: String,
    scenario: &'a Scenario,
    pass: &'a Pass,
    lines: &'a Lines,
    stations: &'a [Station],
    camera: &'a Value,
}

fn apart_deg(a: f64, b: f64) -> f64 {
    ((a - b + 540.0).rem_euclid(360.0) - 180.0).abs()
}

impl Check<'_> {
    fn near(&self, what: &str, shown: f64, measured: f64, tolerance: f64) {
        assert!(
            (shown - measured).abs() <= tolerance,
            "{}: {what}: the card says {shown}, the stations {measured}\n{:#?}",
            self.which,
            self.lines
        );
    }

    fn ground_m(&self, at_m: DVec3) -> f64 {
        self.scenario.site.terrain.height_m(at_m.truncate())
    }

    fn all(&self) {
        let count: f64 = self.lines["images"].split([',', ' ']).next().unwrap().parse().unwrap();
        self.near("images", count, self.stations.len() as f64, 0.0);
        self.heights();
        self.speed();
        self.cameras();
        self.nominal_gsd();
        match self.pass.pattern.kind() {
            PatternKind::Orbit => self.rings(),
            PatternKind::Facade => self.rows(),
            PatternKind::Strips => self.strips(),
            PatternKind::Underside => self.underside(),
            PatternKind::Corridor | PatternKind::Listed => {}
        }
        self.over_ground();
    }

    fn heights(&self) {
        let site = &self.scenario.site;
        let home_z_m = site.terrain.height_m(site.take_off_m);
        let over = self.stations.iter().map(|s| s.at_m.z - home_z_m);
        let (low, high) = over.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(z), h.max(z)));
        let label = if self.lines.contains_key("heights") { "heights" } else { "over take-off" };
        let shown = range(self.lines, label).unwrap();
        self.near("lowest", shown.0, low, TENTH_M);
        self.near("highest", shown.1, high, TENTH_M);
    }

    /// No two neighbours are flown between faster than the card says.
    fn speed(&self) {
        let shown = one(self.lines, "speed", "m/s");
        let mut stations = self.stations.to_vec();
        stations.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        let Some((_, longest_m)) = range(self.lines, "air base") else { return };
        for pair in stations.windows(2).filter(|pair| same_line(pair, longest_m)) {
            let flown = pair[0].at_m.distance(pair[1].at_m) / (pair[1].time_s - pair[0].time_s);
            assert!(flown <= shown + 0.0101, "{}: flown at {flown} m/s, {shown} on the card", self.which);
        }
    }

    /// Every station looks as one of the card's cameras does, and every camera is used.
    fn cameras(&self) {
        let cameras: Vec<&String> = self
            .lines
            .iter()
            .filter(|(label, _)| label.starts_with("camera"))
            .map(|(_, value)| value)
            .collect();
        let tilt = |value: &str| -> f64 {
            value.strip_prefix("tilt ").unwrap().split('°').next().unwrap().parse().unwrap()
        };
        for station in self.stations {
            let fits = cameras.iter().any(|value| (tilt(value) - station.tilt_deg).abs() <= TENTH_M);
            assert!(fits, "{}: a tilt of {} is not on the card: {cameras:?}", self.which, station.tilt_deg);
        }
        if self.pass.pattern.kind() != PatternKind::Strips {
            return;
        }
        for station in self.stations {
            let headings = |value: &str| -> Vec<f64> {
                let looks = value.split(", looks ").nth(1).unwrap();
                let parts = looks.split(", on return strips ");
                parts.map(|part| part.split('°').next().unwrap().parse().unwrap()).collect()
            };
            let looks = |value: &&&String| {
                (tilt(value) - station.tilt_deg).abs() <= TENTH_M
                    && headings(value).iter().any(|deg| apart_deg(*deg, station.heading_deg) <= 0.501)
            };
            assert!(cameras.iter().any(|value| looks(&value)), "{}: {station:?}: {cameras:?}", self.which);
        }
    }

    fn focal_length_px(&self) -> f64 {
        self.camera["focal_length_px"].as_f64().unwrap()
    }

    fn nominal_gsd(&self) {
        let label = if self.lines.contains_key("stand-off") { "stand-off" } else { "height" };
        let expected_cm = 100.0 * one(self.lines, label, "m") / self.focal_length_px();
        // The distance is printed to a tenth of a metre, the GSD to a hundredth of a centimetre.
        let tolerance = 0.0051 + 100.0 * TENTH_M / self.focal_length_px();
        self.near("nominal GSD", one(self.lines, "nominal GSD", "cm"), expected_cm, tolerance);
    }

    /// Distances between neighbours of a line: the least and the greatest that are no gaps.
    fn air_base(&self, bases_m: &[f64]) {
        let Some((low, high)) = range(self.lines, "air base") else {
            assert!(bases_m.is_empty(), "{}: no air base on the card, but {bases_m:?}", self.which);
            return;
        };
        let least = bases_m.iter().copied().fold(f64::INFINITY, f64::min);
        self.near("least air base", low, least, TENTH_M);
        assert!(
            bases_m.iter().any(|base| (base - high).abs() <= TENTH_M),
            "{}: no two exposures are {high} m apart",
            self.which
        );
        let overlap = |base_m: f64| 100.0 * (1.0 - base_m / self.extents_m().0);
        self.overlaps("forward overlap", (overlap(high), overlap(low)), self.pass.forward_overlap);
    }

    fn spacing(&self, label: &str, spacings_m: &[f64]) {
        let Some((low, high)) = range(self.lines, label) else {
            assert!(spacings_m.is_empty(), "{}: no {label} on the card, but {spacings_m:?}", self.which);
            assert!(!self.lines.contains_key("sidelap"), "{}: a sidelap without a neighbour", self.which);
            return;
        };
        let least = spacings_m.iter().copied().fold(f64::INFINITY, f64::min);
        self.near(label, low, least, TENTH_M);
        let any = spacings_m.iter().any(|spacing| (spacing - high).abs() <= TENTH_M);
        assert!(any, "{}: no neighbours are {high} m apart: {spacings_m:?}", self.which);
        if label == "ring spacing" {
            assert!(!self.lines.contains_key("sidelap"), "{}: rings are set by their heights", self.which);
            return;
        }
        let overlap = |spacing_m: f64| 100.0 * (1.0 - spacing_m / self.extents_m().1);
        self.overlaps("sidelap", (overlap(high), overlap(low)), self.pass.sidelap);
    }

    /// What was set stands first and is reached, as flown.
    fn overlaps(&self, label: &str, (least, most): (f64, f64), set: f64) {
        let value = &self.lines[label];
        let percents: Vec<f64> = value
            .split('%')
            .filter_map(|part| part.trim().rsplit([' ', ',']).next()?.replace('−', "-").parse().ok())
            .collect();
        self.near(label, percents[0], 100.0 * set, TENTH_M);
        // Lengths printed to a tenth of a metre over frames of some tens of metres.
        let tolerance = TENTH_M + 100.0 * 2.0 * TENTH_M / self.extents_m().0.min(self.extents_m().1);
        self.near(label, percents[1], least, tolerance);
        self.near(label, *percents.last().unwrap(), most, tolerance);
        assert!(percents[1] >= percents[0] - TENTH_M, "{}: {label} falls short: {value}", self.which);
    }

    /// Extents of a frame along and across the flight.
    fn extents_m(&self) -> (f64, f64) {
        let label = if self.lines.contains_key("stand-off") { "stand-off" } else { "height" };
        let gsd_m = one(self.lines, label, "m") / self.focal_length_px();
        let side = |name: &str| self.camera[name].as_f64().unwrap() * gsd_m;
        let (width_m, height_m) = (side("width_px"), side("height_px"));
        let across = match self.pass.attitudes[0].aim {
            Aim::FromTrack { deg } | Aim::FromStrips { deg } => apart_deg(deg, 0.0),
            Aim::AtSubject { .. } => 90.0,
            Aim::FromNorth { .. } => panic!("no drawn pass holds a compass direction"),
        };
        if (across - 90.0).abs() < 1.0 { (width_m, height_m) } else { (height_m, width_m) }
    }

    fn strips(&self) {
        let value = &self.lines["strips run"];
        let azimuth = value.split('°').next().unwrap().parse::<f64>().unwrap();
        // The azimuth is printed in whole degrees: its own stations know it better.
        let along = self.stations.windows(2).map(|pair| (pair[1].at_m - pair[0].at_m).truncate());
        let along = along.filter(|way| {
            let deg = way.x.atan2(way.y).to_degrees();
            way.length() > 0.5 && apart_deg(2.0 * deg, 2.0 * azimuth) < 1.1
        });
        let Some(along) = along.max_by(|a, b| a.length().total_cmp(&b.length())) else { return };
        let (along, right) = (along.normalize(), -along.normalize().perp());
        let mut lines: BTreeMap<i64, Vec<&Station>> = BTreeMap::new();
        for station in self.stations {
            let across = station.at_m.truncate().dot(right);
            let line = lines.keys().copied().find(|key| (across - *key as f64 / 100.0).abs() < 0.3);
            lines.entry(line.unwrap_or((across * 100.0).round() as i64)).or_default().push(station);
        }
        let count: usize = self.lines["strips"].parse().unwrap();
        let skipped = self.lines["images"].contains("skipped");
        assert!(lines.len() <= count && (skipped || lines.len() == count), "{}: {count} strips", self.which);
        let middles: Vec<f64> = lines
            .values()
            .map(|on| on.iter().map(|s| s.at_m.truncate().dot(right)).sum::<f64>() / on.len() as f64)
            .collect();
        if !skipped {
            let spacings: Vec<f64> = middles.windows(2).map(|pair| pair[1] - pair[0]).collect();
            self.spacing("strip spacing", &spacings);
        }
        let mut bases = Vec::new();
        for on in lines.values() {
            // Of a cycle every attitude has its own base.
            let mut by_look: BTreeMap<(i64, i64), Vec<f64>> = BTreeMap::new();
            for station in on {
                let look = ((station.tilt_deg * 100.0) as i64, (station.heading_deg * 100.0) as i64);
                by_look.entry(look).or_default().push(station.at_m.truncate().dot(along));
            }
            for places in by_look.values_mut() {
                places.sort_by(f64::total_cmp);
                bases.extend(places.windows(2).map(|pair| pair[1] - pair[0]));
            }
        }
        // Two sections of a strip, or a ground that is followed, may stand nearer together than a base.
        if self.scenario.site.keep_outs.is_empty() && is_convex(&self.scenario.site.boundary_m) {
            self.air_base(&bases);
        }
    }

    fn rings(&self) {
        let centre = {
            let value = &self.lines["centre"];
            let number = |sides: [&str; 2]| -> f64 {
                let (side, sign) =
                    sides.iter().zip([1.0, -1.0]).find(|(side, _)| value.contains(*side)).unwrap();
                let before = value.split(&format!(" m {side}")).next().unwrap();
                sign * before.rsplit([' ', ';']).next().unwrap().parse::<f64>().unwrap()
            };
            let local = DVec2::new(number(["east", "west"]), number(["north", "south"]));
            let degrees: Vec<f64> = value
                .split('°')
                .take(2)
                .map(|t| t.trim_matches([',', ' ']).replace('−', "-").parse().unwrap())
                .collect();
            let place = GeoPoint { latitude_deg: degrees[0], longitude_deg: degrees[1] };
            // A millionth of a degree is 0.11 m.
            let apart_m = LocalFrame::new(ORIGIN).to_local(place).distance(local);
            assert!(
                apart_m < 0.15,
                "{}: the two ways of saying the centre differ by {apart_m} m",
                self.which
            );
            local
        };
        let (radius, circle) = (one(self.lines, "radius", "m"), {
            self.lines["stand-off"]
                .split("circle of ")
                .nth(1)
                .map_or(0.0, |rest| rest.split(' ').next().unwrap().parse().unwrap())
        });
        self.near("stand-off", one(self.lines, "stand-off", "m"), radius - circle, 3.0 * TENTH_M);
        for station in self.stations {
            let from_centre = station.at_m.truncate().distance(centre);
            // The centre is printed to a tenth of a metre in both directions.
            self.near("radius", radius, from_centre, TENTH_M + TENTH_M * 1.5);
            let inward = centre - station.at_m.truncate();
            let inward_deg = inward.x.atan2(inward.y).to_degrees();
            assert!(apart_deg(station.heading_deg, inward_deg) < 1.0, "{}: {station:?}", self.which);
        }
        let ground_m = self.scenario.site.terrain.height_m(centre);
        let shown = numbers(&self.lines["ring heights"].replace(',', ""), "m");
        let mut rings: BTreeMap<i64, Vec<&Station>> = BTreeMap::new();
        for station in self.stations {
            rings.entry((station.at_m.z * 1000.0).round() as i64).or_default().push(station);
        }
        assert_eq!(rings.len(), shown.len(), "{}", self.which);
        assert_eq!(self.lines["rings"], rings.len().to_string(), "{}", self.which);
        for height in &shown {
            let flown = rings.values().map(|ring| (ring[0].at_m.z - ground_m - height).abs());
            // The ground is asked for at the printed centre.
            assert!(flown.fold(f64::INFINITY, f64::min) < 3.0 * TENTH_M, "{}: {height}", self.which);
        }
        let bases: Vec<f64> = rings
            .values()
            .flat_map(|ring| {
                ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| a.at_m.distance(b.at_m))
            })
            .collect();
        self.air_base(&bases);
        let levels: Vec<f64> = rings.values().map(|ring| ring[0].at_m.z).collect();
        let spacings: Vec<f64> = levels.windows(2).map(|pair| pair[1] - pair[0]).collect();
        self.spacing("ring spacing", &spacings);
    }

    fn rows(&self) {
        let stand_off = one(self.lines, "stand-off", "m");
        let Pattern::Facade(Facade { structure, others, .. }) = &self.pass.pattern else {
            panic!("a facade")
        };
        let alone = self.scenario.site.structures.iter().find(|s| s.id == *structure).unwrap();
        let mut rows: BTreeMap<(i64, i64, i64), Vec<&Station>> = BTreeMap::new();
        for station in self.stations {
            let axis = DVec2::from_angle((90.0 - station.heading_deg).to_radians());
            let before = station.at_m.truncate().dot(axis);
            if others.is_empty() {
                let ring = &alone.footprint_m;
                let sides = ring.iter().zip(ring.iter().cycle().skip(1));
                let gaps = sides.filter(|(a, b)| ((**b - **a).normalize().dot(axis)).abs() < 1e-6);
                let nearest = gaps.map(|(a, _)| (a.dot(axis) - before - stand_off).abs());
                let nearest = nearest.fold(f64::INFINITY, f64::min);
                assert!(nearest <= TENTH_M, "{}: {station:?} is {nearest} m off its stand-off", self.which);
            }
            let key = |value: f64| (value * 100.0).round() as i64;
            let row = (key(station.heading_deg), key(before), key(station.at_m.z));
            rows.entry(row).or_default().push(station);
        }
        let count: usize = self.lines["rows"].parse().unwrap();
        // Two walls may lie in one plane.
        assert!(rows.len() <= count, "{}: {} rows, {count} on the card", self.which, rows.len());
        let mut walls: BTreeMap<(i64, i64), Vec<f64>> = BTreeMap::new();
        for (heading, before, z) in rows.keys() {
            walls.entry((*heading, *before)).or_default().push(*z as f64 / 100.0);
        }
        if rows.len() == count {
            let spacings: Vec<f64> =
                walls.values().flat_map(|levels| levels.windows(2).map(|pair| pair[1] - pair[0])).collect();
            let whole = spacings.iter().copied().fold(0.0, f64::max)
                < 1.5 * spacings.iter().copied().fold(f64::INFINITY, f64::min);
            if spacings.is_empty() || whole {
                self.spacing("row spacing", &spacings);
            }
        }
    }

    fn underside(&self) {
        let Pattern::Underside(Underside { structure, .. }) = &self.pass.pattern else {
            panic!("an underside")
        };
        let deck = SiteOutline::new(&self.scenario.site).unwrap().group(&[*structure]).unwrap();
        for station in self.stations {
            let below = deck.soffit_z_m.unwrap() - station.at_m.z;
            self.near("stand-off", one(self.lines, "stand-off", "m"), below, TENTH_M);
        }
        assert!(one(self.lines, "stand-off", "m") >= one(self.lines, "soffit clearance", "m") - TENTH_M);
    }

    fn over_ground(&self) {
        let Some((low, high)) = range(self.lines, "above the ground") else { return };
        let above = self.stations.iter().map(|s| s.at_m.z - self.ground_m(s.at_m));
        let flown = above.fold((f64::INFINITY, 0.0_f64), |(l, h), z| (l.min(z), h.max(z)));
        self.near("lowest above the ground", low, flown.0, TENTH_M);
        self.near("highest above the ground", high, flown.1, TENTH_M);
        let gsd = numbers(&self.lines["GSD below"], "cm");
        for (shown, above_m) in gsd.iter().zip([flown.0, flown.1]) {
            self.near("GSD below", *shown, 100.0 * above_m / self.focal_length_px(), 0.0051);
        }
        let height_m = one(self.lines, "height", "m");
        for (label, above_m) in [("overlap, highest", flown.0), ("overlap, lowest", flown.1)] {
            let shown: Vec<f64> = self.lines[label]
                .split('%')
                .filter_map(|part| part.trim().rsplit(' ').next()?.parse().ok())
                .take(2)
                .collect();
            for (shown, set) in shown.iter().zip([self.pass.forward_overlap, self.pass.sidelap]) {
                let expected = 100.0 * (1.0 - (1.0 - set) * height_m / above_m).max(0.0);
                // The height is printed to a tenth of a metre.
                self.near(label, *shown, expected, TENTH_M + 100.0 * TENTH_M / above_m);
            }
        }
    }
}

fn is_convex(ring: &[DVec2]) -> bool {
    let n = ring.len();
    let turn = |k: usize| (ring[(k + 1) % n] - ring[k]).perp_dot(ring[(k + 2) % n] - ring[(k + 1) % n]);
    let positive = (0..n).filter(|k| turn(*k) > 0.0).count();
    positive == 0 || positive == n
}

/// Whether two exposures follow each other on a line: what is farther than neighbours is a way between lines.
fn same_line(pair: &[Station], longest_m: f64) -> bool {
    let apart_m = pair[0].at_m.distance(pair[1].at_m);
    pair[1].time_s > pair[0].time_s + 1e-3 && apart_m > 1e-3 && apart_m < longest_m + 2.0 * TENTH_M
}

/// What stands below the passes, against the route and all stations.
fn surroundings(scenario: &Scenario, strategy: &Strategy, card: &CardText, exported: &Exported, which: &str) {
    let frame = LocalFrame::new(ORIGIN);
    let features = exported.route["features"].as_array().unwrap();
    let sorties: Vec<&Value> = features.iter().filter(|f| f["geometry"]["type"] == "LineString").collect();
    let take_offs = scenario.take_offs_m(strategy);
    let mut farthest_m = 0.0_f64;
    for sortie in &sorties {
        let from = sortie["properties"]["take_off"].as_u64().unwrap_or(1) as usize;
        let home = take_offs[from - 1];
        for place in sortie["geometry"]["coordinates"].as_array().unwrap() {
            let number = |k: usize| place[k].as_f64().unwrap();
            let at = frame.to_local(GeoPoint { latitude_deg: number(1), longitude_deg: number(0) });
            farthest_m = farthest_m.max(at.distance(home));
        }
    }
    let shown = one(&card.below, "farthest", "m");
    assert!((shown - farthest_m).abs() <= TENTH_M + 0.01, "{which}: farthest {shown}, flown {farthest_m}");
    let needed: usize = card.below["batteries"].split(' ').next().unwrap().parse().unwrap();
    assert_eq!(needed, sorties.len(), "{which}");
    clearance(scenario, strategy, card, exported, which);
}

/// The least distance from the lines between neighbouring exposures to what stands, looked for every half metre. Lines
/// that follow the ground, go round a keep-out or turn at a corner are not straight between exposures: those are left out.
fn clearance(scenario: &Scenario, strategy: &Strategy, card: &CardText, exported: &Exported, which: &str) {
    let outline = SiteOutline::new(&scenario.site).unwrap();
    let Some(shown) = card.below.get("clearance").map(|value| numbers(value, "m")[0]) else {
        assert!(outline.structures.is_empty(), "{which}: something stands and no clearance is told");
        return;
    };
    let straight =
        |pass: &Pass| pass.distance.above() != Above::Ground && pass.pattern.kind() != PatternKind::Corridor;
    if !scenario.site.keep_outs.is_empty() || !strategy.passes.iter().all(straight) {
        return;
    }
    let mut least_m = f64::INFINITY;
    let mut skipped = false;
    for (number, stations) in &exported.passes {
        skipped |= card.passes[number - 1].1["images"].contains("skipped");
        let orbit = strategy.passes[number - 1].pattern.kind() == PatternKind::Orbit;
        let closing = orbit.then(|| [stations[stations.len() - 1], stations[0]]);
        let pairs = stations.windows(2).map(|pair| [pair[0], pair[1]]).chain(closing);
        for [a, b] in pairs.filter(|[a, b]| (a.at_m.z - b.at_m.z).abs() < 1e-6) {
            // What is farther than neighbours on a line is a way from one to the next.
            let longest_m = range(&card.passes[number - 1].1, "air base").map_or(0.0, |base| base.1);
            let way = b.at_m.distance(a.at_m);
            if way > longest_m + 0.1 {
                continue;
            }
            let steps = (way * 2.0).ceil().max(1.0) as u32;
            for k in 0..=steps {
                let at = a.at_m.lerp(b.at_m, f64::from(k) / f64::from(steps));
                for solid in &outline.obstacles {
                    let aside = polygon::gap_m(&solid.ring_m, &[at.truncate()]);
                    let over = (at.z - solid.top_z_m).max(solid.bottom_z_m - at.z).max(0.0);
                    least_m = least_m.min(aside.hypot(over));
                }
            }
        }
    }
    assert!(
        shown <= least_m + TENTH_M,
        "{which}: the card clears by {shown} m, the stations come to {least_m} m"
    );
    if !skipped {
        // Half a metre between places: a quarter of a metre at most from the nearest.
        assert!(
            shown >= least_m - 0.35,
            "{which}: the card clears by {shown} m, the stations by {least_m} m"
        );
    }
}

fn check(scenario: &Scenario, which: &str) -> usize {
    let store = Store::new(1 << 27);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let mut checked = 0;
    for strategy in &scenario.strategies {
        let Ok(outcome) = evaluator.evaluate(scenario, strategy.id, Depth::Views) else { continue };
        if !outcome.feasible() {
            continue;
        }
        let which = format!("{which}, {}", strategy.name);
        let card = read_card(&set_up_card(scenario, &outcome));
        let exported = export(scenario, &outcome);
        assert_eq!(card.passes.len(), strategy.passes.len(), "{which}");
        for (at, (pass, (kind, lines))) in strategy.passes.iter().zip(&card.passes).enumerate() {
            assert_eq!(kind, pass.pattern.kind().name());
            let Some(stations) = exported.passes.get(&(at + 1)) else { continue };
            let which = format!("{which}, pass {}", at + 1);
            Check { which, scenario, pass, lines, stations, camera: &exported.camera }.all();
            checked += 1;
        }
        surroundings(scenario, strategy, &card, &exported, &which);
    }
    checked
}

fn drawn(seed: u64) -> Scenario {
    let mut scenario = generate::scenario(seed);
    let site = Arc::make_mut(&mut scenario.site);
    site.origin = Some(ORIGIN);
    // Coverage is not looked at.
    site.sample_spacing_m = Some(25.0);
    scenario
}

/// Derived: every figure of the card that stations, camera and route can tell, told by them.
#[test]
fn every_figure_of_the_card_is_the_exports() {
    let checked: usize = (0..60).map(|seed| check(&drawn(seed), &format!("seed {seed}"))).sum();
    assert!(checked > 120, "{checked} passes");
}

/// Derived: rings above one another, a radius that is set, a place in the middle, a facade of low walls with one row.
#[test]
fn rings_and_single_rows_too() {
    let mut several = 0;
    for seed in 100..120 {
        let mut scenario = drawn(seed);
        let Some(structure) =
            scenario.site.structures.iter().find(|s| matches!(s.kind, StructureKind::Extrusion { .. }))
        else {
            continue;
        };
        let (id, middle) = (structure.id, polygon::centroid_m(&structure.footprint_m));
        let outline = SiteOutline::new(&scenario.site).unwrap();
        let clear_m = outline.highest_z_m - scenario.site.terrain.height_m(middle) + 12.0;
        let pass = |number: u32, pattern: Pattern, distance: Distance| Pass {
            id: Id(9000 + number),
            pattern,
            attitudes: vec![Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } }],
            distance,
            forward_overlap: 0.72,
            sidelap: 0.61,
            speed_mps: None,
            margin_m: None,
            hover_s: None,
        };
        let orbit = |around: OrbitCentre, radius: OrbitRadius| {
            Pattern::Orbit(Orbit {
                around,
                radius,
                rings: Rings::At { heights_m: vec![clear_m, clear_m + 9.0, clear_m + 21.5] },
                target_height_m: 4.0,
            })
        };
        let place = OrbitCentre::Point { x_m: 31.25, y_m: -17.5 };
        let stand_off = Distance::StandOff { m: 33.3 };
        let facade = Pattern::Facade(Facade {
            structure: id,
            others: Vec::new(),
            walls: Some(vec![0]),
            clearance_m: 4.0,
            lowest_m: 3.0,
        });
        let strategy = &mut scenario.strategies[0];
        strategy.passes = vec![
            pass(1, orbit(OrbitCentre::Structure(id), OrbitRadius::StandOff), stand_off),
            pass(2, orbit(OrbitCentre::Structure(id), OrbitRadius::Set { m: 92.9 }), stand_off),
            pass(3, orbit(place, OrbitRadius::StandOff), stand_off),
            pass(4, facade, Distance::StandOff { m: 25.0 }),
        ];
        several += check(&scenario, &format!("seed {seed}"));
    }
    assert!(several > 8, "{several}");
}

/// Derived: the card in the other system says the same, the other way round: nothing is converted from what was rounded.
#[test]
fn both_systems_say_the_same() {
    let mut figures = 0;
    for seed in 0..20 {
        let scenario = drawn(seed);
        let store = Store::new(0);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for strategy in &scenario.strategies {
            let Ok(outcome) = evaluator.evaluate(&scenario, strategy.id, Depth::Quick) else { continue };
            let [metric, us] =
                [Units::Metric, Units::UsCustomary].map(|units| Card::new(&scenario, &outcome, units));
            for (a, b) in metric.passes.iter().zip(&us.passes) {
                let both = a.to_key_in.iter().chain(&a.follows).zip(b.to_key_in.iter().chain(&b.follows));
                for (a, b) in both.filter(|(a, _)| a.also.is_some()) {
                    assert_eq!(a.label, b.label);
                    if a.label == "strips run" {
                        continue;
                    }
                    assert_eq!(Some(&a.value), b.also.as_ref(), "{}", a.label);
                    assert_eq!(a.also.as_ref(), Some(&b.value), "{}", a.label);
                    figures += 1;
                }
            }
        }
    }
    assert!(figures > 200, "{figures}");
}
