use crate::base::digest::Digest;
use crate::base::limits;
use crate::base::limits::Range;
use crate::geometry::polygon::centroid_m;
use crate::scenario::Site;
use crate::scenario::faults::Checker;
use crate::scenario::pattern::setting::number;
use crate::scenario::pattern::{
    About, Column, Leads, Looks, Naming, Near, Overlaps, Pattern, Settings, Table, Told,
};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// Most stations of a list.
const MOST_STATIONS: usize = 100_000;

/// Height of a station in the site's frame.
const STATION_Z_M: Range = Range {
    what: "height of a station",
    least: -1000.0,
    most: 10_000.0,
    mend: "give metres in the heights that the terrain is in",
};

/// Stations given one by one, flown in their order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// In flying order.
    pub stations: Vec<ListedStation>,
    /// Kept from every structure.
    pub clearance_m: f64,
}

/// One exposure, as it is to be taken.
///
/// In the scenario file (east, north, up, heading, tilt, roll) in metres of the site's frame and degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "StationRow", into = "StationRow")]
pub struct ListedStation {
    /// In the site's frame; up in the heights that the terrain is in.
    pub position_m: DVec3,
    /// Azimuth of the optical axis, clockwise from north.
    pub heading_deg: f64,
    /// From nadir: 0 straight down, 90 level, 180 straight up.
    pub tilt_deg: f64,
    /// About the optical axis, clockwise seen from behind.
    pub roll_deg: f64,
}

type StationRow = (f64, f64, f64, f64, f64, f64);

impl From<StationRow> for ListedStation {
    fn from((x, y, z, heading_deg, tilt_deg, roll_deg): StationRow) -> Self {
        ListedStation { position_m: DVec3::new(x, y, z), heading_deg, tilt_deg, roll_deg }
    }
}

impl From<ListedStation> for StationRow {
    fn from(station: ListedStation) -> Self {
        let ListedStation { position_m: DVec3 { x, y, z }, heading_deg, tilt_deg, roll_deg } = station;
        (x, y, z, heading_deg, tilt_deg, roll_deg)
    }
}

pub(super) const ABOUT: About = About {
    name: "listed",
    title: "Listed stations",
    explanation: "Stations given one by one, flown in their order",
    leads: Leads::StandOff,
    lines: ["legs", "leg spacing"],
    runs: None,
    margin: None,
    overlaps: Overlaps::Neither,
    looks: Looks::AsGiven { note: "Every station has a heading and a tilt of its own." },
    near: Near::Walls,
    begins: Some(toward_the_middle),
    table: Some(Table {
        what: "stations",
        columns: &[
            Column::needed("x_m"),
            Column::needed("y_m"),
            Column::needed("z_m"),
            Column::needed("heading_deg"),
            Column::needed("tilt_deg"),
            Column { name: "roll_deg", left_out: Some(0.0) },
        ],
        least: 1,
        most: MOST_STATIONS,
        put: |pattern, rows| {
            if let Pattern::Listed(listed) = pattern {
                let station = |row: &Vec<f64>| (row[0], row[1], row[2], row[3], row[4], row[5]).into();
                listed.stations = rows.iter().map(station).collect();
            }
        },
    }),
    numbers: &[number!("strategies[].passes[].pattern.Listed.clearance_m", "Clearance",
        "Kept from every structure: by the stations and on the way from one to the next.",
        Metres, 1, CLEARANCE_M,
        Pattern::Listed(Listed { clearance_m: value, .. }) => value)],
    choices: &[],
};

/// Four stations about the middle of a site that look at it from 60 m up: to begin with until a list is read. Common
/// practice, no source.
fn toward_the_middle(site: &Site) -> Pattern {
    let middle = centroid_m(&site.boundary_m);
    let station = |heading_deg: f64| {
        let (sin, cos) = heading_deg.to_radians().sin_cos();
        let at = (middle - DVec2::new(sin, cos) * 60.0).round();
        let position_m = at.extend((site.terrain.height_m(at) + 60.0).round());
        ListedStation { position_m, heading_deg, tilt_deg: 45.0, roll_deg: 0.0 }
    };
    Pattern::Listed(Listed { stations: [0.0, 90.0, 180.0, 270.0].map(station).to_vec(), clearance_m: 5.0 })
}

impl Settings for Listed {
    fn has_places(&self) -> bool {
        true
    }

    fn title(&self, _naming: &Naming<'_>) -> String {
        format!(", {}", self.stations.len())
    }

    fn told(&self, _subject: &str) -> Vec<Told> {
        let first = Told::text("stations", self.stations.len().to_string());
        vec![
            first.note("each by its own position: stations.csv of the export lists them"),
            Told::metres("clearance kept", self.clearance_m).note("from every structure"),
        ]
    }

    fn aimed(&self, _length: &dyn Fn(f64) -> String) -> Option<String> {
        Some("heading and tilt of every station are listed".to_owned())
    }

    fn check(&self, check: &mut Checker, _site: &Site, path: &str) {
        let stations = format!("{path}.stations");
        if self.stations.is_empty() {
            let message = "there must be at least one station, but there is none; list them";
            check.fault(stations.as_str(), message);
        }
        check.at_most(stations.as_str(), "stations in a list", self.stations.len(), MOST_STATIONS);
        for (index, station) in self.stations.iter().enumerate() {
            let ListedStation { position_m: DVec3 { x, y, z }, heading_deg, tilt_deg, roll_deg } = *station;
            let numbers = [
                (x, limits::COORDINATE_M),
                (y, limits::COORDINATE_M),
                (z, STATION_Z_M),
                (heading_deg, limits::DIRECTION_DEG),
                (tilt_deg, limits::TILT_DEG),
                (roll_deg, limits::DIRECTION_DEG),
            ];
            for (value, range) in numbers.into_iter().filter(|(value, range)| !range.holds(*value)) {
                check.number(format!("{stations}[{index}]"), value, range);
            }
        }
        check.number(format!("{path}.clearance_m"), self.clearance_m, limits::CLEARANCE_M);
    }

    fn digest(&self, digest: &mut Digest) {
        let Listed { stations, clearance_m } = self;
        digest.whole(stations.len() as u64).number(*clearance_m);
        for ListedStation { position_m, heading_deg, tilt_deg, roll_deg } in stations {
            digest.numbers(&position_m.to_array()).numbers(&[*heading_deg, *tilt_deg, *roll_deg]);
        }
    }
}
